//! What lies on two edges that hold all open groups, told apart up to holding the cube and naming the colours.

use super::wings::Action;
use crate::cube::{Hold, MOST_ORDER, Pieces, State};
use std::sync::OnceLock;

/// The most wing orbits a cube can have.
const MOST_ORBITS: usize = MOST_ORDER / 2 - 1;

/// Two edges that hold all open groups, and what is on them. The colour pairs are only told apart, not named.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Arrangement {
    /// The edges, by growing number.
    pub edges: [u8; 2],
    /// How many wing orbits are told of.
    orbits: u8,
    /// For each orbit, outermost first, what lies at the + and − end of the first edge, then of the second: twice
    /// the colour pair plus which way round, so that a whole group reads the same all along.
    wings: [[u8; 4]; MOST_ORBITS],
    /// The same for the inner parts that all orbits are measured against; `None` where there are none, as on an
    /// even cube.
    cores: Option<[u8; 2]>,
}

impl Arrangement {
    /// The arrangement of these cells on two edges in growing order; `None` if they are of more than two groups.
    pub fn new(edges: [usize; 2], rows: &[[u8; 4]], cores: Option<[u8; 2]>) -> Option<Self> {
        let mut wings = [[0; 4]; MOST_ORBITS];
        wings.get_mut(..rows.len())?.copy_from_slice(rows);
        let raw = Self {
            edges: edges.map(|edge| edge as u8),
            orbits: rows.len() as u8,
            wings,
            cores,
        };
        raw.named()
    }

    #[cfg(test)]
    /// Two whole groups.
    pub fn whole(edges: [usize; 2], orbits: usize, cores: bool) -> Self {
        let mut wings = [[0; 4]; MOST_ORBITS];
        wings[..orbits].fill([0, 0, 2, 2]);
        Self {
            edges: edges.map(|edge| edge as u8),
            orbits: orbits as u8,
            wings,
            cores: cores.then_some([0, 2]),
        }
    }

    /// What is on two edges of a state; `None` if pieces of other groups are there too.
    pub fn of(state: &State, mut edges: [usize; 2]) -> Option<Self> {
        edges.sort_unstable();
        let pieces = Pieces::of(state);
        let mut rows = Vec::new();
        for orbit in &pieces.wings {
            let mut row = [0; 4];
            for (at, cell) in row.iter_mut().enumerate() {
                *cell = orbit[2 * edges[at / 2] + at % 2]? as u8 ^ (at % 2) as u8;
            }
            rows.push(row);
        }
        let mut cores = None;
        if !pieces.midges.is_empty() {
            let [one, other] = edges.map(|edge| pieces.midges[edge]);
            let (one, other) = (one?, other?);
            cores = Some([one, other].map(|midge| (2 * midge.piece + midge.turn) as u8));
        }
        Self::new(edges, &rows, cores)
    }

    /// The rows of the orbits, outermost first.
    pub fn rows(&self) -> &[[u8; 4]] {
        &self.wings[..usize::from(self.orbits)]
    }

    /// What the inner parts read, see [`Arrangement::new`].
    pub const fn cores(&self) -> Option<[u8; 2]> {
        self.cores
    }

    /// The same with its two orbits in each other's place; `None` unless there are two, both beside inner parts.
    pub fn exchanged(&self) -> Option<Self> {
        self.cores?;
        let [outer, inner] = *self.rows() else {
            return None;
        };
        Self::new(self.edges.map(usize::from), &[inner, outer], self.cores)
    }

    /// The colour pairs numbered in the order in which they are met, inside out; `None` if there are more than two.
    fn named(mut self) -> Option<Self> {
        let mut met: [Option<u8>; 2] = [None; 2];
        let orbits = usize::from(self.orbits);
        let inner = self.cores.iter_mut().flatten();
        for cell in inner.chain(self.wings[..orbits].iter_mut().rev().flatten()) {
            let pair = *cell / 2;
            let number = match met {
                [Some(first), _] if first / 2 == pair => 0,
                [_, Some(second)] if second / 2 == pair => 1,
                [None, _] => {
                    met[0] = Some(*cell);
                    0
                }
                [_, None] => {
                    met[1] = Some(*cell);
                    1
                }
                _ => return None,
            };
            let way = met[number].map_or(0, |first| (first ^ *cell) & 1);
            *cell = 2 * number as u8 + way;
        }
        Some(self)
    }

    /// Whether both groups are whole.
    pub fn is_whole(&self) -> bool {
        self.is_whole_at(0) && self.is_whole_at(1)
    }

    /// Whether the first (0) or second (1) group is whole.
    pub fn is_whole_at(&self, edge: usize) -> bool {
        let mut cells = self
            .rows()
            .iter()
            .flat_map(|row| row[2 * edge..2 * edge + 2].iter().copied())
            .chain(self.cores.map(|cores| cores[edge]));
        let first = cells.next();
        cells.all(|cell| Some(cell) == first)
    }

    /// The arrangement after an effect on its two edges; `on` has a bit for each orbit that the effect was made
    /// for, the outermost the lowest. The others keep to the inner parts.
    pub fn after(&self, effect: Effect, on: u8) -> Option<Self> {
        let to = effect.cores;
        let mut edges = to.map(|core| core / 2);
        edges.sort_unstable();
        let slot = |place: u8| usize::from(place / 2 != edges[0]) * 2 + usize::from(place % 2);
        let mut next = *self;
        next.edges = edges;
        for orbit in 0..usize::from(self.orbits) {
            for (at, &cell) in self.wings[orbit].iter().enumerate() {
                let end = (at % 2) as u8;
                let place = if on >> orbit & 1 == 1 {
                    effect.wings[at]
                } else {
                    to[at / 2] ^ end
                };
                next.wings[orbit][slot(place)] = cell ^ end ^ (place % 2);
            }
        }
        if let (Some(next), Some(cores)) = (&mut next.cores, self.cores) {
            for (&core, to) in cores.iter().zip(to) {
                next[slot(to) / 2] = core ^ (to % 2);
            }
        }
        next.named()
    }

    /// The same arrangement in the hold that stands for all holds, and that hold.
    pub fn settled(&self) -> Option<(Self, Hold)> {
        holds_to_standard(self.edges.map(usize::from))
            .iter()
            .filter_map(|(hold, effect)| Some((self.after(*effect, u8::MAX)?, *hold)))
            .min_by(|(one, _), (other, _)| one.cmp(other))
    }
}

/// Two edges of each relation: next to each other, parallel on a face, skew either way, opposite. All pairs of
/// edges can be held as one of these.
pub const STANDARD_PAIRS: [[usize; 2]; 5] = [[0, 1], [0, 2], [0, 5], [0, 7], [0, 6]];

/// The holds that bring a pair of edges to the standard pair like it, and what each does to the pair.
fn holds_to_standard(edges: [usize; 2]) -> &'static [(Hold, Effect)] {
    static MADE: OnceLock<Vec<Vec<(Hold, Effect)>>> = OnceLock::new();
    let all = MADE.get_or_init(|| {
        let holds: Vec<(Hold, Action)> = Hold::all()
            .iter()
            .map(|&hold| (hold, Action::of_hold(hold)))
            .collect();
        (0..144)
            .map(|pair| {
                let from = [pair / 12, pair % 12];
                let fitting = holds.iter().filter_map(|(hold, action)| {
                    let mut to = from.map(|edge| usize::from(action.cores[2 * edge] / 2));
                    to.sort_unstable();
                    let effect = Effect::of(action, from, false)?;
                    STANDARD_PAIRS.contains(&to).then_some((*hold, effect))
                });
                fitting.collect()
            })
            .collect()
    });
    &all[edges[0] * 12 + edges[1]]
}

/// What a sequence does to two edges, all others staying whole.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Effect {
    /// Where the four wings go: + and − end of the first edge, then of the second.
    pub wings: [u8; 4],
    /// Where the two inner parts go.
    pub cores: [u8; 2],
}

impl Effect {
    /// What an action does to two edges; `None` if it opens any other group.
    pub fn of(action: &Action, edges: [usize; 2], wings_alone: bool) -> Option<Self> {
        if !(0..12).all(|edge| edges.contains(&edge) || is_kept(action, edge, wings_alone)) {
            return None;
        }
        let wings = [0, 1, 2, 3].map(|at| action.wings[2 * edges[at / 2] + at % 2]);
        let cores = if wings_alone {
            // There are no inner parts: only the edges where the wings come to lie matter.
            let other = wings.iter().find(|&&wing| wing / 2 != wings[0] / 2)?;
            [wings[0] & !1, other & !1]
        } else {
            edges.map(|edge| action.cores[2 * edge])
        };
        Some(Self { wings, cores })
    }
}

/// Whether a group stays whole.
pub fn is_kept(action: &Action, edge: usize, wings_alone: bool) -> bool {
    let [plus, minus] = [action.wings[2 * edge], action.wings[2 * edge + 1]];
    plus == minus ^ 1 && (wings_alone || plus == action.cores[2 * edge])
}
