//! Why photos make no cube, in sentences that name the photos and say what to do.

use super::likeness::{Alike, alike};
use super::read::{Shown, is_legal};
use super::reading::{LEAST_CONFIDENCE, Outcome, Problem, ProblemKind, Reading};
use crate::assemble::{self, Assembly, assemble, assemble_roughly, glance};
use crate::calibration::Calibration;
use crate::colour::{Linear, Name};
use crate::cube::{Face, Fault, Kind, check, counted};
use crate::geometry::{Point, Quad};
use crate::sight::{Patch, SeenFace, SeenPhoto, View};

/// How many pieces of a real cube are expected to be impossible at most: two stickers exchanged make four.
const MOST_BROKEN_PIECES: usize = 4;

/// How many different faces photos show of which most show one and the same, as those of a burst do: too few for a cube,
/// and long to piece together.
pub(super) fn seen_again(photos: &[SeenPhoto]) -> Option<usize> {
    /// From so many faces seen on: one more than a cube has.
    const MANY: usize = 7;
    let seen = faces_seen(photos);
    if seen < MANY {
        return None;
    }
    let twice = alike(photos);
    let mut shown_first: Vec<usize> = (0..photos.len()).collect();
    for pair in &twice {
        shown_first[pair.again] = shown_first[pair.first];
    }
    let most = (0..photos.len())
        .map(|photo| shown_first.iter().filter(|&&first| first == photo).count())
        .max()?;
    let distinct = seen.saturating_sub(twice.len());
    (distinct < 6 && 2 * most > photos.len()).then_some(distinct)
}

fn faces_seen(photos: &[SeenPhoto]) -> usize {
    let views = photos.iter().filter_map(|photo| photo.views.first());
    views.map(|view| view.faces.len()).sum()
}

/// What to say when no cube could be assembled.
pub(super) fn of_error(
    shown: &[Shown],
    photos: &[SeenPhoto],
    problem: &assemble::Error,
) -> Problem {
    match *problem {
        assemble::Error::NothingSeen => Problem {
            kind: ProblemKind::NoFace,
            text: "no photo shows a face of a cube; show one whole face in each, large and sharp"
                .to_owned(),
        },
        assemble::Error::SizesDiffer { photo, met, usual } => Problem {
            kind: ProblemKind::SizesDiffer,
            text: format!(
                "the photos show cubes of different sizes, {} a face of {met}×{met} stickers, the others {usual}×{usual}: \
                 photos of two cubes were mixed, or only a part of that face was found; leave that photo out or \
                 take it again",
                name(shown, photo)
            ),
        },
        assemble::Error::FacesMissing { met } => missing(met, None),
        _ => mixed(shown, photos, None),
    }
}

/// What in the photos, rather than in the cube, explains a reading that is doubtful, illegal or none at all;
/// `None` if nothing does.
pub(super) fn of_photos(
    calibration: &Calibration,
    shown: &[Shown],
    photos: &[SeenPhoto],
    reading: &Reading,
    assembly: Option<&Assembly>,
) -> Option<Problem> {
    let seen = faces_seen(photos);
    // Six faces that make a cube that can exist are six, however alike they look: after a half turn two may be the same.
    let is_cube = reading.is_laying_open && is_legal(reading);
    // Not so plain ones: the same face again is all too easily taken for one that was not shown.
    let mut twice = alike(photos);
    twice.retain(|pair| pair.is_plain || !is_cube);
    let distinct = seen.saturating_sub(twice.len());
    let kind = reading.problem.as_ref().map(|problem| problem.kind);
    if kind.is_some_and(|kind| kind != ProblemKind::FacesMissing) {
        return None;
    }
    if seen > 0 && distinct < 6 {
        let kept = without_repeats(photos, &twice);
        let absent = Absent::of(calibration, shown, &kept, distinct);
        let absent = absent.map(|absent| absent.words(shown));
        return Some(if twice.is_empty() {
            missing(distinct, absent.as_deref())
        } else {
            repeated(shown, &twice, distinct, absent.as_deref())
        });
    }
    let faults = &reading.examination.as_ref()?.legality.faults;
    let strange = || assembly.into_iter().flat_map(Assembly::strangers);
    let is_other = strange().next().is_some() || is_beyond_repair(faults);
    // A cube clearly seen that cannot be may be one that can, seen in a mirror once.
    if !is_other && (faults.is_empty() || reading.outcome != Outcome::Read) {
        return None;
    }
    let strange = sole(strange());
    let kinship = assembly.map_or(f64::NEG_INFINITY, |assembly| assembly.kinship.over_stickers);
    let (one_of, left) = mirrored_one(calibration, photos, strange, kinship, faults.len());
    if !one_of.is_empty() {
        return Some(mirrored(shown, &one_of, left));
    }
    is_other.then(|| {
        let blind = photos.iter().position(|photo| photo.views.is_empty());
        blind.map_or_else(
            || {
                let odd = strange.or_else(|| odd_one_out(calibration, photos));
                mixed(shown, photos, odd)
            },
            |blind| unseen(shown, blind),
        )
    })
}

/// Whether a cube with these faults is less likely than photos that do not belong together.
fn is_beyond_repair(faults: &[Fault]) -> bool {
    let miscounted = faults
        .iter()
        .any(|fault| matches!(fault.kind, Kind::ColourCount | Kind::ManyPieces));
    let broken = faults.iter().filter(|fault| {
        !matches!(
            fault.kind,
            Kind::CornerTwist | Kind::MidgeFlip | Kind::ExchangedPair
        )
    });
    miscounted || broken.count() > MOST_BROKEN_PIECES
}

fn name<'a>(shown: &[Shown<'a>], photo: usize) -> &'a str {
    shown.get(photo).map_or("a photo", |shown| shown.path)
}

fn missing(met: usize, absent: Option<&str>) -> Problem {
    let faces = if met == 1 { "face was" } else { "faces were" };
    let which = absent.map_or_else(
        || "photograph the ones that are missing".to_owned(),
        |absent| format!("still missing is {absent}; photograph it"),
    );
    Problem {
        kind: ProblemKind::FacesMissing,
        text: format!(
            "{} {faces} seen, a cube has six: {which} and give all photos together",
            counted(met)
        ),
    }
}

/// A photo shows nothing, and what the others show besides their own face makes no cube with it.
fn unseen(shown: &[Shown], photo: usize) -> Problem {
    Problem {
        kind: ProblemKind::FacesMissing,
        text: format!(
            "no face was found in {}, and what the other photos show does not make a cube by itself: take that one \
             again and give all photos together",
            name(shown, photo)
        ),
    }
}

fn repeated(shown: &[Shown], twice: &[Alike], distinct: usize, absent: Option<&str>) -> Problem {
    /// As many pairs as can be taken in.
    const MOST: usize = 3;
    // A photo of three faces shows three faces again, and is told once.
    let mut told = twice.to_vec();
    told.dedup();
    let mut pairs: Vec<String> = told
        .iter()
        .take(MOST)
        .map(
            |pair| match (name(shown, pair.first), name(shown, pair.again)) {
                (first, again) if first == again => format!("the photo {first} was given twice"),
                (first, again) => format!("the same face seems to show in {first} and {again}"),
            },
        )
        .collect();
    if told.len() > MOST {
        pairs.push(format!("{} more", counted(told.len() - MOST)));
    }
    let rest = missing(distinct, absent);
    Problem {
        kind: ProblemKind::SameFaceTwice,
        text: format!("{}; {}", pairs.join("; "), rest.text),
    }
}

fn mixed(shown: &[Shown], photos: &[SeenPhoto], odd: Option<usize>) -> Problem {
    let which = odd.filter(|_| photos.len() > 2).map_or_else(
        || "take all photos anew, of one cube and without turning a layer".to_owned(),
        |odd| {
            format!(
                "{} is the one that fits least: take it again, or all of them without turning a layer",
                name(shown, odd)
            )
        },
    );
    Problem {
        kind: ProblemKind::MixedCubes,
        text: format!(
            "the photos do not fit one cube: photos of two cubes were mixed, or a layer was turned between two \
             photos; {which}"
        ),
    }
}

/// One of these photos, with `left` faults of the cube that would still be there.
fn mirrored(shown: &[Shown], one_of: &[usize], left: usize) -> Problem {
    let why = if left == 0 {
        "only so do all fit one cube"
    } else {
        "so less is wrong with the cube they show"
    };
    let names: Vec<&str> = one_of.iter().map(|&photo| name(shown, photo)).collect();
    Problem {
        kind: ProblemKind::MirroredPhoto,
        text: format!(
            "the photo {} seems to be mirrored, the others not: {why}; take it again without a selfie camera, or mirror it back",
            names.join(" or ")
        ),
    }
}

/// The photos of which one has to be mirrored for all to make a cube that can exist, and then certainly does or is far
/// likelier than what they make as they are, or one that is as likely and has fewer faults; with the faults left. The kinship
/// and the number of faults of what they make as they are are given.
///
/// Where one fits badly, only that is tried.
fn mirrored_one(
    calibration: &Calibration,
    photos: &[SeenPhoto],
    strange: Option<usize>,
    kinship: f64,
    faults: usize,
) -> (Vec<usize>, usize) {
    /// How much likelier, in nats: fewer than one set in a hundred has one mirrored photo.
    const LIKELIER: f64 = 5.0;
    /// How far behind the likeliest, in nats, a rough look may leave the one photo that is mirrored.
    const BEHIND: f64 = 25.0;
    let tried = strange.map_or(0..photos.len(), |photo| photo..photo + 1);
    let mirrored = |photo: usize| {
        let mut photos = photos.to_vec();
        photos[photo] = photos[photo].mirrored();
        photos
    };
    let kinships: Vec<(usize, f64)> = tried
        .filter_map(|photo| {
            Some((
                photo,
                glance(calibration, &mirrored(photo)).ok()?.over_stickers,
            ))
        })
        .collect();
    let best = kinships.iter().map(|&(_, kinship)| kinship);
    let least = best.fold(f64::NEG_INFINITY, f64::max) - BEHIND;
    let likely = kinships
        .iter()
        .filter(|&&(_, kinship)| kinship >= least.max(-BEHIND));
    let found = likely.filter_map(|&(photo, _)| {
        let assembly = assemble(calibration, &mirrored(photo)).ok()?;
        let left = check(&assembly.state).len();
        let ahead = assembly.kinship.over_stickers - kinship;
        let is_it = if left == 0 {
            assembly.confidence >= LEAST_CONFIDENCE || ahead > LIKELIER
        } else {
            left < faults && ahead > -LIKELIER
        };
        is_it.then_some((photo, left))
    });
    let found: Vec<(usize, usize)> = found.collect();
    let least = found.iter().map(|&(_, left)| left).min().unwrap_or(0);
    let best = found.iter().filter(|&&(_, left)| left == least);
    (best.map(|&(photo, _)| photo).collect(), least)
}

/// The one there is; `None` if there are more or none.
fn sole(mut found: impl Iterator<Item = usize>) -> Option<usize> {
    let first = found.next();
    first.filter(|_| found.next().is_none())
}

fn without_repeats(photos: &[SeenPhoto], twice: &[Alike]) -> Vec<SeenPhoto> {
    let mut kept = photos.to_vec();
    for pair in twice {
        let views = &mut kept[pair.again].views;
        // A view of several faces stays: its other faces may be new.
        if views.first().is_some_and(|view| view.faces.len() == 1) {
            views.clear();
        }
    }
    kept
}

/// The one face that was not shown.
struct Absent {
    /// Its colour when solved, if the cube's fixed centres tell it.
    colour: Option<Name>,
    /// The photo of the face across the cube.
    across: Option<usize>,
}

impl Absent {
    /// Pieces five faces together with a sixth of which nothing is known.
    fn of(
        calibration: &Calibration,
        shown: &[Shown],
        kept: &[SeenPhoto],
        distinct: usize,
    ) -> Option<Self> {
        if distinct != 5 {
            return None;
        }
        let assembly = with_a_blank(calibration, kept, None)?;
        let blank = shown.len();
        let absent = assembly
            .placed
            .iter()
            .find(|placed| placed.photo == blank)?;
        let across = assembly
            .placed
            .iter()
            .find(|placed| placed.face == absent.face.opposite())
            .map(|placed| placed.photo);
        let is_odd = assembly.state.n() % 2 == 1;
        Some(Self {
            colour: is_odd.then(|| assembly.scheme.colour(absent.face)),
            across,
        })
    }

    fn words(&self, shown: &[Shown]) -> String {
        let across = self
            .across
            .map(|photo| format!("across from the one in {}", name(shown, photo)));
        match (self.colour, across) {
            (Some(colour), Some(across)) => format!("the face with the {colour} centre, {across}"),
            (Some(colour), None) => format!("the face with the {colour} centre"),
            (None, Some(across)) => format!("the face {across}"),
            (None, None) => "one face".to_owned(),
        }
    }
}

/// The photo without which the others agree far better than without any other; `None` if there is none.
fn odd_one_out(calibration: &Calibration, photos: &[SeenPhoto]) -> Option<usize> {
    let is_single = |photo: &SeenPhoto| {
        photo
            .views
            .first()
            .is_some_and(|view| view.faces.len() == 1)
    };
    let mut trouble: Vec<(usize, usize)> = (0..photos.len())
        .filter(|&out| is_single(&photos[out]))
        .filter_map(|out| {
            let assembly = with_a_blank(calibration, photos, Some(out))?;
            Some((trouble_without(&assembly, photos.len()), out))
        })
        .collect();
    trouble.sort_unstable();
    match trouble[..] {
        [(least, out), (next, _), ..] if next >= 2 * least + 4 => Some(out),
        _ => None,
    }
}

/// How badly faces fit with a blank one (the photo `blank`): broken laws, and doubts that are not on the blank.
fn trouble_without(assembly: &Assembly, blank: usize) -> usize {
    let is_blank = |face: Face| {
        let placed = assembly.placed.iter();
        placed
            .filter(|placed| placed.photo == blank)
            .any(|placed| placed.face == face)
    };
    let doubts = assembly.doubts.iter();
    let elsewhere = doubts.filter(|doubt| !is_blank(doubt.spot.face)).count();
    // A broken law concerns the three stickers of a corner or more.
    3 * check(&assembly.state).len() + elsewhere
}

/// Pieces the photos together, one of them left out, with a face of which nothing is known.
fn with_a_blank(
    calibration: &Calibration,
    photos: &[SeenPhoto],
    without: Option<usize>,
) -> Option<Assembly> {
    let mut photos = photos.to_vec();
    if let Some(out) = without {
        photos[out].views.clear();
    }
    let n = photos.iter().find_map(|photo| {
        let view = photo.views.first()?;
        view.faces.first().map(|face| face.n)
    })?;
    photos.push(SeenPhoto {
        views: vec![View {
            faces: vec![blank(n)],
            joins: Vec::new(),
        }],
    });
    assemble_roughly(calibration, &photos).ok()
}

/// A face without a single colour: nothing but highlight.
fn blank(n: usize) -> SeenFace {
    let side = n as f64;
    let corners = [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)];
    let patch = Patch {
        linear: Linear::new(1.0, 1.0, 1.0),
        spread: [0.0; 3],
        glare: 1.0,
        clipped: [1.0; 3],
        evenness: 0.0,
        pixels: 0,
    };
    SeenFace {
        n,
        corners_in_photo: Quad(corners.map(|(x, y)| Point::new(x, y))),
        patches: vec![patch; n * n],
        sureness: 0.0,
    }
}
