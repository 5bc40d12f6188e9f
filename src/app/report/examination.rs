//! What is to be said about a cube, as text.

use super::screen::Screen;
use crate::advise::PartKind;
use crate::colour::Name;
use crate::cube::{Spot, listed, spot_name};
use crate::diagnose::{Diagnosis, Repair, Stage};
use crate::explain::{Guidance, GuidancePart};
use crate::reader::{Colouring, Examination};
use std::io;

/// Writes the one sentence a person needs first.
///
/// # Errors
///
/// If the text cannot be written.
pub fn headline(screen: &mut Screen, examination: &Examination) -> io::Result<()> {
    let standing = &examination.diagnosis.text;
    match examination.in_the_middle() {
        Some(middle) => {
            screen.strong(&middle)?;
            writeln!(screen.out)?;
            screen.paragraph("", standing)?;
        }
        None => screen.strong(standing)?,
    }
    writeln!(screen.out)
}

/// Says that what follows rests on a reading that was not certain.
///
/// # Errors
///
/// If the text cannot be written.
pub fn doubtful_file(screen: &mut Screen) -> io::Result<()> {
    screen.strong(
        "These stickers are those of a doubtful reading: what follows is true only if every one of them is as shown.",
    )?;
    writeln!(screen.out)
}

/// Says that stickers are missing, and which.
///
/// # Errors
///
/// If the text cannot be written.
pub fn incomplete(screen: &mut Screen, colouring: &Colouring, is_possible: bool) -> io::Result<()> {
    let unknown = colouring.unknown();
    if is_possible {
        screen.strong("Some stickers are unknown, so nothing certain can be said.")?;
    } else {
        screen.strong(
            "Whatever the unknown stickers are, no cube that can exist shows these: one of the others is wrong here, \
             or the cube was put together wrongly.",
        )?;
    }
    writeln!(screen.out)?;
    let names = unknown.iter().copied().map(spot_name).collect();
    screen.paragraph("", &format!("Fill in {}.", some_of(names)))?;
    writeln!(screen.out)
}

/// Says which unknown stickers were filled in, if any.
///
/// # Errors
///
/// If the text cannot be written.
pub fn filled(screen: &mut Screen, filled: &[Spot], colouring: &Colouring) -> io::Result<()> {
    if filled.is_empty() {
        return Ok(());
    }
    let n = colouring.n();
    let with_colour = |&spot: &Spot| {
        let colour = colouring.stickers()[spot.place(n)];
        let word = colour.map_or("", Name::word);
        format!("{} ({word})", spot_name(spot))
    };
    let names = filled.iter().map(with_colour).collect();
    screen.paragraph(
        "",
        &format!(
            "Filled in, as no other colour fits a cube that can exist: {}.",
            some_of(names)
        ),
    )?;
    writeln!(screen.out)
}

/// The first of some names, and how many more there are.
fn some_of(mut names: Vec<String>) -> String {
    let more = names.len().saturating_sub(MOST_NAMED);
    if more > 0 {
        names.truncate(MOST_NAMED);
        names.push(format!("{more} more"));
    }
    listed(&names)
}

/// How many unknown stickers are named one by one.
const MOST_NAMED: usize = 8;

/// Writes the rest.
///
/// # Errors
///
/// If the text cannot be written.
pub fn details(screen: &mut Screen, examination: &Examination) -> io::Result<()> {
    // The first fault stands in the headline already.
    for fault in examination.legality.faults.iter().skip(1) {
        screen.paragraph("- ", &fault.text)?;
    }
    if let Some(repair) = &examination.repair {
        return mend(screen, repair);
    }
    let Diagnosis {
        centres,
        groups,
        case,
        ..
    } = &examination.diagnosis;
    // Up to the 3×3×3 there is nothing to build and pair, up to the 5×5×5 there are no inner wings.
    let orbits = examination.diagnosis.parities.wings.len();
    if orbits > 0 && examination.diagnosis.stage != Stage::Solved {
        let inner = if orbits > 1 {
            format!(", {} with the inner pieces paired", groups.inner_done)
        } else {
            String::new()
        };
        screen.paragraph(
            "",
            &format!(
                "Centres: {} of 6 whole. Edge groups: {} of {} paired{inner}.",
                centres.done.len(),
                groups.done,
                groups.of
            ),
        )?;
        writeln!(screen.out)?;
    }
    if let Some(case) = case {
        screen.paragraph("", &case.text)?;
        writeln!(screen.out)?;
    }
    if let Some(advice) = &examination.advice {
        next(screen, advice)?;
    }
    if let Some(problem) = &examination.own_error {
        screen.paragraph("", problem)?;
    }
    Ok(())
}

/// What to do next: first how to hold the cube, then each move as symbol and sentence.
fn next(screen: &mut Screen, advice: &Guidance) -> io::Result<()> {
    screen.strong(&format!("Next: {}.", advice.aim))?;
    writeln!(screen.out)?;
    if advice.hold.is_empty() {
        screen.paragraph("", "Hold the cube as it is printed above.")?;
    } else {
        screen.paragraph(
            "",
            "First turn the whole cube, from how it is printed above; places in this step are named as they then lie:",
        )?;
        lines(screen, &advice.hold, &advice.hold_words)?;
    }
    writeln!(screen.out)?;
    moves(screen, advice)?;
    writeln!(screen.out)?;
    screen.paragraph("", &advice.outcome)?;
    if let Some(known) = &advice.known {
        writeln!(screen.out)?;
        screen.paragraph(
            "",
            &format!(
                "These moves are themselves a sequence often taught: {}. {}",
                known.title, known.side_effects
            ),
        )?;
    }
    for other in &advice.others {
        writeln!(screen.out)?;
        let hold = if other.from_step.0.is_empty() {
            "in the same hold".to_owned()
        } else {
            format!("from that hold first {}, then", other.from_step)
        };
        let is_known = advice
            .known
            .as_ref()
            .is_some_and(|known| known.title == other.title);
        let what = if is_known {
            "The same as it is often written".to_owned()
        } else {
            format!("Or, as is often taught, {}", other.title)
        };
        screen.paragraph(
            "",
            &format!("{what}: {hold} {}. {}", other.moves, other.side_effects),
        )?;
    }
    Ok(())
}

/// What the steps of a stage have in common, as a heading.
pub const fn stage_title(stage: Stage) -> &'static str {
    match stage {
        Stage::Illegal => "A cube that cannot exist",
        Stage::Centres => "Centres",
        Stage::Pairing => "Edge groups",
        Stage::LastGroups => "Last edge groups",
        Stage::Reduced => "As a 3×3×3",
        Stage::Solved => "Solved",
    }
}

/// One step of many: its number and aim, then hold and moves, spelled out or as symbols in a line.
///
/// # Errors
///
/// If the text cannot be written.
pub fn step(
    screen: &mut Screen,
    number: usize,
    advice: &Guidance,
    spelled_out: bool,
) -> io::Result<()> {
    screen.paragraph(&format!("{number:3}. "), &advice.aim)?;
    if spelled_out {
        lines(screen, &advice.hold, &advice.hold_words)?;
        return moves(screen, advice);
    }
    if !advice.hold.is_empty() {
        screen.paragraph("     hold: ", &advice.hold)?;
    }
    if advice.parts.is_empty() {
        return screen.paragraph("     ", &advice.moves);
    }
    let named = |part: &GuidancePart| format!("{} {}", part_name(part.kind), part.moves);
    let parts: Vec<String> = advice.parts.iter().map(named).collect();
    screen.paragraph("     ", &parts.join(", "))
}

/// What a part of a step does, in a word or two.
const fn part_name(kind: PartKind) -> &'static str {
    match kind {
        PartKind::SetUp => "set up",
        PartKind::Slice => "slice",
        PartKind::Parking => "park",
        PartKind::TurningOver => "turn over",
        PartKind::CentresBack => "slice back",
        PartKind::SomeLayers => "some layers",
        PartKind::LastLayers => "the last layers",
    }
}

/// The moves spelled out, each part under what it is for.
fn moves(screen: &mut Screen, advice: &Guidance) -> io::Result<()> {
    let mut words = &advice.words[..];
    for part in &advice.parts {
        screen.paragraph("  ", part.text)?;
        let count = part.moves.split(' ').count().min(words.len());
        let (these, rest) = words.split_at(count);
        lines(screen, &part.moves, these)?;
        words = rest;
    }
    if advice.parts.is_empty() {
        lines(screen, &advice.moves, words)?;
    }
    Ok(())
}

/// A line for each move: its symbol, then its sentence.
fn lines(screen: &mut Screen, symbols: &str, words: &[String]) -> io::Result<()> {
    for (symbol, words) in symbols.split(' ').zip(words) {
        screen.paragraph(&format!("  {symbol:<6}"), words)?;
    }
    Ok(())
}

/// How a cube that cannot exist is made possible again, and what to mind.
fn mend(screen: &mut Screen, repair: &Repair) -> io::Result<()> {
    screen.paragraph("", &repair.text)?;
    for (index, way) in repair.ways.iter().take(MOST_WAYS).enumerate() {
        let steps: Vec<&str> = way.steps.iter().map(|step| step.text.as_str()).collect();
        screen.paragraph(&format!("{:2}. ", index + 1), &steps.join(" "))?;
    }
    if repair.ways_total > MOST_WAYS {
        screen.paragraph("    ", "…")?;
    }
    if let Some(caution) = &repair.caution {
        screen.paragraph("", caution)?;
    }
    Ok(())
}

/// How many equally small repairs are written out.
const MOST_WAYS: usize = 6;
