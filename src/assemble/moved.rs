//! Cubes with stickers moved, near one put together of pieces: the likeliest of them, and what all weigh.

use super::decode::{Sum, Unlawful};
use super::ring::Logs;
use crate::cube::Layout;

/// A cube put together of pieces.
pub(super) struct Built {
    pub classes: Vec<usize>,
    /// Its log weight, the prior of misbuilt cubes included.
    pub log: f64,
}

/// A cube with stickers moved.
pub(super) struct Moved {
    pub log: f64,
    pub classes: Vec<usize>,
    /// How many pairs of stickers were exchanged.
    pub exchanges: usize,
    /// Whether each colour is there as often as every other. If not, no moving of stickers explains it: it stands for the
    /// colours being mistaken, and is never the answer.
    pub is_balanced: bool,
}

/// The share of cubes with stickers moved on which any two were exchanged, and that of those with two of a piece.
pub(super) const EXCHANGED: f64 = 0.4;
/// How likely it is that two more were exchanged where some were.
const TWO_MORE: f64 = 0.3;
/// How many times two are exchanged.
const MOST_EXCHANGES: usize = 3;

/// How many pairs of stickers of different colours so many stickers make.
fn pairs(stickers: usize) -> f64 {
    (stickers * (stickers - 1) / 2) as f64 * 5.0 / 6.0
}

/// The log of what exchanging a certain two stickers of a cube costs where so large a share has any two exchanged.
fn price(stickers: usize, share: f64) -> f64 {
    (share / pairs(stickers)).ln()
}

fn price_of_piece(built: &Built, unlawful: Unlawful) -> f64 {
    (EXCHANGED * unlawful.moved / pieces(built).count() as f64).ln()
}

/// The likeliest cubes with stickers exchanged, near one put together somehow: two of a piece, or any two, and any two more.
pub(super) fn exchanged(built: &Built, logs: &[Logs], unlawful: Unlawful) -> Vec<Moved> {
    let mut found: Vec<Moved> = any_exchanged(built, logs, unlawful).collect();
    let pieces = pieces(built).map(|piece| (gain(built, logs, piece), piece));
    let best = pieces.max_by(|one, other| one.0.total_cmp(&other.0));
    found.extend(best.map(|(gain, piece)| {
        let log = built.log + price_of_piece(built, unlawful) + gain;
        with_exchanged(&built.classes, piece, log, 1)
    }));
    found
}

/// The likeliest cube with any two stickers exchanged, that with two more, and so on.
fn any_exchanged(built: &Built, logs: &[Logs], unlawful: Unlawful) -> impl Iterator<Item = Moved> {
    let first = likeliest_pair(
        &built.classes,
        built.log,
        logs,
        EXCHANGED * unlawful.moved,
        1,
    );
    std::iter::successors(Some(first), |last| {
        let exchanges = last.exchanges + 1;
        let next = || likeliest_pair(&last.classes, last.log, logs, TWO_MORE, exchanges);
        (exchanges <= MOST_EXCHANGES).then(next)
    })
}

/// The likeliest way to exchange any two stickers of a cube.
fn likeliest_pair(
    classes: &[usize],
    log: f64,
    logs: &[Logs],
    share: f64,
    exchanges: usize,
) -> Moved {
    // For each class and other class, the sticker likeliest to be the other.
    let mut best = [[(f64::NEG_INFINITY, 0); 6]; 6];
    for (place, (&class, log)) in classes.iter().zip(logs).enumerate() {
        for other in (0..6).filter(|&other| other != class) {
            let gain = log[other] - log[class];
            if gain > best[class][other].0 {
                best[class][other] = (gain, place);
            }
        }
    }
    let mut top = (f64::NEG_INFINITY, [0, 0]);
    for [one, other] in class_pairs() {
        let (there, back) = (best[one][other], best[other][one]);
        let gain = there.0 + back.0;
        if gain > top.0 {
            top = (gain, [there.1, back.1]);
        }
    }
    let log = log + price(classes.len(), share) + top.0;
    with_exchanged(classes, top.1, log, exchanges)
}

fn with_exchanged(
    classes: &[usize],
    [one, other]: [usize; 2],
    log: f64,
    exchanges: usize,
) -> Moved {
    let mut classes = classes.to_vec();
    classes.swap(one, other);
    Moved {
        log,
        classes,
        exchanges,
        is_balanced: true,
    }
}

/// The log weights of all of either sort.
pub(super) fn exchanges(built: &Built, logs: &[Logs], unlawful: Unlawful) -> Vec<f64> {
    let share = EXCHANGED * unlawful.moved;
    let mut found = vec![any_pairs(&built.classes, built.log, logs, share)];
    for last in any_exchanged(built, logs, unlawful).take(MOST_EXCHANGES - 1) {
        found.push(any_pairs(&last.classes, last.log, logs, TWO_MORE));
    }
    let log_piece = built.log + price_of_piece(built, unlawful);
    let mut mass = Sum::default();
    for piece in pieces(built) {
        mass.add(log_piece + gain(built, logs, piece));
    }
    found.push(mass.log());
    found
}

/// The log weight of all ways to exchange any two stickers of a cube.
fn any_pairs(classes: &[usize], log: f64, logs: &[Logs], share: f64) -> f64 {
    // For each class and other class, the summed ratio of a sticker being the other.
    let mut sums = [[0.0_f64; 6]; 6];
    for (&class, log) in classes.iter().zip(logs) {
        for other in (0..6).filter(|&other| other != class) {
            sums[class][other] += (log[other] - log[class]).exp();
        }
    }
    let each = log + price(classes.len(), share);
    let mut mass = Sum::default();
    for [one, other] in class_pairs() {
        mass.add(each + sums[one][other].ln() + sums[other][one].ln());
    }
    mass.log()
}

/// Every two classes.
fn class_pairs() -> impl Iterator<Item = [usize; 2]> {
    (0..6).flat_map(|one| (0..one).map(move |other| [one, other]))
}

/// The two places of each wing and midge.
fn pieces(built: &Built) -> impl Iterator<Item = [usize; 2]> {
    let n = (built.classes.len() / 6).isqrt();
    let layout = Layout::of(n);
    let wings = layout
        .wing_orbits
        .iter()
        .flat_map(|orbit| orbit.wings.iter().map(|wing| wing.places));
    let midges = layout.midges.iter().map(|midge| midge.places);
    wings.chain(midges).map(|places| places.map(usize::from))
}

/// How much likelier two places are with their stickers exchanged.
fn gain(built: &Built, logs: &[Logs], [one, other]: [usize; 2]) -> f64 {
    let classes = &built.classes;
    logs[one][classes[other]] - logs[one][classes[one]] + logs[other][classes[one]]
        - logs[other][classes[other]]
}

/// The cube with all stickers moved that look otherwise, if they are more than two.
pub(super) fn otherwise(built: &Built, logs: &[Logs], unlawful: Unlawful) -> Option<Moved> {
    let mut classes = built.classes.clone();
    let mut log = built.log + (0.2 * unlawful.moved).ln();
    let mut count = 0_usize;
    let each = 0.5 * pairs(classes.len()).ln();
    for (class, log_of) in classes.iter_mut().zip(logs) {
        let top = (0..6)
            .max_by(|&a, &b| log_of[a].total_cmp(&log_of[b]))
            .unwrap_or(*class);
        if log_of[top] > log_of[*class] + 1.0 {
            log += log_of[top] - log_of[*class] - each;
            *class = top;
            count += 1;
        }
    }
    (count > 2).then(|| {
        let held = |wanted: usize| classes.iter().filter(|&&class| class == wanted).count();
        Moved {
            log,
            exchanges: count.div_ceil(2),
            is_balanced: (0..6).all(|class| held(class) * 6 == classes.len()),
            classes,
        }
    })
}
