//! The finish of a reduced cube as a beginner does it: cross, first layer, middle layer, then the top layer in
//! four looks. Also the 2×2×2, which is the same without edges.

use super::aim::{Aim, Task};
use super::cross::next_edge;
use super::measure::is_solved;
use super::progress::{BOTTOM_CORNERS, Progress, by_corner, three};
use super::proof::{Claim, Error, Walk};
use super::search::{Trick, cheapest, in_hold, tidied};
use crate::cube::{Face, Hold, Layout, Move, Pieces, Placed, Sequence, Spot, State};

/// Turns that bring a bottom corner down at the front right or take one out. Common practice, no source.
const CORNER_TRICKS: [&str; 6] = [
    "R U R'", "R U' R'", "R U2 R'", "F' U F", "F' U' F", "F' U2 F",
];
/// Bring an edge from the top layer into the middle layer at the front right. Common practice, no source.
const MIDDLE_TRICKS: [&str; 2] = ["R U' R' U' F' U F", "F' U F U R U' R'"];
/// Turn edges of the top layer over. Common practice, no source.
const TURN_OVER_TRICKS: [&str; 2] = ["F R U R' U' F'", "F U R U' R' F'"];
/// Move three edges of the top layer in a ring. Common practice, no source.
const EDGE_RING_TRICKS: [&str; 4] = [
    "R U R' U R U2 R'",
    "R U2 R' U' R U' R'",
    "L' U' L U' L' U2 L",
    "L' U2 L U L' U L",
];
/// Move three corners of the top layer in a ring. Common practice, no source.
const CORNER_RING_TRICKS: [&str; 2] = ["U R U' L' U R' U' L", "L' U R U' L U R' U'"];
/// Turn two corners of the top layer in place. Found by putting two of the edge rings together.
const TWIST_TRICKS: [&str; 4] = [
    "R U R' U R U2 R' L' U' L U' L' U2 L",
    "L' U' L U' L' U2 L R U R' U R U2 R'",
    "R U2 R' U' R U' R' L' U2 L U L' U L",
    "L' U2 L U L' U L R U2 R' U' R U' R'",
];

/// One look of the finish: its tricks and what it is for.
struct Look {
    aim: Aim,
    /// Made in the hold that goes with them; the first is how the cube is held now.
    moves: Vec<Move>,
    hold: Hold,
}

/// Finishes a reduced cube without parity.
///
/// # Errors
///
/// An own error, should a look not do what it says.
pub fn finish(walk: &mut Walk) -> Result<(), Error> {
    if walk.is_over() || is_solved(&walk.state) {
        return Ok(());
    }
    let mut first = best_bottom(&walk.state)?;
    // Each look adds to the progress, which has fewer than 40 values.
    for _ in 0..40 {
        if walk.is_over() || is_solved(&walk.state) {
            return Ok(());
        }
        let (look, claim) = next_look(&walk.state.after(&first.sequence().0))?;
        walk.take(look.aim, first.then(look.hold), look.moves, claim)?;
        first = Hold::SAME;
    }
    Err(Error::NoWay {
        doing: "finish the cube layer by layer",
    })
}

/// For each side the hold with the fewest rotations that brings it to the bottom.
pub fn bottoms() -> impl Iterator<Item = Hold> {
    let sides = [Face::D, Face::U, Face::F, Face::B, Face::R, Face::L];
    sides.into_iter().filter_map(|bottom| {
        Hold::all()
            .iter()
            .copied()
            .find(|hold| hold.brings(bottom) == Face::D)
    })
}

/// The hold with the bottom that most has been done on; of equal ones the one that takes the fewest turns.
fn best_bottom(state: &State) -> Result<Hold, Error> {
    let mut found: Vec<(Progress, Hold)> = bottoms()
        .filter_map(|hold| Some((Progress::of(&state.after(&hold.sequence().0))?, hold)))
        .collect();
    let best = found.iter().map(|&(progress, _)| progress).max();
    found.retain(|&(progress, _)| Some(progress) == best);
    let length = |hold: Hold| -> Result<usize, Error> {
        let mut trial = Walk::from(state.after(&hold.sequence().0));
        for _ in 0..40 {
            if is_solved(&trial.state) {
                break;
            }
            let (look, claim) = next_look(&trial.state)?;
            trial.take(look.aim, look.hold, look.moves, claim)?;
        }
        Ok(trial
            .steps
            .iter()
            .map(|step| step.moves.block_turns())
            .sum())
    };
    let mut shortest: Option<(usize, Hold)> = None;
    for (_, hold) in found {
        let turns = length(hold)?;
        if shortest.is_none_or(|(known, _)| turns < known) {
            shortest = Some((turns, hold));
        }
    }
    shortest.map(|(_, hold)| hold).ok_or(Error::NoWay {
        doing: "choose a bottom to begin with",
    })
}

/// The next look, with what it claims, for a cube held with the bottom it is built from.
fn next_look(state: &State) -> Result<(Look, Claim), Error> {
    let no_way = Error::NoWay {
        doing: "find the next look of the finish",
    };
    let progress = Progress::of(state).ok_or_else(|| no_way.clone())?;
    let named = if state.n() == 2 {
        best_named(state)
    } else {
        three(state)
    };
    let named = named.ok_or_else(|| no_way.clone())?;
    let look = if state.n() == 2 {
        look_of_two(&named, progress)
    } else {
        look_of_three(&named, progress)
    };
    let mut look = look.ok_or(no_way)?;
    look.aim
        .turn_into(look.hold, colours_of_sides(state, &named));
    look.moves = in_hold(&tidied(&look.moves), look.hold);
    let reached = state.after(&look.hold.sequence().0).after(&look.moves);
    let claim = match Progress::of(&reached) {
        Some(Progress::DONE) => Claim::Solved,
        Some(after) if after > progress => Claim::Finish(after),
        _ => Claim::Solved,
    };
    Ok((look, claim))
}

fn look_of_three(three: &State, progress: Progress) -> Option<Look> {
    if progress.cross < 4 {
        let next = next_edge(three)?;
        return Some(Look {
            hold: facing(Layout::EDGES[next.edge].1),
            aim: Aim::edge(Task::CrossEdge, next.edge),
            moves: next.moves,
        });
    }
    if progress.bottom_corners < 4 {
        return next_corner(three);
    }
    if progress.middle_edges < 4 {
        return next_middle_edge(three);
    }
    top_look(three, progress)
}

/// A 2×2×2 named by the bottom corner that most others agree with.
fn best_named(state: &State) -> Option<State> {
    BOTTOM_CORNERS
        .into_iter()
        .filter_map(|anchor| by_corner(state, anchor))
        .max_by_key(|named| {
            BOTTOM_CORNERS
                .iter()
                .filter(|&&at| is_home(named, at))
                .count()
        })
}

/// The colour, by the face it is named after, that belongs on each side.
fn colours_of_sides(state: &State, named: &State) -> [Face; 6] {
    let mut colours = Face::ALL;
    let corner = |face, k: usize, last| Spot {
        face,
        row: k / 2 * last,
        col: k % 2 * last,
    };
    for face in Face::ALL {
        for k in 0..4 {
            let side = named.at_spot(corner(face, k, named.n() - 1));
            colours[side.index()] = state.at_spot(corner(face, k, state.n() - 1));
        }
    }
    colours
}

fn look_of_two(named: &State, progress: Progress) -> Option<Look> {
    if progress.bottom_corners < 4 {
        return next_corner(named);
    }
    let placed = |state: &State| {
        let pieces = Pieces::of(state);
        (0..4).all(|at| pieces.corners[at].is_some_and(|placed| placed.piece == at))
    };
    if placed(named) {
        return top_look(named, progress);
    }
    let task = Task::TopCornersPlaced;
    let tricks = tricks_at(&CORNER_RING_TRICKS, &SIDES);
    let way = cheapest(named, &tricks, corner_order, placed)?;
    Some(trick_look(task, &tricks, &way))
}

fn is_home(state: &State, corner: usize) -> bool {
    Pieces::of(state).corners[corner]
        == Some(Placed {
            piece: corner,
            turn: 0,
        })
}

/// The hold, the bottom staying, that brings side `side` to the front.
fn facing(side: Face) -> Hold {
    Hold::bringing(Face::U, side).unwrap_or(Hold::SAME)
}

/// The four holds that keep the bottom, named by the side they bring to the front.
const SIDES: [Face; 4] = [Face::F, Face::R, Face::B, Face::L];

/// The tricks, written with their place at the front right, for the sides with `is_free`; after them the turns of
/// the top.
fn tricks_at(written: &[&str], sides: &[Face]) -> Vec<Trick> {
    let read = |text: &str| {
        text.parse::<Sequence>()
            .map(|read| read.0)
            .unwrap_or_default()
    };
    let mut tricks: Vec<Trick> = sides
        .iter()
        .flat_map(|&side| {
            written.iter().map(move |text| Trick {
                moves: read(text),
                hold: facing(side),
            })
        })
        .collect();
    tricks.extend(["U", "U'", "U2"].map(|text| Trick {
        moves: read(text),
        hold: Hold::SAME,
    }));
    tricks
}

/// The bottom corner and middle edge positions at the front right, as seen in each of [`SIDES`]'s holds.
const SLOT_CORNERS: [usize; 4] = [4, 7, 6, 5];
const SLOT_EDGES: [usize; 4] = [8, 10, 11, 9];

fn next_corner(three: &State) -> Option<Look> {
    let open: Vec<usize> = (0..4)
        .filter(|&slot| !is_home(three, SLOT_CORNERS[slot]))
        .collect();
    let sides: Vec<Face> = open.iter().map(|&slot| SIDES[slot]).collect();
    let tricks = tricks_at(&CORNER_TRICKS, &sides);
    let ways = open.iter().filter_map(|&slot| {
        let corner = SLOT_CORNERS[slot];
        let key = |state: &State| {
            Pieces::of(state)
                .corners
                .iter()
                .position(|placed| placed.is_some_and(|placed| placed.piece == corner))
                .map(|at| (at, Pieces::of(state).corners[at]))
        };
        let way = cheapest(three, &tricks, key, |state| is_home(state, corner))?;
        let moves = made(&tricks, &way);
        Some((moves.len(), slot, corner, moves))
    });
    let (_, slot, corner, moves) = ways.min_by_key(|&(turns, slot, ..)| (turns, slot))?;
    Some(Look {
        aim: Aim::home(Task::BottomCorner, &Layout::CORNERS[corner]),
        hold: facing(SIDES[slot]),
        moves,
    })
}

fn next_middle_edge(three: &State) -> Option<Look> {
    let home = |state: &State, edge: usize| {
        Pieces::of(state).midges[edge]
            == Some(Placed {
                piece: edge,
                turn: 0,
            })
    };
    let open: Vec<usize> = (0..4)
        .filter(|&slot| !home(three, SLOT_EDGES[slot]))
        .collect();
    let sides: Vec<Face> = open.iter().map(|&slot| SIDES[slot]).collect();
    let tricks = tricks_at(&MIDDLE_TRICKS, &sides);
    let ways = open.iter().filter_map(|&slot| {
        let edge = SLOT_EDGES[slot];
        let key = |state: &State| {
            let pieces = Pieces::of(state);
            let at = pieces
                .midges
                .iter()
                .position(|placed| placed.is_some_and(|placed| placed.piece == edge))?;
            Some((at, pieces.midges[at]))
        };
        let way = cheapest(three, &tricks, key, |state| home(state, edge))?;
        let moves = made(&tricks, &way);
        Some((moves.len(), slot, edge, moves))
    });
    let (_, slot, edge, moves) = ways.min_by_key(|&(turns, slot, ..)| (turns, slot))?;
    Some(Look {
        aim: Aim::edge(Task::MiddleEdge, edge),
        hold: facing(SIDES[slot]),
        moves,
    })
}

fn made(tricks: &[Trick], way: &[usize]) -> Vec<Move> {
    let moves: Vec<Move> = way.iter().flat_map(|&index| tricks[index].here()).collect();
    tidied(&moves)
}

fn corner_order(state: &State) -> Vec<Option<usize>> {
    Pieces::of(state).corners[..4]
        .iter()
        .map(|placed| placed.map(|placed| placed.piece))
        .collect()
}

/// The next of the four looks at the top layer.
fn top_look(three: &State, progress: Progress) -> Option<Look> {
    let tricks;
    let task;
    let way = if progress.top_edges_up < 4 {
        task = Task::TopEdgesUp;
        tricks = tricks_without_top(&TURN_OVER_TRICKS);
        let turns = |state: &State| top_edges(state).map(|placed| placed.map(|edge| edge.turn));
        let goal = |state: &State| turns(state) == [Some(0); 4];
        cheapest(three, &tricks, turns, goal)
    } else if !progress.top_edges_home {
        task = Task::TopEdgesHome;
        tricks = tricks_at(&EDGE_RING_TRICKS, &SIDES);
        let order = |state: &State| top_edges(state).map(|placed| placed.map(|edge| edge.piece));
        let goal = |state: &State| order(state) == [Some(0), Some(1), Some(2), Some(3)];
        cheapest(three, &tricks, order, goal)
    } else if !progress.top_corners_placed {
        task = Task::TopCornersPlaced;
        tricks = tricks_without_top(&CORNER_RING_TRICKS);
        let goal = |state: &State| corner_order(state) == [Some(0), Some(1), Some(2), Some(3)];
        cheapest(three, &tricks, corner_order, goal)
    } else {
        task = Task::TopCornersTurned;
        tricks = tricks_without_top(&TWIST_TRICKS);
        let corners = |state: &State| Pieces::of(state).corners[..4].to_vec();
        let goal = |state: &State| (0..4).all(|corner| is_home(state, corner));
        cheapest(three, &tricks, corners, goal)
    };
    let mut way = way?;
    // Stop after the first trick that already is progress: each step is one thing to do.
    let stop = (1..way.len()).find(|&stop| {
        let reached = three.after(&made(&tricks, &way[..stop]));
        Progress::of(&reached) > Some(progress)
    });
    way.truncate(stop.unwrap_or(way.len()));
    Some(trick_look(task, &tricks, &way))
}

fn top_edges(state: &State) -> [Option<Placed>; 4] {
    let midges = Pieces::of(state).midges;
    [0, 1, 2, 3].map(|at| midges[at])
}

/// The tricks for all four sides, without turns of the top.
fn tricks_without_top(written: &[&str]) -> Vec<Trick> {
    let mut tricks = tricks_at(written, &SIDES);
    tricks.truncate(written.len() * SIDES.len());
    tricks
}

/// A look that makes tricks in the hold of the first of them.
fn trick_look(task: Task, tricks: &[Trick], way: &[usize]) -> Look {
    let hold = way
        .iter()
        .find(|&&index| tricks[index].moves.len() > 1)
        .map_or(Hold::SAME, |&index| tricks[index].hold);
    Look {
        aim: Aim::plain(task),
        hold,
        moves: made(tricks, way),
    }
}
