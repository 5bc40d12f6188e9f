//! Each piece once, each colour n² times, four of a colour in each orbit of centres.

use super::{Checker, Kind};
use crate::cube::piece::{CORNER_NAMES, EDGE_NAMES, Pieces, wing_name, wing_word};
use crate::cube::words::{listed, spot_name, with_article};
use crate::cube::{Face, Hold, OrbitKind, Spot, corner_of};

/// Which of `count` pieces are not there, and which more than once and where.
struct Census {
    missing: Vec<usize>,
    repeated: Vec<(usize, Vec<usize>)>,
}

impl Census {
    fn of(found: impl Iterator<Item = Option<usize>>, count: usize) -> Self {
        let mut positions = vec![Vec::new(); count];
        for (position, piece) in found.enumerate() {
            if let Some(piece) = piece {
                positions[piece].push(position);
            }
        }
        let missing = (0..count)
            .filter(|&piece| positions[piece].is_empty())
            .collect();
        let repeated = positions
            .into_iter()
            .enumerate()
            .filter(|(_, at)| at.len() > 1)
            .collect();
        Self { missing, repeated }
    }
}

impl Checker<'_> {
    /// Reports what is missing, repeated or impossible.
    pub(super) fn presence(&mut self) {
        let pieces = Pieces::of(self.state);
        self.colours();
        self.corners(&pieces);
        self.midges(&pieces);
        for (orbit, wings) in pieces.wings.iter().enumerate() {
            self.wings(orbit, wings);
        }
        self.centres();
        self.fixed_centres();
    }

    fn colours(&mut self) {
        let n = self.state.n();
        let mut counts = [0; 6];
        for sticker in self.state.stickers() {
            counts[sticker.index()] += 1;
        }
        let off = |wanted: fn(usize, usize) -> bool| -> Vec<String> {
            Face::ALL
                .into_iter()
                .filter(|face| wanted(counts[face.index()], n * n))
                .map(|face| format!("{} {}", counts[face.index()], self.words.of(face)))
                .collect()
        };
        let wrong = off(|met, due| met != due);
        if wrong.is_empty() {
            return;
        }
        let surplus: usize = counts.iter().map(|met| met.saturating_sub(n * n)).sum();
        let text = format!(
            "There are {} stickers, but {} has {} of each colour: {}.",
            listed(&wrong),
            with_article(&format!("{n}×{n}×{n} cube")),
            n * n,
            if surplus == 1 {
                "a sticker is misread, or was replaced by one of another colour"
            } else {
                "stickers are misread, or were replaced by ones of other colours"
            }
        );
        self.report(Kind::ColourCount, Vec::new(), Vec::new(), &[], text);
    }

    fn corners(&mut self, pieces: &Pieces) {
        let layout = self.state.layout();
        let census = Census::of(pieces.corners.iter().map(|c| c.map(|c| c.piece)), 8);
        let lacking: Vec<_> = census
            .missing
            .iter()
            .map(|&p| with_article(&self.words.corner(p)))
            .collect();
        for (position, corner) in layout.corners.iter().enumerate() {
            if pieces.corners[position].is_some() {
                continue;
            }
            let name = CORNER_NAMES[position];
            let stickers = corner.places.map(|place| self.state.at(usize::from(place)));
            let [a, b, c] = stickers;
            if let Some(mirrored) = corner_of([a, c, b]) {
                let text = format!(
                    "The corner at {name} has the colours of the {} in mirror order: two of its stickers are \
                     exchanged.",
                    self.words.corner(mirrored.piece)
                );
                let piece = vec![CORNER_NAMES[mirrored.piece].to_owned()];
                self.report(
                    Kind::CornerMirrored,
                    piece,
                    vec![name.to_owned()],
                    &corner.places,
                    text,
                );
            } else {
                let text = format!(
                    "The corner at {name} shows {}: {}.{}",
                    listed(&stickers.map(|sticker| self.words.of(sticker))),
                    self.why_impossible(&stickers),
                    missing_hint(&lacking)
                );
                let place = vec![name.to_owned()];
                self.report(
                    Kind::CornerImpossible,
                    Vec::new(),
                    place,
                    &corner.places,
                    text,
                );
            }
        }
        for (piece, at) in &census.repeated {
            let names: Vec<_> = at.iter().map(|&p| CORNER_NAMES[p].to_owned()).collect();
            let stickers: Vec<u16> = at.iter().flat_map(|&p| layout.corners[p].places).collect();
            let text = format!(
                "The {} shows more than once, at {}.{}",
                self.words.corner(*piece),
                listed(&names),
                missing_hint(&lacking)
            );
            let piece = vec![CORNER_NAMES[*piece].to_owned()];
            self.report(Kind::CornerTwice, piece, names, &stickers, text);
        }
    }

    fn midges(&mut self, pieces: &Pieces) {
        let layout = self.state.layout();
        if layout.midges.is_empty() {
            return;
        }
        let census = Census::of(pieces.midges.iter().map(|m| m.map(|m| m.piece)), 12);
        let lacking: Vec<_> = census
            .missing
            .iter()
            .map(|&piece| with_article(&format!("{} midge", self.words.edge(piece))))
            .collect();
        for (position, midge) in layout.midges.iter().enumerate() {
            if pieces.midges[position].is_some() {
                continue;
            }
            let stickers = midge.places.map(|place| self.state.at(usize::from(place)));
            let text = format!(
                "The midge at {} shows {}: {}.{}",
                EDGE_NAMES[position],
                listed(&stickers.map(|sticker| self.words.of(sticker))),
                self.why_impossible(&stickers),
                missing_hint(&lacking)
            );
            let place = vec![EDGE_NAMES[position].to_owned()];
            self.report(
                Kind::MidgeImpossible,
                Vec::new(),
                place,
                &midge.places,
                text,
            );
        }
        for (piece, at) in &census.repeated {
            let names: Vec<_> = at.iter().map(|&p| EDGE_NAMES[p].to_owned()).collect();
            let stickers: Vec<u16> = at.iter().flat_map(|&p| layout.midges[p].places).collect();
            let text = format!(
                "The {} midge shows more than once, at {}.{}",
                self.words.edge(*piece),
                listed(&names),
                missing_hint(&lacking)
            );
            let piece = vec![EDGE_NAMES[*piece].to_owned()];
            self.report(Kind::MidgeTwice, piece, names, &stickers, text);
        }
    }

    fn wings(&mut self, orbit: usize, found: &[Option<usize>; 24]) {
        let n = self.state.n();
        let wings = &self.state.layout().wing_orbits[orbit].wings;
        let word = wing_word(n, orbit);
        let census = Census::of(found.iter().copied(), 24);
        let lacking: Vec<_> = census
            .missing
            .iter()
            .map(|&wing| format!("one of the two {} {word}s", self.words.edge(wing / 2)))
            .collect();
        for (position, wing) in wings.iter().enumerate() {
            if found[position].is_some() {
                continue;
            }
            let stickers = wing.places.map(|place| self.state.at(usize::from(place)));
            let name = wing_name(n, orbit, position);
            let text = format!(
                "The {name} shows {}: {}.{}",
                listed(&stickers.map(|sticker| self.words.of(sticker))),
                self.why_impossible(&stickers),
                missing_hint(&lacking)
            );
            self.report(
                Kind::WingImpossible,
                Vec::new(),
                vec![name],
                &wing.places,
                text,
            );
        }
        for (wing, at) in &census.repeated {
            let names: Vec<_> = at.iter().map(|&p| wing_name(n, orbit, p)).collect();
            let those: Vec<_> = names.iter().map(|name| format!("the {name}")).collect();
            let stickers: Vec<u16> = at.iter().flat_map(|&p| wings[p].places).collect();
            let colours = self.words.edge(wing / 2);
            let is_turned = census.missing.contains(&(wing ^ 1));
            let (kind, text) = if is_turned {
                let text = format!(
                    "Two {colours} {word}s are alike, {}, where one should have its colours the other way \
                     round: in one of them the two stickers are exchanged, or it was put in the wrong way round.",
                    listed(&those)
                );
                (Kind::WingTurned, text)
            } else {
                let text = format!(
                    "The same {colours} {word} shows more than once, as {}.{}",
                    listed(&those),
                    missing_hint(&lacking)
                );
                (Kind::WingTwice, text)
            };
            let piece = vec![wing_name(n, orbit, *wing)];
            self.report(kind, piece, names, &stickers, text);
        }
    }

    fn centres(&mut self) {
        let n = self.state.n();
        for orbit in &self.state.layout().centre_orbits {
            let mut counts = [0_usize; 6];
            for &place in &orbit.places {
                counts[self.state.at(usize::from(place)).index()] += 1;
            }
            let wrong: Vec<_> = Face::ALL
                .into_iter()
                .filter(|face| counts[face.index()] != 4)
                .map(|face| format!("{} {}", counts[face.index()], self.words.of(face)))
                .collect();
            if wrong.is_empty() {
                continue;
            }
            let surplus: Vec<u16> = orbit
                .places
                .iter()
                .copied()
                .filter(|&place| counts[self.state.at(usize::from(place)).index()] > 4)
                .collect();
            let kind = match orbit.kind {
                OrbitKind::X => "x-centres",
                OrbitKind::T => "t-centres",
                OrbitKind::Oblique => "oblique centres",
            };
            let (row, col) = orbit.anchor;
            let text = format!(
                "Among the {kind} at row {}, column {} of each face and a quarter turn on from there, {} are \
                 to be seen, but there must be 4 of each colour: centres never leave these places.",
                row + 1,
                col + 1,
                listed(&wrong)
            );
            let names = surplus
                .iter()
                .map(|&place| spot_name(Spot::from_place(usize::from(place), n)))
                .collect();
            self.report(Kind::CentreCount, Vec::new(), names, &surplus, text);
        }
    }

    fn fixed_centres(&mut self) {
        let fixed = &self.state.layout().fixed_centres;
        if fixed.is_empty() {
            return;
        }
        let at = |face: Face| self.state.at(usize::from(fixed[face.index()]));
        let wrong_in = |hold: &Hold| -> Vec<Face> {
            Face::ALL
                .into_iter()
                .filter(|&face| at(face) != hold.comes_from(face))
                .collect()
        };
        // `min_by_key` keeps the first of equals, and the hold as shown is the first.
        let wrong = Hold::all().iter().map(wrong_in).min_by_key(Vec::len);
        let Some(wrong) = wrong.filter(|wrong| !wrong.is_empty()) else {
            return;
        };
        let colours: Vec<_> = wrong.iter().map(|&face| self.words.of(at(face))).collect();
        let places: Vec<_> = wrong.iter().map(ToString::to_string).collect();
        let (noun, verb) = match places.len() {
            1 => ("centre", "shows"),
            _ => ("centres", "show"),
        };
        let text = format!(
            "The fixed {noun} of {} {verb} {}, which does not go with the corners: the middle of a face never \
             moves, so its cap was put on the wrong face or is misread.",
            listed(&places),
            listed(&colours)
        );
        let pieces = wrong.iter().map(|&face| at(face).to_string()).collect();
        let stickers: Vec<u16> = wrong.iter().map(|face| fixed[face.index()]).collect();
        self.report(Kind::FixedCentres, pieces, places, &stickers, text);
    }

    /// Why no piece has these stickers together.
    fn why_impossible(&self, stickers: &[Face]) -> String {
        for (index, &one) in stickers.iter().enumerate() {
            for &other in &stickers[index + 1..] {
                if one == other {
                    return format!("no piece has {} twice", self.words.of(one));
                }
                if one == other.opposite() {
                    return format!(
                        "{} and {} lie on opposite faces and never meet on a piece",
                        self.words.of(one),
                        self.words.of(other)
                    );
                }
            }
        }
        "no piece has these together".to_owned()
    }
}

/// A sentence on the pieces that are not there, if they are few enough to help.
fn missing_hint(lacking: &[String]) -> String {
    match lacking {
        [one] => format!(" Nowhere to be seen is {one}."),
        [_, _] => format!(" Nowhere to be seen are {}.", listed(lacking)),
        _ => String::new(),
    }
}
