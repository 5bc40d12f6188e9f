//! Pictures to files, in the format their name asks for.

use crate::app::files::write_whole;
use crate::explain::png;
use anyhow::{Result, bail};
use std::path::Path;

/// Pixels for each unit of a picture: sharp on paper and on dense screens.
const SCALE: f32 = 2.0;

/// Writes an SVG text as SVG or PNG.
///
/// # Errors
///
/// If the name ends in neither, or the file cannot be written.
pub fn write_picture(path: &Path, svg: &str) -> Result<()> {
    let ending = path
        .extension()
        .unwrap_or_default()
        .to_string_lossy()
        .to_lowercase();
    match ending.as_str() {
        "svg" => write_whole(path, svg.as_bytes()),
        "png" => write_whole(path, &png(svg, SCALE)?),
        _ => bail!(
            "a picture is drawn as .svg or .png, the name ends in neither; rename it: {}",
            path.display()
        ),
    }
}
