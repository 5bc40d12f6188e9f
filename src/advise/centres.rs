//! The centres: which one to build next, and the bar, block or few pieces that bring it on most for the turns.
//!
//! All is done with the centre being built on top and the side the pieces come from in front; see
//! [`super::centre_search`] for the kinds of moves.

use super::aim::{Aim, Task};
use super::centre_search::best_change;
use super::measure::{Reaches, centre_count, centre_is_whole};
use super::proof::{Claim, Error, Walk};
use crate::cube::{Face, Hold, Spot, State};
use crate::diagnose::Stage;

/// Builds all six centres, agreeing with the corners.
///
/// # Errors
///
/// An own error if a step does not stand its proof or none is found.
pub fn build_centres(walk: &mut Walk) -> Result<(), Error> {
    // Every step puts at least one sticker right that stays right.
    let stickers = walk.state.n() * walk.state.n() * 6;
    let mut colours = wanted(&walk.state);
    for _ in 0..stickers {
        if walk.is_over() || Reaches::of(&walk.state).stage > Stage::Centres {
            return Ok(());
        }
        let hold = next_step(walk, colours)?;
        colours = Face::ALL.map(|side| colours[hold.comes_from(side).index()]);
    }
    Err(Error::NoWay {
        doing: "build the centres",
    })
}

/// Takes the next step towards the colours wanted on each side, and says how it is held.
fn next_step(walk: &mut Walk, colours: [Face; 6]) -> Result<Hold, Error> {
    let is_done = |side: Face| {
        let size = walk.state.n() - 2;
        centre_count(&walk.state, side, colours[side.index()]) == size * size
    };
    let done: Vec<Face> = Face::ALL
        .into_iter()
        .filter(|&side| is_done(side))
        .collect();
    let all_whole = Face::ALL
        .into_iter()
        .all(|side| centre_is_whole(&walk.state, side));
    let target = next_side(&walk.state, colours, &done);
    let colour = colours[target.index()];
    let best = best_change(&walk.state, target, colour, &done).ok_or(Error::NoWay {
        doing: "bring a centre on",
    })?;
    let stickers = centre_count(&walk.state, target, colour) + best.gain;
    let side = best.hold.brings(target);
    let task = if all_whole {
        Task::ExchangeCentres {
            one: side,
            other: best.from,
        }
    } else if best.is_bar {
        Task::Bar {
            side,
            from: best.from,
            colour,
            stickers,
        }
    } else {
        Task::CentrePieces {
            side,
            from: best.from,
            colour,
            stickers,
        }
    };
    let claim = Claim::Centre {
        face: side,
        colour,
        stickers,
        kept: done
            .into_iter()
            .map(|side| best.hold.brings(side))
            .filter(|&side| Some(side) != best.broken)
            .collect(),
    };
    walk.take(Aim::plain(task), best.hold, best.moves, claim)?;
    Ok(best.hold)
}

/// The colour each side's centre is to have. On an odd cube the fixed centres say so; on an even one, of the 24
/// ways that agree with the corners the one that most stickers are right in, finished centres counting most.
fn wanted(state: &State) -> [Face; 6] {
    let n = state.n();
    if n % 2 == 1 {
        return Face::ALL.map(|face| {
            state.at_spot(Spot {
                face,
                row: n / 2,
                col: n / 2,
            })
        });
    }
    let size = n - 2;
    let right = |hold: &Hold| -> usize {
        Face::ALL
            .into_iter()
            .map(|colour| {
                let count = centre_count(state, hold.brings(colour), colour);
                let is_done = count == size * size;
                count + usize::from(is_done) * 6 * size * size
            })
            .sum()
    };
    let hold = Hold::all()
        .iter()
        .copied()
        .rev()
        .max_by_key(right)
        .unwrap_or(Hold::SAME);
    Face::ALL.map(|side| hold.comes_from(side))
}

/// The side to build next: opposite a finished one if it can be, then beside the finished ones, so that the last two
/// lie next to each other; among equals the one furthest on.
fn next_side(state: &State, colours: [Face; 6], done: &[Face]) -> Face {
    let score = |side: &Face| {
        let count = centre_count(state, *side, colours[side.index()]) as i32;
        let area = (state.n() * state.n()) as i32;
        let open_beside = Face::ALL
            .iter()
            .filter(|&&other| !done.contains(&other) && other != *side && other != side.opposite())
            .count() as i32;
        let is_opposite_done = done.contains(&side.opposite());
        let pairs = i32::from(is_opposite_done && open_beside == 4);
        let helps_last = i32::from(done.len() >= 2 && !is_opposite_done);
        // With the first two opposite and open sides in a ring, any side may be third; the fourth is its neighbour.
        let fourth = i32::from(done.len() == 3 && !is_opposite_done);
        count + area * (4 * pairs + helps_last + 2 * fourth)
    };
    Face::ALL
        .into_iter()
        .rev()
        .filter(|side| !done.contains(side))
        .max_by_key(score)
        .unwrap_or(Face::U)
}
