//! What advice and whole ways cost, for states at every stage.

#![expect(clippy::unwrap_used, reason = "a bench that cannot set up must stop")]

mod mixed;

use criterion::{BenchmarkId, Criterion, criterion_group, criterion_main};
use sixfold::advise::{advise, analyse, route};
use sixfold::cube::{Sequence, State, Words};
use sixfold::diagnose::examine;
use std::hint::black_box;

fn scrambled(n: usize) -> State {
    mixed::scrambled(n, &mut mixed::Dice::new())
}

/// The scrambled cube after the steps of its way up to one of a later stage than these.
fn at_stage(n: usize, stages: &[&str]) -> State {
    let mut state = scrambled(n);
    for step in route(&state).unwrap().steps {
        let name = serde_json::to_value(step.stage).unwrap();
        if !stages.iter().any(|stage| name == *stage) {
            break;
        }
        state = state.after(&step.hold.0).after(&step.moves.0);
    }
    state
}

fn advising(bench: &mut Criterion) {
    let words = Words::default();
    let mut group = bench.benchmark_group("advise");
    let middle = at_stage(6, &["centres", "pairing", "last-groups"])
        .after(&"Rw2 B2 U2 Lw".parse::<Sequence>().unwrap().0);
    for (name, state) in [
        ("scrambled", scrambled(6)),
        ("centres done", at_stage(6, &["centres"])),
        (
            "reduced",
            at_stage(6, &["centres", "pairing", "last-groups"]),
        ),
        ("in the middle", middle),
    ] {
        group.bench_function(BenchmarkId::new("diagnosis with advice, 6", name), |run| {
            run.iter(|| {
                let state = black_box(&state);
                (examine(state, &words), advise(state))
            });
        });
    }
    group.finish();
}

fn routes(bench: &mut Criterion) {
    let mut group = bench.benchmark_group("route");
    group.sample_size(10);
    for n in [3, 4, 6, 11] {
        let state = scrambled(n.max(4));
        let state = if n == 3 {
            State::solved(3).after(&"R U2 F' L D B' R2 U F".parse::<Sequence>().unwrap().0)
        } else {
            state
        };
        group.bench_function(BenchmarkId::from_parameter(n), |run| {
            run.iter(|| route(black_box(&state)));
        });
    }
    group.bench_function("what a sequence does, 7", |run| {
        let moves = Sequence::for_order("Rw2 B2 U2 Lw U2 Rw' U2 Rw U2 F2 Rw F2 Lw' B2 Rw2", 7);
        let moves = moves.unwrap();
        run.iter(|| analyse(black_box(&moves), 7));
    });
    group.finish();
}

criterion_group!(benches, advising, routes);
criterion_main!(benches);
