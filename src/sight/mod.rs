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
mod search;
mod shrink;
#[cfg(test)]
mod tests;
mod trace;
mod view;

pub use photo::Photo;
pub use trace::{Stage, Trace};

use crate::colour::Linear;
use crate::geometry::{InPhoto, Point, Quad};
use evidence::ORDERS;
use search::{Effort, Scene};

/// Looks for the faces of a cube in a photo, and looks again more closely where that could show more.
pub fn look(trace: &mut Trace, photo: &Photo) -> SeenPhoto {
    search::search(trace, photo, Effort::Thorough, &ORDERS)
}

/// Looks for the faces of a cube of a known size: what other photos tell makes up for what this one does not show.
pub fn look_for(trace: &mut Trace, photo: &Photo, n: usize) -> SeenPhoto {
    search::search(trace, photo, Effort::Thorough, &(n..=n))
}

/// Looks for the faces of a cube in a live frame: a missed one costs nothing, the next follows soon.
pub fn glance(trace: &mut Trace, photo: &Photo) -> SeenPhoto {
    search::search(trace, photo, Effort::Quick, &ORDERS)
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

impl SeenPhoto {
    /// Gives corners in a photo this many times as large: that of which the one looked at was decoded smaller.
    pub fn enlarge(&mut self, factor: f64) {
        for face in self.views.iter_mut().flat_map(|view| &mut view.faces) {
            for corner in &mut face.corners_in_photo.0 {
                *corner = Point::new(corner.x * factor, corner.y * factor);
            }
        }
    }
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
