//! The cross on the bottom, one edge a step, by a search over all turns.

use super::cubies::Cubies;
use crate::cube::{Face, Move, Quarter, State};
use std::sync::OnceLock;

/// The cross edge that comes home soonest, and the moves that bring it there without losing those at home.
pub struct NextEdge {
    /// The edge, as an index into [`crate::cube::Layout::EDGES`].
    pub edge: usize,
    /// The moves.
    pub moves: Vec<Move>,
}

/// Where edges are: for each, twice the edge it lies on plus whether it is flipped.
type Spots = Vec<u8>;

const HOME: [u8; 4] = [8, 10, 12, 14];

/// Finds the next cross edge of a 3×3×3 named by its centres; `None` if the cross stands or an edge is missing.
pub fn next_edge(three: &State) -> Option<NextEdge> {
    let cubies = Cubies::of(three)?;
    let start: Spots = (4..8)
        .map(|piece| cubies.edge(piece))
        .collect::<Option<_>>()?;
    let (standing, away): (Vec<usize>, Vec<usize>) =
        (0..4).partition(|&which| start[which] == HOME[which]);
    let ways = away.into_iter().filter_map(|which| {
        let watched = || standing.iter().copied().chain([which]);
        let from: Spots = watched().map(|which| start[which]).collect();
        let to: Spots = watched().map(|which| HOME[which]).collect();
        let moves = shortest(from, to)?;
        Some(NextEdge {
            edge: 4 + which,
            moves,
        })
    });
    ways.min_by_key(|next| next.moves.len())
}

/// The turns to one side of the middle of a way: for each way the edges can lie, the last turn that led there, plus
/// one, and those met last.
struct Half {
    led: Vec<u8>,
    rim: Vec<Spots>,
}

impl Half {
    fn from(spots: Spots) -> Self {
        let mut led = vec![0; 24_usize.pow(spots.len() as u32)];
        led[number(&spots)] = u8::MAX;
        Self {
            led,
            rim: vec![spots],
        }
    }

    fn knows(&self, spots: &[u8]) -> bool {
        self.led[number(spots)] != 0
    }

    /// One turn more. Gives where the other half is met.
    fn grow(&mut self, other: &Self) -> Option<Spots> {
        for spots in std::mem::take(&mut self.rim) {
            for (index, (_, goes)) in turns().iter().enumerate() {
                let next: Spots = spots.iter().map(|&spot| goes[usize::from(spot)]).collect();
                let led = &mut self.led[number(&next)];
                if *led == 0 {
                    *led = index as u8 + 1;
                    if other.knows(&next) {
                        return Some(next);
                    }
                    self.rim.push(next);
                }
            }
        }
        None
    }

    /// The turns, the last first, that led from the beginning to these spots.
    fn back_from(&self, mut spots: Spots) -> Vec<Move> {
        let mut moves = Vec::new();
        loop {
            let led = self.led[number(&spots)];
            if led == u8::MAX {
                return moves;
            }
            let index = usize::from(led) - 1;
            let step = turns()[index].0;
            moves.push(step);
            // Three turns of a face stand together: clockwise, half, anticlockwise.
            let undone = &turns()[index / 3 * 3 + (2 - index % 3)].1;
            spots = spots
                .iter()
                .map(|&spot| undone[usize::from(spot)])
                .collect();
        }
    }
}

/// The fewest turns that bring edges from some spots to others, found from both ends.
fn shortest(from: Spots, to: Spots) -> Option<Vec<Move>> {
    let mut first = Half::from(from);
    let mut last = Half::from(to);
    // No four edges need more than eight turns.
    for _ in 0..4 {
        let met = first.grow(&last).or_else(|| last.grow(&first));
        if let Some(met) = met {
            let mut moves = first.back_from(met.clone());
            moves.reverse();
            let after = last.back_from(met);
            moves.extend(after.iter().map(|step| step.inverse()));
            return Some(moves);
        }
    }
    None
}

fn number(spots: &[u8]) -> usize {
    spots
        .iter()
        .fold(0, |number, &spot| number * 24 + usize::from(spot))
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
