//! A folder to the photos in it, in the order of their names as a person would sort them.

use anyhow::{Context, Result};
use std::cmp::Ordering;
use std::fs;
use std::path::{Path, PathBuf};

/// A photo and where it belongs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Entry {
    /// The file.
    pub path: PathBuf,
    /// The folder of the lesson's folder it lies in, if it lies in one.
    pub place: Option<String>,
}

/// Endings of files that are photos, or should be.
const ENDINGS: [&str; 7] = ["jpg", "jpeg", "png", "webp", "heic", "heif", "jpe"];

/// All photos in a folder and the folders inside it, hidden ones and the report left out.
///
/// # Errors
///
/// If a folder cannot be listed.
pub fn entries(folder: &Path, report: &Path) -> Result<Vec<Entry>> {
    let report = fs::canonicalize(report).ok();
    let mut found = Vec::new();
    walk(folder, None, report.as_deref(), &mut found)?;
    found.sort_by(|one, other| {
        natural(
            one.place.as_deref().unwrap_or(""),
            other.place.as_deref().unwrap_or(""),
        )
        .then_with(|| natural(&one.path.to_string_lossy(), &other.path.to_string_lossy()))
    });
    Ok(found)
}

fn walk(
    folder: &Path,
    place: Option<&str>,
    report: Option<&Path>,
    found: &mut Vec<Entry>,
) -> Result<()> {
    let listed = fs::read_dir(folder)
        .with_context(|| format!("the folder cannot be listed: {}", folder.display()))?;
    for item in listed {
        let path = item?.path();
        let name = path
            .file_name()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned();
        if name.starts_with('.') {
            continue;
        }
        if path.is_dir() {
            let is_report = report.is_some() && fs::canonicalize(&path).ok().as_deref() == report;
            if !is_report {
                walk(&path, Some(place.unwrap_or(&name)), report, found)?;
            }
        } else {
            let ending = path
                .extension()
                .unwrap_or_default()
                .to_string_lossy()
                .to_lowercase();
            if ENDINGS.contains(&ending.as_str()) {
                found.push(Entry {
                    place: place.map(str::to_owned),
                    path,
                });
            }
        }
    }
    Ok(())
}

/// Compares names with numbers in them by the numbers: photo 2 comes before photo 10.
pub fn natural(one: &str, other: &str) -> Ordering {
    let (mut a, mut b) = (one.chars().peekable(), other.chars().peekable());
    loop {
        match (a.peek().copied(), b.peek().copied()) {
            (None, None) => return one.cmp(other),
            (None, _) => return Ordering::Less,
            (_, None) => return Ordering::Greater,
            (Some(x), Some(y)) if x.is_ascii_digit() && y.is_ascii_digit() => {
                let (x, y) = (number(&mut a), number(&mut b));
                // Without leading noughts the longer number is the larger one.
                let order = x.len().cmp(&y.len()).then_with(|| x.cmp(&y));
                if order != Ordering::Equal {
                    return order;
                }
            }
            (Some(x), Some(y)) => {
                let order = x.to_lowercase().cmp(y.to_lowercase());
                if order != Ordering::Equal {
                    return order;
                }
                a.next();
                b.next();
            }
        }
    }
}

fn number(from: &mut std::iter::Peekable<std::str::Chars>) -> String {
    let mut digits = String::new();
    while let Some(digit) = from.next_if(char::is_ascii_digit) {
        digits.push(digit);
    }
    digits.trim_start_matches('0').to_owned()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_sorted_as_a_person_would() {
        let mut names = ["photo-10", "Photo-2", "photo-1", "photo-002b", "a", "photo"];
        names.sort_by(|one, other| natural(one, other));
        assert_eq!(
            names,
            ["a", "photo", "photo-1", "Photo-2", "photo-002b", "photo-10"]
        );
    }
}
