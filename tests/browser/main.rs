//! The live page in a real browser, headless Chromium with its fake camera playing photos of real lessons' kind; and
//! the page of a lesson.
//!
//! Needs `chromium` on the path (Debian: `apt-get install --no-install-recommends chromium`).

#![expect(
    clippy::unwrap_used,
    clippy::panic,
    reason = "a test that cannot drive the browser must fail"
)]

mod browser;
mod camera;
mod journeys;
mod lesson;
mod program;
