//! A reading to the colours of its cube, and to what is to be said of the light it was photographed in.

use super::answer::cell;
use super::read::Made;
use super::reading::Outcome;
use crate::assemble::Assembly;
use crate::calibration::{KnownCube, Nearest, Shade, lab};
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
}

/// The spread of a known cube's own shades from one light to another, in natural logarithms.
const SPREAD: f64 = 0.1;

/// The colours behind a reading; `None` unless every sticker is certain.
pub(super) fn learned(made: &Made) -> Option<Learned> {
    let assembly = made.assembly.as_ref()?;
    if made.reading.outcome != Outcome::Read {
        return None;
    }
    let shade = |face: Face| Shade {
        colour: assembly.scheme.colour(face),
        linear: assembly.shades[face.index()].map(rounded),
        spread: [SPREAD; 3],
    };
    Some(Learned {
        cube: KnownCube {
            n: assembly.state.n(),
            shades: Face::ALL.map(shade),
            nearest: nearest(assembly),
        },
        warmth: warmth(assembly),
        burnt_out: burnt_out(&made.photos, assembly),
    })
}

fn rounded(value: f64) -> f64 {
    (value * 1e4).round() / 1e4
}

/// The two colours nearest to one another as they look in the photos, on average over the faces seen.
fn nearest(assembly: &Assembly) -> Nearest {
    /// Where the brightest tenth of a well exposed face stands.
    const BRIGHT: f64 = 0.85;
    let looks = assembly.looks.iter();
    let seen: Vec<[_; 6]> = looks
        .map(|looks| looks.map(|look| lab(look.map(|light| BRIGHT * light))))
        .collect();
    let apart = |one: usize, other: usize| {
        let apart = seen
            .iter()
            .map(|looks| difference(looks[one], looks[other]));
        apart.sum::<f32>() / seen.len().max(1) as f32
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

fn warmth(assembly: &Assembly) -> Option<f64> {
    let face = [Name::White, Name::Grey]
        .into_iter()
        .find_map(|colour| assembly.scheme.face(colour))?;
    let looks = assembly.looks.iter();
    let tints = looks.map(|looks| {
        let [red, _, blue] = looks[face.index()];
        (red.max(0.01) / blue.max(0.01)).ln()
    });
    Some((tints.sum::<f64>() / assembly.looks.len().max(1) as f64).exp())
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
