//! A 3×3×3, or the corners of a 2×2×2, as its pieces: what searches over many states turn instead of stickers.

use crate::cube::{Move, Pieces, State};

/// Which piece sits where and how it is turned there.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Cubies {
    /// At each corner position three times the piece plus its turn, see [`crate::cube::Placed`].
    pub corners: [u8; 8],
    /// At each edge position twice the piece plus its turn. Those of a 2×2×2 are home.
    pub edges: [u8; 12],
}

impl Cubies {
    /// All pieces at home.
    pub const HOME: Self = Self {
        corners: [0, 3, 6, 9, 12, 15, 18, 21],
        edges: [0, 2, 4, 6, 8, 10, 12, 14, 16, 18, 20, 22],
    };

    /// The pieces of a cube of order 2 or 3 named by its centres; `None` if some piece is none.
    pub fn of(named: &State) -> Option<Self> {
        let pieces = Pieces::of(named);
        let mut found = Self::HOME;
        for (at, placed) in found.corners.iter_mut().zip(pieces.corners) {
            let placed = placed?;
            *at = (3 * placed.piece + placed.turn) as u8;
        }
        for (at, placed) in found.edges.iter_mut().zip(&pieces.midges) {
            let placed = (*placed)?;
            *at = (2 * placed.piece + placed.turn) as u8;
        }
        Some(found)
    }

    /// What moves of outer layers make of a solved cube: their effect on any.
    pub fn effect(moves: &[Move]) -> Self {
        Self::of(&State::solved(3).after(moves)).unwrap_or(Self::HOME)
    }

    /// The cube after moves with this effect.
    #[must_use]
    pub fn after(&self, effect: &Self) -> Self {
        Self {
            corners: effect.corners.map(|from| {
                let came = self.corners[usize::from(from / 3)];
                came / 3 * 3 + (came + from) % 3
            }),
            edges: effect
                .edges
                .map(|from| self.edges[usize::from(from / 2)] ^ (from % 2)),
        }
    }

    /// Whether the piece that belongs at a corner position sits there unturned.
    pub const fn is_corner_home(&self, at: usize) -> bool {
        self.corners[at] as usize == 3 * at
    }

    /// Whether the piece that belongs at an edge position sits there unturned.
    pub const fn is_edge_home(&self, at: usize) -> bool {
        self.edges[at] as usize == 2 * at
    }

    /// Where a corner piece sits and how it is turned, as three times the position plus the turn.
    pub fn corner(&self, piece: usize) -> Option<u8> {
        let at = self
            .corners
            .iter()
            .position(|&at| usize::from(at / 3) == piece)?;
        Some(3 * at as u8 + self.corners[at] % 3)
    }

    /// Where an edge piece sits and how it is turned, as twice the position plus the turn.
    pub fn edge(&self, piece: usize) -> Option<u8> {
        let at = self
            .edges
            .iter()
            .position(|&at| usize::from(at / 2) == piece)?;
        Some(2 * at as u8 + self.edges[at] % 2)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::testkit::any_outer_turns;
    use proptest::prelude::*;

    proptest! {
        /// Turning the stickers and then looking at the pieces is the same as turning the pieces.
        #[test]
        fn pieces_turn_as_stickers_do(first in any_outer_turns(), then in any_outer_turns()) {
            let state = State::solved(3).after(&first);
            let turned = Cubies::of(&state).unwrap().after(&Cubies::effect(&then));
            prop_assert_eq!(Cubies::of(&state.after(&then)), Some(turned));
        }
    }
}
