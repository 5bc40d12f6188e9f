//! Which pieces a cube has, kept up to date sticker by sticker while repairs are tried.

use crate::cube::{Face, Hold, Layout, State, corner_of, midge_of, wing_of};
use std::collections::BTreeSet;
use std::rc::Rc;

/// The sort of piece a slot holds, with the orbit where there are several.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub(super) enum Sort {
    /// A corner.
    Corner,
    /// A midge.
    Midge,
    /// A wing of an orbit, 0 = outermost.
    Wing(usize),
    /// A moving centre of an orbit.
    Centre(usize),
    /// A fixed centre.
    Fixed,
}

/// A position for one piece.
#[derive(Clone, Debug)]
pub(super) struct Slot {
    /// What sits there.
    pub sort: Sort,
    /// The position in its orbit.
    pub position: usize,
    /// Its places, as the layout lists them.
    pub places: Vec<u16>,
}

/// A cube and the census of its pieces.
#[derive(Clone)]
pub(super) struct Ledger {
    /// The cube.
    pub state: State,
    slots: Rc<Slots>,
    /// By orbit of pieces: how often each piece is there.
    pieces: Vec<[u8; 24]>,
    /// By orbit of centres: how often each colour is there.
    centres: Vec<[u8; 6]>,
    colours: [usize; 6],
    /// Pieces and centres that are too few.
    lacking: usize,
    /// Fixed centres that do not go with the corners.
    misplaced: usize,
}

struct Slots {
    all: Vec<Slot>,
    of_place: Vec<usize>,
}

/// How many copies of a colour an orbit of centres has.
const CENTRES_A_COLOUR: u8 = 4;

impl Ledger {
    /// Takes stock of a state.
    pub fn of(state: &State) -> Self {
        let layout = state.layout();
        let slots = Slots::of(layout);
        let mut ledger = Self {
            state: state.clone(),
            pieces: vec![[0; 24]; 2 + layout.wing_orbits.len()],
            centres: vec![[0; 6]; layout.centre_orbits.len()],
            colours: [0; 6],
            slots: Rc::new(slots),
            lacking: 0,
            misplaced: 0,
        };
        for sticker in state.stickers() {
            ledger.colours[sticker.index()] += 1;
        }
        // As if everything were lacking; each piece found takes one off.
        let midges = layout.midges.len();
        ledger.lacking = 8 + midges + 24 * (layout.wing_orbits.len() + layout.centre_orbits.len());
        for slot in 0..ledger.slots.all.len() {
            ledger.count(slot, true);
        }
        ledger
    }

    /// Pieces that are not there, and centres of a colour that are too few in their orbit or on a wrong face.
    pub fn lacking(&self) -> usize {
        self.lacking + self.misplaced
    }

    /// How many stickers have a colour that shows too often.
    pub fn surplus(&self) -> usize {
        let due = self.state.n() * self.state.n();
        self.colours
            .iter()
            .map(|count| count.saturating_sub(due))
            .sum()
    }

    /// Whether a colour shows too often (greater), too seldom (less) or as it should.
    pub fn balance(&self, colour: Face) -> std::cmp::Ordering {
        self.colours[colour.index()].cmp(&(self.state.n() * self.state.n()))
    }

    /// Puts a sticker on a place and takes stock again.
    pub fn set(&mut self, place: u16, sticker: Face) {
        let slot = self.slots.of_place[usize::from(place)];
        self.count(slot, false);
        let before = self.state.at(usize::from(place));
        self.colours[before.index()] -= 1;
        self.colours[sticker.index()] += 1;
        self.state.set(usize::from(place), sticker);
        self.count(slot, true);
    }

    /// The slot a place belongs to.
    pub fn slot(&self, place: u16) -> &Slot {
        &self.slots.all[self.slots.of_place[usize::from(place)]]
    }

    /// The pieces missing from the orbit of a slot, as the stickers they would show there, one entry for each
    /// way to put them in.
    pub fn missing_for(&self, slot: &Slot) -> Vec<Vec<Face>> {
        let Some((orbit, count)) = orbit_of(slot.sort, self.state.layout()) else {
            return Vec::new();
        };
        let missing = (0..count).filter(|&piece| self.pieces[orbit][piece] == 0);
        missing
            .flat_map(|piece| match slot.sort {
                Sort::Corner => {
                    let own = Layout::CORNERS[piece];
                    (0..3)
                        .map(|turn| (0..3).map(|at| own[(at + turn) % 3]).collect())
                        .collect()
                }
                Sort::Midge => {
                    let (a, b) = Layout::EDGES[piece];
                    vec![vec![a, b], vec![b, a]]
                }
                _ => {
                    let (a, b) = Layout::EDGES[piece / 2];
                    vec![if piece % 2 == 0 {
                        vec![a, b]
                    } else {
                        vec![b, a]
                    }]
                }
            })
            .collect()
    }

    /// The places of something that is wrong and that no repair can leave alone; none if every piece is there.
    pub fn trouble(&self) -> Vec<u16> {
        let slots = self.slots.all.iter();
        let impossible = slots.clone().find(|slot| {
            orbit_of(slot.sort, self.state.layout()).is_some() && self.piece_at(slot).is_none()
        });
        if let Some(slot) = impossible {
            return slot.places.clone();
        }
        for slot in slots.clone() {
            if let (Some((orbit, _)), Some(piece)) = (
                orbit_of(slot.sort, self.state.layout()),
                self.piece_at(slot),
            ) && self.pieces[orbit][piece] > 1
            {
                let twins = slots
                    .filter(|twin| twin.sort == slot.sort && self.piece_at(twin) == Some(piece));
                return twins.flat_map(|twin| twin.places.clone()).collect();
            }
        }
        let crowded = slots.clone().find_map(|slot| {
            let Sort::Centre(orbit) = slot.sort else {
                return None;
            };
            let colour = self.state.at(usize::from(slot.places[0]));
            (self.centres[orbit][colour.index()] > CENTRES_A_COLOUR).then_some((orbit, colour))
        });
        if let Some((orbit, colour)) = crowded {
            return slots
                .filter(|slot| slot.sort == Sort::Centre(orbit))
                .map(|slot| slot.places[0])
                .filter(|&place| self.state.at(usize::from(place)) == colour)
                .collect();
        }
        let misplaced: BTreeSet<u16> = self.misplaced().into_iter().flatten().collect();
        misplaced.into_iter().collect()
    }

    /// The places of the fixed centres that do not go together, as few as possible: all the sets that are as few. (Any
    /// one pair of opposite caps exchanged makes the same mirrored core, turned.)
    fn misplaced(&self) -> Vec<Vec<u16>> {
        let fixed = &self.state.layout().fixed_centres;
        let wrong_in = |hold: &Hold| -> Vec<u16> {
            let places = Face::ALL.into_iter().zip(fixed);
            places
                .filter(|&(face, &place)| hold.brings(self.state.at(usize::from(place))) != face)
                .map(|(_, &place)| place)
                .collect()
        };
        let mut sets: Vec<Vec<u16>> = Hold::all().iter().map(wrong_in).collect();
        let least = sets.iter().map(Vec::len).min();
        sets.retain(|set| Some(set.len()) == least);
        sets
    }

    fn piece_at(&self, slot: &Slot) -> Option<usize> {
        let at = |index: usize| self.state.at(usize::from(slot.places[index]));
        match slot.sort {
            Sort::Corner => corner_of([at(0), at(1), at(2)]).map(|placed| placed.piece),
            Sort::Midge => midge_of([at(0), at(1)]).map(|placed| placed.piece),
            Sort::Wing(_) => wing_of([at(0), at(1)]),
            Sort::Centre(_) | Sort::Fixed => None,
        }
    }

    /// Adds what sits in a slot to the census, or takes it off.
    fn count(&mut self, slot: usize, is_added: bool) {
        let slots = Rc::clone(&self.slots);
        let slot = &slots.all[slot];
        let (tally, wanted) = match slot.sort {
            Sort::Fixed => {
                self.misplaced = self.misplaced().first().map_or(0, Vec::len);
                return;
            }
            Sort::Centre(orbit) => {
                let colour = self.state.at(usize::from(slot.places[0])).index();
                (&mut self.centres[orbit][colour], CENTRES_A_COLOUR)
            }
            _ => {
                let orbit = orbit_of(slot.sort, self.state.layout());
                let (Some((orbit, _)), Some(piece)) = (orbit, self.piece_at(slot)) else {
                    return;
                };
                (&mut self.pieces[orbit][piece], 1)
            }
        };
        if is_added {
            if *tally < wanted {
                self.lacking -= 1;
            }
            *tally += 1;
        } else {
            *tally -= 1;
            if *tally < wanted {
                self.lacking += 1;
            }
        }
    }
}

/// The index of an orbit of pieces in the census and how many pieces it has; `None` for centres.
fn orbit_of(sort: Sort, layout: &Layout) -> Option<(usize, usize)> {
    match sort {
        Sort::Corner => Some((0, 8)),
        Sort::Midge => Some((1, layout.midges.len())),
        Sort::Wing(orbit) => Some((2 + orbit, 24)),
        Sort::Centre(_) | Sort::Fixed => None,
    }
}

impl Slots {
    fn of(layout: &Layout) -> Self {
        let mut all = Vec::new();
        let mut add = |sort, position, places: &[u16]| {
            all.push(Slot {
                sort,
                position,
                places: places.to_vec(),
            });
        };
        for (position, corner) in layout.corners.iter().enumerate() {
            add(Sort::Corner, position, &corner.places);
        }
        for (position, midge) in layout.midges.iter().enumerate() {
            add(Sort::Midge, position, &midge.places);
        }
        for (index, orbit) in layout.wing_orbits.iter().enumerate() {
            for (position, wing) in orbit.wings.iter().enumerate() {
                add(Sort::Wing(index), position, &wing.places);
            }
        }
        for (index, orbit) in layout.centre_orbits.iter().enumerate() {
            for (position, &place) in orbit.places.iter().enumerate() {
                add(Sort::Centre(index), position, &[place]);
            }
        }
        for (position, &place) in layout.fixed_centres.iter().enumerate() {
            add(Sort::Fixed, position, &[place]);
        }
        let mut of_place = vec![0; layout.places()];
        for (index, slot) in all.iter().enumerate() {
            for &place in &slot.places {
                of_place[usize::from(place)] = index;
            }
        }
        Self { all, of_place }
    }
}
