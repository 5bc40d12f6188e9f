//! The clock of this process.

use std::sync::OnceLock;
use std::time::{Duration, Instant};

/// Time since the clock was first asked.
pub fn now() -> Duration {
    static START: OnceLock<Instant> = OnceLock::new();
    START.get_or_init(Instant::now).elapsed()
}

/// A duration in milliseconds.
pub fn millis(duration: Duration) -> f64 {
    duration.as_secs_f64() * 1e3
}
