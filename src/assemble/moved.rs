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
    /// Whether each colour is there as often as every other. If not, no moving of stickers explains it: it stands for the
    /// colours being mistaken, and is never the answer.
    pub is_balanced: bool,
}

/// The log of what exchanging any two stickers of a cube costs, and of what exchanging two of a piece does.
fn prices(built: &Built, unlawful: Unlawful) -> (f64, f64) {
    let one_in = pairs(built.classes.len());
    (
        built.log + (0.4 * unlawful.moved / one_in).ln(),
        built.log + (0.4 * unlawful.moved).ln() - (pieces(built).count() as f64).ln(),
    )
}

/// How many pairs of stickers of different colours so many stickers make.
fn pairs(stickers: usize) -> f64 {
    (stickers * (stickers - 1) / 2) as f64 * 5.0 / 6.0
}

/// The likeliest cubes with two stickers exchanged, near one put together somehow: any two, or two of a piece.
pub(super) fn exchanged(built: &Built, logs: &[Logs], unlawful: Unlawful) -> Vec<Moved> {
    let (log_pair, log_piece) = prices(built, unlawful);
    let with = |log, [one, other]: [usize; 2]| {
        let mut classes = built.classes.clone();
        classes.swap(one, other);
        Moved {
            log,
            classes,
            is_balanced: true,
        }
    };
    // For each class and other class, the sticker likeliest to be the other.
    let mut best = [[(f64::NEG_INFINITY, 0); 6]; 6];
    for (place, (&class, log)) in built.classes.iter().zip(logs).enumerate() {
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
        let log = log_pair + there.0 + back.0;
        if log > top.0 {
            top = (log, [there.1, back.1]);
        }
    }
    let mut found = vec![with(top.0, top.1)];
    let pieces = pieces(built).map(|piece| (gain(built, logs, piece), piece));
    let best = pieces.max_by(|one, other| one.0.total_cmp(&other.0));
    found.extend(best.map(|(gain, piece)| with(log_piece + gain, piece)));
    found
}

/// The log weights of all of either sort.
pub(super) fn exchanges(built: &Built, logs: &[Logs], unlawful: Unlawful) -> Vec<f64> {
    let (log_pair, log_piece) = prices(built, unlawful);
    // For each class and other class, the summed ratio of a sticker being the other.
    let mut sums = [[0.0_f64; 6]; 6];
    for (&class, log) in built.classes.iter().zip(logs) {
        for other in (0..6).filter(|&other| other != class) {
            sums[class][other] += (log[other] - log[class]).exp();
        }
    }
    let mut mass = Sum::default();
    for [one, other] in class_pairs() {
        mass.add(log_pair + sums[one][other].ln() + sums[other][one].ln());
    }
    let mut found = vec![mass.log()];
    let mut mass = Sum::default();
    for piece in pieces(built) {
        mass.add(log_piece + gain(built, logs, piece));
    }
    found.push(mass.log());
    found
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
    let mut count = 0;
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
            is_balanced: (0..6).all(|class| held(class) * 6 == classes.len()),
            classes,
        }
    })
}
