//! The report of a lesson: sorted, filtered and made ready for paper as a teacher does it.

use crate::browser::{Browser, scratch};
use serde_json::{Value, json};
use std::fs;
use std::path::Path;
use std::process::Command;

/// Who holds which cube.
const LESSON: [(&str, &str); 4] = [
    ("Bo", "faces-easy/cube-21-n3"),
    ("ada", "faces-easy/cube-13-n6"),
    ("Cem", "faces-easy/cube-18-n5"),
    ("Dana 10", "faces-easy/cube-04-n4"),
];

/// The address of a report on these cubes.
fn report() -> String {
    let base = scratch("lesson");
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    for (who, cube) in LESSON {
        let folder = base.join("photos").join(who);
        fs::create_dir_all(&folder).unwrap();
        for number in 1..=6 {
            let name = format!("photo-{number}.jpg");
            let from = root.join("fixtures/photos").join(cube).join(&name);
            fs::copy(from, folder.join(name)).unwrap();
        }
    }
    let out = base.join("report");
    let run = Command::new(env!("CARGO_BIN_EXE_sixfold"))
        .arg("lesson")
        .args([&base.join("photos"), Path::new("--out"), &out])
        .output()
        .unwrap();
    assert!(run.status.success(), "{run:?}");
    format!("file://{}", out.join("index.html").display())
}

/// The names in the table, from the top, that are to be seen.
fn names(browser: &mut Browser) -> Value {
    browser.value(
        "[...document.querySelectorAll('#cubes tbody tr')].filter(row => row.offsetParent).map(row => row.cells[0].textContent)",
    )
}

fn cards(browser: &mut Browser) -> Value {
    browser
        .value("[...document.querySelectorAll('.card')].filter(card => card.offsetParent).length")
}

#[test]
fn the_table_is_sorted_and_filtered_by_hand() {
    let mut browser = Browser::open(&report(), None, (1280, 800));
    browser.wait_for("Boolean(window.lesson)");
    browser.picture("lesson");
    let head = |number: usize| format!("#cubes th:nth-child({number}) button");
    browser.click(&head(1));
    assert_eq!(names(&mut browser), json!(["ada", "Bo", "Cem", "Dana 10"]));
    browser.click(&head(1));
    assert_eq!(names(&mut browser), json!(["Dana 10", "Cem", "Bo", "ada"]));
    // By size, as a number; the way is told to those who cannot see the arrow.
    browser.click(&head(2));
    assert_eq!(names(&mut browser), json!(["Bo", "Dana 10", "Cem", "ada"]));
    assert_eq!(
        browser.value("[...document.querySelectorAll('#cubes th')].map(head => head.ariaSort)"),
        json!(["none", "ascending", "none", "none", "none", "none"])
    );

    // Both that are at their last groups; their cards alone stay below.
    browser.click("#filter");
    for key in "LAST groups".chars() {
        browser.press(&key.to_string());
    }
    assert_eq!(names(&mut browser), json!(["Cem", "ada"]));
    assert_eq!(cards(&mut browser), json!(2));
    assert_eq!(
        browser.value("document.getElementById('shown').value"),
        json!("2 of 4")
    );
    // Sorted among themselves, and all again once the words are gone.
    browser.click(&head(1));
    assert_eq!(names(&mut browser), json!(["ada", "Cem"]));
    browser.value("document.getElementById('filter').select()");
    browser.press("Backspace");
    assert_eq!(names(&mut browser), json!(["ada", "Bo", "Cem", "Dana 10"]));
    assert_eq!(cards(&mut browser), json!(4));
    assert_eq!(browser.complaints, Vec::<String>::new());
}

/// As wide as the paper between its margins, nothing is cut, and two cubes fit a page.
#[test]
fn the_page_fits_the_paper() {
    let page = report();
    for (paper, size_mm) in [("A4", (210.0, 297.0)), ("Letter", (215.9, 279.4))] {
        let to_px = |mm: f64| mm / 25.4 * 96.0;
        // The margins of the style sheet.
        let (wide, high) = (to_px(size_mm.0 - 26.0), to_px(size_mm.1 - 28.0));
        let mut browser = Browser::open(&page, None, (wide as u32, high as u32));
        browser.print();
        browser.wait_for("matchMedia('print').matches && Boolean(window.lesson)");
        assert_eq!(
            browser.value("document.documentElement.scrollWidth <= innerWidth"),
            json!(true),
            "{paper}"
        );
        let tallest = browser.value(
            "Math.max(...[...document.querySelectorAll('.card')].map(card => card.offsetHeight))",
        );
        assert!(
            tallest.as_f64().unwrap() < high / 2.0,
            "{paper}: {tallest} of {high}"
        );
    }
}
