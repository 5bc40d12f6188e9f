//! What looking at a photo costs: each stage, whole frames with and without a face, orders from 2 to 17, sizes up to 12
//! megapixels, and a large JPEG from file to face beside plainly decoding it.
//!
//! `cargo bench --bench sight [-- FILTER]`

#![expect(clippy::unwrap_used, reason = "a bench that cannot set up must stop")]

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use image::codecs::jpeg::JpegEncoder;
use image::{Rgb, RgbImage, imageops};
use sixfold::app::files::{photo_from, read_bytes};
use sixfold::geometry::{InPhoto, PlaneMap, Point, Quad};
use sixfold::sight::{Photo, Trace, face_at, glance, look};
use std::fs;
use std::hint::black_box;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;
use std::time::{Duration, Instant};

const PAINTS: [[u8; 3]; 6] = [
    [235, 235, 230],
    [230, 210, 40],
    [190, 40, 35],
    [240, 120, 30],
    [30, 70, 180],
    [30, 150, 70],
];

fn clock() -> Duration {
    static START: OnceLock<Instant> = OnceLock::new();
    START.get_or_init(Instant::now).elapsed()
}

fn fixture(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("fixtures/photos")
        .join(name)
}

/// A photo scaled to fill a frame, cut where it does not fit.
fn frame(name: &str, width: u32, height: u32) -> Photo {
    let photo = image::open(fixture(name)).unwrap();
    let filled = photo.resize_to_fill(width, height, imageops::FilterType::Triangle);
    Photo::from(filled.to_rgb8())
}

/// A slanted face drawn over half of a grey picture's height.
fn drawn(n: usize, width: u32, height: u32) -> RgbImage {
    let (w, h) = (f64::from(width), f64::from(height));
    let corners = [(-0.24, -0.27), (0.26, -0.22), (0.24, 0.28), (-0.27, 0.24)];
    let quad: Quad<InPhoto> =
        Quad(corners.map(|(x, y)| Point::new(w / 2.0 + x * h, h / 2.0 + y * h)));
    let face_from_photo = PlaneMap::between(&quad, &Quad::face(n)).unwrap();
    RgbImage::from_fn(width, height, |column, row| {
        let mut sum = [0_u32; 3];
        for k in 0..4 {
            let at = face_from_photo.at(
                f64::from(column) + 0.25 + 0.5 * f64::from(k % 2),
                f64::from(row) + 0.25 + 0.5 * f64::from(k / 2),
            );
            let sides = n as f64;
            let is_inside = (0.0..sides).contains(&at.x) && (0.0..sides).contains(&at.y);
            let is_gap = |part: f64| !(0.06..0.94).contains(&part.rem_euclid(1.0));
            let colour = match (is_inside, is_gap(at.x) || is_gap(at.y)) {
                (false, _) => [150, 140, 128],
                (true, true) => [20; 3],
                (true, false) => PAINTS[(at.y as usize * 5 + at.x as usize * 3) % 6],
            };
            for (sum, value) in sum.iter_mut().zip(colour) {
                *sum += u32::from(value);
            }
        }
        Rgb(sum.map(|sum| (sum / 4) as u8))
    })
}

fn stages(bench: &mut Criterion) {
    let mut group = bench.benchmark_group("stage 1280x720");
    let photo = Photo::from(
        image::open(fixture("bursts-hard/burst-03-n5/frame-01.jpg"))
            .unwrap()
            .to_rgb8(),
    );
    for stage in [
        "shrink", "edges", "flats", "lattices", "extents", "faces", "joins",
    ] {
        group.bench_function(stage, |run| {
            run.iter_custom(|times| {
                let mut took = Duration::ZERO;
                for _ in 0..times {
                    let mut trace = Trace::timed(clock);
                    black_box(look(&mut trace, &photo));
                    let of_stage = trace.stages().iter().filter(|met| met.name == stage);
                    took += of_stage.map(|met| met.took).sum::<Duration>();
                }
                took
            });
        });
    }
    let seen = look(&mut Trace::default(), &photo);
    let face = &seen.views[0].faces[0];
    group.bench_function("sample alone", |run| {
        run.iter(|| face_at(&photo, black_box(face.corners_in_photo), face.n));
    });
    group.finish();
}

fn frames(bench: &mut Criterion) {
    let mut group = bench.benchmark_group("frame");
    let face = "bursts-hard/burst-03-n5/frame-01.jpg";
    let corner = "corners-easy/corner-01-n6/photo-1.jpg";
    let (keys, tiles, books) = (
        "no-cube/drawn/keyboard.jpg",
        "no-cube/drawn/tiled-wall.jpg",
        "no-cube/drawn/bookshelf.jpg",
    );
    for (title, name) in [
        ("a face", face),
        ("three faces", corner),
        ("keys", keys),
        ("tiles", tiles),
        ("books", books),
    ] {
        for (width, height) in [(1280, 720), (1920, 1080)] {
            let photo = frame(name, width, height);
            let size = format!("{width}x{height}");
            group.bench_with_input(BenchmarkId::new(title, &size), &photo, |run, photo| {
                run.iter(|| look(&mut Trace::default(), photo));
            });
            let live = BenchmarkId::new(format!("{title}, live"), size);
            group.bench_with_input(live, &photo, |run, photo| {
                run.iter(|| glance(&mut Trace::default(), photo));
            });
        }
    }
    for (width, height) in [(1280, 720), (1920, 1080)] {
        let photo = Photo::from(RgbImage::from_pixel(width, height, Rgb([128; 3])));
        let size = format!("{width}x{height}");
        group.bench_with_input(BenchmarkId::new("nothing", size), &photo, |run, photo| {
            run.iter(|| look(&mut Trace::default(), photo));
        });
    }
    group.finish();
}

fn growth(bench: &mut Criterion) {
    let mut group = bench.benchmark_group("order, 1280x720");
    for n in [2, 3, 4, 5, 6, 7, 9, 11, 13, 17] {
        let photo = Photo::from(drawn(n, 1280, 720));
        group.bench_with_input(BenchmarkId::from_parameter(n), &photo, |run, photo| {
            run.iter(|| look(&mut Trace::default(), photo));
        });
    }
    group.finish();
    let mut group = bench.benchmark_group("megapixels, order 5");
    for (width, height) in [
        (640, 480),
        (1280, 960),
        (1920, 1440),
        (2828, 2121),
        (4000, 3000),
    ] {
        let photo = Photo::from(drawn(5, width, height));
        let size = format!("{:.1}", f64::from(width) * f64::from(height) / 1e6);
        group.bench_with_input(BenchmarkId::from_parameter(size), &photo, |run, photo| {
            run.iter(|| look(&mut Trace::default(), photo));
        });
    }
    group.finish();
}

fn from_file(bench: &mut Criterion) {
    let mut group = bench.benchmark_group("12 megapixels JPEG");
    let small = image::open(fixture("faces-normal/cube-05-n6/photo-1.jpg")).unwrap();
    let large = small
        .resize_exact(4000, 3000, imageops::FilterType::CatmullRom)
        .to_rgb8();
    let mut bytes = Vec::new();
    JpegEncoder::new_with_quality(&mut bytes, 92)
        .encode_image(&large)
        .unwrap();
    let path = Path::new(env!("CARGO_TARGET_TMPDIR")).join("bench-sight-12.jpg");
    fs::write(&path, bytes).unwrap();
    group.bench_function("file to faces", |run| {
        run.iter(|| {
            let scaled = photo_from(&path, &read_bytes(&path).unwrap()).unwrap();
            look(&mut Trace::default(), &Photo::from(scaled.pixels))
        });
    });
    group.bench_function("plain decode", |run| {
        run.iter(|| image::open(black_box(&path)).unwrap().to_rgb8());
    });
    group.finish();
}

criterion_group! {
    name = benches;
    config = Criterion::default()
        .sample_size(20)
        .warm_up_time(Duration::from_millis(500))
        .measurement_time(Duration::from_secs(2));
    targets = stages, frames, growth, from_file
}
criterion_main!(benches);
