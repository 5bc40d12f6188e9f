//! Many photos to the cubes they show: which of them belong together, by what they show.
//!
//! A set of photos is one cube when its faces fit a cube that can be far better than chance, and when no photo of the
//! rest would do in the place of one of them. What fits nowhere, or in two places, is left over and told.
//! It knows the order in which photos came and trusts it only as far as the photos bear it out.

mod balance;
mod search;

use super::likeness::{LEAST_AGREEMENT, agreement};
use crate::assemble::Assembly;
use crate::calibration::Calibration;
use crate::sight::{SeenPhoto, View};
use balance::Unit;

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

/// Pieces sets of photos together, each photo with its view of choice in front; in the order of the sets.
pub type Judge<'a> = &'a dyn Fn(&[Vec<SeenPhoto>]) -> Vec<Option<Assembly>>;

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
    // What most photos show at first sight goes before what some of them could show besides.
    for rank in 0..2 {
        for &n in &sizes {
            let here: Vec<&Unit> = units
                .iter()
                .filter(|unit| unit.n == n && unit.rank <= rank && !is_placed[unit.photo])
                .collect();
            let found = search::search(photos, &here, judge);
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
    sorted.cubes.sort_by_key(|company| company.photos[0]);
    let rest: Vec<usize> = (0..photos.len())
        .filter(|&photo| !is_placed[photo])
        .collect();
    share_out_rest(photos, &rest, &fits_several, &mut sorted);
    sorted
}

/// Sorts what makes no cube: photos of one face together, others told one by one.
fn share_out_rest(
    photos: &[&SeenPhoto],
    rest: &[usize],
    fits_several: &[bool],
    sorted: &mut Sorted,
) {
    let single = |photo: usize| {
        photos[photo]
            .views
            .first()
            .filter(|view| view.faces.len() == 1)
    };
    let are_alike = |one: &View, other: &View| {
        one.faces[0].n == other.faces[0].n
            && agreement(&one.faces[0], &other.faces[0]).is_some_and(|a| a >= LEAST_AGREEMENT)
    };
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for &photo in rest {
        let Some(view) = single(photo) else {
            continue;
        };
        let known = groups.iter_mut().find(|group| {
            // One frame of a series may be blurred: agreeing with most is enough.
            let alike = group
                .iter()
                .filter(|&&other| single(other).is_some_and(|other| are_alike(view, other)));
            2 * alike.count() > group.len()
        });
        match known {
            Some(group) => group.push(photo),
            None => groups.push(vec![photo]),
        }
    }
    groups.retain(|group| group.len() > 1);
    for &photo in rest {
        if groups.iter().any(|group| group.contains(&photo)) {
            continue;
        }
        let reason = if photos[photo].views.is_empty() {
            LeftOver::NoFace
        } else if fits_several[photo] {
            LeftOver::FitsSeveral
        } else {
            let shown = sorted.cubes.iter().flat_map(|cube| &cube.photos);
            let again = shown.copied().find(|&other| {
                let pair = single(photo).zip(single(other));
                pair.is_some_and(|(one, other)| are_alike(one, other))
            });
            again.map_or(LeftOver::FitsNowhere, |photo| LeftOver::Repeats { photo })
        };
        sorted.left_over.push((photo, reason));
    }
    sorted.same_face = groups;
}
