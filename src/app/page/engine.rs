//! The reading itself, on a thread of its own: frames from a source through the session to a board that clients look at.
//!
//! Clients never hold it up: the board has only the newest, and what they ask for waits in a queue of its own.

use super::findings::{Findings, Kept, Snapshot};
use crate::app::camera::{Frame, Locking, Next, Source, Trouble};
use crate::calibration::Calibration;
use crate::colour::Name;
use crate::reader::session::{Job, Mode, Outcome, Scene, Session};
use crate::sight::{Photo, Trace, glance, look};
use anyhow::Context;
use image::RgbImage;
use image::codecs::jpeg::JpegEncoder;
use image::imageops::{FilterType, resize};
use serde::{Deserialize, Serialize};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc::{Receiver, Sender, SyncSender, channel, sync_channel};
use std::sync::{Arc, Mutex};
use std::thread::{self, JoinHandle};
use std::time::{Duration, SystemTime};
use tokio::sync::watch;

/// How long a source is waited for before requests are looked at.
const PATIENCE: Duration = Duration::from_millis(30);

/// Requests that may wait; a client that sends more has them dropped.
const MOST_REQUESTS: usize = 64;

/// The widest picture sent to the page; larger ones are halved.
const WIDEST_PX: u32 = 1280;

/// What a client may ask for.
#[derive(Clone, Debug, PartialEq, Eq, Deserialize)]
#[serde(tag = "do", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Request {
    /// Set a sticker by hand, or give it back to what was seen.
    Correct {
        /// The slot.
        face: usize,
        /// Row · n + col.
        place: usize,
        /// The colour, none to give it back.
        colour: Option<Name>,
    },
    /// Forget a face.
    Drop {
        /// The slot.
        face: usize,
    },
    /// The face last taken for one already held is another one.
    Another,
    /// Begin with the next cube.
    StartOver,
    /// How the browser's own camera took being locked.
    Locked {
        /// Whether it did; none when it was let go.
        held: Option<bool>,
    },
}

/// The newest of everything, as texts ready to be sent.
#[derive(Clone, Debug, Default)]
pub struct Board {
    /// The number of the newest frame looked at, from 1; 0 before the first.
    pub frame: u64,
    /// What that frame shows.
    pub glimpse: Arc<str>,
    /// The frame as JPEG, unless the browser has it already.
    pub picture: Option<Arc<[u8]>>,
    /// The scene, and its number, which grows when it changes.
    pub scene: (u64, Arc<str>),
    /// What is to be said about the source, numbered likewise.
    pub source: (u64, Arc<str>),
    /// The cubes read so far, numbered likewise.
    pub findings: (u64, Arc<str>),
}

/// What the page says about where its pictures come from.
#[derive(Clone, Debug, Default, PartialEq, Serialize)]
struct About {
    kind: &'static str,
    name: String,
    trouble: Option<String>,
    is_over: bool,
    wants_held: bool,
    locking: &'static str,
    refusal: Option<String>,
}

#[derive(Serialize)]
struct Tagged<'a, T> {
    kind: &'static str,
    frame: u64,
    #[serde(flatten)]
    content: &'a T,
}

/// The running reading.
#[derive(Debug)]
pub struct Engine {
    board: watch::Receiver<Arc<Board>>,
    commands: SyncSender<Request>,
    findings: Arc<Mutex<Findings>>,
    is_over: Arc<AtomicBool>,
    thread: JoinHandle<()>,
}

impl Engine {
    /// Starts to read.
    /// What keeps pictures from coming, and that they come again, goes to `terminal` as sentences too.
    ///
    /// # Errors
    ///
    /// If the system gives no thread.
    pub fn start(
        source: Box<dyn Source>,
        mode: Mode,
        calibration: Calibration,
        terminal: Sender<String>,
    ) -> anyhow::Result<Self> {
        let (board_in, board) = watch::channel(Arc::new(Board::default()));
        let (commands, requests) = sync_channel(MOST_REQUESTS);
        let findings = Arc::new(Mutex::new(Findings::default()));
        let is_over = Arc::new(AtomicBool::new(false));
        let mut reading = Reading::new(
            source,
            Session::new(mode),
            calibration,
            board_in,
            requests,
            Arc::clone(&findings),
            terminal,
        );
        let over = Arc::clone(&is_over);
        let thread = thread::Builder::new()
            .name("reading".to_owned())
            .spawn(move || {
                while !over.load(Ordering::Acquire) {
                    reading.step();
                }
            })
            .context("the reading cannot be started")?;
        Ok(Self {
            board,
            commands,
            findings,
            is_over,
            thread,
        })
    }

    /// Where the newest of everything is.
    pub fn board(&self) -> watch::Receiver<Arc<Board>> {
        self.board.clone()
    }

    /// Where requests go.
    pub fn commands(&self) -> SyncSender<Request> {
        self.commands.clone()
    }

    /// The cubes read so far.
    pub fn findings(&self) -> Arc<Mutex<Findings>> {
        Arc::clone(&self.findings)
    }

    /// Ends the reading and gives the camera back.
    pub fn stop(self) {
        self.is_over.store(true, Ordering::Release);
        // A reading that panicked has nothing to give back.
        let _ = self.thread.join();
    }
}

/// The thread's own.
struct Reading {
    source: Box<dyn Source>,
    session: Session,
    calibration: Arc<Calibration>,
    about: About,
    board: Board,
    to_board: watch::Sender<Arc<Board>>,
    requests: Receiver<Request>,
    pieced_in: Sender<(Job, Outcome)>,
    pieced: Receiver<(Job, Outcome)>,
    findings: Arc<Mutex<Findings>>,
    terminal: Sender<String>,
    /// What the terminal was last told to be in the way of pictures.
    told: Option<Trouble>,
    /// The last frame that showed a face.
    last_face: Option<Snapshot>,
    /// Whether the newest frame shows a face held still.
    is_steady: bool,
}

impl Reading {
    fn new(
        source: Box<dyn Source>,
        session: Session,
        calibration: Calibration,
        to_board: watch::Sender<Arc<Board>>,
        requests: Receiver<Request>,
        findings: Arc<Mutex<Findings>>,
        terminal: Sender<String>,
    ) -> Self {
        let about = About {
            kind: "source",
            name: source.name(),
            locking: "free",
            ..About::default()
        };
        let (pieced_in, pieced) = channel();
        let mut reading = Self {
            source,
            session,
            calibration: Arc::new(calibration),
            about,
            board: Board::default(),
            to_board,
            requests,
            pieced_in,
            pieced,
            findings,
            terminal,
            told: None,
            last_face: None,
            is_steady: false,
        };
        reading.board.glimpse = Arc::from("{}");
        reading.tell_source();
        reading.tell_scene();
        reading.tell_findings();
        reading.publish();
        reading
    }

    /// Looks at one frame, or waits a moment for one; then at what else has come.
    fn step(&mut self) {
        let next = self.source.next(PATIENCE);
        let before = self.about.clone();
        match next {
            Next::Frame(frame) => {
                self.about.trouble = None;
                if self.told.take().is_some() {
                    self.tell_terminal("pictures come again".to_owned());
                }
                self.see(&frame);
            }
            Next::Nothing => {}
            Next::Trouble(trouble) => self.trouble(trouble),
            Next::Over => self.about.is_over = true,
        }
        while let Ok(request) = self.requests.try_recv() {
            self.carry_out(&request);
        }
        while let Ok((job, outcome)) = self.pieced.try_recv() {
            self.session.pieced(&job, outcome);
        }
        if let Some(job) = self.session.job() {
            self.hand_out(job);
        }
        self.hold_exposure();
        if before != self.about {
            self.tell_source();
        }
        self.keep_finding();
        self.tell_scene();
        self.publish();
    }

    fn see(&mut self, frame: &Frame) {
        let picture = match frame.decode() {
            Ok(picture) => picture,
            Err(why) => {
                // One damaged frame in a stream is no trouble; the next comes at once.
                self.about.trouble = Some(format!("a frame was left out: {why}"));
                return;
            }
        };
        let size_px = picture.dimensions();
        let jpeg = jpeg_of(frame, &picture);
        let photo = Photo::from(picture);
        // A face at a slant needs a closer look than one held up straight.
        let seen = if self.session.wants_corner() {
            look(&mut Trace::default(), &photo)
        } else {
            glance(&mut Trace::default(), &photo)
        };
        self.session.see(frame.at, size_px, &seen);
        self.board.frame += 1;
        let glimpse = self.session.glimpse();
        self.board.glimpse = text(&Tagged {
            kind: "glimpse",
            frame: self.board.frame,
            content: &glimpse,
        });
        self.is_steady = (glimpse.lattice.as_ref()).is_some_and(|lattice| lattice.progress >= 1.0);
        // The answer may come when the cube is away again.
        // The lattice outlasts a blurred frame or two; the picture is to be of one with the face in it.
        let is_seen = !seen.views.is_empty();
        if let (true, Some(lattice), Some(jpeg)) = (is_seen, &glimpse.lattice, &jpeg) {
            self.last_face = Some(Snapshot {
                jpeg: Arc::clone(jpeg),
                corners: lattice.corners,
                wide_px: glimpse.size_px.0,
            });
        }
        self.board.picture = jpeg;
    }

    fn trouble(&mut self, trouble: Trouble) {
        let sentence = trouble.to_string();
        self.about.trouble = Some(sentence.clone());
        if self.told.as_ref() != Some(&trouble) {
            self.told = Some(trouble);
            self.tell_terminal(sentence);
        }
    }

    /// The page may not be open, or not be looked at.
    fn tell_terminal(&self, sentence: String) {
        // A terminal that is gone hears nothing.
        let _ = self.terminal.send(sentence);
    }

    fn carry_out(&mut self, request: &Request) {
        match *request {
            Request::Correct {
                face,
                place,
                colour,
            } => self.session.correct(face, place, colour),
            Request::Drop { face } => self.session.drop_face(face),
            Request::Another => self.session.add_look_alike(),
            Request::StartOver => self.session.start_over(),
            Request::Locked { held } => {
                self.about.locking = match held {
                    None => "free",
                    Some(true) => "held",
                    Some(false) => "refused",
                };
            }
        }
    }

    /// Pieces six faces together on a thread of their own, so that the picture goes on.
    fn hand_out(&self, job: Job) {
        let back = self.pieced_in.clone();
        let calibration = Arc::clone(&self.calibration);
        // Without a thread the faces stay unread, and the page goes on showing that they are being worked on.
        let _ = thread::Builder::new()
            .name("piecing".to_owned())
            .spawn(move || {
                let outcome = job.run(&calibration);
                let _ = back.send((job, outcome));
            });
    }

    /// Exposure and white balance are held from the first steady face to the next cube.
    fn hold_exposure(&mut self) {
        self.about.wants_held = self.session.has_faces();
        if !self.about.wants_held {
            self.source.hold_exposure(false);
        } else if self.is_steady {
            self.source.hold_exposure(true);
        }
        let Some(locking) = self.source.locking() else {
            return;
        };
        (self.about.locking, self.about.refusal) = match locking {
            Locking::Free => ("free", None),
            Locking::Held => ("held", None),
            Locking::Refused(why) => ("refused", Some(why)),
        };
    }

    fn keep_finding(&mut self) {
        let Some(finding) = self.session.finding() else {
            return;
        };
        let kept = Kept::new(&finding, SystemTime::now(), self.last_face.as_ref());
        if let Ok(mut findings) = self.findings.lock() {
            findings.keep(kept);
        }
        self.tell_findings();
    }

    fn tell_source(&mut self) {
        self.board.source = (self.board.source.0 + 1, text(&self.about));
    }

    fn tell_findings(&mut self) {
        if let Ok(findings) = self.findings.lock() {
            self.board.findings = (self.board.findings.0 + 1, text(&*findings));
        }
    }

    fn tell_scene(&mut self) {
        let scene: Scene = self.session.scene();
        let scene = text(&Tagged {
            kind: "scene",
            frame: 0,
            content: &scene,
        });
        if scene != self.board.scene.1 {
            self.board.scene = (self.board.scene.0 + 1, scene);
        }
    }

    fn publish(&self) {
        let is_news = |board: &Arc<Board>| {
            board.frame != self.board.frame
                || board.scene.0 != self.board.scene.0
                || board.source.0 != self.board.source.0
                || board.findings.0 != self.board.findings.0
        };
        if is_news(&self.to_board.borrow()) {
            self.to_board.send_replace(Arc::new(self.board.clone()));
        }
    }
}

fn text(value: &impl Serialize) -> Arc<str> {
    // Plain data with text keys always serialises.
    Arc::from(serde_json::to_string(value).unwrap_or_default())
}

/// The frame as the page gets it: as it came if it is JPEG, or encoded; none if the browser sent it.
fn jpeg_of(frame: &Frame, picture: &RgbImage) -> Option<Arc<[u8]>> {
    let (wide, high) = picture.dimensions();
    if wide <= WIDEST_PX
        && let Some(jpeg) = frame.jpeg()
    {
        return Some(Arc::from(jpeg));
    }
    let small;
    let shown = if wide > WIDEST_PX {
        small = resize(picture, wide / 2, high / 2, FilterType::Triangle);
        &small
    } else {
        picture
    };
    let mut jpeg = Vec::new();
    shown
        .write_with_encoder(JpegEncoder::new_with_quality(&mut jpeg, 80))
        .ok()?;
    Some(Arc::from(jpeg))
}
