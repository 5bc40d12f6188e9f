//! A lesson broken off, watched, or with files in it that cannot be read: the report is whole, and nothing is lost.

#![cfg(unix)]

use crate::lesson::{copy, report};
use crate::moments::with_exif;
use crate::{folder, project};
use serde_json::Value;
use std::fs;
use std::os::unix::fs::symlink;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

fn started(folder: &Path, out: &Path, more: &[&str]) -> Child {
    Command::new(env!("CARGO_BIN_EXE_sixfold"))
        .arg("lesson")
        .args([folder, Path::new("--out"), out])
        .args(more)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .unwrap()
}

/// What Ctrl-C sends.
fn interrupt(child: &Child) {
    let sent = Command::new("kill")
        .args(["-INT", &child.id().to_string()])
        .status();
    assert!(sent.unwrap().success());
}

/// Waits until something is there; the limit is only for a program that hangs.
fn wait_for<T>(what: &str, mut look: impl FnMut() -> Option<T>) -> T {
    let begun = Instant::now();
    loop {
        if let Some(found) = look() {
            return found;
        }
        assert!(begun.elapsed() < Duration::from_mins(5), "{what}");
        sleep(Duration::from_millis(20));
    }
}

fn document(out: &Path) -> Option<Value> {
    serde_json::from_slice(&fs::read(out.join("lesson.json")).ok()?).ok()
}

fn length(list: &Value) -> usize {
    list.as_array().unwrap().len()
}

/// How many photos a report names, wherever.
fn named(document: &Value) -> usize {
    let cubes = document["cubes"].as_array().unwrap().iter();
    let readings = cubes.flat_map(|cube| cube["history"].as_array().unwrap());
    let series = document["same_face"].as_array().unwrap().iter();
    readings
        .map(|reading| length(&reading["photos"]))
        .sum::<usize>()
        + series.map(length).sum::<usize>()
        + ["not_placed", "not_usable", "not_looked_at"]
            .iter()
            .map(|list| length(&document[list]))
            .sum::<usize>()
}

/// 60 different photos of one face: enough to be still at it when interrupted.
#[test]
fn a_run_broken_off_is_taken_up_again() {
    let base = folder("lesson-broken-off");
    let photos = base.join("photos");
    fs::create_dir_all(&photos).unwrap();
    for number in 0..60 {
        let frame = format!(
            "fixtures/photos/bursts-normal/burst-02-n6/frame-{:02}.jpg",
            1 + number % 10
        );
        let frame = fs::read(project(&frame)).unwrap();
        let photo = with_exif(&frame, "2026:05:04 10:00:00", &format!("copy {number:02}"));
        fs::write(photos.join(format!("{number}.jpg")), photo).unwrap();
    }
    let out = base.join("report");
    let mut child = started(&photos, &out, &[]);
    wait_for("photos are remembered", || {
        (fs::read_dir(out.join(".seen")).ok()?.count() > 1).then_some(())
    });
    interrupt(&child);
    assert_eq!(child.wait().unwrap().code(), Some(3));
    let first = document(&out).unwrap();
    let (skipped, read) = (
        length(&first["not_looked_at"]),
        first["photos_read_now"].as_u64().unwrap(),
    );
    assert!(skipped > 0, "all were read before the interruption came");
    assert_eq!(named(&first), 60);
    let page = fs::read_to_string(out.join("index.html")).unwrap();
    assert!(page.contains("The reading was interrupted") && page.ends_with("</html>\n"));

    let (_, _, second) = report(&photos, &out, &[]);
    assert_eq!(length(&second["not_looked_at"]), 0);
    assert_eq!(second["photos_read_now"].as_u64().unwrap(), 60 - read);
    assert_eq!(named(&second), 60);
}

/// Photos come into the folder while it is watched, a broken one among them.
#[test]
fn a_watched_folder_is_followed() {
    let base = folder("lesson-watched");
    let photos = base.join("photos");
    fs::create_dir_all(&photos).unwrap();
    let out = base.join("report");
    let mut child = started(&photos, &out, &["--watch"]);
    let empty = wait_for("a first report", || document(&out));
    assert_eq!(named(&empty), 0);
    // The watch begins after the first report.
    sleep(Duration::from_millis(500));
    copy("faces-easy/cube-21-n3", &photos, "");
    fs::write(photos.join("broken.jpg"), b"no picture").unwrap();
    let full = wait_for("the photos in the report", || {
        document(&out).filter(|document| named(document) == 7)
    });
    assert_eq!(full["cubes"][0]["history"][0]["outcome"], "read");
    let reloads = || {
        fs::read_to_string(out.join("index.html"))
            .unwrap()
            .contains("location.reload")
    };
    assert!(reloads());
    interrupt(&child);
    // The broken photo is left out, and said so.
    assert_eq!(child.wait().unwrap().code(), Some(3));
    assert!(
        !reloads(),
        "the page goes on reloading though no one watches"
    );
    assert_eq!(document(&out).unwrap()["cubes"], full["cubes"]);
}

/// A link to nothing, a link in a circle, an empty file, a folder named like a photo.
#[test]
fn what_cannot_be_read_stops_nothing() {
    let base = folder("lesson-unreadable");
    let photos = base.join("photos");
    copy("faces-easy/cube-21-n3", &photos.join("seat 1"), "");
    symlink("gone.jpg", photos.join("seat 1/link.jpg")).unwrap();
    symlink(&photos, photos.join("seat 1/circle")).unwrap();
    fs::write(photos.join("empty.png"), b"").unwrap();
    fs::create_dir(photos.join("folder.jpg")).unwrap();
    let (status, told, document) = report(&photos, &base.join("report"), &[]);
    assert_eq!(status, 3, "{told}");
    assert_eq!(length(&document["cubes"]), 1);
    assert_eq!(document["cubes"][0]["history"][0]["outcome"], "read");
    assert_eq!(length(&document["cubes"][0]["history"][0]["photos"]), 6);
    let unusable = document["not_usable"].to_string();
    assert_eq!(length(&document["not_usable"]), 2, "{unusable}");
    assert!(unusable.contains("no such file") && unusable.contains("the file is empty"));
}
