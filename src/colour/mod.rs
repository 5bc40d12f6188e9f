//! Colour spaces as types, distances between colours, and the plain words for them.
//!
//! It knows light and numbers; cubes and pictures are no concern of it.

use serde::{Deserialize, Serialize};
use std::fmt;

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

impl Name {
    /// All words.
    pub const ALL: [Self; 10] = [
        Self::White,
        Self::Black,
        Self::Grey,
        Self::Yellow,
        Self::Red,
        Self::Orange,
        Self::Blue,
        Self::Green,
        Self::Purple,
        Self::Pink,
    ];

    /// The word itself.
    pub const fn word(self) -> &'static str {
        match self {
            Self::White => "white",
            Self::Black => "black",
            Self::Grey => "grey",
            Self::Yellow => "yellow",
            Self::Red => "red",
            Self::Orange => "orange",
            Self::Blue => "blue",
            Self::Green => "green",
            Self::Purple => "purple",
            Self::Pink => "pink",
        }
    }

    /// The colour with this word.
    pub fn from_word(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|name| name.word() == word)
    }
}

impl fmt::Display for Name {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(self.word())
    }
}
