//! What one photo alone says of its colours: how many stickers of each colour lie in each ring of a face.
//!
//! Too rough to read a cube by, but quick, and enough to tell which photos can be of one cube at all.

use super::colours::Start;
use super::evidence;
use super::first::quickly;
use super::look::Light;
use super::ring::rings;
use crate::calibration::{Calibration, ShadeSet, lab};
use crate::colour::difference;
use crate::sight::View;

/// A view understood as a cube of one kind.
#[derive(Clone, Debug)]
pub struct Sketch {
    /// How likely the view is of that kind: a log-likelihood, to be compared with those of other kinds.
    pub log: f64,
    /// For each ring of cells, the expected number of stickers of each colour of the kind.
    pub counts: Vec<[f64; 6]>,
    /// The variance of each of them.
    pub variances: Vec<[f64; 6]>,
    /// The two colours of the kind that look most alike: one photo alone may take one for the other.
    pub alike: [usize; 2],
}

/// The view understood as each kind of cube of the calibration, in its order.
pub fn sketch(calibration: &Calibration, view: &View) -> Vec<Sketch> {
    let seen: Vec<evidence::Seen> = view
        .faces
        .iter()
        .enumerate()
        .map(|(number, face)| evidence::seen(0, number, face, &calibration.noise))
        .collect();
    let n = seen.first().map_or(2, |face| face.n);
    let (ring_of, rings) = rings(n);
    let light = Light::of(&calibration.noise);
    let of_kind = |set| {
        let colours = quickly(&seen, Start::of(set, light.floor), false, &light);
        let mut counts = vec![[0.0; 6]; rings];
        let mut variances = counts.clone();
        for face in &colours.shares {
            for (share, &ring) in face.iter().zip(&ring_of) {
                for k in 0..6 {
                    counts[ring][k] += share[k];
                    variances[ring][k] += share[k] * (1.0 - share[k]);
                }
            }
        }
        Sketch {
            log: colours.score,
            counts,
            variances,
            alike: alike(set),
        }
    };
    calibration.shade_sets.iter().map(of_kind).collect()
}

/// The two colours of a kind of cube that look most alike in neutral light.
fn alike(set: &ShadeSet) -> [usize; 2] {
    let looks = set.shades.each_ref().map(|shade| lab(shade.linear));
    let pairs = (0..6).flat_map(|one| (0..one).map(move |other| [other, one]));
    let apart = |[one, other]: [usize; 2]| difference(looks[one], looks[other]);
    pairs
        .min_by(|&one, &other| apart(one).total_cmp(&apart(other)))
        .unwrap_or([0, 1])
}
