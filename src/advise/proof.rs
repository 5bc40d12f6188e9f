//! Nothing leaves this room unproved: a hold and moves become a step only after they were made on the state in
//! hand and the claim that goes with them was found true on the result.

use super::aim::Aim;
use super::measure::Reaches;
use super::progress::Progress;
use super::wings::Orbit;
use crate::cube::{Face, Hold, Move, Sequence, State};
use crate::diagnose::Stage;
use serde::{Serialize, Serializer};
use thiserror::Error;

/// A hold, the moves to make in it, and what then is true.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Step {
    /// The stage in which the cube is before the step.
    pub stage: Stage,
    /// What the step is for, in the letters of its hold; written as a sentence.
    #[serde(serialize_with = "as_text")]
    pub aim: Aim,
    /// The rotation from how the cube was held before.
    #[serde(serialize_with = "as_text")]
    pub hold: Sequence,
    /// The moves, to be made in that hold.
    #[serde(serialize_with = "as_text")]
    pub moves: Sequence,
    /// The moves in parts, where they have parts.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub parts: Vec<Part>,
    /// What is true after hold and moves, measured on the state.
    pub reaches: Reaches,
}

/// A part of a step's moves.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Part {
    /// What it is for.
    pub kind: PartKind,
    /// The moves, some of the step's.
    #[serde(serialize_with = "as_text")]
    pub moves: Sequence,
}

/// What a part of a step is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum PartKind {
    /// Outer turns that bring the pieces into place.
    SetUp,
    /// The slice that brings pieces of different groups together.
    Slice,
    /// What is joined is brought out of the slice's way, another group parked in its place.
    Parking,
    /// The group just joined is turned end for end in its place.
    TurningOver,
    /// The slice turned back, so that the centres are whole again.
    CentresBack,
    /// Some layers of the last groups of a large cube are mended.
    SomeLayers,
    /// The layers of the last groups that are still open are mended.
    LastLayers,
}

/// What must be true after a step.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Claim {
    /// Every face has one colour.
    Solved,
    /// The stage is this one or a later one.
    Stage(Stage),
    /// At least this many stickers of the centre on `face` have the colour `colour`, and the centres of the
    /// faces in `kept` have one colour each.
    Centre {
        /// The side, in the hold of the step.
        face: Face,
        /// The colour, by the face it is named after.
        colour: Face,
        /// How many of its stickers.
        stickers: usize,
        /// The sides whose centres must be whole.
        kept: Vec<Face>,
    },
    /// Centres whole and agreeing, and at least so many wings of a layer beside the inner parts they belong to.
    Fitting {
        /// The layer; all further in must be joined.
        layer: usize,
        /// How many wings.
        wings: usize,
    },
    /// The cube is reduced and shows no flipped group.
    NoFlip,
    /// The cube is reduced and shows neither a flipped group nor an exchange of two.
    NoSwap,
    /// The cube is reduced and its finish with this bottom has come at least as far.
    Finish(Progress),
}

/// A fault of this program: advice that did not stand its proof, or none found for a legal state.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum Error {
    /// The moves do not do what was to be said of them.
    #[error(
        "own error: \"{moves}\" in the hold \"{hold}\" does not reach {claim:?}; nothing is advised"
    )]
    Unproved {
        /// The hold.
        hold: Sequence,
        /// The moves.
        moves: Sequence,
        /// What was to be claimed.
        claim: Box<Claim>,
    },
    /// No way on was found.
    #[error("own error: found no way on while trying to {doing}; nothing is advised")]
    NoWay {
        /// What was being tried.
        doing: &'static str,
    },
    /// The state breaks a law, so that there is nothing to advise.
    #[error("no turning solves this cube: its stickers break a law of the cube; see the faults")]
    Illegal,
}

impl Claim {
    /// Whether it is true of a state.
    pub fn holds(&self, state: &State) -> bool {
        match self {
            Self::Solved => super::measure::is_solved(state),
            Self::Stage(least) => Reaches::of(state).stage >= *least,
            Self::Centre {
                face,
                colour,
                stickers,
                kept,
            } => {
                super::measure::centre_count(state, *face, *colour) >= *stickers
                    && kept
                        .iter()
                        .all(|&face| super::measure::centre_is_whole(state, face))
            }
            Self::Fitting { layer, wings } => {
                Reaches::of(state).stage >= Stage::Pairing
                    && super::measure::joined(state, layer + 1)
                        .iter()
                        .all(|&is| is)
                    && Orbit::of(state, *layer).is_some_and(|orbit| {
                        (0..24).filter(|&place| orbit.fits(place)).count() >= *wings
                    })
            }
            Self::NoFlip => super::parity::of(state).is_some_and(|parity| !parity.flip),
            Self::NoSwap => {
                super::parity::of(state).is_some_and(|parity| !parity.flip && !parity.swap)
            }
            Self::Finish(progress) => {
                Progress::of(state).is_some_and(|reached| reached >= *progress)
            }
        }
    }
}

/// A walk from a state, step after proved step.
#[derive(Clone, Debug)]
pub struct Walk {
    /// The state reached, as held after the last step.
    pub state: State,
    /// The steps taken.
    pub steps: Vec<Step>,
    /// How many steps are wanted at most.
    most: usize,
}

impl Walk {
    /// A walk that begins here.
    pub const fn from(state: State) -> Self {
        Self {
            state,
            steps: Vec::new(),
            most: usize::MAX,
        }
    }

    /// A walk that is over after one step.
    pub const fn one_step_from(state: State) -> Self {
        Self {
            state,
            steps: Vec::new(),
            most: 1,
        }
    }

    /// Whether no more steps are wanted.
    pub const fn is_over(&self) -> bool {
        self.steps.len() >= self.most
    }

    /// Takes a step if its claim is true afterwards; none once the walk is over. `moves` are written in the hold.
    ///
    /// # Errors
    ///
    /// [`Error::Unproved`] when the claim fails; the walk then stays where it was.
    pub fn take(
        &mut self,
        aim: Aim,
        hold: Hold,
        moves: Vec<Move>,
        claim: Claim,
    ) -> Result<(), Error> {
        self.keep(aim, hold, moves, Vec::new(), claim)
    }

    /// Takes a step whose moves come in parts, see [`Walk::take`].
    ///
    /// # Errors
    ///
    /// As [`Walk::take`].
    pub fn take_in_parts(
        &mut self,
        aim: Aim,
        hold: Hold,
        mut parts: Vec<Part>,
        claim: Claim,
    ) -> Result<(), Error> {
        parts.retain(|part| !part.moves.0.is_empty());
        let moves = parts.iter().flat_map(|part| part.moves.0.clone()).collect();
        self.keep(aim, hold, moves, parts, claim)
    }

    /// Takes a step that was proved on this very state.
    pub fn go_on(&mut self, step: Step) {
        self.state.turn_all(&step.hold.0);
        self.state.turn_all(&step.moves.0);
        self.steps.push(step);
    }

    fn keep(
        &mut self,
        aim: Aim,
        hold: Hold,
        moves: Vec<Move>,
        parts: Vec<Part>,
        claim: Claim,
    ) -> Result<(), Error> {
        // A further step would be true of the cube after this one, not of the cube in hand.
        if self.is_over() {
            return Ok(());
        }
        let hold = hold.sequence();
        let moves = Sequence(moves);
        let after = self.state.after(&hold.0).after(&moves.0);
        if !claim.holds(&after) {
            let claim = Box::new(claim);
            return Err(Error::Unproved { hold, moves, claim });
        }
        let reaches = Reaches::of(&after);
        let before = self.steps.last().map(|step| step.reaches.stage);
        let stage = before.unwrap_or_else(|| Reaches::of(&self.state).stage);
        self.state = after;
        self.steps.push(Step {
            stage,
            aim,
            hold,
            moves,
            parts,
            reaches,
        });
        Ok(())
    }
}

/// Writes a value as its text.
pub(super) fn as_text<T: ToString, S: Serializer>(value: &T, out: S) -> Result<S::Ok, S::Error> {
    out.serialize_str(&value.to_string())
}
