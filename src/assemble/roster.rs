//! Few pieces to as many positions, each piece turned somehow: exact sums and maxima over all ways, by how the turns
//! and the permutation come out.
//!
//! Corners are 8 pieces of 3 turns, midges 12 of 2. The laws ask for a sum of turns and for a parity; keeping both in
//! the tables costs a factor of 6 and makes every law, kept or broken, an entry.

/// The likelihood of each piece at each position in each turn, as weights.
pub(super) struct Roster<const TURNS: usize> {
    pieces: usize,
    /// `[position · pieces + piece][turn]`.
    weights: Vec<[f64; TURNS]>,
    /// What the weights at each position were divided by, in logs.
    tops: Vec<f64>,
}

/// One way to fill the positions: piece and turn of each.
pub(super) type Filling = Vec<(usize, usize)>;

/// Something of the ways that come out the same: `[sum of turns][parity]`.
pub(super) type Outcomes<T, const TURNS: usize> = [[T; 2]; TURNS];

/// The sums over all ways to fill the first positions with the pieces of a set, for every set.
pub(super) struct Sums<const TURNS: usize>(Vec<Outcomes<f64, TURNS>>);

/// The weights of the best of them.
pub(super) struct Best<const TURNS: usize>(Vec<Outcomes<f64, TURNS>>);

impl<const TURNS: usize> Best<TURNS> {
    /// The weight of the best filling of all positions that comes out so.
    pub fn weight(&self, sum: usize, parity: usize) -> f64 {
        self.0.last().map_or(0.0, |all| all[sum][parity])
    }
}

impl<const TURNS: usize> Sums<TURNS> {
    /// The sums over all fillings, by outcome.
    pub fn all(&self) -> Outcomes<f64, TURNS> {
        self.0.last().copied().unwrap_or([[0.0; 2]; TURNS])
    }
}

impl<const TURNS: usize> Roster<TURNS> {
    /// From the log-likelihoods of a position and a piece, by turn.
    pub fn new(pieces: usize, logs: impl Fn(usize, usize) -> [f64; TURNS]) -> Self {
        let mut tops = Vec::with_capacity(pieces);
        let mut weights = Vec::with_capacity(pieces * pieces);
        for position in 0..pieces {
            let from = weights.len();
            weights.extend((0..pieces).map(|piece| logs(position, piece)));
            let row = &mut weights[from..];
            let top = row
                .iter()
                .flatten()
                .copied()
                .fold(f64::NEG_INFINITY, f64::max);
            tops.push(top);
            for weight in row.iter_mut().flatten() {
                *weight = (*weight - top).exp();
            }
        }
        Self {
            pieces,
            weights,
            tops,
        }
    }

    /// The log of what all sums and maxima are to be multiplied by.
    pub fn scale(&self) -> f64 {
        self.tops.iter().sum()
    }

    /// The highest log of each position.
    pub fn tops(&self) -> &[f64] {
        &self.tops
    }

    /// Whether adding `piece` to the pieces in `mask` changes the parity.
    fn flips(mask: usize, piece: usize) -> usize {
        ((mask >> (piece + 1)).count_ones() & 1) as usize
    }

    /// The weights of all pieces at the position that is filled next.
    fn next(&self, mask: usize) -> &[[f64; TURNS]] {
        let position = mask.count_ones() as usize;
        &self.weights[position * self.pieces..][..self.pieces]
    }

    /// Tables over the sets of pieces used by the first positions, by `combine` (sum or maximum).
    fn forward(&self, combine: impl Fn(f64, f64) -> f64) -> Vec<Outcomes<f64, TURNS>> {
        let full = 1 << self.pieces;
        let mut table = vec![[[0.0; 2]; TURNS]; full];
        table[0][0][0] = 1.0;
        for mask in 0..full - 1 {
            let here = table[mask];
            let weights = self.next(mask);
            for piece in absent(mask, self.pieces) {
                let flip = Self::flips(mask, piece);
                let to = &mut table[mask | 1 << piece];
                for turn in 0..TURNS {
                    let weight = weights[piece][turn];
                    for (sum, &[even, odd]) in here.iter().enumerate() {
                        let to = &mut to[(sum + turn) % TURNS];
                        let [even, odd] = if flip == 0 { [even, odd] } else { [odd, even] };
                        *to = [combine(to[0], even * weight), combine(to[1], odd * weight)];
                    }
                }
            }
        }
        table
    }

    /// The sums over all fillings.
    pub fn sums(&self) -> Sums<TURNS> {
        Sums(self.forward(|one, other| one + other))
    }

    /// The sum over all fillings, however they come out.
    pub fn sum(&self) -> f64 {
        let full = 1 << self.pieces;
        let mut table = vec![0.0; full];
        table[0] = 1.0;
        let any_turn: Vec<f64> = self
            .weights
            .iter()
            .map(|turns| turns.iter().sum())
            .collect();
        for mask in 0..full - 1 {
            let here = table[mask];
            let weights = &any_turn[mask.count_ones() as usize * self.pieces..];
            for piece in absent(mask, self.pieces) {
                table[mask | 1 << piece] += here * weights[piece];
            }
        }
        table[full - 1]
    }

    /// The weights of the best fillings.
    pub fn best(&self) -> Best<TURNS> {
        // Plainer than `f64::max`, which also minds what is no number.
        Best(self.forward(|one, other| if other > one { other } else { one }))
    }

    /// The best filling with an outcome.
    pub fn filling(&self, Best(table): &Best<TURNS>, sum: usize, parity: usize) -> Filling {
        let mut mask = (1 << self.pieces) - 1;
        let (mut sum, mut parity) = (sum, parity);
        let mut filling = vec![(0, 0); self.pieces];
        for position in (0..self.pieces).rev() {
            let mut best = (-1.0, 0, 0);
            for piece in (0..self.pieces).filter(|piece| mask >> piece & 1 == 1) {
                let rest = mask & !(1 << piece);
                for turn in 0..TURNS {
                    let before = (sum + TURNS - turn) % TURNS;
                    let value = table[rest][before][parity ^ Self::flips(rest, piece)]
                        * self.weights[position * self.pieces + piece][turn];
                    if value > best.0 {
                        best = (value, piece, turn);
                    }
                }
            }
            let (_, piece, turn) = best;
            filling[position] = (piece, turn);
            mask &= !(1 << piece);
            sum = (sum + TURNS - turn) % TURNS;
            parity ^= Self::flips(mask, piece);
        }
        filling
    }

    /// The probability of every piece and turn at every position, `[position · pieces + piece][turn]`, the outcomes
    /// weighing as given.
    pub fn shares(
        &self,
        Sums(ahead): &Sums<TURNS>,
        outcomes: &Outcomes<f64, TURNS>,
    ) -> Vec<[f64; TURNS]> {
        let full = 1 << self.pieces;
        // `behind[mask][sum][parity]`: the weight of finishing when the first positions came out so.
        let mut behind = vec![[[0.0; 2]; TURNS]; full];
        behind[full - 1] = *outcomes;
        let mut shares = vec![[0.0; TURNS]; self.pieces * self.pieces];
        for mask in (0..full - 1).rev() {
            let weights = self.next(mask);
            let row = mask.count_ones() as usize * self.pieces;
            let mut here = [[0.0; 2]; TURNS];
            for piece in absent(mask, self.pieces) {
                let flip = Self::flips(mask, piece);
                let then = &behind[mask | 1 << piece];
                for turn in 0..TURNS {
                    let weight = weights[piece][turn];
                    let mut through = 0.0;
                    for sum in 0..TURNS {
                        for parity in 0..2 {
                            let after = weight * then[(sum + turn) % TURNS][parity ^ flip];
                            here[sum][parity] += after;
                            through += ahead[mask][sum][parity] * after;
                        }
                    }
                    shares[row + piece][turn] += through;
                }
            }
            behind[mask] = here;
        }
        for position in shares.chunks_mut(self.pieces) {
            let total: f64 = position.iter().flatten().sum();
            for share in position.iter_mut().flatten() {
                *share /= total.max(f64::MIN_POSITIVE);
            }
        }
        shares
    }
}

/// The pieces that are not in a set.
fn absent(mask: usize, pieces: usize) -> impl Iterator<Item = usize> {
    let mut open = !mask & ((1 << pieces) - 1);
    std::iter::from_fn(move || {
        let piece = open.trailing_zeros() as usize;
        (open != 0).then(|| {
            open &= open - 1;
            piece
        })
    })
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
        let roster = Roster::<3>::new(4, |at, piece| [0, 1, 2].map(|turn| logs[at][piece][turn]));
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
        let summed = roster.sums();
        let sums = summed.all();
        let together: f64 = all.iter().map(|(filling, ..)| weight(filling)).sum();
        assert!((roster.sum() * scale / together - 1.0).abs() < 1e-9);
        let best = roster.best();
        for (sum, sums) in sums.iter().enumerate() {
            for (parity, summed) in sums.iter().enumerate() {
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
                assert!((summed * scale / total - 1.0).abs() < 1e-9);
                let filling = roster.filling(&best, sum, parity);
                assert!((best.weight(sum, parity) * scale / most - 1.0).abs() < 1e-9);
                assert!((weight(&filling) / most - 1.0).abs() < 1e-9);
            }
        }
        let shares = roster.shares(&summed, &[[1.0, 0.0], [0.0; 2], [0.0; 2]]);
        let legal: Vec<&Filling> = all
            .iter()
            .filter(|(_, s, p)| *s == 0 && *p == 0)
            .map(|(filling, ..)| filling)
            .collect();
        let total: f64 = legal.iter().map(|filling| weight(filling)).sum();
        for at in 0..4 {
            for (piece, turns) in shares[4 * at..][..4].iter().enumerate() {
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
