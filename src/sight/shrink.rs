//! A photo to the small picture in which faces are searched, and to how strongly each of its pixels differs from
//! its neighbours.

use super::Photo;

/// The long side a small picture should have at least, in pixels, when the photo has it.
///
/// An 11×11 face filling two fifths of the short side of a 4:3 photo still has 17 pixels a sticker then.
const LONG_SIDE_PX: usize = 480;

/// A whole-number reduction of a photo, channel by channel.
#[derive(Clone, Debug)]
pub struct SmallPicture {
    /// Columns.
    pub width: usize,
    /// Rows.
    pub height: usize,
    /// Photo pixels along a side of one small pixel: a point of the photo is the small picture's times this.
    pub factor: usize,
    /// Red, green and blue, row by row, gamma-coded as in the photo.
    pub planes: [Vec<u8>; 3],
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
}

/// Reduces a photo by averaging square blocks; a photo that is small already is smoothed instead.
pub fn shrink(photo: &Photo) -> SmallPicture {
    let long = photo.width_px().max(photo.height_px());
    let short = photo.width_px().min(photo.height_px());
    let factor = (long / LONG_SIDE_PX).clamp(1, short.max(1));
    let mut small = average(photo, factor);
    if factor == 1 {
        for plane in &mut small.planes {
            *plane = smooth(plane, small.width, small.height);
        }
    }
    small
}

fn average(photo: &Photo, factor: usize) -> SmallPicture {
    let (width, height) = (photo.width_px() / factor, photo.height_px() / factor);
    let mut planes = [0; 3].map(|_: u8| Vec::with_capacity(width * height));
    let bytes = photo.bytes();
    let stride = 3 * photo.width_px();
    let mut sums = vec![0_u32; 3 * width];
    let round = (factor * factor / 2) as u32;
    let count = (factor * factor) as u32;
    for row in 0..height {
        sums.fill(0);
        for line in bytes[row * factor * stride..].chunks(stride).take(factor) {
            for (sum, block) in sums.chunks_exact_mut(3).zip(line.chunks_exact(3 * factor)) {
                for pixel in block.chunks_exact(3) {
                    sum[0] += u32::from(pixel[0]);
                    sum[1] += u32::from(pixel[1]);
                    sum[2] += u32::from(pixel[2]);
                }
            }
        }
        for sum in sums.chunks_exact(3) {
            for (plane, value) in planes.iter_mut().zip(sum) {
                plane.push(((value + round) / count) as u8);
            }
        }
    }
    SmallPicture {
        width,
        height,
        factor,
        planes,
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
    EdgeMap {
        width,
        height,
        strength,
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
