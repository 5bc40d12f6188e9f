//! The photographs of `fixtures/photos`, read whole sets at a time and compared with what is known of them.

#![expect(
    clippy::unwrap_used,
    reason = "a test that cannot read its fixtures must fail"
)]

mod finding;
mod photos;

use photos::Cube;
use sixfold::assemble::{Assembly, assemble};
use sixfold::calibration::Calibration;
use std::collections::BTreeMap;
use std::time::Instant;

/// What became of a cube.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Verdict {
    /// Told as certain, every sticker right.
    Right,
    /// Told as doubtful.
    Unsure,
    /// No answer.
    Unread,
    /// Told as certain, something wrong.
    Wrong,
}

fn judge(cube: &Cube, found: &Assembly) -> (Verdict, usize) {
    let words: Vec<&str> = found
        .state
        .stickers()
        .iter()
        .map(|&sticker| found.scheme.colour(sticker).word())
        .collect();
    let agree = cube.agreement(&words);
    let is_lawful = sixfold::cube::check(&found.state).is_empty();
    let is_right = agree == words.len() && is_lawful == cube.truth.impossible.is_none();
    let verdict = match (is_right, found.confidence >= 0.99) {
        (true, true) => Verdict::Right,
        (false, true) => Verdict::Wrong,
        (_, false) => Verdict::Unsure,
    };
    (verdict, agree)
}

/// Given where the faces are, how far colours and pieces carry.
#[test]
fn assembled_with_true_corners() {
    let calibration = Calibration::built_in().unwrap();
    let mut table: BTreeMap<String, [usize; 4]> = BTreeMap::new();
    for cube in photos::whole_cubes() {
        let seen = cube.seen_with_true_corners();
        let begun = Instant::now();
        let result = assemble(&calibration, &seen);
        let millis = begun.elapsed().as_secs_f64() * 1e3;
        let verdict = match &result {
            Ok(found) => {
                let (verdict, agree) = judge(&cube, found);
                println!(
                    "{:<15}{:<12} {verdict:<7?} {agree:>4}/{:<4} confidence {:.6} doubts {:<3} {millis:6.1} ms",
                    cube.set,
                    cube.name,
                    found.state.stickers().len(),
                    found.confidence,
                    found.doubts.len(),
                );
                verdict
            }
            Err(problem) => {
                println!("{:<15}{:<12} {problem}", cube.set, cube.name);
                Verdict::Unread
            }
        };
        table.entry(cube.set).or_default()[verdict as usize] += 1;
    }
    println!(
        "{:<16}{:>6}{:>8}{:>8}{:>7}",
        "set", "right", "unsure", "unread", "WRONG"
    );
    for (set, [right, unsure, unread, wrong]) in &table {
        println!("{set:<16}{right:>6}{unsure:>8}{unread:>8}{wrong:>7}");
    }
    assert!(table.values().all(|row| row[Verdict::Wrong as usize] == 0));
    let right: Vec<(&str, usize)> = table
        .iter()
        .map(|(set, row)| (set.as_str(), row[Verdict::Right as usize]))
        .collect();
    let floors = [
        ("corners-easy", 2),
        ("corners-hard", 1),
        ("corners-normal", 4),
        ("faces-easy", 6),
        ("faces-hard", 2),
        ("faces-normal", 7),
    ];
    for ((set, met), (of, floor)) in right.into_iter().zip(floors) {
        assert_eq!(set, of);
        assert!(met >= floor, "{set}: {met} right, {floor} were before");
    }
}
