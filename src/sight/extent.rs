//! A lattice to the square of stickers in it that is a whole face: how many along a side, and which.

use super::flats::Flat;
use super::lattice::{Lattice, on_one_plane};
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
    /// The mean evidence of the cells just outside, on the side where it is highest.
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

/// The number of squares on a lattice that are fitted anew.
const REFITTED: usize = 4;

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
struct Square {
    corner: (i32, i32),
    n: usize,
    weight: f64,
}

/// The evidence for cells, on a rectangle of places of a lattice.
struct Evidence {
    first: (i32, i32),
    columns: usize,
    rows: usize,
    /// For each cell, row by row, from -1 (no sticker) to 1.
    cells: Vec<f64>,
    /// Whether each cell's inside lies in the picture.
    is_in_picture: Vec<bool>,
}

/// The squares on a lattice that could be whole faces, heaviest first, each of another place or size.
///
/// A stray member drags the plane of the whole lattice along; so each of the best squares is fitted anew to its own
/// members and weighed again.
pub fn extents(edges: &EdgeMap, flats: &[Flat], lattice: &Lattice) -> Vec<Extent> {
    let evidence = Evidence::gather(edges, lattice);
    let mut found: Vec<(Square, Extent)> = Vec::new();
    for square in evidence.squares(REFITTED) {
        if let Some(settled) = settled(edges, flats, lattice, square) {
            found.push(settled);
        }
    }
    found.sort_by(|a, b| b.1.weight.total_cmp(&a.1.weight));
    let mut distinct: Vec<(Square, Extent)> = Vec::new();
    for (square, extent) in found {
        let is_known =
            |(known, _): &(Square, Extent)| known.n == square.n && known.corner == square.corner;
        if !distinct.iter().any(is_known) {
            distinct.push((square, extent));
        }
    }
    distinct.into_iter().map(|(_, extent)| extent).collect()
}

/// Fits a square to its members and moves it to where it weighs most, until it stays.
fn settled(
    edges: &EdgeMap,
    flats: &[Flat],
    lattice: &Lattice,
    mut square: Square,
) -> Option<(Square, Extent)> {
    for _ in 0..4 {
        let own = refitted(flats, lattice, &square)?;
        let evidence = Evidence::gather(edges, &own);
        let moved = evidence.squares(1).pop()?;
        let stays = moved.corner == square.corner && moved.n == square.n;
        square = moved;
        if stays {
            let extent = Extent {
                n: square.n,
                small_from_face: shifted(&own.small_from_face, square.corner),
                weight: square.weight,
                outside: evidence.around(&square),
            };
            return Some((square, extent));
        }
    }
    None
}

/// The lattice of a square's own members; none when they are too few to span it.
fn refitted(flats: &[Flat], lattice: &Lattice, square: &Square) -> Option<Lattice> {
    let (column, row, n) = (square.corner.0, square.corner.1, square.n as i32);
    let members = lattice
        .members
        .iter()
        .filter(|((c, r), _)| (column..column + n).contains(c) && (row..row + n).contains(r))
        .map(|(&place, &member)| (place, member))
        .collect();
    on_one_plane(flats, members)
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
        let mut is_in_picture = Vec::with_capacity(width * height);
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
                is_in_picture.push(here.is_some());
            }
        }
        Self {
            first: (columns.0, rows.0),
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
    fn squares(&self, most: usize) -> Vec<Square> {
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
                        corner: (self.first.0 + column as i32, self.first.1 + row as i32),
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
    fn around(&self, square: &Square) -> f64 {
        let (c, r) = (
            square.corner.0 - self.first.0,
            square.corner.1 - self.first.1,
        );
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

    /// The edge strength that three quarters of a cell's inside stay below; none when it leaves the picture.
    fn inner(&self, x: f64, y: f64) -> Option<f64> {
        let mut values = [0.0; 16];
        for (k, value) in values.iter_mut().enumerate() {
            let (dx, dy) = ((k % 4) as f64 - 1.5, (k / 4) as f64 - 1.5);
            *value = self.strength(x + 0.18 * dx, y + 0.18 * dy)?;
        }
        values.sort_by(f64::total_cmp);
        Some(values[11])
    }

    /// How much stronger the edge along one side of a cell is than the insides next to it, -1..=1.
    ///
    /// The edge must run straight: of all parallels to the side, the one whose weaker part is strongest counts.
    fn side(&self, x: f64, y: f64, upright: bool, here: Option<f64>, beyond: Option<f64>) -> f64 {
        let [right, down] = self.map.steps(x, y);
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
                let Some(strength) = self.strength(x + dx, y + dy) else {
                    return -1.0;
                };
                *value = strength;
            }
            along.sort_by(f64::total_cmp);
            line = line.max(f64::midpoint(along[1], along[2]));
        }
        let Some(inside) = here.or(beyond) else {
            return -1.0;
        };
        (line - inside - NOISE) / (line + inside + NOISE)
    }
}
