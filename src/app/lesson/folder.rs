//! A folder to the photos in it, in the order of their names as a person would sort them.

use anyhow::{Context, Result};
use std::cmp::Ordering;
use std::collections::BTreeSet;
use std::ffi::OsStr;
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
const ENDINGS: [&str; 8] = ["jpg", "jpeg", "jpe", "png", "webp", "heic", "heif", "hif"];

/// What is in a folder.
#[derive(Debug, Default)]
pub struct Listing {
    /// The photos.
    pub entries: Vec<Entry>,
    /// Folders that cannot be looked into, each with a sentence.
    pub problems: Vec<String>,
    /// The folders that were looked into, by their true paths: links may lead in a circle.
    seen: BTreeSet<PathBuf>,
}

/// All photos in a folder and the folders inside it, hidden ones and the report left out.
///
/// # Errors
///
/// If the folder itself cannot be listed.
pub fn listing(folder: &Path, report: &Path) -> Result<Listing> {
    let mut listing = Listing::default();
    listing.seen.extend(fs::canonicalize(report).ok());
    listing.walk(folder, None).with_context(|| closed(folder))?;
    let place = |entry: &Entry| entry.place.clone().unwrap_or_default();
    listing.entries.sort_by(|one, other| {
        natural(&place(one), &place(other))
            .then_with(|| natural(&one.path.to_string_lossy(), &other.path.to_string_lossy()))
    });
    Ok(listing)
}

fn closed(folder: &Path) -> String {
    format!(
        "the folder cannot be looked into; check who may open it: {}",
        folder.display()
    )
}

impl Listing {
    fn walk(&mut self, folder: &Path, place: Option<&str>) -> Result<()> {
        if !self.seen.insert(fs::canonicalize(folder)?) {
            return Ok(());
        }
        for item in fs::read_dir(folder)? {
            let path = item?.path();
            let name = text(path.file_name());
            if name.starts_with('.') {
                continue;
            }
            if path.is_dir() {
                // One closed folder does not keep the others from being read.
                if let Err(problem) = self.walk(&path, Some(place.unwrap_or(&name))) {
                    self.problems.push(format!("{} ({problem})", closed(&path)));
                }
            } else if ENDINGS.contains(&text(path.extension()).to_lowercase().as_str()) {
                self.entries.push(Entry {
                    place: place.map(str::to_owned),
                    path,
                });
            }
        }
        Ok(())
    }
}

fn text(part: Option<&OsStr>) -> String {
    part.unwrap_or_default().to_string_lossy().into_owned()
}

/// Compares names with numbers in them by the numbers: photo 2 comes before photo 10; letters without regard to capitals and,
/// in the languages of Western Europe, to accents.
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
                let order = plain(x).cmp(plain(y));
                if order != Ordering::Equal {
                    return order;
                }
                a.next();
                b.next();
            }
        }
    }
}

/// A letter as a person looks for it: small, without its accent (Latin-1).
fn plain(letter: char) -> std::char::ToLowercase {
    let small = letter.to_lowercase().next().unwrap_or(letter);
    let bare = match small {
        'à'..='å' => 'a',
        'ç' => 'c',
        'è'..='ë' => 'e',
        'ì'..='ï' => 'i',
        'ñ' => 'n',
        'ò'..='ö' | 'ø' => 'o',
        'ù'..='ü' => 'u',
        'ý' | 'ÿ' => 'y',
        _ => letter,
    };
    bare.to_lowercase()
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
        let mut names = ["Zoe", "Öz", "Émile", "Fatima", "emil", "Eva"];
        names.sort_by(|one, other| natural(one, other));
        assert_eq!(names, ["emil", "Émile", "Eva", "Fatima", "Öz", "Zoe"]);
    }
}
