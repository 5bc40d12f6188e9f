//! Rings of cells and their balance: on a whole cube every ring of four cells a face shows each colour four times.
//!
//! A ring is a cell with its images under quarter turns of the face. It carries either all stickers of the corners,
//! of the midges or of a centre orbit, or the first or second stickers of a wing orbit: 24 in all, four of a colour
//! by the laws of pieces, wherever the faces lie. So the balance holds before any face has found its place.

use super::evidence::Seen;

/// The logarithm of a probability, per colour class.
pub(super) type Logs = [f64; 6];

/// The number of a cell's ring, for the cells of an n×n face, and how many rings there are.
pub(super) fn rings(n: usize) -> (Vec<usize>, usize) {
    let last = n - 1;
    let mut ring_of = vec![usize::MAX; n * n];
    let mut count = 0;
    for row in 0..n {
        for col in 0..n {
            if ring_of[row * n + col] != usize::MAX {
                continue;
            }
            for (r, c) in [
                (row, col),
                (col, last - row),
                (last - row, last - col),
                (last - col, row),
            ] {
                ring_of[r * n + c] = count;
            }
            count += 1;
        }
    }
    (ring_of, count)
}

/// Shares of the colours in every cell, by its own likelihoods and, for six whole faces, the balance of its ring.
///
/// Returns the shares and the log-likelihood of it all.
pub(super) fn share_out(
    seen: &[Seen],
    likelihoods: &[Vec<Logs>],
    is_balanced: bool,
) -> (Vec<Vec<Logs>>, f64) {
    let Some(first) = seen.first() else {
        return (Vec::new(), 0.0);
    };
    let (ring_of, count) = rings(first.n);
    let mut shares: Vec<Vec<Logs>> = likelihoods
        .iter()
        .map(|face| vec![[0.0; 6]; face.len()])
        .collect();
    let mut total = 0.0;
    for ring in 0..count {
        let members: Vec<(usize, usize)> = (0..seen.len())
            .flat_map(|face| {
                let ring_of = &ring_of;
                (0..ring_of.len())
                    .filter(move |&cell| ring_of[cell] == ring)
                    .map(move |cell| (face, cell))
            })
            .collect();
        total += balance(&members, likelihoods, is_balanced, &mut shares);
    }
    (shares, total)
}

fn balance(
    members: &[(usize, usize)],
    likelihoods: &[Vec<Logs>],
    is_balanced: bool,
    shares: &mut [Vec<Logs>],
) -> f64 {
    /// How far the balance may outweigh a cell's own light.
    const MOST: f64 = 4.0;
    /// How often the balance is mended at most.
    const ROUNDS: usize = 15;
    /// A balance mended by less than this is there.
    const SETTLED: f64 = 1e-4;
    let target = members.len() as f64 / 6.0;
    let mut tops = 0.0;
    let weights: Vec<Logs> = members
        .iter()
        .map(|&(face, cell)| {
            let logs = &likelihoods[face][cell];
            let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
            tops += top;
            logs.map(|log| (log - top).exp())
        })
        .collect();
    let mut lift = [0.0_f64; 6];
    let mut raise = [1.0_f64; 6];
    for _ in 0..if is_balanced { ROUNDS } else { 0 } {
        let mut sums = [1e-12_f64; 6];
        for weights in &weights {
            let raised: Logs = std::array::from_fn(|k| weights[k] * raise[k]);
            let share = 1.0 / raised.iter().sum::<f64>();
            for k in 0..6 {
                sums[k] += raised[k] * share;
            }
        }
        let before = lift;
        for k in 0..6 {
            lift[k] = (lift[k] - (sums[k] / target).ln().clamp(-1.5, 1.5)).clamp(-MOST, MOST);
        }
        raise = lift.map(f64::exp);
        if (0..6).all(|k| (lift[k] - before[k]).abs() < SETTLED) {
            break;
        }
    }
    let mut total = tops;
    for (&(face, cell), weights) in members.iter().zip(&weights) {
        let raised: Logs = std::array::from_fn(|k| weights[k] * raise[k]);
        let sum = raised.iter().sum::<f64>();
        total += sum.ln();
        shares[face][cell] = raised.map(|value| value / sum);
    }
    total - lift.iter().map(|value| value * target).sum::<f64>()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Each ring has four cells a face, but for the one of the fixed centre.
    #[test]
    fn rings_have_four_cells() {
        for n in 2..=9 {
            let (ring_of, count) = rings(n);
            for ring in 0..count {
                let size = ring_of.iter().filter(|&&other| other == ring).count();
                let is_centre = n % 2 == 1 && ring_of[n * n / 2] == ring;
                assert_eq!(size, if is_centre { 1 } else { 4 }, "n = {n}");
            }
        }
    }
}
