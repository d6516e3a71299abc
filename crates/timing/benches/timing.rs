//! How long do the engines take on our instances?

use std::{hint::black_box, ops::ControlFlow};

use criterion::{Criterion, criterion_group, criterion_main};
use timing::{
    CalendarProblem, Probe, Project, RowProblem, bound_sequence, clash_of, fit_project,
    solve_calendar, solve_rows, solve_sequence,
};

#[path = "../tests/it/documents.rs"]
mod documents;
#[path = "../tests/it/random.rs"]
mod random;

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

/// The fortnight's projects over and over, each time three weeks later.
fn many(n: usize) -> CalendarProblem {
    let mut problem = documents::calendar(FORTNIGHT);
    let (projects, windows) = (problem.projects.clone(), problem.windows.clone());
    // One tick is five minutes.
    let weeks = 21 * 24 * 12;
    let rounds = || (0..n.div_ceil(projects.len())).map(|round| round as i64 * weeks);
    let later = |project: &Project, by: i64| {
        let mut project = project.clone();
        project.due += by;
        project.ages.iter_mut().for_each(|age| age.due += by);
        project
    };
    problem.projects =
        rounds().flat_map(|by| projects.iter().map(move |one| later(one, by))).take(n).collect();
    problem.windows = rounds()
        .flat_map(|by| windows.iter().map(move |&(open, close)| (open + by, close + by)))
        .collect();
    problem
}

fn growth(criterion: &mut Criterion) {
    let on = &mut |_: &_| ControlFlow::Continue(());
    let mut problem = many(30);
    problem.projects.truncate(20);
    let committed = solve_calendar(&problem, 1, 1, on).expect("placed");
    criterion.bench_function("strip of 56 due dates beside 20", |bencher| {
        bencher.iter(|| {
            let probe = Probe::new(black_box(&problem), &committed).expect("laid out");
            let late = |day: i64| {
                let mut asked = problem.projects[0].clone();
                asked.due = (day + 3) * 288 + 144;
                asked.ages[0].due = asked.due;
                probe.fit(&asked).map(|fit| fit.tardiness)
            };
            (0..56).map(late).collect::<Vec<_>>()
        });
    });
    criterion.bench_function("what clashes beside 20", |bencher| {
        let mut asked = problem.projects[0].clone();
        (asked.due, asked.ages[0].due) = (12 * 288, 12 * 288);
        asked.tasks[5].duration = 60;
        bencher.iter(|| clash_of(black_box(&problem), &committed, &asked));
    });
    for n in [25, 50, 100, 200, 500] {
        let problem = random::session(n, 12, 1);
        criterion.bench_function(&format!("first order and bound of {n} rows"), |bencher| {
            bencher
                .iter(|| solve_rows(black_box(&problem), 1, 1, &mut |_| ControlFlow::Continue(())));
        });
        // With splits the bound is a simple one: this is the search alone.
        let problem = RowProblem { may_split: true, ..problem };
        criterion.bench_function(&format!("1,000 orders of {n} rows"), |bencher| {
            bencher.iter(|| {
                solve_rows(black_box(&problem), 1000, 1, &mut |_| ControlFlow::Continue(()))
            });
        });
    }
    // Three workers on copies of one design, which no two may have in hand at a time.
    let mut problem = RowProblem { n_workers: 3, may_split: true, ..random::session(400, 12, 1) };
    problem.rows.iter_mut().for_each(|row| row.group = Some(0));
    criterion.bench_function("1,000 orders of 400 rows of one group, three workers", |bencher| {
        bencher
            .iter(|| solve_rows(black_box(&problem), 1000, 1, &mut |_| ControlFlow::Continue(())));
    });
    for n in [5, 20, 50, 100, 200] {
        let problem = many(n);
        criterion.bench_function(&format!("1,000 plans of {n} projects"), |bencher| {
            bencher.iter(|| solve_calendar(black_box(&problem), 1000, 1, on));
        });
    }
}

criterion_group!(benches, sequence, calendar, growth);
criterion_main!(benches);
