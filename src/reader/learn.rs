//! A reading to the colours of its cube, and to what is to be said of the light it was photographed in.

use super::answer::cell;
use super::read::Made;
use super::reading::{LEAST_CONFIDENCE, Outcome};
use crate::assemble::Assembly;
use crate::calibration::{Calibration, KnownCube, Nearest, Samples, Shade, lab};
use crate::colour::{Name, difference};
use crate::cube::Face;
use crate::sight::{Patch, SeenPhoto};

/// The least difference, CIEDE2000, two colours should have in a light not to be mistaken for one another: the nearest
/// two of the cubes in `fixtures/photos` that are read without doubts are 10 to 30 apart, nine in ten more than this.
pub const SAFE_DIFFERENCE: f32 = 15.0;

/// What photos of a cube tell of its colours and of the light they were taken in.
#[derive(Clone, Debug, PartialEq)]
pub struct Learned {
    /// The cube.
    pub cube: KnownCube,
    /// How much stronger red is than blue on a white or grey sticker; `None` on a cube without one.
    pub warmth: Option<f64>,
    /// The share of coloured stickers so bright that their colour is lost on the camera, 0..=1.
    pub burnt_out: f64,
    /// A colour that looks far more like what goes by another word, and that word: the light was judged wrongly.
    pub misnamed: Option<(Name, Name)>,
}

/// The spread of a known cube's own shades from one light to another, in natural logarithms.
const SPREAD: f64 = 0.1;

/// The colours behind a reading; `None` unless every sticker is certain, be it only by the wrong word.
pub(super) fn learned(calibration: &Calibration, made: &Made) -> Option<Learned> {
    let assembly = made.assembly.as_ref()?;
    let cube = cube_of(assembly);
    let misnamed = misnamed(calibration, &cube.shades);
    let is_told_apart = assembly.confidence >= LEAST_CONFIDENCE && misnamed.is_some();
    if made.reading.outcome != Outcome::Read && !is_told_apart {
        return None;
    }
    Some(Learned {
        warmth: warmth(assembly),
        burnt_out: burnt_out(&made.photos, assembly),
        misnamed,
        cube,
    })
}

/// The cube as it looks in an assembly, be it certain or not.
pub(super) fn cube_of(assembly: &Assembly) -> KnownCube {
    let shade = |face: Face| Shade {
        colour: assembly.scheme.colour(face),
        linear: assembly.shades[face.index()].map(rounded),
        spread: [SPREAD; 3],
    };
    KnownCube {
        n: assembly.state.n(),
        shades: Face::ALL.map(shade),
        nearest: nearest(assembly),
    }
}

/// The first colour that another word of the built-in kinds suits far better than its own.
pub(super) fn misnamed(calibration: &Calibration, shades: &[Shade; 6]) -> Option<(Name, Name)> {
    /// CIEDE2000. Among 27 cubes learned from photos the right words suited at most 2 worse than another, wrong ones 14 or
    /// more.
    const FAR: f32 = 8.0;
    let samples = Samples::of(calibration)?;
    let has_sample = |colour: Name| {
        let mut known = calibration.shade_sets.iter().flat_map(|set| &set.shades);
        known.any(|known| known.colour == colour)
    };
    shades.iter().find_map(|shade| {
        let near = samples.near(lab(shade.linear));
        let own = near.iter().find(|(_, name)| *name == shade.colour);
        let &(other, like) = near.iter().find(|(_, name)| *name != shade.colour)?;
        let is_far = own.map_or(has_sample(shade.colour), |(own, _)| *own > other + FAR);
        is_far.then_some((shade.colour, like))
    })
}

fn rounded(value: f64) -> f64 {
    (value * 1e4).round() / 1e4
}

/// The two colours nearest to one another as they look in the photos: on average over the faces that show both, or, where
/// none does, in the mean light of the photos.
fn nearest(assembly: &Assembly) -> Nearest {
    /// Where the brightest tenth of a well exposed face stands.
    const BRIGHT: f64 = 0.85;
    let seen = |looks: &[[f64; 3]; 6]| looks.map(|look| lab(look.map(|light| BRIGHT * light)));
    let faces: Vec<_> = assembly.looks.iter().map(seen).collect();
    let mean = seen(&assembly.shades);
    let counts = counts(assembly);
    let apart = |one: usize, other: usize| {
        let (mut sum, mut weights) = (0.0, 0.0);
        for (looks, counts) in faces.iter().zip(&counts) {
            let weight = counts[one].min(counts[other]) as f32;
            sum += weight * difference(looks[one], looks[other]);
            weights += weight;
        }
        if weights > 0.0 {
            sum / weights
        } else {
            difference(mean[one], mean[other])
        }
    };
    let pairs = (0..6).flat_map(|other| (0..other).map(move |one| (one, other)));
    let found = pairs
        .map(|(one, other)| (apart(one, other), one, other))
        .min_by(|a, b| a.0.total_cmp(&b.0));
    let (difference, one, other) = found.unwrap_or((0.0, 0, 1));
    Nearest {
        one: assembly.scheme.0[one],
        other: assembly.scheme.0[other],
        difference: (difference * 10.0).round() / 10.0,
    }
}

/// How many stickers of each home face every seen face shows, in the order of [`Assembly::looks`].
fn counts(assembly: &Assembly) -> Vec<[usize; 6]> {
    let n = assembly.state.n();
    let mut placed = assembly.placed.clone();
    placed.sort_by_key(|placed| (placed.photo, placed.face_in_view));
    let count = |face: Face| {
        let mut count = [0; 6];
        for place in face.index() * n * n..(face.index() + 1) * n * n {
            count[assembly.state.at(place).index()] += 1;
        }
        count
    };
    placed.iter().map(|placed| count(placed.face)).collect()
}

fn warmth(assembly: &Assembly) -> Option<f64> {
    let face = [Name::White, Name::Grey]
        .into_iter()
        .find_map(|colour| assembly.scheme.face(colour))?;
    let (mut sum, mut all) = (0.0, 0.0);
    for (looks, counts) in assembly.looks.iter().zip(counts(assembly)) {
        let [red, _, blue] = looks[face.index()];
        let weight = counts[face.index()] as f64;
        sum += weight * (red.max(0.01) / blue.max(0.01)).ln();
        all += weight;
    }
    (all > 0.0).then(|| (sum / all).exp())
}

fn burnt_out(photos: &[SeenPhoto], assembly: &Assembly) -> f64 {
    let n = assembly.state.n();
    let (mut burnt_out, mut coloured) = (0.0, 0.0);
    for placed in &assembly.placed {
        let view = photos
            .get(placed.photo)
            .and_then(|photo| photo.views.get(placed.view));
        let Some(seen) = view.and_then(|view| view.faces.get(placed.face_in_view)) else {
            continue;
        };
        for row in 0..n {
            for col in 0..n {
                let place = (placed.face.index() * n + row) * n + col;
                let colour = assembly.scheme.colour(assembly.state.at(place));
                if ![Name::White, Name::Grey, Name::Black].contains(&colour) {
                    let patch = &seen.patches[cell(n, placed.turns, row, col)];
                    burnt_out += f64::from(u8::from(is_burnt_out(patch)));
                    coloured += 1.0;
                }
            }
        }
    }
    burnt_out / f64::max(coloured, 1.0)
}

/// Whether the colour is lost: one channel may well be at its end, as red is on an orange sticker.
fn is_burnt_out(patch: &Patch) -> bool {
    patch.clipped.iter().filter(|&&share| share > 0.5).count() > 1
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The shades of every built-in kind bear their words; two of them exchanged do not.
    #[test]
    fn words_that_do_not_suit_are_noticed() {
        let calibration = Calibration::built_in().unwrap();
        for set in &calibration.shade_sets {
            assert_eq!(misnamed(&calibration, &set.shades), None, "{}", set.name);
        }
        let mut shades = calibration.shade_sets[0].shades.clone();
        let (blue, orange) = (Face::B.index(), Face::L.index());
        let light = shades[blue].linear;
        shades[blue].linear = shades[orange].linear;
        shades[orange].linear = light;
        assert!(misnamed(&calibration, &shades).is_some());
    }
}
