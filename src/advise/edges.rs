//! The edge groups, from the inside out: pairing while more than two are open, then the last ones by their case.

use super::aim::{Aim, Piece, Task};
use super::arrangement::Arrangement;
use super::holding::showing_edges;
use super::last_groups::{Mending, solve};
use super::measure::Reaches;
use super::pairing::{Pairing, best};
use super::proof::{Claim, Error, Part, PartKind, Walk};
use super::search::in_hold;
use super::wings::{Action, Letter, Orbit};
use crate::cube::{Hold, Layout, Move, Sequence, State};
use crate::diagnose::{Stage, open_edges};

/// Makes all groups whole on a cube with finished centres.
///
/// # Errors
///
/// An own error if a step does not stand its proof or none is found.
pub fn join_groups(walk: &mut Walk) -> Result<(), Error> {
    if walk.is_over() {
        return Ok(());
    }
    if Reaches::of(&walk.state).stage == Stage::LastGroups {
        return mend_last(walk);
    }
    let innermost = walk.state.n() / 2;
    for layer in (2..=innermost).rev() {
        if !walk.is_over() {
            join_layer(walk, layer)?;
        }
    }
    Ok(())
}

/// Joins the wings of one layer, those further in being joined.
fn join_layer(walk: &mut Walk, layer: usize) -> Result<(), Error> {
    // Each pairing makes at least one of 24 wings fit; the last ones take one step more.
    for _ in 0..26 {
        let orbit = Orbit::of(&walk.state, layer).ok_or(Error::Illegal)?;
        let open = orbit.open();
        if open.is_empty() || walk.is_over() {
            return Ok(());
        }
        let pairing = if open.len() > 2 { best(&orbit) } else { None };
        match pairing {
            Some(pairing) => pair(walk, layer, &orbit, &pairing)?,
            None => mend_layer(walk, layer, &orbit, &open)?,
        }
    }
    Err(Error::NoWay {
        doing: "join the wings of a layer",
    })
}

/// The moves of letters whose blocks end at `layer`; all layers further out go along, for they are not joined yet.
fn moves_at(letters: &[Letter], layer: usize) -> Vec<Move> {
    let layers: Vec<usize> = (2..=layer).collect();
    letters
        .iter()
        .flat_map(|letter| letter.moves(&layers))
        .collect()
}

fn pair(walk: &mut Walk, layer: usize, orbit: &Orbit, pairing: &Pairing) -> Result<(), Error> {
    let action = Action::of(&pairing.letters());
    let after = orbit.after(&action);
    let from = action.inverse();
    // Where the wings that come to fit lie, and what they come to lie beside. Two innermost wings of an even cube
    // come to fit together.
    let mut joins: Vec<(usize, usize)> = Vec::new();
    for place in 0..24 {
        let wing = usize::from(from.wings[place]);
        if after.fits(place) && !orbit.fits(wing) {
            match orbit.cores {
                Some(_) => joins.push((wing, usize::from(from.cores[2 * (place / 2)] / 2))),
                None if place % 2 == 0 => {
                    joins.push((wing, usize::from(from.wings[place ^ 1] / 2)));
                }
                None => {}
            }
        }
    }
    let more = joins.len().saturating_sub(JOINS_NAMED);
    joins.truncate(JOINS_NAMED);
    let mut edges: Vec<usize> = joins
        .iter()
        .flat_map(|&(wing, beside)| [wing / 2, beside])
        .collect();
    edges.sort_unstable();
    edges.dedup();
    let n = walk.state.n();
    let fitting = (0..24).filter(|&place| after.fits(place)).count();
    let back: Vec<Letter> = pairing
        .slice
        .iter()
        .rev()
        .map(|letter| letter.inverse())
        .collect();
    let moves = moves_at(&pairing.letters(), layer);
    let hold = showing_edges(&edges, &moves);
    let part = |kind, letters: &[Letter]| Part {
        kind,
        moves: Sequence(in_hold(&moves_at(letters, layer), hold)),
    };
    let parked = Action::of(&pairing.parking);
    let is_turned_over = |edge: usize| usize::from(parked.cores[2 * edge]) == 2 * edge + 1;
    let parking = if (0..12).any(is_turned_over) {
        PartKind::TurningOver
    } else {
        PartKind::Parking
    };
    let parts = vec![
        part(PartKind::SetUp, &pairing.set_up),
        part(PartKind::Slice, &pairing.slice),
        part(parking, &pairing.parking),
        part(PartKind::CentresBack, &back),
    ];
    let mut aim = Aim {
        task: Task::Pair {
            n,
            layer,
            fitting,
            more,
        },
        pieces: joins
            .iter()
            .flat_map(|&(wing, beside)| {
                let beside = pieces(&walk.state, &[beside]);
                std::iter::once(wing_piece(&walk.state, layer, wing)).chain(beside)
            })
            .collect(),
    };
    aim.held(hold);
    let claim = Claim::Fitting {
        layer,
        wings: fitting,
    };
    walk.take_in_parts(aim, hold, parts, claim)
}

/// How many joins a step names; the others it only counts.
const JOINS_NAMED: usize = 2;

/// The wing at a place of a layer.
fn wing_piece(state: &State, layer: usize, place: usize) -> Piece {
    let wing = &state.layout().wing_orbits[layer - 2].wings[place];
    let (a, b) = Layout::EDGES[place / 2];
    let mut colours = wing.places.map(|place| state.at(usize::from(place)));
    if !wing.at_plus_end {
        colours.reverse();
    }
    Piece {
        sides: vec![a, b],
        colours: colours.to_vec(),
    }
}

/// The groups at edges, with the colours of their innermost pieces.
fn pieces(state: &State, edges: &[usize]) -> Vec<Piece> {
    let layout = state.layout();
    let innermost = (state.n() / 2).max(2);
    edges
        .iter()
        .map(|&edge| {
            let (a, b) = Layout::EDGES[edge];
            let shown = super::measure::cells(layout, edge, innermost).next();
            Piece {
                sides: vec![a, b],
                colours: shown
                    .into_iter()
                    .flatten()
                    .map(|place| state.at(usize::from(place)))
                    .collect(),
            }
        })
        .collect()
}

/// Mends the last one or two groups that are open at one layer.
fn mend_layer(walk: &mut Walk, layer: usize, orbit: &Orbit, open: &[usize]) -> Result<(), Error> {
    let no_way = Error::NoWay {
        doing: "mend the last groups of a layer",
    };
    let mending = partners(open)
        .into_iter()
        .filter_map(|edges| solve(&arrangement_at(orbit, edges)?, &[(2..=layer).collect()]))
        .min_by_key(|mending| mending.moves.len())
        .ok_or(no_way)?;
    let claim = Claim::Fitting { layer, wings: 24 };
    mend(walk, layer, open, &mending, claim)
}

/// What is on two edges of an orbit; `None` if wings of other groups are there too.
pub(super) fn arrangement_at(orbit: &Orbit, edges: [usize; 2]) -> Option<Arrangement> {
    let row = [0, 1, 2, 3].map(|at| orbit.wings[2 * edges[at / 2] + at % 2] ^ (at % 2) as u8);
    let cores = orbit.cores.map(|cores| edges.map(|edge| cores[edge]));
    Arrangement::new(edges, &[row], cores)
}

/// The pairs of edges that contain all open ones.
pub(super) fn partners(open: &[usize]) -> Vec<[usize; 2]> {
    match *open {
        [one, other] => vec![[one.min(other), one.max(other)]],
        [one] => (0..12)
            .filter(|&other| other != one)
            .map(|other| [one.min(other), one.max(other)])
            .collect(),
        _ => Vec::new(),
    }
}

/// Takes the step that mends the groups at the edges `open`.
fn mend(
    walk: &mut Walk,
    layer: usize,
    open: &[usize],
    mending: &Mending,
    claim: Claim,
) -> Result<(), Error> {
    let moves = &mending.moves;
    let hold = showing_edges(open, moves);
    let aim = mending_aim(walk, layer, open, mending.is_parity, hold);
    walk.take(aim, hold, in_hold(moves, hold), claim)
}

fn mending_aim(walk: &Walk, layer: usize, open: &[usize], is_parity: bool, hold: Hold) -> Aim {
    let mut aim = Aim {
        task: Task::LastGroups {
            n: walk.state.n(),
            layer,
            open: open.len(),
            is_parity,
        },
        pieces: pieces(&walk.state, open),
    };
    aim.held(hold);
    aim
}

/// Mends the last one or two open groups of a cube that is reduced but for them, in one step; on large cubes it has
/// parts, for not all kinds of wings are mended by one way.
fn mend_last(walk: &mut Walk) -> Result<(), Error> {
    let n = walk.state.n();
    let open = open_edges(&walk.state);
    let mut reached = walk.state.clone();
    let mut left = open.clone();
    let mut mendings: Vec<Mending> = Vec::new();
    // Each round makes two kinds of orbits whole, of at most seven.
    while !left.is_empty() && mendings.len() <= n / 2 {
        let mending = partners(&left)
            .into_iter()
            .filter_map(|edges| way_for(&reached, edges))
            .min_by_key(|mending| mending.moves.len())
            .ok_or(Error::NoWay {
                doing: "mend the last groups",
            })?;
        reached.turn_all(&mending.moves);
        left = open_edges(&reached);
        mendings.push(mending);
    }
    let all: Vec<Move> = mendings
        .iter()
        .flat_map(|mending| mending.moves.iter().copied())
        .collect();
    let hold = showing_edges(&open, &all);
    let last = mendings.len().saturating_sub(1);
    let parts = mendings.iter().enumerate().map(|(index, mending)| Part {
        kind: if index == last {
            PartKind::LastLayers
        } else {
            PartKind::SomeLayers
        },
        moves: Sequence(in_hold(&mending.moves, hold)),
    });
    let parts: Vec<Part> = parts.collect();
    let is_parity = mendings.iter().any(|mending| mending.is_parity);
    let aim = mending_aim(walk, 2, &open, is_parity, hold);
    let claim = Claim::Stage(Stage::Reduced);
    if last == 0 {
        return walk.take(aim, hold, in_hold(&all, hold), claim);
    }
    walk.take_in_parts(aim, hold, parts, claim)
}

/// What mends the orbits of two edges, or on large cubes two kinds of them.
fn way_for(state: &State, edges: [usize; 2]) -> Option<Mending> {
    let n = state.n();
    let whole = Arrangement::of(state, edges)?;
    let layers: Vec<usize> = (2..=n / 2).collect();
    if n <= 7 {
        let each: Vec<Vec<usize>> = layers.iter().map(|&layer| vec![layer]).collect();
        return solve(&whole, &each);
    }
    let rows = whole.rows();
    let inner = *rows.last()?;
    let with = |row: [u8; 4]| -> Vec<usize> {
        let alike = layers.iter().zip(rows).filter(|&(_, &other)| other == row);
        alike.map(|(&layer, _)| layer).collect()
    };
    let is_whole = |row: [u8; 4]| row[0] == row[1] && row[2] == row[3];
    let (virtual_rows, cores, groups);
    if n.is_multiple_of(2) && !is_whole(inner) {
        // All that is not of the other kind goes along with the innermost orbit.
        let other = rows.iter().copied().find(|&row| row != inner);
        let apart = other.map(with).unwrap_or_default();
        let rest = layers
            .iter()
            .copied()
            .filter(|layer| !apart.contains(layer));
        let mut both = vec![rest.collect()];
        let mut two = vec![inner];
        if let Some(other) = other {
            both.insert(0, apart.clone());
            two.insert(0, other);
        }
        (virtual_rows, cores, groups) = (two, None, both);
    } else {
        let ways = whole.cores().unwrap_or([inner[0], inner[2]]);
        let right = [ways[0], ways[0], ways[1], ways[1]];
        let mut kinds: Vec<[u8; 4]> = Vec::new();
        for &row in rows {
            if row != right && !kinds.contains(&row) && kinds.len() < 2 {
                kinds.push(row);
            }
        }
        groups = kinds.iter().map(|&row| with(row)).collect();
        (virtual_rows, cores) = (kinds, Some(ways));
    }
    let arrangement = Arrangement::new(edges, &virtual_rows, cores)?;
    solve(&arrangement, &groups)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advise::tests::{Dice, random_state};
    use crate::advise::{analyse, route};
    use crate::diagnose::strip;

    /// Every pairing on the way of mixed cubes says what it does: its parts are its moves, the slice breaks the centres
    /// and its turning back makes them whole, what is turned over stays in its place, and each wing it names lies where
    /// it says and shows the colours of the inner part it is to be joined to.
    #[test]
    fn a_pairing_is_what_it_says() {
        let mut dice = Dice::new(8);
        let mut count = 0;
        for n in [4, 5, 6, 7] {
            let mut state = random_state(n, &mut dice);
            for step in route(&state).unwrap().steps {
                state.turn_all(&step.hold.0);
                if let Task::Pair { layer, .. } = step.aim.task {
                    count += 1;
                    check_parts(&state, &step.moves.0, &step.parts);
                    assert!(!step.aim.pieces.is_empty());
                    for join in step.aim.pieces.chunks(2) {
                        check_join(&state, layer, &join[0], &join[1]);
                    }
                }
                state.turn_all(&step.moves.0);
            }
        }
        assert!(count > 20, "{count}");
    }

    fn check_parts(state: &State, moves: &[Move], parts: &[Part]) {
        let joined: Vec<Move> = parts.iter().flat_map(|part| part.moves.0.clone()).collect();
        assert_eq!(joined, moves);
        let mut state = state.clone();
        for part in parts {
            state.turn_all(&part.moves.0);
            let are_centres_whole = Reaches::of(&state).stage > Stage::Centres;
            let expected = matches!(part.kind, PartKind::SetUp | PartKind::CentresBack);
            assert_eq!(are_centres_whole, expected, "{parts:?}");
            if matches!(part.kind, PartKind::Parking | PartKind::TurningOver) {
                let turned_over = !analyse(&part.moves, 3).groups.turned.is_empty();
                assert_eq!(turned_over, part.kind == PartKind::TurningOver, "{part:?}");
            }
        }
    }

    fn check_join(state: &State, layer: usize, wing: &Piece, beside: &Piece) {
        let n = state.n();
        let colours_at = |piece: &Piece, cells: &[usize]| -> Vec<Vec<crate::cube::Face>> {
            let edge = Layout::EDGES
                .iter()
                .position(|&(a, b)| piece.sides.contains(&a) && piece.sides.contains(&b));
            let strip = strip(state, edge.unwrap());
            let shown = cells.iter().map(|&cell| {
                let mut shown = strip[cell].to_vec();
                shown.sort();
                shown
            });
            shown.collect()
        };
        let mut colours = wing.colours.clone();
        colours.sort();
        // The wings of a layer lie so far from either end of their strip; the inner part is in its middle.
        let ends = [layer - 2, n - 1 - layer];
        assert!(colours_at(wing, &ends).contains(&colours), "{wing:?}");
        let inner = if 2 * layer == n { ends } else { [n / 2 - 1; 2] };
        assert!(
            colours_at(beside, &inner).contains(&colours),
            "{wing:?} {beside:?}"
        );
    }

    /// Two groups of a large cube mixed wing by wing: one step makes them whole, and calls them a parity where the
    /// diagnosis, which counts exchanges, does.
    #[test]
    fn last_groups_of_large_cubes_are_mended_in_one_step() {
        let mut dice = Dice::new(12);
        for n in 8..=13 {
            for _ in 0..6 {
                let mut state = crate::advise::tests::reduced_state(n, &mut dice);
                let edges = dice.shuffled(12);
                let layout = state.layout();
                for orbit in &layout.wing_orbits {
                    let places = [0, 1].map(|at| [2 * edges[at], 2 * edges[at] + 1]).concat();
                    let before = state.clone();
                    for (&to, from) in places.iter().zip(dice.shuffled(4)) {
                        let from = orbit.wings[places[from]].places;
                        for (place, from) in orbit.wings[to].places.into_iter().zip(from) {
                            state.set(usize::from(place), before.at(usize::from(from)));
                        }
                    }
                }
                let open = open_edges(&state);
                if open.is_empty() {
                    continue;
                }
                let step = route(&state).unwrap().steps.remove(0);
                let Task::LastGroups { is_parity, .. } = step.aim.task else {
                    panic!("n = {n}: {step:?}");
                };
                let found = crate::diagnose::diagnose(&state, &[], &crate::cube::Words::default());
                assert_eq!(found.case.unwrap().parity, is_parity, "n = {n}: {state:?}");
                let after = state.after(&step.hold.0).after(&step.moves.0);
                assert!(open_edges(&after).is_empty(), "n = {n}: {state:?}");
                let joined: Vec<Move> = step
                    .parts
                    .iter()
                    .flat_map(|part| part.moves.0.clone())
                    .collect();
                assert!(step.parts.is_empty() || joined == step.moves.0, "{step:?}");
            }
        }
    }
}
