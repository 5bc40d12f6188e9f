//! The photographs of `fixtures/photos`, read whole sets at a time and compared with what is known of them.

#![expect(
    clippy::unwrap_used,
    reason = "a test that cannot read its fixtures must fail"
)]

mod attacked;
mod finding;
mod photos;
mod simulated;
mod sorted;
mod warped;

use photos::Cube;
use simulated::{Dice, Light, Reliability};
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
    let words = words(found);
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

/// The words of an assembly's stickers in the order of place numbers.
fn words(found: &Assembly) -> Vec<&'static str> {
    let stickers = found.state.stickers().iter();
    stickers
        .map(|&sticker| found.scheme.colour(sticker).word())
        .collect()
}

/// How many sets a test of many makes: SETS in the environment asks for more.
fn sets(usual: usize) -> usize {
    std::env::var("SETS").map_or(usual, |count| count.parse().unwrap())
}

/// The numbers of the sets: FROM in the environment begins elsewhere.
fn numbers(usual: usize) -> std::ops::Range<usize> {
    let from = std::env::var("FROM").map_or(0, |from| from.parse().unwrap());
    from..from + sets(usual)
}

/// Told as certain, at most one in ten thousand is wrong; and what is told is as sure as it is said to be.
#[test]
fn confidence_is_kept_on_made_up_photographs() {
    let calibration = Calibration::built_in().unwrap();
    let mut all = Reliability::default();
    let mut by_size: BTreeMap<(usize, Light), [usize; 4]> = BTreeMap::new();
    for index in numbers(120) {
        let n = [2, 3, 4, 5, 6, 3, 2, 4, 6, 7][index % 10];
        let light = Light::ALL[index / 10 % 3];
        let scene = simulated::scene(&mut Dice::nth(7, index), &calibration, n, light);
        let verdict = match assemble(&calibration, &scene.photos) {
            Ok(found) => {
                let agree = simulated::agreement(&scene, &words(&found));
                let is_right = agree == 6 * n * n;
                all.add(found.confidence, is_right);
                if !is_right && found.confidence >= 0.99 {
                    println!(
                        "WRONG: set {index}, n = {n}, {light:?}, confidence {:.5}, {agree} of {} stickers; true faults {:?}, read {:?}",
                        found.confidence,
                        6 * n * n,
                        faults(&scene.state),
                        faults(&found.state),
                    );
                }
                match (is_right, found.confidence >= 0.99) {
                    (true, true) => Verdict::Right,
                    (false, true) => Verdict::Wrong,
                    (_, false) => Verdict::Unsure,
                }
            }
            Err(_) => Verdict::Unread,
        };
        by_size.entry((n, light)).or_default()[verdict as usize] += 1;
    }
    println!(
        "{:<16}{:>6}{:>8}{:>8}{:>7}",
        "n light", "right", "unsure", "unread", "WRONG"
    );
    for ((n, light), [right, unsure, unread, wrong]) in &by_size {
        let title = format!("{n} {light:?}");
        println!("{title:<16}{right:>6}{unsure:>8}{unread:>8}{wrong:>7}");
    }
    println!("made-up photographs\n{}", all.lines().join("\n"));
    let (told, wrong) = all.told();
    assert!(wrong * 10_000 <= told, "{wrong} of {told} wrong");
    assert!(told * 2 > sets(120), "only {told} told as certain");
}

fn faults(state: &sixfold::cube::State) -> Vec<String> {
    let found = sixfold::cube::check(state);
    found
        .iter()
        .map(|fault| format!("{:?}", fault.kind))
        .collect()
}

/// A cube with grey where others have white is called so: its lightness beside the other colours tells.
#[test]
fn grey_is_told_from_white_and_black() {
    let calibration = Calibration::built_in().unwrap();
    let mut kinds = calibration.shade_sets.iter();
    let grey = kinds.rfind(|set| set.name == "grey-for-white");
    let (mut told, mut rightly) = (0, 0);
    for index in 0..sets(12) {
        let dice = &mut Dice::nth(31, index);
        let n = 3 + index % 3;
        let state = simulated::any_state(dice, n);
        let paints = simulated::paints_of(dice, grey.unwrap());
        let scene = simulated::photographed(dice, state, paints, Light::ALL[index / 3 % 2]);
        if let Ok(found) = assemble(&calibration, &scene.photos)
            && found.confidence >= 0.99
        {
            told += 1;
            rightly += usize::from(words(&found).contains(&"grey"));
        }
    }
    println!("{rightly} of {told} told with grey");
    assert!(told * 2 > sets(12) && rightly * 4 >= told * 3);
}

/// The same on the fixtures' own stickers in another light.
#[test]
fn confidence_is_kept_in_another_light() {
    let calibration = Calibration::built_in().unwrap();
    let mut all = Reliability::default();
    let cubes: Vec<_> = photos::whole_cubes()
        .into_iter()
        // A cube of 11×11×11 takes as long as ten others.
        .filter(|cube| cube.truth.n < 9 || sets(0) > 0)
        .map(|cube| (cube.seen_with_true_corners(), cube))
        .collect();
    for index in numbers(2 * cubes.len()) {
        let (seen, cube) = &cubes[index % cubes.len()];
        let light = Light::ALL[index / cubes.len() % 3];
        let seen = simulated::relit(&mut Dice::nth(11, index), seen, light);
        if let Ok(found) = assemble(&calibration, &seen) {
            let (verdict, agree) = judge(cube, &found);
            all.add(found.confidence, agree == 6 * cube.truth.n.pow(2));
            if verdict == Verdict::Wrong {
                println!(
                    "WRONG: set {index}, {} {light:?}, confidence {:.5}, {agree} stickers",
                    cube.name, found.confidence
                );
            }
        }
    }
    println!("the fixtures in another light\n{}", all.lines().join("\n"));
    let (told, wrong) = all.told();
    assert!(wrong * 10_000 <= told, "{wrong} of {told} wrong");
}
