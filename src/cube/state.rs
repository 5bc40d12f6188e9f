//! What sticker sits at every place of a cube.

use super::{Face, LEAST_ORDER, Layout, MOST_ORDER, Move, Spot};
use std::fmt;

/// A complete colouring of the 6·n² places, each sticker named by the face it belongs to when solved.
///
/// Any colouring is a `State`, also one no cube can show: whether it can exist is for the laws to say.
/// Which real colour a face name stands for is no concern of this room.
#[derive(Clone, PartialEq, Eq, Hash)]
pub struct State {
    n: usize,
    stickers: Vec<Face>,
}

impl State {
    /// The solved cube of order `n`.
    ///
    /// # Panics
    ///
    /// If `n` is outside [`LEAST_ORDER`]`..=`[`MOST_ORDER`].
    pub fn solved(n: usize) -> Self {
        assert!((LEAST_ORDER..=MOST_ORDER).contains(&n), "cube order {n}");
        let stickers = Face::ALL
            .into_iter()
            .flat_map(|face| std::iter::repeat_n(face, n * n))
            .collect();
        Self { n, stickers }
    }

    /// The state with these stickers in the order of place numbers; `None` unless there are 6·n² of them for
    /// an `n` this program knows.
    pub fn from_stickers(n: usize, stickers: Vec<Face>) -> Option<Self> {
        let fits = (LEAST_ORDER..=MOST_ORDER).contains(&n) && stickers.len() == 6 * n * n;
        fits.then_some(Self { n, stickers })
    }

    /// The order of the cube: stickers along an edge.
    pub const fn n(&self) -> usize {
        self.n
    }

    /// The sticker at a place number.
    ///
    /// # Panics
    ///
    /// If `place` is not below 6·n².
    pub fn at(&self, place: usize) -> Face {
        self.stickers[place]
    }

    /// The sticker at a spot.
    ///
    /// # Panics
    ///
    /// If the spot is not on a cube of this order.
    pub fn at_spot(&self, spot: Spot) -> Face {
        self.stickers[spot.place(self.n)]
    }

    /// All stickers in the order of place numbers.
    pub fn stickers(&self) -> &[Face] {
        &self.stickers
    }

    /// Puts another sticker at a place.
    ///
    /// # Panics
    ///
    /// If `place` is not below 6·n².
    pub fn set(&mut self, place: usize, sticker: Face) {
        self.stickers[place] = sticker;
    }

    /// The places and pieces of a cube of this order.
    pub fn layout(&self) -> &'static Layout {
        Layout::of(self.n)
    }

    /// Makes one move.
    pub fn turn(&mut self, step: Move) {
        Layout::of(self.n).turn(&mut self.stickers, step);
    }

    /// Makes moves one after another.
    pub fn turn_all(&mut self, steps: &[Move]) {
        for &step in steps {
            self.turn(step);
        }
    }

    /// The state after moves, this one staying as it is.
    #[must_use]
    pub fn after(&self, steps: &[Move]) -> Self {
        let mut next = self.clone();
        next.turn_all(steps);
        next
    }

    /// The same cube with every sticker renamed: `rename[face.index()]` takes the place of `face`.
    #[must_use]
    pub fn renamed(&self, rename: [Face; 6]) -> Self {
        let stickers = self
            .stickers
            .iter()
            .map(|sticker| rename[sticker.index()])
            .collect();
        Self {
            n: self.n,
            stickers,
        }
    }
}

impl fmt::Debug for State {
    /// Six lines, a face each: its rows as words of face letters.
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (face, stickers) in Face::ALL.iter().zip(self.stickers.chunks(self.n * self.n)) {
            write!(out, "{face}:")?;
            for row in stickers.chunks(self.n) {
                let word: String = row.iter().map(|sticker| sticker.letter()).collect();
                write!(out, " {word}")?;
            }
            writeln!(out)?;
        }
        Ok(())
    }
}
