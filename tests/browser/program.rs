//! The program under test, serving its page.

use std::io::{BufRead, BufReader};
use std::process::{Child, Command, Stdio};

/// A running `sixfold live`.
pub struct Program {
    child: Child,
    /// The address of its page.
    pub url: String,
}

impl Program {
    /// Starts it with these arguments besides `live --no-open`.
    pub fn start(arguments: &[&str]) -> Self {
        let mut child = Command::new(env!("CARGO_BIN_EXE_sixfold"))
            .args(["live", "--no-open"])
            .args(arguments)
            .stdout(Stdio::piped())
            .spawn()
            .unwrap();
        let mut url = String::new();
        BufReader::new(child.stdout.take().unwrap())
            .read_line(&mut url)
            .unwrap();
        let url = url.trim().to_owned();
        assert!(url.starts_with("http://127.0.0.1:"), "{url}");
        Self { child, url }
    }
}

impl Drop for Program {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
