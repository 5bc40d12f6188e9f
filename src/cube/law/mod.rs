//! Which states can exist: the laws of the cube, each broken one told with the pieces it concerns.
//!
//! 1. Each piece is there once, each colour n² times and four times in every orbit of centres.
//! 2. The corners' twists add up to whole turns.
//! 3. On an odd cube the midges' flips add up to an even number.
//! 4. On an odd cube the corners and the midges are both even or both odd permutations, in the hold of the
//!    fixed centres. On an even cube the corners are free.
//! 5. A wing cannot be flipped: the order of its two stickers never changes. The wings of an orbit may be
//!    permuted in any way, centres too.
//!
//! A state is reachable from the solved one exactly when these hold: the number of states they allow is the
//! published number of positions (OEIS A075152), see the tests.

mod presence;
mod sums;

use super::words::Words;
use super::{Spot, State};
use serde::{Deserialize, Serialize};

/// What sort of law is broken.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum Kind {
    /// A colour does not show n² times.
    ColourCount,
    /// More pieces are wrong than are worth telling one by one.
    ManyPieces,
    /// A corner with stickers that no corner has together.
    CornerImpossible,
    /// A corner whose stickers are right but run the wrong way round.
    CornerMirrored,
    /// A corner shows more than once and another not at all.
    CornerTwice,
    /// A midge with stickers that no midge has together.
    MidgeImpossible,
    /// A midge shows more than once and another not at all.
    MidgeTwice,
    /// A wing with stickers that no wing has together.
    WingImpossible,
    /// A wing shows twice and the one with the same colours the other way round not at all.
    WingTurned,
    /// A wing shows more than once and one of other colours not at all.
    WingTwice,
    /// A colour does not show four times in an orbit of centres.
    CentreCount,
    /// The fixed centres stand in another order than the corners ask for.
    FixedCentres,
    /// The corners' twists do not add up to whole turns.
    CornerTwist,
    /// The midges' flips do not add up to an even number.
    MidgeFlip,
    /// Corners and midges are not both even or both odd: two pieces are exchanged.
    ExchangedPair,
}

/// A broken law.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Fault {
    /// Which law.
    pub kind: Kind,
    /// The pieces concerned, by the names of their home positions; empty where no single ones can be told.
    pub pieces: Vec<String>,
    /// The positions where they sit now.
    pub places: Vec<String>,
    /// The stickers to look at.
    pub stickers: Vec<Spot>,
    /// What is wrong and which piece to look at, for a learner; ends with a full stop.
    pub text: String,
}

/// The laws a state breaks, none if it can exist. Sentences call the stickers by their face letters.
pub fn check(state: &State) -> Vec<Fault> {
    check_in_words(state, &Words::default())
}

/// The laws a state breaks, none if it can exist. Sentences use these words for the stickers.
pub fn check_in_words(state: &State, words: &Words) -> Vec<Fault> {
    let mut checker = Checker {
        state,
        words,
        faults: Vec::new(),
    };
    checker.presence();
    checker.sums();
    checker.gather();
    checker.faults
}

/// More faults than this are told as one: two exchanged stickers and a twisted corner make five at most.
const MOST_FAULTS: usize = 8;

/// A state under examination and what was found so far.
struct Checker<'a> {
    state: &'a State,
    words: &'a Words,
    faults: Vec<Fault>,
}

impl Checker<'_> {
    fn report(
        &mut self,
        kind: Kind,
        pieces: Vec<String>,
        places: Vec<String>,
        stickers: &[u16],
        text: String,
    ) {
        let n = self.state.n();
        let stickers = stickers
            .iter()
            .map(|&place| Spot::from_place(usize::from(place), n))
            .collect();
        self.faults.push(Fault {
            kind,
            pieces,
            places,
            stickers,
            text,
        });
    }

    /// Puts one fault in the place of many.
    fn gather(&mut self) {
        let is_one_by_one =
            |fault: &Fault| !matches!(fault.kind, Kind::ColourCount | Kind::FixedCentres);
        let many: Vec<&Fault> = self
            .faults
            .iter()
            .filter(|fault| is_one_by_one(fault))
            .collect();
        if many.len() <= MOST_FAULTS {
            return;
        }
        let mut places: Vec<String> = Vec::new();
        let mut stickers: Vec<Spot> = Vec::new();
        for fault in many {
            let new = fault.places.iter().filter(|place| !places.contains(place));
            places.extend(new.cloned().collect::<Vec<_>>());
            let new = fault
                .stickers
                .iter()
                .filter(|spot| !stickers.contains(spot));
            stickers.extend(new.copied().collect::<Vec<_>>());
        }
        let text = format!(
            "{} pieces cannot be as they are, among them that at {}: that is more than a slip. Look whether \
             each face is the right way round and in its place, and whether all belong to one cube.",
            places.len(),
            places[0]
        );
        self.faults.retain(|fault| !is_one_by_one(fault));
        self.faults.push(Fault {
            kind: Kind::ManyPieces,
            pieces: Vec::new(),
            places,
            stickers,
            text,
        });
    }

    fn found_any(&self, kinds: &[Kind]) -> bool {
        self.faults.iter().any(|fault| kinds.contains(&fault.kind))
    }
}

#[cfg(test)]
mod tests;
