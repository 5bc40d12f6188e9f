//! The cubes read so far: a list for a teacher, kept in memory, saved only when asked for.

use crate::reader::session::Finding;
use base64::Engine as _;
use base64::engine::general_purpose::STANDARD;
use serde::Serialize;
use std::fmt::Write;
use std::sync::Arc;
use std::time::{SystemTime, UNIX_EPOCH};

/// Pictures kept; of cubes before that only the words are.
const MOST_PICTURES: usize = 60;

/// One cube read.
#[derive(Clone, Debug, Serialize)]
pub struct Kept {
    number: u64,
    time: String,
    at_ms: u64,
    size: usize,
    stage: String,
    case: String,
    text: String,
    /// A `data:` address of the frame in which the last face was read.
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
    /// A finding at a time, with the frame in which it was made.
    pub fn new(finding: &Finding, time: SystemTime, picture: Option<Arc<[u8]>>) -> Self {
        let since = time.duration_since(UNIX_EPOCH).unwrap_or_default();
        Self {
            number: finding.cube + 1,
            time: humantime::format_rfc3339_seconds(time).to_string(),
            at_ms: since.as_millis() as u64,
            size: finding.n,
            stage: finding.stage(),
            case: finding.case(),
            text: finding.text(),
            picture: picture
                .map(|jpeg| format!("data:image/jpeg;base64,{}", STANDARD.encode(&*jpeg))),
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
            let _ = write!(
                table,
                "{},{},{},{},{},{}\r\n",
                cube.number,
                cube.time,
                cube.size,
                quoted(&cube.stage),
                quoted(&cube.case),
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
