//! A folder of a lesson's photos to the report on everyone's cube.
//!
//! The lesson is of our own invention: seats at workshop tables, no names of people.

use crate::{folder, project, sixfold};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};

/// Copies the photos of a cube under names that begin with `prefix`.
pub(super) fn copy(cube: &str, into: &Path, prefix: &str) -> Vec<String> {
    fs::create_dir_all(into).unwrap();
    let mut names = Vec::new();
    for item in fs::read_dir(project(&format!("fixtures/photos/{cube}"))).unwrap() {
        let path = item.unwrap().path();
        if path.extension().is_some_and(|ending| ending == "jpg") {
            let name = format!("{prefix}{}", path.file_name().unwrap().to_str().unwrap());
            fs::copy(&path, into.join(&name)).unwrap();
            names.push(name);
        }
    }
    names
}

pub(super) fn report(folder: &Path, out: &Path, more: &[&str]) -> (i32, String, Value) {
    let mut arguments: Vec<PathBuf> =
        vec!["lesson".into(), folder.into(), "--out".into(), out.into()];
    arguments.extend(more.iter().map(PathBuf::from));
    let run = sixfold(&arguments);
    assert!(out.join("lesson.json").exists(), "{}", run.problems);
    let document = fs::read(out.join("lesson.json")).unwrap();
    (
        run.status,
        run.out,
        serde_json::from_slice(&document).unwrap(),
    )
}

fn photos_of(reading: &Value) -> BTreeSet<String> {
    let photos = reading["photos"].as_array().unwrap().iter();
    photos
        .map(|photo| photo["path"].as_str().unwrap().to_owned())
        .collect()
}

/// Cubes, a corner pair and a series of frames thrown together under names that tell nothing: no photo gets among those
/// of another cube.
#[test]
fn a_flat_folder_is_sorted_by_what_the_photos_show() {
    let base = folder("lesson-flat");
    let photos = base.join("photos");
    let mut truth: BTreeMap<String, &str> = BTreeMap::new();
    let cubes = [
        "faces-easy/cube-01-n6",
        "faces-easy/cube-13-n6",
        "faces-easy/cube-04-n4",
        "faces-easy/cube-16-n4",
        "faces-easy/cube-21-n3",
        "corners-easy/corner-01-n6",
        "bursts-normal/burst-02-n6",
    ];
    for (number, cube) in cubes.iter().enumerate() {
        for name in copy(cube, &base.join("in"), &format!("{number}-")) {
            // A fixed shuffle: the order of names says nothing of what belongs together.
            let sum = name.bytes().fold(7_u32, |sum, byte| {
                sum.wrapping_mul(31).wrapping_add(u32::from(byte)) ^ (sum >> 5)
            });
            let other = format!("{sum:010}.jpg");
            fs::create_dir_all(&photos).unwrap();
            fs::rename(base.join("in").join(&name), photos.join(&other)).unwrap();
            truth.insert(other, cube);
        }
    }
    let (_, _, document) = report(&photos, &base.join("report"), &[]);
    // Nothing tells whose they are, and the page says how that is told.
    let page = fs::read_to_string(base.join("report/index.html")).unwrap();
    assert!(page.contains("give each a folder, or its times in a roster"));
    let mut placed = 0;
    let mut whole = 0;
    for cube in document["cubes"].as_array().unwrap() {
        for reading in cube["history"].as_array().unwrap() {
            let group = photos_of(reading);
            let shown: BTreeSet<&str> = group.iter().map(|name| truth[name]).collect();
            assert_eq!(shown.len(), 1, "{group:?} of {shown:?}");
            placed += group.len();
            whole += 1;
        }
    }
    assert!(whole >= 5, "{whole} cubes were put together");
    let series = document["same_face"].as_array().unwrap();
    let in_series: usize = series
        .iter()
        .map(|group| group.as_array().unwrap().len())
        .sum();
    for group in series {
        let group = group.as_array().unwrap().iter();
        let shown: BTreeSet<&str> = group.map(|name| truth[name.as_str().unwrap()]).collect();
        assert_eq!(shown.len(), 1);
    }
    let left = document["not_placed"].as_array().unwrap().len();
    assert_eq!(
        placed + in_series + left,
        truth.len(),
        "every photo is listed once"
    );
}

/// The light of one of these photos misnames a whole colour where it is looked at alone; with the five beside it, it is
/// not misnamed.
#[test]
fn photos_that_followed_one_another_are_tried_together() {
    let base = folder("lesson-run");
    let photos = base.join("photos");
    copy("faces-easy/cube-09-n6", &photos, "1-");
    copy("faces-easy/cube-13-n6", &photos, "2-");
    let (status, told, document) = report(&photos, &base.join("report"), &[]);
    assert_eq!(status, 0, "{told}");
    for (cube, prefix) in document["cubes"]
        .as_array()
        .unwrap()
        .iter()
        .zip(["1-", "2-"])
    {
        let group = photos_of(&cube["history"][0]);
        assert_eq!(group.len(), 6);
        assert!(
            group.iter().all(|name| name.starts_with(prefix)),
            "{group:?}"
        );
    }
}

/// A folder a seat, names from a roster, a broken file among the photos: it is told, and stops nothing. The page holds
/// everything in itself, and the second run reads nothing anew.
#[test]
fn a_folder_for_each_seat() {
    let base = folder("lesson-seats");
    let photos = base.join("photos");
    copy("faces-easy/cube-13-n6", &photos.join("t1-s1"), "");
    copy("faces-easy/cube-04-n4", &photos.join("t1-s2"), "");
    fs::write(photos.join("t1-s2/broken.jpg"), b"no picture").unwrap();
    let roster = base.join("roster.csv");
    fs::write(
        &roster,
        "name,folder\n<Table 1> & seat 1,t1-s1\nSeat 9,t1-s9\n",
    )
    .unwrap();
    let out = base.join("report");
    let (status, told, document) = report(&photos, &out, &["--roster", roster.to_str().unwrap()]);
    assert_eq!(status, 3, "{told}");
    let cubes = document["cubes"].as_array().unwrap();
    let who: Vec<&str> = cubes
        .iter()
        .map(|cube| cube["who"].as_str().unwrap())
        .collect();
    assert_eq!(who, ["<Table 1> & seat 1", "t1-s2"]);
    assert_eq!(cubes[0]["history"][0]["outcome"], "read");
    assert_eq!(cubes[0]["history"][0]["diagnosis"]["stage"], "last-groups");
    // The cube of the second seat has a twisted corner.
    assert_eq!(cubes[1]["history"][0]["legality"]["legal"], false);
    let unusable = document["not_usable"].as_array().unwrap();
    assert_eq!(unusable.len(), 1);
    assert!(
        unusable[0]
            .as_str()
            .unwrap()
            .contains("no JPEG, HEIC, PNG or WebP")
    );
    assert_eq!(document["photos_read_now"], 13);

    let page = fs::read_to_string(out.join("index.html")).unwrap();
    assert!(!page.contains("in a roster"));
    // A folder mistyped in the roster is told, on the page and at once.
    for told in [
        &page,
        &told.replace('\n', " "),
        &document["not_met"].to_string(),
    ] {
        assert!(told.contains("Seat 9 in the folder t1-s9"), "{told}");
    }
    // The head says what is missing and leads there; what has to be mended is said in the table too.
    let (head, _) = page.split_once("</header>").unwrap();
    for (place, words) in [
        ("rest", "1 file not usable"),
        ("roster", "1 note on the roster"),
    ] {
        let link = format!("<a href=\"#{place}\">{words}</a>");
        assert!(head.contains(&link), "{head}");
        assert!(page.contains(&format!("id=\"{place}\"")));
    }
    assert!(page.contains("Mend it first: a corner is twisted"));
    // What the moves are known as; the truth has the colours of the second cube round the other way.
    let (first, second) = page
        .split_once("id=\"c1\"")
        .expect("a card for each of the two cubes");
    let known = &cubes[0]["history"][0]["advice"]["known"];
    assert!(first.contains(known["title"].as_str().unwrap()));
    assert!(first.contains(known["side_effects"].as_str().unwrap()));
    let caution = "the other way than on most cubes";
    assert_eq!(
        [first, second].map(|card| card.contains(caution)),
        [false, true]
    );
    assert!(page.contains("&lt;Table 1&gt; &amp; seat 1") && !page.contains("<Table 1>"));
    for outside in ["http://", "https://", "src=\"/", "url("] {
        let rest = page.replace("http://www.w3.org/2000/svg", "");
        assert!(!rest.contains(outside), "{outside}");
    }
    let table = fs::read_to_string(out.join("lesson.csv")).unwrap();
    assert_eq!(table.lines().count(), 3, "{table}");

    let (_, _, again) = report(&photos, &out, &["--roster", roster.to_str().unwrap()]);
    // Only what could not be used is tried again.
    assert_eq!(again["photos_read_now"], 1);
    assert_eq!(again["cubes"], document["cubes"]);
}

/// Photos that were copied, as phones and people do: they make no second cube and no history.
#[test]
fn a_photo_that_lies_there_twice_counts_once() {
    let base = folder("lesson-copies");
    let photos = base.join("photos");
    copy("faces-easy/cube-13-n6", &photos, "");
    copy("faces-easy/cube-13-n6", &photos, "copy of ");
    copy("faces-easy/cube-21-n3", &photos.join("t1-s2"), "");
    copy("faces-easy/cube-21-n3", &photos.join("t1-s2"), "copy of ");
    let (status, told, document) = report(&photos, &base.join("report"), &[]);
    assert_eq!(status, 3, "{told}");
    let cubes = document["cubes"].as_array().unwrap();
    assert_eq!(cubes.len(), 2);
    for cube in cubes {
        assert_eq!(cube["history"].as_array().unwrap().len(), 1);
        assert_eq!(photos_of(&cube["history"][0]).len(), 6);
    }
    let left = document["not_placed"].as_array().unwrap();
    assert_eq!(left.len(), 12);
    assert!(
        left.iter().all(|photo| photo["reason"] == "copy"),
        "{left:?}"
    );
}

/// Ten photos of one face in someone's folder: no cube, and every photo is told.
#[test]
fn a_folder_of_one_face_is_no_cube() {
    let base = folder("lesson-one-face");
    let photos = base.join("photos");
    let names = copy("bursts-normal/burst-02-n6", &photos.join("t1-s1"), "");
    let (status, told, document) = report(&photos, &base.join("report"), &[]);
    assert_eq!(status, 3, "{told}");
    let reading = &document["cubes"][0]["history"][0];
    assert_eq!(reading["outcome"], "unreadable");
    let left = document["not_placed"].as_array().unwrap();
    assert!(
        left.iter().all(|photo| photo["reason"] == "repeats"),
        "{left:?}"
    );
    assert_eq!(photos_of(reading).len() + left.len(), names.len());
}

#[test]
fn what_is_no_lesson_is_refused() {
    let base = folder("lesson-refused");
    let out = base.join("report");
    let check = |arguments: &[&Path], words: &str| {
        let mut all = vec![Path::new("lesson")];
        all.extend(arguments);
        let run = sixfold(&all);
        assert_eq!(run.status, 1);
        assert!(run.problems.contains(words), "{}", run.problems);
    };
    let here = base.join("empty");
    fs::create_dir_all(&here).unwrap();
    let flag = Path::new("--out");
    check(
        &[Path::new("no-such-folder"), flag, &out],
        "a folder of photos was expected",
    );
    check(&[&here, flag, &out], "no photo was met");
    check(&[&here, flag, &here], "lie among the photos");
    let roster = base.join("roster.csv");
    fs::write(&roster, "seat\n1\n").unwrap();
    check(
        &[&here, flag, &out, Path::new("--roster"), &roster],
        "the roster cannot be used",
    );
}
