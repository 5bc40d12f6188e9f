//! The live session: what each frame shows goes in, what is to be shown and said comes out.
//!
//! It has no clock (time comes with the frame), no threads and no files.
//! Piecing six faces together takes longer than a frame lasts, so it is handed out as a [`Job`] and its result
//! handed back; whoever drives the session decides on which thread.

mod blend;
mod corner;
mod follow;
mod following;
mod order;
mod piecing;
mod plan;
mod scene;
mod taking;
#[cfg(test)]
pub(crate) mod testing;
#[cfg(test)]
mod tests;
mod track;

pub use follow::{Progress, Slip};
pub use order::Turning;
pub use plan::Shown;
pub use scene::{Cell, Glimpse, Held, Lattice, Mood, PlanShown, Scene};

use super::{Colouring, Examination};
use crate::calibration::Scheme;
use crate::colour::Name;
use crate::cube::{Face, Spot, State};
use crate::sight::{SeenFace, SeenPhoto, View};
use blend::{turned, turned_place};
use corner::Corners;
use follow::Follow;
use order::Walk;
use plan::Plan;
use std::collections::BTreeMap;
use std::time::Duration;
use track::{MOST_LOOKS, Watch, Watched};

/// Six faces pieced together to one cube.
#[derive(Clone, Debug)]
pub struct Pieced {
    /// The colours of all stickers.
    pub colouring: Colouring,
    /// The colour of each face.
    pub scheme: Scheme,
    /// For each of the six looks: which face it is, and the corner it is to be read from.
    pub places: [(Face, usize); 6],
    /// The probability that every sticker is right.
    pub confidence: f64,
    /// The stickers in doubt, each with the next most probable colour.
    pub doubts: Vec<(Spot, Name)>,
    /// Whether it can be told as an answer.
    pub certainty: Certainty,
    /// Whether it is another cube than the known one.
    pub is_another: bool,
    /// Whether its colours lie as in a mirror, which pictures the camera mirrors would show.
    pub may_be_mirrored: bool,
}

/// How certain it is what six faces make.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Certainty {
    /// Certain enough to be told as an answer.
    Certain,
    /// So is every sticker, but not how the faces lie around the cube.
    FacesOnly,
    /// Some sticker may be another colour.
    Doubtful,
}

/// Six faces to be pieced together.
#[derive(Clone, Debug)]
pub struct Job {
    number: u64,
    /// The faces, each the blend of several looks.
    pub faces: Vec<SeenFace>,
    /// Corners of the cube besides, each a view of three faces.
    pub corners: Vec<View>,
}

/// What became of a job: a cube, or why these faces make none.
pub type Outcome = Result<Pieced, Unmade>;

/// Why six faces make no cube.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Unmade {
    /// These of them, by their numbers from 0, seem to be faces shown before.
    ShownTwice(Vec<usize>),
    /// They fit no cube.
    NoCube,
}

/// One face held.
#[derive(Clone, Debug)]
struct Slot {
    face: SeenFace,
    showing: u64,
    /// Colours set by hand, by row · n + col.
    fixed: BTreeMap<usize, Name>,
}

impl Slot {
    const fn new(face: SeenFace, showing: u64) -> Self {
        Self {
            face,
            showing,
            fixed: BTreeMap::new(),
        }
    }

    /// The same face read from another corner on.
    fn turned(&self, quarters: usize) -> Self {
        let n = self.face.n;
        let fixed = (0..n * n)
            .filter_map(|place| {
                let colour = self.fixed.get(&turned_place(place, n, quarters))?;
                Some((place, *colour))
            })
            .collect();
        Self {
            face: turned(&self.face, quarters),
            showing: self.showing,
            fixed,
        }
    }
}

/// A cube that has been read.
#[derive(Clone, Debug)]
struct Answer {
    state: State,
    plan: Option<Plan>,
    follow: Option<Follow>,
    /// How many moves of the plan are known to be done.
    done: usize,
    /// Whether it was turned there from what the faces held show.
    is_followed: bool,
}

/// How far the reading has come.
#[derive(Clone, Debug)]
enum Standing {
    /// Faces are missing.
    Collecting,
    /// Six are in, and being pieced together.
    Piecing,
    /// Pieced together, but not certain.
    Doubtful,
    /// These six make no cube.
    Unmade,
    /// Read.
    Answered(Box<Answer>),
}

/// How the session goes about its work.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Mode {
    /// One learner: after the answer it is followed along.
    #[default]
    Learner,
    /// A teacher's table: after the answer the cube is taken away and the next one comes.
    Table,
}

/// What was found out about a cube, for a list of cubes.
#[derive(Clone, Debug)]
pub struct Finding {
    /// The number of the cube, from 0.
    pub cube: u64,
    /// Its order.
    pub n: usize,
    /// Everything said about it.
    pub examination: Examination,
    /// Whether it is certain; if not, it holds if the faces lie as read.
    pub is_certain: bool,
}

impl Finding {
    /// The stage of the reduction, as printed for machines.
    pub fn stage(&self) -> String {
        let stage = serde_json::to_value(self.examination.diagnosis.stage);
        stage
            .ok()
            .and_then(|word| word.as_str().map(str::to_owned))
            .unwrap_or_default()
    }

    /// The name of the case, empty if it is none.
    pub fn case(&self) -> String {
        let case = self.examination.diagnosis.case.as_ref();
        case.map(|case| case.title.clone()).unwrap_or_default()
    }

    /// One sentence.
    pub fn text(&self) -> String {
        let sentence = self.examination.sentence();
        if self.is_certain {
            sentence
        } else {
            format!("If its faces lie as read, which single faces do not show: {sentence}")
        }
    }
}

/// How long the table must be empty before the next cube is expected.
const EMPTY_TABLE: Duration = Duration::from_millis(1500);

/// A live reading of one cube after another.
#[derive(Clone, Debug)]
pub struct Session {
    mode: Mode,
    watch: Watch,
    slots: Vec<Slot>,
    walk: Walk,
    standing: Standing,
    pieced: Option<Pieced>,
    examination: Option<Examination>,
    finding: Option<Finding>,
    /// The showing last dealt with, so that a face held still is dealt with once.
    dealt_with: u64,
    /// How many looks of it there were then.
    dealt_looks: usize,
    /// The last face that was taken for one already held, in case it is another that looks alike.
    look_alike: Option<SeenFace>,
    /// Whether the person said that such a face is another one.
    has_look_alikes: bool,
    /// The last face of another order than the rest.
    stray: Option<SeenFace>,
    /// Corners shown to tell how the faces lie.
    corners: Corners,
    job: Option<Job>,
    jobs: u64,
    /// The number of the cube, from 0.
    cube: u64,
    say: Saying,
    at: Duration,
    size_px: (u32, u32),
}

/// What to tell the person, and how it is meant.
#[derive(Clone, Debug)]
struct Saying {
    words: String,
    mood: Mood,
    turning: Option<Turning>,
}

impl Session {
    /// A session that has seen nothing.
    pub fn new(mode: Mode) -> Self {
        let mut session = Self {
            mode,
            watch: Watch::default(),
            slots: Vec::new(),
            walk: Walk::default(),
            standing: Standing::Collecting,
            pieced: None,
            examination: None,
            finding: None,
            dealt_with: 0,
            dealt_looks: 0,
            look_alike: None,
            has_look_alikes: false,
            stray: None,
            corners: Corners::default(),
            job: None,
            jobs: 0,
            cube: 0,
            say: Saying {
                words: String::new(),
                mood: Mood::Ask,
                turning: None,
            },
            at: Duration::ZERO,
            size_px: (0, 0),
        };
        session.ask_next("");
        session
    }

    /// Takes in what a frame shows, `size_px` columns and rows.
    pub fn see(&mut self, at: Duration, size_px: (u32, u32), seen: &SeenPhoto) {
        self.at = at;
        self.size_px = size_px;
        if self.see_corner(seen) {
            return;
        }
        match self.watch.see(at, seen, self.n()) {
            Watched::Nothing => self.see_nothing(),
            Watched::Face => {}
            Watched::Read => {
                let Some(track) = self.watch.track() else {
                    return;
                };
                // While there is doubt, a face held on goes on giving evidence.
                let is_doubtful = matches!(self.standing, Standing::Doubtful | Standing::Unmade);
                let is_more = is_doubtful && track.count >= self.dealt_looks + MOST_LOOKS;
                if track.showing != self.dealt_with || is_more {
                    self.dealt_with = track.showing;
                    self.dealt_looks = track.count;
                    let (face, showing) = (track.whole(), track.showing);
                    self.take(face, showing);
                }
            }
        }
    }

    /// What to say at this moment: what came last, unless the face in sight cannot be read as it is held.
    fn said(&self) -> Saying {
        let is_waiting = matches!(
            self.standing,
            Standing::Collecting | Standing::Doubtful | Standing::Unmade
        );
        if is_waiting && self.watch.is_unclear(self.at) {
            return Saying {
                words: "I see a face, but not clearly. Hold it still, near the camera, and out of the glare"
                    .to_owned(),
                mood: Mood::Ask,
                turning: Some(Turning::Same),
            };
        }
        self.say.clone()
    }

    /// The faces to be pieced together, if there is something to do; a job handed out earlier is then obsolete.
    pub const fn job(&mut self) -> Option<Job> {
        self.job.take()
    }

    /// What was found out about a cube since this was last asked.
    pub const fn finding(&mut self) -> Option<Finding> {
        self.finding.take()
    }

    /// Forgets the cube and begins with the next.
    pub fn start_over(&mut self) {
        let fresh = Self::new(self.mode);
        *self = Self {
            watch: std::mem::take(&mut self.watch),
            dealt_with: self.dealt_with,
            dealt_looks: self.dealt_looks,
            jobs: self.jobs + 1,
            cube: self.cube + 1,
            at: self.at,
            size_px: self.size_px,
            ..fresh
        };
    }

    /// Forgets the face in a slot, to be shown again.
    pub fn drop_face(&mut self, slot: usize) {
        if slot >= self.slots.len() || matches!(self.standing, Standing::Answered(_)) {
            return;
        }
        self.slots.remove(slot);
        self.walk.dropped(slot);
        self.unpiece();
        self.ask_next("Forgotten. ");
    }

    /// Takes the face last said to be held already for another one that looks the same.
    pub fn add_look_alike(&mut self) {
        if let Some(face) = self.look_alike.take()
            && self.slots.len() < 6
        {
            self.has_look_alikes = true;
            self.add(face, self.dealt_with);
        }
    }

    /// Sets a sticker by hand, or with `None` gives it back to what was seen.
    pub fn correct(&mut self, slot: usize, place: usize, colour: Option<Name>) {
        let Some(held) = self.slots.get_mut(slot) else {
            return;
        };
        if place >= held.face.patches.len() {
            return;
        }
        match colour {
            Some(colour) => held.fixed.insert(place, colour),
            None => held.fixed.remove(&place),
        };
        if self.pieced.is_some() {
            self.check();
        }
    }

    /// Whether any face is held.
    pub const fn has_faces(&self) -> bool {
        !self.slots.is_empty()
    }

    /// The order of the cube, once a face is held.
    fn n(&self) -> Option<usize> {
        self.slots.first().map(|slot| slot.face.n)
    }

    fn see_nothing(&mut self) {
        let is_done = matches!(self.standing, Standing::Answered(_));
        if self.mode == Mode::Table && is_done && self.watch.absent(self.at) >= EMPTY_TABLE {
            self.start_over();
        }
    }
}
