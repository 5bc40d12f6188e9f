//! Likelihoods of all places to the likeliest cube, lawful or not, and what stands against it.
//!
//! Corners and midges are summed over exactly with their laws; wings and centres are assignments, orbit by orbit. Against
//! the lawful cubes stand those put together wrongly and those with stickers moved, each with its prior.

use super::allot::{allot, sort};
use super::ring::Logs;
use super::roster::{Filling, Outcomes, Roster};
use super::scheme::Homes;
use crate::calibration::Noise;
use crate::cube::{Face, Layout};

/// What a cube is explained as.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// Lawful.
    Lawful,
    /// Put together so that no turning solves it.
    Misbuilt,
    /// With stickers moved.
    Moved,
}

/// The likeliest cube under one laying and one scheme.
#[derive(Clone, Debug)]
pub(super) struct Decoded {
    /// The class at every place.
    pub classes: Vec<usize>,
    /// How it came about.
    pub kind: Kind,
    /// The log weight of exactly this cube.
    pub log_best: f64,
    /// The log weight of all cubes under this laying and scheme.
    pub log_total: f64,
    /// The probability of each class at each place, approximately.
    pub shares: Vec<Logs>,
    /// The lawful cube nearest to what was seen, if the best is not lawful.
    pub lawful: Vec<usize>,
}

/// The priors of cubes that no turning solves.
#[derive(Clone, Copy, Debug)]
pub(super) struct Unlawful {
    pub misbuilt: f64,
    pub moved: f64,
}

impl Unlawful {
    pub fn of(noise: &Noise) -> Self {
        Self {
            misbuilt: noise.put_together_wrongly.value,
            moved: noise.stickers_moved.value,
        }
    }
}

/// One kind of piece with few of its own: corners or midges.
struct Few {
    places: Vec<Vec<usize>>,
    colours: Vec<Vec<usize>>,
    roster: Roster,
    sums: Outcomes,
}

impl Few {
    fn new(places: Vec<Vec<usize>>, colours: Vec<Vec<usize>>, logs: &[Logs]) -> Self {
        let table: Vec<Vec<Vec<f64>>> = places
            .iter()
            .map(|position| {
                colours
                    .iter()
                    .map(|piece| {
                        let turns = piece.len();
                        (0..turns)
                            .map(|turn| {
                                (0..turns)
                                    .map(|sticker| {
                                        logs[position[(sticker + turn) % turns]][piece[sticker]]
                                    })
                                    .sum()
                            })
                            .collect()
                    })
                    .collect()
            })
            .collect();
        let roster = Roster::new(&table);
        let sums = roster.sums();
        Self {
            places,
            colours,
            roster,
            sums,
        }
    }

    fn corners(n: usize, homes: &Homes, logs: &[Logs]) -> Self {
        let layout = Layout::of(n);
        let places = layout
            .corners
            .iter()
            .map(|corner| corner.places.map(usize::from).to_vec());
        let colours = Layout::CORNERS
            .iter()
            .map(|faces| faces.map(|face| homes[face.index()]).to_vec());
        Self::new(places.collect(), colours.collect(), logs)
    }

    fn midges(n: usize, homes: &Homes, logs: &[Logs]) -> Option<Self> {
        let layout = Layout::of(n);
        (n % 2 == 1).then(|| {
            let places = layout
                .midges
                .iter()
                .map(|midge| midge.places.map(usize::from).to_vec());
            let colours = Layout::EDGES
                .iter()
                .map(|&(a, b)| vec![homes[a.index()], homes[b.index()]]);
            Self::new(places.collect(), colours.collect(), logs)
        })
    }

    fn paint(&self, filling: &Filling, classes: &mut [usize]) {
        for (position, &(piece, turn)) in self.places.iter().zip(filling) {
            let turns = position.len();
            for sticker in 0..turns {
                classes[position[(sticker + turn) % turns]] = self.colours[piece][sticker];
            }
        }
    }

    fn share(&self, outcomes: &Outcomes, shares: &mut [Logs]) {
        let by_piece = self.roster.shares(outcomes);
        for (position, pieces) in self.places.iter().zip(&by_piece) {
            let turns = position.len();
            for (piece, by_turn) in pieces.iter().enumerate() {
                for (turn, share) in by_turn.iter().enumerate() {
                    for sticker in 0..turns {
                        shares[position[(sticker + turn) % turns]][self.colours[piece][sticker]] +=
                            share;
                    }
                }
            }
        }
    }
}

/// How well corners and fixed centres agree with a scheme, each corner piece being there once.
pub(super) fn glance(n: usize, homes: &Homes, logs: &[Logs]) -> f64 {
    let corners = Few::corners(n, homes, logs);
    let all: f64 = corners.sums.iter().flatten().sum();
    all.max(f64::MIN_POSITIVE).ln() + corners.roster.scale() + middle(n, homes, logs)
}

/// The log-likelihood of the fixed centres.
pub(super) fn middle(n: usize, homes: &Homes, logs: &[Logs]) -> f64 {
    let places = &Layout::of(n).fixed_centres;
    places
        .iter()
        .zip(homes)
        .map(|(&place, &class)| logs[usize::from(place)][class])
        .sum()
}

/// The likeliest cube with these homes.
pub(super) fn decode(n: usize, homes: &Homes, logs: &[Logs], unlawful: Unlawful) -> Decoded {
    let mut rest = Rest::new(n, homes, logs);
    let corners = Few::corners(n, homes, logs);
    let midges = Few::midges(n, homes, logs);
    let ends = Ends::new(&corners, midges.as_ref());
    ends.share(&corners, midges.as_ref(), &mut rest.shares);
    let classes_of = |outcome: Outcome| {
        let mut classes = rest.classes.clone();
        ends.paint(outcome, &corners, midges.as_ref(), &mut classes);
        classes
    };
    let log_lawful = (1.0 - unlawful.misbuilt - unlawful.moved).ln();
    let (lawful_outcome, lawful_best) = ends.best(true);
    let (other_outcome, other_best) = ends.best(false);
    let lawful = classes_of(lawful_outcome);
    let log_best = log_lawful + lawful_best + rest.log_best;
    let log_misbuilt = (unlawful.misbuilt / ends.unlawful_outcomes()).ln();
    let mut total = Sum::default();
    total.add(log_lawful + ends.total(true) + rest.log_total);
    total.add(log_misbuilt + ends.total(false) + rest.log_total);
    let mut found = Decoded {
        classes: lawful.clone(),
        kind: Kind::Lawful,
        log_best,
        log_total: 0.0,
        shares: rest.shares,
        lawful,
    };
    let log_other = log_misbuilt + other_best + rest.log_best;
    if log_other > found.log_best {
        found.classes = {
            let mut classes = rest.classes.clone();
            ends.paint(other_outcome, &corners, midges.as_ref(), &mut classes);
            classes
        };
        found.kind = Kind::Misbuilt;
        found.log_best = log_other;
    }
    for (log, mass, classes) in moved(&found.lawful, logs, log_best - log_lawful, unlawful) {
        total.add(mass);
        if log > found.log_best {
            found.classes = classes;
            found.kind = Kind::Moved;
            found.log_best = log;
        }
    }
    found.log_total = total.log();
    if found.kind != Kind::Lawful {
        for (share, &class) in found.shares.iter_mut().zip(&found.classes) {
            if share[class] < 0.5 {
                *share = [0.0; 6];
                share[class] = 1.0;
            }
        }
    }
    found
}

/// A sum of weights given by their logs.
#[derive(Default)]
pub(super) struct Sum(Vec<f64>);

impl Sum {
    pub fn add(&mut self, log: f64) {
        self.0.push(log);
    }

    pub fn log(&self) -> f64 {
        let top = self.0.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        if top == f64::NEG_INFINITY {
            return top;
        }
        top + self.0.iter().map(|log| (log - top).exp()).sum::<f64>().ln()
    }
}

/// Sum of corner turns, sum of midge turns, parity of corners, parity of midges.
type Outcome = [usize; 4];

/// Corners and midges together: the laws of twist, flip and parity bind them.
struct Ends {
    corners: Vec<[(f64, Filling); 2]>,
    midges: Option<Vec<[(f64, Filling); 2]>>,
    corner_sums: Outcomes,
    midge_sums: Outcomes,
    scale: f64,
}

impl Ends {
    fn new(corners: &Few, midges: Option<&Few>) -> Self {
        Self {
            corners: corners.roster.best(),
            midges: midges.map(|few| few.roster.best()),
            corner_sums: corners.sums.clone(),
            midge_sums: midges.map_or_else(|| vec![[1.0, 0.0]], |few| few.sums.clone()),
            scale: corners.roster.scale() + midges.map_or(0.0, |few| few.roster.scale()),
        }
    }

    /// Every outcome with whether it is lawful. Without midges the corner parity is free.
    fn outcomes(&self) -> impl Iterator<Item = (Outcome, bool)> + '_ {
        let has_midges = self.midges.is_some();
        (0..self.corner_sums.len()).flat_map(move |twist| {
            (0..self.midge_sums.len()).flat_map(move |flip| {
                [[0, 0], [1, 0], [0, 1], [1, 1]]
                    .into_iter()
                    .filter_map(move |[one, other]| {
                        let is_lawful = twist == 0 && flip == 0 && (!has_midges || one == other);
                        (has_midges || other == 0).then_some(([twist, flip, one, other], is_lawful))
                    })
            })
        })
    }

    /// How many kinds of unlawful cubes stand against one kind of lawful ones, each as many.
    fn unlawful_outcomes(&self) -> f64 {
        let lawful = self.outcomes().filter(|(_, is_lawful)| *is_lawful).count() as f64;
        self.outcomes().count() as f64 / lawful - 1.0
    }

    fn total(&self, wanted: bool) -> f64 {
        let sum: f64 = self
            .outcomes()
            .filter(|(_, is_lawful)| *is_lawful == wanted)
            .map(|([twist, flip, one, other], _)| {
                self.corner_sums[twist][one] * self.midge_sums[flip][other]
            })
            .sum();
        sum.max(f64::MIN_POSITIVE).ln() + self.scale
    }

    fn best(&self, wanted: bool) -> (Outcome, f64) {
        let weight = |[twist, flip, one, other]: Outcome| {
            let midges = self
                .midges
                .as_ref()
                .map_or(1.0, |midges| midges[flip][other].0);
            self.corners[twist][one].0 * midges
        };
        let found = self
            .outcomes()
            .filter(|(_, is_lawful)| *is_lawful == wanted)
            .map(|(outcome, _)| (outcome, weight(outcome)))
            .max_by(|one, other| one.1.total_cmp(&other.1));
        let (outcome, weight) = found.unwrap_or(([0; 4], 0.0));
        (outcome, weight.max(f64::MIN_POSITIVE).ln() + self.scale)
    }

    fn paint(
        &self,
        [twist, flip, one, other]: Outcome,
        corners: &Few,
        midges: Option<&Few>,
        classes: &mut [usize],
    ) {
        corners.paint(&self.corners[twist][one].1, classes);
        if let (Some(few), Some(best)) = (midges, &self.midges) {
            few.paint(&best[flip][other].1, classes);
        }
    }

    /// The shares of the classes at the places of corners and midges, among lawful cubes.
    fn share(&self, corners: &Few, midges: Option<&Few>, shares: &mut [Logs]) {
        let mut of_corners = vec![[0.0; 2]; self.corner_sums.len()];
        let mut of_midges = vec![[0.0; 2]; self.midge_sums.len()];
        for ([twist, flip, one, other], is_lawful) in self.outcomes() {
            if is_lawful {
                of_corners[twist][one] += self.midge_sums[flip][other];
                of_midges[flip][other] += self.corner_sums[twist][one];
            }
        }
        corners.share(&of_corners, shares);
        if let Some(midges) = midges {
            midges.share(&of_midges, shares);
        }
    }
}

/// Wings, centres and fixed centres: nothing binds one orbit to another.
struct Rest {
    classes: Vec<usize>,
    shares: Vec<Logs>,
    log_best: f64,
    log_total: f64,
}

impl Rest {
    fn new(n: usize, homes: &Homes, logs: &[Logs]) -> Self {
        let layout = Layout::of(n);
        let mut rest = Self {
            classes: vec![0; logs.len()],
            shares: vec![[0.0; 6]; logs.len()],
            log_best: 0.0,
            log_total: 0.0,
        };
        for orbit in &layout.wing_orbits {
            let pieces: Vec<[usize; 2]> = orbit
                .wings
                .iter()
                .map(|wing| wing.places.map(|place| homes[usize::from(place) / (n * n)]))
                .collect();
            let table: Vec<Vec<f64>> = orbit
                .wings
                .iter()
                .map(|wing| {
                    let [p, q] = wing.places.map(|place| &logs[usize::from(place)]);
                    pieces.iter().map(|&[a, b]| p[a] + q[b]).collect()
                })
                .collect();
            let allotted = allot(&table);
            for (row, wing) in orbit.wings.iter().enumerate() {
                for (side, place) in wing.places.map(usize::from).into_iter().enumerate() {
                    rest.classes[place] = pieces[allotted.best[row]][side];
                    for (piece, share) in pieces.iter().zip(&allotted.shares[row]) {
                        rest.shares[place][piece[side]] += share;
                    }
                }
            }
            rest.log_best += allotted.log_best;
            rest.log_total += allotted.log_best + allotted.log_excess;
        }
        for orbit in &layout.centre_orbits {
            let places: Vec<usize> = orbit
                .places
                .iter()
                .map(|&place| usize::from(place))
                .collect();
            let sorted = sort(&places.iter().map(|&place| logs[place]).collect::<Vec<_>>());
            for (index, &place) in places.iter().enumerate() {
                rest.classes[place] = sorted.best[index];
                rest.shares[place] = sorted.shares[index];
            }
            rest.log_best += sorted.log_best;
            rest.log_total += sorted.log_best + sorted.log_excess;
        }
        for (face, &place) in Face::ALL.iter().zip(&layout.fixed_centres) {
            let class = homes[face.index()];
            rest.classes[usize::from(place)] = class;
            rest.shares[usize::from(place)][class] = 1.0;
        }
        let fixed = middle(n, homes, logs);
        rest.log_best += fixed;
        rest.log_total += fixed;
        rest
    }
}

/// Cubes with stickers moved, near the lawful one: two stickers exchanged, and all that look otherwise.
///
/// Each with its log weight, the log weight of all of its sort, and its classes.
fn moved(
    lawful: &[usize],
    logs: &[Logs],
    log_lawful: f64,
    unlawful: Unlawful,
) -> Vec<(f64, f64, Vec<usize>)> {
    let pairs = (lawful.len() * (lawful.len() - 1) / 2) as f64 * 5.0 / 6.0;
    let mut found = Vec::new();
    // For each class and other class: the summed and the best ratio of a sticker being the other.
    let mut sums = [[0.0_f64; 6]; 6];
    let mut best = [[(f64::NEG_INFINITY, usize::MAX); 6]; 6];
    let mut differing = Vec::new();
    for (place, (&class, log)) in lawful.iter().zip(logs).enumerate() {
        for other in (0..6).filter(|&other| other != class) {
            let gain = log[other] - log[class];
            sums[class][other] += gain.exp();
            if gain > best[class][other].0 {
                best[class][other] = (gain, place);
            }
        }
        let top = (0..6)
            .max_by(|&a, &b| log[a].total_cmp(&log[b]))
            .unwrap_or(class);
        if log[top] > log[class] + 1.0 {
            differing.push((place, top));
        }
    }
    let log_pair = log_lawful + (0.7 * unlawful.moved / pairs).ln();
    let mut mass = Sum::default();
    let mut top = (f64::NEG_INFINITY, 0, 0);
    for one in 0..6 {
        for other in 0..one {
            mass.add(log_pair + sums[one][other].ln() + sums[other][one].ln());
            let log = log_pair + best[one][other].0 + best[other][one].0;
            if log > top.0 {
                top = (log, best[one][other].1, best[other][one].1);
            }
        }
    }
    if top.0 > f64::NEG_INFINITY {
        let mut classes = lawful.to_vec();
        classes.swap(top.1, top.2);
        found.push((top.0, mass.log(), classes));
    }
    if differing.len() > 2 {
        let mut classes = lawful.to_vec();
        let mut log = log_lawful + (0.3 * unlawful.moved).ln();
        for &(place, class) in &differing {
            log += logs[place][class] - logs[place][classes[place]] - 0.5 * pairs.ln();
            classes[place] = class;
        }
        found.push((log, log, classes));
    }
    found
}
