//! Colours to cubes: every likely laying decoded and weighed against the others, colours and cube in turn.

use super::arrange::{Laid, lay, places};
use super::colours::Colours;
use super::decode::{Decoded, Sum, Unlawful, decode, glance, middle};
use super::evidence::{Block, Pose, Seen};
use super::look::Light;
use super::ring::Logs;
use super::scheme::{Arrangement, Homes, brought_from, turned};
use crate::colour::Name;
use crate::cube::{Face, Hold, Layout, Spot};

/// One way of understanding all photos.
#[derive(Clone, Debug)]
pub(super) struct Guess {
    /// Where the seen faces lie.
    pub laid: Laid,
    /// The class each face of the cube has when solved.
    pub homes: Homes,
    /// The cube.
    pub decoded: Decoded,
    /// The log of the prior of its scheme.
    pub log_prior: f64,
}

/// All that is asked of the search besides the colours.
pub(super) struct Task<'a> {
    pub n: usize,
    pub seen: &'a [Seen],
    pub blocks: &'a [Block],
    pub arrangements: &'a [Arrangement],
    /// The log prior of each arrangement.
    pub log_shares: &'a [f64],
    pub unlawful: Unlawful,
    pub light: Light,
    /// The log probability that a person takes a sticker for a certain other colour.
    pub log_told_wrongly: f64,
}

/// How far behind the best laying another may lie and still be looked at closely, in nats.
const GLANCED: f64 = 15.0;
/// How many layings are looked at closely at most.
const MOST_GLANCES: usize = 100;
/// How far behind the best a guess may lie and still be weighed, in nats.
const WEIGHED: f64 = 15.0;
/// How many guesses are decoded at most.
const DECODED: usize = 12;

/// The likeliest ways of understanding the photos under these colours, best first.
pub(super) fn guesses(task: &Task, colours: &Colours) -> Vec<Guess> {
    likeliest(task, colours, DECODED)
}

/// The same, at most so many of them decoded.
pub(super) fn likeliest(task: &Task, colours: &Colours, most: usize) -> Vec<Guess> {
    let lays = lay(
        task.seen,
        task.blocks,
        &colours.shares,
        task.arrangements,
        task.log_shares,
    );
    let mut glances: Vec<(f64, &Laid, Homes, Vec<Logs>)> = Vec::new();
    let top = lays.first().map_or(0.0, |laid| laid.score);
    for laid in lays
        .iter()
        .take_while(|laid| laid.score > top - GLANCED)
        .take(MOST_GLANCES)
    {
        let mut logs = places(laid, task.seen, &colours.likelihoods);
        hear(task, laid, colours.start.names, &mut logs);
        for homes in homes_for(task, laid, &logs) {
            glances.push((
                glance(task.n, &homes, &logs) + laid.edges,
                laid,
                homes,
                logs.clone(),
            ));
        }
    }
    glances.sort_by(|one, other| other.0.total_cmp(&one.0));
    let best = glances.first().map_or(0.0, |glance| glance.0);
    let mut found: Vec<Guess> = glances
        .into_iter()
        .take_while(|glance| glance.0 > best - WEIGHED)
        .take(most)
        .map(|(_, laid, homes, logs)| Guess {
            laid: laid.clone(),
            homes,
            decoded: decode(task.n, &homes, &logs, task.unlawful),
            log_prior: task.log_shares[laid.arrangement],
        })
        .collect();
    sort(&mut found);
    found
}

/// Lets what a person says of single stickers count.
fn hear(task: &Task, laid: &Laid, names: [Name; 6], logs: &mut [Logs]) {
    for (place, logs) in logs.iter_mut().enumerate() {
        let Spot { face, row, col } = Spot::from_place(place, task.n);
        for &(member, turns) in &laid.on[face.index()] {
            let cell = Pose { face, turns }.cell(task.n, row, col);
            if let Some(told) = task.seen[member].cells[cell].told {
                for (log, name) in logs.iter_mut().zip(names) {
                    if name != told {
                        *log += task.log_told_wrongly;
                    }
                }
            }
        }
    }
}

fn sort(guesses: &mut [Guess]) {
    guesses.sort_by(|one, other| other.log_best().total_cmp(&one.log_best()));
}

/// The turned forms of a laying's arrangement worth decoding: on an odd cube those that agree with the fixed centres; on
/// an even one any will do, since nothing is fixed.
fn homes_for(task: &Task, laid: &Laid, logs: &[Logs]) -> Vec<Homes> {
    let base = task.arrangements[laid.arrangement].homes;
    if task.n.is_multiple_of(2) {
        return vec![base];
    }
    let mut found: Vec<(f64, Homes)> = Hold::all()
        .iter()
        .map(|&hold| turned(base, hold))
        .map(|homes| (middle(task.n, &homes, logs), homes))
        .collect();
    found.sort_by(|one, other| other.0.total_cmp(&one.0));
    let best = found[0].0;
    found.retain(|(log, _)| *log > best - 12.0);
    found.truncate(6);
    found.into_iter().map(|(_, homes)| homes).collect()
}

impl Guess {
    pub fn log_best(&self) -> f64 {
        self.decoded.log_best + self.log_prior
    }

    /// The stickers in a form that is the same for every way of holding the cube.
    pub fn essence(&self, n: usize) -> Vec<usize> {
        Hold::all()
            .iter()
            .map(|&hold| {
                let from = brought_from(n, hold);
                from.into_iter()
                    .map(|place| self.decoded.classes[place])
                    .collect()
            })
            .min()
            .unwrap_or_default()
    }
}

/// The probability of the best guess's cube among all guesses.
pub(super) fn confidence(n: usize, guesses: &[Guess]) -> f64 {
    let Some(best) = guesses.first() else {
        return 0.0;
    };
    let essence = best.essence(n);
    let (mut all, mut same) = (Sum::default(), Sum::default());
    for guess in guesses {
        all.add(guess.decoded.log_total + guess.log_prior);
        if guess.essence(n) == essence {
            same.add(guess.log_best());
        }
    }
    (same.log() - all.log()).exp().min(1.0)
}

/// How much likelier the light is from this cube than from stickers that have nothing to do with each other, in nats.
///
/// Every state of a cube is taken for as likely as any other, and so is every way of laying its faces; of unrelated
/// stickers each shows each colour one time in six.
pub(super) fn kinship(n: usize, best: &Guess, likelihoods: &[Vec<Logs>], blocks: usize) -> f64 {
    /// ln of the ways to lay one more of six single faces: 6!·4⁶ of them, 24 of each alike by turning.
    const ONE_MORE: f64 = 2.34;
    let unrelated: f64 = likelihoods
        .iter()
        .flatten()
        .map(|logs| (logs.iter().map(|log| log.exp()).sum::<f64>() / 6.0).ln())
        .sum();
    let ways = ONE_MORE * blocks.saturating_sub(1) as f64;
    best.log_best() - log_states(n) - ways - unrelated
}

/// For each photo, how much likelier the light of its worst face is from its part of the cube than from unrelated
/// stickers, in nats a sticker: ln 6 where every sticker looks as the cube has it.
pub(super) fn fits(
    photos: usize,
    best: &Guess,
    seen: &[Seen],
    likelihoods: &[Vec<Logs>],
) -> Vec<f64> {
    let mut fits = vec![f64::INFINITY; photos];
    for face in Face::ALL {
        for &(member, turns) in &best.laid.on[face.index()] {
            let n = seen[member].n;
            let mut sum = 0.0;
            for row in 0..n {
                for col in 0..n {
                    let logs = &likelihoods[member][Pose { face, turns }.cell(n, row, col)];
                    let class = best.decoded.classes[(face.index() * n + row) * n + col];
                    let any = logs.iter().map(|log| log.exp()).sum::<f64>() / 6.0;
                    sum += logs[class] - any.ln();
                }
            }
            let fit = &mut fits[seen[member].photo];
            *fit = fit.min(sum / (n * n) as f64);
        }
    }
    fits
}

/// ln of the number of states an n×n×n cube can be in, held still.
fn log_states(n: usize) -> f64 {
    let log_factorial = |number: usize| (2..=number).map(|k| (k as f64).ln()).sum::<f64>();
    let layout = Layout::of(n);
    let mut sum = log_factorial(8) + 7.0 * 3.0_f64.ln();
    if n % 2 == 1 {
        sum += log_factorial(12) + 10.0 * 2.0_f64.ln();
    }
    sum += layout.wing_orbits.len() as f64 * log_factorial(24);
    let of_orbit = log_factorial(24) - 6.0 * log_factorial(4);
    sum + layout.centre_orbits.len() as f64 * of_orbit
}

/// The shares of the classes in every seen cell, as a guess has them.
pub(super) fn shares_of(guess: &Guess, seen: &[Seen]) -> Vec<Vec<Logs>> {
    let mut shares: Vec<Vec<Logs>> = seen
        .iter()
        .map(|face| vec![[1.0 / 6.0; 6]; face.cells.len()])
        .collect();
    for face in Face::ALL {
        for &(member, turns) in &guess.laid.on[face.index()] {
            let n = seen[member].n;
            for row in 0..n {
                for col in 0..n {
                    let cell = Pose { face, turns }.cell(n, row, col);
                    let place = (face.index() * n + row) * n + col;
                    shares[member][cell] = guess.decoded.shares[place];
                }
            }
        }
    }
    shares
}

/// Colours and cube in turn, until the cube stays as it is.
pub(super) fn settle(task: &Task, colours: &mut Colours) -> Vec<Guess> {
    /// How often at most.
    const TURNS: usize = 4;
    let mut found = guesses(task, colours);
    for _ in 0..TURNS {
        let Some(best) = found.first() else {
            break;
        };
        let before = best.essence(task.n);
        let given = shares_of(best, task.seen);
        colours.refine(
            task.seen,
            super::colours::Shares::Given(&given),
            &task.light,
            2,
        );
        found = guesses(task, colours);
        if found
            .first()
            .is_some_and(|best| best.essence(task.n) == before)
        {
            break;
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Source: OEIS A075152, the number of positions of the n×n×n cube; on even orders each is seen in 24 holds.
    #[test]
    fn states_are_as_many_as_published() {
        let check = |n: usize, published: f64| {
            let holds = if n.is_multiple_of(2) { 24.0 } else { 1.0 };
            let expected = (published * holds).ln();
            assert!(
                (log_states(n) - expected).abs() < 1e-6,
                "{n}: {}",
                log_states(n)
            );
        };
        check(2, 3_674_160.0);
        check(3, 43_252_003_274_489_856_000.0);
        check(4, 7.401_196_841_564_902e45);
        check(5, 2.828_709_422_777_418_6e74);
        check(6, 1.571_528_584_010_240_6e116);
        check(7, 1.950_055_118_373_131e160);
    }
}
