//! The N×N×N cube as mathematics: places, pieces, states and turns for any order from 2 to 17.
//!
//! Whole numbers only: this room has never seen a pixel, a colour or a file.
//!
//! # Places
//!
//! A *place* is one sticker position, numbered `(face · n + row) · n + col` with the faces in the order
//! U R F D L B and `row`, `col` as seen looking straight at the face: F, R, B and L with U on top, U with F
//! below it, D with F above it.
//! Space has R = +x, U = +y, F = +z.
//!
//! # Layers
//!
//! Layers are counted from the face they lie under, 1 being the outer one.

mod completion;
mod face;
#[cfg(test)]
mod facts;
mod hold;
mod law;
mod layout;
mod piece;
mod scheme;
mod state;
mod turn;
mod words;

pub use completion::{Completion, complete};
pub use face::{Axis, Face, Spot, Vector};
pub use hold::Hold;
pub use law::{Fault, Kind, check, check_in_words};
pub use layout::{Corner, Layout, Midge, Orbit, OrbitKind, Wing, WingOrbit};
pub use piece::{
    CORNER_NAMES, EDGE_ENDS, EDGE_NAMES, Pieces, Placed, corner_of, is_odd, midge_of, wing_name,
    wing_of, wing_word,
};
pub use scheme::{Homes, HomesError, Label, find_homes};
pub use state::State;
pub use turn::{Move, NotationError, Quarter, Sequence};
pub use words::{Words, capital, counted, listed, spot_name, with_article};

/// The smallest order of a cube this program knows.
pub const LEAST_ORDER: usize = 2;

/// The largest order of a cube this program knows.
pub const MOST_ORDER: usize = 17;
