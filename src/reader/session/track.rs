//! Follows one face from frame to frame until several looks agree.

use super::blend::{blend, difference, turned};
use crate::geometry::{InPhoto, Quad};
use crate::sight::{SeenFace, SeenPhoto};
use std::time::Duration;

/// Looks that must agree before a face counts as read.
pub(super) const LOOKS: usize = 5;

/// Past this many looks nothing is gained by more.
pub(super) const MOST_LOOKS: usize = 12;

/// A look less sure than this is not counted.
pub(super) const LEAST_SURENESS: f32 = 0.6;

/// Mean evenness below which a look is blurred or covered.
pub(super) const LEAST_EVENNESS: f32 = 0.85;

/// How far a corner may move between two frames, in sides of the face: half a face at 30 frames a second is the
/// fastest a hand waves, and a fresh start costs little.
const MOST_MOTION: f64 = 0.4;

/// Looks in a row that do not fit before the track is given up for them.
const MOST_STRANGERS: usize = 2;

/// How long a face may be out of sight and still be the same showing.
const MOST_GAP: Duration = Duration::from_millis(700);

/// How long a face may be in sight without one look that counts before the person is told.
const MOST_UNCLEAR: Duration = Duration::from_secs(3);

/// How long a face that is not seen is still shown as seen.
const BLINK: Duration = Duration::from_millis(120);

/// How long there may be between two frames that both show it, on a slow machine.
const MOST_PAUSE: Duration = Duration::from_secs(5);

/// One face being watched.
#[derive(Clone, Debug)]
pub(super) struct Track {
    looks: Vec<SeenFace>,
    last: SeenFace,
    last_at: Duration,
    strangers: usize,
    /// When a look last counted, or the showing began, and how many have not counted since.
    clear_at: Duration,
    unclear: usize,
    /// How many looks have been counted in this showing.
    pub count: usize,
    /// The number of the showing: a new one whenever the track starts afresh.
    pub showing: u64,
}

/// What a frame did to the watching.
#[derive(Clone, Debug)]
pub(super) enum Watched {
    /// No face in sight.
    Nothing,
    /// A face in sight, not yet enough looks.
    Face,
    /// Enough looks agree.
    Read,
}

/// Watches for faces.
#[derive(Clone, Debug, Default)]
pub(super) struct Watch {
    track: Option<Track>,
    showings: u64,
    last_at: Duration,
    /// Whether the last frame showed no face.
    was_empty: bool,
}

impl Track {
    /// The face as all looks together show it.
    pub fn whole(&self) -> SeenFace {
        blend(&self.looks)
    }

    /// The face as last seen.
    pub const fn last(&self) -> &SeenFace {
        &self.last
    }

    /// How many of the looks needed there are, 0..=1.
    pub fn progress(&self) -> f64 {
        (self.looks.len() as f64 / LOOKS as f64).min(1.0)
    }
}

impl Watch {
    /// The face being watched.
    pub const fn track(&self) -> Option<&Track> {
        self.track.as_ref()
    }

    /// Takes in what a frame shows. Faces of another order than `n`, once that is known, are taken only when no
    /// face of this order is in sight.
    pub fn see(&mut self, at: Duration, seen: &SeenPhoto, n: Option<usize>) -> Watched {
        let Some(face) = pick(seen, n, self.track.as_ref()) else {
            if self
                .track
                .as_ref()
                .is_some_and(|track| at.saturating_sub(track.last_at) > MOST_GAP)
            {
                self.track = None;
            }
            self.was_empty = true;
            return Watched::Nothing;
        };
        let gap = if std::mem::take(&mut self.was_empty) {
            MOST_GAP
        } else {
            MOST_PAUSE
        };
        self.last_at = at;
        let is_good = face.sureness >= LEAST_SURENESS && evenness(face) >= LEAST_EVENNESS;
        if let Some(track) = &mut self.track
            && at.saturating_sub(track.last_at) <= gap
            && let Some(aligned) = aligned(&track.last, face)
        {
            track.last = aligned;
            track.last_at = at;
            let agrees =
                track.looks.is_empty() || difference(&track.whole(), &track.last).is_same();
            if !is_good {
                track.unclear += 1;
                return track.watched();
            }
            if agrees {
                track.strangers = 0;
                track.unclear = 0;
                track.clear_at = at;
                track.looks.push(track.last.clone());
                track.count += 1;
                if track.looks.len() > MOST_LOOKS {
                    track.looks.remove(0);
                }
                return track.watched();
            }
            track.strangers += 1;
            if track.strangers <= MOST_STRANGERS {
                return track.watched();
            }
        }
        self.showings += 1;
        self.track = Some(Track {
            looks: if is_good {
                vec![face.clone()]
            } else {
                Vec::new()
            },
            last: face.clone(),
            last_at: at,
            strangers: 0,
            clear_at: at,
            unclear: usize::from(!is_good),
            count: usize::from(is_good),
            showing: self.showings,
        });
        Watched::Face
    }

    /// Whether the face being watched was seen just now: a frame or two without it may be a blurred one.
    pub fn is_in_sight(&self, at: Duration) -> bool {
        self.track
            .as_ref()
            .is_some_and(|track| at.saturating_sub(track.last_at) <= BLINK)
    }

    /// Whether the face being watched has been in sight for a while, but too blurred, covered or small to count.
    pub fn is_unclear(&self, at: Duration) -> bool {
        self.is_in_sight(at)
            && self.track.as_ref().is_some_and(|track| {
                track.looks.len() < LOOKS
                    && track.unclear >= LOOKS
                    && at.saturating_sub(track.clear_at) >= MOST_UNCLEAR
            })
    }

    /// How long no face has been in sight.
    pub const fn absent(&self, at: Duration) -> Duration {
        at.saturating_sub(self.last_at)
    }
}

impl Track {
    fn watched(&self) -> Watched {
        if self.looks.len() >= LOOKS {
            Watched::Read
        } else {
            Watched::Face
        }
    }
}

/// The mean share of its stickers that agrees with their colours, 0..=1.
pub(super) fn evenness(face: &SeenFace) -> f32 {
    face.patches.iter().map(|patch| patch.evenness).sum::<f32>() / face.patches.len().max(1) as f32
}

/// The face of a frame to follow: the one that goes on with the track, or else the largest sure one.
fn pick<'a>(seen: &'a SeenPhoto, n: Option<usize>, track: Option<&Track>) -> Option<&'a SeenFace> {
    let faces = || {
        seen.views
            .iter()
            .filter_map(|view| view.faces.iter().max_by(|a, b| size(a).total_cmp(&size(b))))
    };
    if let Some(track) = track
        && let Some(face) = faces().find(|face| {
            face.n == track.last.n
                && motion(&track.last.corners_in_photo, &face.corners_in_photo).1
                    < MOST_MOTION / 2.0
        })
    {
        return Some(face);
    }
    let of_order = n.and_then(|n| faces().find(|face| face.n == n));
    of_order.or_else(|| faces().next())
}

fn size(face: &SeenFace) -> f64 {
    face.corners_in_photo.area()
}

/// The corner of `next` nearest to the first of `last`, and the farthest any corner moved, in sides of the face.
fn motion(last: &Quad<InPhoto>, next: &Quad<InPhoto>) -> (usize, f64) {
    let side = last.area().sqrt().max(1.0);
    let farthest = |quarters: usize| {
        (0..4)
            .map(|k| last.0[k].distance(next.0[(k + quarters) % 4]) / side)
            .fold(0.0, f64::max)
    };
    (0..4)
        .map(|quarters| (quarters, farthest(quarters)))
        .min_by(|a, b| a.1.total_cmp(&b.1))
        .unwrap_or((0, f64::INFINITY))
}

/// The next look at the same face, read from the same corner on; `None` if it can be no such look.
fn aligned(last: &SeenFace, next: &SeenFace) -> Option<SeenFace> {
    if last.n != next.n {
        return None;
    }
    let (quarters, moved) = motion(&last.corners_in_photo, &next.corners_in_photo);
    (moved <= MOST_MOTION).then(|| turned(next, quarters))
}
