//! What the page shows, as plain data.

use super::plan::{Shown, shown};
use super::{Mode, Session, Standing, Turning};
use crate::colour::{Lab, Linear, Name};
use crate::cube::{Face, Spot};
use crate::explain::{GuidancePart, letter, paint};
use crate::reader::Examination;
use crate::sight::{Patch, SeenFace};
use palette::{IntoColor, Srgb};
use serde::Serialize;

/// How a sentence is meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Mood {
    /// Something is asked of the person.
    Ask,
    /// Something is being worked out.
    Work,
    /// Something is not certain.
    Doubt,
    /// An answer.
    Answer,
}

/// What changes with every frame.
#[derive(Clone, Debug, Serialize)]
pub struct Glimpse {
    /// When the frame was taken, milliseconds from the start of the stream.
    pub at_ms: f64,
    /// Columns and rows of the frame.
    pub size_px: (u32, u32),
    /// The face being watched, while it is in sight.
    pub lattice: Option<Lattice>,
}

/// A face in the frame.
#[derive(Clone, Debug, Serialize)]
pub struct Lattice {
    /// Stickers along a side.
    pub n: usize,
    /// Its corners in pixels of the frame, clockwise.
    pub corners: [[f64; 2]; 4],
    /// The colours read, row by row, as `#rrggbb`.
    pub fills: Vec<String>,
    /// How many of the looks needed there are, 0..=1.
    pub progress: f64,
}

/// What stays until something happens.
#[derive(Clone, Debug, Serialize)]
pub struct Scene {
    /// The number of the cube, from 0.
    pub cube: u64,
    /// Whether cubes are read one after another.
    pub table: bool,
    /// The one thing to say.
    pub say: String,
    /// How it is meant.
    pub mood: Mood,
    /// The turning it asks for.
    pub turning: Option<Turning>,
    /// How far the reading has come: collecting, piecing, doubtful, unmade or answered.
    pub standing: &'static str,
    /// Stickers along a side, once known.
    pub n: Option<usize>,
    /// The faces held: in the order shown, or once pieced together U R F D L B.
    pub faces: Vec<Held>,
    /// The colours to choose from when a sticker is corrected.
    pub palette: Vec<Cell>,
    /// Everything said about the cube.
    pub examination: Option<Examination>,
    /// What to do next.
    pub plan: Option<PlanShown>,
    /// What all of it rests upon though it cannot be seen.
    pub caution: Option<String>,
}

/// Nothing but the way round of its colours tells a cube from its mirror image.
const MAY_BE_MIRRORED: &str = "The colours go round the corners the other way than on most cubes. Either this cube is \
    made so, or the camera mirrors its pictures, and then every turn told here is the wrong way round. Hold up some \
    writing: with Mirror switched off here it must be readable, else switch mirroring off in the camera's settings.";

/// How to go on where the faces do not lie as the answer takes it.
const NOT_AS_DRAWN: &str = "Is it not as drawn? Hold a corner of the cube to the camera, so that I see three faces at once.";

/// A face held.
#[derive(Clone, Debug, Serialize)]
pub struct Held {
    /// Its letter, once all six are pieced together.
    pub face: Option<Face>,
    /// Its stickers, row by row.
    pub cells: Vec<Cell>,
}

/// A sticker as shown.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Cell {
    /// The colour word.
    pub colour: Name,
    /// Its letter.
    pub letter: char,
    /// As `#rrggbb`: as seen, or once it is known, the paint of the colour word.
    pub fill: String,
    /// The colour of the letter on it.
    pub ink: String,
    /// Set by hand.
    pub fixed: bool,
    /// The colour it might be instead, if it is in doubt.
    pub or: Option<Name>,
    /// Whether it belongs to a piece that cannot be where it is.
    pub fault: bool,
}

/// Advice as the page shows it.
#[derive(Clone, Debug, Serialize)]
pub struct PlanShown {
    /// What it is for.
    pub aim: String,
    /// The rotations to the hold.
    pub hold: Vec<Shown>,
    /// The moves.
    pub moves: Vec<Shown>,
    /// What the moves do part by part, where they have parts.
    pub parts: Vec<GuidancePart>,
    /// What holds after the moves, as a sentence.
    pub outcome: String,
    /// All stickers in the hold before the first move and after each, as letters of the faces they belong to.
    pub states: Vec<String>,
    /// How many of the moves are known to be done.
    pub done: usize,
}

fn hex([red, green, blue]: [u8; 3]) -> String {
    format!("#{red:02x}{green:02x}{blue:02x}")
}

/// What a patch looks like on a screen.
fn fill_of(patch: &Patch) -> [u8; 3] {
    let light = patch.linear;
    let [red, green, blue] =
        [light.red, light.green, light.blue].map(|value| value.clamp(0.0, 1.0));
    Srgb::<u8>::from_linear(Linear::new(red, green, blue)).into()
}

/// The colour word nearest to a patch: only for showing, before the whole cube tells what its colours are.
///
/// Shade changes lightness, glare colourfulness, and both change hue least. They make the usual six look like the words
/// that few cubes have, so these have to be nearer by far; and what is clearly coloured is not called white. Measured over
/// frames made from 24 sets of photographs: 93 letters of 100 are right, 83 by plain distance.
fn nearest(patch: &Patch) -> Name {
    /// The most colourfulness (CIELAB) of what may still be white, grey or black.
    const MOST_OF_NEUTRAL: f32 = 22.0;
    let handicap = |name: Name| match name {
        Name::Black | Name::Grey | Name::Purple | Name::Pink => 20.0_f32.powi(2),
        _ => 0.0,
    };
    let is_neutral = |name: Name| matches!(name, Name::White | Name::Black | Name::Grey);
    let lab = |rgb: [u8; 3]| -> Lab { Srgb::from(rgb).into_linear::<f32>().into_color() };
    let seen = lab(fill_of(patch));
    let chroma = |colour: Lab| colour.a.hypot(colour.b);
    let distance = |name: Name| {
        let word = lab(paint(name).fill);
        let lightness = (word.l - seen.l).powi(2);
        let colourfulness = (chroma(word) - chroma(seen)).powi(2);
        let hue = (word.a - seen.a).powi(2) + (word.b - seen.b).powi(2) - colourfulness;
        0.16 * lightness + 0.25 * colourfulness + hue + handicap(name)
    };
    Name::ALL
        .into_iter()
        .filter(|&name| chroma(seen) <= MOST_OF_NEUTRAL || !is_neutral(name))
        .min_by(|&a, &b| distance(a).total_cmp(&distance(b)))
        .unwrap_or(Name::Grey)
}

impl Cell {
    fn of(colour: Name) -> Self {
        let paint = paint(colour);
        Self {
            colour,
            letter: letter(colour),
            fill: hex(paint.fill),
            ink: hex(paint.ink),
            fixed: false,
            or: None,
            fault: false,
        }
    }

    /// As seen, before the cube is known.
    fn seen(patch: &Patch) -> Self {
        let fill = fill_of(patch);
        let linear = Srgb::from(fill).into_linear::<f32>();
        let light = 0.2126 * linear.red + 0.7152 * linear.green + 0.0722 * linear.blue;
        Self {
            fill: hex(fill),
            // The luminance at which black and white stand out alike (WCAG 2.2, contrast ratio).
            ink: if light > 0.179 { "#16181c" } else { "#ffffff" }.to_owned(),
            ..Self::of(nearest(patch))
        }
    }
}

impl Session {
    /// What changes with every frame.
    pub fn glimpse(&self) -> Glimpse {
        let track = self.watch.track();
        let lattice = track.filter(|_| self.watch.is_in_sight(self.at));
        let lattice = lattice.map(|track| {
            let face: &SeenFace = track.last();
            Lattice {
                n: face.n,
                corners: face
                    .corners_in_photo
                    .0
                    .map(|corner| [corner.x, corner.y].map(tenth)),
                fills: face
                    .patches
                    .iter()
                    .map(|patch| hex(fill_of(patch)))
                    .collect(),
                progress: track.progress(),
            }
        });
        Glimpse {
            at_ms: tenth(self.at.as_secs_f64() * 1e3),
            size_px: self.size_px,
            lattice,
        }
    }

    /// What stays until something happens.
    pub fn scene(&self) -> Scene {
        let answer = match &self.standing {
            Standing::Answered(answer) => Some(answer),
            _ => None,
        };
        let n = self.n();
        let plan = answer.and_then(|answer| {
            let plan = answer.plan.as_ref()?;
            let n = answer.state.n();
            let all =
                |moves: &[crate::cube::Move]| moves.iter().map(|&step| shown(step, n)).collect();
            Some(PlanShown {
                aim: plan.aim.clone(),
                hold: all(&plan.hold),
                moves: all(&plan.moves),
                parts: plan.parts.clone(),
                outcome: plan.outcome.clone(),
                states: plan
                    .states
                    .iter()
                    .map(|state| state.stickers().iter().map(|face| face.letter()).collect())
                    .collect(),
                done: answer.done,
            })
        });
        let say = self.said();
        Scene {
            cube: self.cube,
            table: self.mode == Mode::Table,
            say: say.words,
            mood: say.mood,
            turning: say.turning,
            standing: match self.standing {
                Standing::Collecting => "collecting",
                Standing::Piecing => "piecing",
                Standing::Doubtful => "doubtful",
                Standing::Unmade => "unmade",
                Standing::Answered(_) => "answered",
            },
            n,
            faces: self.held(),
            palette: self.palette(),
            examination: self.examination.clone(),
            plan,
            caution: self.caution(),
        }
    }

    fn caution(&self) -> Option<String> {
        let is_answered = matches!(self.standing, Standing::Answered(_));
        let pieced = self.pieced.as_ref().filter(|_| is_answered)?;
        let parts = [
            (self.is_laying_open(), NOT_AS_DRAWN),
            (pieced.may_be_mirrored, MAY_BE_MIRRORED),
        ];
        let parts: Vec<&str> = parts
            .into_iter()
            .filter_map(|(is_so, words)| is_so.then_some(words))
            .collect();
        (!parts.is_empty()).then(|| parts.join(" "))
    }

    fn held(&self) -> Vec<Held> {
        let colouring = self.colouring();
        let faults: Vec<Spot> = self
            .examination
            .iter()
            .flat_map(|examination| &examination.legality.faults)
            .flat_map(|fault| fault.stickers.iter().copied())
            .collect();
        let face_of = |slot: usize| self.pieced.as_ref().map(|_| Face::ALL[slot]);
        let slots = self.slots.iter().enumerate();
        slots
            .map(|(slot, held)| {
                let face = face_of(slot);
                let cells = held.face.patches.iter().enumerate().map(|(place, patch)| {
                    let spot = face.map(|face| Spot {
                        face,
                        row: place / held.face.n,
                        col: place % held.face.n,
                    });
                    let fixed = held.fixed.get(&place).copied();
                    let known = spot.zip(colouring.as_ref()).and_then(|(spot, colouring)| {
                        colouring.stickers()[spot.place(held.face.n)]
                    });
                    let cell = known.or(fixed).map_or_else(|| Cell::seen(patch), Cell::of);
                    Cell {
                        fixed: fixed.is_some(),
                        or: spot
                            .filter(|_| fixed.is_none())
                            .and_then(|spot| self.doubt_at(spot)),
                        fault: spot.is_some_and(|spot| faults.contains(&spot)),
                        ..cell
                    }
                });
                Held {
                    face,
                    cells: cells.collect(),
                }
            })
            .collect()
    }

    fn palette(&self) -> Vec<Cell> {
        match &self.pieced {
            Some(pieced) => pieced.scheme.0.map(Cell::of).to_vec(),
            None => Name::ALL.map(Cell::of).to_vec(),
        }
    }
}

/// Rounded to a tenth: finer than any screen shows, and half as long to send.
fn tenth(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}
