//! Views to evidence: cells in a light of their own face, and the ways a view can lie on a cube.
//!
//! It knows how faces adjoin; it does not yet know which colour anything is.

use super::Told;
use crate::calibration::Noise;
use crate::colour::Name;
use crate::cube::Face;
use crate::sight::{Patch, SeenFace, View};
use std::sync::LazyLock;

/// Three channels, linear or logarithmic as the name of the value says.
pub(super) type Channels = [f64; 3];

/// One sticker as evidence.
#[derive(Clone, Debug)]
pub(super) struct Cell {
    /// Linear light, 1 being the brightest tenth of its face.
    pub light: Channels,
    /// ln(light + floor).
    pub log_light: Channels,
    /// Whether the sensor was at its end in the channel: the true light may be more.
    pub clipped: [bool; 3],
    /// Standard deviations of `log_light` by what was seen inside the cell and by stray light.
    pub noise: Channels,
    /// The probability that the cell shows anything but its sticker.
    pub misread: f64,
    /// The colour a person says it has.
    pub told: Option<Name>,
}

/// One face of one photo.
#[derive(Clone, Debug)]
pub(super) struct Seen {
    /// The photo, as given.
    pub photo: usize,
    /// The face in the view used.
    pub face_in_view: usize,
    /// Stickers along a side.
    pub n: usize,
    /// n×n cells, row-major as seen in the photo.
    pub cells: Vec<Cell>,
}

/// How a seen face lies on the cube: corner `turns` of the photo's grid is the top left corner of `face`.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct Pose {
    /// The face of the cube.
    pub face: Face,
    /// Quarter turns, 0..4.
    pub turns: u8,
}

/// Seen faces that keep their places to one another.
#[derive(Clone, Debug)]
pub(super) struct Block {
    /// Indices of the seen faces.
    pub members: Vec<usize>,
    /// The 24 ways it can lie, each with a pose a member.
    pub poses: Vec<Vec<Pose>>,
}

/// The face beyond side `side` (0 top, 1 right, 2 bottom, 3 left) of `face`, and which of its sides meets it.
pub(super) fn beyond(face: Face, side: u8) -> (Face, u8) {
    static TABLE: LazyLock<[[(Face, u8); 4]; 6]> =
        LazyLock::new(|| Face::ALL.map(|face| [0, 1, 2, 3].map(|side| find_beyond(face, side))));
    TABLE[face.index()][usize::from(side % 4)]
}

fn find_beyond(face: Face, side: u8) -> (Face, u8) {
    let towards = |face: Face, side: u8| {
        let [_, down, right] = face.frame();
        match side {
            0 => down.map(|k| -k),
            1 => right,
            2 => down,
            _ => right.map(|k| -k),
        }
    };
    let other = Face::from_normal(towards(face, side)).unwrap_or(face);
    let back = (0..4).find(|&back| towards(other, back) == face.normal());
    (other, back.unwrap_or(0))
}

impl Pose {
    /// The cell of the photo's grid that is sticker (`row`, `col`) of the face.
    pub fn cell(self, n: usize, row: usize, col: usize) -> usize {
        let last = n - 1;
        let (row, col) = match self.turns % 4 {
            0 => (row, col),
            1 => (col, last - row),
            2 => (last - row, last - col),
            _ => (last - col, row),
        };
        row * n + col
    }

    /// The side of the cube's face that side `side` of the photo's grid is.
    pub fn side(self, side: u8) -> u8 {
        (side + 4 - self.turns % 4) % 4
    }
}

/// The cell at corner `corner` of an n×n grid, clockwise from the top left.
pub(super) fn corner_cell(n: usize, corner: u8) -> usize {
    match corner % 4 {
        0 => 0,
        1 => n - 1,
        2 => n * n - 1,
        _ => n * (n - 1),
    }
}

/// The cell `along` steps from corner `side` on the way to corner `side + 1`.
pub(super) fn side_cell(n: usize, side: u8, along: usize) -> usize {
    match side % 4 {
        0 => along,
        1 => along * n + n - 1,
        2 => n * n - 1 - along,
        _ => (n - 1 - along) * n,
    }
}

/// The light of a face as evidence.
pub(super) fn seen(photo: usize, face_in_view: usize, face: &SeenFace, noise: &Noise) -> Seen {
    let mut tops: Vec<f64> = face
        .patches
        .iter()
        .map(|patch| {
            f64::from(
                patch
                    .linear
                    .red
                    .max(patch.linear.green)
                    .max(patch.linear.blue),
            )
        })
        .collect();
    tops.sort_by(f64::total_cmp);
    let level = tops[tops.len() * 9 / 10].clamp(0.02, 1.0);
    let cells = face
        .patches
        .iter()
        .map(|patch| cell(patch, level, noise))
        .collect();
    Seen {
        photo,
        face_in_view,
        n: face.n,
        cells,
    }
}

fn cell(patch: &Patch, level: f64, noise: &Noise) -> Cell {
    /// Where 8-bit pixels stand at their end after compression.
    const END: f64 = 0.93;
    let linear = [patch.linear.red, patch.linear.green, patch.linear.blue].map(f64::from);
    let spread = patch.spread.map(f64::from);
    let light = linear.map(|channel| (channel / level).max(0.0));
    let floor = noise.dark_floor.value;
    let unsure = std::array::from_fn(|k| {
        let inside = 0.5 * spread[k] / level;
        inside.hypot(noise.stray_light.value) / (light[k] + floor)
    });
    let hidden = (1.0 - f64::from(patch.evenness)).clamp(0.0, 1.0);
    let glare = f64::from(patch.glare).clamp(0.0, 1.0);
    let misread = if patch.pixels == 0 {
        1.0
    } else {
        (noise.misread_share.value + 0.1 * hidden.powi(3) + 0.06 * glare.powi(3)).min(1.0)
    };
    Cell {
        light,
        log_light: light.map(|channel| (channel + floor).ln()),
        clipped: std::array::from_fn(|k| linear[k] > END || patch.clipped[k] > 0.3),
        noise: unsure,
        misread,
        told: None,
    }
}

/// Notes what a person says of single stickers.
pub(super) fn tell(seen: &mut [Seen], told: &[Told]) {
    for told in told {
        let faces = seen.iter_mut();
        let here =
            faces.filter(|face| face.photo == told.photo && face.face_in_view == told.face_in_view);
        for cell in here.filter_map(|face| face.cells.get_mut(told.cell)) {
            cell.told = Some(told.colour);
        }
    }
}

/// The blocks of a view whose faces are the seen faces `first..`: one, if its joins hold all of them together.
pub(super) fn blocks(view: &View, first: usize) -> Vec<Block> {
    let count = view.faces.len();
    let mut blocks = Vec::new();
    let mut is_placed = vec![false; count];
    for root in 0..count {
        if is_placed[root] {
            continue;
        }
        let mut members = vec![root];
        let mut poses: Vec<Vec<Pose>> = Face::ALL
            .into_iter()
            .flat_map(|face| (0..4).map(move |turns| vec![Pose { face, turns }]))
            .collect();
        is_placed[root] = true;
        while let Some((held, held_side, fresh, fresh_side)) = next_join(view, &is_placed, &members)
        {
            let at = members
                .iter()
                .position(|&member| member == held)
                .unwrap_or(0);
            for row in &mut poses {
                let side = row[at].side(held_side);
                let (face, back) = beyond(row[at].face, side);
                let turns = (fresh_side + 4 - back) % 4;
                row.push(Pose { face, turns });
            }
            members.push(fresh);
            is_placed[fresh] = true;
        }
        blocks.push(Block {
            members: members.iter().map(|member| first + member).collect(),
            poses,
        });
    }
    blocks
}

/// A join between a face of `members` and one not placed yet: (held face, its side, fresh face, its side).
fn next_join(view: &View, is_placed: &[bool], members: &[usize]) -> Option<(usize, u8, usize, u8)> {
    view.joins.iter().find_map(|join| {
        let (one, other) = (join.one, join.other);
        let in_range = one.0 < is_placed.len() && other.0 < is_placed.len();
        if !in_range {
            None
        } else if members.contains(&one.0) && !is_placed[other.0] {
            Some((one.0, one.1 % 4, other.0, other.1 % 4))
        } else if members.contains(&other.0) && !is_placed[one.0] {
            Some((other.0, other.1 % 4, one.0, one.1 % 4))
        } else {
            None
        }
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cube::{Layout, Spot};

    /// The cells that meet along a side are the two places of a piece.
    #[test]
    fn sides_meet_as_the_pieces_say() {
        let n = 5;
        let layout = Layout::of(n);
        for face in Face::ALL {
            for turns in 0..4 {
                let pose = Pose { face, turns };
                for side in 0..4 {
                    let (other, back) = beyond(face, pose.side(side));
                    for other_turns in 0..4 {
                        let beside = Pose {
                            face: other,
                            turns: other_turns,
                        };
                        let other_side = (back + other_turns) % 4;
                        assert_eq!(beside.side(other_side), back);
                        let mine = place_of(pose, n, side_cell(n, side, 2));
                        let theirs = place_of(beside, n, side_cell(n, other_side, n - 1 - 2));
                        assert!(layout.midges.iter().any(|midge| {
                            midge.places == [mine, theirs] || midge.places == [theirs, mine]
                        }));
                        let mine = place_of(pose, n, side_cell(n, side, 1));
                        let theirs = place_of(beside, n, side_cell(n, other_side, n - 1 - 1));
                        assert!(layout.wing_orbits[0].wings.iter().any(|wing| {
                            wing.places == [mine, theirs] || wing.places == [theirs, mine]
                        }));
                    }
                }
            }
        }
    }

    fn place_of(pose: Pose, n: usize, cell: usize) -> u16 {
        let face = pose.face;
        for row in 0..n {
            for col in 0..n {
                if pose.cell(n, row, col) == cell {
                    return Spot { face, row, col }.place(n) as u16;
                }
            }
        }
        unreachable!()
    }

    /// Corner `turns` of the grid is the top left corner of the face.
    #[test]
    fn turns_name_the_top_left_corner() {
        for turns in 0..4 {
            let pose = Pose {
                face: Face::R,
                turns,
            };
            assert_eq!(pose.cell(4, 0, 0), corner_cell(4, turns));
            assert_eq!(pose.side(turns), 0);
            assert_eq!(corner_cell(4, turns), side_cell(4, turns, 0));
        }
    }
}
