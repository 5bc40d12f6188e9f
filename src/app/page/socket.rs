//! One client's connection: the newest of everything to it, its requests and frames from it.
//!
//! A client says when it has drawn; until then it is sent no further picture. One that neither takes nor says
//! anything for a while is let go. Neither ever waits upon the reading.

use super::engine::{Board, Request};
use super::router::{MOST_CLIENTS, Page};
use axum::extract::ws::{Message, WebSocket};
use serde::Deserialize;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};
use std::time::Duration;
use tokio::time::timeout;

/// How long a client may take to accept a message.
const SLOWEST: Duration = Duration::from_secs(5);

/// Pictures on their way to a client that it has not drawn yet.
const MOST_UNDRAWN: u32 = 2;

/// What a client says besides its requests.
#[derive(Clone, Copy, Debug, Deserialize)]
#[serde(tag = "do", rename_all = "kebab-case", deny_unknown_fields)]
enum Note {
    /// It has drawn a picture.
    Drawn,
}

/// What of the board a client has been sent.
#[derive(Debug, Default)]
pub(super) struct Sent {
    frame: u64,
    scene: u64,
    source: u64,
    findings: u64,
    undrawn: u32,
}

impl Sent {
    /// The messages that bring a client up to date.
    pub(super) fn missing(&mut self, board: &Board) -> Vec<Message> {
        let mut messages = Vec::new();
        let mut tell = |sent: &mut u64, (number, text): &(u64, Arc<str>)| {
            if *sent != *number {
                *sent = *number;
                messages.push(Message::text(&**text));
            }
        };
        tell(&mut self.source, &board.source);
        tell(&mut self.scene, &board.scene);
        tell(&mut self.findings, &board.findings);
        if self.frame != board.frame && self.undrawn < MOST_UNDRAWN {
            self.frame = board.frame;
            self.undrawn += 1;
            if let Some(picture) = &board.picture {
                messages.push(Message::binary(picture.to_vec()));
            }
            messages.push(Message::text(&*board.glimpse));
        }
        messages
    }

    pub(super) const fn drawn(&mut self) {
        self.undrawn = self.undrawn.saturating_sub(1);
    }
}

/// Serves one client until it or the reading ends.
pub async fn serve(mut socket: WebSocket, page: Page, clients: Arc<AtomicUsize>) {
    if clients.fetch_add(1, Ordering::AcqRel) < MOST_CLIENTS {
        talk(&mut socket, &page).await;
    }
    clients.fetch_sub(1, Ordering::AcqRel);
}

async fn talk(socket: &mut WebSocket, page: &Page) {
    let mut board = page.board.clone();
    let mut sent = Sent::default();
    board.mark_changed();
    loop {
        tokio::select! {
            changed = board.changed() => {
                if changed.is_err() {
                    return;
                }
            }
            received = socket.recv() => match received {
                Some(Ok(message)) => if !take(page, &mut sent, message) {
                    return;
                },
                Some(Err(_)) | None => return,
            },
        }
        let newest = Arc::clone(&board.borrow_and_update());
        for message in sent.missing(&newest) {
            match timeout(SLOWEST, socket.send(message)).await {
                Ok(Ok(())) => {}
                Ok(Err(_)) | Err(_) => return,
            }
        }
    }
}

/// Takes what a client sent; whether to go on with it.
fn take(page: &Page, sent: &mut Sent, message: Message) -> bool {
    match message {
        Message::Text(text) => {
            if let Ok(Note::Drawn) = serde_json::from_str(&text) {
                sent.drawn();
                return true;
            }
            match serde_json::from_str::<Request>(&text) {
                // A client that asks for more than can be done has the rest dropped.
                Ok(request) => {
                    let _ = page.commands.try_send(request);
                    true
                }
                Err(_) => false,
            }
        }
        Message::Binary(jpeg) => match &page.post {
            Some(post) => {
                post.put(jpeg.to_vec());
                true
            }
            None => false,
        },
        Message::Ping(_) | Message::Pong(_) => true,
        Message::Close(_) => false,
    }
}
