//! Which face to show next: the way round the cube that needs least turning.

use crate::cube::{Axis, Face, Hold, Move, Quarter};
use serde::Serialize;

/// How the person should turn the whole cube so that the next face comes to the camera.
///
/// The person holds the cube between themselves and the camera, so the side at their left hand is the right one
/// as the camera sees it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Turning {
    /// No face has been shown yet: any will do.
    Any,
    /// The one before the camera, as it is.
    Same,
    /// The side at the person's left hand comes to the camera.
    FromLeftHand,
    /// The side at the person's right hand does.
    FromRightHand,
    /// The top does.
    FromTop,
    /// The bottom does.
    FromBottom,
    /// The side that faces the person does.
    FromBehind,
}

impl Turning {
    /// The whole-cube rotation as the camera, looking at face F, sees it.
    pub(super) const fn rotation(self) -> Option<Move> {
        let (axis, quarter) = match self {
            Self::Any | Self::Same => return None,
            Self::FromLeftHand => (Axis::Y, Quarter::Clockwise),
            Self::FromRightHand => (Axis::Y, Quarter::Anticlockwise),
            Self::FromTop => (Axis::X, Quarter::Anticlockwise),
            Self::FromBottom => (Axis::X, Quarter::Clockwise),
            Self::FromBehind => (Axis::Y, Quarter::Half),
        };
        Some(Move::Rotation { axis, quarter })
    }

    /// What to say to the person.
    pub const fn words(self) -> &'static str {
        match self {
            Self::Any => "Show any face to the camera",
            Self::Same => "Show this same face",
            Self::FromLeftHand => "Turn the side at your left hand to the camera",
            Self::FromRightHand => "Turn the side at your right hand to the camera",
            Self::FromTop => "Tip the top towards the camera",
            Self::FromBottom => "Tip the bottom up to the camera",
            Self::FromBehind => "Turn the side facing you to the camera",
        }
    }
}

/// The faces in an order in which each shares an edge with the one before, so that one quarter turn leads to it:
/// five in all, and fewer cannot show six faces.
const WALK: [Face; 6] = [Face::F, Face::R, Face::B, Face::U, Face::L, Face::D];

/// Where the walk is: which faces were shown, and how the cube is held.
///
/// Faces are named by the walk's own start: F is the first one shown. What they really are only the whole cube
/// tells.
#[derive(Clone, Debug)]
pub(super) struct Walk {
    /// Where it brings the walk's faces, as the camera sees them.
    hold: Hold,
    /// The walk's face of every slot, for those thought to be known.
    shown: Vec<(usize, Face, Hold)>,
}

impl Default for Walk {
    fn default() -> Self {
        Self {
            hold: Hold::SAME,
            shown: Vec::new(),
        }
    }
}

impl Walk {
    /// The turning to ask for: the next face of the walk not shown yet, the nearest first.
    pub fn next(&self) -> Turning {
        if self.shown.is_empty() {
            return Turning::Any;
        }
        let is_shown = |face: Face| self.shown.iter().any(|&(_, other, _)| other == face);
        let nearness = |face: Face| match self.hold.brings(face) {
            Face::F => 0,
            Face::B => 2,
            _ => 1,
        };
        let next = WALK
            .into_iter()
            .filter(|&face| !is_shown(face))
            .min_by_key(|&face| nearness(face));
        next.map_or(Turning::Any, |face| towards(self.hold.brings(face)))
    }

    /// A new face was read into a slot: taken for the one asked for, which is only a guess.
    pub fn took(&mut self, slot: usize) {
        if let Some(rotation) = self.next().rotation().and_then(Hold::of_move) {
            self.hold = self.hold.then(rotation);
        }
        let face = self.hold.comes_from(Face::F);
        self.shown.push((slot, face, self.hold));
    }

    /// A face already known is before the camera, turned by `quarters` against the first time: the walk goes on
    /// from there.
    pub fn at(&mut self, slot: usize, quarters: usize) {
        let Some(&(_, _, hold)) = self.shown.iter().find(|&&(other, ..)| other == slot) else {
            return;
        };
        let roll = Move::Rotation {
            axis: Axis::Z,
            quarter: Quarter::Clockwise,
        };
        let roll = Hold::of_move(roll).unwrap_or(Hold::SAME);
        self.hold = (0..quarters % 4).fold(hold, |hold, _| hold.then(roll));
    }

    /// A slot was emptied.
    pub fn dropped(&mut self, slot: usize) {
        self.shown.retain(|&(other, ..)| other != slot);
        for (other, ..) in &mut self.shown {
            *other -= usize::from(*other > slot);
        }
    }

    /// How the person gets from the cube as it is before the camera to the face of a slot.
    pub fn to(&self, slot: usize) -> Turning {
        self.shown
            .iter()
            .find(|&&(other, ..)| other == slot)
            .map_or(Turning::Any, |&(_, face, _)| {
                towards(self.hold.brings(face))
            })
    }

    /// The walk with all six faces known and each in the slot of its number, `front` before the camera with the
    /// face `up` above it.
    pub fn whole(front: Face, up: Face) -> Self {
        let upright = |face: Face| Hold::bringing(side_of(face, 0), face).unwrap_or(Hold::SAME);
        Self {
            hold: Hold::bringing(up, front).unwrap_or(Hold::SAME),
            shown: Face::ALL
                .iter()
                .map(|&face| (face.index(), face, upright(face)))
                .collect(),
        }
    }
}

/// The turning that brings what is on this side, as the camera sees it, to the camera.
const fn towards(side: Face) -> Turning {
    match side {
        Face::R => Turning::FromLeftHand,
        Face::L => Turning::FromRightHand,
        Face::U => Turning::FromTop,
        Face::D => Turning::FromBottom,
        Face::B => Turning::FromBehind,
        Face::F => Turning::Same,
    }
}

/// The face beyond the side that lies on top when `face` is read from its corner `quarters` on.
pub(super) fn side_of(face: Face, quarters: usize) -> Face {
    let [_, down, right] = face.frame();
    let outward = match quarters {
        0 => down.map(|x| -x),
        1 => right,
        2 => down,
        _ => right.map(|x| -x),
    };
    Face::from_normal(outward).unwrap_or(face)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn six_faces_in_five_quarter_turns() {
        let mut walk = Walk::default();
        let mut asked = Vec::new();
        for slot in 0..6 {
            asked.push(walk.next());
            walk.took(slot);
        }
        assert_eq!(
            asked,
            [
                Turning::Any,
                Turning::FromLeftHand,
                Turning::FromLeftHand,
                Turning::FromTop,
                Turning::FromLeftHand,
                Turning::FromLeftHand,
            ]
        );
        let faces: BTreeSet<Face> = walk.shown.iter().map(|&(_, face, _)| face).collect();
        assert_eq!(faces.len(), 6);
    }

    /// After y the right side is in front: the rotation that goes with the words is the regulations' own.
    #[test]
    fn what_is_asked_for_comes_to_the_camera() {
        let check = |turning: Turning, from: Face| {
            let hold = turning.rotation().and_then(Hold::of_move).unwrap();
            assert_eq!(hold.comes_from(Face::F), from, "{turning:?}");
        };
        check(Turning::FromLeftHand, Face::R);
        check(Turning::FromRightHand, Face::L);
        check(Turning::FromTop, Face::U);
        check(Turning::FromBottom, Face::D);
        check(Turning::FromBehind, Face::B);
    }

    #[test]
    fn a_face_shown_again_sets_the_walk_right() {
        let mut walk = Walk::default();
        walk.took(0);
        walk.took(1);
        // Back at the first face, whose left and right neighbours are one quarter turn away, one of them shown.
        walk.at(0, 0);
        assert_eq!(walk.next(), Turning::FromTop);
        assert_eq!(walk.to(1), Turning::FromLeftHand);
        // Upside down, its top is below and the shown side at the other hand.
        walk.at(0, 2);
        assert_eq!(walk.next(), Turning::FromBottom);
        assert_eq!(walk.to(1), Turning::FromRightHand);
    }
}
