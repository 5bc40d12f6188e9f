//! From a state to solved, and what sequences do.

use super::contract::{check_advice, order_of};
use super::{sixfold, sixfold_given, state_of};
use serde_json::json;
use sixfold::calibration::Scheme;
use sixfold::colour::Name;
use sixfold::cube::{Face, Sequence, State};

/// The state with the colours of a JSON state; each colour is named after the face it lies on in `scheme`.
fn state_in(json: &serde_json::Value, scheme: &serde_json::Value) -> State {
    let names =
        Face::ALL.map(|face| Name::from_word(scheme[face.to_string()].as_str().unwrap()).unwrap());
    let scheme = Scheme(names);
    let stickers = Face::ALL
        .iter()
        .flat_map(|face| json["faces"][face.to_string()].as_array().unwrap())
        .flat_map(|row| row.as_array().unwrap())
        .map(|word| {
            scheme
                .face(Name::from_word(word.as_str().unwrap()).unwrap())
                .unwrap()
        })
        .collect();
    State::from_stickers(json["n"].as_u64().unwrap() as usize, stickers).unwrap()
}

fn is_solved(state: &State) -> bool {
    let mut faces = state.stickers().chunks(state.n() * state.n());
    faces.all(|face| face.iter().all(|sticker| *sticker == face[0]))
}

fn moves(step: &serde_json::Value, key: &str, n: usize) -> Vec<sixfold::cube::Move> {
    Sequence::for_order(step[key].as_str().unwrap(), n)
        .unwrap()
        .0
}

/// Making each step's hold, then its moves, ends solved. Source of states and schemes: the records of the photos.
#[test]
fn the_whole_way_ends_solved() {
    for cube in [
        "faces-normal/cube-24-n2",
        "faces-easy/cube-21-n3",
        "faces-easy/cube-16-n4",
        "faces-easy/cube-06-n5",
        "faces-easy/cube-01-n6",
    ] {
        let given = state_of(cube);
        let run = sixfold_given(&given.to_string(), ["route", "--json", "-"]);
        assert_eq!(run.status, 0, "{cube}: {}", run.problems);
        let route = run.json();
        assert_eq!(route["schema"], "sixfold.route/1");
        let n = order_of(&given);
        assert_eq!(route["n"], json!(n));
        let mut state = state_in(&given, &super::record_of(cube)["scheme"]);
        let mut turns = 0;
        for step in route["steps"].as_array().unwrap() {
            assert!(step["stage"].is_string());
            check_advice(step);
            state.turn_all(&moves(step, "hold", n));
            let made = moves(step, "moves", n);
            turns += Sequence(made.clone()).block_turns();
            state.turn_all(&made);
        }
        assert!(is_solved(&state), "{cube}");
        assert_eq!(route["moves_total"], json!(turns));
    }
}

/// The next step of `diagnose` reaches what it says: the same program asked about the state afterwards agrees.
#[test]
fn the_next_step_reaches_what_it_says() {
    for cube in [
        "faces-easy/cube-13-n6",
        "faces-easy/cube-18-n5",
        "faces-normal/cube-07-n6",
    ] {
        let given = state_of(cube);
        let run = sixfold_given(&given.to_string(), ["diagnose", "--json", "-"]);
        let advice = &run.json()["advice"];
        check_advice(advice);
        let n = order_of(&given);
        let both = format!(
            "{} {}",
            advice["hold"].as_str().unwrap(),
            advice["moves"].as_str().unwrap()
        );
        let folder = super::folder(&format!("ways-{}", cube.replace('/', "-")));
        let path = folder.join("state.json");
        std::fs::write(&path, given.to_string()).unwrap();
        let run = sixfold([
            "sequence",
            &both,
            "--json",
            "--state",
            path.to_str().unwrap(),
        ]);
        assert_eq!(run.status, 0, "{cube}: {}", run.problems);
        let after = &run.json()["applied"];
        assert_eq!(
            after["diagnosis"]["stage"], advice["reaches"]["stage"],
            "{cube}"
        );
        assert_eq!(
            after["diagnosis"]["groups"]["done"], advice["reaches"]["groups_done"],
            "{cube}"
        );
        assert_eq!(run.json()["n"], json!(n));
    }
}

#[test]
fn a_solved_cube_needs_nothing() {
    let run = sixfold_given(&solved(4).to_string(), ["route", "-"]);
    assert_eq!((run.status, run.out.trim()), (0, "The cube is solved."));
    let run = sixfold_given(&solved(4).to_string(), ["diagnose", "--json", "-"]);
    let answer = run.json();
    assert_eq!((run.status, &answer["advice"]), (0, &json!(null)));
    assert_eq!(answer["diagnosis"]["stage"], "solved");
}

fn solved(n: usize) -> serde_json::Value {
    let face = |word: &'static str| vec![vec![word; n]; n];
    json!({"n": n, "faces": {
        "U": face("white"), "R": face("red"), "F": face("green"),
        "D": face("yellow"), "L": face("orange"), "B": face("blue"),
    }})
}

#[test]
fn a_cube_that_cannot_exist_has_no_way() {
    let run = sixfold_given(
        &state_of("faces-easy/cube-04-n4").to_string(),
        ["route", "-"],
    );
    assert_eq!((run.status, run.out.as_str()), (1, ""));
    assert!(
        run.problems.contains("no turning solves this cube"),
        "{}",
        run.problems
    );
}

/// Source: orders of well-known elements of the cube group, common practice, no source; the 4×4×4 sequence and what it
/// does: an independent simulator, see the case tables in fixtures.
#[test]
fn what_sequences_do() {
    let order = |text: &str, n: &str| {
        let run = sixfold(["sequence", text, "--size", n, "--json"]);
        assert_eq!(run.status, 0, "{}", run.problems);
        let answer = run.json();
        assert_eq!(answer["schema"], "sixfold.sequence/1");
        answer["order"].clone()
    };
    assert_eq!(order("R", "3"), 4);
    assert_eq!(order("R U R' U'", "3"), 6);
    assert_eq!(order("R U", "3"), 105);
    let run = sixfold(["sequence", "Rw2 R2 U2 Rw2 R2 Uw2 Rw2 R2 Uw2", "--size", "4"]);
    assert_eq!(run.status, 0, "{}", run.problems);
    insta::assert_snapshot!(run.out);
}

#[test]
fn sequences_that_are_none() {
    let check = |arguments: &[&str], status: i32, words: &[&str]| {
        let run = sixfold(arguments);
        assert_eq!(
            (run.status, run.out.as_str()),
            (status, ""),
            "{}",
            run.problems
        );
        for words in words {
            assert!(
                run.problems.contains(words),
                "{words} expected in {}",
                run.problems
            );
        }
    };
    check(
        &["sequence", "R U Q", "--size", "3"],
        1,
        &["\"Q\" at character 5"],
    );
    check(
        &["sequence", "4Rw", "--size", "4"],
        1,
        &["4×4×4", "not so many layers"],
    );
    check(&["sequence", "R", "--size", "40"], 2, &["from 2 to 17"]);
    check(&["sequence", "R", "--size", "six"], 2, &["from 2 to 17"]);
    check(&["sequence", "R"], 2, &["--size"]);
}

/// The text of a way: only the top layer's edges are left to be turned over.
#[test]
fn text_of_a_way() {
    let sequence = Sequence::for_order("F U R U' R' F'", 3).unwrap();
    let state = State::solved(3).after(&sequence.0);
    let faces = sixfold::reader::Colouring::painted(&state, Scheme::COMMON);
    let given = json!({"n": 3, "faces": faces}).to_string();
    for (name, options) in [
        ("way", &["route", "-"][..]),
        ("way_in_words", &["route", "--words", "-"]),
    ] {
        let run = sixfold_given(&given, options);
        assert_eq!(run.status, 0, "{}", run.problems);
        insta::assert_snapshot!(name, run.out);
    }
}
