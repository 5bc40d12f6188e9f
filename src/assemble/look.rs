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
    pub glare: f64,
    pub glare_share: f64,
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
            glare: noise.glare.value,
            glare_share: noise.glare_share.value,
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
    /// Brightness against the look.
    pub shade: f64,
    /// White light added.
    pub gloss: f64,
    /// Negative log-likelihood; 0 is a perfect fit.
    pub cost: f64,
    /// ln(light + floor) with gloss and the neighbours' shade taken off: what this cell says the look is.
    pub bare: Channels,
}

/// Explains a cell by a colour whose linear look is `look`, under `white`.
pub(super) fn explain(
    cell: &Cell,
    look: Channels,
    white: Channels,
    around: Around,
    noise: f64,
    light: &Light,
) -> Fit {
    let usual = light.gloss + 0.5 * around.gloss;
    let quiet = solve(cell, look, white, around, usual, noise, light);
    // A bright mirror image of a lamp is rare, but not as rare as the usual gloss would have it.
    if quiet.gloss > 2.0 * usual {
        let loud = solve(cell, look, white, around, light.glare, noise, light);
        if loud.cost < quiet.cost {
            return loud;
        }
    }
    quiet
}

fn solve(
    cell: &Cell,
    look: Channels,
    white: Channels,
    around: Around,
    gloss_scale: f64,
    noise: f64,
    light: &Light,
) -> Fit {
    let y = cell.light;
    let spread = light.shading_spread;
    let expected = around.log_shade.exp();
    let stiffness = 1.0 / (spread * expected).powi(2);
    let precision: Channels =
        std::array::from_fn(|k| 1.0 / (noise * noise + cell.noise[k].powi(2)));
    let mut weight: Channels = std::array::from_fn(|k| precision[k] / (y[k] + light.floor).powi(2));
    let mut shade = expected;
    let mut gloss = 0.0;
    let mut model = [0.0; 3];
    for _ in 0..2 {
        let (mut aa, mut bb, mut ab, mut ya, mut yb) = (
            stiffness,
            1e-9,
            0.0,
            stiffness * expected,
            -1.0 / gloss_scale,
        );
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
        model = [0, 1, 2].map(|k| shade * look[k] + gloss * white[k]);
        let mut is_over = false;
        for k in 0..3 {
            if cell.clipped[k] && model[k] > y[k] {
                weight[k] *= 1e-3;
                is_over = true;
            }
        }
        if !is_over {
            break;
        }
    }
    let mut square = 0.0;
    let mut bare = [0.0; 3];
    for k in 0..3 {
        let is_over = cell.clipped[k] && model[k] > y[k];
        if !is_over {
            square += precision[k] * (cell.log_light[k] - (model[k] + light.floor).ln()).powi(2);
        }
        let rest = if is_over {
            look[k]
        } else {
            (y[k] - gloss * white[k]).max(0.0) / expected
        };
        bare[k] = (rest + light.floor).ln();
    }
    let cost = heavy(square)
        + heavy(((shade.ln() - around.log_shade) / spread).powi(2))
        + gloss_cost(gloss, light.gloss + 0.5 * around.gloss, light);
    Fit {
        shade,
        gloss,
        cost,
        bare,
    }
}

/// Half a square, flattened for large ones: Student's t with 6 degrees of freedom, but for its scale.
fn heavy(square: f64) -> f64 {
    const FREEDOM: f64 = 6.0;
    0.5 * FREEDOM * (1.0 + square / FREEDOM).ln()
}

/// Minus the log density of a gloss against no gloss: mostly little, now and then the image of a lamp.
fn gloss_cost(gloss: f64, usual: f64, light: &Light) -> f64 {
    let share = light.glare_share;
    let density = |gloss: f64| {
        (1.0 - share) / usual * (-gloss / usual).exp()
            + share / light.glare * (-gloss / light.glare).exp()
    };
    (density(0.0) / density(gloss)).ln()
}
