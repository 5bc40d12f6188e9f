//! Photos that are not needed, since the others show all six faces: whether they show the same stickers.
//!
//! A layer turned between two photos, or one of another cube among them, is nothing that the search for a cube reckons with: it
//! would rather take single stickers for covered, or bend the light until they fit.

use super::evidence::Seen;
use super::solve::{Guess, Solution, Task, classes_of, seen_places};
use super::{Told, solve};
use crate::calibration::{Calibration, Noise};
use crate::colour::Name;
use crate::sight::SeenPhoto;
use std::collections::BTreeMap;

/// What speaks against a photo that is not needed.
pub(super) struct Against {
    /// The photo.
    pub photo: usize,
    /// The stickers that are shown in different colours, as far as they can be told.
    pub stickers: Vec<Contradiction>,
}

/// A sticker that photos show in different colours.
pub(super) struct Contradiction {
    /// Its place in the likeliest cube.
    pub place: usize,
    /// The class of the other colour.
    pub or: usize,
}

/// The colours in each cell of each face by its photo and its number there.
type Names = BTreeMap<(usize, usize), Vec<Name>>;

/// Whether photos that are not needed contradict the others: a sticker of theirs clearly looks like another colour, the others
/// alone are read otherwise, or only a very odd light makes them agree.
pub(super) fn contradictions(
    calibration: &Calibration,
    photos: &[SeenPhoto],
    told: &[Told],
    likeliest: &Solution,
    task: &Task,
) -> Option<Against> {
    let Solution { best, colours, .. } = likeliest;
    let spare = spare(best, task.seen);
    let &photo = spare.first()?;
    let mut stickers = clear_ones(likeliest, task, &calibration.noise);
    let class_of = |name: Name| colours.start.names.iter().position(|&other| other == name);
    if let Some(alone) = read_without(calibration, photos, told, &spare) {
        for (place, member, cell) in seen_places(best, task.seen) {
            let face = (task.seen[member].photo, task.seen[member].face_in_view);
            let or = alone.get(&face).and_then(|names| class_of(names[cell]));
            if let Some(or) = or.filter(|&or| or != best.decoded.classes[place]) {
                stickers.push(Contradiction { place, or });
            }
        }
    }
    let in_odd_light = in_odd_light(likeliest, task);
    let is_odd = !stickers.is_empty() || in_odd_light.is_some();
    let photo = in_odd_light.unwrap_or(photo);
    is_odd.then_some(Against { photo, stickers })
}

/// A photo that could be left out and makes one cube with the others only in a light that fits one of its faces ill, while it
/// fits theirs.
fn in_odd_light(likeliest: &Solution, task: &Task) -> Option<usize> {
    /// So much less likely than that of most is the light of a face then, as a log. Of drawn photos of another state that
    /// were taken for the same cube all had a face 13 to 78 behind; of 24 path-traced cubes three have a face 8 behind or more.
    const BEHIND: f64 = 8.0;
    let lights =
        (0..task.seen.len()).map(|face| likeliest.colours.prior_of_face(face, &task.light));
    let lights: Vec<f64> = lights.collect();
    let mut usual = lights.clone();
    usual.sort_by(f64::total_cmp);
    let (worst, &light) = lights
        .iter()
        .enumerate()
        .filter(|&(face, _)| is_seen_without(&likeliest.best, task.seen, &[task.seen[face].photo]))
        .min_by(|one, other| one.1.total_cmp(other.1))?;
    (light < usual[usual.len() / 2] - BEHIND).then(|| task.seen[worst].photo)
}

/// Whether all six faces are seen without these photos.
fn is_seen_without(best: &Guess, seen: &[Seen], photos: &[usize]) -> bool {
    best.laid.on.iter().all(|members| {
        let mut photos_of = members.iter().map(|&(member, _)| seen[member].photo);
        photos_of.any(|photo| !photos.contains(&photo))
    })
}

/// The photos without which all six faces are still seen, those of most faces first.
fn spare(best: &Guess, seen: &[Seen]) -> Vec<usize> {
    let mut faces: BTreeMap<usize, usize> = BTreeMap::new();
    for face in seen {
        *faces.entry(face.photo).or_default() += 1;
    }
    let mut photos: Vec<usize> = faces.keys().copied().collect();
    photos.sort_by_key(|photo| std::cmp::Reverse(faces[photo]));
    let mut spare = Vec::new();
    for photo in photos {
        spare.push(photo);
        if !is_seen_without(best, seen, &spare) {
            spare.pop();
        }
    }
    spare
}

/// Stickers seen twice, one time clearly in another colour than the cube has.
fn clear_ones(likeliest: &Solution, task: &Task, noise: &Noise) -> Vec<Contradiction> {
    /// By so many nats. Of 13,383 stickers of path-traced photos that nothing covers, one looked so much like another colour.
    const CLEARLY: f64 = 8.0;
    let Solution { best, colours, .. } = likeliest;
    let wrong = seen_places(best, task.seen).filter_map(|(place, member, cell)| {
        let is_bare = task.seen[member].cells[cell].misread < 2.0 * noise.misread_share.value;
        let is_twice = best.laid.on[place / (task.n * task.n)].len() > 1;
        let logs = &colours.likelihoods[member][cell];
        let or = (0..6).max_by(|&one, &other| logs[one].total_cmp(&logs[other]))?;
        let is_clear = logs[or] > logs[best.decoded.classes[place]] + CLEARLY;
        (is_bare && is_twice && is_clear).then_some(Contradiction { place, or })
    });
    wrong.collect()
}

/// What the other photos show by themselves, if they are sure of it.
fn read_without(
    calibration: &Calibration,
    photos: &[SeenPhoto],
    told: &[Told],
    spare: &[usize],
) -> Option<Names> {
    /// How sure they must be of what is in each face.
    const SURE: f64 = 0.99;
    let kept: Vec<usize> = (0..photos.len())
        .filter(|photo| !spare.contains(photo))
        .collect();
    let alone: Vec<SeenPhoto> = kept.iter().map(|&photo| photos[photo].clone()).collect();
    let told = told.iter().filter_map(|told| {
        let photo = kept.iter().position(|&photo| photo == told.photo)?;
        Some(Told { photo, ..*told })
    });
    let told: Vec<Told> = told.collect();
    let names = super::begun(calibration, &alone, &told, |task, looks| {
        let understanding = solve::understand(task, looks);
        let sureness = solve::sureness(task, &understanding);
        let likeliest = understanding
            .solutions
            .first()
            .filter(|_| sureness.faces > SURE);
        let solve::Solution { best, colours, .. } = likeliest.ok_or(super::Error::NoCube)?;
        let word = |class: usize| colours.start.names[class];
        let classes = classes_of(best, task.seen).into_iter();
        let names = classes.map(|classes| classes.into_iter().map(word).collect());
        let faces = task.seen.iter();
        let faces = faces.map(|face| (kept[face.photo], face.face_in_view));
        Ok(faces.zip(names).collect())
    });
    names.ok()
}
