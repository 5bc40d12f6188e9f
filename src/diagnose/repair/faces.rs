//! Whether stickers make a cube once a face is read turned, or two faces are read in each other's place.

use super::{Step, Way, Work};
use crate::cube::{Face, Label, Layout, Quarter, State, check, find_homes};

/// The ways to read single faces otherwise after which the stickers make a cube: one face turned, or, if that is none,
/// two faces exchanged and perhaps turned.
pub(super) fn otherwise_read(state: &State) -> Vec<Way> {
    let n = state.n();
    let labels: Vec<Label> = state.stickers().iter().map(|&face| face as Label).collect();
    let mut ways = Vec::new();
    for face in Face::ALL {
        for quarter in Quarter::ALL {
            let mut read = labels.clone();
            turn(&mut read, n, face, quarter.count());
            if is_cube(n, &read) {
                ways.push(Way {
                    steps: vec![turned(face, quarter)],
                });
            }
        }
    }
    if !ways.is_empty() {
        return ways;
    }
    for (index, &one) in Face::ALL.iter().enumerate() {
        for &other in &Face::ALL[index + 1..] {
            let mut exchanged = labels.clone();
            for at in 0..n * n {
                exchanged.swap(one.index() * n * n + at, other.index() * n * n + at);
            }
            for quarters in 0..16 {
                let mut read = exchanged.clone();
                turn(&mut read, n, one, quarters / 4);
                turn(&mut read, n, other, quarters % 4);
                if is_cube(n, &read) {
                    ways.push(exchanged_way(one, other, quarters));
                }
            }
        }
    }
    ways
}

fn is_cube(n: usize, labels: &[Label]) -> bool {
    if !has_corners(n, labels) {
        return false;
    }
    let known: Vec<Option<Label>> = labels.iter().copied().map(Some).collect();
    let state = find_homes(n, &known, None)
        .ok()
        .and_then(|homes| homes.state(n, labels));
    state.is_some_and(|state| check(&state).is_empty())
}

/// Whether each corner shows three labels that no other shows: what hardly any wrong reading keeps, and quickly seen.
fn has_corners(n: usize, labels: &[Label]) -> bool {
    let mut seen = [false; 64];
    Layout::of(n).corners.iter().all(|corner| {
        let shown = corner.places.iter().fold(0, |shown, &place| {
            shown | 1_usize << labels[usize::from(place)]
        });
        shown.count_ones() == 3 && !std::mem::replace(&mut seen[shown], true)
    })
}

/// Turns the stickers of one face clockwise, those around it staying where they are.
fn turn(labels: &mut [Label], n: usize, face: Face, quarters: usize) {
    let start = face.index() * n * n;
    for _ in 0..quarters {
        let before = labels[start..start + n * n].to_vec();
        for row in 0..n {
            for col in 0..n {
                labels[start + row * n + col] = before[(n - 1 - col) * n + row];
            }
        }
    }
}

fn turned(face: Face, quarter: Quarter) -> Step {
    let how_far = match quarter {
        Quarter::Clockwise => "a quarter clockwise",
        Quarter::Half => "half round",
        Quarter::Anticlockwise => "a quarter anticlockwise",
    };
    Step {
        work: Work::TurnFace,
        places: vec![face.to_string()],
        stickers: Vec::new(),
        text: format!("Read the {face} face turned {how_far}."),
    }
}

fn exchanged_way(one: Face, other: Face, quarters: usize) -> Way {
    let turns = [(one, quarters / 4), (other, quarters % 4)];
    let turns = turns.into_iter().filter_map(|(face, count)| {
        Quarter::from_count(count).map(|quarter| turned(face, quarter))
    });
    let exchange = Step {
        work: Work::ExchangeFaces,
        places: vec![one.to_string(), other.to_string()],
        stickers: Vec::new(),
        text: format!("Read the faces {one} and {other} in each other's place."),
    };
    Way {
        steps: [exchange].into_iter().chain(turns).collect(),
    }
}
