//! The server without a socket, and the reading without a camera.

use super::engine::{Board, Engine, Request};
use super::router::{Page, router};
use super::socket::Sent;
use crate::app::camera::{Frame, Locking, Next, Pixels, Source, Trouble};
use crate::calibration::Calibration;
use crate::colour::Name;
use crate::reader::session::Mode;
use axum::body::{Body, to_bytes};
use axum::extract::ws::Message;
use axum::http::{Request as Asked, StatusCode, header};
use axum::response::Response;
use std::collections::VecDeque;
use std::fs;
use std::path::Path;
use std::sync::Arc;
use std::sync::mpsc::{Sender, channel};
use std::time::Duration;
use tower::ServiceExt;

const KEY: &str = "00112233445566778899aabbccddeeff";

/// A source that gives what it is told, then nothing.
struct Script {
    acts: VecDeque<Next>,
    is_held: bool,
}

impl Source for Script {
    fn name(&self) -> String {
        "a made-up camera".to_owned()
    }

    fn next(&mut self, _patience: Duration) -> Next {
        self.acts.pop_front().unwrap_or(Next::Over)
    }

    fn hold_exposure(&mut self, is_held: bool) {
        self.is_held = is_held;
    }

    fn locking(&self) -> Option<Locking> {
        Some(if self.is_held {
            Locking::Refused("gain (it has none)".to_owned())
        } else {
            Locking::Free
        })
    }
}

fn grey(number: u64) -> Next {
    Next::Frame(Frame {
        number,
        at: Duration::from_millis(33 * number),
        size_px: (64, 48),
        pixels: Pixels::Grey,
        bytes: vec![128; 64 * 48],
    })
}

fn engine(acts: Vec<Next>) -> Engine {
    let (terminal, _) = channel();
    engine_heard(acts, terminal)
}

fn engine_heard(acts: Vec<Next>, terminal: Sender<String>) -> Engine {
    let source = Script {
        acts: acts.into(),
        is_held: false,
    };
    Engine::start(
        Box::new(source),
        Mode::Learner,
        Calibration::built_in().unwrap(),
        terminal,
    )
    .unwrap()
}

fn page(engine: &Engine) -> Page {
    Page {
        key: KEY.to_owned(),
        port: 4711,
        is_browser_camera: false,
        board: engine.board(),
        commands: engine.commands(),
        post: None,
        findings: engine.findings(),
    }
}

fn on_one_thread<T>(work: impl Future<Output = T>) -> T {
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build();
    runtime.unwrap().block_on(work)
}

/// The answer to a request with these headers besides a right Host.
fn ask(method: &str, path: &str, headers: &[(&str, &str)]) -> Response {
    let engine = engine(Vec::new());
    let mut asked = Asked::builder().method(method).uri(path);
    if !headers.iter().any(|(name, _)| *name == "host") {
        asked = asked.header("host", "127.0.0.1:4711");
    }
    for (name, value) in headers {
        asked = asked.header(*name, *value);
    }
    let answer = on_one_thread(router(page(&engine)).oneshot(asked.body(Body::empty()).unwrap()));
    engine.stop();
    answer.unwrap()
}

fn check(headers: &[(&str, &str)], expected: StatusCode) {
    for path in ["", "socket", "main.js", "cubes.csv"] {
        let answer = ask("GET", &format!("/{KEY}/{path}"), headers);
        // An upgrade that is let through still needs a socket, which there is none here.
        let is_socket = path == "socket" && expected == StatusCode::OK;
        assert_eq!(
            answer.status() == expected,
            !is_socket,
            "{path} with {headers:?}"
        );
    }
}

#[test]
fn only_pages_of_this_server_may_ask() {
    check(&[], StatusCode::OK);
    check(&[("host", "localhost:4711")], StatusCode::OK);
    check(
        &[
            ("origin", "http://127.0.0.1:4711"),
            ("sec-fetch-site", "same-origin"),
        ],
        StatusCode::OK,
    );
    check(&[("sec-fetch-site", "none")], StatusCode::OK);
    // A foreign name that was made to point here.
    check(
        &[("host", "cubes.example:4711")],
        StatusCode::MISDIRECTED_REQUEST,
    );
    check(&[("host", "127.0.0.1:80")], StatusCode::MISDIRECTED_REQUEST);
    check(
        &[("host", "127.0.0.1:4711.cubes.example")],
        StatusCode::MISDIRECTED_REQUEST,
    );
    // Another site, another port of this machine, a page without an origin.
    check(
        &[("origin", "https://cubes.example")],
        StatusCode::FORBIDDEN,
    );
    check(
        &[("origin", "http://127.0.0.1:8080")],
        StatusCode::FORBIDDEN,
    );
    check(&[("origin", "null")], StatusCode::FORBIDDEN);
    // Embedded by another site, which sends no Origin.
    check(&[("sec-fetch-site", "cross-site")], StatusCode::FORBIDDEN);
    check(&[("sec-fetch-site", "same-site")], StatusCode::FORBIDDEN);
}

#[test]
fn nothing_is_served_without_the_key() {
    for path in [
        "/",
        "/main.js",
        "/socket",
        "/0011/",
        "/00112233445566778899aabbccddeef",
    ] {
        let answer = ask("GET", path, &[]);
        assert_eq!(answer.status(), StatusCode::NOT_FOUND, "{path}");
        let headers = answer.headers();
        assert_eq!(headers[header::CONTENT_TYPE], "text/plain; charset=utf-8");
        // Whoever has only the port is told where the whole address is, and not what it is.
        let words = text_of(answer);
        assert!(words.contains("sixfold live"), "{words}");
        assert!(!words.contains(KEY), "{words}");
    }
    let cut_short = ask("GET", &format!("/{KEY}"), &[]);
    assert_eq!(cut_short.status(), StatusCode::TEMPORARY_REDIRECT);
    assert_eq!(cut_short.headers()[header::LOCATION], format!("/{KEY}/"));
    assert_eq!(
        ask("POST", &format!("/{KEY}/"), &[]).status(),
        StatusCode::METHOD_NOT_ALLOWED
    );
}

fn text_of(answer: Response) -> String {
    let bytes = on_one_thread(to_bytes(answer.into_body(), 1 << 20)).unwrap();
    String::from_utf8(bytes.to_vec()).unwrap()
}

#[test]
fn the_page_is_whole_and_needs_nothing_from_elsewhere() {
    let answer = ask("GET", &format!("/{KEY}/"), &[]);
    let policy = answer.headers()[header::CONTENT_SECURITY_POLICY]
        .to_str()
        .unwrap()
        .to_owned();
    assert!(policy.starts_with("default-src 'none'; script-src 'self'; style-src 'self';"));
    assert!(policy.contains("connect-src 'self' ws://127.0.0.1:4711 "));
    assert!(!policy.contains("unsafe"));
    assert_eq!(answer.headers()[header::CACHE_CONTROL], "no-store");
    assert_eq!(
        answer.headers()["cross-origin-resource-policy"],
        "same-origin"
    );
    let html = text_of(answer);
    assert!(html.contains("data-camera=\"here\""));
    let mut texts = vec![html.clone()];
    let named = html.split(['"', '\'']).filter(|word| {
        let ending = word.rsplit_once('.').map(|(_, ending)| ending);
        matches!(ending, Some("js" | "css" | "svg"))
    });
    for name in named {
        texts.push(text_of(ask("GET", &format!("/{KEY}/{name}"), &[])));
    }
    assert!(texts.len() >= 4, "the page names its files");
    // Every module another one imports is served too.
    let modules: Vec<String> = texts
        .iter()
        .flat_map(|text| text.split("from \"./").skip(1))
        .filter_map(|rest| rest.split('"').next().map(str::to_owned))
        .collect();
    assert!(modules.len() >= 6, "{modules:?}");
    for module in modules {
        let answer = ask("GET", &format!("/{KEY}/{module}"), &[]);
        assert_eq!(answer.status(), StatusCode::OK, "{module}");
        assert_eq!(
            answer.headers()[header::CONTENT_TYPE],
            "text/javascript; charset=utf-8"
        );
        texts.push(text_of(answer));
    }
    for text in texts {
        let text = text.replace("http://www.w3.org/2000/svg", "");
        assert!(
            !text.contains("http://") && !text.contains("https://"),
            "a foreign address"
        );
        assert!(
            !text.contains(" style=\"") && !text.contains(" onclick="),
            "something inline"
        );
    }
}

#[test]
fn lists_are_saved_as_files() {
    let answer = ask("GET", &format!("/{KEY}/cubes.csv"), &[]);
    assert_eq!(
        answer.headers()[header::CONTENT_DISPOSITION],
        "attachment; filename=\"cubes.csv\""
    );
    assert_eq!(text_of(answer), "number,time,size,stage,case,text\r\n");
    let answer = ask("GET", &format!("/{KEY}/cubes.json"), &[]);
    assert_eq!(text_of(answer), "[]");
}

#[test]
fn requests_are_understood_or_refused() {
    let parse = |text: &str| serde_json::from_str::<Request>(text).ok();
    assert_eq!(
        parse(r#"{"do":"correct","face":2,"place":7,"colour":"red"}"#),
        Some(Request::Correct {
            face: 2,
            place: 7,
            colour: Some(Name::Red)
        })
    );
    assert_eq!(parse(r#"{"do":"start-over"}"#), Some(Request::StartOver));
    for bad in [
        "",
        "[]",
        r#"{"do":"format"}"#,
        r#"{"do":"correct","face":-1,"place":0,"colour":"red"}"#,
        r#"{"do":"correct","face":0,"place":0,"colour":"mauve"}"#,
        r#"{"do":"drop","face":1,"also":2}"#,
    ] {
        assert_eq!(parse(bad), None, "{bad}");
    }
}

/// What the engine has to tell once `is_enough` says so.
fn told(engine: &Engine, is_enough: impl Fn(&Board) -> bool) -> Arc<Board> {
    let mut board = engine.board();
    on_one_thread(async {
        let newest = board.wait_for(|board| is_enough(board)).await.unwrap();
        Arc::clone(&newest)
    })
}

#[test]
fn the_reading_goes_on_though_nobody_looks() {
    let engine = engine((0..50).map(grey).collect());
    let board = told(&engine, |board| {
        board.frame == 50 && board.source.1.contains("\"is_over\":true")
    });
    let glimpse: serde_json::Value = serde_json::from_str(&board.glimpse).unwrap();
    assert_eq!(glimpse["kind"], "glimpse");
    assert_eq!(glimpse["size_px"], serde_json::json!([64, 48]));
    assert_eq!(glimpse["lattice"], serde_json::Value::Null);
    let picture = image::load_from_memory(board.picture.as_ref().unwrap()).unwrap();
    assert_eq!((picture.width(), picture.height()), (64, 48));
    engine.stop();
}

/// Until the next cube; what a camera refused is told, and no longer when it is let go.
#[test]
fn exposure_is_held_from_the_first_steady_face_on() {
    let burst =
        Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/photos/bursts-easy/burst-01-n3");
    let frames = (1..=10).map(|number| {
        let path = burst.join(format!("frame-{number:02}.jpg"));
        Next::Frame(Frame {
            number,
            at: Duration::from_millis(33 * number),
            size_px: (0, 0),
            pixels: Pixels::Jpeg,
            bytes: fs::read(path).unwrap(),
        })
    });
    let engine = engine([grey(0)].into_iter().chain(frames).collect());
    let source =
        |board: &Board| serde_json::from_str::<serde_json::Value>(&board.source.1).unwrap();
    let held = told(&engine, |board| source(board)["locking"] == "refused");
    assert!(held.scene.1.contains("\"faces\":[{"), "{}", held.scene.1);
    assert_eq!(source(&held)["refusal"], "gain (it has none)");
    engine.commands().send(Request::StartOver).unwrap();
    let free = told(&engine, |board| source(board)["locking"] == "free");
    assert_eq!(source(&free)["refusal"], serde_json::Value::Null);
    engine.stop();
}

#[test]
fn trouble_is_told_and_damaged_frames_are_left_out() {
    let busy = Trouble::Busy {
        camera: "Desk camera".to_owned(),
    };
    let damaged = Next::Frame(Frame {
        number: 1,
        at: Duration::ZERO,
        size_px: (0, 0),
        pixels: Pixels::Jpeg,
        bytes: vec![0xFF, 0xD8, 0xFF],
    });
    let engine = engine(vec![grey(0), damaged, grey(2), Next::Trouble(busy)]);
    let board = told(&engine, |board| {
        board.source.1.contains("in use by another program")
    });
    assert_eq!(board.frame, 2);
    assert!(board.source.1.contains("a made-up camera"));
    engine.stop();
}

/// Each once, however often the source repeats it.
#[test]
fn the_terminal_hears_of_troubles_and_their_end() {
    let camera = "Desk camera".to_owned();
    let gone = Trouble::Gone {
        camera: camera.clone(),
    };
    let busy = Trouble::Busy { camera };
    let acts = [&gone, &gone, &busy].map(|trouble| Next::Trouble(trouble.clone()));
    let mut acts: Vec<Next> = [grey(0)].into_iter().chain(acts).collect();
    acts.extend([grey(1), grey(2)]);
    let (terminal, heard) = channel();
    let engine = engine_heard(acts, terminal);
    told(&engine, |board| board.frame == 3);
    engine.stop();
    assert_eq!(
        heard.iter().collect::<Vec<_>>(),
        [
            "Desk camera is gone: plug it in again, and reading goes on by itself",
            "Desk camera is in use by another program: close that program, and reading goes on by itself",
            "pictures come again",
        ]
    );
}

#[test]
fn corrections_without_a_face_are_harmless() {
    let engine = engine(Vec::new());
    let commands = engine.commands();
    for request in [
        Request::Correct {
            face: 9,
            place: 999,
            colour: Some(Name::Red),
        },
        Request::Drop { face: 3 },
        Request::Another,
        Request::StartOver,
    ] {
        commands.send(request).unwrap();
    }
    let board = told(&engine, |board| board.scene.1.contains("\"cube\":1"));
    assert!(board.scene.1.contains("Show any face to the camera"));
    engine.stop();
}

#[test]
fn a_client_that_does_not_draw_gets_no_more_pictures() {
    let board = |frame: u64| Board {
        frame,
        glimpse: Arc::from("{}"),
        picture: Some(Arc::from(&b"jpeg"[..])),
        scene: (1, Arc::from("scene")),
        source: (1, Arc::from("source")),
        findings: (1, Arc::from("findings")),
    };
    let mut sent = Sent::default();
    let pictures = |messages: Vec<Message>| {
        messages
            .iter()
            .filter(|message| matches!(message, Message::Binary(_)))
            .count()
    };
    let first = sent.missing(&board(1));
    assert_eq!(first.len(), 5, "three texts, a picture and its glimpse");
    assert_eq!(pictures(first), 1);
    assert_eq!(pictures(sent.missing(&board(2))), 1);
    for frame in 3..100 {
        assert!(sent.missing(&board(frame)).is_empty());
    }
    sent.drawn();
    // Only the newest, not those it missed.
    assert_eq!(pictures(sent.missing(&board(100))), 1);
    assert!(sent.missing(&board(100)).is_empty());
}
