//! The shortest way from a cube to a goal by given tricks, measured in turns.

use super::cubies::Cubies;
use crate::cube::{Hold, Move};
use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};

/// Moves of outer layers that are always made together.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Trick {
    /// The moves, as held in [`Trick::hold`].
    pub moves: Vec<Move>,
    /// The hold in which they are written.
    pub hold: Hold,
    /// What they do to the cube as it is held now.
    effect: Cubies,
}

impl Trick {
    /// These moves made in that hold.
    pub fn new(moves: Vec<Move>, hold: Hold) -> Self {
        let effect = Cubies::effect(&in_hold(&moves, hold.inverse()));
        Self {
            moves,
            hold,
            effect,
        }
    }

    /// The cube after it.
    pub fn applied_to(&self, cube: &Cubies) -> Cubies {
        cube.after(&self.effect)
    }

    /// The moves in the letters of how the cube is held now.
    pub fn here(&self) -> Vec<Move> {
        in_hold(&self.moves, self.hold.inverse())
    }
}

/// Moves written for one hold, rewritten for the hold that `hold` leads to.
pub fn in_hold(moves: &[Move], hold: Hold) -> Vec<Move> {
    moves
        .iter()
        .map(|&step| match step {
            Move::Block {
                face,
                layers,
                quarter,
            } => Move::Block {
                face: hold.brings(face),
                layers,
                quarter,
            },
            rotation @ Move::Rotation { .. } => rotation,
        })
        .collect()
}

/// The tricks of the cheapest way from `start` to a cube with `is_goal`; cubes with the same key count as one.
/// `None` if there is no such way.
pub fn cheapest<'a, K: Ord + Copy>(
    start: &Cubies,
    tricks: &[&'a Trick],
    key: impl Fn(&Cubies) -> K,
    is_goal: impl Fn(&Cubies) -> bool,
) -> Option<Vec<&'a Trick>> {
    cheapest_and_best(start, tricks, key, is_goal, |_| ())
}

/// As [`cheapest`]; of the equally cheap ways one to a cube that is `good` most.
pub fn cheapest_and_best<'a, K: Ord + Copy, G: Ord>(
    start: &Cubies,
    tricks: &[&'a Trick],
    key: impl Fn(&Cubies) -> K,
    is_goal: impl Fn(&Cubies) -> bool,
    good: impl Fn(&Cubies) -> G,
) -> Option<Vec<&'a Trick>> {
    let mut reached = vec![(*start, None::<(usize, usize)>)];
    let mut best = BTreeMap::from([(key(start), 0)]);
    let mut open = BinaryHeap::from([Reverse((0, 0))]);
    let mut found: Option<(usize, usize, G)> = None;
    while let Some(Reverse((cost, index))) = open.pop() {
        if found.as_ref().is_some_and(|&(least, ..)| cost > least) {
            break;
        }
        let cube = reached[index].0;
        if is_goal(&cube) {
            let goodness = good(&cube);
            if found.as_ref().is_none_or(|(_, _, most)| goodness > *most) {
                found = Some((cost, index, goodness));
            }
            continue;
        }
        if best.get(&key(&cube)).is_some_and(|&known| known < cost) {
            continue;
        }
        for (index_of_trick, trick) in tricks.iter().enumerate() {
            let next = trick.applied_to(&cube);
            let total = cost + trick.moves.len();
            let id = key(&next);
            if best.get(&id).is_none_or(|&known| total < known) {
                best.insert(id, total);
                reached.push((next, Some((index, index_of_trick))));
                open.push(Reverse((total, reached.len() - 1)));
            }
        }
    }
    let (_, mut at, _) = found?;
    let mut way = Vec::new();
    while let Some((before, trick)) = reached[at].1 {
        way.push(tricks[trick]);
        at = before;
    }
    way.reverse();
    Some(way)
}

/// Joins turns of the same layers made one after another, also across turns of parallel layers, and drops
/// what cancels.
pub fn tidied(moves: &[Move]) -> Vec<Move> {
    let mut kept: Vec<Move> = Vec::new();
    'moves: for &step in moves {
        let Move::Block { face, layers, .. } = step else {
            kept.push(step);
            continue;
        };
        for at in (0..kept.len()).rev() {
            let Move::Block {
                face: other,
                layers: deep,
                quarter,
            } = kept[at]
            else {
                break;
            };
            if other == face && deep == layers {
                let count = quarter.count() + step.quarter().count();
                match crate::cube::Quarter::from_count(count) {
                    Some(sum) => kept[at] = kept[at].with(sum),
                    None => {
                        kept.remove(at);
                    }
                }
                continue 'moves;
            }
            if other.axis() != face.axis() {
                break;
            }
        }
        kept.push(step);
    }
    kept
}
