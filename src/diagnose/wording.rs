//! Cases in trade words, made from their structure alone.
//!
//! Each group is named after its inner part: the midge on an odd cube, the innermost wings on an even one. Every
//! layer of wings is then told by itself: wings flipped in their own group, one wing of each group exchanged,
//! or both.

use super::Key;
use super::case::Cell;
use crate::cube::{capital, counted, listed, wing_word};
use std::fmt::Write;

/// A case's id, title and text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) struct Wording {
    pub id: String,
    pub title: String,
    pub text: String,
}

/// What one layer of wings does in the two groups.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Layer {
    /// Wings of either group that belong to the other.
    foreign: usize,
    /// For each group: whether its own wings here lie the other way round than its inner part (or, where both
    /// are foreign, the foreign ones than their own).
    turned: [bool; 2],
    /// For each group: at which end the one foreign wing lies, 0 = the + end; `None` unless there is one.
    end: [Option<usize>; 2],
}

/// What is wrong with the wings of a layer, as far as one sees it without looking at the other layers; in the order in
/// which a sheet lists it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Fate {
    /// How many wings of each group lie in the other one.
    exchanged: usize,
    /// In how many groups the wings are flipped, or those left of them.
    flipped: usize,
}

impl Fate {
    /// What there is to see.
    pub const fn words(self) -> &'static str {
        match (self.exchanged, self.flipped) {
            (0, 0) => "whole",
            (0, 1) => "flipped in one group",
            (0, _) => "flipped in both groups",
            (1, 0) => "one of each group exchanged",
            (1, 1) => "one of each group exchanged, the other one flipped in one group",
            (1, _) => "one of each group exchanged, the other one flipped in both groups",
            (_, 0) => "both exchanged",
            (_, 1) => "both exchanged, the other way round in one group",
            _ => "both exchanged, the other way round in both groups",
        }
    }
}

/// What is wrong with each layer of wings, outermost first, told as in the case's title.
pub(super) fn fates(key: &Key) -> Vec<Fate> {
    let fate = |layer: &Layer| Fate {
        exchanged: layer.foreign,
        flipped: layer.turned.into_iter().filter(|&turned| turned).count(),
    };
    layers(key).iter().map(fate).collect()
}

impl Wording {
    /// The words for a case of last groups.
    pub fn of(key: &Key) -> Self {
        let layers = layers(key);
        let clauses = clauses(key.n(), &layers, key.open());
        let open = match key.open() {
            1 => "One edge group is open by itself, the other eleven are whole".to_owned(),
            open => format!(
                "{} edge groups are open, the other ten are whole",
                capital(&counted(open))
            ),
        };
        Self {
            id: id(key),
            text: format!(
                "{open}: {}{}. {}",
                clauses.join("; "),
                seen_from(key.n(), &layers),
                parity_sentence(key)
            ),
            title: capital(&clauses.join("; ")),
        }
    }
}

/// The key in small letters only, so that ids differ even where case is not told apart: `x` and `y` are `a`
/// and `b` the other way round.
fn id(key: &Key) -> String {
    let strip = |strip: &Vec<Cell>| -> String {
        let letters = strip.iter().map(|cell| match cell.letter() {
            'A' => 'a',
            'B' => 'b',
            'a' => 'x',
            _ => 'y',
        });
        letters.collect()
    };
    let strips: Vec<String> = key.strips().iter().map(strip).collect();
    format!("groups-{}", strips.join("-"))
}

/// The layers, outermost first, by the naming that blames fewest wings: where the inner parts agree in themselves they
/// are the measure, otherwise the whole groups are.
fn layers(key: &Key) -> Vec<Layer> {
    let told = |strips: &[Vec<Cell>; 2]| -> Vec<Layer> {
        let length = strips[0].len();
        (0..length / 2).map(|orbit| layer(strips, orbit)).collect()
    };
    let blame = |layers: &Vec<Layer>| {
        let by_layer: Vec<usize> = layers.iter().rev().map(|layer| layer.blame()).collect();
        let total: usize = by_layer.iter().sum();
        (by_layer.first() != Some(&0), total, by_layer)
    };
    let namings = key.namings();
    namings
        .iter()
        .map(told)
        .min_by_key(blame)
        .unwrap_or_default()
}

impl Layer {
    /// How many wings are not as they should be.
    fn blame(self) -> usize {
        let turned = self.turned.into_iter().filter(|&turned| turned).count();
        2 * self.foreign + turned * (if self.foreign == 0 { 2 } else { 1 })
    }
}

fn layer(strips: &[Vec<Cell>; 2], orbit: usize) -> Layer {
    let mut layer = Layer {
        foreign: 0,
        turned: [false; 2],
        end: [None; 2],
    };
    for (group, strip) in strips.iter().enumerate() {
        let ends = [strip[orbit], strip[strip.len() - 1 - orbit]];
        let is_foreign = ends.map(|cell| cell.pair() != group);
        layer.foreign = is_foreign.iter().filter(|&&foreign| foreign).count();
        if layer.foreign == 1 {
            layer.end[group] = is_foreign.iter().position(|&foreign| foreign);
        }
        let telling = usize::from(layer.foreign == 1 && is_foreign[0]);
        layer.turned[group] = ends[telling].is_turned();
    }
    layer
}

/// One clause a layer that has something to tell; layers that do the same are told together.
fn clauses(n: usize, layers: &[Layer], open: usize) -> Vec<String> {
    let mut told: Vec<(Layer, Vec<usize>)> = Vec::new();
    for (orbit, &layer) in layers.iter().enumerate() {
        if layer.foreign == 0 && layer.turned == [false; 2] {
            continue;
        }
        match told.iter_mut().find(|(other, _)| *other == layer) {
            Some((_, orbits)) => orbits.push(orbit),
            None => told.push((layer, vec![orbit])),
        }
    }
    let mut before = Before {
        group: None,
        are_ends_told: layers.iter().any(|layer| layer.foreign == 2),
        ends: None,
    };
    told.iter()
        .map(|(layer, orbits)| {
            let words: Vec<&str> = orbits.iter().map(|&orbit| wing_word(n, orbit)).collect();
            before.clause(*layer, &words, open)
        })
        .collect()
}

/// What the clauses so far have spoken of, so that the next can refer to it.
struct Before {
    /// The group first singled out.
    group: Option<usize>,
    /// Whether some layer has both wings exchanged, which tells the ends of one group from those of the other.
    are_ends_told: bool,
    /// The ends at which the first exchanged wings lie.
    ends: Option<[usize; 2]>,
}

impl Before {
    fn clause(&mut self, layer: Layer, words: &[&str], open: usize) -> String {
        let singular = joined(words);
        let plural = format!("{singular}s");
        let turned: Vec<usize> = (0..2).filter(|&group| layer.turned[group]).collect();
        match layer.foreign {
            0 if open == 1 => format!("both {plural} flipped in a single group"),
            0 => format!("{plural} flipped {}", self.groups(&turned)),
            1 => {
                let (each, own) = if words.len() == 1 {
                    ("one", "the other one")
                } else if singular.starts_with(['i', 'o']) {
                    ("an", "the others")
                } else {
                    ("a", "the others")
                };
                let ends = self.ends(layer);
                let mut clause = format!("{each} {singular} of each group exchanged{ends}");
                if !turned.is_empty() {
                    let where_turned = self.groups(&turned);
                    let _ = write!(clause, ", {own} flipped {where_turned}");
                }
                clause
            }
            _ => {
                let mut clause = format!("both {plural} of each group exchanged");
                if !turned.is_empty() {
                    let _ = write!(clause, ", the other way round {}", self.groups(&turned));
                }
                clause
            }
        }
    }

    fn groups(&mut self, turned: &[usize]) -> &'static str {
        match (turned, self.group) {
            (&[group], None) => {
                self.group = Some(group);
                "in one group"
            }
            (&[group], Some(first)) if group == first => "in the same group",
            (&[_], Some(_)) => "in the other group",
            _ => "in both groups",
        }
    }

    fn ends(&mut self, layer: Layer) -> String {
        let [Some(first), Some(second)] = layer.end else {
            return String::new();
        };
        let Some(ends) = self.ends else {
            self.ends = Some([first, second]);
            return match (self.are_ends_told, first == second) {
                (false, _) => String::new(),
                (true, true) => " at like ends".to_owned(),
                (true, false) => " at unlike ends".to_owned(),
            };
        };
        match [ends[0] == first, ends[1] == second] {
            [true, true] => " at the same ends".to_owned(),
            [false, false] => " at the opposite ends".to_owned(),
            [first, _] => {
                let group = usize::from(!first);
                format!(" at the same end {}", self.groups(&[group]))
            }
        }
    }
}

/// "outer wing", "outer and inner wing".
fn joined(words: &[&str]) -> String {
    let layers: Vec<&str> = words
        .iter()
        .map(|word| word.trim_end_matches("wing").trim())
        .collect();
    format!("{} wing", listed(&layers)).trim().to_owned()
}

/// What the wings are compared with, where it is not the whole group.
fn seen_from(n: usize, layers: &[Layer]) -> &'static str {
    let is_inner_part_whole = layers.last().is_none_or(|inner| inner.blame() == 0);
    match n {
        _ if n % 2 == 1 => ", as seen from the midge",
        _ if !is_inner_part_whole => "",
        6 => ", as seen from the inner wings",
        _ => ", as seen from the innermost wings",
    }
}

fn parity_sentence(key: &Key) -> String {
    let n = key.n();
    if n == 4 {
        return "On a 4×4×4 no parity shows before the cube is reduced.".to_owned();
    }
    let bits = key.relative_parity();
    let of = |wanted: bool| -> Vec<&str> {
        (0..bits.len())
            .filter(|&orbit| bits[orbit] == wanted)
            .map(|orbit| wing_word(n, orbit))
            .collect()
    };
    let (odd, even) = (of(true), of(false));
    match (odd.len(), n % 2) {
        (0, _) => {
            "It is no parity, whatever it looks like: ordinary pairing moves do it.".to_owned()
        }
        (1, 1) => format!(
            "It is a parity of the {}s: their layer needs an odd number of quarter turns.",
            joined(&odd)
        ),
        (_, 1) => format!(
            "It is a parity of the {}s: each of their layers needs an odd number of quarter turns.",
            joined(&odd)
        ),
        _ => format!(
            "It is a parity between the {}s and the {}s: the layers of the one kind need an odd number of quarter \
             turns, those of the other an even number.",
            joined(&odd),
            joined(&even)
        ),
    }
}

/// With a small letter in front.
pub(super) fn small(word: &str) -> String {
    let mut letters = word.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_lowercase().chain(letters).collect()
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::BTreeSet;

    #[test]
    fn words_for_some_cases() {
        let check = |n: usize, key: &str, id: &str, title: &str, text: &str| {
            let key = Key::all(n)
                .into_iter()
                .find(|known| known.to_string() == key);
            let wording = Wording::of(&key.unwrap());
            assert_eq!(
                [wording.id.as_str(), &wording.title, &wording.text],
                [id, title, text]
            );
        };
        check(
            4,
            "AB : BA",
            "groups-ab-ba",
            "One wing of each group exchanged",
            "Two edge groups are open, the other ten are whole: one wing of each group exchanged. On a 4×4×4 no \
             parity shows before the cube is reduced.",
        );
        check(
            5,
            "AaA",
            "groups-axa",
            "Both wings flipped in a single group",
            "One edge group is open by itself, the other eleven are whole: both wings flipped in a single group, \
             as seen from the midge. It is a parity of the wings: their layer needs an odd number of \
             quarter turns.",
        );
        check(
            6,
            "AAAB : BbbA",
            "groups-aaab-byya",
            "One outer wing of each group exchanged, the other one flipped in one group",
            "Two edge groups are open, the other ten are whole: one outer wing of each group exchanged, the \
             other one flipped in one group, as seen from the inner wings. It is no parity, whatever it \
             looks like: ordinary pairing moves do it.",
        );
        check(
            6,
            "AAAB : BBBA",
            "groups-aaab-bbba",
            "One outer wing of each group exchanged",
            "Two edge groups are open, the other ten are whole: one outer wing of each group exchanged, as \
             seen from the inner wings. It is a parity between the outer wings and the inner wings: the layers of \
             the one kind need an odd number of quarter turns, those of the other an even number.",
        );
        check(
            6,
            "AABA : BabB",
            "groups-aaba-bxyb",
            "One inner wing of each group exchanged, the other one flipped in one group",
            "Two edge groups are open, the other ten are whole: one inner wing of each group exchanged, the other \
             one flipped in one group. It is no parity, whatever it looks like: ordinary pairing moves do it.",
        );
        check(
            7,
            "AAaAA",
            "groups-aaxaa",
            "Both outer and inner wings flipped in a single group",
            "One edge group is open by itself, the other eleven are whole: both outer and inner wings flipped in \
             a single group, as seen from the midge. It is a parity of the outer and inner wings: each \
             of their layers needs an odd number of quarter turns.",
        );
    }

    #[test]
    fn fates_of_some_cases() {
        let check = |n: usize, key: &str, expected: &[&str]| {
            let mut all = Key::all(n).into_iter();
            let known = all.find(|known| known.to_string() == key).unwrap();
            let words: Vec<&str> = fates(&known).iter().map(|fate| fate.words()).collect();
            assert_eq!(words, expected, "{key}");
        };
        let one = "one of each group exchanged";
        check(4, "AB : BA", &[one]);
        check(5, "AaA", &["flipped in one group"]);
        check(6, "AAAB : BBBA", &[one, "whole"]);
        let flipped = "one of each group exchanged, the other one flipped in one group";
        check(6, "AABA : BabB", &["whole", flipped]);
        check(7, "AAaAA", &["flipped in one group"; 2]);
    }

    #[test]
    fn no_two_cases_of_a_size_have_the_same_title_or_id() {
        for n in 4..=7 {
            let mut told = BTreeSet::new();
            for key in Key::all(n) {
                let wording = Wording::of(&key);
                assert!(
                    told.insert(wording.title.clone()),
                    "{key}: {}",
                    wording.title
                );
                assert!(told.insert(wording.id.to_lowercase()), "{key}");
            }
        }
    }
}
