//! Laws of the whole room, on random legal states.

use super::*;
use crate::cube::{Face, Layout, Move, Quarter, Sequence, State};
use crate::diagnose::{Stage, diagnose};

/// A small source of random numbers (splitmix64, a public-domain generator by S. Vigna).
pub(super) struct Dice(u64);

impl Dice {
    pub(super) const fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    pub(super) fn below(&mut self, end: usize) -> usize {
        (self.next() % end as u64) as usize
    }

    pub(super) fn shuffled(&mut self, count: usize) -> Vec<usize> {
        let mut items: Vec<usize> = (0..count).collect();
        for at in (1..count).rev() {
            items.swap(at, self.below(at + 1));
        }
        items
    }
}

fn is_odd(items: &[usize]) -> bool {
    let mut pairs = 0;
    for (at, first) in items.iter().enumerate() {
        pairs += items[at..].iter().filter(|&second| second < first).count();
    }
    pairs % 2 == 1
}

/// A state drawn evenly from all that the laws allow: every piece kind shuffled by itself, then mended to obey
/// laws 1 to 3 (source: the table of laws, which GAP's group orders confirm for n = 2 to 7).
pub(super) fn random_state(n: usize, dice: &mut Dice) -> State {
    let layout = Layout::of(n);
    let solved = State::solved(n);
    let mut state = solved.clone();
    let mut corners = dice.shuffled(8);
    let mut midges = dice.shuffled(12);
    if n % 2 == 1 && is_odd(&corners) != is_odd(&midges) {
        corners.swap(0, 1);
    }
    let mut twists: Vec<usize> = (0..8).map(|_| dice.below(3)).collect();
    twists[7] = (21 - twists[..7].iter().sum::<usize>()) % 3;
    for (at, corner) in layout.corners.iter().enumerate() {
        let piece = &layout.corners[corners[at]];
        for k in 0..3 {
            let sticker = solved.at(usize::from(piece.places[k]));
            state.set(usize::from(corner.places[(k + twists[at]) % 3]), sticker);
        }
    }
    let mut flips: Vec<usize> = (0..12).map(|_| dice.below(2)).collect();
    flips[11] = flips[..11].iter().sum::<usize>() % 2;
    for (at, midge) in layout.midges.iter().enumerate() {
        let piece = &layout.midges[midges[at]];
        for k in 0..2 {
            let sticker = solved.at(usize::from(piece.places[k]));
            state.set(usize::from(midge.places[(k + flips[at]) % 2]), sticker);
        }
    }
    midges.clear();
    for orbit in &layout.wing_orbits {
        let order = dice.shuffled(24);
        for (at, wing) in orbit.wings.iter().enumerate() {
            for k in 0..2 {
                let sticker = solved.at(usize::from(orbit.wings[order[at]].places[k]));
                state.set(usize::from(wing.places[k]), sticker);
            }
        }
    }
    for orbit in &layout.centre_orbits {
        let order = dice.shuffled(24);
        for (at, &place) in orbit.places.iter().enumerate() {
            state.set(
                usize::from(place),
                solved.at(usize::from(orbit.places[order[at]])),
            );
        }
    }
    state
}

/// A random reduced cube: 30 outer turns from solved.
pub(super) fn reduced_state(n: usize, dice: &mut Dice) -> State {
    let turns: Vec<crate::cube::Move> = (0..30)
        .map(|_| crate::cube::Move::Block {
            face: Face::ALL[dice.below(6)],
            layers: 1,
            quarter: crate::cube::Quarter::ALL[dice.below(3)],
        })
        .collect();
    State::solved(n).after(&turns)
}

/// Makes every step on the state and returns what comes out.
fn followed(state: &State, steps: &[Step]) -> State {
    steps.iter().fold(state.clone(), |state, step| {
        state.after(&step.hold.0).after(&step.moves.0)
    })
}

fn is_one_colour_a_face(state: &State) -> bool {
    Face::ALL.iter().all(|face| {
        let area = state.n() * state.n();
        let stickers = &state.stickers()[face.index() * area..][..area];
        stickers.iter().all(|&sticker| sticker == stickers[0])
    })
}

/// Solves random states, following the steps on a cube of its own: so many, or with `ROUTES` in the environment that
/// many, a tenth of it from the 8×8×8 on. Prints how long the ways are.
fn check_routes(n: usize, usual: usize) {
    let wanted = std::env::var("ROUTES").ok();
    let wanted = wanted.map(|count| count.parse::<usize>().unwrap());
    let count = wanted.map_or(usual, |count| if n < 8 { count } else { count / 10 });
    let (mut sum, mut worst) = (0, 0);
    let mut dice = Dice::new(n as u64);
    for index in 0..count {
        let state = random_state(n, &mut dice);
        let found = route(&state).unwrap_or_else(|error| panic!("{n} {index}: {error}\n{state:?}"));
        let solved = found.steps.iter().fold(state.clone(), |state, step| {
            let found = diagnose(&state, &[], &crate::cube::Words::default());
            assert_eq!(step.stage, found.stage, "{n} {index}: {step:?}\n{state:?}");
            followed(&state, std::slice::from_ref(step))
        });
        assert!(is_one_colour_a_face(&solved), "{n} {index}: {state:?}");
        let turns = found.steps.iter().map(|step| step.moves.block_turns());
        assert_eq!(found.moves_total, turns.sum::<usize>());
        sum += found.moves_total;
        worst = worst.max(found.moves_total);
    }
    let mean = sum as f64 / count as f64;
    println!("{n}×{n}×{n}: {count} ways, {mean:.1} turns on average, {worst} at most");
}

#[test]
fn every_small_state_has_a_route() {
    for (n, count) in [(2, 60), (3, 40), (4, 24), (5, 12), (6, 12), (7, 6)] {
        check_routes(n, count);
    }
}

#[test]
fn every_large_state_has_a_route() {
    for (n, count) in [(8, 4), (9, 3), (10, 2), (11, 2), (12, 1), (13, 1)] {
        check_routes(n, count);
    }
}

#[test]
fn a_solved_cube_needs_nothing_in_any_hold() {
    for n in 2..=11 {
        for hold in crate::cube::Hold::all() {
            let state = State::solved(n).after(&hold.sequence().0);
            assert_eq!(route(&state).unwrap().steps, [], "n = {n}, {hold:?}");
        }
    }
}

#[test]
fn an_impossible_cube_is_refused() {
    let mut state = State::solved(5);
    let [one, other] = state.layout().midges[0].places;
    let (first, second) = (state.at(usize::from(one)), state.at(usize::from(other)));
    state.set(usize::from(one), second);
    state.set(usize::from(other), first);
    assert_eq!(route(&state), Err(Error::Illegal));
}

/// Asked step by step, each time from the state in hand and however it is held, the way ends as well, and no state comes
/// twice; on the last 7×7×7 two bars once took turns for ever, each undoing the other.
#[test]
fn the_next_step_leads_on() {
    for seed in (1..8).chain([51]) {
        let mut dice = Dice::new(seed);
        for (n, most) in [(5, 80), (7, 140), (2, 20), (3, 40), (4, 70), (6, 110)] {
            let mut state = random_state(n, &mut dice);
            let mut seen = std::collections::BTreeSet::new();
            while let Some(advice) = advise(&state).unwrap() {
                let holds = crate::cube::Hold::all().iter();
                let held = holds.map(|hold| state.after(&hold.sequence().0).stickers().to_vec());
                assert!(seen.insert(held.min()), "n = {n}, {seed}: {state:?}");
                assert!(seen.len() <= most, "n = {n}, {seed}");
                state = followed(&state, &[advice.step]);
            }
            assert!(is_one_colour_a_face(&state));
        }
    }
}

/// All states one, two and three outer turns from solved: the whole way is no longer than the way there, and its first
/// step is what is told first. Of those three turns away a few, or all with `EVERY` in the environment.
#[test]
fn near_solved_the_way_is_the_way_back() {
    let turns: Vec<Move> = Face::ALL
        .into_iter()
        .flat_map(|face| {
            Quarter::ALL.map(|quarter| Move::Block {
                face,
                layers: 1,
                quarter,
            })
        })
        .collect();
    let apart = if std::env::var("EVERY").is_ok() {
        1
    } else {
        29
    };
    for n in [2, 3, 4] {
        let mut seen = std::collections::BTreeSet::new();
        let mut states = vec![State::solved(n)];
        seen.insert(states[0].stickers().to_vec());
        for away in 1..=3 {
            let mut further = Vec::new();
            for state in &states {
                for &turn in &turns {
                    let next = state.after(&[turn]);
                    if seen.insert(next.stickers().to_vec()) {
                        further.push(next);
                    }
                }
            }
            for state in further.iter().step_by(if away < 3 { 1 } else { apart }) {
                let found = route(state).unwrap();
                assert!(found.moves_total <= away, "n = {n}: {found:?}");
                assert!(is_one_colour_a_face(&followed(state, &found.steps)));
                let told = advise(state).unwrap().map(|advice| advice.step);
                assert_eq!(found.steps.first(), told.as_ref(), "n = {n}");
            }
            states = further;
        }
        println!("{n}: {} states", seen.len());
    }
}

/// From the middle of a sequence, too, the whole way begins with what is told first.
#[test]
fn the_way_begins_with_what_is_told() {
    let mut dice = Dice::new(41);
    let sequence = "Rw2 B2 U2 Lw U2 Rw' U2 Rw U2 F2 Rw F2 Lw' B2 Rw2";
    for n in [4, 5, 6, 7] {
        let moves = Sequence::for_order(sequence, n).unwrap().0;
        let reduced = reduced_state(n, &mut dice);
        for made in 0..moves.len() {
            let state = reduced.after(&moves[..made]);
            let found = route(&state).unwrap();
            let told = advise(&state).unwrap().map(|advice| advice.step);
            assert_eq!(found.steps.first(), told.as_ref(), "n = {n}, {made}");
            assert!(is_one_colour_a_face(&followed(&state, &found.steps)));
        }
    }
}

/// Where the last step of the centres leads past the pairing, as after a slice that was not turned back in time, the next
/// step is still that one and reaches what it says; the step after it was once told instead.
#[test]
fn the_next_step_is_for_the_cube_in_hand() {
    let mut dice = Dice::new(31);
    for n in 5..=9 {
        let turns = crate::cube::Sequence::for_order("Rw U2 Rw' U' F R'", n).unwrap();
        let state = reduced_state(n, &mut dice).after(&turns.0);
        let step = next_step(&state).unwrap().unwrap();
        let stages = (step.stage, step.reaches.stage);
        assert_eq!(stages, (Stage::Centres, Stage::LastGroups), "{step:?}");
        let after = followed(&state, std::slice::from_ref(&step));
        assert_eq!(Reaches::of(&after), step.reaches, "n = {n}: {step:?}");
        let told = advise(&state).unwrap().map(|advice| advice.step);
        assert_eq!(route(&state).unwrap().steps.first(), told.as_ref());
    }
}

/// Source: common practice and its effects by an independent simulation: the sequences offered beside the step.
#[test]
fn sequences_of_common_practice_are_recognised() {
    let check = |n: usize, undoing: &str, title: &str, moves: &str| {
        let sequence = crate::cube::Sequence::for_order(undoing, n).unwrap();
        let state = State::solved(n).after(&sequence.inverse().0);
        let advice = advise(&state).unwrap().unwrap();
        let found = advice
            .others
            .iter()
            .find(|other| other.title.starts_with(title));
        let found = found.unwrap_or_else(|| panic!("n = {n}, {undoing}: {advice:?}"));
        let after = followed(&state, std::slice::from_ref(&advice.step));
        assert_eq!(Reaches::of(&after), advice.step.reaches);
        assert_eq!(found.moves.to_string(), moves, "n = {n}");
        let after = state.after(&found.hold.0).after(&found.moves.0);
        assert!(Reaches::of(&after).stage >= Stage::Reduced);
    };
    let long = "Rw2 B2 U2 Lw U2 Rw' U2 Rw U2 F2 Rw F2 Lw' B2 Rw2";
    for n in [5, 6, 7] {
        check(
            n,
            long,
            "the long flip of a group's wings with wide turns",
            long,
        );
    }
}

/// Source: an independent simulation of the long flip with three layers at a time on a 6×6×6.
#[test]
fn what_else_the_long_flips_do_is_told() {
    let sequence = |text: &str| crate::cube::Sequence::for_order(text, 6).unwrap();
    let whole = "3Rw2 B2 U2 3Lw U2 3Rw' U2 3Rw U2 F2 3Rw F2 3Lw' B2 3Rw2";
    let mixed = State::solved(6).after(&sequence("R U F2 L' D B2 R' U2 L F D' R2").0);
    let state = mixed.after(&sequence(whole).inverse().0);
    let advice = advise(&state).unwrap().unwrap();
    let known = advice.known.as_ref().unwrap();
    let own = (advice.step.moves.to_string(), known.side_effects.as_str());
    let others = advice
        .others
        .iter()
        .map(|other| (other.moves.to_string(), other.side_effects.as_str()));
    let told: Vec<(String, &str)> = std::iter::once(own).chain(others).collect();
    let words = whole.split(' ').map(|word| match word {
        "3Rw2" => "3Rw2 R2",
        "3Rw" => "3Rw R'",
        "3Rw'" => "3Rw' R",
        "3Lw" => "3Lw L'",
        "3Lw'" => "3Lw' L",
        outer => outer,
    });
    let sliced = words.collect::<Vec<_>>().join(" ");
    let expected = [
        (
            whole.to_owned(),
            "It turns the whole group on UF over in place and also moves the corners UFR and UFL and the whole groups \
             on UR and UL: harmless as long as no layer is built.",
        ),
        (
            sliced,
            "It turns the whole group on UF over in place and moves nothing else.",
        ),
    ];
    assert_eq!(told, expected);
}

/// Source: common practice and an independent simulation: on a 6×6×6 whose last two inner pairs are open, the outer
/// wings being anywhere, `3Dw R F' U R' F 3Dw'` joins both.
#[test]
fn the_last_two_inner_pairs_have_their_well_known_sequence() {
    let sequence = |text: &str| crate::cube::Sequence::for_order(text, 6).unwrap();
    let slice = sequence("3Dw R F' U R' F 3Dw'");
    let mut state = State::solved(6);
    // Outer wings mixed, inner pairs kept.
    for turns in [
        "R U F2", "D L' B", "F R' U2", "B2 D R", "U L2 F'", "L B' D2",
    ] {
        state.turn_all(&sequence(turns).0);
        state.turn_all(&sequence("Dw R F' U R' F Dw'").0);
        state.turn_all(&sequence("Rw2 U2 Rw U2 D2 Lw D2 U2 Rw D2 Lw2").0);
    }
    state.turn_all(&slice.inverse().0);
    let advice = advise(&state).unwrap().unwrap();
    let is_inner = matches!(
        advice.step.aim.task,
        Task::LastGroups {
            layer: 3,
            open: 2,
            ..
        }
    );
    assert!(is_inner, "{advice:?}");
    let known = advice.others.iter().map(|other| other.moves.to_string());
    assert!(
        known.collect::<Vec<_>>().contains(&slice.to_string()),
        "{advice:?}"
    );
}

/// Source: common practice: where the step is such a sequence itself, whichever way round, it says so.
#[test]
fn a_step_that_is_a_well_known_sequence_says_so() {
    let over = "slice, turn a group over in its place, slice back";
    let long = "the long flip with wide turns";
    let swap = "half turns of the inner slices and of the upper half";
    for (n, moves, title) in [
        (4, "Uw' L' F U' L F' Uw", over),
        (5, "Dw R F' U R' F Dw'", over),
        (7, "Uw' L' F U' L F' Uw", over),
        (6, "3Dw R F' U R' F 3Dw'", over),
        (
            6,
            "3Rw2 B2 U2 3Lw U2 3Rw' U2 3Rw U2 F2 3Rw F2 3Lw' B2 3Rw2",
            long,
        ),
        (4, "Rw2 R2 U2 Rw2 R2 Uw2 Rw2 R2 Uw2", swap),
        (6, "3Rw2 R2 U2 3Rw2 R2 3Uw2 3Rw2 R2 3Uw2", swap),
    ] {
        let sequence = crate::cube::Sequence::for_order(moves, n).unwrap();
        let state = State::solved(n).after(&sequence.inverse().0);
        let advice = advise(&state).unwrap().unwrap();
        let titles: Vec<&str> = advice
            .others
            .iter()
            .map(|other| other.title.as_str())
            .chain(advice.known.as_ref().map(|known| known.title.as_str()))
            .collect();
        assert!(titles.contains(&title), "n = {n}, {moves}: {advice:?}");
        if advice.step.moves.0.len() == sequence.0.len() {
            let known = advice.known.map(|known| known.title);
            assert_eq!(
                known.as_deref(),
                Some(title),
                "n = {n}: {}",
                advice.step.moves
            );
        }
    }
}

/// Both parities, on every even size, in all four combinations: announced at once and undone.
#[test]
fn parities_of_every_even_size() {
    let mut dice = Dice::new(21);
    for n in [4, 6, 8, 10, 12] {
        let half = n / 2;
        let wide = |text: &str| {
            let written = text.replace('w', "W");
            let words = written.split(' ').map(|word| match word.split_once('W') {
                Some((face, rest)) if half > 2 => format!("{half}{face}w{rest}"),
                Some((face, rest)) => format!("{face}w{rest}"),
                None => word.to_owned(),
            });
            let text = words.collect::<Vec<_>>().join(" ");
            crate::cube::Sequence::for_order(&text, n).unwrap().0
        };
        let flip = wide("Rw2 B2 U2 Lw U2 Rw' U2 Rw U2 F2 Rw F2 Lw' B2 Rw2");
        let swap = wide("Rw2 R2 U2 Rw2 R2 Uw2 Rw2 R2 Uw2");
        for (has_flip, has_swap) in [(false, false), (true, false), (false, true), (true, true)] {
            let mut state = reduced_state(n, &mut dice);
            if has_flip {
                state.turn_all(&flip);
            }
            if has_swap {
                state.turn_all(&swap);
            }
            let found = parity::of(&state).unwrap();
            assert_eq!((found.flip, found.swap), (has_flip, has_swap), "n = {n}");
            let steps = route(&state).unwrap().steps;
            let tasks: Vec<&Task> = steps.iter().map(|step| &step.aim.task).collect();
            assert_eq!(tasks.contains(&&Task::Flip), has_flip, "n = {n}: {tasks:?}");
            assert_eq!(tasks[0] == &Task::Flip, has_flip);
            assert!(is_one_colour_a_face(&followed(&state, &steps)));
        }
    }
}
