//! The command line: words to a plan, and one file a command that carries it out.

mod calibrate;
mod cases;
mod diagnose;
mod lesson;
mod live;
mod mistaken;
mod photos;
mod picture;
mod read;
mod route;
mod sequence;
mod trace;

pub use trace::Timings;

use picture::drawable;

use super::report::Screen;
use super::{Stop, Verdict};
use clap::{Args, Parser, Subcommand};
use std::ffi::OsString;
use std::path::PathBuf;

/// Reads the stickers of a cube of any size from photos and says where its solver is.
#[derive(Debug, Parser)]
#[command(
    name = "sixfold",
    version,
    after_help = "Exit status: 0 answered, 1 the input could not be used, 2 wrong command line, \
                  3 doubtful or unreadable.\nPhotos stay on this computer: nothing is sent anywhere."
)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Debug, Subcommand)]
enum Command {
    Read(read::Read),
    Calibrate(calibrate::Calibrate),
    Diagnose(diagnose::Diagnose),
    Route(route::Route),
    Sequence(sequence::Sequence),
    Cases(cases::Cases),
    Live(live::Live),
    Lesson(lesson::Lesson),
}

/// How the answer is given.
#[derive(Debug, Args)]
struct Output {
    /// Print one JSON document for other programs instead of text
    #[arg(long)]
    json: bool,
    /// Also draw the unfolded faces into this file: .svg or .png
    #[arg(long, value_name = "FILE", value_parser = drawable())]
    picture: Option<PathBuf>,
}

/// Carries out what the arguments ask for.
///
/// # Errors
///
/// [`Stop::CommandLine`] if the arguments make no sense or ask for help, [`Stop::Input`] if what they name
/// cannot be used.
pub fn run(arguments: &[OsString], screen: &mut Screen) -> Result<Verdict, Stop> {
    let parsed = Arguments::try_parse_from(arguments)
        .map_err(|problem| Stop::CommandLine(mistaken::with_tips(problem, arguments)))?;
    match parsed.command {
        Command::Read(plan) => plan.run(screen),
        Command::Calibrate(plan) => plan.run(screen),
        Command::Diagnose(plan) => plan.run(screen),
        Command::Route(plan) => plan.run(screen),
        Command::Sequence(plan) => plan.run(screen),
        Command::Cases(plan) => plan.run(screen),
        Command::Live(plan) => plan.run(screen),
        Command::Lesson(plan) => plan.run(screen),
    }
}
