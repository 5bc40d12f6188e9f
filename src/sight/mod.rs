//! One photo to the cube faces seen in it, each an n×n grid of colour patches.
//!
//! It has never heard of a cube's pieces, of colour words or of files.

mod bend;
mod evidence;
mod extent;
mod flats;
mod join;
mod lattice;
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
use crate::geometry::{InPhoto, Point, Quad};

/// Looks for the faces of a cube in a photo.
pub fn look(trace: &mut Trace, photo: &Photo) -> SeenPhoto {
    let small = trace.stage("shrink", || shrink::shrink(photo));
    let edges = trace.stage("edges", || shrink::edges(&small));
    trace.picture("edges", || paint::edges(&edges));
    let flats = trace.stage("flats", || flats::flats(&edges));
    trace.picture("flats", || paint::flats(&small, &flats));
    let regions = lattice::Regions::new(flats);
    let lattices = trace.stage("lattices", || lattice::lattices(&regions));
    trace.picture("lattices", || {
        paint::lattices(&small, &regions.flats, &lattices)
    });
    let faces: Vec<extent::Extent> = trace.stage("extents", || {
        lattices
            .iter()
            .filter_map(|lattice| {
                extent::extents(&edges, &regions, lattice)
                    .into_iter()
                    .next()
            })
            .filter(|extent| extent.outside < 0.1 && extent.sureness() > 0.5)
            .collect()
    });
    let mut faces: Vec<extent::Extent> = trace.stage("refine", || {
        faces
            .iter()
            .map(|face| face.refined(photo, small.factor, &regions))
            .collect()
    });
    let groups = trace.stage("joins", || view::groups(&edges, &regions, &mut faces));
    let views = trace.stage("samples", || {
        let mut seen: Vec<Option<SeenFace>> = vec![None; faces.len()];
        let view = |group: view::Group| {
            let side = |(face, side): (usize, Side)| {
                let turns = faces[group.faces[face]].top_left() as Side;
                (face, (side + 4 - turns) % 4)
            };
            let turned = |join: &Join| Join {
                one: side(join.one),
                other: side(join.other),
            };
            let seen_faces = group.faces.iter().map(|&index| {
                seen[index]
                    .get_or_insert_with(|| seen_face(photo, &small, &faces[index]))
                    .clone()
            });
            View {
                faces: seen_faces.collect(),
                joins: group.joins.iter().map(turned).collect(),
            }
        };
        groups.into_iter().map(view).collect()
    });
    SeenPhoto { views }
}

/// Samples a face, its first corner the one nearest to the photo's top left.
fn seen_face(photo: &Photo, small: &shrink::SmallPicture, extent: &extent::Extent) -> SeenFace {
    let factor = small.factor as f64;
    let enlarged = |point: Point<InPhoto>| Point::new(point.x * factor, point.y * factor);
    let corners = extent.corners().0.map(enlarged);
    let turns = extent.top_left();
    let last = extent.n - 1;
    let at = |column: usize, row: usize, right: f64, down: f64| {
        // A quarter turn of the reading: corner `turns` of the net becomes the first.
        let (column, row, right, down) = match turns {
            0 => (column, row, right, down),
            1 => (last - row, column, -down, right),
            2 => (last - column, last - row, -right, -down),
            _ => (row, last - column, down, -right),
        };
        enlarged(extent.at(column, row, right, down))
    };
    SeenFace {
        n: extent.n,
        corners_in_photo: Quad(std::array::from_fn(|k| corners[(turns + k) % 4])),
        patches: sample::sample(photo, extent.n, at),
        sureness: extent.sureness() as f32,
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
