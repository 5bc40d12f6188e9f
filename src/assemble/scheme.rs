//! The thirty ways six colours can lie on a cube, and which corners and edges each allows.
//!
//! It knows colours as numbers 0..6 only.

use super::evidence::Pose;
use crate::calibration::SchemeShares;
use crate::cube::{Face, Hold, Layout};

/// Which class each face has on the solved cube, in the order of [`Face::ALL`].
pub(super) type Homes = [usize; 6];

/// An arrangement of the classes, up to turning the whole cube.
#[derive(Clone, Debug)]
pub(super) struct Arrangement {
    /// One of its 24 turned forms.
    pub homes: Homes,
    /// The class across from each class.
    pub across: [usize; 6],
    /// The 24 ordered triples of classes that corners show clockwise, from each of their stickers.
    pub corners: Vec<[usize; 3]>,
    /// Which of the fifteen ways to pair the classes off this is: edges cannot tell more.
    pub pairing: usize,
}

/// All thirty arrangements: the first has the classes where the faces of the same number are, and the second is
/// its mirror image.
pub(super) fn arrangements() -> Vec<Arrangement> {
    let mut found: Vec<Homes> = vec![[0, 1, 2, 3, 4, 5], [0, 4, 2, 3, 1, 5]];
    for below in 1..6 {
        let mut ring: Vec<usize> = (1..6).filter(|&class| class != below).collect();
        let front = ring.remove(0);
        for order in [
            [0, 1, 2],
            [0, 2, 1],
            [1, 0, 2],
            [1, 2, 0],
            [2, 0, 1],
            [2, 1, 0],
        ] {
            let [right, back, left] = order.map(|k| ring[k]);
            let homes = [0, right, front, below, left, back];
            if !found.iter().any(|&known| is_turned(known, homes)) {
                found.push(homes);
            }
        }
    }
    let mut pairings: Vec<[usize; 6]> = Vec::new();
    found
        .into_iter()
        .map(|homes| {
            let mut across = [0; 6];
            for face in Face::ALL {
                across[homes[face.index()]] = homes[face.opposite().index()];
            }
            let pairing = pairings.iter().position(|&known| known == across);
            let pairing = pairing.unwrap_or_else(|| {
                pairings.push(across);
                pairings.len() - 1
            });
            let corners = Layout::CORNERS
                .iter()
                .flat_map(|faces| {
                    let classes = faces.map(|face| homes[face.index()]);
                    (0..3).map(move |k| [classes[k], classes[(k + 1) % 3], classes[(k + 2) % 3]])
                })
                .collect();
            Arrangement {
                homes,
                across,
                corners,
                pairing,
            }
        })
        .collect()
}

/// The homes after turning the whole cube.
pub(super) fn turned(homes: Homes, hold: Hold) -> Homes {
    let mut moved = [0; 6];
    for face in Face::ALL {
        moved[hold.brings(face).index()] = homes[face.index()];
    }
    moved
}

/// Which arrangement has these homes, as an index.
pub(super) fn arrangement_of(arrangements: &[Arrangement], homes: Homes) -> usize {
    let found = arrangements
        .iter()
        .position(|one| is_turned(one.homes, homes));
    found.unwrap_or(0)
}

fn is_turned(one: Homes, other: Homes) -> bool {
    Hold::all().iter().any(|&hold| turned(one, hold) == other)
}

/// For each place, the place from which a turning of the whole cube brings its sticker.
pub(super) fn brought_from(n: usize, hold: Hold) -> Vec<usize> {
    let mut from: Vec<usize> = (0..Layout::of(n).places()).collect();
    for step in hold.sequence().0 {
        Layout::of(n).turn(&mut from, step);
    }
    from
}

/// The face to which a turning of the whole cube brings `face`, and by how many quarter turns its own reading then
/// begins later.
pub(super) fn carried(n: usize, hold: Hold, face: Face) -> (Face, u8) {
    let to = hold.brings(face);
    let from = brought_from(n, hold);
    let read = |turns: u8| {
        let pose = Pose { face: to, turns };
        let spots = (0..n).flat_map(|row| (0..n).map(move |col| (row, col)));
        spots
            .zip(&from[to.index() * n * n..])
            .all(|((row, col), &source)| source == face.index() * n * n + pose.cell(n, row, col))
    };
    (to, (0..4).find(|&turns| read(turns)).unwrap_or(0))
}

/// The log prior of each arrangement, the first being the usual, the second its mirror image.
pub(super) fn log_shares(shares: &SchemeShares) -> Vec<f64> {
    let mut logs = vec![(shares.any_other / 28.0).ln(); 30];
    logs[0] = shares.usual.ln();
    logs[1] = shares.mirrored.ln();
    logs
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Six colours on six faces: 6! = 720 ways, 24 of them alike by turning.
    #[test]
    fn there_are_thirty_arrangements() {
        let all = arrangements();
        assert_eq!(all.len(), 30);
        for (index, one) in all.iter().enumerate() {
            for other in &all[..index] {
                assert!(!is_turned(one.homes, other.homes));
            }
            assert_eq!(one.corners.len(), 24);
        }
        assert_eq!(all.iter().map(|one| one.pairing).max(), Some(14));
    }

    /// A sticker and its home turn alike.
    #[test]
    fn stickers_turn_with_their_homes() {
        for &hold in Hold::all() {
            let from = brought_from(3, hold);
            let homes = turned([0, 1, 2, 3, 4, 5], hold);
            for (face, home) in homes.iter().enumerate() {
                assert_eq!(from[face * 9 + 4] / 9, *home);
            }
        }
    }
}
