//! Where human output goes, and whether it may have colours.

use std::env;
use std::ffi::OsStr;
use std::io::{self, IsTerminal, Write};

/// The longest line of running text, in letters: what stays readable, and fits every terminal.
const LINE_WIDE: usize = 78;

/// How many colours the terminal shows.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Colours {
    /// None: letters only.
    None,
    /// The 256 of the usual table.
    Table,
    /// All of 8-bit sRGB.
    All,
}

/// Standard output, saying so where it takes no more.
pub struct StandardOutput(io::StdoutLock<'static>);

impl StandardOutput {
    /// That of this process.
    pub fn lock() -> Self {
        Self(io::stdout().lock())
    }
}

impl Write for StandardOutput {
    fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        self.0.write(bytes).map_err(in_words)
    }

    fn flush(&mut self) -> io::Result<()> {
        self.0.flush().map_err(in_words)
    }
}

/// Of the same kind, for whoever reads no more is told from a disk that is full.
fn in_words(problem: io::Error) -> io::Error {
    let kind = problem.kind();
    let words = match kind {
        io::ErrorKind::Interrupted | io::ErrorKind::WouldBlock => return problem,
        io::ErrorKind::StorageFull | io::ErrorKind::QuotaExceeded => {
            "the answer cannot be written to standard output: there is no room left on the disk; make room or send it \
             elsewhere, then try again"
                .to_owned()
        }
        _ => format!(
            "the answer cannot be written to standard output, for the system says \"{problem}\"; send it elsewhere"
        ),
    };
    io::Error::new(kind, words)
}

/// A place for text.
pub struct Screen<'a> {
    /// Where the text goes.
    pub out: &'a mut dyn Write,
    /// The colours it may have.
    pub colours: Colours,
}

impl<'a> Screen<'a> {
    /// The screen of this process: with colours only if it is a terminal and nothing forbids them.
    pub fn of_process(out: &'a mut StandardOutput) -> Self {
        let colours = if out.0.is_terminal() {
            colours_of(|name| env::var_os(name))
        } else {
            Colours::None
        };
        Self { out, colours }
    }

    /// Switches to a sticker's colours, `fill` behind `ink`.
    ///
    /// # Errors
    ///
    /// If the text cannot be written.
    pub fn paint(&mut self, fill: [u8; 3], ink: [u8; 3]) -> io::Result<()> {
        match self.colours {
            Colours::None => Ok(()),
            Colours::Table => write!(
                self.out,
                "\x1b[48;5;{}m\x1b[38;5;{}m",
                nearest_in_table(fill),
                nearest_in_table(ink)
            ),
            Colours::All => {
                let [red, green, blue] = fill;
                write!(self.out, "\x1b[48;2;{red};{green};{blue}m")?;
                let [red, green, blue] = ink;
                write!(self.out, "\x1b[38;2;{red};{green};{blue}m")
            }
        }
    }

    /// Writes a paragraph that stands out, and a line break.
    ///
    /// # Errors
    ///
    /// If the text cannot be written.
    pub fn strong(&mut self, text: &str) -> io::Result<()> {
        if self.colours == Colours::None {
            return self.paragraph("", text);
        }
        write!(self.out, "\x1b[1m")?;
        self.paragraph("", text)?;
        self.plain()
    }

    /// Writes a text in lines of at most [`LINE_WIDE`] letters; `mark` stands before the first of them and the
    /// others are set in under it.
    ///
    /// # Errors
    ///
    /// If the text cannot be written.
    pub fn paragraph(&mut self, mark: &str, text: &str) -> io::Result<()> {
        let indent = mark.chars().count();
        for part in text.lines() {
            let mut wide = indent;
            write!(self.out, "{mark}")?;
            for (index, word) in part.split_whitespace().enumerate() {
                let letters = word.chars().count();
                if index > 0 && wide + 1 + letters > LINE_WIDE {
                    write!(self.out, "\n{:indent$}", "")?;
                    wide = indent;
                } else if index > 0 {
                    write!(self.out, " ")?;
                    wide += 1;
                }
                write!(self.out, "{word}")?;
                wide += letters;
            }
            writeln!(self.out)?;
        }
        Ok(())
    }

    /// Goes back to plain text.
    ///
    /// # Errors
    ///
    /// If the text cannot be written.
    pub fn plain(&mut self) -> io::Result<()> {
        match self.colours {
            Colours::None => Ok(()),
            _ => write!(self.out, "\x1b[0m"),
        }
    }
}

/// The colours a terminal with these environment variables shows. `NO_COLOR`, set to anything, forbids them
/// (no-color.org).
fn colours_of(variable: impl Fn(&str) -> Option<std::ffi::OsString>) -> Colours {
    let is = |name: &str, value: &str| variable(name).as_deref() == Some(OsStr::new(value));
    if variable("NO_COLOR").is_some_and(|value| !value.is_empty()) || is("TERM", "dumb") {
        Colours::None
    } else if is("COLORTERM", "truecolor") || is("COLORTERM", "24bit") {
        Colours::All
    } else {
        Colours::Table
    }
}

/// The entry of the 256-colour table nearest to an sRGB colour: its cube of six levels a channel from entry 16,
/// its greys from entry 232.
fn nearest_in_table(colour: [u8; 3]) -> u8 {
    const LEVELS: [u8; 6] = [0, 95, 135, 175, 215, 255];
    let far = |a: u8, b: u8| (i32::from(a) - i32::from(b)).pow(2);
    let level = |channel: u8| {
        let levels = LEVELS.iter().enumerate();
        levels
            .min_by_key(|&(_, &value)| far(channel, value))
            .map_or(0, |(index, _)| index)
    };
    let [red, green, blue] = colour.map(level);
    let in_cube: i32 = [red, green, blue]
        .iter()
        .zip(colour)
        .map(|(&index, channel)| far(LEVELS[index], channel))
        .sum();
    let greys = (0..24_u8).map(|step| {
        let value = 8 + 10 * step;
        (
            colour
                .iter()
                .map(|&channel| far(channel, value))
                .sum::<i32>(),
            232 + step,
        )
    });
    match greys.min() {
        Some((in_greys, entry)) if in_greys < in_cube => entry,
        _ => (16 + 36 * red + 6 * green + blue) as u8,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_forbids_colours() {
        let check = |variables: &[(&str, &str)], expected| {
            let found = colours_of(|name| {
                let mut all = variables.iter();
                all.find(|(known, _)| *known == name)
                    .map(|(_, value)| value.into())
            });
            assert_eq!(found, expected, "{variables:?}");
        };
        check(&[], Colours::Table);
        check(&[("COLORTERM", "truecolor")], Colours::All);
        check(
            &[("COLORTERM", "truecolor"), ("NO_COLOR", "1")],
            Colours::None,
        );
        check(&[("NO_COLOR", "")], Colours::Table);
        check(&[("TERM", "dumb")], Colours::None);
    }

    #[test]
    fn paragraphs_are_set_in_under_their_mark() {
        let mut out = Vec::new();
        let mut screen = Screen {
            out: &mut out,
            colours: Colours::None,
        };
        let word = "abcdefghijklmnopqrstuvwxyz";
        screen.paragraph("- ", &[word; 4].join(" ")).unwrap();
        let expected = format!("- {word} {word}\n  {word} {word}\n");
        assert_eq!(String::from_utf8(out).unwrap(), expected);
    }

    /// Source: the table of xterm (its file 256colres.h): 16 + 36 r + 6 g + b, greys 8 + 10 k from 232.
    #[test]
    fn entries_of_the_table() {
        assert_eq!(nearest_in_table([0, 0, 0]), 16);
        assert_eq!(nearest_in_table([255, 255, 255]), 231);
        assert_eq!(nearest_in_table([255, 0, 0]), 196);
        assert_eq!(nearest_in_table([128, 128, 128]), 244);
        assert_eq!(nearest_in_table([36, 79, 179]), 25);
    }
}
