//! The centres: which faces' centres are whole, and whether they stand where the corners ask for them.

use crate::cube::{Face, Hold, Spot, State};
use serde::{Deserialize, Serialize};

/// How far the centres are built.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Centres {
    /// The faces whose centres show one colour; all six where there is nothing to build (orders 2 and 3).
    pub done: Vec<Face>,
    /// Whether the whole centres can stand like this around the corners of this very cube.
    /// Only the corners tell on an even cube; on an odd cube the fixed centres see to it.
    pub arrangement_ok: bool,
}

impl Centres {
    /// Looks at the centres of a state.
    pub fn of(state: &State) -> Self {
        let colours = colours(state);
        let done = Face::ALL
            .into_iter()
            .filter(|face| state.n() == 2 || colours[face.index()].is_some())
            .collect();
        Self {
            done,
            arrangement_ok: misplaced(colours).is_empty(),
        }
    }
}

/// The colour of each face's centre, by [`Face::index`]; `None` where it is mixed or the cube has none.
pub fn colours(state: &State) -> [Option<Face>; 6] {
    let n = state.n();
    Face::ALL.map(|face| {
        let start = face.index() * n * n;
        let inside = (1..n - 1).flat_map(|row| (1..n - 1).map(move |col| start + row * n + col));
        let mut stickers = inside.map(|place| state.at(place));
        let first = stickers.next()?;
        stickers.all(|sticker| sticker == first).then_some(first)
    })
}

/// How many of a face's centre stickers have a colour.
pub fn count(state: &State, face: Face, colour: Face) -> usize {
    let n = state.n();
    let spots = (1..n - 1).flat_map(|row| (1..n - 1).map(move |col| Spot { face, row, col }));
    spots.filter(|&spot| state.at_spot(spot) == colour).count()
}

/// The hold in which whole centres are home: turned the other way, it renames the stickers so that every whole
/// centre is named after its face. `None` if no hold does it; with few whole centres the first of several.
pub fn home_hold(colours: [Option<Face>; 6]) -> Option<Hold> {
    let is_home = |hold: &&Hold| misplaced_in(**hold, colours).is_empty();
    Hold::all().iter().find(is_home).copied()
}

/// The fewest faces whose whole centres would have to change for all to fit the corners.
pub fn misplaced(colours: [Option<Face>; 6]) -> Vec<Face> {
    let holds = Hold::all().iter();
    let misplaced = holds.map(|&hold| misplaced_in(hold, colours));
    misplaced.min_by_key(Vec::len).unwrap_or_default()
}

/// The faces with a whole centre that is not the one `hold` brings there.
fn misplaced_in(hold: Hold, colours: [Option<Face>; 6]) -> Vec<Face> {
    let is_elsewhere = |colour: Face, face: Face| hold.brings(colour) != face;
    Face::ALL
        .into_iter()
        .filter(|&face| colours[face.index()].is_some_and(|colour| is_elsewhere(colour, face)))
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cube::Sequence;
    use crate::testkit::exchange_cells;

    fn check(n: usize, moves: &str, done: &str, arrangement_ok: bool) {
        let steps = Sequence::for_order(moves, n).unwrap();
        let found = Centres::of(&State::solved(n).after(&steps.0));
        let letters: String = found.done.iter().map(|face| face.letter()).collect();
        assert_eq!(
            (letters.as_str(), found.arrangement_ok),
            (done, arrangement_ok),
            "{moves}"
        );
    }

    #[test]
    fn slices_mix_the_centres_they_cross() {
        check(6, "x R U2 F'", "URFDLB", true);
        check(6, "Rw", "RL", true);
        check(5, "Rw Uw", "", true);
        check(3, "R U F", "URFDLB", true);
        check(2, "R U F", "URFDLB", true);
    }

    /// Any arrangement of centres can be reached on an even cube; only rotations of the corners' own fit.
    #[test]
    fn whole_centres_in_the_wrong_order() {
        let exchanged = |n: usize, one: Face, other: Face| {
            let mut state = State::solved(n);
            let cells = (1..n - 1).flat_map(|row| (1..n - 1).map(move |col| (row, col)));
            exchange_cells(&mut state, [one, other], cells);
            assert_eq!(crate::cube::check(&state), []);
            let held = state.after(&"x y".parse::<Sequence>().unwrap().0);
            assert_eq!(misplaced(colours(&held)).len(), 2);
            let centres = Centres::of(&state);
            assert_eq!((centres.done.len(), centres.arrangement_ok), (6, false));
            misplaced(colours(&state))
        };
        assert_eq!(exchanged(4, Face::U, Face::D), [Face::U, Face::D]);
        assert_eq!(exchanged(6, Face::F, Face::R), [Face::R, Face::F]);
        // All the inner slices turned as one are only another hold.
        check(4, "Rw Lw' R' L", "URFDLB", true);
    }

    #[test]
    fn two_whole_centres_can_already_clash() {
        let mut state = State::solved(4).after(&Sequence::for_order("Rw Uw", 4).unwrap().0);
        assert_eq!(Centres::of(&state).done, []);
        for (row, col) in [(1, 1), (1, 2), (2, 1), (2, 2)] {
            for (face, colour) in [(Face::U, Face::U), (Face::F, Face::D)] {
                state.set(Spot { face, row, col }.place(4), colour);
            }
        }
        let centres = Centres::of(&state);
        assert_eq!(centres.done, [Face::U, Face::F]);
        assert!(
            !centres.arrangement_ok,
            "opposite colours cannot be neighbours"
        );
    }
}
