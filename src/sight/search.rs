//! The search through a photo: first small, then larger where a closer look could show more.

use super::extent::{Extent, extents};
use super::face::{Refusal, Standing, face};
use super::lattice::{Lattice, Regions, lattices};
use super::shrink::{Area, EdgeMap, SmallPicture, edges, shrink};
use super::view::{Group, groups, is_slanted};
use super::{Photo, SeenFace, SeenPhoto, Trace, View, flats, paint};
use crate::geometry::{InPhoto, Point};
use std::ops::RangeInclusive;

/// How much time a search may take.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Effort {
    /// No look at the whole photo again.
    Quick,
    /// Nothing left undone.
    Thorough,
}

/// The long side of the first small picture is at least this, in pixels, when the photo's is.
///
/// An 11×11 face filling two fifths of the short side of a 4:3 photo still has 13 pixels a sticker then.
/// On the photos with known truth and hundreds of warped ones, 480 found as many faces as 640 and more than 320.
const LONG_SIDE_PX: usize = 480;

/// The least side of a small picture: a 2×2 face with its gaps needs more.
const LEAST_SIDE_PX: usize = 12;

/// The squares of cells looked at closely, at most.
const MOST_CANDIDATES: usize = 16;

/// The squares of one lattice that are looked at closely.
const OF_ONE_LATTICE: usize = 2;

/// How sure the faces of a view must be to leave it at that.
const SURE_ENOUGH: f32 = 0.9;

/// The regions of a lattice that may be part of a face seen badly, a 3×3 with two stickers lost, and their mean area in
/// small pixels below which a closer look could show more of it.
const HINT: usize = 7;
const SMALL: f64 = 150.0;

/// An area of a photo and what the search has made of it.
pub struct Scene<'a> {
    /// The photo.
    pub photo: &'a Photo,
    /// The area, reduced.
    pub small: SmallPicture,
    /// Its edges.
    pub edges: EdgeMap,
    /// Its flat regions.
    pub regions: Regions,
    /// The orders of cube looked for.
    pub orders: RangeInclusive<usize>,
}

/// Searches a photo.
pub fn search(
    trace: &mut Trace,
    photo: &Photo,
    effort: Effort,
    orders: &RangeInclusive<usize>,
) -> SeenPhoto {
    let whole = Area::whole(photo);
    let long = photo.width_px().max(photo.height_px());
    let factor = (long / LONG_SIDE_PX).max(1);
    if whole.width.min(whole.height) / (2 * factor) < LEAST_SIDE_PX {
        return SeenPhoto { views: Vec::new() };
    }
    let mut faces = Vec::new();
    let mut found = pass(trace, photo, whole, factor, orders, &mut faces);
    if factor > 1
        && let Some(area) = found.worth_another_look(&faces, photo)
    {
        found = pass(trace, photo, area, factor / 2, orders, &mut faces);
    }
    if effort == Effort::Thorough {
        // From farther off, where the photo is blurred or noisy; from nearer, where much stands about or glare lies on stickers.
        let is_closer_worth = factor > 1 && !found.is_bare;
        for (is_worth, factor) in [(true, 2 * factor), (is_closer_worth, factor / 2)] {
            if found.groups.is_empty() && is_worth {
                found = pass(trace, photo, whole, factor, orders, &mut faces);
            }
        }
    }
    let view = |group: &Group| View {
        faces: group
            .faces
            .iter()
            .map(|&face| faces[face].clone())
            .collect(),
        joins: group.joins.clone(),
    };
    let seen = SeenPhoto {
        views: found.groups.iter().map(view).collect(),
    };
    trace.picture("faces", || {
        paint::faces(&shrink(photo, whole, factor), &seen)
    });
    seen
}

/// What a pass over an area came to.
struct Pass {
    /// The ways of understanding the photo.
    groups: Vec<Group>,
    /// The part of the photo where something like a face was met, or small regions lie in step, should there be no face.
    hint: Option<[Point<InPhoto>; 2]>,
    /// Whether no regions lie in step anywhere.
    is_bare: bool,
}

/// Searches an area at a reduction, and adds to the faces found before.
fn pass(
    trace: &mut Trace,
    photo: &Photo,
    area: Area,
    factor: usize,
    orders: &RangeInclusive<usize>,
    faces: &mut Vec<SeenFace>,
) -> Pass {
    let small = trace.stage("shrink", || shrink(photo, area, factor));
    let edges = trace.stage("edges", || edges(&small));
    trace.picture("edges", || paint::edges(&edges));
    let flats = trace.stage("flats", || flats::flats(&edges));
    trace.picture("flats", || paint::flats(&small, &flats));
    let scene = Scene {
        photo,
        small,
        edges,
        regions: Regions::new(flats),
        orders: orders.clone(),
    };
    let lattices = trace.stage("lattices", || lattices(&scene.regions));
    trace.picture("lattices", || {
        paint::lattices(&scene.small, &scene.regions.flats, &lattices)
    });
    let mut unclear = None;
    let extents = trace.stage("extents", || {
        let mut found: Vec<Extent> = Vec::new();
        for lattice in &lattices {
            let extents = extents(&scene, lattice);
            let is_unclear = extents.is_unclear && extents.found.is_empty();
            if is_unclear && lattice.members.len() >= HINT && unclear.is_none() {
                unclear = Some(around(&scene, lattice));
            }
            found.extend(extents.found.into_iter().take(OF_ONE_LATTICE));
        }
        let size = |extent: &Extent| extent.likeness() * extent.corners().area();
        found.sort_by(|a, b| size(b).total_cmp(&size(a)));
        found.truncate(MOST_CANDIDATES);
        found
    });
    let standing = if orders.start() == orders.end() {
        Standing::SizeKnown
    } else {
        Standing::Unaided
    };
    trace.stage("faces", || {
        for extent in &extents {
            match face(&scene, extent, standing) {
                Ok(face) => faces.push(face),
                Err(Refusal::Unclear(quad)) => {
                    unclear = unclear.or_else(|| Some(bounds(quad.0.into_iter())));
                }
                Err(Refusal::NoFace) => {}
            }
        }
    });
    Pass {
        groups: trace.stage("joins", || groups(&scene, faces)),
        hint: unclear.or_else(|| {
            lattices
                .first()
                .filter(|lattice| {
                    lattice.members.len() >= HINT && mean_area(&scene, lattice) < SMALL
                })
                .map(|lattice| around(&scene, lattice))
        }),
        is_bare: lattices.is_empty(),
    }
}

/// The mean area of a lattice's regions, in small pixels.
fn mean_area(scene: &Scene, lattice: &Lattice) -> f64 {
    let members = lattice.members.values();
    let areas = members.map(|&index| scene.regions.flats[index as usize].area);
    areas.sum::<f64>() / lattice.members.len() as f64
}

/// The top left and bottom right of a lattice's regions.
fn around(scene: &Scene, lattice: &Lattice) -> [Point<InPhoto>; 2] {
    let points = lattice.members.values().map(|&index| {
        let flat = &scene.regions.flats[index as usize];
        scene.small.in_photo(Point::new(flat.x, flat.y))
    });
    bounds(points)
}

fn bounds(points: impl Iterator<Item = Point<InPhoto>>) -> [Point<InPhoto>; 2] {
    let far = f64::MAX;
    points.fold(
        [Point::new(far, far), Point::new(-far, -far)],
        |span, point| {
            [
                Point::new(span[0].x.min(point.x), span[0].y.min(point.y)),
                Point::new(span[1].x.max(point.x), span[1].y.max(point.y)),
            ]
        },
    )
}

impl Pass {
    /// The part of the photo in which a closer look could show more.
    fn worth_another_look(&self, faces: &[SeenFace], photo: &Photo) -> Option<Area> {
        let Some(best) = self.groups.first() else {
            return self.hint.map(|hint| enlarged(hint, 0.6, photo));
        };
        let faces = || best.faces.iter().map(|&face| &faces[face]);
        let is_sure = faces().all(|face| face.sureness >= SURE_ENOUGH);
        let is_alone = best.faces.len() == 1 && faces().all(|face| !is_slanted(face));
        if is_sure && (is_alone || best.faces.len() == 3) {
            return None;
        }
        let span = bounds(faces().flat_map(|face| face.corners_in_photo.0));
        let margin = if best.faces.len() == 1 { 1.1 } else { 0.6 };
        Some(enlarged(span, margin, photo))
    }
}

/// The part of a photo about a span, with a margin of so many times its size on every side.
fn enlarged(span: [Point<InPhoto>; 2], margin: f64, photo: &Photo) -> Area {
    let margin = margin * (span[1].x - span[0].x).max(span[1].y - span[0].y);
    let clamp = |value: f64, most: usize| value.clamp(0.0, most as f64) as usize;
    let (left, right) = (
        clamp(span[0].x - margin, photo.width_px()),
        clamp(span[1].x + margin, photo.width_px()),
    );
    let (top, bottom) = (
        clamp(span[0].y - margin, photo.height_px()),
        clamp(span[1].y + margin, photo.height_px()),
    );
    Area {
        left,
        top,
        width: right - left,
        height: bottom - top,
    }
}
