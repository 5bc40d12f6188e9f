//! Letters as strokes, so that a picture looks the same everywhere and needs no font.
//!
//! One unit is a tenth of the height of a capital; the baseline is y = 0 and y grows downwards.

use super::slant::Slant;
use std::fmt::Write;

/// How a text stands to its point.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Anchor {
    /// It begins there.
    Start,
    /// Its middle lies there.
    Middle,
}

/// The letters: each with the width of its box and its strokes as an SVG path.
const GLYPHS: &[(char, f64, &str)] = &[
    ('A', 8.0, "M0 0L4-10L8 0M1.4-3.4H6.6"),
    (
        'B',
        6.6,
        "M0 0V-10H3.6A2.4 2.4 0 0 1 3.6-5.2H0M3.6-5.2H4A2.6 2.6 0 0 1 4 0H0",
    ),
    ('C', 7.2, "M7.2-8A4.2 5 0 1 0 7.2-2"),
    ('D', 7.4, "M0 0V-10H2.6A4.8 5 0 0 1 2.6 0Z"),
    ('E', 5.8, "M5.8 0H0V-10H5.8M0-5.2H5"),
    ('F', 5.8, "M0 0V-10H5.8M0-5.2H5"),
    ('G', 7.4, "M7-8.2A4.1 5 0 1 0 7.4-2V-4.8H4.6"),
    ('H', 7.0, "M0 0V-10M7 0V-10M0-5.2H7"),
    ('I', 4.0, "M0 0H4M2 0V-10M0-10H4"),
    ('J', 5.0, "M5-10V-3A2.5 3 0 0 1 0-3"),
    ('K', 6.8, "M0 0V-10M6.6-10L0-3.8M2.3-6L6.8 0"),
    ('L', 5.6, "M0-10V0H5.6"),
    ('M', 8.6, "M0 0V-10L4.3-3L8.6-10V0"),
    ('N', 7.2, "M0 0V-10L7.2 0V-10"),
    ('O', 8.0, "M0-5A4 5 0 1 1 8-5A4 5 0 1 1 0-5Z"),
    ('P', 6.5, "M0 0V-10H3.8A2.7 2.7 0 0 1 3.8-4.6H0"),
    ('Q', 8.0, "M0-5A4 5 0 1 1 8-5A4 5 0 1 1 0-5ZM5-2.6L8 .6"),
    (
        'R',
        6.8,
        "M0 0V-10H3.8A2.7 2.7 0 0 1 3.8-4.6H0M3.4-4.6L6.8 0",
    ),
    (
        'S',
        6.6,
        "M6.2-8.3C5.4-9.6 4.4-10 3.3-10C1.5-10 .3-9 .3-7.5C.3-4 6.6-6 6.6-2.6C6.6-.9 5.2 0 3.3 0C2 0 .8-.5 0-1.8",
    ),
    ('T', 7.4, "M0-10H7.4M3.7-10V0"),
    ('U', 7.0, "M0-10V-3.5A3.5 3.5 0 0 0 7-3.5V-10"),
    ('V', 7.8, "M0-10L3.9 0L7.8-10"),
    ('W', 11.0, "M0-10L2.7 0L5.5-8.8L8.3 0L11-10"),
    ('X', 7.2, "M0 0L7.2-10M0-10L7.2 0"),
    ('Y', 7.6, "M0-10L3.8-4.8V0M3.8-4.8L7.6-10"),
    ('Z', 6.8, "M0-10H6.8L0 0H6.8"),
    ('a', 6.0, "M6-7V0M6-3.5A3 3.5 0 1 1 0-3.5A3 3.5 0 1 1 6-3.5"),
    (
        'b',
        6.0,
        "M0-10.6V0M0-3.5A3 3.5 0 1 1 6-3.5A3 3.5 0 1 1 0-3.5",
    ),
    ('c', 5.2, "M5.2-5.8A3 3.5 0 1 0 5.2-1.2"),
    (
        'd',
        6.0,
        "M6-10.6V0M6-3.5A3 3.5 0 1 1 0-3.5A3 3.5 0 1 1 6-3.5",
    ),
    ('e', 6.0, "M0-3.6H6A3 3.4 0 1 0 5.2-1.2"),
    ('f', 4.0, "M1.2 0V-8.2A2 2.3 0 0 1 4-10.3M0-7H3.8"),
    (
        'g',
        6.0,
        "M6-7V.4A3 2.6 0 0 1 .8 2M6-3.5A3 3.5 0 1 1 0-3.5A3 3.5 0 1 1 6-3.5",
    ),
    ('h', 5.6, "M0-10.6V0M0-4.2A2.8 2.8 0 0 1 5.6-4.2V0"),
    ('i', 0.6, "M.3-7V0M.3-10V-9.9"),
    ('j', 2.2, "M2-7V.6A1.9 1.9 0 0 1 0 2.6M2-10V-9.9"),
    ('k', 5.4, "M0-10.6V0M5-7L0-2.6M1.9-4.2L5.4 0"),
    ('l', 1.8, "M0-10.6V-1.4A1.5 1.4 0 0 0 1.8 0"),
    (
        'm',
        9.4,
        "M0-7V0M0-4.6A2.35 2.4 0 0 1 4.7-4.6V0M4.7-4.6A2.35 2.4 0 0 1 9.4-4.6V0",
    ),
    ('n', 5.6, "M0-7V0M0-4.2A2.8 2.8 0 0 1 5.6-4.2V0"),
    (
        'o',
        6.4,
        "M0-3.5A3.2 3.5 0 1 1 6.4-3.5A3.2 3.5 0 1 1 0-3.5Z",
    ),
    ('p', 6.0, "M0-7V3M0-3.5A3 3.5 0 1 1 6-3.5A3 3.5 0 1 1 0-3.5"),
    ('q', 6.0, "M6-7V3M6-3.5A3 3.5 0 1 1 0-3.5A3 3.5 0 1 1 6-3.5"),
    ('r', 3.6, "M0-7V0M0-4A3 3 0 0 1 3.6-6.8"),
    (
        's',
        4.8,
        "M4.6-6C4-6.7 3.3-7 2.5-7C1.2-7 .3-6.4 .3-5.3C.3-2.9 4.8-4.3 4.8-1.9C4.8-.6 3.8 0 2.4 0C1.4 0 .6-.4 0-1.2",
    ),
    ('t', 3.8, "M1.2-9.6V-2A1.8 2 0 0 0 3.8-.2M0-7H3.6"),
    ('u', 5.6, "M0-7V-2.8A2.8 2.8 0 0 0 5.6-2.8M5.6-7V0"),
    ('v', 6.0, "M0-7L3 0L6-7"),
    ('w', 8.4, "M0-7L2.1 0L4.2-6L6.3 0L8.4-7"),
    ('x', 5.6, "M0 0L5.6-7M0-7L5.6 0"),
    ('y', 6.0, "M0-7L3 0M6-7L2.4 1.4A2.4 2 0 0 1 0 2.8"),
    ('z', 5.4, "M0-7H5.4L0 0H5.4"),
    ('0', 6.6, "M0-5A3.3 5 0 1 1 6.6-5A3.3 5 0 1 1 0-5Z"),
    ('1', 3.4, "M0-7.8L2.8-10V0"),
    ('2', 6.2, "M0-7.4A3 2.7 0 1 1 5.6-5.8L0 0H6.2"),
    (
        '3',
        6.2,
        "M.2-8.6A2.8 2.5 0 1 1 2.6-5.4A2.9 2.7 0 1 1 0-1.4",
    ),
    ('4', 6.8, "M5 0V-10L0-3H6.8"),
    ('5', 6.2, "M5.6-10H.9L.5-5.6A3.1 3.1 0 1 1 0-1.2"),
    (
        '6',
        6.4,
        "M5.4-9.2C2.6-11 0-8.6 0-3.2M0-3.1A3.2 3.1 0 1 1 6.4-3.1A3.2 3.1 0 1 1 0-3.1",
    ),
    ('7', 6.2, "M0-10H6.2L2.2 0"),
    (
        '8',
        6.4,
        "M3.2-5.4A2.5 2.3 0 1 1 3.2-10A2.5 2.3 0 1 1 3.2-5.4A3.1 2.7 0 1 1 3.2 0A3.1 2.7 0 1 1 3.2-5.4Z",
    ),
    (
        '9',
        6.4,
        "M6.4-6.9A3.2 3.1 0 1 1 0-6.9A3.2 3.1 0 1 1 6.4-6.9C6.4-1.4 3.8 1 1-.8",
    ),
    (
        '?',
        5.2,
        "M0-8A2.6 2.4 0 1 1 3.6-5.4Q2.5-4.8 2.5-3.2M2.5-.1V0",
    ),
    ('\'', 0.8, "M.6-10L.2-7.4"),
    ('-', 4.0, "M0-3.6H4"),
    ('+', 5.6, "M0-4H5.6M2.8-6.8V-1.2"),
    ('/', 4.4, "M0 1L4.4-10.6"),
    ('(', 2.4, "M2.4-10.8Q-1.6-4.4 2.4 2"),
    (')', 2.4, "M0-10.8Q4-4.4 0 2"),
    (',', 1.0, "M.8-.4L.2 1.8"),
    ('.', 0.6, "M.3-.1V0"),
    (':', 0.6, "M.3-5.6V-5.5M.3-.1V0"),
    ('=', 5.4, "M0-5.6H5.4M0-2.4H5.4"),
];

/// The width and strokes of a letter; a space, and any letter not drawn, is a gap.
fn glyph(letter: char) -> (f64, &'static str) {
    GLYPHS
        .iter()
        .find(|(known, ..)| *known == letter)
        .map_or((3.0, ""), |&(_, wide, path)| (wide, path))
}

/// The space between two letters, in the letters' own units.
const BETWEEN: f64 = 2.6;

/// The width of a text with capitals `height` high.
pub(super) fn width(text: &str, height: f64) -> f64 {
    let letters = text.chars().count();
    let inked: f64 = text.chars().map(|letter| glyph(letter).0).sum();
    (inked + BETWEEN * letters.saturating_sub(1) as f64) * height / 10.0
}

/// Appends a text to an SVG: capitals `height` high, the vertical middle of the capitals at `y`.
pub(super) fn text(
    svg: &mut String,
    words: &str,
    (x, y): (f64, f64),
    (height, anchor): (f64, Anchor),
    ink: &str,
) {
    let scale = height / 10.0;
    let mut left = match anchor {
        Anchor::Start => x,
        Anchor::Middle => x - width(words, height) / 2.0,
    };
    for letter in words.chars() {
        let (wide, path) = glyph(letter);
        if !path.is_empty() {
            // Writing to a String cannot fail.
            let _ = write!(
                svg,
                r#"<path class="l" d="{path}" transform="translate({left:.2} {:.2})scale({scale:.4})" stroke="{ink}"/>"#,
                y + height / 2.0
            );
        }
        left += (wide + BETWEEN) * scale;
    }
}

/// Appends one letter to the middle of a slanted square.
pub(super) fn letter_on(svg: &mut String, letter: char, square: Slant, ink: &str) {
    let (wide, path) = glyph(letter);
    // The letter fills about half the sticker's height, and no more of its width.
    let scale = (0.46_f64 / 10.0).min(0.56 / wide);
    let strokes = square.part((0.5 - wide * scale / 2.0, 0.5 + 5.0 * scale), scale);
    let _ = write!(
        svg,
        r#"<path class="l" d="{path}" {strokes} stroke="{ink}"/>"#
    );
}

/// The style every picture with letters carries: round strokes of a readable weight.
pub(super) const STYLE: &str =
    "<style>.l{fill:none;stroke-width:1.5;stroke-linecap:round;stroke-linejoin:round}</style>";

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_letter_in_use_is_drawn() {
        for letter in ('A'..='Z')
            .chain('a'..='z')
            .chain('0'..='9')
            .chain("?'-+/(),.:=".chars())
        {
            assert!(!glyph(letter).1.is_empty(), "{letter}");
        }
    }

    #[test]
    fn a_text_is_as_wide_as_its_letters() {
        let expected = (4.0 + BETWEEN + 5.6) * 2.0;
        assert!((width("IL", 20.0) - expected).abs() < 1e-9);
        assert!(width("", 20.0).abs() < 1e-9);
    }
}
