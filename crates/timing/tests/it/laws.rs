//! Laws on random problems.

use std::ops::ControlFlow;

use proptest::prelude::{Just, ProptestConfig, Strategy, any, prop, prop_oneof, proptest};
use timing::{
    Bag, CalendarProblem, EitherOrder, Hold, Job, Link, LinkKind, Precedence, Project,
    SequenceProblem, SetUp, Task, Work, bound_sequence, check_calendar, check_sequence,
    solve_calendar, solve_sequence,
};

fn sequence_problem() -> impl Strategy<Value = SequenceProblem> {
    let jobs = prop::collection::vec((1..30_i64, 0..4_usize), 1..9);
    let bags = prop::collection::vec((0..3_usize, 0..12_i64), 4);
    let arcs = prop::collection::vec(
        (any::<prop::sample::Index>(), any::<prop::sample::Index>(), 0..60_i64, any::<bool>()),
        0..10,
    );
    let windows = prop_oneof![
        Just(None),
        Just(Some((0..12).map(|day| (day * 200, day * 200 + 90)).collect::<Vec<_>>()))
    ];
    (jobs, bags, arcs, 1..=3_usize, windows).prop_map(|(jobs, bags, arcs, n_workers, windows)| {
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
            further_bags: vec![],
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
                fresh_max: None,
            })
            .collect(),
        windows: (0..60).map(|day| (day * 100, day * 100 + 50)).collect(),
        capacities: vec![1, 2],
        earliest: 0,
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn every_sequence_is_sound_and_found_again(problem in sequence_problem(), seed in any::<u64>()) {
        let solve = || solve_sequence(&problem, 200, seed, &mut |_| ControlFlow::Continue(()));
        if let Ok(sequence) = solve() {
            assert_eq!(check_sequence(&problem, &sequence), []);
            assert_eq!(Ok(sequence), solve());
        }
    }

    #[test]
    fn a_further_lag_never_lowers_the_bound_and_a_helper_never_raises_it(problem in sequence_problem(), lag in 0..50_i64) {
        let bound = bound_sequence(&problem);
        let mut lagged = problem.clone();
        let n = lagged.jobs.len();
        lagged.precedences.push(Precedence { before: 0, after: n - 1, lag });
        assert!(n == 1 || bound_sequence(&lagged) >= bound);
        let mut helped = problem.clone();
        helped.n_workers = 3;
        assert!(bound_sequence(&helped) <= bound);
    }

    #[test]
    fn every_calendar_is_sound_and_found_again(problem in calendar_problem(), seed in any::<u64>()) {
        let solve = || solve_calendar(&problem, 10, seed, &mut |_| ControlFlow::Continue(()));
        if let Ok(calendar) = solve() {
            assert_eq!(check_calendar(&problem, &calendar), []);
            assert_eq!(Ok(calendar), solve());
        }
    }
}
