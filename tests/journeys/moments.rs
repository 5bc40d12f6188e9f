//! A lesson's photos with what cameras write into them: when they were taken, and things that are no one's business.

use crate::lesson::{copy, report};
use crate::{folder, project, sixfold};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use std::fs;
use std::path::{Path, PathBuf};

/// What a camera might say of the place; it must not be found in any report.
const PLACE: &str = "12 Hidden Lane, second floor";

/// A JPEG with a block of EXIF put in: when it was taken, as 2026:05:04 10:02:03, and where.
pub(super) fn with_exif(jpeg: &[u8], taken: &str, place: &str) -> Vec<u8> {
    // Layout: TIFF 6.0, big-endian; tags: JEITA CP-3451. The first directory lies at 8, the one of EXIF at 38, texts from 56.
    let entry = |tag: u16, kind: u16, count: usize, value: u32| {
        let mut bytes = Vec::from(tag.to_be_bytes());
        bytes.extend(kind.to_be_bytes());
        bytes.extend(u32::try_from(count).unwrap().to_be_bytes());
        bytes.extend(value.to_be_bytes());
        bytes
    };
    assert_eq!(taken.len(), 19);
    let mut block = b"Exif\0\0MM\0\x2a\0\0\0\x08\0\x02".to_vec();
    block.extend(entry(0x010e, 2, place.len() + 1, 76));
    block.extend(entry(0x8769, 4, 1, 38));
    block.extend([0, 0, 0, 0, 0, 1]);
    block.extend(entry(0x9003, 2, 20, 56));
    block.extend([0, 0, 0, 0]);
    block.extend(taken.as_bytes());
    block.push(0);
    block.extend(place.as_bytes());
    block.push(0);
    let mut photo = jpeg[..2].to_vec();
    photo.extend([0xff, 0xe1]);
    photo.extend(u16::try_from(block.len() + 2).unwrap().to_be_bytes());
    photo.extend(block);
    photo.extend(&jpeg[2..]);
    photo
}

/// All files in a folder and the folders in it.
fn files(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for item in fs::read_dir(folder).unwrap() {
        let path = item.unwrap().path();
        if path.is_dir() {
            found.extend(files(&path));
        } else {
            found.push(path);
        }
    }
    found
}

/// Two moments of a seat's cube thrown together; names say nothing, the clock of the camera says all. Nothing else that the
/// camera wrote is in the report.
#[test]
fn times_tell_who_and_how_far() {
    let base = folder("lesson-moments");
    let photos = base.join("photos");
    fs::create_dir_all(&photos).unwrap();
    // Source of the stages: the cubes' truth.json, scrambled and all-edges-but-two.
    let moments = [
        ("faces-easy/cube-01-n6", "10:01", "b"),
        ("faces-easy/cube-13-n6", "10:21", "a"),
    ];
    for (cube, time, letter) in moments {
        for number in 1..=6 {
            let path = project(&format!("fixtures/photos/{cube}/photo-{number}.jpg"));
            let taken = format!("2026:05:04 {time}:{:02}", 7 * number);
            let photo = with_exif(&fs::read(path).unwrap(), &taken, PLACE);
            // Later photos have earlier names, and names lead from one moment to the other and back.
            let name = format!("img-{}-{letter}.jpg", 10 - number);
            fs::write(photos.join(name), photo).unwrap();
        }
    }
    let roster = base.join("roster.csv");
    let table = "name,from,until\nseat 1,2026-05-04 10:00,2026-05-04 10:05\nseat 1,2026-05-04 10:20,2026-05-04 10:25\n";
    fs::write(&roster, table).unwrap();
    let out = base.join("report");
    let (status, told, document) = report(&photos, &out, &["--roster", roster.to_str().unwrap()]);
    assert_eq!(status, 0, "{told}");
    let cubes = document["cubes"].as_array().unwrap();
    assert_eq!(cubes.len(), 1);
    assert_eq!(cubes[0]["who"], "seat 1");
    let history = cubes[0]["history"].as_array().unwrap();
    let told: Vec<(&str, &str)> = history
        .iter()
        .map(|reading| {
            let stage = &reading["diagnosis"]["stage"];
            (reading["taken"].as_str().unwrap(), stage.as_str().unwrap())
        })
        .collect();
    let expected = [
        ("2026-05-04 10:01", "centres"),
        ("2026-05-04 10:21", "last-groups"),
    ];
    assert_eq!(told, expected);
    let page = fs::read_to_string(out.join("index.html")).unwrap();
    assert!(page.contains("How far it came"));

    for path in files(&out) {
        let bytes = fs::read(&path).unwrap();
        let holds = |text: &[u8]| bytes.windows(text.len()).any(|part| part == text);
        assert!(!holds(PLACE.as_bytes()), "{}", path.display());
    }
    let cuts: Vec<&str> = page.split("data:image/jpeg;base64,").skip(1).collect();
    assert_eq!(cuts.len(), 6, "the faces of the latest moment");
    for cut in cuts {
        let picture = STANDARD.decode(cut.split('"').next().unwrap()).unwrap();
        assert!(!picture.windows(4).any(|part| part == b"Exif"));
        let picture = image::load_from_memory(&picture).unwrap();
        assert!(picture.width() == picture.height() && picture.width() < 200);
    }
}

/// Source: the photos are those of the cube, written as HEIC by libheif.
#[test]
fn photos_of_phones_are_read() {
    let heic: Vec<PathBuf> = (1..=6)
        .map(|number| project(&format!("fixtures/heic/photo-{number}.heic")))
        .collect();
    let read = |photos: &[PathBuf]| {
        let mut arguments: Vec<PathBuf> = vec!["read".into(), "--json".into()];
        arguments.extend_from_slice(photos);
        let run = sixfold(&arguments);
        assert_eq!(run.status, 0, "{}", run.problems);
        run.json()
    };
    let jpeg: Vec<PathBuf> = (1..=6)
        .map(|number| {
            project(&format!(
                "fixtures/photos/faces-easy/cube-13-n6/photo-{number}.jpg"
            ))
        })
        .collect();
    assert_eq!(read(&heic)["faces"], read(&jpeg)["faces"]);

    let base = folder("lesson-heic");
    let photos = base.join("photos");
    fs::create_dir_all(photos.join("seat 1")).unwrap();
    for path in &heic {
        fs::copy(path, photos.join("seat 1").join(path.file_name().unwrap())).unwrap();
    }
    // Written by a phone that breaks off, and a brand without a picture in it.
    let whole = fs::read(&heic[0]).unwrap();
    fs::write(photos.join("half.heic"), &whole[..whole.len() / 2]).unwrap();
    fs::write(
        photos.join("none.heic"),
        b"\0\0\0\x18ftypheic\0\0\0\0mif1heic",
    )
    .unwrap();
    let (status, _, document) = report(&photos, &base.join("report"), &[]);
    assert_eq!(status, 3);
    assert_eq!(document["cubes"][0]["history"][0]["outcome"], "read");
    let unusable = document["not_usable"].as_array().unwrap();
    assert_eq!(unusable.len(), 2);
    for sentence in unusable {
        assert!(sentence.as_str().unwrap().contains("export it as JPEG"));
    }
}

/// A lesson in folders whose cube is photographed again while it is worked on: the folder has two moments.
#[test]
fn a_folder_with_two_moments() {
    let base = folder("lesson-two-moments");
    let place = base.join("photos/seat 2");
    copy("faces-easy/cube-01-n6", &place, "1-");
    copy("faces-easy/cube-13-n6", &place, "2-");
    let (status, told, document) = report(&base.join("photos"), &base.join("report"), &[]);
    assert_eq!(status, 0, "{told}");
    let history = document["cubes"][0]["history"].as_array().unwrap();
    let stages: Vec<&str> = history
        .iter()
        .map(|reading| reading["diagnosis"]["stage"].as_str().unwrap())
        .collect();
    assert_eq!(stages, ["centres", "last-groups"]);
}
