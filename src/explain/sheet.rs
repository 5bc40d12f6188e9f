//! The cases of a size to print: as one page with a picture each, or, where there are thousands, as [`parts`] with a page
//! that leads to them.

mod card;
mod parts;

pub use card::Card;
pub use parts::{Part, PartedSheet};

use crate::advise::{Example, Selection};
use crate::cube::counted;
use crate::diagnose::{Case, Structure};
use std::fmt::Write;

/// A sheet of cases.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// The page: one HTML document with its pictures inside.
    pub html: String,
    /// The pictures alone, each with the id of its case.
    pub pictures: Vec<(String, String)>,
}

const STYLE: &str = include_str!("sheet/sheet.css");

/// Lays out the sheet of a cube of order `n` from the cases of a selection, each as an example.
pub fn case_sheet(n: usize, selection: &Selection, examples: &[Example]) -> Sheet {
    let mut by_section: Vec<&Example> = examples.iter().collect();
    by_section.sort_by_key(|example| Section::of(&example.case));
    let numbered = by_section.iter().zip(1..);
    let cards: Vec<Card> = numbered
        .map(|(example, number)| Card::of(number, example))
        .collect();
    let mut html = page_begun(
        "whole",
        &format!("Last-group and parity cases of the {n}×{n}×{n}"),
        &format!("{INTRODUCTION}{}", left_out(selection)),
    );
    html.push_str(&card::grounds(n, &cards));
    let mut at = 0;
    for section in
        by_section.chunk_by(|one, other| Section::of(&one.case) == Section::of(&other.case))
    {
        // Writing to a String cannot fail, here and below.
        let _ = write!(
            html,
            "<section>\n<h2>{} <small>{}</small></h2>\n",
            Section::of(&section[0].case).title(),
            cases(section.len())
        );
        for card in &cards[at..at + section.len()] {
            html.push_str(&card.html);
        }
        at += section.len();
        html.push_str("</section>\n");
    }
    html.push_str(PAGE_ENDED);
    let picture = |example: &&Example| (example.case.id.clone(), card::picture(example));
    Sheet {
        html,
        pictures: by_section.iter().map(picture).collect(),
    }
}

/// The sections of a sheet, in their order.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Section {
    OneGroup,
    TwoGroups,
    Reduced,
}

impl Section {
    fn of(case: &Case) -> Self {
        match &case.structure {
            Structure::LastGroups(groups) if groups.key.open() == 1 => Self::OneGroup,
            Structure::LastGroups(_) => Self::TwoGroups,
            Structure::Reduced { .. } => Self::Reduced,
        }
    }

    const fn title(self) -> &'static str {
        match self {
            Self::OneGroup => "One edge group open",
            Self::TwoGroups => "Two edge groups open",
            Self::Reduced => "All groups whole, with a parity",
        }
    }
}

/// A page up to the end of its header; `kind` is a class for the style sheet.
fn page_begun(kind: &str, title: &str, header: &str) -> String {
    format!(
        r#"<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<title>{title}</title>
<style>{STYLE}</style>
</head>
<body class="{kind}">
<header>
<h1>{title}</h1>
{header}</header>
"#
    )
}

const PAGE_ENDED: &str = "<footer><p>Every sequence on this sheet was made on the cube drawn beside it by a simulator and \
    reaches what is said. Never force a layer that is stuck: turn it back and line the layers up first.</p></footer>\n\
    </body>\n</html>\n";

fn cases(count: usize) -> String {
    if count == 1 {
        "one case".to_owned()
    } else {
        format!("{} cases", counted(count))
    }
}

const INTRODUCTION: &str = "<p>Hold the cube as drawn: the groups in full colour are the ones the case is about, where you \
    see them from the front, above and the right. Your colours and the way round of each group may differ; what counts \
    is which pieces agree. If yours lie elsewhere, bring them there with turns of outer layers.</p>\n\
    <p>R, U, F, D, L, B turn the right, top, front, bottom, left or back layer a quarter turn, clockwise as seen looking \
    at it; with w the two outer layers there, with 3 and w three. A mark ' means anticlockwise, 2 a half turn. Letters \
    on stickers: W white, Y yellow, R red, O orange, B blue, G green.</p>\n";

/// What is not on the sheet, if anything.
fn left_out(selection: &Selection) -> String {
    match selection.left_out {
        0 => String::new(),
        count => format!(
            "<p>These are the cases whose open layers are all open in the same way. In the other {count} cases of this \
             size layers are open in different ways: several of these cases on top of one another. The program works \
             out the one in hand from its stickers or photos, or draws them all in parts (<code>--every</code>).</p>\n"
        ),
    }
}

/// A text as it must stand in HTML and SVG.
pub(super) fn escaped(text: &str) -> String {
    text.replace('&', "&amp;")
        .replace('<', "&lt;")
        .replace('>', "&gt;")
}
