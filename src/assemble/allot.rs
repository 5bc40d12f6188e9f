//! Twenty-four pieces to twenty-four positions, each piece once: the best way, and how much all other ways weigh.

use super::ring::Logs;
use pathfinding::prelude::{Matrix, kuhn_munkres, strongly_connected_components};
use std::sync::OnceLock;

/// The best way, and what stands against it.
#[derive(Clone, Debug)]
pub(super) struct Allotment {
    /// The piece at each position.
    pub best: Vec<usize>,
    /// The log-likelihood of the best way.
    pub log_best: f64,
    /// The log-likelihoods, `[position][piece]`.
    logs: Vec<Vec<f64>>,
    /// What it costs at least that a position takes the piece of another, `[position][other position]`, once asked for.
    reduced: OnceLock<Vec<Vec<f64>>>,
}

impl Allotment {
    /// The log of the weight of all ways over that of the best: 0 when nothing stands against it.
    pub fn log_excess(&self) -> f64 {
        log_permanent(self.reduced())
    }

    /// The probability of each piece at each position, approximately.
    pub fn shares(&self) -> Vec<Vec<f64>> {
        shares(self.reduced(), &self.best)
    }

    fn reduced(&self) -> &[Vec<f64>] {
        self.reduced.get_or_init(|| {
            // costs[i][j]: what it costs that position i takes the piece of position j; cycles are other ways.
            let rows = self.logs.iter().zip(&self.best);
            let costs = rows.map(|(row, &own)| {
                let others = self.best.iter();
                others.map(|&other| row[own] - row[other]).collect()
            });
            without_negatives(&costs.collect::<Vec<_>>())
        })
    }
}

/// Allots pieces to positions by the log-likelihoods `[position][piece]`.
pub(super) fn allot(logs: Vec<Vec<f64>>) -> Allotment {
    /// Whole numbers a nat: the assignment is computed on integers.
    const FINE: f64 = 1e6;
    let count = logs.len();
    let whole = Matrix::from_fn(count, count, |(row, col)| (logs[row][col] * FINE) as i64);
    let (_, best) = kuhn_munkres(&whole);
    Allotment {
        log_best: (0..count).map(|row| logs[row][best[row]]).sum(),
        best,
        logs,
        reduced: OnceLock::new(),
    }
}

/// The losses with potentials added, so that none is negative and every cycle costs what it did.
fn without_negatives(costs: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let count = costs.len();
    let mut height = vec![0.0_f64; count];
    for _ in 0..count {
        let mut is_changed = false;
        for row in 0..count {
            for other in 0..count {
                let through = height[row] + costs[row][other];
                if through < height[other] - 1e-9 {
                    height[other] = through;
                    is_changed = true;
                }
            }
        }
        if !is_changed {
            break;
        }
    }
    (0..count)
        .map(|row| {
            (0..count)
                .map(|other| (costs[row][other] + height[row] - height[other]).max(0.0))
                .collect()
        })
        .collect()
}

/// The log of the permanent of exp(−reduced), whose diagonal is 1.
///
/// Positions that could trade pieces for little make a tangle, whose permanent is computed exactly; trades between tangles
/// are bounded by summing cycles.
fn log_permanent(reduced: &[Vec<f64>]) -> f64 {
    /// Losses below this many nats make a tangle.
    const LITTLE: f64 = 5.0;
    /// The largest tangle whose permanent is computed exactly.
    const EXACT: usize = 12;
    let count = reduced.len();
    let links: Vec<Vec<usize>> = (0..count)
        .map(|row| {
            (0..count)
                .filter(|&other| count <= EXACT || reduced[row][other] < LITTLE)
                .collect()
        })
        .collect();
    let all: Vec<usize> = (0..count).collect();
    let tangles = strongly_connected_components(&all, |&row| links[row].clone());
    let weight = |row: usize, other: usize| (-reduced[row][other]).exp();
    let within: f64 = tangles
        .iter()
        .filter(|tangle| tangle.len() > 1)
        .map(|tangle| {
            let size = tangle.len();
            if size > EXACT {
                let rows = tangle.iter();
                return rows
                    .map(|&row| {
                        tangle
                            .iter()
                            .map(|&other| weight(row, other))
                            .sum::<f64>()
                            .ln()
                    })
                    .sum();
            }
            let mut table = vec![0.0; 1 << size];
            table[0] = 1.0;
            for mask in 0..(1_usize << size) - 1 {
                let row = tangle[mask.count_ones() as usize];
                for other in (0..size).filter(|other| mask >> other & 1 == 0) {
                    table[mask | 1 << other] += table[mask] * weight(row, tangle[other]);
                }
            }
            table[(1 << size) - 1].ln()
        })
        .sum();
    let between = log_cycles(tangles.len(), |one, other| {
        let pairs = tangles[one]
            .iter()
            .flat_map(|&row| tangles[other].iter().map(move |&to| (row, to)));
        pairs.map(|(row, to)| weight(row, to)).sum()
    });
    within + between
}

/// The summed weight of all closed walks, each begun anywhere counting once: no less than the log of the permanent of the
/// weights with a diagonal of ones, since every way is a set of cycles and each cycle is a walk.
///
/// The sum over all lengths of tr(Aᵏ)/k is −ln det(1 − A), as long as it is finite: as long as every pivot is positive.
fn log_cycles(size: usize, weight: impl Fn(usize, usize) -> f64) -> f64 {
    /// What stands for a sum without bound, in nats.
    const UNBOUNDED: f64 = 5.0;
    let mut rows: Vec<Vec<f64>> = (0..size)
        .map(|row| {
            let entry = |other| {
                if row == other {
                    1.0
                } else {
                    -weight(row, other)
                }
            };
            (0..size).map(entry).collect()
        })
        .collect();
    let mut sum = 0.0;
    for pivot in 0..size {
        let head = std::mem::take(&mut rows[pivot]);
        if head[pivot] < 1e-3 {
            return UNBOUNDED;
        }
        sum -= head[pivot].ln();
        for row in &mut rows[pivot + 1..] {
            let times = row[pivot] / head[pivot];
            if times != 0.0 {
                for (value, &above) in row.iter_mut().zip(&head).skip(pivot + 1) {
                    *value -= times * above;
                }
            }
        }
    }
    sum.max(0.0)
}

/// Each position's pieces by the cheapest way that puts them there.
fn shares(reduced: &[Vec<f64>], best: &[usize]) -> Vec<Vec<f64>> {
    let count = reduced.len();
    let mut back = reduced.to_vec();
    for via in 0..count {
        let onward = back[via].clone();
        for row in &mut back {
            let first = row[via];
            if first < 30.0 {
                for (cost, &rest) in row.iter_mut().zip(&onward) {
                    *cost = cost.min(first + rest);
                }
            }
        }
    }
    (0..count)
        .map(|row| {
            let mut weights = vec![0.0; count];
            for other in 0..count {
                weights[best[other]] = if other == row {
                    1.0
                } else {
                    (-(reduced[row][other] + back[other][row])).exp()
                };
            }
            let sum: f64 = weights.iter().sum();
            weights.iter().map(|weight| weight / sum).collect()
        })
        .collect()
}

/// The best way to give places one of six classes, each class as often as every other.
#[derive(Clone, Debug)]
pub(super) struct Sorting {
    /// The class of each place.
    pub best: Vec<usize>,
    /// The log-likelihood of the best way.
    pub log_best: f64,
    /// The log-likelihoods of the classes at each place.
    logs: Vec<Logs>,
    /// What the other classes weigh at each place, once asked for.
    weights: OnceLock<Vec<Logs>>,
}

/// Sorts places into six classes of equal size by their log-likelihoods: the surplus moves along shortest paths
/// between the classes, since places of a class are alike.
pub(super) fn sort(logs: Vec<Logs>) -> Sorting {
    let room = logs.len() / 6;
    let mut best: Vec<usize> = logs
        .iter()
        .map(|log| {
            (0..6)
                .max_by(|&a, &b| log[a].total_cmp(&log[b]))
                .unwrap_or(0)
        })
        .collect();
    loop {
        let mut held = [0_usize; 6];
        for &class in &best {
            held[class] += 1;
        }
        let Some(over) = (0..6).find(|&class| held[class] > room) else {
            break;
        };
        let (away, step) = cheapest(&logs, &best, over);
        let Some(under) = (0..6)
            .filter(|&class| held[class] < room)
            .min_by(|&a, &b| away[a].total_cmp(&away[b]))
        else {
            break;
        };
        let mut class = under;
        let mut moves = Vec::new();
        while class != over && moves.len() < 6 {
            let (from, place) = step[class];
            moves.push((place, class));
            class = from;
        }
        for (place, class) in moves {
            best[place] = class;
        }
    }
    Sorting {
        log_best: best.iter().zip(&logs).map(|(&class, log)| log[class]).sum(),
        best,
        logs,
        weights: OnceLock::new(),
    }
}

impl Sorting {
    /// The log of the weight of all ways over that of the best.
    pub fn log_excess(&self) -> f64 {
        /// A place whose other classes are all worse by this many nats stands by itself: that two of them trade is not likelier
        /// than the one and the other.
        const CLOSED: f64 = 10.0;
        let least = (-CLOSED).exp();
        let mut open = Vec::new();
        let mut beside = 0.0;
        for (place, (&own, weight)) in self.best.iter().zip(self.weights()).enumerate() {
            if (0..6).any(|to| to != own && weight[to] > least) {
                open.push(place);
            } else {
                beside += weight.iter().sum::<f64>() - 1.0;
            }
        }
        log_ways(&self.logs, &self.best, &open) + beside
    }

    /// The probability of each class at each place.
    pub fn shares(&self) -> impl Iterator<Item = Logs> + '_ {
        self.weights().iter().map(|weight| {
            let sum: f64 = weight.iter().sum();
            weight.map(|value| value / sum)
        })
    }

    fn weights(&self) -> &[Logs] {
        self.weights.get_or_init(|| weights(&self.logs, &self.best))
    }
}

/// From the class `start`: the least cost of moving one place out of it so that each other class gains one, and by
/// which last move (class left, place moved).
fn cheapest(logs: &[Logs], best: &[usize], start: usize) -> ([f64; 6], [(usize, usize); 6]) {
    let direct = moves(logs, best);
    let mut away = [f64::INFINITY; 6];
    let mut step = [(start, usize::MAX); 6];
    away[start] = 0.0;
    for _ in 0..6 {
        for from in 0..6 {
            for to in 0..6 {
                let (cost, place) = direct[from][to];
                if from != to && away[from] + cost < away[to] - 1e-12 {
                    away[to] = away[from] + cost;
                    step[to] = (from, place);
                }
            }
        }
    }
    (away, step)
}

/// The cheapest single place to move from each class to each other, with its cost.
fn moves(logs: &[Logs], best: &[usize]) -> [[(f64, usize); 6]; 6] {
    let mut direct = [[(f64::INFINITY, usize::MAX); 6]; 6];
    for (place, (&from, log)) in best.iter().zip(logs).enumerate() {
        for to in 0..6 {
            let cost = log[from] - log[to];
            if to != from && cost < direct[from][to].0 {
                direct[from][to] = (cost, place);
            }
        }
    }
    direct
}

/// What each class weighs at each place against the best way, by the cheapest way that has it there.
fn weights(logs: &[Logs], best: &[usize]) -> Vec<Logs> {
    let direct = moves(logs, best);
    let mut back = [[f64::INFINITY; 6]; 6];
    for from in 0..6 {
        back[from][from] = 0.0;
        for to in 0..6 {
            back[from][to] = back[from][to].min(direct[from][to].0);
        }
    }
    for via in 0..6 {
        for from in 0..6 {
            for to in 0..6 {
                back[from][to] = back[from][to].min(back[from][via] + back[via][to]);
            }
        }
    }
    let places = best.iter().zip(logs);
    places
        .map(|(&from, log)| {
            std::array::from_fn(|to| {
                if to == from {
                    1.0
                } else {
                    (-(log[from] - log[to] + back[to][from])).exp()
                }
            })
        })
        .collect()
}

/// The log of the summed weight of all ways to share the classes of the open places among them, the best being 1.
fn log_ways(logs: &[Logs], best: &[usize], open: &[usize]) -> f64 {
    if open.is_empty() {
        return 0.0;
    }
    let mut room = [0_usize; 6];
    for &place in open {
        room[best[place]] += 1;
    }
    // Mixed radix over how many of the first five classes were given out.
    let radix: [usize; 5] = std::array::from_fn(|class| room[class] + 1);
    let mut unit = [1_usize; 5];
    for class in 1..5 {
        unit[class] = unit[class - 1] * radix[class - 1];
    }
    let size = unit[4] * radix[4];
    let mut table = vec![0.0; size];
    table[0] = 1.0;
    for (done, &place) in open.iter().enumerate() {
        let weights: Logs =
            std::array::from_fn(|class| (logs[place][class] - logs[place][best[place]]).exp());
        let mut next = vec![0.0; size];
        for (code, &value) in table.iter().enumerate() {
            if value <= 0.0 {
                continue;
            }
            let mut given = 0;
            for class in 0..5 {
                let count = code / unit[class] % radix[class];
                given += count;
                if count < room[class] {
                    next[code + unit[class]] += value * weights[class];
                }
            }
            if done - given < room[5] {
                next[code] += value * weights[5];
            }
        }
        table = next;
    }
    table
        .last()
        .copied()
        .unwrap_or(1.0)
        .max(f64::MIN_POSITIVE)
        .ln()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn noise(seed: usize) -> f64 {
        ((seed * 2_654_435_761) % 99_991) as f64 / 9_999.1
    }

    /// Against plain enumeration of the 720 ways of six pieces.
    #[test]
    fn the_best_way_and_its_rivals() {
        let logs: Vec<Vec<f64>> = (0..6)
            .map(|a| (0..6).map(|b| -noise(a * 6 + b + 1)).collect())
            .collect();
        let mut ways = vec![Vec::new()];
        for _ in 0..6 {
            ways = ways
                .into_iter()
                .flat_map(|way: Vec<usize>| {
                    let rest: Vec<usize> = (0..6).filter(|piece| !way.contains(piece)).collect();
                    rest.into_iter()
                        .map(move |piece| way.iter().copied().chain([piece]).collect())
                })
                .collect();
        }
        let log = |way: &[usize]| -> f64 {
            way.iter()
                .enumerate()
                .map(|(at, &piece)| logs[at][piece])
                .sum()
        };
        let best = ways
            .iter()
            .map(|way| log(way))
            .fold(f64::NEG_INFINITY, f64::max);
        let total: f64 = ways.iter().map(|way| (log(way) - best).exp()).sum();
        let found = allot(logs);
        assert!((found.log_best - best).abs() < 1e-6);
        assert!((found.log_excess() - total.ln()).abs() < 1e-6);
    }

    /// Twenty-four clear pieces, and two that could trade places: the trade weighs what it costs, no more.
    #[test]
    fn a_single_rival_weighs_what_it_costs() {
        let logs: Vec<Vec<f64>> = (0..24)
            .map(|row| {
                let unlikely = |piece| match (row, piece) {
                    (3, 17) => -0.5,
                    (17, 3) => -5.5,
                    _ => -20.0,
                };
                (0..24)
                    .map(|piece| if row == piece { 0.0 } else { unlikely(piece) })
                    .collect()
            })
            .collect();
        let found = allot(logs);
        assert_eq!(found.best, (0..24).collect::<Vec<_>>());
        assert!((found.log_excess() / (-6.0_f64).exp() - 1.0).abs() < 0.01);
    }

    /// Against plain enumeration of the 12!/2!⁶ ways would be long: six places of a class each, 720 ways.
    #[test]
    fn sorting_is_exact() {
        let logs: Vec<Logs> = (0..6)
            .map(|a| std::array::from_fn(|b| -noise(a * 6 + b + 1)))
            .collect();
        let rows: Vec<Vec<f64>> = logs.iter().map(|log| log.to_vec()).collect();
        let (sorted, allotted) = (sort(logs), allot(rows));
        assert_eq!(sorted.best, allotted.best);
        assert!((sorted.log_best - allotted.log_best).abs() < 1e-6);
        assert!((sorted.log_excess() - allotted.log_excess()).abs() < 1e-6);
    }

    /// Each class as often as every other, even when all places look alike.
    #[test]
    fn classes_are_shared_out_evenly() {
        let logs = vec![[0.0, -1.0, -2.0, -3.0, -4.0, -5.0]; 24];
        let sorted = sort(logs);
        for class in 0..6 {
            assert_eq!(
                sorted.best.iter().filter(|&&other| other == class).count(),
                4
            );
        }
    }
}
