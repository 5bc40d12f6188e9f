//! The finish of a reduced cube as a beginner does it: cross, first layer, middle layer, then the top layer in
//! four looks. Also the 2×2×2, which is the same without edges.

use super::aim::{Aim, Task};
use super::cross::{self, Spots};
use super::cubies::Cubies;
use super::measure::is_solved;
use super::progress::{BOTTOM_CORNERS, Progress, by_corner, three};
use super::proof::{Claim, Error, Walk};
use super::search::{Trick, cheapest, cheapest_and_best, in_hold, tidied};
use crate::cube::{Face, Hold, Layout, Move, Sequence, Spot, State};
use std::cmp::Reverse;
use std::sync::OnceLock;

/// A set of tricks for one look.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Kit {
    /// Bring a bottom corner down at the front right or take one out.
    Corner,
    /// Bring an edge from the top layer into the middle layer at the front right.
    Middle,
    /// Turn edges of the top layer over.
    TurnOver,
    /// Move three edges of the top layer in a ring.
    EdgeRing,
    /// Move three corners of the top layer in a ring.
    CornerRing,
    /// Turn two corners of the top layer in place.
    Twist,
}

impl Kit {
    /// The tricks, written with their place at the front right. Common practice, no source, but for the twists, which
    /// were found by putting two of the edge rings together.
    const fn written(self) -> &'static [&'static str] {
        match self {
            Self::Corner => &[
                "R U R'", "R U' R'", "R U2 R'", "F' U F", "F' U' F", "F' U2 F",
            ],
            Self::Middle => &["R U' R' U' F' U F", "F' U F U R U' R'"],
            Self::TurnOver => &["F R U R' U' F'", "F U R U' R' F'"],
            Self::EdgeRing => &[
                "R U R' U R U2 R'",
                "R U2 R' U' R U' R'",
                "L' U' L U' L' U2 L",
                "L' U2 L U L' U L",
            ],
            Self::CornerRing => &["U R U' L' U R' U' L", "L' U R U' L U R' U'"],
            Self::Twist => &[
                "R U R' U R U2 R' L' U' L U' L' U2 L",
                "L' U' L U' L' U2 L R U R' U R U2 R'",
                "R U2 R' U' R U' R' L' U2 L U L' U L",
                "L' U2 L U L' U L R U2 R' U' R U' R'",
            ],
        }
    }

    /// The tricks with their place at each of [`SIDES`] in turn; after them the turns of the top.
    fn all(self) -> &'static [Trick] {
        static MADE: [OnceLock<Vec<Trick>>; 6] = [const { OnceLock::new() }; 6];
        MADE[self as usize].get_or_init(|| {
            let read = |text: &str| {
                text.parse::<Sequence>()
                    .map(|read| read.0)
                    .unwrap_or_default()
            };
            let mut tricks: Vec<Trick> = SIDES
                .iter()
                .flat_map(|&side| {
                    let written = self.written().iter();
                    written.map(move |text| Trick::new(read(text), facing(side)))
                })
                .collect();
            let top = ["U", "U'", "U2"].map(|text| Trick::new(read(text), Hold::SAME));
            tricks.extend(top);
            tricks
        })
    }

    /// The tricks with their place at any of these sides.
    fn at(self, sides: &[Face]) -> Vec<&'static Trick> {
        let each = self.written().len();
        let tricks = SIDES.iter().zip(self.all().chunks(each));
        tricks
            .filter(|(side, _)| sides.contains(side))
            .flat_map(|(_, tricks)| tricks)
            .collect()
    }

    /// The same, and the turns of the top.
    fn with_top(self, sides: &[Face]) -> Vec<&'static Trick> {
        let mut tricks = self.at(sides);
        tricks.extend(&self.all()[self.written().len() * SIDES.len()..]);
        tricks
    }
}

/// The tricks longer than what is looked back without knowing any, as their moves, each with whether it brings an edge
/// into the middle layer; all others leave what is below the top.
pub(super) fn words() -> impl Iterator<Item = (&'static [Move], bool)> {
    let kits = [
        Kit::Middle,
        Kit::TurnOver,
        Kit::EdgeRing,
        Kit::CornerRing,
        Kit::Twist,
    ];
    kits.into_iter().flat_map(|kit| {
        let written = kit.written().len();
        let tricks = kit.all()[..written].iter();
        tricks.map(move |trick| (&trick.moves[..], kit == Kit::Middle))
    })
}

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

/// The edges of a cross that is kept to, however near another may be.
const WORTH_KEEPING: u8 = 3;

/// Keeps the bottoms whose cross takes the fewest turns; while all are far, also those that take one more.
fn retain_near_crosses(state: &State, found: &mut Vec<(Progress, Hold)>) {
    let spots = |hold: Hold| Spots::of(&three(&state.after(&hold.sequence().0))?);
    let turns = |hold: Hold| {
        let spots = spots(hold)?;
        (0..=cross::MOST_TURNS).find(|&turns| spots.is_home_in(turns))
    };
    let needed: Vec<Option<usize>> = found.iter().map(|&(_, hold)| turns(hold)).collect();
    let Some(fewest) = needed.iter().flatten().min().copied() else {
        return;
    };
    let most = fewest + usize::from(fewest > NEAR_CROSS);
    let mut needed = needed.into_iter();
    found.retain(|_| needed.next().flatten().is_some_and(|turns| turns <= most));
}

/// The hold with the bottom that most has been done on; of equal ones the one that takes the fewest turns to solved.
fn best_bottom(state: &State) -> Result<Hold, Error> {
    let mut found: Vec<(Progress, Hold)> = bottoms()
        .filter_map(|hold| Some((Progress::of(&state.after(&hold.sequence().0))?, hold)))
        .collect();
    let best = found.iter().map(|&(progress, _)| progress).max();
    if best.is_some_and(|best| best.cross < WORTH_KEEPING) {
        retain_near_crosses(state, &mut found);
    } else {
        found.retain(|&(progress, _)| Some(progress) == best);
    }
    let length = |hold: Hold| -> Result<usize, Error> {
        let held = state.after(&hold.sequence().0);
        // Made on the 3×3×3 that it is; a 2×2×2 is none.
        let mut trial = Walk::from(three(&held).unwrap_or(held));
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
        return cross_look(three);
    }
    if progress.bottom_corners < 4 {
        return next_corner(three);
    }
    if progress.middle_edges < 4 {
        return next_middle_edge(three);
    }
    top_look(three, progress)
}

/// How near the cross must be for a turn more to be tried.
const NEAR_CROSS: usize = 3;

/// The turns that a corner of the bottom is worth: no way to bring one home takes fewer.
const CORNER_TURNS: usize = 3;

/// The cross in the fewest turns, or in one more where a corner comes home with it, and so that most stands besides.
fn cross_look(three: &State) -> Option<Look> {
    let spots = Spots::of(three)?;
    let fewest = (1..=cross::MOST_TURNS).find(|&turns| spots.is_home_in(turns))?;
    let mut ways = spots.ways_home(fewest);
    if fewest <= NEAR_CROSS {
        ways.extend(spots.ways_home(fewest + 1));
    }
    let cost = |way: &Vec<Move>| {
        let after = Progress::of_three(&three.after(way));
        let corners = usize::from(4 - after.bottom_corners);
        (way.len() + CORNER_TURNS * corners, Reverse(after))
    };
    let moves = ways.into_iter().min_by_key(cost)?;
    let away: Vec<[Face; 2]> = spots
        .away()
        .map(|edge| Layout::EDGES[edge].into())
        .collect();
    Some(Look {
        hold: facing(away.first().map_or(Face::F, |&[_, side]| side)),
        aim: Aim::homes(Task::Cross, away.into_iter().map(Vec::from)),
        moves,
    })
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
    let cubies = Cubies::of(named)?;
    if top_corners(&cubies) == PLACED {
        return top_look(named, progress);
    }
    let tricks = Kit::CornerRing.with_top(&SIDES);
    let way = cheapest(&cubies, &tricks, top_corners, |cubies| {
        top_corners(cubies) == PLACED
    })?;
    Some(trick_look(Task::TopCornersPlaced, &way))
}

fn is_home(named: &State, corner: usize) -> bool {
    Cubies::of(named).is_some_and(|cubies| cubies.is_corner_home(corner))
}

/// The hold, the bottom staying, that brings side `side` to the front.
fn facing(side: Face) -> Hold {
    Hold::bringing(Face::U, side).unwrap_or(Hold::SAME)
}

/// The four holds that keep the bottom, named by the side they bring to the front.
const SIDES: [Face; 4] = [Face::F, Face::R, Face::B, Face::L];

/// The bottom corner and middle edge positions at the front right, as seen in each of [`SIDES`]'s holds.
const SLOT_CORNERS: [usize; 4] = [4, 7, 6, 5];
const SLOT_EDGES: [usize; 4] = [8, 10, 11, 9];

fn next_corner(named: &State) -> Option<Look> {
    let cubies = Cubies::of(named)?;
    let open: Vec<usize> = (0..4)
        .filter(|&slot| !cubies.is_corner_home(SLOT_CORNERS[slot]))
        .collect();
    let sides: Vec<Face> = open.iter().map(|&slot| SIDES[slot]).collect();
    let tricks = Kit::Corner.with_top(&sides);
    let ways = open.iter().filter_map(|&slot| {
        let corner = SLOT_CORNERS[slot];
        let key = |cubies: &Cubies| cubies.corner(corner);
        let way = cheapest(&cubies, &tricks, key, |cubies| {
            cubies.is_corner_home(corner)
        })?;
        let moves = made(&way);
        Some((moves.len(), slot, moves))
    });
    let (turns, slot, moves) = ways.min_by_key(|&(turns, slot, _)| (turns, slot))?;
    let with_edge = open.iter().filter_map(|&slot| {
        let moves = pair_home(&cubies, slot).filter(|moves| moves.len() <= turns + 1)?;
        Some((slot, moves))
    });
    let with_edge = with_edge.min_by_key(|(slot, moves)| (moves.len(), *slot));
    let corner = |slot: usize| Layout::CORNERS[SLOT_CORNERS[slot]].to_vec();
    let (slot, homes, moves) = match with_edge {
        Some((slot, moves)) if named.n() > 2 => {
            let edge: [Face; 2] = Layout::EDGES[SLOT_EDGES[slot]].into();
            (slot, vec![corner(slot), edge.to_vec()], moves)
        }
        _ => (slot, vec![corner(slot)], moves),
    };
    Some(Look {
        aim: Aim::homes(Task::BottomCorner, homes),
        hold: facing(SIDES[slot]),
        moves,
    })
}

/// The fewest turns of the top and one trick after them that bring a corner of the bottom home, and the edge above it
/// as well.
fn pair_home(cubies: &Cubies, slot: usize) -> Option<Vec<Move>> {
    let tricks = Kit::Corner.with_top(&[SIDES[slot]]);
    let (tops, tricks): (Vec<&Trick>, Vec<&Trick>) =
        tricks.into_iter().partition(|trick| trick.moves.len() == 1);
    let firsts = std::iter::once(None).chain(tops.into_iter().map(Some));
    let ways = firsts.flat_map(|first| tricks.iter().map(move |&trick| (first, trick)));
    let ways = ways.filter(|(first, trick)| {
        let turned = first.map_or(*cubies, |first| first.applied_to(cubies));
        let after = trick.applied_to(&turned);
        after.is_corner_home(SLOT_CORNERS[slot]) && after.is_edge_home(SLOT_EDGES[slot])
    });
    let moves =
        ways.map(|(first, trick)| made(&first.into_iter().chain([trick]).collect::<Vec<_>>()));
    moves.min_by_key(Vec::len)
}

fn next_middle_edge(three: &State) -> Option<Look> {
    let cubies = Cubies::of(three)?;
    let open: Vec<usize> = (0..4)
        .filter(|&slot| !cubies.is_edge_home(SLOT_EDGES[slot]))
        .collect();
    let sides: Vec<Face> = open.iter().map(|&slot| SIDES[slot]).collect();
    let tricks = Kit::Middle.with_top(&sides);
    let ways = open.iter().filter_map(|&slot| {
        let edge = SLOT_EDGES[slot];
        let key = |cubies: &Cubies| cubies.edge(edge);
        let way = cheapest(&cubies, &tricks, key, |cubies| cubies.is_edge_home(edge))?;
        let moves = made(&way);
        Some((moves.len(), slot, edge, moves))
    });
    let (_, slot, edge, moves) = ways.min_by_key(|&(turns, slot, ..)| (turns, slot))?;
    Some(Look {
        aim: Aim::edge(Task::MiddleEdge, edge),
        hold: facing(SIDES[slot]),
        moves,
    })
}

fn made(way: &[&Trick]) -> Vec<Move> {
    let moves: Vec<Move> = way.iter().flat_map(|trick| trick.here()).collect();
    tidied(&moves)
}

/// Which pieces sit in the top layer's corners.
fn top_corners(cubies: &Cubies) -> [u8; 4] {
    [0, 1, 2, 3].map(|at| cubies.corners[at] / 3)
}

/// The four pieces of the top layer in their own places.
const PLACED: [u8; 4] = [0, 1, 2, 3];

/// The next of the four looks at the top layer.
fn top_look(named: &State, progress: Progress) -> Option<Look> {
    let cubies = Cubies::of(named)?;
    let task;
    let way = if progress.top_edges_up < 4 {
        task = Task::TopEdgesUp;
        let turns = |cubies: &Cubies| [0, 1, 2, 3].map(|at| cubies.edges[at] % 2);
        let tricks = Kit::TurnOver.at(&SIDES);
        cheapest(&cubies, &tricks, turns, |cubies| turns(cubies) == [0; 4])
    } else if !progress.top_edges_home {
        task = Task::TopEdgesHome;
        let order = |cubies: &Cubies| [0, 1, 2, 3].map(|at| cubies.edges[at] / 2);
        let tricks = Kit::EdgeRing.with_top(&SIDES);
        let is_home = |cubies: &Cubies| order(cubies) == PLACED;
        let way = cheapest(&cubies, &tricks, order, is_home)?;
        // Of the ways with one ring, which are few, the one that leaves least to do with the corners.
        let top = |cubies: &Cubies| {
            let corners = [0, 1, 2, 3].map(|at| cubies.corners[at]);
            (order(cubies), corners)
        };
        let corners = |cubies: &Cubies| {
            let home = (0..4).filter(|&at| cubies.is_corner_home(at)).count();
            (top_corners(cubies) == PLACED, home)
        };
        if way.iter().filter(|trick| trick.moves.len() > 1).count() == 1 {
            cheapest_and_best(&cubies, &tricks, top, is_home, corners)
        } else {
            Some(way)
        }
    } else if !progress.top_corners_placed {
        task = Task::TopCornersPlaced;
        let tricks = Kit::CornerRing.at(&SIDES);
        cheapest(&cubies, &tricks, top_corners, |cubies| {
            top_corners(cubies) == PLACED
        })
    } else {
        task = Task::TopCornersTurned;
        let corners = |cubies: &Cubies| [0, 1, 2, 3].map(|at| cubies.corners[at]);
        let tricks = Kit::Twist.at(&SIDES);
        cheapest(&cubies, &tricks, corners, |cubies| {
            (0..4).all(|corner| cubies.is_corner_home(corner))
        })
    };
    let mut way = way?;
    // Stop after the first trick that already is progress: each step is one thing to do.
    let stop = (1..way.len()).find(|&stop| {
        let reached = named.after(&made(&way[..stop]));
        Progress::of(&reached) > Some(progress)
    });
    way.truncate(stop.unwrap_or(way.len()));
    Some(trick_look(task, &way))
}

/// A look that makes tricks in the hold of the first of them.
fn trick_look(task: Task, way: &[&Trick]) -> Look {
    let hold = way
        .iter()
        .find(|trick| trick.moves.len() > 1)
        .map_or(Hold::SAME, |trick| trick.hold);
    Look {
        aim: Aim::plain(task),
        hold,
        moves: made(way),
    }
}
