//! The `sixfold` command: hands the command line to the library and turns its verdict into an exit status.

use std::process::ExitCode;

fn main() -> ExitCode {
    sixfold::app::run(&std::env::args_os().collect::<Vec<_>>())
}
