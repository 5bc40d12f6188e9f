//! Pictures to files, in the format their name asks for.

use crate::app::files::write_whole;
use crate::explain::{Guidance, Mark, Solid, net_with, places_to_watch, png, solid};
use crate::reader::{Colouring, Examination};
use anyhow::{Result, bail};
use std::collections::BTreeMap;
use std::path::Path;

/// Pixels for each unit of a picture: sharp on paper and on dense screens.
const SCALE: f32 = 2.0;

/// The unfolded faces; where there is advice, also the cube as it is to be held for it.
pub fn picture_of(
    colouring: &Colouring,
    marks: &BTreeMap<usize, Mark>,
    examination: Option<&Examination>,
) -> String {
    let n = colouring.n();
    let held = examination
        .and_then(|examination| examination.advice.as_ref())
        .and_then(|advice| in_hold(colouring, advice));
    let inset = held
        .as_ref()
        .map(|picture| ("hold it so", picture.as_str()));
    net_with(n, colouring.stickers(), marks, inset)
}

fn in_hold(colouring: &Colouring, advice: &Guidance) -> Option<String> {
    let hold = &advice.step.hold.0;
    let state = colouring.state(colouring.scheme().ok()?)?.after(hold);
    let mut stickers = colouring.stickers().to_vec();
    for &rotation in hold {
        state.layout().turn(&mut stickers, rotation);
    }
    Some(solid(&Solid {
        n: state.n(),
        stickers: &stickers,
        bright: &places_to_watch(&advice.step.aim, &state),
        turning: None,
        title: &advice.aim,
    }))
}

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
