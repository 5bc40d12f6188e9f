//! Cells to colour classes: six shades shared by all photos, the light of each face, and the likelihoods of every
//! cell, estimated in turn until they agree.
//!
//! It knows that each ring of cells holds as many of every colour, and nothing else about pieces.

use super::evidence::{Cell, Channels, Seen};
use super::look::{Around, Fit, Light, explain};
use super::ring::{Logs, share_out};
use crate::calibration::{Calibration, ShadeSet};
use crate::colour::Name;

/// What the classes may be before anything was seen.
#[derive(Clone, Debug)]
pub(super) struct Start {
    /// The colour words.
    pub names: [Name; 6],
    /// ln(light + floor) in neutral light.
    pub shades: [Channels; 6],
    /// The standard deviations of the same.
    pub spreads: [Channels; 6],
    /// ln of the share of such cubes.
    pub log_share: f64,
}

/// Classes, lights and likelihoods that agree with each other.
#[derive(Clone, Debug)]
pub(super) struct Colours {
    /// Where they began.
    pub start: Start,
    /// ln(light + floor) of each class in the mean light of the cube.
    pub classes: [Channels; 6],
    /// ln gain of each seen face.
    pub gains: Vec<Channels>,
    /// ln(light + floor) of each class in each seen face.
    pub looks: Vec<[Channels; 6]>,
    /// Log-likelihoods of the classes for each cell of each seen face.
    pub likelihoods: Vec<Vec<Logs>>,
    /// Shares of the classes likewise.
    pub shares: Vec<Vec<Logs>>,
    /// The log-likelihood of it all, priors included.
    pub score: f64,
}

/// Where the shares of the classes come from.
#[derive(Clone, Copy)]
pub(super) enum Shares<'a> {
    /// From the light of the cells; with the balance of the rings, if the cells are a whole cube.
    Estimated { is_balanced: bool },
    /// From a cube pieced together.
    Given(&'a [Vec<Logs>]),
}

/// The sums over cells of a face that are taken for a class.
#[derive(Clone, Copy, Debug, Default)]
struct Group {
    weight: f64,
    sum: Channels,
}

impl Start {
    /// A kind of cube from the calibration.
    pub fn of(set: &ShadeSet, floor: f64) -> Self {
        /// How far another camera or light moves a shade besides what cubes of a kind differ.
        const CAMERA: f64 = 0.15;
        Self {
            names: set.shades.clone().map(|shade| shade.colour),
            shades: set
                .shades
                .clone()
                .map(|shade| shade.linear.map(|channel| (channel + floor).ln())),
            spreads: set
                .shades
                .clone()
                .map(|shade| shade.spread.map(|spread| spread.hypot(CAMERA))),
            log_share: set.share.ln(),
        }
    }
}

/// Every kind of cube, judged quickly, the likeliest first.
pub(super) fn first_looks(
    seen: &[Seen],
    calibration: &Calibration,
    is_balanced: bool,
) -> Vec<Colours> {
    let light = Light::of(&calibration.noise);
    let mut found: Vec<Colours> = calibration
        .shade_sets
        .iter()
        .map(|set| quickly(seen, Start::of(set, light.floor), is_balanced, &light))
        .collect();
    found.sort_by(|one, other| other.score.total_cmp(&one.score));
    found
}

/// A rough fit: each cell by its colour alone, brightness counting for little, gloss for nothing.
pub(super) fn quickly(seen: &[Seen], start: Start, is_balanced: bool, light: &Light) -> Colours {
    let mut colours = Colours {
        classes: start.shades,
        gains: vec![[0.0; 3]; seen.len()],
        looks: vec![start.shades; seen.len()],
        likelihoods: Vec::new(),
        shares: Vec::new(),
        score: 0.0,
        start,
    };
    for round in 0..10 {
        let wide = f64::from(6 - round.min(5)) / 2.0 + 0.5;
        let (colour_spread, shade_spread) = (0.16 * wide, 0.4 * wide);
        colours.likelihoods = seen
            .iter()
            .enumerate()
            .map(|(face, seen)| {
                let looks = colours.looks[face];
                seen.cells
                    .iter()
                    .map(|cell| {
                        std::array::from_fn(|k| {
                            let (shade, tint) = apart(cell, looks[k]);
                            let tint: f64 = tint.iter().map(|value| value.powi(2)).sum();
                            let square =
                                (shade / shade_spread).powi(2) + tint / colour_spread.powi(2);
                            let cost = 3.0 * (1.0 + square / 6.0).ln();
                            ((-cost).exp() + cell.misread * ANY).ln()
                        })
                    })
                    .collect()
            })
            .collect();
        let (shares, total) = share_out(seen, &colours.likelihoods, is_balanced);
        colours.shares = shares;
        let groups: Vec<[Group; 6]> = seen
            .iter()
            .enumerate()
            .map(|(face, seen)| {
                group(
                    colours.shares[face]
                        .iter()
                        .zip(&seen.cells)
                        .map(|(share, cell)| {
                            let trust = 1.0 - cell.misread;
                            std::array::from_fn(|k| {
                                let (shade, tint) = apart(cell, colours.looks[face][k]);
                                let whole =
                                    [0, 1, 2].map(|c| colours.looks[face][k][c] + shade + tint[c]);
                                (share[k] * trust, whole)
                            })
                        }),
                )
            })
            .collect();
        colours.fit_lights(seen, &groups, light);
        for face in 0..seen.len() {
            colours.looks[face] = colours
                .classes
                .map(|class| plus(class, colours.gains[face]));
        }
        colours.score = total + colours.prior(seen, light);
    }
    colours
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

fn group(cells: impl Iterator<Item = [(f64, Channels); 6]>) -> [Group; 6] {
    let mut groups = [Group::default(); 6];
    for cell in cells {
        for (group, (weight, value)) in groups.iter_mut().zip(cell) {
            group.weight += weight;
            group.sum = plus(group.sum, value.map(|channel| weight * channel));
        }
    }
    groups
}

/// What is known of a face between the rounds.
struct Progress {
    /// What the neighbours of each cell say of its shade and gloss.
    around: Vec<Around>,
    /// What each cell says of each class's look.
    said: Vec<[Channels; 6]>,
    /// How much that counts.
    worth: Vec<Logs>,
    /// Both summed up.
    groups: [Group; 6],
}

impl Progress {
    fn new(seen: &Seen, worth: Vec<Logs>) -> Self {
        let nothing = Around {
            log_shade: 0.0,
            gloss: 0.0,
        };
        let said: Vec<[Channels; 6]> = seen.cells.iter().map(|cell| [cell.log_light; 6]).collect();
        Self {
            around: vec![nothing; seen.cells.len()],
            groups: groups_of(&worth, &said),
            said,
            worth,
        }
    }

    fn learn(&mut self, seen: &Seen, fits: &[[Fit; 6]], shares: &[Logs]) {
        self.around = surroundings(seen.n, fits, shares);
        self.said = fits.iter().map(|fit| fit.map(|fit| fit.bare)).collect();
        self.worth = worths(seen, fits, shares);
        self.groups = groups_of(&self.worth, &self.said);
    }
}

impl Colours {
    /// Fits classes, lights, gloss and shading in turn, `rounds` times.
    pub fn refine(&mut self, seen: &[Seen], whence: Shares, light: &Light, rounds: usize) {
        let mut progress: Vec<Progress> = seen
            .iter()
            .enumerate()
            .map(|(face, seen)| match whence {
                // Shares that are not settled yet would draw the looks of like colours together.
                Shares::Estimated { .. } => Progress::new(seen, vec![[0.0; 6]; seen.cells.len()]),
                Shares::Given(given) => Progress::new(seen, given[face].clone()),
            })
            .collect();
        for _ in 0..rounds {
            let mut fits = Vec::with_capacity(seen.len());
            for (face, seen) in seen.iter().enumerate() {
                let fitted = self.explain_face(seen, face, &progress[face], light);
                let cells = fitted.iter().zip(&seen.cells);
                self.likelihoods[face] = cells.map(|(fit, cell)| logs(fit, cell.misread)).collect();
                fits.push(fitted);
            }
            let (shares, total) = match whence {
                Shares::Estimated { is_balanced } => {
                    share_out(seen, &self.likelihoods, is_balanced)
                }
                Shares::Given(given) => (given.to_vec(), 0.0),
            };
            self.shares = shares;
            for (face, progress) in progress.iter_mut().enumerate() {
                progress.learn(&seen[face], &fits[face], &self.shares[face]);
            }
            let groups: Vec<[Group; 6]> = progress.iter().map(|face| face.groups).collect();
            self.fit_lights(seen, &groups, light);
            self.fit_looks(&groups, light);
            self.score = total + self.prior(seen, light);
        }
    }

    /// All cells of a face explained by all classes, no cell having a say in its own judgement.
    fn explain_face(
        &self,
        seen: &Seen,
        face: usize,
        known: &Progress,
        light: &Light,
    ) -> Vec<[Fit; 6]> {
        let white = self.white(face, light);
        let (own, shared) = (
            1.0 / light.colour_noise.powi(2),
            1.0 / light.look_spread.powi(2),
        );
        let bases = self.classes.map(|class| plus(class, self.gains[face]));
        let fit = |index: usize, cell: &Cell, k: usize| {
            let part = known.worth[index][k];
            let group = &known.groups[k];
            let rest = (group.weight - part).max(0.0);
            let precision = own * rest + shared;
            let look: Channels = std::array::from_fn(|channel| {
                let sum = group.sum[channel] - part * known.said[index][k][channel];
                let log = (own * sum + shared * bases[k][channel]) / precision;
                (log.exp() - light.floor).max(1e-3)
            });
            let noise = (light.colour_noise.powi(2) + 1.0 / precision).sqrt();
            let mut fit = explain(cell, look, white, known.around[index], noise, light);
            fit.cost += 3.0 * (noise / light.colour_noise).ln();
            fit
        };
        let cells = seen.cells.iter().enumerate();
        cells
            .map(|(index, cell)| std::array::from_fn(|k| fit(index, cell, k)))
            .collect()
    }

    /// The light of a face as a linear colour, its brightest channel 1.
    fn white(&self, face: usize, light: &Light) -> Channels {
        let neutral = self
            .start
            .names
            .iter()
            .position(|name| *name == Name::White);
        let raw = match neutral {
            Some(class) => self.looks[face][class].map(|log| (log.exp() - light.floor).max(1e-3)),
            None => self.gains[face].map(f64::exp),
        };
        let top = raw.iter().copied().fold(1e-3, f64::max);
        raw.map(|channel| channel / top)
    }

    /// The classes and the gains of the faces from what the cells say, a few times in turn.
    fn fit_lights(&mut self, seen: &[Seen], groups: &[[Group; 6]], light: &Light) {
        /// How far the tints of two faces in one photo differ.
        const SAME_PHOTO: f64 = 0.08;
        let weight = |group: &Group| {
            group.weight / (group.weight * light.look_spread.powi(2) + light.colour_noise.powi(2))
        };
        for _ in 0..4 {
            let mut offs = Vec::with_capacity(seen.len());
            for groups in groups {
                let mut off = [0.0; 3];
                let mut sum = 0.0;
                for (group, class) in groups.iter().zip(&self.classes) {
                    if group.weight > 1e-3 {
                        let part = weight(group);
                        sum += part;
                        for k in 0..3 {
                            off[k] += part * (group.sum[k] / group.weight - class[k]);
                        }
                    }
                }
                offs.push((off.map(|value| value / sum.max(1e-9)), sum));
            }
            for face in 0..seen.len() {
                let mates = (0..seen.len()).filter(|&other| seen[other].photo == seen[face].photo);
                let mut tint = [0.0; 3];
                let mut sum = 1.0 / light.tint_spread.powi(2);
                for mate in mates {
                    let (off, part) = offs[mate];
                    let shade = mean(off);
                    sum += part;
                    for k in 0..3 {
                        tint[k] += part * (off[k] - shade);
                    }
                }
                let tint = tint.map(|value| value / sum);
                let (off, part) = offs[face];
                let shade = mean(off);
                let held = 1.0 / SAME_PHOTO.powi(2);
                let brightness = shade * part / (part + 1.0 / light.exposure_spread.powi(2));
                self.gains[face] = [0, 1, 2].map(|k| {
                    brightness + (part * (off[k] - shade) + held * tint[k]) / (part + held)
                });
            }
            for class in 0..6 {
                for k in 0..3 {
                    let stiff = 1.0 / self.start.spreads[class][k].powi(2);
                    let (mut sum, mut total) = (stiff * self.start.shades[class][k], stiff);
                    for (face, groups) in groups.iter().enumerate() {
                        let group = &groups[class];
                        if group.weight > 1e-3 {
                            let part = weight(group);
                            sum += part * (group.sum[k] / group.weight - self.gains[face][k]);
                            total += part;
                        }
                    }
                    self.classes[class][k] = sum / total;
                }
            }
        }
    }

    /// The look of each class in each face: what its cells say, held to what the gains predict.
    fn fit_looks(&mut self, groups: &[[Group; 6]], light: &Light) {
        let (own, shared) = (
            1.0 / light.colour_noise.powi(2),
            1.0 / light.look_spread.powi(2),
        );
        for (face, groups) in groups.iter().enumerate() {
            for (k, group) in groups.iter().enumerate() {
                let base = plus(self.classes[k], self.gains[face]);
                self.looks[face][k] = std::array::from_fn(|channel| {
                    (own * group.sum[channel] + shared * base[channel])
                        / (own * group.weight + shared)
                });
            }
        }
    }

    /// The log prior of classes, gains and looks.
    fn prior(&self, seen: &[Seen], light: &Light) -> f64 {
        let mut log = self.start.log_share;
        for class in 0..6 {
            for k in 0..3 {
                let off = self.classes[class][k] - self.start.shades[class][k];
                let spread = self.start.spreads[class][k];
                log -= 0.5 * (off / spread).powi(2) + spread.ln();
            }
        }
        for face in 0..seen.len() {
            let gain = self.gains[face];
            let shade = mean(gain);
            let tint: f64 = gain.iter().map(|value| (value - shade).powi(2)).sum();
            log -= 0.5 * (shade / light.exposure_spread).powi(2)
                + 0.5 * tint / light.tint_spread.powi(2);
            for class in 0..6 {
                let off = minus(self.looks[face][class], plus(self.classes[class], gain));
                let square: f64 = off.iter().map(|value| value.powi(2)).sum();
                log -= 0.5 * square / light.look_spread.powi(2);
            }
        }
        log
    }
}

/// How much each cell counts for the look of each class: its share, unless it rather shows something else.
fn worths(seen: &Seen, fits: &[[Fit; 6]], shares: &[Logs]) -> Vec<Logs> {
    let cells = seen.cells.iter().zip(fits).zip(shares);
    cells
        .map(|((cell, fits), shares)| {
            std::array::from_fn(|k| {
                let sticker = (1.0 - cell.misread) * (-fits[k].cost).exp();
                (2.0 * shares[k] - 1.0).max(0.0) * sticker / (sticker + cell.misread * ANY)
            })
        })
        .collect()
}

fn groups_of(worth: &[Logs], said: &[[Channels; 6]]) -> [Group; 6] {
    group(
        worth
            .iter()
            .zip(said)
            .map(|(worth, said)| std::array::from_fn(|k| (worth[k], said[k]))),
    )
}

/// A cell that shows something else than its sticker falls on a class about one time in eight.
const ANY: f64 = 1.0 / 8.0;

/// The log-likelihoods of a cell's fits, no class being ever quite impossible.
fn logs(fits: &[Fit; 6], misread: f64) -> Logs {
    fits.map(|fit| ((1.0 - misread) * (-fit.cost).exp() + misread * ANY).ln())
}

/// What the neighbours of each cell say of shade and gloss, itself left out.
fn surroundings(n: usize, fits: &[[Fit; 6]], shares: &[Logs]) -> Vec<Around> {
    /// Reach of a neighbour's word, in cells, as exponent of the squared distance.
    const REACH: f64 = 1.2;
    /// The weight of there being nothing.
    const NOTHING: f64 = 1.0;
    let own: Vec<(f64, f64, f64)> = fits
        .iter()
        .zip(shares)
        .map(|(fits, shares)| {
            let (mut shade, mut gloss, mut best) = (0.0, 0.0, 0.0_f64);
            for k in 0..6 {
                shade += shares[k] * fits[k].shade.max(1e-3).ln();
                gloss += shares[k] * fits[k].gloss;
                best = best.max(shares[k]);
            }
            (best * best, shade, gloss)
        })
        .collect();
    let all: f64 = own.iter().map(|cell| cell.0).sum();
    let usual = own.iter().map(|cell| cell.0 * cell.1).sum::<f64>() / all.max(1e-9);
    (0..n * n)
        .map(|cell| {
            let (row, col) = (cell / n, cell % n);
            let (mut weight, mut shade, mut gloss) = (NOTHING, 0.0, 0.0);
            for other_row in row.saturating_sub(2)..(row + 3).min(n) {
                for other_col in col.saturating_sub(2)..(col + 3).min(n) {
                    let other = other_row * n + other_col;
                    if other != cell {
                        let away = (row.abs_diff(other_row).pow(2) + col.abs_diff(other_col).pow(2))
                            as f64;
                        let part = own[other].0 * (-away / (2.0 * REACH * REACH)).exp();
                        weight += part;
                        shade += part * (own[other].1 - usual);
                        gloss += part * own[other].2;
                    }
                }
            }
            Around {
                log_shade: shade / weight,
                gloss: gloss / weight,
            }
        })
        .collect()
}

fn plus(one: Channels, other: Channels) -> Channels {
    [0, 1, 2].map(|k| one[k] + other[k])
}

fn minus(one: Channels, other: Channels) -> Channels {
    [0, 1, 2].map(|k| one[k] - other[k])
}

fn mean(channels: Channels) -> f64 {
    channels.iter().sum::<f64>() / 3.0
}
