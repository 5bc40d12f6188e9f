//! Joining the wings of one orbit to the inner parts of their groups while more than two groups are open.
//!
//! Each pairing is one slice: a block ending at the orbit's layer is turned so that wings come beside the parts
//! they belong to, the groups so made are brought out of the slice's way and open ones parked in their places, and
//! the block is turned back, which makes the centres whole again.

use super::wings::{Action, Letter, Orbit, Reach};
use crate::cube::{Face, Hold, Quarter};
use std::collections::BTreeMap;
use std::sync::OnceLock;

/// A pairing found: what to do, in the letters of how the cube is held now.
#[derive(Clone, Debug)]
pub struct Pairing {
    /// Outer turns that bring the groups beside the slice.
    pub set_up: Vec<Letter>,
    /// The slice.
    pub slice: Vec<Letter>,
    /// The turns that bring finished groups out and park open ones in their places.
    pub parking: Vec<Letter>,
}

impl Pairing {
    /// All of it in a row.
    pub fn letters(&self) -> Vec<Letter> {
        let back = self.slice.iter().rev().map(|letter| letter.inverse());
        let mut all = self.set_up.clone();
        all.extend(&self.slice);
        all.extend(&self.parking);
        all.extend(back);
        all
    }
}

/// A slice, a parking and the slice turned back.
struct Pattern {
    slice: Vec<Letter>,
    parking: Vec<Letter>,
    /// The edges where pieces of different edges come together.
    cut: Vec<Cut>,
    /// The places of all wings that go to such edges, a bit each.
    moved: u32,
    turns: u32,
}

/// An edge after a pattern whose pieces come from different edges.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Cut {
    /// Where its inner part comes from: twice the edge plus whether it comes flipped. For wings alone, where its
    /// first wing comes from.
    core: u8,
    /// Where its wings come from, + end first.
    wings: [u8; 2],
}

impl Cut {
    /// The cut edges of an action, each with which edge it is.
    fn on_edges(action: &Action, wings_alone: bool) -> Vec<(usize, Self)> {
        let from = action.inverse();
        let edges = (0..12).filter_map(|edge| {
            let wings = [0, 1].map(|end| from.wings[2 * edge + end]);
            let core = if wings_alone {
                wings[0]
            } else {
                from.cores[2 * edge]
            };
            (wings != [core, core ^ 1]).then_some((edge, Self { core, wings }))
        });
        edges.collect()
    }

    /// What a cut on an edge is once the whole cube is turned.
    fn turned(self, edge: usize, whole: &Action, wings_alone: bool) -> Self {
        let [one, other] = self.wings.map(|wing| whole.wings[usize::from(wing)]);
        let is_flipped = whole.wings[2 * edge] % 2 == 1;
        let wings = if is_flipped {
            [other, one]
        } else {
            [one, other]
        };
        let core = if wings_alone {
            wings[0]
        } else {
            whole.cores[usize::from(self.core ^ u8::from(is_flipped))]
        };
        Self { core, wings }
    }
}

/// All slices with all parkings, and which of them bring two places together.
struct Patterns {
    all: Vec<Pattern>,
    /// For a place of an inner part (see [`Cut::core`]) and a place of a wing: the patterns after which that wing lies
    /// there, by index, a bit each.
    joining: Vec<[Vec<u64>; 24]>,
}

impl Patterns {
    fn new(all: Vec<Pattern>, wings_alone: bool) -> Self {
        let words = all.len().div_ceil(64);
        let mut joining: Vec<[Vec<u64>; 24]> = (0..24)
            .map(|_| std::array::from_fn(|_| vec![0; words]))
            .collect();
        for (index, pattern) in all.iter().enumerate() {
            for &Cut { core, wings } in &pattern.cut {
                let met = if wings_alone {
                    [(core, wings[1]), (core, wings[1])]
                } else {
                    [(core, wings[0]), (core ^ 1, wings[1])]
                };
                for (core, wing) in met {
                    joining[usize::from(core)][usize::from(wing)][index / 64] |= 1 << (index % 64);
                }
            }
        }
        Self { all, joining }
    }

    fn words(&self) -> usize {
        self.all.len().div_ceil(64)
    }

    /// The patterns of a set of bits.
    fn chosen<'a>(&'a self, bits: &[u64]) -> impl Iterator<Item = &'a Pattern> {
        let indices = bits.iter().enumerate().flat_map(|(word, &bits)| {
            let mut left = bits;
            std::iter::from_fn(move || {
                let index = 64 * word + left.trailing_zeros() as usize;
                (left != 0).then(|| {
                    left &= left - 1;
                    index
                })
            })
        });
        indices.map(|index| &self.all[index])
    }
}

/// The patterns that join wings which do not fit yet to what they belong to, by how many they join at least: one, two,
/// three. A pattern gains no more than it joins.
struct Joined {
    at_least: [Vec<u64>; 3],
}

impl Joined {
    fn new(patterns: &Patterns) -> Self {
        Self {
            at_least: std::array::from_fn(|_| vec![0; patterns.words()]),
        }
    }

    /// Counts anew, for places of inner parts and of the wings they lack.
    fn count(&mut self, patterns: &Patterns, lacking: impl Iterator<Item = (u8, u8)>) {
        let [one, two, three] = &mut self.at_least;
        for bits in [&mut *one, &mut *two, &mut *three] {
            bits.fill(0);
        }
        for (core, wing) in lacking {
            let joining = &patterns.joining[usize::from(core)][usize::from(wing)];
            for (word, &bits) in joining.iter().enumerate() {
                three[word] |= two[word] & bits;
                two[word] |= one[word] & bits;
                one[word] |= bits;
            }
        }
    }
}

/// What an orbit has, as bits over the 24 places of wings.
struct Bits {
    /// The wings that fit where they are.
    fits: u32,
    /// For each place of an inner part and way round: the wing that belongs at its + end. For wings alone: for each
    /// place of a wing, its partner.
    wanted: [u32; 24],
}

impl Bits {
    fn of(orbit: &Orbit) -> Self {
        let mut place_of = [0_u8; 24];
        for (place, &wing) in orbit.wings.iter().enumerate() {
            place_of[usize::from(wing)] = place as u8;
        }
        let wanted = match &orbit.cores {
            Some(cores) => std::array::from_fn(|at| {
                let wing = cores[at / 2] ^ (at % 2) as u8;
                1 << place_of[usize::from(wing)]
            }),
            None => orbit.wings.map(|wing| 1 << place_of[usize::from(wing ^ 1)]),
        };
        let fits = (0..24).fold(0, |bits, place| {
            bits | u32::from(orbit.fits(place)) << place
        });
        Self { fits, wanted }
    }

    /// The inner parts whose wing does not fit, each with the place of that wing.
    fn lacking(&self) -> Vec<(u8, u8)> {
        let all = self.wanted.iter().enumerate();
        all.filter(|&(_, wanted)| wanted & self.fits == 0)
            .map(|(core, wanted)| (core as u8, wanted.trailing_zeros() as u8))
            .collect()
    }

    /// The same after an action that moves whole groups.
    fn after_whole(&self, action: &Action, wings_alone: bool) -> Self {
        let cores = cores_to(action, wings_alone);
        let mut next = Self {
            fits: 0,
            wanted: [0; 24],
        };
        for (place, &to) in action.wings.iter().enumerate() {
            next.fits |= (self.fits >> place & 1) << to;
        }
        for (&wing, &to) in self.wanted.iter().zip(cores) {
            let wing = wing.trailing_zeros() as usize;
            next.wanted[usize::from(to)] = 1 << action.wings[wing];
        }
        next
    }

    /// How many wings fit after a pattern among those it moves.
    fn after(&self, pattern: &Pattern, wings_alone: bool) -> u32 {
        let at = |core: u8, wing: u8| self.wanted[usize::from(core & 31)] >> wing & 1;
        if wings_alone {
            return pattern
                .cut
                .iter()
                .map(|cut| 2 * at(cut.core, cut.wings[1]))
                .sum();
        }
        pattern
            .cut
            .iter()
            .map(|cut| at(cut.core, cut.wings[0]) + at(cut.core ^ 1, cut.wings[1]))
            .sum()
    }
}

/// Where an action brings the inner parts; for wings alone, each is the inner part of its fellow.
const fn cores_to(action: &Action, wings_alone: bool) -> &[u8; 24] {
    if wings_alone {
        &action.wings
    } else {
        &action.cores
    }
}

/// The pairing that gains most for its turns; `None` if none gains anything.
pub fn best(orbit: &Orbit) -> Option<Pairing> {
    let wings_alone = orbit.cores.is_none();
    let patterns = patterns(wings_alone);
    let fewest = patterns.all.first()?.turns;
    // Two wings alone come to fit together.
    let each = if wings_alone { 2 } else { 1 };
    let now = Bits::of(orbit);
    let lacking = now.lacking();
    let mut joined = Joined::new(patterns);
    let mut tried = 0;
    for depth in [2, 3] {
        // Gain and turns of the best, none having gained nothing in one turn.
        let (mut gain, mut turns, mut found) = (0, 1, None);
        let all = set_ups(depth);
        // The shorter ones, which come first, have gained nothing.
        let new = &all[std::mem::replace(&mut tried, all.len())..];
        for set_up in new {
            let length = set_up.letters().len() as u32;
            let cores = cores_to(&set_up.action, wings_alone);
            let moved = lacking.iter().map(|&(core, wing)| {
                let wing = set_up.action.wings[usize::from(wing)];
                (cores[usize::from(core)], wing)
            });
            joined.count(patterns, moved);
            // So few joined cannot be better than the best.
            let too_few = |joins: u32| joins * each * turns < gain * (length + fewest);
            let least = (1..3).find(|&joins| !too_few(joins)).unwrap_or(3);
            let chosen = &joined.at_least[least as usize - 1];
            if chosen.iter().all(|&bits| bits == 0) {
                continue;
            }
            let bits = now.after_whole(&set_up.action, wings_alone);
            for pattern in patterns.chosen(chosen) {
                let ours = length + pattern.turns;
                let before = (bits.fits & pattern.moved).count_ones();
                let most = pattern.moved.count_ones() - before;
                // Better is more gained for each turn, then fewer turns.
                if most * turns < gain * ours {
                    continue;
                }
                let after = bits.after(pattern, wings_alone);
                if after <= before {
                    continue;
                }
                let (new, old) = ((after - before) * turns, gain * ours);
                if new > old || (new == old && ours < turns) {
                    (gain, turns, found) = (after - before, ours, Some((set_up, pattern)));
                }
            }
        }
        if let Some((set_up, pattern)) = found {
            return Some(Pairing {
                set_up: set_up.letters().to_vec(),
                slice: pattern.slice.clone(),
                parking: pattern.parking.clone(),
            });
        }
    }
    None
}

/// Outer turns before the slice.
pub(super) struct Setup {
    /// The turns, the first `length` of these; there are thousands, so they are no list.
    letters: [Letter; MOST_SET_UP],
    length: usize,
    pub(super) action: Action,
}

/// The most turns of a set-up.
const MOST_SET_UP: usize = 3;

impl Setup {
    pub(super) fn letters(&self) -> &[Letter] {
        &self.letters[..self.length]
    }
}

/// All sequences of up to `depth` outer turns, none undoing or repeating the last.
pub(super) fn set_ups(depth: usize) -> &'static [Setup] {
    static SHORT: OnceLock<Vec<Setup>> = OnceLock::new();
    static LONG: OnceLock<Vec<Setup>> = OnceLock::new();
    let place = if depth == 2 { &SHORT } else { &LONG };
    place.get_or_init(|| {
        let mut all = vec![Setup {
            letters: [outer(Face::U, Quarter::Clockwise); MOST_SET_UP],
            length: 0,
            action: Action::NONE,
        }];
        let mut from = 0;
        for _ in 0..depth.min(MOST_SET_UP) {
            let until = all.len();
            for at in from..until {
                for face in Face::ALL {
                    // Of two parallel turns only one order is tried.
                    let is_waste = all[at].letters().last().is_some_and(|last| {
                        last.face == face
                            || (last.face == face.opposite() && face.index() < last.face.index())
                    });
                    if is_waste {
                        continue;
                    }
                    for quarter in Quarter::ALL {
                        let letter = outer(face, quarter);
                        let (mut letters, length) = (all[at].letters, all[at].length);
                        letters[length] = letter;
                        all.push(Setup {
                            letters,
                            length: length + 1,
                            action: all[at].action.then(letter.action()),
                        });
                    }
                }
            }
            from = until;
        }
        all
    })
}

const fn outer(face: Face, quarter: Quarter) -> Letter {
    Letter {
        face,
        reach: Reach::Outer,
        quarter,
    }
}

/// All slices with all parkings, in all holds, without those that cut nothing.
fn patterns(wings_alone: bool) -> &'static Patterns {
    static MADE: [OnceLock<Patterns>; 2] = [OnceLock::new(), OnceLock::new()];
    MADE[usize::from(wings_alone)].get_or_init(|| {
        let slices = slices(wings_alone);
        let written = written(&slices, wings_alone);
        let mut all: Vec<Pattern> = Vec::new();
        let mut index_of: BTreeMap<Vec<Cut>, usize> = BTreeMap::new();
        for up in Face::ALL {
            let Some(hold) = Hold::all().iter().find(|hold| hold.brings(Face::U) == up) else {
                continue;
            };
            let seen = |letters: &[Letter]| -> Vec<Letter> {
                letters.iter().map(|letter| letter.in_hold(*hold)).collect()
            };
            let whole = Action::of_hold(*hold);
            for written in &written {
                let cuts = written.cuts.iter();
                let cuts = cuts.map(|&(edge, cut)| cut.turned(edge, &whole, wings_alone));
                let mut cut: Vec<Cut> = cuts.collect();
                cut.sort_unstable();
                let turns = written.turns() as u32;
                let index = *index_of.entry(cut.clone()).or_insert(all.len());
                if all.get(index).is_some_and(|known| known.turns <= turns) {
                    continue;
                }
                let wings = cut.iter().flat_map(|cut| cut.wings);
                let pattern = Pattern {
                    slice: seen(written.slice),
                    parking: seen(written.parking),
                    moved: wings.fold(0, |bits, wing| bits | 1 << wing),
                    turns,
                    cut,
                };
                if index == all.len() {
                    all.push(pattern);
                } else {
                    all[index] = pattern;
                }
            }
        }
        all.sort_by_key(|pattern| pattern.turns);
        Patterns::new(all, wings_alone)
    })
}

/// The slices, under the top.
fn slices(wings_alone: bool) -> Vec<Vec<Letter>> {
    let block = |face, quarter| Letter {
        face,
        reach: Reach::Block,
        quarter,
    };
    let mut slices: Vec<Vec<Letter>> = Quarter::ALL
        .iter()
        .map(|&quarter| vec![block(Face::U, quarter)])
        .collect();
    if !wings_alone {
        // Both ends of the groups at once.
        for quarter in Quarter::ALL {
            let slice = vec![block(Face::U, quarter), block(Face::D, quarter.inverse())];
            slices.push(slice);
        }
    }
    slices
}

/// A pattern as written, with the edges it cuts.
struct Written<'a> {
    cuts: Vec<(usize, Cut)>,
    slice: &'a [Letter],
    parking: &'a [Letter],
}

impl Written<'_> {
    fn turns(&self) -> usize {
        2 * self.slice.len() + self.parking.len()
    }
}

/// Slices with all parkings: of all that cut alike the one with the fewest turns.
fn written(slices: &[Vec<Letter>], wings_alone: bool) -> Vec<Written<'_>> {
    let mut all: Vec<Written> = Vec::new();
    let mut index_of: BTreeMap<Vec<Cut>, usize> = BTreeMap::new();
    for slice in slices {
        let back: Vec<Letter> = slice.iter().rev().map(|letter| letter.inverse()).collect();
        for parking in parkings() {
            let action = Action::of([slice, parking, &back].into_iter().flatten());
            let cuts = Cut::on_edges(&action, wings_alone);
            if cuts.is_empty() {
                continue;
            }
            let mut cut: Vec<Cut> = cuts.iter().map(|&(_, cut)| cut).collect();
            cut.sort_unstable();
            let written = Written {
                cuts,
                slice,
                parking,
            };
            let index = *index_of.entry(cut).or_insert(all.len());
            match all.get_mut(index) {
                None => all.push(written),
                Some(known) if written.turns() < known.turns() => *known = written,
                Some(_) => {}
            }
        }
    }
    all
}

/// Ways to take a group out of the side of the slice and put another in its place: each side face comes back to
/// where it was, so that the slice can be turned back.
pub(super) fn parkings() -> &'static [Vec<Letter>] {
    static MADE: OnceLock<Vec<Vec<Letter>>> = OnceLock::new();
    MADE.get_or_init(|| {
        let sides = [Face::F, Face::R, Face::B, Face::L];
        let mut all = Vec::new();
        for side in sides {
            for way in Quarter::ALL {
                for level in [Face::U, Face::D] {
                    for turn in Quarter::ALL {
                        all.push(vec![
                            outer(side, way),
                            outer(level, turn),
                            outer(side, way.inverse()),
                        ]);
                    }
                }
            }
        }
        // Turned end for end in its place: R F' U R' F and its likes.
        for (at, &side) in sides.iter().enumerate() {
            for next in [sides[(at + 1) % 4], sides[(at + 3) % 4]] {
                for way in [Quarter::Clockwise, Quarter::Anticlockwise] {
                    for level in [Face::U, Face::D] {
                        for turn in Quarter::ALL {
                            all.push(vec![
                                outer(side, way),
                                outer(next, way.inverse()),
                                outer(level, turn),
                                outer(side, way.inverse()),
                                outer(next, way),
                            ]);
                        }
                    }
                }
            }
        }
        all
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The moves made with the whole cube turned before and turned back after them: another way to the same cuts.
    #[test]
    fn cuts_turn_with_the_cube() {
        for wings_alone in [false, true] {
            let slices = slices(wings_alone);
            for written in written(&slices, wings_alone) {
                let back: Vec<Letter> = written.slice.iter().rev().map(|l| l.inverse()).collect();
                let action = Action::of(
                    [written.slice, written.parking, &back]
                        .into_iter()
                        .flatten(),
                );
                for &hold in Hold::all() {
                    let (there, again) = (Action::of_hold(hold.inverse()), Action::of_hold(hold));
                    let made = there.then(&action).then(&again);
                    let mut expected: Vec<Cut> = Cut::on_edges(&made, wings_alone)
                        .into_iter()
                        .map(|(_, cut)| cut)
                        .collect();
                    let turned = written.cuts.iter();
                    let mut turned: Vec<Cut> = turned
                        .map(|&(edge, cut)| cut.turned(edge, &again, wings_alone))
                        .collect();
                    expected.sort_unstable();
                    turned.sort_unstable();
                    assert!(turned == expected, "{hold:?}");
                }
            }
        }
    }
}
