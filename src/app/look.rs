//! Many photos looked at on all cores, each decoded, looked at and forgotten before the next.

use super::clock;
use super::files::{PhotoProblem, decode, photo_from, read_bytes, read_photo};
use crate::reader::{agreed_size, lacks_size};
use crate::sight::{Photo, SeenPhoto, Trace, look, look_for};
use std::path::{Path, PathBuf};
use std::sync::Mutex;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::thread;
use std::time::Duration;

/// What came of one photo.
#[derive(Debug)]
pub struct Looked {
    /// Where it lies.
    pub path: PathBuf,
    /// What was seen in it.
    pub seen: Result<SeenPhoto, PhotoProblem>,
    /// How long decoding and looking took.
    pub took: Duration,
    /// The stages of looking, their times and, if wanted, pictures.
    pub trace: Trace,
}

/// Looks at all photos; the results stand in the order of the paths.
pub fn look_at_all(paths: &[PathBuf], wants_pictures: bool) -> Vec<Looked> {
    let next = AtomicUsize::new(0);
    let done = Mutex::new(Vec::with_capacity(paths.len()));
    let workers = thread::available_parallelism().map_or(1, usize::from);
    let work = || {
        loop {
            let index = next.fetch_add(1, Ordering::Relaxed);
            let Some(path) = paths.get(index) else {
                break;
            };
            let looked = look_at(path, wants_pictures);
            if let Ok(mut done) = done.lock() {
                done.push((index, looked));
            }
        }
    };
    thread::scope(|scope| {
        for _ in 1..workers.min(paths.len()) {
            scope.spawn(work);
        }
        work();
    });
    let mut done = done.into_inner().unwrap_or_default();
    done.sort_by_key(|&(index, _)| index);
    done.into_iter().map(|(_, looked)| looked).collect()
}

/// Looks again, at full size and with the order that most photos agree on, at those that do not show it; what is found there goes in
/// front of what was found before.
pub fn look_again(looked: &mut [Looked]) {
    let seen = looked.iter().filter_map(|photo| photo.seen.as_ref().ok());
    let Some(n) = agreed_size(seen) else {
        return;
    };
    let lacks = |photo: &&mut Looked| photo.seen.as_ref().is_ok_and(|seen| lacks_size(seen, n));
    let mut lacking: Vec<&mut Looked> = looked.iter_mut().filter(lacks).collect();
    let workers = thread::available_parallelism().map_or(1, usize::from);
    for batch in lacking.chunks_mut(workers) {
        thread::scope(|scope| {
            for photo in batch {
                scope.spawn(move || look_at_again(photo, n));
            }
        });
    }
}

fn look_at_again(looked: &mut Looked, n: usize) {
    let start = clock::now();
    let trace = &mut looked.trace;
    let read = trace.stage("decode", || read_photo(&looked.path));
    // What could be read a moment ago and cannot now is left as it was.
    if let (Ok(pixels), Ok(seen)) = (read, &mut looked.seen) {
        let again = look_for(trace, &Photo::from(pixels), n);
        seen.views.splice(0..0, again.views);
    }
    looked.took += clock::now().saturating_sub(start);
}

fn look_at(path: &Path, wants_pictures: bool) -> Looked {
    let start = clock::now();
    let mut trace = Trace::timed(clock::now);
    if wants_pictures {
        trace = trace.with_pictures();
    }
    let seen = read_bytes(path).and_then(|bytes| {
        let Decoded {
            mut seen, factor, ..
        } = decode_and_look(&mut trace, path, &bytes)?;
        seen.enlarge(factor);
        Ok(seen)
    });
    Looked {
        path: path.to_owned(),
        seen,
        took: clock::now().saturating_sub(start),
        trace,
    }
}

/// A photo decoded, perhaps smaller than it is, and what was seen in it.
pub struct Decoded {
    /// The photo as it was looked at.
    pub photo: Photo,
    /// What was seen, in its pixels.
    pub seen: SeenPhoto,
    /// How many times as large it really is.
    pub factor: f64,
}

/// Decodes a photo at the scale looking needs and looks at it; at full size where that shows nothing.
pub fn decode_and_look(
    trace: &mut Trace,
    path: &Path,
    bytes: &[u8],
) -> Result<Decoded, PhotoProblem> {
    let scaled = trace.stage("decode", || photo_from(path, bytes))?;
    let (mut photo, mut factor) = (Photo::from(scaled.pixels), scaled.factor);
    let mut seen = look(trace, &photo);
    if seen.views.is_empty() && factor > 1.0 {
        let whole = trace.stage("decode", || decode(path, bytes))?;
        (photo, factor) = (Photo::from(whole), 1.0);
        seen = look(trace, &photo);
    }
    Ok(Decoded {
        photo,
        seen,
        factor,
    })
}
