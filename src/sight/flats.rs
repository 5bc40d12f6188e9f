//! An edge map to the flat regions in it that could be stickers: evenly coloured, about as full as a parallelogram.

use super::shrink::EdgeMap;

/// The edge strengths below which pixels are joined into regions, in a picture of full contrast.
///
/// Faint gaps between stickers of one colour part only at the low ones, noisy pictures hold together only at the
/// high ones.
const LEVELS: [u8; 6] = [7, 11, 17, 26, 40, 60];

/// The least area of a region, in small pixels.
const LEAST_AREA: f64 = 20.0;

/// How full a region must be: its area over that of the parallelogram with the same second moments.
/// A parallelogram has 1, an ellipse 1.05, a triangle 0.87, an L less than 0.8.
const FULLNESS: std::ops::Range<f64> = 0.80..1.12;

/// The least ratio of the short to the long half axis, squared.
const LEAST_ROUNDNESS: f64 = 0.03;

/// A flat region, in small pixels.
#[derive(Clone, Copy, Debug)]
pub struct Flat {
    /// Its centre, pixel (0, 0) covering 0..1.
    pub x: f64,
    /// Its centre.
    pub y: f64,
    /// Its area in pixels.
    pub area: f64,
    /// Its second moments about the centre over its area: xx, xy, yy.
    pub moments: [f64; 3],
}

impl Flat {
    /// How far a step is, in sides of the region along that step when the region is a parallelogram and the step
    /// runs along one of its sides: 1 is one side.
    pub fn sides(&self, dx: f64, dy: f64) -> f64 {
        let [xx, xy, yy] = self.moments;
        let det = xx * yy - xy * xy;
        ((yy * dx * dx - 2.0 * xy * dx * dy + xx * dy * dy) / (12.0 * det)).sqrt()
    }

    /// How far the region's shape is from a cell with these two sides, 1 being none: the mean of the squared half
    /// axes over their geometric mean, measured in the frame in which the cell is a square.
    /// A cell half as high as it is wide has 1.25, one with sides askew by a whole cell 1.5.
    pub fn mismatch(&self, right: (f64, f64), down: (f64, f64)) -> f64 {
        let [xx, xy, yy] = self.moments;
        let turn = right.0 * down.1 - right.1 * down.0;
        // The rows of the inverse of the matrix with columns `right` and `down`.
        let (a, b) = (
            (down.1 / turn, -down.0 / turn),
            (-right.1 / turn, right.0 / turn),
        );
        let form = |p: (f64, f64)| xx * p.0 * p.0 + 2.0 * xy * p.0 * p.1 + yy * p.1 * p.1;
        let det = (xx * yy - xy * xy) / (turn * turn);
        (form(a) + form(b)) / (2.0 * det.sqrt())
    }

    /// The longest half axis of its moments, in pixels.
    pub fn long_axis(&self) -> f64 {
        let [xx, xy, yy] = self.moments;
        let middle = f64::midpoint(xx, yy);
        let swing = ((xx - yy) / 2.0).hypot(xy);
        (middle + swing).sqrt()
    }
}

/// The flat regions of an edge map, those found at several levels once.
pub fn flats(edges: &EdgeMap) -> Vec<Flat> {
    let mut kept: Vec<Flat> = Vec::new();
    let levels = LEVELS.map(|level| (f32::from(level) * edges.contrast).round() as u8);
    for level in levels {
        kept.extend(at_level(edges, level));
    }
    without_twins(kept, edges)
}

/// Keeps one of several regions about one centre and of about one size: the fullest of the larger ones.
fn without_twins(mut flats: Vec<Flat>, edges: &EdgeMap) -> Vec<Flat> {
    const BIN: usize = 8;
    let (columns, rows) = (edges.width / BIN + 1, edges.height / BIN + 1);
    flats.sort_by(|a, b| b.area.total_cmp(&a.area));
    let mut bins: Vec<Vec<u32>> = vec![Vec::new(); columns * rows];
    let mut kept: Vec<Flat> = Vec::new();
    for flat in flats {
        let reach = 0.25 * flat.area.sqrt();
        let columns_near = span(flat.x, reach, BIN, columns);
        let twin = span(flat.y, reach, BIN, rows)
            .flat_map(|row| {
                columns_near
                    .clone()
                    .map(move |column| row * columns + column)
            })
            .flat_map(|bin| &bins[bin])
            .any(|&other| {
                let other = &kept[other as usize];
                let (dx, dy) = (other.x - flat.x, other.y - flat.y);
                other.area < 2.5 * flat.area && dx * dx + dy * dy < reach * reach
            });
        if !twin {
            let bin = (flat.y as usize / BIN) * columns + flat.x as usize / BIN;
            bins[bin].push(kept.len() as u32);
            kept.push(flat);
        }
    }
    kept
}

fn span(centre: f64, reach: f64, bin: usize, bins: usize) -> std::ops::RangeInclusive<usize> {
    let low = ((centre - reach).max(0.0) as usize) / bin;
    let high = (((centre + reach).max(0.0) as usize) / bin).min(bins - 1);
    low..=high
}

#[derive(Clone, Copy, Default)]
struct Sums {
    parent: u32,
    count: i64,
    x: i64,
    y: i64,
    xx: i64,
    xy: i64,
    yy: i64,
}

fn root(sums: &mut [Sums], mut index: u32) -> u32 {
    while sums[index as usize].parent != index {
        let up = sums[index as usize].parent;
        sums[index as usize].parent = sums[up as usize].parent;
        index = up;
    }
    index
}

fn merge(sums: &mut [Sums], one: u32, other: u32) -> u32 {
    let (one, other) = (root(sums, one), root(sums, other));
    if one == other {
        return one;
    }
    let (up, down) = (one.min(other), one.max(other));
    let moved = sums[down as usize];
    sums[down as usize].parent = up;
    let into = &mut sums[up as usize];
    into.count += moved.count;
    into.x += moved.x;
    into.y += moved.y;
    into.xx += moved.xx;
    into.xy += moved.xy;
    into.yy += moved.yy;
    up
}

/// A stretch of flat pixels of one row: columns from..to and the region they belong to.
#[derive(Clone, Copy)]
struct Run {
    from: u32,
    to: u32,
    region: u32,
}

impl Run {
    /// The sums over its pixels, by their whole-number columns and row.
    fn sums(self, row: usize, region: u32) -> Sums {
        // Sums over whole columns c in from..to of c and c² in closed form.
        let upto = |n: i64| (n * (n - 1) / 2, n * (n - 1) * (2 * n - 1) / 6);
        let (first, last) = (upto(i64::from(self.from)), upto(i64::from(self.to)));
        let count = i64::from(self.to - self.from);
        let y = row as i64;
        let x = last.0 - first.0;
        Sums {
            parent: region,
            count,
            x,
            y: y * count,
            xx: last.1 - first.1,
            xy: x * y,
            yy: y * y * count,
        }
    }
}

/// The pixels of a row that are no stronger than a level, a bit each.
#[derive(Default)]
struct Bits {
    words: Vec<u64>,
    length: usize,
}

impl Bits {
    /// Marks a row, eight pixels at once. The level is below 128.
    fn mark(&mut self, line: &[u8], level: u8) {
        const LOW: u64 = 0x0101_0101_0101_0101;
        const HIGH: u64 = 0x80 * LOW;
        // Added to a byte's lower seven bits it reaches the eighth if they are above the level.
        let rest = LOW * u64::from(127 - level);
        let above = |eight: u64| (((eight & !HIGH) + rest) | eight) & HIGH;
        // The topmost bits of eight bytes, gathered into one byte.
        let gathered = |bits: u64| (bits >> 7).wrapping_mul(0x0102_0408_1020_4080) >> 56;
        self.length = line.len();
        self.words.clear();
        self.words.extend(line.chunks(64).map(|part| {
            let (eights, rest) = part.as_chunks::<8>();
            let mut word = 0;
            for (k, &eight) in eights.iter().enumerate() {
                word |= gathered(above(u64::from_le_bytes(eight))) << (8 * k);
            }
            let mut last = [u8::MAX; 8];
            last[..rest.len()].copy_from_slice(rest);
            if !rest.is_empty() {
                word |= gathered(above(u64::from_le_bytes(last))) << (8 * eights.len());
            }
            !word
        }));
    }

    /// The first run of marked pixels that begins at a column or later.
    fn next_run(&self, column: usize) -> Option<(usize, usize)> {
        let from = self.next(column, 0)?;
        let to = self.next(from, u64::MAX).unwrap_or(self.length);
        (from < self.length).then_some((from, to.min(self.length)))
    }

    /// The first column from one on whose bit, after exchanging those of a mask, is set.
    fn next(&self, column: usize, exchange: u64) -> Option<usize> {
        let mut index = column / 64;
        let mut word = (self.words.get(index)? ^ exchange) & (u64::MAX << (column % 64));
        while word == 0 {
            index += 1;
            word = self.words.get(index)? ^ exchange;
        }
        Some(64 * index + word.trailing_zeros() as usize)
    }
}

/// The regions of pixels no stronger than a level that pass the shape test.
fn at_level(edges: &EdgeMap, level: u8) -> Vec<Flat> {
    let mut sums: Vec<Sums> = Vec::new();
    let (mut above, mut here): (Vec<Run>, Vec<Run>) = (Vec::new(), Vec::new());
    let mut flat = Bits::default();
    for (row, line) in edges.strength.chunks_exact(edges.width).enumerate() {
        here.clear();
        flat.mark(line, level);
        let mut next_above = 0;
        let mut column = 0;
        while let Some((from, to)) = flat.next_run(column) {
            column = to;
            let mut run = Run {
                from: from as u32,
                to: to as u32,
                region: u32::MAX,
            };
            while above.get(next_above).is_some_and(|up| up.to <= run.from) {
                next_above += 1;
            }
            let mut touching = next_above;
            while let Some(up) = above.get(touching).filter(|up| up.from < run.to) {
                run.region = if run.region == u32::MAX {
                    root(&mut sums, up.region)
                } else {
                    merge(&mut sums, run.region, up.region)
                };
                touching += 1;
            }
            if run.region == u32::MAX {
                run.region = sums.len() as u32;
                sums.push(run.sums(row, run.region));
            } else {
                let more = run.sums(row, run.region);
                let into = &mut sums[run.region as usize];
                into.count += more.count;
                into.x += more.x;
                into.y += more.y;
                into.xx += more.xx;
                into.xy += more.xy;
                into.yy += more.yy;
            }
            here.push(run);
        }
        std::mem::swap(&mut above, &mut here);
    }
    let most = (edges.width * edges.height) as f64 / 4.0;
    let roots = sums
        .iter()
        .enumerate()
        .filter(|(index, sums)| sums.parent as usize == *index);
    roots.filter_map(|(_, sums)| shaped(sums, most)).collect()
}

fn shaped(sums: &Sums, most: f64) -> Option<Flat> {
    let area = sums.count as f64;
    if area < LEAST_AREA || area > most {
        return None;
    }
    let (x, y) = (sums.x as f64 / area, sums.y as f64 / area);
    // A pixel is a square, not a point: its own second moment is a twelfth.
    let xx = sums.xx as f64 / area - x * x + 1.0 / 12.0;
    let xy = sums.xy as f64 / area - x * y;
    let yy = sums.yy as f64 / area - y * y + 1.0 / 12.0;
    let det = xx * yy - xy * xy;
    let fullness = area / (12.0 * det.max(1e-9).sqrt());
    let half = f64::midpoint(xx, yy);
    let swing = ((xx - yy) / 2.0).hypot(xy);
    let roundness = (half - swing) / (half + swing);
    (FULLNESS.contains(&fullness) && roundness > LEAST_ROUNDNESS).then_some(Flat {
        x: x + 0.5,
        y: y + 0.5,
        area,
        moments: [xx, xy, yy],
    })
}
