//! Whether slices were turned: up to three, some outer turns among them, from a solved cube, or up to two from a reduced
//! one.
//!
//! A pattern of turned slices looks mixed to all that goes by centres or layers, yet the way back is short. Slices leave
//! the corners as they are to one another, so that hardly a cube is looked at closely. A slice is written as two turns:
//! of blocks that differ by it or, for all inner layers at once, of the outer layers the other way.

use super::aim::{Aim, Task};
use super::look_back::{centre_pairs, face_pairs, makes_alike};
use super::proof::{Claim, Error, Step, Walk};
use crate::cube::{Axis, Face, Hold, Layout, Move, Quarter, Spot, State};
use crate::diagnose::Stage;

/// The most slices and turns from a solved cube.
const MOST_FROM_SOLVED: usize = 3;

/// The most slices from a reduced cube.
const MOST_FROM_REDUCED: usize = 2;

/// The step back to solved; `None` if no few slices lead there. Turns of outer layers among them are looked for only where
/// the cube is reduced.
///
/// # Errors
///
/// An own error if the step does not stand its proof.
pub fn from_solved(state: &State, now: Stage) -> Result<Option<Step>, Error> {
    let n = state.n();
    let tricks = match now {
        Stage::Reduced if n > 2 => outer(n).into_iter().chain(inner_together(n)).collect(),
        Stage::Centres if are_corners_solved(state) => slices(n),
        _ => return Ok(None),
    };
    let search = Search {
        tricks: &tricks,
        pairs: &face_pairs(n),
    };
    let way = search.shortest(state, MOST_FROM_SOLVED);
    way.map(|way| step(state, &way, Stage::Solved)).transpose()
}

/// The step back to a reduced cube; `None` if no few slices lead there.
pub fn from_reduced(state: &State, now: Stage) -> Option<Step> {
    if now != Stage::Centres {
        return None;
    }
    let tricks = slices(state.n());
    let search = Search {
        tricks: &tricks,
        pairs: &centre_pairs(state.n()),
    };
    let way = search.shortest(state, MOST_FROM_REDUCED)?;
    // Whole centres alone are no sign of it.
    step(state, &way, Stage::Reduced).ok()
}

fn step(state: &State, way: &[&Trick], to: Stage) -> Result<Step, Error> {
    let slices = way.iter().filter(|trick| trick.is_slice).count();
    let task = Task::SlicesBack {
        slices,
        turns: way.len() - slices,
        to,
    };
    let claim = match to {
        Stage::Solved => Claim::Solved,
        to => Claim::Stage(to),
    };
    let moves = way.iter().flat_map(|trick| trick.moves.clone()).collect();
    let mut walk = Walk::from(state.clone());
    walk.take(Aim::plain(task), Hold::SAME, moves, claim)?;
    walk.steps.pop().ok_or(Error::NoWay {
        doing: "turn slices back",
    })
}

/// Whether the corners are those of a solved cube, in whatever hold.
fn are_corners_solved(state: &State) -> bool {
    let last = state.n() - 1;
    Face::ALL.into_iter().all(|face| {
        let at = |row, col| state.at_spot(Spot { face, row, col });
        [at(0, last), at(last, 0), at(last, last)] == [at(0, 0); 3]
    })
}

/// A turn of an outer layer or a slice.
struct Trick {
    moves: Vec<Move>,
    axis: Axis,
    is_slice: bool,
    /// Where the sticker at every place comes from.
    from: Vec<u16>,
}

impl Trick {
    fn of(n: usize, axis: Axis, moves: Vec<Move>) -> Self {
        let layout = Layout::of(n);
        let mut from: Vec<u16> = (0..layout.places() as u16).collect();
        for &step in &moves {
            layout.turn(&mut from, step);
        }
        Self {
            is_slice: moves.len() > 1,
            moves,
            axis,
            from,
        }
    }
}

const fn block(face: Face, layers: usize, quarter: Quarter) -> Move {
    Move::Block {
        face,
        layers,
        quarter,
    }
}

/// The turns of the outer layers.
fn outer(n: usize) -> Vec<Trick> {
    let turn = |face: Face| {
        Quarter::ALL.map(|quarter| Trick::of(n, face.axis(), vec![block(face, 1, quarter)]))
    };
    Face::ALL.into_iter().flat_map(turn).collect()
}

/// All inner layers as one slice.
fn inner_together(n: usize) -> Vec<Trick> {
    let turn = |face: Face| {
        Quarter::ALL.map(|quarter| {
            let back = [
                block(face, 1, quarter.inverse()),
                block(face.opposite(), 1, quarter),
            ];
            Trick::of(n, face.axis(), back.to_vec())
        })
    };
    [Face::R, Face::U, Face::F]
        .into_iter()
        .flat_map(turn)
        .collect()
}

/// Each inner layer as a slice, counted from the nearer side, and all together.
fn slices(n: usize) -> Vec<Trick> {
    let mut tricks = inner_together(n);
    for face in Face::ALL {
        for layer in 2..=n.div_ceil(2) {
            let is_of_other_side = 2 * layer == n + 1 && face != face.axis().face();
            if is_of_other_side || n == 3 {
                continue;
            }
            for quarter in Quarter::ALL {
                let turns = vec![
                    block(face, layer, quarter),
                    block(face, layer - 1, quarter.inverse()),
                ];
                tricks.push(Trick::of(n, face.axis(), turns));
            }
        }
    }
    tricks
}

/// A search for few tricks after which places paired have one colour.
struct Search<'a> {
    tricks: &'a [Trick],
    pairs: &'a [(u16, u16)],
}

impl<'a> Search<'a> {
    /// The fewest that do it.
    fn shortest(&self, state: &State, most: usize) -> Option<Vec<&'a Trick>> {
        (1..=most).find_map(|depth| {
            let mut way = Vec::new();
            self.lengthen(state.stickers(), depth, &mut way)
                .then_some(way)
        })
    }

    /// Lengthens a way, which leads to `stickers`, by `more` tricks to the end; whether it came there.
    fn lengthen(&self, stickers: &[Face], more: usize, way: &mut Vec<&'a Trick>) -> bool {
        for trick in self.tricks {
            if way.last().is_some_and(|last| !may_follow(last, trick)) {
                continue;
            }
            way.push(trick);
            let is_there = if more == 1 {
                makes_alike(stickers, self.pairs, &trick.from)
            } else {
                let turned = trick.from.iter().map(|&at| stickers[usize::from(at)]);
                self.lengthen(&turned.collect::<Vec<Face>>(), more - 1, way)
            };
            if is_there {
                return true;
            }
            way.pop();
        }
        false
    }
}

/// Parallel ones commute: one order of them will do.
fn may_follow(last: &Trick, next: &Trick) -> bool {
    let rank = |trick: &Trick| match trick.moves[..] {
        [Move::Block { face, layers, .. }, ..] => (trick.is_slice, layers, face.index()),
        _ => (trick.is_slice, 0, 0),
    };
    last.axis != next.axis || rank(last) < rank(next)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advise::tests::{Dice, reduced_state};
    use crate::advise::{advise, route};
    use crate::cube::Sequence;

    /// What is told of a cube after moves from a start: the sentence, after moves proved to lead there.
    fn told(start: &State, moves: &[Move]) -> String {
        let state = start.after(moves);
        let step = advise(&state).unwrap().unwrap().step;
        let after = state.after(&step.hold.0).after(&step.moves.0);
        assert!(Claim::Stage(step.reaches.stage).holds(&after));
        assert_eq!(route(&state).unwrap().steps[0], step);
        step.aim.to_string()
    }

    /// Source: the well-known patterns of a 3×3×3, slices written as turns of the layers beside them.
    #[test]
    fn patterns_of_slices_are_a_few_slices_from_solved() {
        let check = |n: usize, moves: &str, expected: &str| {
            let moves = Sequence::for_order(moves, n).unwrap().0;
            let told = told(&State::solved(n), &moves);
            let expected = format!("Turn back: you are {expected} from the solved cube");
            assert!(told.starts_with(&expected), "{n}: {told}");
        };
        for n in [3, 5, 6] {
            check(n, "R2 L2 U2 D2 F2 B2", "three slices");
            check(n, "R L' F B' U D'", "three slices");
            check(n, "R L' F B'", "two slices");
            check(n, "R L' F B' U", "two slices and one turn");
        }
        check(4, "Rw R' Uw U'", "two slices");
        check(5, "Rw2 R2 Uw2 U2 Fw2 F2", "three slices");
        check(5, "3Rw2 Rw2 3Uw2 Uw2 3Fw2 Fw2", "three slices");
        check(7, "3Lw 2Lw' 3Dw2 2Dw2 4Fw 3Fw'", "three slices");
    }

    /// Any two slices from a reduced cube, and three from a solved one.
    #[test]
    fn a_few_slices_are_turned_back() {
        let mut dice = Dice::new(61);
        for n in 4..=8 {
            let tricks = slices(n);
            for from_solved in [true, false, true, false] {
                let start = if from_solved {
                    State::solved(n)
                } else {
                    reduced_state(n, &mut dice)
                };
                let count = if from_solved { 3 } else { 2 };
                let picked = (0..count).map(|_| &tricks[dice.below(tricks.len())]);
                let moves: Vec<Move> = picked.flat_map(|trick| trick.moves.clone()).collect();
                let state = start.after(&moves);
                if Claim::Stage(Stage::Pairing).holds(&state) {
                    continue;
                }
                let step = advise(&state).unwrap().unwrap().step;
                let least = if from_solved {
                    Stage::Solved
                } else {
                    Stage::Reduced
                };
                let told = Sequence(moves);
                assert!(step.reaches.stage >= least, "{n}, {told}: {step:?}");
                assert!(step.moves.0.len() <= 2 * count, "{n}, {told}: {step:?}");
            }
        }
    }

    #[test]
    fn a_solved_cube_and_its_holds_have_no_slice_turned() {
        for n in 2..=7 {
            for hold in Hold::all() {
                let state = State::solved(n).after(&hold.sequence().0);
                assert_eq!(advise(&state), Ok(None));
            }
        }
    }
}
