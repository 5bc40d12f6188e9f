//! Who stands where, and who can be taught together.

use crate::app::lesson::{INTERRUPTED, Lesson, Person};
use crate::app::report::reading::photo_of;
use crate::cube::{Kind, capital, counted, listed};
use crate::diagnose::{Diagnosis, Stage};
use crate::reader::{Examination, Outcome, Reading};
use std::collections::BTreeMap;

/// People at one stage, with what divides them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Teaching {
    /// Where they are, a few words that stand after a number: "at the last groups".
    pub at: &'static str,
    /// How many.
    pub count: usize,
    /// What some of them have in common, with their names, the most first.
    pub parts: Vec<(String, Vec<String>)>,
}

impl Teaching {
    /// All of it in one sentence.
    pub fn told(&self) -> String {
        let parts: Vec<String> = self
            .parts
            .iter()
            .map(|(what, names)| format!("{} ({})", what, listed(names)))
            .collect();
        format!(
            "{} {}: {}.",
            capital(&counted(self.count)),
            self.at,
            parts.join("; ")
        )
    }
}

/// The stages in the order in which a solver comes through them.
pub const STAGES: [Stage; 6] = [
    Stage::Centres,
    Stage::Pairing,
    Stage::LastGroups,
    Stage::Reduced,
    Stage::Solved,
    Stage::Illegal,
];

/// A stage as the head of a column.
pub const fn title(stage: Stage) -> &'static str {
    match stage {
        Stage::Illegal => "Cannot exist",
        Stage::Centres => "Centres",
        Stage::Pairing => "Pairing edges",
        Stage::LastGroups => "Last groups",
        Stage::Reduced => "Like a 3×3×3",
        Stage::Solved => "Solved",
    }
}

/// Where someone's cube stands, in the words of a table; marked where that is not certain.
pub fn standing(person: &Person) -> Option<String> {
    let found = diagnosis(person)?;
    let n = person.latest()?.reading.n?;
    let words = match found.stage {
        // More often than the cube the reading is wrong.
        Stage::Illegal if !is_sure(person) => return Some("Cannot exist as read".to_owned()),
        // Such a cube is not like one.
        Stage::Reduced if n <= 3 => "Layer by layer",
        stage => title(stage),
    };
    let mark = if is_sure(person) { "" } else { "\u{a0}?" };
    Some(format!("{words}{mark}"))
}

const fn at(stage: Stage) -> &'static str {
    match stage {
        Stage::Illegal => "with a cube that no turning solves",
        Stage::Centres => "at the centres",
        Stage::Pairing => "pairing edges",
        Stage::LastGroups => "at the last groups",
        Stage::Reduced => "turning like a 3×3×3",
        Stage::Solved => "solved",
    }
}

/// Whether it is certain where someone's cube stands.
pub fn is_sure(person: &Person) -> bool {
    let latest = person.latest();
    latest.is_some_and(|occasion| occasion.reading.is_stage_certain())
}

/// How sure a reading is for a lesson: as read for certain counts what is solved however its faces lie.
pub fn outcome(reading: &Reading) -> Outcome {
    if reading.is_stage_certain() {
        Outcome::Read
    } else {
        reading.outcome
    }
}

/// Where someone's cube stands, if it was read.
pub fn diagnosis(person: &Person) -> Option<&Diagnosis> {
    examination(person).map(|examination| &examination.diagnosis)
}

fn examination(person: &Person) -> Option<&Examination> {
    let reading = &person.latest()?.reading;
    let examination = reading.examination.as_ref()?;
    (reading.outcome != Outcome::Unreadable).then_some(examination)
}

/// Whether someone's cube was photographed and not read.
pub fn is_unread(person: &Person) -> bool {
    let latest = person.latest();
    latest.is_some_and(|occasion| occasion.reading.outcome == Outcome::Unreadable)
}

/// How many photos were looked at and sorted and yet belong to no cube.
pub fn not_placed(lesson: &Lesson) -> usize {
    let left_out = lesson.left_out.iter();
    let sorted = left_out.filter(|photo| photo.reason != INTERRUPTED);
    sorted.count() + lesson.same_face.iter().map(Vec::len).sum::<usize>()
}

/// What is to be done next with a cube, in a few words; no step is named where the stickers are in doubt.
pub fn next(reading: &Reading) -> String {
    let examination = reading.examination.as_ref();
    let advice = examination.and_then(|examination| examination.advice.as_ref());
    match reading.outcome {
        Outcome::Read => match (advice, examination) {
            (Some(advice), _) => advice.aim.clone(),
            (None, Some(examination)) if !examination.legality.legal => {
                format!("Mend it first: {}", fault(examination))
            }
            (None, _) => String::new(),
        },
        Outcome::Doubtful if reading.is_solved_anyhow() => "None: it is solved".to_owned(),
        Outcome::Doubtful if reading.is_laying_open => {
            "Photograph two opposite corners of it, three faces in each picture".to_owned()
        }
        Outcome::Doubtful => reading.face_to_show_again().map_or_else(
            || "Photograph it again".to_owned(),
            |face| {
                let which = photo_of(reading, face)
                    .map_or_else(String::new, |path| format!(" (as in {path})"));
                let doubts = of_number(reading.doubts.len(), "sticker");
                format!("Photograph the face {face} again{which}: {doubts} in doubt")
            },
        ),
        Outcome::Unreadable => {
            let problem = reading.problem.as_ref();
            problem.map_or_else(String::new, |problem| capital(&problem.text))
        }
    }
}

/// What keeps a cube from being solved, in a clause.
fn fault(examination: &Examination) -> String {
    let faults = &examination.legality.faults;
    let clause = faults
        .first()
        .map_or("it cannot exist", |first| match first.kind {
            Kind::ColourCount => "a colour shows too often",
            Kind::ManyPieces => "many pieces are wrong",
            Kind::CornerImpossible => "a corner has colours that no corner has",
            Kind::CornerMirrored => "the colours of a corner run the wrong way round",
            Kind::CornerTwice => "a corner is there more than once",
            Kind::MidgeImpossible => "a midge has colours that no midge has",
            Kind::MidgeTwice => "a midge is there more than once",
            Kind::WingImpossible => "a wing has colours that no wing has",
            Kind::WingTurned => "two wings are alike, one of which should be the other way round",
            Kind::WingTwice => "a wing is there more than once",
            Kind::CentreCount => "centre pieces of one colour are too many",
            Kind::FixedCentres => "the fixed centres stand in the wrong order",
            Kind::CornerTwist => "a corner is twisted",
            Kind::MidgeFlip => "a midge is flipped",
            Kind::ExchangedPair => "two pieces are exchanged",
        });
    let more = if faults.len() > 1 { ", and more" } else { "" };
    format!("{clause}{more}")
}

/// The people stage by stage, those with the same case together; last those whose cubes were not read for certain, of
/// whom nothing else is said.
pub fn teaching(lesson: &Lesson) -> Vec<Teaching> {
    let mut all = Vec::new();
    for stage in STAGES {
        let mut parts: BTreeMap<String, Vec<String>> = BTreeMap::new();
        let mut count = 0;
        for person in &lesson.people {
            let sure = examination(person).filter(|_| is_sure(person));
            if let Some(examination) = sure.filter(|found| found.diagnosis.stage == stage) {
                count += 1;
                parts
                    .entry(part(
                        examination,
                        person.latest().and_then(|latest| latest.reading.n),
                    ))
                    .or_default()
                    .push(person.who.clone());
            }
        }
        let mut parts: Vec<_> = parts.into_iter().collect();
        parts.sort_by_key(|(_, names)| std::cmp::Reverse(names.len()));
        all.push(Teaching {
            at: at(stage),
            count,
            parts,
        });
    }
    all.push(again(lesson));
    all.retain(|teaching| teaching.count > 0);
    all
}

/// The people whose cubes have to be photographed again.
fn again(lesson: &Lesson) -> Teaching {
    let mut parts = [
        "some stickers are in doubt",
        "at two opposite corners, for single faces do not show how they lie",
        "not read",
    ]
    .map(|why| (why.to_owned(), Vec::new()));
    for person in &lesson.people {
        let Some(reading) = person.latest().map(|occasion| &occasion.reading) else {
            continue;
        };
        let why = match reading.outcome {
            _ if reading.is_stage_certain() => continue,
            Outcome::Unreadable => 2,
            _ => usize::from(reading.is_laying_open),
        };
        parts[why].1.push(person.who.clone());
    }
    let mut parts = Vec::from(parts);
    parts.retain(|(_, names)| !names.is_empty());
    Teaching {
        at: "to be photographed again",
        count: parts.iter().map(|(_, names)| names.len()).sum(),
        parts,
    }
}

/// What divides people at one stage.
fn part(examination: &Examination, n: Option<usize>) -> String {
    let diagnosis = &examination.diagnosis;
    match (diagnosis.stage, &diagnosis.case) {
        (_, Some(case)) => case.title.clone(),
        (Stage::Centres, _) => format!("{} of 6 centres whole", diagnosis.centres.done.len()),
        (Stage::Pairing, _) => format!(
            "{} of {} groups paired",
            diagnosis.groups.done, diagnosis.groups.of
        ),
        // Such a cube is not like one.
        (Stage::Reduced, _) if n.is_some_and(|n| n <= 3) => "layer by layer".to_owned(),
        (Stage::Reduced, _) => "nothing in the way".to_owned(),
        (Stage::Illegal, _) => fault(examination),
        _ => "nothing left to do".to_owned(),
    }
}

/// What came of the lesson, in a sentence.
pub fn headline(lesson: &Lesson) -> String {
    let mut counts = [0; 3];
    for occasion in lesson.people.iter().filter_map(Person::latest) {
        counts[outcome(&occasion.reading) as usize] += 1;
    }
    let [read, doubtful, unread] = counts;
    let mut parts = vec![format!("{read} read for certain")];
    if doubtful > 0 {
        parts.push(format!("{doubtful} doubtful"));
    }
    if unread > 0 {
        parts.push(format!("{unread} not read"));
    }
    format!(
        "{} and {}: {}.",
        of_number(lesson.photos, "photo"),
        of_number(lesson.people.len(), "cube"),
        listed(&parts)
    )
}

/// "1 photo", "2 photos".
pub fn of_number(number: usize, thing: &str) -> String {
    format!("{number} {thing}{}", if number == 1 { "" } else { "s" })
}

/// The first few names and how many more there are.
pub fn some_of(names: &[&String]) -> String {
    const SHOWN: usize = 6;
    let shown: Vec<&str> = names.iter().take(SHOWN).map(|name| name.as_str()).collect();
    match names.len().saturating_sub(SHOWN) {
        0 => listed(&shown),
        more => format!("{} and {more} more", shown.join(", ")),
    }
}
