//! What a sequence does to a solved cube: cycles of pieces by kind, whether the centres stay, which groups it breaks
//! or moves, how often it must be made until all is back. For a teacher who checks a handout.

use super::measure::{Reaches, cells, centre_is_whole, joined};
use super::proof::as_text;
use crate::cube::{
    CORNER_NAMES, EDGE_NAMES, Face, Layout, OrbitKind, Pieces, Placed, Sequence, Spot, State,
    counted, listed, wing_name, wing_word,
};
use serde::{Serialize, Serializer};

/// What a sequence does.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Analysis {
    /// The order of the cube.
    pub n: usize,
    /// The sequence as read.
    #[serde(serialize_with = "as_text")]
    pub moves: Sequence,
    /// Its outer-block turns; rotations count nothing.
    pub turns: usize,
    /// How often it must be made until every sticker is back, all stickers being told apart.
    #[serde(serialize_with = "as_number")]
    pub order: u128,
    /// How often until the cube looks as before, stickers of one colour being alike.
    #[serde(serialize_with = "as_number")]
    pub order_seen: u128,
    /// The cycles, by kind of piece.
    pub cycles: Vec<Cycle>,
    /// What becomes of the centres.
    pub centres: CentreFate,
    /// What becomes of the edge groups.
    pub groups: GroupFate,
    /// All of it in a few sentences.
    pub text: String,
}

/// Pieces that follow one another round.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Cycle {
    /// The kind of piece.
    #[serde(flatten)]
    pub kind: Kind,
    /// The positions: the piece at the first goes to the second, and so on, the last to the first.
    pub places: Vec<String>,
    /// What has happened to each piece once it has come round: a corner's thirds of a turn clockwise, a midge's
    /// half turn; 0 when it is back as it was. A cycle of one place is a piece turned in its place.
    pub turned: usize,
}

/// The kinds of piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "kind")]
pub enum Kind {
    /// A corner.
    Corner,
    /// The middle of an edge of an odd cube.
    Midge,
    /// A wing.
    Wing {
        /// Its layer, counted from the corner: 2 is next to it.
        layer: usize,
    },
    /// A moving centre piece.
    Centre {
        /// Row and column of its place nearest the top left, counted from 0.
        row: usize,
        /// The column.
        col: usize,
        /// `x` on the diagonal, `t` on the middle line, `oblique` off both.
        lie: &'static str,
    },
    /// One of the six fixed centres of an odd cube.
    FixedCentre,
}

/// What becomes of the centres of a solved cube.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum CentreFate {
    /// Every centre piece is where it was.
    Untouched,
    /// Pieces have moved, but each centre still shows its colour on its side.
    KeptToTheEye,
    /// Each centre is whole, but some show on another side, as after turning the cube in the hands.
    Moved,
    /// Some centre is mixed.
    Broken,
}

/// What becomes of the edge groups of a solved cube.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct GroupFate {
    /// The edges on which pieces of different groups, or of different ways round, lie afterwards.
    pub broken: Vec<String>,
    /// The edges on which another whole group lies afterwards.
    pub moved: Vec<String>,
    /// The edges on which the same whole group lies afterwards, turned end for end.
    pub turned: Vec<String>,
}

/// Says what a sequence does to a solved cube of order `n`.
///
/// # Panics
///
/// If a move does not fit a cube of this order, see [`Sequence::for_order`].
pub fn analyse(moves: &Sequence, n: usize) -> Analysis {
    let layout = Layout::of(n);
    let mut came_from: Vec<usize> = (0..layout.places()).collect();
    for &step in &moves.0 {
        layout.turn(&mut came_from, step);
    }
    let mut goes_to = vec![0; came_from.len()];
    for (to, &from) in came_from.iter().enumerate() {
        goes_to[from] = to;
    }
    let after = State::solved(n).after(&moves.0);
    let cycles = piece_cycles(&after, &goes_to);
    let (order, order_seen) = orders(n, &goes_to);
    let mut analysis = Analysis {
        n,
        moves: moves.clone(),
        turns: moves.block_turns(),
        order,
        order_seen,
        centres: centre_fate(&after, &cycles),
        groups: group_fate(&after),
        cycles,
        text: String::new(),
    };
    analysis.text = analysis.sentences();
    analysis
}

/// The least common multiple of the cycles of stickers; and of the steps after which each cycle shows the same
/// colours again.
fn orders(n: usize, goes_to: &[usize]) -> (u128, u128) {
    let colour = |place: usize| Spot::from_place(place, n).face;
    let (mut order, mut order_seen) = (1, 1);
    for cycle in cycles_of(goes_to.len(), |place| goes_to[place]) {
        let length = cycle.len();
        let period = (1..=length).find(|&step| {
            length.is_multiple_of(step)
                && (0..length).all(|at| colour(cycle[at]) == colour(cycle[(at + step) % length]))
        });
        order = common_multiple(order, length as u128);
        order_seen = common_multiple(order_seen, period.unwrap_or(length) as u128);
    }
    (order, order_seen)
}

fn common_multiple(a: u128, b: u128) -> u128 {
    let (mut divisor, mut rest) = (a, b);
    while rest != 0 {
        (divisor, rest) = (rest, divisor % rest);
    }
    a / divisor * b
}

/// The cycles longer than one of a permutation of `0..count`.
fn cycles_of(count: usize, goes_to: impl Fn(usize) -> usize) -> Vec<Vec<usize>> {
    let mut seen = vec![false; count];
    let mut cycles = Vec::new();
    for start in 0..count {
        let mut cycle = Vec::new();
        let mut at = start;
        while !seen[at] {
            seen[at] = true;
            cycle.push(at);
            at = goes_to(at);
        }
        if cycle.len() > 1 {
            cycles.push(cycle);
        }
    }
    cycles
}

fn piece_cycles(after: &State, goes_to: &[usize]) -> Vec<Cycle> {
    let layout = after.layout();
    let pieces = Pieces::of(after);
    let n = after.n();
    let mut all = Vec::new();
    all.extend(turning_cycles(
        Kind::Corner,
        &pieces.corners,
        &CORNER_NAMES,
        3,
    ));
    all.extend(turning_cycles(Kind::Midge, &pieces.midges, &EDGE_NAMES, 2));
    for (index, orbit) in pieces.wings.iter().enumerate() {
        let mut to = [0; 24];
        for (place, wing) in orbit.iter().enumerate() {
            to[wing.unwrap_or(place)] = place;
        }
        let kind = Kind::Wing { layer: index + 2 };
        for cycle in cycles_of(24, |place| to[place]) {
            let places = cycle.iter().map(|&place| wing_name(n, index, place));
            all.push(Cycle {
                kind,
                places: places.collect(),
                turned: 0,
            });
        }
    }
    let spot_name = |place: u16| {
        let Spot { face, row, col } = Spot::from_place(usize::from(place), n);
        format!("{face} row {} column {}", row + 1, col + 1)
    };
    let mut add = |kind: Kind, places: &[u16]| {
        let to = |at: usize| {
            let next = goes_to[usize::from(places[at])];
            places
                .iter()
                .position(|&place| usize::from(place) == next)
                .unwrap_or(at)
        };
        for cycle in cycles_of(places.len(), to) {
            all.push(Cycle {
                kind,
                places: cycle.iter().map(|&at| spot_name(places[at])).collect(),
                turned: 0,
            });
        }
    };
    for orbit in &layout.centre_orbits {
        let (row, col) = orbit.anchor;
        let kind = Kind::Centre {
            row,
            col,
            lie: match orbit.kind {
                OrbitKind::X => "x",
                OrbitKind::T => "t",
                OrbitKind::Oblique => "oblique",
            },
        };
        add(kind, &orbit.places);
    }
    add(Kind::FixedCentre, &layout.fixed_centres);
    all
}

/// The cycles of pieces that can be turned in their place.
fn turning_cycles(
    kind: Kind,
    placed: &[Option<Placed>],
    names: &[&str],
    turns: usize,
) -> Vec<Cycle> {
    let mut to = vec![(0, 0); placed.len()];
    for (place, found) in placed.iter().enumerate() {
        if let Some(Placed { piece, turn }) = *found {
            to[piece] = (place, turn);
        }
    }
    let mut cycles: Vec<Cycle> = Vec::new();
    let mut add = |places: &[usize]| {
        let turned = places.iter().map(|&place| to[place].1).sum::<usize>() % turns;
        if places.len() > 1 || turned > 0 {
            cycles.push(Cycle {
                kind,
                places: places
                    .iter()
                    .map(|&place| names[place].to_owned())
                    .collect(),
                turned,
            });
        }
    };
    for (place, &(next, _)) in to.iter().enumerate() {
        if next == place {
            add(&[place]);
        }
    }
    for cycle in cycles_of(to.len(), |place| to[place].0) {
        add(&cycle);
    }
    cycles
}

fn centre_fate(after: &State, cycles: &[Cycle]) -> CentreFate {
    let n = after.n();
    let is_centre = |cycle: &Cycle| matches!(cycle.kind, Kind::Centre { .. } | Kind::FixedCentre);
    if !cycles.iter().any(is_centre) {
        return CentreFate::Untouched;
    }
    if !Face::ALL.iter().all(|&face| centre_is_whole(after, face)) {
        return CentreFate::Broken;
    }
    let shows_own = |face: Face| {
        let (row, col) = (n / 2, n / 2);
        after.at_spot(Spot { face, row, col }) == face
    };
    if Face::ALL.into_iter().all(shows_own) {
        CentreFate::KeptToTheEye
    } else {
        CentreFate::Moved
    }
}

fn group_fate(after: &State) -> GroupFate {
    let mut fate = GroupFate {
        broken: Vec::new(),
        moved: Vec::new(),
        turned: Vec::new(),
    };
    let solved = State::solved(after.n());
    if after.n() < 3 {
        return fate;
    }
    for (edge, is_whole) in joined(after, 2).into_iter().enumerate() {
        let name = EDGE_NAMES[edge].to_owned();
        let shown = |state: &State| {
            cells(state.layout(), edge, 2)
                .next()
                .map(|places| places.map(|place| state.at(usize::from(place))))
        };
        if !is_whole {
            fate.broken.push(name);
        } else if let (Some([on_a, on_b]), Some(home)) = (shown(after), shown(&solved)) {
            if home == [on_b, on_a] {
                fate.turned.push(name);
            } else if home != [on_a, on_b] {
                fate.moved.push(name);
            }
        }
    }
    fate
}

impl Analysis {
    fn sentences(&self) -> String {
        if self.order == 1 {
            return "It changes nothing.".to_owned();
        }
        let mut parts = Vec::new();
        parts.extend(self.told("corner", Kind::Corner));
        parts.extend(self.told("midge", Kind::Midge));
        for layer in 2..=self.n / 2 {
            let word = wing_word(self.n, layer - 2);
            parts.extend(self.told(word, Kind::Wing { layer }));
        }
        let centres = match self.centres {
            CentreFate::Untouched => "The centres stay untouched.",
            CentreFate::KeptToTheEye => "The centres look as before.",
            CentreFate::Moved => "The centres stay whole but move to other sides.",
            CentreFate::Broken => "It breaks the centres.",
        };
        parts.push(centres.to_owned());
        if self.n > 3 {
            parts.push(if self.groups.broken.is_empty() {
                "All edge groups stay whole.".to_owned()
            } else {
                format!("It breaks {}.", named_groups("group", &self.groups.broken))
            });
            if !self.groups.turned.is_empty() {
                let groups = named_groups("whole group", &self.groups.turned);
                parts.push(format!("It turns {groups} over in place."));
            }
            if !self.groups.moved.is_empty() {
                let groups = named_groups("whole group", &self.groups.moved);
                parts.push(format!("It moves {groups}."));
            }
        }
        parts.push(match self.order_seen {
            1 => "The cube looks as before.".to_owned(),
            2 => "Made twice, the cube looks as before.".to_owned(),
            many => format!("Made {many} times, the cube looks as before."),
        });
        parts.join(" ")
    }

    /// The cycles of one kind: "Three corners in a ring.", "Two wings exchanged."
    fn told(&self, word: &str, kind: Kind) -> Option<String> {
        let mut parts: Vec<(String, usize)> = Vec::new();
        for cycle in self.cycles.iter().filter(|cycle| cycle.kind == kind) {
            let turned = if cycle.turned > 0 { " with a turn" } else { "" };
            let part = match cycle.places.len() {
                1 => format!("one {word} turned in its place"),
                2 => format!("two {word}s exchanged{turned}"),
                count => format!("{} {word}s in a ring{turned}", counted(count)),
            };
            match parts.iter_mut().find(|(known, _)| *known == part) {
                Some((_, times)) => *times += 1,
                None => parts.push((part, 1)),
            }
        }
        let each: Vec<String> = parts
            .into_iter()
            .map(|(part, times)| match times {
                1 => part,
                2 => format!("twice {part}"),
                _ => format!("{} times {part}", counted(times)),
            })
            .collect();
        let text = listed(&each);
        let first = text.chars().next()?;
        let rest = &text[first.len_utf8()..];
        Some(format!("{}{rest}.", first.to_uppercase()))
    }
}

/// "the group on UF", "the groups on UF and UB".
pub(super) fn named_groups(word: &str, places: &[String]) -> String {
    let plural = if places.len() == 1 { "" } else { "s" };
    format!("the {word}{plural} on {}", listed(places))
}

/// What a sequence makes of a cube in hand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Applied {
    /// The state afterwards.
    pub state: State,
    /// How far it has come.
    pub reaches: Reaches,
}

/// Makes a sequence on a state.
///
/// # Panics
///
/// If a move does not fit the cube.
pub fn apply(moves: &Sequence, state: &State) -> Applied {
    let after = state.after(&moves.0);
    Applied {
        reaches: Reaches::of(&after),
        state: after,
    }
}

/// JSON numbers end at 2⁵³ for most readers; orders of the cube's group can be larger only in theory, but are then
/// written as text.
fn as_number<S: Serializer>(value: &u128, out: S) -> Result<S::Ok, S::Error> {
    match u64::try_from(*value) {
        Ok(small) => out.serialize_u64(small),
        Err(_) => out.serialize_str(&value.to_string()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::Value;
    use std::collections::BTreeMap;

    fn analysed(moves: &str, n: usize) -> Analysis {
        analyse(&Sequence::for_order(moves, n).unwrap(), n)
    }

    /// The cycles of stickers that cycles of pieces stand for, by kind.
    fn sticker_cycles(analysis: &Analysis) -> BTreeMap<String, Vec<usize>> {
        let mut all: BTreeMap<String, Vec<usize>> = BTreeMap::new();
        for cycle in &analysis.cycles {
            let (name, stickers) = match cycle.kind {
                Kind::Corner => ("corner".to_owned(), 3),
                Kind::Midge => ("midge".to_owned(), 2),
                Kind::Wing { layer } => (format!("wing {layer}"), 2),
                Kind::Centre { .. } => ("centre".to_owned(), 1),
                Kind::FixedCentre => ("fixed centre".to_owned(), 1),
            };
            let length = cycle.places.len();
            let lengths = if cycle.turned > 0 {
                vec![stickers * length]
            } else {
                vec![length; stickers]
            };
            let kept = all.entry(name).or_default();
            kept.extend(lengths.into_iter().filter(|&length| length > 1));
            kept.sort_unstable();
        }
        all
    }

    /// The cycles of pieces by kind, each from its first name on, in the words of the GAP answers.
    fn piece_cycles(analysis: &Analysis) -> BTreeMap<String, Vec<Vec<String>>> {
        let name = |place: &String| {
            let wing = place
                .split_once("wing of ")
                .map_or(place.as_str(), |(_, name)| name);
            let words = wing.split(' ');
            let telling =
                words.filter(|word| !["next", "to", "towards", "row", "column"].contains(word));
            telling.collect::<Vec<_>>().join(" ")
        };
        let mut all: BTreeMap<String, Vec<Vec<String>>> = BTreeMap::new();
        for cycle in &analysis.cycles {
            let kind = match cycle.kind {
                Kind::Corner => "corner".to_owned(),
                Kind::Midge => "midge".to_owned(),
                Kind::Wing { layer } => format!("wing {layer}"),
                Kind::Centre { .. } => "centre".to_owned(),
                Kind::FixedCentre => "fixed centre".to_owned(),
            };
            let mut places: Vec<String> = cycle.places.iter().map(name).collect();
            let first = (0..places.len()).min_by_key(|&at| &places[at]).unwrap();
            places.rotate_left(first);
            all.entry(kind).or_default().push(places);
        }
        for cycles in all.values_mut() {
            cycles.sort();
        }
        all
    }

    /// Source: GAP 4.12.1, see fixtures/sequences.
    #[test]
    fn cycles_and_orders_agree_with_gap() {
        let path = concat!(env!("CARGO_MANIFEST_DIR"), "/fixtures/sequences/gap.json");
        let rows: Vec<Value> =
            serde_json::from_str(&std::fs::read_to_string(path).unwrap()).unwrap();
        assert!(rows.len() > 80);
        let mut named = 0;
        for row in rows {
            let (n, moves) = (row["n"].as_u64().unwrap(), row["moves"].as_str().unwrap());
            let found = analysed(moves, n as usize);
            assert_eq!(
                found.order.to_string(),
                row["order"].as_str().unwrap(),
                "{row}"
            );
            let expected: BTreeMap<String, Vec<usize>> =
                serde_json::from_value(row["sticker_cycles"].clone()).unwrap();
            assert_eq!(sticker_cycles(&found), expected, "{row}");
            if let Some(cycles) = row.get("cycles") {
                named += 1;
                let expected: BTreeMap<String, Vec<Vec<String>>> =
                    serde_json::from_value(cycles.clone()).unwrap();
                assert_eq!(piece_cycles(&found), expected, "{row}");
            }
        }
        assert!(named > 50, "{named}");
    }

    fn corners_moved(analysis: &Analysis) -> Vec<Vec<String>> {
        let corners = analysis
            .cycles
            .iter()
            .filter(|cycle| cycle.kind == Kind::Corner);
        corners.map(|cycle| cycle.places.clone()).collect()
    }

    /// Source: an independent simulation of sequences of common practice.
    #[test]
    fn sequences_of_common_practice() {
        let exchange = analysed("3Dw R F' U R' F 3Dw'", 6);
        assert_eq!(exchange.centres, CentreFate::KeptToTheEye);
        assert_eq!(exchange.groups.broken, ["FR", "FL"]);
        assert_eq!(exchange.groups.moved, ["UB", "UL", "DF", "DL"]);
        for n in 4..=7 {
            let outer = analysed("Dw R F' U R' F Dw'", n);
            assert_eq!(outer.groups.broken, ["FR", "FL"], "n = {n}");
            assert_ne!(outer.centres, CentreFate::Broken);
        }
        let long = "Rw2 B2 U2 Lw U2 Rw' U2 Rw U2 F2 Rw F2 Lw' B2 Rw2";
        for n in [5, 6, 7] {
            let flip = analysed(long, n);
            assert_eq!(flip.groups.broken, ["UF"], "n = {n}");
            assert_eq!(flip.groups.moved, ["UR", "UL"]);
            assert_eq!(corners_moved(&flip), [["UFR", "UFL"]]);
        }
        let whole = long.replace("Rw", "3Rw").replace("Lw", "3Lw");
        let flip = analysed(&whole, 6);
        assert!(flip.groups.broken.is_empty());
        assert_eq!(flip.groups.turned, ["UF"]);
        assert_eq!(flip.groups.moved, ["UR", "UL"]);
        let sliced = long
            .split(' ')
            .map(|word| match word.as_bytes() {
                [face, b'w', rest @ ..] => {
                    let (face, rest) = (*face as char, std::str::from_utf8(rest).unwrap());
                    let back = match rest {
                        "" => "'",
                        "'" => "",
                        other => other,
                    };
                    format!("3{face}w{rest} {face}{back}")
                }
                _ => word.to_owned(),
            })
            .collect::<Vec<_>>()
            .join(" ");
        let flip = analysed(&sliced, 6);
        assert_eq!(flip.groups.turned, ["UF"]);
        assert!(flip.groups.moved.is_empty());
        assert_eq!(corners_moved(&flip), Vec::<Vec<String>>::new());
    }

    /// Source: as above: swap parity, and the slip of writing plain wide turns for it.
    #[test]
    fn the_swap_and_its_usual_slip() {
        let swap = analysed("Rw2 R2 U2 Rw2 R2 Uw2 Rw2 R2 Uw2 U2", 4);
        assert_ne!(swap.centres, CentreFate::Broken);
        assert!(swap.groups.broken.is_empty());
        assert_eq!(swap.groups.moved, ["UF", "UB"]);
        assert_eq!(corners_moved(&swap), Vec::<Vec<String>>::new());
        let slip = analysed("Rw2 U2 Rw2 Uw2 Rw2 Uw2", 4);
        assert_eq!(slip.centres, CentreFate::Broken);
    }

    #[test]
    fn what_changes_nothing_says_so() {
        let nothing = analysed("R U U' R'", 5);
        assert_eq!((nothing.order, nothing.order_seen), (1, 1));
        assert_eq!(nothing.text, "It changes nothing.");
        let whole = analysed("x", 4);
        assert_eq!((whole.order, whole.centres), (4, CentreFate::Moved));
    }
}
