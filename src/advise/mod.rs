//! A diagnosis to a hold, moves and routes, each proved on the very state by turning it.

mod aim;
mod cross;
mod layers;
pub mod measure;
mod parity;
mod progress;
mod proof;
mod search;

pub use aim::{Aim, Piece, Task};
pub use layers::finish;
pub use measure::{Reaches, Stage};
pub use proof::{Claim, Error, Step, Walk};

#[cfg(test)]
mod tests;
