//! `sixfold lesson`: a folder of photos to a report on everyone's cube.

use super::photos::Cube;
use crate::app::lesson::{self, Plan, Yield};
use crate::app::report::Screen;
use crate::app::{Stop, Verdict};
use clap::Args;
use std::path::PathBuf;

/// Read all photos of a lesson and report, cube by cube, where everyone is
///
/// A folder inside the folder is one cube. Photos that lie in no such folder are sorted by what they show: which of
/// them fit one cube. What fits nowhere, or in two places, is listed and never guessed.
#[derive(Debug, Args)]
#[command(
    after_help = "The report holds cut-out faces of cubes, never whole photos, and nothing of when and where they \
                  were taken but the time.\nA second run into the same report reads only new or changed photos."
)]
pub struct Lesson {
    /// The folder of photos: JPEG, HEIC, PNG or WebP
    #[arg(value_name = "FOLDER")]
    folder: PathBuf,
    /// The folder for index.html, lesson.csv and lesson.json
    #[arg(long, value_name = "REPORT")]
    out: PathBuf,
    /// Names for the cubes: a table with the columns name and folder, or name, from and until
    #[arg(long, value_name = "ROSTER.csv")]
    roster: Option<PathBuf>,
    #[command(flatten)]
    cube: Cube,
    /// Go on reading photos as they come into the folder
    #[arg(long)]
    watch: bool,
}

impl Lesson {
    /// Carries the command out.
    ///
    /// # Errors
    ///
    /// If the folder or the roster cannot be used, or the report not be written.
    pub fn run(&self, screen: &mut Screen) -> Result<Verdict, Stop> {
        let plan = Plan {
            folder: self.folder.clone(),
            out: self.out.clone(),
            roster: self.roster.clone(),
            is_watching: self.watch,
            calibration: self.cube.calibration()?,
        };
        Ok(match lesson::lesson(&plan, screen)? {
            Yield::All => Verdict::Answered,
            Yield::Part => Verdict::Unsure,
            Yield::Nothing => Verdict::Unusable,
        })
    }
}
