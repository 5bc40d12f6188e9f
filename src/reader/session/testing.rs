//! Faces as a camera would have seen them, painted from states, for this room's tests.

use super::blend::turned;
use crate::calibration::Scheme;
use crate::colour::{Linear, Name};
use crate::cube::{Face, Spot, State};
use crate::geometry::{Point, Quad};
use crate::sight::{Join, Patch, SeenFace, View};

/// The light of a look.
#[derive(Clone, Copy, Debug)]
pub struct Light {
    /// Exposure.
    pub gain: f32,
    /// How much more red and less blue than by day, ln.
    pub warmth: f32,
}

impl Light {
    /// Daylight, well exposed.
    pub const DAY: Self = Self {
        gain: 1.0,
        warmth: 0.0,
    };
}

/// Linear light of sRGB hex values common for such stickers (from memory).
fn light_of(name: Name) -> Linear {
    let hex: [u8; 3] = match name {
        Name::White => [235, 235, 235],
        Name::Red => [183, 18, 52],
        Name::Orange => [255, 88, 0],
        Name::Blue => [0, 70, 173],
        Name::Green => [0, 155, 72],
        Name::Yellow => [255, 213, 0],
        _ => [90, 90, 90],
    };
    palette::Srgb::from(hex).into_linear()
}

/// What the stickers of a face look like on the common cube by day.
pub fn light_of_face(face: Face) -> Linear {
    light_of(Scheme::COMMON.colour(face))
}

/// What a camera sees of the corner where U, R and F meet: which sides lie together is the layout of the unfolded cube.
pub fn corner_of(state: &State) -> View {
    let faces = [Face::U, Face::R, Face::F].map(|face| painted(state, face, 0, Light::DAY));
    let join = |one, other| Join { one, other };
    View {
        faces: faces.to_vec(),
        joins: vec![
            join((0, 2), (2, 0)),
            join((0, 1), (1, 0)),
            join((2, 1), (1, 3)),
        ],
    }
}

/// One face of a state, read from its corner `quarters` on.
pub fn painted(state: &State, face: Face, quarters: usize, light: Light) -> SeenFace {
    let n = state.n();
    let names = (0..n * n).map(|place| {
        let spot = Spot {
            face,
            row: place / n,
            col: place % n,
        };
        Scheme::COMMON.colour(state.at_spot(spot))
    });
    turned(
        &face_of(n, &names.collect::<Vec<_>>(), light, 100.0),
        quarters,
    )
}

/// A face with these colours, its top left corner at (`left_px`, 100).
pub fn face_of(n: usize, names: &[Name], light: Light, left_px: f64) -> SeenFace {
    let patches = names.iter().map(|&name| {
        let bare = light_of(name);
        let lit = Linear::new(
            bare.red * light.gain * light.warmth.exp(),
            bare.green * light.gain,
            bare.blue * light.gain * (-light.warmth).exp(),
        );
        Patch {
            linear: lit,
            spread: [0.01; 3],
            glare: 0.0,
            clipped: [0.0; 3],
            evenness: 1.0,
            pixels: 400,
        }
    });
    let (left, right) = (left_px, left_px + 240.0);
    SeenFace {
        n,
        corners_in_photo: Quad([
            Point::new(left, 100.0),
            Point::new(right, 100.0),
            Point::new(right, 340.0),
            Point::new(left, 340.0),
        ]),
        patches: patches.collect(),
        sureness: 1.0,
    }
}
