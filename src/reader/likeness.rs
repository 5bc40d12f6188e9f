//! Which photos seem to show the same face, by the pattern of their stickers alone, or the colour of plain ones.
//!
//! It only explains why photos make no cube; nothing is read by it.

use crate::sight::{SeenFace, SeenPhoto};

/// Two faces seen that seem to be one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Alike {
    /// The photo that came first.
    pub first: usize,
    /// The photo that seems to show the same face again.
    pub again: usize,
    /// Whether the face is of one colour.
    pub is_plain: bool,
}

/// How strongly two patterns must agree to be taken for one: their correlation over all cells and channels, the
/// brightness and tint of each face set aside. Measured on `fixtures/photos`: different faces of a cube agree by at most 0.76,
/// frames of one face (the bursts) by at least 0.92.
const LEAST_AGREEMENT: f64 = 0.85;

/// The most by which the tints of two faces may differ to be taken for one, in natural logarithms of light. Measured on the
/// bursts of `fixtures/photos`: frames of one face differ by at most 0.12.
const MOST_OFF_TINT: f64 = 0.3;

/// The most by which the brightness of two plain faces may differ to be taken for one, in natural logarithms of light: twice
/// as bright.
const MOST_OFF_LIGHT: f64 = 0.7;

/// The least spread of a pattern, in natural logarithms of light: a face of one colour has none.
const LEAST_SPREAD: f64 = 0.2;

/// Pairs of photos that seem to show the same face, by their first views.
pub(super) fn alike(photos: &[SeenPhoto]) -> Vec<Alike> {
    let faces: Vec<(usize, Pattern)> = photos
        .iter()
        .enumerate()
        .flat_map(|(index, photo)| {
            let view = photo.views.first();
            view.into_iter()
                .flat_map(move |view| view.faces.iter().map(move |face| (index, face)))
        })
        .map(|(index, face)| (index, Pattern::of_any(face)))
        .collect();
    let mut found = Vec::new();
    for (at, (again, pattern)) in faces.iter().enumerate() {
        let earlier = faces[..at].iter().filter(|(first, _)| first != again);
        let best = earlier
            .filter(|(_, other)| pattern.is_plain == other.is_plain)
            .map(|(first, other)| (pattern.agreement(other), *first))
            .max_by(|one, other| one.0.total_cmp(&other.0));
        if let Some((agreement, first)) = best
            && agreement >= LEAST_AGREEMENT
        {
            found.push(Alike {
                first,
                again: *again,
                is_plain: pattern.is_plain,
            });
        }
    }
    found
}

/// What two faces are compared by.
#[derive(Clone, Debug)]
pub(super) struct Pattern {
    n: usize,
    /// The logarithms of each channel's light, about its mean.
    cells: Vec<[f64; 3]>,
    /// Those means, about their own mean.
    tint: [f64; 3],
    /// Their mean.
    brightness: f64,
    /// Whether the face is of one colour.
    is_plain: bool,
}

impl Pattern {
    /// The pattern of a face; `None` if all of it has one colour.
    pub fn of(face: &SeenFace) -> Option<Self> {
        Some(Self::of_any(face)).filter(|pattern| !pattern.is_plain)
    }

    fn of_any(face: &SeenFace) -> Self {
        let (cells, means) = pattern(face);
        let brightness = means.iter().sum::<f64>() / 3.0;
        let power: f64 = cells.iter().flatten().map(|light| light * light).sum();
        let spread = (power / (3.0 * cells.len() as f64)).sqrt();
        Self {
            n: face.n,
            cells,
            tint: means.map(|mean| mean - brightness),
            brightness,
            is_plain: spread < LEAST_SPREAD,
        }
    }

    /// How strongly two patterns agree, in whatever turn: 1 at most.
    ///
    /// Two faces of a few turns may agree in all but their tint: blue beside red is much like green beside orange.
    pub fn agreement(&self, other: &Self) -> f64 {
        let apart = self.tint.iter().zip(other.tint);
        let off_tint = apart.map(|(own, other)| (own - other).abs());
        if self.n != other.n || off_tint.fold(0.0, f64::max) > MOST_OFF_TINT {
            return f64::NEG_INFINITY;
        }
        if self.is_plain && other.is_plain {
            let is_near = (self.brightness - other.brightness).abs() <= MOST_OFF_LIGHT;
            return if is_near { 1.0 } else { f64::NEG_INFINITY };
        }
        (0..4)
            .map(|turns| correlation(&self.cells, &turned(&other.cells, self.n, turns)))
            .fold(f64::NEG_INFINITY, f64::max)
    }

    /// Whether two patterns agree so strongly that they seem to be of one face.
    pub fn is_like(&self, other: &Self) -> bool {
        self.agreement(other) >= LEAST_AGREEMENT
    }
}

/// The logarithms of a face's cells, each channel about its mean, and those means.
fn pattern(face: &SeenFace) -> (Vec<[f64; 3]>, [f64; 3]) {
    // A hundredth of the sensor's range: below it the logarithm would be of noise.
    const FLOOR: f64 = 0.01;
    let mut cells: Vec<[f64; 3]> = face
        .patches
        .iter()
        .map(|patch| {
            let linear = patch.linear;
            [linear.red, linear.green, linear.blue].map(|light| (f64::from(light) + FLOOR).ln())
        })
        .collect();
    let count = cells.len() as f64;
    let means =
        [0, 1, 2].map(|channel| cells.iter().map(|cell| cell[channel]).sum::<f64>() / count);
    for cell in &mut cells {
        for (light, mean) in cell.iter_mut().zip(means) {
            *light -= mean;
        }
    }
    (cells, means)
}

/// The cells of an n×n face turned by so many quarters.
fn turned(cells: &[[f64; 3]], n: usize, turns: usize) -> Vec<[f64; 3]> {
    let mut cells = cells.to_vec();
    for _ in 0..turns {
        cells = (0..n * n)
            .map(|at| cells[(n - 1 - at % n) * n + at / n])
            .collect();
    }
    cells
}

fn correlation(one: &[[f64; 3]], other: &[[f64; 3]]) -> f64 {
    let product = |a: &[[f64; 3]], b: &[[f64; 3]]| -> f64 {
        let pairs = a.iter().flatten().zip(b.iter().flatten());
        pairs.map(|(x, y)| x * y).sum()
    };
    product(one, other) / (product(one, one) * product(other, other)).sqrt()
}
