//! Laws on random problems.

use std::ops::ControlFlow;

use proptest::prelude::{
    Just, ProptestConfig, Strategy, any, prop, prop_assert, prop_assert_eq, prop_oneof, proptest,
};
use timing::{
    Age, Bag, Calendar, CalendarProblem, Crust, EitherOrder, Error, FurtherBag, Hold, Job, Link,
    LinkKind, Precedence, Probe, Project, Sequence, SequenceProblem, SetUp, Span, Task, Violation,
    Work, bound_sequence, check_calendar, check_sequence, clash_of, fit_project, solve_calendar,
    solve_sequence,
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
    let crust = prop::option::of((0..60_i64, 0..8_i64));
    let crust = crust.prop_map(|crust| crust.map(|(after, wipe)| Crust { after, wipe }));
    let shape = (1..=3_usize, windows, crust);
    (jobs, bags, arcs, further, shape).prop_map(|(jobs, bags, arcs, further, shape)| {
        let (n_workers, windows, crust) = shape;
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
            crust,
        }
    })
}

/// A project's tasks (duration, kind, use, what is special), its lags, and its due time.
type Drawn = (Vec<(i64, u8, i64, u8)>, Vec<i64>, i64);

fn drawn_project((tasks, lags, due): Drawn) -> Project {
    let task = |(place, &(duration, kind, uses, special)): (usize, &(i64, u8, i64, u8))| Task {
        duration,
        work: match kind {
            0 => Work::Attended { breakable: false },
            1 => Work::Supervised,
            2 => Work::Unattended,
            _ => Work::Attended { breakable: true },
        },
        uses: if uses > 0 { vec![(0, uses)] } else { vec![] },
        // Some are due before their project, some lie where they lie: the first early, others late.
        due: (special % 5 == 1).then_some(due - lags[place]),
        fixed: (special == 0).then(|| match place {
            0 => (lags[0] - 20, lags[0] + 2 * duration),
            _ => (due + lags[place] - 100, due + lags[place] - 100 + duration),
        }),
    };
    Project {
        links: (1..tasks.len())
            .map(|to| Link {
                from: to - 1,
                to,
                kind: [LinkKind::StartStart, LinkKind::FinishStart, LinkKind::FinishStart]
                    [lags[to] as usize % 3],
                min: lags[to],
                max: (lags[to] % 2 == 0).then_some(lags[to] + 400),
            })
            .collect(),
        holds: if tasks.len() > 2 {
            vec![Hold { resource: 1, quantity: 1, from: 0, to: tasks.len() - 1 }]
        } else {
            vec![]
        },
        ages: (0..tasks.len()).step_by(3).map(|task| Age { task, due: due - 7 }).collect(),
        tasks: tasks.iter().enumerate().map(task).collect(),
        due,
        weight: 1,
        buffer: 5,
        fresh_max: (lags[0] % 4 == 0).then_some(600),
    }
}

fn calendar_problem() -> impl Strategy<Value = CalendarProblem> {
    let task = (1..40_i64, 0..4_u8, 0..2_i64, 0..15_u8);
    let project =
        (prop::collection::vec(task, 1..6), prop::collection::vec(0..80_i64, 6), 100..1500_i64);
    let helpers = prop::collection::vec((0..60_i64, 1..120_i64), 0..8);
    (prop::collection::vec(project, 1..4), helpers).prop_map(|(projects, helpers)| {
        CalendarProblem {
            projects: projects.into_iter().map(drawn_project).collect(),
            windows: (0..60).map(|day| (day * 100, day * 100 + 50)).collect(),
            capacities: vec![1, 2],
            helpers: in_order(helpers),
            ..CalendarProblem::default()
        }
    })
}

/// Stretches one behind the other, from the time in front of each and its length.
fn in_order(stretches: Vec<(i64, i64)>) -> Vec<(i64, i64)> {
    let mut end = 0;
    let mut laid = |(wait, length): (i64, i64)| {
        let from = end + wait;
        end = from + length;
        (from, end)
    };
    stretches.into_iter().map(&mut laid).collect()
}

/// What a project of a calendar costs, without moves.
fn cost(project: &Project, spans: &[Span], tardiness: i64) -> i64 {
    let ages = project.ages.iter().map(|age| age.due + tardiness - spans[age.task].start);
    1000 * project.weight * tardiness + ages.sum::<i64>()
}

fn without_fixed(mut project: Project) -> Project {
    project.tasks.iter_mut().for_each(|task| task.fixed = None);
    project
}

fn starts(calendar: &Calendar) -> Vec<Vec<Option<i64>>> {
    let of = |spans: &Vec<Span>| spans.iter().map(|span| Some(span.start)).collect();
    calendar.spans.iter().map(of).collect()
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
    fn no_answer_over_a_few_windows_is_below_the_bound(
        problem in sequence_problem(), windows in prop::collection::vec((0..150_i64, 40..160_i64), 2..5), seed in any::<u64>(),
    ) {
        let windows = Some(in_order(windows));
        let problem = SequenceProblem { windows, n_workers: 1, crust: None, ..problem };
        let bound = bound_sequence(&problem);
        if let Ok(found) = solve_sequence(&problem, 1500, seed, &mut stop_at(usize::MAX)) {
            prop_assert_eq!(check_sequence(&problem, &found), []);
            prop_assert!(found.bound == bound && found.active >= bound);
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
            let rank = |one: &Sequence| (one.active, one.switches, one.n_wipes, one.idle);
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
                let is_full = matches!(error, Error::NoRoom { .. } | Error::Stale { .. } | Error::Fixed { .. });
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
        // What is fixed in it lies where it lies, in the way of the others or not.
        let asked = without_fixed(asked);
        if let Ok(fit) = fit_project(&all, &committed, &asked) {
            let mut both = committed.clone();
            both.cost += cost(&asked, &fit.spans, fit.tardiness);
            both.bound = i64::MIN;
            both.spans.push(fit.spans);
            both.tardiness.push(fit.tardiness);
            both.blocked_by.push(fit.blocked_by);
            all.projects.push(asked);
            prop_assert_eq!(check_calendar(&all, &both), []);
        }
    }

    #[test]
    fn a_calendar_that_still_stands_is_kept_and_a_broken_one_is_mended(
        problem in calendar_problem(), longer in any::<prop::sample::Index>(), move_cost in 0..2000_i64,
    ) {
        let Ok(former) = solve_calendar(&problem, 30, 1, &mut stop_at(usize::MAX)) else { return Ok(()) };
        let mut again = CalendarProblem { former: starts(&former), move_cost, ..problem };
        let kept = solve_calendar(&again, 1, 2, &mut stop_at(usize::MAX));
        let kept = kept.expect("it stands");
        prop_assert_eq!((&kept.spans, kept.cost), (&former.spans, former.cost));

        let project = longer.index(again.projects.len());
        again.projects[project].tasks[0].duration += 10;
        let cost_after = |budget| solve_calendar(&again, budget, 2, &mut stop_at(usize::MAX));
        if let (Ok(first), Ok(later)) = (cost_after(1), cost_after(60)) {
            prop_assert_eq!(check_calendar(&again, &first), []);
            prop_assert_eq!(check_calendar(&again, &later), []);
            prop_assert!(later.cost <= first.cost);
        }
    }

    #[test]
    fn what_is_fixed_may_not_move_and_no_pair_of_hands_works_twice(
        problem in calendar_problem(), at in any::<prop::sample::Index>(), by in 1..50_i64,
    ) {
        let problem = CalendarProblem { helpers: vec![], ..problem };
        let Ok(sound) = solve_calendar(&problem, 1, 1, &mut stop_at(usize::MAX)) else { return Ok(()) };
        let project = at.index(problem.projects.len());
        let tasks = &problem.projects[project].tasks;
        for task in 0..tasks.len() {
            let mut broken = sound.clone();
            let span = &mut broken.spans[project][task];
            (span.start, span.end) = (span.start + by, span.end + by);
            span.pieces = vec![(span.start, span.end)];
            let found = check_calendar(&problem, &broken);
            if tasks[task].fixed.is_some() {
                let fixed = Violation::Fixed { project, task };
                prop_assert!(found.contains(&fixed));
            }
            // Later than due: the figure no longer holds.
            let due = tasks[task].due.unwrap_or(i64::MAX).min(problem.projects[project].due - 5);
            if broken.spans[project][task].end - due > sound.tardiness[project] {
                let late = Violation::Figure { name: "tardiness" };
                prop_assert!(found.contains(&late));
            }
            // On top of the next task.
            let is_attended = |task: usize| {
                matches!(tasks[task].work, Work::Attended { .. }) && tasks[task].fixed.is_none()
            };
            if task + 1 < tasks.len() && is_attended(task) && is_attended(task + 1) {
                broken.spans[project][task] = broken.spans[project][task + 1].clone();
                let found = check_calendar(&problem, &broken);
                let is_busy = |one: &Violation| matches!(one, Violation::Maker { .. });
                prop_assert!(found.iter().any(is_busy));
            }
        }
    }

    #[test]
    fn a_helper_never_raises_the_bound(problem in calendar_problem()) {
        let alone = CalendarProblem { helpers: vec![], ..problem.clone() };
        let solve = |problem| solve_calendar(problem, 1, 1, &mut stop_at(usize::MAX));
        if let (Ok(helped), Ok(alone)) = (solve(&problem), solve(&alone)) {
            prop_assert!(helped.bound <= alone.bound);
        }
    }

    #[test]
    fn a_clash_names_projects_without_which_one_more_is_on_time(problem in calendar_problem()) {
        let mut all = problem;
        let Some(asked) = all.projects.pop() else { return Ok(()) };
        let Ok(committed) = solve_calendar(&all, 1, 1, &mut stop_at(usize::MAX)) else { return Ok(()) };
        let Ok(clash) = clash_of(&all, &committed, &asked) else { return Ok(()) };
        // Beside the calendar without some of its projects, which stays as it is.
        let is_on_time = |without: &[usize]| {
            let (mut fewer, mut left) = (all.clone(), committed.clone());
            for &one in without.iter().rev() {
                fewer.projects.remove(one);
                left.spans.remove(one);
            }
            let fit = Probe::new(&fewer, &left).and_then(|probe| probe.fit(&asked));
            fit.is_ok_and(|fit| fit.tardiness == 0)
        };
        let everything: Vec<usize> = (0..all.projects.len()).collect();
        match clash {
            None => prop_assert!(is_on_time(&[])),
            Some(clash) if clash.projects.is_empty() => {
                prop_assert!(clash.blocked_by.is_some() && !is_on_time(&everything));
            }
            Some(clash) => {
                prop_assert!(is_on_time(&clash.projects));
                for at in 0..clash.projects.len() {
                    let mut smaller = clash.projects.clone();
                    smaller.remove(at);
                    prop_assert!(!is_on_time(&smaller));
                }
            }
        }
    }

    #[test]
    fn without_one_of_the_committed_projects_no_other_is_later(problem in calendar_problem()) {
        let mut all = problem;
        let Some(asked) = all.projects.pop() else { return Ok(()) };
        let Ok(committed) = solve_calendar(&all, 1, 1, &mut stop_at(usize::MAX)) else { return Ok(()) };
        // Placing looks at one way only, so with most times and holds more room may mislead it.
        let mut asked = without_fixed(asked);
        asked.links.iter_mut().for_each(|link| link.max = None);
        asked.holds.clear();
        let Ok(before) = fit_project(&all, &committed, &asked) else { return Ok(()) };
        let (mut fewer, mut left) = (all, committed);
        fewer.projects.pop();
        left.spans.pop();
        let after = fit_project(&fewer, &left, &asked);
        prop_assert!(after.is_ok_and(|after| after.tardiness <= before.tardiness));
    }
}
