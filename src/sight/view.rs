//! Single faces to the ways of understanding a picture: faces that belong to one cube go together.

use super::extent::on_quad;
use super::face::{Standing, face};
use super::join::{meet_in_a_corner, shared_side, third_faces};
use super::{Join, Scene, SeenFace, Side};
use crate::geometry::Quad;

/// One way of understanding a picture: faces as indices into a list, the surest first, and their joins.
#[derive(Clone, Debug)]
pub struct Group {
    /// The faces.
    pub faces: Vec<usize>,
    /// Which of them share an edge, numbered by their place in `faces`.
    pub joins: Vec<Join>,
    /// How much of the picture its faces fill, in pixels, each weighed by its sureness.
    pub weight: f64,
}

/// The groups handed on at most.
const MOST_GROUPS: usize = 6;

/// How much shorter than another side or diagonal a face's may be when it is seen about straight on.
const SLANT: f64 = 0.72;

/// How much smaller than one seen straight on a face may be to be read beside it.
const NARROW: f64 = 0.45;

/// The faces considered at most.
const MOST_FACES: usize = 10;

/// The ways of understanding a picture, best first. Faces that two joined ones foretell and the picture bears out
/// are added to the list.
pub fn groups(scene: &Scene, faces: &mut Vec<SeenFace>) -> Vec<Group> {
    faces.sort_by(|a, b| weight(b).total_cmp(&weight(a)));
    without_twins(faces);
    faces.truncate(MOST_FACES);
    let pairs = pairs(faces);
    let mut triples = triples(faces, &pairs);
    if triples.is_empty() {
        for &(one, other, sides) in &pairs {
            // At either end of the edge they share: the one that looks like stickers, not the table below.
            let found = third_faces(&faces[one], &faces[other], sides)
                .iter()
                .filter_map(|quad| {
                    let quad = Quad(quad.0.map(|corner| scene.small.in_small(corner)));
                    let extent = on_quad(scene, &quad, faces[one].n)?;
                    let third = face(scene, &extent, Standing::Foretold).ok()?;
                    let joined = [one, other].map(|face| shared_side(&faces[face], &third));
                    joined
                        .iter()
                        .all(Option::is_some)
                        .then_some((extent.likeness(), third))
                })
                .max_by(|(one, a), (other, b)| {
                    one.total_cmp(other).then(weight(a).total_cmp(&weight(b)))
                });
            if let Some((_, third)) = found {
                faces.push(third);
                triples.extend(group(faces, &[one, other, faces.len() - 1]));
            }
        }
    }
    let mut groups = triples;
    for &(one, other, _) in &pairs {
        groups.extend(group(faces, &[one, other]));
    }
    for face in 0..faces.len() {
        if faces[face].n > 2 || !is_strip(&faces[face]) {
            groups.extend(group(faces, &[face]));
        }
    }
    groups.retain(|group| !is_of_one_face(faces, group));
    groups.sort_by(|a, b| b.weight.total_cmp(&a.weight));
    groups.truncate(MOST_GROUPS);
    groups
}

/// Whether a group of several has one face straight in front of the camera and another at a far worse slant: such a
/// photo is of the one, and what shows of the others is too narrow to be read.
fn is_of_one_face(faces: &[SeenFace], group: &Group) -> bool {
    let area = |face: usize| faces[face].corners_in_photo.area();
    let members = || group.faces.iter().copied();
    let Some(largest) = members().max_by(|&a, &b| area(a).total_cmp(&area(b))) else {
        return false;
    };
    !is_slanted(&faces[largest]) && members().any(|face| area(face) < NARROW * area(largest))
}

/// Whether a face is foreshortened so much that others may be in sight.
pub fn is_slanted(face: &SeenFace) -> bool {
    let quad = &face.corners_in_photo;
    // A slant along a diagonal leaves the sides alike and the diagonals not.
    let (one, other) = (
        quad.corner(0).distance(quad.corner(2)),
        quad.corner(1).distance(quad.corner(3)),
    );
    is_strip(face) || one.min(other) < SLANT * one.max(other)
}

/// Drops the faces that are met again further down the list, from another region or at another reduction.
fn without_twins(faces: &mut Vec<SeenFace>) {
    let mut kept: Vec<SeenFace> = Vec::new();
    for face in faces.drain(..) {
        if !kept.iter().any(|known| is_twin(known, &face)) {
            kept.push(face);
        }
    }
    *faces = kept;
}

/// Whether two faces have one size and all corners within half a sticker of each other's.
fn is_twin(one: &SeenFace, other: &SeenFace) -> bool {
    let (a, b) = (&one.corners_in_photo, &other.corners_in_photo);
    let sticker = a.area().max(0.0).sqrt() / one.n as f64;
    let is_near =
        |turn: usize| (0..4).all(|k| a.corner(k).distance(b.corner(k + turn)) < 0.5 * sticker);
    one.n == other.n && (0..4).any(is_near)
}

/// Whether a face is seen at such a slant that it does not show alone; four books in a row look like that.
fn is_strip(face: &SeenFace) -> bool {
    let quad = &face.corners_in_photo;
    let side = |k: usize| quad.corner(k).distance(quad.corner(k + 1));
    let (across, down) = (side(0) + side(2), side(1) + side(3));
    across < SLANT * down || down < SLANT * across
}

/// How much of the picture a face fills, weighed by its sureness.
fn weight(face: &SeenFace) -> f64 {
    f64::from(face.sureness).powi(4) * face.corners_in_photo.area()
}

type Pair = (usize, usize, (Side, Side));

fn pairs(faces: &[SeenFace]) -> Vec<Pair> {
    let mut pairs = Vec::new();
    for one in 0..faces.len() {
        for other in one + 1..faces.len() {
            if let Some(sides) = shared_side(&faces[one], &faces[other]) {
                pairs.push((one, other, sides));
            }
        }
    }
    pairs
}

fn triples(faces: &[SeenFace], pairs: &[Pair]) -> Vec<Group> {
    let mut triples = Vec::new();
    for (k, &(a, b, _)) in pairs.iter().enumerate() {
        for &(c, d, _) in &pairs[k + 1..] {
            // The list is in order: two pairs of one first face, and the pair of their second ones.
            if a == c
                && pairs
                    .iter()
                    .any(|&(e, f, _)| (e, f) == (b.min(d), b.max(d)))
            {
                triples.extend(group(faces, &[a, b, d]));
            }
        }
    }
    triples
}

/// The group of these faces; none when three of them do not meet in a corner.
fn group(faces: &[SeenFace], members: &[usize]) -> Option<Group> {
    let mut members = members.to_vec();
    members.sort_by(|&a, &b| faces[b].sureness.total_cmp(&faces[a].sureness));
    let mut joins = Vec::new();
    for one in 0..members.len() {
        for other in one + 1..members.len() {
            let (k, l) = shared_side(&faces[members[one]], &faces[members[other]])?;
            joins.push(Join {
                one: (one, k),
                other: (other, l),
            });
        }
    }
    if members.len() == 3 && !meet_in_a_corner(&joins) {
        return None;
    }
    Some(Group {
        weight: members.iter().map(|&face| weight(&faces[face])).sum(),
        faces: members,
        joins,
    })
}
