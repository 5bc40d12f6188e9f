//! How far a state has come, read off its stickers alone: the numbers that every piece of advice is held to.

use crate::cube::{Face, Hold, Layout, State};
use crate::diagnose::Stage;
use serde::Serialize;

/// What is true of a state.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Reaches {
    /// The stage.
    pub stage: Stage,
    /// The sides whose centres are whole.
    pub centres_done: Vec<Face>,
    /// The edge groups whose pieces all agree, of 12.
    pub groups_done: usize,
}

impl Reaches {
    /// Measures a state.
    pub fn of(state: &State) -> Self {
        let centres_done: Vec<Face> = Face::ALL
            .into_iter()
            .filter(|&face| centre_is_whole(state, face))
            .collect();
        let groups_done = joined(state, 2).into_iter().filter(|&is| is).count();
        let reached = if is_solved(state) {
            Stage::Solved
        } else if centres_done.len() < 6 || !centres_agree(state) {
            Stage::Centres
        } else if groups_done < 10 {
            Stage::Pairing
        } else if groups_done < 12 {
            Stage::LastGroups
        } else {
            Stage::Reduced
        };
        Self {
            stage: reached,
            centres_done,
            groups_done,
        }
    }
}

/// Whether every face has one colour.
pub fn is_solved(state: &State) -> bool {
    state
        .stickers()
        .chunks(state.n() * state.n())
        .all(|face| face.iter().all(|&sticker| sticker == face[0]))
}

/// The inner stickers of a face, row by row.
pub fn centre(state: &State, face: Face) -> impl Iterator<Item = Face> + '_ {
    let n = state.n();
    let first = face.index() * n * n;
    (1..n.max(2) - 1)
        .flat_map(move |row| (1..n - 1).map(move |col| state.at(first + row * n + col)))
}

/// How many inner stickers of a face have a colour.
pub fn centre_count(state: &State, face: Face, colour: Face) -> usize {
    centre(state, face)
        .filter(|&sticker| sticker == colour)
        .count()
}

/// Whether the inner stickers of a face have one colour.
pub fn centre_is_whole(state: &State, face: Face) -> bool {
    let mut stickers = centre(state, face);
    stickers
        .next()
        .is_none_or(|first| stickers.all(|sticker| sticker == first))
}

/// The side on which each colour's centre lies, by one sticker of every centre; `None` if two are alike.
pub fn centre_sides(state: &State) -> Option<[Face; 6]> {
    let n = state.n();
    let mut sides = [None; 6];
    for face in Face::ALL {
        let colour = if n == 2 {
            face
        } else {
            state.at((face.index() * n + n / 2) * n + n / 2)
        };
        sides[colour.index()] = Some(face);
    }
    let mut found = Face::ALL;
    for (found, side) in found.iter_mut().zip(sides) {
        *found = side?;
    }
    Some(found)
}

/// The hold in which a cube solved with these centres would be held: it brings each face name to its centre's
/// side. `None` if the six colours stand in an arrangement in which the corners cannot be solved.
pub fn standing(state: &State) -> Option<Hold> {
    let sides = centre_sides(state)?;
    let hold = Hold::bringing(sides[Face::U.index()], sides[Face::F.index()])?.inverse();
    Face::ALL
        .into_iter()
        .all(|colour| hold.brings(colour) == sides[colour.index()])
        .then_some(hold)
}

/// Whether six whole centres stand as the corners need them.
pub fn centres_agree(state: &State) -> bool {
    standing(state).is_some()
}

/// For each edge, whether its pieces from layer `layer` inwards agree: the same two colours, the same way round.
/// With `layer` 2 these are the whole groups; on cubes up to 3×3×3 there is nothing to disagree.
pub fn joined(state: &State, layer: usize) -> [bool; 12] {
    let layout = state.layout();
    let mut joined = [true; 12];
    for (edge, joined) in joined.iter_mut().enumerate() {
        let mut cells = cells(layout, edge, layer)
            .map(|[on_a, on_b]| (state.at(usize::from(on_a)), state.at(usize::from(on_b))));
        if let Some(first) = cells.next() {
            *joined = cells.all(|cell| cell == first);
        }
    }
    joined
}

/// The pieces of an edge AB from layer `layer` inwards, each as its places on A and B.
pub fn cells(layout: &Layout, edge: usize, layer: usize) -> impl Iterator<Item = [u16; 2]> + '_ {
    let wings = layout
        .wing_orbits
        .iter()
        .filter(move |orbit| orbit.layer >= layer);
    let wings = wings.flat_map(move |orbit| {
        orbit.wings[2 * edge..2 * edge + 2].iter().map(|wing| {
            let [first, second] = wing.places;
            if wing.at_plus_end {
                [first, second]
            } else {
                [second, first]
            }
        })
    });
    let midge = layout.midges.get(edge).map(|midge| midge.places);
    midge.into_iter().chain(wings)
}
