//! A case with its picture, hold and moves as an article of a page.

use super::escaped;
use crate::advise::Example;
use crate::calibration::Scheme;
use crate::colour::Name;
use crate::cube::{EDGE_NAMES, Face, State, listed};
use crate::diagnose::{Structure, strip_places};
use crate::explain::letters::STYLE;
use crate::explain::solid::{Ground, Over, Solid, solid};
use crate::explain::words::spoken;
use std::collections::BTreeSet;
use std::fmt::Write;

/// A case laid out.
#[derive(Clone, Debug)]
pub struct Card {
    /// The article.
    pub(super) html: String,
    /// What its picture lies on, see [`grounds`].
    hidden: Vec<Face>,
}

impl Card {
    /// Lays out a case of a cube of order `n`; it is the sheet's `number`th.
    pub fn of(number: usize, example: &Example) -> Self {
        let Over { svg, hidden } = drawn(example, |what| ground(what.n).over(what));
        let mut html = String::new();
        write_card(&mut html, number, example, &svg);
        Self { html, hidden }
    }
}

/// The cubes on which the pictures of these cards lie, to be put once into the page.
pub(super) fn grounds(n: usize, cards: &[Card]) -> String {
    let ground = ground(n);
    let hidden: BTreeSet<&[Face]> = cards.iter().map(|card| &card.hidden[..]).collect();
    let drawn: String = hidden.iter().map(|hidden| ground.drawn(hidden)).collect();
    format!("<svg class=\"grounds\" aria-hidden=\"true\">{STYLE}<defs>{drawn}</defs></svg>\n")
}

/// The picture of a case alone.
pub(super) fn picture(example: &Example) -> String {
    drawn(example, solid)
}

fn ground(n: usize) -> Ground {
    let stickers = colours(&State::solved(n));
    Ground { n, stickers }
}

fn colours(state: &State) -> Vec<Option<Name>> {
    let stickers = state.stickers().iter();
    stickers
        .map(|&home| Some(Scheme::COMMON.colour(home)))
        .collect()
}

/// The cube in the hold, the groups that matter in full colour.
fn drawn<T>(example: &Example, draw: impl FnOnce(&Solid) -> T) -> T {
    let state = &example.state;
    let stickers = colours(state);
    let bright: BTreeSet<usize> = example
        .edges
        .iter()
        .flat_map(|&edge| strip_places(state.layout(), edge))
        .flatten()
        .map(usize::from)
        .collect();
    let names: Vec<&str> = example.edges.iter().map(|&edge| EDGE_NAMES[edge]).collect();
    let title = format!("{}, shown at {}", example.case.title, listed(&names));
    draw(&Solid {
        n: state.n(),
        stickers: &stickers,
        bright: &bright,
        turning: None,
        title: &title,
    })
}

fn write_card(html: &mut String, number: usize, example: &Example, picture: &str) {
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
    html.push_str("</div>\n<ol>");
    for step in &example.steps {
        for &step in step.hold.0.iter().chain(&step.moves.0) {
            let _ = write!(html, "<li><b>{step}</b> {}</li>", spoken(step));
        }
    }
    html.push_str("</ol>\n</article>\n");
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
