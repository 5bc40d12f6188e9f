//! Where in a sequence of moves a learner is, from one or two faces.
//!
//! Every state the sequence leads through is compared with what is seen, and so is every state that one slip
//! leads to: a wrong direction, another number of layers, a quarter turn for a half, another side, a move left
//! out. What explains all that is seen is kept; while several states do, one more face is asked for, the one
//! that parts them best.

use super::blend::{difference, turned_place};
use super::order::{Turning, side_of};
use crate::colour::Linear;
use crate::cube::{Face, Hold, Move, Quarter, Spot, State};
use crate::sight::{Patch, SeenFace};

/// What each face's stickers look like on this cube in this light, in the order of [`Face::ALL`].
pub(super) type Palette = [Linear; 6];

/// What a learner can have done.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Slip {
    /// Another move than the one at this place of the sequence, counted from 0.
    Instead {
        /// The place.
        at: usize,
        /// What was turned.
        made: Move,
    },
    /// The move at this place was left out.
    LeftOut {
        /// The place.
        at: usize,
    },
}

/// How far a learner has got.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Progress {
    /// The moves dealt with, rightly or wrongly.
    pub done: usize,
    /// What went wrong, if anything.
    pub slip: Option<Slip>,
}

/// A way the cube can have come about.
#[derive(Clone, Debug)]
struct Guess {
    progress: Progress,
    state: State,
    /// Holds in which it looked like the face seen last.
    holds: Vec<Hold>,
}

/// What is known after a face was shown.
#[derive(Clone, Debug)]
pub(super) enum Found {
    /// The learner is here, and the cube looks like this.
    Here(Progress, State),
    /// Several states look like that: one more face is needed.
    Ask(Turning),
    /// Nothing explains it.
    Lost,
}

/// A learner being followed through a sequence.
#[derive(Clone, Debug)]
pub(super) struct Follow {
    guesses: Vec<Guess>,
    palette: Palette,
    /// How many faces have been compared since the last answer.
    pub seen: usize,
}

/// Stickers a look may have wrong (a finger, a highlight) beyond those of the best explanation before a guess is
/// dropped.
const MARGIN_CELLS: usize = 1;

/// The share of stickers that may speak against the best explanation.
const MOST_AGAINST: f32 = 0.06;

impl Follow {
    /// Follows through `moves`, which begin at `state` in the hold they are written for.
    pub fn new(state: &State, moves: &[Move], palette: Palette) -> Self {
        Self {
            guesses: guesses(state, moves),
            palette,
            seen: 0,
        }
    }

    /// What the stickers look like on this cube.
    pub const fn palette(&self) -> Palette {
        self.palette
    }

    /// Takes in one face.
    pub fn see(&mut self, face: &SeenFace) -> Found {
        self.seen += 1;
        let n = face.n;
        let mut fits = Vec::new();
        for guess in &self.guesses {
            if guess.state.n() != n {
                return Found::Lost;
            }
            let holds: Vec<(usize, Hold)> = Hold::all()
                .iter()
                .map(|&hold| (against(&guess.state, hold, &self.palette, face), hold))
                .collect();
            let least = holds.iter().map(|&(count, _)| count).min().unwrap_or(n * n);
            let holds = holds
                .into_iter()
                .filter(|&(count, _)| count == least)
                .map(|(_, hold)| hold)
                .collect();
            fits.push((
                least,
                Guess {
                    holds,
                    ..guess.clone()
                },
            ));
        }
        let best = fits.iter().map(|&(count, _)| count).min().unwrap_or(n * n);
        if best as f32 > MOST_AGAINST * (n * n) as f32 {
            return Found::Lost;
        }
        self.guesses = fits
            .into_iter()
            .filter(|&(count, _)| count <= best + MARGIN_CELLS)
            .map(|(_, guess)| guess)
            .collect();
        match self.guesses.as_slice() {
            [] => Found::Lost,
            // One face may look right by chance where a slip is concerned: a second one must agree.
            [only] if only.progress.slip.is_some() && self.seen < 2 => {
                Found::Ask(best_question(&self.guesses))
            }
            [only] => Found::Here(only.progress, only.state.clone()),
            several => Found::Ask(best_question(several)),
        }
    }
}

/// The stickers of a face that speak against its being the front of `state` in `hold`.
fn against(state: &State, hold: Hold, palette: &Palette, face: &SeenFace) -> usize {
    let expected = front(state, hold);
    let painted = SeenFace {
        patches: expected
            .iter()
            .map(|home| Patch {
                linear: palette[home.index()],
                spread: [0.0; 3],
                glare: 0.0,
                clipped: [0.0; 3],
                evenness: 1.0,
                pixels: 1,
            })
            .collect(),
        ..face.clone()
    };
    let found = difference(&painted, face);
    (found.differing * face.patches.len() as f32).round() as usize
}

/// The homes of the stickers in front once the cube is in this hold, row by row.
fn front(state: &State, hold: Hold) -> Vec<Face> {
    let n = state.n();
    let face = hold.comes_from(Face::F);
    // How the face lies: upright, it would have this side above it.
    let above = hold.comes_from(Face::U);
    let quarters = (0..4)
        .find(|&quarters| side_of(face, quarters) == above)
        .unwrap_or(0);
    (0..n * n)
        .map(|place| {
            let place = turned_place(place, n, quarters);
            state.at_spot(Spot {
                face,
                row: place / n,
                col: place % n,
            })
        })
        .collect()
}

/// The turning after which the fewest guesses would be left, whatever is seen.
fn best_question(guesses: &[Guess]) -> Turning {
    const QUESTIONS: [Turning; 5] = [
        Turning::FromTop,
        Turning::FromLeftHand,
        Turning::FromRightHand,
        Turning::FromBottom,
        Turning::FromBehind,
    ];
    let left = |turning: Turning| {
        let Some(rotation) = turning.rotation().and_then(Hold::of_move) else {
            return guesses.len();
        };
        let views: Vec<Vec<Vec<Face>>> = guesses
            .iter()
            .map(|guess| {
                let holds = guess.holds.iter();
                holds
                    .map(|&hold| front(&guess.state, hold.then(rotation)))
                    .collect()
            })
            .collect();
        let alike = |view: &Vec<Face>| views.iter().filter(|other| other.contains(view)).count();
        views.iter().flatten().map(alike).max().unwrap_or(0)
    };
    QUESTIONS
        .into_iter()
        .min_by_key(|&turning| left(turning))
        .unwrap_or(Turning::FromTop)
}

/// Every state the sequence and its slips lead to, each once: what is on the way first.
fn guesses(start: &State, moves: &[Move]) -> Vec<Guess> {
    let mut found: Vec<Guess> = Vec::new();
    let mut known = std::collections::BTreeSet::new();
    let mut add = |progress: Progress, state: State| {
        if known.insert(in_any_hold(&state)) {
            found.push(Guess {
                progress,
                state,
                holds: Vec::new(),
            });
        }
    };
    let mut before = vec![start.clone()];
    for &step in moves {
        let next = before[before.len() - 1].after(&[step]);
        before.push(next);
    }
    for (done, state) in before.iter().enumerate() {
        add(Progress { done, slip: None }, state.clone());
    }
    for (at, &step) in moves.iter().enumerate() {
        let wrong = alternatives(step, start.n()).into_iter();
        let slips = wrong
            .map(|made| (Slip::Instead { at, made }, vec![made]))
            .chain([(Slip::LeftOut { at }, Vec::new())]);
        for (slip, made) in slips {
            let mut state = before[at].after(&made);
            for done in at + 1..=moves.len() {
                add(
                    Progress {
                        done,
                        slip: Some(slip),
                    },
                    state.clone(),
                );
                if let Some(&next) = moves.get(done) {
                    state.turn(next);
                }
            }
        }
    }
    found
}

/// A name for the cube that does not depend on how it is held: the least of its 24 readings.
fn in_any_hold(state: &State) -> Vec<u8> {
    let readings = Hold::all().iter().map(|hold| {
        let turned = state.after(&hold.sequence().0);
        turned.stickers().iter().map(|&face| face as u8).collect()
    });
    readings.min().unwrap_or_default()
}

/// The moves one slip makes of a move.
fn alternatives(step: Move, n: usize) -> Vec<Move> {
    let Move::Block {
        face,
        layers,
        quarter,
    } = step
    else {
        return Vec::new();
    };
    let other_quarters = Quarter::ALL
        .into_iter()
        .filter(|&other| other != quarter)
        .map(|quarter| Move::Block {
            face,
            layers,
            quarter,
        });
    let other_layers = (1..n)
        .filter(|&other| other != layers)
        .map(|layers| Move::Block {
            face,
            layers,
            quarter,
        });
    let other_side = Move::Block {
        face: face.opposite(),
        layers,
        quarter,
    };
    other_quarters
        .chain(other_layers)
        .chain([other_side])
        .collect()
}

#[cfg(test)]
mod tests {
    use super::super::testing::{Light, light_of_face, painted};
    use super::*;
    use crate::cube::Sequence;

    const ADVICE: &str = "3Dw R F' U R' F 3Dw'";

    fn start() -> State {
        let scramble = Sequence::for_order("R U' Fw 3Dw L2 B Uw' Rw2 D F' Lw U2 B'", 6).unwrap();
        State::solved(6).after(&scramble.0)
    }

    fn moves(text: &str) -> Vec<Move> {
        Sequence::for_order(text, 6).unwrap().0
    }

    /// What is said once the learner has turned these moves and shows faces as asked, starting with the front.
    fn found(turned: &str) -> (Found, usize) {
        let palette = Face::ALL.map(light_of_face);
        let mut follow = Follow::new(&start(), &moves(ADVICE), palette);
        let mut cube = start().after(&moves(turned));
        loop {
            let seen = painted(
                &cube,
                Face::F,
                0,
                Light {
                    gain: 0.8,
                    warmth: 0.05,
                },
            );
            match follow.see(&seen) {
                Found::Ask(turning) => {
                    assert!(follow.seen < 4, "too many questions for {turned}");
                    let rotation = turning.rotation().unwrap();
                    cube.turn(rotation);
                }
                found => return (found, follow.seen),
            }
        }
    }

    fn check(turned: &str, done: usize, slip: Option<Slip>) {
        let (found, seen) = found(turned);
        let Found::Here(progress, state) = found else {
            panic!("{turned}: {found:?}");
        };
        assert_eq!(progress, Progress { done, slip }, "{turned}");
        assert_eq!(state, start().after(&moves(turned)), "{turned}");
        assert!(seen <= 3, "{turned} took {seen} faces");
    }

    #[test]
    fn every_place_of_the_sequence_is_known() {
        let all: Vec<&str> = ADVICE.split(' ').collect();
        for done in 0..=all.len() {
            check(&all[..done].join(" "), done, None);
        }
    }

    #[test]
    fn single_slips_are_known() {
        let instead = |at, made: &str| {
            Some(Slip::Instead {
                at,
                made: moves(made)[0],
            })
        };
        check("3Dw'", 1, instead(0, "3Dw'"));
        check("Dw R F'", 3, instead(0, "Dw"));
        check("3Dw R F U R'", 5, instead(2, "F"));
        check("3Dw R F' R' F", 6, Some(Slip::LeftOut { at: 3 }));
        check("3Dw R F' U2 R' F 3Dw'", 7, instead(3, "U2"));
        check("3Dw L F'", 3, instead(1, "L"));
    }

    #[test]
    fn two_slips_are_not_explained_away() {
        let (found, _) = found("3Dw' R F U");
        assert!(matches!(found, Found::Lost), "{found:?}");
    }
}
