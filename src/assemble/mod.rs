//! Seen faces to one cube state, its doubts and how sure it is: labelling and piecing together at once.
//!
//! The only room that knows both colours and pieces.

mod allot;
mod arrange;
mod colours;
mod decode;
mod evidence;
mod exchange;
mod first;
mod kinship;
mod layings;
mod lean;
mod lights;
mod look;
mod moved;
mod ring;
mod roster;
mod scheme;
mod sketch;
mod solve;
mod spare;

use crate::calibration::{Calibration, Scheme};
use crate::colour::Name;
use crate::cube::{Face, Hold, Spot, State};
use crate::sight::SeenPhoto;
use first::first_looks;
pub use kinship::Kinship;
use kinship::LEAST_FIT;
use look::Light;
pub use sketch::{Sketch, sketch};
use thiserror::Error;

/// The most probable cube behind the photos.
#[derive(Clone, Debug)]
pub struct Assembly {
    /// The state; its face names are those of `scheme`.
    pub state: State,
    /// The colour each face name stands for.
    pub scheme: Scheme,
    /// The probability that every sticker is right.
    pub confidence: f64,
    /// The probability that every sticker is right as its photo shows it, however the faces lie around the cube.
    pub confidence_of_faces: f64,
    /// How much likelier what was seen is from one cube than from what has nothing to do with each other.
    pub kinship: Kinship,
    /// How well each photo's worst face fits its part of the cube, in nats a sticker: ln 6 where every sticker looks as the
    /// cube has it, little or less than nought for a face of another cube.
    pub fits: Vec<f64>,
    /// The photo that shows other stickers than the others do, of those that are not needed: a layer was turned in between, or
    /// it is of another cube.
    pub contradicting: Option<usize>,
    /// The stickers in doubt.
    pub doubts: Vec<Doubt>,
    /// Where each seen face lies.
    pub placed: Vec<Placed>,
    /// What the stickers of each home face look like in neutral light: linear light, 1 a perfect white.
    pub shades: [[f64; 3]; 6],
    /// What they look like in each seen face: linear light, 1 its brightest tenth.
    pub looks: Vec<[[f64; 3]; 6]>,
}

impl Assembly {
    /// The photos that fit their part of the cube badly: they may show another one.
    pub fn strangers(&self) -> impl Iterator<Item = usize> + '_ {
        let fits = self.fits.iter().enumerate();
        fits.filter(|&(_, &fit)| fit < LEAST_FIT)
            .map(|(photo, _)| photo)
    }
}

/// A sticker that could be another colour.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Doubt {
    /// Where.
    pub spot: Spot,
    /// The colour in the assembled state.
    pub read: Name,
    /// The next most probable colour.
    pub or: Name,
    /// The probability of the colour read.
    pub sureness: f64,
}

/// A seen face and where it lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Placed {
    /// The photo, as given.
    pub photo: usize,
    /// The view of the photo.
    pub view: usize,
    /// The face in the view.
    pub face_in_view: usize,
    /// The face of the assembled state.
    pub face: Face,
    /// Which corner of the seen face is the top left corner of `face`.
    pub turns: u8,
}

/// Why no cube could be assembled.
#[derive(Clone, Debug, PartialEq, Error)]
#[non_exhaustive]
pub enum Error {
    /// No photo shows a face.
    #[error("no photo shows a face of a cube")]
    NothingSeen,
    /// Cubes of different sizes.
    #[error("photo {} shows {met}×{met} stickers, the others {usual}×{usual}", photo + 1)]
    SizesDiffer {
        /// The photo that differs, as given.
        photo: usize,
        /// Its stickers along a side.
        met: usize,
        /// Those of the others.
        usual: usize,
    },
    /// Too few faces.
    #[error("{met} faces were seen, a cube has six")]
    FacesMissing {
        /// How many were seen.
        met: usize,
    },
    /// The faces do not make one cube.
    #[error("the photos cannot be pieced together to one cube")]
    NoCube,
}

/// What a person says of the sticker in a cell of a seen face.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Told {
    /// The photo, as given.
    pub photo: usize,
    /// The face in the first view of the photo.
    pub face_in_view: usize,
    /// The cell, row · n + column as seen in the photo.
    pub cell: usize,
    /// Its colour.
    pub colour: Name,
}

/// What is known besides the photos.
#[derive(Clone, Copy, Debug, Default)]
pub struct Knowledge<'a> {
    /// What a person says of single stickers; it counts for much, but not against everything else.
    pub told: &'a [Told],
    /// Where the faces lay when the person was shown them: they are to be printed so again.
    pub shown: &'a [Placed],
}

/// Pieces together the faces seen in photos.
///
/// # Errors
///
/// If the photos show too few faces, or faces that do not make one cube.
pub fn assemble(calibration: &Calibration, photos: &[SeenPhoto]) -> Result<Assembly, Error> {
    assemble_knowing(calibration, photos, Knowledge::default())
}

/// The same with what is known besides the photos.
///
/// # Errors
///
/// If the photos show too few faces, or faces that do not make one cube.
pub fn assemble_knowing(
    calibration: &Calibration,
    photos: &[SeenPhoto],
    known: Knowledge,
) -> Result<Assembly, Error> {
    begun(calibration, photos, known.told, |task, looks| {
        let understanding = solve::understand(task, looks);
        let sureness = solve::sureness(task, &understanding);
        let likeliest = understanding.solutions.first().ok_or(Error::NoCube)?;
        let solve::Solution { best, colours, .. } = likeliest;
        // Where the light is not well explained, or stickers of a face are not, the odds are worth less; so they are where
        // stickers were exchanged, for not all other ways to move some are weighed against it.
        let noise = &calibration.noise;
        let beyond = |met: f64, usual: f64, scale: f64| (met - usual).max(0.0) / scale;
        let strange = kinship::strangest(best, task.seen, &colours.likelihoods, noise);
        let unease = beyond(-colours.ease(), -noise.uneasy.value, noise.unease.value);
        let strangeness = beyond(strange.nats, noise.strange.value, noise.strangeness.value);
        let exchanges = match best.decoded.kind {
            decode::Kind::Moved { exchanges } => exchanges as f64 + 1.0,
            _ => 1.0,
        };
        let times = noise.doubt_understated.value * (unease + strangeness).exp() * exchanges;
        let odd = noise.odd_photo.value;
        let odd = kinship::odds_of_odd_photo(best, task.seen, &colours.likelihoods, odd);
        let stated = |sure: f64| sure / (sure + times * (1.0 - sure + odd));
        let mut best = best.clone();
        best.shares = understanding.shares(task.seen);
        if strangeness > 0.0 {
            // What fits no colour is known by the laws alone: it is what to look at again.
            for &place in &strange.places {
                best.shares[place] = best.shares[place].map(|share| 0.5 * share + 0.5 / 6.0);
            }
        }
        let against = spare::contradictions(calibration, photos, known.told, likeliest, task);
        for &spare::Contradiction { place, or } in
            against.iter().flat_map(|against| &against.stickers)
        {
            best.shares[place] = best.shares[place].map(|share| 0.5 * share);
            best.shares[place][or] += 0.5;
        }
        let agreeing = if against.is_some() { 0.5 } else { 1.0 };
        let mut assembly = finish(
            task.n,
            &best,
            colours,
            agreeing * stated(sureness.cube),
            task.seen,
            known.shown,
            task.light.floor,
        );
        assembly.contradicting = against.map(|against| against.photo);
        assembly.confidence_of_faces = agreeing * stated(sureness.faces);
        assembly.kinship = kinship::kinship(task, &best, colours);
        assembly.fits = kinship::fits(photos.len(), &best, task.seen, &colours.likelihoods);
        Ok(assembly)
    })
}

/// The same roughly and quickly, as the likeliest kind of cube alone and before colours and cube are settled in turn: to
/// see why photos make no cube, not to tell what they show.
///
/// # Errors
///
/// As [`assemble`].
pub fn assemble_roughly(
    calibration: &Calibration,
    photos: &[SeenPhoto],
) -> Result<Assembly, Error> {
    begun(calibration, photos, &[], |task, looks| {
        let (best, colours) = solve::roughly(task, looks).ok_or(Error::NoCube)?;
        let floor = task.light.floor;
        Ok(finish(task.n, &best, &colours, 0.0, task.seen, &[], floor))
    })
}

/// What the [`Assembly::kinship`] of photos will be, roughly and quickly: before colours and cube are settled in turn.
/// The larger the cube, the further it is off: 11 nats on a 2×2×2 and 33 on a 7×7×7 were met.
///
/// # Errors
///
/// As [`assemble`].
pub fn glance(calibration: &Calibration, photos: &[SeenPhoto]) -> Result<Kinship, Error> {
    begun(calibration, photos, &[], |task, looks| {
        let (best, colours) = solve::roughly(task, looks).ok_or(Error::NoCube)?;
        Ok(kinship::kinship(task, &best, &colours))
    })
}

/// Gathers the faces and takes a first look at their colours as those of each kind of cube, then does the rest.
fn begun<T>(
    calibration: &Calibration,
    photos: &[SeenPhoto],
    told: &[Told],
    rest: impl FnOnce(&solve::Task, Vec<colours::Colours>) -> Result<T, Error>,
) -> Result<T, Error> {
    let (mut seen, blocks) = gather(calibration, photos)?;
    evidence::tell(&mut seen, told);
    let is_balanced = seen.len() == 6;
    let light = Light::of(&calibration.noise);
    let arrangements = scheme::arrangements();
    let log_shares = scheme::log_shares(&calibration.schemes);
    let n = seen[0].n;
    let task = solve::Task {
        n,
        holds: Hold::all()
            .iter()
            .map(|&hold| scheme::brought_from(n, hold))
            .collect(),
        seen: &seen,
        blocks: &blocks,
        arrangements: &arrangements,
        log_shares: &log_shares,
        kinds: calibration
            .shade_sets
            .iter()
            .map(|set| colours::Start::of(set, light.floor))
            .collect(),
        unlawful: decode::Unlawful::of(&calibration.noise),
        light,
        log_told_wrongly: (calibration.noise.told_wrongly.value / 5.0).ln(),
        is_balanced,
    };
    rest(&task, first_looks(&seen, calibration, is_balanced))
}

fn gather(
    calibration: &Calibration,
    photos: &[SeenPhoto],
) -> Result<(Vec<evidence::Seen>, Vec<evidence::Block>), Error> {
    let mut seen = Vec::new();
    let mut blocks = Vec::new();
    for (index, photo) in photos.iter().enumerate() {
        if let Some(view) = photo.views.first() {
            blocks.extend(evidence::blocks(view, seen.len()));
            let faces = view.faces.iter().enumerate();
            seen.extend(
                faces.map(|(number, face)| evidence::seen(index, number, face, &calibration.noise)),
            );
        }
    }
    let first = seen.first().ok_or(Error::NothingSeen)?;
    let usual = seen
        .iter()
        .map(|face| face.n)
        .max_by_key(|&n| seen.iter().filter(|face| face.n == n).count())
        .unwrap_or(first.n);
    if let Some(odd) = seen.iter().find(|face| face.n != usual) {
        return Err(Error::SizesDiffer {
            photo: odd.photo,
            met: odd.n,
            usual,
        });
    }
    if seen.len() < 6 {
        return Err(Error::FacesMissing { met: seen.len() });
    }
    Ok((seen, blocks))
}

/// The best guess in words and in the hold in which it is printed.
fn finish(
    n: usize,
    best: &solve::Guess,
    colours: &colours::Colours,
    confidence: f64,
    seen: &[evidence::Seen],
    shown: &[Placed],
    floor: f64,
) -> Assembly {
    let names = colours.start.names;
    let (hold, homes) = printed_hold(n, best, names, |hold| {
        if shown.is_empty() {
            return 0;
        }
        let placed = placed(n, best, seen, hold);
        placed.iter().filter(|face| shown.contains(face)).count()
    });
    let from = scheme::brought_from(n, hold);
    let home_of = |class: usize| {
        let home = Face::ALL
            .into_iter()
            .find(|face| homes[face.index()] == class);
        home.unwrap_or(Face::U)
    };
    let stickers = from
        .iter()
        .map(|&place| home_of(best.decoded.classes[place]))
        .collect();
    let state = State::from_stickers(n, stickers).unwrap_or_else(|| State::solved(n));
    let doubts = doubts(n, best, names, &from);
    Assembly {
        state,
        scheme: Scheme(homes.map(|class| names[class])),
        confidence,
        confidence_of_faces: confidence,
        kinship: Kinship::default(),
        fits: Vec::new(),
        contradicting: None,
        doubts,
        placed: placed(n, best, seen, hold),
        shades: homes.map(|class| light_of(colours.classes[class], floor)),
        looks: colours
            .looks
            .iter()
            .map(|looks| homes.map(|class| light_of(looks[class], floor)))
            .collect(),
    }
}

/// The stickers in doubt, the most doubtful first.
fn doubts(n: usize, best: &solve::Guess, names: [Name; 6], from: &[usize]) -> Vec<Doubt> {
    /// A sticker less sure than this is in doubt.
    const SURE: f64 = 0.995;
    /// Where none is, the few least sure are named, unless they are surer than this: then it is the laying that is in doubt.
    const SURER: f64 = 0.9995;
    const FEW: usize = 4;
    let stickers = from.iter().enumerate();
    let mut doubts: Vec<Doubt> = stickers
        .filter_map(|(place, &source)| {
            let class = best.decoded.classes[source];
            let share = best.shares[source];
            let or = (0..6)
                .filter(|&k| k != class)
                .max_by(|&a, &b| share[a].total_cmp(&share[b]))?;
            (share[class] < SURER).then(|| Doubt {
                spot: Spot::from_place(place, n),
                read: names[class],
                or: names[or],
                sureness: share[class],
            })
        })
        .collect();
    doubts.sort_by(|one, other| one.sureness.total_cmp(&other.sureness));
    let count = doubts.partition_point(|doubt| doubt.sureness < SURE);
    doubts.truncate(if count == 0 { FEW } else { count });
    doubts
}

fn light_of(log_light: evidence::Channels, floor: f64) -> evidence::Channels {
    log_light.map(|channel| (channel.exp() - floor).max(0.0))
}

/// Where the seen faces lie in a hold.
fn placed(n: usize, best: &solve::Guess, seen: &[evidence::Seen], hold: Hold) -> Vec<Placed> {
    let mut placed = Vec::new();
    for face in Face::ALL {
        for &(member, turns) in &best.laid.on[face.index()] {
            let (to, turned) = scheme::carried(n, hold, face);
            placed.push(Placed {
                photo: seen[member].photo,
                view: 0,
                face_in_view: seen[member].face_in_view,
                face: to,
                turns: (turns + turned) % 4,
            });
        }
    }
    placed
}

/// How the cube is printed: white on top, or the lightest colour, green in front if it can be; on an even cube, where
/// nothing is fixed, the faces as they were shown before, or so that most stickers are at home.
fn printed_hold(
    n: usize,
    best: &solve::Guess,
    names: [Name; 6],
    as_shown: impl Fn(Hold) -> usize,
) -> (Hold, scheme::Homes) {
    let class_of = |name: Name| names.iter().position(|&other| other == name);
    let top = [Name::White, Name::Yellow]
        .into_iter()
        .find_map(class_of)
        .unwrap_or(0);
    let front = [Name::Green, Name::Blue, Name::Red]
        .into_iter()
        .filter_map(class_of);
    let at = |class: usize| {
        Face::ALL
            .into_iter()
            .find(|face| best.homes[face.index()] == class)
    };
    let upright = front
        .into_iter()
        .find_map(|front| Hold::bringing(at(top)?, at(front)?))
        .unwrap_or(Hold::SAME);
    let homes = scheme::turned(best.homes, upright);
    if n % 2 == 1 {
        return (upright, homes);
    }
    let at_home = |hold: Hold| {
        let from = scheme::brought_from(n, hold);
        let fits = from
            .iter()
            .enumerate()
            .filter(|&(place, &source)| best.decoded.classes[source] == homes[place / (n * n)]);
        fits.count()
    };
    let hold = Hold::all()
        .iter()
        .copied()
        .max_by_key(|&hold| (as_shown(hold), at_home(hold), std::cmp::Reverse(hold)));
    (hold.unwrap_or(upright), homes)
}
