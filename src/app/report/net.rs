//! The unfolded faces in letters.

use super::screen::{Colours, Screen};
use crate::colour::Name;
use crate::cube::{Face, Spot};
use crate::explain::{Mark, letter, paint};
use crate::reader::Colouring;
use std::collections::BTreeMap;
use std::io;

/// The faces of the net, row by row, as one sees them after unfolding the cube; `None` leaves a space.
const NET: [[Option<Face>; 4]; 3] = [
    [None, Some(Face::U), None, None],
    [Some(Face::L), Some(Face::F), Some(Face::R), Some(Face::B)],
    [None, Some(Face::D), None, None],
];

/// Writes the unfolded cube: a letter for each sticker, `?` after one in doubt, `!` after one that cannot be
/// so, `?` alone for one that is not known.
///
/// # Errors
///
/// If the text cannot be written.
pub fn net(
    screen: &mut Screen,
    colouring: &Colouring,
    marks: &BTreeMap<usize, Mark>,
) -> io::Result<()> {
    let n = colouring.n();
    let cell_wide = if screen.colours == Colours::None {
        2
    } else {
        3
    };
    let face_wide = (n * cell_wide).max(TITLE_WIDE);
    for band in NET {
        let titles = band.map(|face| {
            let title = face.map_or("", title_of);
            format!("{title:face_wide$}")
        });
        writeln!(screen.out, "  {}", titles.join("  ").trim_end())?;
        for row in 0..n {
            let mut line = Vec::new();
            let mut on_line = Screen {
                out: &mut line,
                colours: screen.colours,
            };
            write!(on_line.out, "  ")?;
            let last = band.iter().rposition(Option::is_some).unwrap_or(0);
            for (index, face) in band.iter().enumerate().take(last + 1) {
                let mut blank = face_wide + if index < last { 2 } else { 0 };
                if let Some(face) = face {
                    row_of(&mut on_line, colouring, marks, (*face, row))?;
                    blank -= n * cell_wide;
                }
                write!(on_line.out, "{:blank$}", "")?;
            }
            screen.out.write_all(line.trim_ascii_end())?;
            writeln!(screen.out)?;
        }
        writeln!(screen.out)?;
    }
    legend(screen, colouring, marks)
}

/// Says which letters are not initials (those of black, grey and pink belong to blue, green and purple), and what the
/// marks mean.
fn legend(
    screen: &mut Screen,
    colouring: &Colouring,
    marks: &BTreeMap<usize, Mark>,
) -> io::Result<()> {
    let is_initial = |colour: Name| {
        let initial = colour.word().chars().next();
        initial.is_some_and(|initial| initial.to_ascii_uppercase() == letter(colour))
    };
    let met = |colour: &Name| colouring.stickers().contains(&Some(*colour));
    let mut told: Vec<String> = Name::ALL
        .into_iter()
        .filter(|colour| met(colour) && !is_initial(*colour))
        .map(|colour| format!("{} is {colour}", letter(colour)))
        .collect();
    let is_marked = |mark: Mark| marks.values().any(|&other| other == mark);
    for (is_there, words) in [
        (is_marked(Mark::Fault), "! marks what cannot be so"),
        (is_marked(Mark::Doubt), "? marks what is in doubt"),
        (colouring.stickers().contains(&None), "? alone is unknown"),
    ] {
        if is_there {
            told.push(words.to_owned());
        }
    }
    if told.is_empty() {
        return Ok(());
    }
    screen.paragraph("", &format!("{}.", told.join(", ")))?;
    writeln!(screen.out)
}

/// The width of the longest title.
const TITLE_WIDE: usize = 8;

const fn title_of(face: Face) -> &'static str {
    match face {
        Face::U => "U top",
        Face::R => "R right",
        Face::F => "F front",
        Face::D => "D bottom",
        Face::L => "L left",
        Face::B => "B back",
    }
}

fn row_of(
    screen: &mut Screen,
    colouring: &Colouring,
    marks: &BTreeMap<usize, Mark>,
    (face, row): (Face, usize),
) -> io::Result<()> {
    let n = colouring.n();
    for col in 0..n {
        let place = Spot { face, row, col }.place(n);
        let mark = match marks.get(&place) {
            Some(Mark::Doubt) => '?',
            Some(Mark::Fault) => '!',
            None => ' ',
        };
        let colour = colouring.stickers()[place];
        let shown = colour.map_or('?', letter);
        if let Some(colour) = colour {
            let paint = paint(colour);
            screen.paint(paint.fill, paint.ink)?;
        }
        if screen.colours == Colours::None {
            write!(screen.out, "{shown}{mark}")?;
        } else {
            write!(screen.out, " {shown}{mark}")?;
        }
        screen.plain()?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::calibration::Scheme;
    use crate::cube::State;

    fn text(colours: Colours) -> String {
        let colouring = Colouring::painted(&State::solved(2), Scheme::COMMON);
        let mut stickers = colouring.stickers().to_vec();
        stickers[3] = None;
        let colouring = Colouring::new(2, stickers).unwrap();
        let marks = [(0, Mark::Doubt), (9, Mark::Fault)].into();
        let mut out = Vec::new();
        let mut screen = Screen {
            out: &mut out,
            colours,
        };
        net(&mut screen, &colouring, &marks).unwrap();
        String::from_utf8(out).unwrap()
    }

    #[test]
    fn letters_alone() {
        let expected = "
            U top
            W?W
            W ?

  L left    F front   R right   B back
  O O       G G!      R R       B B
  O O       G G       R R       B B

            D bottom
            Y Y
            Y Y

! marks what cannot be so, ? marks what is in doubt, ? alone is unknown.

";
        assert_eq!(text(Colours::None), expected[1..]);
    }

    #[test]
    fn letters_that_are_no_initials_are_told() {
        let mut scheme = Scheme::COMMON;
        scheme.0[0] = Name::Black;
        let colouring = Colouring::painted(&State::solved(2), scheme);
        let mut out = Vec::new();
        let mut screen = Screen {
            out: &mut out,
            colours: Colours::None,
        };
        net(&mut screen, &colouring, &BTreeMap::new()).unwrap();
        let text = String::from_utf8(out).unwrap();
        assert!(text.ends_with("\nK is black.\n\n"), "{text}");
    }

    #[test]
    fn colours_leave_the_letters() {
        let coloured = text(Colours::All);
        assert!(coloured.contains("\x1b[48;2;246;246;242m\x1b[38;2;22;24;28m W?\x1b[0m"));
        assert!(text(Colours::Table).contains("\x1b[48;5;"));
    }
}
