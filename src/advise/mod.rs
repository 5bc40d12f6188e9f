//! A diagnosis to a hold, moves and routes, each proved on the very state by turning it.

mod advice;
mod aim;
mod analysis;
mod arrangement;
mod begun;
mod cases;
mod centre_search;
mod centres;
mod cross;
mod crossing;
mod cubies;
mod edges;
mod holding;
mod last_groups;
mod layers;
mod look_back;
pub mod measure;
mod midway;
mod pairing;
mod parity;
mod progress;
mod proof;
mod route;
mod search;
mod slices;
mod slipped;
mod tools;
mod wings;

pub use advice::{Advice, Known, Other, advise};
pub use aim::{Aim, Building, Built, Piece, Task};
pub use analysis::{Analysis, Applied, CentreFate, Cycle, GroupFate, Kind, analyse, apply};
pub use cases::{Example, Selection, all_moves, example};
pub use measure::Reaches;
pub use proof::{Claim, Error, Part, PartKind, Step, Walk};
pub use route::{Route, next_step, route};

#[cfg(test)]
mod tests;
