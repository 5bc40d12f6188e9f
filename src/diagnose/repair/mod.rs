//! The smallest repairs of a cube that cannot exist: what to do with fingers and screwdriver, as turning cannot
//! do it.

mod faces;
mod ledger;
mod search;
mod telling;

use crate::cube::{Face, Fault, Spot, State, Words, counted};
use search::smallest;
use serde::{Deserialize, Serialize};

/// How to make a cube possible again.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Repair {
    /// That no turning helps, and how many ways there are; ends with a full stop.
    pub text: String,
    /// What to mind when taking pieces out; `None` where nothing is to be taken out.
    pub caution: Option<String>,
    /// The ways with the fewest steps, all equally small, that which leaves the tidiest cube first; at most
    /// [`MOST_WAYS`]. None where too much is wrong.
    pub ways: Vec<Way>,
    /// How many such ways there are, those left out here included.
    pub ways_total: usize,
}

/// One way: its steps, all of them to be done.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Way {
    /// The steps.
    pub steps: Vec<Step>,
}

/// What sort of thing to do.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Work {
    /// Twist a corner a third of a turn.
    TwistCorner,
    /// Put a midge back the other way round.
    FlipMidge,
    /// Exchange two corners.
    ExchangeCorners,
    /// Exchange two midges.
    ExchangeMidges,
    /// Turn a wing's stickers round.
    TurnWing,
    /// Exchange two stickers.
    ExchangeStickers,
    /// Exchange two caps of fixed centres.
    ExchangeCaps,
    /// Look at a sticker again, and replace it if it really has the wrong colour.
    ReplaceSticker,
    /// Replace a piece of another cube.
    ReplacePiece,
    /// Read a face turned.
    TurnFace,
    /// Read two faces in each other's place.
    ExchangeFaces,
}

/// One step of a repair.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Step {
    /// What to do.
    pub work: Work,
    /// The positions it concerns; none where any piece of its sort will do.
    pub places: Vec<String>,
    /// The stickers it concerns.
    pub stickers: Vec<Spot>,
    /// The step in words; ends with a full stop.
    pub text: String,
}

/// The most ways that are written out.
pub const MOST_WAYS: usize = 12;

/// Common practice, no source.
const CAUTION: &str = "Take pieces out only from a layer that turns freely: turn it by an eighth, so that an edge piece \
                       can be lifted. Never force a layer that is stuck or a piece that does not come: what \
                       breaks is sharp and can fly off.";

/// The smallest repairs; `None` for a cube that breaks no law. Sentences use these words for the stickers.
pub fn repair(state: &State, faults: &[Fault], words: &Words) -> Option<Repair> {
    if faults.is_empty() {
        return None;
    }
    let mut cures = smallest(state);
    cures.sort_by_cached_key(|cure| std::cmp::Reverse(tidiness(&cure.state)));
    let teller = telling::Teller::of(state, words);
    // Cures that leave the same laws about twist, flip and exchange broken come in as many ways as those have.
    let ways: Vec<Way> = cures.iter().flat_map(|cure| teller.ways(cure)).collect();
    if ways.first().is_none_or(|way| way.steps.len() > 1) {
        let ways = faces::otherwise_read(state);
        if !ways.is_empty() {
            let text = "As read, these stickers make no cube; with a face the other way round, or in another \
                        place, they do.";
            return Some(Repair::of(text.to_owned(), ways));
        }
    }
    Some(Repair::of(summary(&ways), ways))
}

/// How many repairs there are, of how many steps.
fn summary(ways: &[Way]) -> String {
    let repairs = match ways.first().map_or(0, |way| way.steps.len()) {
        1 => "one repair".to_owned(),
        steps => format!("{} repairs", counted(steps)),
    };
    match ways.len() {
        0 => "No turning can mend this, and too much is wrong for a small repair: look at all stickers again; if \
              they are as read, take the cube apart and put it together solved."
            .to_owned(),
        1 => format!("No turning can mend this; {repairs} can."),
        2 => format!("No turning can mend this; {repairs} can, in two equally small ways."),
        count => format!(
            "No turning can mend this; {repairs} can, in {} equally small ways; the one that leaves the tidiest cube \
             comes first.",
            counted(count)
        ),
    }
}

impl Repair {
    fn of(text: String, ways: Vec<Way>) -> Self {
        let mut steps = ways.iter().flat_map(|way| &way.steps);
        let needs_fingers = steps.any(|step| step.work.takes_out());
        Self {
            text,
            caution: needs_fingers.then(|| CAUTION.to_owned()),
            ways_total: ways.len(),
            ways: ways.into_iter().take(MOST_WAYS).collect(),
        }
    }
}

impl Work {
    /// Whether pieces have to be taken out for it.
    const fn takes_out(self) -> bool {
        !matches!(
            self,
            Self::ReplaceSticker
                | Self::ExchangeStickers
                | Self::ExchangeCaps
                | Self::TurnFace
                | Self::ExchangeFaces
        )
    }
}

/// How much of a cube is in order: the more stickers of each face agree, the more.
fn tidiness(state: &State) -> usize {
    let n = state.n();
    let faces = state.stickers().chunks(n * n);
    faces
        .map(|face| {
            let count = |colour: Face| face.iter().filter(|&&sticker| sticker == colour).count();
            Face::ALL
                .into_iter()
                .map(|colour| count(colour).pow(2))
                .sum::<usize>()
        })
        .sum()
}

#[cfg(test)]
mod tests;
