//! Repairs in words.

use super::ledger::{Ledger, Slot, Sort};
use super::search::{Change, Cure};
use super::{Step, Way, Work};
use crate::cube::{
    CORNER_NAMES, EDGE_NAMES, Face, Fault, Kind, Pieces, Spot, State, Words, check_in_words,
    listed, spot_name, wing_name, with_article,
};

/// Tells the repairs of one state.
pub(super) struct Teller<'a> {
    ledger: Ledger,
    words: &'a Words,
}

/// What to do, the positions it concerns, and the sentence.
type Told = (Work, Vec<String>, String);

impl<'a> Teller<'a> {
    /// For a state, with these words for the stickers.
    pub fn of(state: &State, words: &'a Words) -> Self {
        Self {
            ledger: Ledger::of(state),
            words,
        }
    }

    /// A cure's ways: its changes, then one of the ways to mend each law still broken.
    pub fn ways(&self, cure: &Cure) -> Vec<Way> {
        let changes = cure.changes.iter();
        let mut ways = vec![Way {
            steps: changes.map(|change| self.change(change)).collect(),
        }];
        for fault in check_in_words(&cure.state, self.words) {
            let choices = mend(&cure.state, &fault);
            let with_choice = |way: &Way| -> Vec<Way> {
                let add = |step: &Step| Way {
                    steps: way.steps.iter().chain([step]).cloned().collect(),
                };
                choices.iter().map(add).collect()
            };
            ways = ways.iter().flat_map(with_choice).collect();
        }
        ways
    }

    fn change(&self, change: &Change) -> Step {
        let (work, places, text) = match change {
            Change::Exchange(one, other) => self.exchange([*one, *other]),
            Change::Recolour(place, colour) => self.recolour(*place, *colour),
            Change::Replace(places, stickers) => self.replace(places, stickers),
        };
        let stickers = change.places().into_iter().map(|place| self.spot(place));
        Step {
            work,
            places,
            stickers: stickers.collect(),
            text,
        }
    }

    fn exchange(&self, places: [u16; 2]) -> Told {
        let slots = places.map(|place| self.ledger.slot(place));
        let names = slots.map(|slot| self.position(slot));
        let is_one_piece = slots[0].places == slots[1].places;
        let [first, _] = &names;
        match slots.map(|slot| slot.sort) {
            [Sort::Wing(_), _] if is_one_piece => (
                Work::TurnWing,
                vec![first.clone()],
                format!(
                    "Exchange the two stickers of the {first}, or, if it can be taken out, put it in the right \
                     way round."
                ),
            ),
            [Sort::Fixed, Sort::Fixed] => (
                Work::ExchangeCaps,
                names.to_vec(),
                format!("Exchange the caps in the middle of {}.", listed(&names)),
            ),
            _ => {
                let seen = places.map(|place| {
                    format!("{} ({})", spot_name(self.spot(place)), self.colour(place))
                });
                (
                    Work::ExchangeStickers,
                    names.to_vec(),
                    format!("Exchange the stickers at {}.", listed(&seen)),
                )
            }
        }
    }

    fn recolour(&self, place: u16, colour: Face) -> Told {
        let name = spot_name(self.spot(place));
        let text = format!(
            "The sticker at {name} shows {} where {} belongs: look whether it was misread, otherwise replace it.",
            self.colour(place),
            self.words.of(colour)
        );
        (Work::ReplaceSticker, vec![name], text)
    }

    fn replace(&self, places: &[u16], stickers: &[Face]) -> Told {
        let slot = self.ledger.slot(places[0]);
        let name = self.position(slot);
        let piece = match slot.sort {
            Sort::Wing(_) => format!("The {name}"),
            _ => format!("The piece at {name}"),
        };
        let now: Vec<&str> = places.iter().map(|&place| self.colour(place)).collect();
        let due: Vec<&str> = stickers
            .iter()
            .map(|&sticker| self.words.of(sticker))
            .collect();
        let text = format!(
            "{piece} ({}) seems to be one of another cube: replace it by {} one.",
            now.join("-"),
            with_article(&due.join("-"))
        );
        (Work::ReplacePiece, vec![name], text)
    }

    fn spot(&self, place: u16) -> Spot {
        Spot::from_place(usize::from(place), self.ledger.state.n())
    }

    fn colour(&self, place: u16) -> &str {
        self.words.of(self.ledger.state.at(usize::from(place)))
    }

    fn position(&self, slot: &Slot) -> String {
        match slot.sort {
            Sort::Corner => CORNER_NAMES[slot.position].to_owned(),
            Sort::Midge => EDGE_NAMES[slot.position].to_owned(),
            Sort::Wing(orbit) => wing_name(self.ledger.state.n(), orbit, slot.position),
            Sort::Centre(_) => spot_name(self.spot(slot.places[0])),
            Sort::Fixed => Face::ALL[slot.position].to_string(),
        }
    }
}

/// The ways to mend one of the laws about all corners or midges together: with the pieces the fault names, saying that
/// any others would do as well, or with any.
fn mend(cube: &State, fault: &Fault) -> Vec<Step> {
    let named = |work, text: String| Step {
        work,
        places: fault.places.clone(),
        stickers: fault.stickers.clone(),
        text,
    };
    let any = |work, text: String| Step {
        work,
        places: Vec::new(),
        stickers: Vec::new(),
        text,
    };
    match (fault.kind, &fault.places[..]) {
        (Kind::CornerTwist, places) => {
            let back = match Pieces::of(cube).twist() {
                Some(1) => "anticlockwise",
                _ => "clockwise",
            };
            let twist = |who: &str| format!("Twist {who} a third of a turn {back}");
            vec![match places {
                [place] => named(
                    Work::TwistCorner,
                    format!(
                        "{}; any other corner would do as well, but this is the one that is twisted.",
                        twist(&format!("the corner at {place}"))
                    ),
                ),
                _ => any(
                    Work::TwistCorner,
                    format!("{}; it does not matter which.", twist("any one corner")),
                ),
            }]
        }
        (Kind::MidgeFlip, places) => {
            let flip = |who: &str| format!("Take out {who} and put it back the other way round");
            vec![match places {
                [place] => named(
                    Work::FlipMidge,
                    format!(
                        "{}; any other midge would do as well, but this is the one that is flipped.",
                        flip(&format!("the midge at {place}"))
                    ),
                ),
                _ => any(
                    Work::FlipMidge,
                    format!("{}; it does not matter which.", flip("any one midge")),
                ),
            }]
        }
        (Kind::ExchangedPair, places) => {
            let (corners, midges) = (
                (Work::ExchangeCorners, "corners"),
                (Work::ExchangeMidges, "midges"),
            );
            if let [one, other] = places {
                // A corner's name has three letters.
                let ((work, noun), (_, rest)) = if one.len() == 3 {
                    (corners, midges)
                } else {
                    (midges, corners)
                };
                let text = format!(
                    "Exchange the {noun} at {one} and {other}; any two other {noun}, or any two {rest}, would do as \
                     well, but these are in each other's place."
                );
                return vec![named(work, text)];
            }
            let exchange = |(work, noun)| {
                any(
                    work,
                    format!("Exchange any two {noun}; it does not matter which."),
                )
            };
            [corners, midges].map(exchange).into()
        }
        _ => Vec::new(),
    }
}
