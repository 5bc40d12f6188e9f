//! What to tell a learner now: the way out if they are in the middle of something, otherwise the next step; with it
//! the sequences of common practice that do the same, and what else those move.

use super::aim::{Aim, Task};
use super::analysis::{analyse, named_groups};
use super::arrangement::{Arrangement, Effect};
use super::edges::{arrangement_at, partners};
use super::look_back::look_back;
use super::measure::Reaches;
use super::pairing::set_ups;
use super::proof::{Claim, Error, Step, Walk, as_text};
use super::route::next_step;
use super::search::{in_hold, tidied};
use super::tools::{mirrored, read};
use super::wings::{Action, Letter, Orbit, Reach};
use crate::cube::{Face, Hold, Move, Quarter, Sequence, State, check};
use crate::diagnose::{Stage, open_edges};
use serde::Serialize;
use std::sync::OnceLock;

/// What to do now.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Advice {
    /// The step.
    #[serde(flatten)]
    pub step: Step,
    /// What the step's moves are known as, if they are a sequence of common practice themselves.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub known: Option<Known>,
    /// Sequences of common practice that do the same.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub others: Vec<Other>,
}

/// A sequence of common practice that a step is itself.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Known {
    /// What it is, in a few words.
    pub title: String,
    /// What else it moves, found by making it; a sentence.
    pub side_effects: String,
}

/// Another way to do a step.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Other {
    /// What it is, in a few words.
    pub title: String,
    /// The rotation from how the cube was held before.
    #[serde(serialize_with = "as_text")]
    pub hold: Sequence,
    /// The rotation to the same from the hold of the step.
    #[serde(serialize_with = "as_text")]
    pub from_step: Sequence,
    /// The moves, to be made in that hold.
    #[serde(serialize_with = "as_text")]
    pub moves: Sequence,
    /// What else it moves, found by making it; a sentence.
    pub side_effects: String,
    /// What is true after hold and moves, measured on the state.
    pub reaches: Reaches,
}

/// A sequence of common practice (no source), in the notation of a 5×5×5.
struct Practice {
    title: &'static str,
    moves: &'static str,
    /// How its wide turns take layers along.
    reach: Reach,
}

const TURNED_OVER_BETWEEN_SLICES: &str = "slice, turn a group over in its place, slice back";

const FOR_LAST_GROUPS: [Practice; 3] = [
    Practice {
        title: TURNED_OVER_BETWEEN_SLICES,
        moves: "Dw R F' U R' F Dw'",
        reach: Reach::Block,
    },
    Practice {
        title: "the long flip of a group's wings with wide turns",
        moves: LONG_FLIP,
        reach: Reach::Block,
    },
    Practice {
        title: "the long flip of a group's wings with slices alone",
        moves: LONG_FLIP,
        reach: Reach::Slice,
    },
];

const LONG_FLIP: &str = "Rw2 B2 U2 Lw U2 Rw' U2 Rw U2 F2 Rw F2 Lw' B2 Rw2";

const FOR_FLIP: [Practice; 2] = [
    Practice {
        title: "the long flip with wide turns",
        moves: LONG_FLIP,
        reach: Reach::Block,
    },
    Practice {
        title: "the long flip with slices alone",
        moves: LONG_FLIP,
        reach: Reach::Slice,
    },
];

/// All steps against the swap are common practice, see [`super::parity`].
const FOR_SWAP: &str = "half turns of the inner slices and of the upper half";

/// What to do now; `None` for a cube that is solved, in whatever hold.
///
/// # Errors
///
/// [`Error::Illegal`] for a state that breaks a law; otherwise only an own error, should a step not stand its proof.
pub fn advise(state: &State) -> Result<Option<Advice>, Error> {
    if !check(state).is_empty() {
        return Err(Error::Illegal);
    }
    if let Some(step) = look_back(state)? {
        return Ok(Some(Advice {
            step,
            known: None,
            others: Vec::new(),
        }));
    }
    next_advice(state)
}

/// The next step to solved with what it is known as, whatever the learner is in the middle of; `None` for a cube that is
/// solved, in whatever hold.
///
/// # Errors
///
/// As [`advise`].
pub(super) fn next_advice(state: &State) -> Result<Option<Advice>, Error> {
    let Some(step) = next_step(state)? else {
        return Ok(None);
    };
    let (own, mut others) = match step.aim.task {
        Task::LastGroups { layer, .. } => known_for_groups(state, &step, layer),
        Task::Flip => known_for_flip(state, &step),
        Task::Swap => (Some(FOR_SWAP), Vec::new()),
        _ => (None, Vec::new()),
    };
    let back = Hold::of_sequence(&step.hold).inverse();
    for other in &mut others {
        other.from_step = back.then(Hold::of_sequence(&other.hold)).sequence();
    }
    let effects = match step.aim.task {
        Task::Swap => effects_of_swap,
        _ => side_effects,
    };
    let known = own.map(|title| Known {
        title: title.to_owned(),
        side_effects: effects(&step.moves, state.n()),
    });
    Ok(Some(Advice {
        step,
        known,
        others,
    }))
}

/// What a step is known as, and the sequences known to do the same.
type KnownWays = (Option<&'static str>, Vec<Other>);

fn known_for_flip(state: &State, step: &Step) -> KnownWays {
    let n = state.n();
    let layers: Vec<usize> = (2..=n / 2).collect();
    let all = FOR_FLIP
        .iter()
        .map(|practice| (practice, turns_of(practice, &layers)));
    let (own, others): (Vec<_>, Vec<_>) = all.partition(|(_, moves)| step.moves.0 == *moves);
    let others = others
        .into_iter()
        .filter_map(|(practice, moves)| other(state, &[], practice, &moves, Claim::NoFlip));
    (
        own.first().map(|(practice, _)| practice.title),
        others.collect(),
    )
}

/// The turns of a sequence for some layers.
fn turns_of(practice: &Practice, layers: &[usize]) -> Vec<Move> {
    let moves: Vec<Move> = with_reach(practice)
        .iter()
        .flat_map(|letter| letter.moves(layers))
        .collect();
    tidied(&moves)
}

fn with_reach(practice: &Practice) -> Vec<Letter> {
    let mut letters = read(practice.moves);
    for letter in &mut letters {
        if letter.reach == Reach::Block {
            letter.reach = practice.reach;
        }
    }
    letters
}

/// Proves a way and describes it; `None` if it does not stand.
fn other(
    state: &State,
    open: &[usize],
    practice: &Practice,
    moves: &[Move],
    claim: Claim,
) -> Option<Other> {
    let hold = super::holding::showing_edges(open, moves);
    let mut walk = Walk::from(state.clone());
    let aim = Aim::plain(Task::Flip);
    walk.take(aim, hold, in_hold(moves, hold), claim).ok()?;
    let proved = walk.steps.pop()?;
    Some(Other {
        title: practice.title.to_owned(),
        side_effects: side_effects(&proved.moves, state.n()),
        from_step: proved.hold.clone(),
        hold: proved.hold,
        moves: proved.moves,
        reaches: proved.reaches,
    })
}

/// What a sequence against the swap does: which groups it exchanges, and what else it moves.
fn effects_of_swap(moves: &Sequence, n: usize) -> String {
    let half_turn = Move::Block {
        face: Face::U,
        layers: 1,
        quarter: Quarter::Half,
    };
    let with_top = Sequence(moves.0.iter().copied().chain([half_turn]).collect());
    let ends = [
        (moves, "moves nothing else"),
        (&with_top, "turns the top layer half round"),
    ];
    for (moves, besides) in ends {
        let analysis = analyse(moves, n);
        let moves_corners = analysis
            .cycles
            .iter()
            .any(|cycle| cycle.kind == super::analysis::Kind::Corner);
        if !moves_corners && analysis.groups.moved.len() == 2 {
            let groups = named_groups("whole group", &analysis.groups.moved);
            return format!("It exchanges {groups} and {besides}.");
        }
    }
    side_effects(moves, n)
}

/// What a sequence does besides mending: which whole groups it turns over, and what else it moves.
pub(super) fn side_effects(moves: &Sequence, n: usize) -> String {
    /// More of a kind than this are counted, not named.
    const FEW: usize = 4;
    let analysis = analyse(moves, n);
    let mut corners: Vec<&str> = Vec::new();
    for cycle in &analysis.cycles {
        if cycle.kind == super::analysis::Kind::Corner {
            corners.extend(cycle.places.iter().map(String::as_str));
        }
    }
    let mut parts = Vec::new();
    if corners.len() > FEW {
        parts.push(format!("{} corners", corners.len()));
    } else if !corners.is_empty() {
        let plural = if corners.len() == 1 { "" } else { "s" };
        let places = crate::cube::listed(&corners);
        parts.push(format!("the corner{plural} {places}"));
    }
    let groups = &analysis.groups.moved;
    if groups.len() > FEW {
        parts.push(format!("{} whole groups", groups.len()));
    } else if !groups.is_empty() {
        parts.push(named_groups("whole group", groups));
    }
    let also = if parts.is_empty() {
        "moves nothing else".to_owned()
    } else {
        format!(
            "also moves {}: harmless as long as no layer is built",
            parts.join(" and ")
        )
    };
    if analysis.groups.turned.is_empty() {
        return format!("It {also}.");
    }
    let turned = named_groups("whole group", &analysis.groups.turned);
    format!("It turns {turned} over in place and {also}.")
}

/// Whether moves are, after some set-up, a slice, five turns that turn a group over in its place, and the slice back: the
/// well-known sequence, whichever side the slice is turned from and whichever way it goes.
fn turns_over_between_slices(moves: &[Move]) -> bool {
    let is_outer = |step: &Move| matches!(step, Move::Block { layers: 1, .. });
    let set_up = moves.iter().take_while(|step| is_outer(step)).count();
    let rest = &moves[set_up..];
    let slice = rest.iter().take_while(|step| !is_outer(step)).count();
    let Some((&[one, other, between, one_back, other_back], back)) =
        rest[slice..].split_first_chunk()
    else {
        return false;
    };
    let undone: Vec<Move> = rest[..slice].iter().map(|step| step.inverse()).collect();
    let goes_back =
        slice > 0 && slice == back.len() && undone.iter().all(|step| back.contains(step));
    let five = Sequence(vec![one, other, between, one_back, other_back]);
    goes_back
        && five.0.iter().all(is_outer)
        && (one_back, other_back) == (one.inverse(), other.inverse())
        && !analyse(&five, 3).groups.turned.is_empty()
}

/// A sequence for last groups in one hold, with what it does.
struct Held {
    practice: &'static Practice,
    letters: Vec<Letter>,
    action: Action,
}

/// The sequences for last groups in all holds and mirrored.
fn all_held() -> &'static [Held] {
    static MADE: OnceLock<Vec<Held>> = OnceLock::new();
    MADE.get_or_init(|| {
        let mut all = Vec::new();
        for practice in &FOR_LAST_GROUPS {
            let plain = with_reach(practice);
            let mirror: Vec<Letter> = plain.iter().map(|&letter| mirrored(letter)).collect();
            for word in [plain, mirror] {
                for &hold in Hold::all() {
                    let letters: Vec<Letter> =
                        word.iter().map(|letter| letter.in_hold(hold)).collect();
                    let action = Action::of(&letters);
                    all.push(Held {
                        practice,
                        letters,
                        action,
                    });
                }
            }
        }
        all
    })
}

/// The sequences of common practice that mend the last groups open at a layer, after up to two outer turns of set-up:
/// what the step is known as if it is one, and the shortest for each other. On the outermost layer those of up to two
/// kinds of wings are known.
fn known_for_groups(state: &State, step: &Step, layer: usize) -> KnownWays {
    let n = state.n();
    let advised = in_hold(&step.moves.0, Hold::of_sequence(&step.hold).inverse());
    let mut own: Option<&'static str> =
        turns_over_between_slices(&step.moves.0).then_some(TURNED_OVER_BETWEEN_SLICES);
    let inner = if layer == 2 {
        None
    } else {
        Orbit::of(state, layer)
    };
    // Layers further out are not joined yet and go along.
    let (open, orbits, claim) = match &inner {
        Some(orbit) => (orbit.open(), 1, Claim::Fitting { layer, wings: 24 }),
        None if layer == 2 && n <= 7 => {
            (open_edges(state), n / 2 - 1, Claim::Stage(Stage::Reduced))
        }
        None => return (None, Vec::new()),
    };
    let depth = if open.len() == 2 { 2 } else { 0 };
    let mut found: Vec<(&'static Practice, Vec<Move>)> = Vec::new();
    for edges in partners(&open) {
        let arrangement = match &inner {
            Some(orbit) => arrangement_at(orbit, edges),
            None => Arrangement::of(state, edges),
        };
        let Some(arrangement) = arrangement else {
            continue;
        };
        for set_up in set_ups(2) {
            if set_up.letters().len() > depth {
                break;
            }
            let Some(turned) = Effect::of(&set_up.action, edges, false)
                .and_then(|effect| arrangement.after(effect, 0))
            else {
                continue;
            };
            for held in all_held() {
                let Some(effect) = Effect::of(&held.action, turned.edges.map(usize::from), false)
                else {
                    continue;
                };
                for on in 1..1_u8 << orbits {
                    if !turned
                        .after(effect, on)
                        .is_some_and(|after| after.is_whole())
                    {
                        continue;
                    }
                    let layers: Vec<usize> = if inner.is_some() {
                        (2..=layer).collect()
                    } else {
                        let on_them = (0..orbits).filter(|orbit| on >> orbit & 1 == 1);
                        on_them.map(|orbit| orbit + 2).collect()
                    };
                    let letters = set_up.letters().iter().chain(&held.letters);
                    let moves: Vec<Move> =
                        letters.flat_map(|letter| letter.moves(&layers)).collect();
                    let moves = tidied(&moves);
                    if moves == advised {
                        own = Some(held.practice.title);
                    }
                    match found
                        .iter_mut()
                        .find(|(known, _)| known.title == held.practice.title)
                    {
                        Some((_, known)) if known.len() > moves.len() => *known = moves,
                        Some(_) => {}
                        None => found.push((held.practice, moves)),
                    }
                }
            }
        }
    }
    let others = found
        .into_iter()
        .filter(|(_, moves)| *moves != advised)
        .filter_map(|(practice, moves)| other(state, &open, practice, &moves, claim.clone()));
    (own, others.collect())
}
