//! Whatever cannot be used: one sentence that says what was met, what was expected and what to do, the right
//! exit status, nothing on standard output.

use super::photos::{photos, read_json};
use super::{folder, project, sixfold, sixfold_given, state_of};
use serde_json::json;
use std::process::Command;

fn check_state(state: &str, expected: &[&str]) {
    let run = sixfold_given(state, ["diagnose", "-"]);
    assert_eq!((run.status, run.out.as_str()), (1, ""), "{}", run.problems);
    assert!(run.problems.starts_with("sixfold: "), "{}", run.problems);
    assert_eq!(run.problems.lines().count(), 1, "{}", run.problems);
    for words in expected {
        assert!(
            run.problems.contains(words),
            "{words} expected in {}",
            run.problems
        );
    }
}

#[test]
fn states_that_are_none() {
    check_state("", &["no JSON"]);
    // Once, not again after the sentence.
    let run = sixfold_given("hello", ["diagnose", "-"]);
    assert_eq!(
        run.problems.matches("expected value").count(),
        1,
        "{}",
        run.problems
    );
    check_state("[1, 2]", &["at the top", "a list of 2"]);
    check_state("{\"n\": 40}", &["at n: 40 was met", "from 2 to 17"]);
    let mut state = state_of("faces-easy/cube-21-n3");
    state["faces"]["D"][2][1] = json!("teal");
    check_state(&state.to_string(), &["faces.D[2][1]", "\"teal\"", "white"]);
    state["faces"]["D"][2][1] = json!("pink");
    check_state(&state.to_string(), &["7 colours", "pink", "six"]);
    state["n"] = json!(4);
    check_state(
        &state.to_string(),
        &["at faces.U", "a list of 3", "a list of 4 rows"],
    );
}

#[test]
fn files_that_are_none() {
    let run = sixfold(["diagnose", "no/such/state.json"]);
    assert_eq!(run.status, 1);
    assert!(run.problems.contains("no such file"), "{}", run.problems);
    assert!(
        run.problems.contains("no/such/state.json"),
        "{}",
        run.problems
    );
    let run = sixfold(["diagnose", "fixtures"]);
    assert_eq!(run.status, 1);
    assert!(run.problems.contains("folder"), "{}", run.problems);
}

#[test]
fn pictures_that_cannot_be_drawn() {
    let folder = folder("refusals-pictures");
    let state = folder.join("state.json");
    std::fs::write(&state, state_of("faces-easy/cube-21-n3").to_string()).unwrap();
    for (name, status, words) in [
        ("net.bmp", 2, ".svg or .png"),
        ("no/such/folder/net.svg", 1, "cannot be written"),
    ] {
        let picture = folder.join(name);
        let run = sixfold([
            "diagnose".as_ref(),
            state.as_os_str(),
            "--picture".as_ref(),
            picture.as_os_str(),
        ]);
        assert_eq!((run.status, run.out.as_str()), (status, ""));
        assert!(run.problems.contains(words), "{}", run.problems);
    }
}

const GOOD: &str = "fixtures/photos/faces-easy/cube-01-n6/photo-1.jpg";

fn check_photo(path: &std::path::Path, words: &str) {
    let run = sixfold(["read".as_ref(), GOOD.as_ref(), path.as_os_str()]);
    assert_eq!((run.status, run.out.as_str()), (1, ""), "{}", run.problems);
    assert_eq!(run.problems.lines().count(), 1, "{}", run.problems);
    assert!(run.problems.contains(words), "{}", run.problems);
    let named = path.display().to_string();
    assert!(
        run.problems.trim_end().ends_with(&named),
        "{}",
        run.problems
    );
}

#[test]
fn photos_that_are_none() {
    let folder = folder("refusals-photos");
    let file = |name: &str, bytes: &[u8]| {
        let path = folder.join(name);
        std::fs::write(&path, bytes).unwrap();
        path
    };
    let whole = std::fs::read(project(GOOD)).unwrap();
    check_photo(&folder.join("missing.jpg"), "no such file");
    check_photo(&folder.join("*.jpg"), "no photo has a name like this");
    check_photo(&folder, "as in ");
    check_photo(&file("state.json", b" {\"n\": 3}"), "`sixfold diagnose`");
    check_photo(&file("empty.jpg", b""), "empty");
    check_photo(
        &file("notes.jpg", b"bring six cubes on Friday"),
        "no JPEG, HEIC, PNG or WebP",
    );
    check_photo(
        &file("moving.jpg", b"GIF89a\x01\0\x01\0\0\0\0;"),
        "no JPEG, HEIC, PNG or WebP",
    );
    check_photo(
        &file("phone.heic", b"\0\0\0\x18ftypheic\0\0\0\0mif1heic"),
        "HEIC",
    );
    for kilobytes in [1, 16, 64, 100] {
        let name = format!("cut-{kilobytes}.jpg");
        check_photo(&file(&name, &whole[..kilobytes * 1024]), "breaks off");
    }
    // 21,000 pixels a side: a head and nothing else is enough to be refused.
    let mut huge = vec![0x89, b'P', b'N', b'G', 13, 10, 26, 10, 0, 0, 0, 13];
    huge.extend(b"IHDR\0\0\x52\x08\0\0\x52\x08\x08\x02\0\0\0");
    // The check sum of these 17 bytes, by python3 -c 'import zlib; …zlib.crc32'.
    huge.extend([0xdf, 0xf5, 0xb5, 0xa7]);
    huge.extend(b"\0\0\0\0IDAT\x35\xaf\x06\x1e");
    check_photo(&file("huge.png", &huge), "441 megapixels, at most 100");
}

/// All photos that cannot be used are named at once, a line each.
#[test]
fn every_bad_photo_is_named() {
    let run = sixfold(["read", "--json", "README.md", GOOD, "missing.jpg", "src"]);
    assert_eq!((run.status, run.out.as_str()), (1, ""), "{}", run.problems);
    let lines: Vec<_> = run.problems.lines().collect();
    assert_eq!(lines.len(), 3, "{lines:?}");
    for (line, name) in lines.iter().zip(["README.md", "missing.jpg", "src"]) {
        assert!(
            line.starts_with("sixfold: ") && line.ends_with(name),
            "{line}"
        );
    }
}

/// A picture without a cube is no mistake of the command line: it is unreadable, and named.
#[test]
fn a_picture_without_a_cube() {
    let folder = folder("refusals-empty");
    let path = folder.join("wall.png");
    image::RgbImage::from_fn(640, 480, |x, y| {
        image::Rgb([(x / 4) as u8, (y / 4) as u8, 90])
    })
    .save(&path)
    .unwrap();
    let run = sixfold(["read".as_ref(), "--json".as_ref(), path.as_os_str()]);
    assert_eq!(run.status, 3, "{}", run.problems);
    let reading = run.json();
    assert_eq!(reading["outcome"], "unreadable");
    assert_eq!(reading["faces"], json!(null));
    let problem = reading["photos"][0]["problem"].as_str().unwrap();
    assert!(problem.contains("no face of a cube"), "{problem}");
}

/// Checks photos that were read but make no cube: the kind of problem, and words of its sentence.
fn check_unread(paths: &[std::path::PathBuf], (status, kind): (i32, &str), words: &[&str]) {
    let run = read_json(paths);
    assert_eq!(run.status, status, "{}", run.problems);
    let reading = run.json();
    assert_eq!(reading["outcome"], "unreadable");
    assert_eq!(reading["problem"]["kind"], kind, "{}", reading["problem"]);
    let text = reading["problem"]["text"].as_str().unwrap();
    for words in words {
        assert!(text.contains(words), "{words} expected in {text}");
    }
    for key in ["faces", "legality", "diagnosis", "advice"] {
        assert_eq!(reading[key], json!(null), "{key}");
        assert!(reading.get(key).is_some(), "{key} is there");
    }
    assert_eq!(reading["photos"].as_array().unwrap().len(), paths.len());
}

/// Source of what is missing: the records that came with the photos (photo 6 shows U of the 6×6×6, across from
/// photo 1; D with the blue centre of the 3×3×3, across from photo 3; R with the red centre of the 5×5×5).
#[test]
fn a_face_is_missing() {
    let five = [1, 2, 3, 4, 5];
    let expected = (3, "faces-missing");
    let across = [
        "five faces",
        "the face across from the one in",
        "photo-1.jpg",
    ];
    check_unread(&photos("faces-easy/cube-01-n6", &five), expected, &across);
    let blue = ["the face with the blue centre", "photo-3.jpg"];
    check_unread(&photos("faces-easy/cube-21-n3", &five), expected, &blue);
    let red = ["the face with the red centre"];
    check_unread(&photos("faces-easy/cube-18-n5", &five), expected, &red);
    check_unread(
        &photos("faces-easy/cube-18-n5", &[2]),
        expected,
        &["one face was seen"],
    );
}

#[test]
fn a_face_is_shown_twice() {
    let mut paths = photos("faces-easy/cube-01-n6", &[1, 2, 3, 4, 5]);
    // The same photo turned and brightened: another file, the same face.
    let again = folder("refusals-twice").join("again.png");
    let picture = image::open(&paths[3]).unwrap();
    picture.rotate90().brighten(12).save(&again).unwrap();
    paths.push(again);
    let words = [
        "photo-4.jpg and",
        "again.png",
        "five faces",
        "across from",
        "photo-1.jpg",
    ];
    check_unread(&paths, (3, "same-face-twice"), &words);

    let corner = photos("corners-easy/corner-01-n6", &[1, 1]);
    let reading = read_json(&corner).json();
    let text = reading["problem"]["text"].as_str().unwrap();
    assert_eq!(text.matches("given twice").count(), 1, "{text}");

    // A name is printed as it is, though a sentence begins with a capital letter.
    let named = folder("refusals-named");
    let given = [1, 2, 3, 4, 5, 5].map(|number| {
        let path = named.join(format!("photo-{number}.jpg"));
        std::fs::copy(&photos("faces-easy/cube-01-n6", &[number])[0], &path).unwrap();
        path
    });
    let run = Command::new(env!("CARGO_BIN_EXE_sixfold"))
        .arg("read")
        .args(given.iter().filter_map(|path| path.file_name()))
        .current_dir(&named)
        .output()
        .unwrap();
    let out = String::from_utf8(run.stdout).unwrap();
    assert!(
        out.contains("The photo photo-5.jpg was given twice"),
        "{out}"
    );
}

#[test]
fn photos_of_two_cubes() {
    for (cube, other) in [
        ("faces-easy/cube-01-n6", "faces-easy/cube-13-n6"),
        ("faces-easy/cube-18-n5", "faces-easy/cube-06-n5"),
    ] {
        let mut paths = photos(cube, &[1, 2, 3, 4, 5]);
        paths.extend(photos(other, &[6]));
        let odd = format!("{other}/photo-6.jpg is the one that fits least");
        check_unread(&paths, (1, "mixed-cubes"), &["do not fit one cube", &odd]);
    }
    let mut paths = photos("faces-easy/cube-01-n6", &[1, 2, 3]);
    paths.extend(photos("faces-easy/cube-13-n6", &[4, 5, 6]));
    check_unread(&paths, (1, "mixed-cubes"), &["do not fit one cube"]);
}

#[test]
fn photos_of_two_sizes() {
    let mut paths = photos("faces-easy/cube-01-n6", &[1, 2, 3, 4, 5]);
    paths.extend(photos("faces-easy/cube-04-n4", &[6]));
    let words = ["different sizes", "cube-04-n4/photo-6.jpg", "4×4", "6×6"];
    check_unread(&paths, (1, "sizes-differ"), &words);
}

#[test]
fn a_recording_that_is_no_folder() {
    for name in ["no-such-folder", "Cargo.toml"] {
        let run = sixfold(["live", "--recording", name]);
        assert_eq!((run.status, run.out.as_str()), (1, ""), "{}", run.problems);
        let told = format!("this is none; check the name: {name}\n");
        assert!(run.problems.ends_with(&told), "{}", run.problems);
    }
}

#[test]
fn wrong_command_lines() {
    for arguments in [
        vec![],
        vec!["dance"],
        vec!["diagnose"],
        vec!["read"],
        vec!["read", "--json"],
        vec!["diagnose", "a", "b"],
        vec!["diagnose", "a", "--jsn"],
    ] {
        let run = sixfold(&arguments);
        assert_eq!((run.status, run.out.as_str()), (2, ""), "{arguments:?}");
        assert!(run.problems.contains("Usage"), "{}", run.problems);
    }
}

/// What a new user is likely to type, and what helps.
#[test]
fn wrong_command_lines_have_tips() {
    for (arguments, words) in [
        (
            &["read", "--size", "4", GOOD][..],
            "the size is found from the photos",
        ),
        (&["read", "-j", GOOD], "sixfold read photo-*.jpg"),
        (&["read", "--picure", "net.svg", GOOD], "'--picture'"),
        (&["reads", GOOD], "'read'"),
        (&[GOOD], "sixfold read fixtures/"),
        (&["fixtures"], "sixfold lesson fixtures --out REPORT"),
        (&["calibrate", GOOD], "--out my-cube.json"),
        (&["sequence", "R", "U", "--size", "3"], "between quotes"),
        (&["live", "fixtures"], "--recording FOLDER"),
        (
            &["lesson", "fixtures"],
            "sixfold lesson photos --out report",
        ),
    ] {
        let run = sixfold(arguments);
        assert_eq!((run.status, run.out.as_str()), (2, ""), "{arguments:?}");
        assert!(
            run.problems.contains(words),
            "{words} expected in {}",
            run.problems
        );
        assert!(!run.problems.contains("as a value"), "{}", run.problems);
    }
}

/// A disk with no room left: `/dev/full` takes nothing (its manual page: writing gives ENOSPC).
#[cfg(target_os = "linux")]
#[test]
fn no_room_for_the_answer() {
    let full = std::fs::OpenOptions::new()
        .write(true)
        .open("/dev/full")
        .unwrap();
    let run = Command::new(env!("CARGO_BIN_EXE_sixfold"))
        .args(["sequence", "R U", "--size", "3"])
        .stdout(full)
        .output()
        .unwrap();
    let problems = String::from_utf8(run.stderr).unwrap();
    assert_eq!(run.status.code(), Some(1), "{problems}");
    assert!(
        problems.contains("standard output") && problems.contains("make room"),
        "{problems}"
    );
    assert_eq!(problems.lines().count(), 1, "{problems}");
}
