//! Many photos to the cubes they show: which of them belong together, by what they show.
//!
//! A set of photos is one cube when its faces fit a cube that can be far better than chance, and when no photo of the
//! rest would do in the place of one of them. What fits nowhere, or in two places, is left over and told.
//! It knows the order in which photos came and trusts it only as far as the photos bear it out.

mod balance;
mod known;
mod search;

use super::likeness::Pattern;
use crate::assemble::Assembly;
use crate::calibration::Calibration;
use crate::sight::SeenPhoto;
use balance::Unit;
use known::Known;
use std::collections::BTreeSet;

pub use known::Judge;

/// What photos were sorted into; photos are told by their index.
#[derive(Clone, Debug, Default)]
pub struct Sorted {
    /// Cubes seen whole.
    pub cubes: Vec<Company>,
    /// Several photos of one and the same face, with no cube around it.
    pub same_face: Vec<Vec<usize>>,
    /// The rest, each with the reason.
    pub left_over: Vec<(usize, LeftOver)>,
}

/// Photos that show one cube.
#[derive(Clone, Debug)]
pub struct Company {
    /// The photos, in the order in which they came.
    pub photos: Vec<usize>,
    /// For each of them, the view that shows the cube.
    pub views: Vec<usize>,
    /// The cube they make.
    pub assembly: Assembly,
}

/// Why a photo belongs to no cube.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LeftOver {
    /// No face was found in it.
    NoFace,
    /// It makes no cube with any other photos.
    FitsNowhere,
    /// It would fit several cubes as well.
    FitsSeveral,
    /// It seems to show a face again that a photo of a cube shows already.
    Repeats {
        /// That photo.
        photo: usize,
    },
}

/// Sorts photos, given in the order in which they were taken as far as that is known.
pub fn sort_out(calibration: &Calibration, photos: &[&SeenPhoto], judge: Judge) -> Sorted {
    let mut sorted = Sorted::default();
    let mut is_placed = vec![false; photos.len()];
    let mut fits_several = vec![false; photos.len()];
    let units: Vec<Unit> = photos
        .iter()
        .enumerate()
        .flat_map(|(index, photo)| balance::units(calibration, index, photo))
        .collect();
    let mut sizes: Vec<usize> = units.iter().map(|unit| unit.n).collect();
    sizes.sort_unstable();
    sizes.dedup();
    let patterns: Vec<Option<Pattern>> = photos.iter().map(|photo| lone_pattern(photo)).collect();
    let series = series(photos, &patterns);
    let mut known = Known::new(photos, judge);
    loop {
        let before = sorted.cubes.len();
        // What most photos show at first sight goes before what some of them could show besides.
        for rank in 0..2 {
            for &n in &sizes {
                let withheld = withheld(&series, &is_placed);
                let here: Vec<&Unit> = units
                    .iter()
                    .filter(|unit| {
                        unit.n == n
                            && unit.rank <= rank
                            && !is_placed[unit.photo]
                            && !withheld.contains(&unit.photo)
                    })
                    .collect();
                let found = search::search(photos, &here, &mut known);
                for company in found.cubes {
                    for &photo in &company.photos {
                        is_placed[photo] = true;
                    }
                    sorted.cubes.push(company);
                }
                for photo in found.fits_several {
                    fits_several[photo] = true;
                }
            }
        }
        // A face taken again and again may belong to a later moment of the cube, too.
        if sorted.cubes.len() == before || series.is_empty() {
            break;
        }
    }
    sorted.cubes.sort_by_key(|company| company.photos[0]);
    let rest: Vec<usize> = (0..photos.len())
        .filter(|&photo| !is_placed[photo])
        .collect();
    let rest = share_out_repeats(photos, &patterns, rest, &mut sorted);
    for photo in rest {
        let reason = if photos[photo].views.is_empty() {
            LeftOver::NoFace
        } else if fits_several[photo] {
            LeftOver::FitsSeveral
        } else {
            LeftOver::FitsNowhere
        };
        sorted.left_over.push((photo, reason));
    }
    sorted.left_over.sort_by_key(|&(photo, _)| photo);
    sorted
}

/// The pattern of a photo that shows one face.
fn lone_pattern(photo: &SeenPhoto) -> Option<Pattern> {
    let view = photo.views.first()?;
    let [face] = &view.faces[..] else { return None };
    Pattern::of(face)
}

/// Photos of which each agrees with most of its group, one of which may be blurred.
fn groups_alike(patterns: &[Option<Pattern>], among: &[usize]) -> Vec<Vec<usize>> {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for &photo in among {
        let Some(pattern) = &patterns[photo] else {
            continue;
        };
        let known = groups.iter_mut().find(|group| {
            let mut alike = 0;
            for &other in group.iter() {
                alike += usize::from(
                    patterns[other]
                        .as_ref()
                        .is_some_and(|other| pattern.is_like(other)),
                );
            }
            2 * alike > group.len()
        });
        match known {
            Some(group) => group.push(photo),
            None => groups.push(vec![photo]),
        }
    }
    groups
}

/// Photos of one face taken again and again, three times at least, the surest first. On a 2×2×2 faces are alike by chance.
fn series(photos: &[&SeenPhoto], patterns: &[Option<Pattern>]) -> Vec<Vec<usize>> {
    let sureness = |photo: usize| {
        let face = photos[photo]
            .views
            .first()
            .and_then(|view| view.faces.first());
        face.filter(|face| face.n > 2).map(|face| face.sureness)
    };
    let among: Vec<usize> = (0..photos.len())
        .filter(|&photo| sureness(photo).is_some())
        .collect();
    let mut groups = groups_alike(patterns, &among);
    groups.retain(|group| group.len() > 2);
    for group in &mut groups {
        group.sort_by(|&one, &other| {
            let sureness = |photo| sureness(photo).unwrap_or(0.0);
            sureness(other).total_cmp(&sureness(one))
        });
    }
    groups
}

/// All photos of a series but the first that has no place yet.
fn withheld(series: &[Vec<usize>], is_placed: &[bool]) -> BTreeSet<usize> {
    let free = |photo: &&usize| !is_placed[**photo];
    series
        .iter()
        .flat_map(|group| group.iter().filter(free).skip(1))
        .copied()
        .collect()
}

/// Sorts photos that make no cube but show a face again, of a cube or of each other; the others are given back.
fn share_out_repeats(
    photos: &[&SeenPhoto],
    patterns: &[Option<Pattern>],
    rest: Vec<usize>,
    sorted: &mut Sorted,
) -> Vec<usize> {
    let mut placed: Vec<(usize, Pattern)> = Vec::new();
    for cube in &sorted.cubes {
        for (&photo, &view) in cube.photos.iter().zip(&cube.views) {
            let faces = photos[photo].views[view].faces.iter();
            placed.extend(faces.filter_map(|face| Some((photo, Pattern::of(face)?))));
        }
    }
    let mut others = Vec::new();
    for photo in rest {
        let again = patterns[photo].as_ref().and_then(|pattern| {
            let mut shown = placed.iter();
            shown.find(|(_, other)| pattern.is_like(other))
        });
        match again {
            Some(&(other, _)) => {
                let reason = LeftOver::Repeats { photo: other };
                sorted.left_over.push((photo, reason));
            }
            None => others.push(photo),
        }
    }
    sorted.same_face = groups_alike(patterns, &others);
    sorted.same_face.retain(|group| group.len() > 1);
    others.retain(|photo| !sorted.same_face.iter().any(|group| group.contains(photo)));
    others
}
