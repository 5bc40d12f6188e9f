//! Where the stickers of a lattice lie in the small picture: on a plane, but for lines of them that are turned a
//! little out of it.

use super::flats::Flat;
use super::lattice::{MISMATCH, Regions, STRAY, cross};
use crate::geometry::{InFace, InPhoto, PlaneMap, Point};
use std::collections::BTreeMap;

/// A cell of a lattice: column and row, counted from an arbitrary one.
pub type Place = (i32, i32);

/// Which region lies on which cell.
pub type Members = BTreeMap<Place, u32>;

/// How far from its place on the common plane a region may lie, in sticker sides.
const STRAY_OF_PLANE: f64 = 0.2;

/// The share of its cell a region fills: the edge map takes the rim, a finger or glare some more.
const FILLED: std::ops::Range<f64> = 0.2..1.1;

/// How far a whole line of stickers may be shifted along itself: a layer turned by 3 degrees moves the stickers on
/// the four faces it crosses by 2.6 % of the face's side, which at order 17 is 0.45 of a sticker.
const MOST_SHIFT: f64 = 0.45;

/// The least shift of a line worth a correction, and how much its regions may disagree about it.
const LEAST_SHIFT: f64 = 0.05;
const SHIFT_SPREAD: f64 = 0.05;

/// A line of stickers out of step with the rest.
#[derive(Clone, Copy, Debug, Default)]
pub struct Shift {
    /// How far it is moved along itself, in sticker sides.
    along: f64,
    /// How much it rises across itself for each sticker along itself.
    slope: f64,
    /// The place along the line at which it does not rise.
    about: f64,
}

/// The places of a lattice in the small picture.
#[derive(Clone, Debug)]
pub struct Net {
    /// From the lattice's plane to the small picture; the middle of the cell (column, row) is (column, row).
    pub plane: PlaneMap<InFace, InPhoto>,
    rows: BTreeMap<i32, Shift>,
    columns: BTreeMap<i32, Shift>,
}

impl Net {
    /// A net without shifted lines.
    pub const fn flat(plane: PlaneMap<InFace, InPhoto>) -> Self {
        Self {
            plane,
            rows: BTreeMap::new(),
            columns: BTreeMap::new(),
        }
    }

    /// How far the middle of a cell lies from its place on the plane, in sticker sides.
    fn shift(&self, (column, row): Place) -> (f64, f64) {
        let of_row = self.rows.get(&row).copied().unwrap_or_default();
        let of_column = self.columns.get(&column).copied().unwrap_or_default();
        let rise = |shift: Shift, at: i32| shift.slope * (f64::from(at) - shift.about);
        (
            of_row.along + rise(of_column, row),
            of_column.along + rise(of_row, column),
        )
    }

    /// The place on the plane of a point given by its offset from a cell's middle, in sticker sides.
    pub fn on_plane(&self, cell: Place, right: f64, down: f64) -> (f64, f64) {
        let (dx, dy) = self.shift(cell);
        (
            f64::from(cell.0) + right + dx,
            f64::from(cell.1) + down + dy,
        )
    }

    /// The point of the small picture at an offset from a cell's middle, in sticker sides.
    pub fn at(&self, cell: Place, right: f64, down: f64) -> Point<InPhoto> {
        let (x, y) = self.on_plane(cell, right, down);
        self.plane.at(x, y)
    }

    /// How the picture point moves to the right and down about a cell's middle, in pixels a sticker side.
    pub fn steps(&self, cell: Place) -> [(f64, f64); 2] {
        let (x, y) = self.on_plane(cell, 0.0, 0.0);
        self.plane.steps(x, y)
    }

    /// How far a point of the picture lies from a cell's middle, in sticker sides to the right and down.
    fn offset(&self, cell: Place, flat: &Flat) -> (f64, f64) {
        let middle = self.at(cell, 0.0, 0.0);
        let [right, down] = self.steps(cell);
        let turn = cross(right, down);
        let off = (flat.x - middle.x, flat.y - middle.y);
        (cross(off, down) / turn, cross(right, off) / turn)
    }

    /// The largest region on a cell, no farther off than this to the right and down.
    fn region_on(&self, regions: &Regions, cell: Place, reach: (f64, f64)) -> Option<u32> {
        let middle = self.at(cell, 0.0, 0.0);
        let [right, down] = self.steps(cell);
        let area = cross(right, down);
        if area <= 0.0 {
            return None;
        }
        let reach_px = reach.0 * right.0.hypot(right.1) + reach.1 * down.0.hypot(down.1);
        regions
            .near(middle.x, middle.y, reach_px)
            .filter_map(|index| {
                let flat = &regions.flats[index as usize];
                let (dx, dy) = self.offset(cell, flat);
                let filled = flat.area / area;
                let fits = (dx / reach.0).hypot(dy / reach.1) < 1.0
                    && FILLED.contains(&filled)
                    && flat.mismatch(right, down) < MISMATCH;
                fits.then_some((filled, index))
            })
            .max_by(|a, b| a.0.total_cmp(&b.0))
            .map(|(_, index)| index)
    }

    /// The regions on the n×n cells from a first one.
    pub fn members(&self, regions: &Regions, first: Place, n: i32) -> Members {
        square(first, n)
            .filter_map(|cell| Some((cell, self.region_on(regions, cell, (STRAY, STRAY))?)))
            .collect()
    }

    /// This net fitted to the regions on n×n cells, shifted lines included; none when they do not span a plane.
    pub fn fitted(&self, regions: &Regions, first: Place, n: i32) -> Option<Self> {
        let mut net = self.clone();
        let members = net.members(regions, first, n);
        net.plane = plane_of(&regions.flats, &net, members)?.0;
        if n < 3 {
            return Some(net);
        }
        net.rows.clear();
        net.columns.clear();
        let lines = first.1..first.1 + n;
        let rows = shifts(lines.clone(), |row| {
            (first.0..first.0 + n)
                .filter_map(|column| {
                    let index = net.region_on(regions, (column, row), (MOST_SHIFT, STRAY))?;
                    let off = net.offset((column, row), &regions.flats[index as usize]);
                    Some((column, off.0, off.1))
                })
                .collect()
        });
        let columns = shifts(first.0..first.0 + n, |column| {
            lines
                .clone()
                .filter_map(|row| {
                    let index = net.region_on(regions, (column, row), (STRAY, MOST_SHIFT))?;
                    let off = net.offset((column, row), &regions.flats[index as usize]);
                    Some((row, off.1, off.0))
                })
                .collect()
        });
        // Only the layers of one axis can be turned out of line at a time.
        let sum = |shifts: &BTreeMap<i32, Shift>| -> f64 {
            shifts.values().map(|shift| shift.along.abs()).sum()
        };
        if sum(&rows) > sum(&columns) {
            net.rows = rows;
        } else {
            net.columns = columns;
        }
        let members = net.members(regions, first, n);
        net.plane = plane_of(&regions.flats, &net, members)?.0;
        Some(net)
    }
}

/// The n×n cells from a first one, row by row.
pub fn square(first: Place, n: i32) -> impl Iterator<Item = Place> {
    (first.1..first.1 + n)
        .flat_map(move |row| (first.0..first.0 + n).map(move |column| (column, row)))
}

/// The lines whose regions agree that they are out of step. A line's regions are given as their place along it and
/// how far they are off along and across it.
fn shifts(
    lines: std::ops::Range<i32>,
    regions: impl Fn(i32) -> Vec<(i32, f64, f64)>,
) -> BTreeMap<i32, Shift> {
    let count = lines.len();
    lines
        .filter_map(|line| {
            let offs = regions(line);
            if offs.len() < 3.max(count / 2) {
                return None;
            }
            let along = median(offs.iter().map(|off| off.1));
            let spread = median(offs.iter().map(|off| (off.1 - along).abs()));
            if along.abs() < LEAST_SHIFT || spread > SHIFT_SPREAD {
                return None;
            }
            let about = offs.iter().map(|off| f64::from(off.0)).sum::<f64>() / offs.len() as f64;
            let reach = |off: &(i32, f64, f64)| f64::from(off.0) - about;
            let slope = offs.iter().map(|off| reach(off) * off.2).sum::<f64>()
                / offs
                    .iter()
                    .map(|off| reach(off).powi(2))
                    .sum::<f64>()
                    .max(1e-9);
            Some((
                line,
                Shift {
                    along,
                    slope,
                    about,
                },
            ))
        })
        .collect()
}

fn median(values: impl Iterator<Item = f64>) -> f64 {
    let mut values: Vec<f64> = values.collect();
    let middle = values.len() / 2;
    *values.select_nth_unstable_by(middle, f64::total_cmp).1
}

/// Fits the plane under a net to members and drops those off it, again and again.
///
/// A region smaller than its fellows has lost a part to glare or to a finger, and its centre with it: it weighs
/// less.
pub fn plane_of(
    flats: &[Flat],
    net: &Net,
    mut members: Members,
) -> Option<(PlaneMap<InFace, InPhoto>, Members)> {
    let mut weights = vec![1.0; members.len()];
    for round in 0..8 {
        if members.len() < 4 {
            return None;
        }
        let pairs: Vec<_> = members
            .iter()
            .zip(&weights)
            .map(|((&cell, &index), &weight)| {
                let flat = &flats[index as usize];
                let (x, y) = net.on_plane(cell, 0.0, 0.0);
                (
                    Point::<InFace>::new(x, y),
                    Point::<InPhoto>::new(flat.x, flat.y),
                    weight,
                )
            })
            .collect();
        let map = PlaneMap::fit(&pairs)?;
        let back = map.inverse()?;
        let strays: Vec<f64> = pairs
            .iter()
            .map(|(place, point, _)| back.map(*point).distance(*place))
            .collect();
        let worst = strays.iter().copied().fold(0.0, f64::max);
        if worst.is_nan() {
            return None;
        }
        if worst <= STRAY_OF_PLANE && round > 0 {
            return Some((map, members));
        }
        let limit = (0.6 * worst).max(STRAY_OF_PLANE);
        let mut index = 0;
        members.retain(|_, _| {
            index += 1;
            strays[index - 1] <= limit
        });
        weights = trusts(flats, &members, &map);
    }
    None
}

/// How much each member's share of its cell is to be trusted, 0..=1: less the farther it is from the usual share.
fn trusts(flats: &[Flat], members: &Members, map: &PlaneMap<InFace, InPhoto>) -> Vec<f64> {
    let shares: Vec<f64> = members
        .iter()
        .map(|(&(column, row), &index)| {
            let [right, down] = map.steps(f64::from(column), f64::from(row));
            flats[index as usize].area / cross(right, down).abs().max(1e-9)
        })
        .collect();
    if shares.is_empty() {
        return shares;
    }
    let usual = median(shares.iter().copied());
    let trust = |share: f64| (-((share / usual - 1.0) / 0.12).powi(2)).exp().max(0.03);
    shares.into_iter().map(trust).collect()
}
