//! A lattice to the square of stickers in it that is a whole face: how many along a side, and which.

use super::lattice::Lattice;
use super::shrink::EdgeMap;
use crate::geometry::{InFace, InPhoto, PlaneMap, Point, Quad};

/// The orders of cube looked for.
pub const ORDERS: std::ops::RangeInclusive<usize> = 2..=17;

/// A square of n×n cells on a lattice.
#[derive(Clone, Copy, Debug)]
pub struct Extent {
    /// Stickers along a side.
    pub n: usize,
    /// From face to small picture; the face covers 0..n.
    pub small_from_face: PlaneMap<InFace, InPhoto>,
    /// How much more the cells inside look like stickers than not, summed.
    pub weight: f64,
    /// The mean evidence of the cells just outside.
    pub outside: f64,
}

impl Extent {
    /// How sure it is that this is a whole face, 0..=1.
    pub fn sureness(&self) -> f64 {
        (self.weight / (self.n * self.n) as f64).clamp(0.0, 1.0)
    }

    /// The face's corners in the small picture.
    pub fn corners(&self) -> Quad<InPhoto> {
        let n = self.n as f64;
        Quad([(0.0, 0.0), (n, 0.0), (n, n), (0.0, n)].map(|(x, y)| self.small_from_face.at(x, y)))
    }
}

/// How far beyond the outermost regions cells are looked at.
const BEYOND: i32 = 2;

/// Edge strength that is taken for noise, in steps of 1/255.
const NOISE: f64 = 4.0;

/// The evidence for cells, on a rectangle of places of a lattice.
struct Evidence {
    first: (i32, i32),
    columns: usize,
    rows: usize,
    /// For each cell, row by row, from -1 (no sticker) to 1.
    cells: Vec<f64>,
}

/// The best squares on a lattice, heaviest first, at most `most` of them and each of another place or size.
pub fn extents(edges: &EdgeMap, lattice: &Lattice, most: usize) -> Vec<Extent> {
    let evidence = Evidence::gather(edges, lattice);
    let sums = evidence.sums();
    let total = |column: usize, row: usize, n: usize| {
        let stride = evidence.columns + 1;
        sums[(row + n) * stride + column + n]
            - sums[row * stride + column + n]
            - sums[(row + n) * stride + column]
            + sums[row * stride + column]
    };
    let mut squares: Vec<(f64, usize, usize, usize)> = Vec::new();
    for n in ORDERS {
        if n > evidence.columns.min(evidence.rows) {
            break;
        }
        for row in 0..=evidence.rows - n {
            for column in 0..=evidence.columns - n {
                squares.push((total(column, row, n), n, column, row));
            }
        }
    }
    squares.sort_by(|a, b| b.0.total_cmp(&a.0));
    squares
        .iter()
        .take(most)
        .map(|&(weight, n, column, row)| {
            let corner = (
                evidence.first.0 + column as i32,
                evidence.first.1 + row as i32,
            );
            Extent {
                n,
                small_from_face: shifted(&lattice.small_from_face, corner),
                weight,
                outside: evidence.around(column, row, n),
            }
        })
        .collect()
}

/// The map whose origin is the outer corner of the cell at a place.
fn shifted(map: &PlaneMap<InFace, InPhoto>, place: (i32, i32)) -> PlaneMap<InFace, InPhoto> {
    PlaneMap::<InFace, InFace>::from_rows([
        [1.0, 0.0, f64::from(place.0) - 0.5],
        [0.0, 1.0, f64::from(place.1) - 0.5],
        [0.0, 0.0, 1.0],
    ])
    .then(map)
}

impl Evidence {
    fn gather(edges: &EdgeMap, lattice: &Lattice) -> Self {
        let span = |pick: fn(&(i32, i32)) -> i32| {
            let low = lattice.members.keys().map(pick).min().unwrap_or(0);
            let high = lattice.members.keys().map(pick).max().unwrap_or(0);
            (low - BEYOND, high + BEYOND)
        };
        let (columns, rows) = (span(|place| place.0), span(|place| place.1));
        let (width, height) = (
            (columns.1 - columns.0 + 1) as usize,
            (rows.1 - rows.0 + 1) as usize,
        );
        let probe = Probe {
            edges,
            map: &lattice.small_from_face,
        };
        let mut inner = vec![None; (width + 2) * (height + 2)];
        for row in 0..height + 2 {
            for column in 0..width + 2 {
                let (x, y) = (
                    f64::from(columns.0 - 1 + column as i32),
                    f64::from(rows.0 - 1 + row as i32),
                );
                inner[row * (width + 2) + column] = probe.inner(x, y);
            }
        }
        let mut cells = Vec::with_capacity(width * height);
        for row in 0..height {
            for column in 0..width {
                let place = (columns.0 + column as i32, rows.0 + row as i32);
                let (x, y) = (f64::from(place.0), f64::from(place.1));
                let at = |c: usize, r: usize| inner[r * (width + 2) + c];
                let here = at(column + 1, row + 1);
                let sides = [
                    (-0.5, 0.0, at(column, row + 1)),
                    (0.5, 0.0, at(column + 2, row + 1)),
                    (0.0, -0.5, at(column + 1, row)),
                    (0.0, 0.5, at(column + 1, row + 2)),
                ]
                .map(|(dx, dy, beyond)| probe.side(x + dx, y + dy, dx != 0.0, here, beyond));
                let member = lattice.members.contains_key(&place);
                cells.push(likeness(sides, here, member));
            }
        }
        Self {
            first: (columns.0, rows.0),
            columns: width,
            rows: height,
            cells,
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

    /// The mean evidence of the cells next to a square.
    fn around(&self, column: usize, row: usize, n: usize) -> f64 {
        let at = |c: i64, r: i64| {
            let inside =
                (0..self.columns as i64).contains(&c) && (0..self.rows as i64).contains(&r);
            if inside {
                self.cells[r as usize * self.columns + c as usize]
            } else {
                -1.0
            }
        };
        let (c, r, n) = (column as i64, row as i64, n as i64);
        let sum: f64 = (0..n)
            .map(|k| at(c - 1, r + k) + at(c + n, r + k) + at(c + k, r - 1) + at(c + k, r + n))
            .sum();
        sum / (4 * n) as f64
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
    let from_sides = ((evidence - 0.25) / 0.25).clamp(-1.0, 1.0);
    if member {
        (from_sides + 1.0).clamp(-0.5, 1.0)
    } else {
        from_sides
    }
}

/// Reads an edge map at places of a lattice.
struct Probe<'a> {
    edges: &'a EdgeMap,
    map: &'a PlaneMap<InFace, InPhoto>,
}

impl Probe<'_> {
    fn strength(&self, x: f64, y: f64) -> Option<f64> {
        let point: Point<InPhoto> = self.map.at(x, y);
        let inside = point.x >= 0.0
            && point.y >= 0.0
            && point.x < self.edges.width as f64
            && point.y < self.edges.height as f64;
        inside.then(|| {
            f64::from(self.edges.strength[point.y as usize * self.edges.width + point.x as usize])
        })
    }

    /// The typical edge strength inside a cell; none when it leaves the picture.
    fn inner(&self, x: f64, y: f64) -> Option<f64> {
        let mut values = [0.0; 9];
        for (k, value) in values.iter_mut().enumerate() {
            let (dx, dy) = ((k % 3) as f64 - 1.0, (k / 3) as f64 - 1.0);
            *value = self.strength(x + 0.2 * dx, y + 0.2 * dy)?;
        }
        values.sort_by(f64::total_cmp);
        Some(values[4])
    }

    /// How much stronger the edge along one side of a cell is than the insides next to it, -1..=1.
    fn side(&self, x: f64, y: f64, upright: bool, here: Option<f64>, beyond: Option<f64>) -> f64 {
        let mut along = [0.0; 5];
        for (k, value) in along.iter_mut().enumerate() {
            let t = 0.16 * (k as f64 - 2.0);
            for s in [-0.12, -0.06, 0.0, 0.06, 0.12] {
                let (dx, dy) = if upright { (s, t) } else { (t, s) };
                let Some(strength) = self.strength(x + dx, y + dy) else {
                    return -1.0;
                };
                *value = strength.max(*value);
            }
        }
        along.sort_by(f64::total_cmp);
        let line = f64::midpoint(along[1], along[2]);
        let Some(inside) = here.or(beyond) else {
            return -1.0;
        };
        (line - inside - NOISE) / (line + inside + NOISE)
    }
}
