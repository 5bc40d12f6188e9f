//! A face in a photo to a small square picture of it, straightened, with nothing around it.
//!
//! It is all of a photo that enters the report: what stands beside the cube, and when and where it was taken, stays out.

use crate::geometry::{InPhoto, PlaneMap, Point, Quad};
use crate::sight::{Photo, SeenFace};
use anyhow::Result;
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use image::codecs::jpeg::JpegEncoder;
use image::{ExtendedColorType, RgbImage};
use serde::{Deserialize, Serialize};

/// A face cut out of a photo.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct FacePicture {
    /// The JPEG in base64.
    pub jpeg: String,
}

/// The side of the picture in pixels: sharp at the size at which it is printed, for any face.
const SIDE_PX: u32 = 168;

/// The share of a sticker shown around the face.
const RIM: f64 = 0.12;

/// JPEG quality, 0..=100: the picture is for looking at.
const QUALITY: u8 = 82;

impl FacePicture {
    /// Cuts a face out, its first corner at the top left.
    ///
    /// # Errors
    ///
    /// If it cannot be written as JPEG.
    pub fn of(photo: &Photo, face: &SeenFace) -> Result<Option<Self>> {
        let Some(map) = PlaneMap::between(&Quad::face(face.n), &face.corners_in_photo) else {
            return Ok(None);
        };
        let cut = cut(photo, face.n, &map);
        let mut bytes = Vec::new();
        JpegEncoder::new_with_quality(&mut bytes, QUALITY).encode(
            cut.as_raw(),
            SIDE_PX,
            SIDE_PX,
            ExtendedColorType::Rgb8,
        )?;
        Ok(Some(Self {
            jpeg: STANDARD.encode(bytes),
        }))
    }

    /// How much of the picture's side lies before the first line of the face, 0..1.
    pub fn rim(n: usize) -> f64 {
        RIM / (n as f64 + 2.0 * RIM)
    }
}

fn cut(
    photo: &Photo,
    n: usize,
    photo_from_face: &PlaneMap<crate::geometry::InFace, InPhoto>,
) -> RgbImage {
    let scale = (n as f64 + 2.0 * RIM) / f64::from(SIDE_PX);
    // Where the photo is much finer than the picture, each pixel is the mean of some of the photo's.
    let [right, down] = photo_from_face.steps(n as f64 / 2.0, n as f64 / 2.0);
    let finer = scale * right.0.hypot(right.1).max(down.0.hypot(down.1));
    let across = (finer.round() as u32).clamp(1, 3);
    // Within a pixel of the picture the map is as good as straight: it is asked for the pixels' corners only.
    let place = |at: u32| f64::from(at) * scale - RIM;
    let lines = (0..=SIDE_PX)
        .flat_map(|row| (0..=SIDE_PX).map(move |column| (column, row)))
        .map(|(column, row)| photo_from_face.at(place(column), place(row)));
    let corners: Vec<Point<InPhoto>> = lines.collect();
    let corner = |column: u32, row: u32| corners[(row * (SIDE_PX + 1) + column) as usize];
    let share = |part: u32| (f64::from(part) + 0.5) / f64::from(across);
    RgbImage::from_fn(SIDE_PX, SIDE_PX, |column, row| {
        let start = corner(column, row);
        let (right, below) = (corner(column + 1, row), corner(column, row + 1));
        let mut sum = [0_u32; 3];
        for j in (0..across).map(share) {
            for i in (0..across).map(share) {
                let x = start.x + i * (right.x - start.x) + j * (below.x - start.x);
                let y = start.y + i * (right.y - start.y) + j * (below.y - start.y);
                // Cut off towards zero: beside the photo its edge is taken anyway.
                for (sum, value) in sum.iter_mut().zip(photo.pixel(x as i32, y as i32)) {
                    *sum += u32::from(value);
                }
            }
        }
        image::Rgb(sum.map(|value| (value / (across * across)) as u8))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A red face on a green table: the picture shows red, and hardly anything of the table.
    #[test]
    fn only_the_face_is_cut_out() {
        let corners = [(100.0, 60.0), (220.0, 80.0), (200.0, 200.0), (80.0, 180.0)];
        let quad = Quad(corners.map(|(x, y)| Point::new(x, y)));
        let back = PlaneMap::between(&quad, &Quad::face(3)).unwrap();
        let picture = RgbImage::from_fn(320, 240, |column, row| {
            let at = back.at(f64::from(column) + 0.5, f64::from(row) + 0.5);
            let is_inside = (0.0..3.0).contains(&at.x) && (0.0..3.0).contains(&at.y);
            image::Rgb(if is_inside {
                [200, 20, 20]
            } else {
                [20, 200, 20]
            })
        });
        let photo = Photo::from(picture);
        let face = crate::sight::face_at(&photo, quad, 3).unwrap();
        let shown = FacePicture::of(&photo, &face).unwrap().unwrap();
        let bytes = STANDARD.decode(shown.jpeg).unwrap();
        let shown = image::load_from_memory(&bytes).unwrap().to_rgb8();
        let red = shown.pixels().filter(|pixel| pixel.0[0] > 128).count();
        let share = red as f64 / f64::from(SIDE_PX * SIDE_PX);
        // The rim is 0.12 stickers of 3.24 on each side: (3 / 3.24)² is inside.
        assert!((0.82..0.90).contains(&share), "{share}");
    }
}
