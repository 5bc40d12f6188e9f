//! The flow from photos to the answer, one line a stage.

mod colouring;
mod examine;

pub use colouring::{Colouring, ColouringError};
pub use examine::{Examination, Legality, examine};
