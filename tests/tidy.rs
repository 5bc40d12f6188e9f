//! The map of the crate, kept true: a room imports only from floors below its own.

#![expect(
    clippy::unwrap_used,
    reason = "a test that cannot read the sources must fail"
)]

use std::fs;
use std::path::{Path, PathBuf};

/// Rooms and their floors. A room may use itself and any room on a lower floor.
const FLOORS: [(&str, u8); 11] = [
    ("geometry", 0),
    ("colour", 0),
    ("cube", 0),
    ("calibration", 1),
    ("sight", 2),
    ("assemble", 3),
    ("diagnose", 3),
    ("advise", 4),
    ("explain", 5),
    ("reader", 6),
    ("app", 7),
];

fn rust_files(folder: &Path, found: &mut Vec<PathBuf>) {
    let mut entries: Vec<_> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .collect();
    entries.sort();
    for path in entries {
        if path.is_dir() {
            rust_files(&path, found);
        } else if path.extension().is_some_and(|ending| ending == "rs") {
            found.push(path);
        }
    }
}

fn floor_of(room: &str) -> Option<u8> {
    FLOORS
        .iter()
        .find(|(name, _)| *name == room)
        .map(|&(_, floor)| floor)
}

#[test]
fn rooms_import_only_from_floors_below() {
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    rust_files(&source, &mut files);
    assert!(files.len() > 10, "the source folder was found");
    let mut breaches = Vec::new();
    for path in files {
        let inside = path.strip_prefix(&source).unwrap();
        let room = inside
            .iter()
            .next()
            .unwrap()
            .to_str()
            .unwrap()
            .trim_end_matches(".rs")
            .to_owned();
        let Some(floor) = floor_of(&room) else {
            let is_root = ["lib", "main", "testkit"].contains(&room.as_str());
            assert!(
                is_root,
                "{} belongs to no room of the map",
                inside.display()
            );
            continue;
        };
        for (number, line) in fs::read_to_string(&path).unwrap().lines().enumerate() {
            for used in line.split("crate::").skip(1) {
                let name: String = used
                    .chars()
                    .take_while(|c| c.is_alphanumeric() || *c == '_')
                    .collect();
                let is_fine = name == room
                    || name == "testkit"
                    || floor_of(&name).is_some_and(|other| other < floor);
                if !is_fine {
                    breaches.push(format!(
                        "{}:{}: {room} uses {name}",
                        inside.display(),
                        number + 1
                    ));
                }
            }
        }
    }
    assert!(breaches.is_empty(), "{}", breaches.join("\n"));
}

#[test]
fn every_source_file_says_what_it_is_for() {
    let mut files = Vec::new();
    rust_files(
        &Path::new(env!("CARGO_MANIFEST_DIR")).join("src"),
        &mut files,
    );
    let silent: Vec<_> = files
        .iter()
        .filter(|path| !fs::read_to_string(path).unwrap().starts_with("//!"))
        .collect();
    assert!(silent.is_empty(), "{silent:?}");
}
