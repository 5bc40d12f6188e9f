//! The twelve edge groups: the pieces along each edge, and which of them agree.

use crate::cube::{Face, Layout, State};
use serde::{Deserialize, Serialize};

/// How far the edges are paired.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Groups {
    /// Groups all of whose pieces agree.
    pub done: usize,
    /// How many groups the cube has: twelve, on a 2×2×2 none.
    pub of: usize,
    /// Groups whose pieces agree, the outermost wings aside.
    pub inner_done: usize,
}

/// The pieces along one edge AB from its + end to its − end: the sticker on A, then the one on B.
pub type Strip = Vec<[Face; 2]>;

/// The pieces along an edge, given by its index into [`Layout::EDGES`]; none on a 2×2×2.
///
/// # Panics
///
/// If `edge` is not below 12.
pub fn strip(state: &State, edge: usize) -> Strip {
    let at = |place: u16| state.at(usize::from(place));
    strip_places(state.layout(), edge)
        .into_iter()
        .map(|places| places.map(at))
        .collect()
}

/// The places along an edge AB from its + end to its − end: the one on A, then the one on B.
///
/// # Panics
///
/// If `edge` is not below 12.
pub fn strip_places(layout: &Layout, edge: usize) -> Vec<[u16; 2]> {
    let plus = layout
        .wing_orbits
        .iter()
        .map(|orbit| orbit.wings[2 * edge].places);
    let middle = layout.midges.get(edge).map(|midge| midge.places);
    let minus = layout.wing_orbits.iter().rev().map(|orbit| {
        let [on_b, on_a] = orbit.wings[2 * edge + 1].places;
        [on_a, on_b]
    });
    plus.chain(middle).chain(minus).collect()
}

/// Whether all pieces of a strip show the same two colours the same way round.
pub fn is_whole<T: PartialEq>(strip: &[T]) -> bool {
    strip.windows(2).all(|pair| pair[0] == pair[1])
}

impl Groups {
    /// Counts the groups of a state.
    pub fn of(state: &State) -> Self {
        if state.n() == 2 {
            return Self {
                done: 0,
                of: 0,
                inner_done: 0,
            };
        }
        let strips: Vec<Strip> = (0..12).map(|edge| strip(state, edge)).collect();
        let inner = |strip: &Strip| strip.len() < 3 || is_whole(&strip[1..strip.len() - 1]);
        Self {
            done: strips.iter().filter(|strip| is_whole(strip)).count(),
            of: 12,
            inner_done: strips.iter().filter(|strip| inner(strip)).count(),
        }
    }
}

/// The edges whose groups are not whole, as indices into [`Layout::EDGES`].
pub fn open_edges(state: &State) -> Vec<usize> {
    (0..12)
        .filter(|&edge| !is_whole(&strip(state, edge)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cube::Sequence;

    #[test]
    fn strips_run_from_the_plus_end() {
        // R turns the right layer: on UF only the wing at the + end, next to UFR, stays; the − end is at UFL.
        let state = State::solved(5).after(&"Rw".parse::<Sequence>().unwrap().0);
        let uf = strip(&state, 0);
        assert_eq!(uf[0], [Face::F, Face::D]);
        assert_eq!(uf[1..], [[Face::U, Face::F]; 2]);
        for n in 2..=17 {
            for edge in 0..12 {
                let (a, b) = Layout::EDGES[edge];
                assert_eq!(strip(&State::solved(n), edge), vec![[a, b]; n - 2]);
            }
        }
    }

    #[test]
    fn a_turned_slice_opens_its_four_groups() {
        let check = |n, moves: &str, done, inner_done| {
            let steps = Sequence::for_order(moves, n).unwrap();
            let groups = Groups::of(&State::solved(n).after(&steps.0));
            assert_eq!(
                (groups.done, groups.inner_done),
                (done, inner_done),
                "{moves}"
            );
        };
        check(6, "Rw", 8, 12);
        check(6, "3Rw", 8, 8);
        check(6, "R U F2", 12, 12);
        check(4, "Rw", 8, 12);
        check(3, "R U Fw", 12, 12);
    }
}
