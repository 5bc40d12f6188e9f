//! A lattice to the square of stickers in it that is a whole face: how many along a side, and which.

use super::bend::{Bend, Firmness};
use super::evidence::{Evidence, Square};
use super::lattice::Lattice;
use super::net::{Members, Net, Place, square};
use super::refine::{Gaps, refine};
use super::search::Scene;
use crate::geometry::{InFace, InPhoto, PlaneMap, Point, Quad};

/// A square of n×n cells on a net.
#[derive(Clone, Debug)]
pub struct Extent {
    /// Stickers along a side.
    pub n: usize,
    /// Where the cells are.
    net: Net,
    /// The first cell's place on the net.
    first: Place,
    /// How much more the cells inside look like stickers than not, summed.
    pub weight: f64,
    /// The mean evidence of the cells just outside, side by side as its corners run; none beyond the picture.
    pub outside: [Option<f64>; 4],
    /// The mean evidence of the weakest of its outermost rows and columns.
    pub weakest_line: f64,
    /// How alike in size the regions on four cells are, 0..=1: one that is half a sticker, cut off by glare, lies askew
    /// and takes the whole square with it. Larger squares do not hang on one region.
    pub evenness: f64,
}

impl Extent {
    /// How much its cells look like stickers on the small picture, 0..=1.
    pub fn likeness(&self) -> f64 {
        (self.weight / (self.n * self.n) as f64).clamp(0.0, 1.0)
    }

    /// The point of the small picture at an offset from the middle of a sticker, in sticker sides.
    pub fn at(&self, column: usize, row: usize, right: f64, down: f64) -> Point<InPhoto> {
        let cell = (self.first.0 + column as i32, self.first.1 + row as i32);
        self.net.at(cell, right, down)
    }

    /// The same face on the gap lines of the full-size photo, and how well these fit.
    pub fn refined(&self, scene: &Scene, firmness: Firmness) -> (Self, Gaps) {
        let (net, gaps) = refine(scene, &self.net, self.first, self.n as i32, firmness);
        let refined = Self {
            net,
            ..self.clone()
        };
        (refined, gaps)
    }

    /// The face's corners in the small picture.
    pub fn corners(&self) -> Quad<InPhoto> {
        let last = self.n - 1;
        Quad([
            self.at(0, 0, -0.5, -0.5),
            self.at(last, 0, 0.5, -0.5),
            self.at(last, last, 0.5, 0.5),
            self.at(0, last, -0.5, 0.5),
        ])
    }
}

/// How far beyond the outermost regions cells are looked at.
const BEYOND: i32 = 2;

/// The number of squares on a lattice that are fitted anew.
const REFITTED: usize = 4;

/// The cells of one lattice that are fitted, at most but for the last square: of a wall of small tiles there are large
/// squares without end.
const MOST_FITTED: usize = 1000;

/// The least weight of a square that is fitted, in weights of the heaviest that was: lighter ones end up there too, or
/// as a part of it.
const WORTH_FITTING: f64 = 0.6;

/// The least weight of a cell of a square that is fitted.
const PROMISING: f64 = 0.2;

/// What a lattice has come to.
pub struct Extents {
    /// The squares that could be whole faces, heaviest first, each of another place or size.
    pub found: Vec<Extent>,
    /// Whether one that looked like a face could not be fitted: a look from nearer could show it better.
    pub is_unclear: bool,
}

/// The squares on a lattice that could be whole faces.
///
/// A stray member drags the plane of the whole lattice along; so each of the best squares is fitted anew to its own
/// members and weighed again.
pub fn extents(scene: &Scene, lattice: &Lattice) -> Extents {
    let places = lattice.members.keys();
    let (first, last) = places.fold(
        ((i32::MAX, i32::MAX), (i32::MIN, i32::MIN)),
        |span, place| {
            (
                (span.0.0.min(place.0), span.0.1.min(place.1)),
                (span.1.0.max(place.0), span.1.1.max(place.1)),
            )
        },
    );
    let first = (first.0 - BEYOND, first.1 - BEYOND);
    let last = (last.0 + BEYOND, last.1 + BEYOND);
    let evidence = Evidence::gather(&scene.edges, &lattice.net, &lattice.members, first, last);
    let mut found: Vec<Extent> = Vec::new();
    let mut is_unclear = false;
    let mut fitted = 0;
    for candidate in evidence
        .squares(scene.orders.clone())
        .into_iter()
        .take(REFITTED)
    {
        let is_known = |n: usize, first: Place| {
            let mut known = found.iter();
            known.any(|known| known.n == n && known.first == first)
        };
        let heaviest = found.iter().map(|known| known.weight).fold(0.0, f64::max);
        if is_known(candidate.n, candidate.first)
            || candidate.weight < WORTH_FITTING * heaviest
            || candidate.weight < PROMISING * (candidate.n * candidate.n) as f64
            || fitted > MOST_FITTED
        {
            continue;
        }
        let Some(extent) = settled(scene, &lattice.net, candidate, &mut fitted) else {
            is_unclear = true;
            continue;
        };
        if !is_part_of_more(&extent, &lattice.members) && !is_known(extent.n, extent.first) {
            found.push(extent);
        }
    }
    found.sort_by(|a, b| b.weight.total_cmp(&a.weight));
    Extents { found, is_unclear }
}

/// The face that should lie on a quad of the small picture, moved onto the gaps that are met there.
pub fn on_quad(scene: &Scene, quad: &Quad<InPhoto>, n: usize) -> Option<Extent> {
    let middles: PlaneMap<InFace, InFace> =
        PlaneMap::from_rows([[1.0, 0.0, 0.5], [0.0, 1.0, 0.5], [0.0, 0.0, 1.0]]);
    let plane = middles.then(&PlaneMap::between(&Quad::face(n), quad)?);
    let mut net = Net::flat(plane);
    net.bend = Bend::none((0, 0), n);
    for _ in 0..2 {
        net = refine(scene, &net, (0, 0), n as i32, Firmness::Foretold).0;
    }
    let square = Square {
        first: (0, 0),
        n,
        weight: 0.0,
    };
    let last = (n - 1) as i32 + BEYOND;
    let members = net.members(&scene.regions, (0, 0), n as i32);
    let evidence = Evidence::gather(
        &scene.edges,
        &net,
        &members,
        (-BEYOND, -BEYOND),
        (last, last),
    );
    Some(Extent {
        n,
        first: (0, 0),
        weight: evidence.weight(&square),
        outside: evidence.around(&square),
        weakest_line: evidence.weakest_line(&square),
        evenness: 1.0,
        net,
    })
}

/// How alike the regions on a square of four are in size; seen from near and at a slant they differ by a third.
fn evenness(scene: &Scene, at: &Square, members: &Members) -> f64 {
    if at.n > 2 {
        return 1.0;
    }
    let areas = square(at.first, 2).map(|place| {
        let area = |&index: &u32| scene.regions.flats[index as usize].area;
        members.get(&place).map_or(0.0, area)
    });
    let (least, most) = areas.fold((f64::MAX, 0.0_f64), |(least, most), area| {
        (area.min(least), area.max(most))
    });
    (1.6 * least / most.max(1.0)).clamp(0.3, 1.0)
}

/// Whether most regions of a lattice lie outside a square of four: so they do on a chart of colours, of which a blur
/// leaves but four to be seen.
fn is_part_of_more(extent: &Extent, members: &Members) -> bool {
    let inside = square(extent.first, extent.n as i32).filter(|place| members.contains_key(place));
    extent.n == 2 && 2 * inside.count() < members.len()
}

/// Fits a square to its members and moves it to where it weighs most, until it stays; adds the cells fitted to a count.
fn settled(scene: &Scene, net: &Net, mut square: Square, fitted: &mut usize) -> Option<Extent> {
    let mut net = net.clone();
    for _ in 0..5 {
        let n = square.n as i32;
        *fitted += square.n * square.n;
        net = net.fitted(&scene.regions, square.first, n)?;
        let first = (square.first.0 - BEYOND, square.first.1 - BEYOND);
        let last = (
            square.first.0 + n - 1 + BEYOND,
            square.first.1 + n - 1 + BEYOND,
        );
        let members = net.members(&scene.regions, first, n + 2 * BEYOND);
        let evidence = Evidence::gather(&scene.edges, &net, &members, first, last);
        let moved = evidence.squares(scene.orders.clone()).into_iter().next()?;
        let stays = moved.first == square.first && moved.n == square.n;
        square = moved;
        if stays {
            return Some(Extent {
                n: square.n,
                first: square.first,
                weight: square.weight,
                outside: evidence.around(&square),
                weakest_line: evidence.weakest_line(&square),
                evenness: evenness(scene, &square, &members),
                net,
            });
        }
    }
    None
}
