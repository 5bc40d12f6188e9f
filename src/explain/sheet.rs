//! The cases of a size as one page to print and a picture each.

use super::solid::{Solid, solid};
use super::words::spoken;
use crate::advise::{Example, Examples};
use crate::calibration::Scheme;
use crate::cube::{EDGE_NAMES, counted, listed};
use crate::diagnose::{Structure, strip_places};
use std::collections::BTreeSet;
use std::fmt::Write;

/// A sheet of cases.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// The page: one HTML document with its pictures inside.
    pub html: String,
    /// The pictures alone, each with the id of its case.
    pub pictures: Vec<(String, String)>,
}

const STYLE: &str = include_str!("sheet.css");

/// Lays out the sheet of a cube of order `n`.
pub fn case_sheet(n: usize, examples: &Examples) -> Sheet {
    let mut html = String::new();
    let mut pictures = Vec::new();
    // Writing to a String cannot fail, here and below.
    let _ = write!(
        html,
        r#"<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>Last-group and parity cases of the {n}×{n}×{n}</title>
<style>{STYLE}</style>
</head>
<body>
<header>
<h1>Last-group and parity cases of the {n}×{n}×{n}</h1>
{}{}</header>
"#,
        introduction(),
        left_out(examples)
    );
    let mut number = 0;
    for (title, is_in) in SECTIONS {
        let members: Vec<&Example> = examples
            .shown
            .iter()
            .filter(|example| is_in(example))
            .collect();
        if members.is_empty() {
            continue;
        }
        let _ = write!(
            html,
            "<section>\n<h2>{title} <small>{}</small></h2>\n",
            cases(members.len())
        );
        for example in members {
            number += 1;
            let picture = picture(example);
            card(&mut html, number, example, &picture);
            pictures.push((example.case.id.clone(), picture));
        }
        html.push_str("</section>\n");
    }
    html.push_str(
        "<footer><p>Every sequence on this sheet was made on the cube drawn beside it by a simulator and reaches what \
         is said. Never force a layer that is stuck: turn it back and line the layers up first.</p></footer>\n\
         </body>\n</html>\n",
    );
    Sheet { html, pictures }
}

type IsIn = fn(&Example) -> bool;

const SECTIONS: [(&str, IsIn); 3] = [
    (
        "One edge group open",
        |example| matches!(&example.case.structure, Structure::LastGroups(groups) if groups.key.open() == 1),
    ),
    (
        "Two edge groups open",
        |example| matches!(&example.case.structure, Structure::LastGroups(groups) if groups.key.open() == 2),
    ),
    ("All groups whole, with a parity", |example| {
        matches!(&example.case.structure, Structure::Reduced { .. })
    }),
];

fn cases(count: usize) -> String {
    if count == 1 {
        "one case".to_owned()
    } else {
        format!("{} cases", counted(count))
    }
}

fn introduction() -> String {
    "<p>Hold the cube as drawn: the groups in full colour are the ones the case is about, where you see them from the \
     front, above and the right. Your colours and the way round of each group may differ; what counts is which pieces \
     agree. If yours lie elsewhere, bring them there with turns of outer layers.</p>\n\
     <p>R, U, F, D, L, B turn the right, top, front, bottom, left or back layer a quarter turn, clockwise as seen \
     looking at it; with w the two outer layers there, with 3 and w three. A mark ' means anticlockwise, 2 a half \
     turn. Letters on stickers: W white, Y yellow, R red, O orange, B blue, G green.</p>\n"
        .to_owned()
}

/// What is not on the sheet, if anything.
fn left_out(examples: &Examples) -> String {
    match examples.left_out {
        0 => String::new(),
        count => format!(
            "<p>These are the cases whose open layers are all open in the same way. In the other {count} cases of this \
             size layers are open in different ways: several of these cases on top of one another. The program works \
             out the one in hand from its stickers or photos.</p>\n"
        ),
    }
}

/// The cube in the hold, the groups that matter in full colour.
fn picture(example: &Example) -> String {
    let state = &example.state;
    let stickers: Vec<_> = state
        .stickers()
        .iter()
        .map(|&home| Some(Scheme::COMMON.colour(home)))
        .collect();
    let bright: BTreeSet<usize> = example
        .edges
        .iter()
        .flat_map(|&edge| strip_places(state.layout(), edge))
        .flatten()
        .map(usize::from)
        .collect();
    let names: Vec<&str> = example.edges.iter().map(|&edge| EDGE_NAMES[edge]).collect();
    let title = format!("{}, shown at {}", example.case.title, listed(&names));
    solid(&Solid {
        n: state.n(),
        stickers: &stickers,
        bright: &bright,
        turning: None,
        title: &title,
    })
}

fn card(html: &mut String, number: usize, example: &Example, picture: &str) {
    let case = &example.case;
    let kind = if case.parity {
        r#" <span class="parity">parity</span>"#
    } else {
        ""
    };
    let turns = example.turns();
    let _ = write!(
        html,
        r#"<article id="{id}">
<figure>{picture}</figure>
<div>
<h3><span class="number">{number}</span> {title}{kind}</h3>
<p>{text}</p>
"#,
        id = case.id,
        title = escaped(&case.title),
        text = escaped(&case.text),
    );
    let _ = writeln!(html, r#"<p class="moves">{}</p>"#, moves(example));
    let reached = match case.structure {
        Structure::Reduced { .. } => "the parity is gone",
        Structure::LastGroups(_) => "the centres as before",
    };
    let besides = match example.known {
        Some(_) => String::new(),
        None => format!(" {}", escaped(&example.side_effects)),
    };
    let _ = writeln!(
        html,
        r#"<p class="after">{turns} turns; then all groups are whole and {reached}.{besides}</p>"#
    );
    if let Some(known) = &example.known {
        let _ = writeln!(
            html,
            r#"<p class="other">Itself often taught: {}. {}</p>"#,
            escaped(&known.title),
            escaped(&known.side_effects)
        );
    }
    for other in &example.others {
        let hold = if other.hold.0.is_empty() {
            String::new()
        } else {
            format!("first <b>{}</b>, then ", other.hold)
        };
        let is_known = example
            .known
            .as_ref()
            .is_some_and(|known| known.title == other.title);
        let what = if is_known {
            "Often written".to_owned()
        } else {
            format!("Often taught, {}", escaped(&other.title))
        };
        let _ = writeln!(
            html,
            r#"<p class="other">{what}: {hold}<b>{}</b>. {}</p>"#,
            other.moves,
            escaped(&other.side_effects)
        );
    }
    html.push_str("<ol>");
    for step in &example.steps {
        for &step in step.hold.0.iter().chain(&step.moves.0) {
            let _ = write!(html, "<li><b>{step}</b> {}</li>", spoken(step));
        }
    }
    html.push_str("</ol>\n</div>\n</article>\n");
}

/// The moves of all steps, a step a line, each move kept together.
fn moves(example: &Example) -> String {
    let lines: Vec<String> = example
        .steps
        .iter()
        .map(|step| {
            let moves = step.hold.0.iter().chain(&step.moves.0);
            let moves: Vec<String> = moves.map(|step| format!("<span>{step}</span>")).collect();
            moves.join(" ")
        })
        .collect();
    lines.join("<br>")
}

/// A text as it must stand in HTML and SVG.
pub(super) fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
}
