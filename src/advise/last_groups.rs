//! The last one or two open groups: for every arrangement the cheapest way known, put together from few sequences
//! by a search over all arrangements.

use super::arrangement::{Arrangement, Effect, STANDARD_PAIRS};
use super::search::tidied;
use super::tools::{Tool, tools};
use super::wings::Letter;
use crate::cube::{Hold, Move};
use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};
use std::sync::OnceLock;

/// How to go on from an arrangement in its standard hold.
#[derive(Clone, Debug)]
struct Way {
    /// Turns until both groups are whole.
    turns: usize,
    /// The next letters; none when whole.
    letters: Vec<Letter>,
    /// The orbits they are made for, a bit each, the outermost the lowest.
    on: u8,
    /// The arrangement they lead to, in its standard hold.
    next: Arrangement,
    /// The rotation to that hold.
    hold: Hold,
}

/// The next moves from every arrangement of one or two orbits.
#[derive(Debug)]
pub struct Table {
    ways: BTreeMap<Arrangement, Way>,
}

/// Letters and the orbits they are made for, a bit each, the outermost the lowest.
pub type Stretch = (Vec<Letter>, u8);

impl Table {
    /// The table that serves the last groups of cubes of order 4 to 7.
    ///
    /// # Panics
    ///
    /// If `n` is not one of these.
    pub fn of(n: usize) -> &'static Self {
        static MADE: [OnceLock<Table>; 4] = [const { OnceLock::new() }; 4];
        MADE[n - 4].get_or_init(|| Self::new(n))
    }

    #[cfg(test)]
    /// The number of arrangements, up to holding the cube and naming the colours.
    pub fn len(&self) -> usize {
        self.ways.len()
    }

    /// The turns that make the two groups whole; `None` if the arrangement is unknown.
    pub fn turns(&self, arrangement: &Arrangement) -> Option<usize> {
        Some(self.ways.get(&arrangement.settled()?.0)?.turns)
    }

    /// What makes the two groups whole, as the cube is held now; `None` if the arrangement is unknown.
    pub fn solve(&self, arrangement: &Arrangement) -> Option<Vec<Stretch>> {
        let (settled, mut hold) = arrangement.settled()?;
        let mut way = self.ways.get(&settled)?;
        let mut stretches = Vec::new();
        while way.turns > 0 {
            let here = hold.inverse();
            let letters = way.letters.iter().map(|letter| letter.in_hold(here));
            stretches.push((letters.collect(), way.on));
            hold = hold.then(way.hold);
            way = self.ways.get(&way.next)?;
        }
        Some(stretches)
    }

    fn new(n: usize) -> Self {
        let orbits = n / 2 - 1;
        let mut ways: BTreeMap<Arrangement, Way> = BTreeMap::new();
        let mut open = BinaryHeap::new();
        for pair in STANDARD_PAIRS {
            let whole = Arrangement::whole(pair, orbits, n % 2 == 1);
            let way = Way {
                turns: 0,
                letters: Vec::new(),
                on: 0,
                next: whole,
                hold: Hold::SAME,
            };
            ways.insert(whole, way);
            open.push(Reverse((0, whole)));
        }
        let tools = priced_tools(n);
        while let Some(Reverse((turns, at))) = open.pop() {
            if ways.get(&at).is_some_and(|known| known.turns < turns) {
                continue;
            }
            for priced in &tools[&at.edges] {
                let reached = at.after(priced.tool.effect, priced.on);
                let Some((settled, hold)) = reached.and_then(|raw| raw.settled()) else {
                    continue;
                };
                let turns = turns + priced.cost;
                if ways.get(&settled).is_none_or(|known| turns < known.turns) {
                    let back = priced.tool.letters.iter().rev();
                    let way = Way {
                        turns,
                        letters: back.map(|letter| letter.inverse().in_hold(hold)).collect(),
                        on: priced.on,
                        next: at,
                        hold: hold.inverse(),
                    };
                    ways.insert(settled, way);
                    open.push(Reverse((turns, settled)));
                }
            }
        }
        Self { ways }
    }
}

/// The moves of stretches for the layers of each orbit (outermost first).
pub fn moves_of(stretches: &[Stretch], layers_of_orbit: &[Vec<usize>]) -> Vec<Move> {
    let mut moves = Vec::new();
    for (letters, on) in stretches {
        let chosen = layers_of_orbit
            .iter()
            .enumerate()
            .filter(|(orbit, _)| on >> orbit & 1 == 1);
        let mut layers: Vec<usize> = chosen.flat_map(|(_, layers)| layers.clone()).collect();
        layers.sort_unstable();
        moves.extend(letters.iter().flat_map(|letter| letter.moves(&layers)));
    }
    tidied(&moves)
}

/// A tool made for some orbits of a cube.
struct Priced {
    tool: &'static Tool,
    /// The orbits, a bit each, the outermost the lowest.
    on: u8,
    /// Its block turns.
    cost: usize,
}

/// Tools for all choices of orbits of an order, by the pair of edges they are for.
fn priced_tools(n: usize) -> BTreeMap<[u8; 2], Vec<Priced>> {
    let orbits = n / 2 - 1;
    let mut priced: BTreeMap<[u8; 2], Vec<Priced>> = BTreeMap::new();
    for on in 1..1_u8 << orbits {
        let layers: Vec<usize> = (0..orbits)
            .filter(|orbit| on >> orbit & 1 == 1)
            .map(|orbit| orbit + 2)
            .collect();
        let is_all = layers.len() == orbits;
        let mut cheapest: BTreeMap<([usize; 2], Effect), (usize, &Tool)> = BTreeMap::new();
        for tool in tools(n.is_multiple_of(2) && is_all) {
            let cost = tool.letters.iter().map(|letter| letter.cost(&layers)).sum();
            let known = cheapest
                .entry((tool.pair, tool.effect))
                .or_insert((cost, tool));
            if cost < known.0 {
                *known = (cost, tool);
            }
        }
        for (cost, tool) in cheapest.into_values() {
            priced
                .entry(tool.pair.map(|edge| edge as u8))
                .or_default()
                .push(Priced { tool, on, cost });
        }
    }
    priced
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advise::tools::read;
    use crate::advise::wings::Action;
    use crate::cube::Face;

    /// For each class (arrangements that outer turns lead to from one another): groups open, fewest and most turns.
    fn classes(n: usize) -> Vec<(usize, usize, usize)> {
        let table = Table::new(n);
        let turns: Vec<Action> = Face::ALL
            .iter()
            .map(|&face| Action::of(&read(&face.to_string())))
            .collect();
        let mut seen = std::collections::BTreeSet::new();
        let mut found = Vec::new();
        for start in table.ways.keys() {
            if seen.contains(start) {
                continue;
            }
            let mut queue = vec![*start];
            seen.insert(*start);
            let mut costs = Vec::new();
            while let Some(at) = queue.pop() {
                costs.push(table.ways[&at].turns);
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
    /// fewest turns known from its best and from its worst placement.
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
            (2, 18, 21),
            (2, 18, 21),
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
            assert_eq!(Table::of(n).len(), positions, "n = {n}");
        }
        let seven = classes(7);
        let single: Vec<usize> = seven
            .iter()
            .filter(|&&(open, ..)| open == 1)
            .map(|&(_, best, _)| best)
            .collect();
        assert_eq!(single, [14, 14, 21]);
        assert_eq!(seven.iter().filter(|&&(open, ..)| open == 2).count(), 100);
    }
}
