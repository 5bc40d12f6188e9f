//! One photo to the cube faces seen in it, each an n×n grid of colour patches.
//!
//! It has never heard of a cube's pieces, of colour words or of files.

mod bend;
mod evidence;
mod extent;
mod face;
mod flats;
mod join;
mod lattice;
mod mirror;
mod net;
mod paint;
mod photo;
mod refine;
mod sample;
mod shrink;
#[cfg(test)]
mod tests;
mod trace;
mod view;

pub use photo::Photo;
pub use trace::{Stage, Trace};

use crate::colour::Linear;
use crate::geometry::{InPhoto, Quad};
use extent::{Extent, extents};
use face::Found;
use lattice::Regions;
use shrink::{EdgeMap, SmallPicture};
use view::{Group, groups};

/// The squares of cells looked at closely, at most.
const MOST_CANDIDATES: usize = 10;

/// A photo and what the search has made of it.
struct Scene<'a> {
    photo: &'a Photo,
    small: SmallPicture,
    edges: EdgeMap,
    regions: Regions,
}

/// Looks for the faces of a cube in a photo.
pub fn look(trace: &mut Trace, photo: &Photo) -> SeenPhoto {
    let small = trace.stage("shrink", || shrink::shrink(photo));
    let edges = trace.stage("edges", || shrink::edges(&small));
    trace.picture("edges", || paint::edges(&edges));
    let flats = trace.stage("flats", || flats::flats(&edges));
    trace.picture("flats", || paint::flats(&small, &flats));
    let scene = Scene {
        photo,
        small,
        edges,
        regions: Regions::new(flats),
    };
    let lattices = trace.stage("lattices", || lattice::lattices(&scene.regions));
    trace.picture("lattices", || {
        paint::lattices(&scene.small, &scene.regions.flats, &lattices)
    });
    let extents = trace.stage("extents", || {
        let best = |lattice| extents(&scene, lattice).into_iter().next();
        let mut extents: Vec<Extent> = lattices.iter().filter_map(best).collect();
        let size = |extent: &Extent| extent.likeness() * extent.corners().area();
        extents.sort_by(|a, b| size(b).total_cmp(&size(a)));
        extents.truncate(MOST_CANDIDATES);
        extents
    });
    let mut faces: Vec<Found> = trace.stage("faces", || {
        extents
            .iter()
            .filter_map(|extent| Found::look(&scene, extent))
            .collect()
    });
    let groups = trace.stage("joins", || groups(&scene, &mut faces));
    let factor = scene.small.factor;
    SeenPhoto {
        views: groups
            .iter()
            .map(|group| view(&faces, group, factor))
            .collect(),
    }
}

/// The view of a group of faces, its joins by the sides as others see them.
fn view(faces: &[Found], group: &Group, factor: usize) -> View {
    let side = |(face, side): (usize, Side)| {
        let turns = faces[group.faces[face]].extent.top_left() as Side;
        (face, (side + 4 - turns) % 4)
    };
    let joins = group.joins.iter().map(|join| Join {
        one: side(join.one),
        other: side(join.other),
    });
    View {
        faces: group
            .faces
            .iter()
            .map(|&face| faces[face].seen(factor))
            .collect(),
        joins: joins.collect(),
    }
}

/// What one sticker looks like in a photo: a colour with its spread, not yet a label.
#[derive(Clone, Debug)]
pub struct Patch {
    /// The robust mean of the cell's inner part in linear light, highlights left out.
    pub linear: Linear,
    /// The spread of the pixels about it: standard deviation per channel, linear light.
    pub spread: [f32; 3],
    /// The share of the inner part that is highlight or burnt out, 0..=1. At 1 the patch has no colour.
    pub glare: f32,
    /// The share of the inner part at the sensor's limit, channel by channel: where it is high the true value is
    /// at least the one given.
    pub clipped: [f32; 3],
    /// The share of the inner part that agrees with the mean, 0..=1; low when something covers the cell.
    pub evenness: f32,
    /// The number of pixels the mean is made of.
    pub pixels: u32,
}

/// One face of a cube as seen in a photo.
#[derive(Clone, Debug)]
pub struct SeenFace {
    /// Stickers along a side.
    pub n: usize,
    /// Its outer corners, clockwise from the top left one as seen in the photo.
    pub corners_in_photo: Quad<InPhoto>,
    /// n×n patches, row-major; row 0 runs from corner 0 to corner 1.
    pub patches: Vec<Patch>,
    /// How sure it is that this grid is a face and complete, 0..=1.
    pub sureness: f32,
}

/// A side of a seen face, clockwise: side `k` runs from corner `k` to corner `k + 1`.
pub type Side = u8;

/// Two faces of one view that share an edge of the cube.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Join {
    /// The first face, as an index into [`View::faces`], and its side.
    pub one: (usize, Side),
    /// The second face and its side.
    pub other: (usize, Side),
}

/// One way of understanding a photo: a single face, or up to three that meet in a corner of the cube.
#[derive(Clone, Debug)]
pub struct View {
    /// The faces, the surest first.
    pub faces: Vec<SeenFace>,
    /// Which of them share an edge.
    pub joins: Vec<Join>,
}

/// A photo after looking: the ways of understanding it, best first; a later stage may refuse one and take the
/// next.
#[derive(Clone, Debug)]
pub struct SeenPhoto {
    /// The views, best first; empty when no face was found.
    pub views: Vec<View>,
}

/// The face whose outer corners are known, clockwise from the top left one, sampled as a found one would be.
///
/// None when three corners lie on a line.
pub fn face_at(photo: &Photo, corners_in_photo: Quad<InPhoto>, n: usize) -> Option<SeenFace> {
    let photo_from_face = crate::geometry::PlaneMap::between(&Quad::face(n), &corners_in_photo)?;
    let at = |column: usize, row: usize, right: f64, down: f64| {
        photo_from_face.at(column as f64 + 0.5 + right, row as f64 + 0.5 + down)
    };
    Some(SeenFace {
        n,
        corners_in_photo,
        patches: sample::sample(photo, n, at),
        sureness: 1.0,
    })
}
