//! What a whole lesson costs beside plainly decoding the same photos: CPU time and photos a second.
//!
//! `cargo bench --bench lesson [-- FOLDER…]`; without a folder it makes two from `fixtures/photos`: all photos thrown
//! together under names that tell nothing, and some of them at 12 megapixels. CPU time is read from /proc (Linux only).

#![expect(clippy::unwrap_used, reason = "a bench that cannot set up must stop")]
#![expect(clippy::print_stdout, reason = "its table is all it is for")]

use image::RgbImage;
use image::codecs::jpeg::JpegEncoder;
use image::imageops::FilterType;
use std::env;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Stdio};
use std::time::Instant;

/// User and system time in seconds: of this process, or of its children that have ended. Source: `proc_pid_stat(5)`; a tick
/// is a hundredth of a second.
fn cpu_seconds(of_children: bool) -> f64 {
    let stat = fs::read_to_string("/proc/self/stat").unwrap();
    let after_name = stat.rsplit(')').next().unwrap();
    let fields: Vec<&str> = after_name.split_whitespace().collect();
    let first = if of_children { 13 } else { 11 };
    let ticks = |field: usize| fields[field].parse::<f64>().unwrap();
    (ticks(first) + ticks(first + 1)) / 100.0
}

fn photos_in(folder: &Path) -> Vec<PathBuf> {
    let mut found = Vec::new();
    for item in fs::read_dir(folder).unwrap() {
        let path = item.unwrap().path();
        if path.is_dir() {
            found.extend(photos_in(&path));
        } else if path.extension().is_some_and(|ending| ending == "jpg") {
            found.push(path);
        }
    }
    found.sort();
    found
}

/// An empty folder in the build folder.
fn fresh(name: &str) -> PathBuf {
    let folder = Path::new(env!("CARGO_TARGET_TMPDIR")).join(name);
    let _ = fs::remove_dir_all(&folder);
    fs::create_dir_all(&folder).unwrap();
    folder
}

/// What a sensor adds, a few levels up and down: an enlarged photo without it is decoded in half the time.
fn grain(photo: &mut RgbImage) {
    let mut random = 1_u32;
    for value in photo.iter_mut() {
        // Two dice, from a linear congruential generator.
        random = random.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let dice = (random >> 24 & 7) as i16 + (random >> 28) as i16 / 2;
        *value = (i16::from(*value) + dice - 7).clamp(0, 255) as u8;
    }
}

fn made() -> Vec<PathBuf> {
    let fixtures = Path::new(env!("CARGO_MANIFEST_DIR")).join("fixtures/photos");
    let (mixed, large) = (fresh("bench-lesson"), fresh("bench-lesson-large"));
    for (index, path) in photos_in(&fixtures).iter().enumerate() {
        // Names in an order that tells nothing.
        let name = format!("{:04}-{index}.jpg", (index * 7919) % 1009);
        fs::copy(path, mixed.join(name)).unwrap();
    }
    for cube in ["faces-easy/cube-13-n6", "faces-easy/cube-16-n4"] {
        for (index, path) in photos_in(&fixtures.join(cube)).iter().enumerate() {
            let photo = image::open(path).unwrap();
            let (long, short) = (4000, 3000);
            let (width, height) = if photo.width() > photo.height() {
                (long, short)
            } else {
                (short, long)
            };
            let mut photo = photo
                .resize_exact(width, height, FilterType::CatmullRom)
                .into_rgb8();
            grain(&mut photo);
            let place = large.join(cube.rsplit('/').next().unwrap());
            fs::create_dir_all(&place).unwrap();
            let mut bytes = Vec::new();
            let encoder = JpegEncoder::new_with_quality(&mut bytes, 92);
            photo.write_with_encoder(encoder).unwrap();
            fs::write(place.join(format!("{index}.jpg")), bytes).unwrap();
        }
    }
    vec![mixed, large]
}

fn measure(folder: &Path) {
    let photos = photos_in(folder);
    let before = cpu_seconds(false);
    for path in &photos {
        assert!(image::open(path).unwrap().into_rgb8().width() > 0);
    }
    let decoding = cpu_seconds(false) - before;

    let out = fresh("bench-lesson-report");
    let program = env!("CARGO_BIN_EXE_sixfold");
    let run = |what: &str| {
        let (before, begun) = (cpu_seconds(true), Instant::now());
        let status = Command::new(program)
            .arg("lesson")
            .args([folder, Path::new("--out"), &out])
            .stdout(Stdio::null())
            .stderr(Stdio::null())
            .status();
        assert!([Some(0), Some(3)].contains(&status.unwrap().code()));
        let (cpu, wall) = (cpu_seconds(true) - before, begun.elapsed().as_secs_f64());
        println!(
            "{what}: {cpu:.2} s of CPU, {:.2} times plain decoding ({decoding:.2} s); {:.1} photos a second",
            cpu / decoding,
            photos.len() as f64 / wall,
        );
    };
    println!("{} photos in {}", photos.len(), folder.display());
    run("  first run ");
    run("  second run");
}

fn main() {
    let named: Vec<PathBuf> = env::args()
        .skip(1)
        .filter(|argument| !argument.starts_with('-'))
        .map(PathBuf::from)
        .collect();
    let folders = if named.is_empty() { made() } else { named };
    for folder in folders {
        measure(&folder);
    }
}
