//! What was seen in a photo, kept in the report's folder under the photo's content: the next run reads only what is new.
//!
//! It keeps numbers and the pictures of faces, never the photo.

use super::crop::FacePicture;
use crate::app::files::{Moment, write_whole};
use crate::colour::Linear;
use crate::geometry::{Point, Quad};
use crate::sight::{Join, Patch, SeenFace, SeenPhoto, View};
use anyhow::Result;
use serde::{Deserialize, Serialize};
use std::fs;
use std::path::{Path, PathBuf};

/// The folder inside the report's folder.
pub const FOLDER: &str = ".seen";

/// Changes whenever what is kept, or how photos are looked at, changes: older entries are then forgotten.
const EDITION: &str = concat!(env!("CARGO_PKG_VERSION"), "/2");

/// What is kept of a photo.
#[derive(Clone, Debug)]
pub struct Kept {
    /// The faces.
    pub seen: SeenPhoto,
    /// When it was taken.
    pub taken: Option<Moment>,
    /// A picture for each face of each view.
    pub pictures: Vec<Vec<Option<FacePicture>>>,
}

#[derive(Serialize, Deserialize)]
struct Entry {
    edition: String,
    taken: Option<Moment>,
    faces: Vec<Face>,
    views: Vec<StoredView>,
}

#[derive(Serialize, Deserialize)]
struct Face {
    n: usize,
    corners: [[f64; 2]; 4],
    sureness: f32,
    /// Twelve numbers a patch, as in `numbers`.
    patches: Vec<f32>,
    picture: Option<FacePicture>,
}

#[derive(Serialize, Deserialize)]
struct StoredView {
    faces: Vec<usize>,
    joins: Vec<[usize; 4]>,
}

/// The numbers of a patch.
const NUMBERS: usize = 12;

fn numbers(patch: &Patch) -> [f32; NUMBERS] {
    let Patch {
        linear,
        spread,
        glare,
        clipped,
        evenness,
        pixels,
    } = patch;
    [
        linear.red,
        linear.green,
        linear.blue,
        spread[0],
        spread[1],
        spread[2],
        *glare,
        clipped[0],
        clipped[1],
        clipped[2],
        *evenness,
        *pixels as f32,
    ]
}

fn patch(numbers: &[f32]) -> Option<Patch> {
    let &[
        red,
        green,
        blue,
        s0,
        s1,
        s2,
        glare,
        c0,
        c1,
        c2,
        evenness,
        pixels,
    ] = numbers
    else {
        return None;
    };
    Some(Patch {
        linear: Linear::new(red, green, blue),
        spread: [s0, s1, s2],
        glare,
        clipped: [c0, c1, c2],
        evenness,
        pixels: pixels as u32,
    })
}

/// The name under which a photo with these bytes is kept.
pub fn key(bytes: &[u8]) -> String {
    let mut hasher = blake3::Hasher::new();
    hasher.update(EDITION.as_bytes());
    hasher.update(bytes);
    hasher.finalize().to_hex()[..32].to_owned()
}

fn path_of(folder: &Path, key: &str) -> PathBuf {
    folder.join(format!("{key}.json"))
}

/// What is kept under a name; `None` if there is nothing or it cannot be understood.
pub fn recall(folder: &Path, key: &str) -> Option<Kept> {
    let text = fs::read(path_of(folder, key)).ok()?;
    let entry: Entry = serde_json::from_slice(&text).ok()?;
    if entry.edition != EDITION {
        return None;
    }
    let faces: Option<Vec<(SeenFace, Option<FacePicture>)>> = entry
        .faces
        .into_iter()
        .map(|face| {
            let patches: Option<Vec<Patch>> = face.patches.chunks(NUMBERS).map(patch).collect();
            let patches = patches.filter(|patches| patches.len() == face.n * face.n)?;
            let seen = SeenFace {
                n: face.n,
                corners_in_photo: Quad(face.corners.map(|[x, y]| Point::new(x, y))),
                patches,
                sureness: face.sureness,
            };
            Some((seen, face.picture))
        })
        .collect();
    let faces = faces?;
    let mut views = Vec::new();
    let mut pictures = Vec::new();
    for view in entry.views {
        let of_view: Option<Vec<_>> = view.faces.iter().map(|&face| faces.get(face)).collect();
        let of_view = of_view?;
        pictures.push(of_view.iter().map(|(_, picture)| picture.clone()).collect());
        views.push(View {
            faces: of_view.into_iter().map(|(seen, _)| seen.clone()).collect(),
            joins: view
                .joins
                .iter()
                .map(|&[one, side, other, back]| Join {
                    one: (one, side as u8 % 4),
                    other: (other, back as u8 % 4),
                })
                .collect(),
        });
    }
    Some(Kept {
        seen: SeenPhoto { views },
        taken: entry.taken,
        pictures,
    })
}

/// Keeps what was seen in a photo.
///
/// # Errors
///
/// If the folder cannot be written to.
pub fn keep(folder: &Path, key: &str, kept: &Kept) -> Result<()> {
    let mut faces: Vec<Face> = Vec::new();
    let mut views = Vec::new();
    for (view, pictures) in kept.seen.views.iter().zip(&kept.pictures) {
        let mut members = Vec::new();
        for (face, picture) in view.faces.iter().zip(pictures) {
            let corners = face.corners_in_photo.0.map(|corner| [corner.x, corner.y]);
            // One face may stand in several views.
            let known = faces
                .iter()
                .position(|known| known.corners == corners && known.n == face.n);
            members.push(known.unwrap_or(faces.len()));
            if known.is_none() {
                faces.push(Face {
                    n: face.n,
                    corners,
                    sureness: face.sureness,
                    patches: face.patches.iter().flat_map(numbers).collect(),
                    picture: picture.clone(),
                });
            }
        }
        let joins = view.joins.iter().map(|join| {
            [
                join.one.0,
                usize::from(join.one.1),
                join.other.0,
                usize::from(join.other.1),
            ]
        });
        views.push(StoredView {
            faces: members,
            joins: joins.collect(),
        });
    }
    let entry = Entry {
        edition: EDITION.to_owned(),
        taken: kept.taken,
        faces,
        views,
    };
    write_whole(&path_of(folder, key), &serde_json::to_vec(&entry)?)
}

/// Forgets all photos that are not among those named.
pub fn forget_others(folder: &Path, keys: &[String]) {
    let Ok(listed) = fs::read_dir(folder) else {
        return;
    };
    for path in listed.filter_map(|item| Some(item.ok()?.path())) {
        let stem = path
            .file_stem()
            .unwrap_or_default()
            .to_string_lossy()
            .into_owned();
        let is_entry = path.extension().is_some_and(|ending| ending == "json");
        if is_entry && !keys.contains(&stem) {
            // What cannot be removed does no harm.
            let _ = fs::remove_file(path);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_kept_is_recalled() {
        let folder = std::env::temp_dir().join(format!("sixfold-cache-{}", std::process::id()));
        fs::create_dir_all(&folder).unwrap();
        let photo =
            crate::sight::Photo::from(image::RgbImage::from_pixel(90, 90, image::Rgb([9, 99, 9])));
        let quad = Quad(
            [(10.0, 10.0), (70.0, 10.0), (70.0, 70.0), (10.0, 70.5)].map(|(x, y)| Point::new(x, y)),
        );
        let face = crate::sight::face_at(&photo, quad, 2).unwrap();
        let picture = FacePicture {
            jpeg: "AAAA".to_owned(),
        };
        let join = Join {
            one: (0, 1),
            other: (1, 3),
        };
        let views = vec![
            View {
                faces: vec![face.clone(), face.clone()],
                joins: vec![join],
            },
            View {
                faces: vec![face],
                joins: Vec::new(),
            },
        ];
        let kept = Kept {
            seen: SeenPhoto { views },
            taken: Moment::parse("2026:05:04 10:02:03"),
            pictures: vec![
                vec![Some(picture.clone()), Some(picture.clone())],
                vec![Some(picture)],
            ],
        };
        let key = key(b"photo");
        assert!(recall(&folder, &key).is_none());
        keep(&folder, &key, &kept).unwrap();
        let again = recall(&folder, &key).unwrap();
        assert_eq!(format!("{again:?}"), format!("{kept:?}"));
        assert_ne!(key, super::key(b"photo2"));
        fs::write(path_of(&folder, &key), b"{").unwrap();
        assert!(recall(&folder, &key).is_none());
        forget_others(&folder, &[]);
        assert_eq!(fs::read_dir(&folder).unwrap().count(), 0);
        fs::remove_dir_all(folder).unwrap();
    }
}
