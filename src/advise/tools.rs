//! The sequences that this program knows by heart, and how they are written.

use super::wings::{Letter, Reach};
use crate::cube::{Face, MOST_ORDER, Move, Sequence};
use std::collections::BTreeSet;
use std::sync::OnceLock;

/// Sequences that leave at most two groups open, in the notation of a 5×5×5 (the first also of a 4×4×4), found by
/// search over outer-block turns.
pub const SEEDS_FOR_WINGS_ALONE: [&str; 1] = ["Rw' B2 U2 F2 D2 Rw'"];
/// The same for any orbit.
pub const SEEDS: [&str; 14] = [
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
