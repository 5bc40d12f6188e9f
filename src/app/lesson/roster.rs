//! A table of names: whose cube is in which folder, or who was photographed when.

use crate::app::files::{Moment, read_text};
use anyhow::{Context, Result, bail, ensure};
use std::collections::BTreeSet;
use std::path::Path;

/// Names for cubes.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Roster {
    rows: Vec<Row>,
}

#[derive(Clone, Debug, PartialEq, Eq)]
struct Row {
    name: String,
    folder: Option<String>,
    from: Option<Moment>,
    until: Option<Moment>,
}

const EXPECTED: &str = "a line \"name,folder\" or \"name,from,until\" at the top was expected (times as 2026-05-04 10:15)";

impl Roster {
    /// Reads a roster.
    ///
    /// # Errors
    ///
    /// If there is none or it cannot be understood: the message names the line.
    pub fn read(path: &Path) -> Result<Self> {
        read_text(path)
            .and_then(|text| Self::parse(&text))
            .with_context(|| format!("the roster cannot be used: {}", path.display()))
    }

    /// Understands a roster's text.
    ///
    /// # Errors
    ///
    /// If it cannot be understood: the message names the line.
    pub fn parse(text: &str) -> Result<Self> {
        let text = text.trim_start_matches('\u{feff}');
        let first = text.lines().next().unwrap_or_default();
        // Spreadsheets of many countries write semicolons.
        let separator = if first.contains(';') { b';' } else { b',' };
        let mut table = csv::ReaderBuilder::new()
            .delimiter(separator)
            .trim(csv::Trim::All)
            .from_reader(text.as_bytes());
        let heads: Vec<String> = table.headers()?.iter().map(str::to_lowercase).collect();
        let column = |name: &str| heads.iter().position(|head| head == name);
        let Some(name) = column("name") else {
            bail!("the first line is \"{first}\"; {EXPECTED}");
        };
        let (folder, from, until) = (column("folder"), column("from"), column("until"));
        ensure!(
            folder.is_some() || from.is_some(),
            "the first line is \"{first}\"; {EXPECTED}"
        );
        let mut rows = Vec::new();
        for (index, record) in table.records().enumerate() {
            let line = index + 2;
            let record = record.with_context(|| format!("line {line} is no line of a table"))?;
            let text = |column: Option<usize>| {
                column
                    .and_then(|at| record.get(at))
                    .filter(|text| !text.is_empty())
            };
            let moment = |column: Option<usize>| {
                text(column)
                    .map(|text| {
                        Moment::parse(text).with_context(|| {
                            format!("line {line}: \"{text}\" was met, a time like 2026-05-04 10:15 was expected")
                        })
                    })
                    .transpose()
            };
            let Some(name) = text(Some(name)) else {
                bail!("line {line} has no name; fill it in or delete the line");
            };
            rows.push(Row {
                name: name.to_owned(),
                folder: text(folder).map(str::to_owned),
                from: moment(from)?,
                until: moment(until)?,
            });
        }
        Ok(Self { rows })
    }

    /// The names whose folder is none of `folders`, each as a sentence: mistyped, or without photos.
    pub fn without_photos(&self, folders: &BTreeSet<&str>) -> Vec<String> {
        let rows = self.rows.iter();
        let missing = rows.filter_map(|row| Some((&row.name, row.folder.as_deref()?)));
        missing
            .filter(|(_, folder)| !folders.contains(folder))
            .map(|(name, folder)| {
                format!("the roster has {name} in the folder {folder}, in which no photo lies")
            })
            .collect()
    }

    /// The name for a cube in a folder, photographed between two moments; the folder goes before the time.
    pub fn name(
        &self,
        folder: Option<&str>,
        first: Option<Moment>,
        last: Option<Moment>,
    ) -> Option<&str> {
        let by_folder = self
            .rows
            .iter()
            .find(|row| folder.is_some() && row.folder.as_deref() == folder);
        let by_time = || {
            let (first, last) = (first?, last?);
            self.rows.iter().find(|row| {
                row.from.is_some_and(|from| from <= first)
                    && row.until.is_none_or(|until| last.0 < until.0 + 60)
            })
        };
        by_folder.or_else(by_time).map(|row| row.name.as_str())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_by_folder_and_by_time() {
        let roster = Roster::parse("\u{feff}Name;Folder;From;Until\nseat 3; s3 ;;\nseat 4;;2026-05-04 10:00;2026-05-04 10:04\n").unwrap();
        let at = |text| Moment::parse(text);
        assert_eq!(roster.name(Some("s3"), None, None), Some("seat 3"));
        assert_eq!(
            roster.without_photos(&["s1", "s2"].into()),
            ["the roster has seat 3 in the folder s3, in which no photo lies"]
        );
        assert!(roster.without_photos(&["s2", "s3"].into()).is_empty());
        assert_eq!(roster.name(Some("s9"), None, None), None);
        let check =
            |first, last, expected| assert_eq!(roster.name(None, at(first), at(last)), expected);
        check("2026:05:04 10:00:00", "2026:05:04 10:04:59", Some("seat 4"));
        check("2026:05:04 10:00:00", "2026:05:04 10:05:00", None);
        check("2026:05:04 09:59:59", "2026:05:04 10:04:00", None);
    }

    #[test]
    fn each_fault_is_named_with_its_line() {
        let check = |text: &str, words: &str| {
            let problem = format!("{:#}", Roster::parse(text).unwrap_err());
            assert!(problem.contains(words), "{problem}");
        };
        check("seat,place\n1,2\n", "the first line is \"seat,place\"");
        check("name\nseat 1\n", "\"name,folder\" or");
        check("name,folder\nseat 1,a\n,b\n", "line 3 has no name");
        check("name,from\nseat 1,soon\n", "line 2: \"soon\" was met");
        check("name,folder\nseat 1,a,b\n", "line 2");
    }
}
