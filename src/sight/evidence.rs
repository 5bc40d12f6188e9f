//! How much the cells of a net look like stickers, on the edge map.

use super::bend::Way;
use super::net::{Members, Net, Place};
use super::shrink::EdgeMap;
use std::ops::RangeInclusive;

/// The orders of cube looked for.
pub const ORDERS: RangeInclusive<usize> = 2..=17;

/// Edge strength that is taken for noise in a picture of full contrast, in steps of 1/255.
const NOISE: f32 = 4.0;

/// The evidence at which a cell is as likely a sticker as not, and the evidence beyond it that settles the matter.
///
/// Measured on the face photos with the true grids: 95 % of the stickers have more than 0.19 (turned layers, which
/// leave the plane, among them), 99 % of the places one or two rows outside less than 0.1.
const EVEN_EVIDENCE: f64 = 0.1;
const EVIDENCE_SWING: f64 = 0.15;

/// The mean evidence of the cells beside a square that tells, before it is fitted, that the net goes on there.
const PART_OF_MORE: f64 = 0.6;

/// How far a side's edge may lie from its place, in sticker sides: stickers are laid crooked, gaps have a width.
const ASTRAY: f32 = 0.12;

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
        let (columns, rows) = (
            (last.0 - first.0 + 1) as usize,
            (last.1 - first.1 + 1) as usize,
        );
        // One cell more all round, for the far halves of the outermost sides.
        let stride = columns + 2;
        let frames: Vec<Frame> = (0..stride * (rows + 2))
            .map(|index| {
                let (column, row) = ((index % stride) as i32 - 1, (index / stride) as i32 - 1);
                Frame::of(net, (first.0 + column, first.1 + row))
            })
            .collect();
        let frame = |column: usize, row: usize| &frames[row * stride + column];
        let upright: Vec<f32> = (0..(columns + 1) * rows)
            .map(|index| {
                let (column, row) = (index % (columns + 1), index / (columns + 1) + 1);
                frame(column, row).side(frame(column + 1, row), edges, Way::Right)
            })
            .collect();
        let level: Vec<f32> = (0..columns * (rows + 1))
            .map(|index| {
                let (column, row) = (index % columns + 1, index / columns);
                frame(column, row).side(frame(column, row + 1), edges, Way::Down)
            })
            .collect();
        let noise = NOISE * edges.contrast;
        let mut cells = Vec::with_capacity(columns * rows);
        let mut is_in_picture = Vec::with_capacity(columns * rows);
        for row in 0..rows {
            for column in 0..columns {
                let inner = frame(column + 1, row + 1).inner(edges);
                let sides = [
                    upright[row * (columns + 1) + column],
                    upright[row * (columns + 1) + column + 1],
                    level[row * columns + column],
                    level[(row + 1) * columns + column],
                ];
                let place = (first.0 + column as i32, first.1 + row as i32);
                let is_member = members.contains_key(&place);
                cells.push(inner.map_or(-1.0, |inner| likeness(sides, inner, noise, is_member)));
                is_in_picture.push(inner.is_some());
            }
        }
        Self {
            first,
            columns,
            rows,
            cells,
            is_in_picture,
        }
    }

    /// Sums over all cells above and left of each corner, of what a cell counts.
    fn sums(&self, count: impl Fn(usize) -> f64) -> Vec<f64> {
        let stride = self.columns + 1;
        let mut sums = vec![0.0; stride * (self.rows + 1)];
        for row in 0..self.rows {
            for column in 0..self.columns {
                sums[(row + 1) * stride + column + 1] = count(row * self.columns + column)
                    + sums[row * stride + column + 1]
                    + sums[(row + 1) * stride + column]
                    - sums[row * stride + column];
            }
        }
        sums
    }

    /// The two heaviest squares of cells of each order that are no part of a larger net, heaviest first.
    pub fn squares(&self, orders: RangeInclusive<usize>) -> Vec<Square> {
        let sums = self.sums(|index| self.cells[index]);
        let known = self.sums(|index| {
            if self.is_in_picture[index] {
                self.cells[index]
            } else {
                0.0
            }
        });
        let stride = self.columns + 1;
        let over = |sums: &[f64], column: usize, row: usize, columns: usize, rows: usize| {
            let (above, below) = (row * stride + column, (row + rows) * stride + column);
            sums[below + columns] - sums[above + columns] - sums[below] + sums[above]
        };
        let mut squares: Vec<Square> = Vec::new();
        let largest = self.columns.min(self.rows).min(*orders.end());
        for n in *orders.start()..=largest {
            let mut heaviest: [Option<Square>; 2] = [None; 2];
            let goes_on = |column: usize, row: usize, columns: usize, rows: usize| {
                over(&known, column, row, columns, rows) > PART_OF_MORE * n as f64
            };
            for row in 0..=self.rows - n {
                for column in 0..=self.columns - n {
                    let above = row > 0 && goes_on(column, row - 1, n, 1);
                    let below = row + n < self.rows && goes_on(column, row + n, n, 1);
                    let left = column > 0 && goes_on(column - 1, row, 1, n);
                    let right = column + n < self.columns && goes_on(column + n, row, 1, n);
                    // A square of a larger one leaves out cells on two sides at least.
                    if [above, below, left, right].iter().filter(|&&on| on).count() > 1 {
                        continue;
                    }
                    let weight = over(&sums, column, row, n, n);
                    let is_beaten =
                        |known: &Option<Square>| known.is_some_and(|known| known.weight >= weight);
                    let square = Some(Square {
                        first: (self.first.0 + column as i32, self.first.1 + row as i32),
                        n,
                        weight,
                    });
                    if !is_beaten(&heaviest[0]) {
                        heaviest = [square, heaviest[0]];
                    } else if !is_beaten(&heaviest[1]) {
                        heaviest[1] = square;
                    }
                }
            }
            squares.extend(heaviest.into_iter().flatten());
        }
        squares.sort_by(|a, b| b.weight.total_cmp(&a.weight));
        squares
    }

    /// The mean evidence of the cells next to a square, side by side: above, right, below, left.
    ///
    /// Cells beyond the picture say nothing; a side that lies there altogether has none.
    pub fn around(&self, square: &Square) -> [Option<f64>; 4] {
        let (c, r) = (square.first.0 - self.first.0, square.first.1 - self.first.1);
        let n = square.n as i32;
        let mean = |beside: fn(i32, i32) -> (i32, i32)| {
            let known: Vec<f64> = (0..n)
                .map(|k| beside(k, n))
                .filter_map(|(right, down)| self.at(c + right, r + down))
                .collect();
            (!known.is_empty()).then(|| known.iter().sum::<f64>() / known.len() as f64)
        };
        let above = mean(|k, _| (k, -1));
        let right = mean(|k, n| (n, k));
        let below = mean(|k, n| (k, n));
        let left = mean(|k, _| (-1, k));
        [above, right, below, left]
    }

    /// The summed evidence of a square's cells.
    pub fn weight(&self, square: &Square) -> f64 {
        let (c, r) = (square.first.0 - self.first.0, square.first.1 - self.first.1);
        let n = square.n as i32;
        (0..n * n)
            .map(|k| self.at(c + k % n, r + k / n).unwrap_or(-1.0))
            .sum()
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

/// What the strengths along its four sides and inside say about a cell, -1..=1.
fn likeness(sides: [f32; 4], inner: f32, noise: f32, is_member: bool) -> f64 {
    let mut ratios = sides.map(|side| {
        if side < 0.0 {
            return -1.0;
        }
        (side - inner - noise) / (side + inner + noise)
    });
    ratios.sort_by(f32::total_cmp);
    // One side may be covered or lack contrast.
    let evidence = f64::from(ratios[0] + 2.0 * ratios[1] + ratios[2]) / 4.0;
    let from_sides = ((evidence - EVEN_EVIDENCE) / EVIDENCE_SWING).clamp(-1.0, 1.0);
    if is_member {
        (from_sides + 0.5).clamp(-0.5, 1.0)
    } else {
        from_sides
    }
}

/// A cell in the small picture, straightened: its middle and its sides to the right and down, in pixels.
struct Frame {
    middle: (f32, f32),
    right: (f32, f32),
    down: (f32, f32),
}

impl Frame {
    fn of(net: &Net, cell: Place) -> Self {
        let middle = net.at(cell, 0.0, 0.0);
        let [right, down] = net.steps(cell);
        let small = |step: (f64, f64)| (step.0 as f32, step.1 as f32);
        Self {
            middle: (middle.x as f32, middle.y as f32),
            right: small(right),
            down: small(down),
        }
    }

    /// The edge strength that three quarters of the inside stay below; none when it leaves the picture.
    fn inner(&self, edges: &EdgeMap) -> Option<f32> {
        let spots = Spots {
            middle: self.middle,
            step: (0.18 * self.right.0, 0.18 * self.right.1),
            row: (0.18 * self.down.0, 0.18 * self.down.1),
        };
        let inside = spots.reach(1.5, 1.5).within(edges)?;
        let values: [u8; 16] = std::array::from_fn(|k| {
            inside.strength(spots.at((k % 4) as f32 - 1.5, (k / 4) as f32 - 1.5))
        });
        let rank = |value: u8| {
            values
                .iter()
                .map(|&other| u8::from(other <= value))
                .sum::<u8>()
        };
        let at_three_quarters = values.iter().filter(|&&value| rank(value) >= 12).min();
        at_three_quarters.copied().map(f32::from)
    }

    /// How strong the edge between this cell and the next is; negative when it leaves the picture.
    ///
    /// The edge must run straight: of all parallels to the side, the one whose weaker part is strongest counts.
    fn side(&self, next: &Self, edges: &EdgeMap, way: Way) -> f32 {
        let (across, along, next_along) = match way {
            Way::Right => (self.right, self.down, next.down),
            Way::Down => (self.down, self.right, next.right),
        };
        let along = (
            f32::midpoint(along.0, next_along.0),
            f32::midpoint(along.1, next_along.1),
        );
        // The edge map's lines are three pixels wide.
        let width = (across.0 * across.0 + across.1 * across.1).sqrt();
        let parallels = ((2.0 * ASTRAY * width / 2.5) as i32).clamp(4, 12);
        let apart = 2.0 * ASTRAY / parallels as f32;
        let spots = Spots {
            middle: (
                f32::midpoint(self.middle.0, next.middle.0),
                f32::midpoint(self.middle.1, next.middle.1),
            ),
            step: (0.11 * along.0, 0.11 * along.1),
            row: (apart * across.0, apart * across.1),
        };
        let half = 0.5 * parallels as f32;
        let Some(inside) = spots.reach(3.0, half).within(edges) else {
            return -1.0;
        };
        let mut best = 0;
        for k in 0..=parallels {
            // The three weakest of seven, in order.
            let mut weakest = [u8::MAX; 3];
            for t in -3..=3 {
                let value = inside.strength(spots.at(t as f32, k as f32 - half));
                weakest[2] = weakest[2].min(value.max(weakest[1]));
                weakest[1] = weakest[1].min(value.max(weakest[0]));
                weakest[0] = weakest[0].min(value);
            }
            best = best.max(u16::from(weakest[1]) + u16::from(weakest[2]));
        }
        0.5 * f32::from(best)
    }
}

/// Spots in rows about a middle, in the small picture.
struct Spots {
    middle: (f32, f32),
    /// From one to the next in a row.
    step: (f32, f32),
    /// From row to row.
    row: (f32, f32),
}

impl Spots {
    fn at(&self, step: f32, row: f32) -> (f32, f32) {
        (
            self.middle.0 + step * self.step.0 + row * self.row.0,
            self.middle.1 + step * self.step.1 + row * self.row.1,
        )
    }

    /// The upright box about so many steps and rows to both sides.
    fn reach(&self, steps: f32, rows: f32) -> Reach {
        Reach {
            middle: self.middle,
            across: steps * self.step.0.abs() + rows * self.row.0.abs(),
            down: steps * self.step.1.abs() + rows * self.row.1.abs(),
        }
    }
}

struct Reach {
    middle: (f32, f32),
    across: f32,
    down: f32,
}

impl Reach {
    /// The edge map to be looked up in the box; none when some of it lies outside.
    fn within<'a>(&self, edges: &'a EdgeMap) -> Option<Inside<'a>> {
        let is_inside = self.middle.0 - self.across >= 0.0
            && self.middle.1 - self.down >= 0.0
            && self.middle.0 + self.across < edges.width as f32
            && self.middle.1 + self.down < edges.height as f32;
        is_inside.then_some(Inside(edges))
    }
}

/// An edge map looked up where it is known to reach.
struct Inside<'a>(&'a EdgeMap);

impl Inside<'_> {
    fn strength(&self, (x, y): (f32, f32)) -> u8 {
        let at = y as usize * self.0.width + x as usize;
        // Rounding may lead past the last pixel by a hair.
        self.0.strength[at.min(self.0.strength.len() - 1)]
    }
}
