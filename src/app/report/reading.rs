//! What came of photos, as text and as JSON.

use super::Examined;
use super::examination::{details, headline};
use super::net::net;
use super::screen::Screen;
use crate::app::cli::Timings;
use crate::cube::capital;
use crate::explain::Mark;
use crate::reader::{Colouring, DoubtfulSticker, Outcome, PhotoReading, Problem, Reading};
use serde::Serialize;
use std::collections::BTreeMap;
use std::io;

/// A reading in the words promised to other programs.
#[derive(Serialize)]
pub struct ForPrograms<'a> {
    schema: &'static str,
    n: Option<usize>,
    outcome: Outcome,
    confidence: f64,
    faces: Option<&'a Colouring>,
    photos: &'a [PhotoReading],
    problem: Option<&'a Problem>,
    doubts: &'a [DoubtfulSticker],
    #[serde(flatten)]
    examined: Examined<'a>,
    timings_ms: &'a Timings,
}

/// A reading for other programs.
pub fn reading_for_programs<'a>(reading: &'a Reading, timings_ms: &'a Timings) -> ForPrograms<'a> {
    ForPrograms {
        schema: "sixfold.reading/1",
        n: reading.n,
        outcome: reading.outcome,
        confidence: reading.confidence,
        faces: reading.faces.as_ref(),
        photos: &reading.photos,
        problem: reading.problem.as_ref(),
        doubts: &reading.doubts,
        examined: reading.examination.as_ref().into(),
        timings_ms,
    }
}

/// Writes a reading for a person.
///
/// # Errors
///
/// If the text cannot be written.
pub fn reading(
    screen: &mut Screen,
    reading: &Reading,
    marks: &BTreeMap<usize, Mark>,
) -> io::Result<()> {
    if let (Some(faces), Some(examination)) = (&reading.faces, &reading.examination) {
        headline(screen, examination)?;
        net(screen, faces, marks)?;
        details(screen, examination)?;
    } else {
        screen.strong("The cube could not be read.")?;
    }
    if let Some(problem) = &reading.problem {
        screen.paragraph("", &format!("{}.", capital(&problem.text)))?;
    }
    for photo in &reading.photos {
        if let Some(problem) = &photo.problem {
            screen.paragraph("- ", &format!("{}: {problem}", photo.path))?;
        }
    }
    Ok(())
}
