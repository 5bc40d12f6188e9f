//! A state from a file or standard input to its diagnosis.

use super::contract::{check_examination, check_faces};
use super::{folder, sixfold, sixfold_given, state_of};
use serde_json::json;

/// Source of the states and of what is wrong with them: the records that came with the photos.
#[test]
fn cubes_that_cannot_exist_are_an_answer() {
    for (cube, kind) in [
        ("faces-easy/cube-04-n4", "corner-twist"),
        ("faces-hard/cube-12-n3", "corner-twist"),
        ("faces-normal/cube-05-n6", "wing-turned"),
        ("faces-easy/cube-09-n6", "wing-impossible"),
    ] {
        let run = sixfold_given(&state_of(cube).to_string(), ["diagnose", "--json", "-"]);
        assert_eq!(run.status, 0, "{cube}: {}", run.problems);
        let answer = run.json();
        assert_eq!(answer["schema"], "sixfold.diagnosis/1");
        assert_eq!(answer["legality"]["legal"], json!(false), "{cube}");
        check_examination(&answer, answer["n"].as_u64().unwrap());
        let faults = answer["legality"]["faults"].as_array().unwrap();
        assert!(
            faults.iter().any(|fault| fault["kind"] == kind),
            "{cube}: {faults:?}"
        );
        assert!(
            faults
                .iter()
                .all(|fault| fault["text"].as_str().unwrap().ends_with('.'))
        );
        assert!(faults.iter().all(|fault| fault["pieces"].is_array()));
    }
}

/// Source of the states and their stages: the records that came with the photos.
#[test]
fn stages_of_cubes_that_can_exist() {
    for (cube, stage) in [
        ("faces-easy/cube-01-n6", "centres"),
        ("faces-normal/cube-07-n6", "pairing"),
        ("faces-easy/cube-13-n6", "last-groups"),
        ("faces-easy/cube-18-n5", "last-groups"),
        ("faces-normal/cube-10-n7", "reduced"),
        ("faces-normal/cube-24-n2", "reduced"),
    ] {
        let state = state_of(cube);
        let run = sixfold_given(&state.to_string(), ["diagnose", "--json", "-"]);
        assert_eq!(run.status, 0, "{}", run.problems);
        let answer = run.json();
        assert_eq!(answer["schema"], "sixfold.diagnosis/1");
        assert_eq!(
            answer["legality"],
            json!({"legal": true, "faults": []}),
            "{cube}"
        );
        assert_eq!(answer["diagnosis"]["stage"], stage, "{cube}");
        check_examination(&answer, state["n"].as_u64().unwrap());
        check_faces(&answer["faces"], state["n"].as_u64().unwrap());
    }
}

/// Without a terminal there are letters and no colour codes.
#[test]
fn text_for_a_person() {
    for cube in [
        "faces-hard/cube-12-n3",
        "faces-normal/cube-05-n6",
        "faces-normal/cube-07-n6",
        "faces-easy/cube-13-n6",
    ] {
        let run = sixfold_given(&state_of(cube).to_string(), ["diagnose", "-"]);
        assert_eq!(run.status, 0, "{}", run.problems);
        insta::assert_snapshot!(cube.replace('/', "-"), run.out);
    }
}

#[test]
fn pictures_are_drawn_whole() {
    let folder = folder("state-pictures");
    let state = folder.join("state.json");
    std::fs::write(&state, state_of("faces-easy/cube-01-n6").to_string()).unwrap();
    for name in ["net.svg", "net.png"] {
        let picture = folder.join(name);
        let run = sixfold([
            "diagnose".as_ref(),
            state.as_os_str(),
            "--picture".as_ref(),
            picture.as_os_str(),
        ]);
        assert_eq!(run.status, 0, "{}", run.problems);
        let bytes = std::fs::read(&picture).unwrap();
        let head: &[u8] = if name.ends_with("svg") {
            b"<svg"
        } else {
            b"\x89PNG"
        };
        assert!(bytes.starts_with(head), "{name}");
    }
    assert_eq!(
        std::fs::read_dir(&folder).unwrap().count(),
        3,
        "nothing half-written stays"
    );
}

/// What the laws fix is filled in and said to be; the record with the photos has what it truly is.
#[test]
fn an_unknown_sticker_that_only_one_colour_fits_is_filled_in() {
    for cube in ["faces-easy/cube-21-n3", "faces-easy/cube-13-n6"] {
        let whole = state_of(cube);
        let mut state = whole.clone();
        state["faces"]["U"][0][2] = json!(null);
        state["faces"]["L"][1][1] = json!(null);
        let run = sixfold_given(&state.to_string(), ["diagnose", "--json", "-"]);
        assert_eq!(run.status, 0, "{}", run.problems);
        let answer = run.json();
        assert_eq!(answer["faces"], whole["faces"], "{cube}");
        assert_eq!(
            answer["filled"],
            json!([{"face": "U", "row": 0, "col": 2}, {"face": "L", "row": 1, "col": 1}])
        );
        assert_eq!(answer["unknown"], json!([]));
        let run = sixfold_given(&state.to_string(), ["diagnose", "-"]);
        let text = run.out.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(
            text.contains(
                "Filled in, as no other colour fits a cube that can exist: U row 1, column 3"
            ),
            "{}",
            run.out
        );
        let run = sixfold_given(&state.to_string(), ["route", "-"]);
        assert_eq!(run.status, 0, "{}", run.problems);
    }
}

/// A sticker that could be of several colours is said to be unknown: status 3, and no claim about the cube.
#[test]
fn unknown_stickers_are_doubt() {
    let mut state = state_of("faces-easy/cube-21-n3");
    // Two whole corners, which could be twisted against each other.
    for (face, col) in [("U", 0), ("U", 2), ("B", 0), ("B", 2), ("L", 0), ("R", 2)] {
        state["faces"][face][0][col] = json!(null);
    }
    let run = sixfold_given(&state.to_string(), ["diagnose", "--json", "-"]);
    assert_eq!(run.status, 3, "{}", run.problems);
    let answer = run.json();
    assert_eq!(answer["unknown"].as_array().unwrap().len(), 6);
    assert_eq!(answer["filled"], json!([]));
    assert_eq!(answer["legality"], json!(null));
    let run = sixfold_given(&state.to_string(), ["diagnose", "-"]);
    assert_eq!(run.status, 3, "{}", run.problems);
    insta::assert_snapshot!(run.out);
    let run = sixfold_given(&state.to_string(), ["route", "-"]);
    assert_eq!(run.status, 1);
    assert!(run.problems.contains("is unknown"), "{}", run.problems);
}

/// What was read with doubts is never told as certain later.
#[test]
fn a_doubtful_reading_stays_doubtful() {
    let mut reading = state_of("faces-easy/cube-13-n6");
    reading["outcome"] = json!("doubtful");
    let text = reading.to_string();
    let run = sixfold_given(&text, ["diagnose", "-"]);
    assert_eq!(run.status, 3, "{}", run.problems);
    let begin = "These stickers are those of a doubtful reading";
    assert!(run.out.starts_with(begin), "{}", run.out);
    let run = sixfold_given(&text, ["diagnose", "--json", "-"]);
    assert_eq!((run.status, &run.json()["doubtful"]), (3, &json!(true)));
    for command in [&["route", "-"][..], &["sequence", "R", "--state", "-"]] {
        let run = sixfold_given(&text, command);
        assert_eq!((run.status, run.out.as_str()), (1, ""));
        assert!(run.problems.contains("doubtful"), "{}", run.problems);
    }
}
