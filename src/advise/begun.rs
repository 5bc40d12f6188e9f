//! Whether a cube is in the middle of the very step that this program advises for the centres.
//!
//! That one more centre is whole after a few turns says little, for that is how centres are built. But if the step
//! advised there passes through this very cube, stickers of all pieces included, it is no chance.

use super::aim::{Aim, Built, Task};
use super::crossing::WayBack;
use super::proof::{Error, Step, Walk};
use super::route::next_step;
use super::slipped::claim_of;
use crate::cube::{Hold, Move, State};
use crate::diagnose::Stage;
use std::cmp::Reverse;

/// So many beginnings are looked at, the nearest and those with the best centres: what is advised there takes time to
/// find.
const MOST_TRIED: usize = 8;

/// So many ways are made to find different beginnings.
const MOST_MADE: usize = 30;

/// On larger cubes it takes too long to find what is advised.
pub const LARGEST: usize = 7;

/// The rest of the step that is begun, or the turns back to its beginning, whichever is shorter; `None` if none of the
/// ways leads to the beginning of one.
///
/// # Errors
///
/// An own error if a step does not stand its proof.
pub fn look_back(state: &State, ways: &[WayBack]) -> Result<Option<Step>, Error> {
    let in_holds: Vec<(Hold, State)> = Hold::all()
        .iter()
        .map(|&hold| (hold, state.after(&hold.sequence().0)))
        .collect();
    let mut by_agreement: Vec<&WayBack> = ways.iter().collect();
    by_agreement.sort_by_key(|way| Reverse(way.agreement));
    let mut tried: Vec<State> = Vec::new();
    for (ways, most) in [
        (ways.iter().collect(), MOST_TRIED),
        (by_agreement, 2 * MOST_TRIED),
    ] {
        for way in ways.into_iter().take(MOST_MADE) {
            let start = state.after(&way.moves);
            if tried.len() == most || tried.contains(&start) {
                continue;
            }
            let step = next_step(&start)?.filter(|step| step.stage == Stage::Centres);
            let passes = step.and_then(|step| {
                let (hold, made) = passes_through(&in_holds, &start, &step)?;
                Some((hold, step.moves.0, made))
            });
            if let Some((hold, moves, made)) = passes {
                return told(state, way, hold, &moves, made).map(Some);
            }
            tried.push(start);
        }
    }
    Ok(None)
}

/// After how many of its turns a step passes through a cube, and in which hold.
fn passes_through(in_holds: &[(Hold, State)], start: &State, step: &Step) -> Option<(Hold, usize)> {
    let mut reached = start.after(&step.hold.0);
    let (_, turns) = step.moves.0.split_last()?;
    turns.iter().enumerate().find_map(|(index, &turn)| {
        reached.turn(turn);
        let here = in_holds.iter().find(|(_, state)| *state == reached);
        here.map(|&(hold, _)| (hold, index + 1))
    })
}

/// The shorter way out of the middle.
fn told(
    state: &State,
    way: &WayBack,
    hold: Hold,
    moves: &[Move],
    made: usize,
) -> Result<Step, Error> {
    let on = &moves[made..];
    let (hold, moves, task) = if on.len() < way.moves.len() {
        let task = Task::CarryOn { made };
        (hold, on.to_vec(), task)
    } else {
        let task = Task::TurnBack {
            turns: way.moves.len(),
            to: Stage::Centres,
            built: Built::Centres(way.whole),
        };
        (Hold::SAME, way.moves.clone(), task)
    };
    let claim = claim_of(&state.after(&hold.sequence().0).after(&moves));
    let mut walk = Walk::from(state.clone());
    walk.take(Aim::plain(task), hold, moves, claim)?;
    walk.steps.pop().ok_or(Error::NoWay {
        doing: "go on with a step begun",
    })
}
