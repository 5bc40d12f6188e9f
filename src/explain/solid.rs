//! The cube as one holds it, seen from the front, above and the right: pieces that matter in full colour, the
//! rest dimmed, a letter on every sticker that matters.

use super::letters::{Anchor, STYLE, letter_on, text, width};
use super::paint::{Paint, faded, hex, letter, paint};
use super::sheet::escaped;
use super::slant::{Slant, Step};
use crate::colour::Name;
use crate::cube::{Face, Hold, Move, Quarter, Spot, Vector};
use std::collections::BTreeSet;
use std::fmt::Write;

/// What to draw.
#[derive(Clone, Debug)]
pub struct Solid<'a> {
    /// The order of the cube.
    pub n: usize,
    /// 6·n² colours in the order of place numbers, `None` where unknown; already in the hold.
    pub stickers: &'a [Option<Name>],
    /// The places in full colour; all of them when empty.
    pub bright: &'a BTreeSet<usize>,
    /// The move to point out with arrows, if any.
    pub turning: Option<Move>,
    /// What the picture shows, for people who cannot see it.
    pub title: &'a str,
}

/// The edge of the drawn cube in pixels.
const SIDE_PX: f64 = 190.0;
const MARGIN_PX: f64 = 14.0;
/// How far the cube is turned to the left, so that its right face shows.
const YAW_RAD: f64 = 0.60;
/// How far one looks down on it.
const PITCH_RAD: f64 = 0.50;

/// The height of the capitals under faces drawn beside the cube.
const LABEL_PX: f64 = 9.0;

const BODY: &str = "#3b4046";
const DIM_BODY: &str = "#c3c8ce";
const QUIET: &str = "#5b636d";

/// The faces one sees, and the ones behind.
const SHOWN: [Face; 3] = [Face::U, Face::F, Face::R];
const HIDDEN: [Face; 3] = [Face::L, Face::D, Face::B];

/// A direction in space as one in the picture, in cube sides: seen from far away, so that parallels stay parallel.
fn projected(vector: [f64; 3]) -> Step {
    let [x, y, z] = vector;
    (
        x * YAW_RAD.cos() - z * YAW_RAD.sin(),
        (x * YAW_RAD.sin() + z * YAW_RAD.cos()) * PITCH_RAD.sin() - y * PITCH_RAD.cos(),
    )
}

/// How a face lies in the picture, in cube sides.
fn panel(face: Face) -> Slant {
    let [normal, down, right] = face.frame().map(|vector: Vector| vector.map(f64::from));
    let corner = [0, 1, 2].map(|k| (normal[k] - down[k] - right[k]) / 2.0);
    let (aside, below) = beside(face);
    let (x, y) = projected(corner);
    Slant {
        corner: (x + aside, y + below),
        across: projected(right),
        down: projected(down),
    }
}

/// How far a hidden face is drawn beside the cube, in cube sides: to the left, below, or to the right.
fn beside(face: Face) -> Step {
    match face {
        Face::L => (-(2.0 * YAW_RAD.sin() * 0.5 + 0.62), 0.0),
        Face::D => (0.0, 0.78),
        Face::B => (0.98, -0.1),
        Face::U | Face::R | Face::F => (0.0, 0.0),
    }
}

/// The cube in the hold as an SVG text.
///
/// Bright pieces none of whose stickers one would see are shown on faces drawn beside the cube, as if one
/// looked through it.
///
/// # Panics
///
/// If there are not 6·n² stickers.
pub fn solid(what: &Solid) -> String {
    let n = what.n;
    assert_eq!(
        what.stickers.len(),
        6 * n * n,
        "stickers of a cube of order {n}"
    );
    let hidden = hidden(what);
    let frame = Frame::of(&hidden);
    let mut svg = frame.opened(what.title);
    svg.push_str(STYLE);
    let is_whole = what.bright.is_empty();
    draw_faces(&mut svg, &hidden, &frame, &|svg, face| {
        draw_body(svg, face, &frame, if is_whole { BODY } else { DIM_BODY });
        for place in places(n, face) {
            let stands_out = what.bright.contains(&place);
            if stands_out {
                draw_surround(svg, (n, place), &frame);
            }
            let is_bright = is_whole || stands_out;
            draw_sticker(svg, (n, place), &frame, (what.stickers[place], is_bright));
        }
    });
    if let Some(step) = what.turning {
        for face in SHOWN {
            draw_arrow(&mut svg, n, (face, step), &frame);
        }
    }
    svg.push_str("</svg>");
    svg
}

/// A dimmed cube that many pictures on one page share, so that each of them only draws what differs.
pub(super) struct Ground {
    pub(super) n: usize,
    pub(super) stickers: Vec<Option<Name>>,
}

/// A picture that shows only together with what it lies on.
pub(super) struct Over {
    /// The picture.
    pub(super) svg: String,
    /// The faces drawn beside the cube; they name what it lies on.
    pub(super) hidden: Vec<Face>,
}

impl Ground {
    /// The dimmed cube with some faces drawn beside it, to be put once into the page.
    pub(super) fn drawn(&self, hidden: &[Face]) -> String {
        let frame = Frame::of(hidden);
        let mut svg = format!(r#"<g id="{}">"#, ground_id(hidden));
        draw_faces(&mut svg, hidden, &frame, &|svg, face| {
            draw_body(svg, face, &frame, DIM_BODY);
            for place in places(self.n, face) {
                draw_sticker(svg, (self.n, place), &frame, (self.stickers[place], false));
            }
        });
        svg.push_str("</g>");
        svg
    }

    /// A picture that lies on it.
    pub(super) fn over(&self, what: &Solid) -> Over {
        let hidden = hidden(what);
        let frame = Frame::of(&hidden);
        let mut svg = frame.opened(what.title);
        let _ = write!(svg, r##"<use href="#{}"/>"##, ground_id(&hidden));
        for face in hidden.iter().copied().chain(SHOWN) {
            for place in places(self.n, face) {
                let is_bright = what.bright.contains(&place);
                let sticker = what.stickers[place];
                if is_bright {
                    draw_surround(&mut svg, (self.n, place), &frame);
                }
                if is_bright || sticker != self.stickers[place] {
                    draw_sticker(&mut svg, (self.n, place), &frame, (sticker, is_bright));
                }
            }
        }
        svg.push_str("</svg>");
        Over { svg, hidden }
    }
}

fn ground_id(hidden: &[Face]) -> String {
    let faces: Vec<String> = hidden.iter().map(|face| format!("-{face}")).collect();
    format!("cube{}", faces.concat())
}

/// The faces to be drawn beside the cube.
fn hidden(what: &Solid) -> Vec<Face> {
    let mut hidden = HIDDEN.to_vec();
    hidden.retain(|&face| is_needed(what, face));
    hidden
}

/// The places of a face.
const fn places(n: usize, face: Face) -> std::ops::Range<usize> {
    face.index() * n * n..(face.index() + 1) * n * n
}

/// Draws hidden faces with their captions, then those one sees.
fn draw_faces(svg: &mut String, hidden: &[Face], frame: &Frame, draw: &dyn Fn(&mut String, Face)) {
    for &face in hidden {
        draw(svg, face);
        let (middle, y) = frame.middle_below(face);
        let words = match face {
            Face::L => "left, seen through the cube",
            Face::D => "bottom, seen through the cube",
            _ => "back, seen through the cube",
        };
        // Under a narrow face near the rim the words move inwards to stay in the picture.
        let half = width(words, LABEL_PX) / 2.0 + 3.0;
        let x = middle.clamp(half, (frame.wide_px - half).max(half));
        text(svg, words, (x, y), (LABEL_PX, Anchor::Middle), QUIET);
    }
    for face in SHOWN {
        draw(svg, face);
    }
}

/// The size of the picture and where its origin lies.
struct Frame {
    least: Step,
    wide_px: f64,
    high_px: f64,
}

impl Frame {
    /// Around the faces one sees and some hidden ones.
    fn of(hidden: &[Face]) -> Self {
        let faces = hidden.iter().copied().chain(SHOWN);
        let corners: Vec<Step> = faces.flat_map(|face| panel(face).corners()).collect();
        let bound = |pick: fn(f64, f64) -> f64, from: f64, k: fn(&Step) -> f64| {
            corners.iter().map(k).fold(from, pick)
        };
        let least = (
            bound(f64::min, f64::INFINITY, |point| point.0),
            bound(f64::min, f64::INFINITY, |point| point.1),
        );
        let most = (
            bound(f64::max, f64::NEG_INFINITY, |point| point.0),
            bound(f64::max, f64::NEG_INFINITY, |point| point.1),
        );
        let has_words = !hidden.is_empty();
        Self {
            least,
            wide_px: (most.0 - least.0) * SIDE_PX + 2.0 * MARGIN_PX,
            high_px: (most.1 - least.1) * SIDE_PX
                + 2.0 * MARGIN_PX
                + if has_words { 18.0 } else { 0.0 },
        }
    }

    /// The beginning of a picture.
    fn opened(&self, title: &str) -> String {
        format!(
            r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {0:.0} {1:.0}" width="{0:.0}" height="{1:.0}" role="img"><title>{2}</title>"#,
            self.wide_px,
            self.high_px,
            escaped(title)
        )
    }

    fn place(&self, (x, y): Step) -> Step {
        (
            (x - self.least.0) * SIDE_PX + MARGIN_PX,
            (y - self.least.1) * SIDE_PX + MARGIN_PX,
        )
    }

    /// A face in pixels of the picture.
    fn panel(&self, face: Face) -> Slant {
        let within = panel(face);
        let long = |(x, y): Step| (x * SIDE_PX, y * SIDE_PX);
        Slant {
            corner: self.place(within.corner),
            across: long(within.across),
            down: long(within.down),
        }
    }

    fn middle_below(&self, face: Face) -> Step {
        let corners = panel(face).corners();
        let (x, y) = self.place((
            corners.iter().map(|point| point.0).sum::<f64>() / 4.0,
            corners
                .iter()
                .map(|point| point.1)
                .fold(f64::NEG_INFINITY, f64::max),
        ));
        (x, y + 14.0)
    }
}

/// Whether a hidden face bears a bright sticker of a piece that shows nowhere else.
fn is_needed(what: &Solid, face: Face) -> bool {
    let n = what.n;
    let cubie = |place: usize| {
        let inner = n as i32 - 1;
        Spot::from_place(place, n)
            .position(n)
            .map(|along| along.clamp(-inner, inner))
    };
    let shows = |place: usize| SHOWN.contains(&Spot::from_place(place, n).face);
    let seen: BTreeSet<Vector> = (0..6 * n * n)
        .filter(|&place| shows(place))
        .map(cubie)
        .collect();
    what.bright
        .iter()
        .any(|&place| Spot::from_place(place, n).face == face && !seen.contains(&cubie(place)))
}

/// What lies under the stickers of a face.
fn draw_body(svg: &mut String, face: Face, frame: &Frame, body: &str) {
    let outline: Vec<String> = frame
        .panel(face)
        .corners()
        .map(|(x, y)| format!("{x:.2} {y:.2}"))
        .into();
    let _ = write!(
        svg,
        r#"<path d="M{}Z" fill="{body}" stroke="{body}" stroke-width="3" stroke-linejoin="round"/>"#,
        outline.join("L")
    );
}

/// Where a place of a cube of order n lies in the picture.
fn cell((n, place): (usize, usize), frame: &Frame) -> Slant {
    let spot = Spot::from_place(place, n);
    let share = 1.0 / n as f64;
    let at = (spot.col as f64 * share, spot.row as f64 * share);
    frame.panel(spot.face).part(at, share)
}

/// The dark body around a sticker that stands out.
fn draw_surround(svg: &mut String, at: (usize, usize), frame: &Frame) {
    let cell = cell(at, frame);
    let _ = write!(svg, r#"<rect width="1" height="1" {cell} fill="{BODY}"/>"#);
}

fn draw_sticker(svg: &mut String, at: (usize, usize), frame: &Frame, shown: (Option<Name>, bool)) {
    let square = cell(at, frame).part((0.06, 0.06), 0.88);
    let (n, place) = at;
    sticker(svg, square, Spot::from_place(place, n).face, shown);
}

/// An arrow along the layers that a move turns, where they show on a face beside the turned one.
fn draw_arrow(svg: &mut String, n: usize, (face, step): (Face, Move), frame: &Frame) {
    let (turned, layers, quarter) = match step {
        Move::Block {
            face,
            layers,
            quarter,
        } => (face, layers, quarter),
        Move::Rotation { axis, quarter } => (axis.face(), n, quarter),
    };
    if turned.axis() == face.axis() {
        return;
    }
    let (to_viewer, outwards) = (face.normal(), turned.normal());
    let along = heads_for(face, turned, quarter).normal().map(f64::from);
    let share = layers as f64 / n as f64;
    let middle = [0, 1, 2]
        .map(|k| f64::from(to_viewer[k]) / 2.0 + f64::from(outwards[k]) * (0.5 - share / 2.0));
    let mut path = |points: &[Step], style: &str| {
        let points: Vec<String> = points
            .iter()
            .map(|&(forth, aside)| {
                let point = [0, 1, 2]
                    .map(|k| middle[k] + along[k] * forth + f64::from(outwards[k]) * aside);
                let (x, y) = frame.place(projected(point));
                format!("{x:.1} {y:.1}")
            })
            .collect();
        let _ = write!(svg, r#"<path d="M{}Z" {style}/>"#, points.join("L"));
    };
    let half = share / 2.0;
    let band = [(-0.5, half), (0.5, half), (0.5, -half), (-0.5, -half)];
    for (colour, weight) in [("#fff", 6), ("#16181c", 3)] {
        let style = format!(
            r#"fill="none" stroke="{colour}" stroke-width="{weight}" stroke-linejoin="round""#
        );
        path(&band, &style);
    }
    path(
        &arrow(share.min(0.34), quarter),
        r##"fill="#16181c" fill-opacity="0.86" stroke="#fff" stroke-width="2.5" stroke-linejoin="round""##,
    );
}

/// The outline of an arrow along x, in cube sides: two heads stand for the two quarters of a half turn.
fn arrow(breadth: f64, quarter: Quarter) -> Vec<Step> {
    const REACH: f64 = 0.40;
    let (shaft, head) = (breadth * 0.16, breadth * 0.36);
    let tips: &[f64] = if quarter == Quarter::Half {
        &[REACH - 0.15, REACH]
    } else {
        &[REACH]
    };
    let mut above = vec![(-REACH, shaft)];
    for &tip in tips {
        above.push((tip - 1.3 * head, shaft));
        above.push((tip - 1.3 * head, head));
        above.push((tip, if tip < REACH { shaft } else { 0.0 }));
    }
    let below = above.iter().rev().map(|&(x, y)| (x, -y));
    above.iter().copied().chain(below).collect()
}

/// The side towards which a face's stickers set off when layers under `turned` are turned.
fn heads_for(face: Face, turned: Face, quarter: Quarter) -> Face {
    let axis = turned.axis();
    let is_clockwise = quarter != Quarter::Anticlockwise;
    let quarter = if is_clockwise == (axis.face() == turned) {
        Quarter::Clockwise
    } else {
        Quarter::Anticlockwise
    };
    Hold::of_move(Move::Rotation { axis, quarter }).map_or(face, |hold| hold.brings(face))
}

fn sticker(svg: &mut String, square: Slant, face: Face, (colour, is_bright): (Option<Name>, bool)) {
    /// How much of their colour the stickers keep that only give the surroundings.
    const KEPT: f64 = 0.22;
    // One looks at a hidden face from inside: its letters are turned round to be read.
    let upright = match face {
        Face::U | Face::R | Face::F => square,
        Face::L | Face::B => square.mirrored_across(),
        Face::D => square.mirrored_down(),
    };
    let Some(colour) = colour else {
        let _ = write!(
            svg,
            r##"<rect width="1" height="1" rx="0.12" {square} fill="none" stroke="#8a929b" stroke-width="0.04"/>"##
        );
        letter_on(svg, '?', upright, QUIET);
        return;
    };
    let Paint { fill, ink } = paint(colour);
    let (fill, ink) = if is_bright {
        (fill, ink)
    } else {
        (faded(fill, KEPT), [0x8d, 0x94, 0x9c])
    };
    let _ = write!(
        svg,
        r#"<rect width="1" height="1" rx="0.12" {square} fill="{}"/>"#,
        hex(fill)
    );
    letter_on(svg, letter(colour), upright, &hex(ink));
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calibration::Scheme;
    use crate::cube::State;

    fn check(bright: &[Spot], expected_faces: usize) {
        let n = 4;
        let stickers: Vec<_> = State::solved(n)
            .stickers()
            .iter()
            .map(|&face| Some(Scheme::COMMON.colour(face)))
            .collect();
        let svg = solid(&Solid {
            n,
            stickers: &stickers,
            bright: &bright.iter().map(|spot| spot.place(n)).collect(),
            turning: None,
            title: "a < b",
        });
        assert_eq!(svg.matches(r#"stroke-width="3""#).count(), expected_faces);
        assert!(svg.contains("<title>a &lt; b</title>"));
    }

    /// Source: WCA Regulations 12a: clockwise as seen looking at the turned face.
    #[test]
    fn arrows_point_the_way_the_layers_go() {
        let check = |face, turned, quarter, expected| {
            assert_eq!(
                heads_for(face, turned, quarter),
                expected,
                "{turned} on {face}"
            );
        };
        check(Face::F, Face::U, Quarter::Clockwise, Face::L);
        check(Face::R, Face::U, Quarter::Anticlockwise, Face::B);
        check(Face::F, Face::R, Quarter::Clockwise, Face::U);
        check(Face::F, Face::L, Quarter::Clockwise, Face::D);
        check(Face::U, Face::F, Quarter::Clockwise, Face::R);
        check(Face::U, Face::B, Quarter::Clockwise, Face::L);
        check(Face::F, Face::D, Quarter::Half, Face::R);
    }

    #[test]
    fn hidden_faces_are_drawn_only_for_pieces_that_show_nowhere_else() {
        let spot = |face, row, col| Spot { face, row, col };
        check(&[], 3);
        check(&[spot(Face::U, 0, 1), spot(Face::B, 0, 2)], 3);
        check(&[spot(Face::B, 0, 2)], 3);
        check(&[spot(Face::B, 3, 2), spot(Face::D, 3, 1)], 5);
        check(&[spot(Face::L, 1, 1)], 4);
    }
}
