//! The places of a cube of order n: how turns move them and which of them make a piece.

use super::face::{cross, dot};
use super::{Face, LEAST_ORDER, MOST_ORDER, Move, Spot, Vector};
use std::sync::OnceLock;

/// Everything about a cube that depends on its order alone. Made once per order, see [`Layout::of`].
#[derive(Debug)]
pub struct Layout {
    n: usize,
    /// `[face][layer - 1]`: a clockwise quarter turn of one layer as cycles; the sticker at the first place
    /// goes to the second, and so on.
    quarters: [Vec<Vec<[u16; 4]>>; 6],
    /// The eight corners.
    pub corners: Vec<Corner>,
    /// The twelve midges; none when n is even.
    pub midges: Vec<Midge>,
    /// The wing orbits, outermost (layer 2) first.
    pub wing_orbits: Vec<WingOrbit>,
    /// The orbits of moving centres, by growing row, then column, of their member nearest the top left.
    pub centre_orbits: Vec<Orbit>,
    /// The places of the six fixed centres in the order of [`Face::ALL`]; none when n is even.
    pub fixed_centres: Vec<u16>,
}

/// A corner position.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Corner {
    /// Its three places, clockwise as seen from outside, the one on U or D first.
    pub places: [u16; 3],
}

/// A midge position: the middle of an edge of an odd cube.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Midge {
    /// Its two places; the one on U or D first, otherwise the one on F or B.
    pub places: [u16; 2],
}

/// A wing position.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Wing {
    /// Its two places (P, Q) in the order for which (normal P × normal Q) · position is positive; every turn
    /// keeps this order.
    pub places: [u16; 2],
    /// The edge it lies on, as an index into [`Layout::EDGES`].
    pub edge: usize,
    /// Whether it lies towards the + end of its edge, the end at A × B for the edge AB; which of its places
    /// is the one on A then follows: the first, exactly when it lies at the + end.
    pub at_plus_end: bool,
}

/// The 24 wings whose layer is the same number of layers away from the corner.
#[derive(Debug)]
pub struct WingOrbit {
    /// The layer from the corner: 2 is next to the corner.
    pub layer: usize,
    /// Its 24 positions, the two of edge `e` at `2 · e` (+ end) and `2 · e + 1` (− end).
    pub wings: Vec<Wing>,
}

/// What sort of centre pieces an orbit holds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum OrbitKind {
    /// On the diagonals.
    X,
    /// On the middle row or column of an odd cube.
    T,
    /// Neither; each unordered {row, col} makes two orbits, mirror images of each other.
    Oblique,
}

/// The 24 places among which a moving centre can wander.
#[derive(Debug)]
pub struct Orbit {
    /// The kind of piece.
    pub kind: OrbitKind,
    /// The member nearest the top left of a face: its row and column.
    pub anchor: (usize, usize),
    /// The places, four a face, faces in the order of [`Face::ALL`], clockwise from the anchor.
    pub places: Vec<u16>,
}

impl Layout {
    /// The twelve edges AB, named so that the place on A comes first: UF UR UB UL DF DR DB DL FR FL BR BL.
    pub const EDGES: [(Face, Face); 12] = [
        (Face::U, Face::F),
        (Face::U, Face::R),
        (Face::U, Face::B),
        (Face::U, Face::L),
        (Face::D, Face::F),
        (Face::D, Face::R),
        (Face::D, Face::B),
        (Face::D, Face::L),
        (Face::F, Face::R),
        (Face::F, Face::L),
        (Face::B, Face::R),
        (Face::B, Face::L),
    ];

    /// The eight corners by their faces, clockwise as seen from outside, U or D first.
    pub const CORNERS: [[Face; 3]; 8] = [
        [Face::U, Face::R, Face::F],
        [Face::U, Face::F, Face::L],
        [Face::U, Face::L, Face::B],
        [Face::U, Face::B, Face::R],
        [Face::D, Face::F, Face::R],
        [Face::D, Face::L, Face::F],
        [Face::D, Face::B, Face::L],
        [Face::D, Face::R, Face::B],
    ];

    /// The layout of order `n`, made on first use.
    ///
    /// # Panics
    ///
    /// If `n` is outside [`LEAST_ORDER`]`..=`[`MOST_ORDER`].
    pub fn of(n: usize) -> &'static Self {
        static MADE: [OnceLock<Layout>; MOST_ORDER + 1] =
            [const { OnceLock::new() }; MOST_ORDER + 1];
        assert!((LEAST_ORDER..=MOST_ORDER).contains(&n), "cube order {n}");
        MADE[n].get_or_init(|| Self::new(n))
    }

    /// The order of the cube.
    pub const fn n(&self) -> usize {
        self.n
    }

    /// The number of places, 6·n².
    pub const fn places(&self) -> usize {
        6 * self.n * self.n
    }

    /// Makes a move on anything that sits at the places, in the order of place numbers.
    ///
    /// # Panics
    ///
    /// If `items` does not hold 6·n² items, or the move turns more layers than there are.
    pub fn turn<T: Copy>(&self, items: &mut [T], step: Move) {
        assert_eq!(
            items.len(),
            self.places(),
            "places of a cube of order {}",
            self.n
        );
        let (face, layers, quarter) = match step {
            Move::Block {
                face,
                layers,
                quarter,
            } => (face, layers, quarter),
            Move::Rotation { axis, quarter } => (axis.face(), self.n, quarter),
        };
        for cycle in self.quarters[face.index()][..layers].iter().flatten() {
            let at = cycle.map(usize::from);
            let held = at.map(|place| items[place]);
            for (from, item) in held.into_iter().enumerate() {
                items[at[(from + quarter.count()) % 4]] = item;
            }
        }
    }

    /// The cycles of a clockwise quarter turn of the single layer `layer` (1 = outer) under `face`.
    ///
    /// # Panics
    ///
    /// If `layer` is 0 or greater than n.
    pub fn quarter_cycles(&self, face: Face, layer: usize) -> &[[u16; 4]] {
        &self.quarters[face.index()][layer - 1]
    }

    fn new(n: usize) -> Self {
        let mut layout = Self {
            n,
            quarters: Face::ALL
                .map(|face| (1..=n).map(|layer| layer_cycles(n, face, layer)).collect()),
            corners: Self::CORNERS
                .iter()
                .map(|&faces| Corner {
                    places: faces.map(|on| corner_place(n, faces, on)),
                })
                .collect(),
            midges: Vec::new(),
            wing_orbits: (2..=n / 2).map(|layer| wing_orbit(n, layer)).collect(),
            centre_orbits: centre_orbits(n),
            fixed_centres: Vec::new(),
        };
        if n % 2 == 1 {
            layout.midges = Self::EDGES
                .iter()
                .map(|&(a, b)| Midge {
                    places: [edge_place(n, a, b, 0), edge_place(n, b, a, 0)],
                })
                .collect();
            layout.fixed_centres = Face::ALL
                .iter()
                .map(|&face| {
                    Spot {
                        face,
                        row: n / 2,
                        col: n / 2,
                    }
                    .place(n) as u16
                })
                .collect();
        }
        layout
    }
}

/// The place whose sticker lies on the face `normal` at `position`, see [`Spot::position`].
fn place_at(n: usize, face: Face, position: Vector) -> u16 {
    let [_, down, right] = face.frame();
    let order = n as i32;
    let row = (dot(position, down) + order - 1) / 2;
    let col = (dot(position, right) + order - 1) / 2;
    Spot {
        face,
        row: row as usize,
        col: col as usize,
    }
    .place(n) as u16
}

/// The vector turned a quarter clockwise as seen looking at `face` from outside.
pub(super) fn turned(face: Face, vector: Vector) -> Vector {
    let axis = face.normal();
    let along = dot(axis, vector);
    let beside = cross(vector, axis);
    [0, 1, 2].map(|k| along * axis[k] + beside[k])
}

/// One layer's clockwise quarter turn as cycles of places.
fn layer_cycles(n: usize, face: Face, layer: usize) -> Vec<[u16; 4]> {
    let order = n as i32;
    let depth = order + 1 - 2 * layer as i32;
    let mut cycles = Vec::new();
    let mut done = vec![false; 6 * n * n];
    for place in 0..6 * n * n {
        let spot = Spot::from_place(place, n);
        let height = dot(spot.position(n), face.normal());
        // Stickers on the face itself and on the one across it lie half a cubie beyond their cubie's middle.
        let in_layer = if spot.face == face {
            layer == 1
        } else if spot.face == face.opposite() {
            layer == n
        } else {
            height == depth
        };
        if !in_layer || done[place] {
            continue;
        }
        let mut cycle = [0; 4];
        let (mut normal, mut position) = (spot.face.normal(), spot.position(n));
        for at in &mut cycle {
            if let Some(on) = Face::from_normal(normal) {
                *at = place_at(n, on, position);
            }
            done[usize::from(*at)] = true;
            normal = turned(face, normal);
            position = turned(face, position);
        }
        if cycle[0] != cycle[1] {
            cycles.push(cycle);
        }
    }
    cycles
}

/// The place on face `on` of the corner between `faces`.
fn corner_place(n: usize, faces: [Face; 3], on: Face) -> u16 {
    let order = n as i32;
    let position = [0, 1, 2].map(|k| {
        faces
            .iter()
            .map(|&face| face.normal()[k] * if face == on { order } else { order - 1 })
            .sum()
    });
    place_at(n, on, position)
}

/// The place on face `on` of the edge between `on` and `beside`, `along` half cubie sides from the edge's
/// middle towards `on` × `beside`.
fn edge_place(n: usize, on: Face, beside: Face, along: i32) -> u16 {
    let order = n as i32;
    let way = cross(on.normal(), beside.normal());
    let position = [0, 1, 2]
        .map(|k| order * on.normal()[k] + (order - 1) * beside.normal()[k] + along * way[k]);
    place_at(n, on, position)
}

fn wing_orbit(n: usize, layer: usize) -> WingOrbit {
    let along = n as i32 + 1 - 2 * layer as i32;
    let mut wings = Vec::with_capacity(24);
    for (edge, &(a, b)) in Layout::EDGES.iter().enumerate() {
        for at_plus_end in [true, false] {
            let signed = if at_plus_end { along } else { -along };
            // Seen from B the edge runs the other way: B × A = −(A × B).
            let on_a = edge_place(n, a, b, signed);
            let on_b = edge_place(n, b, a, -signed);
            let places = if at_plus_end {
                [on_a, on_b]
            } else {
                [on_b, on_a]
            };
            wings.push(Wing {
                places,
                edge,
                at_plus_end,
            });
        }
    }
    WingOrbit { layer, wings }
}

fn centre_orbits(n: usize) -> Vec<Orbit> {
    let mut orbits = Vec::new();
    let last = n - 1;
    for row in 1..n.div_ceil(2) {
        for col in 1..last {
            let ring = [
                (row, col),
                (col, last - row),
                (last - row, last - col),
                (last - col, row),
            ];
            let is_fixed = ring[0] == ring[1];
            if is_fixed || ring.iter().min() != Some(&(row, col)) {
                continue;
            }
            let kind = if row == col || row + col == last {
                OrbitKind::X
            } else if 2 * row == last || 2 * col == last {
                OrbitKind::T
            } else {
                OrbitKind::Oblique
            };
            let places = Face::ALL
                .iter()
                .flat_map(|&face| ring.map(|(row, col)| Spot { face, row, col }.place(n) as u16))
                .collect();
            orbits.push(Orbit {
                kind,
                anchor: (row, col),
                places,
            });
        }
    }
    orbits
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cube::{Quarter, State};

    /// Source: counted from the geometry in an independent program, agreeing with the published numbers of
    /// positions (OEIS A075152); see the fact table in fixtures.
    #[test]
    fn piece_counts() {
        for (n, midges, wing_orbits, fixed, centre_orbits) in [
            (2, 0, 0, 0, 0),
            (3, 12, 0, 6, 0),
            (4, 0, 1, 0, 1),
            (5, 12, 1, 6, 2),
            (6, 0, 2, 0, 4),
            (7, 12, 2, 6, 6),
            (9, 12, 3, 6, 12),
            (11, 12, 4, 6, 20),
        ] {
            let layout = Layout::of(n);
            assert_eq!(layout.corners.len(), 8);
            assert_eq!(layout.midges.len(), midges, "n = {n}");
            assert_eq!(layout.wing_orbits.len(), wing_orbits, "n = {n}");
            assert_eq!(layout.fixed_centres.len(), fixed, "n = {n}");
            assert_eq!(layout.centre_orbits.len(), centre_orbits, "n = {n}");
        }
    }

    /// Every place belongs to exactly one piece.
    #[test]
    fn pieces_share_out_the_places() {
        for n in LEAST_ORDER..=MOST_ORDER {
            let layout = Layout::of(n);
            let mut seen = vec![0; layout.places()];
            let mut count = |place: u16| seen[usize::from(place)] += 1;
            layout
                .corners
                .iter()
                .flat_map(|corner| corner.places)
                .for_each(&mut count);
            layout
                .midges
                .iter()
                .flat_map(|midge| midge.places)
                .for_each(&mut count);
            layout
                .wing_orbits
                .iter()
                .flat_map(|orbit| &orbit.wings)
                .flat_map(|wing| wing.places)
                .for_each(&mut count);
            layout
                .centre_orbits
                .iter()
                .flat_map(|orbit| orbit.places.iter().copied())
                .for_each(&mut count);
            layout.fixed_centres.iter().copied().for_each(&mut count);
            assert!(seen.iter().all(|&times| times == 1), "n = {n}");
        }
    }

    /// A turn carries pieces onto pieces of the same kind, keeping the order of a wing's places.
    #[test]
    fn turns_carry_pieces_onto_pieces() {
        for n in 2..=9 {
            let layout = Layout::of(n);
            for face in Face::ALL {
                for layers in 1..=n {
                    let mut from: Vec<u16> = (0..layout.places() as u16).collect();
                    layout.turn(
                        &mut from,
                        Move::Block {
                            face,
                            layers,
                            quarter: Quarter::Clockwise,
                        },
                    );
                    let came = |place: u16| from[usize::from(place)];
                    for orbit in &layout.wing_orbits {
                        for wing in &orbit.wings {
                            let source = wing.places.map(came);
                            assert!(orbit.wings.iter().any(|other| other.places == source));
                        }
                    }
                    for corner in &layout.corners {
                        let source = corner.places.map(came);
                        assert!((0..3).any(|twist| {
                            let spun = [0, 1, 2].map(|k| source[(k + twist) % 3]);
                            layout.corners.iter().any(|other| other.places == spun)
                        }));
                    }
                    for orbit in &layout.centre_orbits {
                        assert!(
                            orbit
                                .places
                                .iter()
                                .all(|&place| orbit.places.contains(&came(place)))
                        );
                    }
                }
            }
        }
    }

    /// Source: the geometry of the regulations: R brings the front to the top, U the front to the left.
    #[test]
    fn turns_go_the_way_of_the_regulations() {
        let check = |moves: &str, spot: Spot, expected: Face| {
            let steps = moves.parse::<crate::cube::Sequence>().unwrap();
            assert_eq!(
                State::solved(4).after(&steps.0).at_spot(spot),
                expected,
                "{moves}"
            );
        };
        let spot = |face, row, col| Spot { face, row, col };
        check("R", spot(Face::U, 0, 3), Face::F);
        check("Rw", spot(Face::U, 1, 2), Face::F);
        check("U", spot(Face::L, 0, 1), Face::F);
        check("F", spot(Face::R, 2, 0), Face::U);
        check("x", spot(Face::U, 1, 0), Face::F);
        check("y", spot(Face::F, 1, 0), Face::R);
        check("z", spot(Face::R, 1, 0), Face::U);
        check("D", spot(Face::R, 3, 0), Face::F);
        check("L", spot(Face::F, 0, 0), Face::U);
        check("B", spot(Face::L, 1, 0), Face::U);
    }
}
