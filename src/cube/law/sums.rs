//! The laws about all corners or all midges together: twist, flip and exchange.
//!
//! In a scrambled cube no single piece can be blamed: twisting any one corner back would do. Where all the other
//! pieces are home, the ones that are not are named.

use super::{Checker, Kind};
use crate::cube::piece::{CORNER_NAMES, EDGE_NAMES, Pieces, Placed};
use crate::cube::words::listed;
use crate::cube::{Face, Hold, State};

impl Checker<'_> {
    /// Reports what does not add up, where every piece is there to be counted.
    pub(super) fn sums(&mut self) {
        let are_corners_right = !self.found_any(&[
            Kind::CornerImpossible,
            Kind::CornerMirrored,
            Kind::CornerTwice,
        ]);
        let are_midges_right = !self.found_any(&[Kind::MidgeImpossible, Kind::MidgeTwice]);
        let are_centres_right = !self.found_any(&[Kind::FixedCentres]);
        let shown = Pieces::of(self.state);
        let is_even = self.state.n().is_multiple_of(2);
        if is_even && shown.twist() == Some(0) {
            return;
        }
        let pieces = Pieces::of(&in_home_hold(self.state));
        if are_corners_right {
            self.twist(&pieces);
        }
        if are_midges_right {
            self.flip(&pieces);
        }
        if !is_even && are_corners_right && are_midges_right && are_centres_right {
            self.exchange(&pieces);
        }
    }

    fn twist(&mut self, pieces: &Pieces) {
        let way = match pieces.twist() {
            Some(1) => "clockwise",
            Some(2) => "anticlockwise",
            _ => return,
        };
        let turned = turned_in_place(&pieces.corners);
        let names: Vec<_> = turned.iter().map(|&p| CORNER_NAMES[p].to_owned()).collect();
        let text = match turned[..] {
            [] => format!(
                "One corner is twisted a third of a turn {way}, or several that come to the same; which one \
                 cannot be told while the corners are scrambled."
            ),
            [position] => format!(
                "The {} at {} is twisted a third of a turn {way}; all the other corners are home.",
                self.corner_at(position),
                CORNER_NAMES[position]
            ),
            _ => format!(
                "The corners at {} are twisted and the others are home, which comes to one corner twisted a \
                 third of a turn {way}.",
                listed(&names)
            ),
        };
        let layout = self.state.layout();
        let stickers: Vec<u16> = turned
            .iter()
            .flat_map(|&p| layout.corners[p].places)
            .collect();
        self.report(
            Kind::CornerTwist,
            self.corner_pieces(&turned),
            names,
            &stickers,
            text,
        );
    }

    fn flip(&mut self, pieces: &Pieces) {
        if pieces.flip() != Some(1) {
            return;
        }
        let turned = turned_in_place(&pieces.midges);
        let names: Vec<_> = turned.iter().map(|&p| EDGE_NAMES[p].to_owned()).collect();
        let text = match turned[..] {
            [] => "One midge is flipped, or an odd number of them; which one cannot be told while the midges \
                   are scrambled."
                .to_owned(),
            [position] => format!(
                "The {} midge at {} is flipped; all the other midges are home.",
                self.midge_at(position),
                EDGE_NAMES[position]
            ),
            _ => format!(
                "The midges at {} are flipped, an odd number of them, and the others are home.",
                listed(&names)
            ),
        };
        let layout = self.state.layout();
        let stickers: Vec<u16> = turned
            .iter()
            .flat_map(|&p| layout.midges[p].places)
            .collect();
        self.report(
            Kind::MidgeFlip,
            self.midge_pieces(&turned),
            names,
            &stickers,
            text,
        );
    }

    fn exchange(&mut self, pieces: &Pieces) {
        let (Some(corners), Some(midges)) = (pieces.corners_are_odd(), pieces.midges_are_odd())
        else {
            return;
        };
        if corners == midges {
            return;
        }
        let layout = self.state.layout();
        let (corners, midges) = (away(&pieces.corners), away(&pieces.midges));
        let (names, who, stickers, text): (Vec<&str>, _, Vec<u16>, _) =
            match (&corners[..], &midges[..]) {
                ([a, b], []) => (
                    corners.iter().map(|&p| CORNER_NAMES[p]).collect(),
                    self.corner_pieces(&corners),
                    corners
                        .iter()
                        .flat_map(|&p| layout.corners[p].places)
                        .collect(),
                    format!(
                        "The corners at {} and {} are exchanged; all the others are in their places.",
                        CORNER_NAMES[*a], CORNER_NAMES[*b]
                    ),
                ),
                ([], [a, b]) => (
                    midges.iter().map(|&p| EDGE_NAMES[p]).collect(),
                    self.midge_pieces(&midges),
                    midges
                        .iter()
                        .flat_map(|&p| layout.midges[p].places)
                        .collect(),
                    format!(
                        "The midges at {} and {} are exchanged; all the others are in their places.",
                        EDGE_NAMES[*a], EDGE_NAMES[*b]
                    ),
                ),
                _ => (
                    Vec::new(),
                    Vec::new(),
                    Vec::new(),
                    "Two corners or two midges are exchanged; which two cannot be told while the cube is \
                     scrambled."
                        .to_owned(),
                ),
            };
        let places = names.into_iter().map(str::to_owned).collect();
        self.report(Kind::ExchangedPair, who, places, &stickers, text);
    }

    /// The colours of the corner that sits in a position.
    fn corner_at(&self, position: usize) -> String {
        let pieces = Pieces::of(self.state);
        pieces.corners[position].map_or_else(String::new, |placed| self.words.corner(placed.piece))
    }

    fn midge_at(&self, position: usize) -> String {
        let pieces = Pieces::of(self.state);
        pieces.midges[position].map_or_else(String::new, |placed| self.words.edge(placed.piece))
    }

    fn corner_pieces(&self, positions: &[usize]) -> Vec<String> {
        let pieces = Pieces::of(self.state);
        let placed = positions.iter().filter_map(|&p| pieces.corners[p]);
        placed
            .map(|placed| CORNER_NAMES[placed.piece].to_owned())
            .collect()
    }

    fn midge_pieces(&self, positions: &[usize]) -> Vec<String> {
        let pieces = Pieces::of(self.state);
        let placed = positions.iter().filter_map(|&p| pieces.midges[p]);
        placed
            .map(|placed| EDGE_NAMES[placed.piece].to_owned())
            .collect()
    }
}

/// The state with its stickers renamed for the hold in which it is: after the fixed centres, or, on an even
/// cube, so that most corners are home.
fn in_home_hold(state: &State) -> State {
    let fixed = &state.layout().fixed_centres;
    let homes_at_home = |hold: &Hold| {
        if fixed.is_empty() {
            let pieces = Pieces::of(&state.renamed(Face::ALL.map(|face| hold.brings(face))));
            let home = pieces.corners.iter().enumerate();
            home.filter(|(piece, placed)| {
                **placed
                    == Some(Placed {
                        piece: *piece,
                        turn: 0,
                    })
            })
            .count()
        } else {
            let at = |face: Face| state.at(usize::from(fixed[face.index()]));
            let brought = |face: &Face| hold.brings(at(*face)) == *face;
            Face::ALL.iter().filter(|&face| brought(face)).count()
        }
    };
    // `max_by_key` keeps the last of equals: going backwards, that is the hold with the fewest rotations.
    let best = Hold::all()
        .iter()
        .rev()
        .max_by_key(|&hold| homes_at_home(hold));
    best.map_or_else(
        || state.clone(),
        |hold| state.renamed(Face::ALL.map(|face| hold.brings(face))),
    )
}

/// The positions whose own piece sits there turned; none unless all the others are home and there are at most
/// three of them.
fn turned_in_place(found: &[Option<Placed>]) -> Vec<usize> {
    let turned: Vec<usize> = (0..found.len())
        .filter(|&p| found[p].is_some_and(|placed| placed.turn != 0))
        .collect();
    if away(found).is_empty() && turned.len() <= 3 {
        turned
    } else {
        Vec::new()
    }
}

/// The positions where another piece sits.
fn away(found: &[Option<Placed>]) -> Vec<usize> {
    (0..found.len())
        .filter(|&p| found[p].is_none_or(|placed| placed.piece != p))
        .collect()
}
