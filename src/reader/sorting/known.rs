//! Sets of photos to the cubes they make, each pieced together once, and only if a glance says that it may be worth it.

use crate::assemble::Assembly;
use crate::sight::SeenPhoto;
use std::collections::BTreeMap;

/// A photo and the view of it that is meant.
pub(super) type Choice = (usize, usize);

/// Something told of each of many sets of photos.
type OfSets<'a, T> = &'a dyn Fn(&[Vec<SeenPhoto>]) -> Vec<Option<T>>;

/// Pieces sets of photos together, each photo with its view of choice in front; in the order of the sets.
#[derive(Clone, Copy)]
pub struct Judge<'a> {
    /// The kinship of each set, roughly and quickly.
    pub glance: OfSets<'a, f64>,
    /// The cube each set makes.
    pub judge: OfSets<'a, Assembly>,
}

/// What is known of sets of photos.
pub(super) struct Known<'a> {
    photos: &'a [&'a SeenPhoto],
    judge: Judge<'a>,
    glances: BTreeMap<Vec<Choice>, Option<f64>>,
    cubes: BTreeMap<Vec<Choice>, Option<Assembly>>,
}

/// How far a glance may be below the kinship, in nats, for a cube of so many stickers a face: at most 12, 9, 40, 33 and 228
/// were met for n = 4, 5, 6, 7 and 11.
fn glance_off(n: usize) -> f64 {
    8.0 + 0.2 * n.pow(3) as f64
}

impl<'a> Known<'a> {
    pub fn new(photos: &'a [&'a SeenPhoto], judge: Judge<'a>) -> Self {
        Self {
            photos,
            judge,
            glances: BTreeMap::new(),
            cubes: BTreeMap::new(),
        }
    }

    /// The kinship of sets, roughly; far below nought where they make no cube at all.
    pub fn glances(&mut self, sets: &[Vec<Choice>]) -> Vec<f64> {
        let new: Vec<&Vec<Choice>> = sets
            .iter()
            .filter(|set| !self.glances.contains_key(*set))
            .collect();
        let shown: Vec<_> = new.iter().map(|set| self.shown(set)).collect();
        let glances = (self.judge.glance)(&shown);
        self.glances.extend(new.into_iter().cloned().zip(glances));
        let glance = |set| self.glances.get(set).copied().flatten();
        let glances = sets.iter().map(glance);
        glances
            .map(|glance| glance.unwrap_or(f64::NEG_INFINITY))
            .collect()
    }

    /// Pieces those of the sets together whose kinship may reach `least`.
    pub fn learn(&mut self, sets: &[Vec<Choice>], n: usize, least: f64) {
        let glances = self.glances(sets);
        let worth = |(set, glance): &(&Vec<Choice>, f64)| {
            !self.cubes.contains_key(*set) && glance + glance_off(n) >= least
        };
        let worthy = sets.iter().zip(glances).filter(worth);
        let worthy: Vec<&Vec<Choice>> = worthy.map(|(set, _)| set).collect();
        let shown: Vec<_> = worthy.iter().map(|set| self.shown(set)).collect();
        let cubes = (self.judge.judge)(&shown);
        self.cubes.extend(worthy.into_iter().cloned().zip(cubes));
    }

    /// The cube a set makes, if it is known.
    pub fn cube(&self, set: &[Choice]) -> Option<&Assembly> {
        self.cubes.get(set)?.as_ref()
    }

    /// The photos of a set, each with the view in question alone.
    fn shown(&self, set: &[Choice]) -> Vec<SeenPhoto> {
        set.iter()
            .map(|&(photo, view)| SeenPhoto {
                views: vec![self.photos[photo].views[view].clone()],
            })
            .collect()
    }
}
