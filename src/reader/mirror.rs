//! Whether all photos are mirrored, as some front cameras save them.
//!
//! The mirror image of a cube is a cube: pieces and laws agree with it. Only the way round in which the colours lie about
//! a corner tells, and only for a cube whose way round is known. So a cube that has it the other way than most is read as
//! it looks, and the reading says that it rests upon the photos not being mirrored.

use crate::calibration::{Calibration, Scheme};

/// Whether most cubes of these colours are the mirror image of this one.
pub(super) fn is_the_other_way_round(calibration: &Calibration, scheme: Scheme) -> bool {
    calibration.shade_sets.iter().any(|set| {
        let usual = Scheme([0, 1, 2, 3, 4, 5].map(|face: usize| set.shades[face].colour));
        usual.is_turned(scheme.mirrored()) && !usual.is_turned(scheme)
    })
}
