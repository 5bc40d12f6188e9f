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
    /// Turns until both groups are whole, joints not yet tidied.
    turns: usize,
    /// The tool that is undone next.
    tool: &'static Tool,
    /// The orbits it is made for, a bit each, the outermost the lowest.
    on: u8,
    /// The arrangement that leads to, in its standard hold.
    next: Arrangement,
    /// The rotation to that hold.
    hold: Hold,
}

/// The ways on from every arrangement of one or two orbits, the cheapest first; none where both groups are whole.
#[derive(Debug)]
pub struct Table {
    ways: BTreeMap<Arrangement, Vec<Way>>,
}

/// Letters and the orbits they are made for, a bit each, the outermost the lowest.
pub type Stretch = (Vec<Letter>, u8);

/// How many turns longer than the cheapest a way may be to be kept: turns may cancel where two tools meet.
const SLACK: usize = 2;
/// How many ways are kept for an arrangement.
const MOST_WAYS: usize = 6;
/// How many combinations of ways are tried when solving.
const MOST_TRIED: usize = 60;

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

    /// The shortest moves found that make the two groups whole, as the cube is held now, and what they are made of.
    /// `layers` are those that each orbit of the arrangement stands for, outermost first. `None` if the arrangement
    /// is unknown.
    pub fn solve(
        &self,
        arrangement: &Arrangement,
        layers: &[Vec<usize>],
    ) -> Option<(Vec<Move>, Vec<Stretch>)> {
        let (settled, hold) = arrangement.settled()?;
        let mut solving = Solving {
            table: self,
            layers,
            stretches: Vec::new(),
            left: MOST_TRIED,
            best: None,
        };
        solving.go_on(settled, hold);
        solving.best
    }

    fn new(n: usize) -> Self {
        let orbits = n / 2 - 1;
        let mut turns_of: BTreeMap<Arrangement, usize> = BTreeMap::new();
        let mut ways: BTreeMap<Arrangement, Vec<Way>> = BTreeMap::new();
        let mut open = BinaryHeap::new();
        for pair in STANDARD_PAIRS {
            let whole = Arrangement::whole(pair, orbits, n % 2 == 1);
            turns_of.insert(whole, 0);
            ways.insert(whole, Vec::new());
            open.push(Reverse((0, whole)));
        }
        let tools = priced_tools(n);
        while let Some(Reverse((turns, at))) = open.pop() {
            if turns_of[&at] < turns {
                continue;
            }
            for priced in &tools[&at.edges] {
                let reached = at.after(priced.tool.effect, priced.on);
                let Some((settled, hold)) = reached.and_then(|raw| raw.settled()) else {
                    continue;
                };
                let turns = turns + priced.cost;
                let known = turns_of.get(&settled).copied();
                if known.is_none_or(|known| turns < known) {
                    turns_of.insert(settled, turns);
                    open.push(Reverse((turns, settled)));
                }
                if known.is_none_or(|known| turns <= known + SLACK) {
                    let way = Way {
                        turns,
                        tool: priced.tool,
                        on: priced.on,
                        next: at,
                        hold: hold.inverse(),
                    };
                    let kept = ways.entry(settled).or_default();
                    let place = kept.partition_point(|other| other.turns <= turns);
                    kept.insert(place, way);
                    kept.truncate(MOST_WAYS);
                }
            }
        }
        for (arrangement, ways) in &mut ways {
            let least = turns_of[arrangement];
            ways.retain(|way| way.turns <= least + SLACK && least > 0);
        }
        Self { ways }
    }
}

/// The combinations of ways from one arrangement being tried.
struct Solving<'a> {
    table: &'a Table,
    layers: &'a [Vec<usize>],
    stretches: Vec<Stretch>,
    left: usize,
    best: Option<(Vec<Move>, Vec<Stretch>)>,
}

impl Solving<'_> {
    fn go_on(&mut self, settled: Arrangement, hold: Hold) {
        let Some(ways) = self.table.ways.get(&settled) else {
            return;
        };
        if ways.is_empty() {
            self.left = self.left.saturating_sub(1);
            let moves = moves_of(&self.stretches, self.layers);
            let is_better = self
                .best
                .as_ref()
                .is_none_or(|(known, _)| moves.len() < known.len());
            if is_better {
                self.best = Some((moves, self.stretches.clone()));
            }
        }
        for way in ways {
            if self.left == 0 {
                return;
            }
            let here = hold.then(way.hold).inverse();
            let back = way.tool.letters.iter().rev();
            let letters = back.map(|letter| letter.inverse().in_hold(here));
            self.stretches.push((letters.collect(), way.on));
            self.go_on(way.next, hold.then(way.hold));
            self.stretches.pop();
        }
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
                let layers: Vec<Vec<usize>> = (2..=n / 2).map(|layer| vec![layer]).collect();
                costs.push(table.solve(&at, &layers).unwrap().0.len());
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
        let double: Vec<usize> = seven
            .iter()
            .filter(|&&(open, ..)| open == 2)
            .map(|&(_, best, _)| best)
            .collect();
        assert_eq!(double.len(), 100);
        // The enumeration's longest is 27; one class takes one turn more here.
        let above = double.iter().filter(|&&best| best > 27).count();
        assert_eq!((double.iter().min(), above), (Some(&7), 1));
    }
}
