//! A solved cube, one face a photo: every sticker is clear, yet how the faces lie is not to be seen.

use super::lesson::report;
use super::{folder, sixfold};
use image::{Rgb, RgbImage};
use imageproc::drawing::draw_filled_rect_mut;
use imageproc::rect::Rect;
use std::path::PathBuf;

/// What stickers of the six colours usually look like (sRGB, from memory).
const COLOURS: [[u8; 3]; 6] = [
    [235, 235, 235],
    [190, 20, 30],
    [20, 150, 60],
    [240, 220, 30],
    [240, 120, 20],
    [20, 60, 170],
];

/// Six photos of a solved cube.
fn plain_faces(name: &str, n: u32) -> Vec<PathBuf> {
    let folder = folder(name);
    let draw = |(number, &colour): (usize, &[u8; 3])| {
        const SIDE: u32 = 420;
        let mut picture = RgbImage::from_pixel(800, 600, Rgb([120, 110, 100]));
        let at = |x: u32, y: u32| Rect::at(190 + x as i32, 90 + y as i32);
        draw_filled_rect_mut(&mut picture, at(0, 0).of_size(SIDE, SIDE), Rgb([15; 3]));
        let cell = SIDE / n;
        for place in 0..n * n {
            let sticker = at(place % n * cell + 5, place / n * cell + 5);
            draw_filled_rect_mut(
                &mut picture,
                sticker.of_size(cell - 10, cell - 10),
                Rgb(colour),
            );
        }
        let path = folder.join(format!("{number}.png"));
        picture.save(&path).unwrap();
        path
    };
    COLOURS.iter().enumerate().map(draw).collect()
}

#[test]
fn a_solved_cube_face_by_face() {
    for n in [2, 3, 6] {
        let mut arguments = vec![PathBuf::from("read")];
        arguments.extend(plain_faces(&format!("plain-{n}"), n));
        let run = sixfold(&arguments);
        assert_eq!(run.status, 3, "{}", run.out);
        assert!(
            run.out.starts_with("The cube is solved, but"),
            "{}",
            run.out
        );
        let words = run.out.split_whitespace().collect::<Vec<_>>().join(" ");
        let held = "with white on top and green in front, red is on the right, orange on the left, \
                    blue behind and yellow below, it is as shown";
        assert!(words.contains(held), "{words}");

        arguments.push("--json".into());
        let reading = sixfold(&arguments).json();
        assert_eq!(reading["outcome"], "doubtful");
        assert_eq!(reading["laying_open"], true);
        assert_eq!(reading["doubts"], serde_json::json!([]));
        assert_eq!(reading["diagnosis"]["stage"], "solved");

        arguments.push("--as-printed".into());
        let told = sixfold(&arguments);
        assert_eq!(told.status, 0);
        assert_eq!(told.json()["outcome"], "read");
        assert_eq!(told.json()["faces"], reading["faces"]);
    }
}

/// The colours of a cube are best learned when it is solved.
#[test]
fn a_solved_cube_is_learned_once_it_is_said_how_it_lies() {
    let learned = folder("plain-learned").join("cube.json");
    let photos = plain_faces("plain-learning", 3);
    let learn = |more: &[&str]| {
        let mut arguments = vec![PathBuf::from("calibrate")];
        arguments.extend(photos.clone());
        arguments.extend(["--out".into(), learned.clone()]);
        arguments.extend(more.iter().map(PathBuf::from));
        sixfold(&arguments)
    };
    let run = learn(&[]);
    assert_eq!(run.status, 3);
    assert!(run.out.contains("--as-printed"), "{}", run.out);
    assert!(!learned.exists());
    assert_eq!(learn(&["--as-printed"]).status, 0);

    // Then it need not be said again.
    let mut arguments = vec![PathBuf::from("read")];
    arguments.extend(photos.clone());
    arguments.extend(["--cube".into(), learned.clone()]);
    assert_eq!(sixfold(&arguments).status, 0);
}

#[test]
fn solved_cubes_of_a_lesson_are_counted_as_solved() {
    for seat in ["seat-1", "seat-2"] {
        plain_faces(&format!("plain-lesson/{seat}"), 3);
    }
    let base = folder("plain-report");
    let (status, told, document) = report(&base.with_file_name("plain-lesson"), &base, &[]);
    assert_eq!(status, 3, "{told}");
    let told = told.replace('\n', " ");
    assert!(
        told.contains("Two solved") && !told.contains("in doubt"),
        "{told}"
    );
    assert_eq!(document["cubes"][0]["history"][0]["outcome"], "doubtful");
    let table = std::fs::read_to_string(base.join("lesson.csv")).unwrap();
    assert!(
        table.contains(",Solved,") && table.contains("None: it is solved"),
        "{table}"
    );
}
