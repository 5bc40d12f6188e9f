//! The cross on the bottom in the fewest turns, by a search over all turns.
//!
//! What is left of the fewest turns is itself the fewest: whoever stops half way is told the rest, or a cross as near.

use super::cubies::Cubies;
use super::look_back::may_follow;
use crate::cube::{Face, Move, Quarter, State};
use std::sync::OnceLock;

/// No cross needs more turns. Source: all 190080 ways for four edges to lie, counted by many.
pub const MOST_TURNS: usize = 8;

/// Where the four edges of the bottom are: for each, twice the edge it lies on plus whether it is flipped.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Spots([u8; 4]);

const HOME: [u8; 4] = [8, 10, 12, 14];

impl Spots {
    /// Finds them on a 3×3×3 named by its centres; `None` if one is missing.
    pub fn of(three: &State) -> Option<Self> {
        let cubies = Cubies::of(three)?;
        let mut spots = HOME;
        for (spot, piece) in spots.iter_mut().zip(4..) {
            *spot = cubies.edge(piece)?;
        }
        Some(Self(spots))
    }

    /// The edges that are not home, as indices into [`crate::cube::Layout::EDGES`].
    pub fn away(self) -> impl Iterator<Item = usize> {
        let is_away = move |which: &usize| self.0[*which] != HOME[*which];
        (0..4).filter(is_away).map(|which| 4 + which)
    }

    /// All ways of so many turns that bring all four home.
    pub fn ways_home(self, turns: usize) -> Vec<Vec<Move>> {
        let mut found = Vec::new();
        self.lengthen(&mut Vec::new(), turns, &mut |way| {
            found.push(way.to_vec());
            false
        });
        found
    }

    /// Whether there is such a way.
    pub fn is_home_in(self, turns: usize) -> bool {
        self.lengthen(&mut Vec::new(), turns, &mut |_| true)
    }

    /// Tries all ways that lengthen this one until one is `enough`; tells whether one was.
    fn lengthen(
        self,
        way: &mut Vec<Move>,
        more: usize,
        enough: &mut impl FnMut(&[Move]) -> bool,
    ) -> bool {
        if !self.may_be_home_in(more) {
            return false;
        }
        if more == 0 {
            return enough(way);
        }
        for (step, goes) in turns() {
            if way.last().is_some_and(|&last| !may_follow(last, *step)) {
                continue;
            }
            way.push(*step);
            let next = Self(self.0.map(|spot| goes[usize::from(spot)]));
            let is_enough = next.lengthen(way, more - 1, enough);
            way.pop();
            if is_enough {
                return true;
            }
        }
        false
    }

    /// Whether any two of the edges may be home after so many turns.
    fn may_be_home_in(self, turns: usize) -> bool {
        let mut pairs = PAIRS.iter().zip(pair_turns());
        pairs.all(|(&(one, other), needed)| {
            usize::from(needed[pair(self.0[one], self.0[other])]) <= turns
        })
    }
}

/// The pairs among the four edges.
const PAIRS: [(usize, usize); 6] = [(0, 1), (0, 2), (0, 3), (1, 2), (1, 3), (2, 3)];

fn pair(one: u8, other: u8) -> usize {
    usize::from(one) * 24 + usize::from(other)
}

/// For each of [`PAIRS`] the fewest turns that bring both home from each way to lie.
fn pair_turns() -> &'static [Vec<u8>; 6] {
    static MADE: OnceLock<[Vec<u8>; 6]> = OnceLock::new();
    MADE.get_or_init(|| {
        PAIRS.map(|(one, other)| {
            let mut needed = vec![u8::MAX; 24 * 24];
            let mut rim = vec![(HOME[one], HOME[other])];
            needed[pair(HOME[one], HOME[other])] = 0;
            for turns_made in 1.. {
                for (one, other) in std::mem::take(&mut rim) {
                    for (_, goes) in turns() {
                        let next = (goes[usize::from(one)], goes[usize::from(other)]);
                        let known = &mut needed[pair(next.0, next.1)];
                        if *known == u8::MAX {
                            *known = turns_made;
                            rim.push(next);
                        }
                    }
                }
                if rim.is_empty() {
                    break;
                }
            }
            needed
        })
    })
}

/// Every outer turn, and where it takes an edge from each of its 24 ways to lie.
fn turns() -> &'static [(Move, [u8; 24]); 18] {
    static MADE: OnceLock<[(Move, [u8; 24]); 18]> = OnceLock::new();
    MADE.get_or_init(|| {
        std::array::from_fn(|index| {
            let step = Move::Block {
                face: Face::ALL[index / 3],
                layers: 1,
                quarter: Quarter::ALL[index % 3],
            };
            let effect = Cubies::effect(&[step]);
            let mut goes = [0; 24];
            for (at, from) in (0..).zip(effect.edges) {
                for flip in 0..2 {
                    goes[usize::from(from ^ flip)] = 2 * at + flip;
                }
            }
            (step, goes)
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: the numbers of ways for the four edges to lie by the fewest turns that bring them home, as published
    /// for the cross in single and half turns.
    #[test]
    fn as_many_ways_need_so_many_turns_as_counted_elsewhere() {
        let number = |spots: [u8; 4]| {
            spots
                .iter()
                .fold(0, |sum, &spot| sum * 24 + usize::from(spot))
        };
        let mut is_known = vec![false; 24_usize.pow(4)];
        is_known[number(HOME)] = true;
        let mut rim = vec![HOME];
        let mut counts = Vec::new();
        while !rim.is_empty() {
            counts.push(rim.len());
            for (index, &spots) in rim.iter().enumerate().step_by(rim.len().div_ceil(40)) {
                let made = counts.len() - 1;
                let spots = Spots(spots);
                assert!(made > 7 || spots.is_home_in(made), "{index}: {spots:?}");
                assert!(
                    made == 0 || !spots.is_home_in(made - 1),
                    "{index}: {spots:?}"
                );
            }
            let mut next_rim = Vec::new();
            for spots in rim {
                for (_, goes) in turns() {
                    let next = spots.map(|spot| goes[usize::from(spot)]);
                    if !std::mem::replace(&mut is_known[number(next)], true) {
                        next_rim.push(next);
                    }
                }
            }
            rim = next_rim;
        }
        assert_eq!(counts, [1, 15, 158, 1394, 9809, 46381, 97254, 34966, 102]);
        assert_eq!(counts.len() - 1, MOST_TURNS);
    }
}
