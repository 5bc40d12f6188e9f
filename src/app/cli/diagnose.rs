//! `sixfold diagnose`: a state from a file to what it is and what to do.

use super::Output;
use super::picture::{picture_of, write_picture};
use crate::app::files::{GivenState, read_state, read_text};
use crate::app::report::{self, Examined, Screen};
use crate::app::{Stop, Verdict};
use crate::calibration::Scheme;
use crate::cube::{Spot, State, spot_name};
use crate::explain::Mark;
use crate::reader::{Colouring, Completed, Examination, examine};
use anyhow::{Context, bail};
use clap::Args;
use serde::Serialize;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// Say where a cube's solver is, from its stickers in a file
#[derive(Debug, Args)]
pub struct Diagnose {
    /// The stickers as JSON, or what `read --json` printed; - reads standard input
    ///
    /// {"n": 6, "faces": {"U": [["white", "red", …], …], "R": …, "F": …, "D": …, "L": …, "B": …}}:
    /// each face row by row as seen looking straight at it, U with F below it, D with F above it.
    /// A sticker you cannot tell is null; where only one colour fits it is filled in.
    #[arg(value_name = "STATE.json")]
    state: PathBuf,
    #[command(flatten)]
    output: Output,
}

/// The answer for other programs.
#[derive(Serialize)]
struct Answer<'a> {
    schema: &'static str,
    n: usize,
    faces: &'a Colouring,
    unknown: Vec<Spot>,
    /// Stickers that were unknown in the file and are the only ones that fit.
    filled: &'a [Spot],
    /// Whether the stickers are those of a reading that was not certain.
    doubtful: bool,
    #[serde(flatten)]
    examined: Examined<'a>,
}

impl Diagnose {
    /// Carries the command out.
    ///
    /// # Errors
    ///
    /// If the state cannot be used or the answer not be written.
    pub fn run(&self, screen: &mut Screen) -> Result<Verdict, Stop> {
        let GivenState {
            colouring,
            is_doubtful,
        } = given_in(&self.state)?;
        let Completed {
            colouring,
            filled,
            is_possible,
        } = colouring.completed();
        let examination = examination_of(&self.state, &colouring)?;
        let n = colouring.n();
        let marks = examination
            .as_ref()
            .map_or_else(BTreeMap::new, |examination| marks(examination, n));
        if let Some(path) = &self.output.picture {
            write_picture(path, &picture_of(&colouring, &marks, examination.as_ref()))?;
        }
        if self.output.json {
            let answer = Answer {
                schema: "sixfold.diagnosis/1",
                n,
                faces: &colouring,
                unknown: colouring.unknown(),
                filled: &filled,
                doubtful: is_doubtful,
                examined: examination.as_ref().into(),
            };
            report::json(screen, &answer)?;
        } else {
            if is_doubtful {
                report::doubtful_file(screen)?;
            }
            match &examination {
                Some(examination) => report::headline(screen, examination)?,
                None => report::incomplete(screen, &colouring, is_possible)?,
            }
            report::filled(screen, &filled, &colouring)?;
            report::net(screen, &colouring, &marks)?;
            if let Some(examination) = &examination {
                report::details(screen, examination)?;
            }
        }
        Ok(match examination {
            Some(_) if !is_doubtful => Verdict::Answered,
            _ => Verdict::Unsure,
        })
    }
}

/// The stickers in a file.
fn given_in(path: &Path) -> anyhow::Result<GivenState> {
    read_text(path)
        .and_then(|text| Ok(read_state(&text)?))
        .with_context(|| format!("the state cannot be used: {}", path.display()))
}

/// The colours in a file that can be relied on, those filled in that the laws leave no choice about.
///
/// # Errors
///
/// If it holds no state, or a reading that is not certain.
pub fn colouring_in(path: &Path) -> anyhow::Result<Colouring> {
    let given = given_in(path)?;
    if given.is_doubtful {
        bail!(
            "the reading in it is doubtful, so nothing can be promised of its moves; settle it first as `read` says, \
             or check every sticker and set its outcome to \"read\": {}",
            path.display()
        );
    }
    Ok(given.colouring.completed().colouring)
}

/// What is to be said of the stickers; `None` if some are unknown.
fn examination_of(path: &Path, colouring: &Colouring) -> anyhow::Result<Option<Examination>> {
    if !colouring.unknown().is_empty() {
        return Ok(None);
    }
    let (state, scheme) = state_of(path, colouring)?;
    Ok(Some(examine(&state, scheme)))
}

/// The state with these colours, all of which must be known.
///
/// # Errors
///
/// If a colour is missing or they make no cube.
pub fn state_of(path: &Path, colouring: &Colouring) -> anyhow::Result<(State, Scheme)> {
    let found = || {
        if let Some(&spot) = colouring.unknown().first() {
            bail!("the sticker at {} is unknown; fill it in", spot_name(spot));
        }
        let scheme = colouring.scheme()?;
        let state = colouring
            .state(scheme)
            .context("the stickers make no cube")?;
        Ok((state, scheme))
    };
    found().with_context(|| format!("the state cannot be used: {}", path.display()))
}

/// The stickers of the pieces that cannot be where they are.
fn marks(examination: &Examination, n: usize) -> BTreeMap<usize, Mark> {
    let faults = &examination.legality.faults;
    let stickers = faults.iter().flat_map(|fault| &fault.stickers);
    stickers
        .map(|spot: &Spot| (spot.place(n), Mark::Fault))
        .collect()
}
