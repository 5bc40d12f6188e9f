//! Stickers of which some are unknown to those that the laws leave no choice about.
//!
//! Each piece is there once and each colour four times in an orbit of centres; turns and flips add up, and on an odd
//! cube corners and midges are both even or both odd. All ways to fill the unknown places that obey this are looked
//! at together: which stickers a place has in any of them.

use super::{Face, Layout};

/// What the laws say about unknown stickers.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Completion {
    /// The stickers in the order of place numbers, `None` where more than one fits.
    pub stickers: Vec<Option<Face>>,
    /// The places filled in.
    pub filled: Vec<usize>,
}

/// Fills in what the laws fix on a cube of order `n`, its stickers named by their home faces, in the hold of the fixed
/// centres where there are any. `None` if no cube that can exist shows these stickers.
///
/// # Panics
///
/// If there are not 6·n² stickers.
pub fn complete(n: usize, stickers: &[Option<Face>]) -> Option<Completion> {
    let layout = Layout::of(n);
    assert_eq!(
        stickers.len(),
        layout.places(),
        "stickers of a cube of order {n}"
    );
    let mut fitting = Fitting {
        known: stickers,
        fits: vec![0; stickers.len()],
    };
    fitting.corners_and_midges(layout)?;
    for orbit in &layout.wing_orbits {
        let places: Vec<[u16; 2]> = orbit.wings.iter().map(|wing| wing.places).collect();
        fitting.wings(&places)?;
    }
    for orbit in &layout.centre_orbits {
        fitting.centres(&orbit.places)?;
    }
    for (face, &place) in Face::ALL.into_iter().zip(&layout.fixed_centres) {
        if !fitting.is_possible(place, face) {
            return None;
        }
        fitting.add(place, face);
    }
    let mut stickers = stickers.to_vec();
    let mut filled = Vec::new();
    for (place, sticker) in stickers.iter_mut().enumerate() {
        let fits = fitting.fits[place];
        if sticker.is_none() && fits.is_power_of_two() {
            *sticker = Some(Face::ALL[fits.trailing_zeros() as usize]);
            filled.push(place);
        }
    }
    Some(Completion { stickers, filled })
}

/// The stickers that fit each place in at least one way to fill them all.
struct Fitting<'a> {
    known: &'a [Option<Face>],
    /// A bit for each face.
    fits: Vec<u8>,
}

impl Fitting<'_> {
    fn is_possible(&self, place: u16, face: Face) -> bool {
        self.known[usize::from(place)].is_none_or(|known| known == face)
    }

    fn add(&mut self, place: u16, face: Face) {
        self.fits[usize::from(place)] |= 1 << face.index();
    }

    fn corners_and_midges(&mut self, layout: &Layout) -> Option<()> {
        let positions: Vec<&[u16]> = layout
            .corners
            .iter()
            .map(|corner| &corner.places[..])
            .collect();
        let corners = Turnable::new(self, positions, &Layout::CORNERS.map(Vec::from));
        let mut parities = corners.parities();
        let positions: Vec<&[u16]> = layout
            .midges
            .iter()
            .map(|midge| &midge.places[..])
            .collect();
        let own = Layout::EDGES.map(|(a, b)| vec![a, b]);
        let midges = (!positions.is_empty()).then(|| Turnable::new(self, positions, &own));
        if let Some(midges) = &midges {
            let theirs = midges.parities();
            parities = [0, 1].map(|odd| parities[odd] && theirs[odd]);
        }
        if parities == [false, false] {
            return None;
        }
        for pieces in [Some(corners), midges].into_iter().flatten() {
            for (place, face) in pieces.shown(parities) {
                self.add(place, face);
            }
        }
        Some(())
    }

    /// Wings of an orbit: they cannot be turned, so every way to give each position another wing counts.
    fn wings(&mut self, positions: &[[u16; 2]]) -> Option<()> {
        let shows = |wing: usize| {
            let (a, b) = Layout::EDGES[wing / 2];
            if wing.is_multiple_of(2) {
                [a, b]
            } else {
                [b, a]
            }
        };
        let fits = |places: &[u16; 2], wing| {
            let mut stickers = places.iter().zip(shows(wing));
            stickers.all(|(&place, face)| self.is_possible(place, face))
        };
        let may: Vec<Vec<bool>> = positions
            .iter()
            .map(|places| (0..24).map(|wing| fits(places, wing)).collect())
            .collect();
        let mut owner = [None; 24];
        for position in 0..24 {
            if !seat(position, &may, &mut owner, &mut [false; 24]) {
                return None;
            }
        }
        for position in 0..24 {
            for wing in (0..24).filter(|&wing| may[position][wing]) {
                // With this wing here, the one that has it now must find another.
                let mut others = owner;
                let displaced = owner[wing].filter(|&displaced| displaced != position);
                let mut taken = [false; 24];
                taken[wing] = true;
                for held in others.iter_mut().filter(|held| **held == Some(position)) {
                    *held = None;
                }
                let is_seated = displaced
                    .is_none_or(|displaced| seat(displaced, &may, &mut others, &mut taken));
                if is_seated {
                    for (&place, face) in positions[position].iter().zip(shows(wing)) {
                        self.add(place, face);
                    }
                }
            }
        }
        Some(())
    }

    /// Moving centres of an orbit: four of each colour.
    fn centres(&mut self, places: &[u16]) -> Option<()> {
        let mut left = [4_usize; 6];
        let mut unknown = 0;
        for &place in places {
            match self.known[usize::from(place)] {
                Some(face) => left[face.index()] = left[face.index()].checked_sub(1)?,
                None => unknown += 1,
            }
        }
        debug_assert_eq!(left.iter().sum::<usize>(), unknown);
        for &place in places {
            for face in Face::ALL {
                if left[face.index()] > 0 {
                    self.add(place, face);
                }
            }
        }
        Some(())
    }
}

/// Gives a position one of the wings it may have, moving others along (augmenting paths).
fn seat(
    position: usize,
    may: &[Vec<bool>],
    owner: &mut [Option<usize>; 24],
    tried: &mut [bool; 24],
) -> bool {
    for wing in 0..24 {
        if !may[position][wing] || std::mem::replace(&mut tried[wing], true) {
            continue;
        }
        let is_free = owner[wing].is_none_or(|other| seat(other, may, owner, tried));
        if is_free {
            owner[wing] = Some(position);
            return true;
        }
    }
    false
}

/// A piece in a position: which, how it is turned, and the stickers it then shows.
struct Placing {
    piece: usize,
    turn: usize,
    shows: Vec<Face>,
}

/// Sums of turns and parities that can be reached, a bit each.
type Sums = u8;

/// Pieces that can be turned where they sit: all ways to put them in, by which pieces are used so far.
struct Turnable<'a> {
    positions: Vec<&'a [u16]>,
    placings: Vec<Vec<Placing>>,
    /// The ways a piece can be turned.
    ways: usize,
    /// For the pieces used in the first positions, a bit each: the sums of these positions.
    before: Vec<Sums>,
    /// The same for the positions after them.
    after: Vec<Sums>,
}

impl<'a> Turnable<'a> {
    fn new(fitting: &Fitting, positions: Vec<&'a [u16]>, own: &[Vec<Face>]) -> Self {
        let ways = own[0].len();
        let placing = |places: &[u16], piece: usize, turn: usize| {
            let shows: Vec<Face> = (0..ways)
                .map(|at| own[piece][(at + ways - turn) % ways])
                .collect();
            let mut stickers = places.iter().zip(&shows);
            let fits = stickers.all(|(&place, &face)| fitting.is_possible(place, face));
            fits.then_some(Placing { piece, turn, shows })
        };
        let placings = positions.iter().map(|places| {
            let all = (0..own.len()).flat_map(|piece| (0..ways).map(move |turn| (piece, turn)));
            all.filter_map(|(piece, turn)| placing(places, piece, turn))
                .collect()
        });
        let mut all = Self {
            placings: placings.collect(),
            ways,
            before: vec![0; 1 << positions.len()],
            after: vec![0; 1 << positions.len()],
            positions,
        };
        all.add_up();
        all
    }

    fn add_up(&mut self) {
        let full = self.before.len() - 1;
        self.before[0] = 1;
        self.after[full] = 1;
        for used in 0..full {
            for placing in &self.placings[used.count_ones() as usize] {
                if used >> placing.piece & 1 == 0 {
                    let sums = self.with(self.before[used], used, placing);
                    self.before[used | 1 << placing.piece] |= sums;
                }
            }
        }
        for used in (0..full).rev() {
            for placing in &self.placings[used.count_ones() as usize] {
                if used >> placing.piece & 1 == 0 {
                    let sums = self.with(self.after[used | 1 << placing.piece], used, placing);
                    self.after[used] |= sums;
                }
            }
        }
    }

    /// Sums with a piece added to those used: the parity changes with each used piece that belongs after it.
    fn with(&self, sums: Sums, used: usize, placing: &Placing) -> Sums {
        let odd = (used >> placing.piece).count_ones() as usize % 2;
        self.pairs(sums, 1 << (odd * self.ways + placing.turn))
    }

    /// The sums of one and another.
    fn pairs(&self, some: Sums, others: Sums) -> Sums {
        let ways = self.ways;
        let mut sums = 0;
        for one in (0..2 * ways).filter(|one| some >> one & 1 == 1) {
            for other in (0..2 * ways).filter(|other| others >> other & 1 == 1) {
                let turn = (one + other) % ways;
                let odd = (one / ways + other / ways) % 2;
                sums |= 1 << (odd * ways + turn);
            }
        }
        sums
    }

    /// Whether all can be put in as an even, and as an odd permutation, the turns adding up to none.
    fn parities(&self) -> [bool; 2] {
        let sums = self.after[0];
        [0, 1].map(|odd| sums >> (odd * self.ways) & 1 == 1)
    }

    /// Every sticker that shows at a place in some way with one of these parities.
    fn shown(&self, parities: [bool; 2]) -> Vec<(u16, Face)> {
        let due = (0..2)
            .filter(|&odd| parities[odd])
            .fold(0, |due, odd| due | 1 << (odd * self.ways));
        let mut shown = Vec::new();
        for used in 0..self.before.len() - 1 {
            let position = used.count_ones() as usize;
            for placing in &self.placings[position] {
                if self.before[used] == 0 || used >> placing.piece & 1 == 1 {
                    continue;
                }
                let sums = self.with(self.before[used], used, placing);
                let all = self.pairs(sums, self.after[used | 1 << placing.piece]);
                if all & due != 0 {
                    let places = self.positions[position].iter().copied();
                    shown.extend(places.zip(placing.shows.iter().copied()));
                }
            }
        }
        shown
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cube::{Sequence, State, check};
    use crate::testkit::scrambled;
    use proptest::prelude::*;

    fn known(state: &State) -> Vec<Option<Face>> {
        state.stickers().iter().copied().map(Some).collect()
    }

    fn mess(n: usize) -> State {
        let moves = "R U2 F' L D B' R2 U L' F D2 B";
        State::solved(n).after(&Sequence::for_order(moves, n).unwrap().0)
    }

    fn in_hold_of_fixed_centres(state: State) -> State {
        let fixed = state.layout().fixed_centres.clone();
        if fixed.is_empty() {
            return state;
        }
        let at = Face::ALL.map(|face| state.at(usize::from(fixed[face.index()])));
        let mut names = Face::ALL;
        for (face, shown) in Face::ALL.into_iter().zip(at) {
            names[shown.index()] = face;
        }
        state.renamed(names)
    }

    /// All pieces but one tell what the last one is, and the sums how it is turned.
    #[test]
    fn a_hidden_piece_is_known_by_the_others() {
        for n in 2..=7 {
            let state = mess(n);
            let layout = state.layout();
            let mut hidden: Vec<Vec<u16>> = vec![layout.corners[3].places.to_vec()];
            hidden.extend(layout.midges.first().map(|midge| midge.places.to_vec()));
            hidden.extend(
                layout
                    .wing_orbits
                    .iter()
                    .map(|orbit| orbit.wings[5].places.to_vec()),
            );
            hidden.extend(
                layout
                    .centre_orbits
                    .iter()
                    .map(|orbit| vec![orbit.places[7]]),
            );
            hidden.push(layout.fixed_centres.clone());
            for places in hidden {
                let mut stickers = known(&state);
                for &place in &places {
                    stickers[usize::from(place)] = None;
                }
                let found = complete(n, &stickers).unwrap();
                assert_eq!(found.stickers, known(&state), "n = {n}, {places:?}");
                assert_eq!(found.filled.len(), places.len());
            }
        }
    }

    /// Two hidden corners could be twisted against each other.
    #[test]
    fn what_may_be_otherwise_stays_unknown() {
        let state = mess(4);
        let mut stickers = known(&state);
        let corners = &state.layout().corners[..2];
        for &place in corners.iter().flat_map(|corner| &corner.places) {
            stickers[usize::from(place)] = None;
        }
        let found = complete(4, &stickers).unwrap();
        assert_eq!(
            found,
            Completion {
                stickers,
                filled: Vec::new()
            }
        );
        let centres = &state.layout().centre_orbits[0].places;
        let mut stickers = known(&state);
        let unlike = centres
            .iter()
            .find(|&&place| state.at(usize::from(place)) != state.at(usize::from(centres[0])));
        for place in [centres[0], *unlike.unwrap()] {
            stickers[usize::from(place)] = None;
        }
        assert!(complete(4, &stickers).unwrap().filled.is_empty());
    }

    /// A corner twisted elsewhere: no sticker for the hidden one makes a cube.
    #[test]
    fn no_cube_shows_these() {
        let mut state = mess(3);
        let [a, b, c] = state.layout().corners[0].places.map(usize::from);
        let held = [state.at(a), state.at(b), state.at(c)];
        for (place, sticker) in [b, c, a].into_iter().zip(held) {
            state.set(place, sticker);
        }
        let mut stickers = known(&state);
        stickers[usize::from(state.layout().corners[5].places[0])] = None;
        assert_eq!(complete(3, &stickers), None);
    }

    proptest! {
        /// Whatever is hidden, what is filled in is what was there; and a single sticker always is.
        #[test]
        fn only_the_truth_is_filled_in(
            state in scrambled(2..=7),
            hidden in prop::collection::vec(any::<prop::sample::Index>(), 1..60),
        ) {
            let state = in_hold_of_fixed_centres(state);
            prop_assert_eq!(check(&state), []);
            let mut stickers = known(&state);
            for index in &hidden {
                let place = index.index(stickers.len());
                stickers[place] = None;
            }
            let found = complete(state.n(), &stickers).unwrap();
            for place in &found.filled {
                prop_assert_eq!(found.stickers[*place], Some(state.at(*place)));
            }
            if hidden.len() == 1 {
                prop_assert_eq!(found.filled.len(), 1);
            }
        }
    }
}
