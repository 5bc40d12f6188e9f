//! Whatever cannot be used: one sentence that says what was met, what was expected and what to do, the right
//! exit status, nothing on standard output.

use super::{folder, sixfold, sixfold_given, state_of};
use serde_json::json;

fn check_state(state: &str, expected: &[&str]) {
    let run = sixfold_given(state, ["diagnose", "-"]);
    assert_eq!((run.status, run.out.as_str()), (1, ""), "{}", run.problems);
    assert!(run.problems.starts_with("sixfold: "), "{}", run.problems);
    assert_eq!(run.problems.lines().count(), 1, "{}", run.problems);
    for words in expected {
        assert!(
            run.problems.contains(words),
            "{words} expected in {}",
            run.problems
        );
    }
}

#[test]
fn states_that_are_none() {
    check_state("", &["no JSON"]);
    check_state("[1, 2]", &["at the top", "a list of 2"]);
    check_state("{\"n\": 40}", &["at n: 40 was met", "from 2 to 17"]);
    let mut state = state_of("faces-easy/cube-21-n3");
    state["faces"]["D"][2][1] = json!("teal");
    check_state(&state.to_string(), &["faces.D[2][1]", "\"teal\"", "white"]);
    state["faces"]["D"][2][1] = json!("pink");
    check_state(&state.to_string(), &["7 colours", "pink", "six"]);
    state["n"] = json!(4);
    check_state(
        &state.to_string(),
        &["at faces.U", "a list of 3", "a list of 4 rows"],
    );
}

#[test]
fn files_that_are_none() {
    let run = sixfold(["diagnose", "no/such/state.json"]);
    assert_eq!(run.status, 1);
    assert!(run.problems.contains("no such file"), "{}", run.problems);
    assert!(
        run.problems.contains("no/such/state.json"),
        "{}",
        run.problems
    );
    let run = sixfold(["diagnose", "fixtures"]);
    assert_eq!(run.status, 1);
    assert!(run.problems.contains("folder"), "{}", run.problems);
}

#[test]
fn pictures_that_cannot_be_drawn() {
    let folder = folder("refusals-pictures");
    let state = folder.join("state.json");
    std::fs::write(&state, state_of("faces-easy/cube-21-n3").to_string()).unwrap();
    for (name, words) in [
        ("net.bmp", ".svg or .png"),
        ("no/such/folder/net.svg", "cannot be written"),
    ] {
        let picture = folder.join(name);
        let run = sixfold([
            "diagnose".as_ref(),
            state.as_os_str(),
            "--picture".as_ref(),
            picture.as_os_str(),
        ]);
        assert_eq!(run.status, 1);
        assert!(run.problems.contains(words), "{}", run.problems);
    }
}

#[test]
fn wrong_command_lines() {
    for arguments in [
        vec![],
        vec!["dance"],
        vec!["diagnose"],
        vec!["diagnose", "a", "b"],
        vec!["diagnose", "a", "--jsn"],
    ] {
        let run = sixfold(&arguments);
        assert_eq!((run.status, run.out.as_str()), (2, ""), "{arguments:?}");
        assert!(run.problems.contains("Usage"), "{}", run.problems);
    }
}
