//! The program around the reader: command line, files, clock. Nothing below this room touches any of them.

pub mod camera;
mod cli;
mod clock;
pub mod files;
mod lesson;
mod look;
mod page;
mod report;

pub use lesson::Roster;
#[cfg(feature = "web")]
pub use page::Request;

use report::{Screen, StandardOutput};
use std::ffi::OsString;
use std::io::{self, Write};
use std::process::ExitCode;

/// How a run ended, as far as the caller's exit status goes.
#[derive(Debug)]
enum Verdict {
    /// An answer was given with confidence.
    Answered,
    /// What was read is doubtful or nothing could be read.
    Unsure,
    /// The input was read but does not belong together; the answer says why.
    Unusable,
}

/// Why a run ended without a verdict.
#[derive(Debug)]
enum Stop {
    /// The command line asks for help or makes no sense.
    CommandLine(clap::Error),
    /// The input could not be used, or the result not be written.
    Input(anyhow::Error),
}

impl Stop {
    /// A command line whose parts do not go together.
    fn wrong(problem: &dyn std::fmt::Display) -> Self {
        let text = format!("{problem}\n");
        Self::CommandLine(clap::Error::raw(
            clap::error::ErrorKind::ValueValidation,
            text,
        ))
    }
}

impl<E: Into<anyhow::Error>> From<E> for Stop {
    fn from(problem: E) -> Self {
        Self::Input(problem.into())
    }
}

/// Runs the program with these arguments, the program's name first.
///
/// The exit status is 0 for an answer given with confidence, 1 if the input could not be used, 2 for a wrong
/// command line, and 3 if what was read is doubtful or nothing could be read.
pub fn run(arguments: &[OsString]) -> ExitCode {
    let mut out = StandardOutput::lock();
    let mut screen = Screen::of_process(&mut out);
    match cli::run(arguments, &mut screen) {
        Ok(Verdict::Answered) => ExitCode::SUCCESS,
        Ok(Verdict::Unsure) => ExitCode::from(3),
        Ok(Verdict::Unusable) => ExitCode::FAILURE,
        Err(Stop::CommandLine(answer)) => {
            // Help and version come this way too, with status 0; a closed terminal is no reason to fail.
            let _ = answer.print();
            ExitCode::from(answer.exit_code().clamp(0, 2) as u8)
        }
        // Whoever reads our output has seen enough, as `head` does.
        Err(Stop::Input(problem)) if is_closed_pipe(&problem) => ExitCode::SUCCESS,
        Err(Stop::Input(problem)) => {
            let _ = writeln!(io::stderr(), "sixfold: {problem:#}");
            ExitCode::FAILURE
        }
    }
}

fn is_closed_pipe(problem: &anyhow::Error) -> bool {
    let cause = problem.root_cause().downcast_ref::<io::Error>();
    cause.is_some_and(|cause| cause.kind() == io::ErrorKind::BrokenPipe)
}
