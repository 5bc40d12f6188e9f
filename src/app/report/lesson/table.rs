//! A lesson as a table for spreadsheets: a line for each cube at each moment.

use super::{summary, sureness};
use crate::app::lesson::Lesson;
use crate::reader::Outcome;
use anyhow::{Context, Result};

/// The bytes of `lesson.csv`, UTF-8.
///
/// # Errors
///
/// If it cannot be written, which does not happen in memory.
pub fn table(lesson: &Lesson) -> Result<Vec<u8>> {
    let mut table = csv::Writer::from_writer(Vec::new());
    table.write_record([
        "who",
        "taken",
        "size",
        "outcome",
        "confidence",
        "stage",
        "case",
        "next",
        "hold",
        "moves",
        "photos",
    ])?;
    for person in &lesson.people {
        for occasion in &person.occasions {
            let reading = &occasion.reading;
            let examination = reading
                .examination
                .as_ref()
                .filter(|_| reading.outcome != Outcome::Unreadable);
            let diagnosis = examination.map(|examination| &examination.diagnosis);
            // Moves for a cube that may be another would be read without the doubt beside them.
            let advice = examination
                .filter(|_| reading.outcome == Outcome::Read)
                .and_then(|examination| examination.advice.as_ref());
            // Who counts stages and cases does not count one that may be another.
            let mark = if reading.is_stage_certain() { "" } else { " ?" };
            let marked = |text: &str| format!("{text}{mark}");
            let photos: Vec<&str> = reading
                .photos
                .iter()
                .map(|photo| photo.path.as_str())
                .collect();
            table.write_record([
                harmless(&person.who),
                occasion
                    .taken
                    .map(|taken| taken.to_string())
                    .unwrap_or_default(),
                reading.n.map(|n| n.to_string()).unwrap_or_default(),
                sureness(reading.outcome).to_owned(),
                format!("{:.4}", reading.confidence),
                diagnosis.map_or_else(String::new, |found| marked(summary::title(found.stage))),
                diagnosis
                    .and_then(|found| found.case.as_ref())
                    .map_or_else(String::new, |case| marked(&case.title)),
                harmless(&summary::next(reading)),
                advice.map_or_else(String::new, |advice| advice.hold.clone()),
                advice.map_or_else(String::new, |advice| advice.moves.clone()),
                harmless(&photos.join(" ")),
            ])?;
        }
    }
    table.into_inner().context("the table cannot be finished")
}

/// A text no spreadsheet takes for a formula.
fn harmless(text: &str) -> String {
    if text.starts_with(['=', '+', '-', '@', '\t', '\r']) {
        format!("'{text}")
    } else {
        text.to_owned()
    }
}
