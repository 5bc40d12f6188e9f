//! Frames that the page sends from the browser's own camera.

use super::{Frame, Next, Pixels, Source, Trouble};
use std::sync::{Arc, Condvar, Mutex, PoisonError};
use std::time::{Duration, Instant};

/// How long the browser may be silent before it is said so.
const SILENCE: Duration = Duration::from_secs(2);

#[derive(Debug, Default)]
struct Slot {
    newest: Option<Frame>,
    count: u64,
    last: Option<Duration>,
}

/// The end that receives: a copy for every connection.
#[derive(Clone, Debug)]
pub struct Post {
    slot: Arc<(Mutex<Slot>, Condvar)>,
    start: Instant,
}

/// The end that is read from.
#[derive(Debug)]
pub struct Posted {
    post: Post,
}

/// A stream of frames put in at one end.
pub fn posted() -> (Post, Posted) {
    let post = Post {
        slot: Arc::default(),
        start: Instant::now(),
    };
    (post.clone(), Posted { post })
}

impl Post {
    /// Puts in a JPEG picture; one that nobody has taken yet is thrown away.
    pub fn put(&self, jpeg: Vec<u8>) {
        let (slot, bell) = &*self.slot;
        let mut slot = slot.lock().unwrap_or_else(PoisonError::into_inner);
        let at = self.start.elapsed();
        slot.newest = Some(Frame {
            number: slot.count,
            at,
            size_px: (0, 0),
            pixels: Pixels::Jpeg,
            bytes: jpeg,
        });
        slot.count += 1;
        slot.last = Some(at);
        bell.notify_one();
    }
}

impl Source for Posted {
    fn name(&self) -> String {
        "the browser's camera".to_owned()
    }

    fn next(&mut self, patience: Duration) -> Next {
        let (slot, bell) = &*self.post.slot;
        let slot = slot.lock().unwrap_or_else(PoisonError::into_inner);
        let (mut slot, _) = bell
            .wait_timeout_while(slot, patience, |slot| slot.newest.is_none())
            .unwrap_or_else(PoisonError::into_inner);
        if let Some(frame) = slot.newest.take() {
            return Next::Frame(frame);
        }
        let silent = self
            .post
            .start
            .elapsed()
            .saturating_sub(slot.last.unwrap_or_default());
        if silent >= SILENCE {
            Next::Trouble(Trouble::NoBrowser)
        } else {
            Next::Nothing
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_the_newest_is_kept() {
        let (post, mut posted) = posted();
        assert!(matches!(posted.next(Duration::ZERO), Next::Nothing));
        for byte in 0..3 {
            post.put(vec![byte]);
        }
        let Next::Frame(frame) = posted.next(Duration::from_secs(9)) else {
            panic!("a frame was put in");
        };
        assert_eq!((frame.number, frame.bytes), (2, vec![2]));
        assert!(matches!(posted.next(Duration::ZERO), Next::Nothing));
    }
}
