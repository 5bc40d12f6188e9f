//! Cubes spoiled in a known way: the way back must be among the smallest repairs.

use super::search::{Change, smallest};
use super::*;
use crate::cube::{Layout, Sequence, check, check_in_words};
use crate::testkit::scrambled;
use proptest::prelude::*;

const MESS: &str = "R U2 F' L D B' R2 U L' F D2 B";

fn after(n: usize, moves: &str) -> State {
    State::solved(n).after(&Sequence::for_order(moves, n).unwrap().0)
}

fn exchange(state: &mut State, one: u16, other: u16) {
    let (one, other) = (usize::from(one), usize::from(other));
    let (first, second) = (state.at(one), state.at(other));
    state.set(one, second);
    state.set(other, first);
}

fn twist(state: &mut State, position: usize) {
    let [a, b, c] = state.layout().corners[position].places;
    exchange(state, a, b);
    exchange(state, a, c);
}

fn told(state: &State) -> Repair {
    let words = Words::new(["white", "red", "green", "yellow", "orange", "blue"]);
    repair(state, &check_in_words(state, &words), &words).unwrap()
}

/// The repair's sentence and the steps of all its ways.
fn expect(state: &State, text: &str, ways: &[&[&str]]) {
    let repair = told(state);
    let found: Vec<Vec<&str>> = repair
        .ways
        .iter()
        .map(|way| way.steps.iter().map(|step| step.text.as_str()).collect())
        .collect();
    assert_eq!(repair.text, text, "{found:#?}");
    assert_eq!(found, ways);
}

#[test]
fn a_possible_cube_needs_none() {
    assert_eq!(repair(&after(5, MESS), &[], &Words::default()), None);
}

#[test]
fn a_twisted_corner() {
    let one = "No turning can mend this; one repair can.";
    for n in [2, 3, 6] {
        let mut state = State::solved(n);
        twist(&mut state, 0);
        expect(
            &state,
            one,
            &[&[
                "Twist the corner at UFR a third of a turn anticlockwise; any other corner would do as well, but this \
                 is the one that is twisted.",
            ]],
        );
    }
    let mut state = after(3, MESS);
    twist(&mut state, 4);
    twist(&mut state, 4);
    expect(
        &state,
        one,
        &[&["Twist any one corner a third of a turn clockwise; it does not matter which."]],
    );
    assert!(
        told(&state)
            .caution
            .is_some_and(|text| text.contains("stuck"))
    );
}

#[test]
fn a_flipped_midge_and_two_exchanged() {
    let layout = Layout::of(3);
    let [ub, ul] = [2, 3].map(|edge| layout.midges[edge].places);
    let mut state = State::solved(3);
    exchange(&mut state, ub[0], ub[1]);
    expect(
        &state,
        "No turning can mend this; one repair can.",
        &[&[
            "Take out the midge at UB and put it back the other way round; any other midge would do as well, but this \
             is the one that is flipped.",
        ]],
    );
    let mut state = after(3, MESS);
    exchange(&mut state, ub[0], ul[0]);
    exchange(&mut state, ub[1], ul[1]);
    exchange(&mut state, ub[0], ub[1]);
    expect(
        &state,
        "No turning can mend this; two repairs can, in two equally small ways.",
        &[
            &[
                "Take out any one midge and put it back the other way round; it does not matter which.",
                "Exchange any two corners; it does not matter which.",
            ],
            &[
                "Take out any one midge and put it back the other way round; it does not matter which.",
                "Exchange any two midges; it does not matter which.",
            ],
        ],
    );
    let mut state = State::solved(3);
    exchange(&mut state, ub[0], ul[0]);
    exchange(&mut state, ub[1], ul[1]);
    expect(
        &state,
        "No turning can mend this; one repair can.",
        &[&[
            "Exchange the midges at UB and UL; any two other midges, or any two corners, would do as well, but these \
             are in each other's place.",
        ]],
    );
}

/// A wing in the place of one that it shares a colour with, but the other way round, so that no one sticker can be the
/// wrong one: the piece is, and either of the two alike, for wings can be in any order.
#[test]
fn a_wing_twice() {
    let orbit = &Layout::of(6).wing_orbits[0];
    let mut state = State::solved(6);
    // The first wing of UF shows white and green, the second of UR red and white.
    for (&from, &to) in orbit.wings[0].places.iter().zip(&orbit.wings[3].places) {
        let sticker = state.at(usize::from(from));
        state.set(usize::from(to), sticker);
    }
    let text = |place: &str| {
        format!(
            "The outer wing of {place} (white-green) seems to be one of another cube: replace it by a red-white one."
        )
    };
    let (first, second) = (text("UR next to UFR"), text("UF next to UFR"));
    expect(
        &state,
        "No turning can mend this; one repair can, in two equally small ways.",
        &[&[&first], &[&second]],
    );
}

/// Either of the two alike wings may be the wrong one; the one that leaves the tidier cube comes first.
#[test]
fn a_turned_wing() {
    let wing = &Layout::of(4).wing_orbits[0].wings[1];
    let mut state = State::solved(4);
    exchange(&mut state, wing.places[0], wing.places[1]);
    expect(
        &state,
        "No turning can mend this; one repair can, in two equally small ways.",
        &[
            &[
                "Exchange the two stickers of the wing of UF next to UFL, or, if it can be taken out, put it in the \
               right way round.",
            ],
            &[
                "Exchange the two stickers of the wing of UF next to UFR, or, if it can be taken out, put it in the \
               right way round.",
            ],
        ],
    );
}

#[test]
fn stickers_exchanged_between_two_pieces() {
    let layout = Layout::of(4);
    let mut state = State::solved(4);
    // The U sticker of the corner at UFR against the F sticker of the wing of FL next to UFL. That makes two
    // white-orange wings of one hand; whichever gives its white sticker back, wings may sit anywhere.
    exchange(
        &mut state,
        layout.corners[0].places[0],
        layout.wing_orbits[0].wings[19].places[1],
    );
    expect(
        &state,
        "No turning can mend this; one repair can, in two equally small ways.",
        &[
            &["Exchange the stickers at U row 4, column 4 (green) and F row 2, column 1 (white)."],
            &["Exchange the stickers at U row 4, column 4 (green) and U row 2, column 1 (white)."],
        ],
    );
    assert_eq!(told(&state).caution, None, "nothing is to be taken out");
}

#[test]
fn a_sticker_of_the_wrong_colour() {
    let place = Layout::of(3).midges[0].places[0];
    let mut state = State::solved(3);
    state.set(usize::from(place), Face::R);
    // The green-red midge shows twice; whitening the other one would leave it flipped, one step more.
    expect(
        &state,
        "No turning can mend this; one repair can.",
        &[&[
            "The sticker at U row 3, column 2 shows red where white belongs: look whether it was misread, \
             otherwise replace it.",
        ]],
    );
}

#[test]
fn a_corner_of_another_cube() {
    let corner = &Layout::of(3).corners[0];
    let mut state = State::solved(3);
    for (&place, colour) in corner.places.iter().zip([Face::D, Face::B, Face::L]) {
        state.set(usize::from(place), colour);
    }
    let repair = told(&state);
    assert_eq!(repair.ways[0].steps.len(), 1);
    assert_eq!(
        repair.ways[0].steps[0].text,
        "The piece at UFR (yellow-blue-orange) seems to be one of another cube: replace it by a white-red-green one."
    );
}

/// A core with two opposite caps exchanged is its mirror image; exchanging any pair of opposite caps gives it back, in
/// one of three holds that differ by half turns, all possible. Neighbouring caps give it back in one way only.
#[test]
fn caps_on_the_wrong_faces() {
    let three = "No turning can mend this; one repair can, in three equally small ways; the one that leaves the tidiest \
                 cube comes first.";
    let caps = |axis: &str| format!("Exchange the caps in the middle of {axis}.");
    let opposite = ["U and D", "R and L", "F and B"].map(caps);
    for (n, mess) in [(3, ""), (3, "y"), (3, MESS), (5, "x"), (5, MESS), (7, "z2")] {
        let fixed = &Layout::of(n).fixed_centres;
        for (index, (one, other)) in [(0, 3), (1, 4), (2, 5)].into_iter().enumerate() {
            let original = after(n, mess);
            let mut state = original.clone();
            exchange(&mut state, fixed[one], fixed[other]);
            let repair = told(&state);
            assert_eq!(repair.text, three);
            let steps = repair.ways.iter().map(|way| match &way.steps[..] {
                [step] => step.text.clone(),
                steps => panic!("{steps:?}"),
            });
            let mut steps: Vec<String> = steps.collect();
            if mess != MESS {
                assert_eq!(steps[0], opposite[index], "{n} {mess}");
            }
            steps.sort_unstable();
            let mut expected = opposite.clone();
            expected.sort_unstable();
            assert_eq!(steps, expected, "{n} {mess}");
            assert!(is_given_back(&state, &original));
        }
    }
    let fixed = &Layout::of(5).fixed_centres;
    let mut state = after(5, MESS);
    exchange(&mut state, fixed[0], fixed[1]);
    expect(
        &state,
        "No turning can mend this; one repair can.",
        &[&["Exchange the caps in the middle of U and R."]],
    );
}

/// Colours drawn at random make no cube, and no promise is given.
#[test]
fn a_hopeless_cube() {
    let mut state = State::solved(7);
    for place in 0..294 {
        state.set(place, Face::ALL[(place * place + place / 7) % 6]);
    }
    let repair = told(&state);
    assert_eq!((repair.ways.len(), repair.ways_total), (0, 0));
    assert!(repair.text.contains("look at all stickers again"));
}

/// The stickers of `from`'s face of one cube, turned clockwise, put on a face of another.
fn read_onto(read: &mut State, onto: Face, original: &State, from: Face, quarters: usize) {
    let n = original.n();
    for row in 0..n {
        for col in 0..n {
            let (mut r, mut c) = (row, col);
            for _ in 0..quarters {
                (r, c) = (n - 1 - c, r);
            }
            let sticker = original.at(Spot {
                face: from,
                row: r,
                col: c,
            }
            .place(n));
            read.set(
                Spot {
                    face: onto,
                    row,
                    col,
                }
                .place(n),
                sticker,
            );
        }
    }
}

#[test]
fn faces_read_the_wrong_way_round() {
    let text = "As read, these stickers make no cube; with a face the other way round, or in another place, they do.";
    for n in [3, 4, 7] {
        let original = after(n, MESS);
        let mut read = original.clone();
        read_onto(&mut read, Face::L, &original, Face::L, 1);
        expect(
            &read,
            text,
            &[&["Read the L face turned a quarter anticlockwise."]],
        );

        let mut read = original.clone();
        read_onto(&mut read, Face::F, &original, Face::B, 0);
        read_onto(&mut read, Face::B, &original, Face::F, 2);
        expect(
            &read,
            text,
            &[&[
                "Read the faces F and B in each other's place.",
                "Read the F face turned half round.",
            ]],
        );
    }
}

/// Whether one of the smallest cures gives back this state.
fn is_given_back(spoiled: &State, original: &State) -> bool {
    smallest(spoiled)
        .iter()
        .any(|cure| cure.left == 0 && cure.state == *original)
}

proptest! {
    /// Two stickers exchanged (so that the cube cannot be): exchanging them back is among the smallest repairs,
    /// unless an exchange of whole pieces came of it.
    #[test]
    fn exchanged_stickers_are_found(
        state in scrambled(2..=8),
        one: prop::sample::Index,
        other: prop::sample::Index,
    ) {
        let [one, other] = [one, other].map(|index| index.index(state.layout().places()) as u16);
        let mut spoiled = state.clone();
        exchange(&mut spoiled, one, other);
        let faults = check(&spoiled);
        let is_a_sum = |fault: &Fault| matches!(
            fault.kind,
            crate::cube::Kind::MidgeFlip | crate::cube::Kind::ExchangedPair
        );
        prop_assume!(!faults.is_empty() && !faults.iter().all(is_a_sum));
        prop_assert!(is_given_back(&spoiled, &state));
        for cure in smallest(&spoiled) {
            prop_assert_eq!(cure.changes.len(), 1);
            prop_assert_eq!(cure.left, 0);
            prop_assert_eq!(check(&cure.state), []);
        }
    }

    #[test]
    fn a_recoloured_sticker_is_found(
        state in scrambled(2..=8),
        at: prop::sample::Index,
        step in 1..6_usize,
    ) {
        let place = at.index(state.layout().places());
        let mut spoiled = state.clone();
        spoiled.set(place, Face::ALL[(state.at(place).index() + step) % 6]);
        prop_assert!(is_given_back(&spoiled, &state));
        for cure in smallest(&spoiled) {
            prop_assert!(matches!(cure.changes[..], [Change::Recolour(..)]));
            prop_assert_eq!(check(&cure.state), []);
        }
    }

    /// Two independent exchanges: every repair told has at most two steps and makes the cube possible.
    #[test]
    fn two_exchanges_need_at_most_two_steps(
        state in scrambled(2..=6),
        places in prop::array::uniform4(any::<prop::sample::Index>()),
    ) {
        let [a, b, c, d] = places.map(|index| index.index(state.layout().places()) as u16);
        let mut spoiled = state.clone();
        exchange(&mut spoiled, a, b);
        exchange(&mut spoiled, c, d);
        let cures = smallest(&spoiled);
        prop_assert!(!cures.is_empty());
        for cure in cures {
            prop_assert!(cure.changes.len() + cure.left <= 2);
            prop_assert_eq!(check(&cure.state).len(), cure.left);
        }
    }
}
