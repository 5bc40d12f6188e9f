//! Few pieces to as many positions, each piece turned somehow: exact sums and maxima over all ways, by how the turns
//! and the permutation come out.
//!
//! Corners are 8 pieces of 3 turns, midges 12 of 2. The laws ask for a sum of turns and for a parity; keeping both in
//! the tables costs a factor of 6 and makes every law, kept or broken, an entry.

/// The likelihood of each piece at each position in each turn: `[position][piece][turn]`, as weights.
pub(super) struct Roster {
    pieces: usize,
    turns: usize,
    weights: Vec<Vec<Vec<f64>>>,
    /// What the weights were divided by, in logs.
    scale: f64,
}

/// One way to fill the positions: piece and turn of each.
pub(super) type Filling = Vec<(usize, usize)>;

/// Sums over the ways that come out the same: `[sum of turns][parity]`.
pub(super) type Outcomes = Vec<[f64; 2]>;

impl Roster {
    /// From log-likelihoods.
    pub fn new(logs: &[Vec<Vec<f64>>]) -> Self {
        let pieces = logs.len();
        let turns = logs.first().and_then(|row| row.first()).map_or(1, Vec::len);
        let mut scale = 0.0;
        let weights = logs
            .iter()
            .map(|row| {
                let top = row
                    .iter()
                    .flatten()
                    .copied()
                    .fold(f64::NEG_INFINITY, f64::max);
                scale += top;
                row.iter()
                    .map(|piece| piece.iter().map(|log| (log - top).exp()).collect())
                    .collect()
            })
            .collect();
        Self {
            pieces,
            turns,
            weights,
            scale,
        }
    }

    /// The log of what all sums and maxima are to be multiplied by.
    pub fn scale(&self) -> f64 {
        self.scale
    }

    /// Whether adding `piece` to the pieces in `mask` changes the parity.
    fn flips(mask: usize, piece: usize) -> usize {
        ((mask >> (piece + 1)).count_ones() & 1) as usize
    }

    /// Tables over the sets of pieces used by the first positions, by `combine` (sum or maximum).
    fn forward(&self, combine: fn(f64, f64) -> f64) -> Vec<Outcomes> {
        let full = 1 << self.pieces;
        let mut table = vec![vec![[0.0; 2]; self.turns]; full];
        table[0][0][0] = 1.0;
        for mask in 0..full - 1 {
            let here = std::mem::take(&mut table[mask]);
            let position = mask.count_ones() as usize;
            for piece in (0..self.pieces).filter(|piece| mask >> piece & 1 == 0) {
                let flip = Self::flips(mask, piece);
                for turn in 0..self.turns {
                    let weight = self.weights[position][piece][turn];
                    for (sum, parities) in here.iter().enumerate() {
                        let to = &mut table[mask | 1 << piece][(sum + turn) % self.turns];
                        for (parity, value) in parities.iter().enumerate() {
                            let slot = &mut to[parity ^ flip];
                            *slot = combine(*slot, value * weight);
                        }
                    }
                }
            }
            table[mask] = here;
        }
        table
    }

    /// The sums over all fillings, by outcome.
    pub fn sums(&self) -> Outcomes {
        self.forward(|one, other| one + other)
            .pop()
            .unwrap_or_default()
    }

    /// The best filling with each outcome and its weight: `[sum of turns][parity]`.
    pub fn best(&self) -> Vec<[(f64, Filling); 2]> {
        let table = self.forward(f64::max);
        (0..self.turns)
            .map(|sum| [0, 1].map(|parity| self.traced(&table, sum, parity)))
            .collect()
    }

    fn traced(&self, table: &[Outcomes], sum: usize, parity: usize) -> (f64, Filling) {
        let mut mask = (1 << self.pieces) - 1;
        let weight = table[mask][sum][parity];
        let (mut sum, mut parity) = (sum, parity);
        let mut filling = vec![(0, 0); self.pieces];
        for position in (0..self.pieces).rev() {
            let mut best = (-1.0, 0, 0);
            for piece in (0..self.pieces).filter(|piece| mask >> piece & 1 == 1) {
                let rest = mask & !(1 << piece);
                for turn in 0..self.turns {
                    let before = (sum + self.turns - turn) % self.turns;
                    let value = table[rest][before][parity ^ Self::flips(rest, piece)]
                        * self.weights[position][piece][turn];
                    if value > best.0 {
                        best = (value, piece, turn);
                    }
                }
            }
            let (_, piece, turn) = best;
            filling[position] = (piece, turn);
            mask &= !(1 << piece);
            sum = (sum + self.turns - turn) % self.turns;
            parity ^= Self::flips(mask, piece);
        }
        (weight, filling)
    }

    /// The probability of every piece and turn at every position, the outcomes weighing as given.
    pub fn shares(&self, outcomes: &Outcomes) -> Vec<Vec<Vec<f64>>> {
        let full = 1 << self.pieces;
        let ahead = self.forward(|one, other| one + other);
        // `behind[mask][sum][parity]`: the weight of finishing when the first positions came out so.
        let mut behind = vec![vec![[0.0; 2]; self.turns]; full];
        behind[full - 1].clone_from(outcomes);
        let mut shares = vec![vec![vec![0.0; self.turns]; self.pieces]; self.pieces];
        for mask in (0..full - 1).rev() {
            let position = mask.count_ones() as usize;
            let mut here = vec![[0.0; 2]; self.turns];
            for piece in (0..self.pieces).filter(|piece| mask >> piece & 1 == 0) {
                let flip = Self::flips(mask, piece);
                for turn in 0..self.turns {
                    let weight = self.weights[position][piece][turn];
                    let mut through = 0.0;
                    for sum in 0..self.turns {
                        for parity in 0..2 {
                            let after = weight
                                * behind[mask | 1 << piece][(sum + turn) % self.turns]
                                    [parity ^ flip];
                            here[sum][parity] += after;
                            through += ahead[mask][sum][parity] * after;
                        }
                    }
                    shares[position][piece][turn] += through;
                }
            }
            behind[mask] = here;
        }
        for position in &mut shares {
            let total: f64 = position.iter().flatten().sum();
            for share in position.iter_mut().flatten() {
                *share /= total.max(f64::MIN_POSITIVE);
            }
        }
        shares
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every filling of 4 pieces of 3 turns, one by one.
    fn all_fillings() -> Vec<(Filling, usize, usize)> {
        let mut found = Vec::new();
        for code in 0..4_usize.pow(4) * 81 {
            let (order, turns) = (code % 256, code / 256);
            let pieces: Vec<usize> = (0..4).map(|k| order >> (2 * k) & 3).collect();
            if (0..4).any(|piece| !pieces.contains(&piece)) {
                continue;
            }
            let turns: Vec<usize> = (0..4).map(|k| turns / 3_usize.pow(k) % 3).collect();
            let inversions = (0..4)
                .flat_map(|a| (a + 1..4).map(move |b| (a, b)))
                .filter(|&(a, b)| pieces[a] > pieces[b])
                .count();
            let sum = turns.iter().sum::<usize>() % 3;
            found.push((pieces.into_iter().zip(turns).collect(), sum, inversions % 2));
        }
        found
    }

    /// Against plain enumeration.
    #[test]
    fn sums_maxima_and_shares_are_exact() {
        let logs: Vec<Vec<Vec<f64>>> = (0..4_i32)
            .map(|a| {
                (0..4_i32)
                    .map(|b| {
                        (0..3_i32)
                            .map(|t| -f64::from((a * 7 + b * 5 + t * 3) % 11) / 3.0)
                            .collect()
                    })
                    .collect()
            })
            .collect();
        let roster = Roster::new(&logs);
        let weight = |filling: &Filling| -> f64 {
            filling
                .iter()
                .enumerate()
                .map(|(at, &(piece, turn))| logs[at][piece][turn])
                .sum::<f64>()
                .exp()
        };
        let scale = roster.scale().exp();
        let all = all_fillings();
        assert_eq!(all.len(), 24 * 81);
        let sums = roster.sums();
        let best = roster.best();
        for sum in 0..3 {
            for parity in 0..2 {
                let same: Vec<&Filling> = all
                    .iter()
                    .filter(|(_, s, p)| *s == sum && *p == parity)
                    .map(|(filling, ..)| filling)
                    .collect();
                let total: f64 = same.iter().map(|filling| weight(filling)).sum();
                let most = same
                    .iter()
                    .map(|filling| weight(filling))
                    .fold(0.0, f64::max);
                assert!((sums[sum][parity] * scale / total - 1.0).abs() < 1e-9);
                let (value, filling) = &best[sum][parity];
                assert!((value * scale / most - 1.0).abs() < 1e-9);
                assert!((weight(filling) / most - 1.0).abs() < 1e-9);
            }
        }
        let shares = roster.shares(&vec![[1.0, 0.0], [0.0; 2], [0.0; 2]]);
        let legal: Vec<&Filling> = all
            .iter()
            .filter(|(_, s, p)| *s == 0 && *p == 0)
            .map(|(filling, ..)| filling)
            .collect();
        let total: f64 = legal.iter().map(|filling| weight(filling)).sum();
        for at in 0..4 {
            for (piece, turns) in shares[at].iter().enumerate() {
                for (turn, share) in turns.iter().enumerate() {
                    let with: f64 = legal
                        .iter()
                        .filter(|filling| filling[at] == (piece, turn))
                        .map(|filling| weight(filling))
                        .sum();
                    assert!((share - with / total).abs() < 1e-9);
                }
            }
        }
    }
}
