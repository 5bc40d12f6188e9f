//! A cube whose stickers are known to what is to be said about it.

use crate::calibration::Scheme;
use crate::colour::Name;
use crate::cube::{Fault, check_in_words};
use crate::cube::{State, Words};
use serde::Serialize;

/// What is to be said about a cube whose stickers are known.
#[derive(Clone, Debug, Serialize)]
pub struct Examination {
    /// Whether such a cube can exist.
    pub legality: Legality,
}

/// Whether a state can be reached by turning, and what speaks against it.
#[derive(Clone, Debug, Serialize)]
pub struct Legality {
    /// Whether it can.
    pub legal: bool,
    /// The laws it breaks; none if it can.
    pub faults: Vec<Fault>,
}

/// Examines a state whose faces have these colours.
pub fn examine(state: &State, scheme: Scheme) -> Examination {
    let words = Words::new(scheme.0.map(Name::word));
    let faults = check_in_words(state, &words);
    Examination {
        legality: Legality {
            legal: faults.is_empty(),
            faults,
        },
    }
}
