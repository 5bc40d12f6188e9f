//! The fixtures as data: photographs with their truth, and their faces sampled where the truth says they are.

use serde::Deserialize;
use sixfold::cube::{Face, Hold, Layout};
use sixfold::geometry::{InPhoto, Point, Quad};
use sixfold::sight::{Join, Photo, SeenPhoto, View, face_at};
use std::cmp::Reverse;
use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

/// What is known of a cube.
#[derive(Deserialize)]
pub struct Truth {
    pub n: usize,
    faces: BTreeMap<Face, Vec<Vec<String>>>,
    pub impossible: Option<serde_json::Value>,
    pub photos: Vec<TruePhoto>,
}

#[derive(Deserialize)]
pub struct TruePhoto {
    pub file: String,
    pub faces: Vec<TrueFace>,
}

#[derive(Deserialize)]
pub struct TrueFace {
    /// In the face's own reading: top left, top right, bottom right, bottom left.
    pub corners: [[f64; 2]; 4],
}

/// A cube of the corpus.
pub struct Cube {
    /// The set it belongs to, a folder of `fixtures/photos`.
    pub set: String,
    /// Its own folder's name.
    pub name: String,
    folder: PathBuf,
    pub truth: Truth,
}

/// What a set must and may not do, from its `set.toml`.
#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Bounds {
    /// Where the photos come from.
    #[serde(rename = "origin")]
    _origin: String,
    /// How many photos there are.
    pub photos: usize,
    /// How many faces their truth lists.
    pub faces: usize,
    /// How many of these are found at least: with the right size and near corners.
    pub found: usize,
    /// How many are found with another size or a row off at most.
    pub wrong: usize,
    /// How many faces are found where there is none at most.
    pub extra: usize,
}

/// A set of photos, a folder of `fixtures/photos`.
pub struct Set {
    pub name: String,
    pub bounds: Bounds,
    folder: PathBuf,
}

/// One folder of a set: the photos of a cube, or of no cube and then without truth.
pub struct Folder {
    pub name: String,
    pub truth: Option<Truth>,
    path: PathBuf,
}

/// Every set.
pub fn sets() -> Vec<Set> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/photos");
    let set = |folder: PathBuf| Set {
        name: folder.file_name().unwrap().to_str().unwrap().to_owned(),
        bounds: toml::from_str(&fs::read_to_string(folder.join("set.toml")).unwrap()).unwrap(),
        folder,
    };
    folders(&root).into_iter().map(set).collect()
}

impl Set {
    /// Its folders.
    pub fn cubes(&self) -> Vec<Folder> {
        let folder = |folder: PathBuf| Folder {
            name: folder.file_name().unwrap().to_str().unwrap().to_owned(),
            truth: fs::read_to_string(folder.join("truth.json"))
                .ok()
                .map(|text| serde_json::from_str(&text).unwrap()),
            path: folder,
        };
        folders(&self.folder).into_iter().map(folder).collect()
    }
}

impl Folder {
    /// Its photos: their names without ending, and their paths.
    pub fn files(&self) -> Vec<(String, PathBuf)> {
        let mut found: Vec<(String, PathBuf)> = fs::read_dir(&self.path)
            .unwrap()
            .map(|entry| entry.unwrap().path())
            .filter(|path| path.extension().is_some_and(|ending| ending == "jpg"))
            .map(|path| (path.file_stem().unwrap().to_str().unwrap().to_owned(), path))
            .collect();
        found.sort();
        found
    }

    /// Where the faces of a photo are.
    pub fn quads(&self, file: &str) -> Vec<Quad<InPhoto>> {
        let photos = self.truth.iter().flat_map(|truth| &truth.photos);
        photos
            .filter(|photo| photo.file == format!("{file}.jpg"))
            .flat_map(|photo| &photo.faces)
            .map(TrueFace::quad)
            .collect()
    }
}

/// Every cube photographed whole, by set and name.
pub fn whole_cubes() -> Vec<Cube> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/photos");
    let name = |path: &Path| path.file_name().unwrap().to_str().unwrap().to_owned();
    let mut found = Vec::new();
    for set in folders(&root) {
        if name(&set).starts_with("bursts") {
            continue;
        }
        for folder in folders(&set) {
            let path = folder.join("truth.json");
            let Ok(text) = fs::read_to_string(&path) else {
                continue;
            };
            found.push(Cube {
                name: name(&folder),
                set: name(&set),
                truth: serde_json::from_str(&text).unwrap(),
                folder,
            });
        }
    }
    found
}

fn folders(inside: &Path) -> Vec<PathBuf> {
    let mut found: Vec<PathBuf> = fs::read_dir(inside)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.is_dir())
        .collect();
    found.sort();
    found
}

impl TrueFace {
    /// The corners clockwise from the one furthest to the top left, as a reader that does not know the face would have
    /// them.
    fn quad(&self) -> Quad<InPhoto> {
        let sum = |k: usize| self.corners[k][0] + self.corners[k][1];
        let first = (0..4).min_by(|&a, &b| sum(a).total_cmp(&sum(b))).unwrap();
        Quad([0, 1, 2, 3].map(|k| {
            let [x, y] = self.corners[(k + first) % 4];
            Point::new(x, y)
        }))
    }
}

impl Cube {
    /// Every photo, its faces sampled where the truth says they are.
    pub fn seen_with_true_corners(&self) -> Vec<SeenPhoto> {
        let photos = self.truth.photos.iter();
        photos
            .map(|photo| {
                let picture = image::open(self.folder.join(&photo.file)).unwrap();
                let picture = Photo::from(picture.to_rgb8());
                let sampled =
                    |face: &TrueFace| face_at(&picture, face.quad(), self.truth.n).unwrap();
                let view = View {
                    faces: photo.faces.iter().map(sampled).collect(),
                    joins: joins(&photo.faces),
                };
                SeenPhoto { views: vec![view] }
            })
            .collect()
    }

    /// How many stickers of a reading, in the order of place numbers, agree with the truth.
    pub fn agreement(&self, read: &[&str]) -> usize {
        let truth: Vec<&str> = Face::ALL
            .iter()
            .flat_map(|face| self.truth.faces[face].iter().flatten())
            .map(String::as_str)
            .collect();
        Self::agree(self.truth.n, &truth, read)
    }

    /// How many stickers agree, for the best way of turning the whole cube and of matching the words one to one.
    pub fn agree(n: usize, truth: &[&str], read: &[&str]) -> usize {
        let agreement = |hold: &Hold| {
            let mut from: Vec<usize> = (0..read.len()).collect();
            for step in hold.sequence().0 {
                Layout::of(n).turn(&mut from, step);
            }
            let mut pairs: BTreeMap<(&str, &str), usize> = BTreeMap::new();
            for (place, &source) in from.iter().enumerate() {
                *pairs.entry((truth[place], read[source])).or_default() += 1;
            }
            let mut sorted: Vec<_> = pairs.into_iter().collect();
            sorted.sort_by_key(|(_, count)| Reverse(*count));
            let (mut theirs, mut ours, mut sum) = (Vec::new(), Vec::new(), 0);
            for ((true_word, read_word), count) in sorted {
                if !theirs.contains(&true_word) && !ours.contains(&read_word) {
                    theirs.push(true_word);
                    ours.push(read_word);
                    sum += count;
                }
            }
            sum
        };
        Hold::all().iter().map(agreement).max().unwrap()
    }
}

/// Which sides of a corner photo's faces meet: those whose ends lie closest together.
fn joins(faces: &[TrueFace]) -> Vec<Join> {
    let quads: Vec<Quad<InPhoto>> = faces.iter().map(TrueFace::quad).collect();
    let apart = |one: (usize, u8), other: (usize, u8)| {
        let corner =
            |(face, side): (usize, u8), next: u8| quads[face].0[usize::from((side + next) % 4)];
        corner(one, 0).distance(corner(other, 1)) + corner(one, 1).distance(corner(other, 0))
    };
    let pairs =
        (0..faces.len()).flat_map(|one| (one + 1..faces.len()).map(move |other| (one, other)));
    pairs
        .map(|(one, other)| {
            let sides =
                (0..4).flat_map(|side| (0..4).map(move |back| ((one, side), (other, back))));
            let nearest = sides.min_by(|a, b| apart(a.0, a.1).total_cmp(&apart(b.0, b.1)));
            let (one, other) = nearest.unwrap();
            Join { one, other }
        })
        .collect()
}
