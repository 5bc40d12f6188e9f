//! Every photo of every set looked at: the faces found against those that are there.

use crate::photos::{Set, sets};
use image::{Rgb, RgbImage};
use sixfold::geometry::{InPhoto, PlaneMap, Point, Quad};
use sixfold::sight::{Photo, SeenFace, SeenPhoto, Trace, look};
use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::sync::OnceLock;
use std::time::{Duration, Instant};

/// How far the corners of a found face may be from the true ones, root mean square in sticker sides.
///
/// The true ones are those of an ideal sharp cube; bodies are rounded and stickers laid crooked.
const NEAR: f64 = 0.15;

/// How far they may be for the face to be the same face, seen badly.
pub const SAME: f64 = 0.35;

/// What became of the faces of a set.
#[derive(Debug, Default, PartialEq, Eq)]
struct Tally {
    photos: usize,
    faces: usize,
    /// Right size, corners near.
    found: usize,
    /// Right size, corners not so near.
    loose: usize,
    /// Another size, or shifted by a row.
    wrong: usize,
    missed: usize,
    /// Side faces joined to a found one; the truth of single-face photos does not list them.
    sides: usize,
    /// Faces where there is none.
    extra: usize,
}

fn clock() -> Duration {
    static START: OnceLock<Instant> = OnceLock::new();
    START.get_or_init(Instant::now).elapsed()
}

/// Root mean square distance of the corners, in sticker sides, for the best of the four ways to begin.
pub fn apart(found: &SeenFace, truth: &Quad<InPhoto>, n: usize) -> f64 {
    let side = (0..4)
        .map(|k| truth.corner(k).distance(truth.corner(k + 1)))
        .sum::<f64>()
        / 4.0;
    let squares = |start: usize| {
        (0..4)
            .map(|k| {
                found
                    .corners_in_photo
                    .corner(k + start)
                    .distance(truth.corner(k))
            })
            .map(|distance| distance * distance)
            .sum::<f64>()
    };
    let least = (0..4).map(squares).fold(f64::MAX, f64::min);
    (least / 4.0).sqrt() / (side / n as f64)
}

/// Counts what the best view of a photo found; true when all is well.
fn count(seen: &SeenPhoto, truth: &[Quad<InPhoto>], n: usize, tally: &mut Tally) -> bool {
    let (faces, joins) = match seen.views.first() {
        Some(view) => (view.faces.as_slice(), view.joins.as_slice()),
        None => (&[][..], &[][..]),
    };
    let mut is_known = vec![false; faces.len()];
    let mut is_well = true;
    tally.photos += 1;
    for quad in truth {
        tally.faces += 1;
        let nearest = faces
            .iter()
            .enumerate()
            .map(|(index, face)| (apart(face, quad, n), index))
            .min_by(|a, b| a.0.total_cmp(&b.0));
        match nearest {
            Some((off, index)) if faces[index].n == n && off < SAME => {
                is_known[index] = true;
                if off < NEAR {
                    tally.found += 1;
                } else {
                    tally.loose += 1;
                    is_well = false;
                }
            }
            Some((off, index)) if off < 0.7 * n as f64 => {
                is_known[index] = true;
                tally.wrong += 1;
                is_well = false;
            }
            _ => {
                tally.missed += 1;
                is_well = false;
            }
        }
    }
    for index in (0..faces.len()).filter(|&index| !is_known[index]) {
        let is_side = joins.iter().any(|join| {
            let (one, other) = (join.one.0, join.other.0);
            (one == index && is_known[other]) || (other == index && is_known[one])
        });
        if is_side {
            tally.sides += 1;
        } else {
            tally.extra += 1;
            is_well = false;
        }
    }
    is_well
}

fn line(picture: &mut RgbImage, from: Point<InPhoto>, to: Point<InPhoto>, colour: [u8; 3]) {
    let steps = (2.0 * from.distance(to)) as i32 + 1;
    for step in 0..=steps {
        let part = f64::from(step) / f64::from(steps);
        let (x, y) = (
            from.x + part * (to.x - from.x),
            from.y + part * (to.y - from.y),
        );
        let is_inside = x >= 0.0
            && y >= 0.0
            && x < f64::from(picture.width())
            && y < f64::from(picture.height());
        if is_inside {
            picture.put_pixel(x as u32, y as u32, Rgb(colour));
        }
    }
}

fn grid(picture: &mut RgbImage, corners: &Quad<InPhoto>, n: usize, colour: [u8; 3]) {
    let Some(map) = PlaneMap::between(&Quad::face(n), corners) else {
        return;
    };
    let last = n as f64;
    for k in 0..=n {
        let k = k as f64;
        line(picture, map.at(0.0, k), map.at(last, k), colour);
        line(picture, map.at(k, 0.0), map.at(k, last), colour);
    }
}

/// Lays the photo with truth (green) and finding (magenta) beside the lattices it was found by.
fn lay_out(photo: &Photo, truth: &[Quad<InPhoto>], n: usize, path: &Path) {
    let mut trace = Trace::default().with_pictures();
    let seen = look(&mut trace, photo);
    let mut marked = photo.picture().clone();
    for quad in truth {
        grid(&mut marked, quad, n, [0, 220, 0]);
    }
    for face in seen.views.first().iter().flat_map(|view| &view.faces) {
        grid(&mut marked, &face.corners_in_photo, face.n, [255, 0, 255]);
    }
    let lattices = trace
        .take_pictures()
        .into_iter()
        .find(|(name, _)| *name == "lattices")
        .map(|(_, picture)| picture)
        .unwrap();
    let (width, height) = (lattices.width(), lattices.height());
    let marked = image::imageops::thumbnail(&marked, width, height);
    let mut page = RgbImage::new(2 * width, height);
    image::imageops::replace(&mut page, &marked, 0, 0);
    image::imageops::replace(&mut page, &lattices, i64::from(width), 0);
    page.save(path).unwrap();
}

fn run(set: &Set, times: &mut BTreeMap<&'static str, Vec<f64>>) -> Tally {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("target/corpus/finding");
    fs::create_dir_all(&folder).unwrap();
    let mut tally = Tally::default();
    for cube in set.cubes() {
        let n = cube.truth.as_ref().map_or(0, |truth| truth.n);
        for (file, path) in cube.files() {
            let photo = Photo::from(image::open(&path).unwrap().to_rgb8());
            let truth = cube.quads(&file);
            let mut trace = Trace::timed(clock);
            let seen = look(&mut trace, &photo);
            for stage in trace.stages() {
                let millis = stage.took.as_secs_f64() * 1e3;
                times.entry(stage.name).or_default().push(millis);
            }
            if !count(&seen, &truth, n, &mut tally) {
                let name = format!("{}-{}-{file}.png", set.name, cube.name);
                lay_out(&photo, &truth, n, &folder.join(name));
            }
        }
    }
    tally
}

/// Floors and ceilings are in each set's `set.toml`; a count above its floor fails too, until the floor is raised.
#[test]
fn faces_are_found_where_they_are() {
    let mut times = BTreeMap::new();
    let mut problems = Vec::new();
    println!(
        "{:<16}{:>7}{:>7}{:>7}{:>7}{:>7}{:>7}{:>7}{:>7}",
        "set", "photos", "faces", "found", "loose", "WRONG", "missed", "sides", "EXTRA"
    );
    for set in sets() {
        let met = run(&set, &mut times);
        println!(
            "{:<16}{:>7}{:>7}{:>7}{:>7}{:>7}{:>7}{:>7}{:>7}",
            set.name,
            met.photos,
            met.faces,
            met.found,
            met.loose,
            met.wrong,
            met.missed,
            met.sides,
            met.extra
        );
        let bounds = &set.bounds;
        let mut expect = |what: &str, is_so: bool, met: usize, limit: usize| {
            if !is_so {
                problems.push(format!("{}: {met} {what}, {limit} in set.toml", set.name));
            }
        };
        expect(
            "photos",
            met.photos == bounds.photos,
            met.photos,
            bounds.photos,
        );
        expect("faces", met.faces == bounds.faces, met.faces, bounds.faces);
        expect("found", met.found == bounds.found, met.found, bounds.found);
        expect("wrong", met.wrong <= bounds.wrong, met.wrong, bounds.wrong);
        expect("extra", met.extra <= bounds.extra, met.extra, bounds.extra);
    }
    for (stage, mut millis) in times {
        millis.sort_by(f64::total_cmp);
        let at = |part: usize| millis[(millis.len() - 1) * part / 100];
        println!(
            "{stage:<10} median {:6.2} ms, 95 % {:6.2} ms",
            at(50),
            at(95)
        );
    }
    assert!(problems.is_empty(), "{}", problems.join("\n"));
}
