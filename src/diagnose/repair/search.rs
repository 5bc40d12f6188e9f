//! The fewest repairs after which every piece is there: stickers exchanged or replaced, a strange piece replaced.

use super::ledger::Ledger;
use crate::cube::{Face, State, check};
use std::cmp::Ordering;
use std::collections::BTreeMap;

/// One thing to do to stickers.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Change {
    /// Two stickers change places.
    Exchange(u16, u16),
    /// A sticker is (or should have been read as) another colour.
    Recolour(u16, Face),
    /// The piece on these places is one of another cube and gives way to one that is missing.
    Replace(Vec<u16>, Vec<Face>),
}

/// Changes after which every piece is there, and the cube they make; what is left to do to it is for the laws.
#[derive(Clone)]
pub(super) struct Cure {
    /// What to do.
    pub changes: Vec<Change>,
    /// The cube after it.
    pub state: State,
    /// How many laws about twist, flip and exchange it then still breaks, each one step more.
    pub left: usize,
}

/// More changes than this are not looked for: whoever has that many stickers wrong should look at all of them.
const MOST_CHANGES: usize = 3;

/// No more cures than this are collected.
const MOST_CURES: usize = 4000;

/// No more changes than this are tried, so that a hopeless cube costs some hundredths of a second, not minutes.
const MOST_TRIED: usize = 400_000;

/// All cures with the fewest steps, changes and what is left together; none if more than [`MOST_CHANGES`] changes
/// are needed.
pub(super) fn smallest(state: &State) -> Vec<Cure> {
    let ledger = Ledger::of(state);
    let mut best: Vec<Cure> = Vec::new();
    for depth in least_changes(&ledger)..=MOST_CHANGES {
        let least = best.first().map_or(usize::MAX, Cure::steps);
        if depth > least {
            break;
        }
        let mut search = Search {
            start: state,
            found: BTreeMap::new(),
            tried: 0,
        };
        search.descend(&ledger, depth, &mut Vec::new());
        for cure in search.found.into_values() {
            match cure
                .steps()
                .cmp(&best.first().map_or(usize::MAX, Cure::steps))
            {
                Ordering::Less => best = vec![cure],
                Ordering::Equal => best.push(cure),
                Ordering::Greater => {}
            }
        }
    }
    // A single strange colour is a sticker's affair, wherever that does.
    if !best
        .iter()
        .all(|cure| cure.replaces_for_one_colour(&ledger))
    {
        best.retain(|cure| !cure.replaces_for_one_colour(&ledger));
    }
    best
}

impl Cure {
    fn steps(&self) -> usize {
        self.changes.len() + self.left
    }

    /// Whether it replaces a piece that has only one colour too many.
    fn replaces_for_one_colour(&self, ledger: &Ledger) -> bool {
        let has_one = |change: &Change| {
            let Change::Replace(places, stickers) = change else {
                return false;
            };
            let mut rest = stickers.clone();
            let strange = places.iter().filter(|&&place| {
                let colour = ledger.state.at(usize::from(place));
                let at = rest.iter().position(|&sticker| sticker == colour);
                at.map(|at| rest.remove(at)).is_none()
            });
            strange.count() == 1
        };
        self.changes.iter().any(has_one)
    }
}

/// A lower bound on the changes: one change mends two pieces at most, and no exchange mends a colour count.
fn least_changes(ledger: &Ledger) -> usize {
    let by_pieces = ledger.lacking().div_ceil(2);
    by_pieces.max(usize::from(ledger.surplus() > 0))
}

struct Search<'a> {
    start: &'a State,
    /// By the stickers that differ from the start: the same result is found in several orders.
    found: BTreeMap<Vec<(u16, Face)>, Cure>,
    tried: usize,
}

impl Search<'_> {
    fn descend(&mut self, ledger: &Ledger, depth: usize, changes: &mut Vec<Change>) {
        if depth == 0 {
            if ledger.lacking() == 0 && ledger.surplus() == 0 {
                self.keep(&ledger.state, changes);
            }
            return;
        }
        let mut next = ledger.clone();
        for change in candidates(ledger) {
            self.tried += 1;
            if self.found.len() >= MOST_CURES || self.tried > MOST_TRIED {
                return;
            }
            change.make(&mut next);
            if least_changes(&next) < depth {
                changes.push(change.clone());
                self.descend(&next, depth - 1, changes);
                changes.pop();
            }
            change.unmake(&mut next, &ledger.state);
        }
    }

    fn keep(&mut self, state: &State, changes: &[Change]) {
        let stickers = state.stickers().iter().zip(self.start.stickers());
        let differing = stickers
            .enumerate()
            .filter(|(_, (now, before))| now != before)
            .map(|(place, (&now, _))| (place as u16, now))
            .collect();
        self.found.entry(differing).or_insert_with(|| Cure {
            changes: changes.to_vec(),
            state: state.clone(),
            left: check(state).len(),
        });
    }
}

/// The changes that touch one thing that is wrong. Every cure has one of them, so no other need be tried first.
fn candidates(ledger: &Ledger) -> Vec<Change> {
    let trouble = ledger.trouble();
    let mut changes = Vec::new();
    for &one in &trouble {
        let mine = ledger.state.at(usize::from(one));
        for (other, &theirs) in ledger.state.stickers().iter().enumerate() {
            let other = other as u16;
            if theirs != mine && (other > one || !trouble.contains(&other)) {
                changes.push(Change::Exchange(one, other));
            }
        }
        if ledger.balance(mine) == Ordering::Greater {
            let scarce = Face::ALL
                .into_iter()
                .filter(|&colour| ledger.balance(colour) == Ordering::Less);
            changes.extend(scarce.map(|colour| Change::Recolour(one, colour)));
        }
    }
    if ledger.surplus() > 0 {
        changes.extend(replacements(ledger, &trouble));
    }
    changes
}

/// Pieces of another cube: those that, given way to a missing one, take strange colours with them.
fn replacements(ledger: &Ledger, trouble: &[u16]) -> Vec<Change> {
    let mut changes = Vec::new();
    for &place in trouble {
        let slot = ledger.slot(place);
        if slot.places[0] != place {
            continue;
        }
        for stickers in ledger.missing_for(slot) {
            let change = Change::Replace(slot.places.clone(), stickers);
            let mut after = ledger.clone();
            change.make(&mut after);
            if after.surplus() < ledger.surplus() {
                changes.push(change);
            }
        }
    }
    changes
}

impl Change {
    fn make(&self, ledger: &mut Ledger) {
        match self {
            Self::Exchange(one, other) => {
                let mine = ledger.state.at(usize::from(*one));
                let theirs = ledger.state.at(usize::from(*other));
                ledger.set(*one, theirs);
                ledger.set(*other, mine);
            }
            Self::Recolour(place, colour) => ledger.set(*place, *colour),
            Self::Replace(places, stickers) => {
                for (&place, &sticker) in places.iter().zip(stickers) {
                    ledger.set(place, sticker);
                }
            }
        }
    }

    fn unmake(&self, ledger: &mut Ledger, before: &State) {
        for place in self.places() {
            ledger.set(place, before.at(usize::from(place)));
        }
    }

    /// The places it touches.
    pub fn places(&self) -> Vec<u16> {
        match self {
            Self::Exchange(one, other) => vec![*one, *other],
            Self::Recolour(place, _) => vec![*place],
            Self::Replace(places, _) => places.clone(),
        }
    }
}
