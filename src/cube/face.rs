//! The six faces, their axes in space, and sticker places as (face, row, col).

use serde::{Deserialize, Serialize};
use std::fmt;

/// A whole-number vector in space: R = +x, U = +y, F = +z.
pub type Vector = [i32; 3];

/// One of the six faces, named as in WCA Regulations, Article 12.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub enum Face {
    /// The face above.
    U,
    /// The face on the right.
    R,
    /// The face towards the solver.
    F,
    /// The face below.
    D,
    /// The face on the left.
    L,
    /// The face away from the solver.
    B,
}

/// One of the three axes of space; its positive end is the face a rotation about it is named after.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Axis {
    /// From L to R.
    X,
    /// From D to U.
    Y,
    /// From B to F.
    Z,
}

/// A sticker position on an `n`×`n` face: 0-based row and column as seen looking straight at the face.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
pub struct Spot {
    /// The face.
    pub face: Face,
    /// The row, from the top, counted from 0.
    pub row: usize,
    /// The column, from the left, counted from 0.
    pub col: usize,
}

impl Face {
    /// All faces, in the order in which their stickers are numbered.
    pub const ALL: [Self; 6] = [Self::U, Self::R, Self::F, Self::D, Self::L, Self::B];

    /// The position of the face in [`Face::ALL`].
    pub const fn index(self) -> usize {
        self as usize
    }

    /// The face's letter.
    pub const fn letter(self) -> char {
        match self {
            Self::U => 'U',
            Self::R => 'R',
            Self::F => 'F',
            Self::D => 'D',
            Self::L => 'L',
            Self::B => 'B',
        }
    }

    /// The face with this capital letter.
    pub fn from_letter(letter: char) -> Option<Self> {
        Self::ALL.into_iter().find(|face| face.letter() == letter)
    }

    /// The face across the cube.
    #[must_use]
    pub const fn opposite(self) -> Self {
        match self {
            Self::U => Self::D,
            Self::R => Self::L,
            Self::F => Self::B,
            Self::D => Self::U,
            Self::L => Self::R,
            Self::B => Self::F,
        }
    }

    /// The axis the face lies on.
    pub const fn axis(self) -> Axis {
        match self {
            Self::R | Self::L => Axis::X,
            Self::U | Self::D => Axis::Y,
            Self::F | Self::B => Axis::Z,
        }
    }

    /// The outward unit normal.
    pub const fn normal(self) -> Vector {
        self.frame()[0]
    }

    /// Outward normal, direction of growing rows, direction of growing columns.
    pub const fn frame(self) -> [Vector; 3] {
        match self {
            Self::U => [[0, 1, 0], [0, 0, 1], [1, 0, 0]],
            Self::R => [[1, 0, 0], [0, -1, 0], [0, 0, -1]],
            Self::F => [[0, 0, 1], [0, -1, 0], [1, 0, 0]],
            Self::D => [[0, -1, 0], [0, 0, -1], [1, 0, 0]],
            Self::L => [[-1, 0, 0], [0, -1, 0], [0, 0, 1]],
            Self::B => [[0, 0, -1], [0, -1, 0], [-1, 0, 0]],
        }
    }

    /// The face whose outward normal this is.
    pub fn from_normal(normal: Vector) -> Option<Self> {
        Self::ALL.into_iter().find(|face| face.normal() == normal)
    }
}

impl fmt::Display for Face {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "{}", self.letter())
    }
}

impl Axis {
    /// The face at the positive end.
    pub const fn face(self) -> Face {
        match self {
            Self::X => Face::R,
            Self::Y => Face::U,
            Self::Z => Face::F,
        }
    }
}

impl Spot {
    /// The place number on a cube of order `n`.
    pub const fn place(self, n: usize) -> usize {
        (self.face.index() * n + self.row) * n + self.col
    }

    /// The spot with this place number on a cube of order `n`.
    ///
    /// # Panics
    ///
    /// If `place` is not below 6·n².
    pub const fn from_place(place: usize, n: usize) -> Self {
        let face = Face::ALL[place / (n * n)];
        Self {
            face,
            row: place / n % n,
            col: place % n,
        }
    }

    /// The middle of the sticker in space, in half cubie sides from the middle of the cube: the coordinate
    /// along the normal is ±n, the others run from 1 − n to n − 1 in steps of two.
    pub const fn position(self, n: usize) -> Vector {
        let [normal, down, right] = self.face.frame();
        let order = n as i32;
        let (below, beside) = (
            2 * self.row as i32 - order + 1,
            2 * self.col as i32 - order + 1,
        );
        let mut at = [0; 3];
        let mut axis = 0;
        while axis < 3 {
            at[axis] = order * normal[axis] + below * down[axis] + beside * right[axis];
            axis += 1;
        }
        at
    }
}

/// The scalar product.
pub(crate) fn dot(a: Vector, b: Vector) -> i32 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// The vector product.
pub(crate) fn cross(a: Vector, b: Vector) -> Vector {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}
