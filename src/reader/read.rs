//! Seen photos to a reading.

use super::answer::{self, Answer, AnswerError};
use super::learn::{Learned, cube_of, learned, misnamed};
use super::reading::{
    DoubtfulSticker, FaceInPhoto, KnownUse, LEAST_CONFIDENCE, Mirroring, Outcome, PhotoReading,
    Problem, Reading,
};
use super::size::{size, usual_size};
use super::{Colouring, examine, mirror, refusal};
use crate::assemble::{self, Assembly, Knowledge, assemble_knowing};
use crate::calibration::{Calibration, KnownCube, Scheme, Unlike};
use crate::cube::{Spot, State};
use crate::geometry::{InPhoto, Quad};
use crate::sight::{SeenPhoto, Trace};

/// A photo that was looked at.
#[derive(Clone, Copy, Debug)]
pub struct Shown<'a> {
    /// Its name.
    pub path: &'a str,
    /// What was seen in it.
    pub photo: &'a SeenPhoto,
}

/// Reads the cube shown in photos: in any order and any rotation, one face or several in each.
///
/// If the calibration knows a cube, its colours are asked where the photos alone leave doubts, and believed only if the
/// photos then show that cube.
pub fn read(calibration: &Calibration, trace: &mut Trace, shown: &[Shown]) -> Reading {
    make(calibration, trace, shown).reading
}

/// What a person says who looks at the cube itself, a reading before him.
#[derive(Clone, Copy, Debug, Default)]
pub struct Said<'a> {
    /// The colours of single stickers; their places are those of the faces as printed without the answers.
    pub answers: &'a [Answer],
    /// That the faces lie around the cube as printed.
    pub is_as_printed: bool,
}

/// Reads the cube again with what a person says of it.
///
/// # Errors
///
/// If an answer fits no sticker of the cube, or there is no reading to answer about.
pub fn read_answered(
    calibration: &Calibration,
    trace: &mut Trace,
    shown: &[Shown],
    said: Said,
) -> Result<Reading, AnswerError> {
    Ok(make_told(calibration, trace, shown, said)?.reading)
}

/// Reads the cube and learns its colours; `None` instead of them unless every sticker is certain and the cube can
/// exist.
///
/// # Errors
///
/// If an answer fits no sticker of the cube, or there is no reading to answer about.
pub fn learn(
    calibration: &Calibration,
    trace: &mut Trace,
    shown: &[Shown],
    said: Said,
) -> Result<(Reading, Option<Learned>), AnswerError> {
    let made = make_told(calibration, trace, shown, said)?;
    let learned = learned(calibration, &made).filter(|_| is_legal(&made.reading));
    Ok((made.reading, learned))
}

/// A reading with what it was made of.
pub(super) struct Made {
    /// The reading.
    pub reading: Reading,
    /// The photos, the view that was used in front.
    pub photos: Vec<SeenPhoto>,
    /// What they were pieced together to.
    pub assembly: Option<Assembly>,
}

fn make_told(
    calibration: &Calibration,
    trace: &mut Trace,
    shown: &[Shown],
    said: Said,
) -> Result<Made, AnswerError> {
    let mut made = make_answered(calibration, trace, shown, said.answers)?;
    if let (true, Some(assembly)) = (said.is_as_printed, &made.assembly)
        && made.reading.is_laying_open
    {
        let told_wrongly = calibration.noise.told_wrongly.value;
        made.reading.outcome = Outcome::Read;
        made.reading.is_laying_open = false;
        made.reading.confidence = assembly.confidence_of_faces.min(1.0 - told_wrongly);
    }
    Ok(made)
}

fn make_answered(
    calibration: &Calibration,
    trace: &mut Trace,
    shown: &[Shown],
    answers: &[Answer],
) -> Result<Made, AnswerError> {
    let first = make(calibration, trace, shown);
    if answers.is_empty() {
        return Ok(first);
    }
    let assembly = match &first.assembly {
        Some(assembly) if first.reading.faces.is_some() => assembly,
        _ => {
            let why = first.reading.problem.map(|problem| problem.text);
            return Err(AnswerError::NothingRead {
                why: why.unwrap_or_else(|| "take them again".to_owned()),
            });
        }
    };
    let told = answer::told(assembly, answers)?;
    let knowledge = Knowledge {
        told: &told,
        shown: &assembly.placed,
    };
    let used = match first.reading.known {
        Some(KnownUse::Helped) => calibration.expecting_known(),
        _ => None,
    };
    let used = used.as_ref().unwrap_or(calibration);
    let mut made = piece(used, trace, shown, first.photos, knowledge);
    made.reading.known = first.reading.known;
    made.reading.mirroring = first.reading.mirroring;
    if let Some(assembly) = &made.assembly {
        made.reading.answers = answer::heard(assembly, &told);
    }
    let overruled: Vec<_> = answer::overruled(&made.reading.answers).collect();
    if !overruled.is_empty() && made.reading.outcome == Outcome::Read {
        // What a person sees otherwise is not certain, however sure everything else makes it.
        made.reading.outcome = Outcome::Doubtful;
        made.reading.confidence = made.reading.confidence.min(0.5);
        made.reading.doubts.splice(0..0, overruled);
    }
    Ok(made)
}

/// Reads photos as they are, or mirrored if only then they show the known cube.
fn make(calibration: &Calibration, trace: &mut Trace, shown: &[Shown]) -> Made {
    let photos = trace.stage("choose views", || views_of_one_size(shown));
    let mut made = make_of(calibration, trace, shown, photos);
    let Some(scheme) = made.assembly.as_ref().map(|assembly| assembly.scheme) else {
        return made;
    };
    made.reading.mirroring = mirror::told_by(calibration, scheme);
    let known = calibration.known.as_ref().map(KnownCube::scheme);
    if known.is_some_and(|known| known.is_turned(scheme.mirrored())) {
        let mirrored = made.photos.iter().map(SeenPhoto::mirrored).collect();
        let mut other = make_of(calibration, trace, shown, mirrored);
        let is_known = matches!(
            other.reading.known,
            Some(KnownUse::NotNeeded | KnownUse::Helped)
        );
        if is_known && other.reading.outcome == Outcome::Read {
            other.reading.mirroring = Mirroring::Undone;
            return other;
        }
    }
    made
}

/// Reads photos, with the known cube's colours if need be.
fn make_of(
    calibration: &Calibration,
    trace: &mut Trace,
    shown: &[Shown],
    photos: Vec<SeenPhoto>,
) -> Made {
    let mut plain = piece(calibration, trace, shown, photos, Knowledge::default());
    let Some(known) = &calibration.known else {
        return plain;
    };
    let unlike = |made: &Made| learned(calibration, made).map(|seen| known.unlike(&seen.cube));
    if let Some(met) = plain.reading.n.filter(|&met| met != known.n) {
        let known = known.n;
        plain.reading.known = Some(KnownUse::OtherCube(Unlike::Size { known, met }));
        return plain;
    }
    let at_first = unlike(&plain);
    if at_first == Some(None) {
        plain.reading.known = Some(KnownUse::NotNeeded);
        return plain;
    }
    if let Some(Some(unlike)) = at_first {
        plain.reading.known = Some(KnownUse::OtherCube(unlike));
        return plain;
    }
    let Some(expecting) = calibration.expecting_known() else {
        return plain;
    };
    let photos = plain.photos.clone();
    let mut helped = piece(&expecting, trace, shown, photos, Knowledge::default());
    // What was expected draws the colours found towards it: how they look without is what counts.
    let shade = plain.assembly.as_ref().and_then(|doubtful| {
        let unlike = known.unlike(&cube_of(doubtful));
        unlike.filter(|unlike| matches!(unlike, Unlike::Shade { .. }))
    });
    plain.reading.known = Some(match (unlike(&helped), shade) {
        (None, _) => KnownUse::DidNotHelp,
        (Some(Some(unlike)), _) | (Some(None), Some(unlike)) => KnownUse::OtherCube(unlike),
        (Some(None), None) => {
            helped.reading.known = Some(KnownUse::Helped);
            return helped;
        }
    });
    plain
}

/// Pieces photos together whose first views are the ones to use.
fn piece(
    calibration: &Calibration,
    trace: &mut Trace,
    shown: &[Shown],
    photos: Vec<SeenPhoto>,
    knowledge: Knowledge,
) -> Made {
    let assembled = trace.stage("assemble", || match refusal::seen_again(&photos) {
        Some(met) => Err(assemble::Error::FacesMissing { met }),
        None => assemble_knowing(calibration, &photos, knowledge),
    });
    let reading = match &assembled {
        Ok(assembly) => trace.stage("examine", || {
            answered(calibration, shown, &photos, assembly)
        }),
        Err(problem) => unread(shown, &photos, refusal::of_error(shown, &photos, problem)),
    };
    let reading = unless_photos_explain(
        calibration,
        trace,
        shown,
        &photos,
        reading,
        assembled.as_ref().ok(),
    );
    Made {
        reading,
        photos,
        assembly: assembled.ok(),
    }
}

/// Reads the cube shown in photos that were pieced together already, by the first view of each.
pub fn read_assembled(
    calibration: &Calibration,
    trace: &mut Trace,
    shown: &[Shown],
    assembly: &Assembly,
) -> Reading {
    let photos: Vec<SeenPhoto> = shown.iter().map(|shown| shown.photo.clone()).collect();
    let reading = trace.stage("examine", || {
        answered(calibration, shown, &photos, assembly)
    });
    let mut reading =
        unless_photos_explain(calibration, trace, shown, &photos, reading, Some(assembly));
    reading.mirroring = mirror::told_by(calibration, assembly.scheme);
    reading
}

fn unless_photos_explain(
    calibration: &Calibration,
    trace: &mut Trace,
    shown: &[Shown],
    photos: &[SeenPhoto],
    reading: Reading,
    assembly: Option<&Assembly>,
) -> Reading {
    // Five faces leave little choice for the sixth: a cube may be certain though one photo shows another.
    let is_shown = assembly.is_none_or(|assembly| assembly.strangers().next().is_none());
    if reading.outcome == Outcome::Read && is_legal(&reading) && is_shown {
        return reading;
    }
    // The photos may be to blame, not the cube: what looks broken or doubtful is asked for another reason first.
    let why = trace.stage("explain", || {
        refusal::of_photos(calibration, shown, photos, &reading, assembly)
    });
    match why {
        Some(problem) => unread(shown, photos, problem),
        None => reading,
    }
}

/// Whether the cube read can exist.
pub(super) fn is_legal(reading: &Reading) -> bool {
    let examination = reading.examination.as_ref();
    examination.is_some_and(|examination| examination.legality.legal)
}

/// The photos with, in front of their other views, one that shows the size most photos show.
fn views_of_one_size(shown: &[Shown]) -> Vec<SeenPhoto> {
    let mut photos: Vec<SeenPhoto> = shown.iter().map(|shown| shown.photo.clone()).collect();
    let usual = usual_size(&photos);
    for photo in &mut photos {
        let fitting = photo.views.iter().position(|view| size(view) == usual);
        if let Some(fitting) = fitting {
            photo.views.swap(0, fitting);
        }
    }
    photos
}

fn answered(
    calibration: &Calibration,
    shown: &[Shown],
    photos: &[SeenPhoto],
    assembly: &Assembly,
) -> Reading {
    let colouring = Colouring::painted(&assembly.state, assembly.scheme);
    let mut outcome = Outcome::Read;
    let mut confidence = assembly.confidence;
    let mut doubts = Vec::new();
    let named_otherwise = misnamed(calibration, &cube_of(assembly).shades);
    let mut is_laying_open = false;
    if confidence < LEAST_CONFIDENCE {
        outcome = Outcome::Doubtful;
        is_laying_open =
            named_otherwise.is_none() && assembly.confidence_of_faces >= LEAST_CONFIDENCE;
        let open = assembly.doubts.iter().filter(|_| !is_laying_open);
        doubts.extend(open.map(|doubt| DoubtfulSticker {
            spot: doubt.spot,
            read: doubt.read,
            or: doubt.or,
        }));
    } else if let Some((read, or)) = named_otherwise {
        // The stickers are told apart, but in a light judged wrongly: what they are called is open.
        outcome = Outcome::Doubtful;
        confidence = confidence.min(0.5);
        let n = assembly.state.n();
        let stickers = assembly.state.stickers().iter().enumerate();
        let named = stickers.filter(|&(_, &home)| assembly.scheme.colour(home) == read);
        doubts.extend(named.map(|(place, _)| DoubtfulSticker {
            spot: Spot::from_place(place, n),
            read,
            or,
        }));
    }
    let (state, scheme) = as_in_a_file(&colouring, assembly);
    Reading {
        n: Some(assembly.state.n()),
        outcome,
        confidence,
        faces: Some(colouring),
        photos: photo_readings(shown, photos, Some(assembly)),
        doubts,
        is_laying_open,
        examination: Some(examine(&state, scheme)),
        problem: None,
        known: None,
        mirroring: Mirroring::None,
        answers: Vec::new(),
    }
}

/// The state with its sides named as if its stickers came from a file: where centres are mixed, which of them belongs on
/// which side of an even cube is a choice, and the same stickers are to get the same advice.
fn as_in_a_file(colouring: &Colouring, assembly: &Assembly) -> (State, Scheme) {
    let named = || {
        let scheme = colouring.scheme().ok()?;
        let is_same = scheme.is_turned(assembly.scheme);
        is_same.then_some((colouring.state(scheme)?, scheme))
    };
    named().unwrap_or_else(|| (assembly.state.clone(), assembly.scheme))
}

fn unread(shown: &[Shown], photos: &[SeenPhoto], problem: Problem) -> Reading {
    Reading {
        n: usual_size(photos),
        outcome: Outcome::Unreadable,
        confidence: 0.0,
        faces: None,
        photos: photo_readings(shown, photos, None),
        doubts: Vec::new(),
        is_laying_open: false,
        examination: None,
        problem: Some(problem),
        known: None,
        mirroring: Mirroring::None,
        answers: Vec::new(),
    }
}

fn photo_readings(
    shown: &[Shown],
    photos: &[SeenPhoto],
    assembly: Option<&Assembly>,
) -> Vec<PhotoReading> {
    let all = shown.iter().zip(photos).enumerate();
    all.map(|(index, (shown, photo))| PhotoReading {
        path: shown.path.to_owned(),
        faces: match assembly {
            Some(assembly) => faces_placed(index, photo, assembly),
            None => faces_seen(photo),
        },
        problem: if photo.views.is_empty() {
            Some(NO_FACE.to_owned())
        } else {
            let contradicts = assembly.and_then(|assembly| assembly.contradicting);
            (contradicts == Some(index)).then(|| CONTRADICTS.to_owned())
        },
    })
    .collect()
}

const CONTRADICTS: &str = "it shows other stickers than the other photos do";

const NO_FACE: &str = "no face of a cube was found; show one whole face, large and sharp, or three that meet in \
                       a corner";

fn faces_placed(photo_index: usize, photo: &SeenPhoto, assembly: &Assembly) -> Vec<FaceInPhoto> {
    let here = assembly
        .placed
        .iter()
        .filter(|placed| placed.photo == photo_index);
    here.filter_map(|placed| {
        let face = photo
            .views
            .get(placed.view)?
            .faces
            .get(placed.face_in_view)?;
        Some(FaceInPhoto {
            face: Some(placed.face),
            corners: begun_at(face.corners_in_photo, placed.turns),
        })
    })
    .collect()
}

fn faces_seen(photo: &SeenPhoto) -> Vec<FaceInPhoto> {
    let faces = photo.views.first().map(|view| view.faces.iter());
    let faces = faces.into_iter().flatten();
    faces
        .map(|face| FaceInPhoto {
            face: None,
            corners: face.corners_in_photo,
        })
        .collect()
}

/// The same corners, beginning at corner `first`.
fn begun_at(corners: Quad<InPhoto>, first: u8) -> Quad<InPhoto> {
    let mut corners = corners.0;
    corners.rotate_left(usize::from(first) % 4);
    Quad(corners)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::assemble::Kinship;
    use crate::calibration::Scheme;
    use crate::colour::Name;
    use crate::cube::{Face, State};

    /// A solved cube whose stickers look as those of the common kind.
    fn solved(calibration: &Calibration) -> Assembly {
        let shades = &calibration.shade_sets[0].shades;
        Assembly {
            state: State::solved(3),
            scheme: Scheme::of(shades),
            confidence: 1.0,
            confidence_of_faces: 1.0,
            kinship: Kinship::default(),
            fits: Vec::new(),
            contradicting: None,
            doubts: Vec::new(),
            placed: Vec::new(),
            shades: shades.each_ref().map(|shade| shade.linear),
            looks: Vec::new(),
        }
    }

    #[test]
    fn a_colour_that_looks_like_another_word_is_not_certain() {
        let calibration = Calibration::built_in().unwrap();
        let mut assembly = solved(&calibration);
        let reading = answered(&calibration, &[], &[], &assembly);
        assert_eq!(reading.outcome, Outcome::Read);
        assert!(reading.doubts.is_empty());

        // As where each face is lit by a lamp of its own: every sticker of a face alike, and the lamp unknown.
        assembly.shades.swap(Face::L.index(), Face::B.index());
        let reading = answered(&calibration, &[], &[], &assembly);
        assert_eq!(reading.outcome, Outcome::Doubtful);
        assert!(reading.confidence < LEAST_CONFIDENCE);
        let open: Vec<_> = reading
            .doubts
            .iter()
            .map(|doubt| (doubt.spot.face, doubt.read, doubt.or))
            .collect();
        assert_eq!(open, [(Face::L, Name::Orange, Name::Blue); 9]);
    }
}
