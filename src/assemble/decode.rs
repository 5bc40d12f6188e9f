//! Likelihoods of all places to the likeliest cube, lawful or not, and what stands against it.
//!
//! Corners and midges are summed over exactly with their laws; wings and centres are assignments, orbit by orbit. Against
//! the lawful cubes stand those put together wrongly and those with stickers moved, each with its prior.

use super::allot::{Allotment, Sorting, allot, sort};
use super::ring::Logs;
use super::roster::{Filling, Outcomes, Roster, Sums};
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

/// No less than the log weight of all cubes with these homes, the corners left out: every position with any piece, and
/// with any stickers for a price.
pub(super) fn bound(n: usize, homes: &Homes, places: &Places) -> f64 {
    /// What moved stickers cost at least at each position, in nats: they are less likely by one over the positions.
    const MOVED: f64 = 3.0;
    let layout = Layout::of(n);
    let mut across = [0; 6];
    for face in Face::ALL {
        across[homes[face.index()]] = homes[face.opposite().index()];
    }
    let top = |logs: &Logs| logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    // The highest log at a place, the weights of the classes against it, and the most that any sticker could weigh.
    let at = |place: u16| {
        let (raw, lean) = (
            &places.raw[usize::from(place)],
            &places.leans[usize::from(place)],
        );
        let logs: Logs = std::array::from_fn(|k| raw[k] + lean[k]);
        let highest = top(&logs);
        let weights = logs.map(|log| (log - highest).exp());
        (highest, weights, top(raw) + top(lean) - MOVED)
    };
    let wings = layout.wing_orbits.iter().flat_map(|orbit| &orbit.wings);
    let edges = wings
        .map(|wing| wing.places)
        .chain(layout.midges.iter().map(|midge| midge.places));
    let edges = edges.map(|[one, other]| {
        let ((a, one, any), (b, other, any_other)) = (at(one), at(other));
        let all: f64 = other.iter().sum();
        let ways = (0..6).map(|k| one[k] * (all - other[k] - other[across[k]]).max(0.0));
        (a + b + ways.sum::<f64>().ln()).max(any + any_other)
    });
    let centres = layout.centre_orbits.iter().flat_map(|orbit| &orbit.places);
    let centres = centres.map(|&place| {
        let (highest, weights, any) = at(place);
        (highest + weights.iter().sum::<f64>().ln()).max(any)
    });
    let middles = layout
        .fixed_centres
        .iter()
        .zip(homes)
        .map(|(&place, &class)| {
            let place = usize::from(place);
            places.raw[place][class] + places.leans[place][class]
        });
    edges.sum::<f64>() + centres.sum::<f64>() + middles.sum::<f64>()
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
}

impl Parts {
    /// The probability of each class at each place, approximately, for the cube that was decoded from these parts.
    pub fn shares(&self, found: &Decoded) -> Vec<Logs> {
        let mut shares = self.rest.shares();
        self.ends.share(&mut shares);
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
}

/// The likeliest cube with these homes.
pub(super) fn decode(
    n: usize,
    homes: &Homes,
    places: &Places,
    unlawful: Unlawful,
) -> (Decoded, Parts) {
    let leant: Vec<Logs> = places
        .raw
        .iter()
        .zip(&places.leans)
        .map(|(raw, lean)| std::array::from_fn(|k| raw[k] + lean[k]))
        .collect();
    let logs = &leant[..];
    let rest = Rest::new(n, homes, logs);
    let ends = Ends::new(corners(n, homes, logs), midges(n, homes, logs));
    let classes_of = |outcome: Outcome| {
        let mut classes = rest.classes.clone();
        ends.paint(outcome, &mut classes);
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
        lawful,
    };
    let misbuilt = classes_of(other_outcome);
    let log_other = log_misbuilt + other_best + rest.log_best;
    if log_other > found.log_best {
        found.classes.clone_from(&misbuilt);
        found.kind = Kind::Misbuilt;
        found.log_best = log_other;
    }
    // A sticker is moved by no design: its neighbours say nothing of it. It may be moved on any cube.
    let log_whole = log_best - log_lawful;
    let exchanged = exchanged(&misbuilt, &places.raw, log_other, unlawful);
    let moved = moved(&found.lawful, &places.raw, log_whole, unlawful);
    for other in moved.into_iter().chain(exchanged) {
        total.add(other.log_mass);
        if other.is_balanced && other.log > found.log_best {
            found.classes = other.classes;
            found.kind = Kind::Moved;
            found.log_best = other.log;
        }
    }
    found.log_total = total.log();
    (found, Parts { rest, ends })
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
    best: Outcomes<(f64, Filling), TURNS>,
    sums: Sums<TURNS>,
    all: Outcomes<f64, TURNS>,
}

impl<const TURNS: usize> Known<TURNS> {
    fn new(few: Few<TURNS>) -> Self {
        let sums = few.roster.sums();
        Self {
            best: few.roster.best(),
            all: sums.all(),
            sums,
            few,
        }
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

    fn of_midges(&self, flip: usize, parity: usize) -> f64 {
        let midges = self.midges.as_ref();
        midges.map_or(1.0, |known| known.all[flip][parity])
    }

    fn total(&self, wanted: bool) -> f64 {
        let sum: f64 = self
            .outcomes()
            .filter(|(_, is_lawful)| *is_lawful == wanted)
            .map(|([twist, flip, one, other], _)| {
                self.corners.all[twist][one] * self.of_midges(flip, other)
            })
            .sum();
        sum.max(f64::MIN_POSITIVE).ln() + self.scale()
    }

    fn best(&self, wanted: bool) -> (Outcome, f64) {
        let weight = |[twist, flip, one, other]: Outcome| {
            let midges = self.midges.as_ref();
            let midges = midges.map_or(1.0, |known| known.best[flip][other].0);
            self.corners.best[twist][one].0 * midges
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
        let Known { few, best, .. } = &self.corners;
        few.paint(&best[twist][one].1, classes);
        if let Some(Known { few, best, .. }) = &self.midges {
            few.paint(&best[flip][other].1, classes);
        }
    }

    /// The shares of the classes at the places of corners and midges, among lawful cubes.
    fn share(&self, shares: &mut [Logs]) {
        let mut of_corners = [[0.0; 2]; 3];
        let mut of_midges = [[0.0; 2]; 2];
        for ([twist, flip, one, other], is_lawful) in self.outcomes() {
            if is_lawful {
                of_corners[twist][one] += self.of_midges(flip, other);
                of_midges[flip][other] += self.corners.all[twist][one];
            }
        }
        let Known { few, sums, .. } = &self.corners;
        few.share(sums, &of_corners, shares);
        if let Some(Known { few, sums, .. }) = &self.midges {
            few.share(sums, &of_midges, shares);
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
    log_best: f64,
    log_total: f64,
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
            log_total: fixed,
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
            let allotted = allot(&table);
            for (wing, &piece) in orbit.wings.iter().zip(&allotted.best) {
                for (place, class) in wing.places.into_iter().zip(pieces[piece]) {
                    rest.classes[usize::from(place)] = class;
                }
            }
            rest.log_best += allotted.log_best;
            rest.log_total += allotted.log_best + allotted.log_excess;
            rest.wings.push((pieces, allotted));
        }
        for orbit in &layout.centre_orbits {
            let here = orbit.places.iter().map(|&place| logs[usize::from(place)]);
            let sorted = sort(&here.collect::<Vec<_>>());
            for (&place, &class) in orbit.places.iter().zip(&sorted.best) {
                rest.classes[usize::from(place)] = class;
            }
            rest.log_best += sorted.log_best;
            rest.log_total += sorted.log_best + sorted.log_excess;
            rest.centres.push(sorted);
        }
        for (&class, &place) in homes.iter().zip(&layout.fixed_centres) {
            rest.classes[usize::from(place)] = class;
        }
        rest
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
            for (&place, &share) in orbit.places.iter().zip(&sorted.shares) {
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

/// Cubes with two stickers exchanged, near one put together somehow: two of a piece, or any two.
fn exchanged(built: &[usize], logs: &[Logs], log_built: f64, unlawful: Unlawful) -> Vec<Moved> {
    let log_pair = log_built + (0.4 * unlawful.moved / pairs(built.len())).ln();
    let log_piece = log_built + (0.4 * unlawful.moved).ln();
    let mut found = vec![any_pair(built, logs, log_pair)];
    found.extend(pair_of_a_piece(built, logs, log_piece));
    found
}

/// How many pairs of stickers of different colours so many stickers make.
fn pairs(stickers: usize) -> f64 {
    (stickers * (stickers - 1) / 2) as f64 * 5.0 / 6.0
}

/// Cubes with stickers moved, near one put together somehow: two exchanged, and all that look otherwise.
fn moved(built: &[usize], logs: &[Logs], log_built: f64, unlawful: Unlawful) -> Vec<Moved> {
    let mut found = exchanged(built, logs, log_built, unlawful);
    let mut classes = built.to_vec();
    let mut log = log_built + (0.2 * unlawful.moved).ln();
    let mut count = 0;
    for (place, log_of) in logs.iter().enumerate() {
        let class = classes[place];
        let top = (0..6)
            .max_by(|&a, &b| log_of[a].total_cmp(&log_of[b]))
            .unwrap_or(class);
        if log_of[top] > log_of[class] + 1.0 {
            log += log_of[top] - log_of[class] - 0.5 * pairs(built.len()).ln();
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
fn any_pair(built: &[usize], logs: &[Logs], log_each: f64) -> Moved {
    // For each class and other class: the summed and the best ratio of a sticker being the other.
    let mut sums = [[0.0_f64; 6]; 6];
    let mut best = [[(f64::NEG_INFINITY, 0); 6]; 6];
    for (place, (&class, log)) in built.iter().zip(logs).enumerate() {
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
    let mut classes = built.to_vec();
    classes.swap(top.1, top.2);
    Moved {
        log: top.0,
        log_mass: mass.log(),
        classes,
        is_balanced: true,
    }
}

/// The two stickers of a wing or midge exchanged.
fn pair_of_a_piece(built: &[usize], logs: &[Logs], log_all: f64) -> Option<Moved> {
    let n = (built.len() / 6).isqrt();
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
        logs[one][built[other]] - logs[one][built[one]] + logs[other][built[one]]
            - logs[other][built[other]]
    };
    let mut mass = Sum::default();
    for piece in &pieces {
        mass.add(log_each + gain(piece));
    }
    let best = pieces
        .iter()
        .max_by(|one, other| gain(one).total_cmp(&gain(other)))?;
    let mut classes = built.to_vec();
    classes.swap(best[0], best[1]);
    Some(Moved {
        log: log_each + gain(best),
        log_mass: mass.log(),
        classes,
        is_balanced: true,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cube::{State, check};

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
        let seen: Vec<usize> = state.stickers().iter().map(|face| face.index()).collect();
        let places = Places {
            raw: seen
                .iter()
                .map(|&class| std::array::from_fn(|k| if k == class { 0.0 } else { -9.0 }))
                .collect(),
            leans: vec![[0.0; 6]; seen.len()],
        };
        let unlawful = Unlawful {
            misbuilt: 0.03,
            moved: 0.03,
        };
        let (found, _) = decode(n, &[0, 1, 2, 3, 4, 5], &places, unlawful);
        assert_eq!(found.classes, seen);
        assert_eq!(found.kind, Kind::Moved);
    }
}
