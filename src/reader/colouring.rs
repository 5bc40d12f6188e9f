//! Colour words at the places of a cube, and which face each colour belongs to on this very cube.

use crate::calibration::Scheme;
use crate::colour::Name;
use crate::cube::{
    Face, Homes, HomesError, LEAST_ORDER, Label, Layout, MOST_ORDER, Spot, State, complete,
    find_homes,
};
use serde::ser::{Serialize, SerializeMap, Serializer};
use std::collections::BTreeSet;
use thiserror::Error;

/// The colours of all 6·n² stickers in the order of place numbers; `None` where a colour is not known.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Colouring {
    n: usize,
    stickers: Vec<Option<Name>>,
}

/// A colouring with what the laws fix filled in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Completed {
    /// The colours, those filled in among them.
    pub colouring: Colouring,
    /// Where a colour was filled in.
    pub filled: Vec<Spot>,
    /// Whether some cube that can exist shows the colours that were known.
    pub is_possible: bool,
}

/// Why colour words make no cube.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum ColouringError {
    /// Not six colours.
    #[error(
        "{} {} met ({}), a cube has six; mend the wrong words",
        met.len(),
        if met.len() == 1 { "colour was" } else { "colours were" },
        words(met)
    )]
    NotSix {
        /// The colours, in the order of [`Name`].
        met: Vec<Name>,
    },
    /// Six colours that cannot be shared out to the faces.
    #[error("the colours cannot be shared out to the faces: {0}")]
    Homes(#[from] HomesError),
}

impl Colouring {
    /// The colouring with these stickers; `None` unless there are 6·n² of them for an `n` this program knows.
    pub fn new(n: usize, stickers: Vec<Option<Name>>) -> Option<Self> {
        let fits = (LEAST_ORDER..=MOST_ORDER).contains(&n) && stickers.len() == 6 * n * n;
        fits.then_some(Self { n, stickers })
    }

    /// A state in its colours.
    pub fn painted(state: &State, scheme: Scheme) -> Self {
        let stickers = state.stickers().iter();
        Self {
            n: state.n(),
            stickers: stickers.map(|&face| Some(scheme.colour(face))).collect(),
        }
    }

    /// The order of the cube.
    pub const fn n(&self) -> usize {
        self.n
    }

    /// The stickers in the order of place numbers.
    pub fn stickers(&self) -> &[Option<Name>] {
        &self.stickers
    }

    /// Where a colour is missing.
    pub fn unknown(&self) -> Vec<Spot> {
        let places = self.stickers.iter().enumerate();
        places
            .filter(|(_, colour)| colour.is_none())
            .map(|(place, _)| Spot::from_place(place, self.n))
            .collect()
    }

    /// Which colour belongs to which face, found from the pieces of this very cube.
    ///
    /// # Errors
    ///
    /// If there are not six colours, or the pieces do not tell where they belong.
    pub fn scheme(&self) -> Result<Scheme, ColouringError> {
        let (names, labels) = self.labels()?;
        let homes = match find_homes(self.n, &labels, usual(names)) {
            // What is wrong with such a cube is for the laws to tell.
            Err(HomesError::Impossible { best, .. }) => best,
            found => found?,
        };
        Ok(Scheme(
            Face::ALL.map(|face| names[usize::from(homes.label_of(face))]),
        ))
    }

    /// Fills in the unknown colours that the laws leave no choice about. Nothing is filled in where the known ones do
    /// not tell how the colours lie on this very cube.
    pub fn completed(self) -> Completed {
        let found = self.homes_by_itself().map(|(names, homes)| {
            let face = |colour: Name| {
                let label = names.iter().position(|&name| name == colour)?;
                homes.face_of(label as Label)
            };
            let stickers: Vec<Option<Face>> = self
                .stickers
                .iter()
                .map(|colour| colour.and_then(face))
                .collect();
            let completion = complete(self.n, &stickers)?;
            let colour = |face: Face| names[usize::from(homes.label_of(face))];
            let stickers = completion.stickers.into_iter();
            let stickers: Vec<Option<Name>> = stickers.map(|face| face.map(colour)).collect();
            Some((stickers, completion.filled))
        });
        match found {
            None => Completed {
                colouring: self,
                filled: Vec::new(),
                is_possible: true,
            },
            Some(None) => Completed {
                colouring: self,
                filled: Vec::new(),
                is_possible: false,
            },
            Some(Some((stickers, filled))) => {
                let n = self.n;
                let spots = filled.into_iter().map(|place| Spot::from_place(place, n));
                Completed {
                    colouring: Self { n, stickers },
                    filled: spots.collect(),
                    is_possible: true,
                }
            }
        }
    }

    /// The six colours and their homes where some are unknown and the others tell these by themselves.
    fn homes_by_itself(&self) -> Option<([Name; 6], Homes)> {
        if self.stickers.iter().all(Option::is_some) {
            return None;
        }
        let (names, labels) = self.labels().ok()?;
        let homes = find_homes(self.n, &labels, None).ok()?;
        // An odd cube is held by its fixed centres: two beside each other tell the hold.
        let fixed = &Layout::of(self.n).fixed_centres;
        let is_told = |face: &Face| {
            let label = labels[usize::from(fixed[face.index()])];
            label == Some(homes.label_of(*face))
        };
        let told: Vec<Face> = if fixed.is_empty() {
            vec![Face::U, Face::F]
        } else {
            Face::ALL.into_iter().filter(is_told).collect()
        };
        let is_held = told.iter().any(|face| face.axis() != told[0].axis());
        is_held.then_some((names, homes))
    }

    /// The six colours met, and each sticker as the number of its own.
    fn labels(&self) -> Result<([Name; 6], Vec<Option<Label>>), ColouringError> {
        let met: BTreeSet<Name> = self.stickers.iter().flatten().copied().collect();
        let met: Vec<Name> = met.into_iter().collect();
        let Ok(names) = <[Name; 6]>::try_from(met.as_slice()) else {
            return Err(ColouringError::NotSix { met });
        };
        let label = |name: Name| names.iter().position(|&other| other == name);
        let labels = self
            .stickers
            .iter()
            .map(|colour| colour.and_then(label).map(|index| index as Label))
            .collect();
        Ok((names, labels))
    }

    /// The state in face names; `None` if a colour is missing or belongs to no face of the scheme.
    pub fn state(&self, scheme: Scheme) -> Option<State> {
        let stickers: Option<Vec<Face>> = self
            .stickers
            .iter()
            .map(|&colour| scheme.face(colour?))
            .collect();
        State::from_stickers(self.n, stickers?)
    }

    /// The rows of one face, from the top.
    pub fn rows(&self, face: Face) -> impl Iterator<Item = &[Option<Name>]> {
        let area = self.n * self.n;
        let first = face.index() * area;
        self.stickers[first..first + area].chunks(self.n)
    }
}

impl Serialize for Colouring {
    /// `{"U": [["white", …], …], "R": …}`: a face a list of rows, an unknown sticker `null`.
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let mut faces = to.serialize_map(Some(6))?;
        for face in Face::ALL {
            let rows: Vec<_> = self.rows(face).collect();
            faces.serialize_entry(&face, &rows)?;
        }
        faces.end()
    }
}

/// The faces six colours have on most cubes: those of the common scheme on their own face, any others on the
/// faces left, in the order of [`Name`]. It only decides where the pieces leave a choice.
fn usual(names: [Name; 6]) -> Option<Homes> {
    let common = |face: Face| {
        let own = Scheme::COMMON.colour(face);
        names.iter().position(|&name| name == own)
    };
    let is_common = |name: Name| Scheme::COMMON.0.contains(&name);
    let mut others = (0..6).filter(|&index| !is_common(names[index]));
    let mut labels = [0; 6];
    for face in Face::ALL {
        labels[face.index()] = common(face).or_else(|| others.next())? as Label;
    }
    Homes::new(labels)
}

fn words(names: &[Name]) -> String {
    let words: Vec<String> = names.iter().map(ToString::to_string).collect();
    words.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cube::Sequence;

    fn check(moves: &str, n: usize, scheme: Scheme) {
        let steps = Sequence::for_order(moves, n).unwrap();
        let state = State::solved(n).after(&steps.0);
        let colouring = Colouring::painted(&state, scheme);
        let found = colouring.scheme().unwrap();
        let again = Colouring::painted(&colouring.state(found).unwrap(), found);
        assert_eq!(again, colouring, "{moves} on {n}");
        // Without fixed centres the same arrangement may be named in another hold.
        for face in Face::ALL {
            let home = found.face(scheme.colour(face)).unwrap();
            let across = found.face(scheme.colour(face.opposite())).unwrap();
            assert_eq!(home.opposite(), across, "{moves} on {n}");
            assert!(n.is_multiple_of(2) || home == face, "{moves} on {n}");
        }
    }

    #[test]
    fn the_scheme_of_the_very_cube_is_found() {
        let black_for_white = Scheme([
            Name::Black,
            Name::Red,
            Name::Green,
            Name::Yellow,
            Name::Orange,
            Name::Blue,
        ]);
        // Another cube, with red across from green.
        let own = Scheme([
            Name::White,
            Name::Green,
            Name::Orange,
            Name::Blue,
            Name::Red,
            Name::Yellow,
        ]);
        for scheme in [Scheme::COMMON, black_for_white, own] {
            check("R U F'", 3, scheme);
            check("Rw U F' 3Dw L2", 6, scheme);
        }
    }

    #[test]
    fn what_makes_no_cube() {
        let mut stickers = Colouring::painted(&State::solved(3), Scheme::COMMON).stickers;
        stickers[5] = Some(Name::Pink);
        let problem = Colouring::new(3, stickers).unwrap().scheme().unwrap_err();
        assert_eq!(
            problem.to_string(),
            "7 colours were met (white, yellow, red, orange, blue, green, pink), a cube has six; mend the wrong words"
        );
        assert_eq!(Colouring::new(3, vec![None; 53]), None);
    }

    /// Hides the stickers at spots of a mixed cube of black in the place of white.
    fn hidden(n: usize, spots: &[(Face, usize, usize)]) -> (Colouring, Completed) {
        let mut scheme = Scheme::COMMON;
        scheme.0[0] = Name::Black;
        let moves = Sequence::for_order("R U F' L2 D B'", n).unwrap();
        let whole = Colouring::painted(&State::solved(n).after(&moves.0), scheme);
        let mut known = whole.clone();
        for &(face, row, col) in spots {
            known.stickers[Spot { face, row, col }.place(n)] = None;
        }
        (whole, known.completed())
    }

    #[test]
    fn what_the_laws_fix_is_filled_in() {
        for n in 2..=7 {
            let spots = [
                (Face::U, 0, 0),
                (Face::B, n - 1, 0),
                (Face::L, n / 2, n / 2),
            ];
            let (whole, completed) = hidden(n, &spots);
            assert_eq!(completed.colouring, whole, "n = {n}");
            assert_eq!(completed.filled.len(), 3);
        }
    }

    #[test]
    fn nothing_is_filled_in_where_the_hold_is_not_told() {
        let caps = Face::ALL.map(|face| (face, 1, 1));
        let (whole, completed) = hidden(3, &caps);
        assert_eq!((completed.filled, completed.is_possible), (vec![], true));
        let (_, completed) = hidden(3, &caps[..4]);
        assert_eq!(completed.colouring, whole);
    }

    #[test]
    fn faces_are_written_row_by_row() {
        let mut colouring = Colouring::painted(&State::solved(2), Scheme::COMMON);
        colouring.stickers[1] = None;
        let json = serde_json::to_value(&colouring).unwrap();
        assert_eq!(
            json["U"],
            serde_json::json!([["white", null], ["white", "white"]])
        );
        assert_eq!(json["B"][1][1], "blue");
        assert_eq!(
            colouring.unknown(),
            [Spot {
                face: Face::U,
                row: 0,
                col: 1
            }]
        );
    }
}
