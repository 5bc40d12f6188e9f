//! The centres: which one to build next, and the bar, block or few pieces that bring it on most for the turns.
//!
//! All is done with the centre being built on top and the side the pieces come from in front; see
//! [`super::centre_search`] for the kinds of moves.

use super::aim::{Aim, Building, Task};
use super::centre_search::{Gain, best_change, none_gains_more};
use super::measure::{Reaches, centre, centre_count, centre_is_whole};
use super::proof::{Claim, Error, Walk};
use super::search::{in_hold, tidied};
use crate::cube::{Face, Hold, Spot, State};
use crate::diagnose::Stage;

/// Builds all six centres, agreeing with the corners.
///
/// # Errors
///
/// An own error if a step does not stand its proof or none is found.
pub fn build_centres(walk: &mut Walk) -> Result<(), Error> {
    // Every step puts at least one sticker right that stays right.
    let stickers = walk.state.n() * walk.state.n() * 6;
    for _ in 0..stickers {
        if walk.is_over() || Reaches::of(&walk.state).stage > Stage::Centres {
            return Ok(());
        }
        next_step(walk)?;
    }
    Err(Error::NoWay {
        doing: "build the centres",
    })
}

/// Whether the next step builds the centre on top and no change of it gains more stickers for its turns than a known one.
pub fn may_be_next_on_top(state: &State, gain: Option<Gain>) -> bool {
    let counts = Counts::of(state);
    let colours = wanted(state, &counts);
    let done = counts.done(colours);
    let colour = colours[Face::U.index()];
    counts.next_side(colours, &done) == Face::U
        && gain.is_none_or(|gain| none_gains_more(state, colour, &done, gain))
}

/// Takes the next step towards the colours wanted on each side.
fn next_step(walk: &mut Walk) -> Result<(), Error> {
    let counts = Counts::of(&walk.state);
    let colours = wanted(&walk.state, &counts);
    let done = counts.done(colours);
    let target = counts.next_side(colours, &done);
    if all_centres_are_whole(&walk.state) {
        return exchange(walk, target, colours[target.index()], &done);
    }
    let colour = colours[target.index()];
    let best = best_change(&walk.state, target, colour, &done).ok_or(Error::NoWay {
        doing: "bring a centre on",
    })?;
    let stickers = centre_count(&walk.state, target, colour) + best.gain;
    let side = best.hold.brings(target);
    let building = Building::of(target, &done);
    let task = if best.is_bar {
        Task::Bar {
            building,
            side,
            from: best.from,
            colour,
            stickers,
        }
    } else {
        Task::CentrePieces {
            building,
            gain: best.gain,
            side,
            from: best.from,
            colour,
            stickers,
        }
    };
    let claim = Claim::Centre {
        face: side,
        colour,
        stickers,
        kept: done
            .into_iter()
            .map(|side| best.hold.brings(side))
            .filter(|&side| Some(side) != best.broken)
            .collect(),
    };
    walk.take(Aim::plain(task), best.hold, best.moves, claim)
}

fn all_centres_are_whole(state: &State) -> bool {
    Face::ALL
        .into_iter()
        .all(|side| centre_is_whole(state, side))
}

/// Exchanges two whole centres that stand in each other's place, half of each at a time.
fn exchange(walk: &mut Walk, target: Face, colour: Face, done: &[Face]) -> Result<(), Error> {
    let no_way = || Error::NoWay {
        doing: "exchange two whole centres",
    };
    let n = walk.state.n();
    let first = best_change(&walk.state, target, colour, done).ok_or_else(no_way)?;
    let (hold, side, from) = (first.hold, first.hold.brings(target), first.from);
    let kept: Vec<Face> = done.iter().map(|&side| hold.brings(side)).collect();
    let mut moves = first.moves;
    let start = walk.state.after(&hold.sequence().0);
    let mut reached = start.after(&moves);
    // Each change puts at least one sticker right.
    for _ in 0..n * n {
        if all_centres_are_whole(&reached) {
            break;
        }
        let next = best_change(&reached, side, colour, &kept).ok_or_else(no_way)?;
        moves.extend(in_hold(&next.moves, next.hold.inverse()));
        moves = tidied(&moves);
        reached = start.after(&moves);
    }
    let task = Task::ExchangeCentres {
        one: side,
        other: from,
    };
    let claim = Claim::Centre {
        face: side,
        colour,
        stickers: (n - 2) * (n - 2),
        kept: Face::ALL.to_vec(),
    };
    walk.take(Aim::plain(task), hold, moves, claim)
}

/// The colour each side's centre is to have. On an odd cube the fixed centres say so; on an even one, of the 24
/// ways that agree with the corners the one with most centres finished, then with the next one furthest on. A step only adds
/// to these, so that the way chosen before stays the best unless a still better one has come up, and no step is undone
/// by a change of mind.
fn wanted(state: &State, counts: &Counts) -> [Face; 6] {
    let n = state.n();
    if n % 2 == 1 {
        return Face::ALL.map(|face| {
            state.at_spot(Spot {
                face,
                row: n / 2,
                col: n / 2,
            })
        });
    }
    let right = |hold: &Hold| {
        let colours = Face::ALL.map(|side| hold.comes_from(side));
        let done = counts.done(colours);
        let next = counts.next_side(colours, &done);
        let all = Face::ALL.into_iter();
        let sum: usize = all.map(|side| counts.on(side, colours[side.index()])).sum();
        (done.len(), counts.score(colours, &done, next), sum)
    };
    let hold = Hold::all()
        .iter()
        .copied()
        .rev()
        .max_by_key(right)
        .unwrap_or(Hold::SAME);
    Face::ALL.map(|side| hold.comes_from(side))
}

/// How many stickers of each colour the centre on each side has.
struct Counts {
    n: usize,
    by_side: [[usize; 6]; 6],
}

impl Counts {
    fn of(state: &State) -> Self {
        let mut by_side = [[0; 6]; 6];
        for (side, counts) in Face::ALL.into_iter().zip(&mut by_side) {
            for colour in centre(state, side) {
                counts[colour.index()] += 1;
            }
        }
        Self {
            n: state.n(),
            by_side,
        }
    }

    const fn on(&self, side: Face, colour: Face) -> usize {
        self.by_side[side.index()][colour.index()]
    }

    /// The sides whose centres are whole in the colours wanted.
    fn done(&self, colours: [Face; 6]) -> Vec<Face> {
        let size = self.n - 2;
        let is_done = |side: &Face| self.on(*side, colours[side.index()]) == size * size;
        Face::ALL.into_iter().filter(is_done).collect()
    }

    /// The side to build next: opposite a finished one if it can be, then beside the finished ones, so that the last two
    /// lie next to each other; among equals the one furthest on.
    fn next_side(&self, colours: [Face; 6], done: &[Face]) -> Face {
        Face::ALL
            .into_iter()
            .rev()
            .filter(|side| !done.contains(side))
            .max_by_key(|&side| self.score(colours, done, side))
            .unwrap_or(Face::U)
    }

    /// How much speaks for a side to be built next.
    fn score(&self, colours: [Face; 6], done: &[Face], side: Face) -> i32 {
        let count = self.on(side, colours[side.index()]) as i32;
        let area = (self.n * self.n) as i32;
        let open_beside = Face::ALL
            .iter()
            .filter(|&&other| !done.contains(&other) && other != side && other != side.opposite())
            .count() as i32;
        let is_opposite_done = done.contains(&side.opposite());
        let pairs = i32::from(is_opposite_done && open_beside == 4);
        let helps_last = i32::from(done.len() >= 2 && !is_opposite_done);
        // With the first two opposite and open sides in a ring, any side may be third; the fourth is its neighbour.
        let fourth = i32::from(done.len() == 3 && !is_opposite_done);
        count + area * (4 * pairs + helps_last + 2 * fourth)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::advise::next_step;
    use crate::advise::tests::{Dice, reduced_state};

    /// The centres of a reduced cube painted over: every arrangement of six whole centres that the corners do not
    /// ask for. One step exchanges two of them and leaves all whole, however large the cube; a few such steps set
    /// all right, for six things can be put into any order by at most five exchanges.
    #[test]
    fn whole_centres_in_each_others_place_are_exchanged_in_one_step() {
        let mut dice = Dice::new(31);
        for n in [4, 6, 8, 10] {
            for _ in 0..12 {
                let mut state = reduced_state(n, &mut dice);
                let colours = dice.shuffled(6);
                for face in Face::ALL {
                    for row in 1..n - 1 {
                        for col in 1..n - 1 {
                            let place = Spot { face, row, col }.place(n);
                            state.set(place, Face::ALL[colours[face.index()]]);
                        }
                    }
                }
                for _ in 0..5 {
                    if Reaches::of(&state).stage > Stage::Centres {
                        break;
                    }
                    let step = next_step(&state).unwrap().unwrap();
                    let is_exchange = matches!(step.aim.task, Task::ExchangeCentres { .. });
                    assert!(is_exchange, "n = {n}, {colours:?}: {step:?}");
                    state = state.after(&step.hold.0).after(&step.moves.0);
                    for face in Face::ALL {
                        let inner =
                            (1..n - 1).flat_map(|row| (1..n - 1).map(move |col| (row, col)));
                        let shown = inner.map(|(row, col)| state.at_spot(Spot { face, row, col }));
                        let first = state.at_spot(Spot {
                            face,
                            row: 1,
                            col: 1,
                        });
                        assert!(
                            shown.into_iter().all(|colour| colour == first),
                            "n = {n}: {step:?}"
                        );
                    }
                }
                assert!(
                    Reaches::of(&state).stage > Stage::Centres,
                    "n = {n}, {colours:?}"
                );
            }
        }
    }

    /// On an odd cube, whose fixed centres say what belongs where, the centres that are whole tell which one is built.
    #[test]
    fn a_step_says_which_centre_it_builds() {
        let mut dice = Dice::new(51);
        let mut seen = Vec::new();
        for n in [5, 7, 5, 7] {
            let mut state = crate::advise::tests::random_state(n, &mut dice);
            while let Some(step) = next_step(&state).unwrap() {
                state.turn_all(&step.hold.0);
                if let Task::Bar { building, side, .. }
                | Task::CentrePieces { building, side, .. } = step.aim.task
                {
                    let whole = Reaches::of(&state).centres_done;
                    let open = Face::ALL.into_iter().filter(|face| !whole.contains(face));
                    let open: Vec<Face> = open.collect();
                    let others: Vec<Face> =
                        open.iter().copied().filter(|&face| face != side).collect();
                    let expected = match (whole.len(), &others[..]) {
                        (0, _) => "First centre",
                        (1, _) if whole[0] == side.opposite() => {
                            "Second centre, opposite the first"
                        }
                        (1, _) => "Second centre",
                        (2, _) => "Third centre",
                        (3, [one, other]) if *one == other.opposite() => "Fourth centre",
                        (3, _) => "Fourth centre, so that the last two will lie side by side",
                        (_, [other]) if *other == side.opposite() => {
                            "Last two centres, opposite each other"
                        }
                        _ => "Last two centres, side by side",
                    };
                    assert_eq!(building.to_string(), expected, "{state:?}");
                    seen.push(expected);
                    assert!(seen.len() < 300, "{state:?}");
                } else {
                    break;
                }
                state.turn_all(&step.moves.0);
            }
        }
        seen.dedup();
        assert!(seen.len() > 12, "{seen:?}");
    }
}
