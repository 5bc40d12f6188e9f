//! What the stages left behind, to a folder and to standard error.

use crate::app::clock::millis;
use crate::app::files::{make_folder, write_whole};
use crate::app::look::Looked;
use crate::sight::Trace;
use anyhow::Result;
use image::ImageFormat;
use serde::Serialize;
use std::io::{self, Cursor, Write};
use std::path::Path;
use std::time::Duration;

/// How long a reading took, in milliseconds.
#[derive(Clone, Debug, Serialize)]
pub struct Timings {
    /// From the first photo to the answer.
    pub total: f64,
    /// Each photo's own time, decoding included.
    pub photos: Vec<f64>,
}

/// The times of a run.
pub fn timings(looked: &[Looked], total: Duration) -> Timings {
    Timings {
        total: millis(total),
        photos: looked.iter().map(|photo| millis(photo.took)).collect(),
    }
}

/// Writes the pictures of all stages as PNG, numbered in the order in which they came.
///
/// # Errors
///
/// If the folder cannot be made or written to.
pub fn write_pictures(folder: &Path, looked: &mut [Looked]) -> Result<()> {
    make_folder(folder)?;
    for (index, photo) in looked.iter_mut().enumerate() {
        let stem = photo
            .path
            .file_stem()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned();
        for (step, (stage, picture)) in photo.trace.take_pictures().into_iter().enumerate() {
            let name = format!("{}-{stem}-{}-{stage}.png", index + 1, step + 1);
            let mut bytes = Cursor::new(Vec::new());
            picture.write_to(&mut bytes, ImageFormat::Png)?;
            write_whole(&folder.join(name), bytes.get_ref())?;
        }
    }
    Ok(())
}

/// Writes a table of the stages' times to standard error.
///
/// # Errors
///
/// If it cannot be written.
pub fn write_timings(looked: &[Looked], after: &Trace, total: Duration) -> io::Result<()> {
    let mut out = io::stderr().lock();
    for photo in looked {
        let stages: Vec<String> = photo
            .trace
            .stages()
            .iter()
            .map(|stage| format!("{} {:.1}", stage.name, millis(stage.took)))
            .collect();
        writeln!(
            out,
            "{:8.1} ms  {} ({})",
            millis(photo.took),
            photo.path.display(),
            stages.join(", ")
        )?;
    }
    for stage in after.stages() {
        writeln!(out, "{:8.1} ms  {}", millis(stage.took), stage.name)?;
    }
    writeln!(
        out,
        "{:8.1} ms  from the first photo to the answer",
        millis(total)
    )
}
