//! The 24 ways of holding a cube, and the rotations `x y z` that lead from one to another.

use super::layout::turned;
use super::{Axis, Face, Move, Quarter, Sequence};
use std::sync::OnceLock;

/// A turning of the whole cube in the hands: where it brings each face.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Hold {
    brings: [Face; 6],
}

impl Hold {
    /// The cube left as it is.
    pub const SAME: Self = Self { brings: Face::ALL };

    /// All 24 holds, those needing fewer rotations first.
    pub fn all() -> &'static [Self; 24] {
        static MADE: OnceLock<[Hold; 24]> = OnceLock::new();
        MADE.get_or_init(|| table().map(|(hold, _)| hold))
    }

    /// What one whole-cube rotation does; `None` for a move that turns only some layers.
    pub fn of_move(step: Move) -> Option<Self> {
        let Move::Rotation { axis, quarter } = step else {
            return None;
        };
        let mut brings = Face::ALL;
        for face in &mut brings {
            let mut normal = face.normal();
            for _ in 0..quarter.count() {
                normal = turned(axis.face(), normal);
            }
            *face = Face::from_normal(normal)?;
        }
        Some(Self { brings })
    }

    /// The hold that brings `up` to the top and `front` to the front; `None` if they do not share an edge.
    pub fn bringing(up: Face, front: Face) -> Option<Self> {
        Self::all()
            .iter()
            .copied()
            .find(|hold| hold.brings(up) == Face::U && hold.brings(front) == Face::F)
    }

    /// The side to which it brings what is on side `face`.
    pub const fn brings(self, face: Face) -> Face {
        self.brings[face.index()]
    }

    /// The side from which it brings what then is on side `face`.
    #[must_use]
    pub fn comes_from(self, face: Face) -> Face {
        self.inverse().brings(face)
    }

    /// This turning, then another.
    #[must_use]
    pub fn then(self, next: Self) -> Self {
        Self {
            brings: self.brings.map(|face| next.brings(face)),
        }
    }

    /// The turning back.
    #[must_use]
    pub fn inverse(self) -> Self {
        let mut brings = Face::ALL;
        for face in Face::ALL {
            brings[self.brings(face).index()] = face;
        }
        Self { brings }
    }

    /// The hold to which rotations lead, one after another; any other move leaves the cube as it is held.
    pub fn of_sequence(rotations: &Sequence) -> Self {
        let steps = rotations.0.iter().filter_map(|&step| Self::of_move(step));
        steps.fold(Self::SAME, Self::then)
    }

    /// The fewest rotations that make it: none, one or two.
    pub fn sequence(self) -> Sequence {
        let steps = table()
            .iter()
            .find(|(hold, _)| *hold == self)
            .map(|(_, steps)| steps.iter().flatten().copied().collect());
        Sequence(steps.unwrap_or_default())
    }
}

/// Each hold with the fewest rotations to it, found by trying none, one, then two.
fn table() -> &'static [(Hold, [Option<Move>; 2]); 24] {
    static MADE: OnceLock<[(Hold, [Option<Move>; 2]); 24]> = OnceLock::new();
    MADE.get_or_init(|| {
        let rotations = [Axis::X, Axis::Y, Axis::Z]
            .into_iter()
            .flat_map(|axis| Quarter::ALL.map(|quarter| Move::Rotation { axis, quarter }));
        let singles: Vec<(Hold, Move)> = rotations
            .filter_map(|step| Some((Hold::of_move(step)?, step)))
            .collect();
        let mut found = [(Hold::SAME, [None; 2]); 24];
        let mut count = 1;
        let mut keep = |hold: Hold, steps: [Option<Move>; 2]| {
            if !found[..count].iter().any(|&(other, _)| other == hold) {
                found[count] = (hold, steps);
                count += 1;
            }
        };
        for &(hold, step) in &singles {
            keep(hold, [Some(step), None]);
        }
        for &(first, step) in &singles {
            for &(second, next) in &singles {
                keep(first.then(second), [Some(step), Some(next)]);
            }
        }
        found
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cube::State;
    use std::collections::BTreeSet;

    #[test]
    fn the_holds_are_the_rotations_of_the_cube() {
        let all = Hold::all();
        assert_eq!(all.iter().collect::<BTreeSet<_>>().len(), 24);
        for &hold in all {
            assert_eq!(hold.then(hold.inverse()), Hold::SAME);
            assert!(all.iter().all(|&next| all.contains(&hold.then(next))));
            assert_eq!(Hold::of_sequence(&hold.sequence()), hold);
            let turned = State::solved(3).after(&hold.sequence().0);
            for face in Face::ALL {
                assert_eq!(turned.stickers()[hold.brings(face).index() * 9 + 4], face);
                assert_eq!(hold.comes_from(hold.brings(face)), face);
            }
        }
    }

    #[test]
    fn a_hold_by_its_top_and_front() {
        let check = |up, front, expected: Option<&str>| {
            let found = Hold::bringing(up, front).map(|hold| hold.sequence().to_string());
            assert_eq!(found.as_deref(), expected, "{up} up, {front} in front");
        };
        check(Face::U, Face::F, Some(""));
        check(Face::U, Face::R, Some("y"));
        check(Face::F, Face::D, Some("x"));
        check(Face::D, Face::F, Some("z2"));
        check(Face::U, Face::D, None);
    }
}
