//! A diagnosis to a hold, moves and routes, each proved on the very state by turning it.

mod aim;
mod arrangement;
mod centre_search;
mod centres;
mod cross;
mod edges;
mod holding;
mod last_groups;
mod layers;
pub mod measure;
mod pairing;
mod parity;
mod progress;
mod proof;
mod route;
mod search;
mod tools;
mod wings;

pub use aim::{Aim, Piece, Task};
pub use measure::Reaches;
pub use proof::{Claim, Error, Part, PartKind, Step, Walk};
pub use route::{Route, next_step, route};

#[cfg(test)]
mod tests;
