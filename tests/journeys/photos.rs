//! Six photos of one cube to the answer.

use super::contract::{check_examination, check_faces};
use super::{Run, folder, project, sixfold, sixfold_given, state_of};
use serde_json::{Value, json};
use std::path::PathBuf;

/// The photos of a cube, in the order of these numbers.
pub fn photos(cube: &str, numbers: &[usize]) -> Vec<PathBuf> {
    numbers
        .iter()
        .map(|number| project(&format!("fixtures/photos/{cube}/photo-{number}.jpg")))
        .collect()
}

/// Reads photos into JSON.
pub fn read_json(photos: &[PathBuf]) -> Run {
    let options = ["read", "--json"].map(PathBuf::from);
    sixfold(options.iter().chain(photos))
}

/// A cube's faces up to turning the whole cube: for each of the 24 holds what the six faces would be. The printed
/// faces may stand in any of them.
pub fn in_all_holds(faces: &Value) -> Vec<Vec<String>> {
    use sixfold::cube::{Face, Hold, State};
    let n = faces["U"].as_array().unwrap().len();
    let words: Vec<String> = ["U", "R", "F", "D", "L", "B"]
        .iter()
        .flat_map(|face| faces[face].as_array().unwrap())
        .flat_map(|row| row.as_array().unwrap())
        .map(|word| word.as_str().unwrap().to_owned())
        .collect();
    assert_eq!(State::solved(n).at(0), Face::U);
    Hold::all()
        .iter()
        .map(|hold| {
            let mut places: Vec<u16> = (0..words.len() as u16).collect();
            for &step in &hold.sequence().0 {
                State::solved(n).layout().turn(&mut places, step);
            }
            places
                .iter()
                .map(|&place| words[usize::from(place)].clone())
                .collect()
        })
        .collect()
}

/// Source of what must be read: the records that came with the photos.
#[test]
fn six_photos_in_any_order() {
    for (cube, order) in [
        ("faces-easy/cube-01-n6", [3, 1, 6, 5, 2, 4]),
        ("faces-easy/cube-06-n5", [6, 5, 4, 3, 2, 1]),
        ("faces-easy/cube-21-n3", [2, 3, 4, 5, 6, 1]),
    ] {
        let paths = photos(cube, &order);
        let run = read_json(&paths);
        assert_eq!(run.status, 0, "{cube}: {}", run.problems);
        let reading = run.json();
        let truth = state_of(cube);
        let n = truth["n"].as_u64().unwrap();
        assert_eq!(reading["schema"], "sixfold.reading/1");
        assert_eq!(reading["n"], json!(n));
        assert_eq!(reading["outcome"], "read");
        assert!(reading["confidence"].as_f64().unwrap() >= 0.99);
        assert!(reading["confidence"].as_f64().unwrap() <= 1.0);
        check_faces(&reading["faces"], n);
        check_examination(&reading, n);
        let read = in_all_holds(&reading["faces"]).swap_remove(0);
        assert!(in_all_holds(&truth["faces"]).contains(&read), "{cube}");
        check_photos(&reading, &paths, cube);
        assert!(reading["timings_ms"]["total"].as_f64().unwrap() > 0.0);
        assert_eq!(reading["timings_ms"]["photos"].as_array().unwrap().len(), 6);
    }
}

/// What `read --json` prints is a state as well, and `diagnose` says of it what was said: the same faults by the same
/// names, the same hold and the same moves, though in mixed centres nothing tells which belongs on which side.
#[test]
fn a_reading_is_diagnosed_as_it_was_read() {
    for cube in ["cube-01-n6", "cube-09-n6", "cube-16-n4", "cube-21-n3"] {
        let run = read_json(&photos(&format!("faces-easy/{cube}"), &[1, 2, 3, 4, 5, 6]));
        let reading = run.json();
        let again = sixfold_given(&run.out, ["diagnose", "--json", "-"]).json();
        for key in ["faces", "legality", "diagnosis", "advice", "repair"] {
            assert_eq!(reading[key], again[key], "{cube}: {key}");
        }
    }
}

/// Each photo is named, shows one face, and every face is shown once, its corners where they were rendered.
fn check_photos(reading: &Value, paths: &[PathBuf], cube: &str) {
    let records = std::fs::read(project(&format!("fixtures/photos/{cube}/truth.json"))).unwrap();
    let records: Value = serde_json::from_slice(&records).unwrap();
    let mut shown = Vec::new();
    for (photo, path) in reading["photos"].as_array().unwrap().iter().zip(paths) {
        assert_eq!(photo["path"], json!(path));
        assert_eq!(photo["problem"], json!(null));
        let face = &photo["faces"][0];
        shown.push(face["face"].as_str().unwrap());
        let name = path.file_name().unwrap().to_str().unwrap();
        let record = records["photos"].as_array().unwrap().iter();
        let record = record
            .clone()
            .find(|record| record["file"] == name)
            .unwrap();
        let corner = |value: &Value| [0, 1].map(|k| value[k].as_f64().unwrap());
        let truth: Vec<_> = record["faces"][0]["corners"]
            .as_array()
            .unwrap()
            .iter()
            .map(corner)
            .collect();
        let side = (truth[0][0] - truth[1][0]).hypot(truth[0][1] - truth[1][1]);
        // The face may be named otherwise and so begin at another corner, but the corners are the same four.
        for met in face["corners"].as_array().unwrap().iter().map(corner) {
            let distance = |at: &[f64; 2]| (at[0] - met[0]).hypot(at[1] - met[1]);
            let nearest = truth.iter().map(distance).fold(f64::INFINITY, f64::min);
            assert!(
                nearest < 0.08 * side,
                "{name}: {nearest} px from the nearest corner"
            );
        }
    }
    shown.sort_unstable();
    assert_eq!(shown, ["B", "D", "F", "L", "R", "U"]);
}

/// The text begins with one sentence that says where the cube is, and shows a letter for each sticker.
#[test]
fn text_for_a_learner() {
    let folder = folder("photos-text");
    let picture = folder.join("net.svg");
    let mut arguments = vec!["read".into()];
    arguments.extend(photos("faces-easy/cube-13-n6", &[1, 2, 3, 4, 5, 6]));
    arguments.extend(["--picture".into(), picture.clone(), "--timings".into()]);
    let trace = folder.join("trace");
    arguments.extend(["--trace".into(), trace.clone()]);
    let run = sixfold(&arguments);
    assert_eq!(run.status, 0, "{}", run.problems);
    assert!(run.out.starts_with("Only the edge groups"), "{}", run.out);
    shows_what_the_readme_says(&run.out);
    assert!(
        !run.out.contains('\x1b'),
        "no colour codes without a terminal"
    );
    assert!(
        run.problems
            .contains("ms  from the first photo to the answer")
    );
    let stages = std::fs::read_dir(trace).unwrap();
    let names = stages.map(|file| file.unwrap().file_name().into_string().unwrap());
    let faces = names.filter(|name| name.ends_with("-faces.png"));
    assert_eq!(faces.count(), 6, "what was found in each photo is drawn");
    let drawn = std::fs::read_to_string(picture).unwrap();
    assert!(drawn.starts_with("<svg"));
    let shown = std::fs::read_to_string(project("fixtures/readme/net.svg")).unwrap();
    assert!(drawn == shown, "the README's picture is not what is drawn");
}

/// The lines the README shows of this reading stand in it, in that order.
fn shows_what_the_readme_says(out: &str) {
    let readme = std::fs::read_to_string(project("README.md")).unwrap();
    let printed = readme.split("## What it prints").nth(1).unwrap();
    let block = printed.split("```").nth(1).unwrap();
    let mut left = out;
    for line in block
        .lines()
        .filter(|line| !["", "…"].contains(&line.trim()))
    {
        let at = left.find(line);
        let at = at.unwrap_or_else(|| panic!("{line:?} of the README is not in:\n{left}"));
        left = &left[at + line.len()..];
    }
}
