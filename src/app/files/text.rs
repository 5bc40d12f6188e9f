//! A path, or `-` for standard input, to the text there.

use anyhow::{Result, ensure};
use std::io::Read;
use std::path::Path;
use std::{fs, io};

/// Far more than the longest reading of the largest cube.
const MOST_BYTES: u64 = 16 << 20;

/// Reads a text.
///
/// # Errors
///
/// If there is none, it is no UTF-8, or it is longer than any state.
pub fn read_text(path: &Path) -> Result<String> {
    if path == Path::new("-") {
        return text_of(io::stdin().lock());
    }
    ensure!(!path.is_dir(), "this is a folder, a file was expected");
    let file = fs::File::open(path).map_err(|problem| match problem.kind() {
        io::ErrorKind::NotFound => anyhow::anyhow!("there is no such file; check the name"),
        _ => anyhow::Error::new(problem),
    })?;
    text_of(file)
}

fn text_of(from: impl Read) -> Result<String> {
    let mut text = String::new();
    from.take(MOST_BYTES + 1)
        .read_to_string(&mut text)
        .map_err(|problem| match problem.kind() {
            io::ErrorKind::InvalidData => anyhow::anyhow!(
                "text in UTF-8 was expected, this is something else; a photo is for `sixfold read`"
            ),
            _ => anyhow::Error::new(problem),
        })?;
    ensure!(
        text.len() as u64 <= MOST_BYTES,
        "more than {} MiB were met, a state is far shorter",
        MOST_BYTES >> 20
    );
    Ok(text)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_no_text() {
        assert_eq!(text_of(&b"{}"[..]).unwrap(), "{}");
        let problem = text_of(&b"\xff\xd8"[..]).unwrap_err();
        assert!(problem.to_string().contains("UTF-8"));
        let problem = text_of(io::repeat(b' ')).unwrap_err();
        assert!(problem.to_string().contains("16 MiB"), "{problem}");
        let problem = read_text(Path::new("no/such/state.json")).unwrap_err();
        assert!(problem.to_string().contains("no such file"));
        assert!(
            read_text(Path::new("."))
                .unwrap_err()
                .to_string()
                .contains("folder")
        );
    }
}
