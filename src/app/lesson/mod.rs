//! A folder of a lesson's photos to one report: which photos show which cube, and where each cube's solver is.
//!
//! - `folder`: which photos there are, and in which order.
//! - `look`: each photo looked at once, on all cores, or remembered from an earlier run (`cache`).
//! - `group`: photos to cubes, and cubes to the people they belong to (`roster`).
//! - `crop`: pictures of faces, all of a photo that enters the report.
//!
//! It writes nothing but the report folder.

mod cache;
mod crop;
mod folder;
mod group;
mod look;
mod roster;
mod watch;

pub use crop::FacePicture;
pub use group::{INTERRUPTED, Lesson, Occasion, Person, Showing};
pub use roster::Roster;

use look::LookedAt;
use roster::Met;

use crate::app::clock;
use crate::app::files::make_folder;
use crate::app::report::{self, Screen};
use crate::calibration::Calibration;
use anyhow::{Result, ensure};
use std::fs;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, OnceLock};
use std::time::Duration;

/// What is to be done.
#[derive(Clone, Debug)]
pub struct Plan {
    /// Where the photos are.
    pub folder: PathBuf,
    /// Where the report goes.
    pub out: PathBuf,
    /// Names for the cubes.
    pub roster: Option<PathBuf>,
    /// Whether to go on and read photos as they come.
    pub is_watching: bool,
    /// What is known of cubes beforehand.
    pub calibration: Calibration,
}

/// How much came of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Yield {
    /// Every cube was read for certain and every photo has its place.
    All,
    /// Something is doubtful, was left out, or was not looked at any more.
    Part,
    /// No photo could be used.
    Nothing,
}

/// How long the sorting may go on once the run was interrupted: a small lesson is then whole all the same.
const GRACE: Duration = Duration::from_secs(5);

/// Whether what is not done is to be left: the run was interrupted, and that was first noticed a while ago.
fn is_over(is_stopped: &AtomicBool) -> impl Fn() -> bool + Sync {
    let since = OnceLock::new();
    move || {
        is_stopped.load(Ordering::Relaxed)
            && clock::now().saturating_sub(*since.get_or_init(clock::now)) >= GRACE
    }
}

/// Reads the photos of a folder and writes the report; again and again when watching, until interrupted.
///
/// # Errors
///
/// If the folder or roster cannot be used or the report not be written.
pub fn lesson(plan: &Plan, screen: &mut Screen) -> Result<Yield> {
    ensure!(
        plan.folder.is_dir(),
        "a folder of photos was expected; check the name: {}",
        plan.folder.display()
    );
    // What lies in the report's folder is taken for the report.
    let is_same = fs::canonicalize(&plan.folder).ok() == fs::canonicalize(&plan.out).ok();
    ensure!(
        !is_same,
        "the report would lie among the photos; give it a folder of its own: {}",
        plan.out.display()
    );
    let roster = plan.roster.as_deref().map(Roster::read).transpose()?;
    make_folder(&plan.out)?;
    let is_stopped = Arc::new(AtomicBool::new(false));
    let flag = Arc::clone(&is_stopped);
    // A second handler cannot be set, in tests for instance: the first one does as well.
    let _ = ctrlc::set_handler(move || flag.store(true, Ordering::Relaxed));
    let calibration = &plan.calibration;
    let mut result = once(plan, roster.as_ref(), calibration, &is_stopped)?;
    report::told_lesson(screen, &result.1, &plan.out)?;
    if plan.is_watching && !is_stopped.load(Ordering::Relaxed) {
        watch::watch(plan, &is_stopped, screen, || {
            once(plan, roster.as_ref(), calibration, &is_stopped)
        })?;
        // The page no longer reloads once nothing new can come.
        let over = Plan {
            is_watching: false,
            ..plan.clone()
        };
        let never = Arc::new(AtomicBool::new(false));
        result = once(&over, roster.as_ref(), calibration, &never)?;
    }
    Ok(result.0)
}

fn once(
    plan: &Plan,
    roster: Option<&Roster>,
    calibration: &Calibration,
    is_stopped: &Arc<AtomicBool>,
) -> Result<(Yield, Lesson)> {
    let listing = folder::listing(&plan.folder, &plan.out)?;
    ensure!(
        plan.is_watching || !listing.entries.is_empty() || !listing.problems.is_empty(),
        "no photo was met, JPEG, HEIC, PNG or WebP files were expected in it or in folders inside it; check the name: {}",
        plan.folder.display()
    );
    let looked = look::look_at_all(&listing.entries, &plan.out.join(cache::FOLDER), is_stopped)?;
    let is_over = is_over(is_stopped);
    let mut lesson = group::group(calibration, &plan.folder, &looked, roster, &is_over);
    lesson.unusable.extend(listing.problems);
    lesson.unmet = roster.map_or_else(Vec::new, |roster| roster.unmet(&met(&looked, &lesson)));
    report::write_lesson(&plan.out, &lesson, plan.is_watching)?;
    Ok((outcome(&lesson), lesson))
}

/// What a roster is held against.
fn met<'a>(looked: &'a LookedAt, lesson: &'a Lesson) -> Met<'a> {
    // What is no photo can still lie in someone's folder.
    let usable = looked
        .photos
        .iter()
        .filter(|photo| photo.kept.is_ok() || photo.entry.place.is_some());
    let looked_at = usable.map(|photo| {
        let taken = photo.kept.as_ref().ok().and_then(|kept| kept.taken);
        (photo.entry.place.as_deref(), taken)
    });
    let skipped = looked.skipped.iter();
    let cubes = lesson.people.iter().flat_map(|person| {
        let times = person.occasions.iter();
        times.map(|occasion| (person.who.as_str(), occasion.taken))
    });
    let mut left_out = lesson.left_out.iter();
    Met {
        photos: looked_at
            .chain(skipped.map(|entry| (entry.place.as_deref(), None)))
            .collect(),
        cubes: cubes.collect(),
        is_whole: lesson.skipped.is_empty() && left_out.all(|photo| photo.reason != INTERRUPTED),
    }
}

fn outcome(lesson: &Lesson) -> Yield {
    if !lesson.unusable.is_empty() && lesson.unusable.len() >= lesson.photos {
        Yield::Nothing
    } else if lesson.is_complete() {
        Yield::All
    } else {
        Yield::Part
    }
}

/// A path as it is told: relative to the folder of the lesson.
fn told(folder: &Path, path: &Path) -> String {
    path.strip_prefix(folder)
        .unwrap_or(path)
        .display()
        .to_string()
}
