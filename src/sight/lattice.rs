//! Flat regions to lattices: sets of regions that are neighbours of each other in two directions.
//!
//! It does not know where a face ends, only which regions lie in step.

use super::flats::Flat;
use super::net::{Members, Net, Place, plane_of};
use crate::geometry::{PlaneMap, Point};
use std::collections::{BTreeSet, VecDeque};

/// A lattice of flat regions in the small picture.
#[derive(Clone, Debug)]
pub struct Lattice {
    /// Which region is on which cell.
    pub members: Members,
    /// Where the cells are.
    pub net: Net,
}

impl Lattice {
    fn has_all(&self, regions: [u32; 2]) -> bool {
        let has = |region| self.members.values().any(|&member| member == region);
        regions.into_iter().all(has)
    }
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

/// The area of a cell in areas of the region in it.
const CELL_AREAS: std::ops::Range<f64> = 0.9..3.2;

/// The lattices a region may be in.
const MOST_MEMBERSHIPS: usize = 2;

/// The members of a lattice that is not grown again from another corner of its first cell.
const LARGE: usize = 64;

/// The area from which a region with two neighbours is begun at, in small pixels: glare on the middle of a 3×3 leaves a
/// ring in which no sticker has more.
const LARGE_STICKER: f64 = 400.0;

/// The number of lattices handed on at most.
const MOST_LATTICES: usize = 24;

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

/// The lattices among flat regions, those whose cells fill most of the picture first.
///
/// A region may be in several: stickers can be in step with tiles behind them by chance, and the tiles are more.
pub fn lattices(regions: &Regions) -> Vec<Lattice> {
    let flats = &regions.flats;
    let neighbours: Vec<Vec<u32>> = (0..flats.len())
        .map(|index| neighbours(regions, index))
        .collect();
    let mut order: Vec<usize> = (0..flats.len())
        .filter(|&index| {
            let fellows = neighbours[index].len();
            fellows >= 3 || fellows == 2 && flats[index].area >= LARGE_STICKER
        })
        .collect();
    // Regions with many fellows about them lie inside a face: start there.
    order.sort_by_key(|&index| std::cmp::Reverse(neighbours[index].len()));
    let mut memberships = Memberships(vec![Vec::new(); flats.len()]);
    let mut found: Vec<(f64, Lattice)> = Vec::new();
    for index in order {
        // The true lattice has more members than one of its diagonals.
        while let Some(lattice) = best_from(regions, &neighbours, index, &memberships) {
            for &member in lattice.members.values() {
                memberships.0[member as usize].push(found.len() as u32);
            }
            found.push((closed_area(flats, &lattice.members), lattice));
        }
    }
    let squares = squares(regions, &neighbours, &memberships);
    found.extend(squares.map(|lattice| (closed_area(flats, &lattice.members), lattice)));
    found.sort_by(|a, b| b.0.total_cmp(&a.0));
    found.truncate(MOST_LATTICES);
    let mut kept: Vec<Lattice> = Vec::new();
    let mut steps: BTreeSet<[u32; 2]> = BTreeSet::new();
    for (_, lattice) in found {
        if !is_repeated(&lattice, &mut steps) {
            kept.push(lattice);
        }
    }
    kept
}

/// The squares of four large regions of which no three are in one lattice already: tiles in step with two or three stickers of
/// a 2×2 are more than its four.
fn squares<'a>(
    regions: &'a Regions,
    neighbours: &'a [Vec<u32>],
    memberships: &'a Memberships,
) -> impl Iterator<Item = Lattice> + 'a {
    let flats = &regions.flats;
    let large = (0..flats.len()).filter(|&index| flats[index].area >= LARGE_STICKER);
    let mut known = BTreeSet::new();
    let corners = large.flat_map(|index| {
        let fellows = &neighbours[index];
        let pairs = fellows.iter().enumerate();
        pairs.flat_map(move |(k, &one)| {
            fellows[k + 1..]
                .iter()
                .map(move |&other| (index, one, other))
        })
    });
    corners.filter_map(move |(index, one, other)| {
        let ([first, second], right, down) = cell(flats, index, one, other)?;
        let here = &flats[index];
        let (x, y) = (here.x + right.0 + down.0, here.y + right.1 + down.1);
        let turn = cross(right, down);
        let reach = STRAY_OF_NEIGHBOURS * turn.sqrt();
        let fourth = regions
            .near(x, y, reach)
            .filter(|&fourth| {
                let ratio = flats[fourth as usize].area / here.area;
                (1.0 / AREA_RATIO..AREA_RATIO).contains(&ratio)
                    && flats[fourth as usize].mismatch(right, down) < MISMATCH
            })
            .map(|fourth| {
                let fellow = &flats[fourth as usize];
                ((fellow.x - x).hypot(fellow.y - y), fourth)
            })
            .filter(|&(stray, _)| stray < reach)
            .min_by(|a, b| a.0.total_cmp(&b.0))?
            .1;
        let four = [index as u32, first, second, fourth];
        let is_known = (0..4).any(|left_out| {
            let mut three = four.iter().enumerate().filter(|&(k, _)| k != left_out);
            memberships.is_known(std::array::from_fn(|_| {
                three.next().map_or(0, |(_, &one)| one)
            }))
        });
        let mut sorted = four;
        sorted.sort_unstable();
        if is_known || !known.insert(sorted) {
            return None;
        }
        let places: [Place; 4] = [(0, 0), (1, 0), (0, 1), (1, 1)];
        on_one_plane(flats, &places.into_iter().zip(four).collect())
    })
}

/// Two regions as those to the right of a third and below it, and the steps there, if the three could be on one cell's corner.
fn cell(flats: &[Flat], index: usize, one: u32, other: u32) -> Option<([u32; 2], Step, Step)> {
    let flat = &flats[index];
    let (right, down) = (
        step(flat, &flats[one as usize]),
        step(flat, &flats[other as usize]),
    );
    let turn = cross(right, down);
    if !CELL_AREAS.contains(&(turn.abs() / flat.area)) {
        return None;
    }
    let (regions, right, down) = if turn > 0.0 {
        ([one, other], right, down)
    } else {
        ([other, one], down, right)
    };
    (flat.mismatch(right, down) <= MISMATCH).then_some((regions, right, down))
}

/// The share of a lattice's steps that another must have for the two to be one.
const REPEATED: f64 = 0.9;

/// Whether nearly all steps from region to region in a lattice are known from larger ones; if not, they are now.
fn is_repeated(lattice: &Lattice, known: &mut BTreeSet<[u32; 2]>) -> bool {
    let steps = lattice
        .members
        .iter()
        .flat_map(|(&(column, row), &region)| {
            [(column + 1, row), (column, row + 1)]
                .into_iter()
                .filter_map(|next| lattice.members.get(&next))
                .map(move |&other| [region.min(other), region.max(other)])
        });
    let steps: Vec<[u32; 2]> = steps.collect();
    let repeated = steps.iter().filter(|step| known.contains(*step)).count();
    let is_repeated = repeated as f64 > REPEATED * steps.len() as f64;
    if !is_repeated {
        known.extend(steps);
    }
    is_repeated
}

/// The lattices each region is in.
struct Memberships(Vec<Vec<u32>>);

impl Memberships {
    /// Whether a region may be in another lattice.
    fn is_free(&self, region: u32) -> bool {
        self.0[region as usize].len() < MOST_MEMBERSHIPS
    }

    /// Whether three regions are in one lattice already.
    fn is_known(&self, regions: [u32; 3]) -> bool {
        let [one, other, third] = regions.map(|region| &self.0[region as usize]);
        one.iter()
            .any(|lattice| other.contains(lattice) && third.contains(lattice))
    }
}

/// How much of the picture the fullest square of a lattice's members covers, its empty cells counted against it.
///
/// Regions met by chance lie in step here and there, stickers side by side.
fn closed_area(flats: &[Flat], members: &Members) -> f64 {
    let side = |pick: fn(&Place) -> i32| {
        let least = members.keys().map(pick).min().unwrap_or(0);
        (
            least,
            members.keys().map(pick).max().unwrap_or(0) - least + 1,
        )
    };
    let ((left, columns), (top, rows)) = (side(|place| place.0), side(|place| place.1));
    let (columns, rows) = (columns as usize, rows as usize);
    let stride = columns + 1;
    // Sums over all cells above and left of each corner: one for a member, one off for an empty cell.
    let mut sums = vec![0_i32; stride * (rows + 1)];
    for row in 0..rows {
        for column in 0..columns {
            let place = (left + column as i32, top + row as i32);
            let cell = if members.contains_key(&place) { 1 } else { -1 };
            sums[(row + 1) * stride + column + 1] =
                cell + sums[row * stride + column + 1] + sums[(row + 1) * stride + column]
                    - sums[row * stride + column];
        }
    }
    let mut most = 0;
    for n in 2..=columns.min(rows).min(17) {
        for row in 0..=rows - n {
            for column in 0..=columns - n {
                let (above, below) = (row * stride + column, (row + n) * stride + column);
                most = most.max(sums[below + n] - sums[above + n] - sums[below] + sums[above]);
            }
        }
    }
    let mut areas: Vec<f64> = members
        .values()
        .map(|&index| flats[index as usize].area)
        .collect();
    let middle = areas.len() / 2;
    let area = *areas.select_nth_unstable_by(middle, f64::total_cmp).1;
    f64::from(most) * area
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
    memberships: &Memberships,
) -> Option<Lattice> {
    let flats = &regions.flats;
    if !memberships.is_free(index as u32) {
        return None;
    }
    let free: Vec<u32> = neighbours[index]
        .iter()
        .copied()
        .filter(|&other| memberships.is_free(other))
        .collect();
    let mut best: Option<Lattice> = None;
    for (k, &one) in free.iter().enumerate() {
        for &other in &free[k + 1..] {
            // The four corners of one cell grow into one lattice, about: the better counts, unless it is large anyway.
            if best
                .as_ref()
                .is_some_and(|best| best.members.len() >= LARGE && best.has_all([one, other]))
            {
                continue;
            }
            let Some((_, right, down)) = cell(flats, index, one, other) else {
                continue;
            };
            if memberships.is_known([index as u32, one, other]) {
                continue;
            }
            let grown = grow(regions, index, right, down, memberships);
            let least = best.as_ref().map_or(4, |best| best.members.len() + 1);
            if grown.len() < least {
                continue;
            }
            best = on_one_plane(flats, &grown)
                .filter(|lattice| lattice.members.len() >= least)
                .or(best);
        }
    }
    best
}

fn step(from: &Flat, to: &Flat) -> Step {
    (to.x - from.x, to.y - from.y)
}

/// Spreads from one region to those in step with it.
fn grow(
    regions: &Regions,
    start: usize,
    right: Step,
    down: Step,
    memberships: &Memberships,
) -> Members {
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
            let ahead = (
                f64::from(dx) * right.0 + f64::from(dy) * down.0,
                f64::from(dx) * right.1 + f64::from(dy) * down.1,
            );
            let (x, y) = (here.x + ahead.0, here.y + ahead.1);
            let reach = STRAY_OF_NEIGHBOURS * ahead.0.hypot(ahead.1).max(turn.sqrt());
            let nearest = regions
                .near(x, y, reach)
                .filter(|other| !used.contains(other) && memberships.is_free(*other))
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
            let met = step(here, fellow);
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

/// The lattice of those members that lie on one plane with the first of them and those about it.
///
/// Spreading may have run on over the rim of a face, onto tiles that are in step by chance: so the plane is fitted
/// to the nearest members first and takes in those farther out as they prove to lie on it.
fn on_one_plane(flats: &[Flat], grown: &Members) -> Option<Lattice> {
    let far = |place: &Place| place.0.abs().max(place.1.abs());
    let farthest = grown.keys().map(far).max()?;
    let mut found: Option<Lattice> = None;
    for radius in 1..=farthest {
        let near = grown.iter().filter(|&(place, &index)| {
            let flat = &flats[index as usize];
            far(place) <= radius
                && found.as_ref().is_none_or(|found| {
                    let (right, down) = found.net.offset_of(*place, Point::new(flat.x, flat.y));
                    right.hypot(down) < STRAY_OF_NEIGHBOURS
                })
        });
        let near: Members = near.map(|(&place, &index)| (place, index)).collect();
        let before = found.as_ref().map_or(3, |found| found.members.len());
        if near.len() <= before {
            continue;
        }
        let whole = PlaneMap::from_rows([[1.0, 0.0, 0.0], [0.0, 1.0, 0.0], [0.0, 0.0, 1.0]]);
        if let Some((plane, members)) = plane_of(flats, &Net::flat(whole), near)
            && members.len() > before
        {
            found = Some(Lattice {
                members,
                net: Net::flat(plane),
            });
        }
    }
    found
}
