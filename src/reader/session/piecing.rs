//! Six faces to one cube: the answer if it is certain, or which face to show again.

use super::corner::Corners;
use super::follow::{Follow, Palette};
use super::order::{Walk, side_of};
use super::plan::Plan;
use super::{
    Answer, Certainty, Finding, Job, Mood, Outcome, Pieced, Session, Slot, Standing, Unmade,
};
use crate::calibration::Calibration;
use crate::colour::{Linear, Name};
use crate::cube::{Face, Spot, State, counted};
use crate::diagnose::Stage;
use crate::reader::likeness::alike;
use crate::reader::{
    self, Colouring, Examination, KnownUse, Mirroring, ProblemKind, Reading, Shown, examine, read,
};
use crate::sight::{SeenFace, SeenPhoto, Trace, View};

impl Job {
    /// Pieces the faces together. This takes longer than a frame lasts.
    ///
    /// # Errors
    ///
    /// If they make no cube.
    pub fn run(&self, calibration: &Calibration) -> Outcome {
        let single = |face: &SeenFace| View {
            faces: vec![face.clone()],
            joins: Vec::new(),
        };
        let views = self.faces.iter().map(single).chain(self.corners.clone());
        let photos: Vec<SeenPhoto> = views.map(|view| SeenPhoto { views: vec![view] }).collect();
        let shown: Vec<Shown> = photos
            .iter()
            .map(|photo| Shown {
                path: "a face",
                photo,
            })
            .collect();
        let reading = read(calibration, &mut Trace::default(), &shown);
        outcome_of(reading, &photos, &self.faces)
    }
}

/// A reading of one photo a face, and perhaps of corners after them, as the session needs it.
fn outcome_of(reading: Reading, photos: &[SeenPhoto], faces: &[SeenFace]) -> Outcome {
    let Some(colouring) = reading.faces else {
        let kind = reading.problem.map(|problem| problem.kind);
        return Err(match kind {
            Some(ProblemKind::SameFaceTwice) => {
                let twice = alike(photos);
                Unmade::ShownTwice(twice.iter().map(|pair| pair.again).collect())
            }
            _ => Unmade::NoCube,
        });
    };
    let scheme = colouring.scheme().ok().ok_or(Unmade::NoCube)?;
    let places: Option<Vec<(Face, usize)>> = reading
        .photos
        .iter()
        .zip(faces)
        .map(|(photo, seen)| {
            let found = photo.faces.first()?;
            let first = found.corners.0[0];
            let corner = (0..4).min_by(|&a, &b| {
                let distance = |k: usize| seen.corners_in_photo.0[k].distance(first);
                distance(a).total_cmp(&distance(b))
            })?;
            Some((found.face?, corner))
        })
        .collect();
    let places = places
        .and_then(|places| places.try_into().ok())
        .ok_or(Unmade::NoCube)?;
    let certainty = match reading.outcome {
        reader::Outcome::Read => Certainty::Certain,
        _ if reading.is_laying_open => Certainty::FacesOnly,
        _ => Certainty::Doubtful,
    };
    Ok(Pieced {
        colouring,
        scheme,
        places,
        confidence: reading.confidence,
        doubts: reading
            .doubts
            .iter()
            .map(|doubt| (doubt.spot, doubt.or))
            .collect(),
        certainty,
        is_another: matches!(reading.known, Some(KnownUse::OtherCube(_))),
        may_be_mirrored: reading.mirroring == Mirroring::Possible,
    })
}

impl Session {
    pub(super) fn unpiece(&mut self) {
        self.standing = Standing::Collecting;
        self.corners = Corners::default();
        self.pieced = None;
        self.examination = None;
    }

    pub(super) fn piece(&mut self) {
        self.unpiece();
        self.standing = Standing::Piecing;
        self.hand_out(false);
        self.say(Mood::Work, "I have all six faces", None);
    }

    /// Hands out the faces to be pieced together, with the look-alike for the sixth if `with_look_alike`.
    pub(super) fn hand_out(&mut self, with_look_alike: bool) {
        let alike = self.look_alike.iter().filter(|_| with_look_alike).cloned();
        let held = self.slots.iter().map(|slot| slot.face.clone());
        self.jobs += 1;
        self.job = Some(Job {
            number: self.jobs,
            faces: held.chain(alike).collect(),
            corners: self.corners.taken.clone(),
        });
    }

    /// Takes back the outcome of a job.
    pub fn pieced(&mut self, job: &Job, outcome: Outcome) {
        if job.number != self.jobs {
            return;
        }
        if !job.corners.is_empty() {
            self.laid(outcome);
            return;
        }
        if self.slots.len() == 5 {
            // It was tried whether a face that looks like a held one is the sixth.
            // If not, the person may still say that it is.
            let is_it = matches!(&outcome, Ok(pieced) if pieced.certainty == Certainty::Certain);
            match self.look_alike.take_if(|_| is_it) {
                Some(face) => self.slots.push(Slot::new(face, self.dealt_with)),
                None => return,
            }
        }
        match outcome {
            Ok(pieced) => {
                self.place_slots(&pieced);
                self.pieced = Some(pieced);
                self.check();
            }
            Err(Unmade::ShownTwice(again)) if !again.is_empty() && !self.has_look_alikes => {
                self.forget_repeats(again);
            }
            Err(_) => {
                let turning = self.walk.to(self.dimmest());
                let words = format!(
                    "These six faces do not make one cube. {} once more; if a layer was turned meanwhile, \
                     press Next cube (N) and show all six anew",
                    turning.words()
                );
                self.say(Mood::Doubt, &words, Some(turning));
                self.standing = Standing::Unmade;
            }
        }
    }

    /// Forgets faces that were shown before, so that the missing ones need only be shown.
    fn forget_repeats(&mut self, mut again: Vec<usize>) {
        again.sort_unstable();
        again.dedup();
        for slot in again.into_iter().rev() {
            if slot < self.slots.len() {
                self.slots.remove(slot);
                self.walk.dropped(slot);
            }
        }
        self.look_alike = None;
        self.unpiece();
        // No turning is asked for: what was shown twice was not what had been asked for either.
        let words = format!(
            "So far I have seen only {} different faces. Turn the cube to one that is not on this page yet",
            counted(self.slots.len())
        );
        self.say(Mood::Doubt, &words, None);
    }

    /// Puts the slots into the order of the faces, read from their own top left corners.
    pub(super) fn place_slots(&mut self, pieced: &Pieced) {
        let mut placed: Vec<(Face, Slot)> = self
            .slots
            .iter()
            .zip(pieced.places)
            .map(|(slot, (face, corner))| (face, slot.turned(corner)))
            .collect();
        placed.sort_by_key(|&(face, _)| face.index());
        let newest = (0..self.slots.len()).max_by_key(|&slot| self.slots[slot].showing);
        let (front, corner) = newest.map_or((Face::F, 0), |slot| pieced.places[slot]);
        self.slots = placed.into_iter().map(|(_, slot)| slot).collect();
        self.walk = Walk::whole(front, side_of(front, 4 - corner % 4));
    }

    /// The held face with the most highlight and unevenness: the likeliest to have been misread.
    fn dimmest(&self) -> usize {
        let badness = |slot: &Slot| {
            let patches = slot.face.patches.iter();
            patches
                .map(|patch| patch.glare + 1.0 - patch.evenness)
                .sum::<f32>()
        };
        (0..self.slots.len())
            .max_by(|&a, &b| badness(&self.slots[a]).total_cmp(&badness(&self.slots[b])))
            .unwrap_or(0)
    }

    /// The colours of all stickers, those set by hand in their places.
    pub(super) fn colouring(&self) -> Option<Colouring> {
        let pieced = self.pieced.as_ref()?;
        let n = pieced.colouring.n();
        let mut stickers = pieced.colouring.stickers().to_vec();
        for (slot, held) in self.slots.iter().enumerate() {
            for (place, colour) in &held.fixed {
                stickers[slot * n * n + place] = Some(*colour);
            }
        }
        Colouring::new(n, stickers)
    }

    /// The colour a sticker might be instead.
    pub(super) fn doubt_at(&self, spot: Spot) -> Option<Name> {
        let pieced = self.pieced.as_ref()?;
        let found = pieced.doubts.iter().find(|(doubt, _)| *doubt == spot);
        found.map(|&(_, or)| or)
    }

    /// Checks the whole cube: says what it is if it is certain, or what is not.
    pub(super) fn check(&mut self) {
        let (Some(pieced), Some(colouring)) = (&self.pieced, self.colouring()) else {
            return;
        };
        let scheme = pieced.scheme;
        let Some(state) = colouring.state(scheme) else {
            self.say(
                Mood::Doubt,
                "One of the stickers has a colour that no face of this cube has",
                None,
            );
            return;
        };
        let is_fixed = |spot: &Spot| {
            let place = spot.row * colouring.n() + spot.col;
            self.slots[spot.face.index()].fixed.contains_key(&place)
        };
        let open: Vec<Spot> = pieced
            .doubts
            .iter()
            .map(|&(spot, _)| spot)
            .filter(|spot| !is_fixed(spot))
            .collect();
        let is_settled = pieced.certainty != Certainty::Doubtful
            || (open.is_empty() && !pieced.doubts.is_empty());
        let examination = examine(&state, scheme);
        self.examination = Some(examination.clone());
        if is_settled {
            self.answer(state, examination);
        } else {
            self.standing = Standing::Doubtful;
            self.ask_again(&open);
        }
    }

    /// Asks for the face with the most stickers in doubt.
    fn ask_again(&mut self, open: &[Spot]) {
        let count = |face: Face| open.iter().filter(|spot| spot.face == face).count();
        let worst = Face::ALL
            .into_iter()
            .max_by_key(|&face| count(face))
            .filter(|&face| count(face) > 0)
            .map_or_else(|| self.dimmest(), Face::index);
        let (what, by_hand) = match open.len() {
            0 => ("this cube".to_owned(), ""),
            1 => (
                "one sticker".to_owned(),
                ", or set the marked sticker by hand",
            ),
            many => (
                format!("{} stickers", counted(many)),
                ", or set the marked stickers by hand",
            ),
        };
        let turning = self.walk.to(worst);
        let words = format!(
            "I am not certain of {what}. {} once more, without glare{by_hand}",
            turning.words()
        );
        self.say(Mood::Doubt, &words, Some(turning));
    }

    fn answer(&mut self, state: State, examination: Examination) {
        /// The sides may have the right colours and yet the faces be turned: all are to be compared.
        const AS_DRAWN: &str = "If all six faces are as drawn here and the same way round";
        let mut sentence = examination.sentence();
        let is_open = |pieced: &&Pieced| pieced.certainty == Certainty::FacesOnly;
        let open = self.pieced.as_ref().filter(is_open);
        let is_certain = open.is_none() || examination.diagnosis.stage == Stage::Solved;
        if !is_certain {
            // A condition that the person can see for himself.
            sentence = format!("{AS_DRAWN}: {sentence}");
        }
        if self.pieced.as_ref().is_some_and(|pieced| pieced.is_another) {
            sentence.push_str(" By its colours this is another cube than the one in your file.");
        }
        let advice = examination.advice.as_ref();
        let plan = advice.map(|advice| Plan::of(&state, advice));
        let palette = self.looks(&state);
        let follow = plan
            .as_ref()
            .map(|plan| Follow::new(&plan.states[0], &plan.moves, palette));
        self.say(Mood::Answer, &sentence, None);
        self.finding = Some(Finding {
            cube: self.cube,
            n: state.n(),
            examination,
            is_certain,
        });
        self.standing = Standing::Answered(Box::new(Answer {
            state,
            plan,
            follow,
            done: 0,
            is_followed: false,
        }));
    }

    /// What the stickers of each face look like on this cube: the mean of all that were seen.
    fn looks(&self, state: &State) -> Palette {
        let n = state.n();
        let mut sums = [(Linear::new(0.0, 0.0, 0.0), 0.0_f32); 6];
        for (slot, held) in self.slots.iter().enumerate() {
            for (place, patch) in held.face.patches.iter().enumerate() {
                let weight = (1.0 - patch.glare).max(0.01) * patch.evenness.max(0.01);
                let home = state.at(slot * n * n + place).index();
                sums[home].0 += patch.linear * weight;
                sums[home].1 += weight;
            }
        }
        sums.map(|(sum, weight)| sum / weight.max(f32::EPSILON))
    }
}
