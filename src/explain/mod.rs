//! Results to words and pictures; it decides nothing.
//!
//! Pictures are SVG texts that need no font and no other file: letters are drawn as strokes (see
//! [`letters`]). [`png()`] turns any of them into pixels.
//! No picture and no sentence says anything by colour alone: every sticker carries its letter.

mod advice;
mod aim;
mod letters;
mod net;
mod paint;
mod png;
mod sheet;
mod slant;
mod solid;
mod words;

pub use advice::{Guidance, GuidancePart};
pub use aim::places_to_watch;
pub use net::{Mark, net, net_with};
pub use paint::{Paint, letter, paint};
pub use png::{PictureError, png};
pub use sheet::{Card, Part, PartedSheet, Sheet, case_sheet};
pub use solid::{Solid, solid};
pub use words::{piece_kind, spoken};
