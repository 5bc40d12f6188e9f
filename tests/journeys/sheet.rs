//! The printable sheet of all cases of a size.

use super::{folder, sixfold};

#[test]
fn a_sheet_of_cases() {
    // Source of the counts: the independent enumeration of last-group cases (1, 7 and 19 on 4, 5 and 6), and three
    // parities of a reduced cube on even sizes.
    // On larger ones those of the 5×5×5 in any of seven sets of three layers.
    for (size, count) in [("4", 1 + 3), ("5", 7), ("6", 19 + 3), ("9", 7 * 7)] {
        let out = folder(&format!("sheet-{size}")).join("made/if/need/be");
        let run = sixfold(["cases", "--size", size, "--out", out.to_str().unwrap()]);
        assert_eq!(run.status, 0, "{}", run.problems);
        let page = std::fs::read_to_string(out.join("index.html")).unwrap();
        assert_eq!(page.matches("<article ").count(), count);
        // And one with what the pictures share.
        assert_eq!(page.matches("<svg ").count(), count + 1);
        // Self-contained: nothing is fetched, no script runs.
        let page = page.replace("<use href=\"#", "");
        for outside in ["href=", "src=", "url(", "@import", "<script", "<link"] {
            assert!(!page.contains(outside), "{outside}");
        }
        let files = std::fs::read_dir(&out)
            .unwrap()
            .map(|entry| entry.unwrap().file_name());
        let mut names: Vec<String> = files.map(|name| name.into_string().unwrap()).collect();
        names.retain(|name| name != "index.html");
        assert_eq!(names.len(), count);
        for name in names {
            let id = name.strip_suffix(".svg").unwrap();
            assert!(page.contains(&format!(r#"<article id="{id}">"#)), "{id}");
            let svg = std::fs::read_to_string(out.join(&name)).unwrap();
            assert!(
                svg.starts_with("<svg ") && svg.ends_with("</svg>"),
                "{name}"
            );
        }
    }
}

/// The sequence of each case on the 4×4×4 sheet, by its own words: as many sentences as moves.
#[test]
fn every_move_is_spelled_out() {
    let out = folder("sheet-words");
    let run = sixfold(["cases", "--size", "4", "--out", out.to_str().unwrap()]);
    assert_eq!(run.status, 0, "{}", run.problems);
    let page = std::fs::read_to_string(out.join("index.html")).unwrap();
    assert_eq!(page.matches("<li>").count(), page.matches("<span>").count());
    assert_eq!(
        page.matches("<li>").count(),
        page.matches("Turn the ").count()
    );
    insta::assert_snapshot!(
        page.lines()
            .find(|line| line.contains("class=\"moves\""))
            .unwrap()
    );
}

/// Source of the count: Burnside's lemma, as in the tests of the cases.
#[test]
fn every_case_of_a_large_cube() {
    let out = folder("sheet-every");
    let to = out.to_str().unwrap();
    let run = sixfold(["cases", "--size", "9", "--every", "--out", to]);
    assert_eq!(run.status, 0, "{}", run.problems);
    assert!(run.out.starts_with("1951 cases of the 9×9×9 written"));
    // No terminal, no progress.
    assert_eq!(run.problems, "");
    let mut cards = 0;
    let mut parts = 0;
    let index = std::fs::read_to_string(out.join("index.html")).unwrap();
    for entry in std::fs::read_dir(&out).unwrap() {
        let name = entry.unwrap().file_name().into_string().unwrap();
        if name != "index.html" {
            let page = std::fs::read_to_string(out.join(&name)).unwrap();
            cards += page.matches("<article ").count();
            parts += 1;
            assert!(index.contains(&format!("<a href=\"{name}\">")), "{name}");
        }
    }
    assert_eq!(cards, 1951);
    assert!(parts > 9, "{parts}");
}

/// A size whose sheet has all cases anyway is drawn as without.
#[test]
fn every_case_of_a_small_cube() {
    let out = folder("sheet-every-small");
    let to = out.to_str().unwrap();
    let run = sixfold(["cases", "--size", "4", "--every", "--out", to]);
    assert_eq!(run.status, 0, "{}", run.problems);
    assert!(run.out.starts_with("4 cases of the 4×4×4 written"));
}

#[test]
fn sizes_without_a_sheet() {
    let out = folder("sheet-none");
    for (size, words) in [("3", "no edge groups"), ("12", "too many cases")] {
        let run = sixfold(["cases", "--size", size, "--out", out.to_str().unwrap()]);
        assert_eq!((run.status, run.out.as_str()), (2, ""));
        assert!(run.problems.contains(words), "{}", run.problems);
    }
    assert_eq!(std::fs::read_dir(&out).unwrap().count(), 0);
}
