//! Whether a few turns, or the rest of what centres are built with, bring whole centres back that a sequence has opened,
//! while others are still to be built.
//!
//! With fewer than three whole centres afterwards it may be chance, with as many it is not: one centre of a 4×4×4 is whole
//! by chance once in some 1,800 times, and three turns can be made in some ten thousand ways. Fewer than that, or just one
//! more than now, are told if they are the beginning of a step that this program advises, see [`super::begun`].

use super::aim::{Aim, Built, Task};
use super::begun;
use super::crossing::ways_back;
use super::look_back::{Turns, may_follow};
use super::measure::{Reaches, centre};
use super::proof::{Claim, Error, Step, Walk};
use crate::cube::{Face, Hold, Move, Spot, State};
use crate::diagnose::Stage;
use std::cmp::Reverse;

/// The most turns looked back.
const MOST_TURNS: usize = 3;

/// The least whole centres afterwards.
const LEAST_WHOLE: usize = 3;

/// How many more centres must be whole than now: a slice opens several at once.
const LEAST_MORE: usize = 2;

/// The step back to whole centres, or on to the end of a step begun; `None` if nothing leads to so many.
///
/// # Errors
///
/// An own error if the step does not stand its proof.
pub fn look_back(state: &State, now: &Reaches) -> Result<Option<Step>, Error> {
    let done = now.centres_done.len();
    let least = LEAST_WHOLE.max(done + LEAST_MORE);
    if now.stage != Stage::Centres || least >= Face::ALL.len() {
        return Ok(None);
    }
    let mut trying = Trying {
        turns: Turns::of(state.n()),
        faces: Face::ALL.map(|face| face_places(state.n(), face)),
        least,
        way: Vec::new(),
        best: None,
    };
    let few = (1..=MOST_TURNS).find_map(|depth| {
        trying.lengthen(state.stickers(), depth);
        trying.best.take()
    });
    if let Some((whole, moves)) = few {
        return back(state, whole, moves).map(Some);
    }
    let ways = ways_back(state, least);
    let best = ways
        .iter()
        .filter(|way| way.whole >= least)
        .max_by_key(|way| (way.whole, Reverse(way.moves.len())));
    match best {
        Some(best) => back(state, best.whole, best.moves.clone()).map(Some),
        None => begun::look_back(state, &ways),
    }
}

/// The step for the second centre that is begun, where the first is opened and all else is mixed; `None` on a 4×4×4, where
/// a single centre may be whole by chance.
///
/// # Errors
///
/// An own error if the step does not stand its proof.
pub fn whole_in_mixed(state: &State, now: &Reaches) -> Result<Option<Step>, Error> {
    if now.stage != Stage::Centres || state.n() == 4 {
        return Ok(None);
    }
    begun::look_back(state, &ways_back(state, Face::ALL.len()))
}

/// The step back to so many whole centres.
fn back(state: &State, whole: usize, moves: Vec<Move>) -> Result<Step, Error> {
    let task = Task::TurnBack {
        turns: moves.len(),
        to: Stage::Centres,
        built: Built::Centres(whole),
    };
    let claim = claim_of(&state.after(&moves));
    let mut walk = Walk::from(state.clone());
    walk.take(Aim::plain(task), Hold::SAME, moves, claim)?;
    walk.steps.pop().ok_or(Error::NoWay {
        doing: "turn back to whole centres",
    })
}

/// That the centres which are whole are.
pub(super) fn claim_of(after: &State) -> Claim {
    let kept = Reaches::of(after).centres_done;
    let face = kept.first().copied().unwrap_or(Face::U);
    Claim::Centre {
        face,
        colour: centre(after, face).next().unwrap_or(face),
        stickers: if kept.is_empty() {
            0
        } else {
            centre(after, face).count()
        },
        kept,
    }
}

/// The places of a centre, a corner of it and the one across first, for they tell most.
fn face_places(n: usize, face: Face) -> Vec<u16> {
    let inner = (1..n - 1).flat_map(|row| (1..n - 1).map(move |col| (row, col)));
    let mut spots: Vec<(usize, usize)> = inner.collect();
    let across = spots.len() - 1;
    spots.swap(1, across);
    let places = spots.into_iter();
    places
        .map(|(row, col)| Spot { face, row, col }.place(n) as u16)
        .collect()
}

/// The ways of some turns being tried.
struct Trying {
    turns: &'static Turns,
    faces: [Vec<u16>; 6],
    least: usize,
    way: Vec<usize>,
    /// The most whole centres reached, and the turns to them.
    best: Option<(usize, Vec<Move>)>,
}

impl Trying {
    /// Tries all ways that lengthen this one, which leads to `stickers`, by `more` turns.
    fn lengthen(&mut self, stickers: &[Face], more: usize) {
        let turns = self.turns;
        let last = self.way.last().map(|&last| turns.moves[last].0);
        for (index, (step, from)) in turns.moves[..turns.distinct].iter().enumerate() {
            // A turn of an outer layer makes no centre whole.
            let is_outer = matches!(step, Move::Block { layers: 1, .. });
            if (more == 1 && is_outer) || last.is_some_and(|last| !may_follow(last, *step)) {
                continue;
            }
            self.way.push(index);
            if more > 1 {
                let turned: Vec<Face> = from.iter().map(|&at| stickers[usize::from(at)]).collect();
                self.lengthen(&turned, more - 1);
            } else {
                self.judge(|place| stickers[usize::from(from[usize::from(place)])]);
            }
            self.way.pop();
        }
    }

    /// Keeps the way if enough centres are whole after it, and more than after the best so far.
    fn judge(&mut self, colour: impl Fn(u16) -> Face) {
        let best = self
            .best
            .as_ref()
            .map_or(self.least - 1, |&(whole, _)| whole);
        let mut open = 0;
        for places in &self.faces {
            let first = colour(places[0]);
            open += usize::from(!places[1..].iter().all(|&place| colour(place) == first));
            if self.faces.len() - open <= best {
                return;
            }
        }
        let way = self.way.iter().map(|&index| self.turns.moves[index].0);
        self.best = Some((self.faces.len() - open, way.collect()));
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advise::measure::centre_is_whole;
    use crate::advise::tests::{Dice, random_state};
    use crate::advise::{advise, route};

    fn whole(state: &State) -> usize {
        let faces = Face::ALL.into_iter();
        faces.filter(|&face| centre_is_whole(state, face)).count()
    }

    /// On the way of mixed cubes a step for the centres is left anywhere in it, the cube held anyhow, fewer of them being
    /// whole than at both its ends. With four whole at the ends that is always told, with three and with one all but
    /// always, and at least as many are whole then. With one on a 4×4×4 it may be chance.
    #[test]
    fn centres_off_by_a_slice_are_seen() {
        let mut dice = Dice::new(41);
        let (mut count, mut seen) = ([0; 5], [0; 5]);
        for n in [4, 5, 6, 7, 9] {
            let mut state = random_state(n, &mut dice);
            for step in route(&state).unwrap().steps {
                state.turn_all(&step.hold.0);
                let turns = step.moves.0.len();
                let ends = whole(&state).min(whole(&state.after(&step.moves.0)));
                for made in 1..turns {
                    let mid = state.after(&step.moves.0[..made]);
                    if ![1, 3, 4].contains(&ends) || (n == 4 && ends == 1) || whole(&mid) >= ends {
                        continue;
                    }
                    let mid = mid.after(&Hold::all()[dice.below(24)].sequence().0);
                    let told = advise(&mid).unwrap().unwrap().step;
                    let is_told =
                        matches!(told.aim.task, Task::TurnBack { .. } | Task::CarryOn { .. });
                    count[ends] += 1;
                    seen[ends] += usize::from(is_told);
                    if is_told {
                        let after = mid.after(&told.hold.0).after(&told.moves.0);
                        assert!(whole(&after) >= ends, "{told:?}");
                        assert!(told.moves.0.len() <= turns.max(MOST_TURNS), "{told:?}");
                    }
                }
                state.turn_all(&step.moves.0);
            }
        }
        assert!(
            count[1] > 100 && count[3] > 100 && count[4] > 50,
            "{count:?}"
        );
        assert_eq!(seen[4], count[4]);
        assert!(20 * seen[3] > 19 * count[3], "{seen:?} of {count:?}");
        assert!(20 * seen[1] > 19 * count[1], "{seen:?} of {count:?}");
    }

    /// Between two steps of the way of mixed cubes nothing is in the middle.
    #[test]
    fn centres_between_two_steps_are_left_alone() {
        let mut dice = Dice::new(42);
        for n in [4, 5, 6, 7, 9] {
            for _ in 0..4 {
                let mut state = random_state(n, &mut dice);
                for step in route(&state).unwrap().steps {
                    let now = Reaches::of(&state);
                    assert_eq!(look_back(&state, &now).unwrap(), None, "{state:?}");
                    state = state.after(&step.hold.0).after(&step.moves.0);
                }
            }
        }
    }
}
