//! `sixfold sequence`: what a sequence of moves does, for whoever checks a handout before printing it.

use super::diagnose::{colouring_in, state_of};
use super::picture::{drawable, write_picture};
use crate::advise::{Analysis, Kind, analyse};
use crate::app::report::{self, Screen};
use crate::app::{Stop, Verdict};
use crate::cube::{LEAST_ORDER, MOST_ORDER, State, with_article};
use crate::diagnose::{self, Diagnosis, Legality};
use crate::explain::{self, piece_kind, spoken};
use crate::reader::Colouring;
use anyhow::{Context, ensure};
use clap::Args;
use serde::Serialize;
use std::collections::BTreeMap;
use std::path::PathBuf;

/// Say what a sequence of moves does
#[derive(Debug, Args)]
pub struct Sequence {
    /// The moves, such as "Rw U2 3Fw' x": face letters, w for two layers, 3…w for three, ' and 2, rotations x y z
    #[arg(value_name = "MOVES", allow_hyphen_values = true)]
    moves: String,
    /// The size of the cube: stickers along an edge
    #[arg(long, value_name = "N", value_parser = size, required_unless_present = "state")]
    size: Option<usize>,
    /// Also make the moves on the cube in this file, and say where it then stands
    #[arg(long, value_name = "STATE.json")]
    state: Option<PathBuf>,
    /// Print one JSON document for other programs instead of text
    #[arg(long)]
    json: bool,
    /// Also draw the unfolded faces after the moves into this file: .svg or .png
    #[arg(long, value_name = "FILE", value_parser = drawable())]
    picture: Option<PathBuf>,
}

fn size(text: &str) -> Result<usize, String> {
    match text.parse() {
        Ok(n) if (LEAST_ORDER..=MOST_ORDER).contains(&n) => Ok(n),
        _ => Err(format!(
            "sizes are whole numbers from {LEAST_ORDER} to {MOST_ORDER}"
        )),
    }
}

/// The answer for other programs.
#[derive(Serialize)]
struct Answer<'a> {
    schema: &'static str,
    #[serde(flatten)]
    analysis: &'a Analysis,
    words: Vec<String>,
    applied: Option<&'a Applied>,
}

/// The cube of the file after the moves.
#[derive(Serialize)]
struct Applied {
    faces: Colouring,
    legality: Legality,
    diagnosis: Diagnosis,
}

impl Sequence {
    /// Carries the command out.
    ///
    /// # Errors
    ///
    /// If the moves are none, do not fit the size, or the state cannot be used.
    pub fn run(&self, screen: &mut Screen) -> Result<Verdict, Stop> {
        let given = self.state.as_ref().map(|path| {
            let colouring = colouring_in(path)?;
            state_of(path, &colouring)
        });
        let given = given.transpose()?;
        let n = self.order(given.as_ref().map(|(state, _)| state.n()))?;
        let moves = crate::cube::Sequence::for_order(&self.moves, n)
            .with_context(|| format!("the moves cannot be made on the {n}×{n}×{n}"))?;
        let analysis = analyse(&moves, n);
        let applied = given.map(|(state, scheme)| {
            let after = state.after(&moves.0);
            let words = crate::cube::Words::new(scheme.0.map(crate::colour::Name::word));
            let (legality, diagnosis) = diagnose::examine(&after, &words);
            Applied {
                faces: Colouring::painted(&after, scheme),
                legality,
                diagnosis,
            }
        });
        if let Some(path) = &self.picture {
            let solved = || {
                let after = State::solved(n).after(&moves.0);
                Colouring::painted(&after, crate::calibration::Scheme::COMMON)
            };
            let shown = applied
                .as_ref()
                .map_or_else(solved, |applied| applied.faces.clone());
            write_picture(path, &explain::net(n, shown.stickers(), &BTreeMap::new()))?;
        }
        if self.json {
            let answer = Answer {
                schema: "sixfold.sequence/1",
                analysis: &analysis,
                words: moves.0.iter().copied().map(spoken).collect(),
                applied: applied.as_ref(),
            };
            report::json(screen, &answer)?;
        } else {
            tell(screen, &analysis, applied.as_ref())?;
        }
        Ok(Verdict::Answered)
    }

    /// The size of the cube, from the option or the state.
    fn order(&self, of_state: Option<usize>) -> anyhow::Result<usize> {
        if let (Some(size), Some(n)) = (self.size, of_state) {
            ensure!(
                size == n,
                "--size says {size}, the cube in the file is {}; leave --size out",
                with_article(&format!("{n}×{n}×{n}"))
            );
        }
        self.size
            .or(of_state)
            .context("the size of the cube is needed: --size N")
    }
}

fn tell(screen: &mut Screen, analysis: &Analysis, applied: Option<&Applied>) -> anyhow::Result<()> {
    screen.strong(&format!(
        "On a solved {0}×{0}×{0}: {1}",
        analysis.n, analysis.moves
    ))?;
    screen.paragraph("", &analysis.text)?;
    writeln!(screen.out)?;
    for cycle in &analysis.cycles {
        let turned = match (cycle.turned, cycle.kind) {
            (0, _) => "",
            (1, Kind::Corner) => " (coming round twisted clockwise)",
            (_, Kind::Corner) => " (coming round twisted anticlockwise)",
            _ => " (coming round flipped)",
        };
        let kind = piece_kind(cycle.kind, analysis.n);
        // The kind stands once before the places, not in each of them.
        let before = format!("{} of ", kind.trim_end_matches('s'));
        let places: Vec<&str> = cycle
            .places
            .iter()
            .map(|place| place.strip_prefix(&before).unwrap_or(place))
            .collect();
        screen.paragraph("- ", &format!("{kind}: {}{turned}", places.join(" → ")))?;
    }
    if let Some(applied) = applied {
        writeln!(screen.out)?;
        screen.strong("On the cube in the file, the moves lead to:")?;
        screen.paragraph("", &applied.diagnosis.text)?;
        writeln!(screen.out)?;
        report::net(screen, &applied.faces, &BTreeMap::new())?;
    }
    Ok(())
}
