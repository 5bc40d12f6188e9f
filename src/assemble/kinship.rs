//! Whether faces are of one cube at all, and how well each photo fits it.

use super::colours::Colours;
use super::evidence::{Pose, Seen};
use super::ring::Logs;
use super::solve::{Guess, Task, seen_places};
use crate::calibration::Noise;
use crate::cube::{Face, Layout};
use std::collections::BTreeMap;

/// How much likelier the light is from this cube than from what has nothing to do with each other, in nats.
///
/// Every way of laying its faces is taken for as likely as any other.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Kinship {
    /// Than from unrelated stickers, each showing each colour one time in six, and every state of the cube as likely.
    pub over_stickers: f64,
    /// Than from unrelated faces, of cubes that may be at any stage: their centres, and the strips between their corners, are
    /// each of one colour or of any; and every state at this cube's stage as likely.
    pub over_faces: f64,
}

/// The kinship of the seen faces.
pub(super) fn kinship(task: &Task, best: &Guess, colours: &Colours) -> Kinship {
    /// ln of the ways to lay one more of six single faces: 6!·4⁶ of them, 24 of each alike by turning.
    const ONE_MORE: f64 = 2.34;
    let n = task.n;
    let faces = colours.likelihoods.iter();
    let alone: Vec<Alone> = faces.map(|face| Alone::of(n, face)).collect();
    let mut stage = Stage::default();
    // What neighbours say of each other is no likelihood of what was seen.
    let mut leaning = 0.0;
    for face in Face::ALL {
        if let Some(&(member, turns)) = best.laid.on[face.index()].last() {
            stage.centres += usize::from(alone[member].has_whole_centre);
            stage.strips += alone[member].whole_strips;
            for spot in 0..n * n {
                let cell = Pose { face, turns }.cell(n, spot / n, spot % n);
                let class = best.decoded.classes[face.index() * n * n + spot];
                leaning += colours.leans[member][cell][class];
            }
        }
    }
    let ways = ONE_MORE * task.blocks.len().saturating_sub(1) as f64;
    let cube = best.log_best() - leaning - ways;
    let stickers: f64 = alone.iter().map(|face| face.of_stickers).sum();
    let faces: f64 = alone.iter().map(|face| face.of_parts).sum();
    Kinship {
        over_stickers: cube - log_states(n, Stage::default()) - stickers,
        over_faces: cube - log_states(n, stage) - faces,
    }
}

/// A face by itself.
struct Alone {
    /// Its log-likelihood as so many stickers of any colour.
    of_stickers: f64,
    /// The same, but each strip and the centre of one colour where that is likelier.
    of_parts: f64,
    has_whole_centre: bool,
    /// How many strips are of one colour.
    whole_strips: usize,
}

impl Alone {
    fn of(n: usize, face: &[Logs]) -> Self {
        let mean = |logs: &Logs| (logs.iter().map(|log| log.exp()).sum::<f64>() / 6.0).ln();
        let is_end = |at: usize| at == 0 || at == n - 1;
        let mut parts: BTreeMap<[usize; 2], Vec<&Logs>> = BTreeMap::new();
        for (cell, logs) in face.iter().enumerate() {
            // Cells of one part agree in which of their coordinates are at which end.
            let part = [cell / n, cell % n].map(|at| if is_end(at) { at } else { 1 });
            parts.entry(part).or_default().push(logs);
        }
        let mut alone = Self {
            of_stickers: 0.0,
            of_parts: 0.0,
            has_whole_centre: false,
            whole_strips: 0,
        };
        for (part, cells) in parts {
            let of_any: f64 = cells.iter().map(|logs| mean(logs)).sum();
            let sums: Logs = std::array::from_fn(|k| cells.iter().map(|logs| logs[k]).sum());
            let top = sums.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            let of_one = top + mean(&sums.map(|sum| sum - top));
            alone.of_stickers += of_any;
            alone.of_parts += of_any.max(of_one);
            if of_one > of_any {
                match part.iter().filter(|&&at| is_end(at)).count() {
                    0 => alone.has_whole_centre = true,
                    1 => alone.whole_strips += 1,
                    _ => {}
                }
            }
        }
        alone
    }
}

/// How well each photo must fit its cube, in nats a sticker. Photos of a cube had 1.2 at least (hard light, heavy glare),
/// a photo of another cube in the place of an unreadable one 0.5 at most.
pub(super) const LEAST_FIT: f64 = 0.85;

/// For each photo, how much likelier the light of its worst face is from its part of the cube than from unrelated
/// stickers, in nats a sticker: ln 6 where every sticker looks as the cube has it.
pub(super) fn fits(
    photos: usize,
    best: &Guess,
    seen: &[Seen],
    likelihoods: &[Vec<Logs>],
) -> Vec<f64> {
    let mut sums = vec![None; seen.len()];
    for (place, member, cell) in seen_places(best, seen) {
        let gain = gain(&likelihoods[member][cell], best.decoded.classes[place]);
        *sums[member].get_or_insert(0.0) += gain;
    }
    let mut fits = vec![f64::INFINITY; photos];
    for (face, sum) in seen.iter().zip(sums) {
        if let Some(sum) = sum {
            let fit = &mut fits[face.photo];
            *fit = fit.min(sum / face.cells.len() as f64);
        }
    }
    fits
}

/// The odds that the photo that fits worst shows something else than its part of the cube, and fits by chance: another cube, a
/// face a second time, a mirror image. A face of few stickers that fits with exceptions is little against them.
pub(super) fn odds_of_odd_photo(
    best: &Guess,
    seen: &[Seen],
    likelihoods: &[Vec<Logs>],
    share: f64,
) -> f64 {
    /// The ways to lay a face.
    const WAYS: f64 = 4.0;
    let mut gains = [0.0; 6];
    for (place, member, cell) in seen_places(best, seen) {
        let n = seen[member].n;
        gains[place / (n * n)] += gain(&likelihoods[member][cell], best.decoded.classes[place]);
    }
    let mut by_photo: BTreeMap<usize, f64> = BTreeMap::new();
    for (members, gain) in best.laid.on.iter().zip(gains) {
        // What several photos show hangs on none of them.
        for &(member, _) in members {
            *by_photo.entry(seen[member].photo).or_default() += gain;
        }
    }
    let least = by_photo.into_values().fold(f64::INFINITY, f64::min);
    share * WAYS * (-least).exp()
}

/// How much likelier a cell is as a sticker of this class than as one of any.
fn gain(logs: &Logs, class: usize) -> f64 {
    logs[class] - (logs.iter().map(|log| log.exp()).sum::<f64>() / 6.0).ln()
}

/// The face whose stickers fit worst though nothing covers them.
#[derive(Default)]
pub(super) struct Strangest {
    /// How much less likely than an ordinary sticker they are together, as logs.
    pub nats: f64,
    /// Their places.
    pub places: Vec<usize>,
}

/// Looks for clear stickers that look like none of their cube's: each can be, several in a face hardly.
pub(super) fn strangest(
    best: &Guess,
    seen: &[Seen],
    likelihoods: &[Vec<Logs>],
    noise: &Noise,
) -> Strangest {
    /// The least log-likelihood of an ordinary sticker.
    const ORDINARY: f64 = -2.0;
    /// From here on a sticker by itself is strange.
    const STRANGE: f64 = 4.0;
    let mut faces: Vec<Strangest> = seen.iter().map(|_| Strangest::default()).collect();
    for (place, member, cell) in seen_places(best, seen) {
        if seen[member].cells[cell].misread < 2.0 * noise.misread_share.value {
            let log = likelihoods[member][cell][best.decoded.classes[place]];
            faces[member].nats += (ORDINARY - log).max(0.0);
            if log < ORDINARY - STRANGE {
                faces[member].places.push(place);
            }
        }
    }
    let worst = faces
        .into_iter()
        .max_by(|one, other| one.nats.total_cmp(&other.nats));
    worst.unwrap_or_default()
}

/// How far a cube is on its way to a 3×3×3, as its faces show.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Stage {
    /// Centres of one colour.
    centres: usize,
    /// Strips of one colour; a whole edge group has two.
    strips: usize,
}

/// ln of the number of states an n×n×n cube can be in, held still, with so many centres and groups whole.
fn log_states(n: usize, stage: Stage) -> f64 {
    let groups = stage.strips / 2;
    let log_factorial = |number: usize| (2..=number).map(|k| (k as f64).ln()).sum::<f64>();
    let layout = Layout::of(n);
    let mut sum = log_factorial(8) + 7.0 * 3.0_f64.ln();
    if n % 2 == 1 {
        sum += log_factorial(12) + 10.0 * 2.0_f64.ln();
    } else if n > 2 {
        // Whole groups go where they like, and so do whole centres.
        sum += log_factorial(12) - log_factorial(12 - groups);
        sum += groups as f64 * 2.0_f64.ln();
        sum += log_factorial(6) - log_factorial(6 - stage.centres);
    }
    sum += layout.wing_orbits.len() as f64 * log_factorial(24 - 2 * groups);
    let open = 6 - stage.centres;
    let of_orbit = log_factorial(4 * open) - open as f64 * log_factorial(4);
    sum + layout.centre_orbits.len() as f64 * of_orbit
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
                (log_states(n, Stage::default()) - expected).abs() < 1e-6,
                "{n}: {}",
                log_states(n, Stage::default())
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
