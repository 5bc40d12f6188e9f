//! Colour spaces as types, distances between colours, and the plain words for them.
//!
//! It knows light and numbers; cubes and pictures are no concern of it.

use serde::{Deserialize, Serialize};

/// Linear light in the sRGB primaries, each channel 0..=1 of the sensor's range.
pub type Linear = palette::LinSrgb<f32>;

/// CIELAB under D65.
pub type Lab = palette::Lab<palette::white_point::D65, f32>;

/// A plain English colour word, as printed for machines and people.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Name {
    /// White.
    White,
    /// Black.
    Black,
    /// Grey.
    Grey,
    /// Yellow.
    Yellow,
    /// Red.
    Red,
    /// Orange.
    Orange,
    /// Blue.
    Blue,
    /// Green.
    Green,
    /// Purple.
    Purple,
    /// Pink.
    Pink,
}
