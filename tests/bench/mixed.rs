//! Cubes after many block turns, the same ones on every run.

use sixfold::cube::{Face, Move, Quarter, State};

/// Numbers that look random: a linear congruential generator, Knuth's constants.
pub struct Dice(u64);

impl Dice {
    pub const fn new() -> Self {
        Self(2026)
    }

    /// One of so many.
    pub fn below(&mut self, end: usize) -> usize {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % end
    }
}

/// A cube after many block turns.
pub fn scrambled(n: usize, dice: &mut Dice) -> State {
    let turns: Vec<Move> = (0..60 * n)
        .map(|_| Move::Block {
            face: Face::ALL[dice.below(6)],
            layers: 1 + dice.below(n / 2),
            quarter: Quarter::ALL[dice.below(3)],
        })
        .collect();
    State::solved(n).after(&turns)
}
