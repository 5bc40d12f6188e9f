//! Flat regions to lattices: sets of regions that are neighbours of each other in two directions.
//!
//! It does not know where a face ends, only which regions lie in step.

use super::flats::Flat;
use super::net::{Members, Net, Place, plane_of};
use crate::geometry::PlaneMap;
use std::collections::{BTreeSet, VecDeque};

/// A lattice of flat regions in the small picture.
#[derive(Clone, Debug)]
pub struct Lattice {
    /// Which region is on which cell.
    pub members: Members,
    /// Where the cells are.
    pub net: Net,
}

/// Steps between neighbouring stickers in sides of the region: a region loses its rim to the edge map.
const STEP_SIDES: std::ops::Range<f64> = 0.95..2.2;

/// The largest ratio of two neighbours' areas.
const AREA_RATIO: f64 = 2.2;

/// How far from its place on a net a region may lie, in sticker sides.
pub const STRAY: f64 = 0.22;

/// How far from the place its neighbours foretell a region may lie, in sticker sides: seen from near, the fourth
/// cell of a 2×2 lies a quarter off the parallelogram of the other three.
const STRAY_OF_NEIGHBOURS: f64 = 0.3;

/// How far a region's shape may be from that of its cell, as [`Flat::mismatch`] has it.
pub const MISMATCH: f64 = 1.2;

/// The number of lattices handed on at most.
const MOST_LATTICES: usize = 16;

/// The neighbours kept for each region.
const MOST_NEIGHBOURS: usize = 12;

/// Flat regions, sorted into square bins for finding those near a place.
pub struct Regions {
    /// The regions.
    pub flats: Vec<Flat>,
    side: f64,
    columns: usize,
    rows: usize,
    contents: Vec<Vec<u32>>,
}

impl Regions {
    /// Sorts regions.
    pub fn new(flats: Vec<Flat>) -> Self {
        let side = 16.0;
        let reach = |pick: fn(&Flat) -> f64| flats.iter().map(pick).fold(0.0, f64::max);
        let columns = (reach(|flat| flat.x) / side) as usize + 1;
        let rows = (reach(|flat| flat.y) / side) as usize + 1;
        let mut contents = vec![Vec::new(); columns * rows];
        for (index, flat) in flats.iter().enumerate() {
            let bin = (flat.y / side) as usize * columns + (flat.x / side) as usize;
            contents[bin].push(index as u32);
        }
        Self {
            flats,
            side,
            columns,
            rows,
            contents,
        }
    }

    /// The regions whose centres could lie within reach of a place.
    pub fn near(&self, x: f64, y: f64, reach: f64) -> impl Iterator<Item = u32> + '_ {
        let span = |centre: f64, count: usize| {
            let low = ((centre - reach).max(0.0) / self.side) as usize;
            let high = ((centre + reach).max(0.0) / self.side) as usize;
            low..(high + 1).min(count)
        };
        let columns = span(x, self.columns);
        span(y, self.rows).flat_map(move |row| {
            columns
                .clone()
                .flat_map(move |column| self.contents[row * self.columns + column].iter().copied())
        })
    }
}

/// The lattices among flat regions, the one with the most members first.
pub fn lattices(regions: &Regions) -> Vec<Lattice> {
    let flats = &regions.flats;
    let neighbours: Vec<Vec<u32>> = (0..flats.len())
        .map(|index| neighbours(regions, index))
        .collect();
    let mut taken = vec![false; flats.len()];
    let mut order: Vec<usize> = (0..flats.len())
        .filter(|&index| neighbours[index].len() >= 3)
        .collect();
    // Regions with many fellows about them lie inside a face: start there.
    order.sort_by_key(|&index| std::cmp::Reverse(neighbours[index].len()));
    let mut found: Vec<Lattice> = Vec::new();
    for index in order {
        if taken[index] {
            continue;
        }
        let Some(lattice) = best_from(regions, &neighbours, index, &taken) else {
            continue;
        };
        for &member in lattice.members.values() {
            taken[member as usize] = true;
        }
        found.push(lattice);
    }
    found.sort_by_key(|lattice| std::cmp::Reverse(lattice.members.len()));
    found.truncate(MOST_LATTICES);
    found
}

/// The regions about as large as this one and about one step away, the nearest first.
fn neighbours(regions: &Regions, index: usize) -> Vec<u32> {
    let flats = &regions.flats;
    let flat = &flats[index];
    let reach = 12.0_f64.sqrt() * flat.long_axis() * STEP_SIDES.end;
    let mut near: Vec<(f64, u32)> = regions
        .near(flat.x, flat.y, reach)
        .filter(|&other| other as usize != index)
        .filter_map(|other| {
            let fellow = &flats[other as usize];
            let ratio = fellow.area / flat.area;
            let (dx, dy) = (fellow.x - flat.x, fellow.y - flat.y);
            let sides = flat.sides(dx, dy).max(fellow.sides(dx, dy));
            let fits =
                (1.0 / AREA_RATIO..AREA_RATIO).contains(&ratio) && STEP_SIDES.contains(&sides);
            fits.then_some((sides, other))
        })
        .collect();
    near.sort_by(|a, b| a.0.total_cmp(&b.0));
    near.truncate(MOST_NEIGHBOURS);
    near.into_iter().map(|(_, other)| other).collect()
}

/// A step in the small picture, in pixels.
pub type Step = (f64, f64);

/// The cross product of two steps.
pub fn cross(a: Step, b: Step) -> f64 {
    a.0 * b.1 - a.1 * b.0
}

/// The largest lattice that begins at a region, over its pairs of neighbours.
fn best_from(
    regions: &Regions,
    neighbours: &[Vec<u32>],
    index: usize,
    taken: &[bool],
) -> Option<Lattice> {
    let flats = &regions.flats;
    let flat = &flats[index];
    let steps: Vec<Step> = neighbours[index]
        .iter()
        .filter(|&&other| !taken[other as usize])
        .map(|&other| {
            (
                flats[other as usize].x - flat.x,
                flats[other as usize].y - flat.y,
            )
        })
        .collect();
    let mut best: Option<Lattice> = None;
    for (k, &right) in steps.iter().enumerate() {
        for &down in &steps[k + 1..] {
            let turn = cross(right, down);
            let size = turn.abs() / flat.area;
            if !(0.9..3.2).contains(&size) {
                continue;
            }
            let (right, down) = if turn > 0.0 {
                (right, down)
            } else {
                (down, right)
            };
            if flat.mismatch(right, down) > MISMATCH {
                continue;
            }
            let grown = grow(regions, index, right, down, taken);
            if grown.len() < 4
                || best
                    .as_ref()
                    .is_some_and(|b| b.members.len() >= grown.len())
            {
                continue;
            }
            let Some(lattice) = on_one_plane(flats, grown) else {
                continue;
            };
            if best
                .as_ref()
                .is_none_or(|b| lattice.members.len() > b.members.len())
            {
                best = Some(lattice);
            }
        }
    }
    best
}

/// Spreads from one region to those in step with it.
fn grow(regions: &Regions, start: usize, right: Step, down: Step, taken: &[bool]) -> Members {
    let flats = &regions.flats;
    let mut members = Members::from([((0, 0), start as u32)]);
    let mut used = BTreeSet::from([start as u32]);
    let mut queue = VecDeque::from([((0, 0), right, down)]);
    while let Some((place, right, down)) = queue.pop_front() {
        let here = &flats[members[&place] as usize];
        let turn = cross(right, down);
        for (dx, dy) in [(1, 0), (0, 1), (-1, 0), (0, -1)] {
            let next: Place = (place.0 + dx, place.1 + dy);
            if members.contains_key(&next) || next.0.abs() > 17 || next.1.abs() > 17 {
                continue;
            }
            let step = (
                f64::from(dx) * right.0 + f64::from(dy) * down.0,
                f64::from(dx) * right.1 + f64::from(dy) * down.1,
            );
            let (x, y) = (here.x + step.0, here.y + step.1);
            let reach = STRAY_OF_NEIGHBOURS * step.0.hypot(step.1).max(turn.sqrt());
            let nearest = regions
                .near(x, y, reach)
                .filter(|other| !used.contains(other) && !taken[*other as usize])
                .filter_map(|other| {
                    let fellow = &flats[other as usize];
                    let off = (fellow.x - x, fellow.y - y);
                    let stray = (cross(off, down) / turn).hypot(cross(right, off) / turn);
                    let ratio = fellow.area / here.area;
                    let fits = stray < STRAY_OF_NEIGHBOURS
                        && (1.0 / AREA_RATIO..AREA_RATIO).contains(&ratio)
                        && fellow.mismatch(right, down) < MISMATCH;
                    fits.then_some((stray, other))
                })
                .min_by(|a, b| a.0.total_cmp(&b.0));
            let Some((_, other)) = nearest else { continue };
            let fellow = &flats[other as usize];
            let met = (fellow.x - here.x, fellow.y - here.y);
            let sign = f64::from(dx + dy);
            let blend = |old: Step| {
                (
                    0.5 * old.0 + 0.5 * sign * met.0,
                    0.5 * old.1 + 0.5 * sign * met.1,
                )
            };
            let (right, down) = if dy == 0 {
                (blend(right), down)
            } else {
                (right, blend(down))
            };
            members.insert(next, other);
            used.insert(other);
            queue.push_back((next, right, down));
        }
    }
    members
}

/// The lattice of those members that lie on one plane.
fn on_one_plane(flats: &[Flat], members: Members) -> Option<Lattice> {
    let whole = PlaneMap::from_rows([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]);
    let (plane, members) = plane_of(flats, &Net::flat(whole), members)?;
    Some(Lattice {
        members,
        net: Net::flat(plane),
    })
}
