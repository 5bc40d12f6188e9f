//! `sixfold calibrate`: photos of a cube to a file of its colours.

use super::photos::PhotoArguments;
use crate::app::files::{write_new, write_whole};
use crate::app::report::{self, Screen};
use crate::app::{Stop, Verdict};
use crate::calibration::{Calibration, KnownCube, Nearest, Scheme};
use crate::colour::Name;
use crate::cube::Face;
use crate::reader::{Learned, Outcome, Reading, SAFE_DIFFERENCE, learn};
use anyhow::bail;
use clap::Args;
use serde::Serialize;
use std::collections::BTreeMap;
use std::path::PathBuf;

/// Learn a cube's colours and scheme from its photos, solved or scrambled
///
/// Photographs as for `read`, in good light. The file is then given to `read --cube` or `live --cube`, which asks it
/// where photos alone leave doubts. Photos of another cube are noticed: its size, its scheme or its colours differ.
///
/// The file is JSON: {"schema": "sixfold.cube/1", "n": 6, "faces": {"U": {"colour": "white", "linear": [r, g, b],
/// "spread": [r, g, b]}, "R": …, "F": …, "D": …, "L": …, "B": …}, "nearest": {"one": "red", "other": "orange",
/// "difference": 31.2}}. "linear" is the colour in neutral light (linear light in the sRGB primaries, 1 is a perfect
/// white), "spread" how far it moves from one light to another (standard deviation of its natural logarithm), and
/// "difference" the CIEDE2000 distance of the two nearest colours in the light of the photos.
#[derive(Debug, Args)]
pub struct Calibrate {
    #[command(flatten)]
    photos: PhotoArguments,
    /// The file to write; one that is there already is left alone
    #[arg(long, value_name = "CUBE.json")]
    out: PathBuf,
    /// Write over a file that is there already
    #[arg(long)]
    replace: bool,
    /// Print one JSON document for other programs instead of text
    #[arg(long)]
    json: bool,
}

/// The answer for other programs.
#[derive(Serialize)]
struct Answer<'a> {
    schema: &'static str,
    outcome: Outcome,
    n: Option<usize>,
    scheme: Option<BTreeMap<Face, Name>>,
    nearest: Option<Nearest>,
    warmth: Option<f64>,
    burnt_out: Option<f64>,
    too_near: Option<bool>,
    advice: Option<String>,
    written: Option<&'a PathBuf>,
    problem: Option<String>,
}

impl Calibrate {
    /// Carries the command out.
    ///
    /// # Errors
    ///
    /// If there is a file already, a photo cannot be used, or the file cannot be written.
    pub fn run(&self, screen: &mut Screen) -> Result<Verdict, Stop> {
        self.refuse_to_overwrite()?;
        let calibration = Calibration::built_in()?;
        let read = self.photos.read(&calibration, learn)?;
        let (reading, learned) = read.result;
        let Some(learned) = learned else {
            return self.tell_nothing_learned(screen, &reading);
        };
        if let Some((colour, like)) = learned.misnamed {
            bail_misnamed(colour, like)?;
        }
        let text = learned.cube.to_json();
        if self.replace {
            write_whole(&self.out, text.as_bytes())?;
        } else {
            write_new(&self.out, text.as_bytes())?;
        }
        if self.json {
            report::json(screen, &self.answer(&reading, Some(&learned), None))?;
        } else {
            self.tell(screen, &learned)?;
        }
        Ok(Verdict::Answered)
    }

    /// Before any photo is looked at: nobody waits for a refusal.
    fn refuse_to_overwrite(&self) -> anyhow::Result<()> {
        if self.out.is_dir() {
            bail!(
                "a file was expected to write into, and this is a folder; add a name, as in {}: {}",
                self.out.join("my-cube.json").display(),
                self.out.display()
            );
        }
        if self.out.exists() && !self.replace {
            bail!(
                "there is a file of that name already; choose another name, or give --replace as well: {}",
                self.out.display()
            );
        }
        Ok(())
    }

    fn tell(&self, screen: &mut Screen, learned: &Learned) -> anyhow::Result<()> {
        let cube = &learned.cube;
        let n = cube.n;
        screen.strong(&format!(
            "Learned the colours of this {n}×{n}×{n}: {}.",
            opposites(cube.scheme())
        ))?;
        writeln!(screen.out)?;
        let Nearest {
            one,
            other,
            difference,
        } = cube.nearest;
        screen.paragraph(
            "",
            &format!(
                "The two colours nearest to one another in this light are {one} and {other}: {difference:.1} apart \
                 (CIEDE2000; 1 is the least an eye sees, {SAFE_DIFFERENCE:.0} is enough to be told apart in most light)."
            ),
        )?;
        if let Some(advice) = advice(learned) {
            screen.paragraph("", &advice)?;
        }
        writeln!(screen.out)?;
        screen.paragraph("", &format!("Written: {}", self.out.display()))?;
        screen.paragraph(
            "",
            &format!(
                "Use it with: sixfold read --cube {} PHOTO…",
                self.out.display()
            ),
        )?;
        Ok(())
    }

    fn tell_nothing_learned(
        &self,
        screen: &mut Screen,
        reading: &Reading,
    ) -> Result<Verdict, Stop> {
        let (why, verdict) = match reading.outcome {
            Outcome::Read => (
                "Nothing was learned and nothing written: this cube cannot exist as it is, so which colour belongs \
                 where is not certain. Mend it, or photograph it again",
                Verdict::Unusable,
            ),
            Outcome::Doubtful if reading.is_laying_open => (
                "Nothing was learned and nothing written: how the faces lie belongs to what is learned",
                Verdict::Unsure,
            ),
            Outcome::Doubtful => (
                "Nothing was learned and nothing written: only a reading without doubts teaches colours. Take the \
                 photos in better light, or say what the doubtful stickers are with --answer",
                Verdict::Unsure,
            ),
            Outcome::Unreadable => (
                "Nothing was learned and nothing written: the photos could not be read",
                Verdict::Unsure,
            ),
        };
        if self.json {
            report::json(screen, &self.answer(reading, None, Some(why)))?;
        } else {
            report::reading(screen, reading, &report::marks(reading))?;
            writeln!(screen.out)?;
            screen.paragraph("", &format!("{why}."))?;
        }
        Ok(verdict)
    }

    fn answer(
        &self,
        reading: &Reading,
        learned: Option<&Learned>,
        why: Option<&str>,
    ) -> Answer<'_> {
        let cube: Option<&KnownCube> = learned.map(|learned| &learned.cube);
        let problem = reading.problem.as_ref();
        Answer {
            schema: "sixfold.calibration/1",
            outcome: reading.outcome,
            n: reading.n,
            scheme: cube.map(|cube| {
                let scheme = cube.scheme();
                Face::ALL.map(|face| (face, scheme.colour(face))).into()
            }),
            nearest: cube.map(|cube| cube.nearest),
            warmth: learned.and_then(|learned| learned.warmth),
            burnt_out: learned.map(|learned| learned.burnt_out),
            too_near: cube.map(|cube| cube.nearest.difference < SAFE_DIFFERENCE),
            advice: learned.and_then(advice),
            written: cube.map(|_| &self.out),
            problem: problem
                .map(|problem| problem.text.clone())
                .or_else(|| why.map(ToOwned::to_owned)),
        }
    }
}

fn bail_misnamed(colour: Name, like: Name) -> anyhow::Result<()> {
    bail!(
        "the light of these photos was judged wrongly, since what would be called {colour} looks like {like}: nothing \
         was learned; photograph the cube scrambled, so that each photo shows several colours, in even white light"
    )
}

/// Which colours lie across from each other.
fn opposites(scheme: Scheme) -> String {
    let pairs = [Face::U, Face::R, Face::F].map(|face| {
        let across = scheme.colour(face.opposite());
        format!("{} across from {across}", scheme.colour(face))
    });
    pairs.join(", ")
}

/// What to change about the light; `None` if it is good.
fn advice(learned: &Learned) -> Option<String> {
    /// A lamp this much redder than neutral light moves orange towards red and white towards yellow.
    const WARM: f64 = 1.5;
    /// So many stickers beyond what the camera records are too many.
    const MANY: f64 = 0.03;
    let Nearest { one, other, .. } = learned.cube.nearest;
    let is_near = learned.cube.nearest.difference < SAFE_DIFFERENCE;
    let warmth = learned.warmth.unwrap_or(1.0);
    let mut advice = Vec::new();
    if is_near {
        advice.push(format!(
            "That is near: in this light {one} and {other} will sometimes be doubtful."
        ));
    }
    if learned.burnt_out > MANY {
        advice.push(format!(
            "{:.0} % of the coloured stickers are so bright that their colour is lost: lower the exposure (on most phones: tap on \
             the cube and drag down), or turn the cube out of the sun.",
            100.0 * learned.burnt_out
        ));
    }
    if warmth > WARM {
        advice.push(
            "The light is yellowish: go to a window or take a neutral white lamp, or set the camera's white balance \
             to that of a lamp."
                .to_owned(),
        );
    } else if warmth < 1.0 / WARM {
        advice.push(
            "The light is bluish: set the camera's white balance to that of shade, or take a neutral white lamp."
                .to_owned(),
        );
    } else if is_near && learned.burnt_out <= MANY {
        advice.push(
            "Take more light, from a window or a white lamp beside the camera, and none that mirrors in the stickers."
                .to_owned(),
        );
    }
    (!advice.is_empty()).then(|| advice.join(" "))
}
