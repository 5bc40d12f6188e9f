//! Files that are hard to decode or to look at, in the process itself: refused with the right reason, or read right.

use image::{ImageFormat, RgbImage};
use sixfold::app::files::{PhotoProblem, photo_from, read_photo};
use sixfold::sight::{Photo, Trace, look};
use std::fs;
use std::io::Cursor;
use std::path::{Path, PathBuf};

fn fixture(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("fixtures")
        .join(name)
}

/// The four colours are what the pictures were made from (`fixtures/pictures/README.md`).
#[test]
fn unusual_kinds_of_pictures_have_their_colours() {
    for (name, tolerance) in [
        ("palette.png", 0),
        ("sixteen-bit.png", 0),
        ("alpha.png", 0),
        ("animated.webp", 0),
        ("cmyk.jpg", 4),
    ] {
        let picture = read_photo(&fixture("pictures").join(name)).unwrap();
        assert_eq!(picture.dimensions(), (64, 64), "{name}");
        for (at, colour) in [
            ((16, 16), [200, 30, 30]),
            ((48, 16), [20, 160, 70]),
            ((16, 48), [230, 230, 230]),
            ((48, 48), [20, 60, 170]),
        ] {
            let met = picture.get_pixel(at.0, at.1).0;
            let is_near = |k: usize| met[k].abs_diff(colour[k]) <= tolerance;
            assert!((0..3).all(is_near), "{name} at {at:?}: {met:?}");
        }
    }
}

#[test]
fn pictures_too_large_to_decode_are_refused_unread() {
    let problem = read_photo(&fixture("pictures/bomb.png")).unwrap_err();
    assert!(
        matches!(problem, PhotoProblem::TooLarge { megapixels, .. } if (megapixels - 400.0).abs() < 0.5),
        "{problem}"
    );
    let problem = read_photo(&fixture("pictures/vast.png")).unwrap_err();
    let words = problem.to_string();
    assert!(
        words.contains("megapixels") || words.contains("damaged"),
        "{words}"
    );
}

#[test]
fn a_file_cut_at_any_kilobyte_is_refused() {
    let jpeg = fs::read(fixture("photos/faces-easy/cube-01-n6/photo-1.jpg")).unwrap();
    let picture = photo_from(Path::new("whole.jpg"), &jpeg).unwrap().pixels;
    let small = image::imageops::thumbnail(&picture, 160, 120);
    let mut files = vec![("jpeg", jpeg)];
    for (name, format) in [("png", ImageFormat::Png), ("webp", ImageFormat::WebP)] {
        let mut bytes = Cursor::new(Vec::new());
        small.write_to(&mut bytes, format).unwrap();
        files.push((name, bytes.into_inner()));
    }
    for (name, bytes) in files {
        assert!(photo_from(Path::new("whole"), &bytes).is_ok(), "{name}");
        for end in (0..bytes.len()).step_by(1024) {
            let cut = photo_from(Path::new("cut"), &bytes[..end]);
            assert!(cut.is_err(), "{name} cut at {end} of {}", bytes.len());
        }
    }
}

#[test]
fn pictures_of_any_shape_can_be_looked_at() {
    for (width_px, height_px) in [
        (1, 1),
        (2, 2),
        (1, 65_535),
        (65_535, 1),
        (3, 65_535),
        (65_535, 3),
        (40, 2000),
        (2000, 40),
    ] {
        let picture = RgbImage::from_fn(width_px, height_px, |x, y| {
            image::Rgb([(x * 7) as u8, (y * 13) as u8, (x ^ y) as u8])
        });
        let seen = look(&mut Trace::default(), &Photo::from(picture));
        assert!(seen.views.is_empty(), "{width_px} × {height_px}");
    }
}
