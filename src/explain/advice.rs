//! A proved step to what a person is told to do.

use super::aim::{aim_sentence, outcome_sentence};
use super::words::spoken;
use crate::advise::{Advice, Known, Other, Part, PartKind, Reaches, Step};
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
    /// What the moves do part by part, where they have parts.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub parts: Vec<GuidancePart>,
    /// What holds after hold and moves, proved by simulation.
    pub reaches: Reaches,
    /// The same as a sentence.
    pub outcome: String,
    /// What the moves are known as, if they are a sequence of common practice, with their side effects.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub known: Option<Known>,
    /// Sequences of common practice that do the same, with their side effects.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub others: Vec<Other>,
    /// The step itself.
    #[serde(skip)]
    pub step: Step,
}

/// A part of a step's moves.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct GuidancePart {
    /// What it is for.
    pub kind: PartKind,
    /// The same as a sentence.
    pub text: &'static str,
    /// The moves, some of the step's.
    pub moves: String,
}

impl GuidancePart {
    fn of(part: &Part) -> Self {
        Self {
            kind: part.kind,
            text: part_sentence(part.kind),
            moves: part.moves.to_string(),
        }
    }
}

/// What a part of a step does.
const fn part_sentence(kind: PartKind) -> &'static str {
    match kind {
        PartKind::SetUp => "Set up: the pieces come beside the slice.",
        PartKind::Slice => "Slice: they come together; the centres are off by it for now.",
        PartKind::Parking => {
            "Park: what is joined goes out of the slice's way, another group comes into its place."
        }
        PartKind::TurningOver => {
            "Turn over: the group just joined is turned end for end in its place."
        }
        PartKind::CentresBack => "Back: the slice is turned back, and the centres are whole again.",
        PartKind::SomeLayers => "Some layers: their wings then agree, others are still open.",
        PartKind::LastLayers => "The last layers: all groups are then whole.",
    }
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
            parts: step.parts.iter().map(GuidancePart::of).collect(),
            reaches: step.reaches.clone(),
            outcome: outcome_sentence(&step, n, words),
            known: None,
            others: Vec::new(),
            step,
        }
    }

    /// Puts advice into words, as [`Guidance::of`] a step.
    pub fn of_advice(advice: Advice, n: usize, words: &Words) -> Self {
        Self {
            known: advice.known,
            others: advice.others,
            ..Self::of(advice.step, n, words)
        }
    }
}
