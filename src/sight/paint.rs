//! Pictures of what the stages found, for the trace.

use super::SeenPhoto;
use super::flats::Flat;
use super::lattice::Lattice;
use super::shrink::{EdgeMap, SmallPicture};
use crate::geometry::{PlaneMap, Quad};
use image::{Rgb, RgbImage};
use imageproc::drawing::{draw_filled_circle_mut, draw_hollow_circle_mut, draw_line_segment_mut};
use palette::Srgb;

/// The small picture as it is searched.
pub fn small(small: &SmallPicture) -> RgbImage {
    RgbImage::from_fn(small.width as u32, small.height as u32, |x, y| {
        let at = y as usize * small.width + x as usize;
        Rgb(std::array::from_fn(|k| small.planes[k][at]))
    })
}

/// The edge map, brightened.
pub fn edges(edges: &EdgeMap) -> RgbImage {
    RgbImage::from_fn(edges.width as u32, edges.height as u32, |x, y| {
        let strength = edges.strength[y as usize * edges.width + x as usize];
        Rgb([strength.saturating_mul(3); 3])
    })
}

/// The flat regions over the small picture: each as its centre and the ellipse of its moments.
pub fn flats(picture: &SmallPicture, flats: &[Flat]) -> RgbImage {
    let mut image = small(picture);
    for flat in flats {
        let colour = Rgb([255, 0, 255]);
        let [xx, xy, yy] = flat.moments;
        let turn = 0.5 * (2.0 * xy).atan2(xx - yy);
        let swing = ((xx - yy) / 2.0).hypot(xy);
        let long = (f64::midpoint(xx, yy) + swing).sqrt() * 1.5;
        let short = (f64::midpoint(xx, yy) - swing).max(0.0).sqrt() * 1.5;
        let point = |step: i32| {
            let angle = f64::from(step) * std::f64::consts::TAU / 16.0;
            let (u, v) = (long * angle.cos(), short * angle.sin());
            (
                (flat.x + u * turn.cos() - v * turn.sin()) as f32,
                (flat.y + u * turn.sin() + v * turn.cos()) as f32,
            )
        };
        for step in 0..16 {
            draw_line_segment_mut(&mut image, point(step), point(step + 1), colour);
        }
        draw_hollow_circle_mut(&mut image, (flat.x as i32, flat.y as i32), 1, colour);
    }
    image
}

/// The lattices over the small picture: lines between members that are neighbours, a colour for each lattice.
pub fn lattices(picture: &SmallPicture, flats: &[Flat], lattices: &[Lattice]) -> RgbImage {
    const COLOURS: [[u8; 3]; 6] = [
        [255, 0, 255],
        [0, 255, 255],
        [255, 128, 0],
        [128, 255, 0],
        [255, 255, 255],
        [128, 128, 255],
    ];
    let mut image = small(picture);
    for (lattice, colour) in lattices.iter().zip(COLOURS.iter().cycle()) {
        let at = |index: u32| {
            (
                flats[index as usize].x as f32,
                flats[index as usize].y as f32,
            )
        };
        for (&(column, row), &index) in &lattice.members {
            for next in [(column + 1, row), (column, row + 1)] {
                if let Some(&other) = lattice.members.get(&next) {
                    draw_line_segment_mut(&mut image, at(index), at(other), Rgb(*colour));
                }
            }
        }
    }
    image
}

/// The faces of the first view over the small picture: the outline, its first corner marked, and in each cell a spot of
/// the colour that was sampled there, ringed in red where most of it was highlight or something else.
pub fn faces(picture: &SmallPicture, seen: &SeenPhoto) -> RgbImage {
    const OUTLINE: Rgb<u8> = Rgb([255, 0, 255]);
    let mut image = small(picture);
    for face in seen.views.first().iter().flat_map(|view| &view.faces) {
        let Some(photo_from_face) = PlaneMap::between(&Quad::face(face.n), &face.corners_in_photo)
        else {
            continue;
        };
        let at = |x: f64, y: f64| {
            let point = picture.in_small(photo_from_face.at(x, y));
            (point.x as f32, point.y as f32)
        };
        let side = face.n as f64;
        let corners = [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)];
        for (k, corner) in corners.into_iter().enumerate() {
            let next = corners[(k + 1) % 4];
            draw_line_segment_mut(
                &mut image,
                at(corner.0, corner.1),
                at(next.0, next.1),
                OUTLINE,
            );
        }
        let first = at(0.0, 0.0);
        draw_filled_circle_mut(&mut image, (first.0 as i32, first.1 as i32), 3, OUTLINE);
        let (one, other) = (at(0.0, 0.0), at(1.0, 0.0));
        let radius = ((other.0 - one.0).hypot(other.1 - one.1) / 5.0).max(1.0) as i32;
        for (cell, patch) in face.patches.iter().enumerate() {
            let (row, col) = (cell / face.n, cell % face.n);
            let middle = at(col as f64 + 0.5, row as f64 + 0.5);
            let middle = (middle.0 as i32, middle.1 as i32);
            let shown: Srgb<u8> = Srgb::<f32>::from_linear(patch.linear).into_format();
            let is_clear = patch.glare < 0.5 && patch.evenness > 0.5;
            let ring = if is_clear {
                Rgb([0, 0, 0])
            } else {
                Rgb([255, 0, 0])
            };
            draw_filled_circle_mut(&mut image, middle, radius + 1, ring);
            let fill = Rgb([shown.red, shown.green, shown.blue]);
            draw_filled_circle_mut(&mut image, middle, radius, fill);
        }
    }
    image
}
