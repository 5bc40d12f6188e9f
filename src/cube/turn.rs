//! Moves and sequences, read and written in the notation of WCA Regulations, Article 12.

use super::{Axis, Face};
use std::fmt;
use std::str::FromStr;
use thiserror::Error;

/// How far a layer is turned, clockwise as seen looking at its face.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Quarter {
    /// A quarter turn clockwise, written without a mark.
    Clockwise,
    /// A half turn, written `2`.
    Half,
    /// A quarter turn anticlockwise, written `'`.
    Anticlockwise,
}

/// One move.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Move {
    /// The outer `layers` layers under `face` turned together: `R` (one layer), `Rw` (two), `3Rw` (three) …
    Block {
        /// The face they lie under.
        face: Face,
        /// How many layers, from 1 to n − 1.
        layers: usize,
        /// How far.
        quarter: Quarter,
    },
    /// The whole cube turned in the hands: `x`, `y`, `z`, the way of R, U, F.
    Rotation {
        /// The axis.
        axis: Axis,
        /// How far.
        quarter: Quarter,
    },
}

/// Moves one after another. Reads and writes notation, moves separated by single spaces.
#[derive(Clone, Debug, Default, PartialEq, Eq, Hash)]
pub struct Sequence(pub Vec<Move>);

/// Why a text is not a sequence of moves.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[error("\"{word}\" at character {at} is not a move: {why}")]
#[non_exhaustive]
pub struct NotationError {
    /// Where the word begins, in characters from the start of the text, counted from 1.
    pub at: usize,
    /// The word that was met.
    pub word: String,
    /// What was expected instead.
    pub why: &'static str,
}

impl Quarter {
    /// All amounts, by growing number of quarter turns.
    pub const ALL: [Self; 3] = [Self::Clockwise, Self::Half, Self::Anticlockwise];

    /// The number of clockwise quarter turns: 1, 2 or 3.
    pub const fn count(self) -> usize {
        match self {
            Self::Clockwise => 1,
            Self::Half => 2,
            Self::Anticlockwise => 3,
        }
    }

    /// The amount that many clockwise quarter turns come to; `None` if to nothing.
    pub const fn from_count(count: usize) -> Option<Self> {
        match count % 4 {
            1 => Some(Self::Clockwise),
            2 => Some(Self::Half),
            3 => Some(Self::Anticlockwise),
            _ => None,
        }
    }

    /// The same amount the other way.
    #[must_use]
    pub const fn inverse(self) -> Self {
        match self {
            Self::Clockwise => Self::Anticlockwise,
            Self::Half => Self::Half,
            Self::Anticlockwise => Self::Clockwise,
        }
    }

    const fn mark(self) -> &'static str {
        match self {
            Self::Clockwise => "",
            Self::Half => "2",
            Self::Anticlockwise => "'",
        }
    }
}

impl Move {
    /// The move that undoes this one.
    #[must_use]
    pub const fn inverse(self) -> Self {
        match self {
            Self::Block {
                face,
                layers,
                quarter,
            } => Self::Block {
                face,
                layers,
                quarter: quarter.inverse(),
            },
            Self::Rotation { axis, quarter } => Self::Rotation {
                axis,
                quarter: quarter.inverse(),
            },
        }
    }

    /// The same move by another amount.
    #[must_use]
    pub const fn with(self, quarter: Quarter) -> Self {
        match self {
            Self::Block { face, layers, .. } => Self::Block {
                face,
                layers,
                quarter,
            },
            Self::Rotation { axis, .. } => Self::Rotation { axis, quarter },
        }
    }

    /// How far it turns.
    pub const fn quarter(self) -> Quarter {
        match self {
            Self::Block { quarter, .. } | Self::Rotation { quarter, .. } => quarter,
        }
    }

    /// Whether a cube of order `n` has the layers it turns and some other layer to hold.
    pub const fn fits(self, n: usize) -> bool {
        match self {
            Self::Block { layers, .. } => layers >= 1 && layers < n,
            Self::Rotation { .. } => true,
        }
    }
}

impl fmt::Display for Move {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        match *self {
            Self::Block {
                face,
                layers: 1,
                quarter,
            } => write!(out, "{face}{}", quarter.mark()),
            Self::Block {
                face,
                layers: 2,
                quarter,
            } => write!(out, "{face}w{}", quarter.mark()),
            Self::Block {
                face,
                layers,
                quarter,
            } => write!(out, "{layers}{face}w{}", quarter.mark()),
            Self::Rotation { axis, quarter } => {
                let letter = match axis {
                    Axis::X => 'x',
                    Axis::Y => 'y',
                    Axis::Z => 'z',
                };
                write!(out, "{letter}{}", quarter.mark())
            }
        }
    }
}

impl Sequence {
    /// The sequence that undoes this one.
    #[must_use]
    pub fn inverse(&self) -> Self {
        Self(self.0.iter().rev().map(|step| step.inverse()).collect())
    }

    /// The number of moves in the outer block turn metric of WCA Regulations 12a6: rotations count nothing.
    pub fn block_turns(&self) -> usize {
        self.0
            .iter()
            .filter(|step| matches!(step, Move::Block { .. }))
            .count()
    }

    /// Reads a sequence for a cube of order `n`.
    ///
    /// # Errors
    ///
    /// Says which word is not a move, or turns layers that a cube of this order does not have.
    pub fn for_order(text: &str, n: usize) -> Result<Self, NotationError> {
        let mut steps = Vec::new();
        for (at, word) in words(text) {
            let step = read_move(word).map_err(|why| NotationError {
                at,
                word: word.to_owned(),
                why,
            })?;
            if !step.fits(n) {
                let why = "a cube of this size has not so many layers to turn";
                return Err(NotationError {
                    at,
                    word: word.to_owned(),
                    why,
                });
            }
            steps.push(step);
        }
        Ok(Self(steps))
    }
}

impl FromStr for Sequence {
    type Err = NotationError;

    fn from_str(text: &str) -> Result<Self, NotationError> {
        Self::for_order(text, usize::MAX)
    }
}

impl fmt::Display for Sequence {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, step) in self.0.iter().enumerate() {
            let gap = if index == 0 { "" } else { " " };
            write!(out, "{gap}{step}")?;
        }
        Ok(())
    }
}

/// The words of a text with the character each begins at, counted from 1.
fn words(text: &str) -> impl Iterator<Item = (usize, &str)> {
    text.split_whitespace().map(move |word| {
        let byte = word.as_ptr() as usize - text.as_ptr() as usize;
        (text[..byte].chars().count() + 1, word)
    })
}

const LETTER_EXPECTED: &str = "a face letter U R F D L B or a rotation x y z was expected";

fn read_move(word: &str) -> Result<Move, &'static str> {
    let body = word.trim_start_matches(|c: char| c.is_ascii_digit());
    let number = &word[..word.len() - body.len()];
    let mut letters = body.chars();
    let Some(letter) = letters.next() else {
        return Err(LETTER_EXPECTED);
    };
    if "urfdlb".contains(letter) {
        return Err("a capital letter was expected, with a w behind it for two layers, as in Rw");
    }
    if !"URFDLBxyz".contains(letter) {
        return Err(LETTER_EXPECTED);
    }
    let mut rest = letters.as_str();
    let is_wide = rest.starts_with('w');
    if is_wide {
        rest = &rest[1..];
    }
    let quarter = match rest {
        "" => Quarter::Clockwise,
        "2" => Quarter::Half,
        "'" | "\u{2019}" => Quarter::Anticlockwise,
        _ => {
            return Err(
                "after the letter only w, then ' or 2, may follow; put a space between two moves",
            );
        }
    };
    if let Some(face) = Face::from_letter(letter) {
        let layers = match (number, is_wide) {
            ("", false) => 1,
            ("", true) => 2,
            (_, false) => return Err("a number of layers needs a w after the letter"),
            (digits, true) => match digits.parse() {
                Ok(layers) if layers >= 2 => layers,
                _ => return Err("the number of layers before a wide turn begins at 2"),
            },
        };
        return Ok(Move::Block {
            face,
            layers,
            quarter,
        });
    }
    let axis = match letter {
        'x' => Axis::X,
        'y' => Axis::Y,
        'z' => Axis::Z,
        _ => return Err(LETTER_EXPECTED),
    };
    if is_wide || !number.is_empty() {
        return Err("a rotation takes neither a number nor a w");
    }
    Ok(Move::Rotation { axis, quarter })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn check(text: &str, expected: Result<&str, (usize, &str)>) {
        let read = text.parse::<Sequence>();
        match expected {
            Ok(written) => assert_eq!(read.unwrap().to_string(), written),
            Err((at, word)) => {
                let problem = read.unwrap_err();
                assert_eq!((problem.at, problem.word.as_str()), (at, word));
            }
        }
    }

    /// Source: WCA Regulations 12a2, 12a4 and Guideline 12a2+ (Rw and 2Rw are the same move; 1Rw is never valid).
    #[test]
    fn notation_of_the_regulations() {
        check("R U' F2", Ok("R U' F2"));
        check("2Rw 3Uw' 4Dw2", Ok("Rw 3Uw' 4Dw2"));
        check("x y' z2", Ok("x y' z2"));
        check("  R \n U ", Ok("R U"));
        check("R 1Rw", Err((3, "1Rw")));
    }

    /// Source: WCA Guideline E2c++ lists R'2, L'w, f, M and U2' as not defined in 12a.
    #[test]
    fn what_the_regulations_do_not_define() {
        for word in [
            "R'2", "L'w", "f", "M", "U2'", "3R", "3x", "xw", "R3", "w", "2", "é",
        ] {
            check(&format!("U {word}"), Err((3, word)));
        }
    }

    #[test]
    fn layers_must_fit_the_cube() {
        assert!(Sequence::for_order("3Rw", 4).is_ok());
        assert_eq!(Sequence::for_order("U 3Rw", 3).unwrap_err().at, 3);
    }
}
