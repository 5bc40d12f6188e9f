//! Pictures to files, in the format their name asks for.

use crate::app::files::write_whole;
use crate::explain::{Guidance, Mark, Solid, net_with, places_to_watch, png, solid};
use crate::reader::{Colouring, Examination};
use anyhow::Result;
use clap::builder::{PathBufValueParser, TypedValueParser};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

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

/// Takes a path from the command line whose name says how to draw.
pub fn drawable() -> impl TypedValueParser<Value = PathBuf> {
    PathBufValueParser::new().try_map(|path| match format_of(&path) {
        Some(_) => Ok(path),
        None => Err("a picture is drawn as .svg or .png, the name ends in neither; rename it"),
    })
}

/// The formats pictures are drawn in.
enum Format {
    Svg,
    Png,
}

fn format_of(path: &Path) -> Option<Format> {
    let ending = path.extension()?.to_str()?.to_lowercase();
    match ending.as_str() {
        "svg" => Some(Format::Svg),
        "png" => Some(Format::Png),
        _ => None,
    }
}

/// Writes an SVG text as PNG where the name asks for it, as it is otherwise.
///
/// # Errors
///
/// If the picture cannot be drawn or the file not be written.
pub fn write_picture(path: &Path, svg: &str) -> Result<()> {
    match format_of(path) {
        Some(Format::Png) => write_whole(path, &png(svg, SCALE)?),
        _ => write_whole(path, svg.as_bytes()),
    }
}
