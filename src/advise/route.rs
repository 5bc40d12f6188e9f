//! The whole way from a legal state to solved, and the next step of it.

use super::look_back::look_back;
use super::proof::{Claim, Error, Step, Walk};
use super::{centres, edges, layers, parity};
use crate::cube::{State, check};
use serde::Serialize;

/// Steps that solve a cube: each one's hold, then its moves, one after another.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Route {
    /// The order of the cube.
    pub n: usize,
    /// The steps; none for a cube that is solved, in whatever hold.
    pub steps: Vec<Step>,
    /// The outer-block turns of all steps; rotations count nothing.
    pub moves_total: usize,
}

/// The whole way to solved, first out of the middle of whatever the learner is in the middle of: it begins as
/// [`super::advise`] does.
///
/// # Errors
///
/// [`Error::Illegal`] for a state that breaks a law; otherwise only an own error, should a step not stand its proof.
pub fn route(state: &State) -> Result<Route, Error> {
    if !check(state).is_empty() {
        return Err(Error::Illegal);
    }
    let mut walk = Walk::from(state.clone());
    while walk.steps.len() < MOST_BACK
        && let Some(step) = look_back(&walk.state)?
    {
        walk.go_on(step);
    }
    let walk = walked(walk)?;
    let moves_total = walk.steps.iter().map(|step| step.moves.block_turns()).sum();
    Ok(Route {
        n: state.n(),
        steps: walk.steps,
        moves_total,
    })
}

/// The most steps looked back: from the middle of one thing one may come into that of another, hardly of a third.
const MOST_BACK: usize = 3;

/// The next step to solved; `None` for a cube that is solved, in whatever hold.
///
/// # Errors
///
/// As [`route`].
pub fn next_step(state: &State) -> Result<Option<Step>, Error> {
    if !check(state).is_empty() {
        return Err(Error::Illegal);
    }
    Ok(walked(Walk::one_step_from(state.clone()))?.steps.pop())
}

/// Walks on until solved or over, from a state that breaks no law.
fn walked(mut walk: Walk) -> Result<Walk, Error> {
    if !Claim::Solved.holds(&walk.state) {
        if walk.state.n() > 3 {
            centres::build_centres(&mut walk)?;
            edges::join_groups(&mut walk)?;
            parity::undo(&mut walk)?;
        }
        layers::finish(&mut walk)?;
    }
    Ok(walk)
}
