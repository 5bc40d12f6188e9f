//! What came of photos, as text and as JSON.

use super::Examined;
use super::examination::{details, headline};
use super::net::net;
use super::screen::Screen;
use crate::app::cli::Timings;
use crate::calibration::Unlike;
use crate::cube::{Face, Spot, capital, spot_name, with_article};
use crate::explain::Mark;
use crate::reader::{
    Answer, Colouring, DoubtfulSticker, Heard, KnownUse, Mirroring, Outcome, PhotoReading, Problem,
    Reading,
};
use serde::Serialize;
use std::collections::BTreeMap;
use std::io;

/// A reading in the words promised to other programs.
#[derive(Serialize)]
pub struct ForPrograms<'a> {
    schema: &'static str,
    n: Option<usize>,
    outcome: Outcome,
    confidence: f64,
    faces: Option<&'a Colouring>,
    photos: &'a [PhotoReading],
    problem: Option<&'a Problem>,
    doubts: &'a [DoubtfulSticker],
    show_again: Option<Face>,
    laying_open: bool,
    answers: &'a [Heard],
    mirroring: Mirroring,
    known_cube: Option<&'static str>,
    #[serde(flatten)]
    examined: Examined<'a>,
    timings_ms: &'a Timings,
}

/// A reading for other programs.
pub fn reading_for_programs<'a>(reading: &'a Reading, timings_ms: &'a Timings) -> ForPrograms<'a> {
    ForPrograms {
        schema: "sixfold.reading/1",
        n: reading.n,
        outcome: reading.outcome,
        confidence: reading.confidence,
        faces: reading.faces.as_ref(),
        photos: &reading.photos,
        problem: reading.problem.as_ref(),
        doubts: &reading.doubts,
        show_again: reading.face_to_show_again(),
        laying_open: reading.is_laying_open,
        answers: &reading.answers,
        mirroring: reading.mirroring,
        known_cube: reading.known.map(|known| match known {
            KnownUse::NotNeeded => "not-needed",
            KnownUse::Helped => "helped",
            KnownUse::DidNotHelp => "did-not-help",
            KnownUse::OtherCube(_) => "other-cube",
        }),
        examined: reading.examination.as_ref().into(),
        timings_ms,
    }
}

/// Writes a reading for a person.
///
/// # Errors
///
/// If the text cannot be written.
pub fn reading(
    screen: &mut Screen,
    reading: &Reading,
    marks: &BTreeMap<usize, Mark>,
) -> io::Result<()> {
    match (&reading.faces, &reading.examination) {
        (Some(faces), Some(examination)) if reading.outcome == Outcome::Read => {
            headline(screen, examination)?;
            net(screen, faces, marks)?;
            details(screen, examination)?;
        }
        (Some(faces), Some(examination)) => {
            screen.strong(if reading.is_solved_anyhow() {
                "The cube is solved, but how its colours lie around it is not certain."
            } else if reading.is_laying_open {
                "This reading is doubtful: how the faces lie around the cube is not certain."
            } else {
                "This reading is doubtful: it may be wrong."
            })?;
            writeln!(screen.out)?;
            net(screen, faces, marks)?;
            doubts(screen, reading)?;
            if !reading.is_solved_anyhow() {
                writeln!(screen.out)?;
                let text = &examination.diagnosis.text;
                screen.paragraph("", &format!("If every sticker is as shown: {text}"))?;
            }
        }
        _ => screen.strong("The cube could not be read.")?,
    }
    if let Some(problem) = &reading.problem {
        screen.paragraph("", &format!("{}.", capital(&problem.text)))?;
    }
    if let Some(mirroring) = mirroring(reading.mirroring) {
        screen.paragraph("", &format!("\n{mirroring}"))?;
    }
    if let Some(known) = reading.known.and_then(known_cube) {
        screen.paragraph("", &format!("\n{known}"))?;
    }
    let photos = reading.photos.iter();
    for photo in photos.filter(|photo| photo.faces.is_empty()) {
        if let Some(problem) = &photo.problem {
            screen.paragraph("- ", &format!("{}: {problem}", photo.path))?;
        }
    }
    Ok(())
}

/// What is to be said of mirrored photos, if anything.
const fn mirroring(mirroring: Mirroring) -> Option<&'static str> {
    match mirroring {
        Mirroring::None => None,
        Mirroring::Possible => Some(
            "Mind: the colours go round the corners the other way than on most cubes. Either this cube is made so, or all \
             photos are mirrored, as some front cameras save them, and then everything above is the wrong way round: \
             if writing in the photos is the wrong way round, give them again with --mirrored.",
        ),
        Mirroring::Undone => Some(
            "The photos are mirrored, as the known cube's colours show; they were read the right way round.",
        ),
    }
}

/// What is to be said of the known cube, if anything.
fn known_cube(known: KnownUse) -> Option<String> {
    let unlike = match known {
        KnownUse::NotNeeded => return None,
        KnownUse::Helped => {
            return Some(
                "The known cube's colours settled what the photos alone left open.".to_owned(),
            );
        }
        KnownUse::DidNotHelp => {
            return Some("The known cube's colours did not settle it either.".to_owned());
        }
        KnownUse::OtherCube(unlike) => unlike,
    };
    let why = match unlike {
        Unlike::Size { known, met } => {
            let a = |n: usize| with_article(&format!("{n}×{n}×{n}"));
            format!("this one is {}, that one {}", a(met), a(known))
        }
        Unlike::Scheme => "its colours lie on other faces".to_owned(),
        Unlike::Shade { colour, difference } => {
            format!("its {colour} looks different, {difference:.0} apart (CIEDE2000)")
        }
    };
    Some(format!(
        "The photos show another cube than the known one ({why}), so its colours were not used. Give the file of this \
         cube, or leave --cube out."
    ))
}

/// The stickers to point out: those in doubt, and those of pieces that cannot be where they are.
pub fn marks(reading: &Reading) -> BTreeMap<usize, Mark> {
    let Some(n) = reading.n else {
        return BTreeMap::new();
    };
    let faults = reading
        .examination
        .iter()
        .flat_map(|examination| &examination.legality.faults)
        .flat_map(|fault| &fault.stickers)
        .map(|&spot| (spot, Mark::Fault));
    let doubts = reading.doubts.iter().map(|doubt| (doubt.spot, Mark::Doubt));
    faults
        .chain(doubts)
        .map(|(spot, mark): (Spot, Mark)| (spot.place(n), mark))
        .collect()
}

/// The stickers in doubt, and what to show again to settle most of them.
fn doubts(screen: &mut Screen, reading: &Reading) -> io::Result<()> {
    for doubt in reading.doubts.iter().take(MOST_DOUBTS) {
        let text = format!("{}: {} or {}", spot_name(doubt.spot), doubt.read, doubt.or);
        screen.paragraph("- ", &text)?;
    }
    let more = reading.doubts.len().saturating_sub(MOST_DOUBTS);
    if more > 0 {
        screen.paragraph("- ", &format!("and {more} more"))?;
    }
    if reading.doubts.is_empty() {
        screen.paragraph("", &to_take_again(reading))?;
        let examination = reading.examination.as_ref();
        let cannot_be = examination.is_some_and(|examination| !examination.legality.legal);
        if cannot_be && !reading.is_laying_open {
            screen.paragraph(
                "",
                "Or compare every face above with the cube, also which way round it is: if all are as shown, the cube \
                 itself is at fault. `sixfold diagnose` says how to mend it, from a file with what `read --json` printed.",
            )?;
        }
        return Ok(());
    }
    for heard in reading
        .answers
        .iter()
        .filter(|heard| heard.told != heard.read)
    {
        screen.paragraph(
            "",
            &format!(
                "You said that {} is {}; everything else makes it {}. Look at it once more.",
                spot_name(heard.spot),
                heard.told,
                heard.read
            ),
        )?;
    }
    screen.paragraph("", &to_take_again(reading))?;
    let Some(first) = reading.doubts.first() else {
        return Ok(());
    };
    let answer = |colour| Answer {
        spot: first.spot,
        colour,
    };
    screen.paragraph(
        "",
        &format!(
            "Or look at the cube itself and say what such a sticker is by adding --answer {} or --answer {}.",
            answer(first.read),
            answer(first.or)
        ),
    )
}

/// Which photo of a doubtful cube to take again, and how, in a sentence.
pub fn to_take_again(reading: &Reading) -> String {
    if let Some(laying) = reading.laying() {
        return format!(
            "Every sticker is clear, but photos of single faces do not show how these faces lie. Look at the cube: if, \
             {laying}: then say so by adding --as-printed. If not, give two more photos together with these, \
             of two opposite corners, each with three faces in it."
        );
    }
    let mut photos = reading.photos.iter();
    let contradicts = photos.find(|photo| photo.problem.is_some() && !photo.faces.is_empty());
    if let Some(photo) = contradicts {
        return format!(
            "The photo {} shows other stickers than the others do. If a layer was turned in between, or it is of another \
             cube, give the others without it; if not, take it again in the light of the others.",
            photo.path
        );
    }
    reading.face_to_show_again().map_or_else(
        || {
            "No sticker stands out: take the photos again in brighter, whiter light and without reflections."
                .to_owned()
        },
        |face| {
            let which = photo_of(reading, face)
                .map_or_else(String::new, |path| format!(" (as in {path})"));
            format!(
                "Take another photo of the face {face}{which}, sharp and without reflections, and give it together with \
                 the others."
            )
        },
    )
}

/// The photo that shows a face.
pub fn photo_of(reading: &Reading, face: Face) -> Option<&str> {
    let mut photos = reading.photos.iter();
    let photo = photos.find(|photo| photo.faces.iter().any(|seen| seen.face == Some(face)))?;
    Some(&photo.path)
}

/// How many stickers in doubt are listed.
const MOST_DOUBTS: usize = 8;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::app::report::screen::Colours;
    use crate::calibration::Scheme;
    use crate::colour::Name;
    use crate::cube::{Spot, State};
    use crate::geometry::{Point, Quad};
    use crate::reader::{FaceInPhoto, PhotoReading, examine};

    /// What is doubtful is never told in the words of an answer.
    #[test]
    fn doubt_comes_first() {
        let state = State::solved(3);
        let spot = Spot {
            face: Face::F,
            row: 0,
            col: 2,
        };
        let mut doubtful = Reading {
            n: Some(3),
            is_laying_open: false,
            outcome: Outcome::Doubtful,
            confidence: 0.4,
            faces: Some(Colouring::painted(&state, Scheme::COMMON)),
            photos: Vec::new(),
            doubts: vec![DoubtfulSticker {
                spot,
                read: Name::Green,
                or: Name::Blue,
            }],
            examination: Some(examine(&state, Scheme::COMMON)),
            problem: None,
            known: None,
            mirroring: Mirroring::None,
            answers: Vec::new(),
        };
        let marks = [(spot.place(3), Mark::Doubt)].into();
        let told = |reading: &Reading| {
            let mut out = Vec::new();
            let mut screen = Screen {
                out: &mut out,
                colours: Colours::None,
            };
            super::reading(&mut screen, reading, &marks).unwrap();
            String::from_utf8(out).unwrap()
        };
        let text = told(&doubtful);
        assert!(text.starts_with("This reading is doubtful"), "{text}");
        assert!(text.contains("F row 1, column 3: green or blue"), "{text}");
        assert!(text.contains("G G G?"), "{text}");
        assert!(text.contains("another photo of the face F"), "{text}");
        assert!(
            text.contains("If every sticker is as shown: The cube is solved."),
            "{text}"
        );
        assert!(!text.contains("Next:"), "{text}");

        // Better light would not help a photo of another cube.
        doubtful.photos = vec![PhotoReading {
            path: "corner.jpg".to_owned(),
            faces: vec![FaceInPhoto {
                face: Some(Face::F),
                corners: Quad(
                    [[0.0, 0.0], [9.0, 0.0], [9.0, 9.0], [0.0, 9.0]].map(|[x, y]| Point::new(x, y)),
                ),
            }],
            problem: Some("it shows other stickers".to_owned()),
        }];
        let text = told(&doubtful).replace('\n', " ");
        assert!(
            text.contains("The photo corner.jpg shows other stickers than the others do."),
            "{text}"
        );
        assert!(!text.contains("another photo of the face"), "{text}");
    }
}
