//! How long do the engines take on our instances?

use std::{hint::black_box, ops::ControlFlow};

use criterion::{Criterion, criterion_group, criterion_main};
use timing::{bound_sequence, fit_project, solve_calendar, solve_sequence};

#[path = "../tests/it/documents.rs"]
mod documents;

const TYPICAL: &str = include_str!("../../../fixtures/timing/sequence_typical.json");
const FORTNIGHT: &str = include_str!("../../../fixtures/timing/calendar_fortnight.json");

fn sequence(criterion: &mut Criterion) {
    let problem = documents::sequence(TYPICAL);
    criterion.bench_function("bound of 37 jobs", |bencher| {
        bencher.iter(|| bound_sequence(black_box(&problem)));
    });
    criterion.bench_function("10,000 orders of 37 jobs", |bencher| {
        bencher.iter(|| {
            solve_sequence(black_box(&problem), 10_000, 1, &mut |_| ControlFlow::Continue(()))
        });
    });
}

fn calendar(criterion: &mut Criterion) {
    let problem = documents::calendar(FORTNIGHT);
    criterion.bench_function("10,000 plans of 10 projects", |bencher| {
        bencher.iter(|| {
            solve_calendar(black_box(&problem), 10_000, 1, &mut |_| ControlFlow::Continue(()))
        });
    });
    let mut open = problem.clone();
    let asked = open.projects.remove(5);
    let committed =
        solve_calendar(&open, 1, 1, &mut |_| ControlFlow::Continue(())).expect("placed");
    criterion.bench_function("one more project beside 9", |bencher| {
        bencher.iter(|| fit_project(black_box(&open), &committed, &asked));
    });
}

criterion_group!(benches, sequence, calendar);
criterion_main!(benches);
