//! Colour spaces as types, distances between colours, and the plain words for them.
//!
//! It knows light and numbers; cubes and pictures are no concern of it.

use palette::color_difference::Ciede2000;
use palette::{IntoColor, Srgb};
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

/// Linear light of an 8-bit sRGB pixel, by the transfer function of IEC 61966-2-1.
pub fn linear_from_srgb(pixel: [u8; 3]) -> Linear {
    Srgb::from(pixel).into_linear()
}

/// CIELAB of linear light, the white being (1, 1, 1).
pub fn lab_from_linear(linear: Linear) -> Lab {
    linear.into_color()
}

/// How different two colours look: CIEDE2000, about 1 being the least difference a person sees.
pub fn difference(one: Lab, other: Lab) -> f32 {
    one.difference(other)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn facts() -> serde_json::Value {
        serde_json::from_str(include_str!("../../fixtures/facts/colour.json")).unwrap()
    }

    fn triple(value: &serde_json::Value) -> [f32; 3] {
        [0, 1, 2].map(|k| value[k].as_f64().unwrap() as f32)
    }

    /// Source: Sharma, Wu and Dalal, Color Research and Application 30 (2005), Table I, all 34 pairs.
    #[test]
    fn ciede2000_of_the_published_pairs() {
        let facts = facts();
        let pairs = facts["ciede2000_pairs"]["value"].as_array().unwrap();
        assert_eq!(pairs.len(), 34);
        for pair in pairs {
            let [one, other] = ["lab1", "lab2"].map(|key| {
                let [l, a, b] = triple(&pair[key]);
                Lab::new(l, a, b)
            });
            let published = pair["delta_e00"].as_f64().unwrap();
            for found in [difference(one, other), difference(other, one)] {
                let error = (f64::from(found) - published).abs();
                assert!(error < 2e-4, "pair {}: {found}", pair["pair"]);
            }
        }
    }

    /// Source: IEC 61966-2-1 and CIE 15, computed in double precision by an independent program.
    #[test]
    fn cielab_of_srgb_pixels() {
        let facts = facts();
        let rows = facts["srgb_to_cielab"]["value"].as_array().unwrap();
        assert!(rows.len() > 15);
        for row in rows {
            let pixel = triple(&row["srgb8"]).map(|channel| channel as u8);
            let expected = triple(&row["lab_d65"]);
            let found = lab_from_linear(linear_from_srgb(pixel));
            for (got, wanted) in [found.l, found.a, found.b].into_iter().zip(expected) {
                // The white point's decimals alone make 0.02, see the source's own note.
                assert!((got - wanted).abs() < 0.03, "{pixel:?}: {got} for {wanted}");
            }
        }
    }

    #[test]
    fn words_are_read_back() {
        for name in Name::ALL {
            assert_eq!(Name::from_word(name.word()), Some(name));
        }
    }
}
