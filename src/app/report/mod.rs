//! Results on the terminal: the same sentences with and without colour, a letter on every sticker.

mod examination;
mod net;
mod reading;
mod screen;

pub use examination::{details, headline, incomplete};
pub use net::net;
pub use reading::{reading, reading_for_programs};
pub use screen::Screen;

use serde::Serialize;
use std::io;

/// Writes a value as one JSON document.
///
/// # Errors
///
/// If it cannot be written.
pub fn json(screen: &mut Screen, value: &impl Serialize) -> io::Result<()> {
    serde_json::to_writer(&mut *screen.out, value)?;
    writeln!(screen.out)
}
