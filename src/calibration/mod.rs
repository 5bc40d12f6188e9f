//! The measured colours of known cubes, from the `calibration/` folder or a file of the user's own, as typed
//! values, and the numbers of the light and noise model.
//!
//! Every number of the folder stands there with its unit, origin, date and the command that made it.

mod known;
mod samples;

pub use known::{KnownCube, Nearest, Unlike, lab};
pub use samples::Samples;

use crate::colour::Name;
use crate::cube::{Face, Hold};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use thiserror::Error;

/// Which colour each face has on the solved cube.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Scheme(pub [Name; 6]);

impl Scheme {
    /// White opposite yellow, red opposite orange, green opposite blue; green in front and white on top puts
    /// red on the right (common practice, no source).
    pub const COMMON: Self = Self([
        Name::White,
        Name::Red,
        Name::Green,
        Name::Yellow,
        Name::Orange,
        Name::Blue,
    ]);

    /// The scheme of shades in the order of [`Face::ALL`].
    pub fn of(shades: &[Shade; 6]) -> Self {
        Self(std::array::from_fn(|face| shades[face].colour))
    }

    /// The colour of a face.
    pub const fn colour(self, face: Face) -> Name {
        self.0[face.index()]
    }

    /// The scheme of the mirror image.
    #[must_use]
    pub fn mirrored(mut self) -> Self {
        self.0.swap(Face::R.index(), Face::L.index());
        self
    }

    /// Whether turning the whole cube makes one of the other.
    pub fn is_turned(self, other: Self) -> bool {
        Hold::all().iter().any(|hold| {
            let mut faces = Face::ALL.iter();
            faces.all(|&face| self.colour(face) == other.colour(hold.brings(face)))
        })
    }

    /// The face with a colour, if the scheme has it.
    pub fn face(self, colour: Name) -> Option<Face> {
        Face::ALL
            .into_iter()
            .find(|&face| self.colour(face) == colour)
    }
}

/// What a sticker of one colour looks like in neutral light.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Shade {
    /// The word for it.
    pub colour: Name,
    /// Linear light in the sRGB primaries; 1 is a perfect white.
    pub linear: [f64; 3],
    /// How far cubes of this kind differ: standard deviation of ln(linear + 0.04), per channel.
    pub spread: [f64; 3],
}

/// The six shades of a kind of cube, in the order of [`Face::ALL`].
#[derive(Clone, Debug, PartialEq)]
pub struct ShadeSet {
    /// The name of its file.
    pub name: String,
    /// The share of cubes that are of this kind, 0..=1.
    pub share: f64,
    /// The shades, each at the face it has on the usual scheme.
    pub shades: [Shade; 6],
}

/// The share of cubes with each arrangement of a shade set's colours.
#[derive(Clone, Copy, Debug, PartialEq, Deserialize)]
pub struct SchemeShares {
    /// As in the shade set.
    pub usual: f64,
    /// Its mirror image.
    pub mirrored: f64,
    /// The other 28 taken together.
    pub any_other: f64,
}

/// A number with where it comes from.
#[derive(Clone, Debug, PartialEq, Deserialize)]
pub struct Measured {
    /// The number.
    pub value: f64,
    /// Its unit.
    pub unit: String,
    /// Who measured it on what, or that it is an estimate.
    pub origin: String,
    /// The day it was measured.
    pub date: String,
    /// The command that measures it again.
    pub command: String,
}

/// The numbers of the light and noise model; `calibration/noise.json` has their units and origins.
#[derive(Clone, Debug, PartialEq, Deserialize)]
#[expect(missing_docs, reason = "the file beside it says what each number is")]
pub struct Noise {
    pub dark_floor: Measured,
    pub colour_noise: Measured,
    pub stray_light: Measured,
    pub shading_spread: Measured,
    pub gloss: Measured,
    pub look_spread: Measured,
    pub exposure_spread: Measured,
    pub tint_spread: Measured,
    pub misread_share: Measured,
    pub doubt_understated: Measured,
    pub uneasy: Measured,
    pub unease: Measured,
    pub odd_photo: Measured,
    pub strange: Measured,
    pub strangeness: Measured,
    pub put_together_wrongly: Measured,
    pub stickers_moved: Measured,
    pub told_wrongly: Measured,
}

/// All that was measured beforehand.
#[derive(Clone, Debug, PartialEq)]
pub struct Calibration {
    /// Kinds of cubes, the commonest first.
    pub shade_sets: Vec<ShadeSet>,
    /// How their colours are arranged.
    pub schemes: SchemeShares,
    /// Light and noise.
    pub noise: Noise,
    /// The cube the person has, if its colours were learned before.
    pub known: Option<KnownCube>,
}

/// Why a calibration could not be used.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum Error {
    /// Not JSON, or keys missing.
    #[error("the calibration {name} could not be understood: {source}")]
    NotUnderstood {
        /// Which one.
        name: String,
        /// What the JSON reader said.
        source: serde_json::Error,
    },
    /// A shade set without one of its faces.
    #[error("the calibration {name} has no shade for face {face}")]
    NoShade {
        /// Which one.
        name: String,
        /// The face without a shade.
        face: Face,
    },
    /// Something else than expected stands at a place.
    #[error("at {place}: {met} was met, {expected} was expected")]
    Unfit {
        /// The place, as one would name it in a program.
        place: String,
        /// What stands there.
        met: String,
        /// What should.
        expected: String,
    },
}

impl Calibration {
    /// The calibration that comes with the program.
    ///
    /// # Errors
    ///
    /// If a file of the `calibration/` folder was broken when the program was built.
    pub fn built_in() -> Result<Self, Error> {
        const SETS: [&str; 5] = [
            include_str!("../../calibration/common.json"),
            include_str!("../../calibration/purple-for-orange.json"),
            include_str!("../../calibration/black-for-white.json"),
            include_str!("../../calibration/pastel.json"),
            include_str!("../../calibration/grey-for-white.json"),
        ];
        let shade_sets = SETS.into_iter().map(shade_set).collect::<Result<_, _>>()?;
        Ok(Self {
            shade_sets,
            schemes: understood("schemes", include_str!("../../calibration/schemes.json"))?,
            noise: understood("noise", include_str!("../../calibration/noise.json"))?,
            known: None,
        })
    }
}

fn understood<'a, T: Deserialize<'a>>(name: &str, text: &'a str) -> Result<T, Error> {
    serde_json::from_str(text).map_err(|source| Error::NotUnderstood {
        name: name.to_owned(),
        source,
    })
}

fn shade_set(text: &str) -> Result<ShadeSet, Error> {
    #[derive(Deserialize)]
    struct File {
        name: String,
        share: f64,
        faces: BTreeMap<Face, Shade>,
    }
    let file: File = understood("shade set", text)?;
    let shade = |face: Face| {
        file.faces
            .get(&face)
            .cloned()
            .ok_or_else(|| Error::NoShade {
                name: file.name.clone(),
                face,
            })
    };
    let [up, right, front, down, left, back] = Face::ALL.map(shade);
    Ok(ShadeSet {
        shades: [up?, right?, front?, down?, left?, back?],
        name: file.name,
        share: file.share,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_built_in_calibration_is_whole() {
        let calibration = Calibration::built_in().unwrap();
        let shares: f64 = calibration.shade_sets.iter().map(|set| set.share).sum();
        assert!(
            (shares - 1.0).abs() < 1e-9,
            "shares of kinds sum to {shares}"
        );
        let SchemeShares {
            usual,
            mirrored,
            any_other,
        } = calibration.schemes;
        assert!((usual + mirrored + any_other - 1.0).abs() < 1e-9);
        for set in &calibration.shade_sets {
            let mut words = set.shades.clone().map(|shade| shade.colour);
            words.sort_unstable();
            assert!(
                words.windows(2).all(|pair| pair[0] != pair[1]),
                "{}",
                set.name
            );
        }
    }
}
