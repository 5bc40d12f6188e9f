//! The live page: a server on this machine alone that shows what the session sees and says.

#[cfg_attr(feature = "web", path = "enabled.rs")]
#[cfg_attr(not(feature = "web"), path = "disabled.rs")]
mod serving;

#[cfg(feature = "web")]
pub use serving::Request;
pub use serving::live;

use crate::calibration::Calibration;
use std::path::PathBuf;

/// Where the pictures come from.
#[derive(Clone, Debug, PartialEq)]
pub enum Pictures {
    /// A camera of this computer, by number or part of its name, or the first one.
    Camera(Option<String>),
    /// The camera of the browser that shows the page.
    Browser,
    /// A folder of frames.
    Recording {
        /// The folder.
        folder: PathBuf,
        /// Frames a second.
        rate: f64,
        /// Whether it begins again at its end.
        is_endless: bool,
    },
}

/// What to serve.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// Where the pictures come from.
    pub pictures: Pictures,
    /// The port, or 0 for any free one.
    pub port: u16,
    /// Whether to read one cube after another.
    pub is_table: bool,
    /// What is known of cubes beforehand.
    pub calibration: Calibration,
    /// Whether to open the page in the person's browser.
    pub opens_browser: bool,
}
