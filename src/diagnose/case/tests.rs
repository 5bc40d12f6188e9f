//! The cases against the table of an independent enumeration, see `fixtures/facts/`.

use super::*;
use crate::cube::{Hold, Move, Quarter, check};
use proptest::prelude::*;
use std::collections::BTreeMap;

/// Keys with their relative parity, of an independent enumeration.
const FOUR: [(&str, &str); 1] = [("AB : BA", "0")];

const FIVE: [(&str, &str); 7] = [
    ("AaA", "1"),
    ("AAB : BbA", "0"),
    ("ABA : BAB", "0"),
    ("AaA : BbB", "0"),
    ("ABb : aAB", "1"),
    ("AAB : BBA", "1"),
    ("ABA : BaB", "1"),
];

const SIX: [(&str, &str); 19] = [
    ("AaaA", "10"),
    ("AABB : BBAA", "00"),
    ("AAAB : BbbA", "00"),
    ("ABBA : BAAB", "00"),
    ("AABA : BabB", "00"),
    ("AaaA : BbbB", "00"),
    ("ABBb : aAAB", "10"),
    ("AAAB : BBBA", "10"),
    ("ABBA : BaaB", "10"),
    ("AABb : aBAB", "00"),
    ("ABAB : BABA", "00"),
    ("ABab : abAB", "00"),
    ("AaBb : aAbB", "00"),
    ("ABaA : BbAB", "10"),
    ("AABA : BBAB", "10"),
    ("ABAB : BbaA", "10"),
    ("ABAb : abaB", "10"),
    ("AABB : BabA", "10"),
    ("AABb : aabB", "10"),
];

fn check_all(n: usize, expected: &[(&str, &str)]) {
    let mut expected: Vec<_> = expected
        .iter()
        .map(|&(key, parity)| (key.to_owned(), parity.to_owned()))
        .collect();
    let mut found: Vec<_> = Key::all(n)
        .into_iter()
        .map(|key| {
            let bits = key.relative_parity().into_iter();
            (
                key.to_string(),
                bits.map(|odd| if odd { '1' } else { '0' }).collect(),
            )
        })
        .collect();
    expected.sort();
    found.sort();
    assert_eq!(found, expected);
}

/// Source: an independent enumeration in another language, whose fixes were applied to the states.
#[test]
fn the_cases_are_those_of_the_independent_enumeration() {
    check_all(4, &FOUR);
    check_all(5, &FIVE);
    check_all(6, &SIX);
    let seven = Key::all(7);
    let one = seven.iter().filter(|key| key.open() == 1).count();
    assert_eq!((one, seven.len()), (3, 103));
}

/// How many of all the arrangements of wings (and midges) on two edges belong to each key; the arrangements with
/// both groups whole under "".
fn raw_arrangements(n: usize) -> BTreeMap<String, usize> {
    let length = n - 2;
    let middle = 2 * (length / 2);
    let mut counts = BTreeMap::new();
    let mut count = |strips: [Packed; 2]| {
        let words = strips.map(|strip| cells(length, strip));
        let open: Vec<Packed> = (0..2)
            .filter(|&group| !is_whole(&words[group]))
            .map(|group| strips[group])
            .collect();
        let name = match open[..] {
            [] => String::new(),
            [alone] => {
                // A lone strip of the second pair is written with the letter of the first.
                let alone = if alone & PAIR_BITS == 0 {
                    alone
                } else {
                    alone ^ bits(length)[1]
                };
                Key::least(length, 1, [alone, 0]).to_string()
            }
            _ => Key::least(length, 2, strips).to_string(),
        };
        *counts.entry(name).or_insert(0) += 1;
    };
    if n.is_multiple_of(2) {
        arrange(length, 0, [0, 0], &mut count);
    } else {
        for midges in [[0, 1], [1, 0]] {
            for turns in [[0, 0], [0, 2], [2, 0], [2, 2]] {
                let strips = [0, 1].map(|group| (midges[group] | turns[group]) << middle);
                arrange(length, 0, strips, &mut count);
            }
        }
    }
    counts
}

/// Source: the same independent enumeration: raw arrangements in all, with both groups whole, one, two open.
#[test]
fn raw_arrangements_are_as_many_as_counted_elsewhere() {
    for (n, total, whole, one, two) in [
        (4, 24, 8, 0, 16),
        (5, 192, 8, 16, 168),
        (6, 576, 8, 16, 552),
        (7, 4608, 8, 48, 4552),
    ] {
        let counts = raw_arrangements(n);
        let sum = |wanted: fn(&str) -> bool| -> usize {
            counts
                .iter()
                .filter(|(key, _)| wanted(key))
                .map(|(_, count)| count)
                .sum()
        };
        assert_eq!(sum(|_| true), total, "n = {n}");
        assert_eq!(sum(str::is_empty), whole, "n = {n}");
        assert_eq!(
            sum(|key| !key.is_empty() && !key.contains(':')),
            one,
            "n = {n}"
        );
        assert_eq!(sum(|key| key.contains(':')), two, "n = {n}");
    }
    // Single rows of the table.
    for (n, key, count) in [
        (5, "AAB : BbA", 64),
        (5, "AaA : BbB", 8),
        (5, "ABb : aAB", 32),
        (6, "AABA : BabB", 64),
        (6, "ABab : abAB", 16),
        (6, "AABb : aabB", 32),
    ] {
        assert_eq!(raw_arrangements(n).get(key), Some(&count), "{key}");
    }
}

/// The number of cases by Burnside's lemma, from the 64 ways to rewrite an arrangement acting on the four wings of
/// one orbit (and on two midges) only: it knows nothing of keys.
fn burnside(n: usize) -> usize {
    // A wing by pair and hand, a midge by pair and way round; places: group and end.
    let wings: Vec<[u8; 4]> = {
        let all = (0..4_u8).flat_map(|a| (0..4).flat_map(move |b| (0..4).map(move |c| [a, b, c])));
        all.filter(|[a, b, c]| a != b && b != c && a != c)
            .map(|[a, b, c]| [a, b, c, 6 - a - b - c])
            .collect()
    };
    let midges: Vec<[u8; 2]> = (0..4_u8)
        .flat_map(|a| (0..4).map(move |b| [a, b]))
        .filter(|[a, b]| a / 2 != b / 2)
        .collect();
    let mut fixed = 0;
    for bits in 0..64_u8 {
        let [exchange, turn_one, turn_two, letters, name_one, name_two] =
            [0, 1, 2, 3, 4, 5].map(|bit| bits >> bit & 1);
        // Naming a pair the other way round exchanges its hands; so does turning a midge over.
        let named = |piece: u8| {
            let flip = if piece / 2 == 0 { name_one } else { name_two };
            (piece ^ flip) ^ (2 * letters)
        };
        let turns = [turn_one, turn_two];
        let wings_fixed = wings.iter().filter(|wing| {
            (0..4_u8).all(|place| {
                let (group, end) = (place / 2, place % 2);
                let to = 2 * (group ^ exchange) + (end ^ turns[usize::from(group)]);
                wing[usize::from(to)] == named(wing[usize::from(place)])
            })
        });
        let midges_fixed = midges.iter().filter(|midge| {
            (0..2_u8).all(|group| {
                let to = usize::from(group ^ exchange);
                let group = usize::from(group);
                midge[to] == named(midge[group]) ^ turns[group]
            })
        });
        let orbits = (n / 2 - 1) as u32;
        let midges_fixed = if n % 2 == 1 { midges_fixed.count() } else { 1 };
        fixed += wings_fixed.count().pow(orbits) * midges_fixed;
    }
    // One of the classes has both groups whole.
    fixed / 64 - 1
}

#[test]
fn as_many_cases_as_burnside_counts() {
    for n in 4..=7 {
        assert_eq!([1, 7, 19, 103][n - 4], burnside(n), "n = {n}");
    }
    for n in 8..=11 {
        assert_eq!(Key::all(n).len(), burnside(n), "n = {n}");
    }
}

/// A cube with only this case is legal, at its last groups, and shows the case wherever the groups lie.
#[test]
fn every_case_can_be_set_up_and_is_recognised() {
    for n in 4..=8 {
        for key in Key::all(n) {
            for edges in [[0, 2], [0, 6], [8, 9], [5, 10], [3, 0]] {
                let state = key.state(edges);
                assert_eq!(check(&state), [], "{key} at {edges:?}");
                let found = LastGroups::of(&state).unwrap();
                assert_eq!(found.key, key);
                let mut expected = edges[..key.open()].to_vec();
                expected.sort_unstable();
                assert_eq!(found.edges, expected);
            }
        }
    }
}

proptest! {
    /// Outer turns, other holds and other colours leave the case what it is.
    #[test]
    fn a_case_is_the_same_however_it_lies(
        n in 4..=9_usize,
        pick: prop::sample::Index,
        steps in prop::collection::vec((0..6_usize, 0..3_usize, any::<bool>()), 0..20),
        hold in 0..24_usize,
    ) {
        let keys = Key::all(n);
        let key = pick.get(&keys);
        let mut state = key.state([0, 2]);
        for (face, quarter, is_rotation) in steps {
            let (face, quarter) = (Face::ALL[face], Quarter::ALL[quarter]);
            state.turn(if is_rotation {
                Move::Rotation { axis: face.axis(), quarter }
            } else {
                Move::Block { face, layers: 1, quarter }
            });
        }
        let renamed = state.renamed(Face::ALL.map(|face| Hold::all()[hold].brings(face)));
        prop_assert_eq!(LastGroups::of(&renamed).map(|groups| groups.key), Some(*key));
    }
}

/// Source: counting. On an odd cube each set of orbits (not none) can be open in each of the 7 ways of the 5×5×5. On
/// an even one the orbits not in the set are the measure: 4 of the 7 ways leave the set whole in itself, so that the
/// others may as well be the set, 3 do not; and all orbits may be open alike, as on the 4×4×4.
#[test]
fn cases_whose_layers_are_open_in_one_way() {
    for n in 4..=10 {
        let orbits = n / 2 - 1;
        let sets = (1 << orbits) - 1;
        let expected = if n % 2 == 1 {
            7 * sets
        } else {
            4 * (sets - 1) / 2 + 3 * (sets - 1) + 1
        };
        let all = Key::all(n);
        let simple = all.iter().filter(|key| key.kinds() == 1);
        assert_eq!(simple.count(), expected, "n = {n}");
        assert!(all.iter().all(|key| key.kinds() >= 1), "n = {n}");
    }
}
