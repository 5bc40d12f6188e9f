//! Ways back to whole centres from the middle of what they are built with (see [`super::centre_search`]): crossings
//! (columns turned, the top, other columns, the top back, the first columns back, the top, the other columns back) and
//! bars turned up, the top half round, the columns back.
//!
//! What undoes the first turns of one is the rest of another, so only rests are tried, all of them in all holds. The
//! sides to the left and right of the columns stay as they are; of the other four hardly one is whole by chance, so that
//! most ways fail at the first stickers looked at.

use super::centre_search::columns;
use super::look_back::Turns;
use super::measure::centre_is_whole;
use super::search::{in_hold, tidied};
use crate::cube::{Face, Hold, MOST_ORDER, Move, Quarter, State};
use std::collections::BTreeSet;
use std::sync::OnceLock;

/// Up to so many inner columns all choices of them are tried; among more, only columns side by side.
const MOST_CHOSEN_FREELY: usize = 5;

/// No more ways than this are collected.
const MOST_WAYS: usize = 1500;

/// A way back.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct WayBack {
    /// The turns, as the cube is held now.
    pub moves: Vec<Move>,
    /// The centres whole then.
    pub whole: usize,
    /// How much the stickers of each centre agree then.
    pub agreement: usize,
}

/// The rests that lead to at least `least` whole centres, the shortest first. `faces` are the places of each centre, those
/// that tell most first.
pub fn ways_back(state: &State, faces: &[Vec<u16>; 6], least: usize) -> Vec<WayBack> {
    let turns = Turns::of(state.n());
    let is_whole = Face::ALL.map(|face| centre_is_whole(state, face));
    let most_open = Face::ALL.len() - least;
    let mut ways: BTreeSet<(usize, WayBack)> = BTreeSet::new();
    for hold in Hold::all() {
        let sides = [Face::R, Face::L].map(|face| hold.brings(face));
        let open = sides.iter().filter(|side| !is_whole[side.index()]).count();
        if open > most_open || ways.len() > MOST_WAYS {
            continue;
        }
        let around = [Face::B, Face::D, Face::F, Face::U];
        let trying = Trying {
            state,
            from: turns.sources_in(*hold),
            around: around.map(|face| &faces[hold.brings(face).index()][..]),
            open,
        };
        for word in words(state.n()) {
            for (open, made) in trying.cuts(word, most_open) {
                let rest = &word[made..];
                let moves: Vec<Move> = rest.iter().map(|&index| turns.moves[index].0).collect();
                let way = WayBack {
                    moves: in_hold(&moves, *hold),
                    whole: Face::ALL.len() - open,
                    agreement: trying.agreement(faces, rest),
                };
                ways.insert((way.moves.len(), way));
            }
            if ways.len() > MOST_WAYS {
                break;
            }
        }
    }
    ways.into_iter().map(|(_, way)| way).collect()
}

/// Rests being tried in one hold.
struct Trying<'a> {
    state: &'a State,
    /// For each turn, made in the hold, where the sticker at every place comes from.
    from: Vec<&'static [u16]>,
    /// The places of the four centres that the columns run through.
    around: [&'a [u16]; 4],
    /// How many of the other two are open.
    open: usize,
}

impl Trying<'_> {
    /// The cuts of a word whose rest leads to so few open centres: how many are open then, and how many turns are made.
    fn cuts(&self, word: &[usize], most_open: usize) -> Vec<(usize, usize)> {
        let mut open = [self.open; u32::BITS as usize];
        // The cuts that may still do, a bit each.
        let mut left = (1..word.len()).fold(0_u32, |left, made| left | 1 << made);
        for places in self.around {
            let mut opened = 0;
            for &place in &places[1..] {
                if left & !opened == 0 {
                    break;
                }
                let (mut one, mut other) = (places[0], place);
                // Traced back turn by turn, the places show at once what each shorter rest would bring there.
                for (made, &index) in word.iter().enumerate().skip(1).rev() {
                    let from = self.from[index];
                    one = from[usize::from(one)];
                    other = from[usize::from(other)];
                    if self.state.at(usize::from(one)) != self.state.at(usize::from(other)) {
                        opened |= 1 << made;
                    }
                }
            }
            for (made, open) in open.iter_mut().enumerate().take(word.len()).skip(1) {
                *open += (opened >> made & 1) as usize;
                if *open > most_open {
                    left &= !(1 << made);
                }
            }
            if left == 0 {
                return Vec::new();
            }
        }
        let cuts = (1..word.len()).filter(|made| left >> made & 1 == 1);
        cuts.map(|made| (open[made], made)).collect()
    }

    /// How much the stickers of each centre agree after some turns: pairs of equal ones, each counted twice.
    fn agreement(&self, faces: &[Vec<u16>; 6], rest: &[usize]) -> usize {
        let mut sum = 0;
        for places in faces {
            let mut counts = [0; 6];
            for &place in places {
                let back = rest.iter().rev();
                let from = back.fold(place, |at, &index| self.from[index][usize::from(at)]);
                counts[self.state.at(usize::from(from)).index()] += 1;
            }
            sum += counts.iter().map(|count| count * count).sum::<usize>();
        }
        sum
    }
}

/// All of an order in one hold, as indices of [`Turns`]: of two crossings that differ only by a half turn of the whole
/// cube about the top, one.
fn words(n: usize) -> &'static [Vec<usize>] {
    static MADE: [OnceLock<Vec<Vec<usize>>>; MOST_ORDER + 1] =
        [const { OnceLock::new() }; MOST_ORDER + 1];
    MADE[n].get_or_init(|| {
        let choices = choices(n);
        let turns = Turns::of(n);
        let mut words = Vec::new();
        for first in &choices {
            for up in [Quarter::Clockwise, Quarter::Half] {
                words.extend(turns.held(&turned_bar(n, first, up), Hold::SAME));
            }
            for second in &choices {
                if first.iter().any(|col| second.contains(col)) {
                    continue;
                }
                for (up, across) in [
                    (Quarter::Clockwise, Quarter::Clockwise),
                    (Quarter::Half, Quarter::Clockwise),
                    (Quarter::Clockwise, Quarter::Half),
                ] {
                    for top in [Quarter::Clockwise, Quarter::Anticlockwise] {
                        let moves = crossing(n, (first, up), (second, across), top);
                        words.extend(turns.held(&moves, Hold::SAME));
                    }
                }
            }
        }
        words
    })
}

/// The columns turned together.
fn choices(n: usize) -> Vec<Vec<usize>> {
    let inner = n.saturating_sub(2);
    if inner <= MOST_CHOSEN_FREELY {
        let is_in = |choice: usize, col: &usize| choice >> (col - 1) & 1 == 1;
        let chosen =
            (1..1 << inner).map(|choice| (1..=inner).filter(|col| is_in(choice, col)).collect());
        return chosen.collect();
    }
    (1..=inner)
        .flat_map(|first| (first..=inner).map(move |last| (first..=last).collect()))
        .collect()
}

fn turned_bar(n: usize, cols: &[usize], up: Quarter) -> Vec<Move> {
    let mut moves = columns(n, cols, up);
    moves.push(Move::Block {
        face: Face::U,
        layers: 1,
        quarter: Quarter::Half,
    });
    moves.extend(columns(n, cols, up.inverse()));
    tidied(&moves)
}

fn crossing(
    n: usize,
    (first, up): (&[usize], Quarter),
    (second, across): (&[usize], Quarter),
    top: Quarter,
) -> Vec<Move> {
    let turn_top = |quarter| Move::Block {
        face: Face::U,
        layers: 1,
        quarter,
    };
    let mut moves = columns(n, first, up);
    moves.push(turn_top(top));
    moves.extend(columns(n, second, across));
    moves.push(turn_top(top.inverse()));
    moves.extend(columns(n, first, up.inverse()));
    moves.push(turn_top(top));
    moves.extend(columns(n, second, across.inverse()));
    tidied(&moves)
}
