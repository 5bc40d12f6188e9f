//! The size of the cube that photos agree on, and which photos do not show it.

use crate::sight::{SeenPhoto, View};

/// The faces that must show a size for it to be agreed on.
const LEAST_VOTES: f32 = 1.5;

/// The size that more than half of all faces seen show, each weighed by its sureness; `None` if there is none.
pub fn agreed_size<'a>(photos: impl IntoIterator<Item = &'a SeenPhoto>) -> Option<usize> {
    let votes = votes(photos);
    let all: f32 = votes.iter().map(|(_, votes)| votes).sum();
    let (n, most) = best(&votes)?;
    (most >= LEAST_VOTES && most > 0.5 * all).then_some(n)
}

/// Whether no view of a photo shows a cube of this size.
pub fn lacks_size(photo: &SeenPhoto, n: usize) -> bool {
    photo.views.iter().all(|view| size(view) != Some(n))
}

/// The size that the first views show most.
pub(super) fn usual_size<'a>(photos: impl IntoIterator<Item = &'a SeenPhoto>) -> Option<usize> {
    best(&votes(photos)).map(|(n, _)| n)
}

pub(super) fn size(view: &View) -> Option<usize> {
    view.faces.first().map(|face| face.n)
}

/// What each size has for it in the first views.
fn votes<'a>(photos: impl IntoIterator<Item = &'a SeenPhoto>) -> Vec<(usize, f32)> {
    let views = photos.into_iter().filter_map(|photo| photo.views.first());
    let mut votes: Vec<(usize, f32)> = Vec::new();
    for face in views.flat_map(|view| &view.faces) {
        match votes.iter_mut().find(|(n, _)| *n == face.n) {
            Some((_, votes)) => *votes += face.sureness,
            None => votes.push((face.n, face.sureness)),
        }
    }
    votes
}

fn best(votes: &[(usize, f32)]) -> Option<(usize, f32)> {
    // Of two sizes with equal votes the larger: it takes more to be mistaken for.
    votes
        .iter()
        .copied()
        .max_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geometry::{Point, Quad};
    use crate::sight::SeenFace;

    fn photo(sizes: &[usize], sureness: f32) -> SeenPhoto {
        let corners = [(0.0, 0.0), (9.0, 0.0), (9.0, 9.0), (0.0, 9.0)];
        let face = |&n: &usize| SeenFace {
            n,
            corners_in_photo: Quad(corners.map(|(x, y)| Point::new(x, y))),
            patches: Vec::new(),
            sureness,
        };
        SeenPhoto {
            views: vec![View {
                faces: sizes.iter().map(face).collect(),
                joins: Vec::new(),
            }],
        }
    }

    #[test]
    fn most_faces_tell_the_size() {
        let six = photo(&[6], 0.9);
        let three = photo(&[3], 0.9);
        assert_eq!(agreed_size([&six, &six, &three]), Some(6));
        assert_eq!(usual_size([&three, &six]), Some(6));
        assert_eq!(agreed_size([&three, &six]), None);
        assert!(lacks_size(&three, 6) && !lacks_size(&six, 6));
    }

    #[test]
    fn one_face_or_unsure_ones_do_not_tell_the_size_of_other_photos() {
        assert_eq!(agreed_size([&photo(&[4], 1.0)]), None);
        assert_eq!(agreed_size([&photo(&[4, 4, 4], 0.4)]), None);
        assert_eq!(agreed_size([&photo(&[4, 4, 4], 0.9)]), Some(4));
        assert_eq!(agreed_size([&SeenPhoto { views: Vec::new() }]), None);
    }
}
