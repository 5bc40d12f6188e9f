//! What brings a centre on most for the turns.
//!
//! The centre being built is on top, the side the pieces come from in front (or below). From cheap to careful:
//!
//! - a bar is put together in front, row by row from the sides around, and turned up, where no finished centre lies
//!   in the way of the rows;
//! - columns are turned up, where no finished centre lies in their way; some columns can be kept out of it;
//! - columns are turned up, the top half round, the columns back: bars change places, all else stays;
//! - some columns and some rows, in a commutator: just the pieces where they cross change places.

use crate::cube::{Face, Hold, MOST_ORDER, Move, Quarter, Spot, State};
use std::cmp::Ordering;
use std::ops::RangeInclusive;

/// A change found for the centre on top of its hold.
pub struct Change {
    /// The hold, with the centre on top.
    pub hold: Hold,
    /// The moves in it.
    pub moves: Vec<Move>,
    /// How many more stickers are right.
    pub gain: usize,
    /// The side the pieces come from, in the hold.
    pub from: Face,
    /// A finished centre that must be broken for it, in the hold.
    pub broken: Option<Face>,
    /// Whether whole bars move, rather than single pieces.
    pub is_bar: bool,
}

/// Stickers of the colour on a face: for each row its columns, a bit each. Thousands are turned and counted.
#[derive(Clone, Copy)]
struct Grid {
    n: usize,
    rows: [u32; MOST_ORDER],
}

impl Grid {
    fn new(n: usize, is_right: impl Fn(usize, usize) -> bool) -> Self {
        let mut rows = [0; MOST_ORDER];
        for (row, bits) in rows.iter_mut().enumerate().take(n) {
            *bits = (0..n).fold(0, |bits, col| bits | u32::from(is_right(row, col)) << col);
        }
        Self { n, rows }
    }

    /// Whether a sticker is right: 1 or 0.
    const fn at(&self, row: usize, col: usize) -> i32 {
        (self.rows[row] >> col & 1) as i32
    }

    /// The grid turned clockwise by some quarters; few of its stickers are right, so that these are moved one by one.
    fn turned(&self, quarters: usize) -> Self {
        let last = self.n - 1;
        let mut turned = Self {
            n: self.n,
            rows: [0; MOST_ORDER],
        };
        for (row, &bits) in self.rows[..self.n].iter().enumerate() {
            let mut left = bits;
            while left != 0 {
                let col = left.trailing_zeros() as usize;
                left &= left - 1;
                let (row, col) = match quarters {
                    0 => (row, col),
                    1 => (col, last - row),
                    2 => (last - row, last - col),
                    _ => (last - col, row),
                };
                turned.rows[row] |= 1 << col;
            }
        }
        turned
    }

    fn all_turned(&self) -> [Self; 4] {
        [0, 1, 2, 3].map(|quarters| self.turned(quarters))
    }

    /// How many stickers of each inner column are right.
    fn in_columns(&self) -> [i32; MOST_ORDER] {
        let mut counts = [0; MOST_ORDER];
        for &bits in &self.rows[1..self.n - 1] {
            for (col, count) in counts.iter_mut().enumerate().take(self.n) {
                *count += (bits >> col & 1) as i32;
            }
        }
        counts
    }

    /// How many stickers of a row are right among some columns, a bit each.
    const fn in_row(&self, row: usize, cols: u32) -> i32 {
        (self.rows[row] & cols).count_ones() as i32
    }

    /// How many stickers of an inner column are right.
    fn in_column(&self, col: usize) -> i32 {
        (1..self.n - 1).map(|row| self.at(row, col)).sum()
    }
}

/// The best change so far, in one hold.
#[derive(Clone)]
struct Found {
    moves: Vec<Move>,
    from: Face,
    /// A side other than top and source that gives a piece and gets another.
    third: Option<Face>,
    is_bar: bool,
    gain: i32,
    cost: i32,
    hold: Hold,
}

/// The change that gains most for its turns; finished centres stay, unless nothing else is left.
pub fn best_change(state: &State, target: Face, colour: Face, done: &[Face]) -> Option<Change> {
    for may_break in [false, true] {
        let mut best: Option<Found> = None;
        for &hold in Hold::all() {
            if hold.brings(target) != Face::U {
                continue;
            }
            let held = state.after(&hold.sequence().0);
            let mut search = Search {
                n: state.n(),
                is_done: Face::ALL.map(|side| done.contains(&hold.comes_from(side))),
                may_break,
                is_to_be_beaten: false,
                hold,
                best: best.take(),
            };
            search.run(&held, colour);
            best = search.best;
        }
        if let Some(found) = best {
            let is_done = |side: &Face| done.contains(&found.hold.comes_from(*side));
            return Some(Change {
                moves: super::search::tidied(&found.moves),
                gain: found.gain as usize,
                from: found.from,
                broken: found.third.filter(is_done),
                is_bar: found.is_bar,
                hold: found.hold,
            });
        }
    }
    None
}

/// What a change gains, and for how many turns.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Gain {
    /// How many more stickers on top are right.
    pub stickers: usize,
    /// The turns.
    pub turns: usize,
}

impl Gain {
    /// Which is more for its turns.
    pub fn compared_with(self, other: Self) -> Ordering {
        (self.stickers * other.turns).cmp(&(other.stickers * self.turns))
    }
}

/// Whether no change of the centre on top, as the cube is held, gains more for its turns; finished centres stay. It is much
/// sooner found that one does than which is best.
pub fn none_gains_more(held: &State, colour: Face, done: &[Face], gain: Gain) -> bool {
    let mut best = Some(Found {
        moves: Vec::new(),
        from: Face::U,
        third: None,
        is_bar: false,
        gain: gain.stickers as i32,
        cost: 2 * gain.turns as i32,
        hold: Hold::SAME,
    });
    for &hold in Hold::all() {
        if hold.brings(Face::U) != Face::U {
            continue;
        }
        let mut search = Search {
            n: held.n(),
            is_done: Face::ALL.map(|side| done.contains(&hold.comes_from(side))),
            may_break: false,
            is_to_be_beaten: true,
            hold,
            best: best.take(),
        };
        search.run(&held.after(&hold.sequence().0), colour);
        if search.is_beaten() {
            return false;
        }
        best = search.best;
    }
    true
}

/// Turns columns of the front (counted from 0 at the left), in the direction of R; where they reach the outer
/// columns, these go along.
pub(super) fn columns(n: usize, cols: &[usize], quarter: Quarter) -> Vec<Move> {
    let mut moves = Vec::new();
    for (first, last) in runs(cols) {
        let block = |face, layers, quarter| Move::Block {
            face,
            layers,
            quarter,
        };
        // Layers counted from R run from n − last to n − first, those from L from first + 1 to last + 1.
        if last == n - 2 {
            moves.push(block(Face::R, n - first, quarter));
        } else if first == 1 {
            moves.push(block(Face::L, last + 1, quarter.inverse()));
        } else if first + last + 1 >= n {
            moves.push(block(Face::R, n - first, quarter));
            moves.push(block(Face::R, n - last - 1, quarter.inverse()));
        } else {
            moves.push(block(Face::L, last + 1, quarter.inverse()));
            moves.push(block(Face::L, first, quarter));
        }
    }
    moves
}

/// Turns one row (counted from 0 at the top) of the sides around, in the direction of U; a row next to the bottom
/// takes the bottom along. Says also by how many quarters the top goes along.
fn row_turn(n: usize, row: usize, quarter: Quarter) -> (Vec<Move>, usize) {
    let block = |face, layers, quarter| Move::Block {
        face,
        layers,
        quarter,
    };
    if row == n - 2 {
        return (vec![block(Face::D, 2, quarter.inverse())], 0);
    }
    if row == 1 {
        return (vec![block(Face::U, 2, quarter)], quarter.count());
    }
    if row < n / 2 {
        let moves = vec![
            block(Face::U, row + 1, quarter),
            block(Face::U, row, quarter.inverse()),
        ];
        return (moves, 0);
    }
    let moves = vec![
        block(Face::D, n - row, quarter.inverse()),
        block(Face::D, n - row - 1, quarter),
    ];
    (moves, 0)
}

/// Growing numbers as runs: first and last of each.
fn runs(numbers: &[usize]) -> Vec<(usize, usize)> {
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for &number in numbers {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == number => *last = number,
            _ => runs.push((number, number)),
        }
    }
    runs
}

/// The turns that [`columns`] takes.
fn price(n: usize, cols: impl IntoIterator<Item = usize>) -> i32 {
    let of_run = |(first, last)| if first == 1 || last == n - 2 { 1 } else { 2 };
    let mut sum = 0;
    let mut run: Option<(usize, usize)> = None;
    for col in cols {
        run = match run {
            Some((first, last)) if last + 1 == col => Some((first, col)),
            done => {
                sum += done.map_or(0, of_run);
                Some((col, col))
            }
        };
    }
    sum + run.map_or(0, of_run)
}

fn outer(face: Face, count: usize) -> Option<Move> {
    Quarter::from_count(count).map(|quarter| Move::Block {
        face,
        layers: 1,
        quarter,
    })
}

/// Turns of the top and the source made beforehand.
#[derive(Clone, Copy)]
struct Start {
    from: Face,
    top: usize,
    source: usize,
}

impl Start {
    fn cost(self) -> i32 {
        i32::from(self.top > 0) + i32::from(self.source > 0)
    }

    fn moves(self) -> Vec<Move> {
        let turns = [outer(Face::U, self.top), outer(self.from, self.source)];
        turns.into_iter().flatten().collect()
    }

    /// How columns are turned so that the source's come to the top.
    fn up(self) -> Quarter {
        if self.from == Face::D {
            Quarter::Half
        } else {
            Quarter::Clockwise
        }
    }
}

/// The column that a row of the top becomes by a turn of the top.
pub(super) const fn row_as_col(n: usize, row: usize, top: Quarter) -> usize {
    match top {
        Quarter::Clockwise => n - 1 - row,
        _ => row,
    }
}

/// The search among all changes in one hold.
struct Search {
    n: usize,
    /// For each side of the hold, whether its centre is finished.
    is_done: [bool; 6],
    may_break: bool,
    /// Whether the search is over as soon as a change is found that is better than the one it begins with, which has no
    /// moves.
    is_to_be_beaten: bool,
    hold: Hold,
    best: Option<Found>,
}

impl Search {
    fn is_beaten(&self) -> bool {
        self.is_to_be_beaten
            && self
                .best
                .as_ref()
                .is_some_and(|best| !best.moves.is_empty())
    }

    fn run(&mut self, held: &State, colour: Face) {
        let n = self.n;
        let grid = |face: Face| {
            Grid::new(n, |row, col| {
                held.at_spot(Spot { face, row, col }) == colour
            })
        };
        let tops = grid(Face::U).all_turned();
        let has = tops.map(|grid| grid.in_columns());
        for from in [Face::F, Face::D] {
            if self.is_done(from) {
                continue;
            }
            let sources = grid(from).all_turned();
            let gets = sources.map(|grid| grid.in_columns());
            for (top, over) in tops.iter().enumerate() {
                for (source, under) in sources.iter().enumerate() {
                    if self.is_beaten() {
                        return;
                    }
                    let start = Start { from, top, source };
                    self.try_bars(start, &has[top], &gets[source]);
                    self.try_rows(start, over, under);
                    self.try_crossings(start, over, under);
                }
            }
        }
        if [Face::F, Face::R, Face::B, Face::L]
            .iter()
            .all(|&side| !self.is_done(side))
        {
            let around = [Face::F, Face::R, Face::B, Face::L].map(grid);
            for front in 0..4 {
                let mut around = around;
                around[0] = around[0].turned(front);
                self.try_gathered(front, &around, &tops);
            }
        }
    }

    const fn is_done(&self, side: Face) -> bool {
        self.is_done[side.index()]
    }

    /// Whether columns can be turned without breaking a finished centre.
    fn columns_are_free(&self) -> bool {
        [Face::F, Face::B, Face::D]
            .iter()
            .all(|&side| !self.is_done(side))
    }

    /// Columns of the source turned up; `has` and `gets` say how many stickers are right in those of the top and the source.
    fn try_bars(&mut self, start: Start, has: &[i32], gets: &[i32]) {
        let n = self.n;
        for first in 1..n - 1 {
            for last in first..n - 1 {
                let cols = || -> Vec<usize> { (first..=last).collect() };
                let price = price(n, first..=last);
                if self.columns_are_free() && last + 1 - first < n - 2 {
                    let gain = (first..=last).map(|col| gets[col] - has[col]).sum();
                    self.offer(gain, start.cost() + price, || {
                        let mut moves = start.moves();
                        moves.extend(columns(n, &cols(), start.up()));
                        (moves, start.from, None, true)
                    });
                }
                if last < n / 2 || first >= n.div_ceil(2) {
                    let gain = (first..=last).map(|col| gets[col] - has[n - 1 - col]).sum();
                    self.offer(gain, start.cost() + 2 * price + 1, || {
                        let mut moves = start.moves();
                        moves.extend(columns(n, &cols(), start.up()));
                        moves.extend(outer(Face::U, 2));
                        moves.extend(columns(n, &cols(), start.up().inverse()));
                        (moves, start.from, None, true)
                    });
                }
            }
        }
    }

    /// Rows of the top filled from columns of the source, some columns of the top being turned out of the way and
    /// back.
    fn try_rows(&mut self, start: Start, over: &Grid, under: &Grid) {
        if !self.columns_are_free() {
            return;
        }
        let n = self.n;
        for top in [Quarter::Clockwise, Quarter::Anticlockwise] {
            for row in 1..n - 1 {
                let col = row_as_col(n, row, top);
                let gains: Vec<i32> = (0..n)
                    .map(|at| {
                        let from = if top == Quarter::Clockwise {
                            at
                        } else {
                            n - 1 - at
                        };
                        under.at(from, col) - over.at(row, at)
                    })
                    .collect();
                // Columns kept: those that would lose, and those between, as long as they gain nothing.
                let losing: Vec<usize> = (1..n - 1)
                    .filter(|&at| at != col && gains[at] < 0)
                    .collect();
                let quiet: Vec<usize> = (1..n - 1)
                    .filter(|&at| at != col && gains[at] <= 0)
                    .collect();
                for kept in [losing, quiet] {
                    if kept.is_empty() || kept.len() == n - 2 {
                        continue;
                    }
                    let gain = (1..n - 1)
                        .filter(|at| !kept.contains(at))
                        .map(|at| gains[at])
                        .sum();
                    let turns =
                        start.cost() + 2 * price(n, kept.iter().copied()) + price(n, [col]) + 2;
                    self.offer(gain, turns, || {
                        let mut moves = start.moves();
                        moves.extend(columns(n, &kept, Quarter::Clockwise));
                        moves.extend(outer(Face::U, top.count()));
                        moves.extend(columns(n, &[col], start.up()));
                        moves.extend(outer(Face::U, top.inverse().count()));
                        moves.extend(columns(n, &kept, Quarter::Anticlockwise));
                        (moves, start.from, None, true)
                    });
                }
            }
        }
    }

    /// A bar put together in front from the sides around, then turned up.
    fn try_gathered(&mut self, front: usize, around: &[Grid; 4], tops: &[Grid; 4]) {
        let n = self.n;
        for first in 1..n - 1 {
            for last in first..n - 1 {
                let cols: Vec<usize> = (first..=last).collect();
                let is_half = last < n / 2 || first >= n.div_ceil(2);
                if last - first > 2 || !(is_half || self.columns_are_free()) {
                    continue;
                }
                let mut gathering = Gathering {
                    n,
                    around: *around,
                    moves: outer(Face::F, front).into_iter().collect(),
                    top: 0,
                };
                for _ in 1..n - 1 {
                    if !gathering.fill(&cols) {
                        break;
                    }
                    self.offer_gathered(&gathering, &cols, tops);
                }
            }
        }
    }

    fn offer_gathered(&mut self, gathering: &Gathering, cols: &[usize], tops: &[Grid; 4]) {
        let n = self.n;
        let is_half = cols[cols.len() - 1] < n / 2 || cols[0] >= n.div_ceil(2);
        let bar: i32 = cols
            .iter()
            .map(|&col| gathering.around[0].in_column(col))
            .sum();
        for turn in 0..4 {
            let over = &tops[(gathering.top + turn) % 4];
            for by_half in [false, true] {
                let allowed = if by_half {
                    is_half
                } else {
                    self.columns_are_free()
                };
                if !allowed {
                    continue;
                }
                let lost: i32 = cols
                    .iter()
                    .map(|&col| over.in_column(if by_half { n - 1 - col } else { col }))
                    .sum();
                let price = price(n, cols.iter().copied());
                let turns = gathering.moves.len() as i32
                    + i32::from(turn > 0)
                    + if by_half { 2 * price + 1 } else { price };
                self.offer(bar - lost, turns, || {
                    let mut moves = gathering.moves.clone();
                    moves.extend(outer(Face::U, turn));
                    moves.extend(columns(n, cols, Quarter::Clockwise));
                    if by_half {
                        moves.extend(outer(Face::U, 2));
                        moves.extend(columns(n, cols, Quarter::Anticlockwise));
                    }
                    (moves, Face::F, None, true)
                });
            }
        }
    }

    fn try_crossings(&mut self, start: Start, over: &Grid, under: &Grid) {
        let n = self.n;
        let mut ways = vec![Quarter::Clockwise];
        if start.from == Face::D {
            ways.push(Quarter::Anticlockwise);
        }
        ways.retain(|&row| {
            self.may_break || third(start, row).is_none_or(|side| !self.is_done(side))
        });
        let mut sums = vec![0; n];
        for first in 1..n - 1 {
            sums.fill(0);
            for last in first..n - 1 {
                for (row, sum) in sums.iter_mut().enumerate() {
                    *sum += under.at(row, last) - over.at(row, last);
                }
                for top in [Quarter::Clockwise, Quarter::Anticlockwise] {
                    for &way in &ways {
                        self.try_crossing_rows(start, (top, way), first..=last, &sums);
                    }
                }
            }
        }
    }

    /// The best rows for some columns: runs of rows, and all rows that gain.
    fn try_crossing_rows(
        &mut self,
        start: Start,
        (top, way): (Quarter, Quarter),
        cols: RangeInclusive<usize>,
        sums: &[i32],
    ) {
        let n = self.n;
        let may = |row: usize| !cols.contains(&row_as_col(n, row, top));
        let fixed = start.cost() + 2 * price(n, cols.clone()) + 3;
        let crossing = |rows: &mut dyn Iterator<Item = usize>| {
            let cols: Vec<usize> = cols.clone().collect();
            let mut as_cols: Vec<usize> = rows.map(|row| row_as_col(n, row, top)).collect();
            as_cols.sort_unstable();
            let mut moves = start.moves();
            let up = start.up();
            for (way, up) in [(way, up), (way.inverse(), up.inverse())] {
                moves.extend(columns(n, &cols, up));
                moves.extend(outer(Face::U, top.count()));
                moves.extend(columns(n, &as_cols, way));
                moves.extend(outer(Face::U, top.inverse().count()));
            }
            // The last turn of the top changes nothing that matters.
            moves.pop();
            (moves, start.from, third(start, way), false)
        };
        for first in (1..n - 1).filter(|&row| sums[row] > 0) {
            let mut gain = 0;
            for (last, &sum) in sums.iter().enumerate().take(n - 1).skip(first) {
                if !may(last) {
                    break;
                }
                gain += sum;
                if sum > 0 {
                    let turns = fixed + 2 * price(n, first..=last);
                    self.offer(gain, turns, || crossing(&mut (first..=last)));
                }
            }
        }
        let gaining = || (1..n - 1).filter(|&row| sums[row] > 0 && may(row));
        let gain = gaining().map(|row| sums[row]).sum();
        let turns = fixed + 2 * price(n, gaining());
        self.offer(gain, turns, || crossing(&mut gaining()));
    }

    /// Keeps a candidate if it gains more for its turns than the best so far. A new hold counts half a turn.
    fn offer(
        &mut self,
        gain: i32,
        turns: i32,
        make: impl FnOnce() -> (Vec<Move>, Face, Option<Face>, bool),
    ) {
        let cost = 2 * turns + i32::from(self.hold != Hold::SAME);
        let is_better = gain > 0
            && self.best.as_ref().is_none_or(|best| {
                let (ours, theirs) = (gain * best.cost, best.gain * cost);
                ours > theirs || (ours == theirs && cost < best.cost)
            });
        if is_better {
            let (moves, from, third, is_bar) = make();
            if !keeps_fixed_centre(self.n, &moves) {
                return;
            }
            self.best = Some(Found {
                moves,
                from,
                third,
                is_bar,
                gain,
                cost,
                hold: self.hold,
            });
        }
    }
}

/// Whether the fixed centre on top is there again after moves; it says what is built there, and with another one there
/// the next step would build something else and might undo this one. An even cube has none.
fn keeps_fixed_centre(n: usize, moves: &[Move]) -> bool {
    let top = Spot {
        face: Face::U,
        row: n / 2,
        col: n / 2,
    };
    n.is_multiple_of(2) || State::solved(n).after(moves).at_spot(top) == Face::U
}

/// The side other than top and source that a crossing takes a piece from and gives another.
fn third(start: Start, way: Quarter) -> Option<Face> {
    (start.from == Face::D).then_some(if way == Quarter::Clockwise {
        Face::F
    } else {
        Face::B
    })
}

/// A bar being put together in front.
struct Gathering {
    n: usize,
    /// Front, right, back, left.
    around: [Grid; 4],
    moves: Vec<Move>,
    /// By how many quarters the top went along.
    top: usize,
}

impl Gathering {
    /// Fills the row that gains most for its turns in some columns of the front; says whether one gains at all.
    fn fill(&mut self, cols: &[usize]) -> bool {
        let n = self.n;
        let bits = cols.iter().fold(0, |bits, col| bits | 1 << col);
        // Gain, turns, row, side, turn of the side.
        let mut best: Option<(i32, i32, usize, usize, usize)> = None;
        for side in 1..4 {
            for (turn, grid) in self.around[side].all_turned().iter().enumerate() {
                for row in 1..n - 1 {
                    let gain = grid.in_row(row, bits) - self.around[0].in_row(row, bits);
                    let turns = i32::from(turn > 0) + price(n, [row]);
                    let is_better = gain > 0
                        && best.is_none_or(|(known, cost, ..)| gain * cost > known * turns);
                    if is_better {
                        best = Some((gain, turns, row, side, turn));
                    }
                }
            }
        }
        let Some((_, _, row, side, turn)) = best else {
            return false;
        };
        let face = [Face::F, Face::R, Face::B, Face::L][side];
        self.moves.extend(outer(face, turn));
        self.around[side] = self.around[side].turned(turn);
        let quarter = Quarter::ALL[side - 1];
        let (moves, top) = row_turn(n, row, quarter);
        self.moves.extend(moves);
        self.top = (self.top + top) % 4;
        let rows = self.around.map(|grid| grid.rows[row]);
        for (at, grid) in self.around.iter_mut().enumerate() {
            grid.rows[row] = rows[(at + side) % 4];
        }
        true
    }
}
