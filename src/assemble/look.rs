//! How well a cell's light is explained by a colour: shaded, with white gloss added, clipped by the sensor.
//!
//! The light of a sticker is `shade · look + gloss · white`, where `look` is its colour in this face's light and
//! `white` the light itself; shade and gloss are the cell's own, with priors that its neighbours may move.

use super::evidence::{Cell, Channels};
use crate::calibration::Noise;

/// The numbers of the light and noise model, bare.
#[derive(Clone, Copy, Debug)]
pub(super) struct Light {
    pub floor: f64,
    pub colour_noise: f64,
    pub shading_spread: f64,
    pub gloss: f64,
    pub look_spread: f64,
    pub exposure_spread: f64,
    pub tint_spread: f64,
}

impl Light {
    pub fn of(noise: &Noise) -> Self {
        Self {
            floor: noise.dark_floor.value,
            colour_noise: noise.colour_noise.value,
            shading_spread: noise.shading_spread.value,
            gloss: noise.gloss.value,
            look_spread: noise.look_spread.value,
            exposure_spread: noise.exposure_spread.value,
            tint_spread: noise.tint_spread.value,
        }
    }
}

/// What the neighbours say of a cell's shade and gloss.
#[derive(Clone, Copy, Debug)]
pub(super) struct Around {
    /// Expected ln(shade).
    pub log_shade: f64,
    /// Expected gloss.
    pub gloss: f64,
}

/// A cell explained by a colour.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Fit {
    /// ln of the brightness against the look.
    pub log_shade: f64,
    /// White light added.
    pub gloss: f64,
    /// The likelihood; 1 is a perfect fit.
    pub likelihood: f64,
    /// The squared distance in colour, in units of its variance, far outliers drawn in.
    pub square: f64,
    /// The same of the shade.
    pub shade_square: f64,
    /// The light with gloss and the neighbours' shade taken off: what this cell says the look is.
    pub bare: Channels,
}

/// A cell and what is known of it whatever its colour.
#[derive(Clone, Copy, Debug)]
pub(super) struct Asked<'a> {
    cell: &'a Cell,
    around: Around,
    /// The shade the neighbours say.
    expected: f64,
    /// (light + floor)².
    squares: Channels,
    /// The variances of the cell's own noise.
    variances: Channels,
}

impl<'a> Asked<'a> {
    pub fn new(cell: &'a Cell, around: Around, light: &Light) -> Self {
        Self {
            cell,
            around,
            expected: around.log_shade.exp(),
            squares: cell.light.map(|channel| (channel + light.floor).powi(2)),
            variances: cell.noise.map(|noise| noise.powi(2)),
        }
    }
}

/// Explains a cell by a colour whose linear look is `look`, under `white`, with `variance` for that of the look itself.
///
/// `shading` is the standard deviation of ln(shade).
/// Shade and gloss have Student's t about what the neighbours say, found by weighting the squares anew a few times.
pub(super) fn explain(
    asked: &Asked,
    look: Channels,
    white: Channels,
    variance: f64,
    shading: f64,
    light: &Light,
) -> Fit {
    let &Asked {
        cell,
        around,
        expected,
        squares,
        variances,
    } = asked;
    let y = cell.light;
    let shade_stiff = 1.0 / (shading * expected).powi(2);
    let gloss_spread = light.gloss + 0.4 * around.gloss;
    let gloss_stiff = 1.0 / gloss_spread.powi(2);
    let precision: Channels = std::array::from_fn(|k| 1.0 / (variance + variances[k]));
    let mut weight: Channels = std::array::from_fn(|k| precision[k] / squares[k]);
    let (mut shade, mut gloss) = (expected, around.gloss);
    let (mut shade_weight, mut gloss_weight) = (1.0, 1.0);
    let model = |shade: f64, gloss: f64| [0, 1, 2].map(|k| shade * look[k] + gloss * white[k]);
    for _ in 0..3 {
        // A channel at the sensor's end says nothing against what would be brighter still: at first, were it as the neighbours
        // say.
        let modelled = model(shade, gloss);
        for k in 0..3 {
            if cell.clipped[k] && modelled[k] > y[k] {
                weight[k] *= OVER;
            }
        }
        let (hold, press) = (shade_stiff * shade_weight, gloss_stiff * gloss_weight);
        let (mut aa, mut bb, mut ab) = (hold, press, 0.0);
        let (mut ya, mut yb) = (hold * expected, press * around.gloss);
        for k in 0..3 {
            aa += weight[k] * look[k] * look[k];
            bb += weight[k] * white[k] * white[k];
            ab += weight[k] * look[k] * white[k];
            ya += weight[k] * look[k] * y[k];
            yb += weight[k] * white[k] * y[k];
        }
        let det = aa * bb - ab * ab;
        gloss = (aa * yb - ab * ya) / det;
        shade = if gloss > 0.0 {
            (ya * bb - yb * ab) / det
        } else {
            gloss = 0.0;
            ya / aa
        };
        shade = shade.clamp(0.2, 4.0);
        let shade_off = (shade - expected).powi(2) * shade_stiff;
        let gloss_off = (gloss - around.gloss).powi(2) * gloss_stiff;
        shade_weight = 1.0 / (1.0 + shade_off / SHADE_FREEDOM);
        gloss_weight = 1.0 / (1.0 + gloss_off / GLOSS_FREEDOM);
    }
    let model = model(shade, gloss);
    let mut square = 0.0;
    let mut bare = [0.0; 3];
    for k in 0..3 {
        let is_over = cell.clipped[k] && model[k] > y[k];
        if !is_over {
            square += precision[k] * (cell.log_light[k] - (model[k] + light.floor).ln()).powi(2);
        }
        bare[k] = if is_over {
            look[k]
        } else {
            (y[k] - gloss * white[k]).max(0.0) / expected
        };
    }
    let log_shade = shade.ln();
    let shade_square = ((log_shade - around.log_shade) / shading).powi(2);
    let gloss_square = (gloss - around.gloss).powi(2) * gloss_stiff;
    // Student's t against its peak: (1 + square / freedom)^(−(freedom + dimensions) / 2), in three dimensions, one and one.
    let colour = 1.0 + square / COLOUR_FREEDOM;
    let shaded = 1.0 + shade_square / SHADE_FREEDOM;
    let glossy = 1.0 + gloss_square / GLOSS_FREEDOM;
    let odds = colour.powi(9) * shaded.powi(5) * glossy.powi(2) * glossy.sqrt();
    Fit {
        log_shade,
        gloss,
        likelihood: 1.0 / odds.sqrt(),
        square: square / colour,
        shade_square: shade_square / shaded,
        bare,
    }
}

/// What is left of the weight of a channel at the sensor's end that would be brighter still.
const OVER: f64 = 1e-3;
/// Degrees of freedom of the colour: nearly normal.
const COLOUR_FREEDOM: f64 = 6.0;
/// Degrees of freedom of the shade: edges of shadows.
const SHADE_FREEDOM: f64 = 4.0;
/// Degrees of freedom of the gloss: mostly little, now and then the image of a lamp.
const GLOSS_FREEDOM: f64 = 1.5;
