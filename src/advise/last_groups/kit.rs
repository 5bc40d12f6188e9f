//! The sequences the search is made of, in all holds, and what each does.

use super::{Stretch, moves_of};
use crate::advise::arrangement::{Effect, STANDARD_PAIRS, is_kept};
use crate::advise::measure::{centre_is_whole, centres_agree};
use crate::advise::pairing::parkings;
use crate::advise::tools::{SEEDS, SEEDS_FOR_WINGS_ALONE, mirrored, read};
use crate::advise::wings::{Action, Letter, Reach};
use crate::cube::{Face, Hold, Move, State};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::OnceLock;

/// A sequence with what it does to one of the standard pairs.
#[derive(Clone, Debug)]
pub struct Tool {
    /// The pair, see [`STANDARD_PAIRS`].
    pub pair: [usize; 2],
    /// What it does to it.
    pub effect: Effect,
    /// The sequence.
    pub letters: Vec<Letter>,
}

/// All holds, each with what taking the cube into it does and what taking it back does.
fn holds() -> Vec<(Hold, Action, Action)> {
    let holds = Hold::all().iter();
    holds
        .map(|&hold| {
            let back = Action::of_hold(hold.inverse());
            (hold, Action::of_hold(hold), back)
        })
        .collect()
}

/// All tools, each kind made once: for wings beside inner parts, or (on even cubes, all slices turning together)
/// also those for wings alone.
pub fn tools(wings_alone: bool) -> &'static [Tool] {
    static MADE: [OnceLock<Vec<Tool>>; 2] = [OnceLock::new(), OnceLock::new()];
    MADE[usize::from(wings_alone)].get_or_init(|| {
        let holds = holds();
        let mut kept: BTreeMap<([usize; 2], Effect, [usize; 3]), Vec<Letter>> = BTreeMap::new();
        let mut seen_words = BTreeSet::new();
        for word in words(wings_alone) {
            let mirror: Vec<Letter> = word.iter().map(|&letter| mirrored(letter)).collect();
            for word in [word, mirror] {
                let action = Action::of(&word);
                let back: Vec<Letter> = word.iter().rev().map(|letter| letter.inverse()).collect();
                for (word, action) in [(&back, action.inverse()), (&word, action)] {
                    if !seen_words.insert((action, count(word))) {
                        continue;
                    }
                    let opened: Vec<usize> = (0..12)
                        .filter(|&edge| !is_kept(&action, edge, wings_alone))
                        .collect();
                    for (hold, to, from) in &holds {
                        let brought = |edge: &usize| usize::from(to.cores[2 * edge] / 2);
                        let pairs = STANDARD_PAIRS
                            .iter()
                            .filter(|pair| opened.iter().all(|edge| pair.contains(&brought(edge))));
                        for &pair in pairs {
                            let seen = from.then(&action).then(to);
                            if let Some(effect) = Effect::of(&seen, pair, wings_alone) {
                                let letters = word.iter().map(|letter| letter.in_hold(*hold));
                                kept.entry((pair, effect, count(word)))
                                    .or_insert_with(|| letters.collect());
                            }
                        }
                    }
                }
            }
        }
        kept.into_iter()
            .map(|((pair, effect, _), letters)| Tool {
                pair,
                effect,
                letters,
            })
            .collect()
    })
}

/// How many turns of each reach a word has.
fn count(word: &[Letter]) -> [usize; 3] {
    [Reach::Outer, Reach::Block, Reach::Slice]
        .map(|reach| word.iter().filter(|letter| letter.reach == reach).count())
}

/// The words that tools are made of, each in one hold.
fn words(wings_alone: bool) -> Vec<Vec<Letter>> {
    let mut words = Vec::new();
    for seed in SEEDS {
        words.extend(variants(&read(seed), wings_alone));
    }
    if wings_alone {
        for seed in SEEDS_FOR_WINGS_ALONE {
            words.extend(variants(&read(seed), wings_alone));
        }
    }
    words.push(read("U"));
    words.push(read("U2"));
    for slice in ["Uw", "Uw2", "Uw Dw'", "Uw2 Dw2"] {
        // Those that begin on another side are the same in another hold.
        let in_front = |parking: &&Vec<Letter>| parking[0].face == Face::F;
        for parking in parkings().iter().filter(in_front) {
            let slice = read(slice);
            let mut word = slice.clone();
            word.extend(parking);
            word.extend(slice.iter().rev().map(|letter| letter.inverse()));
            words.extend(variants(&word, wings_alone));
        }
    }
    words
}

/// The word with some of its blocks turned without their outer layer, in all ways that keep the centres.
fn variants(word: &[Letter], wings_alone: bool) -> Vec<Vec<Letter>> {
    let blocks: Vec<usize> = (0..word.len())
        .filter(|&at| word[at].reach == Reach::Block)
        .collect();
    let n = if wings_alone { 4 } else { 5 };
    let mut kept = Vec::new();
    for choice in 0..1_usize << blocks.len() {
        let mut changed = word.to_vec();
        for (bit, &at) in blocks.iter().enumerate() {
            if choice >> bit & 1 == 1 {
                changed[at].reach = Reach::Slice;
            }
        }
        let action = Action::of(&changed);
        let opened = (0..12)
            .filter(|&edge| !is_kept(&action, edge, wings_alone))
            .count();
        // What opens nothing does no more than outer turns do.
        if opened == 0 || opened > 2 {
            continue;
        }
        let moves: Vec<Move> = changed
            .iter()
            .flat_map(|letter| letter.moves(&[2]))
            .collect();
        if keeps_centres(n, &moves) {
            kept.push(changed);
        }
    }
    kept
}

/// A sequence that does one thing to the outer and another to the inner orbit of a 7×7×7.
pub struct MixedTool {
    /// The pair, see [`STANDARD_PAIRS`].
    pub pair: [usize; 2],
    /// What it does to the outer and to the inner orbit of it.
    pub effects: [Effect; 2],
    /// The sequence.
    pub stretches: Vec<Stretch>,
}

/// The seeds with each block turned for either orbit or both, with its outer layer or without.
pub fn mixed_tools() -> Vec<MixedTool> {
    let mut all = Vec::new();
    let holds = holds();
    for seed in SEEDS {
        for stretches in mixed(&read(seed)) {
            let mirror = |letter: &Letter| mirrored(*letter);
            for word in [stretches.clone(), each(&stretches, mirror)] {
                let back = word.iter().rev().cloned().collect::<Vec<_>>();
                let back = each(&back, |letter| letter.inverse());
                for word in [word, back] {
                    let actions = [0, 1].map(|orbit| Action::of(&seen_by(&word, orbit)));
                    for (hold, to, from) in &holds {
                        let held = actions.map(|action| from.then(&action).then(to));
                        for pair in STANDARD_PAIRS {
                            let [Some(outer), Some(inner)] =
                                held.map(|action| Effect::of(&action, pair, false))
                            else {
                                continue;
                            };
                            all.push(MixedTool {
                                pair,
                                effects: [outer, inner],
                                stretches: each(&word, |letter| letter.in_hold(*hold)),
                            });
                        }
                    }
                }
            }
        }
    }
    all
}

fn each(word: &[Stretch], change: impl Fn(&Letter) -> Letter) -> Vec<Stretch> {
    let stretches = word.iter();
    stretches
        .map(|(letters, on)| (letters.iter().map(&change).collect(), *on))
        .collect()
}

/// What an orbit sees of stretches of one letter each: only outer layers where it is not meant.
fn seen_by(word: &[Stretch], orbit: u8) -> Vec<Letter> {
    let letters = word.iter().flat_map(|(letters, on)| {
        letters.iter().filter_map(move |&letter| {
            if on >> orbit & 1 == 1 {
                return Some(letter);
            }
            (letter.reach != Reach::Slice).then_some(Letter {
                reach: Reach::Outer,
                ..letter
            })
        })
    });
    letters.collect()
}

/// How the blocks of a word are turned as one orbit sees it: bits of those turned with their outer layer, bits of
/// those that turn the orbit's own, and what comes of it.
type Part = (u32, u32, Action);

/// All ways to turn the blocks of a word for two orbits that keep the centres and open one or two groups.
fn mixed(word: &[Letter]) -> Vec<Vec<Stretch>> {
    let mut parts = Vec::new();
    parts_of(word, (0, 0, Action::NONE), &mut parts);
    parts.sort_by_key(|&(outer, own, _)| (outer, own));
    let mut found = Vec::new();
    for alike in parts.chunk_by(|one, other| one.0 == other.0) {
        for (outer, one, action) in alike {
            for (_, other, beside) in alike {
                let opened =
                    |edge: &usize| !is_kept(action, *edge, false) || !is_kept(beside, *edge, false);
                if one == other || (0..12).filter(opened).count() > 2 {
                    continue;
                }
                let stretches = mixed_word(word, *outer, [*one, *other]);
                let moves = moves_of(&stretches, &[vec![2], vec![3]]);
                if moves.len() <= MOST_TURNS && keeps_centres(7, &moves) {
                    found.push(stretches);
                }
            }
        }
    }
    found
}

/// The most turns a mixed sequence may have to be of use.
const MOST_TURNS: usize = 27;

/// Lengthens a part letter by letter and keeps those that open at most two groups.
fn parts_of(word: &[Letter], (outer, own, action): Part, parts: &mut Vec<Part>) {
    let Some((letter, rest)) = word.split_first() else {
        let opened = (0..12).filter(|&edge| !is_kept(&action, edge, false));
        if opened.count() <= 2 {
            parts.push((outer, own, action));
        }
        return;
    };
    if letter.reach == Reach::Outer {
        return parts_of(rest, (outer, own, action.then(letter.action())), parts);
    }
    let (outer, own) = (outer << 1, own << 1);
    for (reach, bits) in [
        (Some(Reach::Block), (1, 1)),
        (Some(Reach::Outer), (1, 0)),
        (Some(Reach::Slice), (0, 1)),
        (None, (0, 0)),
    ] {
        let next = reach.map_or(action, |reach| {
            action.then(Letter { reach, ..*letter }.action())
        });
        parts_of(rest, (outer | bits.0, own | bits.1, next), parts);
    }
}

/// The stretches, a letter each, for blocks turned with outer layers and for orbits as the bits say.
fn mixed_word(word: &[Letter], outer: u32, own: [u32; 2]) -> Vec<Stretch> {
    let blocks = word.iter().filter(|letter| letter.reach != Reach::Outer);
    let mut bit = blocks.count();
    let mut stretches = Vec::new();
    for &letter in word {
        if letter.reach == Reach::Outer {
            stretches.push((vec![letter], 0));
            continue;
        }
        bit -= 1;
        let on = (own[0] >> bit & 1 | (own[1] >> bit & 1) << 1) as u8;
        let reach = match (outer >> bit & 1 == 1, on) {
            (true, 0) => Reach::Outer,
            (true, _) => Reach::Block,
            (false, 0) => continue,
            (false, _) => Reach::Slice,
        };
        stretches.push((vec![Letter { reach, ..letter }], on));
    }
    stretches
}

fn keeps_centres(n: usize, moves: &[Move]) -> bool {
    let after = State::solved(n).after(moves);
    Face::ALL.iter().all(|&face| centre_is_whole(&after, face)) && centres_agree(&after)
}
