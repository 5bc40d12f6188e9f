//! The next piece of advice as something a learner can be shown and followed through.

use crate::advise::{Step, advise};
use crate::cube::{Move, State};
use crate::explain::spoken;
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
    /// The next step for a cube; `None` if it is solved or nothing can be advised.
    pub fn of(state: &State) -> Option<Self> {
        let advice = advise(state).ok()??;
        Some(Self::of_step(state, &advice.step))
    }

    fn of_step(state: &State, step: &Step) -> Self {
        Self::new(
            state,
            step.aim.to_string(),
            step.hold.0.clone(),
            step.moves.0.clone(),
        )
    }

    fn new(state: &State, aim: String, hold: Vec<Move>, moves: Vec<Move>) -> Self {
        let mut states = vec![state.after(&hold)];
        for &step in &moves {
            let next = states[states.len() - 1].after(&[step]);
            states.push(next);
        }
        Self {
            aim,
            hold,
            moves,
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
