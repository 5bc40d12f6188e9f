//! A square of cells to a face: moved onto its gaps, sampled, and judged.

use super::extent::Extent;
use super::refine::Gaps;
use super::sample::sample;
use super::{Patch, Scene, SeenFace};
use crate::colour::Lab;
use crate::geometry::{InPhoto, Point, Quad};
use palette::IntoColor;

/// A face that was found.
#[derive(Clone, Debug)]
pub struct Found {
    /// Where it is.
    pub extent: Extent,
    /// Its patches as its net has them.
    patches: Vec<Patch>,
    /// How sure it is that this is a whole face, 0..=1.
    pub sureness: f64,
}

/// The least likeness of a square's cells to stickers: four regions in step are common among books and tiles.
fn least_likeness(n: usize) -> f64 {
    if n == 2 { 0.9 } else { 0.5 }
}

/// The most that cells just outside may look like stickers: they would be part of a larger net.
const MOST_OUTSIDE: f64 = 0.1;

/// The share of gaps that must stand out by themselves: chequered cloths and boards have none.
const LEAST_DEEP: f64 = 0.5;

/// How far off their places half of the gaps may lie, and nine tenths, in sticker sides.
///
/// On the photos with known truth at most 0.031 and 0.08.
const MOST_OFF_HALF: f64 = 0.045;
const MOST_OFF: f64 = 0.13;

/// The share of stickers that must have a fellow of their colour, by order.
///
/// Nine stickers in six colours leave at most five alone, sixteen as well: 4/9 and 11/16 at least have one. A few
/// less may, for glare and fingers.
fn least_fellows(n: usize) -> f64 {
    match n {
        0..=2 => 0.0,
        3 => 0.3,
        _ => 0.6,
    }
}

/// How far apart two patches of one colour may lie: the distance in CIELAB with lightness halved, for light falls
/// unevenly on a face.
const ALIKE: f32 = 11.0;

/// How much darker than paper ink is at least, in CIELAB lightness: more than shadow is than sunlight.
const INK: f32 = 55.0;

impl Found {
    /// Takes a closer look at a square of cells; none when it is no face.
    pub fn look(scene: &Scene, extent: &Extent) -> Option<Self> {
        if extent.outside > MOST_OUTSIDE || extent.likeness() < least_likeness(extent.n) {
            return None;
        }
        let (extent, gaps) = extent.refined(scene);
        let corners = extent.corners();
        if !corners.is_convex() {
            return None;
        }
        let factor = scene.small.factor as f64;
        let patches = sample(scene.photo, extent.n, |column, row, right, down| {
            enlarged(extent.at(column, row, right, down), factor)
        });
        let sureness = sureness(&extent, &gaps, &patches)?;
        Some(Self {
            extent,
            patches,
            sureness,
        })
    }

    /// How much of the picture it fills, weighed by its sureness.
    pub fn weight(&self) -> f64 {
        self.sureness.powi(2) * self.extent.corners().area()
    }

    /// The face as others see it: its first corner the one nearest to the photo's top left.
    pub fn seen(&self, factor: usize) -> SeenFace {
        let n = self.extent.n;
        let turns = self.extent.top_left();
        let corners = self.extent.corners();
        let last = n - 1;
        let patches = (0..n * n).map(|index| {
            let (row, column) = (index / n, index % n);
            let (column, row) = match turns {
                0 => (column, row),
                1 => (last - row, column),
                2 => (last - column, last - row),
                _ => (row, last - column),
            };
            self.patches[row * n + column].clone()
        });
        SeenFace {
            n,
            corners_in_photo: Quad(std::array::from_fn(|k| {
                enlarged(corners.corner(turns + k), factor as f64)
            })),
            patches: patches.collect(),
            sureness: self.sureness as f32,
        }
    }
}

fn enlarged(point: Point<InPhoto>, factor: f64) -> Point<InPhoto> {
    Point::new(point.x * factor, point.y * factor)
}

/// How sure it is that this is a whole face; none when something speaks against it.
fn sureness(extent: &Extent, gaps: &Gaps, patches: &[Patch]) -> Option<f64> {
    let fits = gaps.deep >= LEAST_DEEP
        && gaps.off_half <= MOST_OFF_HALF
        && gaps.off_most <= MOST_OFF
        && fellows(patches) >= least_fellows(extent.n)
        && !is_ink_on_paper(patches);
    // A face short of a row is worse than one with a few stickers in doubt.
    let rim = 0.75 + 0.25 * extent.weakest_line;
    fits.then_some(extent.likeness() * gaps.seen * rim)
}

/// The share of patches that have a fellow of about the same colour.
fn fellows(patches: &[Patch]) -> f64 {
    let colours: Vec<Lab> = patches
        .iter()
        .map(|patch| patch.linear.into_color())
        .collect();
    let alike = |one: &Lab, other: &Lab| {
        let (l, a, b) = (0.5 * (one.l - other.l), one.a - other.a, one.b - other.b);
        l * l + a * a + b * b < ALIKE * ALIKE
    };
    let with_fellow = colours.iter().enumerate().filter(|(index, colour)| {
        colours
            .iter()
            .enumerate()
            .any(|(other, fellow)| other != *index && alike(colour, fellow))
    });
    with_fellow.count() as f64 / patches.len() as f64
}

/// Whether all patches are of one tint, some of them very light and some very dark: printed squares.
///
/// Cubes have white or black stickers, not both (common practice, no source).
fn is_ink_on_paper(patches: &[Patch]) -> bool {
    let colours: Vec<Lab> = patches
        .iter()
        .map(|patch| patch.linear.into_color())
        .collect();
    let share = |is_so: &dyn Fn(&Lab) -> bool| {
        colours.iter().filter(|colour| is_so(colour)).count() as f64 / colours.len() as f64
    };
    let Some(lightest) = colours.iter().max_by(|a, b| a.l.total_cmp(&b.l)) else {
        return false;
    };
    share(&|colour| tint_apart(colour, lightest) < ALIKE) > 0.9
        && share(&|colour| colour.l < lightest.l - INK) > 0.1
}

/// The distance of two colours but for their lightness.
fn tint_apart(one: &Lab, other: &Lab) -> f32 {
    (one.a - other.a).hypot(one.b - other.b)
}
