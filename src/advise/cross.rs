//! The cross on the bottom, one edge a step, by a search over all turns.

use crate::cube::{Face, Move, Pieces, Quarter, State};
use std::sync::OnceLock;

/// The cross edge that comes home soonest, and the moves that bring it there without losing those at home.
pub struct NextEdge {
    /// The edge, as an index into [`crate::cube::Layout::EDGES`].
    pub edge: usize,
    /// The moves.
    pub moves: Vec<Move>,
}

/// Where the four bottom edges are: for each, twice the edge it lies on plus whether it is flipped.
type Spots = [u8; 4];

const HOME: Spots = [8, 10, 12, 14];

/// Finds the next cross edge of a 3×3×3 named by its centres; `None` if the cross stands or an edge is missing.
pub fn next_edge(three: &State) -> Option<NextEdge> {
    let pieces = Pieces::of(three);
    let mut start = HOME;
    for (spot, piece) in start.iter_mut().zip(4..) {
        let at = pieces
            .midges
            .iter()
            .position(|placed| placed.is_some_and(|placed| placed.piece == piece))?;
        *spot = (2 * at + pieces.midges[at]?.turn) as u8;
    }
    let stands = |spots: &Spots, which: usize| spots[which] == HOME[which];
    let standing: Vec<usize> = (0..4).filter(|&which| stands(&start, which)).collect();
    if standing.len() == 4 {
        return None;
    }
    let mut came_from = vec![0_u8; 24 * 24 * 24 * 24];
    let mut queue = std::collections::VecDeque::from([start]);
    came_from[number(start)] = u8::MAX;
    while let Some(spots) = queue.pop_front() {
        let fresh = (0..4).find(|which| !standing.contains(which) && stands(&spots, *which));
        if let Some(which) = fresh.filter(|_| standing.iter().all(|&which| stands(&spots, which))) {
            let moves = way_back(&came_from, spots);
            return Some(NextEdge {
                edge: 4 + which,
                moves,
            });
        }
        for (index, table) in turns().iter().enumerate() {
            let next = spots.map(|spot| table.1[usize::from(spot)]);
            let known = &mut came_from[number(next)];
            if *known == 0 {
                *known = index as u8 + 1;
                queue.push_back(next);
            }
        }
    }
    None
}

fn number(spots: Spots) -> usize {
    spots
        .iter()
        .fold(0, |number, &spot| number * 24 + usize::from(spot))
}

fn way_back(came_from: &[u8], mut spots: Spots) -> Vec<Move> {
    let mut moves = Vec::new();
    loop {
        let turn = came_from[number(spots)];
        if turn == u8::MAX {
            moves.reverse();
            return moves;
        }
        let step = turns()[usize::from(turn) - 1].0;
        moves.push(step);
        // Made once more, a half turn is undone; a quarter turn takes three.
        let times = if step.quarter() == Quarter::Half {
            1
        } else {
            3
        };
        let back = &turns()[usize::from(turn) - 1].1;
        for _ in 0..times {
            spots = spots.map(|spot| back[usize::from(spot)]);
        }
    }
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
            let mut goes = [0; 24];
            let turned = Pieces::of(&State::solved(3).after(&[step]));
            for (at, placed) in turned.midges.iter().enumerate() {
                for flip in 0..2 {
                    if let Some(placed) = placed {
                        goes[2 * placed.piece + flip] = (2 * at + (placed.turn ^ flip)) as u8;
                    }
                }
            }
            (step, goes)
        })
    })
}
