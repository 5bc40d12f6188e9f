//! What turns do to the wings of one orbit and to the inner parts of the groups they belong to.
//!
//! Seen from one wing orbit every cube is alike: a turn of a block that ends at the orbit's layer takes the wings
//! along and leaves the inner parts, a turn of the outer layer takes both. So the tables here, made on a 5×5×5,
//! serve every orbit of every order.

use crate::cube::{Face, Hold, Move, Pieces, Quarter, State};
use std::sync::OnceLock;

/// Which layers turn under a face, as one orbit sees it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Reach {
    /// The outer layer: wings and inner parts of four whole groups.
    Outer,
    /// The orbit's own layer and the outer one.
    Block,
    /// The orbit's own layer alone.
    Slice,
}

/// A turn as one orbit sees it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Letter {
    /// The face it is made under.
    pub face: Face,
    /// What it takes along.
    pub reach: Reach,
    /// How far it turns.
    pub quarter: Quarter,
}

/// Where wings and inner parts go. A wing is known by its place, twice the edge plus 0 at the + end and 1 at the
/// − end; an inner part by twice the edge plus whether it is flipped.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Action {
    /// The place each wing goes to.
    pub wings: [u8; 24],
    /// Where and how each inner part comes to lie.
    pub cores: [u8; 24],
}

impl Action {
    /// Nothing moves.
    pub const NONE: Self = {
        let mut same = [0; 24];
        let mut at = 0;
        while at < 24 {
            same[at] = at as u8;
            at += 1;
        }
        Self {
            wings: same,
            cores: same,
        }
    };

    /// This, then another.
    #[must_use]
    pub fn then(&self, next: &Self) -> Self {
        Self {
            wings: self.wings.map(|at| next.wings[usize::from(at)]),
            cores: self.cores.map(|at| next.cores[usize::from(at)]),
        }
    }

    /// The way back.
    #[must_use]
    pub fn inverse(&self) -> Self {
        let mut back = Self::NONE;
        for at in 0..24 {
            back.wings[usize::from(self.wings[at])] = at as u8;
            back.cores[usize::from(self.cores[at])] = at as u8;
        }
        back
    }

    /// What letters do, one after another.
    pub fn of<'a>(letters: impl IntoIterator<Item = &'a Letter>) -> Self {
        letters
            .into_iter()
            .fold(Self::NONE, |sum, letter| sum.then(letter.action()))
    }

    /// What holding the cube another way does.
    pub fn of_hold(hold: Hold) -> Self {
        Self::of_moves(&hold.sequence().0)
    }

    fn of_moves(moves: &[Move]) -> Self {
        let pieces = Pieces::of(&State::solved(5).after(moves));
        let mut action = Self::NONE;
        for (at, wing) in pieces.wings[0].iter().enumerate() {
            if let Some(wing) = *wing {
                action.wings[wing] = at as u8;
            }
        }
        for (at, midge) in pieces.midges.iter().enumerate() {
            if let Some(placed) = *midge {
                for flip in 0..2 {
                    action.cores[2 * placed.piece + flip] = (2 * at + (placed.turn ^ flip)) as u8;
                }
            }
        }
        action
    }
}

impl Letter {
    /// What it does.
    pub fn action(self) -> &'static Action {
        static MADE: OnceLock<Vec<Action>> = OnceLock::new();
        let all = MADE.get_or_init(|| {
            let reaches = [Reach::Outer, Reach::Block, Reach::Slice];
            let letters = Face::ALL.into_iter().flat_map(|face| {
                reaches.into_iter().flat_map(move |reach| {
                    Quarter::ALL.map(|quarter| Letter {
                        face,
                        reach,
                        quarter,
                    })
                })
            });
            letters
                .map(|letter| Action::of_moves(&letter.moves(&[2])))
                .collect()
        });
        &all[(self.face.index() * 3 + self.reach as usize) * 3 + self.quarter as usize]
    }

    /// The letter that undoes it.
    #[must_use]
    pub const fn inverse(self) -> Self {
        Self {
            quarter: self.quarter.inverse(),
            ..self
        }
    }

    /// The letter as seen from another hold.
    #[must_use]
    pub const fn in_hold(self, hold: Hold) -> Self {
        Self {
            face: hold.brings(self.face),
            ..self
        }
    }

    /// The block turns that make it for the orbits of these layers (growing) at once.
    pub fn moves(self, layers: &[usize]) -> Vec<Move> {
        match self.reach {
            Reach::Outer => block_turns(self.face, &[1], self.quarter),
            Reach::Slice => block_turns(self.face, layers, self.quarter),
            Reach::Block => {
                let mut all = vec![1];
                all.extend_from_slice(layers);
                block_turns(self.face, &all, self.quarter)
            }
        }
    }
}

/// A turn of just these layers (growing, counted from the face) as outer-block turns: each run of layers is a block
/// turned and a smaller one turned back.
pub fn block_turns(face: Face, layers: &[usize], quarter: Quarter) -> Vec<Move> {
    let mut moves = Vec::new();
    let block = |layers, quarter| Move::Block {
        face,
        layers,
        quarter,
    };
    for (index, &layer) in layers.iter().enumerate() {
        if layers.get(index + 1) != Some(&(layer + 1)) {
            moves.push(block(layer, quarter));
        }
        if layer > 1 && (index == 0 || layers[index - 1] != layer - 1) {
            moves.push(block(layer - 1, quarter.inverse()));
        }
    }
    // The larger block first, as a hand does it.
    moves.sort_by_key(|step| match step {
        Move::Block { layers, .. } => std::cmp::Reverse(*layers),
        Move::Rotation { .. } => std::cmp::Reverse(0),
    });
    moves
}

/// The wings of one orbit and the inner parts they belong to, on a cube in hand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Orbit {
    /// The wing at each place, known by its place on the solved cube.
    pub wings: [u8; 24],
    /// The inner part on each edge: twice the edge it belongs on plus whether it is flipped. `None` for the
    /// innermost orbit of an even cube, whose wings belong to each other.
    pub cores: Option<[u8; 12]>,
}

impl Orbit {
    /// Reads the orbit of `layer` off a state; `None` if some piece is none. The inner parts are those of the next
    /// layer inwards, which must be joined already for all further in.
    pub fn of(state: &State, layer: usize) -> Option<Self> {
        let n = state.n();
        let pieces = Pieces::of(state);
        let mut wings = [0; 24];
        for (wing, found) in wings.iter_mut().zip(pieces.wings.get(layer - 2)?) {
            *wing = (*found)? as u8;
        }
        let mut cores = [0; 12];
        if 2 * layer < n - 1 {
            for (edge, core) in cores.iter_mut().enumerate() {
                *core = pieces.wings[layer - 1][2 * edge]? as u8;
            }
        } else if n % 2 == 1 {
            for (core, midge) in cores.iter_mut().zip(&pieces.midges) {
                let midge = (*midge)?;
                *core = (2 * midge.piece + midge.turn) as u8;
            }
        } else {
            return Some(Self { wings, cores: None });
        }
        Some(Self {
            wings,
            cores: Some(cores),
        })
    }

    /// The orbit after an action.
    #[must_use]
    pub fn after(&self, action: &Action) -> Self {
        let mut next = *self;
        for (wing, &to) in self.wings.iter().zip(&action.wings) {
            next.wings[usize::from(to)] = *wing;
        }
        if let (Some(next), Some(cores)) = (&mut next.cores, &self.cores) {
            for (edge, &core) in cores.iter().enumerate() {
                let to = action.cores[2 * edge];
                next[usize::from(to / 2)] = core ^ (to % 2);
            }
        }
        next
    }

    /// Whether the wing at a place agrees with what it belongs to.
    pub fn fits(&self, place: usize) -> bool {
        match &self.cores {
            Some(cores) => self.wings[place] == cores[place / 2] ^ (place % 2) as u8,
            None => self.wings[place] == self.wings[place ^ 1] ^ 1,
        }
    }

    /// The edges with a wing that does not fit.
    pub fn open(&self) -> Vec<usize> {
        (0..12)
            .filter(|edge| !self.fits(2 * edge) || !self.fits(2 * edge + 1))
            .collect()
    }
}
