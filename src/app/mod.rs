//! The program around the reader: command line, files, clock. Nothing below this room touches any of them.

use std::ffi::OsString;
use std::process::ExitCode;

/// Runs the program with these arguments, the program's name first.
pub fn run(arguments: Vec<OsString>) -> ExitCode {
    drop(arguments);
    ExitCode::from(2)
}
