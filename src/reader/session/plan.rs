//! The next piece of advice as something a learner can be shown and followed through.

use crate::cube::{Move, State};
use crate::explain::{Guidance, GuidancePart, spoken};
use serde::Serialize;

/// A hold and moves, with every state on the way.
#[derive(Clone, Debug)]
pub(super) struct Plan {
    /// What it is for.
    pub aim: String,
    /// The rotation from the printed faces to the hold.
    pub hold: Vec<Move>,
    /// The moves, made in that hold.
    pub moves: Vec<Move>,
    /// What the moves do part by part, where they have parts.
    pub parts: Vec<GuidancePart>,
    /// What holds after the moves, as a sentence.
    pub outcome: String,
    /// The state in the hold, then after each move.
    pub states: Vec<State>,
}

/// A move as the page shows it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Shown {
    /// In the notation of the WCA Regulations.
    pub sign: String,
    /// As a sentence.
    pub words: String,
    /// The face it is named after.
    pub face: char,
    /// How many layers turn, counted from that face.
    pub layers: usize,
    /// Quarter turns clockwise: 1, 2 or -1.
    pub quarters: i8,
}

impl Plan {
    /// Advice on a cube in this state.
    pub fn of(state: &State, advice: &Guidance) -> Self {
        let (hold, moves) = (advice.step.hold.0.clone(), advice.step.moves.0.clone());
        let mut states = vec![state.after(&hold)];
        for &turn in &moves {
            let next = states[states.len() - 1].after(&[turn]);
            states.push(next);
        }
        Self {
            aim: advice.aim.clone(),
            hold,
            moves,
            parts: advice.parts.clone(),
            outcome: advice.outcome.clone(),
            states,
        }
    }
}

/// A move as the page shows it, on a cube of order `n`.
pub(super) fn shown(step: Move, n: usize) -> Shown {
    let (face, layers, quarter) = match step {
        Move::Block {
            face,
            layers,
            quarter,
        } => (face, layers, quarter),
        Move::Rotation { axis, quarter } => (axis.face(), n, quarter),
    };
    Shown {
        sign: step.to_string(),
        words: spoken(step),
        face: face.letter(),
        layers,
        quarters: match quarter.count() {
            3 => -1,
            count => count as i8,
        },
    }
}
