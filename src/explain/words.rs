//! Moves to sentences a person can follow with the cube in their hands.

use crate::advise::Kind;
use crate::cube::{Axis, Face, Move, Quarter, counted, wing_word};

/// One move as a sentence, without a full stop: which layers, how far, and which way as seen from where.
///
/// ```
/// let moves: sixfold::cube::Sequence = "3Uw".parse()?;
/// assert_eq!(
///     sixfold::explain::spoken(moves.0[0]),
///     "Turn the top three layers a quarter turn, clockwise seen from above"
/// );
/// # Ok::<(), sixfold::cube::NotationError>(())
/// ```
pub fn spoken(step: Move) -> String {
    match step {
        Move::Block {
            face,
            layers,
            quarter,
        } => {
            let side = side(face);
            let what = if layers == 1 {
                format!("{side} layer")
            } else {
                format!("{side} {} layers", counted(layers))
            };
            format!("Turn the {what} {}", amount(quarter, face))
        }
        Move::Rotation { axis, quarter } => format!(
            "Turn the whole cube {}: {}",
            amount(quarter, axis.face()),
            what_comes(axis, quarter)
        ),
    }
}

/// What a kind of piece is called on a cube of order `n`.
pub fn piece_kind(kind: Kind, n: usize) -> String {
    match kind {
        Kind::Corner => "corners".to_owned(),
        Kind::Midge => "midges".to_owned(),
        Kind::Wing { layer } => format!("{}s", wing_word(n, layer - 2)),
        Kind::Centre { row, col, lie } => {
            format!("{lie}-centres (row {}, column {})", row + 1, col + 1)
        }
        Kind::FixedCentre => "fixed centres".to_owned(),
    }
}

/// Where a face is, as a word before "layer".
const fn side(face: Face) -> &'static str {
    match face {
        Face::U => "top",
        Face::R => "right",
        Face::F => "front",
        Face::D => "bottom",
        Face::L => "left",
        Face::B => "back",
    }
}

/// From where one looks straight at a face.
const fn seen_from(face: Face) -> &'static str {
    match face {
        Face::U => "from above",
        Face::R => "from the right",
        Face::F => "from the front",
        Face::D => "from below",
        Face::L => "from the left",
        Face::B => "from behind",
    }
}

fn amount(quarter: Quarter, face: Face) -> String {
    match quarter {
        Quarter::Clockwise => format!("a quarter turn, clockwise seen {}", seen_from(face)),
        Quarter::Anticlockwise => format!("a quarter turn, anticlockwise seen {}", seen_from(face)),
        Quarter::Half => "a half turn".to_owned(),
    }
}

/// What the person sees happen when the whole cube is turned.
const fn what_comes(axis: Axis, quarter: Quarter) -> &'static str {
    match (axis, quarter) {
        (Axis::X, Quarter::Clockwise) => "the front comes to the top",
        (Axis::X, Quarter::Anticlockwise) => "the top comes to the front",
        (Axis::X, Quarter::Half) => "the bottom comes to the top, left and right stay",
        (Axis::Y, Quarter::Clockwise) => "the right side comes to the front",
        (Axis::Y, Quarter::Anticlockwise) => "the left side comes to the front",
        (Axis::Y, Quarter::Half) => "the back comes to the front, top and bottom stay",
        (Axis::Z, Quarter::Clockwise) => "the left side comes to the top",
        (Axis::Z, Quarter::Anticlockwise) => "the right side comes to the top",
        (Axis::Z, Quarter::Half) => "the bottom comes to the top, front and back stay",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cube::{Sequence, State};

    fn check(notation: &str, expected: &str) {
        let moves: Sequence = notation.parse().unwrap();
        assert_eq!(spoken(moves.0[0]), expected);
    }

    #[test]
    fn layers_and_amounts() {
        check(
            "3Uw",
            "Turn the top three layers a quarter turn, clockwise seen from above",
        );
        check(
            "3Dw",
            "Turn the bottom three layers a quarter turn, clockwise seen from below",
        );
        check(
            "R'",
            "Turn the right layer a quarter turn, anticlockwise seen from the right",
        );
        check("Bw2", "Turn the back two layers a half turn");
        check("16Lw2", "Turn the left 16 layers a half turn");
        check(
            "F",
            "Turn the front layer a quarter turn, clockwise seen from the front",
        );
        check(
            "x",
            "Turn the whole cube a quarter turn, clockwise seen from the right: the front comes to the top",
        );
        check(
            "z2",
            "Turn the whole cube a half turn: the bottom comes to the top, front and back stay",
        );
    }

    /// What a rotation is said to bring somewhere is what the geometry of the regulations brings there.
    #[test]
    fn rotations_say_what_happens() {
        let named = |word: &str| match word {
            "top" => Face::U,
            "bottom" => Face::D,
            "front" => Face::F,
            "back" => Face::B,
            "left" => Face::L,
            "right" => Face::R,
            _ => panic!("{word}"),
        };
        for axis in [Axis::X, Axis::Y, Axis::Z] {
            for quarter in Quarter::ALL {
                let after = State::solved(2).after(&[Move::Rotation { axis, quarter }]);
                let words: Vec<_> = what_comes(axis, quarter)
                    .split([' ', ','])
                    .filter(|word| !["", "side", "the"].contains(word))
                    .collect();
                let [from, "comes", "to", onto, staying @ ..] = words.as_slice() else {
                    panic!("{words:?}");
                };
                let centre = |face: Face| after.stickers()[face.index() * 4];
                assert_eq!(centre(named(onto)), named(from), "{axis:?} {quarter:?}");
                for word in staying
                    .iter()
                    .filter(|word| !["and", "stay"].contains(word))
                {
                    assert_eq!(centre(named(word)), named(word), "{axis:?} {quarter:?}");
                }
            }
        }
    }
}
