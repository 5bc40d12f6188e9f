//! A path to a decoded, upright photo, or one sentence on why it is none.

use super::heic::{is_heic, picture_of_heic, size_of_heic};
use image::metadata::Orientation;
use image::{DynamicImage, ImageDecoder, ImageError, ImageFormat, ImageReader, RgbImage};
use std::fs;
use std::io::{self, Cursor};
use std::path::{Path, PathBuf};
use thiserror::Error;

/// The largest photo that is decoded: three bytes a pixel of it must fit into memory beside its fellows.
pub const MOST_MEGAPIXELS: f64 = 100.0;

/// Why a path gave no photo.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum PhotoProblem {
    /// Nothing is there.
    #[error("there is no such file; check the name: {}", path.display())]
    NoSuchFile {
        /// The path.
        path: PathBuf,
    },
    /// A pattern that the shell found no file for.
    #[error("no photo has a name like this; check the folder and how the names end: {}", path.display())]
    NoneLikeIt {
        /// The pattern.
        path: PathBuf,
    },
    /// A folder is there.
    #[error("this is a folder, a photo was expected; name the photos in it, as in {}: {}", path.join("*.jpg").display(), path.display())]
    Folder {
        /// The path.
        path: PathBuf,
    },
    /// The file cannot be read.
    #[error("the file cannot be read ({source}); check who may open it: {}", path.display())]
    Closed {
        /// The path.
        path: PathBuf,
        /// What the system says.
        source: io::Error,
    },
    /// The file is empty.
    #[error("the file is empty, a photo was expected; copy it again from the camera: {}", path.display())]
    Empty {
        /// The path.
        path: PathBuf,
    },
    /// The file holds something else.
    #[error(
        "the file holds no JPEG, HEIC, PNG or WebP picture, whatever its name says; give the photo itself: {}",
        path.display()
    )]
    NotAPicture {
        /// The path.
        path: PathBuf,
    },
    /// The file holds stickers, or another JSON document.
    #[error(
        "the file holds JSON, a photo was expected; stickers in a file are for `sixfold diagnose`: {}",
        path.display()
    )]
    Json {
        /// The path.
        path: PathBuf,
    },
    /// The file holds a picture in the format many phones write, of a kind that is not known or damaged.
    #[error(
        "the file holds a HEIC picture that cannot be read; export it as JPEG on the phone or computer and give that: {}",
        path.display()
    )]
    Heic {
        /// The path.
        path: PathBuf,
    },
    /// The picture's data end too early.
    #[error("the picture breaks off before its end; copy it again from the camera: {}", path.display())]
    BreaksOff {
        /// The path.
        path: PathBuf,
    },
    /// The picture's data make no sense.
    #[error("the picture is damaged ({source}); copy it again or take it anew: {}", path.display())]
    Damaged {
        /// The path.
        path: PathBuf,
        /// What the decoder says.
        source: ImageError,
    },
    /// The picture is too large to be decoded.
    #[error(
        "the picture has {megapixels:.0} megapixels, at most {MOST_MEGAPIXELS:.0} are read; save it smaller: {}",
        path.display()
    )]
    TooLarge {
        /// Its size in millions of pixels.
        megapixels: f64,
        /// The path.
        path: PathBuf,
    },
}

/// Reads and decodes a photo, turned upright as its EXIF orientation says.
///
/// # Errors
///
/// See [`PhotoProblem`]: each names the path and says what to do.
pub fn read_photo(path: &Path) -> Result<RgbImage, PhotoProblem> {
    let bytes = read_bytes(path)?;
    decode(path, &bytes)
}

/// A photo decoded no larger than needed.
#[derive(Clone, Debug)]
pub struct Scaled {
    /// The pixels, upright.
    pub pixels: RgbImage,
    /// How many pixels of the photo's side one of them stands for.
    pub factor: f64,
}

/// Decodes a photo at the least scale at which its long side still has [`ENOUGH_PX`] pixels, if its format can be
/// decoded so without decoding all of it.
///
/// # Errors
///
/// As [`read_photo`].
pub fn photo_from(path: &Path, bytes: &[u8]) -> Result<Scaled, PhotoProblem> {
    if let Some(scaled) = scaled_jpeg(bytes) {
        return Ok(scaled);
    }
    let pixels = decode(path, bytes)?;
    Ok(Scaled {
        pixels,
        factor: 1.0,
    })
}

/// As many pixels along its long side as a photo needs for its faces to be read: most of `fixtures/photos` have no more.
pub const ENOUGH_PX: u16 = 960;

/// A large and whole JPEG decoded at a half, a quarter or an eighth: each block of 8×8 pixels is transformed to 4×4, 2×2
/// or 1 at once. `None` for anything else.
fn scaled_jpeg(bytes: &[u8]) -> Option<Scaled> {
    if image::guess_format(bytes).ok()? != ImageFormat::Jpeg || !ends_whole(bytes) {
        return None;
    }
    let mut decoder = jpeg_decoder::Decoder::new(bytes);
    decoder.read_info().ok()?;
    let whole = decoder.info()?;
    let long = whole.width.max(whole.height);
    let megapixels = f64::from(whole.width) * f64::from(whole.height) / 1e6;
    if long < 2 * ENOUGH_PX
        || megapixels > MOST_MEGAPIXELS
        || whole.pixel_format != jpeg_decoder::PixelFormat::RGB24
    {
        return None;
    }
    let short = u32::from(whole.width.min(whole.height));
    let wanted_short = (short * u32::from(ENOUGH_PX)).div_ceil(u32::from(long)) as u16;
    let (width, height) = if whole.width >= whole.height {
        (ENOUGH_PX, wanted_short)
    } else {
        (wanted_short, ENOUGH_PX)
    };
    let (width, height) = decoder.scale(width, height).ok()?;
    let pixels = decoder.decode().ok()?;
    let pixels = RgbImage::from_raw(u32::from(width), u32::from(height), pixels)?;
    let mut picture = DynamicImage::from(pixels);
    let block = decoder.exif_data();
    if let Some(orientation) = block.and_then(Orientation::from_exif_chunk) {
        picture.apply_orientation(orientation);
    }
    Some(Scaled {
        pixels: picture.into_rgb8(),
        // Sides that are no multiple are rounded up.
        factor: (f64::from(long) / f64::from(width.max(height))).round(),
    })
}

/// Reads the bytes of a file that should be a photo.
///
/// # Errors
///
/// If there is no such file or it cannot be opened.
pub fn read_bytes(path: &Path) -> Result<Vec<u8>, PhotoProblem> {
    let named = || path.to_owned();
    if path.is_dir() {
        return Err(PhotoProblem::Folder { path: named() });
    }
    fs::read(path).map_err(|source| match source.kind() {
        io::ErrorKind::NotFound if path.to_string_lossy().contains(['*', '?']) => {
            PhotoProblem::NoneLikeIt { path: named() }
        }
        io::ErrorKind::NotFound => PhotoProblem::NoSuchFile { path: named() },
        _ => PhotoProblem::Closed {
            path: named(),
            source,
        },
    })
}

/// Decodes a photo whole.
///
/// # Errors
///
/// As [`read_photo`].
pub fn decode(path: &Path, bytes: &[u8]) -> Result<RgbImage, PhotoProblem> {
    let named = || path.to_owned();
    let damaged = |source: ImageError| match source {
        ImageError::IoError(problem) if problem.kind() == io::ErrorKind::UnexpectedEof => {
            PhotoProblem::BreaksOff { path: named() }
        }
        source => PhotoProblem::Damaged {
            path: named(),
            source,
        },
    };
    if bytes.is_empty() {
        return Err(PhotoProblem::Empty { path: named() });
    }
    if is_heic(bytes) {
        let (width_px, height_px) =
            size_of_heic(bytes).ok_or_else(|| PhotoProblem::Heic { path: named() })?;
        not_too_large(path, width_px, height_px)?;
        return picture_of_heic(bytes).ok_or_else(|| PhotoProblem::Heic { path: named() });
    }
    let format = image::guess_format(bytes)
        .ok()
        .filter(|format| [ImageFormat::Jpeg, ImageFormat::Png, ImageFormat::WebP].contains(format));
    let Some(format) = format else {
        let is_json = bytes.trim_ascii_start().starts_with(b"{");
        return Err(if is_json {
            PhotoProblem::Json { path: named() }
        } else {
            PhotoProblem::NotAPicture { path: named() }
        });
    };
    // The JPEG decoder fills in what is missing with grey instead of saying so.
    if format == ImageFormat::Jpeg && !ends_whole(bytes) {
        return Err(PhotoProblem::BreaksOff { path: named() });
    }
    let mut decoder = ImageReader::with_format(Cursor::new(bytes), format)
        .into_decoder()
        .map_err(damaged)?;
    let (width_px, height_px) = decoder.dimensions();
    not_too_large(path, width_px, height_px)?;
    let orientation = decoder.orientation().map_err(damaged)?;
    let mut picture = DynamicImage::from_decoder(decoder).map_err(damaged)?;
    picture.apply_orientation(orientation);
    Ok(picture.into_rgb8())
}

fn not_too_large(path: &Path, width_px: u32, height_px: u32) -> Result<(), PhotoProblem> {
    let megapixels = f64::from(width_px) * f64::from(height_px) / 1e6;
    if megapixels > MOST_MEGAPIXELS {
        return Err(PhotoProblem::TooLarge {
            megapixels,
            path: path.to_owned(),
        });
    }
    Ok(())
}

/// Whether a JPEG's segments follow one another up to the end-of-image marker (ITU-T T.81, annex B).
fn ends_whole(bytes: &[u8]) -> bool {
    const END_OF_IMAGE: u8 = 0xd9;
    const START_OF_SCAN: u8 = 0xda;
    let mut at = 2;
    loop {
        // A marker, after any number of fill bytes.
        if bytes.get(at) != Some(&0xff) {
            return false;
        }
        while bytes.get(at) == Some(&0xff) {
            at += 1;
        }
        let Some(&marker) = bytes.get(at) else {
            return false;
        };
        at += 1;
        match marker {
            END_OF_IMAGE => return true,
            // Restart and temporary markers stand alone.
            0xd0..=0xd7 | 0x01 => continue,
            _ => {}
        }
        let Some(&[high, low]) = bytes.get(at..at + 2).and_then(|two| two.first_chunk()) else {
            return false;
        };
        at += usize::from(u16::from_be_bytes([high, low]));
        if marker == START_OF_SCAN {
            let Some(next) = end_of_scan(bytes, at) else {
                return false;
            };
            at = next;
        }
    }
}

/// Where the marker after the entropy-coded data from `at` begins.
fn end_of_scan(bytes: &[u8], mut at: usize) -> Option<usize> {
    loop {
        at += bytes.get(at..)?.iter().position(|&byte| byte == 0xff)?;
        match bytes.get(at + 1)? {
            // A stuffed byte, a restart marker, a fill byte: the data go on.
            0x00 | 0xd0..=0xd7 => at += 2,
            0xff => at += 1,
            _ => return Some(at),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::{ExtendedColorType, ImageEncoder, codecs};

    /// 8×4 pixels, the left half red, the right half blue.
    fn picture() -> RgbImage {
        RgbImage::from_fn(8, 4, |x, _| {
            image::Rgb(if x < 4 { [200, 0, 0] } else { [0, 0, 200] })
        })
    }

    fn encoded(format: ImageFormat) -> Vec<u8> {
        let mut bytes = Cursor::new(Vec::new());
        picture().write_to(&mut bytes, format).unwrap();
        bytes.into_inner()
    }

    /// An EXIF block that says nothing but the orientation (JEITA CP-3451, TIFF 6.0 layout).
    fn exif(orientation: u8) -> Vec<u8> {
        let mut block = b"MM\0\x2a\0\0\0\x08\0\x01".to_vec();
        block.extend([
            0x01,
            0x12,
            0,
            3,
            0,
            0,
            0,
            1,
            0,
            orientation,
            0,
            0,
            0,
            0,
            0,
            0,
        ]);
        block
    }

    fn check(bytes: &[u8], expected: Result<(u32, u32), &str>) {
        let read = decode(Path::new("photo.jpg"), bytes);
        match (read, expected) {
            (Ok(photo), Ok(size)) => assert_eq!(photo.dimensions(), size),
            (Err(problem), Err(words)) => {
                let text = problem.to_string();
                assert!(
                    text.contains(words) && text.ends_with("photo.jpg"),
                    "{text}"
                );
            }
            (read, expected) => panic!("{expected:?} expected, {:?} met", read.err()),
        }
    }

    #[test]
    fn formats() {
        for format in [ImageFormat::Jpeg, ImageFormat::Png, ImageFormat::WebP] {
            check(&encoded(format), Ok((8, 4)));
        }
        check(b"", Err("empty"));
        check(b"dear diary", Err("no JPEG, HEIC, PNG or WebP"));
        check(
            b"GIF89a\x01\0\x01\0\0\0\0;",
            Err("no JPEG, HEIC, PNG or WebP"),
        );
        check(b"\0\0\0\x18ftypheic\0\0\0\0mif1heic", Err("HEIC"));
    }

    #[test]
    fn whatever_breaks_off_is_refused() {
        for format in [ImageFormat::Jpeg, ImageFormat::Png, ImageFormat::WebP] {
            let bytes = encoded(format);
            // The last byte of a PNG is part of a check sum its decoder does not need.
            let end = match format {
                ImageFormat::Png => bytes.len() - 12,
                _ => bytes.len(),
            };
            for length in 0..end {
                assert!(
                    decode(Path::new("photo.jpg"), &bytes[..length]).is_err(),
                    "{format:?} cut to {length} of {} bytes",
                    bytes.len()
                );
            }
        }
        let jpeg = encoded(ImageFormat::Jpeg);
        check(&jpeg[..jpeg.len() - 3], Err("breaks off"));
    }

    #[test]
    fn pictures_are_turned_upright() {
        // Source: EXIF 2.3 (JEITA CP-3451), tag 0x0112: what the first row and column of the data show.
        for (orientation, size, left_top_is_red) in [
            (1, (8, 4), true),
            (2, (8, 4), false),
            (3, (8, 4), false),
            (6, (4, 8), true),
            (8, (4, 8), false),
        ] {
            let mut bytes = Vec::new();
            let mut encoder = codecs::jpeg::JpegEncoder::new_with_quality(&mut bytes, 95);
            encoder.set_exif_metadata(exif(orientation)).unwrap();
            encoder
                .write_image(&picture(), 8, 4, ExtendedColorType::Rgb8)
                .unwrap();
            let photo = decode(Path::new("photo.jpg"), &bytes).unwrap();
            assert_eq!(photo.dimensions(), size, "{orientation}");
            let [red, _, blue] = photo.get_pixel(0, 0).0;
            assert_eq!(red > blue, left_top_is_red, "orientation {orientation}");
        }
    }

    /// A PNG head that claims a huge picture is refused before anything is decoded.
    #[test]
    fn huge_pictures_are_refused_unseen() {
        let mut bytes = Vec::new();
        codecs::png::PngEncoder::new(&mut bytes)
            .write_image(&[0], 1, 1, ExtendedColorType::L8)
            .unwrap();
        // Width and height lie at 16 and 20, the check sum of the head at 29 (W3C PNG, 11.2.2).
        bytes[16..20].copy_from_slice(&20_000_u32.to_be_bytes());
        bytes[20..24].copy_from_slice(&20_000_u32.to_be_bytes());
        let sum = crc(&bytes[12..29]);
        bytes[29..33].copy_from_slice(&sum.to_be_bytes());
        check(&bytes, Err("400 megapixels"));
    }

    /// Source: W3C PNG, annex D.
    fn crc(bytes: &[u8]) -> u32 {
        !bytes.iter().fold(u32::MAX, |sum, &byte| {
            (0..8).fold(sum ^ u32::from(byte), |sum, _| {
                if sum & 1 == 1 {
                    0xedb8_8320 ^ (sum >> 1)
                } else {
                    sum >> 1
                }
            })
        })
    }
}
