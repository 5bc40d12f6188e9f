//! How far the finish has come on a reduced cube, layer by layer from the bottom of the hold.

use super::measure::{Reaches, centre_sides};
use crate::cube::{Face, Pieces, Placed, Spot, State, corner_of};
use crate::diagnose::Stage;

/// How much of the finish stands, counted from the bottom. A later part counts only once all before it stand, so
/// that the order of the values is the order of the work.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Progress {
    /// Edges of the cross on the bottom, 0 to 4.
    pub cross: u8,
    /// Corners of the bottom layer, 0 to 4.
    pub bottom_corners: u8,
    /// Edges of the middle layer, 0 to 4.
    pub middle_edges: u8,
    /// Edges of the top layer that show the top colour on top, 0 to 4.
    pub top_edges_up: u8,
    /// Whether the edges of the top layer are home.
    pub top_edges_home: bool,
    /// Whether the corners of the top layer are in their places.
    pub top_corners_placed: bool,
    /// Corners of the top layer that are home.
    pub top_corners_home: u8,
}

/// The places of the 3×3×3's corner and edge pieces: bottom corners, bottom edges, middle edges, top edges, in
/// the order of [`crate::cube::Layout`].
pub(super) const BOTTOM_CORNERS: [usize; 4] = [4, 5, 6, 7];
pub(super) const BOTTOM_EDGES: [usize; 4] = [4, 5, 6, 7];
pub(super) const MIDDLE_EDGES: [usize; 4] = [8, 9, 10, 11];

impl Progress {
    /// The finish done.
    pub const DONE: Self = Self {
        cross: 4,
        bottom_corners: 4,
        middle_edges: 4,
        top_edges_up: 4,
        top_edges_home: true,
        top_corners_placed: true,
        top_corners_home: 4,
    };

    /// Measures a reduced state held with the bottom that is worked from; `None` if it is not reduced.
    pub fn of(state: &State) -> Option<Self> {
        if Reaches::of(state).stage < Stage::Reduced {
            return None;
        }
        if state.n() == 2 {
            return Some(Self::of_two(state));
        }
        three(state).map(|three| Self::of_three(&three))
    }

    /// Measures a 3×3×3 whose stickers are named by their centres.
    pub fn of_three(three: &State) -> Self {
        let pieces = Pieces::of(three);
        let home = |placed: &Option<Placed>, at| *placed == Some(Placed { piece: at, turn: 0 });
        let edges = |range: &[usize]| {
            range
                .iter()
                .filter(|&&at| home(&pieces.midges[at], at))
                .count() as u8
        };
        let corners = |range: &[usize]| {
            range
                .iter()
                .filter(|&&at| home(&pieces.corners[at], at))
                .count() as u8
        };
        let mut progress = Self {
            cross: edges(&BOTTOM_EDGES),
            ..Self::default()
        };
        if progress.cross < 4 {
            return progress;
        }
        progress.bottom_corners = corners(&BOTTOM_CORNERS);
        if progress.bottom_corners < 4 {
            return progress;
        }
        progress.middle_edges = edges(&MIDDLE_EDGES);
        if progress.middle_edges < 4 {
            return progress;
        }
        progress.top_edges_up = (0..4)
            .filter(|&at| pieces.midges[at].is_some_and(|placed| placed.turn == 0))
            .count() as u8;
        progress.top_edges_home = edges(&[0, 1, 2, 3]) == 4;
        if !progress.top_edges_home {
            return progress;
        }
        progress.top_corners_placed =
            (0..4).all(|at| pieces.corners[at].is_some_and(|placed| placed.piece == at));
        if progress.top_corners_placed {
            progress.top_corners_home = corners(&[0, 1, 2, 3]);
        }
        progress
    }

    /// Measures a 2×2×2: the best count against any one bottom corner taken as right.
    fn of_two(state: &State) -> Self {
        let filled = Self {
            cross: 4,
            middle_edges: 4,
            top_edges_up: 4,
            top_edges_home: true,
            ..Self::default()
        };
        let counts = BOTTOM_CORNERS.into_iter().filter_map(|anchor| {
            let named = by_corner(state, anchor)?;
            let pieces = Pieces::of(&named);
            let home = |at: usize| pieces.corners[at] == Some(Placed { piece: at, turn: 0 });
            let bottom_corners = BOTTOM_CORNERS.into_iter().filter(|&at| home(at)).count() as u8;
            if bottom_corners < 4 {
                return Some(Self {
                    cross: 4,
                    bottom_corners,
                    ..Self::default()
                });
            }
            let top_corners_placed =
                (0..4).all(|at| pieces.corners[at].is_some_and(|placed| placed.piece == at));
            Some(Self {
                bottom_corners,
                top_corners_placed,
                top_corners_home: if top_corners_placed {
                    (0..4).filter(|&at| home(at)).count() as u8
                } else {
                    0
                },
                ..filled
            })
        });
        counts.max().unwrap_or_default()
    }
}

/// The 3×3×3 that a reduced cube is, its stickers named by the sides of their centres; `None` if two centres
/// have one colour or the cube has no centres.
pub fn three(state: &State) -> Option<State> {
    let n = state.n();
    if n < 3 {
        return None;
    }
    let sides = centre_sides(state)?;
    let at = [0, n / 2, n - 1];
    let stickers = (0..54)
        .map(|place| {
            let Spot { face, row, col } = Spot::from_place(place, 3);
            let (row, col) = (at[row], at[col]);
            sides[state.at_spot(Spot { face, row, col }).index()]
        })
        .collect();
    State::from_stickers(3, stickers)
}

/// A 2×2×2 with its stickers renamed so that the corner at `anchor` is right; `None` if it is no corner of a cube.
pub fn by_corner(state: &State, anchor: usize) -> Option<State> {
    let corner = &state.layout().corners[anchor];
    let shown = corner.places.map(|place| state.at(usize::from(place)));
    corner_of(shown)?;
    let sides = corner
        .places
        .map(|place| Spot::from_place(usize::from(place), 2).face);
    let mut rename = Face::ALL;
    for (colour, side) in shown.into_iter().zip(sides) {
        rename[colour.index()] = side;
        rename[colour.opposite().index()] = side.opposite();
    }
    Some(state.renamed(rename))
}
