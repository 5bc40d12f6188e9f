//! Whether the learner is in the middle of a sequence of the finish: a few outer turns, or the rest of a sequence, from
//! layers that stood before.
//!
//! An ordinary cube must not be told so. The more ways are tried, the more must stand at their end: three turns from
//! an ordinary cube lead to a whole layer once in some ten million.

use super::aim::{Aim, Built, Task};
use super::cubies::Cubies;
use super::layers::{bottoms, words};
use super::look_back::may_follow;
use super::progress::{Progress, by_corner, three};
use super::proof::{Claim, Error, Step, Walk};
use super::search::in_hold;
use crate::cube::{Face, Hold, Layout, Move, Quarter, State};
use crate::diagnose::Stage;
use std::cmp::Reverse;

/// The most turns looked back without a sequence.
const MOST_TURNS: usize = 3;

/// The pieces of the first two layers, cross and corners of the bottom and edges of the middle.
const LOWER_PIECES: usize = 12;

/// Those of the first layer.
const FIRST_LAYER_PIECES: usize = 8;

/// How many pieces must stand after so many turns, and how many more than now.
const fn least_standing(turns: usize) -> (usize, usize) {
    match turns {
        1 | 2 => (6, 3),
        _ => (8, 4),
    }
}

/// The same after the rest of a sequence. In the middle of one for the middle layer a corner and an edge are out at
/// least; another edge of that layer must speak for it, for where none does, a corner may be on its way in for the first
/// time.
const fn least_after_sequence(is_for_middle: bool) -> (usize, usize) {
    if is_for_middle {
        (FIRST_LAYER_PIECES + 2, 3)
    } else {
        (LOWER_PIECES, 4)
    }
}

/// The step back, or on to the end of a sequence; `None` if a reduced cube seems to be in the middle of nothing.
///
/// # Errors
///
/// An own error if the step does not stand its proof.
pub fn look_back(state: &State) -> Result<Option<Step>, Error> {
    let Some(finish) = Finish::of(state) else {
        return Ok(None);
    };
    let few = finish.few_turns();
    let all_stands = |found: &Found| found.is_solved || found.standing == LOWER_PIECES;
    let found = match (few, finish.rest_of_sequence()) {
        (Some(few), Some(rest)) => {
            // A single turn is likelier than the middle of a sequence; more turns are not, nor is one that leaves more of
            // the top layer to do. Of a sequence for the middle layer few turns do what is to be done.
            let is_likelier = few.moves.len() == 1 && all_stands(&few) || !all_stands(&rest);
            let does_more = if is_likelier {
                rest.corners_stand() && !few.corners_stand()
            } else {
                rest.further() > few.further()
            };
            Some(if does_more { rest } else { few })
        }
        (few, rest) => few.or(rest),
    };
    let Some(found) = found else {
        return Ok(None);
    };
    let built = match found.standing {
        LOWER_PIECES => Built::AllButTheTop,
        8.. => Built::FirstLayer,
        _ => Built::Cross,
    };
    let (to, built, claim) = if found.is_solved {
        (Stage::Solved, Built::Nothing, Claim::Solved)
    } else {
        (Stage::Reduced, built, Claim::Finish(found.progress))
    };
    let task = match found.made {
        Some(made) if made < found.moves.len() => Task::CarryOn { made },
        _ => Task::TurnBack {
            turns: found.moves.len(),
            to,
            built,
        },
    };
    let mut walk = Walk::from(state.clone());
    walk.take(Aim::plain(task), found.hold, found.moves, claim)?;
    Ok(walk.steps.pop())
}

/// A way out of the middle.
struct Found {
    /// The hold with the bottom that the layers stand on.
    hold: Hold,
    /// The moves in it.
    moves: Vec<Move>,
    /// How many turns of a sequence are made, if it is one.
    made: Option<usize>,
    /// The pieces of the first two layers that stand afterwards.
    standing: usize,
    is_solved: bool,
    /// How far the finish has come then.
    progress: Progress,
}

impl Found {
    /// Whether even the corners of the top layer are in their places.
    const fn corners_stand(&self) -> bool {
        self.is_solved || self.progress.top_corners_placed
    }

    /// What stands, then how far the top layer has come, then how few turns it takes.
    fn further(&self) -> (bool, usize, Progress, Reverse<usize>) {
        let turns = Reverse(self.moves.len());
        (self.is_solved, self.standing, self.progress, turns)
    }

    /// What stands, then how few turns it takes, then how far the top layer has come.
    fn nearer(&self) -> (bool, usize, Reverse<usize>, Progress) {
        let turns = Reverse(self.moves.len());
        (self.is_solved, self.standing, turns, self.progress)
    }
}

/// A reduced cube as its pieces.
struct Finish<'a> {
    state: &'a State,
    pieces: Cubies,
    /// The most pieces that stand on any bottom.
    standing: usize,
    /// The pieces of a solved cube; on a 2×2×2 in every hold, for there no centres tell how it is held.
    solved: Vec<Cubies>,
    /// The turns of the outer layers, and what each does.
    turns: Vec<(Move, Cubies)>,
    /// The holds that bring each side to the bottom, with what stands over it.
    bottoms: Vec<(Hold, Bottom)>,
}

/// The positions of the first two layers over one side, a bit each.
struct Bottom {
    cross: u16,
    corners: u16,
    middle: u16,
}

impl Bottom {
    fn of(side: Face) -> Self {
        let bits = |items: &mut dyn Iterator<Item = bool>| {
            let all = items.enumerate();
            all.fold(0, |bits, (at, is_in)| bits | u16::from(is_in) << at)
        };
        let edges = Layout::EDGES.iter();
        Self {
            cross: bits(&mut edges.clone().map(|&(a, b)| a == side || b == side)),
            corners: bits(&mut Layout::CORNERS.iter().map(|faces| faces.contains(&side))),
            middle: bits(
                &mut edges.map(|&(a, b)| a.axis() != side.axis() && b.axis() != side.axis()),
            ),
        }
    }

    /// How many pieces stand, each kind only once all before it do.
    const fn standing(&self, home: Home) -> usize {
        let cross = (home.edges & self.cross).count_ones() as usize;
        if cross < 4 {
            return cross;
        }
        let corners = (home.corners & self.corners).count_ones() as usize;
        if corners < 4 {
            return 4 + corners;
        }
        8 + (home.edges & self.middle).count_ones() as usize
    }
}

/// Which corners and edges are home, a bit each.
#[derive(Clone, Copy)]
struct Home {
    edges: u16,
    corners: u16,
}

impl Home {
    fn of(pieces: &Cubies) -> Self {
        let bits = |count: usize, is_home: &dyn Fn(usize) -> bool| {
            (0..count).fold(0, |bits, at| bits | u16::from(is_home(at)) << at)
        };
        Self {
            edges: bits(12, &|at| pieces.is_edge_home(at)),
            corners: bits(8, &|at| pieces.is_corner_home(at)),
        }
    }
}

impl<'a> Finish<'a> {
    fn of(state: &'a State) -> Option<Self> {
        let (named, holds) = if state.n() == 2 {
            (by_corner(state, 0)?, &Hold::all()[..])
        } else {
            (three(state)?, &[Hold::SAME][..])
        };
        let pieces = Cubies::of(&named)?;
        let held = |hold: &Hold| Cubies::of(&State::solved(named.n()).after(&hold.sequence().0));
        let solved = holds.iter().filter_map(held).collect();
        let turns = Face::ALL.into_iter().flat_map(|face| {
            Quarter::ALL.map(|quarter| {
                let turn = Move::Block {
                    face,
                    layers: 1,
                    quarter,
                };
                (turn, Cubies::effect(&[turn]))
            })
        });
        let bottoms = bottoms().map(|hold| (hold, Bottom::of(hold.comes_from(Face::D))));
        let bottoms: Vec<(Hold, Bottom)> = bottoms.collect();
        let home = Home::of(&pieces);
        let standing = bottoms.iter().map(|(_, bottom)| bottom.standing(home));
        Some(Self {
            state,
            pieces,
            standing: standing.max().unwrap_or(0),
            solved,
            turns: turns.collect(),
            bottoms,
        })
    }

    fn is_solved(&self, pieces: &Cubies) -> bool {
        let is_small = self.state.n() == 2;
        let is_it = |solved: &Cubies| {
            pieces.corners == solved.corners && (is_small || pieces.edges == solved.edges)
        };
        self.solved.iter().any(is_it)
    }

    /// What comes of turns, made as the cube is held now, that lead to these pieces; `None` unless enough stands
    /// then. `made` are the turns made already if they are the rest of a sequence.
    fn judge(
        &self,
        pieces: &Cubies,
        turns: &[Move],
        made: Option<usize>,
        (least, more): (usize, usize),
    ) -> Option<Found> {
        let is_solved = self.is_solved(pieces);
        let mut best = (Hold::SAME, 0);
        let home = Home::of(pieces);
        if self.state.n() > 2 {
            for (hold, bottom) in &self.bottoms {
                let standing = bottom.standing(home);
                if standing > best.1 {
                    best = (*hold, standing);
                }
            }
        }
        let (hold, standing) = best;
        // No piece of the lower layers comes home in one turn or two while the others stay: what stands now, does so by
        // chance, on another bottom.
        let more = match (standing, turns.len()) {
            (LOWER_PIECES, 1 | 2) => 1,
            _ => more,
        };
        let is_much_better = standing >= least
            && standing >= self.standing + more
            && !self.is_plain_corner(hold, turns, standing);
        // Where the lower layers stand already, the last steps lead to solved, not the middle of one.
        let is_solved_at_once = is_solved && (made.is_none() || self.state.n() == 2);
        if !is_much_better && !is_solved_at_once {
            return None;
        }
        let moves = in_hold(turns, hold);
        let after = self.state.after(&hold.sequence().0).after(&moves);
        Some(Found {
            hold,
            is_solved: Claim::Solved.holds(&after),
            progress: Progress::of(&after)?,
            moves,
            made,
            standing,
        })
    }

    /// Whether turns after which so many pieces stand may bring a corner home for the first time, as the next step would:
    /// they leave the cross, and are as few as that takes, or bring no edge of the middle layer with it.
    fn is_plain_corner(&self, hold: Hold, turns: &[Move], standing: usize) -> bool {
        let mut bottoms = self.bottoms.iter();
        let home = Home::of(&self.pieces).edges;
        let Some((_, bottom)) = bottoms.find(|(known, _)| *known == hold) else {
            return false;
        };
        let middle = (home & bottom.middle).count_ones() as usize;
        let brings_no_edge = standing <= FIRST_LAYER_PIECES + middle;
        home & bottom.cross == bottom.cross
            && standing < LOWER_PIECES
            && (turns.len() <= MOST_TURNS || brings_no_edge)
    }

    /// Up to three turns back; the most that stands, then the fewest turns.
    fn few_turns(&self) -> Option<Found> {
        let mut best = None;
        for depth in 1..=MOST_TURNS {
            self.lengthen(&self.pieces, &mut Vec::new(), depth, &mut best);
        }
        best
    }

    /// Tries all ways that lengthen this one, which leads to `pieces`, by `more` turns.
    fn lengthen(
        &self,
        pieces: &Cubies,
        way: &mut Vec<Move>,
        more: usize,
        best: &mut Option<Found>,
    ) {
        if more == 0 {
            let least = least_standing(way.len());
            keep_better(best, self.judge(pieces, way, None, least), Found::nearer);
            return;
        }
        for &(turn, ref effect) in &self.turns {
            if way.last().is_none_or(|&last| may_follow(last, turn)) {
                way.push(turn);
                self.lengthen(&pieces.after(effect), way, more - 1, best);
                way.pop();
            }
        }
    }

    /// What a turn of an outer layer does.
    fn effect(&self, turn: Move) -> &Cubies {
        let face = match turn {
            Move::Block { face, .. } => face,
            Move::Rotation { axis, .. } => axis.face(),
        };
        &self.turns[face.index() * Quarter::ALL.len() + turn.quarter() as usize].1
    }

    /// Whether the cross over a bottom may stand after something; looked at before all else, for most ways fail here.
    fn may_lead_home(&self, effect: &Cubies, bottom: Face) -> bool {
        self.state.n() == 2
            || Layout::EDGES.iter().enumerate().all(|(at, &(a, b))| {
                let from = effect.edges[at];
                let comes = self.pieces.edges[usize::from(from / 2)] ^ (from % 2);
                (a != bottom && b != bottom) || usize::from(comes) == 2 * at
            })
    }

    /// The rest of a sequence of the finish, or the way back to its beginning.
    fn rest_of_sequence(&self) -> Option<Found> {
        let mut best = None;
        if self.state.n() > 2 && self.standing + 4 > LOWER_PIECES {
            return best;
        }
        for (word, is_for_middle) in words() {
            let least = least_after_sequence(is_for_middle);
            for &hold in Hold::all() {
                let on = in_hold(word, hold);
                let back: Vec<Move> = on.iter().rev().map(|turn| turn.inverse()).collect();
                for way in [on, back] {
                    // What the last turns of it do, one more each time.
                    let mut rest = Cubies::HOME;
                    for at in (1..way.len()).rev() {
                        rest = self.effect(way[at]).after(&rest);
                        if !self.may_lead_home(&rest, hold.brings(Face::D)) {
                            continue;
                        }
                        let reached = self.pieces.after(&rest);
                        let found = self.judge(&reached, &way[at..], Some(at), least);
                        keep_better(&mut best, found, Found::further);
                    }
                }
            }
        }
        best
    }
}

fn keep_better<R: Ord>(best: &mut Option<Found>, found: Option<Found>, rank: impl Fn(&Found) -> R) {
    if let Some(found) = found
        && best.as_ref().is_none_or(|best| rank(&found) > rank(best))
    {
        *best = Some(found);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advise::tests::{Dice, random_state, reduced_state};
    use crate::advise::{advise, route};
    use crate::cube::Sequence;

    /// The stickers of the two lower layers of the 3×3×3 that a cube is in a hold, one colour a side.
    fn lower_layers_stand(state: &State) -> bool {
        let three = three(state).unwrap();
        let side = |face: Face| &three.stickers()[9 * face.index()..][..9];
        side(Face::D).iter().all(|&sticker| sticker == Face::D)
            && [Face::F, Face::R, Face::B, Face::L]
                .iter()
                .all(|&face| side(face)[3..].iter().all(|&sticker| sticker == face))
    }

    /// Every sequence of the last layer, and the one that ends the middle layer, as common practice writes them, cut
    /// wherever the lower layers are broken: the way on or back is told first, and they stand after it.
    #[test]
    fn the_middle_of_a_sequence_of_the_last_layer_is_seen() {
        let written = [
            "F R U R' U' F'",
            "R U R' U R U2 R'",
            "U R U' L' U R' U' L",
            "R U' R' U' F' U F",
            "R U R' U R U2 R' L' U' L U' L' U2 L",
        ];
        for n in [3, 4, 5, 6] {
            for text in written {
                let moves = text.parse::<Sequence>().unwrap();
                let mixed = "F R U R' U' F' U R U R' U R U2 R'";
                let mut start = State::solved(n).after(&mixed.parse::<Sequence>().unwrap().0);
                if !lower_layers_stand(&start.after(&moves.0)) {
                    start.turn_all(&moves.inverse().0);
                }
                let moves = moves.0;
                for made in 1..moves.len() {
                    let state = start.after(&moves[..made]);
                    if lower_layers_stand(&state) {
                        continue;
                    }
                    let step = advise(&state).unwrap().unwrap().step;
                    let is_middle =
                        matches!(step.aim.task, Task::TurnBack { .. } | Task::CarryOn { .. });
                    assert!(is_middle, "n = {n}, {made} of {text}: {step:?}");
                    assert!(step.moves.0.len() < moves.len());
                    let after = state.after(&step.hold.0).after(&step.moves.0);
                    assert!(
                        lower_layers_stand(&after),
                        "n = {n}, {made} of {text}: {step:?}"
                    );
                }
            }
        }
    }

    /// The last sequence of all, cut wherever the lower layers are broken: the way on to solved is told, or a shorter one
    /// back to its beginning, even where its middle, at which the lower layers stand, is but one turn away.
    #[test]
    fn the_middle_of_the_last_sequence_leads_to_its_ends() {
        let text = "R U R' U R U2 R' L' U' L U' L' U2 L";
        let moves = text.parse::<Sequence>().unwrap().0;
        for n in [3, 4] {
            let end = State::solved(n);
            let start = end.after(&Sequence(moves.clone()).inverse().0);
            for made in 1..moves.len() {
                let state = start.after(&moves[..made]);
                if lower_layers_stand(&state) {
                    continue;
                }
                let step = advise(&state).unwrap().unwrap().step;
                let after = state.after(&step.hold.0).after(&step.moves.0);
                let is = |aim: &State| {
                    let held = |hold: &Hold| aim.after(&hold.sequence().0);
                    Hold::all().iter().any(|hold| held(hold) == after)
                };
                let turns = step.moves.0.len();
                assert!(
                    (is(&end) && turns <= moves.len() - made) || (is(&start) && turns <= made),
                    "n = {n}, {made}: {step:?}"
                );
            }
        }
    }

    /// How far a cube has come on its best bottom.
    fn progress(state: &State) -> Progress {
        let held = bottoms().map(|hold| Progress::of(&state.after(&hold.sequence().0)).unwrap());
        held.max().unwrap()
    }

    /// Steps of the lower layers, cut wherever one may be. In 97 of 100 places one is told to be in the middle and comes to
    /// where the step began, or further; or what is told leads on to where the step ends in no more turns than were left
    /// of it, or in one more, which a corner that comes home with the cross is worth. The rest are ordinary cubes on
    /// another bottom.
    #[test]
    fn cut_steps_of_the_lower_layers_are_carried_on() {
        let mut dice = Dice::new(18);
        let (mut cuts, mut as_good) = (0, 0);
        for _ in 0..12 {
            let mut state = random_state(3, &mut dice);
            for step in route(&state).unwrap().steps {
                state.turn_all(&step.hold.0);
                let moves = &step.moves.0;
                let (begun, aim) = (progress(&state), progress(&state.after(moves)));
                if begun.middle_edges == 4 {
                    break;
                }
                for made in 1..moves.len() {
                    let left = moves.len() - made;
                    let mut cut = state.after(&moves[..made]);
                    let (mut turns, mut is_seen) = (0, false);
                    while progress(&cut) < aim && turns <= left {
                        let told = advise(&cut).unwrap().unwrap().step;
                        cut = cut.after(&told.hold.0).after(&told.moves.0);
                        let is_first = turns == 0;
                        turns += told.moves.0.len();
                        let is_middle =
                            matches!(told.aim.task, Task::TurnBack { .. } | Task::CarryOn { .. });
                        is_seen |= is_first
                            && is_middle
                            && progress(&cut) >= begun
                            && turns <= left.max(made);
                    }
                    cuts += 1;
                    let is_there = progress(&cut) >= aim && turns <= left + 1;
                    as_good += usize::from(is_seen || is_there);
                }
                state.turn_all(moves);
            }
        }
        assert!(cuts > 300);
        assert!(100 * as_good >= 97 * cuts, "{as_good} of {cuts}");
    }

    /// In the middle of bringing the last edge into the middle layer, as common practice writes it, more than three turns
    /// from either end.
    #[test]
    fn the_middle_of_an_edge_of_the_middle_layer_is_seen() {
        let moves = "R U' R' U' F' U F".parse::<Sequence>().unwrap().0;
        let mixed = State::solved(3).after(&"F R U R' U' F'".parse::<Sequence>().unwrap().0);
        let start = mixed.after(&Sequence(moves.clone()).inverse().0);
        let cut = start.after(&moves[..3]);
        let step = advise(&cut).unwrap().unwrap().step;
        assert_eq!(step.aim.task, Task::CarryOn { made: 3 });
        let after = cut.after(&step.hold.0).after(&step.moves.0);
        assert!(lower_layers_stand(&after), "{step:?}");
    }

    /// Whoever brings the last corner home after edges of the middle layer, as some do, is in the middle of nothing: the
    /// three turns are the next step.
    #[test]
    fn a_corner_brought_home_late_is_an_ordinary_step() {
        let written = |text: &str| text.parse::<Sequence>().unwrap().0;
        let without_an_edge = State::solved(3)
            .after(&written("F R U R' U' F'"))
            .after(&written("L' U L U F U' F' U'"));
        let mut corners = 0;
        for between in ["U", "U2", "U'"] {
            for last in ["U", "U2", "U'"] {
                let taken_out = format!("R U R' {between} R U' R' {last}");
                let step = advise(&without_an_edge.after(&written(&taken_out)));
                let step = step.unwrap().unwrap().step;
                if step.moves.0.len() == MOST_TURNS {
                    assert_eq!(step.aim.task, Task::BottomCorner, "{taken_out}: {step:?}");
                    corners += 1;
                }
            }
        }
        assert!(corners > 0);
    }

    /// On a 2×2×2 only the solved cube speaks for it.
    #[test]
    fn the_middle_of_the_last_sequence_of_a_two_is_seen() {
        let text = "R U R' U R U2 R' L' U' L U' L' U2 L";
        let moves = text.parse::<Sequence>().unwrap().0;
        let start = State::solved(2).after(&Sequence(moves.clone()).inverse().0);
        for made in 1..moves.len() {
            let state = start.after(&moves[..made]);
            let step = look_back(&state).unwrap().unwrap();
            assert!(step.moves.0.len() <= moves.len() - made);
            let after = state.after(&step.hold.0).after(&step.moves.0);
            assert!(Claim::Solved.holds(&after), "{made}: {step:?}");
        }
    }

    /// Mixed cubes, and those that a learner has between two steps of the whole way, are in the middle of nothing, but
    /// for a few turns from solved.
    #[test]
    fn ordinary_cubes_are_left_alone() {
        let mut dice = Dice::new(17);
        for n in [3, 4] {
            for _ in 0..12 {
                let mixed = if n == 3 {
                    random_state(n, &mut dice)
                } else {
                    reduced_state(n, &mut dice)
                };
                let mut state = mixed.clone();
                for step in route(&mixed).unwrap().steps {
                    if let Some(back) = look_back(&state).unwrap() {
                        assert_eq!(back.reaches.stage, Stage::Solved, "{state:?}: {back:?}");
                        assert!(
                            back.moves.0.len() <= MOST_TURNS || step.reaches.stage == Stage::Solved
                        );
                    }
                    state = state.after(&step.hold.0).after(&step.moves.0);
                }
            }
        }
    }
}
