//! A folder of frames, played in the order of their names as if a camera gave them.

use super::{Frame, Next, Pixels, Source, Trouble};
use anyhow::{Context, bail, ensure};
use image::ImageReader;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};
use std::{fs, thread};

/// How a recording is played.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Pace {
    /// This many frames a second; a reader that is late misses some.
    Live(f64),
    /// Every frame, as fast as they are asked for, stamped with the time at this many frames a second.
    Every(f64),
}

/// A folder of pictures as a stream.
#[derive(Debug)]
pub struct Recording {
    name: String,
    frames: Vec<PathBuf>,
    next: u64,
    pace: Pace,
    start: Option<Instant>,
    is_endless: bool,
}

impl Recording {
    /// The JPEG and PNG files of a folder.
    ///
    /// # Errors
    ///
    /// If the folder cannot be read or has no such file.
    pub fn open(folder: &Path, pace: Pace) -> anyhow::Result<Self> {
        let shown = folder.display();
        ensure!(
            folder.is_dir(),
            "a recording is a folder of JPEG or PNG frames, and this is none; check the name: {shown}"
        );
        let entries = fs::read_dir(folder)
            .with_context(|| format!("the recording cannot be read: {shown}"))?;
        let mut frames = Vec::new();
        for entry in entries {
            let path = entry
                .with_context(|| format!("the recording cannot be read: {shown}"))?
                .path();
            if is_picture(&path) {
                frames.push(path);
            }
        }
        if frames.is_empty() {
            bail!("a recording is a folder of JPEG or PNG frames, and this one has none: {shown}");
        }
        frames.sort();
        Ok(Self {
            name: format!("the recording {shown}"),
            frames,
            next: 0,
            pace,
            start: None,
            is_endless: false,
        })
    }

    /// The same recording, begun again whenever it is over.
    #[must_use]
    pub fn endless(mut self) -> Self {
        self.is_endless = true;
        self
    }

    /// The number of frames it has.
    pub fn count(&self) -> usize {
        self.frames.len()
    }

    /// The number of the frame due now, having waited no longer than `patience` for it.
    fn due(&mut self, patience: Duration) -> Option<u64> {
        let Pace::Live(rate) = self.pace else {
            return Some(self.next);
        };
        let start = *self.start.get_or_insert_with(Instant::now);
        let wait = Duration::from_secs_f64(self.next as f64 / rate).saturating_sub(start.elapsed());
        thread::sleep(wait.min(patience));
        if wait > patience {
            return None;
        }
        let now = (start.elapsed().as_secs_f64() * rate) as u64;
        let last = self.frames.len() as u64 - 1;
        Some(if self.is_endless {
            now.max(self.next)
        } else {
            now.clamp(self.next, last.max(self.next))
        })
    }
}

impl Source for Recording {
    fn name(&self) -> String {
        self.name.clone()
    }

    fn next(&mut self, patience: Duration) -> Next {
        let count = self.frames.len() as u64;
        if self.next >= count && !self.is_endless {
            thread::sleep(patience);
            return Next::Over;
        }
        let Some(number) = self.due(patience) else {
            return Next::Nothing;
        };
        self.next = number + 1;
        let (Pace::Live(rate) | Pace::Every(rate)) = self.pace;
        let at = Duration::from_secs_f64(number as f64 / rate);
        let path = &self.frames[(number % count) as usize];
        match read(path, number, at) {
            Ok(frame) => Next::Frame(frame),
            Err(why) => Next::Trouble(Trouble::Unreadable {
                path: path.display().to_string(),
                detail: format!("{why:#}"),
            }),
        }
    }
}

fn is_picture(path: &Path) -> bool {
    let ending = path.extension().unwrap_or_default().to_ascii_lowercase();
    path.is_file() && ["jpg", "jpeg", "png"].iter().any(|known| ending == *known)
}

fn read(path: &Path, number: u64, at: Duration) -> anyhow::Result<Frame> {
    let is_png = path
        .extension()
        .is_some_and(|ending| ending.eq_ignore_ascii_case("png"));
    let (pixels, size_px, bytes) = if is_png {
        let picture = ImageReader::open(path)?.decode()?.into_rgb8();
        (Pixels::Rgb, picture.dimensions(), picture.into_raw())
    } else {
        (Pixels::Jpeg, (0, 0), fs::read(path)?)
    };
    Ok(Frame {
        number,
        at,
        size_px,
        pixels,
        bytes,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    const BURST: &str = concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/fixtures/photos/bursts-normal/burst-02-n6"
    );

    #[test]
    fn every_frame_of_a_folder_in_order() {
        let mut recording = Recording::open(Path::new(BURST), Pace::Every(30.0)).unwrap();
        let mut count = 0;
        while let Next::Frame(frame) = recording.next(Duration::ZERO) {
            assert_eq!(frame.number, count);
            assert_eq!(frame.at, Duration::from_secs_f64(count as f64 / 30.0));
            assert_eq!(frame.decode().unwrap().dimensions(), (640, 480));
            count += 1;
        }
        assert_eq!(count, 10);
        assert!(matches!(recording.next(Duration::ZERO), Next::Over));
    }

    #[test]
    fn an_endless_one_begins_again() {
        let recording = Recording::open(Path::new(BURST), Pace::Every(30.0)).unwrap();
        let mut recording = recording.endless();
        let numbers = (0..25).map(|_| match recording.next(Duration::ZERO) {
            Next::Frame(frame) => frame.number,
            other => panic!("{other:?}"),
        });
        assert!(numbers.eq(0..25));
    }

    #[test]
    fn a_folder_without_frames_is_refused() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/src/app/camera");
        let problem = Recording::open(Path::new(folder), Pace::Every(30.0)).unwrap_err();
        assert!(problem.to_string().contains("has none"), "{problem}");
        assert!(Recording::open(Path::new("no such folder"), Pace::Every(30.0)).is_err());
    }
}
