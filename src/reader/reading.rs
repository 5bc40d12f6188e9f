//! What came of a set of photos: the promise made to other programs, as a type.

use super::answer::Heard;
use super::{Colouring, Examination};
use crate::calibration::{Scheme, Unlike};
use crate::colour::Name;
use crate::cube::{Face, Spot};
use crate::diagnose::Stage;
use crate::geometry::{InPhoto, Quad};
use serde::Serialize;

/// How sure a reading is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Outcome {
    /// Every sticker is read, right with a probability of at least [`LEAST_CONFIDENCE`].
    Read,
    /// Some sticker could be another colour.
    Doubtful,
    /// There is no state to speak of.
    Unreadable,
}

/// The least probability that every sticker is right for a reading to be given as read.
pub const LEAST_CONFIDENCE: f64 = 0.99;

/// What came of a set of photos.
#[derive(Clone, Debug)]
pub struct Reading {
    /// The order of the cube; `None` when not even that could be told.
    pub n: Option<usize>,
    /// How sure it is.
    pub outcome: Outcome,
    /// The probability that every sticker is right, 0..=1.
    pub confidence: f64,
    /// The stickers; `None` when unreadable.
    pub faces: Option<Colouring>,
    /// The photos, in the order in which they came.
    pub photos: Vec<PhotoReading>,
    /// The stickers in doubt, the most doubtful first.
    pub doubts: Vec<DoubtfulSticker>,
    /// Whether every sticker is right as its photo shows it, by [`LEAST_CONFIDENCE`], and only how the faces lie around the
    /// cube is in doubt: photos of plain faces do not show it.
    pub is_laying_open: bool,
    /// What is to be said of the cube; `None` when unreadable.
    pub examination: Option<Examination>,
    /// What keeps the photos together from being read, and what to do; `None` if nothing does.
    pub problem: Option<Problem>,
    /// What came of the known cube; `None` if no cube is known.
    pub known: Option<KnownUse>,
    /// Whether the photos are mirrored, as far as the colours tell.
    pub mirroring: Mirroring,
    /// What became of each sticker a person told.
    pub answers: Vec<Heard>,
}

/// Whether all photos are mirrored, as far as the colours tell.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Mirroring {
    /// Nothing points to it.
    #[default]
    None,
    /// The colours lie the other way round than on most cubes: this cube is made so, or the photos are mirrored. It was
    /// read as it looks.
    Possible,
    /// The known cube shows that they are; they were read the right way round.
    Undone,
}

/// What came of knowing a cube when others photos were read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum KnownUse {
    /// The photos needed no help, and may well show that cube.
    NotNeeded,
    /// The known colours settled what the photos left open.
    Helped,
    /// The known colours did not settle it.
    DidNotHelp,
    /// The photos show another cube: the known colours were not used.
    OtherCube(Unlike),
}

impl Reading {
    /// The face that, shown again, would settle most doubts: the one with most stickers in doubt; `None` without any.
    pub fn face_to_show_again(&self) -> Option<Face> {
        let count = |face: Face| {
            let doubts = self.doubts.iter();
            doubts.filter(|doubt| doubt.spot.face == face).count()
        };
        let most = Face::ALL.into_iter().rev().max_by_key(|&face| count(face));
        most.filter(|&face| count(face) > 0)
    }

    /// What a person may look at where only how the faces lie is in doubt, as a clause: how to hold the cube, and what else is
    /// to be seen then if they lie as read.
    ///
    /// On a solved cube the colours of the sides say it. On any other, faces that lie turned or exchanged may make a cube
    /// whose sides have the same colours, so every face is to be compared.
    pub fn laying(&self) -> Option<String> {
        let scheme = self.faces.as_ref()?.scheme().ok();
        let scheme = scheme.filter(|_| self.is_laying_open)?;
        Some(if self.is_solved_anyhow() {
            format!("{}, it is as shown", laying(scheme))
        } else {
            "held so that its top and front look as printed above, its right, left, back and bottom look as printed too, \
             each of them the same way round, it is as shown"
                .to_owned()
        })
    }

    /// Whether the cube is solved, however the faces lie.
    pub fn is_solved_anyhow(&self) -> bool {
        let examination = self.examination.as_ref();
        let is_solved = |found: &Examination| found.diagnosis.stage == Stage::Solved;
        self.is_laying_open && examination.is_some_and(is_solved)
    }

    /// Whether it is certain where the cube stands.
    pub fn is_stage_certain(&self) -> bool {
        self.outcome == Outcome::Read || self.is_solved_anyhow()
    }
}

/// How the faces of a scheme lie, as a clause.
fn laying(scheme: Scheme) -> String {
    let [top, right, front, below, left, behind] = Face::ALL.map(|face| scheme.colour(face));
    format!(
        "with {top} on top and {front} in front, {right} is on the right, {left} on the left, {behind} behind and \
         {below} below"
    )
}

/// What keeps photos from being read.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Problem {
    /// Its kind.
    pub kind: ProblemKind,
    /// What was met and what to do, naming the photos; without a full stop.
    pub text: String,
}

/// The kinds of problem.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
#[non_exhaustive]
pub enum ProblemKind {
    /// No photo shows a face of a cube.
    NoFace,
    /// Too few faces were seen.
    FacesMissing,
    /// A face was seen twice, and another not at all.
    SameFaceTwice,
    /// The photos show cubes of different sizes.
    SizesDiffer,
    /// The photos do not show one cube.
    MixedCubes,
    /// One photo is the mirror image of what it shows.
    MirroredPhoto,
}

/// What came of one photo.
#[derive(Clone, Debug, Serialize)]
pub struct PhotoReading {
    /// Its name, as it came.
    pub path: String,
    /// The faces found in it.
    pub faces: Vec<FaceInPhoto>,
    /// What is wrong with it, and what to do; `None` if nothing is.
    pub problem: Option<String>,
}

/// A face of the cube in a photo.
#[derive(Clone, Debug, Serialize)]
pub struct FaceInPhoto {
    /// Which face it is; `None` when that could not be told.
    pub face: Option<Face>,
    /// Its corners: top left, top right, bottom right, bottom left of the face as its rows are printed, or as
    /// seen in the photo when it is not known which face it is.
    pub corners: Quad<InPhoto>,
}

/// A sticker that could be another colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct DoubtfulSticker {
    /// Where.
    #[serde(flatten)]
    pub spot: Spot,
    /// The colour that was read.
    pub read: Name,
    /// The next most probable colour.
    pub or: Name,
}
