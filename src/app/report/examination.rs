//! What is to be said about a cube, as text.

use super::screen::Screen;
use crate::cube::{listed, spot_name};
use crate::reader::{Colouring, Examination};
use std::io;

/// Writes the one sentence a person needs first.
///
/// # Errors
///
/// If the text cannot be written.
pub fn headline(screen: &mut Screen, examination: &Examination) -> io::Result<()> {
    let words = if examination.legality.legal {
        "Such a cube can exist."
    } else {
        "No turning can solve this cube: its stickers break a law of the cube."
    };
    screen.strong(words)?;
    writeln!(screen.out, "\n")
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
    for fault in &examination.legality.faults {
        writeln!(screen.out, "- {}", fault.text)?;
    }
    Ok(())
}
