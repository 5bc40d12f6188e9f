//! The unfolded faces as a picture: a letter on every sticker.

use super::letters::{Anchor, STYLE, letter_on, text};
use super::paint::{Paint, hex, letter, paint};
use super::slant::Slant;
use crate::colour::Name;
use crate::cube::{Face, Spot};
use std::collections::BTreeMap;
use std::fmt::Write;

/// Why a sticker is pointed out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Mark {
    /// It could be another colour.
    Doubt,
    /// It belongs to a piece that cannot be there.
    Fault,
}

/// Where a face's top left corner lies in the net, in face sides to the right and down.
const fn cell_of(face: Face) -> (usize, usize) {
    match face {
        Face::U => (1, 0),
        Face::L => (0, 1),
        Face::F => (1, 1),
        Face::R => (2, 1),
        Face::B => (3, 1),
        Face::D => (1, 2),
    }
}

/// What stands above a face in the net.
const fn title_of(face: Face) -> &'static str {
    match face {
        Face::U => "U  top",
        Face::L => "L  left",
        Face::F => "F  front",
        Face::R => "R  right",
        Face::B => "B  back",
        Face::D => "D  bottom",
    }
}

const INK: &str = "#22262b";
const QUIET: &str = "#5b636d";
const BODY: &str = "#3b4046";
/// The height of the capitals above the faces.
const TITLE_PX: f64 = 13.0;
/// The space above each face for its title.
const HEAD_PX: f64 = 26.0;
const GAP_PX: f64 = 14.0;
const MARGIN_PX: f64 = 18.0;

/// The unfolded cube as an SVG text.
///
/// `stickers` are 6·n² colours in the order of place numbers, `None` where unknown; `marks` point out places.
///
/// # Panics
///
/// If there are not 6·n² stickers.
pub fn net(n: usize, stickers: &[Option<Name>], marks: &BTreeMap<usize, Mark>) -> String {
    net_with(n, stickers, marks, None)
}

/// The same with another picture, as by [`super::solid()`], in the free corner at the bottom right, under a title.
///
/// # Panics
///
/// If there are not 6·n² stickers.
pub fn net_with(
    n: usize,
    stickers: &[Option<Name>],
    marks: &BTreeMap<usize, Mark>,
    inset: Option<(&str, &str)>,
) -> String {
    assert_eq!(stickers.len(), 6 * n * n, "stickers of a cube of order {n}");
    let sticker_px = (216.0 / n as f64).clamp(22.0, 60.0);
    let side_px = sticker_px * n as f64;
    let (wide, high) = (
        2.0 * MARGIN_PX + 4.0 * side_px + 3.0 * GAP_PX,
        2.0 * MARGIN_PX + 3.0 * (side_px + HEAD_PX) + 2.0 * GAP_PX,
    );
    let mut svg = String::with_capacity(6 * n * n * 400);
    let _ = write!(
        svg,
        r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {wide:.0} {high:.0}" width="{wide:.0}" height="{high:.0}" role="img"><title>The unfolded faces of a {n}×{n}×{n} cube</title>{STYLE}<rect width="100%" height="100%" fill="#fff"/>"##
    );
    for face in Face::ALL {
        let (across, down) = cell_of(face);
        let left = MARGIN_PX + across as f64 * (side_px + GAP_PX);
        let top = MARGIN_PX + HEAD_PX + down as f64 * (side_px + HEAD_PX + GAP_PX);
        let title_at = (left + side_px / 2.0, top - HEAD_PX / 2.0 - 2.0);
        text(
            &mut svg,
            title_of(face),
            title_at,
            (TITLE_PX, Anchor::Middle),
            QUIET,
        );
        let _ = write!(
            svg,
            r#"<rect x="{:.2}" y="{:.2}" width="{:.2}" height="{:.2}" rx="{:.1}" fill="{BODY}"/>"#,
            left - 3.0,
            top - 3.0,
            side_px + 6.0,
            side_px + 6.0,
            5.0_f64.min(sticker_px * 0.2)
        );
        let first = face.index() * n * n;
        for (place, &colour) in stickers.iter().enumerate().skip(first).take(n * n) {
            let spot = Spot::from_place(place, n);
            let at = (
                left + spot.col as f64 * sticker_px,
                top + spot.row as f64 * sticker_px,
            );
            sticker(&mut svg, at, sticker_px, colour, marks.get(&place).copied());
        }
    }
    let right_of_top = (
        MARGIN_PX + 2.0 * (side_px + GAP_PX) + 6.0,
        MARGIN_PX + HEAD_PX,
    );
    legend(&mut svg, right_of_top, side_px, stickers, marks);
    if let Some((title, picture)) = inset {
        let left = MARGIN_PX + 2.0 * (side_px + GAP_PX);
        let top = MARGIN_PX + 2.0 * (side_px + HEAD_PX + GAP_PX);
        let wide_px = 2.0 * side_px + GAP_PX;
        let title_at = (left + wide_px / 2.0, top + HEAD_PX / 2.0 - 2.0);
        text(&mut svg, title, title_at, (TITLE_PX, Anchor::Middle), QUIET);
        let at = (left, top + HEAD_PX);
        svg.push_str(&placed(picture, at, (wide_px, side_px + 6.0)));
    }
    svg.push_str("</svg>");
    svg
}

/// A picture as a part of another, fitted into a box.
fn placed(picture: &str, (x, y): (f64, f64), (wide_px, high_px): (f64, f64)) -> String {
    // The picture's own width and height give way to those of the box; its viewBox keeps its shape.
    let (head, rest) = picture.split_once(" width=").unwrap_or((picture, ""));
    let rest = rest.split_once(" role=").map_or(rest, |(_, rest)| rest);
    format!(
        r#"{head} x="{x:.2}" y="{y:.2}" width="{wide_px:.2}" height="{high_px:.2}" role={rest}"#
    )
}

/// One sticker whose cell has its top left corner at `at`.
fn sticker(
    svg: &mut String,
    at: (f64, f64),
    cell_px: f64,
    colour: Option<Name>,
    mark: Option<Mark>,
) {
    let inset = (cell_px * 0.05).max(1.0);
    let side = cell_px - 2.0 * inset;
    let (x, y) = (at.0 + inset, at.1 + inset);
    let radius = cell_px * 0.12;
    let Some(colour) = colour else {
        let _ = write!(
            svg,
            r##"<rect x="{x:.2}" y="{y:.2}" width="{side:.2}" height="{side:.2}" rx="{radius:.2}" fill="none" stroke="#c9ced4" stroke-dasharray="3 3"/>"##
        );
        letter_on(svg, '?', Slant::upright((x, y), side), "#fff");
        return;
    };
    let Paint { fill, ink } = paint(colour);
    let _ = write!(
        svg,
        r#"<rect x="{x:.2}" y="{y:.2}" width="{side:.2}" height="{side:.2}" rx="{radius:.2}" fill="{}"/>"#,
        hex(fill)
    );
    letter_on(svg, letter(colour), Slant::upright((x, y), side), &hex(ink));
    if let Some(mark) = mark {
        ring(svg, (x, y), side, mark);
    }
}

/// A mark over a sticker: a dashed ring for a doubt, a whole one with a bar below for a fault.
fn ring(svg: &mut String, (x, y): (f64, f64), side: f64, mark: Mark) {
    let middle = (x + side / 2.0, y + side / 2.0);
    let radius = side * 0.43;
    let (dash, extra) = match mark {
        Mark::Doubt => (
            format!(r#" stroke-dasharray="{0:.1} {0:.1}""#, side * 0.14),
            0.0,
        ),
        Mark::Fault => (String::new(), side * 0.5),
    };
    for (stroke, weight) in [("#fff", 0.11), ("#16181c", 0.06)] {
        let _ = write!(
            svg,
            r#"<circle cx="{:.2}" cy="{:.2}" r="{radius:.2}" fill="none" stroke="{stroke}" stroke-width="{:.2}"{dash}/>"#,
            middle.0,
            middle.1,
            side * weight
        );
        if extra > 0.0 {
            let _ = write!(
                svg,
                r#"<path d="M{:.2} {:.2}h{extra:.2}" stroke="{stroke}" stroke-width="{:.2}"/>"#,
                middle.0 - extra / 2.0,
                y + side * 0.86,
                side * weight
            );
        }
    }
}

/// The words for the letters, beside the top face, and how often each shows.
fn legend(
    svg: &mut String,
    (left, top): (f64, f64),
    side_px: f64,
    stickers: &[Option<Name>],
    marks: &BTreeMap<usize, Mark>,
) {
    let mut counts: BTreeMap<Name, usize> = BTreeMap::new();
    for colour in stickers.iter().flatten() {
        *counts.entry(*colour).or_default() += 1;
    }
    let unknown = stickers.iter().filter(|colour| colour.is_none()).count();
    let kinds: Vec<Mark> = [Mark::Doubt, Mark::Fault]
        .into_iter()
        .filter(|kind| marks.values().any(|mark| mark == kind))
        .collect();
    let lines = counts.len() + usize::from(unknown > 0) + kinds.len();
    let step = (side_px / lines.max(1) as f64).min(30.0);
    let swatch = step * 0.8;
    let mut y = top;
    let mut line = |svg: &mut String, words: &str| {
        let at = (left + swatch + 12.0, y + swatch / 2.0);
        text(
            svg,
            words,
            at,
            ((step * 0.38).min(TITLE_PX), Anchor::Start),
            INK,
        );
        y += step;
        (left, y - step)
    };
    for (colour, times) in counts {
        let at = line(svg, &format!("{colour}  {times}"));
        let cell = format!(
            r#"<rect x="{:.2}" y="{:.2}" width="{swatch:.2}" height="{swatch:.2}" rx="3" fill="{BODY}"/>"#,
            at.0, at.1
        );
        svg.push_str(&cell);
        sticker(svg, at, swatch, Some(colour), None);
    }
    if unknown > 0 {
        let at = line(svg, &format!("unknown  {unknown}"));
        let _ = write!(
            svg,
            r#"<rect x="{:.2}" y="{:.2}" width="{swatch:.2}" height="{swatch:.2}" rx="3" fill="{BODY}"/>"#,
            at.0, at.1
        );
        sticker(svg, at, swatch, None, None);
    }
    for kind in kinds {
        let words = match kind {
            Mark::Doubt => "in doubt",
            Mark::Fault => "cannot be so",
        };
        let at = line(svg, words);
        ring(svg, at, swatch, kind);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calibration::Scheme;
    use crate::cube::State;

    fn picture(n: usize, unknown: Option<usize>, marks: &[(usize, Mark)]) -> String {
        let mut stickers: Vec<_> = State::solved(n)
            .stickers()
            .iter()
            .map(|&face| Some(Scheme::COMMON.colour(face)))
            .collect();
        if let Some(place) = unknown {
            stickers[place] = None;
        }
        net(n, &stickers, &marks.iter().copied().collect())
    }

    /// Strokes of the words are told from letters on stickers by their `scale(…)`.
    fn letters_on_stickers(svg: &str) -> usize {
        svg.matches(r#"transform="matrix("#).count()
    }

    #[test]
    fn every_sticker_and_every_line_of_the_legend_has_its_letter() {
        assert_eq!(letters_on_stickers(&picture(3, None, &[])), 54 + 6);
        assert_eq!(letters_on_stickers(&picture(6, Some(7), &[])), 216 + 7);
    }

    #[test]
    fn marks_show_on_their_sticker_and_in_the_legend() {
        let rings = |marks: &[(usize, Mark)]| picture(4, None, marks).matches("<circle").count();
        assert_eq!(rings(&[]), 0);
        // Each ring is drawn twice, light under dark, to be seen on every colour.
        assert_eq!(rings(&[(3, Mark::Doubt)]), 2 * (1 + 1));
        assert_eq!(rings(&[(3, Mark::Doubt), (9, Mark::Fault)]), 2 * (2 + 2));
    }

    #[test]
    fn another_picture_fits_into_the_corner() {
        let inner = picture(2, None, &[]);
        let stickers: Vec<_> = State::solved(3)
            .stickers()
            .iter()
            .map(|_| Some(Name::Red))
            .collect();
        let svg = net_with(3, &stickers, &BTreeMap::new(), Some(("hold", &inner)));
        assert_eq!(svg.matches("<svg ").count(), 2);
        // Two faces of three cells of 60 px with 14 px between them, and a face and 6 px: the corner right of D.
        assert_eq!(
            svg.matches(" width=\"374.00\" height=\"186.00\" role=\"img\"")
                .count(),
            1
        );
        assert!(crate::explain::png(&svg, 1.0).is_ok());
    }

    /// A picture goes to pixels without any font: what is drawn is what was asked for.
    #[test]
    fn pixels_of_a_picture() {
        let svg = picture(2, None, &[]);
        let bytes = crate::explain::png(&svg, 1.0).unwrap();
        let pixels = image::load_from_memory(&bytes).unwrap().to_rgb8();
        let fill = crate::explain::paint(Name::Green).fill;
        let found = pixels.pixels().filter(|pixel| pixel.0 == fill).count();
        // Four stickers of 60 px a side, less their gaps, corners and letters.
        assert!((8_000..14_400).contains(&found), "{found} green pixels");
    }
}
