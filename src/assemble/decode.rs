//! Likelihoods of all places to the likeliest cube, lawful or not, and what stands against it.
//!
//! Corners and midges are summed over exactly with their laws; wings and centres are assignments, orbit by orbit. Against
//! the lawful cubes stand those put together wrongly and those with stickers moved, each with its prior.

use super::allot::{Allotment, Sorting, allot, sort};
use super::moved::{Built, EXCHANGED, Moved, exchanged, exchanges, otherwise};
use super::ring::Logs;
use super::roster::{Best, Filling, Outcomes, Roster, Sums};
use super::scheme::Homes;
use crate::calibration::Noise;
use crate::cube::{Face, Layout};
use std::sync::OnceLock;

/// What is known of each place of a cube.
#[derive(Clone, Debug)]
pub(super) struct Places {
    /// Log-likelihoods of the classes by what was seen.
    raw: Vec<Logs>,
    /// How they lean by their neighbours.
    leans: Vec<Logs>,
    /// Both together.
    leant: Vec<Logs>,
    /// What a bound is made of, once asked for.
    heights: OnceLock<Heights>,
}

/// What is known of each place by itself, whatever the homes.
#[derive(Clone, Debug)]
struct Heights {
    places: Vec<Height>,
    /// The log of the most that the centres could weigh: all ways, and the best of them.
    centres: [f64; 2],
}

#[derive(Clone, Copy, Debug)]
struct Height {
    /// The highest log.
    top: f64,
    /// The weights of the classes against it.
    weights: Logs,
    /// The sum of them.
    all: f64,
    /// The log of the most that any sticker could weigh.
    any: f64,
}

/// What a bound is above.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Bound {
    /// The log weight of all cubes.
    OfAll,
    /// That of the likeliest.
    OfBest,
}

/// What a moved sticker costs at least, in nats: it is less likely by one over the positions.
const MOVED: f64 = 3.0;

impl Places {
    pub fn new(raw: Vec<Logs>, leans: Vec<Logs>) -> Self {
        let both = raw.iter().zip(&leans);
        Self {
            leant: both
                .map(|(raw, lean)| std::array::from_fn(|k| raw[k] + lean[k]))
                .collect(),
            raw,
            leans,
            heights: OnceLock::new(),
        }
    }

    /// No less than the log weight of cubes with these homes, the corners left out: every position with any piece, and with
    /// any stickers for a price.
    pub fn bound(&self, n: usize, homes: &Homes, bound: Bound) -> f64 {
        let layout = Layout::of(n);
        let mut across = [0; 6];
        for face in Face::ALL {
            across[homes[face.index()]] = homes[face.opposite().index()];
        }
        let heights = self.heights.get_or_init(|| self.measured(layout));
        let at = |place: u16| &heights.places[usize::from(place)];
        let wings = layout.wing_orbits.iter().flat_map(|orbit| &orbit.wings);
        let edges = wings
            .map(|wing| wing.places)
            .chain(layout.midges.iter().map(|midge| midge.places));
        let edges = edges.map(|[one, other]| {
            let (one, other) = (at(one), at(other));
            let ways = (0..6).map(|k| {
                let beside = match bound {
                    Bound::OfAll => other.all - other.weights[k] - other.weights[across[k]],
                    Bound::OfBest => {
                        let rest = (0..6).filter(|&l| l != k && l != across[k]);
                        rest.map(|l| other.weights[l]).fold(0.0, f64::max)
                    }
                };
                one.weights[k] * beside.max(0.0)
            });
            let ways = match bound {
                Bound::OfAll => ways.sum::<f64>(),
                Bound::OfBest => ways.fold(0.0, f64::max),
            };
            // Both stickers may be moved, and the likeliest cube have one.
            let moved = match bound {
                Bound::OfAll => 2.0 * MOVED,
                Bound::OfBest => MOVED,
            };
            (one.top + other.top + ways.ln()).max(one.any + other.any - moved)
        });
        let [all, best] = heights.centres;
        let centres = match bound {
            Bound::OfAll => all,
            Bound::OfBest => best,
        };
        edges.sum::<f64>() + centres + middle(n, homes, &self.leant)
    }

    /// No less than the log weight of the corners of the likeliest cube with stickers moved.
    pub fn moved_corners(&self, n: usize, homes: &Homes, unlawful: Unlawful) -> f64 {
        /// What a moved sticker costs at least on a 2×2×2.
        const MOVED: f64 = 2.5;
        let layout = Layout::of(n);
        let heights = self.heights.get_or_init(|| self.measured(layout));
        let Few { places, roster, .. } = corners(n, homes, &self.leant);
        let tops = places.iter().zip(roster.tops());
        let tops = tops.map(|(places, &top)| {
            let any: f64 = places.iter().map(|&place| heights.places[place].any).sum();
            top.max(any - MOVED)
        });
        tops.sum::<f64>() + (EXCHANGED * unlawful.moved).ln()
    }

    fn measured(&self, layout: &Layout) -> Heights {
        let top = |logs: &Logs| logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let all = self.raw.iter().zip(&self.leans).zip(&self.leant);
        let places: Vec<Height> = all
            .map(|((raw, lean), logs)| {
                let highest = top(logs);
                let weights = logs.map(|log| (log - highest).exp());
                Height {
                    top: highest,
                    weights,
                    all: weights.iter().sum(),
                    any: top(raw) + top(lean),
                }
            })
            .collect();
        let centres = layout.centre_orbits.iter().flat_map(|orbit| &orbit.places);
        let centres = centres.map(|&place| {
            let at = &places[usize::from(place)];
            let moved = at.any - MOVED;
            [(at.top + at.all.ln()).max(moved), at.top.max(moved)]
        });
        Heights {
            centres: centres.fold([0.0; 2], |[all, best], more| {
                [all + more[0], best + more[1]]
            }),
            places,
        }
    }
}

/// What a cube is explained as.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// Lawful.
    Lawful,
    /// Put together so that no turning solves it.
    Misbuilt,
    /// With stickers moved.
    Moved {
        /// How many pairs of them were exchanged.
        exchanges: usize,
    },
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
struct Few<const TURNS: usize> {
    places: Vec<[usize; TURNS]>,
    colours: Vec<[usize; TURNS]>,
    roster: Roster<TURNS>,
}

impl<const TURNS: usize> Few<TURNS> {
    fn new(places: Vec<[usize; TURNS]>, colours: Vec<[usize; TURNS]>, logs: &[Logs]) -> Self {
        let roster = Roster::new(places.len(), |position, piece| {
            let (places, colours) = (&places[position], &colours[piece]);
            std::array::from_fn(|turn| {
                let stickers = 0..TURNS;
                stickers
                    .map(|sticker| logs[places[(sticker + turn) % TURNS]][colours[sticker]])
                    .sum()
            })
        });
        Self {
            places,
            colours,
            roster,
        }
    }

    fn paint(&self, filling: &Filling, classes: &mut [usize]) {
        for (places, &(piece, turn)) in self.places.iter().zip(filling) {
            for sticker in 0..TURNS {
                classes[places[(sticker + turn) % TURNS]] = self.colours[piece][sticker];
            }
        }
    }

    fn share(&self, sums: &Sums<TURNS>, outcomes: &Outcomes<f64, TURNS>, shares: &mut [Logs]) {
        let by_piece = self.roster.shares(sums, outcomes);
        for (places, pieces) in self.places.iter().zip(by_piece.chunks(self.colours.len())) {
            for (colours, by_turn) in self.colours.iter().zip(pieces) {
                for (turn, share) in by_turn.iter().enumerate() {
                    for sticker in 0..TURNS {
                        shares[places[(sticker + turn) % TURNS]][colours[sticker]] += share;
                    }
                }
            }
        }
    }
}

fn corners(n: usize, homes: &Homes, logs: &[Logs]) -> Few<3> {
    let corners = Layout::of(n).corners.iter();
    let places = corners.map(|corner| corner.places.map(usize::from));
    let colours = Layout::CORNERS
        .iter()
        .map(|faces| faces.map(|face| homes[face.index()]));
    Few::new(places.collect(), colours.collect(), logs)
}

fn midges(n: usize, homes: &Homes, logs: &[Logs]) -> Option<Few<2>> {
    (n % 2 == 1).then(|| {
        let midges = Layout::of(n).midges.iter();
        let places = midges.map(|midge| midge.places.map(usize::from));
        let colours = Layout::EDGES
            .iter()
            .map(|&(a, b)| [homes[a.index()], homes[b.index()]]);
        Few::new(places.collect(), colours.collect(), logs)
    })
}

/// How well the corners agree with a scheme, each piece being there once: the log of the weight of all their ways.
pub(super) fn corners_fit(n: usize, homes: &Homes, logs: &[Logs]) -> f64 {
    let Few { roster, .. } = corners(n, homes, logs);
    roster.sum().max(f64::MIN_POSITIVE).ln() + roster.scale()
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

/// What a cube was decoded from: orbits, corners and midges.
pub(super) struct Parts {
    rest: Rest,
    ends: Ends,
    priors: Priors,
    /// The likeliest lawful cube.
    lawful: Built,
    /// The likeliest that was put together wrongly.
    misbuilt: Built,
}

/// The log priors of each kind of outcome.
#[derive(Clone, Copy)]
struct Priors {
    lawful: f64,
    misbuilt: f64,
    unlawful: Unlawful,
}

impl Parts {
    /// The probability of each class at each place, approximately, for the cube that was decoded from these parts.
    pub fn shares(&self, found: &Decoded) -> Vec<Logs> {
        let mut shares = self.rest.shares();
        self.ends.share(&self.priors, &mut shares);
        if found.kind != Kind::Lawful {
            for (share, &class) in shares.iter_mut().zip(&found.classes) {
                if share[class] < 0.5 {
                    *share = [0.0; 6];
                    share[class] = 1.0;
                }
            }
        }
        shares
    }

    /// The log weight of all cubes under this laying and scheme.
    pub fn log_total(&self, places: &Places) -> f64 {
        let (priors, rest) = (&self.priors, self.rest.log_total());
        let mut total = Sum::default();
        total.add(priors.lawful + self.ends.total(true) + rest);
        total.add(priors.misbuilt + self.ends.total(false) + rest);
        let unlawful = priors.unlawful;
        for mass in exchanges(&self.lawful, &places.raw, unlawful) {
            total.add(mass);
        }
        if let Some(moved) = otherwise(&self.lawful, &places.raw, unlawful) {
            total.add(moved.log);
        }
        for mass in exchanges(&self.misbuilt, &places.raw, unlawful) {
            total.add(mass);
        }
        total.log()
    }
}

/// The likeliest cube with these homes.
pub(super) fn decode(
    n: usize,
    homes: &Homes,
    places: &Places,
    unlawful: Unlawful,
) -> (Decoded, Parts) {
    let logs = &places.leant[..];
    let rest = Rest::new(n, homes, logs);
    let ends = Ends::new(corners(n, homes, logs), midges(n, homes, logs));
    let classes_of = |outcome: Outcome| {
        let mut classes = rest.classes.clone();
        ends.paint(outcome, &mut classes);
        classes
    };
    let priors = Priors {
        lawful: (1.0 - unlawful.misbuilt - unlawful.moved).ln(),
        misbuilt: (unlawful.misbuilt / ends.unlawful_outcomes()).ln(),
        unlawful,
    };
    let (outcome, log) = ends.best(true);
    let log_best = priors.lawful + log + rest.log_best;
    let lawful = Built {
        classes: classes_of(outcome),
        // Stickers may be moved on any cube.
        log: log_best - priors.lawful,
    };
    let (outcome, log) = ends.best(false);
    let misbuilt = Built {
        classes: classes_of(outcome),
        log: priors.misbuilt + log + rest.log_best,
    };
    let mut found = Decoded {
        classes: lawful.classes.clone(),
        kind: Kind::Lawful,
        log_best,
    };
    if misbuilt.log > found.log_best {
        found.classes.clone_from(&misbuilt.classes);
        found.kind = Kind::Misbuilt;
        found.log_best = misbuilt.log;
    }
    // A sticker is moved by no design: its neighbours say nothing of it.
    let moved = exchanged(&lawful, &places.raw, unlawful)
        .into_iter()
        .chain(otherwise(&lawful, &places.raw, unlawful))
        .chain(exchanged(&misbuilt, &places.raw, unlawful));
    let moved: Vec<Moved> = moved.collect();
    for other in &moved {
        if other.is_balanced && other.log > found.log_best {
            found.classes.clone_from(&other.classes);
            found.kind = Kind::Moved {
                exchanges: other.exchanges,
            };
            found.log_best = other.log;
        }
    }
    // Several ways may lead to the same stickers: a midge is flipped, or its two stickers were exchanged.
    let mut same = Sum::default();
    if !matches!(found.kind, Kind::Moved { .. }) {
        same.add(found.log_best);
    }
    for way in moved.iter().filter(|way| way.classes == found.classes) {
        same.add(way.log);
    }
    found.log_best = same.log();
    let parts = Parts {
        rest,
        ends,
        priors,
        lawful,
        misbuilt,
    };
    (found, parts)
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

/// What is known of one kind of piece, by outcome.
struct Known<const TURNS: usize> {
    few: Few<TURNS>,
    best: Best<TURNS>,
    /// Once asked for.
    sums: OnceLock<Sums<TURNS>>,
}

impl<const TURNS: usize> Known<TURNS> {
    fn new(few: Few<TURNS>) -> Self {
        Self {
            best: few.roster.best(),
            sums: OnceLock::new(),
            few,
        }
    }

    fn sums(&self) -> &Sums<TURNS> {
        self.sums.get_or_init(|| self.few.roster.sums())
    }

    fn all(&self) -> Outcomes<f64, TURNS> {
        self.sums().all()
    }

    fn paint(&self, sum: usize, parity: usize, classes: &mut [usize]) {
        let filling = self.few.roster.filling(&self.best, sum, parity);
        self.few.paint(&filling, classes);
    }
}

/// Corners and midges together: the laws of twist, flip and parity bind them.
struct Ends {
    corners: Known<3>,
    midges: Option<Known<2>>,
}

impl Ends {
    fn new(corners: Few<3>, midges: Option<Few<2>>) -> Self {
        Self {
            corners: Known::new(corners),
            midges: midges.map(Known::new),
        }
    }

    fn scale(&self) -> f64 {
        let midges = self.midges.as_ref();
        self.corners.few.roster.scale() + midges.map_or(0.0, |known| known.few.roster.scale())
    }

    /// Every outcome with whether it is lawful. Without midges the corner parity is free.
    fn outcomes(&self) -> impl Iterator<Item = (Outcome, bool)> + '_ {
        let has_midges = self.midges.is_some();
        let flips = if has_midges { 2 } else { 1 };
        (0..3).flat_map(move |twist| {
            (0..flips).flat_map(move |flip| {
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

    /// The sums over all ways of the midges, by outcome.
    fn of_midges(&self) -> Outcomes<f64, 2> {
        let midges = self.midges.as_ref();
        midges.map_or([[1.0; 2]; 2], Known::all)
    }

    fn total(&self, wanted: bool) -> f64 {
        let (corners, midges) = (self.corners.all(), self.of_midges());
        let sum: f64 = self
            .outcomes()
            .filter(|(_, is_lawful)| *is_lawful == wanted)
            .map(|([twist, flip, one, other], _)| corners[twist][one] * midges[flip][other])
            .sum();
        sum.max(f64::MIN_POSITIVE).ln() + self.scale()
    }

    fn best(&self, wanted: bool) -> (Outcome, f64) {
        let weight = |[twist, flip, one, other]: Outcome| {
            let midges = self.midges.as_ref();
            let midges = midges.map_or(1.0, |known| known.best.weight(flip, other));
            self.corners.best.weight(twist, one) * midges
        };
        let found = self
            .outcomes()
            .filter(|(_, is_lawful)| *is_lawful == wanted)
            .map(|(outcome, _)| (outcome, weight(outcome)))
            .max_by(|one, other| one.1.total_cmp(&other.1));
        let (outcome, weight) = found.unwrap_or(([0; 4], 0.0));
        (outcome, weight.max(f64::MIN_POSITIVE).ln() + self.scale())
    }

    fn paint(&self, [twist, flip, one, other]: Outcome, classes: &mut [usize]) {
        self.corners.paint(twist, one, classes);
        if let Some(midges) = &self.midges {
            midges.paint(flip, other, classes);
        }
    }

    /// The shares of the classes at the places of corners and midges, among lawful cubes and those put together wrongly.
    fn share(&self, priors: &Priors, shares: &mut [Logs]) {
        let (corners, midges) = (self.corners.all(), self.of_midges());
        let mut of_corners = [[0.0; 2]; 3];
        let mut of_midges = [[0.0; 2]; 2];
        for ([twist, flip, one, other], is_lawful) in self.outcomes() {
            let prior = if is_lawful {
                priors.lawful
            } else {
                priors.misbuilt
            };
            of_corners[twist][one] += prior.exp() * midges[flip][other];
            of_midges[flip][other] += prior.exp() * corners[twist][one];
        }
        let corners = &self.corners;
        corners.few.share(corners.sums(), &of_corners, shares);
        if let Some(midges) = &self.midges {
            midges.few.share(midges.sums(), &of_midges, shares);
        }
    }
}

/// Wings, centres and fixed centres: nothing binds one orbit to another.
struct Rest {
    n: usize,
    classes: Vec<usize>,
    /// The wings of each orbit and how they were allotted.
    wings: Vec<(Vec<[usize; 2]>, Allotment)>,
    /// The centres of each orbit and how they were sorted.
    centres: Vec<Sorting>,
    /// The log-likelihood of the fixed centres.
    fixed: f64,
    log_best: f64,
}

impl Rest {
    fn new(n: usize, homes: &Homes, logs: &[Logs]) -> Self {
        let layout = Layout::of(n);
        let fixed = middle(n, homes, logs);
        let mut rest = Self {
            n,
            classes: vec![0; logs.len()],
            wings: Vec::with_capacity(layout.wing_orbits.len()),
            centres: Vec::with_capacity(layout.centre_orbits.len()),
            log_best: fixed,
            fixed,
        };
        for orbit in &layout.wing_orbits {
            let wings = orbit.wings.iter();
            let pieces: Vec<[usize; 2]> = wings
                .map(|wing| wing.places.map(|place| homes[usize::from(place) / (n * n)]))
                .collect();
            let wings = orbit.wings.iter();
            let table: Vec<Vec<f64>> = wings
                .map(|wing| {
                    let [p, q] = wing.places.map(|place| &logs[usize::from(place)]);
                    pieces.iter().map(|&[a, b]| p[a] + q[b]).collect()
                })
                .collect();
            let allotted = allot(table);
            for (wing, &piece) in orbit.wings.iter().zip(&allotted.best) {
                for (place, class) in wing.places.into_iter().zip(pieces[piece]) {
                    rest.classes[usize::from(place)] = class;
                }
            }
            rest.log_best += allotted.log_best;
            rest.wings.push((pieces, allotted));
        }
        for orbit in &layout.centre_orbits {
            let here = orbit.places.iter().map(|&place| logs[usize::from(place)]);
            let sorted = sort(here.collect());
            for (&place, &class) in orbit.places.iter().zip(&sorted.best) {
                rest.classes[usize::from(place)] = class;
            }
            rest.log_best += sorted.log_best;
            rest.centres.push(sorted);
        }
        for (&class, &place) in homes.iter().zip(&layout.fixed_centres) {
            rest.classes[usize::from(place)] = class;
        }
        rest
    }

    /// The log weight of all ways.
    fn log_total(&self) -> f64 {
        let mut total = self.fixed;
        for (_, allotted) in &self.wings {
            total += allotted.log_best + allotted.log_excess();
        }
        for sorted in &self.centres {
            total += sorted.log_best + sorted.log_excess();
        }
        total
    }

    /// The shares of the classes at the places of wings and centres.
    fn shares(&self) -> Vec<Logs> {
        let layout = Layout::of(self.n);
        let mut shares = vec![[0.0; 6]; self.classes.len()];
        for (orbit, (pieces, allotted)) in layout.wing_orbits.iter().zip(&self.wings) {
            for (wing, by_piece) in orbit.wings.iter().zip(allotted.shares()) {
                for (piece, share) in pieces.iter().zip(by_piece) {
                    for (place, &class) in wing.places.into_iter().zip(piece) {
                        shares[usize::from(place)][class] += share;
                    }
                }
            }
        }
        for (orbit, sorted) in layout.centre_orbits.iter().zip(&self.centres) {
            for (&place, share) in orbit.places.iter().zip(sorted.shares()) {
                shares[usize::from(place)] = share;
            }
        }
        for &place in &layout.fixed_centres {
            let place = usize::from(place);
            shares[place][self.classes[place]] = 1.0;
        }
        shares
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cube::{State, check};
    use crate::testkit::exchange;

    /// The classes of a cube every sticker of which is clear, what it is decoded as, and from what.
    fn decoded(state: &State) -> (Vec<usize>, Decoded, Parts, Places) {
        let seen: Vec<usize> = state.stickers().iter().map(|face| face.index()).collect();
        let raw = seen
            .iter()
            .map(|&class| std::array::from_fn(|k| if k == class { 0.0 } else { -9.0 }));
        let places = Places::new(raw.collect(), vec![[0.0; 6]; seen.len()]);
        let unlawful = Unlawful {
            misbuilt: 0.03,
            moved: 0.03,
        };
        let (found, parts) = decode(state.n(), &[0, 1, 2, 3, 4, 5], &places, unlawful);
        (seen, found, parts, places)
    }

    fn clearly_seen(state: &State) -> (Vec<usize>, Decoded, Vec<Logs>) {
        let (seen, found, parts, _) = decoded(state);
        let shares = parts.shares(&found);
        (seen, found, shares)
    }

    /// A midge is flipped, or its two stickers were exchanged; a corner changed places with another, or their stickers did: the
    /// cube is the same.
    #[test]
    fn what_came_about_in_either_way_is_certain() {
        let midge = |state: &mut State| {
            exchange(state, Layout::of(3).midges[7].places.map(usize::from));
        };
        let corners = |state: &mut State| {
            let [one, other] = [0, 1].map(|corner| Layout::of(3).corners[corner].places);
            for pair in one.into_iter().zip(other) {
                exchange(state, [pair.0, pair.1].map(usize::from));
            }
        };
        let ways: [&dyn Fn(&mut State); 2] = [&midge, &corners];
        for change in ways {
            let mut state = State::solved(3);
            change(&mut state);
            let (seen, found, parts, places) = decoded(&state);
            assert_eq!(found.classes, seen);
            let share = (found.log_best - parts.log_total(&places)).exp();
            assert!(share > 0.99, "{:?}: {share}", found.kind);
        }
    }

    /// One corner is twisted and every sticker clear: then none is in doubt, whichever other corner could make up for it.
    #[test]
    fn a_twisted_corner_leaves_no_doubt_of_the_others() {
        for n in [3, 4] {
            let mut state = State::solved(n);
            let [a, b, c] = Layout::of(n).corners[5].places.map(usize::from);
            let held = [a, b, c].map(|place| state.at(place));
            for (place, sticker) in [b, c, a].into_iter().zip(held) {
                state.set(place, sticker);
            }
            let (seen, found, shares) = clearly_seen(&state);
            assert_eq!(found.kind, Kind::Misbuilt);
            assert_eq!(found.classes, seen);
            for corner in &Layout::of(n).corners {
                for place in corner.places.map(usize::from) {
                    let share = shares[place][seen[place]];
                    assert!(share > 0.999, "place {place} of order {n}: {share}");
                }
            }
        }
    }

    /// A corner is twisted, and two stickers of other pieces have changed places: what is clearly seen is what is read.
    #[test]
    fn stickers_are_moved_on_misbuilt_cubes_too() {
        let n = 4;
        let mut state = State::solved(n);
        let [a, b, c] = Layout::of(n).corners[0].places.map(usize::from);
        let [wing, _] = Layout::of(n).wing_orbits[0].wings[20].places;
        let centre = Layout::of(n).centre_orbits[0].places[0];
        let held = [a, b, c, wing.into(), centre.into()].map(|place| state.at(place));
        for (place, sticker) in [b, c, a, centre.into(), wing.into()].into_iter().zip(held) {
            state.set(place, sticker);
        }
        let kinds = check(&state)
            .iter()
            .map(|fault| fault.kind)
            .collect::<Vec<_>>();
        assert!(kinds.len() > 1, "{kinds:?}");
        let (seen, found, _) = clearly_seen(&state);
        assert_eq!(found.classes, seen);
        assert_eq!(found.kind, Kind::Moved { exchanges: 1 });
    }

    /// Who exchanges one pair of stickers may exchange two: all four are read as clearly seen.
    #[test]
    fn two_pairs_are_exchanged() {
        let n = 6;
        let mut state = State::solved(n);
        let layout = Layout::of(n);
        let [_, corner, _] = layout.corners[2].places;
        let [wing, _] = layout.wing_orbits[1].wings[9].places;
        let [one, other] = [0, 23].map(|at| layout.centre_orbits[0].places[at]);
        for pair in [[corner, one], [wing, other]].map(|pair| pair.map(usize::from)) {
            assert_ne!(state.at(pair[0]), state.at(pair[1]));
            exchange(&mut state, pair);
        }
        let (seen, found, _) = clearly_seen(&state);
        assert_eq!(found.classes, seen);
        assert_eq!(found.kind, Kind::Moved { exchanges: 2 });
    }
}
