//! What stickers, pieces and places are called in sentences.

use super::piece::CORNER_NAMES;
use super::{Face, Layout, Spot};

/// What the stickers of each home face are called: a colour word each, or the face's letter.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Words([String; 6]);

impl Words {
    /// These words, in the order of [`Face::ALL`].
    pub fn new(words: [&str; 6]) -> Self {
        Self(words.map(str::to_owned))
    }

    /// The word for the stickers of a home face.
    pub fn of(&self, home: Face) -> &str {
        &self.0[home.index()]
    }

    /// The corner piece of a home position: `white-green-red corner`.
    ///
    /// # Panics
    ///
    /// If `piece` is not below 8.
    pub fn corner(&self, piece: usize) -> String {
        let letters = CORNER_NAMES[piece].chars().filter_map(Face::from_letter);
        format!("{} corner", self.joined(letters))
    }

    /// The two colours of a home edge: `white-green`.
    ///
    /// # Panics
    ///
    /// If `edge` is not below 12.
    pub fn edge(&self, edge: usize) -> String {
        let (a, b) = Layout::EDGES[edge];
        self.joined([a, b])
    }

    fn joined(&self, homes: impl IntoIterator<Item = Face>) -> String {
        let words: Vec<&str> = homes.into_iter().map(|home| self.of(home)).collect();
        words.join("-")
    }
}

impl Default for Words {
    /// The face letters.
    fn default() -> Self {
        Self(Face::ALL.map(|face| face.to_string()))
    }
}

/// Items as an English list: `a`, `a and b`, `a, b and c`.
pub fn listed<S: AsRef<str>>(items: &[S]) -> String {
    let mut text = String::new();
    for (index, item) in items.iter().enumerate() {
        if index > 0 {
            text += if index + 1 == items.len() {
                " and "
            } else {
                ", "
            };
        }
        text += item.as_ref();
    }
    text
}

/// A thing with "a" or "an" before it; a single capital letter in front is read as its name, digits as a number.
pub fn with_article(thing: &str) -> String {
    let first = thing.split([' ', '-']).next().unwrap_or_default();
    let sounds_open = if first.len() == 1 {
        "AEFHILMNORSX".contains(first)
    } else {
        first.starts_with(['a', 'e', 'i', 'o', 'u', '8'])
            || matches!(first.split('×').next(), Some("11" | "18"))
    };
    format!("{} {thing}", if sounds_open { "an" } else { "a" })
}

/// A number as a word up to twelve, in digits beyond.
pub fn counted(number: usize) -> String {
    const WORDS: [&str; 13] = [
        "no", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten",
        "eleven", "twelve",
    ];
    WORDS
        .get(number)
        .map_or_else(|| number.to_string(), |&word| word.to_owned())
}

/// The same words with a capital in front.
pub fn capital(words: &str) -> String {
    let mut letters = words.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}

/// A sticker position as people count: `F row 2, column 3`.
pub fn spot_name(spot: Spot) -> String {
    format!(
        "{} row {}, column {}",
        spot.face,
        spot.row + 1,
        spot.col + 1
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lists_and_numbers_read_as_english() {
        assert_eq!(listed::<&str>(&[]), "");
        assert_eq!(listed(&["a"]), "a");
        assert_eq!(listed(&["a", "b"]), "a and b");
        assert_eq!(listed(&["a", "b", "c"]), "a, b and c");
        assert_eq!(with_article("orange-blue corner"), "an orange-blue corner");
        assert_eq!(with_article("white-green midge"), "a white-green midge");
        assert_eq!(with_article("F-R midge"), "an F-R midge");
        assert_eq!(with_article("U-F midge"), "a U-F midge");
        assert_eq!(with_article("8×8×8 cube"), "an 8×8×8 cube");
        assert_eq!(with_article("11×11×11"), "an 11×11×11");
        assert_eq!(with_article("10×10×10"), "a 10×10×10");
        assert_eq!((counted(2), counted(13)), ("two".into(), "13".into()));
    }

    #[test]
    fn pieces_by_their_colours() {
        let words = Words::new(["white", "red", "green", "yellow", "orange", "blue"]);
        assert_eq!(words.corner(0), "white-green-red corner");
        assert_eq!(words.edge(8), "green-red");
        assert_eq!(Words::default().corner(6), "D-B-L corner");
    }
}
