//! Which colour belongs to which face, found from the pieces of the very cube.
//!
//! Colours are labels 0 to 5 here, without names. Up to turning the whole cube there are 30 ways to give six
//! labels to the faces: five partners for the first label, six orders of the others around them. The corners
//! tell which it is (each names three neighbours and their direction of turn), edge pieces tell which labels
//! are never neighbours, and the fixed centres of an odd cube tell it outright.

use super::{Face, Hold, LEAST_ORDER, Layout, MOST_ORDER, State};
use std::cmp::Reverse;
use std::sync::OnceLock;
use thiserror::Error;

/// A colour by number, 0 to 5.
pub type Label = u8;

/// The label that belongs to each face.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Homes([Label; 6]);

/// Why the labels of a cube cannot be given to faces.
#[derive(Clone, Debug, PartialEq, Eq, Error)]
#[non_exhaustive]
pub enum HomesError {
    /// Not a cube of a size this program knows.
    #[error(
        "{met} stickers were met where a cube of order {n} has {}; orders 2 to 17 are known",
        6 * n * n
    )]
    Size {
        /// The order that was asked for.
        n: usize,
        /// The number of labels given.
        met: usize,
    },
    /// A number that is no label.
    #[error("label {met} was met at place {place}, labels run from 0 to 5")]
    NoLabel {
        /// The number.
        met: Label,
        /// Where it stands.
        place: usize,
    },
    /// Several ways, not turnings of each other, explain the pieces equally well.
    #[error("{} arrangements of the colours explain the stickers equally well", candidates.len())]
    Ambiguous {
        /// The ways, each turned so that it fits the centres best.
        candidates: Vec<Homes>,
    },
    /// Even the best way leaves most corners unexplained.
    #[error("the stickers fit no cube: at best {explained} of {corners} corners can be explained")]
    Impossible {
        /// Corners that are pieces of the best way, each counted once.
        explained: usize,
        /// Corners whose three labels are known.
        corners: usize,
        /// The best way, for those who want to say what is wrong.
        best: Homes,
    },
}

impl Homes {
    /// The homes with these labels in the order of [`Face::ALL`]; `None` unless each of 0 to 5 is there once.
    pub fn new(labels: [Label; 6]) -> Option<Self> {
        (0..6)
            .all(|label| labels.contains(&label))
            .then_some(Self(labels))
    }

    /// The label of a face.
    pub const fn label_of(self, face: Face) -> Label {
        self.0[face.index()]
    }

    /// The face a label belongs to; `None` for a number above 5.
    pub fn face_of(self, label: Label) -> Option<Face> {
        let index = self.0.iter().position(|&other| other == label)?;
        Some(Face::ALL[index])
    }

    /// The state with these labels; `None` if their number fits no cube or one of them is no label.
    pub fn state(self, n: usize, labels: &[Label]) -> Option<State> {
        let stickers: Option<Vec<_>> = labels.iter().map(|&label| self.face_of(label)).collect();
        State::from_stickers(n, stickers?)
    }

    /// The same arrangement of colours on a cube turned in the hands.
    #[must_use]
    pub fn held(self, hold: Hold) -> Self {
        let mut labels = self.0;
        for face in Face::ALL {
            labels[hold.brings(face).index()] = self.label_of(face);
        }
        Self(labels)
    }

    /// Whether the other is the same arrangement of colours, whole-cube turning apart.
    pub fn is_turned(self, other: Self) -> bool {
        Hold::all().iter().any(|&hold| self.held(hold) == other)
    }

    /// One of each of the 30 arrangements.
    fn arrangements() -> Vec<Self> {
        let mut ways = Vec::with_capacity(30);
        for opposite in 1..6 {
            let ring: Vec<Label> = (1..6).filter(|&label| label != opposite).collect();
            for [a, b, c] in [
                [1, 2, 3],
                [1, 3, 2],
                [2, 1, 3],
                [2, 3, 1],
                [3, 1, 2],
                [3, 2, 1],
            ] {
                // U R F D L B, the ring running F L B R around U.
                ways.push(Self([0, ring[c], ring[0], opposite, ring[a], ring[b]]));
            }
        }
        ways
    }
}

/// Finds which label belongs to which face on a cube of order `n`, given the label at every place in the hold
/// as shown (`None` where it is not known).
///
/// Of the arrangements of six colours the one that explains most pieces is taken, so a cube put together wrongly
/// in one or two pieces still gives its own arrangement. It is then turned in the hands so that as many
/// centres as possible are home; where that leaves a choice (a cube without centres, or scrambled ones),
/// first the corner at DBL, then `usual` decides, and last the smaller labels on U, then R and so on.
/// `usual` also decides between arrangements that explain equally much.
///
/// # Errors
///
/// See [`HomesError`].
pub fn find_homes(
    n: usize,
    labels: &[Option<Label>],
    usual: Option<Homes>,
) -> Result<Homes, HomesError> {
    let evidence = Evidence::gather(n, labels)?;
    let ways: Vec<_> = arrangements()
        .iter()
        .map(|&way| (way, evidence.weight(way)))
        .collect();
    let most = ways.iter().map(|&(_, weight)| weight).max();
    let best: Vec<Homes> = ways
        .iter()
        .filter(|&&(_, weight)| Some(weight) == most)
        .map(|&(way, _)| evidence.best_held(way, usual))
        .collect();
    let explained = best
        .iter()
        .map(|&way| evidence.corners_explained(way))
        .max();
    let explained = explained.unwrap_or(0);
    let corners = evidence.corners.iter().filter(|c| c.is_full()).count();
    let is_held_by_centres = n % 2 == 1 && best.iter().any(|&way| evidence.fixed_home(way) == 6);
    if 2 * explained < corners && !is_held_by_centres {
        return Err(HomesError::Impossible {
            explained,
            corners,
            best: best[0],
        });
    }
    if best.len() > 1
        && let Some(usual) = usual
        && let Some(way) = best.iter().copied().find(|way| way.is_turned(usual))
    {
        return Ok(way);
    }
    let [homes] = best[..] else {
        return Err(HomesError::Ambiguous { candidates: best });
    };
    Ok(homes)
}

fn arrangements() -> &'static [Homes] {
    static MADE: OnceLock<Vec<Homes>> = OnceLock::new();
    MADE.get_or_init(Homes::arrangements)
}

/// The three labels of a corner, clockwise, as far as they are known.
#[derive(Clone, Copy)]
struct CornerLabels([Option<Label>; 3]);

impl CornerLabels {
    fn is_full(self) -> bool {
        self.0.iter().all(Option::is_some)
    }

    fn faces(self, homes: Homes) -> [Option<Face>; 3] {
        self.0.map(|label| homes.face_of(label?))
    }
}

/// What a cube shows that tells its colours' arrangement.
struct Evidence {
    corners: [CornerLabels; 8],
    /// How many edge pieces show this pair of labels.
    neighbours: [[u16; 6]; 6],
    /// The labels of the fixed centres by face; none for an even cube.
    fixed: [Option<Label>; 6],
    /// How many moving centres of each face show each label.
    centres: [[u16; 6]; 6],
}

impl Evidence {
    fn gather(n: usize, labels: &[Option<Label>]) -> Result<Self, HomesError> {
        let met = labels.len();
        if !(LEAST_ORDER..=MOST_ORDER).contains(&n) || met != 6 * n * n {
            return Err(HomesError::Size { n, met });
        }
        for (place, label) in labels.iter().enumerate() {
            if let Some(met) = *label
                && met > 5
            {
                return Err(HomesError::NoLabel { met, place });
            }
        }
        let layout = Layout::of(n);
        let at = |place: u16| labels[usize::from(place)];
        let mut corners = [CornerLabels([None; 3]); 8];
        for (found, corner) in corners.iter_mut().zip(&layout.corners) {
            *found = CornerLabels(corner.places.map(at));
        }
        let mut neighbours = [[0; 6]; 6];
        let midges = layout.midges.iter().map(|midge| midge.places);
        let wings = layout.wing_orbits.iter().flat_map(|orbit| &orbit.wings);
        for places in midges.chain(wings.map(|wing| wing.places)) {
            if let [Some(a), Some(b)] = places.map(at) {
                neighbours[usize::from(a)][usize::from(b)] += 1;
            }
        }
        let mut fixed = [None; 6];
        for (found, &place) in fixed.iter_mut().zip(&layout.fixed_centres) {
            *found = at(place);
        }
        let mut centres = [[0; 6]; 6];
        for &place in layout.centre_orbits.iter().flat_map(|orbit| &orbit.places) {
            if let Some(label) = at(place) {
                centres[usize::from(place) / (n * n)][usize::from(label)] += 1;
            }
        }
        Ok(Self {
            corners,
            neighbours,
            fixed,
            centres,
        })
    }

    /// How many pieces an arrangement explains: a piece it leaves unexplained has at least one sticker that is
    /// not its own, whatever kind of piece it is. A corner of which two labels are known counts where they
    /// can be neighbours.
    fn weight(&self, way: Homes) -> usize {
        let fixed = Hold::all()
            .iter()
            .map(|&hold| self.fixed_home(way.held(hold)));
        let partly = self.corners.iter().filter(|corner| !corner.is_full());
        let pairs = partly.filter(|corner| {
            let mut known = corner.faces(way).into_iter().flatten();
            matches!((known.next(), known.next()), (Some(a), Some(b)) if a.axis() != b.axis())
        });
        self.corners_explained(way)
            + fixed.max().unwrap_or(0)
            + pairs.count()
            + self.edges_explained(way)
    }

    /// Corners all of whose labels are known and which are pieces of the arrangement, each counted once.
    fn corners_explained(&self, way: Homes) -> usize {
        let mut seen = [false; 8];
        for corner in &self.corners {
            if let [Some(a), Some(b), Some(c)] = corner.faces(way)
                && let Some(placed) = super::corner_of([a, b, c])
            {
                seen[placed.piece] = true;
            }
        }
        seen.iter().filter(|&&seen| seen).count()
    }

    fn edges_explained(&self, way: Homes) -> usize {
        let mut count = 0;
        for a in Face::ALL {
            for b in Face::ALL {
                if a.axis() != b.axis() {
                    let [a, b] = [a, b].map(|face| usize::from(way.label_of(face)));
                    count += usize::from(self.neighbours[a][b]);
                }
            }
        }
        count
    }

    fn fixed_home(&self, homes: Homes) -> usize {
        Face::ALL
            .into_iter()
            .filter(|&face| self.fixed[face.index()] == Some(homes.label_of(face)))
            .count()
    }

    /// The arrangement turned so that it fits the hold as shown.
    fn best_held(&self, way: Homes, usual: Option<Homes>) -> Homes {
        let fit = |homes: &Homes| {
            let centres: u16 = Face::ALL
                .into_iter()
                .map(|face| self.centres[face.index()][usize::from(homes.label_of(face))])
                .sum();
            let [.., dbl, _] = Layout::CORNERS;
            let is_dbl_home = self.corners[6].faces(*homes) == dbl.map(Some);
            let as_usual = usual.map_or(0, |usual| {
                Face::ALL
                    .into_iter()
                    .filter(|&face| usual.label_of(face) == homes.label_of(face))
                    .count()
            });
            (
                self.fixed_home(*homes),
                centres,
                is_dbl_home,
                as_usual,
                Reverse(*homes),
            )
        };
        Hold::all()
            .iter()
            .map(|&hold| way.held(hold))
            .max_by_key(fit)
            .unwrap_or(way)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cube::Sequence;
    use crate::testkit::{labels_of, scrambled};
    use proptest::prelude::*;

    /// White 0, red 1, green 2, yellow 3, orange 4, blue 5.
    const USUAL: Homes = Homes([0, 1, 2, 3, 4, 5]);

    fn check(n: usize, labels: &[Label], expected: Homes) {
        let known: Vec<_> = labels.iter().copied().map(Some).collect();
        assert_eq!(find_homes(n, &known, None), Ok(expected), "n = {n}");
    }

    #[test]
    fn there_are_thirty_arrangements() {
        let ways = arrangements();
        assert_eq!(ways.len(), 30);
        for (index, way) in ways.iter().enumerate() {
            assert!(Homes::new(way.0).is_some());
            assert!(ways[..index].iter().all(|other| !other.is_turned(*way)));
        }
    }

    #[test]
    fn solved_cubes_of_every_size_in_every_hold() {
        for n in 2..=17 {
            for &hold in Hold::all() {
                let state = State::solved(n).after(&hold.sequence().0);
                check(n, &labels_of(&state), USUAL.held(hold));
            }
        }
    }

    /// Two opposite caps of a 3×3×3 exchanged make the mirrored arrangement: the corners outvote them.
    #[test]
    fn exchanged_caps_do_not_hide_the_arrangement() {
        for (one, other) in [(Face::U, Face::D), (Face::U, Face::F)] {
            let mut labels = labels_of(&State::solved(3));
            labels.swap(one.index() * 9 + 4, other.index() * 9 + 4);
            check(3, &labels, USUAL);
        }
    }

    /// Stickers exchanged between corners that differ in them alone make the corners of another arrangement, six
    /// of eight here: its midges or wings, and its caps, speak against it.
    #[test]
    fn corners_that_fit_another_arrangement_are_outvoted() {
        for n in 3..=7 {
            let solved = labels_of(&State::solved(n));
            let corner = |faces: [Face; 3]| {
                let corners = &Layout::of(n).corners;
                let places = corners.iter().map(|corner| corner.places.map(usize::from));
                let of = |place: usize| Face::ALL[place / (n * n)];
                let mut found = places
                    .filter(|places| faces.iter().all(|&f| places.iter().any(|&p| of(p) == f)));
                let places = found.next().unwrap();
                faces.map(|face| *places.iter().find(|&&place| of(place) == face).unwrap())
            };
            // White and orange exchanged: on the corners with red or yellow beside one of them.
            let mut labels = solved.clone();
            for side in [Face::F, Face::B] {
                let [white, ..] = corner([Face::U, Face::R, side]);
                let [orange, ..] = corner([Face::L, Face::D, side]);
                labels.swap(white, orange);
            }
            check(n, &labels, USUAL);
        }
    }

    /// Four corners mirrored by two exchanges: on an even cube nothing tells which half is right, and that is
    /// said; on an odd one the caps tell.
    #[test]
    fn half_of_the_corners_mirrored() {
        for n in 3..=6 {
            let mut labels = labels_of(&State::solved(n));
            let last = n * n - 1;
            for (up, down) in [(last, n - 1), (last - (n - 1), 0)] {
                labels.swap(up, 3 * n * n + down);
            }
            let known: Vec<_> = labels.iter().copied().map(Some).collect();
            if n % 2 == 1 {
                check(n, &labels, USUAL);
            } else {
                assert!(matches!(
                    find_homes(n, &known, None),
                    Err(HomesError::Ambiguous { candidates })
                        if candidates.len() == 2 && candidates.contains(&USUAL)
                ));
                assert_eq!(find_homes(n, &known, Some(USUAL)), Ok(USUAL));
            }
        }
    }

    #[test]
    fn complete_centres_in_the_wrong_places_stay_wrong() {
        let mut labels = labels_of(&State::solved(4));
        for (row, col) in [(1, 1), (1, 2), (2, 1), (2, 2)] {
            labels.swap(row * 4 + col, 3 * 16 + row * 4 + col);
        }
        check(4, &labels, USUAL);
    }

    #[test]
    fn a_two_by_two_is_held_by_its_corner_at_dbl() {
        let steps = "R U2 F' R F U".parse::<Sequence>().unwrap();
        check(2, &labels_of(&State::solved(2).after(&steps.0)), USUAL);
    }

    #[test]
    fn stickers_of_no_cube() {
        let one_colour = vec![Some(0); 96];
        assert!(matches!(
            find_homes(4, &one_colour, Some(USUAL)),
            Err(HomesError::Impossible {
                explained: 0,
                corners: 8,
                ..
            })
        ));
        assert!(matches!(
            find_homes(4, &[None; 96], None),
            Err(HomesError::Ambiguous { candidates }) if candidates.len() == 30
        ));
        assert_eq!(find_homes(4, &[None; 96], Some(USUAL)), Ok(USUAL));
        assert!(matches!(
            find_homes(18, &[], None),
            Err(HomesError::Size { n: 18, met: 0 })
        ));
        let mut labels = vec![None; 24];
        labels[7] = Some(6);
        let expected = HomesError::NoLabel { met: 6, place: 7 };
        assert_eq!(find_homes(2, &labels, None), Err(expected));
    }

    /// With the corners hidden nothing tells an even cube from its mirror image; the usual scheme decides.
    #[test]
    fn hidden_corners_leave_the_mirror_image_possible() {
        let layout = Layout::of(4);
        let state = State::solved(4);
        let mut labels: Vec<_> = labels_of(&state).into_iter().map(Some).collect();
        for place in layout.corners.iter().flat_map(|corner| corner.places) {
            labels[usize::from(place)] = None;
        }
        assert!(matches!(
            find_homes(4, &labels, None),
            Err(HomesError::Ambiguous { candidates })
                if candidates.len() == 2 && candidates.contains(&USUAL)
        ));
        assert_eq!(find_homes(4, &labels, Some(USUAL)), Ok(USUAL));
    }

    proptest! {
        /// However scrambled, the arrangement is found; on odd cubes, and on even ones whose centres are
        /// whole, the hold too.
        #[test]
        fn scrambles_keep_the_arrangement(state in scrambled(2..=17)) {
            let known: Vec<_> = labels_of(&state).into_iter().map(Some).collect();
            let homes = find_homes(state.n(), &known, None).unwrap();
            prop_assert!(homes.is_turned(USUAL));
            if state.n() % 2 == 1 {
                for face in Face::ALL {
                    let centre = state.layout().fixed_centres[face.index()];
                    prop_assert_eq!(Some(homes.label_of(face)), known[usize::from(centre)]);
                }
            }
        }

        /// Two stickers exchanged spoil two corners at most: six tell.
        #[test]
        fn an_exchange_of_stickers_does_not_mislead(
            state in scrambled(2..=9),
            one in any::<prop::sample::Index>(),
            other in any::<prop::sample::Index>(),
        ) {
            let mut labels = labels_of(&state);
            let [one, other] = [one, other].map(|index| index.index(labels.len()));
            labels.swap(one, other);
            let known: Vec<_> = labels.into_iter().map(Some).collect();
            prop_assert!(find_homes(state.n(), &known, None).unwrap().is_turned(USUAL));
        }

        /// Two exchanges spoil four pieces at most, and another arrangement leaves ten unexplained or, if it is
        /// the mirror image of an even cube's, the eight corners: at worst, four corners mirrored, it explains
        /// as much. (On a 2×2×2 two exchanges can make another arrangement the better explanation.)
        #[test]
        fn two_exchanges_do_not_mislead_where_there_are_edges(
            state in scrambled(3..=6),
            exchanges in prop::array::uniform2((any::<prop::sample::Index>(), any::<prop::sample::Index>())),
        ) {
            let mut labels = labels_of(&state);
            for (one, other) in exchanges {
                let [one, other] = [one, other].map(|index| index.index(labels.len()));
                labels.swap(one, other);
            }
            let known: Vec<_> = labels.into_iter().map(Some).collect();
            match find_homes(state.n(), &known, None) {
                Err(HomesError::Ambiguous { candidates }) if state.n() % 2 == 0 => {
                    prop_assert_eq!(candidates.len(), 2);
                    prop_assert!(candidates.iter().any(|way| way.is_turned(USUAL)));
                }
                homes => prop_assert!(homes.unwrap().is_turned(USUAL)),
            }
        }

        /// One unknown sticker, even one whole unknown corner, does not matter.
        #[test]
        fn a_hidden_corner_does_not_matter(state in scrambled(2..=9), corner in 0..8_usize) {
            let mut known: Vec<_> = labels_of(&state).into_iter().map(Some).collect();
            for place in state.layout().corners[corner].places {
                known[usize::from(place)] = None;
            }
            prop_assert!(find_homes(state.n(), &known, None).unwrap().is_turned(USUAL));
        }
    }
}
