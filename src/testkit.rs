//! What the tests of several rooms draw their examples from.

use crate::cube::{Face, Move, Quarter, Spot, State};
use proptest::prelude::*;
use std::ops::RangeInclusive;

/// A move that fits a cube of order `n`, whole-cube rotations now and then.
pub fn any_move(n: usize) -> impl Strategy<Value = Move> {
    let face = prop::sample::select(&Face::ALL[..]);
    let quarter = prop::sample::select(&Quarter::ALL[..]);
    (face, 1..=n, quarter).prop_map(move |(face, layers, quarter)| {
        if layers < n {
            Move::Block {
                face,
                layers,
                quarter,
            }
        } else {
            Move::Rotation {
                axis: face.axis(),
                quarter,
            }
        }
    })
}

/// Up to 20 turns of single outer layers.
pub fn any_outer_turns() -> impl Strategy<Value = Vec<Move>> {
    let face = prop::sample::select(&Face::ALL[..]);
    let quarter = prop::sample::select(&Quarter::ALL[..]);
    let turn = (face, quarter).prop_map(|(face, quarter)| Move::Block {
        face,
        layers: 1,
        quarter,
    });
    prop::collection::vec(turn, 0..20)
}

/// A cube of one of these orders after up to 60 moves from solved.
pub fn scrambled(orders: RangeInclusive<usize>) -> impl Strategy<Value = State> {
    orders.prop_flat_map(|n| {
        prop::collection::vec(any_move(n), 0..60)
            .prop_map(move |steps| State::solved(n).after(&steps))
    })
}

/// The stickers as numbers, each face's own number being its index.
pub fn labels_of(state: &State) -> Vec<u8> {
    state.stickers().iter().map(|&face| face as u8).collect()
}

/// Exchanges the stickers of two faces in these cells, given as (row, column).
pub fn exchange_cells(
    state: &mut State,
    [one, other]: [Face; 2],
    cells: impl IntoIterator<Item = (usize, usize)>,
) {
    for (row, col) in cells {
        let n = state.n();
        exchange(
            state,
            [one, other].map(|face| Spot { face, row, col }.place(n)),
        );
    }
}

/// Exchanges the stickers at two places.
pub fn exchange(state: &mut State, [one, other]: [usize; 2]) {
    let held = state.at(one);
    state.set(one, state.at(other));
    state.set(other, held);
}
