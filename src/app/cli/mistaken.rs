//! A command line that makes no sense, with a tip that helps: what to write instead.
//!
//! What is wrong with it the parser says well; what it proposes is about dashes, and nobody means those.

use clap::Error;
use clap::error::{ContextKind, ContextValue, ErrorKind};
use std::borrow::Cow;
use std::ffi::OsString;
use std::path::Path;

/// The same error with tips for this command in the place of the parser's.
pub fn with_tips(mut problem: Error, arguments: &[OsString]) -> Error {
    let words = arguments.iter().skip(1).map(|word| word.to_string_lossy());
    let words: Vec<String> = words.map(Cow::into_owned).collect();
    let command = words.first().map_or("", String::as_str);
    let met = match problem.get(ContextKind::InvalidArg) {
        Some(ContextValue::String(word)) => word.as_str(),
        _ => "",
    };
    let tip = match problem.kind() {
        ErrorKind::UnknownArgument if problem.get(ContextKind::SuggestedArg).is_some() => None,
        ErrorKind::UnknownArgument => instead(command, met).or_else(|| example(command)),
        ErrorKind::MissingRequiredArgument => example(command),
        ErrorKind::InvalidSubcommand => for_a_path(Path::new(command)),
        _ => return problem,
    };
    problem.remove(ContextKind::Suggested);
    if let Some(tip) = tip {
        problem.remove(ContextKind::SuggestedSubcommand);
        let tip = ContextValue::StyledStrs(vec![tip.into()]);
        problem.insert(ContextKind::Suggested, tip);
    }
    problem
}

/// What was meant by a word that a command does not take.
fn instead(command: &str, met: &str) -> Option<String> {
    let is_option = met.starts_with('-');
    let tip = match command {
        "read" | "calibrate" | "live" | "lesson" if met == "--size" => {
            "leave it out: the size is found from the photos"
        }
        "sequence" if !is_option => {
            "put all moves between quotes, as in: sixfold sequence \"R U R'\" --size 3"
        }
        "live" if !is_option => {
            "a folder of pictures is played with: sixfold live --recording FOLDER"
        }
        "lesson" if !is_option => {
            "name one folder; each cube's photos may lie in a folder of their own inside it"
        }
        _ => return None,
    };
    Some(tip.to_owned())
}

/// A whole command line of this command.
fn example(command: &str) -> Option<String> {
    let line = match command {
        "read" => "read photo-*.jpg",
        "calibrate" => "calibrate photo-*.jpg --out my-cube.json",
        "diagnose" => "diagnose reading.json",
        "route" => "route reading.json",
        "sequence" => "sequence \"R U R'\" --size 3",
        "cases" => "cases --size 6 --out sheet",
        "live" => "live --camera 0",
        "lesson" => "lesson photos --out report",
        _ => return None,
    };
    Some(format!("for example: sixfold {line}"))
}

/// The command for what stands in the place of one, if that is there.
fn for_a_path(path: &Path) -> Option<String> {
    let is_state = path.extension().is_some_and(|ending| ending == "json");
    let shown = path.display();
    if path.is_dir() {
        Some(format!(
            "a command comes first: sixfold lesson {shown} --out REPORT, or for the photos of one cube: sixfold read \
             {}",
            path.join("*.jpg").display()
        ))
    } else if path.is_file() {
        let command = if is_state { "diagnose" } else { "read" };
        Some(format!("a command comes first: sixfold {command} {shown}"))
    } else {
        None
    }
}
