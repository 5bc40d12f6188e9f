//! A square of cells to a face: moved onto its gaps, sampled, and judged.

use super::bend::Firmness;
use super::extent::Extent;
use super::refine::Gaps;
use super::sample::sample;
use super::{Patch, Scene, SeenFace};
use crate::colour::Lab;
use crate::geometry::{InPhoto, Quad};
use palette::IntoColor;

/// What is known of a face before it is looked at closely.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Standing {
    /// Nothing.
    Unaided,
    /// Its size, from other photos.
    SizeKnown,
    /// Its size and where it must lie, from two faces it shares edges with.
    Foretold,
}

impl Standing {
    /// The least likeness of a square's cells to stickers: four regions in step are common among books and tiles.
    const fn least_likeness(self, n: usize) -> f64 {
        match (self, n) {
            (Self::Unaided, 2) => 0.9,
            (Self::Unaided, _) => 0.5,
            (Self::SizeKnown, 2) => 0.7,
            (Self::SizeKnown, _) => 0.4,
            (Self::Foretold, _) => 0.0,
        }
    }

    /// The least sureness. On the photos with known truth at least 0.44, and 0.66 but for one.
    const fn least_sureness(self) -> f64 {
        match self {
            Self::Unaided => 0.4,
            Self::SizeKnown => 0.25,
            Self::Foretold => 0.75,
        }
    }

    /// The share of stickers that must have a fellow of their colour.
    ///
    /// Nine stickers in six colours leave at most five alone, sixteen as well: 4/9 and 11/16 at least have one.
    /// Fewer may, for glare, shade and fingers, the more so when the grid is flawless.
    const fn least_fellows(self, n: usize, is_flawless: bool) -> f64 {
        match (self, n, is_flawless) {
            (Self::Unaided, 3, true) => 0.2,
            (Self::Unaided, 3, false) => 0.3,
            (Self::Unaided, 4.., true) => 0.4,
            (Self::Unaided, 4.., false) => 0.6,
            _ => 0.0,
        }
    }
}

/// The most that cells just outside may look like stickers: they would be part of a larger net.
///
/// On one side they may do so more, when those on the others do not: another face adjoins there.
const MOST_OUTSIDE: f64 = 0.1;
const MOST_ADJOINING: f64 = 0.5;

/// The least sureness of a face of one colour about which nothing is known: keys and tiles are of one colour too.
const LEAST_SURENESS_OF_PLAIN: f64 = 0.75;

/// The least focal length of a camera in long sides of its picture: an angle of 100 degrees.
const LEAST_FOCAL: f64 = 0.42;

/// The share of gaps that must stand out by themselves: chequered cloths and boards have none.
const LEAST_DEEP: f64 = 0.5;

/// How far off their places half of the gaps may lie, and nine tenths, in sticker sides.
///
/// On the photos with known truth at most 0.031 and 0.08.
const MOST_OFF_HALF: f64 = 0.045;
const MOST_OFF: f64 = 0.13;

/// How far apart two patches of one colour may lie: the distance in CIELAB with lightness halved and colourfulness
/// taken at their mean lightness, for light falls unevenly on a face.
const ALIKE: f32 = 11.0;

/// The CIELAB lightness below which colourfulness is not enlarged: it would be of noise.
const DARK: f32 = 20.0;

/// The linear light of a face's brightest patch in a well exposed photo, and how much a dark photo is brightened at
/// most: beyond it colours are of noise.
const LIGHT: f32 = 0.6;
const MOST_GAIN: f32 = 4.0;

/// How much darker than paper ink is at least, in CIELAB lightness: more than shadow is than sunlight.
const INK: f32 = 55.0;

/// Why a square of cells is not taken for a face.
#[derive(Clone, Copy, Debug)]
pub enum Refusal {
    /// It is none.
    NoFace,
    /// Its gaps do not run as they should, or hardly stand out: a look from nearer could show them better.
    /// Where it lies.
    Unclear(Quad<InPhoto>),
}

/// Takes a closer look at a square of cells.
///
/// # Errors
///
/// If it is no face, or none that could be told for one here.
pub fn face(scene: &Scene, extent: &Extent, standing: Standing) -> Result<SeenFace, Refusal> {
    if standing == Standing::Unaided && goes_on(extent)
        || extent.likeness() < standing.least_likeness(extent.n)
    {
        return Err(Refusal::NoFace);
    }
    let firmness = match standing {
        Standing::Foretold => Firmness::Foretold,
        Standing::Unaided | Standing::SizeKnown => Firmness::Free,
    };
    let (extent, gaps) = extent.refined(scene, firmness);
    let corners = extent.corners();
    let long_side = scene.photo.width_px().max(scene.photo.height_px()) as f64;
    let in_photo = Quad(corners.0.map(|corner| scene.small.in_photo(corner)));
    if !corners.is_convex() || !could_be_square(&in_photo, long_side) {
        return Err(Refusal::NoFace);
    }
    let turns = top_left(&corners);
    let last = extent.n - 1;
    // A quarter turn of the reading: corner `turns` of the net becomes the first.
    let patches = sample(scene.photo, extent.n, |column, row, right, down| {
        let (column, row, right, down) = match turns {
            0 => (column, row, right, down),
            1 => (last - row, column, -down, right),
            2 => (last - column, last - row, -right, -down),
            _ => (row, last - column, down, -right),
        };
        scene.small.in_photo(extent.at(column, row, right, down))
    });
    if !is_coloured(&extent, &gaps, &patches, standing) {
        return Err(Refusal::NoFace);
    }
    let sureness =
        sureness(&extent, &gaps, &patches, standing).ok_or(Refusal::Unclear(in_photo))?;
    Ok(SeenFace {
        n: extent.n,
        corners_in_photo: Quad(std::array::from_fn(|k| in_photo.corner(turns + k))),
        patches,
        sureness: sureness as f32,
    })
}

/// The corner that lies nearest to the picture's top left.
fn top_left(corners: &Quad<InPhoto>) -> usize {
    let depth = |k: usize| corners.corner(k).x + corners.corner(k).y;
    (1..4).fold(0, |best, k| if depth(k) < depth(best) { k } else { best })
}

/// Whether its colours could be those of a face.
fn is_coloured(extent: &Extent, gaps: &Gaps, patches: &[Patch], standing: Standing) -> bool {
    fellows(patches) >= standing.least_fellows(extent.n, is_flawless(extent, gaps))
        && !is_ink_on_paper(patches)
}

/// How sure it is that this is a whole face; none when its gaps speak against it.
fn sureness(extent: &Extent, gaps: &Gaps, patches: &[Patch], standing: Standing) -> Option<f64> {
    let is_in_step =
        gaps.deep >= LEAST_DEEP && gaps.off_half <= MOST_OFF_HALF && gaps.off_most <= MOST_OFF;
    // A face short of a row is worse than one with a few stickers in doubt.
    let rim = 0.75 + 0.25 * extent.weakest_line;
    let adjoining = extent.outside.iter().flatten().copied().fold(0.0, f64::max);
    let sureness = if standing == Standing::Foretold {
        gaps.deep.max(extent.likeness()) * gaps.seen
    } else {
        let shape = rim * extent.evenness * (1.0 - 0.5 * adjoining);
        extent.likeness() * gaps.seen * shape
    };
    let least = if standing == Standing::Unaided && is_plain(patches) {
        LEAST_SURENESS_OF_PLAIN
    } else {
        standing.least_sureness()
    };
    (is_in_step && sureness >= least).then_some(sureness)
}

/// Whether all cells look like stickers and all gaps run where they should: on the photos with known truth nine
/// faces of ten are like this.
fn is_flawless(extent: &Extent, gaps: &Gaps) -> bool {
    extent.likeness() > 0.95 && gaps.deep > 0.95 && gaps.off_half < 0.012 && gaps.off_most < 0.03
}

/// Whether nearly all patches are of one colour, as on keyboards and walls.
fn is_plain(patches: &[Patch]) -> bool {
    let colours = colours(patches);
    let most = colours
        .iter()
        .map(|colour| {
            colours
                .iter()
                .filter(|other| is_alike(colour, other))
                .count()
        })
        .max();
    most.is_some_and(|most| most as f64 > 0.9 * patches.len() as f64)
}

/// Whether the cells just outside a square look like more of it.
fn goes_on(extent: &Extent) -> bool {
    let sides = extent.outside.iter().flatten();
    let mut more = sides.clone().filter(|&&side| side > MOST_OUTSIDE);
    // Of four stickers at the edge of the picture too little is seen to tell another face from more of theirs.
    let is_cut_off = extent.n == 2 && sides.count() < 4;
    more.clone().count() > usize::from(!is_cut_off) || more.any(|&side| side > MOST_ADJOINING)
}

/// Whether a square as small as this quad can be seen in such a perspective: the smaller it is in the photo, the
/// farther away it is, and the more alike its opposite sides are.
fn could_be_square(quad: &Quad<InPhoto>, long_side: f64) -> bool {
    let sides: [f64; 4] = std::array::from_fn(|k| quad.corner(k).distance(quad.corner(k + 1)));
    let longest = sides.iter().copied().fold(0.0, f64::max);
    // Half a side over the distance of its middle from the camera.
    let nearness = (longest / (2.0 * LEAST_FOCAL * long_side)).min(0.6);
    // A tenth for what is measured badly.
    let most = 1.1 * (1.0 + nearness) / (1.0 - nearness);
    (0..2).all(|k| sides[k] < most * sides[k + 2] && sides[k + 2] < most * sides[k])
}

/// The share of patches that have a fellow of about the same colour.
fn fellows(patches: &[Patch]) -> f64 {
    let colours = colours(patches);
    let with_fellow = colours.iter().enumerate().filter(|(index, colour)| {
        let mut others = colours.iter().enumerate();
        others.any(|(other, fellow)| other != *index && is_alike(colour, fellow))
    });
    with_fellow.count() as f64 / patches.len() as f64
}

/// The patches' colours as they would be in a well exposed photo: the brightest but for one in ten is made light.
fn colours(patches: &[Patch]) -> Vec<Lab> {
    let brightness = |patch: &Patch| {
        patch
            .linear
            .red
            .max(patch.linear.green)
            .max(patch.linear.blue)
    };
    let mut sorted: Vec<f32> = patches.iter().map(brightness).collect();
    sorted.sort_by(f32::total_cmp);
    let brightest = sorted.get(sorted.len() * 9 / 10).copied().unwrap_or(1.0);
    let gain = (LIGHT / brightest.max(0.01)).clamp(1.0, MOST_GAIN);
    let colours = patches
        .iter()
        .map(|patch| (patch.linear * gain).into_color());
    colours.collect()
}

fn is_alike(one: &Lab, other: &Lab) -> bool {
    let mean = f32::midpoint(one.l, other.l);
    let (to_one, to_other) = (mean / one.l.max(DARK), mean / other.l.max(DARK));
    let l = 0.5 * (one.l - other.l);
    let a = to_one * one.a - to_other * other.a;
    let b = to_one * one.b - to_other * other.b;
    l * l + a * a + b * b < ALIKE * ALIKE
}

/// Whether all patches are of one tint, some of them very light and some very dark: printed squares.
///
/// Cubes have white or black stickers, not both (common practice, no source).
fn is_ink_on_paper(patches: &[Patch]) -> bool {
    let colours = colours(patches);
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
