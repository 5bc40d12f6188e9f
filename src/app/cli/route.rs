//! `sixfold route`: the whole way from a state to solved.

use super::diagnose::{colouring_in, state_of};
use crate::advise::{Error, Step, route};
use crate::app::report::{self, Screen};
use crate::app::{Stop, Verdict};
use crate::colour::Name;
use crate::cube::Words;
use crate::explain::Guidance;
use anyhow::anyhow;
use clap::Args;
use serde::Serialize;
use std::path::PathBuf;

/// Say the whole way from a cube's stickers in a file to solved, step by step
#[derive(Debug, Args)]
pub struct Route {
    /// The stickers as JSON, or what `read --json` printed; - reads standard input
    #[arg(value_name = "STATE.json")]
    state: PathBuf,
    /// Print one JSON document for other programs instead of text
    #[arg(long)]
    json: bool,
    /// Spell every move out as a sentence
    #[arg(long)]
    words: bool,
}

/// The answer for other programs.
#[derive(Serialize)]
struct Answer {
    schema: &'static str,
    n: usize,
    steps: Vec<AnswerStep>,
    moves_total: usize,
}

#[derive(Serialize)]
struct AnswerStep {
    stage: crate::diagnose::Stage,
    #[serde(flatten)]
    advice: Guidance,
}

impl Route {
    /// Carries the command out.
    ///
    /// # Errors
    ///
    /// If the state cannot be used, no turning solves it, or the answer cannot be written.
    pub fn run(&self, screen: &mut Screen) -> Result<Verdict, Stop> {
        let colouring = colouring_in(&self.state)?;
        let (state, scheme) = state_of(&self.state, &colouring)?;
        let way = route(&state).map_err(|error| match error {
            Error::Illegal => anyhow!(
                "no turning solves this cube; `sixfold diagnose` says what is wrong and how to mend it: {}",
                self.state.display()
            ),
            own => own.into(),
        })?;
        let words = Words::new(scheme.0.map(Name::word));
        let n = state.n();
        let steps = way.steps.into_iter().map(|step: Step| AnswerStep {
            stage: step.stage,
            advice: Guidance::of(step, n, &words),
        });
        let answer = Answer {
            schema: "sixfold.route/1",
            n,
            steps: steps.collect(),
            moves_total: way.moves_total,
        };
        if self.json {
            report::json(screen, &answer)?;
        } else {
            self.tell(screen, &answer)?;
        }
        Ok(Verdict::Answered)
    }

    fn tell(&self, screen: &mut Screen, answer: &Answer) -> anyhow::Result<()> {
        if answer.steps.is_empty() {
            screen.strong("The cube is solved.")?;
            return Ok(());
        }
        let count = answer.steps.len();
        screen.strong(&format!(
            "{} {} and {} turns to solved.",
            count,
            if count == 1 { "step" } else { "steps" },
            answer.moves_total
        ))?;
        screen.paragraph(
            "",
            "Each step begins as the one before ended; the whole cube is turned in the hands first where it says so.",
        )?;
        let mut stage = None;
        for (index, step) in answer.steps.iter().enumerate() {
            if stage != Some(step.stage) {
                writeln!(screen.out)?;
                screen.strong(report::stage_title(step.stage))?;
                stage = Some(step.stage);
            }
            report::step(screen, index + 1, &step.advice, self.words)?;
        }
        Ok(())
    }
}
