//! Photos of one size to cubes: runs of photos that followed one another first, then sets grown one photo at a time.

use super::Company;
use super::balance::{Tally, Unit};
use super::known::{Choice, Known};
use crate::assemble::Assembly;
use crate::reader::likeness::Pattern;
use crate::sight::SeenPhoto;
use std::collections::BTreeSet;

/// What the search found.
#[derive(Debug, Default)]
pub(super) struct Found {
    pub cubes: Vec<Company>,
    /// Photos that would make a cube, but in more than one way.
    pub fits_several: BTreeSet<usize>,
}

/// A set is one cube when it is so many nats likelier than chance, all sets that could have been tried considered: wrong
/// one time in a thousand.
const LEAST_SURE: f64 = 6.9;

/// A set is the only one when every other that shares photos with it is so many nats less likely.
const LEAST_AHEAD: f64 = 7.0;

/// How much more another photo may cost in the counts and still be tried in the place of one: twice what a wrongly named
/// colour makes.
const RIVAL_COST: f64 = 14.0;

/// How many rivals are tried before a set is taken for one of many.
const MOST_RIVALS: usize = 160;

/// How many times what a set may cost in the counts a run of photos may: runs are few, and where the light of one photo
/// misnames a whole colour, a cube costs 1.45 times as much.
const MOST_COST_OF_RUN: f64 = 2.0;

/// Partial sets followed at once.
const WIDTH: usize = 160;

/// Whole sets tried for each photo to start from.
const MOST_TRIED: usize = 3;

/// The confidence a cube must have, first and at last: cubes at one stage have much in common, so that faces of several are
/// kin, yet they make no cube. Of 13 such sets of photos eleven had 0.04 at most, the others too little kinship.
const CONFIDENT: [f64; 2] = [0.5, 0.1];

/// A set of units, by their indices in rising order, pieced together.
#[derive(Clone, Debug)]
struct Tried {
    set: Vec<usize>,
    kind: usize,
    cost: f64,
    assembly: Assembly,
}

struct Search<'a, 'b> {
    photos: &'a [&'a SeenPhoto],
    units: &'a [&'a Unit],
    known: &'a mut Known<'b>,
    is_free: Vec<bool>,
    found: Found,
    /// Whether cubes known by what they show alone were photographed one after another: yes and no, how many.
    in_a_row: usize,
    apart: usize,
}

/// Finds the cubes among photos of one size, given in the order in which they came.
pub(super) fn search(photos: &[&SeenPhoto], units: &[&Unit], known: &mut Known) -> Found {
    let mut search = Search {
        photos,
        units,
        known,
        is_free: vec![true; units.len()],
        found: Found::default(),
        in_a_row: 0,
        apart: 0,
    };
    let runs = search.runs();
    let mut waiting = Vec::new();
    for least_confidence in CONFIDENT {
        search.settle_best(&runs, least_confidence, &mut waiting);
        for start in 0..units.len() {
            if search.is_free[start] {
                let sets = search.grown_from(start);
                search.settle_best(&sets, least_confidence, &mut waiting);
            }
        }
    }
    search.settle_by_order(waiting);
    search.found
}

impl Search<'_, '_> {
    /// The sets of photos that follow one another and could be a cube.
    fn runs(&self) -> Vec<(Vec<usize>, Tally)> {
        let mut runs = Vec::new();
        for first in 0..self.units.len() {
            let mut set = Vec::new();
            let mut faces = 0;
            for unit in first..self.units.len() {
                set.push(unit);
                faces += self.units[unit].faces;
                if faces >= 6 {
                    break;
                }
            }
            if faces == 6 {
                runs.extend(self.whole(set, MOST_COST_OF_RUN));
            }
        }
        runs
    }

    /// A whole set with its likeliest kind, if it costs no more than so many times what a set may.
    fn whole(&self, set: Vec<usize>, most: f64) -> Option<(Vec<usize>, Tally)> {
        let mut photos: Vec<usize> = set.iter().map(|&unit| self.units[unit].photo).collect();
        photos.sort_unstable();
        photos.dedup();
        if photos.len() < set.len() {
            return None;
        }
        let units: Vec<&Unit> = set.iter().map(|&unit| self.units[unit]).collect();
        let kinds = 0..units.first()?.sketches.len();
        let best = kinds
            .map(|kind| Tally::of(kind, &units))
            .min_by(|one, other| one.cost().total_cmp(&other.cost()))?;
        (best.cost() <= most * best.most_cost()).then_some((set, best))
    }

    /// Whole sets with one photo in them, grown photo by photo, the best few by their counts.
    fn grown_from(&self, start: usize) -> Vec<(Vec<usize>, Tally)> {
        let mut whole: Vec<(Vec<usize>, Tally)> = Vec::new();
        let first = self.units[start];
        for kind in 0..first.sketches.len() {
            let mut partial = vec![(vec![start], Tally::of(kind, &[first]))];
            while !partial.is_empty() {
                let mut next: Vec<(f64, usize, usize)> = Vec::new();
                for (at, (set, tally)) in partial.iter().enumerate() {
                    // Each set once: photos before the last added one come in only before the start.
                    let after = set.iter().skip(1).max().map_or(0, |&last| last + 1);
                    for unit in after..self.units.len() {
                        let one = self.units[unit];
                        let may = self.is_free[unit]
                            && unit != start
                            && tally.faces + one.faces <= 6
                            && set
                                .iter()
                                .all(|&other| self.units[other].photo != one.photo);
                        if may {
                            let mut more = tally.clone();
                            more.add(one);
                            let cost = more.cost();
                            if cost <= more.most_cost() {
                                next.push((cost, at, unit));
                            }
                        }
                    }
                }
                next.sort_by(|one, other| one.0.total_cmp(&other.0));
                next.truncate(WIDTH);
                let grown: Vec<(Vec<usize>, Tally)> = next
                    .into_iter()
                    .map(|(_, at, unit)| {
                        let (set, tally) = &partial[at];
                        let (mut set, mut tally) = (set.clone(), tally.clone());
                        set.push(unit);
                        tally.add(self.units[unit]);
                        (set, tally)
                    })
                    .collect();
                let (done, open): (Vec<_>, Vec<_>) =
                    grown.into_iter().partition(|(_, tally)| tally.faces == 6);
                whole.extend(done);
                partial = open;
            }
        }
        whole.sort_by(|one, other| one.1.cost().total_cmp(&other.1.cost()));
        let mut known = BTreeSet::new();
        whole.retain_mut(|(set, _)| {
            set.sort_unstable();
            known.insert(set.clone())
        });
        whole.truncate(MOST_TRIED);
        whole
    }

    /// The sets pieced together; what makes no cube at all, or certainly none of the least kinship, is left out.
    fn tried(&mut self, sets: Vec<(Vec<usize>, Tally)>, least: f64) -> Vec<Tried> {
        let n = self.units.first().map_or(0, |unit| unit.n);
        let choices: Vec<Vec<Choice>> = sets.iter().map(|(set, _)| self.choices(set)).collect();
        self.known.learn(&choices, n, least);
        let made = sets.into_iter().zip(choices);
        made.filter_map(|((set, tally), choices)| {
            let assembly = self.known.cube(&choices)?;
            let is_whole = assembly.strangers().next().is_none();
            is_whole.then(|| Tried {
                set,
                kind: tally.kind,
                cost: tally.cost(),
                assembly: assembly.clone(),
            })
        })
        .collect()
    }

    fn choices(&self, set: &[usize]) -> Vec<Choice> {
        let units = set.iter().map(|&unit| self.units[unit]);
        units.map(|unit| (unit.photo, unit.view)).collect()
    }

    /// ln of how many sets of as many photos there are.
    fn log_choices(&self, size: usize) -> f64 {
        let photos = self.units.len() as f64;
        (0..size)
            .map(|k| ((photos - k as f64).max(1.0) / (k + 1) as f64).ln())
            .sum()
    }

    /// Takes those of some sets that are cubes, the likeliest first: a set is pieced together only if all its photos are still
    /// without a place then.
    fn settle_best(
        &mut self,
        sets: &[(Vec<usize>, Tally)],
        least_confidence: f64,
        waiting: &mut Vec<Tried>,
    ) {
        let choices: Vec<Vec<Choice>> = sets.iter().map(|(set, _)| self.choices(set)).collect();
        let mut glances: Vec<(f64, usize)> =
            self.known.glances(&choices).into_iter().zip(0..).collect();
        glances.sort_by(|one, other| other.0.total_cmp(&one.0));
        for (_, index) in glances {
            let (set, _) = &sets[index];
            if set.iter().all(|&unit| self.is_free[unit]) {
                for tried in self.tried(vec![sets[index].clone()], LEAST_SURE) {
                    self.settle(tried, least_confidence, waiting);
                }
            }
        }
    }

    /// Takes a set that is a cube and the only one; one of several waits for the order of the photos to decide.
    fn settle(&mut self, tried: Tried, least_confidence: f64, waiting: &mut Vec<Tried>) {
        let sureness = tried.assembly.kinship.over_faces - self.log_choices(tried.set.len());
        if tried.assembly.confidence < least_confidence {
            return;
        }
        if sureness < LEAST_SURE || self.has_rival(&tried) {
            let is_known = waiting.iter().any(|known| known.set == tried.set);
            if tried.assembly.kinship.over_faces >= LEAST_SURE && !is_known {
                waiting.push(tried);
            }
            return;
        }
        if is_run(&tried.set) {
            self.in_a_row += 1;
        } else {
            self.apart += 1;
        }
        self.take(tried);
    }

    fn take(&mut self, tried: Tried) {
        for &unit in &tried.set {
            let photo = self.units[unit].photo;
            for (other, is_free) in self.is_free.iter_mut().enumerate() {
                *is_free &= self.units[other].photo != photo;
            }
        }
        self.found.cubes.push(Company {
            photos: tried
                .set
                .iter()
                .map(|&unit| self.units[unit].photo)
                .collect(),
            views: tried
                .set
                .iter()
                .map(|&unit| self.units[unit].view)
                .collect(),
            assembly: tried.assembly,
        });
    }

    /// Whether a photo outside the set would do as well in the place of one in it.
    fn has_rival(&mut self, tried: &Tried) -> bool {
        let mut rivals = Vec::new();
        for (at, &own) in tried.set.iter().enumerate() {
            for (other, unit) in self.units.iter().enumerate() {
                let is_new = tried
                    .set
                    .iter()
                    .all(|&known| self.units[known].photo != unit.photo);
                if !is_new || unit.faces != self.units[own].faces {
                    continue;
                }
                let mut set = tried.set.clone();
                set[at] = other;
                set.sort_unstable();
                let units: Vec<&Unit> = set.iter().map(|&unit| self.units[unit]).collect();
                let tally = Tally::of(tried.kind, &units);
                if tally.cost() <= tried.cost + RIVAL_COST {
                    rivals.push((set, tally));
                }
            }
        }
        if rivals.len() > MOST_RIVALS {
            return true;
        }
        let bar = tried.assembly.kinship.over_faces - LEAST_AHEAD;
        let rivals = self.tried(rivals, bar);
        rivals.iter().any(|rival| {
            rival.assembly.kinship.over_faces > bar && !self.shows_the_same(tried, rival)
        })
    }

    /// Whether a rival differs only in showing a face by another photo of it, taken again.
    ///
    /// A face of a 2×2×2, or one of few colours, may look like one of another cube; then nothing is known.
    fn shows_the_same(&self, tried: &Tried, rival: &Tried) -> bool {
        let lone =
            |set: &[usize], other: &[usize]| set.iter().copied().find(|unit| !other.contains(unit));
        let pair = lone(&tried.set, &rival.set).zip(lone(&rival.set, &tried.set));
        pair.is_some_and(|(own, other)| {
            let (own, other) = (self.units[own], self.units[other]);
            let pattern =
                |unit: &Unit| Pattern::of(&self.photos[unit.photo].views[unit.view].faces[0]);
            own.n > 2
                && own.faces == 1
                && other.faces == 1
                && own.colours(tried.kind) > 3
                && pattern(own)
                    .zip(pattern(other))
                    .is_some_and(|(own, other)| own.is_like(&other))
        })
    }

    /// Of sets that are cubes but not the only ones, takes those that follow one another, provided the cubes that are
    /// sure did so too.
    fn settle_by_order(&mut self, mut waiting: Vec<Tried>) {
        let is_orderly = self.apart == 0 && self.in_a_row > 0;
        waiting.retain(|tried| tried.set.iter().all(|&unit| self.is_free[unit]));
        let runs: Vec<Tried> = waiting
            .iter()
            .filter(|tried| is_orderly && is_run(&tried.set))
            .cloned()
            .collect();
        for (index, run) in runs.iter().enumerate() {
            let is_only = runs.iter().enumerate().all(|(other, rival)| {
                other == index
                    || rival.set.iter().all(|unit| !run.set.contains(unit))
                    || rival.assembly.kinship.over_faces
                        < run.assembly.kinship.over_faces - LEAST_AHEAD
            });
            if is_only && run.set.iter().all(|&unit| self.is_free[unit]) {
                self.take(run.clone());
            }
        }
        for tried in waiting {
            for unit in tried.set {
                if self.is_free[unit] {
                    self.found.fits_several.insert(self.units[unit].photo);
                }
            }
        }
    }
}

/// Whether the photos of a set follow one another.
fn is_run(set: &[usize]) -> bool {
    set.windows(2).all(|pair| pair[1] == pair[0] + 1)
}
