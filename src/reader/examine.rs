//! A cube whose stickers are known to what is to be said about it.

use crate::calibration::Scheme;
use crate::colour::Name;
use crate::cube::{State, Words};
use crate::diagnose::{self, Diagnosis, Legality};
use serde::Serialize;

/// What is to be said about a cube whose stickers are known.
#[derive(Clone, Debug, Serialize)]
pub struct Examination {
    /// Whether such a cube can exist.
    pub legality: Legality,
    /// Where it stands.
    pub diagnosis: Diagnosis,
}

/// Examines a state whose faces have these colours.
pub fn examine(state: &State, scheme: Scheme) -> Examination {
    let words = Words::new(scheme.0.map(Name::word));
    let (legality, diagnosis) = diagnose::examine(state, &words);
    Examination {
        legality,
        diagnosis,
    }
}
