//! Photos named on the command line, and what is known besides them, to a reading.

use super::trace;
use crate::app::files::read_text;
use crate::app::look::{Looked, look_again, look_at_all};
use crate::app::{Stop, clock};
use crate::calibration::{Calibration, KnownCube};
use crate::reader::{Answer, Said, Shown, check_answers};
use crate::sight::Trace;
use anyhow::{Context, anyhow};
use clap::Args;
use std::path::PathBuf;
use std::time::Duration;

/// Photos of one cube.
#[derive(Debug, Args)]
pub struct PhotoArguments {
    /// The photos: JPEG, HEIC, PNG or WebP
    #[arg(value_name = "PHOTO", required = true)]
    photos: Vec<PathBuf>,
    /// Say what colour a doubtful sticker has: face, row from the top, column from the left, as in F:1,4=orange
    ///
    /// Give the option once for each sticker, together with the same photos. Faces, rows and columns are those of the
    /// net as it is printed without any answer; both are counted from 1.
    #[arg(long = "answer", value_name = "FACE:ROW,COLUMN=COLOUR")]
    answers: Vec<Answer>,
    /// Say that the faces lie around the cube as printed, where photos of single faces do not show it
    ///
    /// A reading without this option says what to look at. Give it together with the same photos.
    #[arg(long)]
    as_printed: bool,
    /// The photos are mirrored, as some front cameras save them: writing is then the wrong way round
    #[arg(long)]
    mirrored: bool,
    /// Draw what each stage of looking found into this folder
    #[arg(long, value_name = "FOLDER")]
    trace: Option<PathBuf>,
    /// Say how long each stage took, on standard error
    #[arg(long)]
    timings: bool,
}

/// A cube whose colours were learned before.
#[derive(Debug, Args)]
pub struct Cube {
    /// Use what `calibrate` learned of this cube where the photos alone leave doubts
    #[arg(long, value_name = "CUBE.json")]
    cube: Option<PathBuf>,
}

/// What came of photos, and the times it took.
pub struct Read<T> {
    /// What was read.
    pub result: T,
    /// The times.
    pub timings: trace::Timings,
}

impl PhotoArguments {
    /// Looks at the photos and hands what was seen to `read`, with what is said of the cube.
    ///
    /// # Errors
    ///
    /// If two answers contradict each other, a photo cannot be used, or `read` fails.
    pub fn read<T, E: Into<anyhow::Error>>(
        &self,
        calibration: &Calibration,
        read: impl FnOnce(&Calibration, &mut Trace, &[Shown], Said) -> Result<T, E>,
    ) -> Result<Read<T>, Stop> {
        check_answers(&self.answers).map_err(|problem| Stop::wrong(&problem))?;
        let start = clock::now();
        let mut looked = look_at_all(&self.photos, self.trace.is_some());
        look_again(&mut looked);
        if let Some(folder) = &self.trace {
            trace::write_pictures(folder, &mut looked)?;
        }
        refuse_unusable(&looked)?;
        let names: Vec<String> = looked
            .iter()
            .map(|photo| photo.path.display().to_string())
            .collect();
        if self.mirrored {
            for seen in looked
                .iter_mut()
                .filter_map(|photo| photo.seen.as_mut().ok())
            {
                *seen = seen.mirrored();
            }
        }
        let shown: Vec<Shown> = looked
            .iter()
            .zip(&names)
            .filter_map(|(photo, path)| {
                let photo = photo.seen.as_ref().ok()?;
                Some(Shown { path, photo })
            })
            .collect();
        let mut trace = Trace::timed(clock::now);
        let said = Said {
            answers: &self.answers,
            is_as_printed: self.as_printed,
        };
        let result = read(calibration, &mut trace, &shown, said).map_err(Into::into)?;
        let took: Duration = clock::now().saturating_sub(start);
        if self.timings {
            trace::write_timings(&looked, &trace, took)?;
        }
        Ok(Read {
            result,
            timings: trace::timings(&looked, took),
        })
    }
}

impl Cube {
    /// What is known before any photo was seen.
    ///
    /// # Errors
    ///
    /// If the file is not one `calibrate` could have written.
    pub fn calibration(&self) -> anyhow::Result<Calibration> {
        let calibration = Calibration::built_in()?;
        let Some(path) = &self.cube else {
            return Ok(calibration);
        };
        let cube = read_text(path)
            .and_then(|text| Ok(KnownCube::from_json(&text)?))
            .with_context(|| {
                format!(
                    "the cube's file cannot be used, make one with `sixfold calibrate`: {}",
                    path.display()
                )
            })?;
        Ok(calibration.knowing(cube))
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
