//! The cubes read so far: a list for a teacher, kept in memory, saved only when asked for.

use crate::reader::session::Finding;
use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use image::codecs::jpeg::JpegEncoder;
use image::imageops::{FilterType, crop_imm, resize};
use serde::Serialize;
use std::fmt::Write;
use std::sync::Arc;
use std::time::{SystemTime, UNIX_EPOCH};

/// Pictures kept; of cubes before that only the words are.
const MOST_PICTURES: usize = 60;

/// The longer side of a picture in the list: it is shown small, and all of them are sent whenever one is added.
const PICTURE_PX: u32 = 240;

/// A frame with a face in it.
#[derive(Clone, Debug)]
pub struct Snapshot {
    /// The frame, perhaps smaller than it came.
    pub jpeg: Arc<[u8]>,
    /// The face's corners, in pixels of the frame as it came.
    pub corners: [[f64; 2]; 4],
    /// How wide it came.
    pub wide_px: u32,
}

impl Snapshot {
    /// The face with a little of what is around it, small, as a `data:` address; `None` if it cannot be drawn.
    fn face(&self) -> Option<String> {
        let whole = image::load_from_memory(&self.jpeg).ok()?.into_rgb8();
        let scale = f64::from(whole.width()) / f64::from(self.wide_px.max(1));
        let along = |axis: usize, side_px: u32| {
            let at = self.corners.map(|corner| corner[axis] * scale);
            let near = at.iter().copied().fold(f64::INFINITY, f64::min);
            let far = at.iter().copied().fold(0.0, f64::max);
            let rim = 0.15 * (far - near);
            let first = (near - rim).clamp(0.0, f64::from(side_px - 1));
            let last = (far + rim).clamp(first + 1.0, f64::from(side_px));
            (first as u32, (last - first).ceil() as u32)
        };
        let (left, wide) = along(0, whole.width());
        let (top, high) = along(1, whole.height());
        let face = crop_imm(&whole, left, top, wide, high).to_image();
        let shrink = (f64::from(PICTURE_PX) / f64::from(wide.max(high))).min(1.0);
        let size = [wide, high].map(|side| ((f64::from(side) * shrink) as u32).max(1));
        let small = resize(&face, size[0], size[1], FilterType::Triangle);
        let mut jpeg = Vec::new();
        small
            .write_with_encoder(JpegEncoder::new_with_quality(&mut jpeg, 80))
            .ok()?;
        Some(format!("data:image/jpeg;base64,{}", STANDARD.encode(&jpeg)))
    }
}

/// One cube read.
#[derive(Clone, Debug, Serialize)]
pub struct Kept {
    number: u64,
    time: String,
    at_ms: u64,
    size: usize,
    stage: String,
    case: String,
    /// Whether all of it is certain, or only if the faces lie as read.
    certain: bool,
    text: String,
    /// The face seen last, as a `data:` address.
    picture: Option<String>,
}

/// All cubes read, the newest last.
#[derive(Clone, Debug, Serialize)]
pub struct Findings {
    kind: &'static str,
    cubes: Vec<Kept>,
}

impl Default for Findings {
    fn default() -> Self {
        Self {
            kind: "findings",
            cubes: Vec::new(),
        }
    }
}

impl Kept {
    /// A finding at a time, with the last frame that showed a face.
    pub fn new(finding: &Finding, time: SystemTime, seen: Option<&Snapshot>) -> Self {
        let since = time.duration_since(UNIX_EPOCH).unwrap_or_default();
        Self {
            number: finding.cube + 1,
            time: humantime::format_rfc3339_seconds(time).to_string(),
            at_ms: since.as_millis() as u64,
            size: finding.n,
            stage: finding.stage(),
            case: finding.case(),
            certain: finding.is_certain,
            text: finding.text(),
            picture: seen.and_then(Snapshot::face),
        }
    }
}

impl Findings {
    /// Adds a cube, or puts what is now known of it in the place of what was.
    pub fn keep(&mut self, kept: Kept) {
        self.cubes.retain(|other| other.number != kept.number);
        self.cubes.push(kept);
        if let Some(old) = self.cubes.len().checked_sub(MOST_PICTURES + 1) {
            self.cubes[old].picture = None;
        }
    }

    /// As a table for spreadsheets, after RFC 4180.
    pub fn csv(&self) -> String {
        let mut table = "number,time,size,stage,case,text\r\n".to_owned();
        for cube in &self.cubes {
            // Who counts stages and cases does not count one that may be another.
            let mark = if cube.certain { "" } else { " ?" };
            let marked = |text: &str| match text {
                "" => String::new(),
                text => quoted(&format!("{text}{mark}")),
            };
            let _ = write!(
                table,
                "{},{},{},{},{},{}\r\n",
                cube.number,
                cube.time,
                cube.size,
                marked(&cube.stage),
                marked(&cube.case),
                quoted(&cube.text)
            );
        }
        table
    }

    /// As JSON.
    pub fn json(&self) -> String {
        serde_json::to_string_pretty(&self.cubes).unwrap_or_default()
    }
}

fn quoted(field: &str) -> String {
    if field.contains([',', '"', '\n', '\r']) {
        format!("\"{}\"", field.replace('"', "\"\""))
    } else {
        field.to_owned()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use image::{Rgb, RgbImage};

    /// A red face on grey: the picture in the list is of the face, small, also where the frame was halved.
    #[test]
    fn the_picture_in_the_list_is_of_the_face() {
        let mut frame = RgbImage::from_pixel(640, 360, Rgb([120, 120, 120]));
        for (x, y) in (200..300).flat_map(|x| (100..200).map(move |y| (x, y))) {
            frame.put_pixel(x, y, Rgb([220, 20, 20]));
        }
        let mut jpeg = Vec::new();
        frame
            .write_with_encoder(JpegEncoder::new_with_quality(&mut jpeg, 95))
            .unwrap();
        let seen = Snapshot {
            jpeg: Arc::from(jpeg),
            corners: [
                [400.0, 200.0],
                [600.0, 200.0],
                [600.0, 400.0],
                [400.0, 400.0],
            ],
            wide_px: 1280,
        };
        let address = seen.face().unwrap();
        let data = address.strip_prefix("data:image/jpeg;base64,").unwrap();
        let picture = image::load_from_memory(&STANDARD.decode(data).unwrap()).unwrap();
        let picture = picture.into_rgb8();
        assert_eq!(picture.dimensions(), (130, 130));
        let [red, green, _] = picture.get_pixel(65, 65).0;
        assert!(red > 180 && green < 80);
        let [red, green, _] = picture.get_pixel(4, 4).0;
        assert!(red.abs_diff(green) < 30);
    }
}
