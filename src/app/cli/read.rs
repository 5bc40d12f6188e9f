//! `sixfold read`: photos of a cube to its stickers, what it is and what to do.

use super::Output;
use super::photos::{Cube, PhotoArguments};
use super::picture::{picture_of, write_picture};
use super::trace;
use crate::app::report::{self, Screen};
use crate::app::{Stop, Verdict};
use crate::reader::{Outcome, ProblemKind, Reading, read_answered};
use clap::Args;

/// Read a cube from photos and say where its solver is
///
/// Six photos of one face each, two of three faces that meet in a corner, or a mix: in any order, the camera
/// held any way round. The size of the cube is found from the photos.
#[derive(Debug, Args)]
pub struct Read {
    #[command(flatten)]
    photos: PhotoArguments,
    #[command(flatten)]
    cube: Cube,
    #[command(flatten)]
    output: Output,
}

impl Read {
    /// Carries the command out.
    ///
    /// # Errors
    ///
    /// If a photo cannot be used or the answer not be written.
    pub fn run(&self, screen: &mut Screen) -> Result<Verdict, Stop> {
        let calibration = self.cube.calibration()?;
        let read = self.photos.read(&calibration, read_answered)?;
        let reading = read.result;
        self.answer(screen, &reading, &read.timings)?;
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
        let marks = report::marks(reading);
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
