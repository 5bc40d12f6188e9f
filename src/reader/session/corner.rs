//! Three faces at a corner, shown after six single ones: they tell how the faces lie around the cube.

use super::blend::best_turn;
use super::track::{LEAST_EVENNESS, LEAST_SURENESS, evenness};
use super::{Certainty, Mood, Outcome, Pieced, Session, Standing};
use crate::diagnose::Stage;
use crate::reader::Examination;
use crate::sight::{SeenFace, SeenPhoto, View};

/// Frames in a row that must show a corner: one that is still moving is blurred.
const STEADY: usize = 3;

/// Frames without one after which the next is a showing of its own.
const GONE: usize = 10;

/// Corners shown of one cube.
#[derive(Clone, Debug, Default)]
pub(super) struct Corners {
    /// The first one and the newest.
    pub taken: Vec<View>,
    in_a_row: usize,
    without: usize,
    is_dealt_with: bool,
}

impl Corners {
    /// Takes in what a frame shows of a corner; whether a corner was taken now.
    fn see(&mut self, corner: Option<&View>) -> bool {
        let Some(corner) = corner else {
            self.in_a_row = 0;
            self.without += 1;
            self.is_dealt_with &= self.without < GONE;
            return false;
        };
        self.without = 0;
        self.in_a_row += 1;
        if self.is_dealt_with || self.in_a_row < STEADY {
            return false;
        }
        self.is_dealt_with = true;
        self.taken.truncate(1);
        self.taken.push(corner.clone());
        true
    }
}

/// A view of three whole faces of this order that meet.
fn corner_in(seen: &SeenPhoto, n: usize) -> Option<&View> {
    seen.views.iter().find(|view| {
        let is_clear = |face: &SeenFace| {
            face.n == n && face.sureness >= LEAST_SURENESS && evenness(face) >= LEAST_EVENNESS
        };
        view.faces.len() == 3 && view.joins.len() >= 2 && view.faces.iter().all(is_clear)
    })
}

impl Session {
    /// Whether frames are to be searched for three faces at once: they would tell more than one face, or the corner that told it
    /// is still held up.
    pub fn wants_corner(&self) -> bool {
        self.corners.is_dealt_with || self.is_laying_open()
    }

    /// Whether every sticker is known, but not how the faces lie, and that makes a difference.
    pub(super) fn is_laying_open(&self) -> bool {
        let is_open = |pieced: &Pieced| pieced.certainty == Certainty::FacesOnly;
        let is_solved = |found: &Examination| found.diagnosis.stage == Stage::Solved;
        let Standing::Answered(answer) = &self.standing else {
            return false;
        };
        !answer.is_followed
            && answer.done == 0
            && self.pieced.as_ref().is_some_and(is_open)
            && !self.examination.as_ref().is_some_and(is_solved)
    }

    /// Looks for a corner where one is wanted; whether the frame shows one. A corner is not followed as a face is: what was
    /// said of it would be gone before it is read.
    pub(super) fn see_corner(&mut self, seen: &SeenPhoto) -> bool {
        let Some(n) = self.n().filter(|_| self.wants_corner()) else {
            return false;
        };
        let corner = corner_in(seen, n);
        if self.corners.see(corner) {
            if corner.is_some_and(|corner| self.has_faces_of(corner)) {
                self.hand_out(false);
            } else {
                self.refuse_corner();
            }
        }
        self.corners.in_a_row > 0 || self.corners.is_dealt_with
    }

    /// Takes back what the faces make together with the corners shown.
    pub(super) fn laid(&mut self, outcome: Outcome) {
        match outcome {
            Ok(pieced) if pieced.certainty != Certainty::Doubtful => {
                let is_open = pieced.certainty == Certainty::FacesOnly;
                self.place_slots(&pieced);
                self.pieced = Some(pieced);
                self.check();
                if !is_open {
                    let words = format!("Now I know how the faces lie. {}", self.say.words);
                    self.say(Mood::Answer, &words, None);
                } else if self.corners.taken.len() < 2 {
                    let words = "One corner is not enough for this cube. Show the opposite corner the same way";
                    self.say(Mood::Ask, words, None);
                }
            }
            _ => self.refuse_corner(),
        }
    }

    /// Whether three of the faces held look like those of a corner: once a layer was turned, some do not.
    fn has_faces_of(&self, corner: &View) -> bool {
        let like = |face: &SeenFace| {
            let mut held = self.slots.iter();
            held.any(|slot| best_turn(&slot.face, face).1.is_same())
        };
        corner.faces.iter().all(like)
    }

    fn refuse_corner(&mut self) {
        self.corners.taken.clear();
        let words = "This corner does not fit the six faces. Hold it still and show it once more; if a layer was turned \
             meanwhile, press Next cube (N) and show all faces anew";
        self.say(Mood::Doubt, words, None);
    }
}
