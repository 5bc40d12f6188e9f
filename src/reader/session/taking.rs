//! What becomes of a face that has been read: a new one, one already held, a better look, or a stranger.

use super::blend::{best_turn, blend, in_light_of, turned};
use super::order::Walk;
use super::{Mode, Mood, Saying, Session, Slot, Standing, Turning};
use crate::sight::SeenFace;

/// The share of stickers that may differ between two looks taken for one face misread.
pub(super) const REREAD_SHARE: f32 = 0.34;

impl Session {
    /// A face has been read.
    pub(super) fn take(&mut self, face: SeenFace, showing: u64) {
        if let Some(n) = self.n()
            && face.n != n
        {
            self.other_order(face, showing, n);
            return;
        }
        if let Standing::Answered(answer) = &mut self.standing {
            if let Some(follow) = &mut answer.follow {
                let found = follow.see(&face);
                self.followed(found, face, showing);
            }
            return;
        }
        let likeness = self.slots.iter().enumerate().map(|(slot, held)| {
            let (quarters, found) = best_turn(&held.face, &face);
            (slot, quarters, found)
        });
        let nearest = likeness.min_by(|a, b| a.2.differing.total_cmp(&b.2.differing));
        match nearest {
            Some((slot, quarters, found)) if found.is_same() => {
                self.known(slot, &turned(&face, quarters), quarters, showing);
            }
            Some((slot, quarters, found)) if self.slots.len() == 6 => {
                if found.differing <= REREAD_SHARE {
                    // The same face with some stickers read differently: the newer look counts.
                    self.walk.at(slot, quarters);
                    self.slots[slot] = Slot::new(turned(&face, quarters), showing);
                    self.piece();
                } else {
                    self.say(
                        Mood::Doubt,
                        "This is a seventh face: a layer was turned, or it is another cube. Press Next cube (N) and show all six anew",
                        None,
                    );
                }
            }
            _ => self.add(face, showing),
        }
    }

    pub(super) fn add(&mut self, face: SeenFace, showing: u64) {
        self.walk.took(self.slots.len());
        self.slots.push(Slot::new(face, showing));
        if self.slots.len() == 6 {
            self.piece();
        } else {
            if self.slots.len() == 5 && self.look_alike.is_some() {
                self.hand_out(true);
            }
            self.ask_next("Got it. ");
        }
    }

    /// A face already held is shown again, read from the same corner on.
    fn known(&mut self, slot: usize, face: &SeenFace, quarters: usize, showing: u64) {
        self.walk.at(slot, quarters);
        let held = &mut self.slots[slot];
        let is_new = held.showing != showing;
        held.showing = showing;
        held.face = blend(&[in_light_of(face, &held.face), held.face.clone()]);
        if self.slots.len() == 6 {
            self.piece();
        } else if is_new {
            self.look_alike = Some(turned(face, 4 - quarters % 4));
            if self.slots.len() == 5 {
                // Perhaps it is the sixth, and only looks like one of the others: piecing together will tell.
                self.hand_out(true);
            }
            self.ask_next("I have this face already. ");
        }
    }

    fn other_order(&mut self, face: SeenFace, showing: u64, n: usize) {
        let other = face.n;
        if self.slots.len() == 1 {
            // One face is no evidence against another: the newer one counts.
            self.slots.clear();
            self.walk = Walk::default();
            self.walk.took(0);
            self.slots.push(Slot::new(face, showing));
            self.ask_next(&format!("This is a {other} by {other} cube. "));
        } else if self.mode == Mode::Table
            && self.stray.as_ref().is_some_and(|stray| stray.n == other)
        {
            // The second face of another size: the cube before was taken away unfinished, and this is the next.
            let stray = self.stray.take();
            self.start_over();
            for face in stray.into_iter().chain([face]) {
                self.take(face, showing);
            }
        } else {
            self.stray = Some(face);
            self.say(
                Mood::Doubt,
                &format!(
                    "This face has {other} by {other} stickers, the others have {n} by {n}. If it is another cube, press Next cube (N)"
                ),
                None,
            );
        }
    }

    pub(super) fn ask_next(&mut self, before: &str) {
        let turning = self.walk.next();
        let words = format!("{before}{}", turning.words());
        self.say(Mood::Ask, &words, Some(turning));
    }

    pub(super) fn say(&mut self, mood: Mood, words: &str, turning: Option<Turning>) {
        self.say = Saying {
            words: words.to_owned(),
            mood,
            turning,
        };
    }
}
