//! The search that writes the table of ways, and the tests that hold the table to it.

use super::kit::{mixed_tools, tools};
use super::{Stretch, moves_of, name, solve};
use crate::advise::arrangement::{Arrangement, Effect, STANDARD_PAIRS};
use crate::advise::measure::Reaches;
use crate::advise::route;
use crate::advise::search::{in_hold, tidied};
use crate::advise::tools::read;
use crate::advise::wings::{Action, Letter, Reach};
use crate::cube::{Face, Move, Quarter, Sequence, State, Words};
use crate::diagnose::{Case, Stage, Structure, diagnose, open_edges};
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet, BinaryHeap};
use std::fmt::Write;

/// Moves that make both groups whole, and what they are made of.
#[derive(Clone, Debug)]
struct Way {
    moves: Vec<Move>,
    stretches: Vec<Stretch>,
}

/// How many turns longer than the shortest a way may be to be built upon: turns cancel where two tools meet.
const SLACK: usize = 3;
/// How many ways are kept for an arrangement.
const MOST_WAYS: usize = 12;

/// The turns a way begins with that may be made in any order: what those before it may cancel with.
fn beginning(moves: &[Move]) -> Vec<Move> {
    let axis = |step: &Move| match *step {
        Move::Block { face, .. } => face.axis(),
        Move::Rotation { axis, .. } => axis,
    };
    let first = moves.first().map(axis);
    let parallel = moves.iter().take_while(|step| Some(axis(step)) == first);
    let mut run: Vec<Move> = parallel.copied().collect();
    run.sort_unstable();
    run
}

/// The ways from every arrangement of a cube of order `n`, in its standard hold, the shortest first.
fn ways(n: usize) -> BTreeMap<Arrangement, Vec<Way>> {
    let orbits = n / 2 - 1;
    let tools = priced_tools(n);
    let mut ways: BTreeMap<Arrangement, Vec<Way>> = BTreeMap::new();
    let mut open = BinaryHeap::new();
    for pair in STANDARD_PAIRS {
        let whole = Arrangement::whole(pair, orbits, n % 2 == 1);
        let nothing = Way {
            moves: Vec::new(),
            stretches: Vec::new(),
        };
        ways.insert(whole, vec![nothing]);
        open.push(Reverse((0, whole, Vec::new())));
    }
    while let Some(Reverse((turns, at, run))) = open.pop() {
        let is_this = |way: &&Way| way.moves.len() == turns && beginning(&way.moves) == run;
        let Some(way) = ways[&at].iter().find(is_this).cloned() else {
            continue;
        };
        for priced in &tools[&at.edges] {
            let Some((settled, hold)) = priced.after(&at).and_then(|raw| raw.settled()) else {
                continue;
            };
            let mut moves = priced.back.clone();
            moves.extend(&way.moves);
            let moves = tidied(&moves);
            let kept = ways.entry(settled).or_default();
            let least = kept
                .first()
                .map_or(usize::MAX - SLACK, |way| way.moves.len());
            if moves.len() > least + SLACK
                || (kept.len() == MOST_WAYS && kept[MOST_WAYS - 1].moves.len() <= moves.len())
            {
                continue;
            }
            let moves = in_hold(&moves, hold);
            let run = beginning(&moves);
            if let Some(like) = kept.iter().position(|way| beginning(&way.moves) == run) {
                if kept[like].moves.len() <= moves.len() {
                    continue;
                }
                kept.remove(like);
            }
            let mut stretches = priced.stretches_back.clone();
            stretches.extend(way.stretches.iter().cloned());
            for letter in stretches.iter_mut().flat_map(|(letters, _)| letters) {
                *letter = letter.in_hold(hold);
            }
            open.push(Reverse((moves.len(), settled, run)));
            let place = kept.partition_point(|other| other.moves.len() <= moves.len());
            kept.insert(place, Way { moves, stretches });
            kept.truncate(MOST_WAYS);
        }
    }
    ways
}

/// The layers of the orbits of a cube of order `n`, outermost first.
fn layers(n: usize) -> Vec<Vec<usize>> {
    (2..=n / 2).map(|layer| vec![layer]).collect()
}

/// The whole table.
fn table() -> String {
    let mut lines = Vec::new();
    for n in 4..=7 {
        for (arrangement, ways) in ways(n) {
            lines.push((name(&arrangement), written(&ways[0].stretches)));
        }
    }
    lines.sort();
    lines
        .into_iter()
        .fold(String::new(), |mut text, (name, way)| {
            let _ = writeln!(text, "{name}:{way}");
            text
        })
}

/// Stretches as the table has them; outer turns stand for any orbits, so they go with those before.
fn written(stretches: &[Stretch]) -> String {
    let mut text = String::new();
    let mut last = None;
    for (letters, on) in stretches {
        let is_outer = letters.iter().all(|letter| letter.reach == Reach::Outer);
        if last.is_none() || (last != Some(*on) && !is_outer) {
            let _ = write!(text, "{}{on}", if text.is_empty() { " " } else { "; " });
            last = Some(*on);
        }
        for letter in letters {
            let _ = write!(text, " {}", written_letter(*letter));
        }
    }
    text
}

fn written_letter(letter: Letter) -> String {
    let face = letter.face.letter();
    let face = match letter.reach {
        Reach::Outer => face.to_string(),
        Reach::Block => format!("{face}w"),
        Reach::Slice => face.to_ascii_lowercase().to_string(),
    };
    let quarter = match letter.quarter {
        Quarter::Clockwise => "",
        Quarter::Half => "2",
        Quarter::Anticlockwise => "'",
    };
    format!("{face}{quarter}")
}

/// A tool made for the orbits of a cube.
struct Priced {
    /// What it does, with the orbits it does it to, a bit each, the outermost the lowest.
    effects: Vec<(Effect, u8)>,
    /// What undoes it.
    back: Vec<Move>,
    stretches_back: Vec<Stretch>,
}

impl Priced {
    fn new(effects: Vec<(Effect, u8)>, stretches: &[Stretch], layers: &[Vec<usize>]) -> Self {
        let back = stretches.iter().rev().map(|(letters, on)| {
            let letters = letters.iter().rev().map(|letter| letter.inverse());
            (letters.collect(), *on)
        });
        let stretches_back: Vec<Stretch> = back.collect();
        Self {
            effects,
            back: moves_of(&stretches_back, layers),
            stretches_back,
        }
    }

    /// The arrangement after it.
    fn after(&self, at: &Arrangement) -> Option<Arrangement> {
        match self.effects[..] {
            [(one, 1), (other, 2)] => {
                let outer = at.after(one, 1)?;
                let inner = at.after(other, 2)?;
                let rows = [outer.rows()[0], inner.rows()[1]];
                Arrangement::new(outer.edges.map(usize::from), &rows, outer.cores())
            }
            [(effect, on)] => at.after(effect, on),
            _ => None,
        }
    }
}

/// A pair of edges and what is done to it, for some orbits each.
type Done = ([usize; 2], Vec<(Effect, u8)>);

/// Tools for all choices of orbits of an order, by the pair of edges they are for.
fn priced_tools(n: usize) -> BTreeMap<[u8; 2], Vec<Priced>> {
    let layers = layers(n);
    let orbits = layers.len();
    let mut cheapest: BTreeMap<Done, Vec<Stretch>> = BTreeMap::new();
    let mut add = |pair, effects, stretches: Vec<Stretch>| {
        let cost = |stretches: &[Stretch]| moves_of(stretches, &layers).len();
        let known = cheapest
            .entry((pair, effects))
            .or_insert_with(|| stretches.clone());
        if cost(&stretches) < cost(known) {
            *known = stretches;
        }
    };
    for on in 1..1_u8 << orbits {
        let is_all = on.count_ones() as usize == orbits;
        for tool in tools(n.is_multiple_of(2) && is_all) {
            add(
                tool.pair,
                vec![(tool.effect, on)],
                vec![(tool.letters.clone(), on)],
            );
        }
    }
    if n == 7 {
        for tool in mixed_tools() {
            let [outer, inner] = tool.effects;
            add(tool.pair, vec![(outer, 1), (inner, 2)], tool.stretches);
        }
    }
    let mut priced: BTreeMap<[u8; 2], Vec<Priced>> = BTreeMap::new();
    for ((pair, effects), stretches) in cheapest {
        priced
            .entry(pair.map(|edge| edge as u8))
            .or_default()
            .push(Priced::new(effects, &stretches, &layers));
    }
    priced
}

/// All arrangements of a cube of order `n`.
fn arrangements(n: usize) -> BTreeSet<Arrangement> {
    let tools = priced_tools(n);
    let whole = STANDARD_PAIRS.map(|pair| Arrangement::whole(pair, n / 2 - 1, n % 2 == 1));
    let mut found = BTreeSet::from(whole);
    let mut open = Vec::from(whole);
    while let Some(at) = open.pop() {
        for priced in &tools[&at.edges] {
            let settled = priced.after(&at).and_then(|raw| raw.settled());
            open.extend(
                settled
                    .map(|(settled, _)| settled)
                    .filter(|it| found.insert(*it)),
            );
        }
    }
    found
}

/// To write the table anew: `WRITE_WAYS=src/advise/last_groups/ways.txt cargo test --release --lib the_table`.
#[test]
fn the_table_is_what_the_search_finds() {
    let table = table();
    if let Some(path) = std::env::var_os("WRITE_WAYS") {
        std::fs::write(path, &table).unwrap();
    } else {
        assert!(table == super::WAYS, "write the table anew");
    }
}

/// The way of every arrangement, made backwards on a solved cube, sets that arrangement up.
#[test]
fn every_way_leads_from_its_arrangement() {
    for n in 4..=7 {
        let layers = layers(n);
        for arrangement in arrangements(n) {
            let moves = solve(&arrangement, &layers).unwrap().moves;
            let state = State::solved(n).after(&Sequence(moves).inverse().0);
            let found = Arrangement::of(&state, arrangement.edges.map(usize::from));
            let found = found.and_then(|found| Some(found.settled()?.0));
            assert_eq!(found, Some(arrangement));
            let reaches = Reaches::of(&state);
            assert!(reaches.stage >= Stage::LastGroups, "{arrangement:?}");
        }
    }
}

/// For each class (arrangements that outer turns lead to from one another): groups open, fewest and most turns.
fn classes(n: usize) -> Vec<(usize, usize, usize)> {
    let all = arrangements(n);
    let layers = layers(n);
    let turns: Vec<Action> = Face::ALL
        .iter()
        .map(|&face| Action::of(&read(&face.to_string())))
        .collect();
    let mut seen = std::collections::BTreeSet::new();
    let mut found = Vec::new();
    for start in &all {
        if seen.contains(start) {
            continue;
        }
        let mut queue = vec![*start];
        seen.insert(*start);
        let mut costs = Vec::new();
        while let Some(at) = queue.pop() {
            costs.push(solve(&at, &layers).unwrap().moves.len());
            for action in &turns {
                let effect = Effect::of(action, at.edges.map(usize::from), false).unwrap();
                let next = at.after(effect, 0).unwrap().settled().unwrap().0;
                if seen.insert(next) {
                    queue.push(next);
                }
            }
        }
        let open = (0..2).filter(|&edge| !start.is_whole_at(edge)).count();
        found.push((
            open,
            *costs.iter().min().unwrap(),
            *costs.iter().max().unwrap(),
        ));
    }
    found.sort_unstable();
    found
}

/// Source: an independent enumeration and search over outer-block turns: for each class the groups open, the
/// fewest turns known from its best and from its worst placement. Two classes of the 6×6×6 are 21 at worst there, one turn
/// more than here.
#[test]
fn fixes_are_as_short_as_the_best_known() {
    let check = |n: usize, expected: &[(usize, usize, usize)]| {
        let mut found = classes(n);
        found.retain(|&(open, ..)| open > 0);
        assert_eq!(found, expected, "n = {n}");
    };
    check(4, &[(2, 6, 8)]);
    let five = [
        (1, 14, 14),
        (2, 7, 9),
        (2, 7, 10),
        (2, 9, 11),
        (2, 11, 14),
        (2, 12, 14),
        (2, 13, 15),
    ];
    check(5, &five);
    let six = [
        (1, 14, 14),
        (2, 6, 8),
        (2, 7, 9),
        (2, 7, 10),
        (2, 9, 11),
        (2, 9, 11),
        (2, 11, 14),
        (2, 12, 14),
        (2, 13, 15),
        (2, 14, 16),
        (2, 14, 16),
        (2, 14, 17),
        (2, 14, 17),
        (2, 16, 19),
        (2, 18, 20),
        (2, 18, 20),
        (2, 18, 20),
        (2, 19, 21),
        (2, 19, 21),
    ];
    check(6, &six);
}

/// Source: the same enumeration: positions up to rotation and renaming, and for 7 the number of classes and the
/// lengths with one group open.
#[test]
fn every_arrangement_has_a_way() {
    for (n, positions) in [(4, 15), (5, 84), (6, 252), (7, 1728)] {
        assert_eq!(arrangements(n).len(), positions, "n = {n}");
    }
    let seven = classes(7);
    let single: Vec<usize> = seven
        .iter()
        .filter(|&&(open, ..)| open == 1)
        .map(|&(_, best, _)| best)
        .collect();
    assert_eq!(single, [14, 14, 21]);
    let double: Vec<usize> = seven
        .iter()
        .filter(|&&(open, ..)| open == 2)
        .map(|&(_, best, _)| best)
        .collect();
    assert_eq!(double.len(), 100);
    assert_eq!(double.iter().min(), Some(&7));
    // The enumeration's longest takes 27 turns.
    assert!(double.iter().max() <= Some(&27), "{double:?}");
}

/// Of the many cases of large cubes a sample, and of each the steps: they end with all groups whole and the centres as
/// they were, as the diagnosis sees it.
#[test]
fn cases_of_large_cubes_are_mended() {
    for (n, every) in [(8, 7), (9, 97), (10, 487), (11, 4999)] {
        let cases = Case::all(n);
        let mut count = 0;
        for case in cases.iter().step_by(every) {
            let Structure::LastGroups(groups) = &case.structure else {
                continue;
            };
            for edges in [[0, 2], [3, 8]] {
                let mut state = groups.key.state(edges);
                let told = diagnose(&state, &[], &Words::default()).case.unwrap();
                assert_eq!(told.id, case.id);
                for step in route(&state).unwrap().steps {
                    if open_edges(&state).is_empty() {
                        break;
                    }
                    state = state.after(&step.hold.0).after(&step.moves.0);
                }
                let found = diagnose(&state, &[], &Words::default());
                assert!(found.stage >= Stage::Reduced, "n = {n}, {}", case.id);
                count += 1;
            }
        }
        assert!(count > 15, "n = {n}: {count}");
    }
}
