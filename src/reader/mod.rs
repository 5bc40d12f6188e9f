//! The flow from photos to the answer, one line a stage.
