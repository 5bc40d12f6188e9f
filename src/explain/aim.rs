//! What a step is for and what it brings, as sentences with the colours of the very cube, and the stickers to look
//! at meanwhile.

use crate::advise::{Aim, Piece, Step, Task};
use crate::cube::{
    CORNER_NAMES, EDGE_NAMES, Face, Layout, Spot, State, Words, counted, listed, wing_word,
};
use crate::diagnose::{Stage, strip_places};
use std::collections::BTreeSet;

/// What the step is for, without a full stop.
pub fn aim_sentence(aim: &Aim, words: &Words) -> String {
    match &aim.task {
        Task::Bar {
            building,
            side,
            from,
            colour,
            ..
        } => format!(
            "{building}: bring {} from the centre on {from} into the centre on {side}, a bar at a time",
            words.of(*colour)
        ),
        Task::CentrePieces {
            building,
            side,
            from,
            colour,
            gain,
            ..
        } => {
            let plural = if *gain == 1 { "" } else { "s" };
            format!(
                "{building}: bring {} {} piece{plural} from the centre on {from} into the centre on {side}",
                counted(*gain),
                words.of(*colour)
            )
        }
        Task::Pair { n, layer, more, .. } => pairing(aim, *n, *layer, *more, words),
        Task::LastGroups {
            n,
            layer,
            open,
            is_parity,
        } => {
            let groups = if *open == 1 { "group" } else { "groups" };
            let what = if *layer == 2 {
                String::new()
            } else {
                format!("the {}s of ", wing_word(*n, layer - 2))
            };
            let kind = if *is_parity { ", a parity" } else { "" };
            format!(
                "Join {what}the last {} open {groups}, {}{kind}",
                counted(*open),
                places(aim)
            )
        }
        Task::Cross => {
            let below = aim.pieces.first().and_then(|piece| piece.colours.first());
            let below = below.map_or_else(String::new, |&home| format!(" on {}", words.of(home)));
            format!("Cross{below}: bring {}", pieces(aim, words))
        }
        Task::BottomCorner => format!("First layer: bring {}", pieces(aim, words)),
        Task::MiddleEdge => format!("Middle layers: bring {}", pieces(aim, words)),
        _ => aim.to_string(),
    }
}

/// What holds after a step on a cube of order `n`, as one sentence.
pub fn outcome_sentence(step: &Step, n: usize, words: &Words) -> String {
    let reaches = &step.reaches;
    let groups = reaches.groups_done;
    match (&step.aim.task, reaches.stage) {
        (_, Stage::Solved) => "The cube is then solved.".to_owned(),
        (Task::LastGroups { .. } | Task::Pair { .. }, Stage::Reduced) => {
            "All groups are then whole, and the cube turns like a 3×3×3.".to_owned()
        }
        (Task::Flip | Task::Swap, Stage::Reduced) => {
            "The cube then turns like a 3×3×3, without that parity.".to_owned()
        }
        (Task::Cross, _) => "The cross then stands.".to_owned(),
        (Task::BottomCorner | Task::MiddleEdge, _) => {
            let are = ["It is", "Both are"][usize::from(step.aim.pieces.len() > 1)];
            format!("{are} then home, and what was finished before stands again.")
        }
        (
            Task::Pair {
                n, layer, fitting, ..
            },
            _,
        ) => format!(
            "Then {fitting} of the 24 {}s {}, {} whole, and the centres are whole again.",
            wing_word(*n, layer - 2),
            together(*n, *layer),
            of_groups(groups)
        ),
        (Task::ExchangeCentres { .. }, Stage::Centres) => {
            "Then all six centres are whole again; the next step exchanges two more.".to_owned()
        }
        (Task::ExchangeCentres { .. }, _) => {
            "Then all six centres are whole and stand as the corners need them.".to_owned()
        }
        (Task::LastGroups { n, layer, .. }, _) if *layer > 2 => format!(
            "Then all {}s {}, {} whole, and the centres are whole again.",
            wing_word(*n, layer - 2),
            together(*n, *layer),
            of_groups(groups)
        ),
        (
            Task::Bar {
                side,
                colour,
                stickers,
                ..
            }
            | Task::CentrePieces {
                side,
                colour,
                stickers,
                ..
            },
            _,
        ) => {
            let (all, colour) = ((n - 2) * (n - 2), words.of(*colour));
            if *stickers < all {
                format!("Then {stickers} of the {all} centre stickers on {side} are {colour}.")
            } else if reaches.centres_done.len() == Face::ALL.len() {
                "Then all six centres are whole.".to_owned()
            } else {
                format!("Then the {colour} centre on {side} is whole.")
            }
        }
        (_, Stage::Centres | Stage::Illegal) => {
            format!(
                "Then {} of 6 centres are whole.",
                reaches.centres_done.len()
            )
        }
        (Task::TurnBack { .. } | Task::CarryOn { .. }, Stage::Pairing | Stage::LastGroups) => {
            format!(
                "Then the centres are whole, and {} whole.",
                of_groups(groups)
            )
        }
        (_, Stage::Pairing | Stage::LastGroups) => {
            format!("Then {} whole.", of_groups(groups))
        }
        (_, Stage::Reduced) => "What was finished before stands again.".to_owned(),
    }
}

/// Which wing is joined to what, and where both are.
fn pairing(aim: &Aim, n: usize, layer: usize, more: usize, words: &Words) -> String {
    let word = wing_word(n, layer - 2);
    let are_fellows = 2 * layer == n;
    let inner = if 2 * layer + 1 == n { "midge" } else { "group" };
    let joins = aim
        .pieces
        .chunks(2)
        .enumerate()
        .filter_map(|(index, join)| {
            let [wing, beside] = join else {
                return None;
            };
            let (here, there) = (place_name(wing), place_name(beside));
            let colours: Vec<&str> = wing.colours.iter().map(|&home| words.of(home)).collect();
            let colours = colours.join("-");
            let one = if index == 0 { word } else { "one" };
            Some(if are_fellows {
                format!("the two {colours} {one}s at {here} and {there}")
            } else if here == there {
                format!("the {colours} {one} that lies flipped at {here} to its {inner} there")
            } else {
                format!("the {colours} {one} at {here} to its {inner} at {there}")
            })
        });
    let mut joins: Vec<String> = joins.collect();
    if let [wing, beside, other, beside_other] = &aim.pieces[..]
        && (wing, beside) == (other, beside_other)
        && !are_fellows
    {
        let colours: Vec<&str> = wing.colours.iter().map(|&home| words.of(home)).collect();
        let (here, there) = (place_name(wing), place_name(beside));
        let colours = colours.join("-");
        joins = vec![if here == there {
            format!("both {colours} {word}s, that lie flipped at {here}, to their {inner} there")
        } else {
            format!("both {colours} {word}s at {here} to their {inner} at {there}")
        }];
    }
    if more > 0 {
        let pairs = match (are_fellows, more) {
            (false, _) => "",
            (true, 1) => " pair",
            (true, _) => " pairs",
        };
        joins.push(format!("{} more{pairs}", counted(more)));
    }
    let verb = if are_fellows { "Pair" } else { "Join" };
    format!("{verb} {}", listed(&joins))
}

/// What is true of wings of a layer that fit: the innermost of an even cube belong to each other, all others to the
/// parts further in.
const fn together(n: usize, layer: usize) -> &'static str {
    if 2 * layer == n {
        "are paired"
    } else {
        "lie beside the inner parts they belong to"
    }
}

/// So many of the twelve groups, with the verb.
fn of_groups(number: usize) -> String {
    match number {
        0 => "none of the twelve groups is".to_owned(),
        1 => "one of the twelve groups is".to_owned(),
        _ => format!("{} of the twelve groups are", counted(number)),
    }
}

/// The places to look at, on the state in the hold of the step and before its moves; none where the whole cube
/// matters.
pub fn places_to_watch(aim: &Aim, held: &State) -> BTreeSet<usize> {
    let n = held.n();
    let mut watched = BTreeSet::new();
    match &aim.task {
        Task::Bar {
            side, from, colour, ..
        }
        | Task::CentrePieces {
            side, from, colour, ..
        } => {
            let on = [*side, *from].map(|face| centre_places(n, face));
            let matching = on
                .into_iter()
                .flatten()
                .filter(|&place| held.at(place) == *colour);
            watched.extend(matching);
        }
        Task::ExchangeCentres { one, other } => {
            watched.extend(
                [*one, *other]
                    .into_iter()
                    .flat_map(|face| centre_places(n, face)),
            );
        }
        _ => {}
    }
    for piece in &aim.pieces {
        let home = places_of(held, &piece.sides);
        let now = whereabouts(held, &piece.colours);
        watched.extend(if now.is_empty() { home } else { now });
    }
    watched
}

fn centre_places(n: usize, face: Face) -> impl Iterator<Item = usize> {
    (1..n - 1).flat_map(move |row| (1..n - 1).map(move |col| Spot { face, row, col }.place(n)))
}

/// The places of the edge group or corner position on these sides.
fn places_of(state: &State, sides: &[Face]) -> Vec<usize> {
    let layout = state.layout();
    if let Some(edge) = edge_on(sides) {
        let strip = strip_places(layout, edge);
        return strip.into_iter().flatten().map(usize::from).collect();
    }
    let corner = corner_on(sides).map(|corner| layout.corners[corner].places);
    corner.into_iter().flatten().map(usize::from).collect()
}

/// The places of the edge group or corner piece with these colours, wherever it is; none if it cannot be told.
fn whereabouts(state: &State, colours: &[Face]) -> Vec<usize> {
    let layout = state.layout();
    let wanted: BTreeSet<Face> = colours.iter().copied().collect();
    let shows = |places: &[u16]| {
        let shown: BTreeSet<Face> = places
            .iter()
            .map(|&place| state.at(usize::from(place)))
            .collect();
        shown == wanted
    };
    let groups = (0..12).map(|edge| strip_places(layout, edge).into_iter().flatten().collect());
    let corners = layout.corners.iter().map(|corner| corner.places.to_vec());
    let found = match colours.len() {
        2 => groups.into_iter().find(|places: &Vec<u16>| shows(places)),
        3 => corners.into_iter().find(|places| shows(places)),
        _ => None,
    };
    found.into_iter().flatten().map(usize::from).collect()
}

fn edge_on(sides: &[Face]) -> Option<usize> {
    let [one, other] = *sides else {
        return None;
    };
    let is_it = |&(a, b): &(Face, Face)| (a, b) == (one, other) || (b, a) == (one, other);
    Layout::EDGES.iter().position(is_it)
}

fn corner_on(sides: &[Face]) -> Option<usize> {
    let is_it =
        |faces: &[Face; 3]| sides.len() == 3 && sides.iter().all(|side| faces.contains(side));
    Layout::CORNERS.iter().position(is_it)
}

/// The places of the pieces by their names: `UF and DF`.
fn places(aim: &Aim) -> String {
    let names: Vec<String> = aim.pieces.iter().map(place_name).collect();
    listed(&names)
}

fn place_name(piece: &Piece) -> String {
    let edge = edge_on(&piece.sides).map(|edge| EDGE_NAMES[edge]);
    let corner = corner_on(&piece.sides).map(|corner| CORNER_NAMES[corner]);
    edge.or(corner).map_or_else(
        || piece.sides.iter().map(|side| side.letter()).collect(),
        str::to_owned,
    )
}

/// The pieces by their colours and where they belong: `the white-green edge home to DF`.
fn pieces(aim: &Aim, words: &Words) -> String {
    let names: Vec<String> = aim
        .pieces
        .iter()
        .map(|piece| {
            let kind = if piece.sides.len() == 3 {
                "corner"
            } else {
                "edge"
            };
            let place = place_name(piece);
            let home = if aim.pieces.len() == 1 { " home" } else { "" };
            if piece.colours.is_empty() {
                return format!("the {kind}{home} to {place}");
            }
            let colours: Vec<&str> = piece.colours.iter().map(|&home| words.of(home)).collect();
            format!("the {} {kind}{home} to {place}", colours.join("-"))
        })
        .collect();
    listed(&names)
}
