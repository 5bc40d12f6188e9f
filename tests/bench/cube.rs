//! What judging and diagnosing a known state costs: scheme, laws, stage and case, repair, and the tables of cases.

#![expect(clippy::unwrap_used, reason = "a bench that cannot set up must stop")]

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use sixfold::cube::{Face, Homes, Label, Sequence, State, Words, check, find_homes};
use sixfold::diagnose::{Key, examine};
use std::hint::black_box;

const SCRAMBLE: &str = "R Uw2 F' L Dw B' Rw2 U Lw' F D2 B Fw R2 Uw' L";

fn state(n: usize, moves: &str) -> State {
    let moves = if n < 3 {
        moves.replace('w', "")
    } else {
        moves.to_owned()
    };
    State::solved(n).after(&Sequence::for_order(&moves, n).unwrap().0)
}

fn judging(bench: &mut Criterion) {
    let words = Words::default();
    let mut group = bench.benchmark_group("cube");
    for n in [2, 3, 6, 11, 17] {
        let scrambled = state(n, SCRAMBLE);
        let labels: Vec<Option<Label>> = scrambled
            .stickers()
            .iter()
            .map(|face| Some(face.index() as Label))
            .collect();
        group.bench_function(BenchmarkId::new("scheme", n), |run| {
            run.iter(|| find_homes(n, black_box(&labels), Homes::new([0, 1, 2, 3, 4, 5])));
        });
        group.bench_function(BenchmarkId::new("laws", n), |run| {
            run.iter(|| check(black_box(&scrambled)));
        });
        group.bench_function(BenchmarkId::new("examine scrambled", n), |run| {
            run.iter(|| examine(black_box(&scrambled), &words));
        });
        let reduced = state(n, "R U2 F' L D B'");
        group.bench_function(BenchmarkId::new("examine reduced", n), |run| {
            run.iter(|| examine(black_box(&reduced), &words));
        });
    }
    for n in [4, 6, 9] {
        let open = Key::all(n).last().unwrap().state([0, 2]);
        group.bench_function(BenchmarkId::new("examine last groups", n), |run| {
            run.iter(|| examine(black_box(&open), &words));
        });
    }
    group.finish();
}

fn repairing(bench: &mut Criterion) {
    let words = Words::default();
    let mut group = bench.benchmark_group("repair");
    group.sample_size(20);
    for n in [6, 11] {
        let mut one = state(n, SCRAMBLE);
        exchange(&mut one, n + 1, 5 * n * n + 2);
        let mut two = one.clone();
        exchange(&mut two, 1, 2 * n * n);
        let mut hopeless = one.clone();
        for place in 0..6 * n * n {
            hopeless.set(place, Face::ALL[(place * place + place / 7) % 6]);
        }
        for (name, spoiled) in [
            ("one exchange", one),
            ("two exchanges", two),
            ("hopeless", hopeless),
        ] {
            group.bench_function(BenchmarkId::new(name, n), |run| {
                run.iter(|| examine(black_box(&spoiled), &words));
            });
        }
    }
    group.finish();
}

fn exchange(state: &mut State, one: usize, other: usize) {
    let (first, second) = (state.at(one), state.at(other));
    state.set(one, second);
    state.set(other, first);
}

fn cases(bench: &mut Criterion) {
    let mut group = bench.benchmark_group("cases");
    for n in [4, 5, 6, 7, 8, 9] {
        group.bench_function(BenchmarkId::from_parameter(n), |run| {
            run.iter(|| Key::all(black_box(n)));
        });
    }
    group.finish();
}

criterion_group!(benches, judging, repairing, cases);
criterion_main!(benches);
