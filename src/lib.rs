//! sixfold reads the stickers of a physical N×N×N cube from photos and says where its solver is.
//!
//! The stages, each a room of its own:
//!
//! 1. [`sight`]: a photo to the faces seen in it, each an n×n grid of colour patches.
//! 2. [`assemble`]: the seen faces to one cube state, its doubts, and how sure it is.
//! 3. [`cube`]: states, turns, pieces, and the laws a state must obey to exist.
//! 4. [`diagnose`]: a state to the stage of the reduction and the case it is in.
//! 5. [`advise`]: a diagnosis to a hold and moves, each proved on the very state.
//! 6. [`explain`]: all of it in words and pictures.
//!
//! [`reader`] runs them one after another.

pub mod advise;
pub mod app;
pub mod assemble;
pub mod calibration;
pub mod colour;
pub mod cube;
pub mod diagnose;
pub mod explain;
pub mod geometry;
pub mod reader;
pub mod sight;
#[cfg(test)]
mod testkit;
