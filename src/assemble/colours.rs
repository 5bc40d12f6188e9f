//! Cells to colour classes: six shades shared by all photos, the light of each face, and the likelihoods of every
//! cell, estimated in turn until they agree.
//!
//! It knows that each ring of cells holds as many of every colour, and nothing else about pieces.

use super::evidence::{Channels, Seen};
use super::lean::lean;
use super::lights::{self, FaceLight, Group};
use super::look::{Around, Asked, Fit, Light, explain};
use super::ring::{Logs, share_out};
use crate::calibration::ShadeSet;
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
    /// The light of each seen face.
    pub lights: Vec<FaceLight>,
    /// ln(light + floor) of each class in each seen face.
    pub looks: Vec<[Channels; 6]>,
    /// Log-likelihoods of the classes for each cell of each seen face.
    pub likelihoods: Vec<Vec<Logs>>,
    /// Shares of the classes likewise.
    pub shares: Vec<Vec<Logs>>,
    /// What the neighbours of each cell say of its class.
    pub leans: Vec<Vec<Logs>>,
    /// The log prior of classes, lights and looks.
    pub log_prior: f64,
    /// The log-likelihood of it all, priors included.
    pub score: f64,
    /// What is known of each seen face between the rounds.
    progress: Vec<Progress>,
}

/// Where the shares of the classes come from.
#[derive(Clone, Copy)]
pub(super) enum Shares<'a> {
    /// From the light of the cells; with the balance of the rings, if the cells are a whole cube.
    Estimated { is_balanced: bool },
    /// From a cube pieced together.
    Given(&'a [Vec<Logs>]),
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

    /// The log prior of classes on a cube of this kind.
    pub fn log_prior(&self, classes: &[Channels; 6]) -> f64 {
        let expected = self.shades.iter().zip(&self.spreads);
        let costs = classes
            .iter()
            .zip(expected)
            .map(|(class, (shade, spreads))| {
                (0..3)
                    .map(|k| 0.5 * ((class[k] - shade[k]) / spreads[k]).powi(2) + spreads[k].ln())
                    .sum::<f64>()
            });
        self.log_share - costs.sum::<f64>()
    }
}

/// What is known of a face between the rounds.
#[derive(Clone, Debug)]
struct Progress {
    /// What the neighbours of each cell say of its shade and gloss.
    around: Vec<Around>,
    /// What each cell says of each class's look: linear light.
    said: Vec<[Channels; 6]>,
    /// How much that counts.
    worth: Vec<Logs>,
    /// Both summed up.
    groups: [Group; 6],
    /// The noise of colour and of shade in this face against the usual.
    scales: [f64; 2],
}

impl Progress {
    fn new(seen: &Seen) -> Self {
        let nothing = Around {
            log_shade: 0.0,
            gloss: 0.0,
        };
        Self {
            around: vec![nothing; seen.cells.len()],
            groups: [Group::default(); 6],
            said: seen.cells.iter().map(|cell| [cell.light; 6]).collect(),
            // Shares that are not settled yet would draw the looks of like colours together.
            worth: vec![[0.0; 6]; seen.cells.len()],
            scales: [1.0; 2],
        }
    }

    fn learn(&mut self, seen: &Seen, fits: &[[Fit; 6]], shares: &[Logs], floor: f64) {
        self.around = surroundings(seen.n, fits, shares);
        self.said = fits.iter().map(|fit| fit.map(|fit| fit.bare)).collect();
        self.worth = worths(seen, fits, shares);
        self.groups = groups_of(&self.worth, &self.said, floor);
    }
}

impl Colours {
    /// Nothing fitted yet: every face in neutral light.
    pub fn begun(start: Start, faces: usize) -> Self {
        Self {
            classes: start.shades,
            lights: vec![FaceLight::default(); faces],
            looks: vec![start.shades; faces],
            likelihoods: Vec::new(),
            shares: Vec::new(),
            leans: Vec::new(),
            log_prior: 0.0,
            score: 0.0,
            progress: Vec::new(),
            start,
        }
    }

    /// Fits classes, lights, gloss and shading in turn, `rounds` times.
    pub fn refine(&mut self, seen: &[Seen], whence: Shares, light: &Light, rounds: usize) {
        let mut progress = std::mem::take(&mut self.progress);
        for (face, seen) in seen.iter().enumerate() {
            if progress.len() == face {
                progress.push(Progress::new(seen));
            }
            if let Shares::Given(given) = whence {
                progress[face].worth.clone_from(&given[face]);
                let said = &progress[face].said;
                progress[face].groups = groups_of(&given[face], said, light.floor);
            }
        }
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
                    let n = seen.first().map_or(0, |face| face.n);
                    let leaning = leant(&self.likelihoods, &lean(n, &self.shares));
                    share_out(seen, &leaning, is_balanced)
                }
                Shares::Given(given) => (given.to_vec(), 0.0),
            };
            self.leans = lean(seen.first().map_or(0, |face| face.n), &shares);
            self.shares = shares;
            for (face, progress) in progress.iter_mut().enumerate() {
                progress.learn(&seen[face], &fits[face], &self.shares[face], light.floor);
            }
            set_scales(&mut progress, &fits);
            let groups: Vec<[Group; 6]> = progress.iter().map(|face| face.groups).collect();
            self.fit_lights(seen, &groups, light);
            self.fit_looks(&groups, light);
            self.log_prior = self.prior(seen, light);
            self.score = total + self.log_prior;
        }
        self.progress = progress;
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
        let colour_noise = light.colour_noise * known.scales[0];
        let shading = light.shading_spread * known.scales[1];
        let (own, shared) = (1.0 / colour_noise.powi(2), 1.0 / light.look_spread.powi(2));
        let bases = self
            .classes
            .map(|class| self.lights[face].look(class, light.floor));
        // The look of a class by all cells but one, of which it is `part`, its variance, and what that takes off a likelihood:
        // shade and gloss take up half of the three dimensions.
        let expected = |k: usize, part: f64, said: Channels| -> (Channels, f64, f64) {
            let group = &known.groups[k];
            let rest = (group.weight - part).max(0.0);
            let precision = own * rest + shared;
            let look = std::array::from_fn(|channel| {
                let sum = group.sum[channel] - part * said[channel];
                let log = (own * sum + shared * bases[k][channel]) / precision;
                (log.exp() - light.floor).max(1e-3)
            });
            let variance = colour_noise.powi(2) + 1.0 / precision;
            let wider = (variance / light.colour_noise.powi(2)).sqrt();
            let odds = wider * wider.sqrt() * known.scales[1];
            (look, variance, 1.0 / odds)
        };
        let usual: [(Channels, f64, f64); 6] = std::array::from_fn(|k| expected(k, 0.0, [0.0; 3]));
        let cells = seen.cells.iter().enumerate();
        cells
            .map(|(index, cell)| {
                let asked = Asked::new(cell, known.around[index], light);
                std::array::from_fn(|k| {
                    let part = known.worth[index][k];
                    let (look, variance, peak) = if part > NO_PART {
                        expected(k, part, logs_of(known.said[index][k], light.floor))
                    } else {
                        usual[k]
                    };
                    let mut fit = explain(&asked, look, white, variance, shading, light);
                    fit.likelihood *= peak;
                    fit
                })
            })
            .collect()
    }

    /// The shares of the classes by the light alone, nothing pieced together yet.
    pub fn estimated(&self, seen: &[Seen], is_balanced: bool) -> Vec<Vec<Logs>> {
        let leaning = leant(&self.likelihoods, &self.leans);
        share_out(seen, &leaning, is_balanced).0
    }

    /// How likely classes, lights and looks are by themselves, as a log, had six faces been seen: near 20 in plain light, far
    /// below 0 where the light is hard to explain.
    pub fn ease(&self) -> f64 {
        let classes = self.start.log_prior(&self.classes);
        classes + (self.log_prior - classes) * 6.0 / self.lights.len() as f64
    }

    /// No less than the log weight of any cube in these very colours.
    pub fn reach(&self) -> f64 {
        let cells = self.likelihoods.iter().zip(&self.leans);
        let cells = cells.flat_map(|(logs, leans)| logs.iter().zip(leans));
        let best = cells.map(|(log, lean)| {
            let sums = (0..6).map(|k| log[k] + lean[k]);
            sums.fold(f64::NEG_INFINITY, f64::max)
        });
        self.log_prior + best.sum::<f64>()
    }

    /// What it costs, in nats, to take the cells of class `one` in a face for class `other` and the other way round, the light
    /// of the face being fitted anew.
    pub fn cost_of_exchange(&self, face: usize, one: usize, other: usize, light: &Light) -> f64 {
        let groups = &self.progress[face].groups;
        let mut exchanged = *groups;
        exchanged.swap(one, other);
        lights::cost(&exchanged, &self.classes, &self.lights[face], light)
            - lights::cost(groups, &self.classes, &self.lights[face], light)
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
            None => self.lights[face].log_gain.map(f64::exp),
        };
        let top = raw.iter().copied().fold(1e-3, f64::max);
        raw.map(|channel| channel / top)
    }

    /// The classes and the lights of the faces from what the cells say.
    pub(super) fn fit_lights(&mut self, seen: &[Seen], groups: &[[Group; 6]], light: &Light) {
        let start = &self.start;
        let (classes, lights) = (&mut self.classes, &mut self.lights);
        lights::fit(
            seen,
            groups,
            lights,
            classes,
            &start.shades,
            &start.spreads,
            light,
        );
    }

    /// The look of each class in each face: what its cells say, held to what the gains predict.
    fn fit_looks(&mut self, groups: &[[Group; 6]], light: &Light) {
        let (own, shared) = (
            1.0 / light.colour_noise.powi(2),
            1.0 / light.look_spread.powi(2),
        );
        for (face, groups) in groups.iter().enumerate() {
            for (k, group) in groups.iter().enumerate() {
                let base = self.lights[face].look(self.classes[k], light.floor);
                self.looks[face][k] = std::array::from_fn(|channel| {
                    (own * group.sum[channel] + shared * base[channel])
                        / (own * group.weight + shared)
                });
            }
        }
    }

    /// The log prior of classes, gains and looks.
    pub(super) fn prior(&self, seen: &[Seen], light: &Light) -> f64 {
        let faces = (0..seen.len()).map(|face| self.prior_of_face(face, light));
        self.start.log_prior(&self.classes) + faces.sum::<f64>()
    }

    /// The log prior of the light of a face and of the looks in it.
    pub(super) fn prior_of_face(&self, face: usize, light: &Light) -> f64 {
        let mut log = self.lights[face].log_prior(light);
        for class in 0..6 {
            let base = self.lights[face].look(self.classes[class], light.floor);
            let off = minus(self.looks[face][class], base);
            let square: f64 = off.iter().map(|value| value.powi(2)).sum();
            log -= 0.5 * square / light.look_spread.powi(2);
        }
        log
    }
}

/// The noise of colour and shade in each face, by how well its cells fit: held to that of all faces, and that to the
/// usual.
fn set_scales(progress: &mut [Progress], fits: &[Vec<[Fit; 6]>]) {
    /// How many cells the usual noise counts for.
    const HELD: f64 = 10.0;
    /// Free dimensions of a cell's colour once shade and gloss are fitted, and of its shade.
    const FREE: [f64; 2] = [1.5, 0.7];
    /// The least and the most the noise can be of the usual.
    const BOUNDS: [f64; 2] = [0.45, 1.8];
    let sums: Vec<[[f64; 2]; 2]> = progress
        .iter()
        .zip(fits)
        .map(|(face, fits)| {
            let mut sums = [[0.0; 2]; 2];
            for (worth, fit) in face.worth.iter().zip(fits) {
                for (worth, fit) in worth.iter().zip(fit) {
                    for (sum, square) in sums.iter_mut().zip([fit.square, fit.shade_square]) {
                        sum[0] += worth;
                        sum[1] += worth * square;
                    }
                }
            }
            sums
        })
        .collect();
    for kind in 0..2 {
        // Squares were measured against the scales in use.
        let variance = |cells: f64, squares: f64, expected: f64| {
            (HELD * FREE[kind] * expected + squares) / (FREE[kind] * (HELD + cells))
        };
        let (mut cells, mut squares) = (0.0, 0.0);
        for (face, sums) in progress.iter().zip(&sums) {
            cells += sums[kind][0];
            squares += sums[kind][1] * face.scales[kind].powi(2);
        }
        let of_all = variance(cells, squares, 1.0);
        for (face, sums) in progress.iter_mut().zip(&sums) {
            let squares = sums[kind][1] * face.scales[kind].powi(2);
            let scale = variance(sums[kind][0], squares, of_all).sqrt();
            face.scales[kind] = scale.clamp(BOUNDS[0], BOUNDS[1]);
        }
    }
}

/// How much each cell counts for the look of each class: its share, unless it rather shows something else; the less, the
/// more gloss lies over it.
fn worths(seen: &Seen, fits: &[[Fit; 6]], shares: &[Logs]) -> Vec<Logs> {
    /// So much gloss halves what a cell counts.
    const VEILED: f64 = 0.2;
    let cells = seen.cells.iter().zip(fits).zip(shares);
    cells
        .map(|((cell, fits), shares)| {
            std::array::from_fn(|k| {
                let sticker = (1.0 - cell.misread) * fits[k].likelihood;
                let glossy = 1.0 + (fits[k].gloss / VEILED).powi(2);
                (2.0 * shares[k] - 1.0).max(0.0) * sticker / (sticker + cell.misread * ANY) / glossy
            })
        })
        .collect()
}

/// A share below this does not count as a part of a class.
const NO_PART: f64 = 1e-9;

/// ln(light + floor).
fn logs_of(light: Channels, floor: f64) -> Channels {
    light.map(|channel| (channel + floor).ln())
}

fn groups_of(worth: &[Logs], said: &[[Channels; 6]], floor: f64) -> [Group; 6] {
    let mut groups = [Group::default(); 6];
    for (worth, said) in worth.iter().zip(said) {
        for k in (0..6).filter(|&k| worth[k] > NO_PART) {
            groups[k].weight += worth[k];
            let more = logs_of(said[k], floor).map(|log| worth[k] * log);
            groups[k].sum = plus(groups[k].sum, more);
        }
    }
    groups
}

/// A cell that shows something else than its sticker falls on a class about one time in eight.
pub(super) const ANY: f64 = 1.0 / 8.0;

/// The log-likelihoods of a cell's fits, no class being ever quite impossible.
fn logs(fits: &[Fit; 6], misread: f64) -> Logs {
    fits.map(|fit| ((1.0 - misread) * fit.likelihood + misread * ANY).ln())
}

/// Likelihoods with what the neighbours say.
pub(super) fn leant(likelihoods: &[Vec<Logs>], leans: &[Vec<Logs>]) -> Vec<Vec<Logs>> {
    let faces = likelihoods.iter().zip(leans);
    faces
        .map(|(face, leans)| {
            let cells = face.iter().zip(leans);
            cells
                .map(|(log, lean)| std::array::from_fn(|k| log[k] + lean[k]))
                .collect()
        })
        .collect()
}

/// What the neighbours of each cell say of shade and gloss, itself left out.
fn surroundings(n: usize, fits: &[[Fit; 6]], shares: &[Logs]) -> Vec<Around> {
    /// Reach of a neighbour's word, in cells, as exponent of the squared distance.
    const REACH: f64 = 1.2;
    /// The weight of there being nothing.
    const NOTHING: f64 = 1.0;
    // By rows and columns away.
    let parts: [[f64; 3]; 3] = std::array::from_fn(|rows| {
        std::array::from_fn(|cols| {
            let away = (rows.pow(2) + cols.pow(2)) as f64;
            (-away / (2.0 * REACH * REACH)).exp()
        })
    });
    let own: Vec<(f64, f64, f64)> = fits
        .iter()
        .zip(shares)
        .map(|(fits, shares)| {
            let (mut shade, mut gloss, mut best) = (0.0, 0.0, 0.0_f64);
            for k in 0..6 {
                shade += shares[k] * fits[k].log_shade;
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
                        let near = parts[row.abs_diff(other_row)][col.abs_diff(other_col)];
                        let part = own[other].0 * near;
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

pub(super) fn plus(one: Channels, other: Channels) -> Channels {
    [0, 1, 2].map(|k| one[k] + other[k])
}

pub(super) fn minus(one: Channels, other: Channels) -> Channels {
    [0, 1, 2].map(|k| one[k] - other[k])
}

pub(super) fn mean(channels: Channels) -> f64 {
    channels.iter().sum::<f64>() / 3.0
}
