//! Colours to cubes: every likely laying decoded and weighed against the others, colours and cube in turn.

use super::arrange::Laid;
use super::colours::{Colours, Shares, Start};
use super::decode::{Decoded, Kind, Unlawful};
use super::evidence::{Block, Pose, Seen};
use super::exchange::{Exchange, exchanges};
use super::layings::{Layings, MANY_GLANCES, MOST_GLANCES, essence};
use super::look::Light;
use super::ring::Logs;
use super::scheme::{Arrangement, Homes, arrangement_of};
use crate::cube::Face;
use rayon::prelude::*;

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

/// How many guesses the likeliest is chosen from.
const CHOSEN_FROM: usize = 6;

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
pub(super) fn classes_of(guess: &Guess, seen: &[Seen]) -> Vec<Vec<usize>> {
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
            let mut layings = Layings::of(task, colours, MOST_GLANCES);
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
    let mut layings = Layings::of(task, &colours, MOST_GLANCES);
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
    let lawful = found.first().and_then(|best| laid_lawfully(task, best));
    found.splice(0..0, lawful);
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

/// The same laid as a lawful cube, where faces of few pieces may be laid in more ways than were decoded and none of those that
/// were made one.
fn laid_lawfully(task: &Task, best: &Solution) -> Option<Solution> {
    if best.best.decoded.kind == Kind::Lawful || best.layings.beyond() < 1.0 {
        return None;
    }
    let mut layings = Layings::of(task, &best.colours, MANY_GLANCES);
    if !layings.lawful_first(task, &best.colours, best.best.log_best()) {
        return None;
    }
    let chosen = layings.choose(task, &best.colours, 1)?;
    let guess = layings.guess(chosen)?.clone();
    Some(Solution {
        evidence: layings.log_total(task, &best.colours, chosen)? + best.colours.log_prior,
        essence: essence(&task.holds, &guess.decoded.classes),
        best: guess,
        colours: best.colours.clone(),
        layings,
    })
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
