//! The sequences that the last groups are mended with, in all holds, and what each does.

use super::arrangement::{Effect, STANDARD_PAIRS, is_kept};
use super::measure::{centre_is_whole, centres_agree};
use super::pairing::parkings;
use super::wings::{Action, Letter, Reach};
use crate::cube::{Face, Hold, MOST_ORDER, Move, Sequence, State};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::OnceLock;

/// Sequences that leave at most two groups open, in the notation of a 5×5×5 (the first also of a 4×4×4), found by
/// search over outer-block turns.
const SEEDS_FOR_WINGS_ALONE: [&str; 1] = ["Rw' B2 U2 F2 D2 Rw'"];
const SEEDS: [&str; 14] = [
    "Lw2 B2 Rw' U2 Lw' B2 D2 Rw2 U2 Lw' U2 Lw' B2 Lw",
    "Uw' L' F U' L F' Uw",
    "Uw2 B2 L2 Dw2 L2 B2 Uw2",
    "Dw' Uw L' F U' L F' Uw' Dw",
    "Rw2 U2 Rw U2 D2 Lw D2 U2 Rw D2 Lw2",
    "Lw' B2 Rw' U2 F2 Lw' F2 Rw U2 Lw' B2 Lw2",
    "Lw' U2 Lw F2 Rw' D2 Lw B2 Lw' U2 Lw' B2 Lw",
    "Lw' D' F L' D F' Lw",
    "Rw2 B' R2 D R' D' B Rw2",
    "Uw2 R' U2 F U' F' R Uw2",
    "Dw R' B U' R B' Dw'",
    "Uw' B2 R2 F2 L2 Uw'",
    "Rw2 D2 B2 Rw' F2 Rw2 U2 Lw' B2 Lw2 B2 U2 Rw'",
    "Uw' R2 Dw' F2 L2 Uw' L2 Dw F2 Uw' R2 Uw2",
];

/// Sequences advised against the parities of a reduced cube, see [`super::parity`].
const PARITY_WORDS: [&str; 2] = [
    "Rw2 B2 U2 Lw U2 Rw' U2 Rw U2 F2 Rw F2 Lw' B2 Rw2",
    "Rw2 R2 U2 Rw2 R2 Uw2 Rw2 R2 Uw2",
];

/// A sequence with what it does to one of the standard pairs.
#[derive(Clone, Debug)]
pub struct Tool {
    /// The pair, see [`STANDARD_PAIRS`].
    pub pair: [usize; 2],
    /// What it does to it.
    pub effect: Effect,
    /// The sequence.
    pub letters: Vec<Letter>,
}

/// All tools, each kind made once: for wings beside inner parts, or (on even cubes, all slices turning together)
/// also those for wings alone.
pub fn tools(wings_alone: bool) -> &'static [Tool] {
    static MADE: [OnceLock<Vec<Tool>>; 2] = [OnceLock::new(), OnceLock::new()];
    MADE[usize::from(wings_alone)].get_or_init(|| {
        let holds: Vec<(Hold, Action, Action)> = Hold::all()
            .iter()
            .map(|&hold| {
                let back = Action::of_hold(hold.inverse());
                (hold, Action::of_hold(hold), back)
            })
            .collect();
        let mut kept: BTreeMap<([usize; 2], Effect, [usize; 3]), Vec<Letter>> = BTreeMap::new();
        let mut seen_words = BTreeSet::new();
        for word in words(wings_alone) {
            let mirror: Vec<Letter> = word.iter().map(|&letter| mirrored(letter)).collect();
            for word in [word, mirror] {
                let action = Action::of(&word);
                let back: Vec<Letter> = word.iter().rev().map(|letter| letter.inverse()).collect();
                for (word, action) in [(&back, action.inverse()), (&word, action)] {
                    if !seen_words.insert((action, count(word))) {
                        continue;
                    }
                    let opened: Vec<usize> = (0..12)
                        .filter(|&edge| !is_kept(&action, edge, wings_alone))
                        .collect();
                    for (hold, to, from) in &holds {
                        let brought = |edge: &usize| usize::from(to.cores[2 * edge] / 2);
                        let pairs = STANDARD_PAIRS
                            .iter()
                            .filter(|pair| opened.iter().all(|edge| pair.contains(&brought(edge))));
                        for &pair in pairs {
                            let seen = from.then(&action).then(to);
                            if let Some(effect) = Effect::of(&seen, pair, wings_alone) {
                                let letters = word.iter().map(|letter| letter.in_hold(*hold));
                                kept.entry((pair, effect, count(word)))
                                    .or_insert_with(|| letters.collect());
                            }
                        }
                    }
                }
            }
        }
        kept.into_iter()
            .map(|((pair, effect, _), letters)| Tool {
                pair,
                effect,
                letters,
            })
            .collect()
    })
}

/// How many turns of each reach a word has.
fn count(word: &[Letter]) -> [usize; 3] {
    [Reach::Outer, Reach::Block, Reach::Slice]
        .map(|reach| word.iter().filter(|letter| letter.reach == reach).count())
}

/// The words that tools are made of, each in one hold.
fn words(wings_alone: bool) -> Vec<Vec<Letter>> {
    let mut words = Vec::new();
    for seed in SEEDS {
        words.extend(variants(&read(seed), wings_alone));
    }
    if wings_alone {
        for seed in SEEDS_FOR_WINGS_ALONE {
            words.extend(variants(&read(seed), wings_alone));
        }
    }
    words.push(read("U"));
    words.push(read("U2"));
    for slice in ["Uw", "Uw2", "Uw Dw'", "Uw2 Dw2"] {
        // Those that begin on another side are the same in another hold.
        let in_front = |parking: &&Vec<Letter>| parking[0].face == Face::F;
        for parking in parkings().iter().filter(in_front) {
            let slice = read(slice);
            let mut word = slice.clone();
            word.extend(parking);
            word.extend(slice.iter().rev().map(|letter| letter.inverse()));
            words.extend(variants(&word, wings_alone));
        }
    }
    words
}

/// A word in the notation of a 5×5×5.
pub fn read(text: &str) -> Vec<Letter> {
    let read = text.parse::<Sequence>().unwrap_or_default();
    let letters = read.0.into_iter().filter_map(|step| match step {
        Move::Block {
            face,
            layers,
            quarter,
        } => Some(Letter {
            face,
            reach: if layers == 1 {
                Reach::Outer
            } else {
                Reach::Block
            },
            quarter,
        }),
        Move::Rotation { .. } => None,
    });
    letters.collect()
}

/// The word with some of its blocks turned without their outer layer, in all ways that keep the centres.
fn variants(word: &[Letter], wings_alone: bool) -> Vec<Vec<Letter>> {
    let blocks: Vec<usize> = (0..word.len())
        .filter(|&at| word[at].reach == Reach::Block)
        .collect();
    let n = if wings_alone { 4 } else { 5 };
    let mut kept = Vec::new();
    for choice in 0..1_usize << blocks.len() {
        let mut changed = word.to_vec();
        for (bit, &at) in blocks.iter().enumerate() {
            if choice >> bit & 1 == 1 {
                changed[at].reach = Reach::Slice;
            }
        }
        let action = Action::of(&changed);
        let opened = (0..12)
            .filter(|&edge| !is_kept(&action, edge, wings_alone))
            .count();
        // What opens nothing does no more than outer turns do.
        if opened == 0 || opened > 2 {
            continue;
        }
        let moves: Vec<Move> = changed
            .iter()
            .flat_map(|letter| letter.moves(&[2]))
            .collect();
        let after = State::solved(n).after(&moves);
        if Face::ALL.iter().all(|&face| centre_is_whole(&after, face)) && centres_agree(&after) {
            kept.push(changed);
        }
    }
    kept
}

/// A letter as seen in a mirror between left and right.
pub fn mirrored(letter: Letter) -> Letter {
    let face = match letter.face {
        Face::R => Face::L,
        Face::L => Face::R,
        other => other,
    };
    Letter {
        face,
        quarter: letter.quarter.inverse(),
        ..letter
    }
}

/// The sequences this program advises by name, for all choices of layers that go together, mirrored and reversed, in
/// one hold each. Made once per order.
pub fn known_words(n: usize) -> &'static [Vec<Move>] {
    static MADE: [OnceLock<Vec<Vec<Move>>>; MOST_ORDER + 1] =
        [const { OnceLock::new() }; MOST_ORDER + 1];
    MADE[n].get_or_init(|| {
        let inner = n / 2;
        // All layers from the outside or from the middle, or one alone.
        let mut choices: Vec<Vec<usize>> = Vec::new();
        for layer in 2..=inner {
            for choice in [
                (2..=layer).collect(),
                (layer..=inner).collect(),
                vec![layer],
            ] {
                if !choices.contains(&choice) {
                    choices.push(choice);
                }
            }
        }
        let seeds = SEEDS
            .iter()
            .chain(&SEEDS_FOR_WINGS_ALONE)
            .chain(&PARITY_WORDS);
        let mut all = BTreeSet::new();
        for seed in seeds {
            let word = read(seed);
            let mirror: Vec<Letter> = word.iter().map(|&letter| mirrored(letter)).collect();
            for word in [word, mirror] {
                for layers in &choices {
                    let moves: Vec<Move> = word
                        .iter()
                        .flat_map(|letter| letter.moves(layers))
                        .collect();
                    all.insert(Sequence(moves.clone()).inverse().0);
                    all.insert(moves);
                }
            }
        }
        all.into_iter().collect()
    })
}
