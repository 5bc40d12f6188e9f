//! Several looks at one face to one, and whether two looks show the same face.

use crate::colour::Linear;
use crate::geometry::Quad;
use crate::sight::{Patch, SeenFace};

/// Added to linear light before logarithms are taken: below it a sensor tells colours from noise no more.
const FLOOR: f32 = 0.02;

/// A cell whose highlight covers more than this says little about its colour.
pub(super) const MOST_GLARE: f32 = 0.5;

/// How far a cell's colour may move (in ln of linear light, brightness aside) and still be the same sticker.
/// Red and orange under a lamp, the closest pair of common cubes, lie 0.7 apart or more.
const SAME_CELL: f32 = 0.45;

/// How much the camera's white balance may drift between two looks, in ln.
const MOST_DRIFT: f32 = 0.2;

/// How much its exposure may, in ln.
const MOST_EXPOSURE: f32 = 1.4;

/// Cells that may differ for other reasons (a finger, a highlight) while the face is the same.
const STRAY_SHARE: f32 = 0.08;

/// The same face with its rows read from another corner on: corner `quarters` becomes the first.
pub(super) fn turned(face: &SeenFace, quarters: usize) -> SeenFace {
    let n = face.n;
    let corners = face.corners_in_photo.0;
    let mut next = face.clone();
    next.corners_in_photo = Quad([0, 1, 2, 3].map(|k| corners[(k + quarters) % 4]));
    next.patches = (0..n * n)
        .map(|place| face.patches[turned_place(place, n, quarters)].clone())
        .collect();
    next
}

/// Which cell of the original lies at `place` once corner `quarters` is the first.
pub(super) fn turned_place(place: usize, n: usize, quarters: usize) -> usize {
    let (mut row, mut col) = (place / n, place % n);
    for _ in 0..quarters % 4 {
        // Reading from the top right corner downwards: the first row is the last column.
        (row, col) = (col, n - 1 - row);
    }
    row * n + col
}

/// How two looks of the same size compare, cell by cell.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Difference {
    /// The share of comparable cells whose colour differs.
    pub differing: f32,
    /// The median distance of the others, ln.
    pub typical: f32,
}

impl Difference {
    const TOTAL: Self = Self {
        differing: 1.0,
        typical: f32::INFINITY,
    };

    /// Whether the two can be the same face.
    pub fn is_same(self) -> bool {
        self.differing <= STRAY_SHARE
    }
}

/// Linear light channel by channel.
pub(super) fn channels(light: Linear) -> [f32; 3] {
    [light.red, light.green, light.blue].map(|light| light.max(0.0))
}

fn median(values: &mut [f32]) -> f32 {
    if values.is_empty() {
        return 0.0;
    }
    let middle = values.len() / 2;
    *values.select_nth_unstable_by(middle, f32::total_cmp).1
}

/// The cells of two looks that can be compared.
fn comparable(one: &SeenFace, other: &SeenFace) -> Vec<([f32; 3], [f32; 3])> {
    let cells = one.patches.iter().zip(&other.patches);
    cells
        .filter(|(a, b)| a.glare.max(b.glare) <= MOST_GLARE)
        .map(|(a, b)| (channels(a.linear), channels(b.linear)))
        .collect()
}

/// What exposure and white balance make of one look to get the other, per channel as a factor within what a
/// camera does: the median over cells bright enough in it.
pub(super) fn gains(cells: &[([f32; 3], [f32; 3])]) -> [f32; 3] {
    let steps = |channel: usize| {
        cells
            .iter()
            .map(move |(a, b)| (a[channel], b[channel]))
            .filter(|(a, b)| a.min(*b) > FLOOR)
            .map(|(a, b)| (b / a).ln())
    };
    let mut all: Vec<f32> = (0..3).flat_map(steps).collect();
    let exposure = median(&mut all).clamp(-MOST_EXPOSURE, MOST_EXPOSURE);
    [0, 1, 2].map(|channel| {
        let mut own: Vec<f32> = steps(channel).collect();
        let drift = if own.len() * 3 < cells.len() {
            0.0
        } else {
            median(&mut own) - exposure
        };
        (exposure + drift.clamp(-MOST_DRIFT, MOST_DRIFT)).exp()
    })
}

/// How far two colours are apart, ln, once these gains are taken from the second.
pub(super) fn apart(one: [f32; 3], other: [f32; 3], gains: [f32; 3], floor: f32) -> f32 {
    let rest = [0, 1, 2].map(|k| ((other[k] / gains[k] + floor) / (one[k] + floor)).ln());
    let shade = rest.iter().sum::<f32>() / 3.0;
    // Shading moves all channels together and is worth a third of a change of colour.
    rest.iter()
        .map(|value| (value - shade).powi(2))
        .sum::<f32>()
        .sqrt()
        .hypot(shade / 3.0)
}

/// Compares two looks read from the same corner on, exposure and a drift of white balance taken out.
pub(super) fn difference(one: &SeenFace, other: &SeenFace) -> Difference {
    if one.n != other.n {
        return Difference::TOTAL;
    }
    let cells = comparable(one, other);
    if cells.len() * 2 < one.patches.len() {
        return Difference::TOTAL;
    }
    let gains = gains(&cells);
    let mut within = Vec::new();
    for (a, b) in &cells {
        let distance = apart(*a, *b, gains, FLOOR);
        if distance <= SAME_CELL {
            within.push(distance);
        }
    }
    Difference {
        differing: 1.0 - within.len() as f32 / cells.len() as f32,
        typical: median(&mut within),
    }
}

/// A look with its exposure and white balance made those of another look at the same face.
pub(super) fn in_light_of(look: &SeenFace, other: &SeenFace) -> SeenFace {
    let gains = gains(&comparable(look, other));
    let mut next = look.clone();
    for patch in &mut next.patches {
        let [red, green, blue] = channels(patch.linear);
        patch.linear = Linear::new(red * gains[0], green * gains[1], blue * gains[2]);
    }
    next
}

/// The turning of `other` in which it looks most like `one`, and how much.
pub(super) fn best_turn(one: &SeenFace, other: &SeenFace) -> (usize, Difference) {
    (0..4)
        .map(|quarters| (quarters, difference(one, &turned(other, quarters))))
        .min_by(|(_, a), (_, b)| {
            let key = |difference: &Difference| (difference.differing, difference.typical);
            let ((a, c), (b, d)) = (key(a), key(b));
            a.total_cmp(&b).then(c.total_cmp(&d))
        })
        .unwrap_or((0, Difference::TOTAL))
}

/// Several looks at one face, all read from the same corner on, to one: the corners of the last, and for every
/// cell the looks with least highlight, the more evenly coloured counting more.
///
/// # Panics
///
/// If there is no look.
pub(super) fn blend(looks: &[SeenFace]) -> SeenFace {
    let mut whole = looks[looks.len() - 1].clone();
    for (place, patch) in whole.patches.iter_mut().enumerate() {
        let cells: Vec<&Patch> = looks
            .iter()
            .filter_map(|look| look.patches.get(place))
            .collect();
        *patch = blended(&cells);
    }
    whole.sureness = looks.iter().map(|look| look.sureness).fold(0.0, f32::max);
    whole
}

fn blended(cells: &[&Patch]) -> Patch {
    let least = cells.iter().map(|cell| cell.glare).fold(1.0, f32::min);
    let clear = cells.iter().filter(|cell| cell.glare <= least + 0.1);
    let weighed: Vec<(f32, &Patch)> = clear
        .map(|cell| {
            (
                cell.evenness * cell.evenness * cell.pixels as f32 + 1e-3,
                *cell,
            )
        })
        .collect();
    let total: f32 = weighed.iter().map(|(weight, _)| weight).sum();
    let mean = |pick: &dyn Fn(&Patch) -> f32| {
        weighed
            .iter()
            .map(|(weight, cell)| weight * pick(cell))
            .sum::<f32>()
            / total
    };
    Patch {
        linear: Linear::new(
            mean(&|cell| cell.linear.red),
            mean(&|cell| cell.linear.green),
            mean(&|cell| cell.linear.blue),
        ),
        spread: [0, 1, 2].map(|k| mean(&|cell| cell.spread[k])),
        glare: mean(&|cell| cell.glare),
        clipped: [0, 1, 2].map(|k| mean(&|cell| cell.clipped[k])),
        evenness: mean(&|cell| cell.evenness),
        pixels: weighed.iter().map(|(_, cell)| cell.pixels).sum(),
    }
}

#[cfg(test)]
mod tests {
    use super::super::testing::{Light, painted};
    use super::*;
    use crate::cube::{Face, Sequence, State};
    use proptest::prelude::*;

    fn scrambled() -> State {
        let moves = Sequence::for_order("R U' Fw 3Dw L2 B Uw' Rw2 D F' Lw U2 B'", 6).unwrap();
        State::solved(6).after(&moves.0)
    }

    #[test]
    fn four_quarters_are_none() {
        let seen = painted(&scrambled(), Face::F, 0, Light::DAY);
        let again = (0..4).fold(seen.clone(), |face, _| turned(&face, 1));
        assert!(difference(&seen, &again).differing < 1e-6);
        assert!(difference(&seen, &turned(&seen, 1)).differing > 0.4);
    }

    /// Reading a face from its top right corner on is what a camera sees after turning the whole cube about the
    /// line of sight: the geometry of the regulations says the same.
    #[test]
    fn a_turned_look_is_the_face_of_a_turned_cube() {
        let state = scrambled();
        let turning = Sequence::for_order("z'", 6).unwrap();
        let after = painted(&state.after(&turning.0), Face::F, 0, Light::DAY);
        let before = painted(&state, Face::F, 0, Light::DAY);
        assert!(difference(&after, &turned(&before, 1)).differing < 1e-6);
    }

    proptest! {
        /// A face is known again in any turning and in other light, and no other face is taken for it.
        #[test]
        fn a_face_is_known_again(face in 0..6_usize, other in 0..6_usize, quarters in 0..4_usize, gain in 0.4_f32..2.0) {
            let state = scrambled();
            let (face, other) = (Face::ALL[face], Face::ALL[other]);
            let one = painted(&state, face, 0, Light::DAY);
            let two = painted(&state, other, quarters, Light { gain, warmth: 0.08 });
            let (turn, found) = best_turn(&one, &two);
            prop_assert_eq!(found.is_same(), face == other, "{:?}", found);
            if face == other {
                prop_assert_eq!((turn + quarters) % 4, 0);
            }
        }
    }

    #[test]
    fn plain_faces_differ_by_their_colour() {
        let solved = State::solved(3);
        for one in Face::ALL {
            for other in Face::ALL {
                let (a, b) = [one, other]
                    .map(|face| painted(&solved, face, 0, Light::DAY))
                    .into();
                assert_eq!(best_turn(&a, &b).1.is_same(), one == other, "{one} {other}");
            }
        }
    }

    #[test]
    fn highlights_are_left_out_of_the_blend() {
        let good = painted(&scrambled(), Face::U, 0, Light::DAY);
        let mut glaring = good.clone();
        glaring.patches[7].linear = Linear::new(1.0, 1.0, 1.0);
        glaring.patches[7].glare = 0.9;
        let whole = blend(&[good.clone(), glaring]);
        assert_eq!(whole.patches[7].linear, good.patches[7].linear);
        assert!(difference(&whole, &good).differing < 1e-6);
    }
}
