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

/// What is known of each place of a cube.
#[derive(Clone, Debug)]
pub(super) struct Places {
    /// Log-likelihoods of the classes by what was seen.
    pub raw: Vec<Logs>,
    /// How they lean by their neighbours.
    pub leans: Vec<Logs>,
}

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
pub(super) fn decode(n: usize, homes: &Homes, places: &Places, unlawful: Unlawful) -> Decoded {
    let leant: Vec<Logs> = places
        .raw
        .iter()
        .zip(&places.leans)
        .map(|(raw, lean)| std::array::from_fn(|k| raw[k] + lean[k]))
        .collect();
    let logs = &leant[..];
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
    // A sticker is moved by no design: its neighbours say nothing of it.
    for other in moved(&found.lawful, &places.raw, log_best - log_lawful, unlawful) {
        total.add(other.log_mass);
        if other.is_balanced && other.log > found.log_best {
            found.classes = other.classes;
            found.kind = Kind::Moved;
            found.log_best = other.log;
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

/// A cube with stickers moved.
struct Moved {
    log: f64,
    /// The log weight of all of its sort.
    log_mass: f64,
    classes: Vec<usize>,
    /// Whether each colour is there as often as every other. If not, no moving of stickers explains it: it stands for the
    /// colours being mistaken, and is never the answer.
    is_balanced: bool,
}

/// Cubes with stickers moved, near the lawful one: two stickers of a piece exchanged, any two exchanged, and all that look
/// otherwise.
fn moved(lawful: &[usize], logs: &[Logs], log_lawful: f64, unlawful: Unlawful) -> Vec<Moved> {
    let pairs = (lawful.len() * (lawful.len() - 1) / 2) as f64 * 5.0 / 6.0;
    let log_pair = log_lawful + (0.4 * unlawful.moved / pairs).ln();
    let mut found = vec![any_pair(lawful, logs, log_pair)];
    found.extend(pair_of_a_piece(
        lawful,
        logs,
        log_lawful + (0.4 * unlawful.moved).ln(),
    ));
    let mut classes = lawful.to_vec();
    let mut log = log_lawful + (0.2 * unlawful.moved).ln();
    let mut count = 0;
    for (place, log_of) in logs.iter().enumerate() {
        let class = classes[place];
        let top = (0..6)
            .max_by(|&a, &b| log_of[a].total_cmp(&log_of[b]))
            .unwrap_or(class);
        if log_of[top] > log_of[class] + 1.0 {
            log += log_of[top] - log_of[class] - 0.5 * pairs.ln();
            classes[place] = top;
            count += 1;
        }
    }
    if count > 2 {
        let held = |wanted: usize| classes.iter().filter(|&&class| class == wanted).count();
        found.push(Moved {
            log,
            log_mass: log,
            is_balanced: (0..6).all(|class| held(class) * 6 == classes.len()),
            classes,
        });
    }
    found
}

/// Any two stickers exchanged.
fn any_pair(lawful: &[usize], logs: &[Logs], log_each: f64) -> Moved {
    // For each class and other class: the summed and the best ratio of a sticker being the other.
    let mut sums = [[0.0_f64; 6]; 6];
    let mut best = [[(f64::NEG_INFINITY, 0); 6]; 6];
    for (place, (&class, log)) in lawful.iter().zip(logs).enumerate() {
        for other in (0..6).filter(|&other| other != class) {
            let gain = log[other] - log[class];
            sums[class][other] += gain.exp();
            if gain > best[class][other].0 {
                best[class][other] = (gain, place);
            }
        }
    }
    let mut mass = Sum::default();
    let mut top = (f64::NEG_INFINITY, 0, 0);
    for one in 0..6 {
        for other in 0..one {
            mass.add(log_each + sums[one][other].ln() + sums[other][one].ln());
            let log = log_each + best[one][other].0 + best[other][one].0;
            if log > top.0 {
                top = (log, best[one][other].1, best[other][one].1);
            }
        }
    }
    let mut classes = lawful.to_vec();
    classes.swap(top.1, top.2);
    Moved {
        log: top.0,
        log_mass: mass.log(),
        classes,
        is_balanced: true,
    }
}

/// The two stickers of a wing or midge exchanged.
fn pair_of_a_piece(lawful: &[usize], logs: &[Logs], log_all: f64) -> Option<Moved> {
    let n = (lawful.len() / 6).isqrt();
    let layout = Layout::of(n);
    let wings = layout
        .wing_orbits
        .iter()
        .flat_map(|orbit| orbit.wings.iter().map(|wing| wing.places));
    let pieces: Vec<[usize; 2]> = wings
        .chain(layout.midges.iter().map(|midge| midge.places))
        .map(|places| places.map(usize::from))
        .collect();
    let log_each = log_all - (pieces.len() as f64).ln();
    let gain = |&[one, other]: &[usize; 2]| {
        logs[one][lawful[other]] - logs[one][lawful[one]] + logs[other][lawful[one]]
            - logs[other][lawful[other]]
    };
    let mut mass = Sum::default();
    for piece in &pieces {
        mass.add(log_each + gain(piece));
    }
    let best = pieces
        .iter()
        .max_by(|one, other| gain(one).total_cmp(&gain(other)))?;
    let mut classes = lawful.to_vec();
    classes.swap(best[0], best[1]);
    Some(Moved {
        log: log_each + gain(best),
        log_mass: mass.log(),
        classes,
        is_balanced: true,
    })
}
