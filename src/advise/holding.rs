//! How to hold the cube so that a person sees the pieces a step is about.

use crate::cube::{Face, Hold, Layout, Move};

/// The sides a person sees at a glance.
const SEEN: [Face; 3] = [Face::U, Face::F, Face::R];

/// The hold in which the edges show most, with as little turning in the hands and as few moves on the far sides as
/// that allows.
pub fn showing_edges(edges: &[usize], moves: &[Move]) -> Hold {
    let sides: Vec<Face> = edges
        .iter()
        .flat_map(|&edge| [Layout::EDGES[edge].0, Layout::EDGES[edge].1])
        .collect();
    showing(&sides, moves)
}

/// The hold in which most of the sides are seen; otherwise as [`showing_edges`].
pub fn showing(sides: &[Face], moves: &[Move]) -> Hold {
    let score = |hold: &Hold| {
        let seen = sides
            .iter()
            .filter(|&&side| SEEN.contains(&hold.brings(side)))
            .count();
        let awkward = moves
            .iter()
            .filter(|step| {
                matches!(step, Move::Block { face, .. }
                    if [Face::B, Face::D].contains(&hold.brings(*face)))
            })
            .count();
        let rotations = hold.sequence().0.len();
        100 * seen as i32 - 12 * rotations as i32 - 2 * awkward as i32
    };
    Hold::all()
        .iter()
        .copied()
        .rev()
        .max_by_key(score)
        .unwrap_or(Hold::SAME)
}
