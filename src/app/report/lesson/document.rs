//! A lesson as JSON for other programs: the readings as `read --json` prints them, by person and moment.

use crate::app::cli::Timings;
use crate::app::lesson::{Lesson, Occasion};
use crate::app::report::reading_for_programs;
use anyhow::Result;
use serde_json::{Value, json};

/// The bytes of `lesson.json`.
///
/// # Errors
///
/// If a value has no form in JSON.
pub fn document(lesson: &Lesson) -> Result<Vec<u8>> {
    let mut cubes = Vec::new();
    for person in &lesson.people {
        let occasions: Result<Vec<Value>> = person.occasions.iter().map(of_occasion).collect();
        cubes.push(json!({"who": person.who, "history": occasions?}));
    }
    let left_out: Vec<Value> = lesson
        .left_out
        .iter()
        .map(|photo| json!({"path": photo.path, "reason": photo.reason, "text": photo.text}))
        .collect();
    let document = json!({
        "schema": "sixfold.lesson/1",
        "title": lesson.title,
        "photos": lesson.photos,
        "photos_read_now": lesson.fresh,
        "cubes": cubes,
        "same_face": lesson.same_face,
        "not_placed": left_out,
        "not_usable": lesson.unusable,
        "not_looked_at": lesson.skipped,
        "not_met": lesson.unmet,
    });
    Ok(serde_json::to_vec(&document)?)
}

fn of_occasion(occasion: &Occasion) -> Result<Value> {
    let no_times = Timings {
        total: 0.0,
        photos: Vec::new(),
    };
    let mut reading = serde_json::to_value(reading_for_programs(&occasion.reading, &no_times))?;
    if let Some(keys) = reading.as_object_mut() {
        keys.remove("timings_ms");
        keys.insert(
            "taken".to_owned(),
            json!(occasion.taken.map(|taken| taken.to_string())),
        );
    }
    Ok(reading)
}
