//! A lesson as one page that needs nothing else: to look at, to sort and filter, and to print.

use super::card::card;
use super::escape::escaped;
use super::summary::{self, STAGES, diagnosis, is_sure, of_number, teaching, title};
use super::sureness;
use crate::app::lesson::{Lesson, Person};
use crate::cube::{capital, counted};
use crate::reader::Outcome;
use std::fmt::Write;

const STYLE: &str = include_str!("assets/lesson.css");
const SCRIPT: &str = include_str!("assets/lesson.js");
/// Reloads the page while the program watches the folder.
const LIVE: &str = include_str!("assets/live.js");

/// The page.
pub fn page(lesson: &Lesson, is_live: bool) -> String {
    let mut page = String::with_capacity(1 << 20);
    let _ = write!(
        page,
        "<!doctype html><html lang=\"en\"><head><meta charset=\"utf-8\">\
         <meta name=\"viewport\" content=\"width=device-width,initial-scale=1\">\
         <meta http-equiv=\"Content-Security-Policy\" content=\"default-src 'none'; img-src data:; \
         style-src 'unsafe-inline'; script-src 'unsafe-inline'\">\
         <title>{0}: where everyone is</title><style>{STYLE}</style></head><body>\
         <header class=\"top\"><p class=\"kind\">Lesson</p><h1>{0}</h1><p class=\"lead\">{1}</p>{2}</header><main>",
        escaped(&lesson.title),
        escaped(&summary::headline(lesson)),
        missing(lesson),
    );
    let unsorted = lesson.left_out.iter();
    let unsorted = unsorted
        .filter(|photo| photo.reason == "interrupted")
        .count();
    for (count, what) in [(lesson.skipped.len(), "looked at"), (unsorted, "sorted")] {
        if count > 0 {
            let _ = write!(
                page,
                "<p class=\"warn\">The reading was interrupted: {} not {what}. Run it again to go on.</p>",
                of_number(count, "photo")
            );
        }
    }
    track(&mut page, lesson);
    together(&mut page, lesson);
    table(&mut page, lesson);
    if !lesson.people.is_empty() {
        page.push_str("<section class=\"cards\"><h2>Cube by cube</h2>");
        for (number, person) in lesson.people.iter().enumerate() {
            page.push_str(&card(person, number));
        }
        page.push_str("</section>");
    }
    rest(&mut page, lesson);
    roster(&mut page, lesson);
    let _ = write!(
        page,
        "</main><footer><p>Photos stay on the machine that read them: this page holds cut-out faces of cubes and \
         nothing of what stood around them. Every sequence was tried on the very cube before it was \
         printed.</p></footer><script>{SCRIPT}</script>"
    );
    if is_live {
        let _ = write!(page, "<script>{LIVE}</script>");
    }
    page.push_str("</body></html>\n");
    page
}

/// What is missing, with where to find it, for the head of the page.
fn missing(lesson: &Lesson) -> String {
    let mut parts = Vec::new();
    let people = lesson.people.iter().enumerate();
    let unread: Vec<String> = people
        .filter(|(_, person)| summary::is_unread(person))
        .map(|(number, person)| {
            let who = escaped(&person.who);
            format!("<a href=\"#c{number}\">{who}</a>")
        })
        .collect();
    if !unread.is_empty() {
        parts.push(format!("{} not read: {}", unread.len(), unread.join(", ")));
    }
    let lists = [
        (summary::not_placed(lesson), "photo", "not placed", "rest"),
        (lesson.unusable.len(), "file", "not usable", "rest"),
        (lesson.unmet.len(), "note", "on the roster", "roster"),
    ];
    for (count, thing, what, place) in lists {
        if count > 0 {
            let count = of_number(count, thing);
            parts.push(format!("<a href=\"#{place}\">{count} {what}</a>"));
        }
    }
    if parts.is_empty() {
        return String::new();
    }
    format!("<p class=\"missing\">{}</p>", parts.join(" · "))
}

/// The way from centres to solved, with everyone on it.
fn track(page: &mut String, lesson: &Lesson) {
    if lesson.people.is_empty() {
        return;
    }
    page.push_str("<section class=\"track\" aria-label=\"Where everyone is\"><ol>");
    for stage in STAGES {
        let here: Vec<(usize, &Person)> = lesson
            .people
            .iter()
            .enumerate()
            .filter(|(_, person)| diagnosis(person).is_some_and(|found| found.stage == stage))
            .collect();
        let sure = here.iter().filter(|(_, person)| is_sure(person)).count();
        let _ = write!(
            page,
            "<li class=\"{}\"><h3>{} <b>{sure}</b></h3><p>",
            if sure == 0 { "none" } else { "some" },
            title(stage),
        );
        for (number, person) in here {
            // Who was not read for certain is shown where they seem to be, but not counted.
            let (class, mark) = if is_sure(person) {
                ("", "")
            } else {
                (
                    " class=\"unsure\" title=\"not read for certain\"",
                    "&nbsp;?",
                )
            };
            let who = escaped(&person.who);
            let _ = write!(page, "<a href=\"#c{number}\"{class}>{who}{mark}</a> ");
        }
        page.push_str("</p></li>");
    }
    page.push_str("</ol>");
    let mut people = lesson.people.iter();
    if people.any(|person| !is_sure(person) && diagnosis(person).is_some()) {
        page.push_str(
            "<p class=\"note\">Counted are cubes read for certain; ? marks doubtful ones.</p>",
        );
    }
    page.push_str("</section>");
}

/// Who can be taught together.
fn together(page: &mut String, lesson: &Lesson) {
    let groups = teaching(lesson);
    if groups.is_empty() {
        return;
    }
    page.push_str("<section class=\"together\"><h2>Who can be taught together</h2>");
    for group in groups {
        let count = capital(&counted(group.count));
        let _ = write!(page, "<div><h3>{count} {}</h3><ul>", escaped(group.at));
        for (what, names) in &group.parts {
            let _ = write!(
                page,
                "<li><b>{}</b> {} <span>{}</span></li>",
                names.len(),
                escaped(what),
                escaped(&names.join(", "))
            );
        }
        page.push_str("</ul></div>");
    }
    page.push_str("</section>");
}

/// The table of all cubes.
fn table(page: &mut String, lesson: &Lesson) {
    if lesson.people.is_empty() {
        return;
    }
    page.push_str(
        "<section class=\"all\"><div class=\"bar\"><h2>All cubes</h2><label>Show only \
         <input id=\"filter\" type=\"search\" placeholder=\"name, stage, case …\" autocomplete=\"off\"></label>\
         <output id=\"shown\"></output></div><div class=\"wide\"><table id=\"cubes\"><thead><tr>",
    );
    for head in ["Who", "Size", "Stage", "Case", "What next", "Sure"] {
        let _ = write!(
            page,
            "<th aria-sort=\"none\"><button type=\"button\">{head}</button></th>"
        );
    }
    page.push_str("</tr></thead><tbody>");
    for (number, person) in lesson.people.iter().enumerate() {
        row(page, person, number);
    }
    page.push_str("</tbody></table></div>");
    page.push_str(
        "<p class=\"note\">What next names places as they lie once the cube is held as its card says.</p>",
    );
    if lesson.numbered > 0 {
        // Cubes of one make look alike, so that no later photo is taken for the same cube by its looks.
        page.push_str(
            "<p class=\"note\">A cube with a number for a name lay in no folder of its own and is in no roster: give \
             each a folder, or its times in a roster, and photos taken later show how far it came.</p>",
        );
    }
    page.push_str("</section>");
}

fn row(page: &mut String, person: &Person, number: usize) {
    let Some(occasion) = person.latest() else {
        return;
    };
    let reading = &occasion.reading;
    let found = diagnosis(person);
    let place = found.and_then(|found| STAGES.iter().position(|&stage| stage == found.stage));
    let next = summary::next(reading);
    let outcome = summary::outcome(reading);
    let mark = if is_sure(person) { "" } else { "&nbsp;?" };
    let _ = write!(
        page,
        "<tr><td><a href=\"#c{number}\">{}</a></td><td data-key=\"{}\">{}</td><td data-key=\"{}\">{}</td>\
         <td>{}</td><td>{}</td><td data-key=\"{:.5}\"><span class=\"sure {}\">{}</span></td></tr>",
        escaped(&person.who),
        reading.n.unwrap_or(0),
        reading
            .n
            .map_or_else(String::new, |n| format!("{n}×{n}×{n}")),
        place.unwrap_or(STAGES.len()),
        summary::standing(person).unwrap_or_default(),
        found
            .and_then(|found| found.case.as_ref())
            .map_or_else(String::new, |case| {
                let title = escaped(&case.title);
                format!("{title}{mark}")
            }),
        escaped(&next),
        if is_sure(person) {
            1.0
        } else {
            reading.confidence
        },
        sureness(outcome).replace(' ', "-"),
        match outcome {
            // The confidence is that of faces and laying together, and says little of either.
            Outcome::Doubtful if reading.is_laying_open => "stickers only".to_owned(),
            Outcome::Doubtful => format!("{:.0} %", 100.0 * reading.confidence),
            outcome => sureness(outcome).to_owned(),
        },
    );
}

/// What belongs to no cube.
fn rest(page: &mut String, lesson: &Lesson) {
    if lesson.left_out.is_empty()
        && lesson.same_face.is_empty()
        && lesson.unusable.is_empty()
        && lesson.skipped.is_empty()
    {
        return;
    }
    page.push_str("<section class=\"rest\" id=\"rest\"><h2>Not placed</h2>");
    for group in &lesson.same_face {
        let _ = write!(
            page,
            "<p>{} of one and the same face, without a cube around it: {}</p>",
            of_number(group.len(), "photo"),
            escaped(&group.join(", "))
        );
    }
    page.push_str("<ul>");
    let mut reasons: Vec<(&str, Vec<&str>)> = Vec::new();
    for photo in &lesson.left_out {
        match reasons.iter_mut().find(|(text, _)| *text == photo.text) {
            Some((_, paths)) => paths.push(&photo.path),
            None => reasons.push((&photo.text, vec![&photo.path])),
        }
    }
    for (text, paths) in reasons {
        let (paths, text) = (escaped(&paths.join(", ")), escaped(text));
        let _ = write!(page, "<li><b>{paths}</b>: {text}</li>");
    }
    for problem in &lesson.unusable {
        let _ = write!(page, "<li>{}</li>", escaped(problem));
    }
    for path in &lesson.skipped {
        let _ = write!(
            page,
            "<li><b>{}</b> not looked at any more</li>",
            escaped(path)
        );
    }
    page.push_str("</ul></section>");
}

/// Whom or what the roster names and the photos do not show.
fn roster(page: &mut String, lesson: &Lesson) {
    if lesson.unmet.is_empty() {
        return;
    }
    page.push_str("<section class=\"rest\" id=\"roster\"><h2>On the roster</h2><ul>");
    for sentence in &lesson.unmet {
        let _ = write!(page, "<li>{}.</li>", escaped(&capital(sentence)));
    }
    page.push_str("</ul></section>");
}
