//! One cube on a card: what the photos showed, the net, the answer in words, the advice with its picture.

use super::escape::escaped;
use super::{summary, sureness};
use crate::app::lesson::{FacePicture, Occasion, Person, Showing};
use crate::app::report::reading::to_take_again;
use crate::cube::{Face, capital, spot_name};
use crate::diagnose::{Repair, Stage};
use crate::explain::{self, Guidance, Mark, Solid, places_to_watch};
use crate::reader::{Colouring, Mirroring, Outcome, Reading};
use std::collections::BTreeMap;
use std::fmt::Write;

/// The card of a person, as HTML.
pub fn card(person: &Person, number: usize) -> String {
    let mut page = String::new();
    let Some(occasion) = person.latest() else {
        return page;
    };
    let reading = &occasion.reading;
    let size = reading
        .n
        .map_or_else(|| "size unknown".to_owned(), |n| format!("{n}×{n}×{n}"));
    let _ = write!(
        page,
        r#"<article class="card" id="c{number}"><header><h3>{}</h3><p class="facts"><span>{size}</span>{}<span class="sure {}">{}</span>{}</p></header>"#,
        escaped(&person.who),
        summary::standing(person)
            .map_or_else(String::new, |standing| format!("<span>{standing}</span>")),
        sureness(summary::outcome(reading)).replace(' ', "-"),
        sure_words(reading),
        occasion
            .taken
            .map_or_else(String::new, |taken| format!("<span>{taken}</span>")),
    );
    page.push_str("<div class=\"answer\">");
    page.push_str(&answer(reading));
    page.push_str("</div>");
    if let Some(faces) = &reading.faces {
        let _ = write!(
            page,
            "<figure class=\"net\">{}<figcaption>The stickers as read</figcaption>{}</figure>",
            explain::net(faces.n(), faces.stickers(), &marks(reading)),
            mirroring(reading.mirroring)
        );
    }
    page.push_str(&seen(occasion));
    // On paper moves outlive the doubt beside them: only a cube read for certain gets some.
    let examination = reading.examination.as_ref();
    let advice = examination.and_then(|examination| examination.advice.as_ref());
    if let (Outcome::Read, Some(faces), Some(advice)) = (reading.outcome, &reading.faces, advice) {
        page.push_str(&advised(faces, advice));
    }
    page.push_str(&history(person));
    page.push_str("</article>");
    page
}

fn sure_words(reading: &Reading) -> String {
    match reading.outcome {
        Outcome::Read => "read for certain".to_owned(),
        Outcome::Doubtful if reading.is_solved_anyhow() => {
            "for certain, however its faces lie".to_owned()
        }
        Outcome::Doubtful if reading.is_laying_open => "how its faces lie is not shown".to_owned(),
        Outcome::Doubtful => format!("doubtful: {:.0} % sure", 100.0 * reading.confidence),
        Outcome::Unreadable => "not read".to_owned(),
    }
}

/// What is to be said of the cube, in words; of a doubtful one first what is in doubt.
fn answer(reading: &Reading) -> String {
    let mut page = String::new();
    let is_sure = reading.outcome == Outcome::Read;
    let is_doubtful = reading.outcome == Outcome::Doubtful && !reading.is_stage_certain();
    if is_doubtful && reading.faces.is_some() {
        page.push_str(&doubts(reading));
    }
    if let Some(examination) = &reading.examination {
        let _ = write!(
            page,
            "<p class=\"first\">{}{}</p>",
            match reading.outcome {
                _ if reading.is_stage_certain() => "",
                Outcome::Doubtful if reading.is_laying_open => "If the faces lie as drawn here: ",
                _ => "If all is as read: ",
            },
            escaped(&examination.diagnosis.text)
        );
        if let Some(case) = &examination.diagnosis.case {
            let _ = write!(page, "<p>{}</p>", escaped(&case.text));
        }
        for fault in examination.legality.faults.iter().skip(1) {
            let _ = write!(page, "<p>{}</p>", escaped(&fault.text));
        }
        match &examination.repair {
            Some(repair) if is_sure => page.push_str(&mended(repair)),
            Some(_) if reading.is_laying_open => page.push_str(
                "<p class=\"warn\">Perhaps they only lie in another way: take those two photos before taking anything \
                 apart.</p>",
            ),
            Some(_) => page.push_str(
                "<p class=\"warn\">More likely the reading is wrong than the cube: photograph it again before taking \
                 anything apart.</p>",
            ),
            None => {}
        }
    }
    if let Some(problem) = &reading.problem {
        let _ = write!(
            page,
            "<p class=\"first\">{}.</p>",
            escaped(&capital(&problem.text))
        );
    }
    for photo in &reading.photos {
        if let Some(problem) = &photo.problem {
            let _ = write!(
                page,
                "<p>{}: {}.</p>",
                escaped(&photo.path),
                escaped(problem)
            );
        }
    }
    page
}

/// What is to be said of mirrored photos: their moves would be the wrong way round.
const fn mirroring(mirroring: Mirroring) -> &'static str {
    match mirroring {
        Mirroring::None => "",
        Mirroring::Possible => {
            "<p class=\"warn\">The colours go round the corners the other way than on most cubes. Either this cube is \
             made so, or all its photos are mirrored, as some front cameras save them, and then everything told here is \
             the wrong way round: if writing in the photos is, mirror them back and read them again.</p>"
        }
        Mirroring::Undone => {
            "<p>The photos are mirrored, as the known cube's colours show; they were read the right way round.</p>"
        }
    }
}

/// What to do with fingers or screwdriver, and what to mind.
fn mended(repair: &Repair) -> String {
    /// As many as can be taken in.
    const MOST: usize = 4;
    let mut page = format!("<p>{}</p>", escaped(&repair.text));
    if !repair.ways.is_empty() {
        page.push_str("<ol class=\"ways\">");
        for way in repair.ways.iter().take(MOST) {
            let steps: Vec<&str> = way.steps.iter().map(|step| step.text.as_str()).collect();
            let _ = write!(page, "<li>{}</li>", escaped(&steps.join(" ")));
        }
        page.push_str("</ol>");
    }
    if let Some(more) = repair.ways_total.checked_sub(MOST).filter(|&more| more > 0) {
        let _ = write!(page, "<p>… and {more} more.</p>");
    }
    if let Some(caution) = &repair.caution {
        let _ = write!(page, "<p class=\"warn\">{}</p>", escaped(caution));
    }
    page
}

fn doubts(reading: &Reading) -> String {
    /// As many as can be taken in; the net shows all.
    const MOST: usize = 6;
    let told: Vec<String> = reading
        .doubts
        .iter()
        .take(MOST)
        .map(|doubt| format!("{} ({} or {})", spot_name(doubt.spot), doubt.read, doubt.or))
        .collect();
    let rest = match reading.doubts.len().saturating_sub(MOST) {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    let mut page = String::from("<p class=\"warn\">");
    if !told.is_empty() {
        let _ = write!(page, "In doubt: {}{rest}. ", escaped(&told.join("; ")));
    }
    let again = if reading.is_laying_open {
        "Every sticker is clear, but photos of single faces do not show how these faces lie: take two more photos of \
         opposite corners, each with three faces in it, and put them beside the others, in a folder of this cube."
            .to_owned()
    } else {
        to_take_again(reading)
    };
    let _ = write!(page, "{}</p>", escaped(&again));
    page
}

/// The stickers to point out.
fn marks(reading: &Reading) -> BTreeMap<usize, Mark> {
    let Some(n) = reading.n else {
        return BTreeMap::new();
    };
    let examination = reading.examination.iter();
    let faults = examination
        .flat_map(|examination| &examination.legality.faults)
        .flat_map(|fault| &fault.stickers)
        .map(|spot| (spot.place(n), Mark::Fault));
    let doubts = reading
        .doubts
        .iter()
        .map(|doubt| (doubt.spot.place(n), Mark::Doubt));
    faults.chain(doubts).collect()
}

/// The faces as the photos showed them, with the lattice that was found.
fn seen(occasion: &Occasion) -> String {
    let mut page = String::from("<div class=\"seen\">");
    let mut shown: Vec<&Showing> = occasion.shown.iter().collect();
    shown.sort_by_key(|showing| showing.face.map(Face::index));
    for showing in shown {
        let title = showing
            .face
            .map_or_else(|| "?".to_owned(), |face| face.to_string());
        let _ = write!(
            page,
            "<figure><div class=\"face\" style=\"--turn:{}\">",
            showing.turns
        );
        if let Some(picture) = &showing.picture {
            let _ = write!(
                page,
                "<img alt=\"face {title} in {}\" src=\"data:image/jpeg;base64,{}\">",
                escaped(&showing.path),
                picture.jpeg
            );
        }
        page.push_str(&lattice(showing.n));
        let _ = write!(
            page,
            "</div><figcaption><b>{title}</b> {}</figcaption></figure>",
            escaped(&showing.path)
        );
    }
    page.push_str("</div>");
    page
}

/// The lines of an n×n face over its picture.
fn lattice(n: usize) -> String {
    let rim = 100.0 * FacePicture::rim(n);
    let step = (100.0 - 2.0 * rim) / n as f64;
    let far = 100.0 - rim;
    let mut path = String::new();
    for k in 0..=n {
        let at = rim + k as f64 * step;
        let _ = write!(path, "M{rim:.2} {at:.2}H{far:.2}M{at:.2} {rim:.2}V{far:.2}");
    }
    format!("<svg viewBox=\"0 0 100 100\" aria-hidden=\"true\"><path d=\"{path}\"/></svg>")
}

/// The next step: how to hold the cube, its picture, and the moves.
fn advised(faces: &Colouring, advice: &Guidance) -> String {
    let mut page = String::from("<section class=\"advice\"><h4>What next</h4>");
    let _ = write!(page, "<p class=\"first\">{}</p>", escaped(&advice.aim));
    if let Some(picture) = picture(faces, advice) {
        let _ = write!(page, "<figure class=\"hold\">{picture}</figure>");
    }
    page.push_str("<dl>");
    if advice.hold.is_empty() {
        page.push_str("<dt class=\"more\">Hold</dt><dd class=\"more\">as drawn beside, U on top and F in front</dd>");
    } else {
        let _ = write!(
            page,
            "<dt>Hold</dt><dd><code>{}</code> {}. Places in this step are named as they then lie.</dd>",
            escaped(&advice.hold),
            escaped(&in_a_row(&advice.hold_words))
        );
    }
    let _ = write!(
        page,
        "<dt>Moves</dt><dd><code class=\"moves\">{}</code></dd><dt>Result</dt><dd>{}</dd>",
        escaped(&advice.moves),
        escaped(&advice.outcome)
    );
    page.push_str(&taught(advice));
    page.push_str("</dl>");
    page.push_str("<details><summary>Every move in words</summary>");
    let mut words = &advice.words[..];
    for part in &advice.parts {
        let (these, rest) = words.split_at(part.moves.split(' ').count().min(words.len()));
        let _ = write!(page, "<p>{}</p>", escaped(part.text));
        page.push_str(&sentences(these));
        words = rest;
    }
    page.push_str(&sentences(words));
    page.push_str("</details></section>");
    page
}

/// Sentences without full stops as one.
fn in_a_row(sentences: &[String]) -> String {
    let mut all = String::new();
    for sentence in sentences {
        if all.is_empty() {
            all.push_str(sentence);
        } else {
            let mut letters = sentence.chars();
            all.push_str("; then ");
            all.extend(letters.next().into_iter().flat_map(char::to_lowercase));
            all.push_str(letters.as_str());
        }
    }
    all
}

/// What the moves are known as, and other ways that are often taught, each with what else it moves.
fn taught(advice: &Guidance) -> String {
    let mut page = String::new();
    let known = advice.known.as_ref();
    if let Some(known) = known {
        let _ = write!(
            page,
            "<dt>Known as</dt><dd class=\"aside\">{}. {}</dd>",
            escaped(&known.title),
            escaped(&known.side_effects)
        );
    }
    for other in &advice.others {
        let is_same = known.is_some_and(|known| known.title == other.title);
        let hold = if other.from_step.0.is_empty() {
            "in the same hold ".to_owned()
        } else {
            format!(
                "from that hold first <code>{}</code>, then ",
                other.from_step
            )
        };
        let _ = write!(
            page,
            "<dt class=\"more\">{}</dt><dd class=\"more\">{}{hold}<code>{}</code>. {}</dd>",
            if is_same {
                "Often written"
            } else {
                "Also taught"
            },
            if is_same {
                String::new()
            } else {
                format!("{}: ", escaped(&other.title))
            },
            escaped(&other.moves.to_string()),
            escaped(&other.side_effects)
        );
    }
    page
}

/// Moves in words, one a line.
fn sentences(words: &[String]) -> String {
    let mut list = String::new();
    if !words.is_empty() {
        list.push_str("<ol>");
        for sentence in words {
            let _ = write!(list, "<li>{}</li>", escaped(sentence));
        }
        list.push_str("</ol>");
    }
    list
}

/// The cube in the hold of the advice, the pieces it is about in colour, the first move pointed out.
fn picture(faces: &Colouring, advice: &Guidance) -> Option<String> {
    let scheme = faces.scheme().ok()?;
    let held = faces.state(scheme)?.after(&advice.step.hold.0);
    let colours = Colouring::painted(&held, scheme);
    let bright = places_to_watch(&advice.step.aim, &held);
    Some(explain::solid(&Solid {
        n: faces.n(),
        stickers: colours.stickers(),
        bright: &bright,
        turning: advice.step.moves.0.first().copied(),
        title: "The cube as it is to be held; arrows show the first move",
    }))
}

/// How far the cube came, moment by moment.
fn history(person: &Person) -> String {
    if person.occasions.len() < 2 {
        return String::new();
    }
    let mut page = String::from("<section class=\"history\"><h4>How far it came</h4><ol>");
    for occasion in &person.occasions {
        let examination = occasion.reading.examination.as_ref();
        let stage = examination.map(|examination| examination.diagnosis.stage);
        let _ = write!(
            page,
            "<li>{}<b>{}</b> {}</li>",
            occasion
                .taken
                .map_or_else(String::new, |taken| format!("<time>{taken}</time> ")),
            stage.map_or("Not read", summary::title),
            examination.map_or_else(String::new, |examination| {
                if examination.diagnosis.stage == Stage::Illegal {
                    String::new()
                } else {
                    escaped(&examination.diagnosis.text)
                }
            })
        );
    }
    page.push_str("</ol></section>");
    page
}
