//! Whether the learner is in the middle of something: a few turns, or the rest of a known sequence, from a much
//! better stage.
//!
//! An ordinary scrambled cube must not be told so. Undoing one turn may bring any whole set of centres; for two and
//! three turns, of which there are far more, some whole groups must speak for it as well where only the last two
//! centres are open, for that is how the last step of the centres looks. A slice out of place opens four. On a cube of
//! order 4 or more no three turns make six mixed centres whole by chance.

use super::aim::{Aim, Built, Task};
use super::measure::Reaches;
use super::midway;
use super::proof::{Claim, Error, Step, Walk};
use super::slices;
use super::slipped;
use super::tools::known_words;
use crate::cube::{Face, Hold, Layout, Move, Quarter, Spot, State};
use crate::diagnose::Stage;
use std::sync::OnceLock;

/// The most turns looked back.
const MOST_TURNS: usize = 3;

/// The least share of neighbouring centre stickers that must be alike for looking further: in a mixed centre it is
/// one in six; with three slices of a 4×4×4 out of place it was never seen below 0.33.
const LEAST_ALIKE: f32 = 0.25;

/// The most centres that are whole with a slice out of place.
const OPENED_BY_A_SLICE: usize = 2;

/// Whole groups that must speak for it when `turns` lead to whole centres.
const fn least_groups(turns: usize) -> usize {
    match turns {
        1 => 0,
        2 => 2,
        _ => 4,
    }
}

/// The step back, or on to the end of a sequence; `None` if the learner seems to be in the middle of nothing.
///
/// # Errors
///
/// An own error if the step does not stand its proof.
pub fn look_back(state: &State) -> Result<Option<Step>, Error> {
    let now = Reaches::of(state);
    if now.stage == Stage::Solved {
        return Ok(None);
    }
    if now.stage == Stage::Reduced {
        let found = midway::look_back(state)?;
        if found
            .as_ref()
            .is_some_and(|step| step.reaches.stage == Stage::Solved)
        {
            return Ok(found);
        }
        return Ok(slices::from_solved(state, now.stage)?.or(found));
    }
    // After slices centres may look mixed.
    if let Some(step) = slices::from_solved(state, now.stage)? {
        return Ok(Some(step));
    }
    if alike(state) < LEAST_ALIKE {
        return slipped::whole_in_mixed(state, &now);
    }
    let few = few_turns(state, &now);
    // A single turn is likelier than the middle of a sequence; more turns are not.
    let found = match few {
        Some(found) if found.moves.len() == 1 => Some(found),
        few => match (few, rest_of_sequence(state, &now)) {
            (few, None) => few,
            (None, rest) => rest,
            // To no more than whole centres the few turns are the plainer way.
            (Some(few), Some(rest)) => {
                let is_further = rest.reaches.stage > Stage::Pairing && rest.better_than(&few);
                Some(if is_further { rest } else { few })
            }
        },
    };
    let Some(found) = found else {
        return match slices::from_reduced(state, now.stage) {
            Some(step) => Ok(Some(step)),
            None => slipped::look_back(state, &now),
        };
    };
    let mut walk = Walk::from(state.clone());
    let claim = Claim::Stage(found.reaches.stage);
    walk.take(Aim::plain(found.task), Hold::SAME, found.moves, claim)?;
    Ok(walk.steps.pop())
}

/// A way out of the middle.
#[derive(Debug)]
struct Found {
    task: Task,
    moves: Vec<Move>,
    reaches: Reaches,
}

impl Found {
    /// A later stage, then more groups, then fewer turns.
    fn better_than(&self, other: &Self) -> bool {
        let rank = |found: &Self| {
            let reaches = &found.reaches;
            let turns = std::cmp::Reverse(found.moves.len());
            (reaches.stage, reaches.groups_done, turns)
        };
        rank(self) > rank(other)
    }
}

/// Whether a state is so much better than where the learner is that a few turns to it are worth telling first.
fn is_much_better(now: &Reaches, then: &Reaches, turns: usize) -> bool {
    match (now.stage, then.stage) {
        (_, Stage::Solved) => true,
        (Stage::Centres, Stage::Pairing | Stage::LastGroups | Stage::Reduced) => {
            now.centres_done.len() <= OPENED_BY_A_SLICE || then.groups_done >= least_groups(turns)
        }
        (Stage::Pairing | Stage::LastGroups, Stage::LastGroups | Stage::Reduced) => {
            then.groups_done >= now.groups_done + 4
        }
        _ => false,
    }
}

/// The share of neighbouring stickers of centres that are alike.
fn alike(state: &State) -> f32 {
    let n = state.n();
    if n < 4 {
        return 1.0;
    }
    let (mut same, mut all) = (0, 0);
    for face in Face::ALL {
        let at = |row, col| state.at_spot(Spot { face, row, col });
        for row in 1..n - 1 {
            for col in 1..n - 1 {
                if col + 1 < n - 1 {
                    all += 1;
                    same += i32::from(at(row, col) == at(row, col + 1));
                }
                if row + 1 < n - 1 {
                    all += 1;
                    same += i32::from(at(row, col) == at(row + 1, col));
                }
            }
        }
    }
    same as f32 / all as f32
}

/// Block turns of an order, each with where the sticker at every place comes from.
pub(super) struct Turns {
    pub(super) moves: Vec<(Move, Vec<u16>)>,
    /// For each face and number of layers the index of the first of its three turns.
    first_of: [Vec<usize>; 6],
    /// How many of them, the first ones, differ by more than how the cube is held.
    pub(super) distinct: usize,
    /// Pairs of places of one centre, the telling ones first; equal colours on all mean whole centres.
    pairs: Vec<(u16, u16)>,
    /// Places of centres that lie side by side, with the first of the three turns of the block that parts them.
    neighbours: Vec<(u16, u16, usize)>,
    /// Pairs of places of one face; equal colours on all mean a solved cube.
    face_pairs: Vec<(u16, u16)>,
}

impl Turns {
    pub(super) fn of(n: usize) -> &'static Self {
        static MADE: [OnceLock<Turns>; crate::cube::MOST_ORDER + 1] =
            [const { OnceLock::new() }; crate::cube::MOST_ORDER + 1];
        MADE[n].get_or_init(|| {
            let layout = Layout::of(n);
            let mut blocks: Vec<(Face, usize)> = Face::ALL
                .into_iter()
                .flat_map(|face| (1..n).map(move |layers| (face, layers)))
                .collect();
            // A block of more than half the layers is, but for how the cube is held, one from the other side; of
            // the two halves of an even cube one will do.
            let is_of_others = |&(face, layers): &(Face, usize)| {
                2 * layers > n || (2 * layers == n && face != face.axis().face())
            };
            blocks.sort_by_key(is_of_others);
            let distinct = 3 * blocks.iter().filter(|block| !is_of_others(block)).count();
            let first_of = Face::ALL.map(|face| {
                let first = |layers| blocks.iter().position(|&block| block == (face, layers));
                let first = (0..n).map(|layers| 3 * first(layers).unwrap_or(0));
                first.collect()
            });
            let moves = blocks.into_iter().flat_map(|(face, layers)| {
                Quarter::ALL.map(|quarter| {
                    let step = Move::Block {
                        face,
                        layers,
                        quarter,
                    };
                    let mut from: Vec<u16> = (0..layout.places() as u16).collect();
                    layout.turn(&mut from, step);
                    (step, from)
                })
            });
            let moves: Vec<(Move, Vec<u16>)> = moves.collect();
            Self {
                first_of,
                distinct,
                pairs: centre_pairs(n),
                neighbours: neighbours(n, &moves),
                face_pairs: face_pairs(n),
                moves,
            }
        })
    }

    /// The turns as indices, in the letters of how the cube is held now; `None` if one is none of these.
    fn held(&self, moves: &[Move], hold: Hold) -> Option<Vec<usize>> {
        let mut way = Vec::with_capacity(moves.len());
        for &step in moves {
            let Move::Block {
                face,
                layers,
                quarter,
            } = step
            else {
                return None;
            };
            let first = *self.first_of[hold.brings(face).index()].get(layers)?;
            way.push(first + quarter as usize);
        }
        Some(way)
    }

    /// Where the sticker at every place comes from for each of some turns, written for a hold; `None` if one is none of
    /// these.
    pub(super) fn sources(&self, moves: &[Move], hold: Hold) -> Option<Vec<&[u16]>> {
        let way = self.held(moves, hold.inverse())?.into_iter();
        Some(way.map(|index| &self.moves[index].1[..]).collect())
    }

    /// After how many turns of a way a cube may be whose centres the rest of it makes whole. The rest is longer than
    /// what is looked back without it.
    fn made_before_whole(&self, state: &State, way: &[usize]) -> Vec<usize> {
        let mut left: u64 = match way.len() {
            len @ 5..=63 => (1 << (len - MOST_TURNS)) - 2,
            _ => 0,
        };
        for &(mut one, mut other) in &self.pairs {
            // Traced back turn by turn, the places show at once what each shorter rest would bring there.
            for (made, &index) in way.iter().enumerate().rev() {
                let from = &self.moves[index].1;
                one = from[usize::from(one)];
                other = from[usize::from(other)];
                if state.at(usize::from(one)) != state.at(usize::from(other)) {
                    left &= !(1 << made);
                }
            }
            if left == 0 {
                break;
            }
        }
        (1..way.len())
            .filter(|made| left >> made & 1 == 1)
            .collect()
    }

    /// The turns that can make all centres whole, or else solve the cube, at once.
    fn last_turns(&self, stickers: &[Face]) -> (std::ops::Range<usize>, &[(u16, u16)]) {
        let colour = |place: u16| stickers[usize::from(place)];
        let unlike = self
            .neighbours
            .iter()
            .find(|(one, other, _)| colour(*one) != colour(*other));
        match unlike {
            Some(&(_, _, first)) => (first..first + 3, &self.pairs),
            // Blocks through whole centres break them; outer turns change no groups, they can only solve.
            None => (0..self.distinct, &self.face_pairs),
        }
    }
}

/// Places of centres side by side, each two with the index of the first turn of the block that parts them.
fn neighbours(n: usize, moves: &[(Move, Vec<u16>)]) -> Vec<(u16, u16, usize)> {
    // Whether a turn takes a spot along, by how high it lies above the turned side.
    let is_taken = |step: Move, spot: Spot| {
        let Move::Block { face, layers, .. } = step else {
            return false;
        };
        let normal = face.normal();
        let position = spot.position(n);
        let height: i32 = (0..3).map(|k| normal[k] * position[k]).sum();
        height > n as i32 - 2 * layers as i32
    };
    let mut found = Vec::new();
    for (row, col) in (1..n.max(2) - 1).flat_map(|row| (1..n - 1).map(move |col| (row, col))) {
        for (down, right) in [(row + 1, col), (row, col + 1)] {
            if down == n - 1 || right == n - 1 {
                continue;
            }
            for face in Face::ALL {
                let one = Spot { face, row, col };
                let other = Spot {
                    face,
                    row: down,
                    col: right,
                };
                let first = moves
                    .iter()
                    .position(|&(step, _)| is_taken(step, one) != is_taken(step, other));
                found
                    .extend(first.map(|first| (one.place(n) as u16, other.place(n) as u16, first)));
            }
        }
    }
    found
}

/// Pairs of centre places: first corners of the centre against the one across, then neighbours.
pub(super) fn centre_pairs(n: usize) -> Vec<(u16, u16)> {
    let place = |face, row, col| Spot { face, row, col }.place(n) as u16;
    let mut pairs = Vec::new();
    if n < 4 {
        return pairs;
    }
    let last = n - 2;
    for (row, col, other_row, other_col) in
        [(1, 1, last, last), (1, last, last, 1), (1, 1, 1, last)]
    {
        for face in Face::ALL {
            pairs.push((place(face, row, col), place(face, other_row, other_col)));
        }
    }
    for face in Face::ALL {
        for row in 1..n - 1 {
            for col in 1..n - 1 {
                pairs.push((place(face, 1, 1), place(face, row, col)));
            }
        }
    }
    pairs
}

/// Every place of a face with the first.
pub(super) fn face_pairs(n: usize) -> Vec<(u16, u16)> {
    let area = n * n;
    (0..6 * area)
        .map(|place| ((place / area * area) as u16, place as u16))
        .collect()
}

/// Whether pairs of places have one colour each after a turn.
pub(super) fn makes_alike(stickers: &[Face], pairs: &[(u16, u16)], from: &[u16]) -> bool {
    let colour = |place: u16| stickers[usize::from(from[usize::from(place)])];
    pairs
        .iter()
        .all(|&(one, other)| colour(one) == colour(other))
}

/// Up to three turns to a much better stage; the fewest, then the best.
fn few_turns(state: &State, now: &Reaches) -> Option<Found> {
    let turns = Turns::of(state.n());
    for depth in 1..=MOST_TURNS {
        let mut trying = Trying {
            state,
            now,
            turns,
            way: Vec::new(),
            best: None,
        };
        trying.lengthen(state.stickers(), depth);
        if trying.best.is_some() {
            return trying.best;
        }
    }
    None
}

/// The ways of some turns being tried.
struct Trying<'a> {
    state: &'a State,
    now: &'a Reaches,
    turns: &'static Turns,
    way: Vec<usize>,
    best: Option<Found>,
}

impl Trying<'_> {
    /// Tries all ways that lengthen this one, which leads to `stickers`, by `more` turns.
    fn lengthen(&mut self, stickers: &[Face], more: usize) {
        let turns = self.turns;
        let last = self.way.last().map(|&last| turns.moves[last].0);
        let (candidates, pairs) = if more == 1 {
            turns.last_turns(stickers)
        } else {
            (0..turns.distinct, &[][..])
        };
        for index in candidates {
            let (step, from) = &turns.moves[index];
            if last.is_some_and(|last| !may_follow(last, *step)) {
                continue;
            }
            self.way.push(index);
            if more > 1 {
                let turned: Vec<Face> = from.iter().map(|&at| stickers[usize::from(at)]).collect();
                self.lengthen(&turned, more - 1);
            } else if makes_alike(stickers, pairs, from) {
                self.judge();
            } else if self.may_turn_both_ends() {
                self.turn_the_other_end(stickers);
            }
            self.way.pop();
        }
    }

    /// Whether the slice just turned back may be one of two, turned at both ends of the groups with outer turns after
    /// them, as pairing does it.
    fn may_turn_both_ends(&self) -> bool {
        let is_outer =
            |&index: &usize| matches!(self.turns.moves[index].0, Move::Block { layers: 1, .. });
        matches!(&self.way[..], [one, other, slice]
            if is_outer(one) && is_outer(other) && !is_outer(slice))
    }

    /// Turns back the slice at the other end as well, after the last turn of the way.
    fn turn_the_other_end(&mut self, stickers: &[Face]) {
        let turns = self.turns;
        let Some((Move::Block { face, .. }, from)) = self
            .way
            .last()
            .map(|&last| (turns.moves[last].0, &turns.moves[last].1))
        else {
            return;
        };
        let turned: Vec<Face> = from.iter().map(|&at| stickers[usize::from(at)]).collect();
        let (candidates, pairs) = turns.last_turns(&turned);
        for index in candidates {
            let (step, from) = &turns.moves[index];
            let is_other_end = matches!(step, Move::Block { face: other, layers, .. }
                if *other == face.opposite() && *layers > 1);
            if is_other_end && makes_alike(&turned, pairs, from) {
                self.way.push(index);
                self.judge();
                self.way.pop();
            }
        }
    }

    /// Keeps the way if it leads to a much better state, better than the best so far.
    fn judge(&mut self) {
        let way = self.way.iter();
        let moves: Vec<Move> = way.map(|&index| self.turns.moves[index].0).collect();
        let reaches = Reaches::of(&self.state.after(&moves));
        let found = Found {
            task: Task::TurnBack {
                turns: moves.len(),
                to: reaches.stage,
                built: Built::Nothing,
            },
            moves,
            reaches,
        };
        if is_much_better(self.now, &found.reaches, found.moves.len())
            && self
                .best
                .as_ref()
                .is_none_or(|best| found.better_than(best))
        {
            self.best = Some(found);
        }
    }
}

/// Whether a turn may come after another without being the same or just another order of parallel turns.
pub(super) fn may_follow(last: Move, next: Move) -> bool {
    let (
        Move::Block { face, layers, .. },
        Move::Block {
            face: other,
            layers: deep,
            ..
        },
    ) = (last, next)
    else {
        return false;
    };
    face.axis() != other.axis() || (face.index(), layers) < (other.index(), deep)
}

/// The rest of a known sequence, made forward or backward, that leads to the last groups or further; from a slice out of
/// place to whole centres.
fn rest_of_sequence(state: &State, now: &Reaches) -> Option<Found> {
    if now.stage != Stage::Centres {
        return None;
    }
    let turns = Turns::of(state.n());
    let mut best: Option<Found> = None;
    for word in known_words(state.n()) {
        for hold in Hold::all() {
            let Some(way) = turns.held(word, *hold) else {
                continue;
            };
            for made in turns.made_before_whole(state, &way) {
                let rest: Vec<Move> = way[made..]
                    .iter()
                    .map(|&index| turns.moves[index].0)
                    .collect();
                let reaches = Reaches::of(&state.after(&rest));
                let are_centres_enough = now.centres_done.len() <= OPENED_BY_A_SLICE;
                let least = if are_centres_enough {
                    Stage::Pairing
                } else {
                    Stage::LastGroups
                };
                if reaches.stage < least {
                    continue;
                }
                // The same turns lead to the end of the sequence and back to the beginning of its reverse.
                let task = if rest.len() <= made {
                    Task::TurnBack {
                        turns: rest.len(),
                        to: reaches.stage,
                        built: Built::Nothing,
                    }
                } else {
                    Task::CarryOn { made }
                };
                let found = Found {
                    task,
                    moves: rest,
                    reaches,
                };
                if best.as_ref().is_none_or(|best| found.better_than(best)) {
                    best = Some(found);
                }
            }
        }
    }
    best
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advise::tests::{Dice, random_state, reduced_state};
    use crate::advise::{PartKind, route};
    use crate::cube::Sequence;

    fn any_turn(n: usize, dice: &mut Dice) -> Move {
        let turns = Turns::of(n);
        turns.moves[dice.below(turns.moves.len())].0
    }

    #[test]
    fn ordinary_scrambles_are_left_alone() {
        let mut dice = Dice::new(11);
        for n in 4..=8 {
            for _ in 0..60 {
                assert_eq!(look_back(&random_state(n, &mut dice)).unwrap(), None);
                let turns: Vec<Move> = (0..20 + n * 10).map(|_| any_turn(n, &mut dice)).collect();
                assert_eq!(look_back(&State::solved(n).after(&turns)).unwrap(), None);
            }
        }
    }

    /// From a reduced cube up to three block turns away: a way of no more turns back to a reduced cube or better.
    #[test]
    fn a_few_turns_are_seen() {
        let mut dice = Dice::new(12);
        for n in 4..=7 {
            for count in 1..=3 {
                let reduced = reduced_state(n, &mut dice);
                let turns: Vec<Move> = (0..count).map(|_| any_turn(n, &mut dice)).collect();
                let state = reduced.after(&turns);
                if Reaches::of(&state).stage > Stage::Centres {
                    continue;
                }
                let told = Sequence(turns.clone());
                let step = look_back(&state).unwrap();
                let Some(step) = step else {
                    panic!("n = {n}, {told}, alike {}", alike(&state));
                };
                assert!(step.moves.0.len() <= count, "n = {n}, {told}");
                assert!(step.reaches.stage >= Stage::Reduced, "{turns:?}: {step:?}");
            }
        }
    }

    /// In the middle of any pairing of the way to solved, from its slice on: whole centres are told first, and no more
    /// turns than the pairing has.
    #[test]
    fn the_middle_of_a_pairing_is_seen() {
        let mut dice = Dice::new(14);
        for n in [4, 5, 6, 7, 9] {
            let mut state = random_state(n, &mut dice);
            for step in route(&state).unwrap().steps {
                state.turn_all(&step.hold.0);
                let set_up = match step.parts.first() {
                    Some(part) if part.kind == PartKind::SetUp => part.moves.0.len(),
                    _ => 0,
                };
                for made in set_up + 1..step.moves.0.len() {
                    if step.parts.is_empty() {
                        break;
                    }
                    let mid = state.after(&step.moves.0[..made]);
                    if Reaches::of(&mid).stage > Stage::Centres {
                        continue;
                    }
                    let told = look_back(&mid).unwrap();
                    let told = told.unwrap_or_else(|| panic!("n = {n}, {made} of {}", step.moves));
                    let after = mid.after(&told.hold.0).after(&told.moves.0);
                    assert!(Reaches::of(&after).stage > Stage::Centres, "{told:?}");
                    assert!(told.moves.0.len() < step.moves.0.len(), "{told:?}");
                }
                state.turn_all(&step.moves.0);
            }
        }
    }

    /// In the middle of a known sequence: the rest of it, or the way back to its beginning.
    #[test]
    fn the_middle_of_a_sequence_is_seen() {
        let mut dice = Dice::new(13);
        let word = "Lw2 B2 Rw' U2 Lw' B2 D2 Rw2 U2 Lw' U2 Lw' B2 Lw";
        for n in [4, 5, 6, 7] {
            let moves = Sequence::for_order(word, n).unwrap().0;
            let reduced = reduced_state(n, &mut dice);
            for made in 1..moves.len() {
                let state = reduced.after(&moves[..made]);
                if Reaches::of(&state).stage > Stage::Centres {
                    continue;
                }
                let step = look_back(&state).unwrap().unwrap();
                assert!(
                    step.reaches.stage >= Stage::LastGroups,
                    "{made} of {word}: {step:?}"
                );
                assert!(step.moves.0.len() <= moves.len(), "{step:?}");
            }
        }
    }

    #[test]
    fn a_solved_cube_is_in_the_middle_of_nothing() {
        for n in 2..=7 {
            assert_eq!(look_back(&State::solved(n)).unwrap(), None);
        }
    }
}
