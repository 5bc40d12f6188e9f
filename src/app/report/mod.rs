//! Results on the terminal: the same sentences with and without colour, a letter on every sticker.

mod examination;
mod lesson;
mod net;
mod progress;
mod reading;
mod screen;

pub use examination::{details, doubtful_file, filled, headline, incomplete, stage_title, step};
pub use lesson::{told_lesson, write_lesson};
pub use net::net;
pub use progress::progress;
pub use reading::{marks, reading, reading_for_programs};
pub use screen::{Screen, StandardOutput};

use crate::diagnose::{Diagnosis, Legality, Repair};
use crate::explain::Guidance;
use crate::reader::Examination;
use serde::Serialize;
use std::io;

/// An examination in the words promised to other programs; all `null` where there is none.
#[derive(Serialize)]
pub struct Examined<'a> {
    legality: Option<&'a Legality>,
    diagnosis: Option<&'a Diagnosis>,
    repair: Option<&'a Repair>,
    advice: Option<&'a Guidance>,
}

impl<'a> From<Option<&'a Examination>> for Examined<'a> {
    fn from(examination: Option<&'a Examination>) -> Self {
        Self {
            legality: examination.map(|examination| &examination.legality),
            diagnosis: examination.map(|examination| &examination.diagnosis),
            repair: examination.and_then(|examination| examination.repair.as_ref()),
            advice: examination.and_then(|examination| examination.advice.as_ref()),
        }
    }
}

/// Writes a value as one JSON document.
///
/// # Errors
///
/// If it cannot be written.
pub fn json(screen: &mut Screen, value: &impl Serialize) -> io::Result<()> {
    serde_json::to_writer(&mut *screen.out, value)?;
    writeln!(screen.out)
}
