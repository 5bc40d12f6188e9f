//! Seen faces to one cube state, its doubts and how sure it is: labelling and piecing together at once.
//!
//! The only room that knows both colours and pieces.

use crate::calibration::Scheme;
use crate::colour::Name;
use crate::cube::{Spot, State};

/// The most probable cube behind the photos.
#[derive(Clone, Debug)]
pub struct Assembly {
    /// The state; its face names are those of `scheme`.
    pub state: State,
    /// The colour each face name stands for.
    pub scheme: Scheme,
    /// The probability that every sticker is right.
    pub confidence: f64,
    /// The stickers in doubt.
    pub doubts: Vec<Doubt>,
}

/// A sticker that could be another colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Doubt {
    /// Where.
    pub spot: Spot,
    /// The colour in the assembled state.
    pub read: Name,
    /// The next most probable colour.
    pub or: Name,
}
