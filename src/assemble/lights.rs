//! The light of each face and the shades of the classes, fitted to what the cells of each class look like.
//!
//! A class looks like `gain · shade + veil` in each channel: the gain is exposure and white balance, the veil is light that
//! reaches the sensor past the sticker, from haze, a window mirrored in the whole face or a tone curve.

use super::evidence::{Channels, Seen};
use super::look::Light;

/// The sums over cells of a face that are taken for a class.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Group {
    /// How many cells, each by how far it is taken for the class.
    pub weight: f64,
    /// The sum of what they say of ln(look + floor).
    pub sum: Channels,
}

/// The light of a face.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct FaceLight {
    /// ln of the gain of each channel.
    pub log_gain: Channels,
    /// Light added to each channel.
    pub veil: Channels,
}

/// The usual veil, on the scale of the brightest tenth of the face.
const VEIL: f64 = 0.03;
/// Degrees of freedom of the veil: mostly little, now and then a lot.
const VEIL_FREEDOM: f64 = 2.0;
/// How far the tints of two faces in one photo differ, in ln gain.
const SAME_PHOTO: f64 = 0.08;

impl FaceLight {
    /// How a class looks in this light, both as ln(light + floor).
    pub fn look(&self, class: Channels, floor: f64) -> Channels {
        std::array::from_fn(|k| {
            let shade = (class[k].exp() - floor).max(1e-3);
            ((self.log_gain[k].exp() * shade + self.veil[k]).max(1e-3) + floor).ln()
        })
    }

    fn brightness(&self) -> f64 {
        self.log_gain.iter().sum::<f64>() / 3.0
    }

    fn tint(&self) -> Channels {
        let brightness = self.brightness();
        self.log_gain.map(|gain| gain - brightness)
    }

    /// The log of how likely such a light is, but for a constant.
    pub fn log_prior(&self, light: &Light) -> f64 {
        let tint: f64 = self.tint().iter().map(|value| value.powi(2)).sum();
        let veil: f64 = self.veil.iter().map(|value| value.powi(2)).sum();
        -0.5 * (self.brightness() / light.exposure_spread).powi(2)
            - 0.5 * tint / light.tint_spread.powi(2)
            - 0.5 * (VEIL_FREEDOM + 3.0) * (1.0 + veil / VEIL.powi(2) / VEIL_FREEDOM).ln()
    }
}

/// How much a group counts: many cells say no more than the looks of a class differ from face to face.
fn weight(group: &Group, light: &Light) -> f64 {
    group.weight / (group.weight * light.look_spread.powi(2) + light.colour_noise.powi(2))
}

/// Fits lights and classes to the groups of every seen face, a few times in turn.
///
/// `expected` and `spreads` are the classes' prior, as ln(light + floor).
pub(super) fn fit(
    seen: &[Seen],
    groups: &[[Group; 6]],
    lights: &mut [FaceLight],
    classes: &mut [Channels; 6],
    expected: &[Channels; 6],
    spreads: &[Channels; 6],
    light: &Light,
) {
    for _ in 0..4 {
        let tints: Vec<Channels> = lights.iter().map(FaceLight::tint).collect();
        for face in 0..seen.len() {
            let mates: Vec<usize> = (0..seen.len())
                .filter(|&other| other != face && seen[other].photo == seen[face].photo)
                .collect();
            let (mut tint, mut spread) = ([0.0; 3], light.tint_spread);
            if !mates.is_empty() {
                let share = 1.0 / mates.len() as f64;
                tint =
                    std::array::from_fn(|k| mates.iter().map(|&mate| share * tints[mate][k]).sum());
                spread = SAME_PHOTO;
            }
            fit_face(
                &groups[face],
                classes,
                &mut lights[face],
                (tint, spread),
                light,
            );
        }
        fit_classes(groups, lights, classes, expected, spreads, light);
    }
}

/// How ill a face's groups agree with the classes under the best light for them, in nats.
pub(super) fn cost(
    groups: &[Group; 6],
    classes: &[Channels; 6],
    from: &FaceLight,
    light: &Light,
) -> f64 {
    let mut face = *from;
    for _ in 0..4 {
        fit_face(
            groups,
            classes,
            &mut face,
            ([0.0; 3], light.tint_spread),
            light,
        );
    }
    let misfits: f64 = groups
        .iter()
        .zip(classes)
        .filter(|(group, _)| group.weight > 1e-3)
        .map(|(group, class)| {
            let look = face.look(*class, light.floor);
            let off = (0..3).map(|k| (group.sum[k] / group.weight - look[k]).powi(2));
            0.5 * weight(group, light) * off.sum::<f64>()
        })
        .sum();
    misfits - face.log_prior(light)
}

/// One step towards the best gain and veil of a face: six unknowns, their squares made linear where they stand.
fn fit_face(
    groups: &[Group; 6],
    classes: &[Channels; 6],
    face: &mut FaceLight,
    (tint, spread): (Channels, f64),
    light: &Light,
) {
    let mut matrix = [[0.0; 7]; 6];
    // The prior of the gains: alike in all channels by the exposure, apart by the tint.
    let (own, common) = (spread.powi(2), light.exposure_spread.powi(2));
    let shared = common / (own + 3.0 * common);
    let off: Channels = std::array::from_fn(|k| face.log_gain[k] - tint[k]);
    let veil_square: f64 = face.veil.iter().map(|veil| (veil / VEIL).powi(2)).sum();
    let veil_stiff = 1.0 / (VEIL.powi(2) * (1.0 + veil_square / VEIL_FREEDOM));
    for k in 0..3 {
        for other in 0..3 {
            let same = if k == other { 1.0 } else { 0.0 };
            let stiff = (same - shared) / own;
            matrix[k][other] += stiff;
            matrix[k][6] -= stiff * off[other];
        }
        matrix[k + 3][k + 3] += veil_stiff;
        matrix[k + 3][6] -= veil_stiff * face.veil[k];
    }
    for (group, class) in groups.iter().zip(classes) {
        if group.weight < 1e-3 {
            continue;
        }
        let part = weight(group, light);
        for k in 0..3 {
            let lit = face.log_gain[k].exp() * (class[k].exp() - light.floor).max(1e-3);
            let level = (lit + face.veil[k]).max(1e-3) + light.floor;
            let rest = group.sum[k] / group.weight - level.ln();
            let (by_gain, by_veil) = (lit / level, 1.0 / level);
            matrix[k][k] += part * by_gain * by_gain;
            matrix[k][k + 3] += part * by_gain * by_veil;
            matrix[k + 3][k] += part * by_gain * by_veil;
            matrix[k + 3][k + 3] += part * by_veil * by_veil;
            matrix[k][6] += part * by_gain * rest;
            matrix[k + 3][6] += part * by_veil * rest;
        }
    }
    let step = solved(matrix);
    for k in 0..3 {
        face.log_gain[k] = (face.log_gain[k] + step[k].clamp(-1.0, 1.0)).clamp(-3.0, 3.0);
        face.veil[k] = (face.veil[k] + step[k + 3].clamp(-0.2, 0.2)).clamp(-0.03, 0.7);
    }
}

/// The solution of six equations, by elimination with the largest pivot; each row ends with its right-hand side.
fn solved(mut rows: [[f64; 7]; 6]) -> [f64; 6] {
    for column in 0..6 {
        let pivot = (column..6)
            .max_by(|&a, &b| rows[a][column].abs().total_cmp(&rows[b][column].abs()))
            .unwrap_or(column);
        rows.swap(column, pivot);
        let head = rows[column];
        if head[column].abs() < 1e-12 {
            continue;
        }
        for (index, row) in rows.iter_mut().enumerate() {
            if index != column {
                let times = row[column] / head[column];
                for (value, &above) in row.iter_mut().zip(&head) {
                    *value -= times * above;
                }
            }
        }
    }
    std::array::from_fn(|k| {
        if rows[k][k].abs() < 1e-12 {
            0.0
        } else {
            rows[k][6] / rows[k][k]
        }
    })
}

fn fit_classes(
    groups: &[[Group; 6]],
    lights: &[FaceLight],
    classes: &mut [Channels; 6],
    expected: &[Channels; 6],
    spreads: &[Channels; 6],
    light: &Light,
) {
    for class in 0..6 {
        for k in 0..3 {
            let here = classes[class][k];
            let stiff = 1.0 / spreads[class][k].powi(2);
            let (mut sum, mut total) = (stiff * expected[class][k], stiff);
            for (face, groups) in lights.iter().zip(groups) {
                let group = &groups[class];
                if group.weight > 1e-3 {
                    let gain = face.log_gain[k].exp();
                    let lit = gain * (here.exp() - light.floor).max(1e-3);
                    let level = (lit + face.veil[k]).max(1e-3) + light.floor;
                    let slope = (gain * here.exp() / level).min(1.5);
                    let rest = group.sum[k] / group.weight - level.ln();
                    let part = weight(group, light);
                    sum += part * slope * (rest + slope * here);
                    total += part * slope * slope;
                }
            }
            classes[class][k] = sum / total;
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn six_equations() {
        let mut rows = [[0.0; 7]; 6];
        for (k, row) in rows.iter_mut().enumerate() {
            row[k] = 2.0;
            row[(k + 1) % 6] = 1.0;
            row[6] = 2.0 * (k as f64) + ((k + 1) % 6) as f64;
        }
        for (k, value) in solved(rows).into_iter().enumerate() {
            assert!((value - k as f64).abs() < 1e-9);
        }
    }
}
