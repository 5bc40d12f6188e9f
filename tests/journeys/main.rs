//! What people do with the program, through its real command line; a file for each journey.
//!
//! - `contract`: what is promised to other programs, key by key.
//! - `photos`: six photos of one cube to the answer.
//! - `known`: a cube learned once and recognised later, and stickers told by a person.
//! - `ways`: from a state to solved, and what sequences do.
//! - `sheet`: the printable sheet of all cases of a size.
//! - `state`: a state from a file to its diagnosis.
//! - `mirror`: photos as a front camera saves them.
//! - `refusals`: whatever cannot be used, and what is then said.
//! - `lesson`: a folder of photos to the report on everyone's cube.
//! - `moments`: a lesson's photos with the times at which they were taken, and what else cameras write into them.
//! - `interrupted`: a lesson broken off, watched, or with files in it that cannot be read.
//! - `help`: what `--help` says.

#![expect(
    clippy::unwrap_used,
    reason = "a journey that breaks off must fail its test"
)]

mod contract;
mod help;
mod interrupted;
mod known;
mod lesson;
mod mirror;
mod moments;
mod photos;
mod plain;
mod refusals;
mod sheet;
mod state;
mod ways;

use std::ffi::OsStr;
use std::io::Write;
use std::path::PathBuf;
use std::process::{Command, Stdio};

/// What a run of the program left behind.
struct Run {
    status: i32,
    out: String,
    problems: String,
}

impl Run {
    /// The JSON document on standard output.
    fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.out).unwrap()
    }
}

/// Runs the program without a terminal.
fn sixfold<A: AsRef<OsStr>>(arguments: impl IntoIterator<Item = A>) -> Run {
    sixfold_given("", arguments)
}

/// The same with a text on standard input.
fn sixfold_given<A: AsRef<OsStr>>(input: &str, arguments: impl IntoIterator<Item = A>) -> Run {
    let mut child = Command::new(env!("CARGO_BIN_EXE_sixfold"))
        .args(arguments)
        .current_dir(env!("CARGO_MANIFEST_DIR"))
        .env_remove("NO_COLOR")
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut stdin = child.stdin.take().unwrap();
    // A program that refuses its arguments does not read: a closed pipe is no failure here.
    let _ = stdin.write_all(input.as_bytes());
    drop(stdin);
    let done = child.wait_with_output().unwrap();
    Run {
        status: done.status.code().unwrap(),
        out: String::from_utf8(done.stdout).unwrap(),
        problems: String::from_utf8(done.stderr).unwrap(),
    }
}

/// A file of the project.
fn project(path: &str) -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR")).join(path)
}

/// An empty folder of its own for a test, under the build folder.
fn folder(name: &str) -> PathBuf {
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join(name);
    if folder.exists() {
        std::fs::remove_dir_all(&folder).unwrap();
    }
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

/// What is recorded of a photographed cube.
fn record_of(cube: &str) -> serde_json::Value {
    let truth = std::fs::read(project(&format!("fixtures/photos/{cube}/truth.json"))).unwrap();
    serde_json::from_slice(&truth).unwrap()
}

/// The stickers of a photographed cube as a state, from the file that came with the photos.
fn state_of(cube: &str) -> serde_json::Value {
    let truth = record_of(cube);
    serde_json::json!({"n": truth["n"], "faces": truth["faces"]})
}
