//! `sixfold cases`: the sheet of all cases of a size, to print.

use crate::advise::examples;
use crate::app::files::write_whole;
use crate::app::report::Screen;
use crate::app::{Stop, Verdict};
use crate::explain::case_sheet;
use anyhow::Context;
use clap::Args;
use std::fs;
use std::path::PathBuf;

/// The largest cube whose cases a sheet is made of.
const LARGEST: usize = 11;

/// Draw the sheet of all last-group and parity cases of a size
///
/// Writes index.html, one page to print with a picture, the hold, the moves and their words for each case, and each
/// picture as an SVG of its own. From the 9×9×9 on there are thousands of cases: those are drawn whose open layers are
/// all open in the same way.
#[derive(Debug, Args)]
pub struct Cases {
    /// The size of the cube: stickers along an edge, 4 to 11
    #[arg(long, value_name = "N", value_parser = size)]
    size: usize,
    /// The folder to write into; it is made if need be
    #[arg(long, value_name = "FOLDER")]
    out: PathBuf,
}

impl Cases {
    /// Carries the command out.
    ///
    /// # Errors
    ///
    /// If the folder cannot be written to.
    pub fn run(&self, screen: &mut Screen) -> Result<Verdict, Stop> {
        let n = self.size;
        let examples = examples(n)?;
        let sheet = case_sheet(n, &examples);
        let folder = &self.out;
        if folder.is_file() {
            return Err(anyhow::anyhow!(
                "a folder was expected, {} is a file; name another one",
                folder.display()
            )
            .into());
        }
        fs::create_dir_all(folder)
            .with_context(|| format!("the folder cannot be made: {}", folder.display()))?;
        let page = folder.join("index.html");
        write_whole(&page, sheet.html.as_bytes())?;
        for (id, picture) in &sheet.pictures {
            write_whole(&folder.join(format!("{id}.svg")), picture.as_bytes())?;
        }
        let count = sheet.pictures.len();
        let cases = if count == 1 { "case" } else { "cases" };
        screen.paragraph(
            "",
            &format!(
                "{count} {cases} of the {n}×{n}×{n} written; open {}",
                page.display()
            ),
        )?;
        if examples.left_out > 0 {
            screen.paragraph(
                "",
                &format!(
                    "In {} more cases layers are open in different ways; `sixfold diagnose --picture FILE STATE.json` \
                     works out the case of the cube in hand, with its picture, hold and moves.",
                    examples.left_out
                ),
            )?;
        }
        Ok(Verdict::Answered)
    }
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
