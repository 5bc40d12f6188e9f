//! The arrangements of the last two edge groups, as cases: the same case however the cube is held, whatever
//! its colours, and whichever way round each group lies, since outer turns bring all of these about.

use super::groups::{Strip, is_whole, open_edges, strip, strip_places};
use crate::cube::{Face, Layout, State, is_odd};
use std::collections::BTreeSet;
use std::fmt;

/// One piece of an open group: which of the two colour pairs, and which way round.
///
/// The order is that of the letters in a written key: `A`, `B`, `a`, `b`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Cell(u8);

impl Cell {
    /// The first pair, and the second, the way round that is written with a capital.
    pub const PAIRS: [Self; 2] = [Self(0), Self(1)];

    /// Which pair: 0 for A, 1 for B.
    pub const fn pair(self) -> usize {
        (self.0 & 1) as usize
    }

    /// Whether it lies the way round that is written small.
    pub const fn is_turned(self) -> bool {
        self.0 & 2 != 0
    }

    /// The same piece the other way round.
    #[must_use]
    pub const fn turned(self) -> Self {
        Self(self.0 ^ 2)
    }

    /// The letter.
    pub const fn letter(self) -> char {
        match self.0 {
            0 => 'A',
            1 => 'B',
            2 => 'a',
            _ => 'b',
        }
    }
}

/// The canonical arrangement of one or two open groups.
///
/// Each strip runs from the + end of its edge. Of all ways to write an arrangement (which strip first, either
/// strip turned end for end, which pair is A, which way round is a capital) the key is the least in the order
/// of letters, capitals before small. A key of one strip stands for a group open alone.
///
/// Keys are ordered by size, then one open group before two, then by their letters.
#[derive(Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Key {
    length: u8,
    open: u8,
    /// A strip each, see [`Packed`]; the second is 0 where one group is open alone.
    strips: [Packed; 2],
}

/// A strip as a number: two bits a cell, the first cell highest, so that numbers are ordered like words.
type Packed = u32;

/// The low bit of every cell: which pair.
const PAIR_BITS: Packed = 0x5555_5555;

/// The open groups of a cube at its last groups.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LastGroups {
    /// The edges they lie on, as indices into [`Layout::EDGES`], one or two.
    pub edges: Vec<usize>,
    /// Their canonical arrangement.
    pub key: Key,
}

impl LastGroups {
    /// Reads the open groups of a state; `None` unless one or two groups are open and hold whole pieces of two
    /// colour pairs (as they do on any cube that can exist).
    pub fn of(state: &State) -> Option<Self> {
        let edges = open_edges(state);
        let strips: Vec<Strip> = edges.iter().map(|&edge| strip(state, edge)).collect();
        let key = Key::of_strips(&strips)?;
        Some(Self { edges, key })
    }
}

impl Key {
    /// The key of one or two strips of stickers; `None` if there are none or more, or they hold more than one
    /// colour pair a strip.
    fn of_strips(strips: &[Strip]) -> Option<Self> {
        if strips.is_empty() || strips.len() > 2 {
            return None;
        }
        let mut pairs: Vec<[Face; 2]> = Vec::new();
        let mut read = |piece: [Face; 2]| {
            let [one, other] = piece;
            let known = pairs
                .iter()
                .position(|&pair| pair == piece || pair == [other, one]);
            let pair = known.unwrap_or_else(|| {
                pairs.push(piece);
                pairs.len() - 1
            });
            let cell = *Cell::PAIRS.get(pair)?;
            Some(if pairs[pair] == piece {
                cell
            } else {
                cell.turned()
            })
        };
        let mut packed = [0; 2];
        for (into, strip) in packed.iter_mut().zip(strips) {
            for &piece in strip {
                *into = *into << 2 | Packed::from(read(piece)?.0);
            }
        }
        let length = strips[0].len();
        (pairs.len() <= strips.len()).then(|| Self::least(length, strips.len(), packed))
    }

    /// The canonical form of an arrangement.
    fn least(length: usize, open: usize, strips: [Packed; 2]) -> Self {
        let mut least = strips;
        for writing in writings(length, open, strips) {
            least = least.min(writing);
        }
        Self {
            length: length as u8,
            open: open as u8,
            strips: least,
        }
    }

    /// The strips, one or two, from the + end.
    pub fn strips(&self) -> Vec<Vec<Cell>> {
        let strips = self.strips[..self.open()].iter();
        strips.map(|&strip| cells(self.length(), strip)).collect()
    }

    /// The number of pieces in a group.
    const fn length(&self) -> usize {
        self.length as usize
    }

    /// The order of the cube.
    pub const fn n(&self) -> usize {
        self.length() + 2
    }

    /// How many groups are open: one or two.
    pub const fn open(&self) -> usize {
        self.open as usize
    }

    /// The strips written so that on an odd cube the midges are `A` and `B`, capital and in this order, which is
    /// how they lie when the groups' edges are named after their midges; on an even cube as in the key.
    /// Always two strips: beside a group open alone stands a whole one.
    pub fn upright(&self) -> [Vec<Cell>; 2] {
        let length = self.length();
        let both = self.both();
        let is_upright = |strips: &[Packed; 2]| {
            strips.map(|strip| cells(length, strip)[length / 2]) == Cell::PAIRS
        };
        let found =
            namings(length, both).find(|strips| length.is_multiple_of(2) || is_upright(strips));
        found.unwrap_or(both).map(|strip| cells(length, strip))
    }

    /// In how many different ways layers of wings are open, as seen from the midges or, on an even cube, from a layer
    /// that is whole. With more than one the case is several simpler ones on top of one another.
    pub fn kinds(&self) -> usize {
        let strips = self.both().map(|strip| cells(self.length(), strip));
        let row = |at: usize, across: usize| {
            let [one, other] = &strips;
            [one[at], one[across], other[at], other[across]]
        };
        let is_whole = |row: &[Cell; 4]| row[0] == row[1] && row[2] == row[3];
        let length = self.length();
        let mut rows: BTreeSet<[Cell; 4]> =
            (0..length / 2).map(|at| row(at, length - 1 - at)).collect();
        let measure = if length % 2 == 1 {
            Some(row(length / 2, length / 2))
        } else {
            rows.iter().copied().find(is_whole)
        };
        if let Some(measure) = measure {
            rows.remove(&measure);
        }
        rows.len()
    }

    /// Relative parity, one bit per wing orbit, outermost first: the orbit's wing permutation against the flips
    /// of the midges (odd n) or against the innermost orbit (even n). `true` asks for an odd number of quarter
    /// turns of that orbit's layer beyond what the midges or the innermost orbit need.
    pub fn relative_parity(&self) -> Vec<bool> {
        let length = self.length();
        let strips = self.both().map(|strip| cells(length, strip));
        let orbits: Vec<bool> = (0..length / 2)
            .map(|orbit| {
                let ends = [orbit, length - 1 - orbit];
                let wings = strips.iter().flat_map(|strip| {
                    // The wing that is a capital at the + end is small at the − end.
                    ends.map(|at| {
                        let is_minus_end = at != orbit;
                        let cell = strip[at];
                        2 * cell.pair() + usize::from(cell.is_turned() != is_minus_end)
                    })
                });
                is_odd(wings.map(Some)).unwrap_or(false)
            })
            .collect();
        let reference = if length % 2 == 1 {
            strips[0][length / 2].is_turned() != strips[1][length / 2].is_turned()
        } else {
            orbits.last().copied().unwrap_or(false)
        };
        orbits.into_iter().map(|odd| odd != reference).collect()
    }

    /// All cases of a cube of order `n`, in the order of their keys, those with one open group first.
    ///
    /// There are 1, 7, 19 and 103 for n = 4 to 7, and some tens of thousands for n = 11.
    pub fn all(n: usize) -> Vec<Self> {
        if n < 4 {
            return Vec::new();
        }
        let length = n - 2;
        let whole = [0, PAIR_BITS >> (32 - 2 * length)];
        let mut found = BTreeSet::new();
        // Naming the pairs after the midges puts those upright, so only the wings are to be arranged.
        arrange(length, 0, whole, &mut |strips| {
            let is_open = |strip: &Packed| !is_whole(&cells(length, *strip));
            match strips.map(|strip| is_open(&strip)) {
                [true, true] => found.insert(Self::least(length, 2, strips)),
                [true, false] => found.insert(Self::least(length, 1, [strips[0], 0])),
                // The other group open alone makes the same cases.
                [false, _] => false,
            };
        });
        found.into_iter().collect()
    }

    /// A solved cube but for this arrangement on two edges, given as indices into [`Layout::EDGES`].
    ///
    /// # Panics
    ///
    /// If an edge is not below 12.
    pub fn state(&self, edges: [usize; 2]) -> State {
        let mut state = State::solved(self.n());
        let layout = state.layout();
        for (edge, strip) in edges.into_iter().zip(self.upright()) {
            for (places, cell) in strip_places(layout, edge).into_iter().zip(strip) {
                let (a, b) = Layout::EDGES[edges[cell.pair()]];
                let stickers = if cell.is_turned() { [b, a] } else { [a, b] };
                for (place, sticker) in places.into_iter().zip(stickers) {
                    state.set(usize::from(place), sticker);
                }
            }
        }
        state
    }

    /// The two strips under every naming worth telling: on an odd cube as [`Key::upright`], on an even one all
    /// of them.
    pub(super) fn namings(&self) -> Vec<[Vec<Cell>; 2]> {
        let length = self.length();
        if length % 2 == 1 {
            return vec![self.upright()];
        }
        namings(length, self.both())
            .map(|strips| strips.map(|strip| cells(length, strip)))
            .collect()
    }

    /// Two strips: beside a group open alone a whole one of the other pair.
    const fn both(&self) -> [Packed; 2] {
        match self.open {
            1 => [self.strips[0], PAIR_BITS >> (32 - 2 * self.length)],
            _ => self.strips,
        }
    }
}

impl fmt::Display for Key {
    /// As in `AAB : BbA`, or `AaA` for a group open alone.
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, strip) in self.strips().iter().enumerate() {
            if index > 0 {
                out.write_str(" : ")?;
            }
            for cell in strip {
                write!(out, "{}", cell.letter())?;
            }
        }
        Ok(())
    }
}

impl fmt::Debug for Key {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(out, "Key({self})")
    }
}

/// The cells of a strip of this length.
fn cells(length: usize, strip: Packed) -> Vec<Cell> {
    (0..length)
        .rev()
        .map(|at| Cell((strip >> (2 * at) & 3) as u8))
        .collect()
}

/// All bits of a strip's cells that tell which way round, or which pair.
const fn bits(length: usize) -> [Packed; 2] {
    let pairs = PAIR_BITS >> (32 - 2 * length);
    [pairs << 1, pairs]
}

/// The strip of the group turned end for end: the other way to read, each piece the other way round.
fn end_for_end(length: usize, strip: Packed) -> Packed {
    let mut turned = 0;
    for at in 0..length {
        turned = turned << 2 | (strip >> (2 * at) & 3);
    }
    turned ^ bits(length)[0]
}

/// All ways to name the pieces of an arrangement: which pair is A, and which way round each pair's capital is.
fn namings(length: usize, strips: [Packed; 2]) -> impl Iterator<Item = [Packed; 2]> {
    let [_, pairs] = bits(length);
    (0..8_u8).map(move |choice| {
        let of_first = if choice & 2 == 0 { 0 } else { pairs };
        let of_second = if choice & 4 == 0 { 0 } else { pairs };
        let exchange = if choice & 1 == 0 { 0 } else { pairs };
        strips.map(|strip| {
            let is_second = strip & pairs;
            let turns = (of_second & is_second) | (of_first & !is_second);
            strip ^ turns << 1 ^ exchange
        })
    })
}

/// All ways to write an arrangement.
fn writings(length: usize, open: usize, strips: [Packed; 2]) -> impl Iterator<Item = [Packed; 2]> {
    let turned = strips.map(|strip| end_for_end(length, strip));
    let layings = if open == 2 { 8_u8 } else { 2 };
    (0..layings).flat_map(move |choice| {
        let first = if choice & 1 == 0 {
            strips[0]
        } else {
            turned[0]
        };
        if open == 1 {
            // A second pair is not there to exchange letters with.
            let [_, pairs] = bits(length);
            let names_a = |writing: &[Packed; 2]| writing[0] & pairs == 0;
            return namings(length, [first, 0])
                .filter(names_a)
                .map(|[strip, _]| [strip, 0])
                .collect::<Vec<_>>();
        }
        let second = if choice & 2 == 0 {
            strips[1]
        } else {
            turned[1]
        };
        let laid = if choice & 4 == 0 {
            [first, second]
        } else {
            [second, first]
        };
        namings(length, laid).collect()
    })
}

/// Calls `found` with every arrangement of the wings from an orbit on inwards.
fn arrange(length: usize, orbit: usize, strips: [Packed; 2], found: &mut dyn FnMut([Packed; 2])) {
    if orbit == length / 2 {
        found(strips);
        return;
    }
    let shifts = [2 * (length - 1 - orbit), 2 * orbit];
    // Four wings on four places; wing 2p + h is a capital at the + end if h is 0, at the − end if h is 1.
    for first in 0..4 {
        for second in (0..4).filter(|&wing| wing != first) {
            for third in (0..4).filter(|wing| ![first, second].contains(wing)) {
                let fourth = 6 - first - second - third;
                let mut laid = strips;
                for (place, wing) in [first, second, third, fourth].into_iter().enumerate() {
                    let is_turned = (wing & 1 == 1) != (place % 2 == 1);
                    let cell = wing / 2 + 2 * Packed::from(is_turned);
                    let shift = shifts[place % 2];
                    laid[place / 2] = (laid[place / 2] & !(3 << shift)) | cell << shift;
                }
                arrange(length, orbit + 1, laid, found);
            }
        }
    }
}

#[cfg(test)]
mod tests;
