//! What a person says of single stickers: from words to the cells of the photos they stand for, and whether it was
//! followed.

use super::reading::DoubtfulSticker;
use crate::assemble::{Assembly, Told};
use crate::calibration::Scheme;
use crate::colour::Name;
use crate::cube::{Face, Spot, listed, spot_name};
use serde::Serialize;
use std::fmt;
use std::str::FromStr;
use thiserror::Error;

/// The colour of one sticker as a person sees it, at its place in the faces as they are printed.
///
/// Written `F:1,4=orange`: face, row from the top, column from the left, both counted from 1, and the colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Answer {
    /// Where.
    pub spot: Spot,
    /// The colour.
    pub colour: Name,
}

/// What became of an answer.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct Heard {
    /// Where the sticker is in the faces as they are printed now.
    #[serde(flatten)]
    pub spot: Spot,
    /// The colour that was told.
    pub told: Name,
    /// The colour in the reading.
    pub read: Name,
}

/// Why a word is no answer, or an answer fits no reading.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum AnswerError {
    /// It is not written as one.
    #[error("{expected} was expected, \"{met}\" was met; write it like F:1,4=orange")]
    Unwritten {
        /// What stands there.
        met: String,
        /// What should.
        expected: &'static str,
    },
    /// A word that names no colour.
    #[error("\"{met}\" names no colour; the colours are {}", listed(&Name::ALL.map(Name::word)))]
    NoColour {
        /// The word.
        met: String,
    },
    /// Two answers about one sticker.
    #[error("{} cannot be {one} and {other}; give one answer for each sticker", spot_name(*spot))]
    Twice {
        /// The sticker.
        spot: Spot,
        /// What one answer says.
        one: Name,
        /// What another says.
        other: Name,
    },
    /// A sticker the cube does not have.
    #[error(
        "there is no {} on the {n}×{n}×{n}; rows and columns run from 1 to {n}",
        spot_name(*spot)
    )]
    Outside {
        /// The sticker.
        spot: Spot,
        /// The order of the cube.
        n: usize,
    },
    /// A colour the cube does not have.
    #[error(
        "{} cannot be {met}: the colours of this cube are {}",
        spot_name(*spot),
        listed(&colours.map(Name::word))
    )]
    OtherColour {
        /// The sticker.
        spot: Spot,
        /// The colour told.
        met: Name,
        /// Those of the cube.
        colours: [Name; 6],
    },
    /// The photos gave no faces that could have been asked about.
    #[error(
        "the photos gave no stickers to answer for; first mend what keeps them from being read: {why}"
    )]
    NothingRead {
        /// What that is.
        why: String,
    },
}

impl FromStr for Answer {
    type Err = AnswerError;

    fn from_str(text: &str) -> Result<Self, AnswerError> {
        let wrong = |met: &str, expected: &'static str| AnswerError::Unwritten {
            met: met.to_owned(),
            expected,
        };
        let (place, colour) = text
            .split_once('=')
            .ok_or_else(|| wrong(text, "a sticker = a colour"))?;
        let (face, cell) = place
            .split_once(':')
            .ok_or_else(|| wrong(place, "a face : row, column"))?;
        let (row, col) = cell
            .split_once(',')
            .ok_or_else(|| wrong(cell, "a row and a column with a comma between them"))?;
        let mut letters = face.trim().chars();
        let letter = letters.next().filter(|_| letters.next().is_none());
        let face = letter
            .and_then(|letter| Face::from_letter(letter.to_ascii_uppercase()))
            .ok_or_else(|| wrong(face, "a face, one of U R F D L B,"))?;
        let count = |text: &str| {
            let number: Option<usize> = text.trim().parse().ok();
            number
                .and_then(|number| number.checked_sub(1))
                .ok_or_else(|| wrong(text, "a row or column counted from 1"))
        };
        let spot = Spot {
            face,
            row: count(row)?,
            col: count(col)?,
        };
        let word = colour.trim();
        let colour =
            Name::from_word(&word.to_lowercase()).ok_or_else(|| AnswerError::NoColour {
                met: word.to_owned(),
            })?;
        Ok(Self { spot, colour })
    }
}

impl fmt::Display for Answer {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let Spot { face, row, col } = self.spot;
        write!(out, "{face}:{},{}={}", row + 1, col + 1, self.colour)
    }
}

/// Checks that no sticker is said to have two colours.
///
/// # Errors
///
/// If one is.
pub fn check_answers(answers: &[Answer]) -> Result<(), AnswerError> {
    for (index, one) in answers.iter().enumerate() {
        let mut before = answers[..index].iter();
        let against = before.find(|other| other.spot == one.spot && other.colour != one.colour);
        if let Some(other) = against {
            return Err(AnswerError::Twice {
                spot: one.spot,
                one: other.colour,
                other: one.colour,
            });
        }
    }
    Ok(())
}

/// The cells of the photos that answers about an assembly stand for: all that show the sticker.
pub(super) fn told(assembly: &Assembly, answers: &[Answer]) -> Result<Vec<Told>, AnswerError> {
    check_answers(answers)?;
    let n = assembly.state.n();
    let mut all = Vec::new();
    for answer in answers {
        fits(n, assembly.scheme, answer)?;
        let Spot { face, row, col } = answer.spot;
        let here = assembly.placed.iter().filter(|placed| placed.face == face);
        all.extend(here.map(|placed| Told {
            photo: placed.photo,
            face_in_view: placed.face_in_view,
            cell: cell(n, placed.turns, row, col),
            colour: answer.colour,
        }));
    }
    Ok(all)
}

fn fits(n: usize, scheme: Scheme, answer: &Answer) -> Result<(), AnswerError> {
    let spot = answer.spot;
    if spot.row >= n || spot.col >= n {
        return Err(AnswerError::Outside { spot, n });
    }
    if scheme.face(answer.colour).is_none() {
        return Err(AnswerError::OtherColour {
            spot,
            met: answer.colour,
            colours: scheme.0,
        });
    }
    Ok(())
}

/// What became of told stickers in the assembly made of them.
pub(super) fn heard(assembly: &Assembly, told: &[Told]) -> Vec<Heard> {
    let n = assembly.state.n();
    let mut all: Vec<Heard> = Vec::new();
    for told in told {
        let Some(placed) = assembly
            .placed
            .iter()
            .find(|placed| placed.photo == told.photo && placed.face_in_view == told.face_in_view)
        else {
            continue;
        };
        let spots = (0..n * n).map(|at| (at / n, at % n));
        let mut here = spots.filter(|&(row, col)| cell(n, placed.turns, row, col) == told.cell);
        let Some((row, col)) = here.next() else {
            continue;
        };
        let spot = Spot {
            face: placed.face,
            row,
            col,
        };
        // Several photos may show the same sticker.
        if all.iter().any(|heard| heard.spot == spot) {
            continue;
        }
        all.push(Heard {
            spot,
            told: told.colour,
            read: assembly.scheme.colour(assembly.state.at(spot.place(n))),
        });
    }
    all
}

/// The stickers that were told otherwise than everything else has them: they stay in doubt.
pub(super) fn overruled(heard: &[Heard]) -> impl Iterator<Item = DoubtfulSticker> {
    let against = heard.iter().filter(|heard| heard.told != heard.read);
    against.map(|heard| DoubtfulSticker {
        spot: heard.spot,
        read: heard.read,
        or: heard.told,
    })
}

/// The cell of a seen face, row · n + column as seen, that shows row and column of the face whose top left corner is
/// the seen face's corner `turns`.
pub(super) const fn cell(n: usize, turns: u8, row: usize, col: usize) -> usize {
    let (row, col) = match turns % 4 {
        0 => (row, col),
        1 => (col, n - 1 - row),
        2 => (n - 1 - row, n - 1 - col),
        _ => (n - 1 - col, row),
    };
    row * n + col
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn answers_are_read_and_written() {
        let answer: Answer = "F:1,4=orange".parse().unwrap();
        let spot = Spot {
            face: Face::F,
            row: 0,
            col: 3,
        };
        let colour = Name::Orange;
        assert_eq!(answer, Answer { spot, colour });
        assert_eq!(answer.to_string(), "F:1,4=orange");
        assert_eq!(" f : 1 , 4 = Orange".parse(), Ok(answer));
    }

    fn check(text: &str, expected: &str) {
        let problem = text.parse::<Answer>().unwrap_err().to_string();
        assert!(problem.contains(expected), "{problem}");
    }

    #[test]
    fn what_is_no_answer() {
        check(
            "orange",
            "a sticker = a colour was expected, \"orange\" was met",
        );
        check("F1,4=orange", "a face : row, column was expected, \"F1,4\"");
        check(
            "F:14=orange",
            "with a comma between them was expected, \"14\"",
        );
        check("X:1,4=orange", "one of U R F D L B, was expected, \"X\"");
        check("FR:1,4=orange", "one of U R F D L B, was expected, \"FR\"");
        check("F:0,4=orange", "counted from 1 was expected, \"0\"");
        check("F:1,-4=orange", "counted from 1 was expected, \"-4\"");
        check(
            "F:1,4=teal",
            "\"teal\" names no colour; the colours are white, ",
        );
        check("", "write it like F:1,4=orange");
    }

    #[test]
    fn one_answer_for_each_sticker() {
        let all = |texts: [&str; 2]| texts.map(|text| text.parse().unwrap());
        assert_eq!(check_answers(&all(["F:1,4=red", "F:1,4=red"])), Ok(()));
        assert_eq!(check_answers(&all(["F:1,4=red", "F:1,3=blue"])), Ok(()));
        let problem = check_answers(&all(["F:1,4=red", "F:1,4=blue"])).unwrap_err();
        assert!(
            problem
                .to_string()
                .starts_with("F row 1, column 4 cannot be red and blue"),
            "{problem}"
        );
    }

    /// Corner `turns` of the seen face is the face's top left corner; its rows run on clockwise from there.
    #[test]
    fn cells_of_a_turned_face() {
        for turns in 0..4 {
            let corners = [(0, 0), (0, 2), (2, 2), (2, 0)];
            let seen = [0, 2, 8, 6];
            for (k, (row, col)) in corners.into_iter().enumerate() {
                let expected = seen[(k + usize::from(turns)) % 4];
                assert_eq!(cell(3, turns, row, col), expected, "turned {turns}");
            }
        }
    }
}
