//! Photos to how many stickers of each colour they show in each ring of a face, and how far a set of them is from a
//! whole cube, which shows each colour equally often in each ring.

use crate::assemble::{Sketch, sketch};
use crate::calibration::Calibration;
use crate::sight::SeenPhoto;

/// One way of understanding a photo, ready to be counted with others.
#[derive(Clone, Debug)]
pub(super) struct Unit {
    /// The photo.
    pub photo: usize,
    /// Which of its views.
    pub view: usize,
    /// Its place among the photo's views that differ in size or number of faces: 0 is what the photo shows at first
    /// sight.
    pub rank: usize,
    /// Stickers along a side.
    pub n: usize,
    /// How many faces.
    pub faces: usize,
    /// The view as each kind of cube.
    pub sketches: Vec<Sketch>,
    /// How much less likely each kind is than the likeliest, in nats, within limits: a single face may mislead.
    pub strangeness: Vec<f64>,
}

impl Unit {
    /// How many colours show, as one kind of cube.
    pub fn colours(&self, kind: usize) -> usize {
        let total = |k: usize| {
            self.sketches[kind]
                .counts
                .iter()
                .map(|ring| ring[k])
                .sum::<f64>()
        };
        (0..6).filter(|&k| total(k) >= 0.5).count()
    }
}

/// How much a photo's own colours may speak against a kind of cube, in nats.
const MOST_STRANGE: f64 = 12.0;

/// How far a count may be off without meaning anything, as a variance: a few stickers of six faces are misnamed when
/// each photo is taken alone (6 % on `fixtures/photos`, often a whole colour of a photo).
const MISNAMED: f64 = 1.0;

/// The ways of understanding a photo worth trying: at first sight, and the best one that differs in size or number of
/// faces.
pub(super) fn units(calibration: &Calibration, photo: usize, seen: &SeenPhoto) -> Vec<Unit> {
    let shape = |view: usize| {
        let faces = &seen.views[view].faces;
        (faces.first().map_or(0, |face| face.n), faces.len())
    };
    let other = (1..seen.views.len()).find(|&view| shape(view) != shape(0));
    let views = [(!seen.views.is_empty()).then_some(0), other];
    let views = views.into_iter().flatten().enumerate();
    views
        .filter(|&(_, view)| shape(view).1 > 0)
        .map(|(rank, view)| {
            let sketches = sketch(calibration, &seen.views[view]);
            let best = sketches
                .iter()
                .map(|kind| kind.log)
                .fold(f64::NEG_INFINITY, f64::max);
            let strangeness = sketches
                .iter()
                .map(|kind| (best - kind.log).min(MOST_STRANGE));
            let (n, faces) = shape(view);
            Unit {
                photo,
                view,
                rank,
                n,
                faces,
                strangeness: strangeness.collect(),
                sketches,
            }
        })
        .collect()
}

/// The counts of a set of photos, as one kind of cube.
#[derive(Clone, Debug)]
pub(super) struct Tally {
    /// The kind of cube, as an index into the calibration's.
    pub kind: usize,
    /// How many faces.
    pub faces: usize,
    counts: Vec<[f64; 6]>,
    variances: Vec<[f64; 6]>,
    alike: [usize; 2],
    strangeness: f64,
}

impl Tally {
    /// Nothing counted yet.
    fn new(kind: usize, rings: usize, alike: [usize; 2]) -> Self {
        Self {
            kind,
            faces: 0,
            alike,
            counts: vec![[0.0; 6]; rings],
            variances: vec![[0.0; 6]; rings],
            strangeness: 0.0,
        }
    }

    /// The tally of a set.
    pub fn of(kind: usize, units: &[&Unit]) -> Self {
        let first = units.first().map(|unit| &unit.sketches[kind]);
        let rings = first.map_or(0, |sketch| sketch.counts.len());
        let alike = first.map_or([0, 1], |sketch| sketch.alike);
        let mut tally = Self::new(kind, rings, alike);
        for unit in units {
            tally.add(unit);
        }
        tally
    }

    /// Counts one more photo.
    pub fn add(&mut self, unit: &Unit) {
        let sketch = &unit.sketches[self.kind];
        for (sum, more) in self.counts.iter_mut().zip(&sketch.counts) {
            for k in 0..6 {
                sum[k] += more[k];
            }
        }
        for (sum, more) in self.variances.iter_mut().zip(&sketch.variances) {
            for k in 0..6 {
                sum[k] += more[k];
            }
        }
        self.faces += unit.faces;
        self.strangeness += unit.strangeness[self.kind];
    }

    /// How far the set is from a whole cube, or from a part of one, in nats: every colour that shows more often than it
    /// can counts, and in a whole cube every colour that shows too seldom.
    pub fn cost(&self) -> f64 {
        let mut cost = self.strangeness;
        let [one, other] = self.alike;
        for (counts, variances) in self.counts.iter().zip(&self.variances) {
            // The middle ring of an odd face is its middle sticker alone.
            let is_middle = counts.iter().sum::<f64>() < 1.5 * self.faces as f64;
            let full = if is_middle { 1.0 } else { 4.0 };
            let mut add = |count: f64, full: f64, variance: f64| {
                let off = count - full;
                if off > 0.0 || self.faces == 6 {
                    cost += off * off / (2.0 * (variance + MISNAMED));
                }
            };
            for k in 0..6 {
                if !self.alike.contains(&k) {
                    add(counts[k], full, variances[k]);
                }
            }
            // How often they are taken for each other does not change their sum.
            add(counts[one] + counts[other], 2.0 * full, 0.0);
        }
        cost
    }

    /// The cost above which a whole set is certainly no cube. Of six faces that have nothing to do with each other each
    /// ring costs 10 on average.
    pub fn most_cost(&self) -> f64 {
        5.0 * self.counts.len() as f64 + 12.0
    }
}
