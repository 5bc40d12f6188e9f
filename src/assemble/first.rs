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
                    let judge = Judge::new(looks, wide);
                    let cells = seen.cells.iter();
                    cells.map(|cell| judge.judged(cell)).collect()
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
                    let judge = Judge::new(&looks, 1.5);
                    let (mut sum, mut product) = (0.0, 1.0);
                    for (index, cell) in seen.cells.iter().step_by(step).enumerate() {
                        product *= judge.weighed(cell).iter().sum::<f64>();
                        // A few of them fit into a number before a logarithm is due.
                        if index % 8 == 7 {
                            sum += f64::ln(product);
                            product = 1.0;
                        }
                    }
                    let score = sum + product.ln() + shine.log_prior(self.light);
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

/// How cells are judged in the light of a face.
struct Judge<'a> {
    looks: &'a [Channels; 6],
    /// The same by channels.
    channels: [[f64; 6]; 3],
    /// What a square of shade and of tint counts.
    shade_weight: f64,
    tint_weight: f64,
}

impl<'a> Judge<'a> {
    fn new(looks: &'a [Channels; 6], wide: f64) -> Self {
        let (tint_spread, shade_spread) = (0.16 * wide, 0.4 * wide);
        // Student's t with 6 degrees of freedom, but for its scale.
        let weight = |spread: f64| 1.0 / (6.0 * spread.powi(2));
        Self {
            looks,
            channels: [0, 1, 2].map(|channel| looks.map(|look| look[channel])),
            shade_weight: weight(shade_spread),
            tint_weight: weight(tint_spread),
        }
    }

    /// The log-likelihoods of a cell.
    fn judged(&self, cell: &Cell) -> Logs {
        self.weighed(cell).map(f64::ln)
    }

    /// How likely a cell is as each colour, by its tint, and a little by its brightness.
    fn weighed(&self, cell: &Cell) -> [f64; 6] {
        let odds = |shade: f64, tint: f64| {
            1.0 + shade * shade * self.shade_weight + tint * self.tint_weight
        };
        let odds: [f64; 6] = if cell.clipped == [false; 3] {
            // What `apart` comes to then, all colours at once.
            let [red, green, blue] = cell.log_light;
            std::array::from_fn(|k| {
                let off = [
                    red - self.channels[0][k],
                    green - self.channels[1][k],
                    blue - self.channels[2][k],
                ];
                let shade = (off[0] + off[1] + off[2]) * (1.0 / 3.0);
                let tint = [off[0] - shade, off[1] - shade, off[2] - shade];
                odds(
                    shade,
                    tint[0] * tint[0] + tint[1] * tint[1] + tint[2] * tint[2],
                )
            })
        } else {
            self.looks.map(|look| {
                let (shade, tint) = apart(cell, look);
                odds(shade, tint.iter().map(|value| value.powi(2)).sum())
            })
        };
        let any = cell.misread * ANY;
        odds.map(|odds| 1.0 / (odds * odds * odds) + any)
    }
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
