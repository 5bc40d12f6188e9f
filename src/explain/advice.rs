//! A proved step to what a person is told to do.

use super::aim::{aim_sentence, outcome_sentence};
use super::words::spoken;
use crate::advise::{Advice, Other, Reaches, Step};
use crate::cube::{Sequence, Words};
use serde::Serialize;

/// What to do next, in symbols and in words.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Guidance {
    /// What it is for.
    pub aim: String,
    /// The rotation from how the cube was held before to the hold; empty for none.
    pub hold: String,
    /// The moves in that hold.
    pub moves: String,
    /// The rotations of the hold as sentences.
    pub hold_words: Vec<String>,
    /// The moves as sentences, one each.
    pub words: Vec<String>,
    /// What holds after hold and moves, proved by simulation.
    pub reaches: Reaches,
    /// The same as a sentence.
    pub outcome: String,
    /// Sequences of common practice that do the same, with their side effects.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub others: Vec<Other>,
    /// The step itself.
    #[serde(skip)]
    pub step: Step,
}

impl Guidance {
    /// Puts a step on a cube of order `n` into words; `words` are those of its colours.
    pub fn of(step: Step, n: usize, words: &Words) -> Self {
        let sentences = |moves: &Sequence| moves.0.iter().copied().map(spoken).collect();
        Self {
            aim: aim_sentence(&step.aim, words),
            hold: step.hold.to_string(),
            moves: step.moves.to_string(),
            hold_words: sentences(&step.hold),
            words: sentences(&step.moves),
            reaches: step.reaches.clone(),
            outcome: outcome_sentence(&step, n, words),
            others: Vec::new(),
            step,
        }
    }

    /// Puts advice into words, as [`Guidance::of`] a step.
    pub fn of_advice(advice: Advice, n: usize, words: &Words) -> Self {
        Self {
            others: advice.others,
            ..Self::of(advice.step, n, words)
        }
    }
}
