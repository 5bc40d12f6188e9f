//! All photos looked at once, on all cores, each decoded, looked at and forgotten before the next.

use super::cache::{self, Kept};
use super::crop::FacePicture;
use super::folder::Entry;
use crate::app::files::{Moment, PhotoProblem, make_folder, read_bytes};
use crate::app::look::{Decoded, decode_and_look};
use crate::app::report::progress;
use crate::sight::Trace;
use anyhow::Result;
use rayon::prelude::*;
use std::collections::BTreeSet;
use std::path::Path;
use std::sync::atomic::{AtomicBool, Ordering};

/// A photo that was looked at.
#[derive(Debug)]
pub struct Looked {
    /// Where it is.
    pub entry: Entry,
    /// The name under which it is remembered, the same for equal files; empty if it could not be read.
    pub key: String,
    /// What is known of it, or why nothing is.
    pub kept: Result<Kept, PhotoProblem>,
}

/// What came of all photos.
#[derive(Debug)]
pub struct LookedAt {
    /// Those looked at, in the order in which they came.
    pub photos: Vec<Looked>,
    /// How many were read anew, not remembered.
    pub fresh: usize,
    /// Those not looked at any more, since the run was interrupted.
    pub skipped: Vec<Entry>,
}

/// Looks at all photos; what is remembered in the folder of the cache is not looked at again.
///
/// # Errors
///
/// If the cache cannot be written.
pub fn look_at_all(entries: &[Entry], cache: &Path, is_stopped: &AtomicBool) -> Result<LookedAt> {
    make_folder(cache)?;
    let progress = progress(entries.len(), "photos");
    let looked: Vec<Result<Option<(Looked, bool)>>> = entries
        .par_iter()
        .map(|entry| {
            if is_stopped.load(Ordering::Relaxed) {
                return Ok(None);
            }
            let looked = look_at(entry, cache);
            progress.inc(1);
            looked.map(Some)
        })
        .collect();
    progress.finish_and_clear();
    let mut result = LookedAt {
        photos: Vec::with_capacity(entries.len()),
        fresh: 0,
        skipped: Vec::new(),
    };
    let mut keys = BTreeSet::new();
    for (entry, looked) in entries.iter().zip(looked) {
        match looked? {
            Some((looked, is_fresh)) => {
                result.fresh += usize::from(is_fresh);
                keys.insert(looked.key.clone());
                result.photos.push(looked);
            }
            None => result.skipped.push(entry.clone()),
        }
    }
    if result.skipped.is_empty() {
        cache::forget_others(cache, &keys.into_iter().collect::<Vec<_>>());
    }
    Ok(result)
}

/// The photo, and whether it was looked at just now.
fn look_at(entry: &Entry, cache: &Path) -> Result<(Looked, bool)> {
    let looked = |key, kept| Looked {
        entry: entry.clone(),
        key,
        kept,
    };
    let bytes = match read_bytes(&entry.path) {
        Ok(bytes) => bytes,
        Err(problem) => return Ok((looked(String::new(), Err(problem)), true)),
    };
    let key = cache::key(&bytes);
    if let Some(kept) = cache::recall(cache, &key) {
        return Ok((looked(key, Ok(kept)), false));
    }
    let decoded = decode_and_look(&mut Trace::default(), &entry.path, &bytes);
    let Decoded {
        photo,
        mut seen,
        factor,
    } = match decoded {
        Ok(decoded) => decoded,
        Err(problem) => return Ok((looked(key, Err(problem)), true)),
    };
    let mut pictures = Vec::with_capacity(seen.views.len());
    for view in &seen.views {
        let of_view: Result<Vec<_>> = view
            .faces
            .iter()
            .map(|face| FacePicture::of(&photo, face))
            .collect();
        pictures.push(of_view?);
    }
    seen.enlarge(factor);
    let kept = Kept {
        seen,
        taken: Moment::of_photo(&bytes),
        pictures,
    };
    cache::keep(cache, &key, &kept)?;
    Ok((looked(key, Ok(kept)), true))
}
