//! A look over the shoulder of each stage: how long it took and a picture of what it found.
//!
//! It neither reads a clock nor writes a file: whoever wants times brings the clock, whoever wants pictures takes
//! them away afterwards.

use image::RgbImage;
use std::time::Duration;

/// What one stage left behind.
#[derive(Clone, Debug)]
pub struct Stage {
    /// The stage's name, one plain word.
    pub name: &'static str,
    /// How long it took; nought without a clock.
    pub took: Duration,
}

/// The record of a run. `Trace::default()` keeps nothing and costs nothing.
#[derive(Debug, Default)]
pub struct Trace {
    clock: Option<fn() -> Duration>,
    wants_pictures: bool,
    stages: Vec<Stage>,
    pictures: Vec<(&'static str, RgbImage)>,
}

impl Trace {
    /// A trace that times each stage by a clock, which counts up from any beginning.
    pub fn timed(clock: fn() -> Duration) -> Self {
        Self {
            clock: Some(clock),
            ..Self::default()
        }
    }

    /// The same trace, also keeping a picture of each stage.
    #[must_use]
    pub fn with_pictures(mut self) -> Self {
        self.wants_pictures = true;
        self
    }

    /// The stages in the order in which they ran.
    pub fn stages(&self) -> &[Stage] {
        &self.stages
    }

    /// Takes the kept pictures out, each with its stage's name.
    pub fn take_pictures(&mut self) -> Vec<(&'static str, RgbImage)> {
        std::mem::take(&mut self.pictures)
    }

    /// Runs a stage and notes its time.
    pub fn stage<T>(&mut self, name: &'static str, work: impl FnOnce() -> T) -> T {
        let start = self.clock.map(|now| now());
        let result = work();
        if let (Some(now), Some(start)) = (self.clock, start) {
            self.stages.push(Stage {
                name,
                took: now().saturating_sub(start),
            });
        }
        result
    }

    /// Keeps a stage's picture, painted only when pictures are wanted.
    pub fn picture(&mut self, name: &'static str, paint: impl FnOnce() -> RgbImage) {
        if self.wants_pictures {
            self.pictures.push((name, paint()));
        }
    }
}
