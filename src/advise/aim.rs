//! What a step is for: as data, for those who have colours and pictures, and as a sentence in the letters of the
//! hold.

use crate::cube::{Face, Hold, Layout, counted, wing_word};
use crate::diagnose::Stage;
use serde::Serialize;
use std::fmt;

/// What a step is for.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Aim {
    /// The kind of step.
    pub task: Task,
    /// The pieces it is about, as they lie in the hold before the moves, or where they belong.
    pub pieces: Vec<Piece>,
}

/// A piece or group that a step is about.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
pub struct Piece {
    /// The sides it lies on (or belongs on), in the hold of the step.
    pub sides: Vec<Face>,
    /// Its colours on those sides, each by the face it is named after; empty where they do not matter.
    pub colours: Vec<Face>,
}

/// The kinds of step.
#[derive(Clone, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case", tag = "kind")]
pub enum Task {
    /// Put whole bars from the centre on `from` into that on `side`.
    Bar {
        /// Which of the six centres is built.
        building: Building,
        /// The side, in the hold.
        side: Face,
        /// The side they come from.
        from: Face,
        /// The colour, by the face it is named after.
        colour: Face,
        /// The stickers of that colour on the side afterwards.
        stickers: usize,
    },
    /// Bring pieces into the centre on `side` from that on `from`, leaving all other centres.
    CentrePieces {
        /// Which of the six centres is built.
        building: Building,
        /// How many more are right afterwards.
        gain: usize,
        /// The side, in the hold.
        side: Face,
        /// The side they come from.
        from: Face,
        /// The colour, by the face it is named after.
        colour: Face,
        /// The stickers of that colour on the side afterwards.
        stickers: usize,
    },
    /// Exchange two whole centres that stand in each other's place.
    ExchangeCentres {
        /// The one.
        one: Face,
        /// The other.
        other: Face,
    },
    /// Join wings to the inner parts of their groups. The pieces of the aim are, by turns, a wing and what it is joined
    /// to.
    Pair {
        /// The order of the cube.
        n: usize,
        /// The layer of the wings, counted from the corner.
        layer: usize,
        /// The wings of that layer that fit afterwards, of 24.
        fitting: usize,
        /// How many more are joined than the pieces say.
        more: usize,
    },
    /// Mend the last open groups.
    LastGroups {
        /// The order of the cube.
        n: usize,
        /// The outermost layer of the wings that are mended, counted from the corner.
        layer: usize,
        /// How many are open.
        open: usize,
        /// Whether an odd number of quarter turns of some slice is needed: a parity, and not one in looks only.
        is_parity: bool,
    },
    /// Undo the flip parity of a reduced cube.
    Flip,
    /// Undo the swap parity of a reduced cube.
    Swap,
    /// Bring the edges of the cross home.
    Cross,
    /// Bring a corner of the bottom layer home.
    BottomCorner,
    /// Bring an edge of the middle layer home.
    MiddleEdge,
    /// Turn the top layer's edges so that the top colour shows.
    TopEdgesUp,
    /// Bring the top layer's edges home.
    TopEdgesHome,
    /// Bring the top layer's corners to their places.
    TopCornersPlaced,
    /// Turn the top layer's corners.
    TopCornersTurned,
    /// Undo the last few turns.
    TurnBack {
        /// How many.
        turns: usize,
        /// The stage they lead to.
        to: Stage,
        /// What then stands again, where the stage does not say it.
        built: Built,
    },
    /// Turn slices back, each written as two turns, maybe with single turns among them.
    SlicesBack {
        /// How many slices.
        slices: usize,
        /// How many single turns.
        turns: usize,
        /// The stage they lead to.
        to: Stage,
    },
    /// Carry a known sequence to its end.
    CarryOn {
        /// How many of its turns are already made.
        made: usize,
    },
}

/// Which of the six centres a step builds; one that is whole but on another's side counts as open.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Building {
    /// The first.
    First,
    /// The second, opposite the first.
    OppositeFirst,
    /// The second, beside the first.
    Second,
    /// The third.
    Third,
    /// The fourth, which leaves open two that lie opposite each other.
    Fourth,
    /// The fourth, which leaves open two side by side.
    FourthOfARing,
    /// One of the last two, and the other with it.
    LastTwo {
        /// Whether they lie opposite each other; otherwise they are side by side.
        are_opposite: bool,
    },
}

impl Building {
    /// Which one it is, of the centre on `target` beside those done.
    pub fn of(target: Face, done: &[Face]) -> Self {
        let is_open = |side: &Face| !done.contains(side) && *side != target;
        let left: Vec<Face> = Face::ALL.into_iter().filter(is_open).collect();
        match (done, &left[..]) {
            ([], _) => Self::First,
            ([first], _) if *first == target.opposite() => Self::OppositeFirst,
            ([_], _) => Self::Second,
            ([_, _], _) => Self::Third,
            (_, [one, other]) if *one == other.opposite() => Self::Fourth,
            (_, [_, _]) => Self::FourthOfARing,
            _ => Self::LastTwo {
                are_opposite: left.contains(&target.opposite()),
            },
        }
    }
}

impl fmt::Display for Building {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        out.write_str(match self {
            Self::First => "First centre",
            Self::OppositeFirst => "Second centre, opposite the first",
            Self::Second => "Second centre",
            Self::Third => "Third centre",
            Self::Fourth => "Fourth centre",
            Self::FourthOfARing => "Fourth centre, so that the last two will lie side by side",
            Self::LastTwo { are_opposite: true } => "Last two centres, opposite each other",
            Self::LastTwo {
                are_opposite: false,
            } => "Last two centres, side by side",
        })
    }
}

/// What stands, of the centres or of the finish.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Built {
    /// Nothing that matters here.
    Nothing,
    /// So many centres, others still being open.
    Centres(usize),
    /// The cross.
    Cross,
    /// The first layer.
    FirstLayer,
    /// All but the top layer.
    AllButTheTop,
}

impl Aim {
    /// An aim without pieces.
    pub const fn plain(task: Task) -> Self {
        Self {
            task,
            pieces: Vec::new(),
        }
    }

    /// An aim about the edge or corner that belongs on these sides.
    pub fn home(task: Task, sides: &[Face]) -> Self {
        Self::homes(task, [sides.to_vec()])
    }

    /// An aim about the edges or corners that belong on these sides.
    pub fn homes(task: Task, homes: impl IntoIterator<Item = Vec<Face>>) -> Self {
        let colours = Vec::new;
        let piece = |sides| Piece {
            sides,
            colours: colours(),
        };
        Self {
            task,
            pieces: homes.into_iter().map(piece).collect(),
        }
    }

    /// An aim about an edge by its number in [`Layout::EDGES`].
    pub fn edge(task: Task, edge: usize) -> Self {
        let (a, b) = Layout::EDGES[edge];
        Self::home(task, &[a, b])
    }

    /// Gives each piece the colours of the sides it belongs on, then names the sides as `hold` brings them.
    pub fn turn_into(&mut self, hold: Hold, colour_of_side: [Face; 6]) {
        for piece in &mut self.pieces {
            piece.colours = piece
                .sides
                .iter()
                .map(|side| colour_of_side[side.index()])
                .collect();
        }
        self.held(hold);
    }

    /// Names the sides as `hold` brings them.
    pub fn held(&mut self, hold: Hold) {
        for piece in &mut self.pieces {
            for side in &mut piece.sides {
                *side = hold.brings(*side);
            }
            piece.name_as_usual();
        }
    }
}

impl Piece {
    /// Puts the sides, and the colours with them, in the order in which places are named: U or D first, then F or B.
    fn name_as_usual(&mut self) {
        let rank = |side: &Face| match side {
            Face::U | Face::D => 0,
            Face::F | Face::B => 1,
            Face::R | Face::L => 2,
        };
        let mut order: Vec<usize> = (0..self.sides.len()).collect();
        order.sort_by_key(|&at| rank(&self.sides[at]));
        if self.colours.len() == self.sides.len() {
            self.colours = order.iter().map(|&at| self.colours[at]).collect();
        }
        self.sides = order.iter().map(|&at| self.sides[at]).collect();
    }

    fn place(&self) -> String {
        self.sides.iter().map(|side| side.letter()).collect()
    }
}

impl fmt::Display for Aim {
    fn fmt(&self, out: &mut fmt::Formatter<'_>) -> fmt::Result {
        let mut places: Vec<String> = self.pieces.iter().map(Piece::place).collect();
        places.dedup();
        let place = places.join(" and ");
        match &self.task {
            Task::Bar {
                building,
                side,
                from,
                ..
            }
            | Task::CentrePieces {
                building,
                side,
                from,
                ..
            } => write!(
                out,
                "{building}: bring pieces from the centre on {from} into the centre on {side}"
            ),
            Task::ExchangeCentres { one, other } => write!(
                out,
                "Exchange the centres on {one} and {other}: they stand in each other's place"
            ),
            Task::Pair { n, layer, .. } => {
                let word = wing_word(*n, layer - 2);
                write!(out, "Join the {word}s of the groups at {place}")
            }
            Task::LastGroups {
                n,
                layer,
                open,
                is_parity,
            } => {
                let kind = if *is_parity { " (a parity)" } else { "" };
                let what = last_groups(*n, *layer, *open);
                write!(out, "{what} at {place}{kind}")
            }
            Task::Flip => write!(out, "Undo the flip parity: one group is turned over"),
            Task::Swap => write!(out, "Undo the swap parity: two groups are exchanged"),
            Task::Cross => write!(out, "Cross: bring the edges home to {place}"),
            Task::BottomCorner => {
                write!(out, "First layer: bring home what belongs at {place}")
            }
            Task::MiddleEdge => write!(
                out,
                "Middle layer: bring the edge home that belongs at {place}"
            ),
            Task::TopEdgesUp => write!(
                out,
                "Top layer: turn edges over so that the top colour shows"
            ),
            Task::TopEdgesHome => write!(out, "Top layer: bring the edges home"),
            Task::TopCornersPlaced => {
                write!(out, "Top layer: bring the corners to their places")
            }
            Task::TopCornersTurned => write!(out, "Top layer: turn the corners in their places"),
            Task::TurnBack { turns, to, built } => {
                let (away, better) = (some(*turns, "turn"), better_place(*to, *built));
                write!(out, "Turn back: you are {away} from {better}")
            }
            Task::SlicesBack { slices, turns, to } => {
                let away = away(*slices, *turns);
                let better = better_place(*to, Built::Nothing);
                write!(
                    out,
                    "Turn back: you are {away} from {better}; two turns together move a slice"
                )
            }
            Task::CarryOn { made, .. } => {
                let made = some(*made, "turn");
                write!(
                    out,
                    "Carry on: you are {made} into a sequence; these turns end it"
                )
            }
        }
    }
}

/// "Mend the last two open groups".
fn last_groups(n: usize, layer: usize, open: usize) -> String {
    let which = if open == 1 {
        "open group"
    } else {
        "two open groups"
    };
    if layer == 2 {
        format!("Mend the last {which}")
    } else {
        let word = wing_word(n, layer - 2);
        format!("Join the {word}s of the last {which}")
    }
}

/// "three turns".
fn some(count: usize, word: &str) -> String {
    let plural = if count == 1 { "" } else { "s" };
    format!("{} {word}{plural}", counted(count))
}

/// "two slices and one turn".
fn away(slices: usize, turns: usize) -> String {
    let slices = some(slices, "slice");
    match turns {
        0 => slices,
        turns => format!("{slices} and {}", some(turns, "turn")),
    }
}

/// Where a few turns back lead.
const fn better_place(to: Stage, built: Built) -> &'static str {
    match (built, to) {
        (Built::AllButTheTop, _) => "a cube with only the top layer left",
        (Built::FirstLayer, _) => "a whole first layer",
        (Built::Cross, _) => "a whole cross",
        (Built::Centres(3), _) => "three whole centres",
        (Built::Centres(4), _) => "four whole centres",
        (Built::Centres(_), _) => "more whole centres",
        (Built::Nothing, Stage::Solved) => "the solved cube",
        (Built::Nothing, Stage::Reduced) => "a cube that turns like a 3×3×3",
        (Built::Nothing, Stage::LastGroups) => "the last edge groups",
        (Built::Nothing, _) => "whole centres",
    }
}
