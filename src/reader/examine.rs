//! A cube whose stickers are known to what is to be said about it.

use crate::advise::advise;
use crate::calibration::Scheme;
use crate::colour::Name;
use crate::cube::{State, Words};
use crate::diagnose::{self, Diagnosis, Legality, Repair, repair};
use crate::explain::Guidance;
use serde::Serialize;

/// What is to be said about a cube whose stickers are known.
#[derive(Clone, Debug, Serialize)]
pub struct Examination {
    /// Whether such a cube can exist.
    pub legality: Legality,
    /// Where it stands.
    pub diagnosis: Diagnosis,
    /// How it can be made possible again; `None` if it can exist.
    pub repair: Option<Repair>,
    /// What to do next; `None` when it is solved or cannot exist.
    pub advice: Option<Guidance>,
    /// Why there is no advice though there should be: a fault of this program.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub own_error: Option<String>,
}

/// Examines a state whose faces have these colours.
pub fn examine(state: &State, scheme: Scheme) -> Examination {
    let words = Words::new(scheme.0.map(Name::word));
    let (legality, diagnosis) = diagnose::examine(state, &words);
    let repair = repair(state, &legality.faults, &words);
    let advised = if legality.legal {
        advise(state)
    } else {
        Ok(None)
    };
    let (advice, own_error) = match advised {
        Ok(advice) => {
            let told = advice.map(|advice| Guidance::of_advice(advice, state.n(), &words));
            (told, None)
        }
        Err(problem) => (None, Some(problem.to_string())),
    };
    Examination {
        legality,
        diagnosis,
        repair,
        advice,
        own_error,
    }
}
