//! The flow from photos to the answer, one line a stage.

mod answer;
mod colouring;
mod examine;
mod learn;
mod likeness;
mod mirror;
mod read;
mod reading;
mod refusal;
pub mod session;
mod size;
pub mod sorting;

pub use answer::{Answer, AnswerError, Heard, check_answers};
pub use colouring::{Colouring, ColouringError, Completed};
pub use examine::{Examination, examine};
pub use learn::{Learned, SAFE_DIFFERENCE};
pub use read::{Said, Shown, learn, read, read_answered, read_assembled};
pub use reading::{
    DoubtfulSticker, FaceInPhoto, KnownUse, LEAST_CONFIDENCE, Mirroring, Outcome, PhotoReading,
    Problem, ProblemKind, Reading,
};
pub use size::{agreed_size, lacks_size};
