//! Whether all photos are mirrored, as some front cameras save them.
//!
//! The mirror image of a cube is a cube: pieces and laws agree with it. Only the way round in which the colours lie about
//! a corner tells, and only for a cube whose way round is known. So a cube that has it the other way than most is read as
//! it looks, and the reading says that it rests upon the photos not being mirrored.

use super::reading::Mirroring;
use crate::calibration::{Calibration, Scheme};

/// What the way round of a cube's colours tells, read as they look: [`Mirroring::Possible`] where most cubes of these
/// colours are its mirror image, unless the known cube is made so.
pub(super) fn told_by(calibration: &Calibration, scheme: Scheme) -> Mirroring {
    let known = calibration.known.as_ref();
    if known.is_some_and(|known| known.scheme().is_turned(scheme)) {
        return Mirroring::None;
    }
    let mut usual = calibration
        .shade_sets
        .iter()
        .map(|set| Scheme::of(&set.shades));
    // Six different colours never lie as in their own mirror image.
    if usual.any(|usual| usual.is_turned(scheme.mirrored())) {
        Mirroring::Possible
    } else {
        Mirroring::None
    }
}
