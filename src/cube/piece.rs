//! Which piece sits in which position and how it is turned there, read off the stickers; and what pieces and
//! positions are called.

use super::{Face, Layout, State};

/// A piece that can sit in a position in more than one way.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Placed {
    /// Which piece: the position it has on the solved cube, as an index into [`Layout::CORNERS`] or
    /// [`Layout::EDGES`].
    pub piece: usize,
    /// How it is turned: a corner by this many thirds of a turn clockwise (0, 1, 2), counted from its U or D
    /// sticker lying on U or D; a midge by 0 or 1, 1 being flipped, counted from its first sticker lying on
    /// the first face of the position's name.
    pub turn: usize,
}

/// The pieces of a state by position; `None` where the stickers make no piece of a cube.
///
/// Positions are in the order of [`Layout`]; wings are known by the position in their orbit in which they sit
/// on the solved cube, which is also their whole identity, as a wing cannot be flipped.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Pieces {
    /// The corners.
    pub corners: [Option<Placed>; 8],
    /// The twelve midges; none when n is even.
    pub midges: Vec<Option<Placed>>,
    /// The wings of each orbit, outermost orbit first.
    pub wings: Vec<[Option<usize>; 24]>,
}

/// The corner whose stickers, clockwise from the one on U or D, are these.
pub const fn corner_of(stickers: [Face; 3]) -> Option<Placed> {
    let [a, b, c] = stickers;
    placed(CORNER_TABLE[a.index()][b.index()][c.index()], 3)
}

/// The midge whose stickers are these, the one on the first face of its position's name first.
pub const fn midge_of(stickers: [Face; 2]) -> Option<Placed> {
    placed(EDGE_TABLE[stickers[0].index()][stickers[1].index()], 2)
}

/// The wing whose stickers are these, in the order of [`super::Wing::places`], as a position in its orbit.
pub const fn wing_of(stickers: [Face; 2]) -> Option<usize> {
    let entry = EDGE_TABLE[stickers[0].index()][stickers[1].index()];
    if entry == NONE {
        None
    } else {
        Some(entry as usize)
    }
}

/// Stands in the tables for stickers that make no piece.
const NONE: u8 = u8::MAX;

/// `ways` · piece + turn of the corner with three stickers clockwise.
const CORNER_TABLE: [[[u8; 6]; 6]; 6] = {
    let mut table = [[[NONE; 6]; 6]; 6];
    let mut entry = 0;
    while entry < 24 {
        let own = Layout::CORNERS[entry / 3];
        let turn = entry % 3;
        // Turned by one, the piece's first sticker lies on the second place.
        let [a, b, c] = [
            own[(3 - turn) % 3].index(),
            own[(4 - turn) % 3].index(),
            own[(5 - turn) % 3].index(),
        ];
        table[a][b][c] = entry as u8;
        entry += 1;
    }
    table
};

/// `ways` · piece + turn of the edge piece with two stickers.
const EDGE_TABLE: [[u8; 6]; 6] = {
    let mut table = [[NONE; 6]; 6];
    let mut edge = 0;
    while edge < 12 {
        let (a, b) = Layout::EDGES[edge];
        table[a.index()][b.index()] = 2 * edge as u8;
        table[b.index()][a.index()] = 2 * edge as u8 + 1;
        edge += 1;
    }
    table
};

const fn placed(entry: u8, ways: usize) -> Option<Placed> {
    if entry == NONE {
        return None;
    }
    Some(Placed {
        piece: entry as usize / ways,
        turn: entry as usize % ways,
    })
}

impl Pieces {
    /// Reads the pieces off a state.
    pub fn of(state: &State) -> Self {
        let layout = state.layout();
        let at = |place: u16| state.at(usize::from(place));
        let mut corners = [None; 8];
        for (found, corner) in corners.iter_mut().zip(&layout.corners) {
            *found = corner_of(corner.places.map(at));
        }
        let midges = layout
            .midges
            .iter()
            .map(|midge| midge_of(midge.places.map(at)))
            .collect();
        let wings = layout
            .wing_orbits
            .iter()
            .map(|orbit| {
                let mut found = [None; 24];
                for (found, wing) in found.iter_mut().zip(&orbit.wings) {
                    *found = wing_of(wing.places.map(at));
                }
                found
            })
            .collect();
        Self {
            corners,
            midges,
            wings,
        }
    }

    /// Whether the corners are an odd permutation of their positions; `None` unless each corner is there once.
    pub fn corners_are_odd(&self) -> Option<bool> {
        is_odd(self.corners.map(|placed| placed.map(|placed| placed.piece)))
    }

    /// Whether the midges are an odd permutation of their positions; `None` unless each midge is there once.
    pub fn midges_are_odd(&self) -> Option<bool> {
        is_odd(
            self.midges
                .iter()
                .map(|placed| placed.map(|placed| placed.piece)),
        )
    }

    /// Whether the wings of an orbit (0 = outermost) are an odd permutation of their positions; `None` unless
    /// each wing is there once.
    ///
    /// # Panics
    ///
    /// If there is no such orbit.
    pub fn wings_are_odd(&self, orbit: usize) -> Option<bool> {
        is_odd(self.wings[orbit])
    }

    /// The sum of the corners' turns in thirds clockwise, 0, 1 or 2; `None` if some corner is no piece.
    pub fn twist(&self) -> Option<usize> {
        let sum: Option<usize> = self
            .corners
            .iter()
            .map(|placed| Some((*placed)?.turn))
            .sum();
        Some(sum? % 3)
    }

    /// The sum of the midges' flips, 0 or 1; `None` if some midge is no piece.
    pub fn flip(&self) -> Option<usize> {
        let sum: Option<usize> = self.midges.iter().map(|placed| Some((*placed)?.turn)).sum();
        Some(sum? % 2)
    }
}

/// Whether a permutation is odd; `None` if something is missing or present twice, or beyond the 24th.
pub fn is_odd(pieces: impl IntoIterator<Item = Option<usize>>) -> Option<bool> {
    let mut goes = [0; 24];
    let mut seen = [false; 24];
    let mut count = 0;
    for piece in pieces {
        let piece = piece?;
        if count == 24 || *seen.get(piece)? {
            return None;
        }
        seen[piece] = true;
        goes[count] = piece;
        count += 1;
    }
    if seen[count..].iter().any(|&beyond| beyond) {
        return None;
    }
    let mut odd = false;
    for start in 0..count {
        while goes[start] != start {
            let next = goes[start];
            goes.swap(start, next);
            odd = !odd;
        }
    }
    Some(odd)
}

/// The names of the corner positions, in the order of [`Layout::CORNERS`].
pub const CORNER_NAMES: [&str; 8] = ["UFR", "UFL", "UBL", "UBR", "DFR", "DFL", "DBL", "DBR"];

/// The names of the edges, in the order of [`Layout::EDGES`].
pub const EDGE_NAMES: [&str; 12] = [
    "UF", "UR", "UB", "UL", "DF", "DR", "DB", "DL", "FR", "FL", "BR", "BL",
];

/// The corner positions at the + and the − end of each edge, as indices into [`Layout::CORNERS`].
pub const EDGE_ENDS: [[usize; 2]; 12] = [
    [0, 1],
    [3, 0],
    [2, 3],
    [1, 2],
    [5, 4],
    [4, 7],
    [7, 6],
    [6, 5],
    [0, 4],
    [5, 1],
    [7, 3],
    [2, 6],
];

/// What the wings of an orbit are called on a cube of order `n`: just "wing" where there is one orbit,
/// otherwise by how far out they lie. `orbit` 0 is the outermost.
pub const fn wing_word(n: usize, orbit: usize) -> &'static str {
    let orbits = n / 2 - 1;
    match (orbits, orbit) {
        (1, _) => "wing",
        (_, 0) => "outer wing",
        (2, _) => "inner wing",
        _ if orbit + 1 == orbits => "innermost wing",
        (_, 1) => "second wing",
        (_, 2) => "third wing",
        (_, 3) => "fourth wing",
        (_, 4) => "fifth wing",
        _ => "sixth wing",
    }
}

/// The name of a wing position of an orbit (0 = outermost): `outer wing of UF next to UFR`.
///
/// # Panics
///
/// If `wing` is not below 24.
pub fn wing_name(n: usize, orbit: usize, wing: usize) -> String {
    let edge = wing / 2;
    let near = if orbit == 0 { "next to" } else { "towards" };
    format!(
        "{} of {} {near} {}",
        wing_word(n, orbit),
        EDGE_NAMES[edge],
        CORNER_NAMES[EDGE_ENDS[edge][wing % 2]]
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cube::Sequence;
    use crate::cube::face::cross;

    #[test]
    fn solved_pieces_are_home() {
        for n in 2..=17 {
            let pieces = Pieces::of(&State::solved(n));
            for (home, placed) in pieces.corners.iter().chain(&pieces.midges).enumerate() {
                let piece = if home < 8 { home } else { home - 8 };
                assert_eq!(*placed, Some(Placed { piece, turn: 0 }), "n = {n}");
            }
            for orbit in &pieces.wings {
                assert!(orbit.iter().enumerate().all(|(home, &at)| at == Some(home)));
            }
        }
    }

    /// A quarter turn of a face: four corners and four midges in a cycle, both odd; F twists and flips.
    #[test]
    fn one_quarter_turn() {
        let turned = |moves: &str, n| {
            let steps = Sequence::for_order(moves, n).unwrap();
            Pieces::of(&State::solved(n).after(&steps.0))
        };
        let after = turned("F", 5);
        // F brings the corner UFL to UFR; its U sticker then lies on R, one third clockwise from U.
        assert_eq!(after.corners[0], Some(Placed { piece: 1, turn: 1 }));
        // F brings the midge FL to UF with its F sticker still on F.
        assert_eq!(after.midges[0], Some(Placed { piece: 9, turn: 1 }));
        assert_eq!((after.twist(), after.flip()), (Some(0), Some(0)));
        assert_eq!(after.corners_are_odd(), Some(true));
        assert_eq!(after.midges_are_odd(), Some(true));
        assert_eq!(after.wings_are_odd(0), Some(false));
        assert_eq!(turned("Rw R'", 4).wings_are_odd(0), Some(true));
    }

    #[test]
    fn stickers_that_make_no_piece() {
        use Face::{B, D, F, R, U};
        assert_eq!(corner_of([U, F, R]), None, "mirrored");
        assert_eq!(corner_of([U, D, R]), None);
        assert_eq!(midge_of([F, B]), None);
        assert_eq!(wing_of([F, F]), None);
    }

    #[test]
    fn parity_needs_each_piece_once() {
        let check = |pieces: &[usize], expected| {
            assert_eq!(is_odd(pieces.iter().copied().map(Some)), expected);
        };
        check(&[], Some(false));
        check(&[1, 0, 2], Some(true));
        check(&[1, 2, 0], Some(false));
        check(&[0, 0, 2], None);
        check(&[0, 1, 3], None);
        check(&[24], None);
    }

    /// The names are made of the letters of their faces, top and bottom first, then front and back; the + end
    /// of AB is the one towards A × B.
    #[test]
    fn names_and_ends() {
        for (name, faces) in CORNER_NAMES.iter().zip(Layout::CORNERS) {
            assert!(faces.iter().all(|face| name.contains(face.letter())));
        }
        for (edge, &(a, b)) in Layout::EDGES.iter().enumerate() {
            assert_eq!(EDGE_NAMES[edge], format!("{a}{b}"));
            let along = Face::from_normal(cross(a.normal(), b.normal())).unwrap();
            let [plus, minus] = EDGE_ENDS[edge].map(|corner| Layout::CORNERS[corner]);
            assert!([a, b, along].iter().all(|face| plus.contains(face)));
            assert!(
                [a, b, along.opposite()]
                    .iter()
                    .all(|face| minus.contains(face))
            );
        }
        assert_eq!(wing_name(4, 0, 0), "wing of UF next to UFR");
        assert_eq!(wing_name(6, 1, 17), "inner wing of FR towards DFR");
        assert_eq!(wing_name(11, 3, 1), "innermost wing of UF towards UFL");
    }
}
