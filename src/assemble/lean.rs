//! What a sticker is likely to be by its neighbours alone: on a cube on its way to being solved, the centres of a face
//! and the middle of a side tend to be of one colour; on a mixed one they do not.
//!
//! How far they do is learnt from the cube itself. A sticker leans by its neighbours' labels only as far as those of the
//! whole cube bear it out, so a mixed cube leans nowhere.

use super::evidence::side_cell;
use super::ring::Logs;

/// How mixed a group may be: the weight of one imaginary sticker of each colour. None is mixed beyond knowing.
const MIXTURES: [Option<f64>; 3] = [None, Some(0.3), Some(0.05)];

/// The groups of cells of an n×n face whose stickers tend to agree: the moving centres, and the four sides without their
/// corners.
fn groups(n: usize) -> [Vec<Vec<usize>>; 2] {
    let centres = (1..n - 1).flat_map(|row| (1..n - 1).map(move |col| row * n + col));
    let sides = (0..4).map(|side| (1..n - 1).map(|along| side_cell(n, side, along)).collect());
    [vec![centres.collect()], sides.collect()]
}

/// The log of how much likelier than by chance each class is in each cell, by the cells about it.
pub(super) fn lean(n: usize, shares: &[Vec<Logs>]) -> Vec<Vec<Logs>> {
    let mut leans: Vec<Vec<Logs>> = shares
        .iter()
        .map(|face| vec![[0.0; 6]; face.len()])
        .collect();
    if n < 4 {
        return leans;
    }
    for family in groups(n) {
        let weights = mixture_weights(&family, shares);
        for (face, leans) in shares.iter().zip(&mut leans) {
            for group in &family {
                let mut counts = [0.0; 6];
                for &cell in group {
                    for (count, share) in counts.iter_mut().zip(face[cell]) {
                        *count += share;
                    }
                }
                let others = group.len() as f64 - 1.0;
                for &cell in group {
                    leans[cell] = std::array::from_fn(|class| {
                        let same = (counts[class] - face[cell][class]).max(0.0);
                        let chance: f64 = MIXTURES
                            .iter()
                            .zip(weights)
                            .map(|(mixture, weight)| {
                                weight
                                    * mixture.map_or(1.0 / 6.0, |alpha| {
                                        (same + alpha) / (others + 6.0 * alpha)
                                    })
                            })
                            .sum();
                        (6.0 * chance).ln()
                    });
                }
            }
        }
    }
    leans
}

/// How well each degree of mixture explains the likeliest labels of all groups of a family.
fn mixture_weights(family: &[Vec<usize>], shares: &[Vec<Logs>]) -> [f64; MIXTURES.len()] {
    let mut logs = [0.0; MIXTURES.len()];
    for face in shares {
        for group in family {
            let mut counts = [0_usize; 6];
            for &cell in group {
                let share = &face[cell];
                let likeliest = (0..6)
                    .max_by(|&a, &b| share[a].total_cmp(&share[b]))
                    .unwrap_or(0);
                counts[likeliest] += 1;
            }
            for (log, mixture) in logs.iter_mut().zip(MIXTURES) {
                *log += match mixture {
                    None => -(group.len() as f64) * 6.0_f64.ln(),
                    Some(alpha) => {
                        let rising = |from: f64, count: usize| -> f64 {
                            (0..count).map(|step| (from + step as f64).ln()).sum()
                        };
                        let classes: f64 = counts.iter().map(|&count| rising(alpha, count)).sum();
                        classes - rising(6.0 * alpha, group.len())
                    }
                };
            }
        }
    }
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let powers = logs.map(|log| (log - top).exp());
    let sum: f64 = powers.iter().sum();
    powers.map(|power| power / sum)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sure(class: usize) -> Logs {
        std::array::from_fn(|k| if k == class { 1.0 } else { 0.0 })
    }

    /// A sticker unseen among its like leans to them; on a mixed cube it leans hardly at all.
    #[test]
    fn only_tidy_faces_lean() {
        let n = 5;
        let mut tidy: Vec<Vec<Logs>> = (0..6).map(|face| vec![sure(face); n * n]).collect();
        tidy[2][12] = [1.0 / 6.0; 6];
        let leans = lean(n, &tidy);
        assert!(leans[2][12][2] > 1.0 && leans[2][12][3] < -2.0);
        let mut mixed: Vec<Vec<Logs>> = (0..6)
            .map(|face| {
                (0..n * n)
                    .map(|cell| sure((cell * cell + 5 * face + cell / 4) % 6))
                    .collect()
            })
            .collect();
        mixed[2][12] = [1.0 / 6.0; 6];
        let leans = lean(n, &mixed);
        assert!(
            leans[2][12].iter().all(|lean| lean.abs() < 0.3),
            "{:?}",
            leans[2][12]
        );
    }
}
