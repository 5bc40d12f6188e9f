//! What piecing a cube together costs once its photos were looked at: joint decoding and arrangement, on one core, for
//! cubes of all sizes and for one that stays in doubt. The largest in plain light is made up.

#![expect(clippy::unwrap_used, reason = "a bench that cannot set up must stop")]

mod mixed;

use criterion::{Criterion, criterion_group, criterion_main};
use mixed::{Dice, scrambled};
use sixfold::app::files::read_photo;
use sixfold::assemble::assemble;
use sixfold::calibration::Calibration;
use sixfold::colour::Linear;
use sixfold::cube::Face;
use sixfold::geometry::{Point, Quad};
use sixfold::reader::{agreed_size, lacks_size};
use sixfold::sight::{Patch, Photo, SeenFace, SeenPhoto, Trace, View, look, look_for};
use std::fs;
use std::hint::black_box;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// The cubes, by their folders under `fixtures/photos`.
const CUBES: [(&str, &str); 9] = [
    ("2x2x2", "faces-normal/cube-24-n2"),
    ("3x3x3", "faces-normal/cube-02-n3"),
    ("4x4x4", "faces-easy/cube-16-n4"),
    ("6x6x6", "faces-easy/cube-13-n6"),
    ("6x6x6 in hard light", "faces-hard/cube-03-n6"),
    ("7x7x7", "faces-normal/cube-10-n7"),
    ("9x9x9", "faces-normal/cube-14-n9"),
    ("11x11x11 in hard light", "faces-hard/cube-20-n11"),
    ("4x4x4 in doubt", "faces-hard/cube-23-n4"),
];

fn photo(path: &Path) -> Photo {
    Photo::from(read_photo(path).unwrap())
}

/// What is seen in the photos of a cube.
fn seen(cube: &str) -> Vec<SeenPhoto> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("fixtures/photos")
        .join(cube);
    let mut paths: Vec<PathBuf> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "jpg"))
        .collect();
    paths.sort();
    let trace = &mut Trace::default();
    let mut seen: Vec<SeenPhoto> = paths.iter().map(|path| look(trace, &photo(path))).collect();
    let n = agreed_size(&seen).unwrap();
    for (path, seen) in paths.iter().zip(&mut seen) {
        if lacks_size(seen, n) {
            seen.views
                .splice(0..0, look_for(trace, &photo(path), n).views);
        }
        let fitting = seen.views.iter().position(|view| view.faces[0].n == n);
        seen.views.swap(0, fitting.unwrap());
    }
    seen
}

/// A cube after many block turns, as six clear photos show it: every sticker as its colour usually looks, a little off.
fn made_up(calibration: &Calibration, n: usize) -> Vec<SeenPhoto> {
    let mut dice = Dice::new();
    let state = scrambled(n, &mut dice);
    let shades = &calibration.shade_sets[0].shades;
    let mut patch = |home: &Face| {
        let [red, green, blue] = shades[home.index()]
            .linear
            .map(|light| (light * (0.96 + dice.below(80) as f64 / 1000.0)) as f32);
        Patch {
            linear: Linear::new(red, green, blue),
            spread: [0.01; 3],
            glare: 0.0,
            clipped: [0.0; 3],
            evenness: 1.0,
            pixels: 100,
        }
    };
    let side = 20.0 * n as f64;
    let corners = [(0.0, 0.0), (side, 0.0), (side, side), (0.0, side)];
    let faces = state.stickers().chunks(n * n);
    faces
        .map(|stickers| SeenPhoto {
            views: vec![View {
                faces: vec![SeenFace {
                    n,
                    corners_in_photo: Quad(corners.map(|(x, y)| Point::new(x, y))),
                    patches: stickers.iter().map(&mut patch).collect(),
                    sureness: 1.0,
                }],
                joins: Vec::new(),
            }],
        })
        .collect()
}

fn decode(bench: &mut Criterion) {
    let calibration = Calibration::built_in().unwrap();
    let mut group = bench.benchmark_group("decode");
    for (title, cube) in CUBES {
        let seen = seen(cube);
        group.bench_function(title, |run| {
            run.iter(|| assemble(&calibration, black_box(&seen)).unwrap());
        });
    }
    let seen = made_up(&calibration, 11);
    group.bench_function("11x11x11 in plain light", |run| {
        run.iter(|| assemble(&calibration, black_box(&seen)).unwrap());
    });
    group.finish();
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(10).measurement_time(Duration::from_secs(5));
    targets = decode
}
criterion_main!(benches);
