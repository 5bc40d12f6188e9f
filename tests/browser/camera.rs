//! What the fake camera plays: photos of the fixtures as a video, and a face repainted as moves would leave it.

use image::{Rgb, RgbImage, imageops};
use serde_json::Value;
use sixfold::geometry::{InPhoto, PlaneMap, Point, Quad};
use std::fs;
use std::io::{BufWriter, Write};
use std::path::{Path, PathBuf};

/// A size every browser takes as it is.
const SIZE: (u32, u32) = (640, 480);

/// The colour of an empty room.
const ROOM: Rgb<u8> = Rgb([120, 118, 112]);

/// Frames a second: slow, so that files stay small.
const RATE: u32 = 10;

/// Six photos of one face each, and the truth about them.
pub struct Cube {
    folder: PathBuf,
    /// The truth, as fixtures/photos/README.md describes it.
    pub truth: Value,
}

impl Cube {
    /// The cube of a folder under fixtures/photos.
    pub fn of(name: &str) -> Self {
        let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
            .join("fixtures/photos")
            .join(name);
        let truth = fs::read_to_string(folder.join("truth.json")).unwrap();
        Self {
            folder,
            truth: serde_json::from_str(&truth).unwrap(),
        }
    }

    /// The order.
    pub fn n(&self) -> usize {
        self.truth["n"].as_u64().unwrap() as usize
    }

    /// The colour words of a face, row by row.
    pub fn face(&self, face: &str) -> Vec<String> {
        let rows = self.truth["faces"][face].as_array().unwrap();
        rows.iter()
            .flat_map(|row| row.as_array().unwrap())
            .map(|word| word.as_str().unwrap().to_owned())
            .collect()
    }

    /// The photo numbered from 0, in the camera's size.
    pub fn photo(&self, number: usize) -> RgbImage {
        let path = self.folder.join(format!("photo-{}.jpg", number + 1));
        fitted(&image::open(path).unwrap().into_rgb8())
    }

    /// The photo that shows a face, that face's cells painted anew: `colours` as the face reads, each sticker
    /// copied from one of that colour in the same photo, so that light and wear stay real.
    pub fn repainted(&self, face: &str, colours: &[String]) -> RgbImage {
        let shows = |photo: &Value| photo["faces"][0]["face"] == face;
        let photos = self.truth["photos"].as_array().unwrap();
        let number = photos.iter().position(shows).unwrap();
        let full = image::open(self.folder.join(format!("photo-{}.jpg", number + 1)))
            .unwrap()
            .into_rgb8();
        let corners = &photos[number]["faces"][0]["corners"];
        let corner = |k: usize| {
            Point::new(
                corners[k][0].as_f64().unwrap(),
                corners[k][1].as_f64().unwrap(),
            )
        };
        let corners: Quad<InPhoto> = Quad([0, 1, 2, 3].map(corner));
        let n = self.n();
        let photo_from_face = PlaneMap::between(&Quad::face(n), &corners).unwrap();
        let before = self.face(face);
        let mut picture = full.clone();
        let steps = 120;
        for (place, colour) in colours.iter().enumerate() {
            if *colour == before[place] {
                continue;
            }
            let source = before
                .iter()
                .position(|other| other == colour)
                .unwrap_or_else(|| panic!("no {colour} sticker in the photo of {face}"));
            for down in 0..=steps {
                for across in 0..=steps {
                    let inside = |place: usize| {
                        let along = |start: usize, step: i32| {
                            start as f64 + 0.06 + 0.88 * f64::from(step) / f64::from(steps)
                        };
                        let at =
                            photo_from_face.at(along(place % n, across), along(place / n, down));
                        (at.x as u32, at.y as u32)
                    };
                    let (x, y) = inside(source);
                    let pixel = *full.get_pixel(x, y);
                    let (x, y) = inside(place);
                    picture.put_pixel(x, y, pixel);
                }
            }
        }
        fitted(&picture)
    }
}

/// Writes the frames of a recording in which the faces of cubes are shown one after another, with an empty room in
/// between, longest after the last face of a cube.
pub fn recording(folder: &Path, cubes: &[&Cube]) {
    let empty = RgbImage::from_pixel(SIZE.0, SIZE.1, ROOM);
    let photos = cubes
        .iter()
        .flat_map(|cube| (0..6).map(|number| cube.photo(number)));
    for (number, photo) in photos.enumerate() {
        let frames = if number % 6 < 5 { 16 } else { 28 };
        for frame in 0..frames {
            // Five looks are needed: a busy machine may miss more than half of them.
            let picture = if frame < 12 { &photo } else { &empty };
            let name = format!("frame-{number:02}-{frame:02}.jpg");
            picture.save(folder.join(name)).unwrap();
        }
    }
}

/// A picture as large as it fits into the camera's, the room's grey beside it.
fn fitted(picture: &RgbImage) -> RgbImage {
    let (wide, high) = picture.dimensions();
    let factor = (f64::from(SIZE.0) / f64::from(wide)).min(f64::from(SIZE.1) / f64::from(high));
    let size = [wide, high].map(|side| (f64::from(side) * factor).round() as u32);
    let small = imageops::resize(picture, size[0], size[1], imageops::FilterType::Triangle);
    let mut whole = RgbImage::from_pixel(SIZE.0, SIZE.1, ROOM);
    let beside = |space: u32, side: u32| i64::from((space - side) / 2);
    imageops::replace(
        &mut whole,
        &small,
        beside(SIZE.0, size[0]),
        beside(SIZE.1, size[1]),
    );
    whole
}

/// Writes a video in which each picture is held for a while, with an empty room in between.
///
/// Uncompressed 4:2:0 with the chroma of JPEG and the limited range of ITU-R BT.601: the one kind of file that
/// Chromium's fake camera gives back with its colours right.
pub fn video(path: &Path, pictures: &[RgbImage]) {
    let mut out = BufWriter::new(fs::File::create(path).unwrap());
    writeln!(
        out,
        "YUV4MPEG2 W{} H{} F{RATE}:1 Ip A1:1 C420jpeg",
        SIZE.0, SIZE.1
    )
    .unwrap();
    let empty = RgbImage::from_pixel(SIZE.0, SIZE.1, ROOM);
    for picture in pictures {
        let shown = planes(picture);
        let nothing = planes(&empty);
        for frame in std::iter::repeat_n(&shown, 16).chain(std::iter::repeat_n(&nothing, 10)) {
            out.write_all(b"FRAME\n").unwrap();
            out.write_all(frame).unwrap();
        }
    }
}

/// Luma, then the two differences at half size.
fn planes(picture: &RgbImage) -> Vec<u8> {
    let (wide, high) = picture.dimensions();
    let ycc = |[red, green, blue]: [f64; 3]| {
        [
            16.0 + 0.256_788 * red + 0.504_129 * green + 0.097_906 * blue,
            128.0 - 0.148_223 * red - 0.290_993 * green + 0.439_216 * blue,
            128.0 + 0.439_216 * red - 0.367_788 * green - 0.071_427 * blue,
        ]
    };
    let mut bytes: Vec<u8> = picture
        .pixels()
        .map(|pixel| ycc(pixel.0.map(f64::from))[0].round() as u8)
        .collect();
    for channel in [1, 2] {
        for row in 0..high / 2 {
            for column in 0..wide / 2 {
                let sum: f64 = [(0, 0), (1, 0), (0, 1), (1, 1)]
                    .map(|(x, y)| {
                        let pixel = picture.get_pixel(2 * column + x, 2 * row + y);
                        ycc(pixel.0.map(f64::from))[channel]
                    })
                    .iter()
                    .sum();
                bytes.push((sum / 4.0).round() as u8);
            }
        }
    }
    bytes
}
