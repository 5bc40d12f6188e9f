//! Colours to cubes: every likely laying decoded and weighed against the others, colours and cube in turn.

use super::arrange::{Laid, lay, places};
use super::colours::{Colours, Shares};
use super::decode::{Decoded, Places, Sum, Unlawful, decode, glance, middle};
use super::evidence::{Block, Pose, Seen};
use super::look::Light;
use super::ring::{Logs, rings};
use super::scheme::{Arrangement, Homes, turned};
use crate::colour::Name;
use crate::cube::{Face, Hold, Spot};
use std::cmp::Ordering;
use std::collections::BTreeMap;

/// One way of understanding all photos.
#[derive(Clone, Debug)]
pub(super) struct Guess {
    /// Where the seen faces lie.
    pub laid: Laid,
    /// The class each face of the cube has when solved.
    pub homes: Homes,
    /// The cube.
    pub decoded: Decoded,
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
/// How many guesses are decoded at most.
const DECODED: usize = 12;

/// The likeliest ways of understanding the photos.
#[derive(Clone, Debug, Default)]
pub(super) struct Guesses {
    /// Those decoded, best first.
    pub found: Vec<Guess>,
    /// The log weight of those given up undecoded.
    pub log_lost: f64,
}

/// The likeliest ways of understanding the photos under these colours.
pub(super) fn guesses(task: &Task, colours: &Colours) -> Guesses {
    likeliest(task, colours, DECODED)
}

/// The same, at most so many of them decoded.
pub(super) fn likeliest(task: &Task, colours: &Colours, most: usize) -> Guesses {
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
    let mut glances: Vec<Glance> = Vec::new();
    for (laid, log_times) in alike.iter().take(MOST_GLANCES) {
        let mut raw = places(laid, task.n, &colours.likelihoods, |sum, view| {
            for k in 0..6 {
                sum[k] += view[k];
            }
        });
        hear(task, laid, colours.start.names, &mut raw);
        let leans = places(laid, task.n, &colours.leans, |sum, view| *sum = *view);
        let logs = Places { raw, leans };
        for homes in homes_for(task, laid, &logs.raw) {
            glances.push(Glance {
                score: glance(task.n, &homes, &logs.raw) + laid.edges + log_times,
                log_times: *log_times,
                laid,
                homes,
                logs: logs.clone(),
            });
        }
    }
    glances.sort_by(|one, other| other.score.total_cmp(&one.score));
    let best = glances.first().map_or(0.0, |glance| glance.score);
    glances.retain(|glance| glance.score > best - WEIGHED);
    let beyond: f64 = glances
        .iter()
        .skip(most)
        .map(|glance| (glance.score - best).exp())
        .sum();
    let unseen: f64 = alike
        .iter()
        .skip(MOST_GLANCES)
        .map(|(laid, log_times)| (laid.score + log_times - top).exp())
        .sum();
    let mut found: Vec<Guess> = glances
        .into_iter()
        .take(most)
        .map(|glance| Guess {
            laid: glance.laid.clone(),
            homes: glance.homes,
            decoded: decode(task.n, &glance.homes, &glance.logs, task.unlawful),
            log_prior: task.log_shares[glance.laid.arrangement] + glance.log_times,
        })
        .collect();
    sort(&mut found);
    let log_best = found
        .first()
        .map_or(0.0, |guess| guess.decoded.log_total + guess.log_prior);
    Guesses {
        found,
        log_lost: log_best + (beyond + unseen + lays.lost).max(f64::MIN_POSITIVE).ln(),
    }
}

/// A laying with a scheme, looked at closely but not decoded.
struct Glance<'a> {
    score: f64,
    /// ln of how many layings it stands for.
    log_times: f64,
    laid: &'a Laid,
    homes: Homes,
    logs: Places,
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
    /// From this share on a sticker is clear.
    const CLEAR: f64 = 0.9;
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

/// Lets what a person says of single stickers count.
fn hear(task: &Task, laid: &Laid, names: [Name; 6], logs: &mut [Logs]) {
    for (place, logs) in logs.iter_mut().enumerate() {
        let Spot { face, row, col } = Spot::from_place(place, task.n);
        for &(member, turns) in &laid.on[face.index()] {
            let cell = Pose { face, turns }.cell(task.n, row, col);
            if let Some(told) = task.seen[member].cells[cell].told {
                for (log, name) in logs.iter_mut().zip(names) {
                    if name != told {
                        *log += task.log_told_wrongly;
                    }
                }
            }
        }
    }
}

fn sort(guesses: &mut [Guess]) {
    guesses.sort_by(|one, other| other.log_best().total_cmp(&one.log_best()));
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

/// The probability of the best guess's cube among all guesses.
fn confidence(task: &Task, guesses: &Guesses) -> f64 {
    let Some(best) = guesses.found.first() else {
        return 0.0;
    };
    let wanted = essence(&task.holds, &best.decoded.classes);
    let (mut all, mut same) = (Sum::default(), Sum::default());
    all.add(guesses.log_lost);
    for guess in &guesses.found {
        all.add(guess.decoded.log_total + guess.log_prior);
        if essence(&task.holds, &guess.decoded.classes) == wanted {
            same.add(guess.log_best());
        }
    }
    (same.log() - all.log()).exp().min(1.0)
}

/// The shares of the classes in every seen cell, as a guess has them.
pub(super) fn shares_of(guess: &Guess, seen: &[Seen]) -> Vec<Vec<Logs>> {
    let mut shares: Vec<Vec<Logs>> = seen
        .iter()
        .map(|face| vec![[1.0 / 6.0; 6]; face.cells.len()])
        .collect();
    for face in Face::ALL {
        for &(member, turns) in &guess.laid.on[face.index()] {
            let n = seen[member].n;
            for row in 0..n {
                for col in 0..n {
                    let cell = Pose { face, turns }.cell(n, row, col);
                    let place = (face.index() * n + row) * n + col;
                    shares[member][cell] = guess.decoded.shares[place];
                }
            }
        }
    }
    shares
}

/// Colours and cube in turn, until the cube stays as it is.
pub(super) fn settle(task: &Task, colours: &mut Colours) -> Guesses {
    /// How often at most.
    const TURNS: usize = 4;
    let mut found = guesses(task, colours);
    for _ in 0..TURNS {
        let Some(best) = found.found.first() else {
            break;
        };
        let before = essence(&task.holds, &best.decoded.classes);
        let given = shares_of(best, task.seen);
        colours.refine(task.seen, Shares::Given(&given), &task.light, 2);
        found = guesses(task, colours);
        if found
            .found
            .first()
            .is_some_and(|best| essence(&task.holds, &best.decoded.classes) == before)
        {
            break;
        }
    }
    found
}

/// Colours and cubes that agree with one another.
#[derive(Clone, Debug)]
pub(super) struct Solution {
    pub colours: Colours,
    pub guesses: Guesses,
    /// The log weight of the best guess's colours and cube.
    pub evidence: f64,
    /// The stickers of the best guess, however held.
    pub essence: Vec<usize>,
}

impl Solution {
    fn new(task: &Task, mut colours: Colours) -> Option<Self> {
        let guesses = settle(task, &mut colours);
        let best = guesses.found.first()?;
        Some(Self {
            evidence: best.decoded.log_total + best.log_prior + colours.log_prior,
            essence: essence(&task.holds, &best.decoded.classes),
            colours,
            guesses,
        })
    }
}

/// How far behind the best other colours may lie and still be tried, in nats.
const TRIED: f64 = 25.0;
/// How many other ways to take the colours are tried at most.
const MOST_TRIES: usize = 3;
/// How often from the best so far.
const MOST_ROUNDS: usize = 4;
/// How many ways are tried where the colours sit ill at ease.
const UNEASY_TRIES: usize = 8;
/// Below this log prior they do.
const UNEASY: f64 = -20.0;

/// Every way of understanding the photos that deserves a hearing, the best first.
pub(super) fn understand(task: &Task, starts: Vec<Colours>) -> Vec<Solution> {
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
    found.sort_by(|one, other| other.evidence.total_cmp(&one.evidence));
    for _ in 0..MOST_ROUNDS {
        let Some(best) = found.first() else {
            break;
        };
        let before = best.evidence;
        let tried: Vec<Solution> = exchanges(task, best)
            .into_iter()
            .take(if best.colours.log_prior < UNEASY {
                UNEASY_TRIES
            } else {
                MOST_TRIES
            })
            .filter_map(|exchange| {
                let mut colours = best.colours.clone();
                let guess = best.guesses.found.first()?;
                let mut given = shares_of(guess, task.seen);
                for &face in &exchange.faces {
                    for share in &mut given[face] {
                        share.swap(exchange.one, exchange.other);
                    }
                }
                colours.refine(task.seen, Shares::Given(&given), &task.light, 3);
                Solution::new(task, colours)
            })
            .collect();
        found.extend(tried);
        found.sort_by(|one, other| other.evidence.total_cmp(&one.evidence));
        if found[0].evidence < before + 1e-6 {
            break;
        }
    }
    found
}

/// Two classes exchanged in some faces.
struct Exchange {
    faces: Vec<usize>,
    one: usize,
    other: usize,
    cost: f64,
}

/// The ways to exchange two classes in one or two faces that the light of the faces and the balance of the rings allow, the
/// likeliest first.
fn exchanges(task: &Task, solution: &Solution) -> Vec<Exchange> {
    /// Beyond this cost, in nats, an exchange is not tried.
    const MOST: f64 = 60.0;
    /// So many stickers are exchanged, if they should be, by piecing the cube together.
    const FEW: f64 = 2.5;
    /// What each sticker too many of a class in a ring is taken to cost.
    const UNBALANCED: f64 = 4.0;
    let colours = &solution.colours;
    let (ring_of, count) = rings(task.n);
    // More stickers of one class than of the other, by face and ring.
    let surplus = |face: usize, one: usize, other: usize| -> Vec<f64> {
        let mut sums = vec![0.0; count];
        for (cell, share) in colours.shares[face].iter().enumerate() {
            sums[ring_of[cell]] += share[one] - share[other];
        }
        sums
    };
    let mut found = Vec::new();
    for one in 0..6 {
        for other in 0..one {
            let single: Vec<(f64, Vec<f64>)> = (0..task.seen.len())
                .map(|face| {
                    let cost = colours.cost_of_exchange(face, one, other, &task.light);
                    (cost, surplus(face, one, other))
                })
                .collect();
            let mut consider = |faces: Vec<usize>| {
                let cost: f64 = faces.iter().map(|&face| single[face].0).sum();
                let unbalanced: f64 = (0..count)
                    .map(|ring| {
                        faces
                            .iter()
                            .map(|&face| single[face].1[ring])
                            .sum::<f64>()
                            .abs()
                    })
                    .sum();
                let moved: f64 = faces
                    .iter()
                    .flat_map(|&face| &colours.shares[face])
                    .map(|share| share[one] + share[other])
                    .sum();
                if moved > FEW && cost + UNBALANCED * unbalanced < MOST {
                    found.push(Exchange {
                        cost: cost + UNBALANCED * unbalanced,
                        faces,
                        one,
                        other,
                    });
                }
            };
            for face in 0..task.seen.len() {
                consider(vec![face]);
                for second in 0..face {
                    consider(vec![second, face]);
                }
            }
        }
    }
    found.sort_by(|one, other| one.cost.total_cmp(&other.cost));
    found
}

/// The probability of the best solution's cube among all solutions.
pub(super) fn sureness(task: &Task, solutions: &[Solution]) -> f64 {
    let Some(best) = solutions.first() else {
        return 0.0;
    };
    let rivals: f64 = solutions[1..]
        .iter()
        .filter(|other| other.essence != best.essence)
        .map(|other| (other.evidence - best.evidence).exp())
        .sum();
    confidence(task, &best.guesses) / (1.0 + rivals)
}
