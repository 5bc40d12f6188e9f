//! A state to the stage of the reduction it is in, its last-group case and its parities.
//!
//! It knows what is wrong or missing; what to do about it is for the room above.

pub mod case;
pub mod centres;
pub mod groups;
pub mod repair;
mod wording;

pub use case::{Cell, Key, LastGroups};
pub use centres::Centres;
pub use groups::{Groups, Strip, is_whole, open_edges, strip, strip_places};
pub use repair::{Repair, repair};
pub use wording::Fate;

use crate::cube::{
    EDGE_NAMES, Face, Fault, Pieces, State, Words, capital, check_in_words, counted, is_odd,
    listed, midge_of,
};
use serde::{Deserialize, Serialize};

/// Whether a cube can exist.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Legality {
    /// Whether it breaks no law.
    pub legal: bool,
    /// The laws it breaks.
    pub faults: Vec<Fault>,
}

/// Where the reduction stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Stage {
    /// The cube cannot exist.
    Illegal,
    /// Some centre is not whole, or whole ones stand in the wrong order.
    Centres,
    /// Centres whole, more than two edge groups open.
    Pairing,
    /// Centres whole, one or two edge groups open.
    LastGroups,
    /// All groups whole: it turns like a 3×3×3. A 2×2×2 or 3×3×3 is always at least here.
    Reduced,
    /// Solved, in whatever hold.
    Solved,
}

/// Permutation parities.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Parities {
    /// Whether the wings are an odd permutation, per orbit, innermost first; `None` where a piece is missing.
    pub wings: Vec<Option<bool>>,
    /// Whether an odd number of groups is flipped; `None` until the cube is reduced.
    pub flip: Option<bool>,
    /// Whether corners and groups disagree, so that two of them will be left exchanged; `None` until the cube
    /// is reduced.
    pub swap: Option<bool>,
}

/// What a case is made of.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Structure {
    /// One or two open groups.
    LastGroups(LastGroups),
    /// A parity of a reduced cube.
    Reduced {
        /// An odd number of groups is flipped.
        flip: bool,
        /// Two groups, or two corners, will be left exchanged.
        swap: bool,
    },
}

/// A case that has a name and a sequence of its own.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Case {
    /// Stable, in small letters and hyphens.
    pub id: String,
    /// A few words.
    pub title: String,
    /// Some sentences.
    pub text: String,
    /// Whether it is a parity, or only may look like one.
    pub parity: bool,
    /// What it is made of.
    #[serde(skip)]
    pub structure: Structure,
}

/// Where a cube stands.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Diagnosis {
    /// The stage.
    pub stage: Stage,
    /// The centres.
    pub centres: Centres,
    /// The edge groups.
    pub groups: Groups,
    /// The case, at the last groups or with a parity of the reduced cube.
    pub case: Option<Case>,
    /// The parities.
    pub parities: Parities,
    /// One sentence for a learner.
    pub text: String,
}

/// Judges and diagnoses a state. Sentences use these words for the stickers.
pub fn examine(state: &State, words: &Words) -> (Legality, Diagnosis) {
    let faults = check_in_words(state, words);
    let found = diagnose(state, &faults, words);
    let legality = Legality {
        legal: faults.is_empty(),
        faults,
    };
    (legality, found)
}

/// Diagnoses a state whose broken laws are known.
pub fn diagnose(state: &State, faults: &[Fault], words: &Words) -> Diagnosis {
    let centres = Centres::of(state);
    let groups = Groups::of(state);
    let reached = stage_of(state, faults, &centres, &groups);
    let parities = parities_of(state, reached);
    let case = match reached {
        Stage::LastGroups => LastGroups::of(state).map(Case::of_last_groups),
        _ => Case::of_parities(&parities),
    };
    let mut found = Diagnosis {
        stage: reached,
        centres,
        groups,
        case,
        parities,
        text: String::new(),
    };
    found.text = found.sentence(state, faults, words);
    found
}

fn stage_of(state: &State, faults: &[Fault], centres: &Centres, groups: &Groups) -> Stage {
    let n = state.n();
    let mut faces = state.stickers().chunks(n * n);
    if !faults.is_empty() {
        Stage::Illegal
    } else if faces.all(is_whole) && centres.arrangement_ok {
        Stage::Solved
    } else if centres.done.len() < 6 || !centres.arrangement_ok {
        Stage::Centres
    } else if groups.done + 2 < groups.of {
        Stage::Pairing
    } else if groups.done < groups.of {
        Stage::LastGroups
    } else {
        Stage::Reduced
    }
}

fn parities_of(state: &State, reached: Stage) -> Parities {
    let pieces = Pieces::of(state);
    let orbits = (0..pieces.wings.len()).rev();
    let wings = orbits.map(|orbit| pieces.wings_are_odd(orbit)).collect();
    let (flip, swap) = match reached {
        Stage::Reduced | Stage::Solved => (Some(has_flip(state)), Some(has_swap(state))),
        _ => (None, None),
    };
    Parities { wings, flip, swap }
}

/// The groups of a reduced cube as pieces of a 3×3×3, in the hold of its centres.
fn groups_as_midges(state: &State) -> Vec<Option<crate::cube::Placed>> {
    if state.n() == 2 {
        return Vec::new();
    }
    let Some(hold) = centres::home_hold(centres::colours(state)) else {
        return Vec::new();
    };
    (0..12)
        .map(|edge| midge_of(strip(state, edge)[0].map(|colour| hold.brings(colour))))
        .collect()
}

fn has_flip(state: &State) -> bool {
    let groups = groups_as_midges(state);
    let flipped = groups.iter().flatten().filter(|placed| placed.turn == 1);
    flipped.count() % 2 == 1
}

fn has_swap(state: &State) -> bool {
    let groups = groups_as_midges(state);
    if groups.is_empty() {
        return false;
    }
    let pieces = groups
        .iter()
        .map(|placed| placed.map(|placed| placed.piece));
    // Whole-cube turns are even on the corners, so these need no hold.
    is_odd(pieces) != Pieces::of(state).corners_are_odd()
}

impl Case {
    fn of_last_groups(groups: LastGroups) -> Self {
        let wording = wording::Wording::of(&groups.key);
        Self {
            id: wording.id,
            title: wording.title,
            text: wording.text,
            parity: groups.key.relative_parity().contains(&true),
            structure: Structure::LastGroups(groups),
        }
    }

    /// The case of these open groups, without saying on which edges they lie.
    pub fn of_key(key: Key) -> Self {
        Self::of_last_groups(LastGroups {
            edges: Vec::new(),
            key,
        })
    }

    /// The parity case of a reduced cube; `None` if it has neither parity.
    pub fn of_reduced(flip: bool, swap: bool) -> Option<Self> {
        let flipped = "an odd number of edge groups is flipped, so that in the end one group is left flipped by \
                       itself, which never happens on a 3×3×3";
        let exchanged = "two edge groups, or two corners, are left exchanged in the end, which never happens on \
                         a 3×3×3";
        let (id, title, text) = match (flip, swap) {
            (false, false) => return None,
            (true, false) => (
                "parity-flip",
                "One edge group flipped",
                format!("The cube is reduced, but {flipped}."),
            ),
            (false, true) => (
                "parity-swap",
                "Two edge groups or two corners exchanged",
                format!("The cube is reduced, but {exchanged}."),
            ),
            (true, true) => (
                "parity-flip-swap",
                "One edge group flipped, and two groups or two corners exchanged",
                format!("The cube is reduced, but {flipped}; and {exchanged}."),
            ),
        };
        Some(Self {
            id: id.to_owned(),
            title: title.to_owned(),
            text,
            parity: true,
            structure: Structure::Reduced { flip, swap },
        })
    }

    /// What is wrong with each layer of wings, outermost first; nothing where all groups are whole.
    pub fn fates(&self) -> Vec<Fate> {
        match &self.structure {
            Structure::LastGroups(groups) => wording::fates(&groups.key),
            Structure::Reduced { .. } => Vec::new(),
        }
    }

    fn of_parities(parities: &Parities) -> Option<Self> {
        Self::of_reduced(parities.flip?, parities.swap?)
    }

    /// All last-group and parity cases of a cube of order `n`.
    pub fn all(n: usize) -> Vec<Self> {
        let last_groups = Key::all(n).into_iter().map(Self::of_key);
        let reduced = [(true, false), (false, true), (true, true)]
            .into_iter()
            .filter(|_| n >= 4 && n.is_multiple_of(2))
            .filter_map(|(flip, swap)| Self::of_reduced(flip, swap));
        last_groups.chain(reduced).collect()
    }
}

impl Diagnosis {
    fn sentence(&self, state: &State, faults: &[Fault], words: &Words) -> String {
        match self.stage {
            Stage::Illegal => {
                let first = faults.first().map_or("", |fault| fault.text.as_str());
                format!("No turning can solve this cube. {first}")
            }
            Stage::Centres => self.centres_sentence(state, words),
            Stage::Pairing => {
                let inner = match (state.n(), self.groups.inner_done) {
                    (..6, _) => String::new(),
                    (_, 0) => ", not even the inner parts of one".to_owned(),
                    (_, 12) => "; the inner parts of all are".to_owned(),
                    (_, done) => format!("; the inner parts of {} are", counted(done)),
                };
                let paired = match self.groups.done {
                    0 => "none of the twelve edge groups is paired yet".to_owned(),
                    1 => "one of the twelve edge groups is paired".to_owned(),
                    done => format!("{} of the twelve edge groups are paired", counted(done)),
                };
                format!("The centres are whole; {paired}{inner}.")
            }
            Stage::LastGroups => self.last_groups_sentence(),
            Stage::Reduced => self.reduced_sentence(state.n()),
            Stage::Solved => "The cube is solved.".to_owned(),
        }
    }

    fn centres_sentence(&self, state: &State, words: &Words) -> String {
        let colours = centres::colours(state);
        let named = |faces: &[Face]| {
            let stickers = faces.iter().filter_map(|face| colours[face.index()]);
            listed(
                &stickers
                    .map(|sticker| words.of(sticker))
                    .collect::<Vec<_>>(),
            )
        };
        let clash = if self.centres.arrangement_ok {
            String::new()
        } else {
            format!(
                ", but the corners of this cube ask for {} on other faces",
                named(&centres::misplaced(colours))
            )
        };
        match self.centres.done.len() {
            0 => "No centre is whole yet: the centres come first.".to_owned(),
            6 => format!("All six centres are whole{clash}."),
            done => format!(
                "{} of the six centres {} whole ({}){clash}.{}",
                capital(&counted(done)),
                if done == 1 { "is" } else { "are" },
                named(&self.centres.done),
                self.last_two_centres(state, words)
            ),
        }
    }

    /// Which the last two open centres are, where they lie and how far they are; nothing if others are open too.
    fn last_two_centres(&self, state: &State, words: &Words) -> String {
        let is_open = |face: &Face| !self.centres.done.contains(face);
        let open: Vec<Face> = Face::ALL.into_iter().filter(is_open).collect();
        let [one, other] = open[..] else {
            return String::new();
        };
        let lie = if one == other.opposite() {
            "opposite each other"
        } else {
            "side by side"
        };
        let (one_name, other_name) = (one.letter(), other.letter());
        if !self.centres.arrangement_ok {
            return format!(
                " Besides, the last two, {lie} on {one_name} and {other_name}, are open."
            );
        }
        let Some(hold) = centres::home_hold(centres::colours(state)) else {
            return String::new();
        };
        let [first, second] = [one, other].map(|face| hold.comes_from(face));
        // What one lacks is in the other, so both are as far.
        let right = centres::count(state, one, first);
        let all = (state.n() - 2) * (state.n() - 2);
        format!(
            " Only the last two are open, {lie}: {} belongs on {one_name} and {} on {other_name}, where {right} of \
             the {all} stickers are right on each.",
            words.of(first),
            words.of(second)
        )
    }

    fn last_groups_sentence(&self) -> String {
        let Some(Case {
            title,
            structure: Structure::LastGroups(groups),
            ..
        }) = &self.case
        else {
            return String::new();
        };
        let names: Vec<_> = groups.edges.iter().map(|&edge| EDGE_NAMES[edge]).collect();
        let (noun, are) = match names.len() {
            1 => ("group", "is"),
            _ => ("groups", "are"),
        };
        format!(
            "Only the edge {noun} {} {are} open: {}.",
            listed(&names),
            wording::small(title)
        )
    }

    fn reduced_sentence(&self, n: usize) -> String {
        match (n, &self.case) {
            (2, _) => "A 2×2×2 has neither centres nor edges: only the corners are to be solved."
                .to_owned(),
            (3, _) => "A 3×3×3 has nothing to pair: it is solved layer by layer.".to_owned(),
            (_, None) => "The cube is reduced: from here it turns like a 3×3×3.".to_owned(),
            (_, Some(case)) => format!(
                "The cube is reduced and turns like a 3×3×3, but with a parity: {}.",
                wording::small(&case.title)
            ),
        }
    }
}

#[cfg(test)]
mod tests;
