//! A cube whose stickers are known to what is to be said about it.

use crate::advise::{Task, advise};
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

impl Examination {
    /// That the learner seems to be in the middle of something, and how far from what; `None` if not.
    pub fn in_the_middle(&self) -> Option<String> {
        let advice = self.advice.as_ref()?;
        let is_middle = matches!(
            advice.step.aim.task,
            Task::TurnBack { .. } | Task::SlicesBack { .. } | Task::CarryOn { .. }
        );
        let told = || format!("You seem to be in the middle of something. {}.", advice.aim);
        is_middle.then(told)
    }

    /// The one sentence a person needs first: what is broken, else that they are in the middle of something, else where
    /// the cube stands.
    pub fn sentence(&self) -> String {
        let broken = self.legality.faults.first();
        let broken = broken.map(|fault| fault.text.clone());
        broken
            .or_else(|| self.in_the_middle())
            .unwrap_or_else(|| self.diagnosis.text.clone())
    }
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
