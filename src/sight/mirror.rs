//! What was seen in a photo to what would have been seen in its mirror image, still at the pixels of the photo itself.

use super::{Join, SeenFace, SeenPhoto, Side, View};
use crate::geometry::Quad;

impl SeenPhoto {
    /// The same faces read as in a mirror: columns of cells from right to left. The corners stay where they are in
    /// the photo, but begin with the one at the top right and go round the other way.
    #[must_use]
    pub fn mirrored(&self) -> Self {
        Self {
            views: self.views.iter().map(view).collect(),
        }
    }
}

fn view(view: &View) -> View {
    let turned = |(face, side): (usize, Side)| (face, [0, 3, 2, 1][usize::from(side) % 4]);
    let joins = view.joins.iter().map(|join| Join {
        one: turned(join.one),
        other: turned(join.other),
    });
    View {
        faces: view.faces.iter().map(face).collect(),
        joins: joins.collect(),
    }
}

fn face(face: &SeenFace) -> SeenFace {
    let Quad([top_left, top_right, bottom_right, bottom_left]) = face.corners_in_photo;
    let rows = face.patches.chunks(face.n.max(1));
    SeenFace {
        corners_in_photo: Quad([top_right, top_left, bottom_left, bottom_right]),
        patches: rows.flat_map(|row| row.iter().rev().cloned()).collect(),
        ..face.clone()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::Point;

    #[test]
    fn a_side_keeps_its_place_in_the_photo() {
        let corners = [(0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (0.0, 9.0)];
        let corners = Quad(corners.map(|(x, y)| Point::new(x, y)));
        let seen = SeenFace {
            n: 2,
            corners_in_photo: corners,
            patches: Vec::new(),
            sureness: 1.0,
        };
        let mirrored = face(&seen);
        for side in 0..4_u8 {
            let joined = View {
                faces: vec![seen.clone(), seen.clone()],
                joins: vec![Join {
                    one: (0, side),
                    other: (1, side),
                }],
            };
            let there = usize::from(view(&joined).joins[0].one.1);
            let ends = |quad: &Quad<_>, side: usize| (quad.0[side], quad.0[(side + 1) % 4]);
            let (from, to) = ends(&corners, usize::from(side));
            assert_eq!(ends(&mirrored.corners_in_photo, there), (to, from));
        }
    }
}
