//! The two parities that a reduced even cube can show, and what undoes them.

use super::aim::{Aim, Task};
use super::layers::bottoms;
use super::measure::Reaches;
use super::progress::{Progress, three};
use super::proof::{Claim, Error, Walk};
use super::search::{in_hold, tidied};
use super::tools::read;
use super::wings::Reach;
use crate::cube::{Hold, Move, Pieces, State};
use crate::diagnose::Stage;

/// Turn a group over, in the notation of a 5×5×5. The first was found by search (see
/// [`super::tools`]); the second is common practice, no source. Both also exchange corners and groups; the second
/// does not when its slices are turned without their outer layers.
const FLIPS: [&str; 2] = [
    "Lw2 B2 Rw' U2 Lw' B2 D2 Rw2 U2 Lw' U2 Lw' B2 Lw",
    "Rw2 B2 U2 Lw U2 Rw' U2 Rw U2 F2 Rw F2 Lw' B2 Rw2",
];

/// Exchange two groups, the slices being turned without their outer layers. Common practice, no source; the last
/// turn brings the corners back.
const SWAPS: [&str; 2] = ["Rw2 U2 Rw2 Uw2 Rw2 Uw2", "Rw2 U2 Rw2 Uw2 Rw2 Uw2 U2"];

/// What stands between a reduced cube and a state that a 3×3×3 can show.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Parity {
    /// An odd number of groups is flipped.
    pub flip: bool,
    /// The corners and the groups are permuted with different parity.
    pub swap: bool,
}

/// The parities of a state; `None` until it is reduced. A 2×2×2 and odd cubes have none (law 10).
pub fn of(state: &State) -> Option<Parity> {
    if Reaches::of(state).stage < Stage::Reduced {
        return None;
    }
    if state.n() == 2 {
        return Some(Parity {
            flip: false,
            swap: false,
        });
    }
    let pieces = Pieces::of(&three(state)?);
    Some(Parity {
        flip: pieces.flip()? == 1,
        swap: pieces.corners_are_odd()? != pieces.midges_are_odd()?,
    })
}

/// Undoes the parities of a reduced cube, the flip first, without undoing a layer that is already built.
///
/// # Errors
///
/// An own error if a step does not stand its proof.
pub fn undo(walk: &mut Walk) -> Result<(), Error> {
    let parity = || Error::NoWay {
        doing: "undo a parity",
    };
    if walk.is_over() {
        return Ok(());
    }
    if of(&walk.state).ok_or_else(parity)?.flip {
        let (hold, moves) = best(&walk.state, &flips(walk.state.n())).ok_or_else(parity)?;
        walk.take(Aim::plain(Task::Flip), hold, moves, Claim::NoFlip)?;
    }
    if !walk.is_over() && of(&walk.state).ok_or_else(parity)?.swap {
        let (hold, moves) = best(&walk.state, &swaps(walk.state.n())).ok_or_else(parity)?;
        walk.take(Aim::plain(Task::Swap), hold, moves, Claim::NoSwap)?;
    }
    Ok(())
}

/// The sequences for an order: all inner layers of a half turn together, with their outer layer or without.
fn written(n: usize, text: &str, reach: Reach) -> Vec<Move> {
    let layers: Vec<usize> = (2..=n / 2).collect();
    let moves: Vec<Move> = read(text)
        .into_iter()
        .flat_map(|mut letter| {
            if letter.reach == Reach::Block {
                letter.reach = reach;
            }
            letter.moves(&layers)
        })
        .collect();
    tidied(&moves)
}

fn flips(n: usize) -> Vec<Vec<Move>> {
    let mut all: Vec<Vec<Move>> = FLIPS
        .iter()
        .map(|text| written(n, text, Reach::Block))
        .collect();
    all.push(written(n, FLIPS[1], Reach::Slice));
    all
}

/// In the swaps the turns of U take the outer layer along.
fn swaps(n: usize) -> Vec<Vec<Move>> {
    SWAPS
        .iter()
        .map(|text| {
            let layers: Vec<usize> = (2..=n / 2).collect();
            let letters = read(text).into_iter().flat_map(|mut letter| {
                if letter.reach == Reach::Block && letter.face == crate::cube::Face::R {
                    letter.reach = Reach::Slice;
                }
                letter.moves(&layers)
            });
            tidied(&letters.collect::<Vec<Move>>())
        })
        .collect()
}

/// Of the sequences in all holds the one that undoes least of what is built, then leaves no other parity, then is
/// shortest.
fn best(state: &State, sequences: &[Vec<Move>]) -> Option<(Hold, Vec<Move>)> {
    let before = of(state)?;
    let mut best_score = (usize::MAX, 0, 0);
    let mut found = None;
    for &hold in Hold::all() {
        for moves in sequences {
            let after = state.after(&in_hold(moves, hold.inverse()));
            let Some(parity) = of(&after) else {
                continue;
            };
            let is_undone = if before.flip {
                !parity.flip
            } else {
                !parity.flip && !parity.swap
            };
            if !is_undone {
                continue;
            }
            let turns = moves.len() + if parity.swap { 9 } else { 0 };
            let missing = 7 - layers_built(&after);
            let score = (missing, turns, hold.sequence().0.len());
            if score < best_score {
                best_score = score;
                found = Some((hold, moves.clone()));
            }
        }
    }
    found
}

/// How many looks of the finish stand, whatever the bottom.
fn layers_built(state: &State) -> usize {
    let built = |progress: Progress| {
        usize::from(progress.cross == 4)
            + usize::from(progress.bottom_corners == 4)
            + usize::from(progress.middle_edges == 4)
            + usize::from(progress.top_edges_up >= 3)
            + usize::from(progress.top_edges_home)
            + usize::from(progress.top_corners_placed)
    };
    bottoms()
        .filter_map(|hold| Progress::of(&state.after(&hold.sequence().0)))
        .map(built)
        .max()
        .unwrap_or(0)
}
