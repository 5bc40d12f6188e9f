//! Seen photos to a reading.

use super::reading::{FaceInPhoto, Outcome, PhotoReading, Reading};
use crate::sight::SeenPhoto;

/// A photo that was looked at.
#[derive(Clone, Copy, Debug)]
pub struct Shown<'a> {
    /// Its name.
    pub path: &'a str,
    /// What was seen in it.
    pub photo: &'a SeenPhoto,
}

/// Reads the cube shown in photos: in any order and any rotation, one face or several in each.
pub fn read(shown: &[Shown]) -> Reading {
    let photos: Vec<PhotoReading> = shown.iter().map(photo_reading).collect();
    let orders = shown.iter().filter_map(|shown| {
        let view = shown.photo.views.first()?;
        Some(view.faces.first()?.n)
    });
    let problem = photos
        .iter()
        .any(|photo| photo.problem.is_none())
        .then(|| "the faces seen could not be put together".to_owned());
    Reading {
        n: orders.max(),
        outcome: Outcome::Unreadable,
        confidence: 0.0,
        faces: None,
        photos,
        doubts: Vec::new(),
        examination: None,
        problem,
    }
}

fn photo_reading(shown: &Shown) -> PhotoReading {
    let view = shown.photo.views.first();
    let faces: Vec<FaceInPhoto> = view
        .iter()
        .flat_map(|view| &view.faces)
        .map(|face| FaceInPhoto {
            face: None,
            corners: face.corners_in_photo,
        })
        .collect();
    let problem = faces.is_empty().then(|| {
        "no face of a cube was found; show one whole face, larger and sharp, or three that meet in a corner"
            .to_owned()
    });
    PhotoReading {
        path: shown.path.to_owned(),
        faces,
        problem,
    }
}
