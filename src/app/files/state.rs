//! A state or an earlier reading as JSON to the colours of a cube's stickers, or one sentence that names the place.

use crate::colour::Name;
use crate::cube::{Face, LEAST_ORDER, MOST_ORDER};
use crate::reader::Colouring;
use serde_json::Value;
use thiserror::Error;

/// What a text lacks to be a state.
#[derive(Debug, Error)]
#[non_exhaustive]
pub enum StateProblem {
    /// No JSON.
    #[error(
        "the text is no JSON ({0}); a state looks like {{\"n\": 3, \"faces\": {{\"U\": [[\"white\", …], …], …}}}}"
    )]
    NotJson(String),
    /// An earlier reading that gave no faces.
    #[error("this reading gave no stickers (its faces are null); read the cube again")]
    Unread,
    /// Something else than expected stands at a place.
    #[error("at {place}: {met} was met, {expected} was expected; mend it there")]
    At {
        /// The place, as one would name it in a program: `faces.U[0][2]`.
        place: String,
        /// What stands there.
        met: String,
        /// What should.
        expected: String,
    },
}

// The reason is in the sentence; a source besides it would say it twice.
impl From<serde_json::Error> for StateProblem {
    fn from(why: serde_json::Error) -> Self {
        Self::NotJson(why.to_string())
    }
}

/// The stickers in a file, and how far they can be trusted.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct GivenState {
    /// The stickers.
    pub colouring: Colouring,
    /// Whether they are those of an earlier reading that was not certain.
    pub is_doubtful: bool,
}

/// Reads `{"n": …, "faces": {…}}`, or a whole earlier reading, of which only these two and the outcome matter.
///
/// # Errors
///
/// See [`StateProblem`].
pub fn read_state(text: &str) -> Result<GivenState, StateProblem> {
    let whole: Value = serde_json::from_str(text.trim_start_matches('\u{feff}'))?;
    if !whole.is_object() {
        return Err(at("the top", &whole, "an object with the keys n and faces"));
    }
    let size = &whole["n"];
    let faces = &whole["faces"];
    if faces.is_null() && whole.get("outcome").is_some() {
        return Err(StateProblem::Unread);
    }
    let n = size
        .as_u64()
        .and_then(|n| usize::try_from(n).ok())
        .filter(|n| (LEAST_ORDER..=MOST_ORDER).contains(n))
        .ok_or_else(|| {
            let expected = format!("a whole number from {LEAST_ORDER} to {MOST_ORDER}");
            at("n", size, &expected)
        })?;
    if !faces.is_object() {
        return Err(at("faces", faces, "an object with the keys U R F D L B"));
    }
    let mut stickers = Vec::with_capacity(6 * n * n);
    for face in Face::ALL {
        let place = format!("faces.{face}");
        let rows = list(&faces[face.to_string()], &place, n, "rows")?;
        for (row, colours) in rows.iter().enumerate() {
            let place = format!("{place}[{row}]");
            for (col, word) in list(colours, &place, n, "colours")?.iter().enumerate() {
                stickers.push(colour(word, || format!("{place}[{col}]"))?);
            }
        }
    }
    let colouring = Colouring::new(n, stickers).ok_or(StateProblem::Unread)?;
    Ok(GivenState {
        colouring,
        is_doubtful: whole["outcome"] == "doubtful",
    })
}

fn list<'a>(
    value: &'a Value,
    place: &str,
    n: usize,
    what: &str,
) -> Result<&'a Vec<Value>, StateProblem> {
    let items = value.as_array().filter(|items| items.len() == n);
    items.ok_or_else(|| at(place, value, &format!("a list of {n} {what}")))
}

fn colour(word: &Value, place: impl Fn() -> String) -> Result<Option<Name>, StateProblem> {
    if word.is_null() {
        return Ok(None);
    }
    let name = word.as_str().and_then(Name::from_word);
    name.map(Some).ok_or_else(|| {
        let words: Vec<String> = Name::ALL.iter().map(ToString::to_string).collect();
        let expected = format!("null or one of {}", words.join(" "));
        at(&place(), word, &expected)
    })
}

fn at(place: &str, met: &Value, expected: &str) -> StateProblem {
    let met = match met {
        Value::Null => "nothing".to_owned(),
        Value::Array(items) => format!("a list of {}", items.len()),
        Value::Object(_) => "an object".to_owned(),
        plain => {
            let text = plain.to_string();
            match text.char_indices().nth(40) {
                Some((end, _)) => format!("{}…", &text[..end]),
                None => text,
            }
        }
    };
    StateProblem::At {
        place: place.to_owned(),
        met,
        expected: expected.to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calibration::Scheme;
    use crate::cube::State;
    use serde_json::json;

    fn solved() -> Value {
        let faces = Colouring::painted(&State::solved(2), Scheme::COMMON);
        json!({"n": 2, "faces": faces})
    }

    fn check(change: impl FnOnce(&mut Value), expected: &str) {
        let mut state = solved();
        change(&mut state);
        let problem = read_state(&state.to_string()).unwrap_err().to_string();
        assert!(problem.contains(expected), "{problem}");
    }

    #[test]
    fn states_and_earlier_readings() {
        let read = read_state(&solved().to_string()).unwrap();
        let colouring = Colouring::painted(&State::solved(2), Scheme::COMMON);
        let is_doubtful = false;
        assert_eq!(
            read,
            GivenState {
                colouring,
                is_doubtful
            }
        );
        let mut reading = solved();
        reading["schema"] = json!("sixfold.reading/1");
        reading["faces"]["U"][0][0] = json!(null);
        let read = read_state(&format!("\u{feff}{reading}")).unwrap();
        assert_eq!(read.colouring.unknown().len(), 1);
        reading["outcome"] = json!("doubtful");
        assert!(read_state(&reading.to_string()).unwrap().is_doubtful);
    }

    #[test]
    fn each_fault_is_named_with_its_place() {
        check(
            |state| state["n"] = json!(1),
            "at n: 1 was met, a whole number from 2 to 17",
        );
        check(
            |state| state["n"] = json!(3),
            "at faces.U: a list of 2 was met, a list of 3 rows",
        );
        check(
            |state| state["faces"]["F"][1] = json!(["green"]),
            "at faces.F[1]: a list of 1 was met, a list of 2 colours",
        );
        check(
            |state| state["faces"]["B"][0][1] = json!("teal"),
            "at faces.B[0][1]: \"teal\" was met, null or one of white",
        );
        check(
            |state| state["faces"]["L"] = json!(7),
            "at faces.L: 7 was met",
        );
        check(
            |state| {
                state["faces"] = json!(null);
                state["outcome"] = json!("unreadable");
            },
            "gave no stickers",
        );
        check(|state| *state = json!([]), "at the top: a list of 0");
        let problem = read_state("{\"n\": 2,\n oops").unwrap_err().to_string();
        assert!(problem.contains("line 2 column 2"), "{problem}");
        check(|state| state["n"] = json!("x".repeat(99)), "x…");
    }
}
