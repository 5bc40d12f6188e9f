//! What is to be said about a cube, as text.

use super::screen::Screen;
use crate::cube::{Fault, listed, spot_name};
use crate::diagnose::{Diagnosis, Stage};
use crate::reader::{Colouring, Examination};
use std::io;

/// Writes the one sentence a person needs first.
///
/// # Errors
///
/// If the text cannot be written.
pub fn headline(screen: &mut Screen, examination: &Examination) -> io::Result<()> {
    screen.strong(&examination.diagnosis.text)?;
    writeln!(screen.out)
}

/// Says that stickers are missing, and which.
///
/// # Errors
///
/// If the text cannot be written.
pub fn incomplete(screen: &mut Screen, colouring: &Colouring) -> io::Result<()> {
    let unknown = colouring.unknown();
    let names: Vec<String> = unknown
        .iter()
        .take(MOST_NAMED)
        .copied()
        .map(spot_name)
        .collect();
    let more = unknown.len().saturating_sub(MOST_NAMED);
    let rest = if more > 0 {
        format!(", and {more} more")
    } else {
        String::new()
    };
    screen.strong("Some stickers are unknown, so nothing certain can be said.")?;
    writeln!(screen.out, "\nFill in {}{rest}.\n", listed(&names))
}

/// How many unknown stickers are named one by one.
const MOST_NAMED: usize = 8;

/// Writes the rest.
///
/// # Errors
///
/// If the text cannot be written.
pub fn details(screen: &mut Screen, examination: &Examination) -> io::Result<()> {
    let faults = &examination.legality.faults;
    if !faults.is_empty() {
        return impossible(screen, faults);
    }
    let Diagnosis {
        centres,
        groups,
        case,
        ..
    } = &examination.diagnosis;
    if groups.of > 0 && !matches!(examination.diagnosis.stage, Stage::Solved) {
        writeln!(
            screen.out,
            "Centres: {} of 6 whole. Edge groups: {} of {} paired, {} with the inner pieces paired.",
            centres.done.len(),
            groups.done,
            groups.of,
            groups.inner_done
        )?;
    }
    if let Some(case) = case {
        writeln!(screen.out)?;
        screen.paragraph("", &case.text)?;
    }
    Ok(())
}

/// What is wrong with a cube that cannot exist, and what not to do about it.
fn impossible(screen: &mut Screen, faults: &[Fault]) -> io::Result<()> {
    // The first fault stands in the headline already.
    for fault in faults.iter().skip(1) {
        screen.paragraph("- ", &fault.text)?;
    }
    screen.paragraph(
        "",
        "No sequence of turns mends this: a piece has to be taken out and put back as it should be.\n\
         Never force a layer that is stuck or a piece that does not come: turn the layer by an eighth first, so \
         that an edge piece can be lifted. Pieces that break are sharp.",
    )
}
