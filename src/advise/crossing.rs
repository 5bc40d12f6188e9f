//! Ways back to whole centres from the middle of what they are built with (see [`super::centre_search`]): crossings
//! (columns turned, the top, other columns, the top back, the first columns back, the top, the other columns back) and
//! columns turned up, the top, the columns back.
//!
//! Which columns are turned need not be tried: a centre that they have opened is whole again only if each of its columns
//! comes back, and where a column came to lie shows by its being of one colour. So the lines of one colour, of which
//! there are few, say for each column whether it was turned, and how.

use super::centre_search::{Gain, columns, row_as_col};
use super::look_back::Turns;
use super::measure::centre_is_whole;
use super::search::{in_hold, tidied};
use crate::cube::{Face, Hold, Layout, MOST_ORDER, Move, Quarter, Spot, State};
use std::sync::OnceLock;

/// The sides that columns run through, each with the next that a quarter turn brings it to, as R goes.
const AROUND: [Face; 4] = [Face::F, Face::U, Face::B, Face::D];

/// The top, as an index into [`AROUND`]: what comes there is turned on and comes back in no column.
const TOP: usize = 1;

/// How the first columns are turned, and how the others.
const PATTERNS: [(Quarter, Quarter); 3] = [
    (Quarter::Clockwise, Quarter::Clockwise),
    (Quarter::Half, Quarter::Clockwise),
    (Quarter::Half, Quarter::Anticlockwise),
];

/// Of more columns than this that may have been turned or not, the choices are not tried.
const MOST_UNSURE: u32 = 3;

/// A way back to the beginning of a crossing.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct WayBack {
    /// The turns, as the cube is held now.
    pub moves: Vec<Move>,
    /// The hold that the crossing is made in, its pieces coming to the top.
    pub hold: Hold,
    /// The centres whole then.
    pub whole: usize,
    /// What all of the crossing does; `None` where just its first columns are turned, so that the others are not known.
    pub gain: Option<Gain>,
}

/// The ways that lead to more whole centres than there are: to `surely` or more, or to the beginning of a crossing that
/// gains something.
pub fn ways_back(state: &State, surely: usize) -> Vec<WayBack> {
    let whole = Face::ALL.map(|face| centre_is_whole(state, face));
    let mut found = Collecting {
        whole: whole.iter().filter(|&&is| is).count(),
        surely,
        ways: Vec::new(),
    };
    found.search(state, None);
    // Columns away from the edge take two turns; after the first of them a block stands between.
    let turns = Turns::of(state.n());
    for (step, from) in &turns.moves[..turns.distinct] {
        if !matches!(step, Move::Block { layers: 2.., .. }) {
            continue;
        }
        let stickers = from.iter().map(|&at| state.at(usize::from(at)));
        if let Some(turned) = State::from_stickers(state.n(), stickers.collect()) {
            found.search(&turned, Some(*step));
        }
    }
    found.ways.sort_unstable();
    found.ways.dedup();
    found.ways
}

/// The columns turned: first ones and others, a bit each, counted from 0 at the left.
#[derive(Clone, Copy)]
struct Turned {
    first: u16,
    others: u16,
}

/// The ways found so far.
struct Collecting {
    /// The centres whole now.
    whole: usize,
    surely: usize,
    ways: Vec<WayBack>,
}

impl Collecting {
    /// Searches in all holds, in those about its axis where a block was turned before.
    fn search(&mut self, state: &State, before: Option<Move>) {
        let n = state.n();
        let lines = lines_of_one_colour(state);
        let full: u16 = (1..n - 1).fold(0, |bits, col| bits | 1 << col);
        for held in Held::all(n) {
            let sides = [Face::R, Face::L].map(|side| held.hold.comes_from(side));
            let is_about =
                |step: Move| matches!(step, Move::Block { face, .. } if sides.contains(&face));
            if before.is_some_and(|step| !is_about(step)) {
                continue;
            }
            // For each side and colour the columns of that colour alone.
            let mut of_colour = [[0_u16; 6]; 4];
            for (of_colour, places) in of_colour.iter_mut().zip(&held.columns) {
                for (col, &line) in places.iter().enumerate() {
                    if let Some(colour) = lines[line] {
                        of_colour[colour.index()] |= 1 << (col + 1);
                    }
                }
            }
            // What lies on top when it is turned is no column any more.
            of_colour[TOP] = [0; 6];
            let ends_whole = sides
                .iter()
                .filter(|&&side| centre_is_whole(state, side))
                .count();
            for (up, way) in PATTERNS {
                let fitting = Fitting {
                    state,
                    before,
                    held,
                    up,
                    way,
                    of_colour,
                    ends_whole,
                    full,
                };
                fitting.search(self);
            }
        }
    }
}

/// How columns may have been turned for centres to be opened.
struct Fitting<'a> {
    state: &'a State,
    before: Option<Move>,
    held: &'static Held,
    up: Quarter,
    way: Quarter,
    /// For each side around and colour the columns of that colour alone.
    of_colour: [[u16; 6]; 4],
    /// How many centres at the ends of the columns' axis are whole.
    ends_whole: usize,
    full: u16,
}

impl Fitting<'_> {
    /// The columns of one colour on a side that may have been left alone, turned as the first, turned as the others.
    fn columns_of(&self, side: usize, colour: usize) -> [u16; 3] {
        let [up, way] = [self.up, self.way].map(|quarter| (side + quarter.count()) % 4);
        [side, up, way].map(|side| self.of_colour[side][colour])
    }

    fn search(&self, found: &mut Collecting) {
        for side in (0..4).filter(|&side| side != TOP) {
            for colour in 0..6 {
                let [left, as_first, as_others] = self.columns_of(side, colour);
                let is_whole_somewhere = [left, as_first, as_others].contains(&self.full);
                if !is_whole_somewhere && (left | as_first | as_others) == self.full {
                    self.all([left, as_first, as_others], found);
                }
            }
        }
    }

    /// How many centres are whole once these columns are turned back.
    fn whole(&self, turned: Turned) -> usize {
        let rest = self.full & !turned.first & !turned.others;
        let is_whole = |side: usize| {
            (0..6).any(|colour| {
                let [left, as_first, as_others] = self.columns_of(side, colour);
                rest & !left == 0
                    && turned.first & !as_first == 0
                    && turned.others & !as_others == 0
            })
        };
        let around = (0..4).filter(|&side| side != TOP && is_whole(side));
        self.ends_whole + around.count()
    }

    /// Collects the ways back from wherever between two turns of a crossing the cube may be.
    fn all(&self, [left, as_first, as_others]: [u16; 3], found: &mut Collecting) {
        let n = self.state.n();
        let not_turned_first = others(self.full, left, as_others);
        for first in 1..n - 1 {
            for last in first..n - 1 {
                let first = (first..=last).fold(0, |bits, col| bits | 1 << col);
                let rest = self.full & !first;
                if rest == 0 {
                    continue;
                }
                if first & !as_first == 0 {
                    if rest & !left == 0 {
                        self.after_first(first, found);
                    }
                    for others in others(rest, left, as_others) {
                        self.between(Turned { first, others }, found);
                    }
                }
                // The first columns are turned back already.
                for &others in &not_turned_first {
                    if others & first == 0 {
                        self.after_back(Turned { first, others }, found);
                    }
                }
            }
        }
    }

    fn columns(&self, cols: u16, quarter: Quarter) -> Vec<Move> {
        let n = self.state.n();
        let cols: Vec<usize> = (1..n - 1).filter(|col| cols >> col & 1 == 1).collect();
        columns(n, &cols, quarter)
    }

    /// The first columns are turned, and maybe the top.
    fn after_first(&self, first: u16, found: &mut Collecting) {
        let whole = self.whole(Turned { first, others: 0 });
        if whole <= found.whole {
            return;
        }
        let columns = self.columns(first, self.up.inverse());
        found.ways.push(self.way_back(&columns, whole, None));
        for quarter in Quarter::ALL {
            let mut back = vec![top(quarter)];
            back.extend(&columns);
            found.ways.push(self.way_back(&back, whole, None));
        }
    }

    /// The first columns, the top and the others are turned, and maybe the top back.
    fn between(&self, turned: Turned, found: &mut Collecting) {
        let whole = self.whole(turned);
        if whole <= found.whole {
            return;
        }
        for quarter in [Quarter::Clockwise, Quarter::Anticlockwise] {
            let moves = self.crossing(turned, quarter);
            let made = 1
                + self.columns(turned.first, self.up).len()
                + self.columns(turned.others, self.way).len();
            for made in [made, made + 1] {
                self.cut((turned, quarter), &moves, made, whole, found);
            }
        }
    }

    /// The first columns are turned back as well, and maybe the top is turned once more.
    fn after_back(&self, turned: Turned, found: &mut Collecting) {
        let whole = self.whole(Turned { first: 0, ..turned });
        if whole <= found.whole {
            return;
        }
        for quarter in [Quarter::Clockwise, Quarter::Anticlockwise] {
            let moves = self.crossing(turned, quarter);
            let made = moves.len() - 1 - self.columns(turned.others, self.way).len();
            for made in [made - 1, made] {
                self.cut((turned, quarter), &moves, made, whole, found);
            }
        }
    }

    /// A whole crossing, the top turned back at its end.
    fn crossing(&self, turned: Turned, quarter: Quarter) -> Vec<Move> {
        let mut moves = Vec::new();
        for (up, way) in [(self.up, self.way), (self.up.inverse(), self.way.inverse())] {
            moves.extend(self.columns(turned.first, up));
            moves.push(top(quarter));
            moves.extend(self.columns(turned.others, way));
            moves.push(top(quarter.inverse()));
        }
        moves
    }

    /// The way back after some turns of a crossing, if it leads to enough.
    fn cut(
        &self,
        (turned, quarter): (Turned, Quarter),
        moves: &[Move],
        made: usize,
        whole: usize,
        found: &mut Collecting,
    ) {
        let gain = self.gain((turned, quarter), moves, made);
        if gain.is_none() && whole < found.surely {
            return;
        }
        let back = moves[..made].iter().rev();
        let back: Vec<Move> = back.map(|step| step.inverse()).collect();
        let gain = gain.unwrap_or(Gain {
            stickers: 0,
            turns: 1,
        });
        found.ways.push(self.way_back(&back, whole, Some(gain)));
    }

    fn way_back(&self, back: &[Move], whole: usize, gain: Option<Gain>) -> WayBack {
        let turns = in_hold(back, self.held.hold.inverse());
        let moves: Vec<Move> = self.before.into_iter().chain(turns).collect();
        WayBack {
            moves: tidied(&moves),
            hold: self.held.hold,
            whole,
            gain,
        }
    }

    /// What a crossing gains of which some turns are made; `None` unless each row at an end of those it moves gains, for
    /// others are not advised.
    fn gain(
        &self,
        (turned, quarter): (Turned, Quarter),
        moves: &[Move],
        made: usize,
    ) -> Option<Gain> {
        let n = self.state.n();
        let turns = Turns::of(n);
        let sources = |moves: &[Move]| turns.sources(moves, self.held.hold);
        let back: Vec<Move> = moves[..made]
            .iter()
            .rev()
            .map(|step| step.inverse())
            .collect();
        let (back, on) = (sources(&back)?, sources(&moves[made..])?);
        let shown = |sources: &[&[u16]], row: usize, col: usize| {
            let at = self.held.places[Spot {
                face: Face::U,
                row,
                col,
            }
            .place(n)];
            let from = sources
                .iter()
                .rev()
                .fold(at, |at, from| from[usize::from(at)]);
            self.state.at(usize::from(from))
        };
        let cols = (1..n - 1).filter(|col| turned.first >> col & 1 == 1);
        let is_moved = |row: &usize| turned.others >> row_as_col(n, *row, quarter) & 1 == 1;
        let rows: Vec<usize> = (1..n - 1).filter(is_moved).collect();
        let in_row = |row: usize| {
            let mut more = [0_i32; 6];
            for col in cols.clone() {
                more[shown(&on, row, col).index()] += 1;
                more[shown(&back, row, col).index()] -= 1;
            }
            more
        };
        let more: Vec<[i32; 6]> = rows.iter().map(|&row| in_row(row)).collect();
        let (first, last) = (more.first()?, more.last()?);
        let is_run = rows.last()? - rows.first()? + 1 == rows.len();
        let gains = |colour: &usize| {
            let colour = *colour;
            first[colour] > 0
                && last[colour] > 0
                && (is_run || more.iter().all(|more| more[colour] > 0))
        };
        let stickers = (0..6)
            .filter(gains)
            .map(|colour| more.iter().map(|more| more[colour]).sum::<i32>())
            .max()?;
        (stickers > 0).then_some(Gain {
            stickers: stickers as usize,
            turns: moves.len() - 1,
        })
    }
}

/// The choices of columns turned as the others, among columns that were left alone or turned so.
fn others(among: u16, left: u16, as_others: u16) -> Vec<u16> {
    if among & !(left | as_others) != 0 {
        return Vec::new();
    }
    let sure = among & !left;
    let unsure = among & left & as_others;
    let mut choices = vec![sure];
    if unsure.count_ones() <= MOST_UNSURE {
        let mut part = unsure;
        while part != 0 {
            choices.push(sure | part);
            part = (part - 1) & unsure;
        }
    }
    choices.retain(|&others| others != 0);
    choices
}

const fn top(quarter: Quarter) -> Move {
    Move::Block {
        face: Face::U,
        layers: 1,
        quarter,
    }
}

/// The colour of every line of a centre, rows and then columns of each face, if it is one.
fn lines_of_one_colour(state: &State) -> Vec<Option<Face>> {
    let n = state.n();
    let mut lines = Vec::with_capacity(12 * (n - 2));
    for face in Face::ALL {
        for is_column in [false, true] {
            lines.extend((1..n - 1).map(|at| {
                let mut cells = (1..n - 1).map(|along| {
                    let (row, col) = if is_column { (along, at) } else { (at, along) };
                    state.at_spot(Spot { face, row, col })
                });
                let first = cells.next()?;
                cells.all(|colour| colour == first).then_some(first)
            }));
        }
    }
    lines
}

/// Where in a cube what one sees in a hold lies.
struct Held {
    hold: Hold,
    /// The place as held now for each place in the hold.
    places: Vec<u16>,
    /// For each side of [`AROUND`] where its columns are among [`lines_of_one_colour`], from the left of the front.
    columns: [Vec<usize>; 4],
}

impl Held {
    /// All holds of an order.
    fn all(n: usize) -> &'static [Self] {
        static MADE: [OnceLock<Vec<Held>>; MOST_ORDER + 1] =
            [const { OnceLock::new() }; MOST_ORDER + 1];
        MADE[n].get_or_init(|| Hold::all().iter().map(|&hold| Self::of(n, hold)).collect())
    }

    fn of(n: usize, hold: Hold) -> Self {
        let layout = Layout::of(n);
        let mut places: Vec<u16> = (0..layout.places() as u16).collect();
        for &step in &hold.sequence().0 {
            layout.turn(&mut places, step);
        }
        let line = |face: Face, at: usize| {
            let col = if face == Face::B { n - 1 - at } else { at };
            let [one, other] = [1, 2].map(|row| {
                let place = Spot { face, row, col }.place(n);
                Spot::from_place(usize::from(places[place]), n)
            });
            let is_column = one.col == other.col;
            let at = if is_column { one.col } else { one.row };
            (2 * one.face.index() + usize::from(is_column)) * (n - 2) + at - 1
        };
        Self {
            columns: AROUND.map(|face| (1..n - 1).map(|at| line(face, at)).collect()),
            hold,
            places,
        }
    }
}
