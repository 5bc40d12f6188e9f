//! A frame as a camera gave it, and its pixels.

use image::{ImageBuffer, RgbImage};
use std::io::Cursor;
use std::time::Duration;
use zune_jpeg::JpegDecoder;
use zune_jpeg::zune_core::colorspace::ColorSpace;
use zune_jpeg::zune_core::options::DecoderOptions;

/// How the bytes of a frame are to be read.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pixels {
    /// A JPEG picture; anything after its end is left over from an earlier frame.
    Jpeg,
    /// Two pixels in four bytes: luma, blue difference, luma, red difference.
    Yuyv,
    /// All lumas, then both differences for every two by two pixels.
    Nv12,
    /// Red, green, blue.
    Rgb,
    /// Blue, green, red.
    Bgr,
    /// Brightness alone.
    Grey,
}

/// One picture of a stream, as it came.
#[derive(Clone, Debug)]
pub struct Frame {
    /// Its number in the stream, from 0; numbers of frames nobody had time for are left out.
    pub number: u64,
    /// When it came, counted from the start of the stream.
    pub at: Duration,
    /// Columns and rows; a JPEG picture says so itself, and these are 0.
    pub size_px: (u32, u32),
    /// What the bytes are.
    pub pixels: Pixels,
    /// The bytes, perhaps more than are needed.
    pub bytes: Vec<u8>,
}

/// Why a frame has no pixels.
#[derive(Debug, thiserror::Error)]
#[non_exhaustive]
pub enum DecodeError {
    /// Its JPEG data are damaged or cut off.
    #[error("the JPEG data are damaged: {0}")]
    Jpeg(String),
    /// It has fewer bytes than its size needs.
    #[error("a frame of {wide} × {high} pixels needs {needed} bytes, this one has {have}")]
    TooShort {
        /// Columns.
        wide: u32,
        /// Rows.
        high: u32,
        /// Bytes such a frame has.
        needed: usize,
        /// Bytes it has.
        have: usize,
    },
    /// It is larger than any camera's frame.
    #[error("a frame of {wide} × {high} pixels is larger than the limit of {MOST_SIDE_PX} a side")]
    TooLarge {
        /// Columns.
        wide: usize,
        /// Rows.
        high: usize,
    },
}

/// The longest side of a frame in pixels.
const MOST_SIDE_PX: usize = 4096;

/// Where a JPEG picture ends: behind the first end-of-image marker of its scans (ITU-T T.81, annex B).
///
/// Cameras hand over whole buffers whose rest is from earlier, longer frames. The segments before the scan are
/// stepped over by their lengths, for a thumbnail among them has an end of its own; within a scan FF is followed
/// by 00 or a restart marker, so FF D9 can be nothing but the end.
fn jpeg_end(bytes: &[u8]) -> usize {
    const START_OF_SCAN: u8 = 0xDA;
    let mut at = 2;
    while let Some(&[0xFF, marker, high, low]) = bytes.get(at..at + 4)
        && marker != START_OF_SCAN
    {
        at += 2 + usize::from(u16::from_be_bytes([high, low]));
    }
    let scan = bytes.get(at..).unwrap_or_default();
    scan.windows(2)
        .position(|pair| pair == [0xFF, 0xD9])
        .map_or(bytes.len(), |end| at + end + 2)
}

impl Frame {
    /// The bytes of the JPEG picture, cut at its end, if it is one.
    pub fn jpeg(&self) -> Option<&[u8]> {
        (self.pixels == Pixels::Jpeg).then(|| &self.bytes[..jpeg_end(&self.bytes)])
    }

    /// The pixels.
    ///
    /// # Errors
    ///
    /// If the data are damaged, too few, or the picture larger than a camera's.
    pub fn decode(&self) -> Result<RgbImage, DecodeError> {
        if let Some(jpeg) = self.jpeg() {
            return decode_jpeg(jpeg);
        }
        let (wide, high) = self.size_px;
        if wide.max(high) as usize > MOST_SIDE_PX {
            return Err(DecodeError::TooLarge {
                wide: wide as usize,
                high: high as usize,
            });
        }
        let area = wide as usize * high as usize;
        let needed = match self.pixels {
            Pixels::Yuyv => area * 2,
            Pixels::Nv12 => area * 3 / 2,
            Pixels::Grey => area,
            Pixels::Rgb | Pixels::Bgr | Pixels::Jpeg => area * 3,
        };
        let too_short = || DecodeError::TooShort {
            wide,
            high,
            needed,
            have: self.bytes.len(),
        };
        let bytes = self.bytes.get(..needed).ok_or_else(too_short)?;
        let rgb = match self.pixels {
            Pixels::Yuyv => from_yuyv(bytes),
            Pixels::Nv12 => from_nv12(bytes, wide as usize, area),
            Pixels::Grey => bytes.iter().flat_map(|&grey| [grey; 3]).collect(),
            Pixels::Bgr => bytes
                .chunks_exact(3)
                .flat_map(|pixel| [pixel[2], pixel[1], pixel[0]])
                .collect(),
            Pixels::Rgb | Pixels::Jpeg => bytes.to_vec(),
        };
        ImageBuffer::from_raw(wide, high, rgb).ok_or_else(too_short)
    }
}

fn decode_jpeg(bytes: &[u8]) -> Result<RgbImage, DecodeError> {
    let options = DecoderOptions::default()
        .jpeg_set_out_colorspace(ColorSpace::RGB)
        .set_max_width(MOST_SIDE_PX)
        .set_max_height(MOST_SIDE_PX);
    let mut decoder = JpegDecoder::new_with_options(Cursor::new(bytes), options);
    let damaged = |why: &dyn std::fmt::Display| DecodeError::Jpeg(why.to_string());
    let rgb = decoder.decode().map_err(|why| damaged(&why))?;
    let (wide, high) = decoder
        .dimensions()
        .ok_or_else(|| damaged(&"it has no size"))?;
    ImageBuffer::from_raw(wide as u32, high as u32, rgb)
        .ok_or_else(|| damaged(&"it is not in colour"))
}

/// One pixel from luma and colour differences in the limited range of ITU-R BT.601, which is what cameras send
/// over USB whatever their colour space claims; in 1/65536.
fn rgb_from_ycc(luma: u8, blue: u8, red: u8) -> [u8; 3] {
    let luma = 76_309 * (i32::from(luma) - 16);
    let (blue, red) = (i32::from(blue) - 128, i32::from(red) - 128);
    [
        luma + 104_597 * red,
        luma - 25_675 * blue - 53_279 * red,
        luma + 132_201 * blue,
    ]
    .map(|value| ((value + 32_768) >> 16).clamp(0, 255) as u8)
}

fn from_yuyv(bytes: &[u8]) -> Vec<u8> {
    let mut rgb = Vec::with_capacity(bytes.len() / 2 * 3);
    for pair in bytes.chunks_exact(4) {
        rgb.extend(rgb_from_ycc(pair[0], pair[1], pair[3]));
        rgb.extend(rgb_from_ycc(pair[2], pair[1], pair[3]));
    }
    rgb
}

fn from_nv12(bytes: &[u8], wide: usize, area: usize) -> Vec<u8> {
    let (lumas, differences) = bytes.split_at(area);
    let mut rgb = Vec::with_capacity(area * 3);
    for (row, line) in lumas.chunks_exact(wide.max(1)).enumerate() {
        let start = (row / 2) * wide;
        for (column, &luma) in line.iter().enumerate() {
            let at = start + column / 2 * 2;
            let blue = differences.get(at).copied().unwrap_or(128);
            let red = differences.get(at + 1).copied().unwrap_or(128);
            rgb.extend(rgb_from_ycc(luma, blue, red));
        }
    }
    rgb
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::Rgb;

    fn frame(pixels: Pixels, size_px: (u32, u32), bytes: Vec<u8>) -> Frame {
        Frame {
            number: 0,
            at: Duration::ZERO,
            size_px,
            pixels,
            bytes,
        }
    }

    fn check(pixels: Pixels, size_px: (u32, u32), bytes: &[u8], expected: &[[u8; 3]]) {
        let picture = frame(pixels, size_px, bytes.to_vec()).decode().unwrap();
        assert_eq!(picture.dimensions(), size_px);
        let found: Vec<_> = picture.pixels().map(|pixel| pixel.0).collect();
        assert_eq!(found, expected, "{pixels:?}");
    }

    /// Colour bars of 75 % in BT.601 limited range: Y Cb Cr values as printed in the table of 75 % bars of
    /// SMPTE EG 1 / ITU-R BT.801 (from memory), each within one step of 191 and 0.
    #[test]
    fn colour_bars_come_out_as_broadcast_tables_have_them() {
        let bars = [
            ([180, 128, 128], [191, 191, 191]),
            ([162, 44, 142], [191, 191, 0]),
            ([131, 156, 44], [0, 191, 191]),
            ([112, 72, 58], [0, 191, 0]),
            ([84, 184, 198], [191, 0, 191]),
            ([65, 100, 212], [191, 0, 0]),
            ([35, 212, 114], [0, 0, 191]),
            ([16, 128, 128], [0, 0, 0]),
            ([235, 128, 128], [255, 255, 255]),
        ];
        for ([luma, blue, red], expected) in bars {
            let found = rgb_from_ycc(luma, blue, red);
            let worst = (0..3).map(|k| found[k].abs_diff(expected[k])).max();
            assert!(worst <= Some(1), "{found:?}, not {expected:?}");
        }
    }

    #[test]
    fn bytes_land_on_their_pixels() {
        let white = [235, 128, 128];
        let black = [16, 128, 128];
        check(
            Pixels::Yuyv,
            (2, 2),
            &[white[0], 128, black[0], 128, black[0], 128, white[0], 128],
            &[[255; 3], [0; 3], [0; 3], [255; 3]],
        );
        check(
            Pixels::Nv12,
            (4, 2),
            &[235, 16, 65, 65, 16, 235, 65, 65, 128, 128, 100, 212],
            &[
                [255; 3],
                [0; 3],
                [191, 0, 1],
                [191, 0, 1],
                [0; 3],
                [255; 3],
                [191, 0, 1],
                [191, 0, 1],
            ],
        );
        check(Pixels::Bgr, (1, 1), &[1, 2, 3], &[[3, 2, 1]]);
        check(Pixels::Rgb, (1, 1), &[1, 2, 3, 99], &[[1, 2, 3]]);
        check(Pixels::Grey, (2, 1), &[7, 8], &[[7; 3], [8; 3]]);
    }

    #[test]
    fn a_jpeg_is_cut_where_it_ends() {
        let picture = RgbImage::from_fn(32, 16, |_, _| Rgb([200, 100, 50]));
        let mut jpeg = Vec::new();
        picture
            .write_to(&mut Cursor::new(&mut jpeg), image::ImageFormat::Jpeg)
            .unwrap();
        // An application segment with an end of its own inside, as thumbnails have.
        jpeg.splice(2..2, [0xFF, 0xE1, 0, 6, 0xFF, 0xD9, 1, 2]);
        let alone = jpeg.len();
        jpeg.extend([0xFF, 0xD8, 1, 2, 3, 0xFF, 0xD9]);
        let frame = frame(Pixels::Jpeg, (0, 0), jpeg);
        assert_eq!(frame.jpeg().unwrap().len(), alone);
        let found = frame.decode().unwrap();
        assert_eq!(found.dimensions(), (32, 16));
        let worst = (0..3).map(|k| found.get_pixel(9, 9)[k].abs_diff([200, 100, 50][k]));
        assert!(worst.max() <= Some(3));
    }

    #[test]
    fn bad_frames_are_refused() {
        let short = frame(Pixels::Yuyv, (4, 2), vec![0; 15]).decode();
        assert_eq!(
            short.unwrap_err().to_string(),
            "a frame of 4 × 2 pixels needs 16 bytes, this one has 15"
        );
        let large = frame(Pixels::Grey, (70_000, 1), vec![0; 9]).decode();
        assert!(matches!(large, Err(DecodeError::TooLarge { .. })));
        let broken = frame(Pixels::Jpeg, (0, 0), b"not a picture".to_vec()).decode();
        assert!(matches!(broken, Err(DecodeError::Jpeg(_))));
        let nothing = frame(Pixels::Nv12, (0, 0), Vec::new()).decode().unwrap();
        assert_eq!(nothing.dimensions(), (0, 0));
    }
}
