//! Where the stickers of a lattice lie in the small picture: on a plane, but for the bend of
//! the whole.

use super::bend::{Bend, Firmness, Sighting, Way};
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

/// The standard error of a region's centre, in sticker sides.
const REGION_ERROR: f64 = 0.04;

/// The places of a lattice in the small picture.
#[derive(Clone, Debug)]
pub struct Net {
    /// From the lattice's plane to the small picture; the middle of the cell (column, row) is (column, row).
    pub plane: PlaneMap<InFace, InPhoto>,
    /// How the cells lie off the plane.
    pub bend: Bend,
}

impl Net {
    /// A net on a plane.
    pub fn flat(plane: PlaneMap<InFace, InPhoto>) -> Self {
        Self {
            plane,
            bend: Bend::default(),
        }
    }

    /// The place on the plane of a point given by its offset from a cell's middle, in sticker sides.
    pub fn on_plane(&self, cell: Place, right: f64, down: f64) -> (f64, f64) {
        let (dx, dy) = self.bend.at(cell);
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
    pub fn offset_of(&self, cell: Place, point: Point<InPhoto>) -> (f64, f64) {
        let middle = self.at(cell, 0.0, 0.0);
        let [right, down] = self.steps(cell);
        let turn = cross(right, down);
        let off = (point.x - middle.x, point.y - middle.y);
        (cross(off, down) / turn, cross(right, off) / turn)
    }

    /// How far a region is from where it should be on a cell, in sticker sides to the right and down.
    fn offset(&self, cell: Place, flat: &Flat) -> (f64, f64) {
        let (right, down) = self.offset_of(cell, Point::new(flat.x, flat.y));
        let (x, y) = self.on_plane(cell, 0.0, 0.0);
        let shift = shift_of(&self.plane, x, y, flat);
        (right - shift.0, down - shift.1)
    }

    /// The largest region on a cell, no farther off than this to the right and down.
    fn region_on(&self, regions: &Regions, cell: Place, reach: (f64, f64)) -> Option<u32> {
        let middle = self.at(cell, 0.0, 0.0);
        let [right, down] = self.steps(cell);
        let area = cross(right, down);
        if area <= 0.0 {
            return None;
        }
        let length = |step: (f64, f64)| (step.0 * step.0 + step.1 * step.1).sqrt();
        let reach_px = reach.0 * length(right) + reach.1 * length(down);
        regions
            .near(middle.x, middle.y, reach_px)
            .filter_map(|index| {
                let flat = &regions.flats[index as usize];
                let off = (flat.x - middle.x, flat.y - middle.y);
                let (dx, dy) = (cross(off, down) / area, cross(right, off) / area);
                let filled = flat.area / area;
                let fits = (dx / reach.0).powi(2) + (dy / reach.1).powi(2) < 1.0
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

    /// This net fitted to the regions on n×n cells, its bend included; none when they do not span a plane.
    pub fn fitted(&self, regions: &Regions, first: Place, n: i32) -> Option<Self> {
        let mut net = self.clone();
        let members = net.members(regions, first, n);
        net.plane = plane_of(&regions.flats, &net, members)?.0;
        if n < 3 {
            net.bend = Bend::none(first, n as usize);
            return Some(net);
        }
        net.bend = net.shifted_lines(regions, first, n);
        let members = net.members(regions, first, n);
        let sightings = net.sightings(regions, &members);
        net.explain(&sightings, Firmness::Free, lean(&regions.flats, &members))?;
        Some(net)
    }

    /// Moves the net to where sightings have it, leaning about as the sizes of its regions tell.
    pub fn explain(
        &mut self,
        sightings: &[Sighting],
        firmness: Firmness,
        lean: Option<(f64, f64)>,
    ) -> Option<()> {
        let middle = self.bend.middle();
        let now = self.plane.lean(middle.0, middle.1);
        let more = lean.map(|(right, down)| (right - now.0, down - now.1));
        let (bend, change) = self.bend.explained(sightings, firmness, more)?;
        self.bend = bend;
        self.plane = change.then(&self.plane);
        Some(())
    }

    /// How far the members lie from their cells' middles.
    pub fn sightings(&self, regions: &Regions, members: &Members) -> Vec<Sighting> {
        let trusts = trusts(&regions.flats, members, &self.plane);
        let mut sightings = Vec::with_capacity(2 * members.len());
        for ((&cell, &index), trust) in members.iter().zip(trusts) {
            let (right, down) = self.offset(cell, &regions.flats[index as usize]);
            let trust = trust / (REGION_ERROR * REGION_ERROR);
            for (way, off) in [(Way::Right, right), (Way::Down, down)] {
                sightings.push(Sighting {
                    cells: [cell; 2],
                    way,
                    off,
                    trust,
                });
            }
        }
        sightings
    }

    /// The rows or the columns whose regions are all out of step together.
    fn shifted_lines(&self, regions: &Regions, first: Place, n: i32) -> Bend {
        let off = |cell: Place, reach: (f64, f64)| {
            let index = self.region_on(regions, cell, reach)?;
            Some(self.offset(cell, &regions.flats[index as usize]))
        };
        let rows: Vec<f64> = (0..n)
            .map(|row| {
                let cells = (0..n).map(|column| (first.0 + column, first.1 + row));
                common(
                    cells.filter_map(|cell| Some(off(cell, (MOST_SHIFT, STRAY))?.0)),
                    n,
                )
            })
            .collect();
        let columns: Vec<f64> = (0..n)
            .map(|column| {
                let cells = (0..n).map(|row| (first.0 + column, first.1 + row));
                common(
                    cells.filter_map(|cell| Some(off(cell, (STRAY, MOST_SHIFT))?.1)),
                    n,
                )
            })
            .collect();
        // Only the layers of one axis can be turned out of line at a time.
        let sum = |shifts: &[f64]| shifts.iter().map(|shift| shift.abs()).sum::<f64>();
        let none = vec![0.0; n as usize];
        if sum(&rows) > sum(&columns) {
            Bend::of_lines(first, rows, none)
        } else {
            Bend::of_lines(first, none, columns)
        }
    }
}

/// How the plane of regions leans, by their sizes: the area of a cell shrinks with the third power of the distance.
/// None where they are too few or too unlike.
///
/// Four centres fit a perspective of any strength when one of them is out of line; their sizes do not change with that.
pub fn lean(flats: &[Flat], members: &Members) -> Option<(f64, f64)> {
    let count = members.len() as f64;
    let areas = || {
        members.iter().map(|(&(column, row), &index)| {
            // The edge map takes a pixel all round.
            let size = 2.0 * (flats[index as usize].area.sqrt() + 2.0).ln();
            (f64::from(column), f64::from(row), size)
        })
    };
    let sum = areas().fold([0.0; 3], |sum, (x, y, size)| {
        [sum[0] + x, sum[1] + y, sum[2] + size]
    });
    let mean = sum.map(|sum| sum / count);
    let mut square = [0.0; 5];
    for (x, y, size) in areas() {
        let (x, y, size) = (x - mean[0], y - mean[1], size - mean[2]);
        for (sum, product) in square
            .iter_mut()
            .zip([x * x, x * y, y * y, x * size, y * size])
        {
            *sum += product;
        }
    }
    let [xx, xy, yy, xs, ys] = square;
    let det = xx * yy - xy * xy;
    if members.len() < 4 || det < 1e-6 {
        return None;
    }
    let slopes = ((yy * xs - xy * ys) / det, (xx * ys - xy * xs) / det);
    Some((-slopes.0 / 3.0, -slopes.1 / 3.0))
}

/// How far the centre of a region on a cell lies from the cell's middle on the plane: what is nearer looks larger.
fn shift_of(plane: &PlaneMap<InFace, InPhoto>, x: f64, y: f64, flat: &Flat) -> (f64, f64) {
    let [right, down] = plane.steps(x, y);
    let filled = flat.area / cross(right, down).abs().max(1e-9);
    plane.centroid_shift(x, y, filled.min(1.0))
}

/// The n×n cells from a first one, row by row.
pub fn square(first: Place, n: i32) -> impl Iterator<Item = Place> {
    (first.1..first.1 + n)
        .flat_map(move |row| (first.0..first.0 + n).map(move |column| (column, row)))
}

/// What the offsets of a line's regions have in common; nought when they do not agree or are few.
fn common(offs: impl Iterator<Item = f64>, n: i32) -> f64 {
    let offs: Vec<f64> = offs.collect();
    if offs.len() < 3.max(n as usize / 2) {
        return 0.0;
    }
    let shift = median(offs.iter().copied());
    let spread = median(offs.iter().map(|off| (off - shift).abs()));
    if shift.abs() < LEAST_SHIFT || spread > SHIFT_SPREAD {
        return 0.0;
    }
    shift
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
    let mut last: Option<PlaneMap<InFace, InPhoto>> = None;
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
                let (right, down) = last.map_or((0.0, 0.0), |plane| shift_of(&plane, x, y, flat));
                (
                    Point::<InFace>::new(x + right, y + down),
                    Point::<InPhoto>::new(flat.x, flat.y),
                    weight,
                )
            })
            .collect();
        let map = match lean(flats, &members) {
            Some(lean) => PlaneMap::fit_leaning(&pairs, lean, 4.0 / pairs.len() as f64),
            None => PlaneMap::fit(&pairs),
        }?;
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
        last = Some(map);
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
