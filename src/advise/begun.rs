//! Whether a cube is in the middle of the very step that this program advises for the centres.
//!
//! That one more centre is whole after a few turns says little, for that is how centres are built. But if the step
//! advised there passes through this very cube, stickers of all pieces included, it is no chance: a mixed cube lies in the
//! middle of as many steps as a step has turns, but hardly ever of one from a whole centre.

use super::aim::{Aim, Built, Task};
use super::centres::may_be_next_on_top;
use super::crossing::WayBack;
use super::proof::{Error, Step, Walk};
use super::route::next_step;
use super::slipped::claim_of;
use crate::cube::{Hold, Move, State};
use crate::diagnose::Stage;
use std::cmp::Ordering;

/// What is advised somewhere takes time to find, the more the fewer centres are whole, so that only so much is done in a
/// pass over beginnings.
struct Pass<'a> {
    ways: &'a [&'a WayBack],
    /// At how many of them the step is found.
    most: usize,
}

/// The beginnings whose crossing gains most for its turns: so many are looked at first, so many in all. Most are refused at
/// once, since some other change gains more there.
const LOOKED_AT: [usize; 2] = [100, 600];

/// At how many of these the step is found, and at how many of the others, of whose crossing just the first columns are
/// turned, beside one whole centre and beside more.
const MOST_TRIED: [usize; 2] = [12, 40];
const MOST_OTHERS_TRIED: [usize; 2] = [20, 30];

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
    let (mut known, mut unknown): (Vec<_>, Vec<_>) =
        ways.iter().partition(|way| way.gain.is_some());
    unknown.sort_by_key(|way| way.moves.len());
    known.sort_by(|one, other| {
        let most_whole = other.whole.cmp(&one.whole);
        most_whole.then_with(|| match (one.gain, other.gain) {
            (Some(one), Some(other)) => one.compared_with(other).reverse(),
            _ => Ordering::Equal,
        })
    });
    known.truncate(LOOKED_AT[1]);
    let (first, rest) = known.split_at(known.len().min(LOOKED_AT[0]));
    let is_one_whole = ways.iter().all(|way| way.whole == 1);
    let passes = [
        (first, MOST_TRIED[0]),
        (&unknown[..], MOST_OTHERS_TRIED[usize::from(!is_one_whole)]),
        (rest, MOST_TRIED[1]),
    ];
    for (ways, most) in passes {
        if let Some(step) = (Pass { ways, most }).look_back(state, &in_holds)? {
            return Ok(Some(step));
        }
    }
    Ok(None)
}

impl Pass<'_> {
    fn look_back(&self, state: &State, in_holds: &[(Hold, State)]) -> Result<Option<Step>, Error> {
        let mut tried = 0;
        for way in self.ways {
            // The learner holds the cube as the step says.
            let start = state.after(&way.moves).after(&way.hold.sequence().0);
            if !may_be_next_on_top(&start, way.gain) {
                continue;
            }
            let step = next_step(&start)?.filter(|step| step.stage == Stage::Centres);
            let passes = step.and_then(|step| {
                let (hold, made) = passes_through(in_holds, &start, &step)?;
                Some((hold, step.moves.0, made))
            });
            if let Some((hold, moves, made)) = passes {
                return told(state, way, hold, &moves, made).map(Some);
            }
            tried += 1;
            if tried == self.most {
                break;
            }
        }
        Ok(None)
    }
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
