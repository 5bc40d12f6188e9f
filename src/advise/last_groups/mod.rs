//! The last one or two open groups: for every arrangement the shortest way known, looked up in a table that a search
//! made once.

#[cfg(test)]
mod kit;
#[cfg(test)]
mod making;

use super::arrangement::Arrangement;
use super::search::tidied;
use super::wings::{Letter, Reach};
use crate::cube::{EDGE_NAMES, Face, Move, Quarter};
use std::fmt::Write;

/// Letters and the orbits they are made for, a bit each, the outermost the lowest.
pub type Stretch = (Vec<Letter>, u8);

/// A line for every arrangement of one or two orbits up to holding the cube and naming the colours, in the order of
/// their names: the name (see [`name`]), a colon, and the stretches that make both groups whole, in the arrangement's
/// standard hold. `making` has the search that wrote it, and the test that it is still what that search finds.
const WAYS: &str = include_str!("ways.txt");

/// What makes two groups whole.
#[derive(Clone, Debug)]
pub struct Mending {
    /// The moves, as the cube is held now.
    pub moves: Vec<Move>,
    /// Whether some orbit needs an odd number of quarter turns more than what it is measured against.
    pub is_parity: bool,
}

/// The shortest moves known that make the two groups of an arrangement whole. `layers` are those that each orbit of the
/// arrangement stands for, outermost first. `None` if it has more than two orbits.
pub fn solve(arrangement: &Arrangement, layers: &[Vec<usize>]) -> Option<Mending> {
    let way = |arrangement: &Arrangement| {
        let (settled, hold) = arrangement.settled()?;
        let back = hold.inverse();
        let mut stretches = stretches_of(way_from(&settled)?)?;
        for letter in stretches.iter_mut().flat_map(|(letters, _)| letters) {
            *letter = letter.in_hold(back);
        }
        Some(stretches)
    };
    let straight = way(arrangement);
    // Beside inner parts two orbits are alike: what is best for them exchanged may be shorter in these layers.
    let exchanged = arrangement
        .exchanged()
        .and_then(|exchanged| way(&exchanged));
    let exchanged = exchanged.map(|mut stretches| {
        for (_, on) in &mut stretches {
            *on = *on >> 1 | (*on & 1) << 1;
        }
        stretches
    });
    let ways = straight.into_iter().chain(exchanged);
    let mendings = ways.map(|stretches| Mending {
        moves: moves_of(&stretches, layers),
        is_parity: is_parity(&stretches, arrangement),
    });
    mendings.min_by_key(|mending| mending.moves.len())
}

/// Whether some orbit is turned an odd number of quarters more than the inner parts, or than the innermost orbit.
fn is_parity(stretches: &[Stretch], arrangement: &Arrangement) -> bool {
    let is_odd = |orbit: usize| {
        let turned = stretches.iter().filter(|(_, on)| on >> orbit & 1 == 1);
        let quarters = turned
            .flat_map(|(letters, _)| letters)
            .filter(|letter| letter.reach != Reach::Outer && letter.quarter != Quarter::Half);
        quarters.count() % 2 == 1
    };
    let orbits = arrangement.rows().len();
    let due = arrangement.cores().is_none() && is_odd(orbits.saturating_sub(1));
    (0..orbits).any(|orbit| is_odd(orbit) != due)
}

/// The moves of stretches for the layers of each orbit (outermost first).
pub fn moves_of(stretches: &[Stretch], layers_of_orbit: &[Vec<usize>]) -> Vec<Move> {
    let mut moves = Vec::new();
    for (letters, on) in stretches {
        let chosen = layers_of_orbit
            .iter()
            .enumerate()
            .filter(|(orbit, _)| on >> orbit & 1 == 1);
        let mut layers: Vec<usize> = chosen.flat_map(|(_, layers)| layers.clone()).collect();
        layers.sort_unstable();
        moves.extend(letters.iter().flat_map(|letter| letter.moves(&layers)));
    }
    tidied(&moves)
}

/// What an arrangement is called in the table: its edges, what its inner parts read, and its orbits, outermost first.
fn name(arrangement: &Arrangement) -> String {
    let [one, other] = arrangement.edges.map(|edge| EDGE_NAMES[usize::from(edge)]);
    let mut name = format!("{one} {other} ");
    let cores = arrangement.cores();
    let _ = match cores {
        Some([one, other]) => write!(name, "{one}{other}"),
        None => write!(name, "--"),
    };
    for [a, b, c, d] in arrangement.rows() {
        let _ = write!(name, " {a}{b}{c}{d}");
    }
    name
}

/// What the table has for an arrangement in its standard hold.
fn way_from(settled: &Arrangement) -> Option<&'static str> {
    let name = name(settled);
    let mut left = WAYS;
    while !left.is_empty() {
        let middle = left.len() / 2;
        let start = left.as_bytes()[..middle]
            .iter()
            .rposition(|&byte| byte == b'\n')
            .map_or(0, |newline| newline + 1);
        let (before, rest) = left.split_at(start);
        let (line, after) = rest.split_once('\n').unwrap_or((rest, ""));
        let (known, way) = line.split_once(':')?;
        left = match name.as_str().cmp(known) {
            std::cmp::Ordering::Less => before,
            std::cmp::Ordering::Equal => return Some(way),
            std::cmp::Ordering::Greater => after,
        };
    }
    None
}

/// Reads stretches such as `1 Uw R u'; 3 U2`: the orbits as a number, then the letters, a small one for a layer
/// turned without the outer one.
fn stretches_of(way: &str) -> Option<Vec<Stretch>> {
    let written = way.split(';').filter(|stretch| !stretch.trim().is_empty());
    written
        .map(|stretch| {
            let mut words = stretch.split_whitespace();
            let on = words.next()?.parse().ok()?;
            Some((words.map(letter_of).collect::<Option<_>>()?, on))
        })
        .collect()
}

fn letter_of(word: &str) -> Option<Letter> {
    let first = word.chars().next()?;
    let face = Face::from_letter(first.to_ascii_uppercase())?;
    let (reach, quarter) = match word[1..].strip_prefix('w') {
        Some(quarter) => (Reach::Block, quarter),
        None if first.is_ascii_lowercase() => (Reach::Slice, &word[1..]),
        None => (Reach::Outer, &word[1..]),
    };
    let quarter = match quarter {
        "" => Quarter::Clockwise,
        "2" => Quarter::Half,
        "'" => Quarter::Anticlockwise,
        _ => return None,
    };
    Some(Letter {
        face,
        reach,
        quarter,
    })
}
