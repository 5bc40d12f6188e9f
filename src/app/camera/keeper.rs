//! Keeps a camera going: captures on a thread of its own, notices when it hangs, and opens it anew.
//!
//! The system's camera layer may wait for a frame for ever, so nothing here ever waits for it: whatever thread
//! brings a frame first is listened to, the others end when they wake.

use super::super::{Frame, Locking, Next, Source, Trouble};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::{Arc, Condvar, Mutex, MutexGuard, PoisonError};
use std::thread;
use std::time::{Duration, Instant};

/// An open camera, used by one thread only.
pub(super) trait Device {
    /// Waits for the next frame, for ever if need be.
    fn frame(&mut self) -> Result<Frame, Trouble>;
}

/// What holds a camera's exposure and white balance, whether its stream runs, hangs or is begun anew.
pub(super) trait Hold: Send {
    /// Holds them as they are now.
    fn hold(&mut self) -> Locking;

    /// Gives back what was found before they were first held.
    fn let_go(&mut self);
}

/// Opens a camera on the calling thread; `at` in its frames counts from the instant given.
pub(super) type Open = Arc<dyn Fn(Instant) -> Result<Box<dyn Device>, Trouble> + Send + Sync>;

/// How long a camera may be silent before it is declared lost, and how long between two tries to open it.
const SILENCE: Duration = Duration::from_secs(2);

/// How long a camera is given to find its exposure after it was opened, before that is held.
const SETTLING: Duration = Duration::from_secs(1);

/// Threads that hang in the camera layer at the same time; past that one only waits for them to wake.
const MOST_THREADS: usize = 4;

/// A camera that is kept going.
pub(super) struct Keeper {
    name: String,
    open: Open,
    shared: Arc<Shared>,
    start: Instant,
    /// When a frame last came or a thread last set out to open the camera.
    stirred: Instant,
    set_out_at: Instant,
    has_ever_given: bool,
    trouble: Option<Trouble>,
    next_thread: u64,
    silence: Duration,
    holding: Box<dyn Hold>,
    locking: Locking,
    settling: Duration,
    /// The thread whose frames come, and when its first one came.
    stream: Option<(u64, Instant)>,
}

/// What the threads share.
#[derive(Default)]
struct Shared {
    desk: Mutex<Desk>,
    bell: Condvar,
    is_over: AtomicBool,
}

#[derive(Default)]
struct Desk {
    /// With the thread that brought it.
    newest: Option<(u64, Frame)>,
    count: u64,
    /// The thread listened to.
    live: Option<u64>,
    /// Threads that have not ended.
    running: usize,
    trouble: Option<Trouble>,
}

impl Shared {
    fn desk(&self) -> MutexGuard<'_, Desk> {
        self.desk.lock().unwrap_or_else(PoisonError::into_inner)
    }
}

/// Takes a thread off the list when it ends, however it ends.
struct Leaving(Arc<Shared>, u64);

impl Drop for Leaving {
    fn drop(&mut self) {
        let mut desk = self.0.desk();
        desk.running -= 1;
        if desk.live == Some(self.1) {
            desk.live = None;
        }
        self.0.bell.notify_all();
    }
}

impl Keeper {
    /// Starts to capture.
    pub fn new(name: String, open: Open, holding: Box<dyn Hold>) -> Self {
        Self::with_times(name, open, holding, SILENCE, SETTLING)
    }

    fn with_times(
        name: String,
        open: Open,
        holding: Box<dyn Hold>,
        silence: Duration,
        settling: Duration,
    ) -> Self {
        let start = Instant::now();
        let mut keeper = Self {
            name,
            open,
            shared: Arc::default(),
            start,
            stirred: start,
            set_out_at: start,
            has_ever_given: false,
            trouble: None,
            next_thread: 0,
            silence,
            holding,
            locking: Locking::Free,
            settling,
            stream: None,
        };
        keeper.set_out();
        keeper
    }

    /// Sends a fresh thread to open the camera, unless too many hang in it already.
    fn set_out(&mut self) {
        self.stirred = Instant::now();
        self.set_out_at = self.stirred;
        let mut desk = self.shared.desk();
        desk.live = None;
        if desk.running >= MOST_THREADS {
            return;
        }
        desk.running += 1;
        drop(desk);
        let (shared, open, start) = (Arc::clone(&self.shared), Arc::clone(&self.open), self.start);
        let number = self.next_thread;
        self.next_thread += 1;
        let leaving = Leaving(Arc::clone(&shared), number);
        let spawned = thread::Builder::new()
            .name(format!("camera {number}"))
            .spawn(move || {
                let leaving = leaving;
                let ended =
                    open(start).and_then(|mut device| capture(&shared, number, &mut *device));
                if let Err(trouble) = ended {
                    let mut desk = shared.desk();
                    // Busy while another thread of ours hangs in it: that is no other program.
                    let is_ours = matches!(trouble, Trouble::Busy { .. }) && desk.running > 1;
                    if desk.live.is_none_or(|live| live == number) && !is_ours {
                        desk.trouble = Some(trouble);
                    }
                }
                drop(leaving);
            });
        if let Err(why) = spawned {
            self.trouble = Some(Trouble::Other {
                camera: self.name.clone(),
                detail: why.to_string(),
            });
        }
    }

    fn silent(&self) -> Trouble {
        Trouble::Silent {
            camera: self.name.clone(),
            seconds: self.silence.as_secs(),
        }
    }
}

/// Hands frames over until nobody wants them any more.
fn capture(shared: &Shared, number: u64, device: &mut dyn Device) -> Result<(), Trouble> {
    loop {
        let frame = device.frame();
        let mut desk = shared.desk();
        if desk.live.is_some_and(|live| live != number) {
            // Another thread got the camera back while this one hung.
            return Ok(());
        }
        if shared.is_over.load(Ordering::Acquire) {
            return Ok(());
        }
        match frame {
            Ok(mut frame) => {
                frame.number = desk.count;
                desk.count += 1;
                desk.live = Some(number);
                desk.newest = Some((number, frame));
                desk.trouble = None;
                shared.bell.notify_all();
            }
            Err(trouble) => return Err(trouble),
        }
    }
}

impl Source for Keeper {
    fn name(&self) -> String {
        self.name.clone()
    }

    fn next(&mut self, patience: Duration) -> Next {
        let shared = Arc::clone(&self.shared);
        let wait = patience.min(self.silence.saturating_sub(self.stirred.elapsed()));
        let desk = shared.desk();
        let (mut desk, _) = shared
            .bell
            .wait_timeout_while(desk, wait, |desk| {
                desk.newest.is_none() && desk.trouble.is_none()
            })
            .unwrap_or_else(PoisonError::into_inner);
        if let Some((thread, frame)) = desk.newest.take() {
            self.stirred = Instant::now();
            if self.stream.is_none_or(|(known, _)| known != thread) {
                self.stream = Some((thread, self.stirred));
                // A camera opened anew may have forgotten what it was told.
                self.locking = Locking::Free;
            }
            self.has_ever_given = true;
            self.trouble = None;
            return Next::Frame(frame);
        }
        if let Some(trouble) = desk.trouble.take() {
            // What was seen working and cannot be opened now has not merely vanished from the list.
            self.trouble = Some(match trouble {
                Trouble::NoCamera | Trouble::Unknown { .. } if self.has_ever_given => {
                    Trouble::Gone {
                        camera: self.name.clone(),
                    }
                }
                other => other,
            });
        }
        let has_failed = self.trouble.is_some() && desk.live.is_none();
        drop(desk);
        // One that fails after it worked for a while is opened anew at once, then now and again.
        if has_failed && self.set_out_at.elapsed() >= self.silence {
            self.set_out();
        } else if self.stirred.elapsed() >= self.silence {
            // A reason given earlier says more than the silence that follows from it.
            if self.trouble.is_none() {
                self.trouble = Some(self.silent());
            }
            self.set_out();
        }
        self.trouble.clone().map_or(Next::Nothing, Next::Trouble)
    }

    fn hold_exposure(&mut self, is_held: bool) {
        let since = self.stream.map(|(_, since)| since.elapsed());
        match (is_held, &self.locking) {
            (true, Locking::Free) if since >= Some(self.settling) => {
                self.locking = self.holding.hold();
            }
            (false, Locking::Held | Locking::Refused(_)) => {
                self.holding.let_go();
                self.locking = Locking::Free;
            }
            _ => {}
        }
    }

    fn locking(&self) -> Option<Locking> {
        Some(self.locking.clone())
    }
}

impl Drop for Keeper {
    /// Gives the camera back as it was. Threads that still wait for a frame end with the next one.
    fn drop(&mut self) {
        self.shared.is_over.store(true, Ordering::Release);
        self.holding.let_go();
    }
}

#[cfg(test)]
mod tests {
    use super::super::super::Pixels;
    use super::*;
    use std::sync::mpsc::{Receiver, Sender, channel};

    /// What a made-up camera does next.
    enum Act {
        Give(u8),
        Fail(Trouble),
    }

    struct Puppet {
        acts: Receiver<Act>,
    }

    impl Device for Puppet {
        fn frame(&mut self) -> Result<Frame, Trouble> {
            // A closed string means: hang for ever.
            match self.acts.recv() {
                Ok(Act::Give(byte)) => Ok(Frame {
                    number: 0,
                    at: Duration::ZERO,
                    size_px: (1, 1),
                    pixels: Pixels::Grey,
                    bytes: vec![byte],
                }),
                Ok(Act::Fail(trouble)) => Err(trouble),
                Err(_) => loop {
                    thread::park();
                },
            }
        }
    }

    /// Tells what it was asked for.
    struct Held(Sender<bool>);

    impl Hold for Held {
        fn hold(&mut self) -> Locking {
            let _ = self.0.send(true);
            Locking::Held
        }

        fn let_go(&mut self) {
            let _ = self.0.send(false);
        }
    }

    /// A keeper whose camera opens as told, one answer a try, then not at all.
    fn kept(silence: Duration, tries: Vec<Result<Puppet, Trouble>>) -> Keeper {
        let (nobody, _) = channel();
        kept_and_held(silence, tries, nobody)
    }

    fn kept_and_held(
        silence: Duration,
        tries: Vec<Result<Puppet, Trouble>>,
        tell: Sender<bool>,
    ) -> Keeper {
        let tries = Mutex::new(tries.into_iter());
        let open: Open = Arc::new(move |_| {
            let next = tries.lock().unwrap().next();
            match next.unwrap_or(Err(Trouble::NoCamera)) {
                Ok(puppet) => Ok(Box::new(puppet) as Box<dyn Device>),
                Err(trouble) => Err(trouble),
            }
        });
        let holding = Box::new(Held(tell));
        Keeper::with_times(
            "Desk camera".to_owned(),
            open,
            holding,
            silence,
            Duration::ZERO,
        )
    }

    fn puppet() -> (Puppet, Sender<Act>) {
        let (tell, acts) = channel();
        (Puppet { acts }, tell)
    }

    /// Asks until there is a frame or a trouble.
    fn next(keeper: &mut Keeper) -> Result<u8, Trouble> {
        loop {
            match keeper.next(Duration::from_secs(20)) {
                Next::Frame(frame) => return Ok(frame.bytes[0]),
                Next::Trouble(trouble) => return Err(trouble),
                Next::Nothing => {}
                Next::Over => panic!("a camera is never over"),
            }
        }
    }

    const LONG: Duration = Duration::from_hours(1);
    /// Set only after the first frame: on a busy machine a second thread could else be there before the first.
    const SHORT: Duration = Duration::from_millis(1);

    #[test]
    fn a_camera_that_fails_is_opened_anew() {
        let (first, tell_first) = puppet();
        let (second, tell_second) = puppet();
        let gone = Trouble::Gone {
            camera: "Desk camera".to_owned(),
        };
        let mut keeper = kept(LONG, vec![Ok(first), Ok(second)]);
        tell_first.send(Act::Give(1)).unwrap();
        while next(&mut keeper) != Ok(1) {}
        keeper.silence = SHORT;
        tell_first.send(Act::Fail(gone.clone())).unwrap();
        while next(&mut keeper) != Err(gone.clone()) {}
        tell_second.send(Act::Give(2)).unwrap();
        while next(&mut keeper) != Ok(2) {}
    }

    #[test]
    fn a_camera_that_hangs_is_said_to_be_silent_and_replaced() {
        let (first, tell_first) = puppet();
        let (second, tell_second) = puppet();
        let mut keeper = kept(LONG, vec![Ok(first), Ok(second)]);
        tell_first.send(Act::Give(1)).unwrap();
        while next(&mut keeper) != Ok(1) {}
        keeper.silence = SHORT;
        // Its string is cut: the first one hangs from now on.
        drop(tell_first);
        assert!(matches!(next(&mut keeper), Err(Trouble::Silent { .. })));
        tell_second.send(Act::Give(2)).unwrap();
        while next(&mut keeper) != Ok(2) {}
    }

    #[test]
    fn one_that_hung_is_heard_when_it_wakes() {
        let busy = Trouble::Busy {
            camera: "Desk camera".to_owned(),
        };
        let (first, tell_first) = puppet();
        let mut keeper = kept(LONG, vec![Ok(first), Err(busy)]);
        tell_first.send(Act::Give(1)).unwrap();
        while next(&mut keeper) != Ok(1) {}
        keeper.silence = SHORT;
        // That it cannot be opened a second time is our own doing, and not told as another program's.
        assert!(matches!(next(&mut keeper), Err(Trouble::Silent { .. })));
        tell_first.send(Act::Give(3)).unwrap();
        while next(&mut keeper) != Ok(3) {}
    }

    #[test]
    fn the_reason_it_cannot_be_opened_is_passed_on() {
        let busy = Trouble::Busy {
            camera: "Desk camera".to_owned(),
        };
        let mut keeper = kept(LONG, vec![Err(busy.clone())]);
        assert_eq!(next(&mut keeper), Err(busy));
    }

    #[test]
    fn exposure_is_held_once_and_given_back_even_by_a_camera_that_hangs() {
        let (first, tell_first) = puppet();
        let (second, tell_second) = puppet();
        let (tell, hears) = channel();
        let mut keeper = kept_and_held(LONG, vec![Ok(first), Ok(second)], tell);
        // Nothing to hold before the first frame.
        keeper.hold_exposure(true);
        assert_eq!(keeper.locking(), Some(Locking::Free));
        tell_first.send(Act::Give(1)).unwrap();
        while next(&mut keeper) != Ok(1) {}
        keeper.silence = SHORT;
        keeper.hold_exposure(true);
        keeper.hold_exposure(true);
        assert_eq!(keeper.locking(), Some(Locking::Held));
        // Opened anew it has to be asked anew.
        drop(tell_first);
        tell_second.send(Act::Give(2)).unwrap();
        while next(&mut keeper) != Ok(2) {}
        assert_eq!(keeper.locking(), Some(Locking::Free));
        keeper.hold_exposure(true);
        // The second one hangs as well when all ends.
        drop(keeper);
        assert_eq!(hears.iter().collect::<Vec<_>>(), [true, true, false]);
    }

    #[test]
    fn a_camera_just_opened_is_given_time_to_find_its_exposure() {
        let (only, tell_only) = puppet();
        let mut keeper = kept(LONG, vec![Ok(only)]);
        keeper.settling = LONG;
        tell_only.send(Act::Give(1)).unwrap();
        assert_eq!(next(&mut keeper), Ok(1));
        keeper.hold_exposure(true);
        assert_eq!(keeper.locking(), Some(Locking::Free));
        keeper.settling = Duration::ZERO;
        keeper.hold_exposure(true);
        assert_eq!(keeper.locking(), Some(Locking::Held));
    }
}
