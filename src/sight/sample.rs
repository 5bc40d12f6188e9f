//! A face's place in the photo to its n×n patches: each a robust mean of the sticker's inner part.

use super::{Patch, Photo};
use crate::colour::Linear;
use crate::geometry::{InPhoto, Point};
use std::sync::LazyLock;

/// How far the inner part of a sticker reaches from its middle, in sticker sides: the rim is gap, rounding, blur
/// and the colour bleeding of JPEG's halved colour planes.
const INNER: f64 = 0.28;

/// Samples along a side of the inner part, at most.
const MOST_ACROSS: usize = 12;

/// Linear light of each eight-bit sRGB value (IEC 61966-2-1).
static LINEAR: LazyLock<[f32; 256]> = LazyLock::new(|| {
    std::array::from_fn(|value| {
        let coded = value as f32 / 255.0;
        if coded <= 0.04045 {
            coded / 12.92
        } else {
            ((coded + 0.055) / 1.055).powf(2.4)
        }
    })
});

/// Linear light of a mean of eight-bit values.
pub fn linear_from_coded(coded: f32) -> f32 {
    let below = coded.clamp(0.0, 254.0) as usize;
    let (low, high) = (LINEAR[below], LINEAR[below + 1]);
    low + (coded - below as f32) * (high - low)
}

/// One sampled pixel: linear light and the eight-bit values it came from.
#[derive(Clone, Copy)]
struct Sample {
    linear: [f32; 3],
    coded: [u8; 3],
}

impl Sample {
    /// The light all channels share: what a highlight adds to a colour.
    fn whiteness(&self) -> f32 {
        self.linear[0].min(self.linear[1]).min(self.linear[2])
    }
}

/// Samples the n×n patches of a face, row by row.
///
/// `at` gives the point of the photo at a sticker's column and row and an offset from its middle to the right and
/// down, in sticker sides.
pub fn sample(
    photo: &Photo,
    n: usize,
    at: impl Fn(usize, usize, f64, f64) -> Point<InPhoto>,
) -> Vec<Patch> {
    let mut samples = Vec::with_capacity(MOST_ACROSS * MOST_ACROSS);
    let mut patches = Vec::with_capacity(n * n);
    for row in 0..n {
        for column in 0..n {
            gather(
                photo,
                |right, down| at(column, row, right, down),
                &mut samples,
            );
            patches.push(patch(&mut samples));
        }
    }
    patches
}

/// Reads the pixels on a square raster over the inner part of a sticker.
fn gather(photo: &Photo, at: impl Fn(f64, f64) -> Point<InPhoto>, samples: &mut Vec<Sample>) {
    samples.clear();
    let middle = at(0.0, 0.0);
    let side_px = 2.0
        * at(0.5, 0.0)
            .distance(middle)
            .max(at(0.0, 0.5).distance(middle));
    let across = ((2.0 * INNER * side_px) as usize).clamp(2, MOST_ACROSS);
    let offset = |k: usize| INNER * ((2 * k + 1) as f64 / across as f64 - 1.0);
    for j in 0..across {
        for i in 0..across {
            let point = at(offset(i), offset(j));
            let coded = photo.pixel(point.x.floor() as i32, point.y.floor() as i32);
            samples.push(Sample {
                linear: coded.map(|value| LINEAR[usize::from(value)]),
                coded,
            });
        }
    }
}

/// The mean of the samples that agree, after leaving out highlights.
fn patch(samples: &mut [Sample]) -> Patch {
    let count = samples.len() as f32;
    samples.sort_by(|a, b| a.whiteness().total_cmp(&b.whiteness()));
    // The body colour is sought among the less white half: a highlight only adds white.
    let from = samples.len() / 8;
    let to = (samples.len() * 5 / 8).max(from + 1);
    let body = middle(&samples[from..to]);
    let body_whiteness = body[0].min(body[1]).min(body[2]);
    let reach = 0.05 + 0.35 * body_whiteness;
    let is_highlight = |sample: &Sample| sample.whiteness() > body_whiteness + reach;
    let is_even = |sample: &Sample| {
        (0..3).all(|k| (sample.linear[k] - body[k]).abs() < 0.04 + 0.35 * body[k])
    };
    let highlights = samples.iter().filter(|sample| is_highlight(sample)).count();
    let burnt = samples
        .iter()
        .filter(|sample| !is_highlight(sample) && sample.coded.iter().all(|&value| value >= 250))
        .count();
    let kept: Vec<&Sample> = samples.iter().filter(|sample| is_even(sample)).collect();
    let number = kept.len().max(1) as f32;
    let mean: [f32; 3] = if kept.is_empty() {
        body
    } else {
        std::array::from_fn(|k| kept.iter().map(|sample| sample.linear[k]).sum::<f32>() / number)
    };
    let spread = std::array::from_fn(|k| {
        let squares = kept
            .iter()
            .map(|sample| (sample.linear[k] - mean[k]).powi(2));
        (squares.sum::<f32>() / number).sqrt()
    });
    let clipped = std::array::from_fn(|k| {
        samples
            .iter()
            .filter(|sample| sample.coded[k] >= 254)
            .count() as f32
            / count
    });
    let rest = (samples.len() - highlights).max(1) as f32;
    Patch {
        linear: Linear::new(mean[0], mean[1], mean[2]),
        spread,
        glare: (highlights + burnt) as f32 / count,
        clipped,
        evenness: (kept.len() as f32 / rest).min(1.0),
        pixels: kept.len() as u32,
    }
}

/// The median of each channel.
fn middle(samples: &[Sample]) -> [f32; 3] {
    std::array::from_fn(|k| {
        let mut values: Vec<f32> = samples.iter().map(|sample| sample.linear[k]).collect();
        let at = values.len() / 2;
        *values.select_nth_unstable_by(at, f32::total_cmp).1
    })
}
