//! Points, quads and plane maps, each typed by the space it lives in.
//!
//! # Pixel centres
//!
//! Coordinates in a photo are continuous: the top left pixel covers 0..1 in x and y, so its centre lies at
//! (0.5, 0.5). This is the only convention used anywhere in the program.

use serde::{Deserialize, Serialize, Serializer};
use std::marker::PhantomData;

/// The space of a photo's pixels: x right, y down, in pixels of the photo as it is to be looked at.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct InPhoto;

/// The space of one face: x along the columns, y along the rows, in sticker sides; the face covers 0..n.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct InFace;

/// A point in the space `S`.
#[derive(Debug, PartialEq)]
pub struct Point<S> {
    /// To the right.
    pub x: f64,
    /// Downwards.
    pub y: f64,
    space: PhantomData<S>,
}

impl<S> Clone for Point<S> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<S> Copy for Point<S> {}

impl<S> Point<S> {
    /// The point at (x, y).
    pub const fn new(x: f64, y: f64) -> Self {
        Self {
            x,
            y,
            space: PhantomData,
        }
    }

    /// The distance to another point of the same space.
    pub fn distance(self, other: Self) -> f64 {
        (self.x - other.x).hypot(self.y - other.y)
    }
}

impl<S> Serialize for Point<S> {
    fn serialize<Z: Serializer>(&self, to: Z) -> Result<Z::Ok, Z::Error> {
        [self.x, self.y].serialize(to)
    }
}

impl<'de, S> Deserialize<'de> for Point<S> {
    fn deserialize<Z: serde::Deserializer<'de>>(from: Z) -> Result<Self, Z::Error> {
        let [x, y] = <[f64; 2]>::deserialize(from)?;
        Ok(Self::new(x, y))
    }
}

/// Four corners, clockwise from the top left one as seen in the photo.
#[derive(Debug, PartialEq, Serialize)]
#[serde(transparent, bound = "")]
pub struct Quad<S>(pub [Point<S>; 4]);

impl<S> Clone for Quad<S> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<S> Copy for Quad<S> {}
