//! Stages, parities and sentences.

use super::*;
use crate::cube::{Hold, Move, Quarter, Sequence};
use crate::testkit::{any_move, exchange_cells, scrambled};
use proptest::prelude::*;

/// A flip parity made by practice's sequence (common practice, no source; its effect was established by an
/// independent simulation): the group at UF flipped, two corners and two whole groups exchanged.
const FLIP_OF_SIX: &str = "3Rw2 B2 U2 3Lw U2 3Rw' U2 3Rw U2 F2 3Rw F2 3Lw' B2 3Rw2";

/// Likewise a swap parity of the 4×4×4.
const SWAP_OF_FOUR: &str = "Rw2 R2 U2 Rw2 R2 Uw2 Rw2 R2 Uw2";

fn after(n: usize, moves: &str) -> State {
    State::solved(n).after(&Sequence::for_order(moves, n).unwrap().0)
}

fn found(state: &State) -> Diagnosis {
    let words = Words::new(["white", "red", "green", "yellow", "orange", "blue"]);
    examine(state, &words).1
}

fn check(n: usize, moves: &str, stage: Stage, text: &str) {
    let found = found(&after(n, moves));
    assert_eq!(
        (found.stage, found.text.as_str()),
        (stage, text),
        "{n}: {moves}"
    );
}

#[test]
fn a_solved_cube_is_solved_in_every_hold() {
    for n in 2..=17 {
        for hold in Hold::all() {
            let found = found(&State::solved(n).after(&hold.sequence().0));
            assert_eq!(found.stage, Stage::Solved);
            assert_eq!(
                (found.parities.flip, found.parities.swap),
                (Some(false), Some(false))
            );
            assert_eq!(found.case, None);
        }
    }
}

#[test]
fn stages_and_their_sentences() {
    let reduced = "The cube is reduced: from here it turns like a 3×3×3.";
    check(4, "R U2 F' L", Stage::Reduced, reduced);
    check(7, "R U2 F' L x", Stage::Reduced, reduced);
    check(
        3,
        "R",
        Stage::Reduced,
        "A 3×3×3 has nothing to pair: it is solved layer by layer.",
    );
    check(
        2,
        "R",
        Stage::Reduced,
        "A 2×2×2 has neither centres nor edges: only the corners are to be solved.",
    );
    check(
        4,
        "Rw",
        Stage::Centres,
        "Two of the six centres are whole (red and orange).",
    );
    check(
        5,
        "Rw Uw Fw",
        Stage::Centres,
        "No centre is whole yet: the centres come first.",
    );
    // Each round opens two groups; the half turn of the cube puts the second round on two others.
    let rounds = "Uw' L' F U' L F' Uw z2 Uw' L' F U' L F' Uw";
    check(
        5,
        rounds,
        Stage::Pairing,
        "The centres are whole; eight of the twelve edge groups are paired.",
    );
    check(
        6,
        rounds,
        Stage::Pairing,
        "The centres are whole; eight of the twelve edge groups are paired; the inner parts of all are.",
    );
}

/// Source: the table of an independent enumeration; its fixes, undone, make the cases.
#[test]
fn last_groups() {
    let made = |n, fix: &str| {
        let steps = Sequence::for_order(fix, n).unwrap().inverse();
        found(&State::solved(n).after(&steps.0))
    };
    let four = made(4, "Rw' B2 U2 F2 D2 Rw'");
    assert_eq!((four.stage, four.groups.done), (Stage::LastGroups, 10));
    assert_eq!((four.parities.flip, four.parities.swap), (None, None));
    let case = four.case.unwrap();
    assert_eq!((case.id.as_str(), case.parity), ("groups-ab-ba", false));
    assert!(
        four.text
            .ends_with("are open: one wing of each group exchanged."),
        "{}",
        four.text
    );

    let five = made(5, "Lw2 B2 Rw' U2 Lw' B2 D2 Rw2 U2 Lw' U2 Lw' B2 Lw");
    assert_eq!((five.stage, five.groups.done), (Stage::LastGroups, 11));
    let case = five.case.unwrap();
    assert_eq!((case.id.as_str(), case.parity), ("groups-axa", true));

    let six = made(6, "Uw' L' F U' L F' Uw");
    assert_eq!(six.groups.inner_done, 12);
    let case = six.case.unwrap();
    assert_eq!((case.id.as_str(), case.parity), ("groups-aaab-byya", false));
}

#[test]
fn parities_of_reduced_cubes() {
    let check = |n, moves: &str, wings: &[bool], flip, swap, id: Option<&str>| {
        let found = found(&after(n, moves));
        assert_eq!(found.stage, Stage::Reduced, "{moves}");
        let wings: Vec<_> = wings.iter().copied().map(Some).collect();
        assert_eq!(found.parities.wings, wings, "{moves}");
        assert_eq!(
            (found.parities.flip, found.parities.swap),
            (Some(flip), Some(swap))
        );
        assert_eq!(found.case.map(|case| case.id).as_deref(), id);
    };
    check(
        6,
        FLIP_OF_SIX,
        &[true, true],
        true,
        false,
        Some("parity-flip"),
    );
    check(4, SWAP_OF_FOUR, &[false], false, true, Some("parity-swap"));
    let both = SWAP_OF_FOUR.to_owned() + " " + &FLIP_OF_SIX.replace('3', "");
    check(4, &both, &[true], true, true, Some("parity-flip-swap"));
    check(6, "R", &[false, false], false, false, None);
}

#[test]
fn an_illegal_cube_is_told_first() {
    let mut state = State::solved(4);
    let [a, b, c] = state.layout().corners[0].places.map(usize::from);
    for (place, sticker) in [(a, Face::F), (b, Face::U), (c, Face::R)] {
        state.set(place, sticker);
    }
    let (legality, found) = examine(&state, &Words::default());
    assert!(!legality.legal);
    assert_eq!(found.stage, Stage::Illegal);
    assert_eq!(
        found.text,
        "No turning can solve this cube. The U-F-R corner at UFR is twisted a third of a turn clockwise; all the \
         other corners are home."
    );
}

/// The keys other programs rely on.
#[test]
fn the_json_has_the_promised_shape() {
    let (legality, found) = examine(&after(6, FLIP_OF_SIX), &Words::default());
    let json = serde_json::to_value(&found).unwrap();
    assert_eq!(json["stage"], "reduced");
    assert_eq!(
        json["centres"]["done"],
        serde_json::json!(["U", "R", "F", "D", "L", "B"])
    );
    assert_eq!(json["centres"]["arrangement_ok"], true);
    assert_eq!(
        json["groups"],
        serde_json::json!({"done": 12, "of": 12, "inner_done": 12})
    );
    assert_eq!(json["case"]["id"], "parity-flip");
    assert!(json["case"]["title"].is_string() && json["case"]["text"].is_string());
    assert_eq!(
        json["parities"],
        serde_json::json!({"wings": [true, true], "flip": true, "swap": false})
    );
    assert_eq!(
        serde_json::to_value(&legality).unwrap(),
        serde_json::json!({"legal": true, "faults": []})
    );
}

/// Turns of outer layers and of the whole cube.
fn outer_moves(n: usize) -> impl Strategy<Value = Vec<Move>> {
    let outer = any_move(n).prop_map(|step| match step {
        Move::Block { face, quarter, .. } => Move::Block {
            face,
            layers: 1,
            quarter,
        },
        rotation @ Move::Rotation { .. } => rotation,
    });
    prop::collection::vec(outer, 0..40)
}

proptest! {
    /// Outer turns and other holds change neither flip nor swap parity of a reduced cube.
    #[test]
    fn parities_last_under_outer_turns(steps in outer_moves(4), flip: bool, swap: bool) {
        let mut state = State::solved(4);
        if flip {
            state = state.after(&Sequence::for_order(&FLIP_OF_SIX.replace('3', ""), 4).unwrap().0);
        }
        if swap {
            state = state.after(&Sequence::for_order(SWAP_OF_FOUR, 4).unwrap().0);
        }
        let found = found(&state.after(&steps));
        prop_assert!(found.stage >= Stage::Reduced);
        prop_assert_eq!((found.parities.flip, found.parities.swap), (Some(flip), Some(swap)));
        prop_assert_eq!(found.parities.wings, [Some(flip)]);
    }

    /// An odd cube has neither parity once it is reduced.
    #[test]
    fn a_reduced_odd_cube_has_no_parity(steps in outer_moves(7)) {
        let found = found(&State::solved(7).after(&steps));
        prop_assert!(found.stage >= Stage::Reduced);
        prop_assert_eq!((found.parities.flip, found.parities.swap), (Some(false), Some(false)));
        prop_assert_eq!(found.case, None);
    }

    /// The diagnosis of a reached state does not depend on the hold.
    #[test]
    fn the_hold_does_not_matter(state in scrambled(2..=11), hold in 0..24_usize) {
        let turned = state.after(&Hold::all()[hold].sequence().0);
        let (one, other) = (found(&state), found(&turned));
        prop_assert_eq!(one.stage, other.stage);
        prop_assert_eq!(one.groups, other.groups);
        prop_assert_eq!(one.parities, other.parities);
        prop_assert_eq!(one.case.map(|case| case.id), other.case.map(|case| case.id));
        prop_assert_eq!(one.centres.done.len(), other.centres.done.len());
    }

    /// One quarter turn of the slice that holds an orbit, alone, makes that orbit odd and no other.
    #[test]
    fn a_slice_turn_changes_its_own_orbit_only(state in scrambled(4..=11), depth in 2..6_usize) {
        let n = state.n();
        prop_assume!(depth <= n / 2);
        let block = |layers, quarter| Move::Block { face: Face::R, layers, quarter };
        let slice = [block(depth, Quarter::Clockwise), block(depth - 1, Quarter::Anticlockwise)];
        let (before, turned) = (found(&state).parities.wings, found(&state.after(&slice)).parities.wings);
        for (index, (one, other)) in before.iter().zip(&turned).enumerate() {
            let layer = n / 2 - index;
            prop_assert_eq!(one != other, layer == depth);
        }
    }
}

/// The cubes of the photographs, as painted: `(folder, truth)`.
fn painted_cubes() -> Vec<(String, serde_json::Value)> {
    let photos = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/photos");
    let folders_in = |folder: &std::path::Path| -> Vec<std::path::PathBuf> {
        let mut found: Vec<_> = std::fs::read_dir(folder)
            .unwrap()
            .map(|entry| entry.unwrap().path())
            .filter(|path| path.is_dir())
            .collect();
        found.sort();
        found
    };
    let mut cubes = Vec::new();
    for set in folders_in(&photos) {
        for cube in folders_in(&set) {
            let Ok(text) = std::fs::read_to_string(cube.join("truth.json")) else {
                continue;
            };
            let name = cube.file_name().unwrap().to_string_lossy().into_owned();
            cubes.push((name, serde_json::from_str(&text).unwrap()));
        }
    }
    cubes
}

/// Source: the truth beside each photograph, written by the program that painted the cubes: the scheme, whether the
/// cube is possible and what was done to it, and the stage.
#[test]
fn the_cubes_of_the_photographs() {
    let cubes = painted_cubes();
    assert!(cubes.len() >= 30, "{} cubes", cubes.len());
    for (name, truth) in cubes {
        let n = truth["n"].as_u64().unwrap() as usize;
        let colours = Face::ALL.map(|face| truth["scheme"][face.to_string()].as_str().unwrap());
        let mut labels = Vec::new();
        for face in Face::ALL {
            for row in truth["faces"][face.to_string()].as_array().unwrap() {
                for colour in row.as_array().unwrap() {
                    let label = colours.iter().position(|&word| colour == word).unwrap();
                    labels.push(label as u8);
                }
            }
        }
        let known: Vec<_> = labels.iter().copied().map(Some).collect();
        let homes = crate::cube::find_homes(n, &known, None).unwrap();
        let painted = crate::cube::Homes::new([0, 1, 2, 3, 4, 5]).unwrap();
        assert!(homes.is_turned(painted), "{name}: scheme");
        let state = homes.state(n, &labels).unwrap();
        let (legality, found) = examine(&state, &Words::default());
        let kinds: Vec<_> = legality.faults.iter().map(|fault| fault.kind).collect();
        if let Some(damage) = truth["impossible"].as_object() {
            assert_eq!(found.stage, Stage::Illegal, "{name}");
            let repair = repair(&state, &legality.faults, &Words::default()).unwrap();
            check_damage(&name, damage, &kinds, &repair);
            continue;
        }
        assert_eq!(kinds, [], "{name}");
        let expected = match truth["stage"].as_str().unwrap() {
            "scrambled" if n <= 3 => Stage::Reduced,
            "scrambled" => Stage::Centres,
            "centres-done" => Stage::Pairing,
            "all-edges-but-two" => Stage::LastGroups,
            "reduced" => Stage::Reduced,
            _ => Stage::Solved,
        };
        assert_eq!(found.stage, expected, "{name}");
    }
}

/// The damage done is named, and mending it is among the smallest repairs.
fn check_damage(
    name: &str,
    damage: &serde_json::Map<String, serde_json::Value>,
    kinds: &[crate::cube::Kind],
    repair: &Repair,
) {
    use crate::cube::Kind;
    let touched: Vec<crate::cube::Spot> =
        serde_json::from_value(damage["stickers"].clone()).unwrap();
    let mends = |way: &repair::Way| {
        way.steps.len() == 1
            && touched
                .iter()
                .all(|spot| way.steps[0].stickers.contains(spot))
    };
    match damage["kind"].as_str().unwrap() {
        "corner-twisted" => assert_eq!(kinds, [Kind::CornerTwist], "{name}"),
        "wing-flipped" => {
            assert_eq!(kinds, [Kind::WingTurned], "{name}");
            assert!(repair.ways.iter().any(mends), "{name}: {repair:?}");
        }
        _ => assert!(repair.ways.iter().any(mends), "{name}: {repair:?}"),
    }
}

/// Two centres that differ in a few stickers each, the other four being whole.
#[test]
fn the_last_two_centres_are_named() {
    let said = |n: usize, one: Face, other: Face, spots: &[(usize, usize)], turns: &str| {
        let mut state = State::solved(n);
        exchange_cells(&mut state, [one, other], spots.iter().copied());
        let state = state.after(&turns.parse::<Sequence>().unwrap().0);
        examine(
            &state,
            &Words::new(["white", "red", "green", "yellow", "orange", "blue"]),
        )
        .1
        .text
    };
    assert_eq!(
        said(6, Face::F, Face::R, &[(1, 1), (1, 2)], "U D'"),
        "Four of the six centres are whole (white, yellow, orange and blue). Only the last two are open, side by \
         side: red belongs on R and green on F, where 14 of the 16 stickers are right on each."
    );
    assert_eq!(
        said(5, Face::U, Face::D, &[(1, 1), (1, 2), (3, 3)], "R2 F"),
        "Four of the six centres are whole (red, green, orange and blue). Only the last two are open, opposite each \
         other: white belongs on U and yellow on D, where 6 of the 9 stickers are right on each."
    );
    // Turned in the hands: red lies in front and green on the left.
    assert_eq!(
        said(4, Face::F, Face::R, &[(1, 1)], "y"),
        "Four of the six centres are whole (white, blue, yellow and orange). Only the last two are open, side by \
         side: red belongs on F and green on L, where 3 of the 4 stickers are right on each."
    );
}

/// Layers are called outer, inner, innermost, second, third and so on.
#[test]
fn titles_have_the_right_article() {
    for key in Key::all(8).into_iter().chain(Key::all(9)) {
        let title = Case::of_key(key).title;
        let words: Vec<&str> = title.split(' ').collect();
        for pair in words.windows(2) {
            let before_vowel = pair[1].starts_with(['a', 'e', 'i', 'o', 'u']);
            let is_right = match pair[0].to_lowercase().as_str() {
                "a" => !before_vowel,
                "an" => before_vowel,
                _ => true,
            };
            assert!(is_right, "{title}");
        }
    }
}
