//! Each law kept and broken, first by hand, then at random.

use super::{Kind, check, check_in_words};
use crate::cube::piece::Pieces;
use crate::cube::{Layout, Sequence, State, Words};
use crate::testkit::scrambled;
use proptest::prelude::*;

const MESS: &str = "R U2 F' L D B' R2 U L' F D2 B";

/// A cube after moves with stickers put about: each cycle of places hands its stickers on.
fn spoiled(n: usize, moves: &str, cycles: &[&[u16]]) -> State {
    let steps = Sequence::for_order(moves, n).unwrap();
    let mut state = State::solved(n).after(&steps.0);
    for cycle in cycles {
        for pair in cycle.windows(2) {
            exchange(&mut state, pair[0], pair[1]);
        }
    }
    state
}

fn exchange(state: &mut State, one: u16, other: u16) {
    let (one, other) = (usize::from(one), usize::from(other));
    let (first, second) = (state.at(one), state.at(other));
    state.set(one, second);
    state.set(other, first);
}

/// The corner in a position turned one third clockwise.
fn twist(state: &mut State, position: usize) {
    let [a, b, c] = state.layout().corners[position].places;
    exchange(state, a, b);
    exchange(state, a, c);
}

fn kinds(state: &State) -> Vec<Kind> {
    check(state).into_iter().map(|fault| fault.kind).collect()
}

/// The kind, places and sentence of the only fault, in the colours of common practice.
fn expect(state: &State, kind: Kind, places: &[&str], text: &str) {
    let words = Words::new(["white", "red", "green", "yellow", "orange", "blue"]);
    let faults = check_in_words(state, &words);
    let [fault] = &faults[..] else {
        panic!("one fault was expected: {faults:#?}");
    };
    assert_eq!(fault.kind, kind);
    assert_eq!(fault.places, places, "{}", fault.text);
    assert_eq!(fault.text, text);
}

#[test]
fn a_twisted_corner() {
    for n in [2, 3, 4] {
        let mut state = State::solved(n);
        twist(&mut state, 0);
        assert_eq!(check(&state)[0].pieces, ["UFR"]);
        expect(
            &state,
            Kind::CornerTwist,
            &["UFR"],
            "The white-green-red corner at UFR is twisted a third of a turn clockwise; all the other corners \
             are home.",
        );
        twist(&mut state, 0);
        assert!(
            check(&state)[0]
                .text
                .contains("a third of a turn anticlockwise")
        );
        // Turned in the hands it is still the only one: x brings the corner at UFR to UBR.
        state.turn_all(&"x".parse::<Sequence>().unwrap().0);
        assert_eq!(check(&state)[0].places, ["UBR"]);
        assert_eq!(check(&state)[0].pieces, ["UFR"]);
        twist(&mut state, 6);
        assert_eq!(
            kinds(&state),
            [],
            "two corners twisted against each other can be"
        );
        twist(&mut state, 6);
        assert_eq!(check(&state)[0].places, ["UBR", "DBL"], "n = {n}");
    }
    let mut state = spoiled(3, MESS, &[]);
    twist(&mut state, 5);
    expect(
        &state,
        Kind::CornerTwist,
        &[],
        "One corner is twisted a third of a turn clockwise, or several that come to the same; which one cannot \
         be told while the corners are scrambled.",
    );
}

#[test]
fn a_flipped_midge() {
    let [a, b] = Layout::of(5).midges[8].places;
    expect(
        &spoiled(5, "", &[&[a, b]]),
        Kind::MidgeFlip,
        &["FR"],
        "The green-red midge at FR is flipped; all the other midges are home.",
    );
    expect(
        &spoiled(5, MESS, &[&[a, b]]),
        Kind::MidgeFlip,
        &[],
        "One midge is flipped, or an odd number of them; which one cannot be told while the midges are \
         scrambled.",
    );
}

#[test]
fn two_pieces_exchanged() {
    let layout = Layout::of(3);
    let [uf, ub] = [0, 2].map(|edge| layout.midges[edge].places);
    let midges: [&[u16]; 2] = [&[uf[0], ub[0]], &[uf[1], ub[1]]];
    expect(
        &spoiled(3, "", &midges),
        Kind::ExchangedPair,
        &["UF", "UB"],
        "The midges at UF and UB are exchanged; all the others are in their places.",
    );
    expect(
        &spoiled(3, MESS, &midges),
        Kind::ExchangedPair,
        &[],
        "Two corners or two midges are exchanged; which two cannot be told while the cube is scrambled.",
    );
    let [a, b] = [0, 6].map(|corner| layout.corners[corner].places);
    let corners: [&[u16]; 3] = [&[a[0], b[0]], &[a[1], b[1]], &[a[2], b[2]]];
    expect(
        &spoiled(3, "", &corners),
        Kind::ExchangedPair,
        &["UFR", "DBL"],
        "The corners at UFR and DBL are exchanged; all the others are in their places.",
    );
    let both = [midges.as_slice(), &corners].concat();
    assert_eq!(kinds(&spoiled(3, "", &both)), []);
}

#[test]
fn a_wing_with_exchanged_stickers() {
    let wing = &Layout::of(6).wing_orbits[1].wings[0];
    expect(
        &spoiled(6, "", &[&wing.places]),
        Kind::WingTurned,
        &[
            "inner wing of UF towards UFR",
            "inner wing of UF towards UFL",
        ],
        "Two white-green inner wings are alike, the inner wing of UF towards UFR and the inner wing of UF towards \
         UFL, where one should have its colours the other way round: in one of them the two stickers are \
         exchanged, or it was put in the wrong way round.",
    );
}

#[test]
fn a_mirrored_corner() {
    let [_, b, c] = Layout::of(2).corners[3].places;
    expect(
        &spoiled(2, "", &[&[b, c]]),
        Kind::CornerMirrored,
        &["UBR"],
        "The corner at UBR has the colours of the white-blue-red corner in mirror order: two of its stickers \
         are exchanged.",
    );
}

#[test]
fn pieces_that_cannot_be() {
    let layout = Layout::of(3);
    let u_of_uf = usize::from(layout.midges[0].places[0]);
    let mut state = State::solved(3);
    state.set(u_of_uf, crate::cube::Face::D);
    assert_eq!(kinds(&state), [Kind::ColourCount, Kind::MidgeTwice]);
    state.set(u_of_uf, crate::cube::Face::B);
    let words = Words::new(["white", "red", "green", "yellow", "orange", "blue"]);
    let texts: Vec<_> = check_in_words(&state, &words)
        .into_iter()
        .map(|fault| fault.text)
        .collect();
    assert_eq!(
        texts,
        [
            "There are 8 white and 10 blue stickers, but a 3×3×3 cube has 9 of each colour: a sticker is \
             misread, or was replaced by one of another colour.",
            "The midge at UF shows blue and green: blue and green lie on opposite faces and never meet on a \
             piece. Nowhere to be seen is a white-green midge.",
        ]
    );
}

#[test]
fn a_centre_in_the_wrong_orbit() {
    let orbits = &Layout::of(5).centre_orbits;
    // An x-centre of U against a t-centre of F.
    let state = spoiled(5, "", &[&[orbits[0].places[0], orbits[1].places[8]]]);
    assert_eq!(kinds(&state), [Kind::CentreCount, Kind::CentreCount]);
    let first = &check(&state)[0];
    assert_eq!(
        first.text,
        "Among the x-centres at row 2, column 2 of each face and a quarter turn on from there, 3 U and 5 F are \
         to be seen, but there must be 4 of each colour: centres never leave these places."
    );
    assert_eq!(first.places.len(), 5);
}

#[test]
fn caps_on_the_wrong_faces() {
    let fixed = &Layout::of(3).fixed_centres;
    let [u, _, f, d, ..] = fixed[..] else {
        panic!("six fixed centres");
    };
    expect(
        &spoiled(3, "", &[&[u, d]]),
        Kind::FixedCentres,
        &["U", "D"],
        "The fixed centres of U and D show yellow and white, which does not go with the corners: the middle of \
         a face never moves, so its cap was put on the wrong face or is misread.",
    );
    assert_eq!(kinds(&spoiled(3, MESS, &[&[u, f]])), [Kind::FixedCentres]);
}

/// A face read a quarter turn off spoils nearly all the pieces on its rim.
#[test]
fn more_than_a_slip() {
    let state = spoiled(6, MESS, &[]);
    let mut turned = state.clone();
    for row in 0..6 {
        for col in 0..6 {
            turned.set(72 + 6 * row + col, state.at(72 + 6 * (5 - col) + row));
        }
    }
    let [fault] = &check(&turned)[..] else {
        panic!("one fault was expected");
    };
    assert_eq!(fault.kind, Kind::ManyPieces);
    assert_eq!(
        fault.places.len().to_string(),
        fault.text.split(' ').next().unwrap()
    );
    assert!(fault.stickers.len() > 20);
}

/// What sort of piece a place belongs to, and which orbit of it.
fn orbit_of(layout: &Layout, place: u16) -> (&'static str, usize) {
    if layout.corners.iter().any(|c| c.places.contains(&place)) {
        return ("corner", 0);
    }
    if layout.midges.iter().any(|m| m.places.contains(&place)) {
        return ("midge", 0);
    }
    let wings = layout.wing_orbits.iter();
    let mut wings = wings.map(|orbit| orbit.wings.iter().any(|w| w.places.contains(&place)));
    if let Some(orbit) = wings.position(|here| here) {
        return ("wing", orbit);
    }
    let mut centres = layout.centre_orbits.iter();
    centres
        .position(|orbit| orbit.places.contains(&place))
        .map_or(("fixed", 0), |orbit| ("centre", orbit))
}

proptest! {
    #[test]
    fn a_reached_state_breaks_no_law(state in scrambled(2..=17)) {
        prop_assert_eq!(check(&state), []);
    }

    #[test]
    fn one_twisted_corner_is_found(mut state in scrambled(2..=17), at in 0..8_usize, twice: bool) {
        twist(&mut state, at);
        if twice {
            twist(&mut state, at);
        }
        prop_assert_eq!(kinds(&state), [Kind::CornerTwist]);
    }

    #[test]
    fn one_flipped_midge_is_found(mut state in scrambled(3..=17), at in 0..12_usize) {
        let Some(midge) = state.layout().midges.get(at) else {
            return Ok(());
        };
        exchange(&mut state, midge.places[0], midge.places[1]);
        prop_assert_eq!(kinds(&state), [Kind::MidgeFlip]);
    }

    #[test]
    fn one_turned_wing_is_found(
        mut state in scrambled(4..=17),
        orbit: prop::sample::Index,
        at in 0..24_usize,
    ) {
        let orbit = orbit.get(&state.layout().wing_orbits);
        let [p, q] = orbit.wings[at].places;
        exchange(&mut state, p, q);
        prop_assert_eq!(kinds(&state), [Kind::WingTurned]);
    }

    /// Two corners exchanged: impossible on an odd cube, possible on an even one.
    #[test]
    fn two_exchanged_corners(mut state in scrambled(2..=17), a in 0..8_usize, b in 0..8_usize) {
        prop_assume!(a != b);
        let [one, other] = [a, b].map(|corner| state.layout().corners[corner].places);
        for k in 0..3 {
            exchange(&mut state, one[k], other[k]);
        }
        let expected: &[Kind] = if state.n() % 2 == 1 { &[Kind::ExchangedPair] } else { &[] };
        prop_assert_eq!(kinds(&state), expected);
    }

    /// Wings of one orbit may be exchanged at will, each keeping its order of stickers.
    #[test]
    fn two_exchanged_wings_can_be(
        mut state in scrambled(4..=17),
        orbit: prop::sample::Index,
        a in 0..24_usize,
        b in 0..24_usize,
    ) {
        let wings = &orbit.get(&state.layout().wing_orbits).wings;
        let before = Pieces::of(&state);
        for k in 0..2 {
            exchange(&mut state, wings[a].places[k], wings[b].places[k]);
        }
        prop_assert_eq!(check(&state), []);
        let orbit = orbit.index(state.layout().wing_orbits.len());
        let flipped = Pieces::of(&state).wings_are_odd(orbit) != before.wings_are_odd(orbit);
        prop_assert_eq!(flipped, a != b);
    }

    /// Two stickers exchanged at random: possible within an orbit of centres, possible between two wings of an
    /// orbit if it amounts to exchanging the wings, impossible otherwise.
    #[test]
    fn two_exchanged_stickers(
        mut state in scrambled(2..=17),
        one: prop::sample::Index,
        other: prop::sample::Index,
    ) {
        let layout = state.layout();
        let [one, other] = [one, other].map(|index| index.index(layout.places()) as u16);
        prop_assume!(state.at(usize::from(one)) != state.at(usize::from(other)));
        let before = Pieces::of(&state);
        exchange(&mut state, one, other);
        let faults = check(&state);
        match [one, other].map(|place| orbit_of(layout, place)) {
            [("centre", a), ("centre", b)] if a == b => prop_assert_eq!(faults, []),
            [("wing", a), ("wing", b)] if a == b => {
                let sorted = |pieces: &Pieces| {
                    let mut wings = pieces.wings[a];
                    wings.sort_unstable();
                    wings
                };
                let are_exchanged = sorted(&before) == sorted(&Pieces::of(&state));
                prop_assert_eq!(faults.is_empty(), are_exchanged);
            }
            _ => prop_assert!(!faults.is_empty()),
        }
    }

    #[test]
    fn one_sticker_of_another_colour_is_found(
        mut state in scrambled(2..=17),
        at: prop::sample::Index,
        step in 1..6_usize,
    ) {
        let place = at.index(state.layout().places());
        let colour = crate::cube::Face::ALL[(state.at(place).index() + step) % 6];
        state.set(place, colour);
        prop_assert_eq!(kinds(&state)[0], Kind::ColourCount);
    }
}
