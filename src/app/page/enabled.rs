//! Starts the reading and the server, and ends both when the person is done.

#[path = "engine.rs"]
pub(super) mod engine;
#[path = "findings.rs"]
mod findings;
#[path = "guard.rs"]
mod guard;
#[path = "router.rs"]
mod router;
#[path = "socket.rs"]
mod socket;
#[cfg(test)]
#[path = "tests.rs"]
mod tests;

use super::{Pictures, Plan};
use crate::app::camera::{Pace, Post, Recording, Source, native, posted};
use crate::app::report::Screen;
use crate::reader::session::Mode;
use anyhow::{Context, anyhow};
use engine::Engine;
pub use engine::Request;
use router::Page;
use std::io::{self, IsTerminal, Write};
use std::net::{Ipv4Addr, SocketAddr};
use std::sync::mpsc::{Sender, channel};
use std::thread;
use tokio::net::TcpListener;

/// Reads live and serves the page until the person ends it with Ctrl-C or closes the terminal.
///
/// # Errors
///
/// If there is no such camera or recording, the port is taken, or the terminal is gone.
pub fn live(plan: &Plan, screen: &mut Screen) -> anyhow::Result<()> {
    let (source, from_browser) = source_of(&plan.pictures)?;
    let mode = if plan.is_table {
        Mode::Table
    } else {
        Mode::Learner
    };
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .context("the server cannot be started")?;
    let address = SocketAddr::from((Ipv4Addr::LOCALHOST, plan.port));
    let listener = runtime
        .block_on(TcpListener::bind(address))
        .with_context(|| {
            format!(
                "port {} is taken: choose another with --port, or leave it out for any free one",
                plan.port
            )
        })?;
    let port = listener.local_addr()?.port();
    let key = key()?;
    let url = format!("http://127.0.0.1:{port}/{key}/");
    writeln!(screen.out, "{url}")?;
    screen.out.flush()?;
    if io::stderr().is_terminal() {
        // For a person alone: programs read the address, and nothing else.
        let _ = writeln!(
            io::stderr(),
            "The page answers to this computer only. Ctrl-C here ends it."
        );
    }
    let engine = Engine::start(source, mode, plan.calibration.clone(), terminal()?)?;
    let page = Page {
        key,
        port,
        is_browser_camera: from_browser.is_some(),
        board: engine.board(),
        commands: engine.commands(),
        post: from_browser,
        findings: engine.findings(),
    };
    if plan.opens_browser {
        // Whoever has no browser to open has the address on the screen.
        let _ = open::that_detached(&url);
    }
    let router = router::router(page);
    let served = runtime.block_on(async {
        tokio::select! {
            served = async { axum::serve(listener, router).await } => served,
            ended = asked_to_end() => ended,
        }
    });
    // The camera gets back what was changed in it before anything else ends.
    engine.stop();
    served.context("the server ended")
}

/// Writes sentences to the terminal, on a thread of its own: a terminal may stop taking text.
fn terminal() -> anyhow::Result<Sender<String>> {
    let (sentences, heard) = channel::<String>();
    thread::Builder::new()
        .name("terminal".to_owned())
        .spawn(move || {
            for sentence in heard {
                // Whoever closed it does not read it.
                let _ = writeln!(io::stderr(), "sixfold: {sentence}");
            }
        })
        .context("the reading cannot be started")?;
    Ok(sentences)
}

/// Waits for Ctrl-C, for the terminal to be closed, or for the system to end.
async fn asked_to_end() -> io::Result<()> {
    #[cfg(unix)]
    {
        use tokio::signal::unix::{SignalKind, signal};
        let mut closed = signal(SignalKind::hangup())?;
        let mut ended = signal(SignalKind::terminate())?;
        tokio::select! {
            _ = closed.recv() => Ok(()),
            _ = ended.recv() => Ok(()),
            interrupted = tokio::signal::ctrl_c() => interrupted,
        }
    }
    #[cfg(not(unix))]
    tokio::signal::ctrl_c().await
}

/// The source of pictures, and where the browser's are put if it is the browser.
fn source_of(pictures: &Pictures) -> anyhow::Result<(Box<dyn Source>, Option<Post>)> {
    Ok(match pictures {
        Pictures::Camera(chosen) => (native(chosen.as_deref())?, None),
        Pictures::Browser => {
            let (post, posted) = posted();
            (Box::new(posted), Some(post))
        }
        Pictures::Recording {
            folder,
            rate,
            is_endless,
        } => {
            let recording = Recording::open(folder, Pace::Live(*rate))?;
            let recording = if *is_endless {
                recording.endless()
            } else {
                recording
            };
            (Box::new(recording), None)
        }
    })
}

/// A word nobody can guess: without it in the address nothing is served, to other users of this machine neither.
fn key() -> anyhow::Result<String> {
    let mut bytes = [0; 16];
    getrandom::fill(&mut bytes)
        .map_err(|why| anyhow!("the system gives no random numbers: {why}"))?;
    Ok(format!("{:032x}", u128::from_ne_bytes(bytes)))
}
