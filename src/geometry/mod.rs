//! Points, quads and plane maps, each typed by the space it lives in.
//!
//! # Pixel centres
//!
//! Coordinates in a photo are continuous: the top left pixel covers 0..1 in x and y, so its centre lies at
//! (0.5, 0.5). This is the only convention used anywhere in the program.

mod plane;

pub use plane::PlaneMap;

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
#[derive(Debug, PartialEq, Serialize, Deserialize)]
#[serde(transparent, bound = "")]
pub struct Quad<S>(pub [Point<S>; 4]);

impl<S> Clone for Quad<S> {
    fn clone(&self) -> Self {
        *self
    }
}

impl<S> Copy for Quad<S> {}

impl Quad<InFace> {
    /// The corners of a face with n stickers along a side, in its own space.
    pub fn face(n: usize) -> Self {
        let n = n as f64;
        Self([(0.0, 0.0), (n, 0.0), (n, n), (0.0, n)].map(|(x, y)| Point::new(x, y)))
    }
}

impl<S> Quad<S> {
    /// The corner `index`, counted round and round.
    pub const fn corner(&self, index: usize) -> Point<S> {
        self.0[index % 4]
    }

    /// The area, positive when the corners run clockwise as seen (y pointing down).
    pub fn area(&self) -> f64 {
        let twice: f64 = (0..4)
            .map(|k| {
                let (one, next) = (self.corner(k), self.corner(k + 1));
                one.x * next.y - next.x * one.y
            })
            .sum();
        twice / 2.0
    }

    /// Whether every corner turns the same, clockwise way.
    pub fn is_convex(&self) -> bool {
        (0..4).all(|k| {
            let (a, b, c) = (self.corner(k), self.corner(k + 1), self.corner(k + 2));
            (b.x - a.x) * (c.y - b.y) - (b.y - a.y) * (c.x - b.x) > 0.0
        })
    }
}
