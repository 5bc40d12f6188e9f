//! The measured colours of known cubes, from the `calibration/` folder or a file of the user's own, as typed values.

use crate::colour::Name;
use crate::cube::Face;
use serde::{Deserialize, Serialize};

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

    /// The colour of a face.
    pub const fn colour(self, face: Face) -> Name {
        self.0[face.index()]
    }

    /// The face with a colour, if the scheme has it.
    pub fn face(self, colour: Name) -> Option<Face> {
        Face::ALL
            .into_iter()
            .find(|&face| self.colour(face) == colour)
    }
}
