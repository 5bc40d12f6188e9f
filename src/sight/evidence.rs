//! How much the cells of a net look like stickers, on the edge map.

use super::net::{Members, Net, Place};
use super::shrink::EdgeMap;

/// The orders of cube looked for.
pub const ORDERS: std::ops::RangeInclusive<usize> = 2..=17;

/// Edge strength that is taken for noise, in steps of 1/255.
const NOISE: f64 = 4.0;

/// The evidence at which a cell is as likely a sticker as not, and the evidence beyond it that settles the matter.
///
/// Measured on the face photos with the true grids: 95 % of the stickers have more than 0.19 (turned layers, which
/// leave the plane, among them), 99 % of the places one or two rows outside less than 0.1.
const EVEN_EVIDENCE: f64 = 0.1;
const EVIDENCE_SWING: f64 = 0.15;

/// How far a side's edge may lie from its place, in sticker sides: stickers are laid crooked, gaps have a width.
const ASTRAY: f64 = 0.12;

/// A square of cells on a lattice: the place of its first cell, and its weight.
#[derive(Clone, Copy, Debug)]
pub struct Square {
    /// Its first cell.
    pub first: Place,
    /// Cells along a side.
    pub n: usize,
    /// The summed evidence.
    pub weight: f64,
}

/// The evidence for cells, on a rectangle of places of a lattice.
pub struct Evidence {
    first: (i32, i32),
    columns: usize,
    rows: usize,
    /// For each cell, row by row, from -1 (no sticker) to 1.
    cells: Vec<f64>,
    /// Whether each cell's inside lies in the picture.
    is_in_picture: Vec<bool>,
}

impl Evidence {
    /// Looks at all cells from a first to a last place.
    pub fn gather(
        edges: &EdgeMap,
        net: &Net,
        members: &Members,
        first: Place,
        last: Place,
    ) -> Self {
        let (width, height) = (
            (last.0 - first.0 + 1) as usize,
            (last.1 - first.1 + 1) as usize,
        );
        let probe = Probe { edges, net };
        let mut inner = vec![None; (width + 2) * (height + 2)];
        for row in 0..height + 2 {
            for column in 0..width + 2 {
                let cell = (first.0 - 1 + column as i32, first.1 - 1 + row as i32);
                inner[row * (width + 2) + column] = probe.inner(cell);
            }
        }
        let mut cells = Vec::with_capacity(width * height);
        let mut is_in_picture = Vec::with_capacity(width * height);
        for row in 0..height {
            for column in 0..width {
                let cell = (first.0 + column as i32, first.1 + row as i32);
                let at = |c: usize, r: usize| inner[r * (width + 2) + c];
                let here = at(column + 1, row + 1);
                let sides = [
                    (-0.5, 0.0, at(column, row + 1)),
                    (0.5, 0.0, at(column + 2, row + 1)),
                    (0.0, -0.5, at(column + 1, row)),
                    (0.0, 0.5, at(column + 1, row + 2)),
                ]
                .map(|(dx, dy, beyond)| probe.side(cell, (dx, dy), here.or(beyond)));
                let member = members.contains_key(&cell);
                cells.push(likeness(sides, here, member));
                is_in_picture.push(here.is_some());
            }
        }
        Self {
            first,
            columns: width,
            rows: height,
            cells,
            is_in_picture,
        }
    }

    /// Sums over all cells above and left of each corner.
    fn sums(&self) -> Vec<f64> {
        let stride = self.columns + 1;
        let mut sums = vec![0.0; stride * (self.rows + 1)];
        for row in 0..self.rows {
            for column in 0..self.columns {
                sums[(row + 1) * stride + column + 1] = self.cells[row * self.columns + column]
                    + sums[row * stride + column + 1]
                    + sums[(row + 1) * stride + column]
                    - sums[row * stride + column];
            }
        }
        sums
    }

    /// The heaviest squares of cells, at most `most`, heaviest first.
    pub fn squares(&self, most: usize) -> Vec<Square> {
        let sums = self.sums();
        let stride = self.columns + 1;
        let mut squares: Vec<Square> = Vec::new();
        for n in ORDERS {
            if n > self.columns.min(self.rows) {
                break;
            }
            for row in 0..=self.rows - n {
                for column in 0..=self.columns - n {
                    let (above, below) = (row * stride + column, (row + n) * stride + column);
                    squares.push(Square {
                        first: (self.first.0 + column as i32, self.first.1 + row as i32),
                        n,
                        weight: sums[below + n] - sums[above + n] - sums[below] + sums[above],
                    });
                }
            }
        }
        squares.sort_by(|a, b| b.weight.total_cmp(&a.weight));
        squares.truncate(most);
        squares
    }

    /// The mean evidence of the cells next to a square, on the side where it is highest.
    ///
    /// Cells beyond the picture say nothing; a side that lies there altogether has nought.
    pub fn around(&self, square: &Square) -> f64 {
        let (c, r) = (square.first.0 - self.first.0, square.first.1 - self.first.1);
        let n = square.n as i32;
        let mean = |beside: fn(i32, i32) -> (i32, i32)| {
            let known: Vec<f64> = (0..n)
                .map(|k| beside(k, n))
                .filter_map(|(right, down)| self.at(c + right, r + down))
                .collect();
            known.iter().sum::<f64>() / known.len().max(1) as f64
        };
        let above = mean(|k, _| (k, -1));
        let right = mean(|k, n| (n, k));
        let below = mean(|k, n| (k, n));
        let left = mean(|k, _| (-1, k));
        above.max(right).max(below).max(left)
    }

    /// The mean evidence of the weakest of a square's outermost rows and columns.
    pub fn weakest_line(&self, square: &Square) -> f64 {
        let (c, r) = (square.first.0 - self.first.0, square.first.1 - self.first.1);
        let n = square.n as i32;
        let mean = |place: fn(i32, i32) -> (i32, i32)| {
            let sum: f64 = (0..n)
                .map(|k| place(k, n))
                .map(|(right, down)| self.at(c + right, r + down).unwrap_or(-1.0))
                .sum();
            sum / f64::from(n)
        };
        let above = mean(|k, _| (k, 0));
        let right = mean(|k, n| (n - 1, k));
        let below = mean(|k, n| (k, n - 1));
        let left = mean(|k, _| (0, k));
        above.min(right).min(below).min(left)
    }

    /// The evidence for a cell; none beyond the picture.
    fn at(&self, column: i32, row: i32) -> Option<f64> {
        let inside =
            (0..self.columns as i32).contains(&column) && (0..self.rows as i32).contains(&row);
        let index = row * self.columns as i32 + column;
        (inside && self.is_in_picture[index as usize]).then(|| self.cells[index as usize])
    }
}

/// What four sides say about a cell, -1..=1.
fn likeness(mut sides: [f64; 4], inner: Option<f64>, member: bool) -> f64 {
    if inner.is_none() {
        return -1.0;
    }
    sides.sort_by(f64::total_cmp);
    // One side may be covered or lack contrast.
    let evidence = (sides[0] + 2.0 * sides[1] + sides[2]) / 4.0;
    let from_sides = ((evidence - EVEN_EVIDENCE) / EVIDENCE_SWING).clamp(-1.0, 1.0);
    if member {
        (from_sides + 0.5).clamp(-0.5, 1.0)
    } else {
        from_sides
    }
}

/// Reads an edge map at places of a lattice.
struct Probe<'a> {
    edges: &'a EdgeMap,
    net: &'a Net,
}

impl Probe<'_> {
    fn strength(&self, cell: Place, right: f64, down: f64) -> Option<f64> {
        let point = self.net.at(cell, right, down);
        let inside = point.x >= 0.0
            && point.y >= 0.0
            && point.x < self.edges.width as f64
            && point.y < self.edges.height as f64;
        inside.then(|| {
            f64::from(self.edges.strength[point.y as usize * self.edges.width + point.x as usize])
        })
    }

    /// The edge strength that three quarters of a cell's inside stay below; none when it leaves the picture.
    fn inner(&self, cell: Place) -> Option<f64> {
        let mut values = [0.0; 16];
        for (k, value) in values.iter_mut().enumerate() {
            let (dx, dy) = ((k % 4) as f64 - 1.5, (k / 4) as f64 - 1.5);
            *value = self.strength(cell, 0.18 * dx, 0.18 * dy)?;
        }
        values.sort_by(f64::total_cmp);
        Some(values[11])
    }

    /// How much stronger the edge along one side of a cell is than the insides next to it, -1..=1.
    ///
    /// The edge must run straight: of all parallels to the side, the one whose weaker part is strongest counts.
    fn side(&self, cell: Place, middle: (f64, f64), inside: Option<f64>) -> f64 {
        let upright = middle.0 != 0.0;
        let [right, down] = self.net.steps(cell);
        let across_px = if upright { right } else { down };
        // The edge map's lines are three pixels wide.
        let parallels = ((2.0 * ASTRAY * across_px.0.hypot(across_px.1) / 2.5) as i32).clamp(4, 12);
        let mut line: f64 = -1.0;
        for k in 0..=parallels {
            let s = ASTRAY * (2.0 * f64::from(k) / f64::from(parallels) - 1.0);
            let mut along = [0.0; 7];
            for (k, value) in along.iter_mut().enumerate() {
                let t = 0.11 * (k as f64 - 3.0);
                let (dx, dy) = if upright { (s, t) } else { (t, s) };
                let Some(strength) = self.strength(cell, middle.0 + dx, middle.1 + dy) else {
                    return -1.0;
                };
                *value = strength;
            }
            along.sort_by(f64::total_cmp);
            line = line.max(f64::midpoint(along[1], along[2]));
        }
        let Some(inside) = inside else {
            return -1.0;
        };
        (line - inside - NOISE) / (line + inside + NOISE)
    }
}
