//! What is served under which address.

use super::engine::{Board, Request};
use super::findings::Findings;
use super::{guard, socket};
use crate::app::camera::Post;
use axum::Router;
use axum::extract::ws::WebSocketUpgrade;
use axum::extract::{DefaultBodyLimit, State};
use axum::http::{StatusCode, header};
use axum::middleware;
use axum::response::{IntoResponse, Redirect, Response};
use axum::routing::get;
use std::sync::atomic::AtomicUsize;
use std::sync::mpsc::SyncSender;
use std::sync::{Arc, Mutex};
use tokio::sync::watch;

/// What the handlers need.
#[derive(Clone, Debug)]
pub struct Page {
    /// The first part of every address.
    pub key: String,
    /// The port served on.
    pub port: u16,
    /// Whether the pictures come from the browser.
    pub is_browser_camera: bool,
    /// The newest of everything.
    pub board: watch::Receiver<Arc<Board>>,
    /// Where requests go.
    pub commands: SyncSender<Request>,
    /// Where the browser's pictures go, if they come from there.
    pub post: Option<Post>,
    /// The cubes read so far.
    pub findings: Arc<Mutex<Findings>>,
}

/// The largest message a client may send: a frame.
pub(super) const MOST_BYTES: usize = 4 << 20;

/// Clients at a time: a few tabs and phones held against the screen, not a flood.
pub(super) const MOST_CLIENTS: usize = 8;

/// The page's files, each with its type. They are part of the program.
const FILES: [(&str, &str, &str); 10] = [
    (
        "style.css",
        "text/css; charset=utf-8",
        include_str!("assets/style.css"),
    ),
    ("main.js", SCRIPT, include_str!("assets/main.js")),
    ("link.js", SCRIPT, include_str!("assets/link.js")),
    ("finder.js", SCRIPT, include_str!("assets/finder.js")),
    ("net.js", SCRIPT, include_str!("assets/net.js")),
    ("cube.js", SCRIPT, include_str!("assets/cube.js")),
    ("player.js", SCRIPT, include_str!("assets/player.js")),
    ("sign.js", SCRIPT, include_str!("assets/sign.js")),
    ("voice.js", SCRIPT, include_str!("assets/voice.js")),
    ("icon.svg", "image/svg+xml", include_str!("assets/icon.svg")),
];

const SCRIPT: &str = "text/javascript; charset=utf-8";
const PAGE: &str = include_str!("assets/index.html");

/// For whoever types the port alone, or has the address of an earlier start; it gives nothing away.
const ELSEWHERE: &str = "The page is not at this address: open the whole address that `sixfold live` printed in its \
    terminal; it is a new one at every start.\n";

/// Everything served.
pub fn router(page: Page) -> Router {
    let port = page.port;
    let under = |name: &str| format!("/{}/{name}", page.key);
    let whole = under("");
    let mut routes = Router::new()
        // As it is when the end of the address was not copied.
        .route(
            &format!("/{}", page.key),
            get(move || async move { Redirect::temporary(&whole) }),
        )
        .route(&under(""), get(index))
        .route(&under("socket"), get(open_socket))
        .route(&under("cubes.csv"), get(csv))
        .route(&under("cubes.json"), get(json));
    for (name, kind, content) in FILES {
        let file = get(move || async move { ([(header::CONTENT_TYPE, kind)], content) });
        routes = routes.route(&under(name), file);
    }
    let clients = Arc::new(AtomicUsize::new(0));
    routes
        .fallback(async || (StatusCode::NOT_FOUND, ELSEWHERE))
        .with_state((page, clients))
        .layer(DefaultBodyLimit::max(64 << 10))
        .layer(middleware::from_fn_with_state(port, guard::guard))
}

type Shared = (Page, Arc<AtomicUsize>);

async fn index(State((page, _)): State<Shared>) -> Response {
    let camera = if page.is_browser_camera {
        "browser"
    } else {
        "here"
    };
    let text = PAGE.replace("{camera}", camera);
    ([(header::CONTENT_TYPE, "text/html; charset=utf-8")], text).into_response()
}

async fn csv(State((page, _)): State<Shared>) -> Response {
    let table = page.findings.lock().map(|findings| findings.csv());
    saved(
        "cubes.csv",
        "text/csv; charset=utf-8",
        table.unwrap_or_default(),
    )
}

async fn json(State((page, _)): State<Shared>) -> Response {
    let list = page.findings.lock().map(|findings| findings.json());
    saved("cubes.json", "application/json", list.unwrap_or_default())
}

fn saved(name: &str, kind: &'static str, content: String) -> Response {
    let disposition = format!("attachment; filename=\"{name}\"");
    (
        [
            (header::CONTENT_TYPE, kind.to_owned()),
            (header::CONTENT_DISPOSITION, disposition),
        ],
        content,
    )
        .into_response()
}

async fn open_socket(State((page, clients)): State<Shared>, upgrade: WebSocketUpgrade) -> Response {
    upgrade
        .max_message_size(MOST_BYTES)
        .max_frame_size(MOST_BYTES)
        .on_upgrade(move |socket| socket::serve(socket, page, clients))
}
