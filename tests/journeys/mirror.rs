//! Photos that came out mirrored, as from a front camera: fixture photos turned over left to right.

use super::photos::{in_all_holds, photos, read_json};
use super::{Run, folder, sixfold, state_of};
use serde_json::json;
use std::path::PathBuf;

const CUBE: &str = "faces-easy/cube-16-n4";

/// The photos with these numbers turned over, the others as they are.
fn turned_over(name: &str, numbers: &[usize]) -> Vec<PathBuf> {
    let folder = folder(name);
    let all = photos(CUBE, &[1, 2, 3, 4, 5, 6]);
    let photos = all.into_iter().zip(1..).map(|(photo, number)| {
        if !numbers.contains(&number) {
            return photo;
        }
        let path = folder.join(format!("photo-{number}.png"));
        let picture = image::open(photo).unwrap();
        picture.fliph().save(&path).unwrap();
        path
    });
    photos.collect()
}

fn is_right(run: &Run) -> bool {
    let read = in_all_holds(&run.json()["faces"]).swap_remove(0);
    in_all_holds(&state_of(CUBE)["faces"]).contains(&read)
}

/// A cube and its mirror image obey the same laws, so all six photos mirrored can only be noticed, and undone when that
/// is said or the cube is known.
#[test]
fn all_photos_mirrored() {
    let mirrored = turned_over("mirror-all", &[1, 2, 3, 4, 5, 6]);
    let run = read_json(&mirrored);
    assert_eq!(run.json()["mirroring"], "possible");
    let mut arguments = vec!["read".into()];
    arguments.extend(mirrored.clone());
    let text = sixfold(&arguments).out.replace('\n', " ");
    assert!(text.contains("with --mirrored"), "{text}");

    arguments.extend(["--json".into(), "--mirrored".into()]);
    let run = sixfold(&arguments);
    assert_eq!(run.json()["mirroring"], "none");
    assert!(is_right(&run));

    let known = folder("mirror-known").join("cube.json");
    let mut learning = vec!["calibrate".into()];
    learning.extend(photos(CUBE, &[1, 2, 3, 4, 5, 6]));
    learning.extend(["--out".into(), known.clone()]);
    assert_eq!(sixfold(&learning).status, 0);
    let mut knowing = vec!["read".into(), "--json".into(), "--cube".into(), known];
    knowing.extend(mirrored);
    let run = sixfold(&knowing);
    assert_eq!(run.json()["mirroring"], "undone");
    assert!(is_right(&run));
}

/// Beside others that are not, a mirrored photo gives corners that turn both ways round.
#[test]
fn one_photo_mirrored() {
    let run = read_json(&turned_over("mirror-one", &[4]));
    assert_eq!(run.status, 3);
    let problem = &run.json()["problem"];
    assert_eq!(problem["kind"], "mirrored-photo");
    assert!(
        problem["text"].as_str().unwrap().contains("photo-4.png"),
        "{problem}"
    );
    assert_eq!(run.json()["faces"], json!(null));
}

#[test]
fn photos_as_they_are() {
    let run = read_json(&photos(CUBE, &[1, 2, 3, 4, 5, 6]));
    assert_eq!(run.json()["mirroring"], "none");
    assert!(is_right(&run));
}
