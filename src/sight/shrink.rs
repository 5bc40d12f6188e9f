//! A photo to the small picture in which faces are searched, and to how strongly each of its pixels differs from
//! its neighbours.

use super::Photo;
use crate::geometry::{InPhoto, Point};

/// An upright rectangle of a photo, in whole pixels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Area {
    /// The leftmost column.
    pub left: usize,
    /// The topmost row.
    pub top: usize,
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
}

impl Area {
    /// A whole photo.
    pub fn whole(photo: &Photo) -> Self {
        Self {
            left: 0,
            top: 0,
            width: photo.width_px(),
            height: photo.height_px(),
        }
    }
}

/// A whole-number reduction of an area of a photo, channel by channel.
#[derive(Clone, Debug)]
pub struct SmallPicture {
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// Photo pixels along a side of one small pixel.
    pub factor: usize,
    /// The photo's point at the small picture's (0, 0).
    origin: (f64, f64),
    /// Red, green and blue, row by row, gamma-coded as in the photo.
    pub planes: [Vec<u8>; 3],
}

impl SmallPicture {
    /// The point of the photo at a point of the small picture.
    pub fn in_photo(&self, small: Point<InPhoto>) -> Point<InPhoto> {
        let factor = self.factor as f64;
        Point::new(
            self.origin.0 + factor * small.x,
            self.origin.1 + factor * small.y,
        )
    }

    /// The point of the small picture at a point of the photo.
    pub fn in_small(&self, photo: Point<InPhoto>) -> Point<InPhoto> {
        let factor = self.factor as f64;
        Point::new(
            (photo.x - self.origin.0) / factor,
            (photo.y - self.origin.1) / factor,
        )
    }
}

/// How strongly the pixels of a small picture differ from those around them.
#[derive(Clone, Debug)]
pub struct EdgeMap {
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// The largest range of any channel over the 3×3 pixels about each, row by row.
    pub strength: Vec<u8>,
    /// How strong the picture's edges are, 1 being those of a well lit one: what tells edges from noise is measured
    /// by it.
    pub contrast: f32,
}

/// The share of a picture's pixels taken for its clearest edges, and their strength in a well lit one.
const CLEAREST: f64 = 0.02;
const WELL_LIT: f32 = 64.0;

/// The least contrast: below it edges are steps of one or two in 255.
const LEAST_CONTRAST: f32 = 0.25;

/// The contrast of a picture with these edge strengths.
fn contrast(strength: &[u8]) -> f32 {
    let mut counts = [0_u32; 256];
    for &value in strength {
        counts[usize::from(value)] += 1;
    }
    let clearest = (CLEAREST * strength.len() as f64) as u32;
    let mut above = 0;
    let weakest = (0..256).rev().find(|&value| {
        above += counts[value];
        above > clearest
    });
    (weakest.unwrap_or(0) as f32 / WELL_LIT).clamp(LEAST_CONTRAST, 1.0)
}

/// Reduces an area of a photo by averaging square blocks; at factor 1 it is smoothed instead.
pub fn shrink(photo: &Photo, area: Area, factor: usize) -> SmallPicture {
    let (width, height) = (area.width / factor, area.height / factor);
    let mut planes = [0; 3].map(|zero: u8| vec![zero; width * height]);
    let stride = 3 * photo.width_px();
    let mut sums = vec![0_u16; 3 * width * factor];
    for row in 0..height {
        let first = (area.top + row * factor) * stride + 3 * area.left;
        let line = |k: usize| &photo.bytes()[first + k * stride..][..sums_of(width, factor)];
        for (sum, &value) in sums.iter_mut().zip(line(0)) {
            *sum = u16::from(value);
        }
        for k in 1..factor {
            for (sum, &value) in sums.iter_mut().zip(line(k)) {
                *sum += u16::from(value);
            }
        }
        let [red, green, blue] = &mut planes;
        let of_row = row * width..(row + 1) * width;
        let lines = [
            &mut red[of_row.clone()],
            &mut green[of_row.clone()],
            &mut blue[of_row],
        ];
        match factor {
            1 => average::<1>(&sums, lines),
            2 => average::<2>(&sums, lines),
            3 => average::<3>(&sums, lines),
            4 => average::<4>(&sums, lines),
            _ => average_of(factor, &sums, lines),
        }
    }
    if factor == 1 && width > 0 {
        for plane in &mut planes {
            *plane = smooth(plane, width, height);
        }
    }
    SmallPicture {
        width,
        height,
        factor,
        origin: (area.left as f64, area.top as f64),
        planes,
    }
}

const fn sums_of(width: usize, factor: usize) -> usize {
    3 * width * factor
}

/// Sets lines of the planes to the means of blocks whose columns are summed already; `FACTOR` columns make a block.
fn average<const FACTOR: usize>(sums: &[u16], lines: [&mut [u8]; 3]) {
    average_of(FACTOR, sums, lines);
}

#[expect(
    clippy::inline_always,
    reason = "with the factor known the loops unroll: half the time"
)]
#[inline(always)]
fn average_of(factor: usize, sums: &[u16], [red, green, blue]: [&mut [u8]; 3]) {
    let count = (factor * factor) as u32;
    let blocks = sums.chunks_exact(3 * factor);
    for (((block, red), green), blue) in blocks.zip(red).zip(green).zip(blue) {
        let mut sum = [count / 2; 3];
        for pixel in block.chunks_exact(3) {
            for (sum, &value) in sum.iter_mut().zip(pixel) {
                *sum += u32::from(value);
            }
        }
        [*red, *green, *blue] = sum.map(|sum| (sum / count) as u8);
    }
}

/// A binomial 3×3 mean; the outermost pixels are repeated.
fn smooth(plane: &[u8], width: usize, height: usize) -> Vec<u8> {
    let mut lines: Vec<u16> = Vec::with_capacity(plane.len());
    for line in plane.chunks_exact(width) {
        let at = |column: usize| u16::from(line[column]);
        lines.push(3 * at(0) + at(1.min(width - 1)));
        for three in line.windows(3) {
            lines.push(u16::from(three[0]) + 2 * u16::from(three[1]) + u16::from(three[2]));
        }
        if width > 1 {
            lines.push(at(width - 2) + 3 * at(width - 1));
        }
    }
    let mut smoothed = Vec::with_capacity(plane.len());
    for row in 0..height {
        let line = |row: usize| &lines[row * width..(row + 1) * width];
        let above = line(row.saturating_sub(1));
        let below = line((row + 1).min(height - 1));
        let threes = above.iter().zip(line(row)).zip(below);
        smoothed.extend(threes.map(|((a, b), c)| ((a + 2 * b + c + 8) / 16) as u8));
    }
    smoothed
}

/// The edge map of a small picture.
pub fn edges(small: &SmallPicture) -> EdgeMap {
    let (width, height) = (small.width, small.height);
    let mut strength = vec![0; width * height];
    for plane in &small.planes {
        let low = extreme(plane, width, height, u8::min);
        let high = extreme(plane, width, height, u8::max);
        for ((most, low), high) in strength.iter_mut().zip(&low).zip(&high) {
            *most = (*most).max(high - low);
        }
    }
    let contrast = contrast(&strength);
    EdgeMap {
        width,
        height,
        strength,
        contrast,
    }
}

/// The least or greatest value over the 3×3 pixels about each.
fn extreme(plane: &[u8], width: usize, height: usize, pick: fn(u8, u8) -> u8) -> Vec<u8> {
    let mut lines = plane.to_vec();
    for (line, source) in lines.chunks_exact_mut(width).zip(plane.chunks_exact(width)) {
        for (value, next) in line.iter_mut().zip(&source[1..]) {
            *value = pick(*value, *next);
        }
        for (value, before) in line[1..].iter_mut().zip(source) {
            *value = pick(*value, *before);
        }
    }
    let mut result = lines.clone();
    for row in 0..height {
        let (from, to) = (row * width, (row + 1) * width);
        if row > 0 {
            let above = &lines[from - width..from];
            for (value, other) in result[from..to].iter_mut().zip(above) {
                *value = pick(*value, *other);
            }
        }
        if row + 1 < height {
            let below = &lines[to..to + width];
            for (value, other) in result[from..to].iter_mut().zip(below) {
                *value = pick(*value, *other);
            }
        }
    }
    result
}
