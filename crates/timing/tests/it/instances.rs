//! Our own instances, whose optima an independent solver proved (CP-SAT of OR-tools 9.12; see fixtures/PROVENANCE.toml),
//! and a published one.

use std::ops::ControlFlow;

use timing::{
    CalendarProblem, Link, LinkKind, Project, Task, Work, check_calendar, check_sequence,
    solve_calendar, solve_sequence,
};

use crate::documents;

/// Checks that five seeds reach a proved optimum, and that the bound is what it was when last improved.
fn check_sequence_instance(json: &str, optimum: i64, bound: i64, budget: u64) {
    let problem = documents::sequence(json);
    for seed in 1..=5 {
        let found = solve_sequence(&problem, budget, seed, &mut |_| ControlFlow::Continue(()))
            .expect("solved");
        assert_eq!(check_sequence(&problem, &found), [], "seed {seed}");
        assert_eq!((found.active, found.bound), (optimum, bound), "seed {seed}");
    }
}

#[test]
fn the_small_sequence_reaches_its_proved_optimum_on_each_seed() {
    let json = include_str!("../../../../fixtures/timing/sequence_small.json");
    check_sequence_instance(json, 827, 827, 30_000);
}

#[test]
fn the_typical_sequence_reaches_its_proved_optimum_on_each_seed() {
    let json = include_str!("../../../../fixtures/timing/sequence_typical.json");
    check_sequence_instance(json, 2461, 2456, 60_000);
}

#[test]
fn the_wet_sequence_reaches_its_proved_optimum_on_each_seed() {
    let json = include_str!("../../../../fixtures/timing/sequence_wet.json");
    check_sequence_instance(json, 2791, 2771, 60_000);
}

/// Checks that five seeds reach a proved optimum with everything on time.
fn check_calendar_instance(json: &str, optimum: i64, bound: i64, budget: u64) {
    let problem = documents::calendar(json);
    for seed in 1..=5 {
        let found = solve_calendar(&problem, budget, seed, &mut |_| ControlFlow::Continue(()))
            .expect("solved");
        assert_eq!(check_calendar(&problem, &found), [], "seed {seed}");
        assert!(found.tardiness.iter().all(|&tardy| tardy == 0));
        assert_eq!((found.cost, found.bound), (optimum, bound), "seed {seed}");
    }
}

#[test]
fn the_week_reaches_its_proved_optimum_on_each_seed() {
    let json = include_str!("../../../../fixtures/timing/calendar_week.json");
    check_calendar_instance(json, 3118, 3118, 2_000);
}

#[test]
fn the_fortnight_reaches_its_proved_optimum_on_each_seed() {
    let json = include_str!("../../../../fixtures/timing/calendar_fortnight.json");
    check_calendar_instance(json, 6984, 6680, 30_000);
}

/// Job shop ft06, each job's machines and times: Fisher, Thompson, in Muth, Thompson, Industrial Scheduling, 1963
/// (from memory); the shortest makespan is 55.
const FT06: [[(usize, i64); 6]; 6] = [
    [(2, 1), (0, 3), (1, 6), (3, 7), (5, 3), (4, 6)],
    [(1, 8), (2, 5), (4, 10), (5, 10), (0, 10), (3, 4)],
    [(2, 5), (3, 4), (5, 8), (0, 9), (1, 1), (4, 7)],
    [(1, 5), (0, 5), (2, 5), (3, 3), (4, 8), (5, 9)],
    [(2, 9), (1, 3), (4, 5), (5, 4), (0, 3), (3, 1)],
    [(1, 3), (3, 3), (5, 9), (0, 10), (4, 4), (2, 1)],
];

/// Job shop la01, likewise: Lawrence, Resource constrained project scheduling, 1984 (from memory); the shortest makespan is 666.
const LA01: [[(usize, i64); 5]; 10] = [
    [(1, 21), (0, 53), (4, 95), (3, 55), (2, 34)],
    [(0, 21), (3, 52), (4, 16), (2, 26), (1, 71)],
    [(3, 39), (4, 98), (1, 42), (2, 31), (0, 12)],
    [(1, 77), (0, 55), (4, 79), (2, 66), (3, 77)],
    [(0, 83), (3, 34), (2, 64), (1, 19), (4, 37)],
    [(1, 54), (2, 43), (4, 79), (0, 92), (3, 62)],
    [(3, 69), (4, 77), (1, 87), (2, 87), (0, 93)],
    [(2, 38), (0, 60), (1, 41), (3, 24), (4, 83)],
    [(3, 17), (1, 49), (4, 25), (0, 44), (2, 98)],
    [(4, 77), (3, 79), (2, 43), (1, 75), (0, 96)],
];

/// The job shop as a calendar: jobs are projects, machines resources, and nobody has to attend.
fn job_shop<const N: usize>(jobs: &[[(usize, i64); N]], due: i64) -> CalendarProblem {
    let project = |steps: &[(usize, i64); N]| Project {
        tasks: steps
            .iter()
            .map(|&(machine, duration)| Task {
                duration,
                work: Work::Unattended,
                uses: vec![(machine, 1)],
                due: None,
                fixed: None,
            })
            .collect(),
        links: (1..steps.len())
            .map(|to| Link { from: to - 1, to, kind: LinkKind::FinishStart, min: 0, max: None })
            .collect(),
        holds: vec![],
        due,
        weight: 1,
        buffer: 0,
        ages: vec![],
        fresh_max: None,
    };
    CalendarProblem {
        projects: jobs.iter().map(project).collect(),
        windows: vec![],
        capacities: vec![1; N],
        earliest: 0,
        ..CalendarProblem::default()
    }
}

/// How late a job shop is in all if every job is due then.
fn tardiness<const N: usize>(jobs: &[[(usize, i64); N]], due: i64, budget: u64) -> i64 {
    let problem = job_shop(jobs, due);
    let found = solve_calendar(&problem, budget, 1, &mut |_| ControlFlow::Continue(()));
    let found = found.expect("placed");
    assert_eq!(check_calendar(&problem, &found), []);
    found.tardiness.iter().sum::<i64>()
}

#[test]
fn the_job_shop_ft06_is_done_by_55_and_not_by_54() {
    assert_eq!(tardiness(&FT06, 55, 200_000), 0);
    assert!(tardiness(&FT06, 54, 200_000) > 0);
}

#[test]
fn the_job_shop_la01_is_done_by_666_and_not_by_665() {
    assert_eq!(tardiness(&LA01, 666, 20_000), 0);
    assert!(tardiness(&LA01, 665, 20_000) > 0);
}
