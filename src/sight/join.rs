//! Faces of one cube in one picture to the edges they share, and the third face two of them foretell.

use super::{Join, SeenFace, Side};
use crate::geometry::{InPhoto, PlaneMap, Point, Quad};

/// How far the ends of a shared edge may lie apart on the two faces, in sticker sides: the faces' planes end half a
/// gap outside the stickers, and a turned layer moves corners.
const APART: f64 = 0.6;

/// The sides on which two faces of one size meet.
pub fn shared_side(one: &SeenFace, other: &SeenFace) -> Option<(Side, Side)> {
    if one.n != other.n {
        return None;
    }
    let (a, b) = (&one.corners_in_photo, &other.corners_in_photo);
    let mut best: Option<(f64, Side, Side)> = None;
    for k in 0..4 {
        for l in 0..4 {
            let sticker = a.corner(k).distance(a.corner(k + 1)) / one.n as f64;
            // Both quads run clockwise, so they pass the shared edge in opposite ways.
            let apart = a
                .corner(k)
                .distance(b.corner(l + 1))
                .max(a.corner(k + 1).distance(b.corner(l)))
                / sticker;
            if apart < APART && best.is_none_or(|best| apart < best.0) {
                best = Some((apart, k as Side, l as Side));
            }
        }
    }
    best.map(|(_, k, l)| (k, l))
}

/// Where a third face must lie when two are joined: at either end of their shared edge, each as a quad whose first
/// corner is the cube's corner.
///
/// Its sides are parallel in space to sides of the two faces, so they run through their vanishing points.
pub fn third_faces(one: &SeenFace, other: &SeenFace, (k, l): (Side, Side)) -> Vec<Quad<InPhoto>> {
    let (a, b) = (&one.corners_in_photo, &other.corners_in_photo);
    let (k, l) = (usize::from(k), usize::from(l));
    let ends = [
        // At corner k of the one, which is corner l + 1 of the other.
        (
            midpoint(a.corner(k), b.corner(l + 1)),
            (a, k + 3, k),
            (b, l + 2, l + 1),
        ),
        // At corner k + 1 of the one, which is corner l of the other.
        (
            midpoint(a.corner(k + 1), b.corner(l)),
            (a, k + 2, k + 1),
            (b, l + 3, l),
        ),
    ];
    let [first, second] = ends.map(|(corner, (a, a_far, a_near), (b, b_far, b_near))| {
        let along_a = vanishing(a, a_near, a_far)?;
        let along_b = vanishing(b, b_near, b_far)?;
        let (a_end, b_end) = (a.corner(a_far), b.corner(b_far));
        let opposite = meet(
            line(homogeneous(a_end), along_b),
            line(homogeneous(b_end), along_a),
        )?;
        let quad = Quad([corner, a_end, opposite, b_end]);
        let turned = Quad([corner, b_end, opposite, a_end]);
        let quad = if quad.area() > 0.0 { quad } else { turned };
        quad.is_convex().then_some(quad)
    });
    first.into_iter().chain(second).collect()
}

/// Whether three mutually joined faces meet in one corner of the cube.
pub fn meet_in_a_corner(joins: &[Join]) -> bool {
    // A face's two joined sides must follow each other round the corner.
    (0..3).all(|face| {
        let sides: Vec<Side> = joins
            .iter()
            .flat_map(|join| [join.one, join.other])
            .filter(|(index, _)| *index == face)
            .map(|(_, side)| side)
            .collect();
        sides.len() == 2 && (sides[0] + 4 - sides[1]) % 2 == 1
    })
}

type Homogeneous = [f64; 3];

fn homogeneous(point: Point<InPhoto>) -> Homogeneous {
    [point.x, point.y, 1.0]
}

fn line(a: Homogeneous, b: Homogeneous) -> Homogeneous {
    [
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    ]
}

fn meet(one: Homogeneous, other: Homogeneous) -> Option<Point<InPhoto>> {
    let [x, y, w] = line(one, other);
    let point = Point::new(x / w, y / w);
    (point.x.is_finite() && point.y.is_finite()).then_some(point)
}

/// The vanishing point of the side of a quad from one corner to its neighbour.
fn vanishing(quad: &Quad<InPhoto>, near: usize, far: usize) -> Option<Homogeneous> {
    let map = PlaneMap::between(&Quad::face(1), quad)?;
    let unit = Quad::face(1);
    let (from, to) = (unit.corner(near), unit.corner(far));
    let step = (to.x - from.x, to.y - from.y);
    let rows = map.rows();
    Some(std::array::from_fn(|k| {
        rows[k][0] * step.0 + rows[k][1] * step.1
    }))
}

fn midpoint(a: Point<InPhoto>, b: Point<InPhoto>) -> Point<InPhoto> {
    Point::new(f64::midpoint(a.x, b.x), f64::midpoint(a.y, b.y))
}
