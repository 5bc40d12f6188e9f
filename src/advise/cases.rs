//! Every case of a size set up on a cube of its own, held so that it shows, with the way out of it: what a printed
//! sheet of cases is made of.

use super::advice::{Known, Other, next_advice, side_effects};
use super::proof::{Error, Step};
use super::route::next_step;
use super::search::in_hold;
use crate::cube::{Face, Hold, Layout, Move, Sequence, State, Words};
use crate::diagnose::{Case, Stage, Structure, diagnose, open_edges, strip, strip_places};
use std::cmp::Reverse;

/// A case on a cube that shows nothing else, and what mends it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Example {
    /// The case.
    pub case: Case,
    /// The cube, as it is to be held.
    pub state: State,
    /// The edges to look at, as indices into [`Layout::EDGES`].
    pub edges: Vec<usize>,
    /// The steps that mend it, the first without a hold of its own.
    pub steps: Vec<Step>,
    /// What the steps are known as, if they are a sequence of common practice.
    pub known: Option<Known>,
    /// Sequences of common practice that do the same, from how the cube is held.
    pub others: Vec<Other>,
    /// What else the steps move, found by making them; a sentence.
    pub side_effects: String,
}

/// Edges on which two groups are shown: across a face, across the cube, beside one another, and askew.
const PLACES: [[usize; 2]; 6] = [[0, 2], [0, 6], [8, 9], [0, 1], [0, 8], [0, 5]];

/// Cases as many as fit on one page.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Selection {
    /// The cases.
    pub cases: Vec<Case>,
    /// How many more there are, in which layers are open in different ways.
    pub left_out: usize,
}

/// The largest cube all of whose cases fit on one page: there are 295 on an 8×8×8 and 1951 on a 9×9×9.
const LARGEST_WITH_ALL: usize = 8;

impl Selection {
    /// The cases of a cube of order `n`; of a large one those whose open layers are all open in the same way.
    pub fn of(n: usize) -> Self {
        let mut cases = Case::all(n);
        let all = cases.len();
        cases.retain(|case| match &case.structure {
            Structure::LastGroups(groups) => n <= LARGEST_WITH_ALL || groups.key.kinds() == 1,
            Structure::Reduced { .. } => true,
        });
        Self {
            left_out: all - cases.len(),
            cases,
        }
    }
}

impl Example {
    /// The turns of all steps.
    pub fn turns(&self) -> usize {
        let steps = self.steps.iter();
        steps.map(|step| step.moves.block_turns()).sum()
    }
}

/// A case of a cube of order `n` where it takes fewest turns, in the colours of a cube held with white up and green in
/// front.
///
/// # Errors
///
/// Only an own error, should a way not stand its proof.
pub fn example(n: usize, case: &Case) -> Result<Example, Error> {
    let states: Vec<State> = match &case.structure {
        Structure::LastGroups(groups) => PLACES.map(|edges| groups.key.state(edges)).into(),
        Structure::Reduced { flip, swap } => vec![reduced(n, *flip, *swap)],
    };
    let mut best: Option<Example> = None;
    for state in states {
        let found = settled(case, state)?;
        if best
            .as_ref()
            .is_none_or(|best| found.turns() < best.turns())
        {
            best = Some(found);
        }
    }
    let mut best = best.ok_or(Error::NoWay {
        doing: "set up a case",
    })?;
    if let Some(advice) = next_advice(&best.state)? {
        let next = &advice.step;
        let is_shown =
            matches!(&best.steps[..], [only] if next.hold.0.is_empty() && only.moves == next.moves);
        best.known = advice.known.filter(|_| is_shown);
        best.others = advice.others;
    }
    best.side_effects = side_effects(&all_moves(&best.steps), n);
    // Proved at last on the very cube that is drawn.
    let shows = diagnose(&best.state, &[], &Words::default()).case;
    let reached = best.state.after(&all_moves(&best.steps).0);
    if shows.is_none_or(|shown| shown.id != case.id) || goes_on(case, &reached) {
        return Err(Error::NoWay {
            doing: "show a case and mend it",
        });
    }
    Ok(best)
}

/// Whether a case is not over.
fn goes_on(case: &Case, state: &State) -> bool {
    let found = diagnose(state, &[], &Words::default());
    // A parity of the reduced cube that then shows is a case of its own.
    let is_of_groups = matches!(case.structure, Structure::LastGroups(_));
    found.stage < Stage::Reduced || (!is_of_groups && found.case.is_some())
}

/// A reduced cube with parities: the group at UF turned over, the groups at UF and UB exchanged, or both.
fn reduced(n: usize, flip: bool, swap: bool) -> State {
    let mut state = State::solved(n);
    let layout = state.layout();
    let (front, back) = (strip_places(layout, 0), strip_places(layout, 2));
    let mut exchange = |one: u16, other: u16| {
        let held = state.at(usize::from(one));
        let came = state.at(usize::from(other));
        state.set(usize::from(one), came);
        state.set(usize::from(other), held);
    };
    if flip {
        for &[top, side] in &front {
            exchange(top, side);
        }
    }
    if swap {
        for (front, back) in front.iter().zip(&back) {
            exchange(front[0], back[0]);
            exchange(front[1], back[1]);
        }
    }
    state
}

/// The way out of a case, from where it begins in earnest: in one of last groups, outer turns at the beginning and end only
/// bring groups about, so that it is shown after the ones and is over before the others.
fn settled(case: &Case, state: State) -> Result<Example, Error> {
    let of_groups = matches!(case.structure, Structure::LastGroups(_));
    let mut state = state;
    let mut steps = Vec::new();
    let mut at = state.clone();
    while goes_on(case, &at) {
        let step = next_step(&at)?.ok_or(Error::NoWay {
            doing: "mend a case",
        })?;
        at = at.after(&step.hold.0).after(&step.moves.0);
        steps.push(step);
    }
    if let Some(first) = steps.first_mut() {
        state = held(&state, Hold::of_sequence(&std::mem::take(&mut first.hold)));
        if of_groups {
            let inner = first.moves.0.iter().position(|&step| !is_outer(step));
            let set_up: Vec<Move> = first.moves.0.drain(..inner.unwrap_or(0)).collect();
            state.turn_all(&set_up);
        }
    }
    // Whoever has a parity may have built layers: their way ends with everything else in its place.
    if let Some(last) = steps.last_mut().filter(|_| of_groups) {
        let inner = last.moves.0.iter().rposition(|&step| !is_outer(step));
        last.moves.0.truncate(inner.map_or(0, |inner| inner + 1));
    }
    let edges = match case.structure {
        Structure::LastGroups(_) => open_edges(&state),
        Structure::Reduced { .. } => away_from_home(&state),
    };
    let mut example = Example {
        case: case.clone(),
        state,
        edges,
        steps,
        known: None,
        others: Vec::new(),
        side_effects: String::new(),
    };
    example.show();
    Ok(example)
}

impl Example {
    /// Holds the cube so that the groups show as well as they can.
    fn show(&mut self) {
        let Some(first) = self.steps.first_mut() else {
            return;
        };
        let hold = showing_all(&self.edges);
        first.moves.0 = in_hold(&first.moves.0, hold);
        self.state = held(&self.state, hold);
        if let Some(second) = self.steps.get_mut(1) {
            let back = hold.inverse().then(Hold::of_sequence(&second.hold));
            second.hold = back.sequence();
        }
        for edge in &mut self.edges {
            let (a, b) = Layout::EDGES[*edge];
            let sides = [hold.brings(a), hold.brings(b)];
            let is_there = |&(a, b): &(Face, Face)| sides == [a, b] || sides == [b, a];
            *edge = Layout::EDGES.iter().position(is_there).unwrap_or(*edge);
        }
        self.edges.sort_unstable();
    }
}

/// The cube in another hold, in the colours it would have there were it solved: which ones the groups have says nothing,
/// and a cube always held alike is easier to look at.
fn held(state: &State, hold: Hold) -> State {
    let turned = state.after(&hold.sequence().0);
    turned.renamed(Face::ALL.map(|face| hold.brings(face)))
}

/// The hold in which most of the edges show, then most of their sides, with the least turning in the hands.
fn showing_all(edges: &[usize]) -> Hold {
    let sides_seen = |hold: Hold, edge: usize| {
        let (a, b) = Layout::EDGES[edge];
        let sides = [hold.brings(a), hold.brings(b)];
        let seen = sides.iter();
        seen.filter(|side| [Face::U, Face::F, Face::R].contains(side))
            .count()
    };
    let score = |hold: &&Hold| {
        let seen = edges.iter().map(|&edge| sides_seen(**hold, edge));
        let shown = seen.clone().filter(|&sides| sides > 0).count();
        let rotations = hold.sequence().0.len();
        (shown, seen.sum::<usize>(), Reverse(rotations))
    };
    Hold::all()
        .iter()
        .rev()
        .max_by_key(score)
        .copied()
        .unwrap_or(Hold::SAME)
}

/// Whether it turns a single layer.
const fn is_outer(step: Move) -> bool {
    matches!(step, Move::Block { layers: 1, .. })
}

/// The edges whose group does not show the colours of the centres beside it.
fn away_from_home(state: &State) -> Vec<usize> {
    let n = state.n();
    let centre = |face: Face| state.at((face.index() * n + n / 2) * n + n / 2);
    let is_home = |edge: usize| {
        let (a, b) = Layout::EDGES[edge];
        let home = [centre(a), centre(b)];
        strip(state, edge).iter().all(|piece| *piece == home)
    };
    (0..12).filter(|&edge| !is_home(edge)).collect()
}

/// The moves of all steps with the holds between them.
pub fn all_moves(steps: &[Step]) -> Sequence {
    let moves = steps
        .iter()
        .flat_map(|step| step.hold.0.iter().chain(&step.moves.0));
    Sequence(moves.copied().collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advise::advise;
    use crate::cube::Spot;

    fn shown(n: usize) -> Vec<Example> {
        let all = Selection::of(n).cases;
        all.iter().map(|case| example(n, case).unwrap()).collect()
    }

    /// It is what it says it is, and its moves end it, judged by the diagnosis.
    fn check(n: usize, example: &Example) {
        let words = Words::default();
        let id = &example.case.id;
        let shown = diagnose(&example.state, &[], &words).case.unwrap();
        assert_eq!(shown.id, *id, "n = {n}");
        let after = example.state.after(&all_moves(&example.steps).0);
        let found = diagnose(&after, &[], &words);
        assert!(found.stage >= Stage::Reduced, "{id}");
        if let Structure::Reduced { flip, swap } = example.case.structure {
            assert!(found.case.is_none(), "{id}");
            // The way out of both leaves the last layers to be done again.
            let is_solved = found.stage == Stage::Solved;
            assert!((flip && swap) || is_solved, "{id}");
        }
        assert!(!example.edges.is_empty());
        for &edge in &example.edges {
            let (a, b) = Layout::EDGES[edge];
            let is_seen = |side: Face| [Face::U, Face::F, Face::R].contains(&side);
            assert!(is_seen(a) || is_seen(b), "{id}");
        }
        if let Structure::LastGroups(_) = example.case.structure {
            assert_eq!(example.edges, open_edges(&example.state));
        }
        // White up and green in front.
        if n % 2 == 1 {
            for face in Face::ALL {
                let row = n / 2;
                let middle = Spot {
                    face,
                    row,
                    col: row,
                };
                assert_eq!(example.state.at_spot(middle), face, "{id}");
            }
        }
        for other in &example.others {
            let after = example.state.after(&other.hold.0).after(&other.moves.0);
            let found = diagnose(&after, &[], &words);
            assert!(found.stage >= Stage::Reduced, "{id}");
        }
    }

    #[test]
    fn every_example_shows_its_case_and_its_way_out() {
        for (n, count) in [(4, 1 + 3), (5, 7), (6, 19 + 3)] {
            let all = shown(n);
            assert_eq!(all.len(), count, "n = {n}");
            for example in all {
                check(n, &example);
            }
        }
    }

    /// Some of the thousands, whose layers are open in different ways.
    #[test]
    fn examples_of_large_cubes_show_their_case_and_its_way_out() {
        for (n, apart) in [(9, 97), (10, 311), (11, 2503)] {
            for case in Case::all(n).iter().step_by(apart) {
                check(n, &example(n, case).unwrap());
            }
        }
    }

    /// Whoever holds the cube for the step goes on from there to another way: that ends the case, too.
    #[test]
    fn other_ways_begin_in_the_hold_of_the_step() {
        let mut met = 0;
        for n in [4, 5, 6] {
            for example in shown(n) {
                for hold in Hold::all() {
                    let state = example.state.after(&hold.sequence().0);
                    let advice = advise(&state).unwrap().unwrap();
                    for other in &advice.others {
                        let held = state.after(&advice.step.hold.0);
                        let after = held.after(&other.from_step.0).after(&other.moves.0);
                        let found = diagnose(&after, &[], &Words::default());
                        assert!(found.stage >= Stage::Reduced, "{}", example.case.id);
                        met += 1;
                    }
                }
            }
        }
        assert!(met > 100, "{met}");
    }
}
