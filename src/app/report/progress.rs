//! How far a long piece of work is, on the terminal.

use indicatif::{ProgressBar, ProgressDrawTarget, ProgressStyle};
use std::io::{self, IsTerminal};

/// A bar for so many `things`, such as photos; quiet where nobody sits at a terminal.
pub fn progress(count: usize, things: &str) -> ProgressBar {
    let target = if io::stderr().is_terminal() {
        ProgressDrawTarget::stderr()
    } else {
        ProgressDrawTarget::hidden()
    };
    let bar = ProgressBar::with_draw_target(Some(count as u64), target);
    let template = format!("{{bar:32}} {{pos}} of {{len}} {things}, {{eta}} left");
    // The template is fixed: were it wrong, the plain bar would do.
    if let Ok(style) = ProgressStyle::with_template(&template) {
        bar.set_style(style);
    }
    bar
}
