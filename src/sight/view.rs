//! Single faces to the ways of understanding a picture: faces that belong to one cube go together.

use super::extent::on_quad;
use super::face::Found;
use super::join::{meet_in_a_corner, shared_side, third_faces};
use super::{Join, Scene, Side};

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

/// The faces considered at most.
const MOST_FACES: usize = 10;

/// The ways of understanding a picture, best first. Faces that two joined ones foretell and the picture bears out
/// are added to the list.
pub fn groups(scene: &Scene, faces: &mut Vec<Found>) -> Vec<Group> {
    faces.sort_by(|a, b| b.weight().total_cmp(&a.weight()));
    faces.truncate(MOST_FACES);
    let pairs = pairs(faces);
    let mut triples = triples(faces, &pairs);
    if triples.is_empty() {
        for &(one, other, sides) in &pairs {
            let found = third_faces(&faces[one].extent, &faces[other].extent, sides)
                .iter()
                .filter_map(|quad| on_quad(scene, quad, faces[one].extent.n))
                .filter_map(|extent| Found::look(scene, &extent))
                .max_by(|a, b| a.weight().total_cmp(&b.weight()));
            if let Some(third) = found {
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
        groups.extend(group(faces, &[face]));
    }
    groups.sort_by(|a, b| b.weight.total_cmp(&a.weight));
    groups.truncate(MOST_GROUPS);
    groups
}

type Pair = (usize, usize, (Side, Side));

fn pairs(faces: &[Found]) -> Vec<Pair> {
    let mut pairs = Vec::new();
    for one in 0..faces.len() {
        for other in one + 1..faces.len() {
            if let Some(sides) = shared_side(&faces[one].extent, &faces[other].extent) {
                pairs.push((one, other, sides));
            }
        }
    }
    pairs
}

fn triples(faces: &[Found], pairs: &[Pair]) -> Vec<Group> {
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
fn group(faces: &[Found], members: &[usize]) -> Option<Group> {
    let mut members = members.to_vec();
    members.sort_by(|&a, &b| faces[b].sureness.total_cmp(&faces[a].sureness));
    let mut joins = Vec::new();
    for one in 0..members.len() {
        for other in one + 1..members.len() {
            let (k, l) = shared_side(&faces[members[one]].extent, &faces[members[other]].extent)?;
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
        weight: members.iter().map(|&face| faces[face].weight()).sum(),
        faces: members,
        joins,
    })
}
