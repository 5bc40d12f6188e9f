//! A face's net moved onto the gap lines as the photo's full-size pixels show them.

use super::bend::{Firmness, Sighting, Way};
use super::net::{Net, Place, lean, square};
use super::sample::linear_from_coded;
use super::{Photo, Scene};
use crate::geometry::{InPhoto, Point};

/// How a gap is looked at: at first, and once its place is about known.
const LOOKS: [Look; 2] = [
    Look {
        reach: 0.34,
        along: &[-0.24, 0.0, 0.24],
    },
    Look {
        reach: 0.26,
        along: &[-0.28, -0.14, 0.0, 0.14, 0.28],
    },
];

struct Look {
    /// How far to both sides of a gap its profile reaches, in sticker sides.
    reach: f64,
    /// Profiles across a gap are averaged at these places along it, in sticker sides from its middle.
    along: &'static [f64],
}

/// How far from its place a gap may be found, in sticker sides.
const SEARCH: f64 = 0.24;

/// The samples of a profile.
const LEAST_SAMPLES: usize = 15;
const MOST_SAMPLES: usize = 41;

/// How far a gap must stand out from the stickers beside it, in steps of 1/255, to be seen at all in a picture of full
/// contrast.
const LEAST_DEPTH: f32 = 5.0;

/// How far a gap must stand out from stickers of two colours, in distances between these: a blurred step passes through
/// mixtures of light, which lie on no straight line between the coded colours.
const CURVED: f32 = 0.1;

/// How much of a difference in colour is one in lightness where it is mostly that: half, √3 being all.
const MOSTLY: f32 = 0.87;

/// The standard error of a gap's middle, in sticker sides: stickers are laid crooked.
const GAP_ERROR: f64 = 0.025;

/// What was met of the gaps between a face's stickers.
#[derive(Clone, Copy, Debug, Default)]
pub struct Gaps {
    /// The share of them that were seen at all.
    pub seen: f64,
    /// The share of them that stand out by themselves, not just as a step from one colour to another.
    pub deep: f64,
    /// How far off their places half of them are at most, in sticker sides, and nine tenths.
    pub off_half: f64,
    pub off_most: f64,
}

/// Moves the net of n×n cells from a first one onto the gaps between them, and says how well these fit.
pub fn refine(scene: &Scene, net: &Net, first: Place, n: i32, firmness: Firmness) -> (Net, Gaps) {
    let mut net = net.clone();
    let mut gaps = Gaps::default();
    for look in &LOOKS {
        let met: Vec<Gap> = pairs(first, n)
            .filter_map(|(cells, way)| gap(scene, &net, cells, way, look))
            .collect();
        let members = net.members(&scene.regions, first, n);
        let mut sightings = net.sightings(&scene.regions, &members);
        sightings.extend(met.iter().map(|gap| gap.sighting));
        let before = net.clone();
        let lean = lean(&scene.regions.flats, &members);
        if net.explain(&sightings, firmness, lean).is_none() {
            break;
        }
        gaps = summary(&met, (2 * n * (n - 1)) as usize, &before, &net);
    }
    (net, gaps)
}

/// The pairs of cells with a gap between them, and the way across it.
fn pairs(first: Place, n: i32) -> impl Iterator<Item = ([Place; 2], Way)> {
    let last = (first.0 + n - 1, first.1 + n - 1);
    square(first, n).flat_map(move |cell| {
        let right = (cell.0 < last.0).then_some(([cell, (cell.0 + 1, cell.1)], Way::Right));
        let down = (cell.1 < last.1).then_some(([cell, (cell.0, cell.1 + 1)], Way::Down));
        right.into_iter().chain(down)
    })
}

/// What the gaps have in common, after the net was moved from where they were measured.
fn summary(met: &[Gap], expected: usize, before: &Net, after: &Net) -> Gaps {
    let moved = |cell: Place| {
        let point = before.at(cell, 0.0, 0.0);
        let (right, down) = after.offset_of(cell, point);
        (right, down)
    };
    let mut offs: Vec<f64> = met
        .iter()
        .map(|gap| {
            let Sighting {
                cells, way, off, ..
            } = gap.sighting;
            let (one, other) = (moved(cells[0]), moved(cells[1]));
            let shift = match way {
                Way::Right => f64::midpoint(one.0, other.0),
                Way::Down => f64::midpoint(one.1, other.1),
            };
            (off + shift).abs()
        })
        .collect();
    offs.sort_by(f64::total_cmp);
    let at = |part: f64| {
        let index = ((offs.len().max(1) - 1) as f64 * part) as usize;
        offs.get(index).copied().unwrap_or(1.0)
    };
    Gaps {
        seen: met.len() as f64 / expected as f64,
        deep: met.iter().filter(|gap| gap.is_deep).count() as f64 / expected as f64,
        off_half: at(0.5),
        off_most: at(0.9),
    }
}

/// A gap that was met.
struct Gap {
    sighting: Sighting,
    /// Whether it stands out by itself.
    is_deep: bool,
}

/// Where the gap between two neighbouring cells is.
fn gap(scene: &Scene, net: &Net, cells: [Place; 2], way: Way, look: &Look) -> Option<Gap> {
    let reach = look.reach;
    let at = |cell: Place, across: f64, along: f64| {
        let point = match way {
            Way::Right => net.at(cell, across, along),
            Way::Down => net.at(cell, along, across),
        };
        let point = scene.small.in_photo(point);
        (point.x, point.y)
    };
    let between = |along: f64| {
        let (a, b) = (at(cells[0], 0.5, along), at(cells[1], -0.5, along));
        (f64::midpoint(a.0, b.0), f64::midpoint(a.1, b.1))
    };
    let (from, to) = (at(cells[0], 0.0, 0.0), at(cells[1], 0.0, 0.0));
    let step = (to.0 - from.0, to.1 - from.1);
    let side_px = step.0.hypot(step.1);
    let samples = ((2.0 * reach * side_px) as usize | 1).clamp(LEAST_SAMPLES, MOST_SAMPLES);
    let offset = |k: usize| reach * (2.0 * k as f64 / (samples - 1) as f64 - 1.0);
    let mut profile = [[0.0_f32; 3]; MOST_SAMPLES];
    for &along in look.along {
        let middle = between(along);
        for (k, sum) in profile[..samples].iter_mut().enumerate() {
            let point = Point::new(middle.0 + offset(k) * step.0, middle.1 + offset(k) * step.1);
            let colour = colour_at(scene.photo, point);
            for (sum, value) in sum.iter_mut().zip(colour) {
                *sum += value / look.along.len() as f32;
            }
        }
    }
    let least_depth = LEAST_DEPTH * scene.edges.contrast;
    let Middle {
        place,
        depth,
        contrast,
    } = middle_of_gap(&profile[..samples], least_depth)?;
    let off = reach * (2.0 * place / (samples - 1) as f64 - 1.0);
    let trust = f64::from(depth / (depth + 3.0 * least_depth)) / GAP_ERROR;
    (off.abs() < SEARCH).then_some(Gap {
        sighting: Sighting {
            cells,
            way,
            off,
            trust: trust * trust,
        },
        is_deep: depth > least_depth.max(CURVED * contrast),
    })
}

/// The middle of a gap in a profile across it.
struct Middle {
    /// Where it is, in samples.
    place: f64,
    /// How far it stands out from the stickers beside it, in steps of 1/255.
    depth: f32,
    /// How far apart the colours of the stickers are.
    contrast: f32,
}

/// Finds the middle of a gap in a profile across it.
fn middle_of_gap(profile: &[[f32; 3]], least_depth: f32) -> Option<Middle> {
    let ends = profile.len() / 5;
    let mean = |part: &[[f32; 3]]| -> [f32; 3] {
        std::array::from_fn(|k| part.iter().map(|c| c[k]).sum::<f32>() / part.len() as f32)
    };
    let (one, other) = (
        mean(&profile[..ends]),
        mean(&profile[profile.len() - ends..]),
    );
    let span: [f32; 3] = std::array::from_fn(|k| other[k] - one[k]);
    let length = span.iter().map(|v| v * v).sum::<f32>();
    let inner = ends..profile.len() - ends;
    let (coded, tones) = apart(profile, one, span);
    let depth = coded[inner.clone()].iter().copied().fold(0.0, f32::max);
    if depth < least_depth {
        return step_between(profile, one, span, length, least_depth);
    }
    // A blurred gap is as wide on both sides of its middle in linear light, whatever the stickers beside it are.
    let mut linear = [[0.0_f32; 3]; MOST_SAMPLES];
    for (linear, colour) in linear.iter_mut().zip(profile) {
        *linear = colour.map(linear_from_coded);
    }
    let linear = &linear[..profile.len()];
    let (one, other) = (mean(&linear[..ends]), mean(&linear[linear.len() - ends..]));
    let (mut apart, linear_tones) = apart(linear, one, std::array::from_fn(|k| other[k] - one[k]));
    // A sharpened photo has a bright seam on both sides of a dark gap, and in linear light it stands out more than the gap.
    let gap = inner
        .clone()
        .max_by(|&a, &b| coded[a].total_cmp(&coded[b]))?;
    for (apart, tone) in apart.iter_mut().zip(linear_tones) {
        if tone * tones[gap].signum() < -MOSTLY * *apart {
            *apart = 0.0;
        }
    }
    let apart = &apart[..profile.len()];
    let peak = inner.max_by(|&a, &b| apart[a].total_cmp(&apart[b]))?;
    let half = 0.5 * apart[peak];
    let low = (0..peak)
        .rev()
        .find(|&k| apart[k] < half)
        .map_or(0, |k| k + 1);
    let high = (peak..apart.len())
        .find(|&k| apart[k] < half)
        .unwrap_or(apart.len());
    let (mut sum, mut weight) = (0.0, 0.0);
    for (k, apart) in apart.iter().enumerate().take(high).skip(low) {
        let over = f64::from(apart - half) + 1e-9;
        sum += over * k as f64;
        weight += over;
    }
    Some(Middle {
        place: sum / weight,
        depth,
        contrast: length.sqrt(),
    })
}

/// How far each sample's colour is from the mixtures of the colours at the ends: one and what is a span from it; and how
/// much lighter it is, all channels summed.
fn apart(
    profile: &[[f32; 3]],
    one: [f32; 3],
    span: [f32; 3],
) -> ([f32; MOST_SAMPLES], [f32; MOST_SAMPLES]) {
    let length = span.iter().map(|v| v * v).sum::<f32>().max(1e-6);
    let (mut apart, mut tones) = ([0.0_f32; MOST_SAMPLES], [0.0_f32; MOST_SAMPLES]);
    for ((apart, tone), colour) in apart.iter_mut().zip(&mut tones).zip(profile) {
        let rise: [f32; 3] = std::array::from_fn(|k| colour[k] - one[k]);
        let dot = rise.iter().zip(&span).map(|(a, b)| a * b).sum::<f32>();
        let t = (dot / length).clamp(0.0, 1.0);
        let miss = |k: usize| rise[k] - t * span[k];
        *apart = (0..3).map(|k| miss(k) * miss(k)).sum::<f32>().sqrt();
        *tone = (0..3).map(miss).sum::<f32>();
    }
    (apart, tones)
}

/// Where a profile without a gap of its own passes from one colour to the other.
fn step_between(
    profile: &[[f32; 3]],
    one: [f32; 3],
    span: [f32; 3],
    length: f32,
    least_depth: f32,
) -> Option<Middle> {
    if length.sqrt() < 3.0 * least_depth {
        return None;
    }
    let share =
        |colour: &[f32; 3]| (0..3).map(|k| (colour[k] - one[k]) * span[k]).sum::<f32>() / length;
    let crossing = (1..profile.len()).find(|&k| share(&profile[k]) >= 0.5)?;
    let (before, after) = (share(&profile[crossing - 1]), share(&profile[crossing]));
    let part = (0.5 - before) / (after - before).max(1e-6);
    Some(Middle {
        place: crossing as f64 - 1.0 + f64::from(part),
        depth: least_depth,
        contrast: length.sqrt(),
    })
}

/// The colour at a point of the photo, mixed from the four pixels about it.
fn colour_at(photo: &Photo, point: Point<InPhoto>) -> [f32; 3] {
    let (x, y) = (
        (point.x as f32 - 0.5).max(0.0),
        (point.y as f32 - 0.5).max(0.0),
    );
    let (column, row) = (x as i32, y as i32);
    let (dx, dy) = (x - column as f32, y - row as f32);
    let [above, below] = photo.square_at(column, row);
    let mixed = |pair: [u8; 6], k: usize| {
        let (left, right) = (f32::from(pair[k]), f32::from(pair[k + 3]));
        left + dx * (right - left)
    };
    std::array::from_fn(|k| {
        let (above, below) = (mixed(above, k), mixed(below, k));
        above + dy * (below - above)
    })
}

#[cfg(test)]
mod tests {
    use super::super::tests::PAINTS;
    use super::*;

    /// What a camera's sharpening does to a profile: the difference from its mean over five samples, added to it.
    fn sharpened(profile: &[[f32; 3]]) -> Vec<[f32; 3]> {
        let at = |k: usize, j: usize| profile[(k + j).saturating_sub(2).min(profile.len() - 1)];
        (0..profile.len())
            .map(|k| {
                std::array::from_fn(|channel| {
                    let mean = (0..5).map(|j| at(k, j)[channel]).sum::<f32>() / 5.0;
                    let value = profile[k][channel];
                    (value + 1.5 * (value - mean)).clamp(0.0, 255.0)
                })
            })
            .collect()
    }

    /// A black gap of nine samples about the middle one, between stickers of every two of six colours: sharpening leaves its
    /// middle within a sixth of its width.
    #[test]
    fn a_gap_is_where_it_was_drawn_however_sharpened() {
        let stickers = PAINTS.map(|paint| paint.map(f32::from));
        for one in stickers {
            for other in stickers {
                let profile: Vec<[f32; 3]> = (0..MOST_SAMPLES)
                    .map(|k| match k {
                        0..16 => one,
                        16..=24 => [12.0; 3],
                        _ => other,
                    })
                    .collect();
                for profile in [profile.clone(), sharpened(&profile)] {
                    let met = middle_of_gap(&profile, LEAST_DEPTH).unwrap();
                    let off = (met.place - 20.0).abs();
                    assert!(off < 1.5, "{one:?} {other:?}: {off}");
                }
            }
        }
    }
}
