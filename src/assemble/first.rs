//! A first idea of the colours, quickly: each cell judged by its tint alone, brightness counting for little, gloss for
//! nothing.
//!
//! The light of a face that is nearly one colour is as good as unknown, so several are tried, and so is exchanging the main
//! colours of two faces.

use super::colours::{ANY, Colours, Start, leant, mean, minus};
use super::evidence::{Cell, Channels, Seen};
use super::lean::lean;
use super::lights::{FaceLight, Group};
use super::look::Light;
use super::ring::{Logs, share_out};
use crate::calibration::Calibration;
use crate::colour::Name;

/// How wide the judgement is, round by round, against the last.
const NARROWING: [f64; 9] = [3.5, 3.0, 2.5, 2.0, 1.5, 1.0, 1.0, 1.0, 1.0];
/// The rounds after a change to what is nearly settled.
const AGAIN: [f64; 4] = [1.5, 1.0, 1.0, 1.0];

/// Every kind of cube, judged quickly, the likeliest first.
pub(super) fn first_looks(
    seen: &[Seen],
    calibration: &Calibration,
    is_balanced: bool,
) -> Vec<Colours> {
    let light = Light::of(&calibration.noise);
    let first = First {
        seen,
        is_balanced,
        light: &light,
    };
    let mut found: Vec<Colours> = calibration
        .shade_sets
        .iter()
        // Grey is white but for its lightness, which an exposure hides at first: what is solved is tried as grey.
        .filter(|set| {
            calibration.shade_sets.len() == 1
                || set.shades.iter().all(|shade| shade.colour != Name::Grey)
        })
        .map(|set| {
            let start = Start::of(set, light.floor);
            let mut colours = Colours::begun(start.clone(), seen.len());
            first.settle(&mut colours, &NARROWING);
            let mut lit = Colours::begun(start, seen.len());
            for (face, seen) in seen.iter().enumerate() {
                lit.lights[face] = first.light_of(seen, &lit.start);
            }
            first.settle(&mut lit, &NARROWING[3..]);
            if lit.score > colours.score {
                lit
            } else {
                colours
            }
        })
        .collect();
    found.sort_by(|one, other| other.score.total_cmp(&one.score));
    if let Some(best) = found.first_mut() {
        first.exchange(best);
    }
    found
}

/// One kind of cube, judged from neutral light only.
pub(super) fn quickly(seen: &[Seen], start: Start, is_balanced: bool, light: &Light) -> Colours {
    let first = First {
        seen,
        is_balanced,
        light,
    };
    let mut colours = Colours::begun(start, seen.len());
    first.settle(&mut colours, &NARROWING);
    colours
}

/// What all rounds need.
struct First<'a> {
    seen: &'a [Seen],
    is_balanced: bool,
    light: &'a Light,
}

impl First<'_> {
    /// Shares, lights and classes in turn, judged ever more narrowly.
    fn settle(&self, colours: &mut Colours, widths: &[f64]) {
        let n = self.seen.first().map_or(0, |face| face.n);
        for &wide in widths {
            for face in 0..self.seen.len() {
                let shine = colours.lights[face];
                colours.looks[face] = colours
                    .classes
                    .map(|class| shine.look(class, self.light.floor));
            }
            colours.likelihoods = self
                .seen
                .iter()
                .zip(&colours.looks)
                .map(|(seen, looks)| {
                    let cells = seen.cells.iter();
                    cells.map(|cell| judged(cell, looks, wide)).collect()
                })
                .collect();
            let leaning = if colours.shares.is_empty() {
                share_out(self.seen, &colours.likelihoods, self.is_balanced)
            } else {
                let leans = lean(n, &colours.shares);
                share_out(
                    self.seen,
                    &leant(&colours.likelihoods, &leans),
                    self.is_balanced,
                )
            };
            let total = leaning.1;
            colours.shares = leaning.0;
            let groups = self.groups(colours);
            colours.fit_lights(self.seen, &groups, self.light);
            colours.score = total + colours.prior(self.seen, self.light);
        }
    }

    fn groups(&self, colours: &Colours) -> Vec<[Group; 6]> {
        let faces = self.seen.iter().zip(&colours.shares).zip(&colours.looks);
        faces
            .map(|((seen, shares), looks)| {
                let mut groups = [Group::default(); 6];
                for (cell, share) in seen.cells.iter().zip(shares) {
                    for k in 0..6 {
                        // A cell shared between classes says nothing of either.
                        let worth = (2.0 * share[k] - 1.0).max(0.0) * (1.0 - cell.misread);
                        if worth > 0.0 {
                            let (shade, tint) = apart(cell, looks[k]);
                            groups[k].weight += worth;
                            for channel in 0..3 {
                                groups[k].sum[channel] +=
                                    worth * (looks[k][channel] + shade + tint[channel]);
                            }
                        }
                    }
                }
                groups
            })
            .collect()
    }

    /// The light of a face by itself: of many, the one in which its cells are likeliest to be of some colours.
    fn light_of(&self, seen: &Seen, start: &Start) -> FaceLight {
        let mut best = (f64::NEG_INFINITY, FaceLight::default());
        // On a large cube every third cell tells as much.
        let step = (seen.cells.len() / 40).max(1);
        for brightness in [-0.6, -0.2, 0.2, 0.6, 1.0] {
            for warmth in [-0.25, 0.0, 0.25] {
                for veil in [0.0, 0.12] {
                    let shine = FaceLight {
                        log_gain: [brightness + warmth, brightness, brightness - warmth],
                        veil: [veil; 3],
                    };
                    let looks = start
                        .shades
                        .map(|shade| shine.look(shade, self.light.floor));
                    let cells = seen.cells.iter().step_by(step);
                    let sum: f64 = cells
                        .map(|cell| weighed(cell, &looks, 1.5).iter().sum::<f64>().ln())
                        .sum();
                    let score = sum + shine.log_prior(self.light);
                    if score > best.0 {
                        best = (score, shine);
                    }
                }
            }
        }
        best.1
    }

    /// Exchanges the main colours of two faces where that fits better.
    fn exchange(&self, colours: &mut Colours) {
        let main = |shares: &[Logs]| {
            let held = |class: usize| shares.iter().map(|share| share[class]).sum::<f64>();
            let class = (0..6)
                .max_by(|&a, &b| held(a).total_cmp(&held(b)))
                .unwrap_or(0);
            (held(class) > 0.35 * shares.len() as f64).then_some(class)
        };
        for one in 0..self.seen.len() {
            for other in 0..one {
                let (Some(a), Some(b)) = (main(&colours.shares[one]), main(&colours.shares[other]))
                else {
                    continue;
                };
                if a == b {
                    continue;
                }
                let mut changed = colours.clone();
                for face in [one, other] {
                    for share in &mut changed.shares[face] {
                        share.swap(a, b);
                    }
                    changed.lights[face] = FaceLight::default();
                }
                for _ in 0..2 {
                    let groups = self.groups(&changed);
                    changed.fit_lights(self.seen, &groups, self.light);
                }
                self.settle(&mut changed, &AGAIN);
                if changed.score > colours.score + 1e-6 {
                    *colours = changed;
                }
            }
        }
    }
}

/// The log-likelihoods of a cell.
fn judged(cell: &Cell, looks: &[Channels; 6], wide: f64) -> Logs {
    weighed(cell, looks, wide).map(f64::ln)
}

/// How likely a cell is as each colour, by its tint, and a little by its brightness.
fn weighed(cell: &Cell, looks: &[Channels; 6], wide: f64) -> [f64; 6] {
    let (tint_spread, shade_spread) = (0.16 * wide, 0.4 * wide);
    looks.map(|look| {
        let (shade, tint) = apart(cell, look);
        let tint: f64 = tint.iter().map(|value| value.powi(2)).sum();
        let square = (shade / shade_spread).powi(2) + tint / tint_spread.powi(2);
        // Student's t with 6 degrees of freedom, but for its scale.
        let power = (1.0 + square / 6.0).powi(-3);
        power + cell.misread * ANY
    })
}

/// How a cell differs from a look: in brightness, and in each channel besides. A channel at its end says only that
/// the light is no less.
fn apart(cell: &Cell, look: Channels) -> (f64, Channels) {
    let off = minus(cell.log_light, look);
    let mut shade = mean(off);
    for _ in 0..2 {
        let is_open = |k: usize| !cell.clipped[k] || off[k] > shade;
        let open = (0..3).filter(|&k| is_open(k)).count();
        if open == 0 || open == 3 {
            break;
        }
        shade = (0..3).filter(|&k| is_open(k)).map(|k| off[k]).sum::<f64>() / open as f64;
    }
    let tint = [0, 1, 2].map(|k| {
        let rest = off[k] - shade;
        if cell.clipped[k] { rest.max(0.0) } else { rest }
    });
    (shade, tint)
}
