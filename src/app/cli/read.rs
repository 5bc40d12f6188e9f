//! `sixfold read`: photos of a cube to its stickers, what it is and what to do.

use super::Output;
use super::picture::{picture_of, write_picture};
use super::trace;
use crate::app::look::{Looked, look_at_all};
use crate::app::report::{self, Screen};
use crate::app::{Stop, Verdict, clock};
use crate::calibration::Calibration;
use crate::cube::Spot;
use crate::explain::Mark;
use crate::reader::{Outcome, ProblemKind, Reading, Shown, read};
use crate::sight::Trace;
use anyhow::anyhow;
use clap::Args;
use std::collections::BTreeMap;
use std::path::PathBuf;

/// Read a cube from photos and say where its solver is
///
/// Six photos of one face each, two of three faces that meet in a corner, or a mix: in any order, the camera
/// held any way round. The size of the cube is found from the photos.
#[derive(Debug, Args)]
pub struct Read {
    /// The photos: JPEG, PNG or WebP
    #[arg(value_name = "PHOTO", required = true)]
    photos: Vec<PathBuf>,
    #[command(flatten)]
    output: Output,
    /// Draw what each stage of looking found into this folder
    #[arg(long, value_name = "FOLDER")]
    trace: Option<PathBuf>,
    /// Say how long each stage took, on standard error
    #[arg(long)]
    timings: bool,
}

impl Read {
    /// Carries the command out.
    ///
    /// # Errors
    ///
    /// If a photo cannot be used or the answer not be written.
    pub fn run(&self, screen: &mut Screen) -> Result<Verdict, Stop> {
        let start = clock::now();
        let mut looked = look_at_all(&self.photos, self.trace.is_some());
        if let Some(folder) = &self.trace {
            trace::write_pictures(folder, &mut looked)?;
        }
        refuse_unusable(&looked)?;
        let names: Vec<String> = looked
            .iter()
            .map(|photo| photo.path.display().to_string())
            .collect();
        let shown: Vec<Shown> = looked
            .iter()
            .zip(&names)
            .filter_map(|(photo, path)| {
                let photo = photo.seen.as_ref().ok()?;
                Some(Shown { path, photo })
            })
            .collect();
        let calibration = Calibration::built_in()?;
        let mut trace = Trace::timed(clock::now);
        let reading = read(&calibration, &mut trace, &shown);
        let took = clock::now().saturating_sub(start);
        if self.timings {
            trace::write_timings(&looked, &trace, took)?;
        }
        self.answer(screen, &reading, &trace::timings(&looked, took))?;
        let is_mixed = reading.problem.as_ref().is_some_and(|problem| {
            matches!(
                problem.kind,
                ProblemKind::SizesDiffer | ProblemKind::MixedCubes
            )
        });
        Ok(match reading.outcome {
            Outcome::Read => Verdict::Answered,
            _ if is_mixed => Verdict::Unusable,
            Outcome::Doubtful | Outcome::Unreadable => Verdict::Unsure,
        })
    }

    fn answer(
        &self,
        screen: &mut Screen,
        reading: &Reading,
        timings: &trace::Timings,
    ) -> anyhow::Result<()> {
        let marks = marks(reading);
        if let (Some(path), Some(faces)) = (&self.output.picture, &reading.faces) {
            write_picture(
                path,
                &picture_of(faces, &marks, reading.examination.as_ref()),
            )?;
        }
        if self.output.json {
            report::json(screen, &report::reading_for_programs(reading, timings))?;
        } else {
            report::reading(screen, reading, &marks)?;
        }
        Ok(())
    }
}

/// An error that names every photo that cannot be used, a line each.
fn refuse_unusable(looked: &[Looked]) -> anyhow::Result<()> {
    let problems: Vec<String> = looked
        .iter()
        .filter_map(|photo| photo.seen.as_ref().err())
        .map(ToString::to_string)
        .collect();
    if problems.is_empty() {
        Ok(())
    } else {
        Err(anyhow!(problems.join("\nsixfold: ")))
    }
}

/// The stickers to point out: those in doubt, and those of pieces that cannot be where they are.
fn marks(reading: &Reading) -> BTreeMap<usize, Mark> {
    let Some(n) = reading.n else {
        return BTreeMap::new();
    };
    let faults = reading
        .examination
        .iter()
        .flat_map(|examination| &examination.legality.faults)
        .flat_map(|fault| &fault.stickers)
        .map(|&spot| (spot, Mark::Fault));
    let doubts = reading.doubts.iter().map(|doubt| (doubt.spot, Mark::Doubt));
    faults
        .chain(doubts)
        .map(|(spot, mark): (Spot, Mark)| (spot.place(n), mark))
        .collect()
}
