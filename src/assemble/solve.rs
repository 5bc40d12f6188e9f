//! Colours to cubes: every likely laying decoded and weighed against the others, colours and cube in turn.

use super::arrange::{Laid, at_place, lay};
use super::colours::{Colours, Shares, Start};
use super::decode::{Bound, Decoded, Parts, Places, Sum, Unlawful, corners_fit, decode, middle};
use super::evidence::{Block, Pose, Seen};
use super::exchange::{Exchange, exchanges};
use super::look::Light;
use super::ring::Logs;
use super::scheme::{Arrangement, Homes, arrangement_of, turned};
use crate::cube::{Face, Hold, Layout, Spot};
use rayon::prelude::*;
use std::cmp::Ordering;
use std::collections::BTreeMap;
use std::sync::OnceLock;

/// One way of understanding all photos.
#[derive(Clone, Debug)]
pub(super) struct Guess {
    /// Where the seen faces lie.
    pub laid: Laid,
    /// The class each face of the cube has when solved.
    pub homes: Homes,
    /// The cube.
    pub decoded: Decoded,
    /// The probability of each class at each place; empty unless it is the likeliest guess.
    pub shares: Vec<Logs>,
    /// The log of the prior of its scheme.
    pub log_prior: f64,
}

/// All that is asked of the search besides the colours.
pub(super) struct Task<'a> {
    pub n: usize,
    /// For each way of holding the cube, the place from which each place's sticker comes.
    pub holds: Vec<Vec<usize>>,
    pub seen: &'a [Seen],
    pub blocks: &'a [Block],
    pub arrangements: &'a [Arrangement],
    /// The log prior of each arrangement.
    pub log_shares: &'a [f64],
    /// Every kind of cube.
    pub kinds: Vec<Start>,
    pub unlawful: Unlawful,
    pub light: Light,
    /// The log probability that a person takes a sticker for a certain other colour.
    pub log_told_wrongly: f64,
    /// Whether the seen faces are each face of a cube once.
    pub is_balanced: bool,
}

/// How far behind the best laying another may lie and still be looked at closely, in nats.
const GLANCED: f64 = 15.0;
/// How many layings are looked at closely at most.
const MOST_GLANCES: usize = 100;
/// How far behind the best a guess may lie and still be weighed, in nats.
const WEIGHED: f64 = 15.0;
/// How many guesses are weighed at most.
const DECODED: usize = 12;
/// How many of them the likeliest is chosen from.
const CHOSEN_FROM: usize = 6;

/// The likeliest ways of understanding the photos under some colours, looked at, and decoded only as far as asked.
#[derive(Default)]
pub(super) struct Layings {
    laid: Vec<Laying>,
    /// Each with a scheme, best first.
    glances: Vec<Glance>,
    /// The weight of those not even looked at, against that of the best.
    unseen: f64,
}

/// A laying.
struct Laying {
    laid: Laid,
    /// What is known of each place of the cube, once asked for.
    places: OnceLock<Places>,
}

/// A laying with a scheme, looked at closely.
struct Glance {
    /// How likely it is by corners, fixed centres and edges.
    score: f64,
    /// The part of that which is of corners.
    corners: f64,
    /// ln of how many layings it stands for.
    log_times: f64,
    laid: usize,
    homes: Homes,
    /// What it comes to, once decoded.
    decoded: Option<(Guess, Parts)>,
}

/// From this share on a sticker is clear.
const CLEAR: f64 = 0.9;
/// What is so many nats less likely than the best weighs nothing.
const NOTHING: f64 = 25.0;

impl Layings {
    /// Looks at the layings of the seen faces.
    pub fn of(task: &Task, colours: &Colours) -> Self {
        // By the light alone: what was pieced together before must not speak for itself.
        let shares = colours.estimated(task.seen, task.is_balanced);
        let lays = lay(
            task.seen,
            task.blocks,
            &shares,
            task.arrangements,
            task.log_shares,
        );
        let top = lays.found.first().map_or(0.0, |laid| laid.score);
        let near = |laid: &&Laid| laid.score > top - GLANCED;
        let alike = without_doubles(task, &shares, lays.found.iter().take_while(near));
        let mut layings = Self::default();
        let layout = Layout::of(task.n);
        let corners = layout.corners.iter().flat_map(|corner| corner.places);
        let glanced = corners.chain(layout.fixed_centres.iter().copied());
        let glanced: Vec<usize> = glanced.map(usize::from).collect();
        // Filled only where a glance falls.
        let mut raw = vec![[0.0; 6]; layout.places()];
        for &(laid, log_times) in alike.iter().take(MOST_GLANCES) {
            for &place in &glanced {
                raw[place] = raw_at(task, colours, laid, place);
            }
            for homes in homes_for(task, laid, &raw) {
                let corners = corners_fit(task.n, &homes, &raw);
                layings.glances.push(Glance {
                    score: corners + middle(task.n, &homes, &raw) + laid.edges + log_times,
                    corners,
                    log_times,
                    laid: layings.laid.len(),
                    homes,
                    decoded: None,
                });
            }
            layings.laid.push(Laying {
                laid: laid.clone(),
                places: OnceLock::new(),
            });
        }
        layings
            .glances
            .sort_by(|one, other| other.score.total_cmp(&one.score));
        let best = layings.glances.first().map_or(0.0, |glance| glance.score);
        layings
            .glances
            .retain(|glance| glance.score > best - WEIGHED);
        let unseen = alike.iter().skip(MOST_GLANCES);
        layings.unseen = lays.lost
            + unseen
                .map(|(laid, log_times)| (laid.score + log_times - top).exp())
                .sum::<f64>();
        layings
    }

    /// The likeliest guess among the first `most`, as an index, and its shares; the others are decoded only if they could be
    /// likelier.
    pub fn choose(&mut self, task: &Task, colours: &Colours, most: usize) -> Option<usize> {
        const ROUNDING: f64 = 1e-6;
        let among = 0..self.glances.len().min(most);
        let mut likely: Vec<(f64, usize)> = among
            .map(|index| (self.bound(task, colours, index, Bound::OfBest), index))
            .collect();
        likely.sort_by(|one, other| other.0.total_cmp(&one.0));
        let mut best: Option<(f64, usize)> = None;
        for (bound, index) in likely {
            if best.is_some_and(|(least, _)| bound < least - ROUNDING) {
                break;
            }
            let decoded = self.decoded(task, colours, index);
            let log = decoded.0.log_best();
            if best.is_none_or(|(least, at)| log > least || log >= least && index < at) {
                best = Some((log, index));
            }
            self.glances[index].decoded = Some(decoded);
        }
        let (_, index) = best?;
        let (guess, parts) = self.glances[index].decoded.as_mut()?;
        guess.shares = parts.shares(&guess.decoded);
        Some(index)
    }

    /// A guess that was chosen.
    pub fn guess(&self, index: usize) -> Option<&Guess> {
        let decoded = self.glances[index].decoded.as_ref();
        decoded.map(|(guess, _)| guess)
    }

    /// The log weight of all cubes under the laying and scheme of a guess that was chosen.
    fn log_total(&self, task: &Task, colours: &Colours, index: usize) -> Option<f64> {
        let glance = &self.glances[index];
        let (guess, parts) = glance.decoded.as_ref()?;
        let places = self.places(task, colours, glance.laid);
        Some(parts.log_total(places) + guess.log_prior)
    }

    /// What is known of each place of the cube under a laying.
    fn places(&self, task: &Task, colours: &Colours, laid: usize) -> &Places {
        let Laying { laid, places } = &self.laid[laid];
        places.get_or_init(|| {
            let all = 0..Layout::of(task.n).places();
            let lean_at = |place| {
                at_place(laid, task.n, place, &colours.leans, |sum, view| {
                    *sum = *view;
                })
            };
            let raw = all.clone().map(|place| raw_at(task, colours, laid, place));
            Places::new(raw.collect(), all.map(lean_at).collect())
        })
    }

    /// No less than the log weight of what a glance comes to.
    fn bound(&self, task: &Task, colours: &Colours, index: usize, bound: Bound) -> f64 {
        let glance = &self.glances[index];
        let places = self.places(task, colours, glance.laid);
        let rest = places.bound(task.n, &glance.homes, bound);
        let corners = match bound {
            Bound::OfAll => glance.corners,
            Bound::OfBest => {
                let moved = places.moved_corners(task.n, &glance.homes, task.unlawful);
                glance.corners.max(moved)
            }
        };
        corners + rest + self.log_prior(task, index)
    }

    fn log_prior(&self, task: &Task, index: usize) -> f64 {
        let glance = &self.glances[index];
        task.log_shares[self.laid[glance.laid].laid.arrangement] + glance.log_times
    }

    fn decoded(&self, task: &Task, colours: &Colours, index: usize) -> (Guess, Parts) {
        let glance = &self.glances[index];
        let places = self.places(task, colours, glance.laid);
        let (decoded, parts) = decode(task.n, &glance.homes, places, task.unlawful);
        let guess = Guess {
            laid: self.laid[glance.laid].laid.clone(),
            homes: glance.homes,
            decoded,
            shares: Vec::new(),
            log_prior: self.log_prior(task, index),
        };
        (guess, parts)
    }

    /// The probability of the cube of a guess among all layings.
    fn confidence(&self, task: &Task, solution: &Solution) -> Sureness {
        let Solution { best, colours, .. } = solution;
        let log_best = solution.evidence - colours.log_prior;
        let looks = classes_of(best, task.seen);
        let (mut all, mut same, mut alike) = (Sum::default(), Sum::default(), Sum::default());
        let top = self.glances.first().map_or(0.0, |glance| glance.score);
        let beyond: f64 = self
            .glances
            .iter()
            .skip(DECODED)
            .map(|glance| (glance.score - top).exp())
            .sum();
        let not_decoded = best.log_best() + (beyond + self.unseen).max(f64::MIN_POSITIVE).ln();
        all.add(not_decoded);
        if is_clear(task, colours, best) {
            alike.add(not_decoded);
        }
        for index in 0..self.glances.len().min(DECODED) {
            if self.bound(task, colours, index, Bound::OfAll) > log_best - NOTHING {
                let fresh;
                let glance = &self.glances[index];
                let (guess, parts) = if let Some(known) = &glance.decoded {
                    known
                } else {
                    fresh = self.decoded(task, colours, index);
                    &fresh
                };
                let places = self.places(task, colours, glance.laid);
                all.add(parts.log_total(places) + guess.log_prior);
                let is_same = essence(&task.holds, &guess.decoded.classes) == solution.essence;
                if is_same {
                    same.add(guess.log_best());
                }
                if is_same || classes_of(guess, task.seen) == looks {
                    alike.add(guess.log_best());
                }
            }
        }
        let share = |part: Sum| (part.log() - all.log()).exp().min(1.0);
        Sureness {
            cube: share(same),
            faces: share(alike),
        }
    }
}

/// Whether every seen cell is clear, by its light alone or by the laws.
fn is_clear(task: &Task, colours: &Colours, best: &Guess) -> bool {
    let by_light = colours.estimated(task.seen, task.is_balanced);
    let by_laws = shares_of(best, task.seen);
    seen_places(best, task.seen).all(|(place, member, cell)| {
        let class = best.decoded.classes[place];
        by_light[member][cell][class].max(by_laws[member][cell][class]) >= CLEAR
    })
}

/// Of layings that make the same cube, only a few, with the log of how many such there are, each by its weight: a face that
/// is plain can lie any way up, and a cube that is solved be held any way round.
///
/// Where a sticker that is not clear would come to lie elsewhere, up to three are kept.
fn without_doubles<'a>(
    task: &Task,
    shares: &[Vec<Logs>],
    lays: impl Iterator<Item = &'a Laid>,
) -> Vec<(&'a Laid, f64)> {
    /// The labels of a cube however held, and where a laying that makes it was kept.
    type Kept = (Vec<usize>, usize);
    const KEPT: usize = 3;
    // Twice the likeliest class, and one more if it is not clear.
    let labels: Vec<Vec<usize>> = shares
        .iter()
        .map(|face| {
            let label = |share: &Logs| {
                let likeliest = (0..6).max_by(|&a, &b| share[a].total_cmp(&share[b]));
                let class = likeliest.unwrap_or(0);
                2 * class + usize::from(share[class] < CLEAR)
            };
            face.iter().map(label).collect()
        })
        .collect();
    let mut found: Vec<(&Laid, f64)> = Vec::new();
    let mut known: BTreeMap<(usize, Vec<usize>), Vec<Kept>> = BTreeMap::new();
    for laid in lays {
        let mut classes = vec![usize::MAX; task.holds[0].len()];
        for face in Face::ALL {
            for &(member, turns) in &laid.on[face.index()] {
                let pose = Pose { face, turns };
                for spot in 0..task.n * task.n {
                    let label = labels[member][pose.cell(task.n, spot / task.n, spot % task.n)];
                    let place = &mut classes[face.index() * task.n * task.n + spot];
                    *place = (*place).min(label);
                }
            }
        }
        let whole = essence(&task.holds, &classes);
        for class in &mut classes {
            *class /= 2;
        }
        let like = known
            .entry((laid.arrangement, essence(&task.holds, &classes)))
            .or_default();
        let same = like.iter().find(|(known, _)| *known == whole);
        let full = like.first().filter(|_| like.len() >= KEPT);
        if let Some(&(_, index)) = same.or(full) {
            let (best, times) = &mut found[index];
            *times += (laid.score - best.score).exp();
        } else {
            like.push((whole, found.len()));
            found.push((laid, 1.0));
        }
    }
    for (_, times) in &mut found {
        *times = times.ln();
    }
    found
}

/// The classes in a form that is the same for every way of holding the cube.
fn essence(holds: &[Vec<usize>], classes: &[usize]) -> Vec<usize> {
    holds
        .iter()
        .min_by(|one, other| {
            let pairs = one.iter().zip(other.iter());
            pairs
                .map(|(&a, &b)| classes[a].cmp(&classes[b]))
                .find(|order| order.is_ne())
                .unwrap_or(Ordering::Equal)
        })
        .map(|from| from.iter().map(|&place| classes[place]).collect())
        .unwrap_or_default()
}

/// The log-likelihoods of the classes at a place by what was seen, and by what a person says of single stickers.
fn raw_at(task: &Task, colours: &Colours, laid: &Laid, place: usize) -> Logs {
    let mut logs = at_place(laid, task.n, place, &colours.likelihoods, |sum, view| {
        for k in 0..6 {
            sum[k] += view[k];
        }
    });
    let Spot { face, row, col } = Spot::from_place(place, task.n);
    for &(member, turns) in &laid.on[face.index()] {
        let cell = Pose { face, turns }.cell(task.n, row, col);
        if let Some(told) = task.seen[member].cells[cell].told {
            for (log, name) in logs.iter_mut().zip(colours.start.names) {
                if name != told {
                    *log += task.log_told_wrongly;
                }
            }
        }
    }
    logs
}

/// The turned forms of a laying's arrangement worth decoding: on an odd cube those that agree with the fixed centres; on
/// an even one any will do, since nothing is fixed.
fn homes_for(task: &Task, laid: &Laid, logs: &[Logs]) -> Vec<Homes> {
    let base = task.arrangements[laid.arrangement].homes;
    if task.n.is_multiple_of(2) {
        return vec![base];
    }
    let mut found: Vec<(f64, Homes)> = Hold::all()
        .iter()
        .map(|&hold| turned(base, hold))
        .map(|homes| (middle(task.n, &homes, logs), homes))
        .collect();
    found.sort_by(|one, other| other.0.total_cmp(&one.0));
    let best = found[0].0;
    found.retain(|(log, _)| *log > best - 12.0);
    found.truncate(6);
    found.into_iter().map(|(_, homes)| homes).collect()
}

impl Guess {
    pub fn log_best(&self) -> f64 {
        self.decoded.log_best + self.log_prior
    }
}

/// The shares of the classes in every seen cell, as a guess has them.
pub(super) fn shares_of(guess: &Guess, seen: &[Seen]) -> Vec<Vec<Logs>> {
    let mut shares: Vec<Vec<Logs>> = seen
        .iter()
        .map(|face| vec![[1.0 / 6.0; 6]; face.cells.len()])
        .collect();
    for (place, member, cell) in seen_places(guess, seen) {
        shares[member][cell] = guess.shares[place];
    }
    shares
}

/// The class of every seen cell, as a guess has it.
fn classes_of(guess: &Guess, seen: &[Seen]) -> Vec<Vec<usize>> {
    let mut classes: Vec<Vec<usize>> = seen.iter().map(|face| vec![0; face.cells.len()]).collect();
    for (place, member, cell) in seen_places(guess, seen) {
        classes[member][cell] = guess.decoded.classes[place];
    }
    classes
}

/// Every place with each seen face and cell that shows it.
pub(super) fn seen_places<'a>(
    guess: &'a Guess,
    seen: &'a [Seen],
) -> impl Iterator<Item = (usize, usize, usize)> + 'a {
    Face::ALL.into_iter().flat_map(move |face| {
        let on = guess.laid.on[face.index()].iter();
        on.flat_map(move |&(member, turns)| {
            let n = seen[member].n;
            (0..n * n).map(move |spot| {
                let cell = Pose { face, turns }.cell(n, spot / n, spot % n);
                (face.index() * n * n + spot, member, cell)
            })
        })
    })
}

/// Colours and cubes that agree with one another.
pub(super) struct Solution {
    pub colours: Colours,
    /// The likeliest cube.
    pub best: Guess,
    /// The log weight of its colours and itself.
    pub evidence: f64,
    /// Its stickers, however held.
    pub essence: Vec<usize>,
    layings: Layings,
}

impl Solution {
    /// Colours and cube in turn, until the cube stays as it is.
    fn new(task: &Task, mut colours: Colours) -> Option<Self> {
        /// How often at most.
        const TURNS: usize = 4;
        let found = |colours: &Colours| {
            let mut layings = Layings::of(task, colours);
            let chosen = layings.choose(task, colours, CHOSEN_FROM)?;
            let essence = essence(&task.holds, &layings.guess(chosen)?.decoded.classes);
            Some((layings, chosen, essence))
        };
        let (mut layings, mut chosen, mut essence) = found(&colours)?;
        for _ in 0..TURNS {
            let given = shares_of(layings.guess(chosen)?, task.seen);
            colours.refine(task.seen, Shares::Given(&given), &task.light, 2);
            let before = essence;
            (layings, chosen, essence) = found(&colours)?;
            if essence == before {
                break;
            }
        }
        Some(Self {
            evidence: layings.log_total(task, &colours, chosen)? + colours.log_prior,
            best: layings.guess(chosen)?.clone(),
            essence,
            layings,
            colours,
        })
    }
}

/// The likeliest cube and its colours, before they are settled in turn and without a rival.
pub(super) fn roughly(task: &Task, starts: Vec<Colours>) -> Option<(Guess, Colours)> {
    /// Ways of laying the faces that are looked at closely.
    const FEW: usize = 2;
    let mut colours = starts.into_iter().next()?;
    let whence = Shares::Estimated {
        is_balanced: task.is_balanced,
    };
    colours.refine(task.seen, whence, &task.light, 4);
    let mut layings = Layings::of(task, &colours);
    let chosen = layings.choose(task, &colours, FEW)?;
    let best = layings.guess(chosen)?.clone();
    Some((best, colours))
}

/// How far behind the best other colours may lie and still be tried, in nats.
const TRIED: f64 = 25.0;
/// How many other ways to take the colours are tried at most.
const MOST_TRIES: usize = 3;
/// How many in all: a large cube in hard light may take some thirty to come right.
const MOST_EXCHANGES: usize = 64;
/// How many ways are tried where the colours sit ill at ease: after eight that gained nothing, an 11×11×11 in hard light still
/// had 180 nats to gain.
const UNEASY_TRIES: usize = 16;
/// Below this log prior they do.
const UNEASY: f64 = -20.0;

/// Above this log prior the colours sit at ease.
const AT_EASE: f64 = 0.0;
/// How far behind the best the colours may leave every cube after an exchange and still be settled, in nats, where they sit at
/// ease. Of 1400 exchanges in 200 made-up sets none that left the best further behind than 14 came near it.
const NEAR: f64 = 20.0;
/// The same where they do not: 40 was met.
const FAR: f64 = 60.0;
/// What is gained by so many nats is exchanged again at once, and what is still the same cube only then.
const SETTLED: f64 = 10.0;

/// Every way of understanding the photos that deserves a hearing.
pub(super) struct Understanding {
    /// The best first.
    pub solutions: Vec<Solution>,
    /// Whether exchanging colours had come to an end: if not, better ways are to be expected.
    is_finished: bool,
}

/// Finds the ways of understanding the photos: settles the likeliest first looks, then exchanges colours in the best
/// until nothing is gained.
pub(super) fn understand(task: &Task, starts: Vec<Colours>) -> Understanding {
    let top = starts.first().map_or(0.0, |start| start.score);
    let mut found: Vec<Solution> = starts
        .into_iter()
        .take_while(|start| start.score > top - TRIED)
        .take(MOST_TRIES)
        .filter_map(|mut colours| {
            let whence = Shares::Estimated {
                is_balanced: task.is_balanced,
            };
            colours.refine(task.seen, whence, &task.light, 4);
            Solution::new(task, colours)
        })
        .collect();
    let sort = |found: &mut Vec<Solution>| {
        found.sort_by(|one, other| other.evidence.total_cmp(&one.evidence));
    };
    sort(&mut found);
    let (mut tries, mut has_gained) = (0, true);
    while has_gained && tries < MOST_EXCHANGES {
        let Some(best) = found.first() else {
            break;
        };
        let few = if best.colours.log_prior < UNEASY {
            UNEASY_TRIES
        } else {
            MOST_TRIES
        };
        has_gained = false;
        let mut settled = Vec::new();
        let mut exchanges = exchanges(task, &best.colours);
        exchanges.truncate(few);
        'tries: for some in exchanges.chunks(at_once()) {
            let solutions = some.par_iter().map(|some| exchanged(task, best, some));
            for solution in solutions.collect::<Vec<_>>() {
                tries += 1;
                let Some(solution) = solution else {
                    continue;
                };
                let gain = solution.evidence - best.evidence;
                let is_other = solution.essence != best.essence;
                has_gained |= gain > if is_other { 1.0 } else { SETTLED };
                settled.push(solution);
                if gain > SETTLED && is_other {
                    break 'tries;
                }
            }
        }
        found.extend(settled);
        sort(&mut found);
    }
    let renamed = found.first().and_then(|best| renamed(task, best));
    found.splice(0..0, renamed);
    let called_otherwise = found.first().map(|best| called_otherwise(task, best));
    found.extend(called_otherwise.into_iter().flatten());
    sort(&mut found);
    Understanding {
        solutions: found,
        is_finished: !has_gained,
    }
}

/// The same understood as a cube of another kind, if that explains it far better: a first look may have mistaken the kind.
fn renamed(task: &Task, best: &Solution) -> Option<Solution> {
    /// How much better, in nats. Of 50 made-up cubes with grey that were taken for another kind, 48 gained more; of 120 with
    /// white or black and of 160 sets of fixtures in another light, none had colours likelier in another kind at all.
    const FAR: f64 = 5.0;
    let Colours { start, classes, .. } = &best.colours;
    let others = task.kinds.iter().filter(|kind| kind.names != start.names);
    let (log, kind) = others
        .map(|kind| (kind.log_prior(classes), kind))
        .max_by(|one, other| one.0.total_cmp(&other.0))?;
    if log < start.log_prior(classes) {
        return None;
    }
    let mut colours = best.colours.clone();
    colours.start = kind.clone();
    let given = shares_of(&best.best, task.seen);
    colours.refine(task.seen, Shares::Given(&given), &task.light, 4);
    let renamed = Solution::new(task, colours)?;
    (renamed.evidence > best.evidence + FAR).then_some(renamed)
}

/// The same with two colours taken for each other everywhere, where that may be as likely: nothing in the pieces tells, only how
/// the colours look and how they usually lie on a cube.
fn called_otherwise(task: &Task, best: &Solution) -> Vec<Solution> {
    /// How much less likely, in nats.
    const ALIKE: f64 = 12.0;
    let before = best.colours.start.log_prior(&best.colours.classes)
        + task.log_shares[best.best.laid.arrangement];
    let base = task.arrangements[best.best.laid.arrangement].homes;
    let pairs = (0..6).flat_map(|one| (0..one).map(move |other| (one, other)));
    let near = pairs.filter(|&(one, other)| {
        let mut classes = best.colours.classes;
        classes.swap(one, other);
        let homes = base.map(|class| match class {
            class if class == one => other,
            class if class == other => one,
            class => class,
        });
        let arrangement = arrangement_of(task.arrangements, homes);
        let after = best.colours.start.log_prior(&classes) + task.log_shares[arrangement];
        after > before - ALIKE
    });
    let exchanged = near.filter_map(|(one, other)| {
        let mut colours = best.colours.clone();
        colours.classes.swap(one, other);
        for looks in &mut colours.looks {
            looks.swap(one, other);
        }
        let mut given = shares_of(&best.best, task.seen);
        for share in given.iter_mut().flatten() {
            share.swap(one, other);
        }
        colours.refine(task.seen, Shares::Given(&given), &task.light, 3);
        Solution::new(task, colours)
    });
    exchanged.collect()
}

/// How many exchanges are tried at once: as many as there are cores, but one where these have cubes of their own to decode.
fn at_once() -> usize {
    match rayon::current_thread_index() {
        Some(_) => 1,
        None => rayon::current_num_threads(),
    }
}

/// What comes of exchanging colours; `None` if that leads nowhere.
fn exchanged(task: &Task, from: &Solution, exchange: &Exchange) -> Option<Solution> {
    let mut colours = from.colours.clone();
    let mut given = shares_of(&from.best, task.seen);
    for &face in &exchange.faces {
        for share in &mut given[face] {
            share.swap(exchange.one, exchange.other);
        }
    }
    colours.refine(task.seen, Shares::Given(&given), &task.light, 3);
    let behind = if from.colours.log_prior < AT_EASE {
        FAR
    } else {
        NEAR
    };
    let is_near = colours.reach() > from.evidence - behind;
    is_near.then(|| Solution::new(task, colours))?
}

impl Understanding {
    /// The probability of each class at each place of the likeliest cube, all solutions counted: what another has in a cell is
    /// weighed there, wherever it takes the cell to lie.
    pub fn shares(&self, seen: &[Seen]) -> Vec<Logs> {
        /// What weighs less than this against the best is left out.
        const LEAST: f64 = 1e-4;
        let Some((best, others)) = self.solutions.split_first() else {
            return Vec::new();
        };
        let mut shares = best.best.shares.clone();
        let mut all = 1.0;
        for other in others.iter().filter(|other| other.essence != best.essence) {
            let weight = (other.evidence - best.evidence).exp();
            if weight > LEAST {
                all += weight;
                let classes = classes_of(&other.best, seen);
                for (place, member, cell) in seen_places(&best.best, seen) {
                    let views = best.best.laid.on[place * 6 / shares.len()].len() as f64;
                    shares[place][classes[member][cell]] += weight / views;
                }
            }
        }
        for share in shares.iter_mut().flatten() {
            *share /= all;
        }
        shares
    }
}

/// How sure the best solution is among all.
#[derive(Clone, Copy, Debug, Default)]
pub(super) struct Sureness {
    /// The probability of its cube.
    pub cube: f64,
    /// The probability that each seen face shows what it has there, however the faces lie.
    pub faces: f64,
}

/// How sure the best solution is.
pub(super) fn sureness(task: &Task, understanding: &Understanding) -> Sureness {
    let Some((best, others)) = understanding.solutions.split_first() else {
        return Sureness::default();
    };
    let looks = classes_of(&best.best, task.seen);
    let mut rivals = Sureness::default();
    for other in others.iter().filter(|other| other.essence != best.essence) {
        let weight = (other.evidence - best.evidence).exp();
        rivals.cube += weight;
        if classes_of(&other.best, task.seen) != looks {
            rivals.faces += weight;
        }
    }
    let by_itself = best.layings.confidence(task, best);
    let finished = if understanding.is_finished { 1.0 } else { 0.5 };
    Sureness {
        cube: finished * by_itself.cube / (1.0 + rivals.cube),
        faces: finished * by_itself.faces / (1.0 + rivals.faces),
    }
}
