//! Runs the lesson again whenever photos come or change in its folder.

use super::{Lesson, Plan, Yield};
use crate::app::report::{self, Screen};
use anyhow::{Context, Result};
use notify::{RecursiveMode, Watcher, recommended_watcher};
use std::fs;
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::time::Duration;

/// How often it is asked whether to stop.
const TICK: Duration = Duration::from_millis(200);

/// How long nothing may have changed before photos are read: a camera or a copy writes in pieces.
const QUIET: Duration = Duration::from_millis(600);

/// Calls `again` after every change in the folder, until stopped; a run that fails is told and waited out.
///
/// # Errors
///
/// If the folder cannot be watched.
pub fn watch(
    plan: &Plan,
    is_stopped: &AtomicBool,
    screen: &mut Screen,
    mut again: impl FnMut() -> Result<(Yield, Lesson)>,
) -> Result<()> {
    let (send, changes) = channel();
    let mut watcher = recommended_watcher(move |event| {
        // The receiver is gone only when the program ends.
        let _ = send.send(event);
    })
    .context("the folder cannot be watched")?;
    watcher
        .watch(&plan.folder, RecursiveMode::Recursive)
        .with_context(|| format!("the folder cannot be watched: {}", plan.folder.display()))?;
    let report = fs::canonicalize(&plan.out).unwrap_or_else(|_| plan.out.clone());
    screen.paragraph("", "Watching for new photos; Ctrl-C ends it.")?;
    let mut is_due = false;
    while !is_stopped.load(Ordering::Relaxed) {
        match changes.recv_timeout(if is_due { QUIET } else { TICK }) {
            Ok(Ok(event)) => {
                let is_reading = event.kind.is_access();
                is_due |= !is_reading && event.paths.iter().any(|path| is_outside(path, &report));
            }
            // What the system could not tell may have been a photo.
            Ok(Err(_)) => is_due = true,
            Err(RecvTimeoutError::Timeout) if is_due => {
                is_due = false;
                match again() {
                    Ok((_, lesson)) => report::told_lesson(screen, &lesson, &plan.out)?,
                    Err(problem) => screen.paragraph("", &format!("{problem:#}"))?,
                }
            }
            Err(RecvTimeoutError::Timeout) => {}
            Err(RecvTimeoutError::Disconnected) => break,
        }
    }
    Ok(())
}

fn is_outside(path: &Path, report: &Path) -> bool {
    let whole = fs::canonicalize(path).unwrap_or_else(|_| path.to_owned());
    !whole.starts_with(report)
}
