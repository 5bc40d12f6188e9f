//! The flow from photos to the answer, one line a stage.

mod colouring;
mod examine;
mod likeness;
mod read;
mod reading;
mod refusal;
pub mod session;
pub mod sorting;

pub use colouring::{Colouring, ColouringError};
pub use examine::{Examination, examine};
pub use read::{Shown, read, read_assembled};
pub use reading::{
    DoubtfulSticker, FaceInPhoto, LEAST_CONFIDENCE, Outcome, PhotoReading, Problem, ProblemKind,
    Reading,
};
