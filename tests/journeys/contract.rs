//! The keys and words promised to other programs, checked one by one against what is printed.

use serde_json::Value;

const FACES: [&str; 6] = ["U", "R", "F", "D", "L", "B"];

/// Checks `legality` and `diagnosis` of an answer for a cube of order `n`.
pub fn check_examination(answer: &Value, n: u64) {
    let legality = &answer["legality"];
    assert!(legality["legal"].is_boolean());
    for fault in legality["faults"].as_array().unwrap() {
        let kind = fault["kind"].as_str().unwrap();
        assert!(
            kind.chars().all(|c| c.is_ascii_lowercase() || c == '-'),
            "{kind}"
        );
        assert!(
            fault["pieces"]
                .as_array()
                .unwrap()
                .iter()
                .all(Value::is_string)
        );
        assert!(fault["text"].is_string());
    }
    let diagnosis = &answer["diagnosis"];
    let stages = [
        "illegal",
        "centres",
        "pairing",
        "last-groups",
        "reduced",
        "solved",
    ];
    assert!(stages.contains(&diagnosis["stage"].as_str().unwrap()));
    assert_eq!(legality["legal"] == false, diagnosis["stage"] == "illegal");
    let done = diagnosis["centres"]["done"].as_array().unwrap();
    assert!(
        done.iter()
            .all(|face| FACES.contains(&face.as_str().unwrap()))
    );
    assert!(diagnosis["centres"]["arrangement_ok"].is_boolean());
    let groups = &diagnosis["groups"];
    let of = groups["of"].as_u64().unwrap();
    assert!(groups["done"].as_u64().unwrap() <= of && groups["inner_done"].as_u64().unwrap() <= of);
    let case = &diagnosis["case"];
    assert!(
        case.is_null()
            || ["id", "title", "text"]
                .iter()
                .all(|key| case[key].is_string())
    );
    let wings = diagnosis["parities"]["wings"].as_array().unwrap();
    assert_eq!(wings.len() as u64, n / 2 - 1);
    for parity in ["flip", "swap"] {
        let told = &diagnosis["parities"][parity];
        let is_late = ["reduced", "solved"].contains(&diagnosis["stage"].as_str().unwrap());
        assert_eq!(told.is_boolean(), is_late, "{parity}");
        assert!(told.is_boolean() || told.is_null());
    }
    assert!(diagnosis["text"].is_string());
    let needs_none = ["solved", "illegal"].contains(&diagnosis["stage"].as_str().unwrap());
    assert_eq!(answer["advice"].is_null(), needs_none);
    if !needs_none {
        check_advice(&answer["advice"]);
    }
}

/// Checks the faces of an answer: n rows of n colour words.
pub fn check_faces(faces: &Value, n: u64) {
    const WORDS: [&str; 10] = [
        "white", "black", "grey", "yellow", "red", "orange", "blue", "green", "purple", "pink",
    ];
    for face in FACES {
        let rows = faces[face].as_array().unwrap();
        assert_eq!(rows.len() as u64, n, "{face}");
        for row in rows {
            let row = row.as_array().unwrap();
            assert_eq!(row.len() as u64, n, "{face}");
            assert!(
                row.iter()
                    .all(|word| WORDS.contains(&word.as_str().unwrap()))
            );
        }
    }
}

/// Checks advice, or a step of a way.
pub fn check_advice(advice: &Value) {
    for key in ["aim", "hold", "moves"] {
        assert!(advice[key].is_string(), "{key}");
    }
    let words = advice["words"].as_array().unwrap();
    let moves = advice["moves"].as_str().unwrap();
    assert_eq!(
        words.len(),
        moves.split(' ').count(),
        "a sentence for each move"
    );
    assert!(
        words
            .iter()
            .all(|words| words.as_str().unwrap().starts_with("Turn the "))
    );
    let reaches = &advice["reaches"];
    assert!(reaches["stage"].is_string());
    assert!(reaches["groups_done"].as_u64().unwrap() <= 12);
}

/// The order of a state.
pub fn order_of(state: &Value) -> usize {
    usize::try_from(state["n"].as_u64().unwrap()).unwrap()
}
