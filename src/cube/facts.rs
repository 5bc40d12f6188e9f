//! The cube's mathematics against published numbers, read from `fixtures/facts/cube.json`.

use super::{CORNER_NAMES, Face, Layout, Move, OrbitKind, Pieces, Quarter, State};
use num_bigint::BigUint;
use std::collections::HashSet;

/// A fact by its key.
fn fact(key: &str) -> serde_json::Value {
    let path = concat!(env!("CARGO_MANIFEST_DIR"), "/fixtures/facts/cube.json");
    let all: serde_json::Value =
        serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
    let facts = all["facts"].as_array().unwrap();
    let found = facts.iter().find(|fact| fact["key"] == key);
    found.unwrap_or_else(|| panic!("no fact {key}"))["value"].clone()
}

fn number(key: &str) -> BigUint {
    fact(key).as_str().unwrap().parse().unwrap()
}

fn block(face: Face, layers: usize, quarter: Quarter) -> Move {
    Move::Block {
        face,
        layers,
        quarter,
    }
}

/// The number of states the laws allow, counted from the pieces of the layout, equals OEIS A075152.
#[test]
fn the_laws_allow_as_many_states_as_are_published() {
    let factorial = |k: u32| -> BigUint { (1..=k).map(BigUint::from).product() };
    let power = |base: u32, exponent: usize| BigUint::from(base).pow(exponent as u32);
    for n in 2..=7 {
        let layout = Layout::of(n);
        let corners = factorial(8) * power(3, 8) / 3_u32;
        let midges = match layout.midges.len() {
            0 => BigUint::from(1_u32),
            count => factorial(count as u32) * power(2, count) / 2_u32 / 2_u32,
        };
        let wings = factorial(24).pow(layout.wing_orbits.len() as u32);
        let arrangements = factorial(24) / factorial(4).pow(6);
        let centres = arrangements.pow(layout.centre_orbits.len() as u32);
        // Without fixed centres the 24 holds of a state count as one.
        let holds = if n % 2 == 0 { 24_u32 } else { 1 };
        assert_eq!(
            corners * midges * wings * centres / holds,
            number(&format!("positions_{n}")),
            "n = {n}"
        );
    }
}

#[test]
fn pieces_are_as_many_as_published() {
    for n in [2, 3, 4, 5, 6, 7, 9, 11] {
        let layout = Layout::of(n);
        let expected = fact(&format!("pieces_{n}"));
        let of_kind = |kind| {
            let orbits = layout.centre_orbits.iter();
            24 * orbits.filter(|orbit| orbit.kind == kind).count()
        };
        let wings = 24 * layout.wing_orbits.len();
        let moving = 24 * layout.centre_orbits.len();
        let mut found = serde_json::json!({
            "corners": CORNER_NAMES.len(),
            "midges": layout.midges.len(),
            "wings": wings,
            "wing_orbits": layout.wing_orbits.len(),
            "fixed_centres": layout.fixed_centres.len(),
            "moving_centres": moving,
            "centre_orbits": layout.centre_orbits.len(),
            "visible_cubies": 8 + layout.midges.len() + wings + layout.fixed_centres.len() + moving,
            "stickers": layout.places(),
            "by_kind": {},
        });
        for (word, kind) in [
            ("x-centre", OrbitKind::X),
            ("t-centre", OrbitKind::T),
            ("oblique", OrbitKind::Oblique),
        ] {
            if of_kind(kind) > 0 {
                found["by_kind"][word] = of_kind(kind).into();
            }
        }
        assert_eq!(found, expected, "n = {n}");
    }
}

/// Corners and midges as one number: equal exactly for equal states of a 2×2×2 or 3×3×3.
fn code(state: &State) -> u128 {
    let pieces = Pieces::of(state);
    let placed = pieces.corners.iter().chain(&pieces.midges).flatten();
    placed.fold(0, |code, placed| {
        code << 6 | (3 * placed.piece + placed.turn) as u128
    })
}

/// How many states need 0, 1, 2 … moves from solved.
fn depth_counts(n: usize, steps: &[Move], depth: usize) -> Vec<u64> {
    let mut seen = HashSet::from([code(&State::solved(n))]);
    let mut edge = vec![State::solved(n)];
    let mut counts = vec![1];
    while counts.len() <= depth {
        let mut next = Vec::new();
        for state in &edge {
            for &step in steps {
                let after = state.after(&[step]);
                if seen.insert(code(&after)) {
                    next.push(after);
                }
            }
        }
        counts.push(next.len() as u64);
        edge = next;
    }
    counts
}

/// Quarter turns of these faces, half turns too in the half turn metric.
fn outer_turns(faces: &[Face], with_half_turns: bool) -> Vec<Move> {
    let quarters = Quarter::ALL
        .into_iter()
        .filter(|&quarter| with_half_turns || quarter != Quarter::Half);
    quarters
        .flat_map(|quarter| faces.iter().map(move |&face| block(face, 1, quarter)))
        .collect()
}

/// Source: OEIS A080601 (half turn metric) and A080602 (quarter turn metric).
#[test]
fn as_many_states_at_each_depth_as_published() {
    let check = |n, faces: &[Face], depth, metric: &str| {
        let counts = depth_counts(n, &outer_turns(faces, metric == "HTM"), depth);
        let published = fact(&format!("depth_counts {n}x{n}x{n} {metric}"));
        let published: Vec<u64> = serde_json::from_value(published).unwrap();
        assert_eq!(counts, published[..=depth], "{n} {metric}");
    };
    check(3, &Face::ALL, 5, "HTM");
    check(3, &Face::ALL, 6, "QTM");
}

/// Every state of the 2×2×2, by its permutation and twists: all depths of OEIS A079761 and A079762.
#[test]
fn all_depths_of_the_two_by_two() {
    for metric in ["HTM", "QTM"] {
        let steps = outer_turns(&[Face::U, Face::R, Face::F], metric == "HTM");
        // What each move brings to each position: which position's piece, turned how.
        let brings: Vec<_> = steps
            .iter()
            .map(|&step| Pieces::of(&State::solved(2).after(&[step])).corners)
            .collect();
        let rank = |corners: &[(u8, u8); 8]| -> usize {
            // DBL, position 6, never moves; the seven others as a number in a mixed base.
            let moving = [0, 1, 2, 3, 4, 5, 7];
            let mut order = 0;
            for (index, &position) in moving.iter().enumerate() {
                let smaller = moving[index + 1..]
                    .iter()
                    .filter(|&&later| corners[later].0 < corners[position].0);
                order = order * (7 - index) + smaller.count();
            }
            let twists = moving[..6].iter().fold(0, |sum, &position| {
                3 * sum + usize::from(corners[position].1)
            });
            729 * order + twists
        };
        let solved = [0, 1, 2, 3, 4, 5, 6, 7].map(|piece| (piece, 0));
        let mut seen = vec![false; 5040 * 729];
        seen[rank(&solved)] = true;
        let mut edge = vec![solved];
        let mut counts = Vec::new();
        while !edge.is_empty() {
            counts.push(edge.len() as u64);
            let mut next = Vec::new();
            for corners in edge {
                for brought in &brings {
                    let after = brought.map(|placed| {
                        let placed = placed.unwrap();
                        let (piece, turn) = corners[placed.piece];
                        (piece, (turn + placed.turn as u8) % 3)
                    });
                    let rank = rank(&after);
                    if !seen[rank] {
                        seen[rank] = true;
                        next.push(after);
                    }
                }
            }
            edge = next;
        }
        let published = fact(&format!("depth_counts 2x2x2 {metric}"));
        assert_eq!(serde_json::json!(counts), published, "{metric}");
        assert_eq!(
            BigUint::from(counts.iter().sum::<u64>()),
            number("positions_2")
        );
    }
}

/// A permutation of places: what sits at place `p` goes to `perm[p]`.
type Perm = Vec<u16>;

fn inverse(perm: &[u16]) -> Perm {
    let mut back = vec![0; perm.len()];
    for (place, &from) in perm.iter().enumerate() {
        back[usize::from(from)] = place as u16;
    }
    back
}

fn is_identity(perm: &[u16]) -> bool {
    perm.iter()
        .enumerate()
        .all(|(place, &from)| place == usize::from(from))
}

/// One level of a stabiliser chain: the orbit of a point under the permutations that fix the points above.
struct Level {
    point: u16,
    generators: Vec<Perm>,
    /// For each point of the orbit a permutation that brings it to `point`.
    back: Vec<Option<Perm>>,
}

impl Level {
    fn new(point: u16, generator: Perm) -> Self {
        let mut level = Self {
            point,
            generators: Vec::new(),
            back: vec![None; generator.len()],
        };
        level.back[usize::from(point)] = Some((0..generator.len() as u16).collect());
        level.add(generator);
        level
    }

    fn add(&mut self, generator: Perm) {
        self.generators.push(generator);
        let mut open: Vec<u16> = (0..self.back.len() as u16)
            .filter(|&place| self.back[usize::from(place)].is_some())
            .collect();
        while let Some(at) = open.pop() {
            for generator in &self.generators {
                let to = generator[usize::from(at)];
                if self.back[usize::from(to)].is_none() {
                    let home = self.back[usize::from(at)].clone().unwrap();
                    self.back[usize::from(to)] = Some(compose(&inverse(generator), &home));
                    open.push(to);
                }
            }
        }
    }

    fn orbit(&self) -> usize {
        self.back.iter().flatten().count()
    }
}

/// Acting on points: first one map, then the other.
fn compose(first: &[u16], second: &[u16]) -> Perm {
    first.iter().map(|&to| second[usize::from(to)]).collect()
}

/// A stabiliser chain after Schreier and Sims. The product of its orbit lengths never exceeds the order of the
/// group, and equals it once every element sifts to nothing.
struct Chain {
    levels: Vec<Level>,
}

impl Chain {
    /// Strips a permutation down the chain: the level at which it left, and what is left of it.
    fn sift(&self, perm: &[u16]) -> (usize, Perm) {
        let mut left = perm.to_vec();
        for (depth, level) in self.levels.iter().enumerate() {
            let to = left[usize::from(level.point)];
            let Some(back) = &level.back[usize::from(to)] else {
                return (depth, left);
            };
            left = compose(&left, back);
        }
        (self.levels.len(), left)
    }

    /// Takes a permutation in; whether it was new.
    fn insert(&mut self, perm: &[u16]) -> bool {
        let (depth, left) = self.sift(perm);
        if is_identity(&left) {
            return false;
        }
        if let Some(level) = self.levels.get_mut(depth) {
            level.add(left);
        } else {
            let moved = left
                .iter()
                .enumerate()
                .find(|&(at, &to)| at != usize::from(to));
            self.levels.push(Level::new(moved.unwrap().0 as u16, left));
        }
        true
    }

    fn order(&self) -> BigUint {
        self.levels
            .iter()
            .map(|level| BigUint::from(level.orbit()))
            .product()
    }

    /// Feeds in products of generators until none of the last fifty was new.
    fn fill(generators: &[Perm]) -> Self {
        let mut chain = Self { levels: Vec::new() };
        let mut pool: Vec<Perm> = generators
            .iter()
            .cycle()
            .take(12.max(generators.len()))
            .cloned()
            .collect();
        // A linear congruential generator (Knuth's MMIX constants, from memory): any sequence would do.
        let mut seed = 1_u64;
        let mut draw = |below: usize| {
            seed = seed
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            (seed >> 33) as usize % below
        };
        for generator in generators {
            chain.insert(generator);
        }
        let mut quiet = 0;
        for round in 0.. {
            let (one, other) = (draw(pool.len()), draw(pool.len()));
            if one == other {
                continue;
            }
            pool[one] = compose(&pool[one], &pool[other]);
            // The first rounds only mix the pool.
            if round > 200 {
                quiet = if chain.insert(&pool[one]) {
                    0
                } else {
                    quiet + 1
                };
            }
            if quiet == 50 {
                break;
            }
        }
        chain
    }

    /// Sifts all of Schreier's generators: true only if the chain is complete.
    fn is_complete(&self) -> bool {
        (0..self.levels.len()).all(|depth| {
            let level = &self.levels[depth];
            let generators = self.levels[depth..]
                .iter()
                .flat_map(|level| &level.generators);
            generators.into_iter().all(|generator| {
                level.back.iter().flatten().all(|back| {
                    let there = inverse(back);
                    let around = compose(&there, generator);
                    is_identity(&self.sift(&around).1)
                })
            })
        })
    }
}

/// All single layers but those that would only turn the whole cube: a corner or the fixed centres stay.
fn layer_turns(n: usize) -> Vec<Perm> {
    let layout = Layout::of(n);
    let faces = if n.is_multiple_of(2) {
        &Face::ALL[..3]
    } else {
        &Face::ALL[..]
    };
    let depth = if n.is_multiple_of(2) { n - 1 } else { n / 2 };
    let mut turns = Vec::new();
    for &face in faces {
        for layer in 1..=depth {
            let mut perm: Perm = (0..layout.places() as u16).collect();
            for cycle in layout.quarter_cycles(face, layer) {
                for at in 0..4 {
                    perm[usize::from(cycle[at])] = cycle[(at + 1) % 4];
                }
            }
            turns.push(perm);
        }
    }
    turns
}

/// Source: OEIS A075152 for n = 2 and 3; GAP for n = 4 to 7. For 2 and 3 the chain is proved complete, for the
/// larger ones its order is a lower bound that meets GAP's number.
#[test]
fn the_turns_make_groups_of_the_published_orders() {
    for n in 2..=7 {
        let chain = Chain::fill(&layer_turns(n));
        assert_eq!(
            chain.order(),
            number(&format!("group_order_{n}")),
            "n = {n}"
        );
        if n <= 3 {
            assert!(chain.is_complete(), "n = {n}");
        }
    }
}
