//! Photos with known faces, bent: what a bulging cube, a wide lens and layers out of line leave to be found.

use crate::finding::{SAME, apart};
use crate::photos::sets;
use image::{Rgb, RgbImage};
use sixfold::geometry::{InPhoto, PlaneMap, Point, Quad};
use sixfold::sight::{Photo, Trace, look};
use std::path::Path;

/// A way of bending a picture: where in the straight picture a point of the bent one comes from.
type Warp = Box<dyn Fn(Point<InPhoto>) -> Point<InPhoto>>;

/// What is done to a picture with one face of a cube.
struct Bending {
    name: &'static str,
    warp: fn(&RgbImage, &Quad<InPhoto>, usize) -> Warp,
    /// How many of the faces are found: the right size, and corners no farther off than for the same face seen badly.
    /// Of the faces that bulge much half are not, and given with a row too few or corners too far off: what is wrong
    /// today, and known.
    found: usize,
}

const BENDINGS: [Bending; 7] = [
    Bending {
        name: "straight",
        warp: |_, _, _| Box::new(|point| point),
        found: 24,
    },
    Bending {
        name: "wide lens",
        warp: |picture, _, _| lens(picture, 0.1),
        found: 24,
    },
    Bending {
        name: "widest lens",
        warp: |picture, _, _| lens(picture, 0.2),
        found: 24,
    },
    Bending {
        name: "bulging",
        warp: |_, quad, _| bulge(quad, 0.04),
        found: 21,
    },
    Bending {
        name: "bulging much",
        warp: |_, quad, _| bulge(quad, 0.08),
        found: 11,
    },
    Bending {
        name: "layers 1.5°",
        warp: |_, quad, n| layers(quad, n, 0.013),
        found: 24,
    },
    Bending {
        name: "layers 3°",
        warp: |_, quad, n| layers(quad, n, 0.026),
        found: 23,
    },
];

/// Barrel distortion: at the picture's corner a point comes from this much farther out, in half diagonals.
fn lens(picture: &RgbImage, strength: f64) -> Warp {
    let (x, y) = (
        f64::from(picture.width()) / 2.0,
        f64::from(picture.height()) / 2.0,
    );
    let half = x.hypot(y);
    Box::new(move |point| {
        let (dx, dy) = (point.x - x, point.y - y);
        let far = dx.hypot(dy) / half;
        // The corner of the picture stays where it is, so that nothing is missing.
        let grown = (1.0 + strength * far * far) / (1.0 + strength);
        Point::new(x + dx * grown, y + dy * grown)
    })
}

/// The middle of the face swells while its rim stays where it is: cells half way out move outwards by this share of
/// half a side.
fn bulge(quad: &Quad<InPhoto>, strength: f64) -> Warp {
    on_face(quad, move |x, y| {
        let (u, v) = (2.0 * x - 1.0, 2.0 * y - 1.0);
        if u.abs() >= 1.0 || v.abs() >= 1.0 {
            return (x, y);
        }
        // Greatest at half way: 0.5 · 0.75² · 3.6 is about 1.
        let shrunk = 1.0 - 3.6 * strength * (1.0 - u * u) * (1.0 - v * v);
        (
            f64::midpoint(1.0, shrunk * u),
            f64::midpoint(1.0, shrunk * v),
        )
    })
}

/// Every other row of stickers shifted along itself by this share of the face's side, as a turned layer is.
fn layers(quad: &Quad<InPhoto>, n: usize, shift: f64) -> Warp {
    let n = n as f64;
    on_face(quad, move |x, y| {
        // What is beside the cube goes along, the farther the less.
        let fading = (1.5 - (x - 0.5).abs()).clamp(0.0, 1.0);
        let is_turned = (0.0..1.0).contains(&y) && ((y * n) as i32) % 2 == 0;
        (if is_turned { x - shift * fading } else { x }, y)
    })
}

/// A bending given in the face's own frame, its side 1.
fn on_face(quad: &Quad<InPhoto>, bent: impl Fn(f64, f64) -> (f64, f64) + 'static) -> Warp {
    let photo_from_face = PlaneMap::between(&Quad::face(1), quad).unwrap();
    let face_from_photo = photo_from_face.inverse().unwrap();
    Box::new(move |point| {
        let at = face_from_photo.map(point);
        // Far off the face the map may leap: nothing is bent there.
        if (at.x - 0.5).abs() > 1.5 || (at.y - 0.5).abs() > 1.5 {
            return point;
        }
        let (x, y) = bent(at.x, at.y);
        photo_from_face.at(x, y)
    })
}

/// The bent picture, mixed from the four nearest pixels.
fn bent(picture: &RgbImage, warp: &Warp) -> RgbImage {
    RgbImage::from_fn(picture.width(), picture.height(), |column, row| {
        let from = warp(Point::new(f64::from(column) + 0.5, f64::from(row) + 0.5));
        let (x, y) = (
            (from.x - 0.5).clamp(0.0, f64::from(picture.width()) - 1.001),
            (from.y - 0.5).clamp(0.0, f64::from(picture.height()) - 1.001),
        );
        let (right, down) = (x.fract(), y.fract());
        let at = |dx: u32, dy: u32| picture.get_pixel(x as u32 + dx, y as u32 + dy).0;
        let mixed = |dy: u32, k: usize| {
            f64::from(at(0, dy)[k]) * (1.0 - right) + f64::from(at(1, dy)[k]) * right
        };
        Rgb(std::array::from_fn(|k| {
            let (above, below) = (mixed(0, k), mixed(1, k));
            (above * (1.0 - down) + below * down).round() as u8
        }))
    })
}

/// Where a point of the straight picture goes.
fn forth(warp: &Warp, point: Point<InPhoto>) -> Point<InPhoto> {
    (0..30).fold(point, |guess, _| {
        let from = warp(guess);
        Point::new(
            guess.x + 0.8 * (point.x - from.x),
            guess.y + 0.8 * (point.y - from.y),
        )
    })
}

/// One photo of every cube photographed face by face, bent in every way.
#[test]
fn bent_faces_are_found_where_they_are() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/corpus/warped");
    std::fs::create_dir_all(&folder).unwrap();
    let mut photos = Vec::new();
    for set in sets().iter().filter(|set| set.name.starts_with("faces")) {
        for cube in set.cubes() {
            let n = cube.truth.as_ref().unwrap().n;
            let (file, path) = cube.files().swap_remove(1);
            let quad = cube.quads(&file).swap_remove(0);
            photos.push((cube.name, n, quad, image::open(path).unwrap().to_rgb8()));
        }
    }
    println!(
        "{:<14}{:>7}{:>7}{:>7}{:>7}",
        "bending", "faces", "found", "WRONG", "missed"
    );
    let mut problems = Vec::new();
    for bending in &BENDINGS {
        let (mut found, mut wrong, mut missed) = (0, 0, 0);
        for (name, n, quad, picture) in &photos {
            let warp = (bending.warp)(picture, quad, *n);
            let truth = Quad(quad.0.map(|corner| forth(&warp, corner)));
            let photo = Photo::from(bent(picture, &warp));
            let seen = look(&mut Trace::default(), &photo);
            let faces = seen.views.first().map_or(&[][..], |view| &view.faces);
            let off = |face: &sixfold::sight::SeenFace| apart(face, &truth, *n);
            if faces.iter().any(|face| face.n == *n && off(face) < SAME) {
                found += 1;
                continue;
            }
            if faces.is_empty() {
                missed += 1;
            } else {
                wrong += 1;
            }
            let name = format!("{name}-{}.png", bending.name.replace(' ', "-"));
            photo.picture().save(folder.join(name)).unwrap();
        }
        println!(
            "{:<14}{:>7}{found:>7}{wrong:>7}{missed:>7}",
            bending.name,
            photos.len()
        );
        // A better count fails too, until the number is raised.
        if found != bending.found {
            problems.push(format!(
                "{}: {found} found, not {}",
                bending.name, bending.found
            ));
        }
    }
    assert!(problems.is_empty(), "{}", problems.join("\n"));
}
