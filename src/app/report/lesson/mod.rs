//! A lesson to the files of its report: a page to read and print, a table and a document for other programs.

mod card;
mod document;
mod escape;
mod page;
mod summary;
mod table;

use super::Screen;
use crate::app::files::write_whole;
use crate::app::lesson::{INTERRUPTED, Lesson};
use crate::cube::capital;
use crate::reader::Outcome;
use anyhow::Result;
use std::io;
use std::path::Path;

/// Writes `index.html`, `lesson.csv` and `lesson.json` into the report's folder; `is_live` makes the page reload.
///
/// # Errors
///
/// If a file cannot be written.
pub fn write_lesson(folder: &Path, lesson: &Lesson, is_live: bool) -> Result<()> {
    write_whole(&folder.join("lesson.json"), &document::document(lesson)?)?;
    write_whole(&folder.join("lesson.csv"), &table::table(lesson)?)?;
    write_whole(
        &folder.join("index.html"),
        page::page(lesson, is_live).as_bytes(),
    )
}

/// Tells in a few lines what came of a lesson.
///
/// # Errors
///
/// If the text cannot be written.
pub fn told_lesson(screen: &mut Screen, lesson: &Lesson, folder: &Path) -> io::Result<()> {
    screen.strong(&summary::headline(lesson))?;
    for line in summary::teaching(lesson) {
        screen.paragraph("- ", &line.told())?;
    }
    let left_out = |is_unsorted: bool| -> Vec<&String> {
        let photos = lesson.left_out.iter();
        photos
            .filter(|photo| (photo.reason == INTERRUPTED) == is_unsorted)
            .map(|photo| &photo.path)
            .collect()
    };
    for (title, names) in [
        (
            "Same face again and again, no cube",
            lesson.same_face.iter().flatten().collect::<Vec<_>>(),
        ),
        ("Not placed", left_out(false)),
        ("Not sorted any more, run it again", left_out(true)),
        (
            "Not looked at any more, run it again",
            lesson.skipped.iter().collect(),
        ),
    ] {
        if !names.is_empty() {
            screen.paragraph("- ", &format!("{title}: {}.", summary::some_of(&names)))?;
        }
    }
    for problem in lesson.unusable.iter().chain(&lesson.unmet) {
        screen.paragraph("- ", &format!("{}.", capital(problem)))?;
    }
    let page = folder.join("index.html");
    screen.paragraph("", &format!("The report: {}", page.display()))
}

/// How sure a reading is, in a word.
fn sureness(outcome: Outcome) -> &'static str {
    match outcome {
        Outcome::Read => "sure",
        Outcome::Doubtful => "doubtful",
        Outcome::Unreadable => "not read",
    }
}
