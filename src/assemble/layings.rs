//! The ways of laying the faces under some colours: glanced at, the promising ones decoded, and how sure the chosen cube is
//! among all.

use super::arrange::{Laid, at_place, lay};
use super::colours::Colours;
use super::decode::{Bound, Kind, Parts, Places, Sum, corners_fit, decode, middle};
use super::evidence::Pose;
use super::ring::Logs;
use super::scheme::{Homes, turned};
use super::solve::{Guess, Solution, Sureness, Task, classes_of, seen_places, shares_of};
use crate::cube::{Face, Hold, Layout, Spot};
use std::cmp::Ordering;
use std::collections::BTreeMap;
use std::sync::OnceLock;

/// How far behind the best laying another may lie and still be looked at closely, in nats.
const GLANCED: f64 = 15.0;
/// How many layings are looked at closely at most.
pub(super) const MOST_GLANCES: usize = 100;
/// How many are where the likeliest makes no lawful cube and there are others as likely: a symmetrical pattern of a 3×3×3 may be
/// laid in some hundred ways that agree at every edge, and few of them have each piece once.
pub(super) const MANY_GLANCES: usize = 1000;
/// How far behind the best a guess may lie and still be weighed, in nats.
const WEIGHED: f64 = 15.0;
/// How many guesses are weighed at most.
const DECODED: usize = 12;

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
    /// Looks at the layings of the seen faces, so many of them at most.
    pub fn of(task: &Task, colours: &Colours, most: usize) -> Self {
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
        for &(laid, log_times) in alike.iter().take(most) {
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
        let unseen = alike.iter().skip(most);
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

    /// The weight of what is not decoded, against that of the best.
    pub fn beyond(&self) -> f64 {
        let top = self.glances.first().map_or(0.0, |glance| glance.score);
        let glances = self.glances.iter().skip(DECODED);
        glances
            .map(|glance| (glance.score - top).exp())
            .sum::<f64>()
            + self.unseen
    }

    /// Puts the first that makes a lawful cube before all others, if it is likelier than so much.
    pub fn lawful_first(&mut self, task: &Task, colours: &Colours, least: f64) -> bool {
        let found = (0..self.glances.len()).find(|&index| {
            let (guess, _) = self.decoded(task, colours, index);
            guess.decoded.kind == Kind::Lawful && guess.log_best() > least
        });
        if let Some(index) = found {
            self.glances[..=index].rotate_right(1);
        }
        found.is_some()
    }

    /// A guess that was chosen.
    pub fn guess(&self, index: usize) -> Option<&Guess> {
        let decoded = self.glances[index].decoded.as_ref();
        decoded.map(|(guess, _)| guess)
    }

    /// The log weight of all cubes under the laying and scheme of a guess that was chosen.
    pub fn log_total(&self, task: &Task, colours: &Colours, index: usize) -> Option<f64> {
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
    pub fn confidence(&self, task: &Task, solution: &Solution) -> Sureness {
        let Solution { best, colours, .. } = solution;
        let log_best = solution.evidence - colours.log_prior;
        let looks = classes_of(best, task.seen);
        let (mut all, mut same, mut alike) = (Sum::default(), Sum::default(), Sum::default());
        let not_decoded = best.log_best() + self.beyond().max(f64::MIN_POSITIVE).ln();
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
pub(super) fn essence(holds: &[Vec<usize>], classes: &[usize]) -> Vec<usize> {
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
