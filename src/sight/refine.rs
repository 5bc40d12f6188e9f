//! A face's net moved onto the gap lines as the photo's full-size pixels show them.

use super::Photo;
use super::bend::{Sighting, Way};
use super::lattice::Regions;
use super::net::{Net, Place, square};
use crate::geometry::{InPhoto, Point};

/// How far to both sides of a gap its profile reaches, in sticker sides.
const REACH: f64 = 0.34;

/// How far from its place a gap may be found, in sticker sides.
const SEARCH: f64 = 0.24;

/// Profiles across a gap are averaged at these places along it, in sticker sides from its middle.
const ALONG: [f64; 5] = [-0.28, -0.14, 0.0, 0.14, 0.28];

/// The samples of a profile.
const LEAST_SAMPLES: usize = 15;
const MOST_SAMPLES: usize = 41;

/// How far a gap must stand out from the stickers beside it, in steps of 1/255, to be seen at all.
const LEAST_DEPTH: f32 = 5.0;

/// The standard error of a gap's middle, in sticker sides: stickers are laid crooked.
const GAP_ERROR: f64 = 0.025;

/// Moves the net of n×n cells from a first one onto the gaps between them; `factor` is the photo's pixels to one of
/// the small picture.
pub fn refine(
    photo: &Photo,
    factor: usize,
    regions: &Regions,
    net: &Net,
    first: Place,
    n: i32,
) -> Net {
    let mut net = net.clone();
    for _ in 0..2 {
        let members = net.members(regions, first, n);
        let mut sightings = net.sightings(regions, &members);
        for cell in square(first, n) {
            let (column, row) = (cell.0 - first.0, cell.1 - first.1);
            if column + 1 < n {
                let beyond = (cell.0 + 1, cell.1);
                sightings.extend(gap(photo, factor, &net, [cell, beyond], Way::Right));
            }
            if row + 1 < n {
                let beyond = (cell.0, cell.1 + 1);
                sightings.extend(gap(photo, factor, &net, [cell, beyond], Way::Down));
            }
        }
        if net.explain(&sightings).is_none() {
            break;
        }
    }
    net
}

/// Where the gap between two neighbouring cells is.
fn gap(photo: &Photo, factor: usize, net: &Net, cells: [Place; 2], way: Way) -> Option<Sighting> {
    let factor = factor as f64;
    let at = |cell: Place, across: f64, along: f64| {
        let point = match way {
            Way::Right => net.at(cell, across, along),
            Way::Down => net.at(cell, along, across),
        };
        (point.x * factor, point.y * factor)
    };
    let between = |along: f64| {
        let (a, b) = (at(cells[0], 0.5, along), at(cells[1], -0.5, along));
        (f64::midpoint(a.0, b.0), f64::midpoint(a.1, b.1))
    };
    let (from, to) = (at(cells[0], 0.0, 0.0), at(cells[1], 0.0, 0.0));
    let step = (to.0 - from.0, to.1 - from.1);
    let side_px = step.0.hypot(step.1);
    let samples = ((2.0 * REACH * side_px) as usize | 1).clamp(LEAST_SAMPLES, MOST_SAMPLES);
    let offset = |k: usize| REACH * (2.0 * k as f64 / (samples - 1) as f64 - 1.0);
    let mut profile = [[0.0_f32; 3]; MOST_SAMPLES];
    for along in ALONG {
        let middle = between(along);
        for (k, sum) in profile[..samples].iter_mut().enumerate() {
            let point = Point::new(middle.0 + offset(k) * step.0, middle.1 + offset(k) * step.1);
            let colour = colour_at(photo, point);
            for (sum, value) in sum.iter_mut().zip(colour) {
                *sum += value / ALONG.len() as f32;
            }
        }
    }
    let (place, depth) = middle_of_gap(&profile[..samples])?;
    let off = REACH * (2.0 * place / (samples - 1) as f64 - 1.0);
    let trust = f64::from(depth / (depth + 15.0)) / GAP_ERROR;
    (off.abs() < SEARCH).then_some(Sighting {
        cells,
        way,
        off,
        trust: trust * trust,
    })
}

/// The middle of a gap in a profile across it, in samples, and how far it stands out.
fn middle_of_gap(profile: &[[f32; 3]]) -> Option<(f64, f32)> {
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
    // How far each sample's colour is from the mixtures of the colours at the ends.
    let mut apart = [0.0_f32; MOST_SAMPLES];
    for (apart, colour) in apart.iter_mut().zip(profile) {
        let rise: [f32; 3] = std::array::from_fn(|k| colour[k] - one[k]);
        let dot = rise.iter().zip(&span).map(|(a, b)| a * b).sum::<f32>();
        let t = (dot / length.max(1.0)).clamp(0.0, 1.0);
        let miss = |k: usize| rise[k] - t * span[k];
        *apart = (0..3).map(|k| miss(k) * miss(k)).sum::<f32>().sqrt();
    }
    let apart = &apart[..profile.len()];
    let inner = ends..profile.len() - ends;
    let peak = inner
        .clone()
        .max_by(|&a, &b| apart[a].total_cmp(&apart[b]))?;
    let depth = apart[peak];
    if depth < LEAST_DEPTH {
        return step_between(profile, one, span, length);
    }
    let half = 0.5 * depth;
    let low = (0..peak)
        .rev()
        .find(|&k| apart[k] < half)
        .map_or(0, |k| k + 1);
    let high = (peak..apart.len())
        .find(|&k| apart[k] < half)
        .unwrap_or(apart.len());
    let (mut sum, mut weight) = (0.0, 0.0);
    for (k, apart) in apart.iter().enumerate().take(high).skip(low) {
        let over = f64::from(apart - half) + 1e-6;
        sum += over * k as f64;
        weight += over;
    }
    Some((sum / weight, depth))
}

/// Where a profile without a gap of its own passes from one colour to the other.
fn step_between(
    profile: &[[f32; 3]],
    one: [f32; 3],
    span: [f32; 3],
    length: f32,
) -> Option<(f64, f32)> {
    if length.sqrt() < 3.0 * LEAST_DEPTH {
        return None;
    }
    let share =
        |colour: &[f32; 3]| (0..3).map(|k| (colour[k] - one[k]) * span[k]).sum::<f32>() / length;
    let crossing = (1..profile.len()).find(|&k| share(&profile[k]) >= 0.5)?;
    let (before, after) = (share(&profile[crossing - 1]), share(&profile[crossing]));
    let part = (0.5 - before) / (after - before).max(1e-6);
    Some((crossing as f64 - 1.0 + f64::from(part), LEAST_DEPTH))
}

/// The colour at a point of the photo, mixed from the four pixels about it.
fn colour_at(photo: &Photo, point: Point<InPhoto>) -> [f32; 3] {
    let (x, y) = (point.x - 0.5, point.y - 0.5);
    let (column, row) = (x.floor(), y.floor());
    let (dx, dy) = ((x - column) as f32, (y - row) as f32);
    let pixel = |right: i32, down: i32| photo.pixel(column as i32 + right, row as i32 + down);
    let (above, below) = ([pixel(0, 0), pixel(1, 0)], [pixel(0, 1), pixel(1, 1)]);
    let mixed = |pair: [[u8; 3]; 2], k: usize| {
        f32::from(pair[0][k]) * (1.0 - dx) + f32::from(pair[1][k]) * dx
    };
    std::array::from_fn(|k| mixed(above, k) * (1.0 - dy) + mixed(below, k) * dy)
}
