//! Where live pictures come from: the computer's own camera, the browser's, or a recording.
//!
//! All three are a [`Source`]: asked for the newest frame, it gives one, or says what keeps it from giving one.
//! Frames are handed over as they came; turning them into pixels is [`Frame::decode`]'s work, so that frames nobody
//! has time for cost nothing.
//! It has never heard of cubes.

mod frame;
#[cfg_attr(feature = "camera", path = "native_enabled.rs")]
#[cfg_attr(not(feature = "camera"), path = "native_disabled.rs")]
mod native;
mod posted;
mod recording;
mod trouble;

pub use frame::{DecodeError, Frame, Pixels};
pub use native::{Listed, list, native};
pub use posted::{Post, Posted, posted};
pub use recording::{Pace, Recording};
pub use trouble::Trouble;

use std::time::Duration;

/// What a source has to give.
#[derive(Debug)]
pub enum Next {
    /// The newest frame.
    Frame(Frame),
    /// Nothing new yet; asking again is worth while.
    Nothing,
    /// Something keeps the frames from coming. It may pass: asking again is worth while.
    Trouble(Trouble),
    /// A recording is at its end.
    Over,
}

/// How a camera's exposure and white balance stand.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Locking {
    /// They follow the light.
    #[default]
    Free,
    /// They are held, as read back from the camera.
    Held,
    /// At least one of them did not let itself be held: which, and why.
    Refused(String),
}

/// A stream of frames that always gives the newest one.
pub trait Source: Send {
    /// What to call it before people.
    fn name(&self) -> String;

    /// The newest frame not yet given, waiting for it no longer than `patience`.
    fn next(&mut self, patience: Duration) -> Next;

    /// Holds exposure and white balance as they are now, or gives them back; a camera just opened is not held yet.
    fn hold_exposure(&mut self, is_held: bool) {
        let _ = is_held;
    }

    /// How that stands; `None` if this source cannot tell.
    fn locking(&self) -> Option<Locking> {
        None
    }
}
