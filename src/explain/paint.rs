//! Colour words to the paint and the letter they get in pictures and on terminals.

use crate::colour::Name;

/// How a colour is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Paint {
    /// The sticker, 8-bit sRGB.
    pub fill: [u8; 3],
    /// The letter on it, 8-bit sRGB: black or white, whichever stands out more.
    pub ink: [u8; 3],
}

/// The letter of a colour: its initial, save that black is K, grey E, and pink I, since their
/// initials belong to blue, green and purple.
pub const fn letter(colour: Name) -> char {
    match colour {
        Name::White => 'W',
        Name::Black => 'K',
        Name::Grey => 'E',
        Name::Yellow => 'Y',
        Name::Red => 'R',
        Name::Orange => 'O',
        Name::Blue => 'B',
        Name::Green => 'G',
        Name::Purple => 'P',
        Name::Pink => 'I',
    }
}

/// How a colour is shown: the colours are chosen to differ in lightness as well as in hue.
pub const fn paint(colour: Name) -> Paint {
    const DARK: [u8; 3] = [0x16, 0x18, 0x1c];
    const LIGHT: [u8; 3] = [0xff, 0xff, 0xff];
    let (fill, ink) = match colour {
        Name::White => ([0xf6, 0xf6, 0xf2], DARK),
        Name::Black => ([0x1b, 0x1c, 0x1f], LIGHT),
        Name::Grey => ([0xa4, 0xa8, 0xad], DARK),
        Name::Yellow => ([0xf8, 0xdb, 0x3a], DARK),
        Name::Red => ([0xb6, 0x1f, 0x2c], LIGHT),
        Name::Orange => ([0xf5, 0x8f, 0x2a], DARK),
        Name::Blue => ([0x24, 0x4f, 0xb3], LIGHT),
        Name::Green => ([0x3f, 0xae, 0x5a], DARK),
        Name::Purple => ([0x6d, 0x36, 0x9c], LIGHT),
        Name::Pink => ([0xf3, 0xa6, 0xc8], DARK),
    };
    Paint { fill, ink }
}

/// An sRGB triple the way SVG writes it.
pub(super) fn hex([red, green, blue]: [u8; 3]) -> String {
    format!("#{red:02x}{green:02x}{blue:02x}")
}

/// The colour mixed with the page's white, `share` of the colour staying: for what only gives the surroundings.
pub(super) fn faded(colour: [u8; 3], share: f64) -> [u8; 3] {
    const PAGE: f64 = 246.0;
    colour.map(|channel| (f64::from(channel) * share + PAGE * (1.0 - share)).round() as u8)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn letters_differ() {
        let letters: BTreeSet<_> = Name::ALL.into_iter().map(letter).collect();
        assert_eq!(letters.len(), Name::ALL.len());
    }

    /// Source: W3C, Web Content Accessibility Guidelines 2.2, success criterion 1.4.3: at least 4.5 : 1
    /// between text and ground, relative luminance as defined there.
    #[test]
    fn letters_stand_out() {
        let luminance = |colour: [u8; 3]| {
            let [red, green, blue] = colour.map(|channel| {
                let share = f64::from(channel) / 255.0;
                if share <= 0.04045 {
                    share / 12.92
                } else {
                    ((share + 0.055) / 1.055).powf(2.4)
                }
            });
            0.2126 * red + 0.7152 * green + 0.0722 * blue
        };
        for colour in Name::ALL {
            let Paint { fill, ink } = paint(colour);
            let (a, b) = (luminance(fill), luminance(ink));
            let contrast = (a.max(b) + 0.05) / (a.min(b) + 0.05);
            assert!(contrast >= 4.5, "{colour:?}: {contrast:.2}");
        }
    }
}
