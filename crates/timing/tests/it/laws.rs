//! Laws on random problems.

use std::ops::ControlFlow;

use proptest::prelude::{
    Just, ProptestConfig, Strategy, any, prop, prop_assert, prop_assert_eq, prop_oneof, proptest,
};
use timing::{
    Bag, CalendarProblem, EitherOrder, Error, FurtherBag, Hold, Job, Link, LinkKind, Precedence,
    Project, Sequence, SequenceProblem, SetUp, Task, Work, bound_sequence, check_calendar,
    check_sequence, fit_project, solve_calendar, solve_sequence,
};

fn sequence_problem() -> impl Strategy<Value = SequenceProblem> {
    let jobs = prop::collection::vec((1..30_i64, 0..4_usize), 1..9);
    let bags = prop::collection::vec((0..3_usize, 0..12_i64), 4);
    let arcs = prop::collection::vec(
        (any::<prop::sample::Index>(), any::<prop::sample::Index>(), 0..60_i64, any::<bool>()),
        0..10,
    );
    let further = prop::collection::vec((any::<prop::sample::Index>(), 0..4_usize), 0..3);
    let windows = prop_oneof![
        Just(None),
        Just(Some((0..12).map(|day| (day * 200, day * 200 + 90)).collect::<Vec<_>>()))
    ];
    let shape = (1..=3_usize, windows);
    (jobs, bags, arcs, further, shape).prop_map(|(jobs, bags, arcs, further, shape)| {
        let (n_workers, windows) = shape;
        let n = jobs.len();
        let (mut precedences, mut either_orders) = (Vec::new(), Vec::new());
        for (a, b, lag, fixed) in arcs {
            let (a, b) = (a.index(n).min(b.index(n)), a.index(n).max(b.index(n)));
            // Lags keep a job from starting before the other ends, as between rows of one design.
            match (a == b, fixed) {
                (true, _) => {}
                (_, true) => {
                    precedences.push(Precedence { before: a, after: b, lag: lag + jobs[a].0 })
                }
                (_, false) => either_orders.push(EitherOrder {
                    a,
                    b,
                    lag_ab: lag + jobs[a].0,
                    lag_ba: lag + jobs[b].0,
                }),
            }
        }
        SequenceProblem {
            jobs: jobs.into_iter().map(|(duration, bag)| Job { duration, bag }).collect(),
            further_bags: further
                .into_iter()
                .map(|(job, bag)| FurtherBag { job: job.index(n), bag })
                .collect(),
            bags: bags.into_iter().map(|(color, prep)| Bag { color, prep }).collect(),
            precedences,
            either_orders,
            set_up: SetUp { same_color: 2, other: 5 },
            windows,
            n_workers,
            exclusive: vec![(0..n / 2).collect(), (n / 2..n).collect()],
        }
    })
}

fn calendar_problem() -> impl Strategy<Value = CalendarProblem> {
    let task = (1..40_i64, 0..4_u8, 0..2_i64);
    let project =
        (prop::collection::vec(task, 1..6), prop::collection::vec(0..80_i64, 6), 100..1500_i64);
    prop::collection::vec(project, 1..4).prop_map(|projects| CalendarProblem {
        projects: projects
            .into_iter()
            .map(|(tasks, lags, due)| Project {
                links: (1..tasks.len())
                    .map(|to| Link {
                        from: to - 1,
                        to,
                        kind: if lags[to] % 3 == 0 {
                            LinkKind::StartStart
                        } else {
                            LinkKind::FinishStart
                        },
                        min: lags[to],
                        max: (lags[to] % 2 == 0).then_some(lags[to] + 400),
                    })
                    .collect(),
                holds: if tasks.len() > 2 {
                    vec![Hold { resource: 1, quantity: 1, from: 0, to: tasks.len() - 1 }]
                } else {
                    vec![]
                },
                tasks: tasks
                    .into_iter()
                    .map(|(duration, kind, uses)| Task {
                        duration,
                        work: match kind {
                            0 => Work::Attended { breakable: false },
                            1 => Work::Supervised,
                            2 => Work::Unattended,
                            _ => Work::Attended { breakable: true },
                        },
                        uses: if uses > 0 { vec![(0, uses)] } else { vec![] },
                    })
                    .collect(),
                due,
                weight: 1,
                buffer: 5,
                age_from: Some(0),
                fresh_max: (lags[0] % 4 == 0).then_some(600),
            })
            .collect(),
        windows: (0..60).map(|day| (day * 100, day * 100 + 50)).collect(),
        capacities: vec![1, 2],
        earliest: 0,
    })
}

/// A listener that ends the search at its `n`th better answer.
fn stop_at<T>(n: usize) -> impl FnMut(&T) -> ControlFlow<()> {
    let mut n_heard = 0;
    move |_| {
        n_heard += 1;
        if n_heard == n { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_sequence_is_sound_and_found_again(problem in sequence_problem(), seed in any::<u64>()) {
        let solve = |budget| solve_sequence(&problem, budget, seed, &mut stop_at(usize::MAX));
        match solve(200) {
            Ok(sequence) => {
                prop_assert_eq!(check_sequence(&problem, &sequence), []);
                prop_assert_eq!(Ok(sequence), solve(200));
            }
            // Windows may end too soon; nothing else is wrong with these problems.
            Err(error) => {
                let is_full = matches!(error, Error::Full { .. });
                prop_assert!(is_full && problem.windows.is_some());
            }
        }
    }

    #[test]
    fn a_sequence_ended_early_is_found_again_with_the_evaluations_it_took(
        problem in sequence_problem(), seed in any::<u64>(), n in 1..6_usize,
    ) {
        if let Ok(early) = solve_sequence(&problem, 300, seed, &mut stop_at(n)) {
            let again = solve_sequence(&problem, early.evaluations, seed, &mut stop_at(usize::MAX));
            prop_assert_eq!(Ok(&early), again.as_ref());
            // A larger search only goes on from there.
            let later = solve_sequence(&problem, 600, seed, &mut stop_at(usize::MAX));
            let rank = |one: &Sequence| (one.active, one.switches, one.idle);
            prop_assert!(later.is_ok_and(|later| rank(&later) <= rank(&early)));
        }
    }

    #[test]
    fn a_further_lag_never_lowers_the_bound_and_one_more_worker_never_raises_it(
        problem in sequence_problem(), ends in (any::<prop::sample::Index>(), any::<prop::sample::Index>()), lag in 0..90_i64,
    ) {
        let bound = bound_sequence(&problem);
        let n = problem.jobs.len();
        let (a, b) = (ends.0.index(n), ends.1.index(n));
        let mut lagged = problem.clone();
        if a != b {
            lagged.precedences.push(Precedence { before: a.min(b), after: a.max(b), lag });
        }
        prop_assert!(bound_sequence(&lagged) >= bound);
        let mut helped = problem.clone();
        helped.n_workers = (problem.n_workers + 1).min(3);
        prop_assert!(bound_sequence(&helped) <= bound);
    }

    #[test]
    fn every_calendar_is_sound_and_found_again(problem in calendar_problem(), seed in any::<u64>()) {
        let solve = |budget| solve_calendar(&problem, budget, seed, &mut stop_at(usize::MAX));
        match solve(30) {
            Ok(calendar) => {
                prop_assert_eq!(check_calendar(&problem, &calendar), []);
                prop_assert_eq!(Ok(calendar), solve(30));
            }
            Err(error) => {
                let is_full = matches!(error, Error::NoRoom { .. } | Error::Stale { .. });
                prop_assert!(is_full);
            }
        }
    }

    #[test]
    fn a_calendar_ended_early_is_found_again_with_the_evaluations_it_took(
        problem in calendar_problem(), seed in any::<u64>(), n in 1..4_usize,
    ) {
        if let Ok(early) = solve_calendar(&problem, 100, seed, &mut stop_at(n)) {
            let again = solve_calendar(&problem, early.evaluations, seed, &mut stop_at(usize::MAX));
            prop_assert_eq!(Ok(&early), again.as_ref());
            let later = solve_calendar(&problem, 200, seed, &mut stop_at(usize::MAX));
            prop_assert!(later.is_ok_and(|later| later.cost <= early.cost));
        }
    }

    #[test]
    fn one_more_project_breaks_no_rule_and_moves_no_other(problem in calendar_problem()) {
        let mut all = problem;
        if all.projects.len() < 2 {
            return Ok(());
        }
        let Some(asked) = all.projects.pop() else { return Ok(()) };
        let Ok(committed) = solve_calendar(&all, 1, 1, &mut stop_at(usize::MAX)) else { return Ok(()) };
        if let Ok(fit) = fit_project(&all, &committed, &asked) {
            let mut both = committed.clone();
            both.cost += 1000 * asked.weight * fit.tardiness;
            both.cost += asked.due + fit.tardiness - fit.spans[0].start;
            both.spans.push(fit.spans);
            both.tardiness.push(fit.tardiness);
            both.blocked_by.push(fit.blocked_by);
            all.projects.push(asked);
            prop_assert_eq!(check_calendar(&all, &both), []);
        }
    }
}
