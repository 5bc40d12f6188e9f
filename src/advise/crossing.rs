//! Whether a cube is in the middle of a crossing, the longest of what centres are built with (see
//! [`super::centre_search`]): columns turned, the top, other columns, the top back, the first columns back, the top, the
//! other columns back. In its middle no few turns make the centres whole again that it has opened.
//!
//! What undoes the first turns of a crossing is the rest of another one, so only rests are tried, all of them in all
//! holds. The sides to the left and right of the columns stay as they are; of the other four hardly one is whole by
//! chance, so that most ways fail at the first stickers looked at.

use super::centre_search::columns;
use super::look_back::Turns;
use super::measure::centre_is_whole;
use super::search::{in_hold, tidied};
use crate::cube::{Face, Hold, MOST_ORDER, Move, Quarter, State};
use std::sync::OnceLock;

/// Up to so many inner columns all choices of them are tried; among more, only columns side by side.
const MOST_CHOSEN_FREELY: usize = 5;

/// The longest rest that is looked for without crossings.
const MOST_TURNS: usize = 3;

/// Whole centres and the turns to them: the most that the rest of a crossing leads to, then the fewest turns; `None` if
/// not to `least`. `faces` are the places of each centre, those that tell most first. Rests of up to three turns are not
/// looked for.
pub fn rest(state: &State, faces: &[Vec<u16>; 6], least: usize) -> Option<(usize, Vec<Move>)> {
    let turns = Turns::of(state.n());
    let is_whole = Face::ALL.map(|face| centre_is_whole(state, face));
    let mut most_open = Face::ALL.len() - least;
    let mut best: Option<(usize, Vec<Move>)> = None;
    for hold in Hold::all() {
        let sides = [Face::R, Face::L].map(|face| hold.brings(face));
        let open = sides.iter().filter(|side| !is_whole[side.index()]).count();
        if open > most_open {
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
            let Some((open, made)) = trying.best_cut(word, most_open) else {
                continue;
            };
            let turns_left = word.len() - made;
            let is_better = best
                .as_ref()
                .is_none_or(|(known, rest)| (open, turns_left) < (*known, rest.len()));
            if is_better {
                let moves: Vec<Move> = word.iter().map(|&index| turns.moves[index].0).collect();
                most_open = open;
                best = Some((open, in_hold(&moves[made..], *hold)));
            }
        }
    }
    best.map(|(open, moves)| (Face::ALL.len() - open, moves))
}

/// Crossings being tried in one hold.
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
    /// Whether the rest of a crossing leads to so few open centres, and where it is cut best: how many are open then, and
    /// how many turns are made.
    fn best_cut(&self, word: &[usize], most_open: usize) -> Option<(usize, usize)> {
        let end = word.len().checked_sub(MOST_TURNS)?;
        let mut open = [self.open; u32::BITS as usize];
        // The cuts that may still do, a bit each.
        let mut left = (1..end).fold(0_u32, |left, made| left | 1 << made);
        for places in self.around {
            let mut opened = 0;
            let (&first, others) = places.split_first()?;
            for &place in others {
                if left & !opened == 0 {
                    break;
                }
                let (mut one, mut other) = (first, place);
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
            for (made, open) in open.iter_mut().enumerate().take(end).skip(1) {
                *open += (opened >> made & 1) as usize;
                if *open > most_open {
                    left &= !(1 << made);
                }
            }
            if left == 0 {
                return None;
            }
        }
        let cuts = (1..end).filter(|made| left >> made & 1 == 1);
        cuts.map(|made| (open[made], made))
            .min_by_key(|&(open, made)| (open, word.len() - made))
    }
}

/// All crossings of an order in one hold, as indices of [`Turns`], of two that differ only by a half turn of the
/// whole cube about the top, one.
fn words(n: usize) -> &'static [Vec<usize>] {
    static MADE: [OnceLock<Vec<Vec<usize>>>; MOST_ORDER + 1] =
        [const { OnceLock::new() }; MOST_ORDER + 1];
    MADE[n].get_or_init(|| {
        let choices = choices(n);
        let turns = Turns::of(n);
        let mut words = Vec::new();
        for first in &choices {
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
