//! What a live frame costs from the camera's bytes to the drawn lattice, over the bursts of the fixtures, and what an
//! empty frame costs.

#![expect(clippy::unwrap_used, reason = "a bench that cannot set up must stop")]

use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use sixfold::app::camera::{Frame, Pixels};
use sixfold::reader::session::{Mode, Session};
use sixfold::sight::{Photo, Trace, glance};
use std::fs;
use std::hint::black_box;
use std::path::Path;
use std::time::Duration;

fn frame(number: usize, size_px: (u32, u32), pixels: Pixels, bytes: Vec<u8>) -> Frame {
    Frame {
        number: number as u64,
        at: Duration::from_millis(33 * number as u64),
        size_px,
        pixels,
        bytes,
    }
}

fn burst(name: &str) -> Vec<Frame> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR"))
        .join("fixtures/photos")
        .join(name);
    let mut paths: Vec<_> = fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|ending| ending == "jpg"))
        .collect();
    paths.sort();
    let frames = paths.iter().enumerate();
    frames
        .map(|(number, path)| frame(number, (0, 0), Pixels::Jpeg, fs::read(path).unwrap()))
        .collect()
}

/// One frame from bytes to what the page draws.
fn glimpse(session: &mut Session, frame: &Frame) -> usize {
    let picture = frame.decode().unwrap();
    let size_px = picture.dimensions();
    let seen = glance(&mut Trace::default(), &Photo::from(picture));
    session.see(frame.at, size_px, &seen);
    serde_json::to_string(&session.glimpse()).unwrap().len()
}

fn bursts(bench: &mut Criterion) {
    let mut group = bench.benchmark_group("live");
    for (title, name) in [
        ("1280x720 n5 burst", "bursts-hard/burst-03-n5"),
        ("640x480 n6 burst", "bursts-normal/burst-02-n6"),
        ("640x480 n3 burst", "bursts-easy/burst-01-n3"),
    ] {
        let frames = burst(name);
        group.throughput(Throughput::Elements(frames.len() as u64));
        group.bench_function(format!("{title}, JPEG to glimpse"), |run| {
            run.iter(|| {
                let mut session = Session::new(Mode::Learner);
                frames
                    .iter()
                    .map(|frame| glimpse(&mut session, frame))
                    .sum::<usize>()
            });
        });
    }
    group.finish();
}

fn single_frames(bench: &mut Criterion) {
    let mut group = bench.benchmark_group("frame 1280x720");
    let size = (1280, 720);
    let jpeg = &burst("bursts-hard/burst-03-n5")[0];
    group.bench_function("decode JPEG", |run| {
        run.iter(|| black_box(jpeg).decode().unwrap());
    });
    let yuyv = frame(0, size, Pixels::Yuyv, vec![128; 1280 * 720 * 2]);
    group.bench_function("decode YUYV", |run| {
        run.iter(|| black_box(&yuyv).decode().unwrap());
    });
    let nv12 = frame(0, size, Pixels::Nv12, vec![128; 1280 * 720 * 3 / 2]);
    group.bench_function("decode NV12", |run| {
        run.iter(|| black_box(&nv12).decode().unwrap());
    });
    let photo = Photo::from(jpeg.decode().unwrap());
    group.bench_function("glance", |run| {
        run.iter(|| glance(&mut Trace::default(), black_box(&photo)));
    });
    let empty = Photo::from(
        frame(0, size, Pixels::Grey, vec![128; 1280 * 720])
            .decode()
            .unwrap(),
    );
    group.bench_function("glance at an empty frame", |run| {
        run.iter(|| glance(&mut Trace::default(), black_box(&empty)));
    });
    group.finish();
}

/// What each frame of a burst costs by itself: how late the lattice is drawn after it.
fn latencies(bench: &mut Criterion) {
    let mut group = bench.benchmark_group("latency 1280x720");
    for frame in burst("bursts-hard/burst-03-n5") {
        group.bench_function(format!("frame {}", frame.number + 1), |run| {
            let mut session = Session::new(Mode::Learner);
            run.iter(|| glimpse(&mut session, black_box(&frame)));
        });
    }
    group.finish();
}

criterion_group! {
    name = benches;
    config = Criterion::default().sample_size(20).measurement_time(Duration::from_secs(8));
    targets = bursts, single_frames, latencies
}
criterion_main!(benches);
