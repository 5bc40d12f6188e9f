//! A colour to the calibrated samples nearest to it.

use super::{Calibration, known::lab};
use crate::colour::{Lab, Name, difference};
use kiddo::{ImmutableKdTree, SquaredEuclidean};
use std::num::NonZero;

/// All shades of a calibration as points of CIELAB.
pub struct Samples {
    tree: ImmutableKdTree<f32, 3>,
    samples: Vec<(Name, Lab)>,
}

/// How many samples near in CIELAB are judged by CIEDE2000; the order differs little among so near ones.
const CANDIDATES: NonZero<usize> = NonZero::new(12).unwrap();

impl Samples {
    /// The samples of every shade set; `None` if there are none.
    pub fn of(calibration: &Calibration) -> Option<Self> {
        let shades = calibration.shade_sets.iter().flat_map(|set| &set.shades);
        let samples: Vec<(Name, Lab)> = shades
            .map(|shade| (shade.colour, lab(shade.linear)))
            .collect();
        let points: Vec<[f32; 3]> = samples.iter().map(|&(_, lab)| point(lab)).collect();
        let tree = ImmutableKdTree::new_from_slice(&points).ok()?;
        Some(Self { tree, samples })
    }

    /// The samples near a colour with their difference from it, CIEDE2000, the nearest first.
    pub fn near(&self, colour: Lab) -> Vec<(f32, Name)> {
        let query = point(colour);
        let near = self
            .tree
            .query(&query)
            .nearest_n::<SquaredEuclidean<f32>>(CANDIDATES)
            .execute();
        let mut found: Vec<(f32, Name)> = near
            .into_iter()
            .filter_map(|near| self.samples.get(near.item as usize))
            .map(|&(name, sample)| (difference(colour, sample), name))
            .collect();
        found.sort_by(|one, other| one.0.total_cmp(&other.0));
        found
    }
}

const fn point(lab: Lab) -> [f32; 3] {
    [lab.l, lab.a, lab.b]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Truth: the shades as they stand in `calibration/`.
    #[test]
    fn a_sample_is_nearest_to_itself() {
        let calibration = Calibration::built_in().unwrap();
        let samples = Samples::of(&calibration).unwrap();
        for shade in calibration.shade_sets.iter().flat_map(|set| &set.shades) {
            let (difference, name) = samples.near(lab(shade.linear))[0];
            assert_eq!((difference, name), (0.0, shade.colour));
        }
    }
}
