//! What people do with the page.

use crate::browser::{Browser, scratch};
use crate::camera::{Cube, recording, video};
use crate::program::Program;
use serde_json::{Value, json};
use std::collections::BTreeSet;
use std::io::{Read, Write};
use std::net::TcpListener;
use std::path::Path;
use std::time::{Duration, Instant};

const DESK: (u32, u32) = (1280, 800);

/// The colour words the page shows for a face, as its labels say them to people who cannot see it.
fn shown(browser: &mut Browser, slot: usize) -> Vec<String> {
    let labels = browser.value(&format!(
        "[...document.querySelectorAll('.cell[data-slot=\"{slot}\"]')].map(e => e.getAttribute('aria-label').split(': ')[1].split(',')[0])"
    ));
    labels
        .as_array()
        .unwrap()
        .iter()
        .map(|label| label.as_str().unwrap().to_owned())
        .collect()
}

/// The four ways to read a face.
fn turnings(face: &[String], n: usize) -> Vec<Vec<String>> {
    let mut all = vec![face.to_vec()];
    for k in 0..3 {
        let last: &Vec<String> = &all[k];
        let next = (0..n * n)
            .map(|place| last[(place % n) * n + n - 1 - place / n].clone())
            .collect();
        all.push(next);
    }
    all
}

/// All six faces are read from the browser's camera, the answer is shown, and every sticker is the true one.
fn read_all(cube: &Cube) -> (Program, Browser) {
    let program = Program::start(&["--browser-camera"]);
    let file = scratch("video").join("faces.y4m");
    video(
        &file,
        &(0..6).map(|number| cube.photo(number)).collect::<Vec<_>>(),
    );
    let mut browser = Browser::open(&program.url, Some(&file), DESK);
    browser.wait_for("document.body.dataset.standing === 'answered'");
    let found: BTreeSet<Vec<String>> = (0..6).map(|slot| shown(&mut browser, slot)).collect();
    let n = cube.n();
    for face in ["U", "R", "F", "D", "L", "B"] {
        let is_there = turnings(&cube.face(face), n)
            .iter()
            .any(|turning| found.contains(turning));
        assert!(is_there, "{face} was read wrong: {found:?}");
    }
    (program, browser)
}

#[test]
fn six_faces_give_an_answer_that_a_correction_checks_anew() {
    let cube = Cube::of("faces-easy/cube-01-n6");
    let (_program, mut browser) = read_all(&cube);
    let answer = browser.value("document.getElementById('say').textContent");
    // The truth calls this cube scrambled: no centre is whole.
    assert_eq!(cube.truth["stage"], "scrambled");
    assert!(
        answer.as_str().unwrap().to_lowercase().contains("centre"),
        "{answer}"
    );
    browser.picture("answer");

    // A sticker is clicked and set to a wrong colour: the whole cube is checked, and cannot exist.
    browser.click(".cell[data-slot='2'][data-place='1']");
    browser.wait_for("!document.getElementById('chooser').hidden");
    browser.picture("correction");
    let right = shown(&mut browser, 2)[1].clone();
    let choices =
        browser.value("[...document.querySelectorAll('#chooser button')].map(e => e.textContent)");
    let wrong = choices
        .as_array()
        .unwrap()
        .iter()
        .position(|choice| !choice.as_str().unwrap().ends_with(&right))
        .unwrap();
    browser.click(&format!("#chooser button:nth-child({})", wrong + 1));
    browser.wait_for("document.getElementById('say').textContent.includes('stickers')");
    browser.wait_for("document.getElementById('advice').hidden");
    // What is to be done about it is told.
    browser.wait_for("document.getElementById('repair').innerText.includes('Next cube')");
    browser.picture("impossible");

    // By keyboard it is given back, and the answer is as before.
    browser.wait_for("document.activeElement.classList.contains('cell')");
    browser.press("Delete");
    browser.wait_for(&format!(
        "document.getElementById('say').textContent === {answer}"
    ));
    assert_eq!(shown(&mut browser, 2)[1], right);
    assert_eq!(browser.complaints, Vec::<String>::new());
}

#[test]
fn a_learner_who_made_the_first_move_is_told_so() {
    let cube = Cube::of("faces-easy/cube-01-n6");
    let (program, mut browser) = read_all(&cube);
    let plan = browser.value("window.sixfold.scene.plan");
    let palette = browser.value("window.sixfold.scene.palette.map(cell => cell.colour)");
    let faces = browser
        .value("window.sixfold.scene.faces.map(held => held.cells.map(cell => cell.colour))");
    drop(browser);

    // Which faces the first move changes, and how they look then: as the program's own simulation has it.
    let n = cube.n();
    let letters = ["U", "R", "F", "D", "L", "B"];
    let state = |index: usize| -> Vec<Vec<String>> {
        let text = plan["states"][index].as_str().unwrap();
        let word = |letter: char| {
            let home = letters
                .iter()
                .position(|name| name.starts_with(letter))
                .unwrap();
            palette[home].as_str().unwrap().to_owned()
        };
        let all: Vec<String> = text.chars().map(word).collect();
        all.chunks(n * n).map(<[String]>::to_vec).collect()
    };
    let (before, after) = (state(0), state(1));
    let total = plan["moves"].as_array().unwrap().len();
    assert!(total >= 1);
    let mut pictures = Vec::new();
    for (old, new) in before.iter().zip(&after) {
        if old == new {
            continue;
        }
        // The photo of this very face, whichever way round it was taken.
        for letter in letters {
            let truth = cube.face(letter);
            let turned = turnings(&truth, n);
            let Some(quarters) = turned.iter().position(|reading| reading == old) else {
                continue;
            };
            // Read the new face back into the photo's own reading.
            let upright = turnings(new, n)[(4 - quarters) % 4].clone();
            let colours: BTreeSet<&String> = truth.iter().collect();
            if upright.iter().all(|colour| colours.contains(colour)) {
                pictures.push(cube.repainted(letter, &upright));
            }
        }
    }
    assert!(pictures.len() >= 2, "the move changes faces: {faces}");
    let file = scratch("video").join("followed.y4m");
    video(&file, &pictures);
    let mut browser = Browser::open(&program.url, Some(&file), DESK);
    let words = if total == 1 {
        "Well done"
    } else {
        "Right so far: 1 of"
    };
    browser.wait_for(&format!(
        "document.getElementById('say').textContent.startsWith({words:?})"
    ));
    browser.picture("followed");
}

#[test]
fn moves_are_played_and_stepped_by_keyboard() {
    let cube = Cube::of("faces-easy/cube-21-n3");
    let (_program, mut browser) = read_all(&cube);
    browser.wait_for("!document.getElementById('advice').hidden");
    let moves = browser.value("document.querySelectorAll('#moves li').length");
    let moves = moves.as_u64().unwrap();
    let current = "[...document.querySelectorAll('#moves button')].findIndex(e => e.getAttribute('aria-current'))";
    assert_eq!(browser.value(current), json!(0));
    for done in 1..=moves {
        browser.press("ArrowRight");
        let expected: i64 = if done < moves { done as i64 } else { -1 };
        browser.wait_for(&format!("{current} === {expected}"));
    }
    browser.wait_for(
        "document.getElementById('turn').textContent.startsWith('That was the last move')",
    );
    browser.press("ArrowLeft");
    browser.wait_for(&format!("{current} === {}", moves - 1));
    browser.picture("moves");
    assert_eq!(browser.complaints, Vec::<String>::new());
}

#[test]
fn a_recording_is_shown_and_read_on_a_telephone_too() {
    let folder = scratch("recording");
    recording(&folder, &[&Cube::of("faces-easy/cube-21-n3")]);
    let folder = folder.to_str().unwrap();
    let program = Program::start(&["--recording", folder, "--rate", "8"]);
    let mut browser = Browser::open(&program.url, None, (390, 844));
    browser.wait_for("document.getElementById('net-title').textContent.includes('3 of 6')");
    browser.picture("telephone-collecting");
    browser.wait_for("document.body.dataset.standing === 'answered'");
    browser.picture("telephone-answered");
    // Nothing reaches over the edge of the screen, not even the unfolded cube made large enough for a finger.
    let is_inside = "document.documentElement.scrollWidth <= 390";
    assert_eq!(browser.value(is_inside), json!(true));
    let size = "document.querySelector('#net .cell').getBoundingClientRect().width";
    let small = browser.value(size).as_f64().unwrap();
    browser.click("#larger");
    let large = browser.value(size).as_f64().unwrap();
    assert!(large >= 40.0 && large > 1.5 * small, "{small} to {large}");
    assert_eq!(browser.value(is_inside), json!(true));
    browser.picture("telephone-larger");
    assert_eq!(browser.complaints, Vec::<String>::new());
}

#[test]
fn a_recording_that_ends_too_early_says_so() {
    let folder = scratch("short");
    Cube::of("faces-easy/cube-21-n3")
        .photo(0)
        .save(folder.join("frame.png"))
        .unwrap();
    let program = Program::start(&["--recording", folder.to_str().unwrap()]);
    let mut browser = Browser::open(&program.url, None, DESK);
    browser.wait_for(
        "document.getElementById('trouble').innerText.includes('over before the cube was read')",
    );
    assert_eq!(browser.complaints, Vec::<String>::new());
}

/// Whoever stands a metre away reads the one sentence only.
#[test]
fn what_keeps_pictures_from_coming_is_said_where_all_else_is() {
    let program = Program::start(&["--browser-camera"]);
    let mut browser = Browser::open(&program.url, None, DESK);
    let says =
        |words: &str| format!("document.getElementById('say').textContent.startsWith({words:?})");
    browser.wait_for(&says("The browser finds no camera: plug one in"));
    drop(program);
    browser.wait_for(&says("The program has ended. Start it again"));
    browser.picture("ended");
}

/// Two cubes one after the other without a click, then the list as files, in the order of reading.
#[test]
fn a_table_of_cubes_is_saved_by_its_buttons() {
    let (folder, saved) = (scratch("table"), scratch("saved"));
    let cubes = ["faces-easy/cube-21-n3", "faces-easy/cube-13-n6"].map(Cube::of);
    recording(&folder, &[&cubes[0], &cubes[1]]);
    let folder = folder.to_str().unwrap();
    let program = Program::start(&["--table", "--recording", folder, "--rate", "8"]);
    let mut browser = Browser::open(&program.url, None, DESK);
    browser.save_into(&saved);
    browser.wait_for("document.querySelectorAll('#cubes li').length === 2");
    browser.picture("table");
    browser.click("#csv");
    let table = awaited(&saved.join("cubes.csv"));
    browser.click("#json");
    let list: Value = serde_json::from_str(&awaited(&saved.join("cubes.json"))).unwrap();
    let lines: Vec<&str> = table.lines().collect();
    assert_eq!(lines.len(), 1 + cubes.len(), "{table}");
    // The truth: a scrambled 3×3×3, which has nothing to reduce, and all edges but two.
    let stages = ["reduced", "last-groups"];
    for (number, (cube, stage)) in cubes.iter().zip(stages).enumerate() {
        let entry = &list[number];
        assert_eq!(entry["number"], number + 1);
        assert_eq!(entry["size"], cube.n());
        assert_eq!(entry["stage"], stage);
        let start = format!(
            "{},{},{},{stage},",
            number + 1,
            entry["time"].as_str().unwrap(),
            cube.n()
        );
        assert!(lines[1 + number].starts_with(&start), "{table}");
        let picture = entry["picture"].as_str().unwrap();
        assert!(picture.starts_with("data:image/jpeg;base64,"));
    }
    assert_eq!(browser.complaints, Vec::<String>::new());
}

/// The text of a file once the browser has written it; it gets its name when it is whole.
fn awaited(path: &Path) -> String {
    let start = Instant::now();
    while !path.exists() {
        assert!(
            start.elapsed() < Duration::from_mins(2),
            "{} was not saved",
            path.display()
        );
        std::thread::sleep(Duration::from_millis(50));
    }
    std::fs::read_to_string(path).unwrap()
}

/// A page of another site in the same browser reaches nothing: no socket, no picture, no script, no reading.
#[test]
fn another_site_is_refused() {
    let program = Program::start(&["--browser-camera"]);
    let url = &program.url;
    let socket = url.replace("http:", "ws:") + "socket";
    let page = format!(
        "<!doctype html><script>
        const tell = (name, promise) => promise.then(() => 'let in', () => 'refused').then(how => {{ (window.found ??= {{}})[name] = how; }});
        const opened = (thing, url) => new Promise((yes, no) => {{ thing.onload = thing.onopen = yes; thing.onerror = thing.onclose = no; if (url) thing.src = url; }});
        tell('socket', opened(new WebSocket('{socket}')));
        tell('fetch', fetch('{url}main.js'));
        tell('post', fetch('{url}', {{ method: 'POST', mode: 'no-cors', body: 'x' }}).then(r => {{ if (r.type === 'opaque') throw 0; }}));
        tell('image', opened(new Image(), '{url}icon.svg'));
        const script = document.createElement('script');
        tell('script', opened(script, '{url}main.js'));
        document.documentElement.append(script);
        </script>"
    );
    let listener = TcpListener::bind("127.0.0.1:0").unwrap();
    let elsewhere = format!(
        "http://127.0.0.1:{}/",
        listener.local_addr().unwrap().port()
    );
    std::thread::spawn(move || {
        for stream in listener.incoming().take(8) {
            let mut stream = stream.unwrap();
            let mut asked = [0; 4096];
            let _ = stream.read(&mut asked);
            let head = format!(
                "HTTP/1.1 200 OK\r\nContent-Type: text/html\r\nContent-Length: {}\r\nConnection: close\r\n\r\n",
                page.len()
            );
            let _ = stream.write_all((head + &page).as_bytes());
        }
    });
    let mut browser = Browser::open(&elsewhere, None, DESK);
    browser.wait_for("Object.keys(window.found ?? {}).length === 5");
    let found: Value = browser.value("window.found");
    let all = ["socket", "fetch", "post", "image", "script"];
    for name in all {
        assert_eq!(found[name], "refused", "{found}");
    }
}
