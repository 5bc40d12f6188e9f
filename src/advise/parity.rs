//! The two parities that a reduced even cube can show.

use super::measure::{Reaches, Stage};
use super::progress::three;
use crate::cube::{Pieces, State};

/// What stands between a reduced cube and a state that a 3×3×3 can show.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Parity {
    /// An odd number of groups is flipped.
    pub flip: bool,
    /// The corners and the groups are permuted with different parity.
    pub swap: bool,
}

/// The parities of a state; `None` until it is reduced. A 2×2×2 and odd cubes have none (law 10).
pub fn of(state: &State) -> Option<Parity> {
    if Reaches::of(state).stage < Stage::Reduced {
        return None;
    }
    if state.n() == 2 {
        return Some(Parity {
            flip: false,
            swap: false,
        });
    }
    let pieces = Pieces::of(&three(state)?);
    Some(Parity {
        flip: pieces.flip()? == 1,
        swap: pieces.corners_are_odd()? != pieces.midges_are_odd()?,
    })
}
