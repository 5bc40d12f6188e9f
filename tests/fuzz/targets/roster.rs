#![no_main]

#[path = "../entries.rs"]
#[allow(dead_code, reason = "each target throws at one entry only")]
mod entries;

libfuzzer_sys::fuzz_target!(|bytes: &[u8]| entries::roster(bytes));
