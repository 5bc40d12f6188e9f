//! The seeds of the fuzz targets, and many small changes of each, on the stable compiler: a short run of what
//! `cargo fuzz` does for hours. The changes are the same on every run.

mod entries;

use entries::ALL;
use std::fs;
use std::panic;
use std::path::Path;

/// Changes of each seed that are tried.
const CHANGES: u64 = 60;

/// The next number of a stream that looks random (`SplitMix64`, Steele, Lea and Flood 2014).
fn next(stream: &mut u64) -> usize {
    *stream = stream.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let mut mixed = *stream;
    mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    (mixed ^ (mixed >> 31)) as usize
}

/// A seed with one to four changes: a byte altered, a piece cut out, doubled, or replaced by one of another seed.
fn changed(seed: &[u8], other: &[u8], stream: &mut u64) -> Vec<u8> {
    let mut bytes = seed.to_vec();
    for _ in 0..=next(stream) % 4 {
        let from = next(stream) % (bytes.len() + 1);
        let to = (from + next(stream) % 40).min(bytes.len());
        match next(stream) % 5 {
            0 if from < bytes.len() => bytes[from] = next(stream) as u8,
            1 if from < bytes.len() => bytes[from] ^= 1 << (next(stream) % 8),
            2 => drop(bytes.drain(from..to)),
            3 => {
                let twice = bytes[from..to].to_vec();
                bytes.splice(from..from, twice);
            }
            _ => {
                let start = next(stream) % (other.len() + 1);
                let end = (start + next(stream) % 40).min(other.len());
                bytes.splice(from..to, other[start..end].iter().copied());
            }
        }
    }
    bytes
}

#[test]
fn no_bytes_break_anything() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fuzz/seeds");
    for (name, entry) in ALL {
        let mut paths: Vec<_> = fs::read_dir(folder.join(name))
            .unwrap()
            .map(|file| file.unwrap().path())
            .collect();
        paths.sort();
        assert!(!paths.is_empty(), "{name} has seeds");
        let seeds: Vec<Vec<u8>> = paths.iter().map(|path| fs::read(path).unwrap()).collect();
        let mut stream = 1;
        for (index, seed) in seeds.iter().enumerate() {
            entry(seed);
            let other = &seeds[(index + 1) % seeds.len()];
            for _ in 0..CHANGES {
                let bytes = changed(seed, other, &mut stream);
                if panic::catch_unwind(|| entry(&bytes)).is_err() {
                    let kept =
                        Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("breaks-{name}"));
                    fs::write(&kept, &bytes).unwrap();
                    panic!(
                        "{name} breaks on a change of {}: {}",
                        paths[index].display(),
                        kept.display()
                    );
                }
            }
        }
    }
}
