//! `sixfold cases`: the sheet of all cases of a size, to print.

use crate::advise::{Error, Example, Selection, example};
use crate::app::files::{make_folder, write_whole};
use crate::app::report::{Screen, progress};
use crate::app::{Stop, Verdict};
use crate::diagnose::Case;
use crate::explain::{Card, PartedSheet, case_sheet};
use clap::Args;
use rayon::prelude::*;
use std::path::{Path, PathBuf};

/// The largest cube whose cases a sheet is made of.
const LARGEST: usize = 11;

/// Draw the sheet of all last-group and parity cases of a size
///
/// Writes index.html, one page to print with a picture, the hold, the moves and their words for each case, and each
/// picture as an SVG of its own. From the 9×9×9 on there are thousands of cases: those are drawn whose open layers are
/// all open in the same way, unless `--every` asks for all.
#[derive(Debug, Args)]
pub struct Cases {
    /// The size of the cube: stickers along an edge, 4 to 11
    #[arg(long, value_name = "N", value_parser = size)]
    size: usize,
    /// The folder to write into; it is made if need be
    #[arg(long, value_name = "FOLDER")]
    out: PathBuf,
    /// Draw every case of a 9×9×9, 10×10×10 or 11×11×11, in parts of up to 200 to which index.html leads
    ///
    /// These are 1951, 5794 and 43135 cases: on two cores four, twelve and a hundred seconds, and 27, 92 and 755 MB. The
    /// pictures are then only in the pages.
    #[arg(long)]
    every: bool,
}

impl Cases {
    /// Carries the command out.
    ///
    /// # Errors
    ///
    /// If the folder cannot be written to.
    pub fn run(&self, screen: &mut Screen) -> Result<Verdict, Stop> {
        let n = self.size;
        let folder = &self.out;
        make_folder(folder)?;
        let page = folder.join("index.html");
        let selection = Selection::of(n);
        let count = if self.every && selection.left_out > 0 {
            write_parts(n, folder)?
        } else {
            write_page(n, &selection, folder)?
        };
        let cases = if count == 1 { "case" } else { "cases" };
        screen.paragraph(
            "",
            &format!(
                "{count} {cases} of the {n}×{n}×{n} written; open {}",
                page.display()
            ),
        )?;
        if selection.left_out > 0 && !self.every {
            screen.paragraph(
                "",
                &format!(
                    "In {} more cases layers are open in different ways; --every draws them, too, and `sixfold diagnose \
                     --picture FILE STATE.json` works out the case of the cube in hand, with its picture, hold and moves.",
                    selection.left_out
                ),
            )?;
        }
        Ok(Verdict::Answered)
    }
}

/// Writes the cases that fit on one page; says how many.
fn write_page(n: usize, selection: &Selection, folder: &Path) -> anyhow::Result<usize> {
    let progress = progress(selection.cases.len(), "cases");
    let made = |case: &Case| {
        let made = example(n, case);
        progress.inc(1);
        made
    };
    let examples: Result<Vec<Example>, Error> = selection.cases.par_iter().map(made).collect();
    let sheet = case_sheet(n, selection, &examples?);
    for (id, picture) in &sheet.pictures {
        write_whole(&folder.join(format!("{id}.svg")), picture.as_bytes())?;
    }
    write_whole(&folder.join("index.html"), sheet.html.as_bytes())?;
    progress.finish_and_clear();
    Ok(sheet.pictures.len())
}

/// Writes all cases, part by part, and at last the page that leads to them; says how many.
fn write_parts(n: usize, folder: &Path) -> anyhow::Result<usize> {
    let sheet = PartedSheet::of(n);
    let progress = progress(sheet.count(), "cases");
    for part in sheet.parts() {
        let made = |&(number, case): &(usize, &Case)| {
            let made = example(n, case).map(|example| Card::of(number, &example));
            progress.inc(1);
            made
        };
        let cards: Result<Vec<Card>, Error> = sheet.numbered(part).par_iter().map(made).collect();
        let page = sheet.page(part, &cards?);
        write_whole(&folder.join(part.file_name()), page.as_bytes())?;
    }
    write_whole(&folder.join("index.html"), sheet.index().as_bytes())?;
    progress.finish_and_clear();
    Ok(sheet.count())
}

fn size(text: &str) -> Result<usize, String> {
    match text.parse() {
        Ok(n @ 4..=LARGEST) => Ok(n),
        Ok(..4) => Err(format!(
            "so small a cube has no edge groups to pair and so no such cases; sizes 4 to {LARGEST} have a sheet"
        )),
        Ok(_) => Err(format!(
            "so large a cube has too many cases for a sheet (sizes 4 to {LARGEST} have one); `sixfold diagnose --picture \
             FILE STATE.json` works out the case of the cube in hand, with its picture, hold and moves, on any size"
        )),
        Err(_) => Err(format!("sizes are whole numbers from 4 to {LARGEST}")),
    }
}
