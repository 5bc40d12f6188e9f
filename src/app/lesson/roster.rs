//! A table of names: whose cube is in which folder, or who was photographed when.

use crate::app::files::{Moment, read_text};
use anyhow::{Context, Result, bail, ensure};
use std::cmp::Reverse;
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
    line: usize,
}

/// What the photos of a lesson showed, for the roster to be held against.
#[derive(Clone, Debug, Default)]
pub struct Met<'a> {
    /// The folder in which each photo lies, if it lies in one, and when it was taken, if it says so.
    pub photos: Vec<(Option<&'a str>, Option<Moment>)>,
    /// Whose each cube is, and when the first of its photos was taken.
    pub cubes: Vec<(&'a str, Option<Moment>)>,
    /// Whether all photos were looked at and sorted: otherwise nothing is said of times.
    pub is_whole: bool,
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
                line,
            });
        }
        for (at, row) in rows.iter().enumerate() {
            row.check(&rows[..at])?;
        }
        Ok(Self { rows })
    }

    /// What the roster names and the photos do not show, each as a sentence without a full stop: mistyped, or without
    /// photos.
    pub fn unmet(&self, met: &Met) -> Vec<String> {
        let unmet = self.rows.iter().filter_map(|row| row.unmet(met));
        unmet.chain(self.timeless(met)).collect()
    }

    /// Says that photos outside of folders do not tell when they were taken: only that could tell whose they are.
    fn timeless(&self, met: &Met) -> Option<String> {
        let has_times = self.rows.iter().any(|row| row.from.is_some());
        let timeless = met
            .photos
            .iter()
            .filter(|(place, taken)| place.is_none() && taken.is_none())
            .count();
        let photos = match timeless {
            1 => "one photo outside of the folders does not say when it was taken".to_owned(),
            more => format!("{more} photos outside of the folders do not say when they were taken"),
        };
        (has_times && met.is_whole && timeless > 0).then(|| {
            format!(
                "{photos}, so that no time of the roster tells whose cube is shown; put the photos of each cube into a \
                 folder and name the folder in the roster"
            )
        })
    }

    /// The name for a cube in a folder, photographed between two moments. The folder goes before the time, which divides
    /// those who share a folder; of several times that fit the one that begins last holds.
    pub fn name(
        &self,
        folder: Option<&str>,
        first: Option<Moment>,
        last: Option<Moment>,
    ) -> Option<&str> {
        let in_folder: Vec<&Row> = self
            .rows
            .iter()
            .filter(|row| folder.is_some() && row.folder.as_deref() == folder)
            .collect();
        let row = match &in_folder[..] {
            [one, rest @ ..] if rest.iter().all(|row| row.name == one.name) => Some(*one),
            [] => by_time(self.rows.iter(), first?, last?),
            several => by_time(several.iter().copied(), first?, last?),
        };
        row.map(|row| row.name.as_str())
    }
}

/// The line in whose time two moments lie: of several the one that begins last, and of these the first.
fn by_time<'a>(
    rows: impl Iterator<Item = &'a Row>,
    first: Moment,
    last: Moment,
) -> Option<&'a Row> {
    rows.filter(|row| row.covers(first) && row.covers(last))
        .enumerate()
        .max_by_key(|(at, row)| (row.from, Reverse(*at)))
        .map(|(_, row)| row)
}

/// The end of a minute: a time until which something lasted is written to the minute.
const fn after(until: Moment) -> Moment {
    Moment(until.0 + 60)
}

impl Row {
    /// Refuses what contradicts itself or a line before: a name would be lost.
    fn check(&self, before: &[Self]) -> Result<()> {
        let line = self.line;
        if let (Some(from), Some(until)) = (self.from, self.until) {
            ensure!(
                from <= until,
                "line {line}: {} is from {from} until {until}, which is earlier; exchange or mend the two times",
                self.name
            );
        }
        for other in before
            .iter()
            .filter(|other| other.name != self.name && other.folder == self.folder)
        {
            if let Some(folder) = &self.folder {
                ensure!(
                    self.from.is_some() && other.from.is_some(),
                    "lines {} and {line}: {} and {} both have the folder {folder}; give each a folder, or both their times",
                    other.line,
                    other.name,
                    self.name
                );
            }
            ensure!(
                !self.overlaps(other),
                "lines {} and {line}: the times of {} and {} overlap, so that a cube would have two names; let one end \
                 before the other begins",
                other.line,
                other.name,
                self.name
            );
        }
        Ok(())
    }

    /// Whether two lines claim the same time; who has no end is followed by whoever begins later.
    fn overlaps(&self, other: &Self) -> bool {
        let (Some(one), Some(two)) = (self.from, other.from) else {
            return false;
        };
        let both_end = self.until.zip(other.until);
        one == two || both_end.is_some_and(|(end, other_end)| one < other_end && two < end)
    }

    /// Whether a moment is in the line's time.
    fn covers(&self, moment: Moment) -> bool {
        self.from.is_some_and(|from| from <= moment)
            && self.until.is_none_or(|until| moment < after(until))
    }

    /// What is to be said if the photos show nothing of this line.
    fn unmet(&self, met: &Met) -> Option<String> {
        let name = &self.name;
        if let Some(folder) = &self.folder {
            let is_met = |(place, _): &(Option<&str>, _)| *place == Some(folder);
            if !met.photos.iter().any(is_met) {
                return Some(format!(
                    "the roster has {name} in the folder {folder}, in which no photo lies"
                ));
            }
        }
        let Some(from) = self.from else {
            return self.folder.is_none().then(|| {
                format!(
                    "the roster has {name} without a folder or a time to begin; fill in one of them, so that photos can be \
                     found"
                )
            });
        };
        let is_met = met.cubes.iter().any(|(who, taken)| {
            who == name && (self.folder.is_some() || taken.is_some_and(|taken| self.covers(taken)))
        });
        if is_met || !met.is_whole {
            return None;
        }
        let time = self.until.map_or_else(
            || format!("from {from}"),
            |until| format!("from {from} until {until}"),
        );
        let why = if !met.photos.is_empty() && met.photos.iter().all(|(_, taken)| taken.is_none()) {
            "but no photo says when it was taken; give a folder instead"
        } else if met
            .photos
            .iter()
            .any(|(_, taken)| taken.is_some_and(|taken| self.covers(taken)))
        {
            "but no cube was photographed wholly in that time; check the times, and the photos not placed"
        } else {
            "when no photo was taken; check the times and the camera's clock"
        };
        Some(format!("the roster has {name} {time}, {why}"))
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
        assert_eq!(roster.name(Some("s9"), None, None), None);
        let check =
            |first, last, expected| assert_eq!(roster.name(None, at(first), at(last)), expected);
        check("2026:05:04 10:00:00", "2026:05:04 10:04:59", Some("seat 4"));
        check("2026:05:04 10:00:00", "2026:05:04 10:05:00", None);
        check("2026:05:04 09:59:59", "2026:05:04 10:04:00", None);
    }

    #[test]
    fn people_who_share_a_folder_or_follow_one_another_are_told_apart() {
        let roster = Roster::parse(
            "name,folder,from,until\nA,s1,2026-05-04 10:00,2026-05-04 10:10\nB,s1,2026-05-04 10:10,2026-05-04 10:20\n\
             C,,2026-05-04 11:00,\nD,,2026-05-04 12:00,\n",
        )
        .unwrap();
        let check = |folder, time: &str, expected| {
            let at = Moment::parse(&format!("2026-05-04 {time}"));
            assert!(at.is_some(), "{time}");
            assert_eq!(roster.name(folder, at, at), expected, "{time}");
        };
        check(Some("s1"), "10:05", Some("A"));
        check(Some("s1"), "10:15", Some("B"));
        check(Some("s1"), "10:25", None);
        check(None, "11:59", Some("C"));
        check(None, "12:01", Some("D"));
    }

    #[test]
    fn nobody_is_lost_in_silence() {
        let roster = Roster::parse(
            "name,folder,from,until\nA,s1,,\nB,,2026-05-04 10:00,2026-05-04 10:04\nC,,,\nD,,2026-05-04 11:00,\n",
        )
        .unwrap();
        let at = |time: &str| Moment::parse(&format!("2026-05-04 {time}"));
        let check = |photos: &[(Option<&'static str>, Option<Moment>)],
                     cubes: &[(&'static str, Option<Moment>)],
                     words: &[&str]| {
            let met = Met {
                photos: photos.to_vec(),
                cubes: cubes.to_vec(),
                is_whole: true,
            };
            let unmet = roster.unmet(&met);
            assert_eq!(unmet.len(), words.len(), "{unmet:?}");
            for (sentence, words) in unmet.iter().zip(words) {
                assert!(sentence.contains(words), "{sentence} / {words}");
            }
        };
        let c = "C without a folder or a time";
        check(
            &[(Some("s1"), None), (None, at("10:01")), (None, at("11:30"))],
            &[("A", None), ("B", at("10:01")), ("D", at("11:30"))],
            &[c],
        );
        check(
            &[(Some("s2"), None), (None, at("10:01")), (None, None)],
            &[("s2", None), ("Cube 1", at("10:01"))],
            &[
                "A in the folder s1, in which no photo lies",
                "B from 2026-05-04 10:00 until 2026-05-04 10:04, but no cube",
                c,
                "D from 2026-05-04 11:00, when no photo was taken",
                "one photo outside of the folders does not say when",
            ],
        );
        check(
            &[(Some("s1"), None)],
            &[("A", None)],
            &[
                "B from 2026-05-04 10:00 until 2026-05-04 10:04, but no photo says when",
                c,
                "D from 2026-05-04 11:00, but no photo says when",
            ],
        );
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
        let both = "lines 2 and 4: A and C both have the folder s1";
        check("name,folder\nA,s1\nB,s2\nC,s1\n", both);
        let turned = "line 2: A is from 2026-05-04 10:15 until 2026-05-04 10:10, which is earlier";
        check(
            "name,from,until\nA,2026-05-04 10:15,2026-05-04 10:10\n",
            turned,
        );
        let times = "lines 2 and 3: the times of A and B overlap";
        check(
            "name,from,until\nA,2026-05-04 10:00,2026-05-04 10:10\nB,2026-05-04 10:05,2026-05-04 10:20\n",
            times,
        );
    }
}
