//! Each rule broken once is found, and what is no problem is refused.

use std::ops::ControlFlow;

use timing::{
    Age, Bag, Blocked, Calendar, CalendarProblem, Crust, EitherOrder, Error, FurtherBag, Hold, Job,
    Link, LinkKind, Obstacle, Precedence, Project, Sequence, SequenceProblem, SetUp, Task,
    Violation, Work, check_calendar, check_sequence, solve_calendar, solve_sequence,
};

fn three_jobs() -> SequenceProblem {
    SequenceProblem {
        jobs: vec![
            Job { duration: 5, bag: 0 },
            Job { duration: 4, bag: 1 },
            Job { duration: 3, bag: 1 },
        ],
        further_bags: vec![],
        bags: vec![Bag { color: 0, prep: 2 }, Bag { color: 1, prep: 3 }],
        precedences: vec![Precedence { before: 0, after: 1, lag: 9 }],
        either_orders: vec![EitherOrder { a: 0, b: 2, lag_ab: 6, lag_ba: 4 }],
        set_up: SetUp { same_color: 1, other: 2 },
        windows: None,
        n_workers: 1,
        exclusive: vec![vec![0, 1]],
        crust: None,
    }
}

fn solved(problem: &SequenceProblem) -> Sequence {
    solve_sequence(problem, 500, 1, &mut |_| ControlFlow::Continue(())).expect("solved")
}

#[test]
fn a_sound_sequence_breaks_no_rule_and_each_broken_one_is_found() {
    let problem = three_jobs();
    let sound = solved(&problem);
    assert_eq!(check_sequence(&problem, &sound), []);

    let breaks = |change: &dyn Fn(&mut Sequence), expected: Violation| {
        let mut broken = sound.clone();
        change(&mut broken);
        let found = check_sequence(&problem, &broken);
        assert!(found.contains(&expected), "{expected:?} in {found:?}");
    };
    breaks(&|s| s.starts[1] = s.starts[0] + 8, Violation::Lag { before: 0, after: 1 });
    breaks(&|s| s.starts[2] = s.starts[0] + 1, Violation::Lag { before: 0, after: 2 });
    breaks(&|s| s.starts[0] = 1, Violation::Preparation { bag: 0 });
    breaks(&|s| s.prep_starts[1] = None, Violation::Preparation { bag: 1 });
    breaks(&|s| s.active -= 1, Violation::Figure { name: "active" });
    breaks(&|s| s.switches += 1, Violation::Figure { name: "switches" });
    breaks(&|s| s.idle += 1, Violation::Figure { name: "idle" });
    breaks(&|s| s.bound = s.active + 1, Violation::Figure { name: "bound" });
    breaks(&|s| s.starts.truncate(1), Violation::WrongLength);
    breaks(&|s| s.order[0] = s.order[1], Violation::WrongLength);
    breaks(&|s| s.workers[0] = 1, Violation::WrongLength);
}

#[test]
fn a_sound_sequence_of_two_workers_in_windows_breaks_no_rule_and_each_broken_one_is_found() {
    let mut problem = three_jobs();
    problem.n_workers = 2;
    problem.windows = Some(vec![(0, 20), (30, 50)]);
    problem.further_bags = vec![FurtherBag { job: 0, bag: 1 }];
    // By hand: worker 0 prepares bag 1 in 0..3, worker 1 bag 0 in 0..2 and works job 0 in 3..8; job 1 follows 9 later.
    let sound = Sequence {
        starts: vec![3, 12, 9],
        workers: vec![1, 1, 0],
        prep_starts: vec![Some(0), Some(0)],
        prep_workers: vec![1, 0],
        order: vec![0, 2, 1],
        active: 16,
        switches: 0,
        n_wipes: 0,
        idle: 32 - 17,
        bound: 14,
        seed: 1,
        evaluations: 1,
    };
    assert_eq!(check_sequence(&problem, &sound), []);
    // Shorter, by hand: jobs 1 and 2 both at 32 in the second window, each with its worker taking up bag 1; 8 + 6.
    assert_eq!(solved(&problem).active, 14);

    let breaks = |change: &dyn Fn(&mut Sequence), expected: Violation| {
        let mut broken = sound.clone();
        change(&mut broken);
        let found = check_sequence(&problem, &broken);
        assert!(found.contains(&expected), "{expected:?} in {found:?}");
    };
    // Job 0 takes up bag 1 as well.
    breaks(&|s| s.prep_starts[1] = Some(4), Violation::Preparation { bag: 1 });
    // Jobs 0 and 1 are of one set, whoever works them.
    breaks(&|s| (s.starts[1], s.workers[1]) = (5, 0), Violation::Overlap { a: 0, b: 1 });
    // Two things at once, and a preparation during a job.
    breaks(&|s| (s.starts[2], s.workers[2]) = (13, 1), Violation::Overlap { a: 1, b: 2 });
    breaks(&|s| s.prep_starts[0] = Some(6), Violation::Preparation { bag: 0 });
    // Outside the windows; at the opening of one, with no time to take up the bag.
    breaks(&|s| s.starts[1] = 19, Violation::Window { project: 0, task: 1 });
    breaks(&|s| s.starts[1] = 30, Violation::Window { project: 0, task: 1 });
    breaks(&|s| s.starts[1] = 33, Violation::Figure { name: "active" });
    breaks(&|s| s.starts[1] = 33, Violation::Figure { name: "switches" });
}

#[test]
fn a_crusted_tip_is_wiped_before_the_job_and_a_missing_wipe_is_found() {
    // By hand: bag 0 is ready at 2, job 0 2..7, bag 1 ready at 10, job 1 waits until 11..15, job 2 15..18.
    let mut problem = three_jobs();
    problem.jobs[2].bag = 0;
    problem.precedences.push(Precedence { before: 1, after: 2, lag: 4 });
    let plain = solved(&problem);
    assert_eq!((plain.starts[2], plain.active, plain.n_wipes), (17, 20, 0));
    // Bag 0 rests from 7 on; it is taken up in two ticks and wiped in three.
    problem.crust = Some(Crust { after: 9, wipe: 3 });
    let wiped = solved(&problem);
    assert_eq!(check_sequence(&problem, &wiped), []);
    assert_eq!((wiped.starts[2], wiped.active, wiped.n_wipes), (20, 23, 1));
    assert_eq!(wiped.idle, plain.idle);
    problem.crust = Some(Crust { after: 10, wipe: 3 });
    assert_eq!(solved(&problem).active, 20);
    // At the end of what it may rest no wipe is needed; a tick less, and the plain times leave no room for it.
    problem.crust = Some(Crust { after: 9, wipe: 3 });
    let found = check_sequence(&problem, &plain);
    assert!(found.contains(&Violation::Overlap { a: 1, b: 2 }), "{found:?}");
    assert!(found.contains(&Violation::Figure { name: "wipes" }), "{found:?}");
    // A bag that stays in the hand crusts as well: job 1 waits for 13 ticks after its preparation.
    problem.precedences[0].lag = 21;
    let waits = solved(&problem);
    assert_eq!(check_sequence(&problem, &waits), []);
    assert_eq!((waits.switches, waits.n_wipes), (1, 2));
}

#[test]
fn what_is_no_sequence_problem_is_refused_by_name() {
    let refuses = |change: &dyn Fn(&mut SequenceProblem), expected: Error| {
        let mut problem = three_jobs();
        change(&mut problem);
        let answer = solve_sequence(&problem, 10, 1, &mut |_| ControlFlow::Continue(()));
        assert_eq!(answer, Err(expected));
    };
    refuses(
        &|p| p.precedences.push(Precedence { before: 1, after: 0, lag: 0 }),
        Error::Cycle { what: "jobs", members: vec![0, 1] },
    );
    refuses(&|p| p.jobs[2].bag = 7, Error::Unknown { what: "bag", index: 7, n: 2 });
    refuses(
        &|p| p.jobs[2].duration = -1,
        Error::OutOfRange { what: "job", index: 2, value: -1, least: 0, most: 1 << 40 },
    );
    refuses(
        &|p| p.windows = Some(vec![(0, 4), (10, 14)]),
        Error::TooLong { what: "job", index: 0, duration: 5, longest: 4 },
    );
    // Each job fits a window, but no preparation or set-up fits before the first.
    refuses(&|p| p.windows = Some(vec![(0, 6), (10, 16)]), Error::Full { job: 0 });
    refuses(&|p| p.windows = Some(vec![(0, 20), (10, 30)]), Error::Windows { index: 1 });
}

#[test]
fn no_jobs_are_worked_in_no_time() {
    let problem = SequenceProblem {
        jobs: vec![],
        precedences: vec![],
        either_orders: vec![],
        exclusive: vec![],
        ..three_jobs()
    };
    let sequence = solved(&problem);
    assert_eq!((sequence.active, sequence.order.len()), (0, 0));
}

fn two_tasks() -> CalendarProblem {
    let attended = |duration, uses| Task {
        duration,
        work: Work::Attended { breakable: true },
        uses,
        due: None,
        fixed: None,
    };
    CalendarProblem {
        projects: vec![Project {
            tasks: vec![
                attended(6, vec![]),
                Task {
                    duration: 3,
                    work: Work::Supervised,
                    uses: vec![(0, 1)],
                    due: None,
                    fixed: None,
                },
                attended(4, vec![]),
            ],
            links: vec![
                Link { from: 0, to: 1, kind: LinkKind::FinishStart, min: 1, max: Some(12) },
                Link { from: 1, to: 2, kind: LinkKind::FinishStart, min: 2, max: None },
            ],
            holds: vec![Hold { resource: 1, quantity: 1, from: 0, to: 2 }],
            due: 60,
            weight: 1,
            buffer: 5,
            ages: vec![Age { task: 1, due: 60 }],
            fresh_max: None,
        }],
        windows: vec![(0, 10), (20, 30), (40, 50)],
        capacities: vec![1, 1],
        earliest: 0,
        ..CalendarProblem::default()
    }
}

fn placed(problem: &CalendarProblem) -> Calendar {
    solve_calendar(problem, 50, 1, &mut |_| ControlFlow::Continue(())).expect("placed")
}

#[test]
fn a_sound_calendar_breaks_no_rule_and_each_broken_one_is_found() {
    let mut problem = two_tasks();
    problem.projects.push(problem.projects[0].clone());
    let sound = placed(&problem);
    assert_eq!(check_calendar(&problem, &sound), []);

    let breaks = |change: &dyn Fn(&mut Calendar), expected: &dyn Fn(&Violation) -> bool| {
        let mut broken = sound.clone();
        change(&mut broken);
        let found = check_calendar(&problem, &broken);
        assert!(found.iter().any(expected), "{found:?}");
    };
    let other = sound.spans[1].clone();
    breaks(&|c| c.spans[0] = other.clone(), &|v| matches!(v, Violation::Maker { .. }));
    breaks(&|c| c.spans[0] = other.clone(), &|v| matches!(v, Violation::Resource { .. }));
    breaks(
        &|c| c.spans[0][1] = timing::Span { start: 12, end: 15, pieces: vec![(12, 15)] },
        &|v| matches!(v, Violation::Window { project: 0, task: 1 }),
    );
    breaks(&|c| c.spans[0][0].pieces.clear(), &|v| {
        matches!(v, Violation::Pieces { project: 0, task: 0 })
    });
    breaks(&|c| c.spans[0][2] = c.spans[0][1].clone(), &|v| {
        matches!(v, Violation::Link { project: 0, link: 1 })
    });
    // The pack is cut where no window ends; the oven runs in two pieces; the dough is begun too early.
    breaks(&|c| c.spans[0][2].pieces = cut(&c.spans[0][2], 1), &|v| {
        matches!(v, Violation::Window { project: 0, task: 2 })
    });
    breaks(&|c| c.spans[0][1].pieces = cut(&c.spans[0][1], 0), &|v| {
        matches!(v, Violation::Pieces { project: 0, task: 1 })
    });
    breaks(&|c| c.spans[0][0] = timing::Span { start: -6, end: 0, pieces: vec![(-6, 0)] }, &|v| {
        matches!(v, Violation::Window { project: 0, task: 0 })
    });
    breaks(&|c| c.bound = c.cost + 1, &|v| *v == Violation::Figure { name: "bound" });
    breaks(&|c| c.tardiness[0] += 1, &|v| *v == Violation::Figure { name: "tardiness" });
    breaks(&|c| c.cost += 1, &|v| *v == Violation::Figure { name: "cost" });
    breaks(&|c| c.spans.truncate(1), &|v| *v == Violation::WrongLength);
}

/// A span in two pieces, with a pause that is cut out of nothing.
fn cut(span: &timing::Span, pause: i64) -> Vec<(i64, i64)> {
    vec![(span.start, span.start + 1), (span.start + 1 + pause, span.end)]
}

#[test]
fn what_is_fixed_stays_where_it_is_and_the_rest_keeps_clear_of_it() {
    let mut problem = two_tasks();
    problem.earliest = 20;
    // The dough was made before, partly outside the windows, and the maker has promised to be elsewhere from 20 to 28.
    problem.projects[0].tasks[0].fixed = Some((8, 14));
    problem.projects[0].links[0].max = None;
    let promise = Project {
        tasks: vec![Task { fixed: Some((20, 28)), ..problem.projects[0].tasks[0].clone() }],
        links: vec![],
        holds: vec![],
        ages: vec![],
        ..problem.projects[0].clone()
    };
    problem.projects.push(promise);
    // It should be in the oven by 30, so the oven runs beside the promise or right behind it.
    problem.projects[0].tasks[1].due = Some(30);
    let sound = placed(&problem);
    assert_eq!(check_calendar(&problem, &sound), []);
    let starts: Vec<i64> = sound.spans.iter().flatten().map(|span| span.start).collect();
    assert_eq!((starts, sound.tardiness.clone()), (vec![8, 27, 46, 20], vec![0, 0]));
    assert_eq!(sound.spans[0][0].pieces, [(8, 14)]);

    let mut moved = sound.clone();
    moved.spans[0][0].start = 7;
    moved.spans[0][0].pieces = vec![(7, 14)];
    let found = check_calendar(&problem, &moved);
    assert!(found.contains(&Violation::Fixed { project: 0, task: 0 }), "{found:?}");
    // The last task into the promise: two things at once, unless there is a helper.
    moved = sound.clone();
    moved.spans[0][2] = timing::Span { start: 24, end: 28, pieces: vec![(24, 28)] };
    let is_busy = |v: &Violation| matches!(v, Violation::Maker { a: (0, 2), b: (1, 0) });
    assert!(check_calendar(&problem, &moved).iter().any(is_busy));
    problem.helpers = vec![(22, 27)];
    assert!(check_calendar(&problem, &moved).iter().any(is_busy));
    problem.helpers = vec![(22, 28)];
    assert!(!check_calendar(&problem, &moved).iter().any(is_busy));

    // Later than its own due time: tardy, though the project is not.
    let mut late = sound;
    late.spans[0][1] = timing::Span { start: 40, end: 43, pieces: vec![(40, 43)] };
    assert!(check_calendar(&problem, &late).contains(&Violation::Figure { name: "tardiness" }));
}

#[test]
fn work_that_is_fixed_too_late_makes_its_project_tardy_and_is_named() {
    let mut problem = two_tasks();
    problem.projects[0].tasks[2].fixed = Some((58, 62));
    let late = placed(&problem);
    assert_eq!(check_calendar(&problem, &late), []);
    assert_eq!(late.tardiness, [7]);
    assert_eq!(late.blocked_by[0], Some(Blocked { task: 2, obstacle: Obstacle::Fixed }));
    // Nothing can come between what is fixed without room: refused by name.
    problem.projects[0].tasks[0].fixed = Some((50, 56));
    let refused = solve_calendar(&problem, 10, 1, &mut |_| ControlFlow::Continue(()));
    assert_eq!(refused, Err(Error::Fixed { project: 0, task: 1 }));
}

#[test]
fn a_move_is_counted() {
    let mut problem = two_tasks();
    let sound = placed(&problem);
    let start = |task: usize| Some(sound.spans[0][task].start);
    problem.former = vec![vec![start(0), None, start(2)]];
    problem.move_cost = 10;
    assert_eq!(check_calendar(&problem, &sound), []);
    problem.former[0][2] = Some(0);
    assert_eq!(check_calendar(&problem, &sound), [Violation::Figure { name: "cost" }]);
    // The former plan had the last task elsewhere, where it cannot be.
    assert_eq!(placed(&problem).cost, sound.cost + 10);
}

#[test]
fn a_project_older_than_it_may_is_found() {
    let problem = two_tasks();
    let sound = placed(&problem);
    let mut strict = problem.clone();
    strict.projects[0].fresh_max = Some(0);
    assert!(check_calendar(&strict, &sound).contains(&Violation::Age { project: 0 }));
}

#[test]
fn a_project_without_room_is_tardy_and_names_what_blocked_it() {
    let mut problem = two_tasks();
    problem.projects[0].due = 12;
    problem.projects[0].ages[0].due = 12;
    let late = placed(&problem);
    assert_eq!(check_calendar(&problem, &late), []);
    assert!(late.tardiness[0] > 0);
    // The last task ends at 7, so the one before it would have to begin before 0.
    assert_eq!(late.blocked_by[0], Some(Blocked { task: 1, obstacle: Obstacle::Time }));
}

#[test]
fn what_is_no_calendar_problem_is_refused_by_name() {
    let refuses = |change: &dyn Fn(&mut CalendarProblem), expected: Error| {
        let mut problem = two_tasks();
        change(&mut problem);
        assert_eq!(
            solve_calendar(&problem, 10, 1, &mut |_| ControlFlow::Continue(())),
            Err(expected)
        );
    };
    refuses(&|p| p.windows.clear(), Error::NoWindows);
    refuses(
        &|p| p.earliest = 49,
        Error::TooLong { what: "task", index: 1, duration: 3, longest: 1 },
    );
    refuses(
        &|p| p.capacities[0] = 0,
        Error::Overdemand { task: 1, resource: 0, wanted: 1, capacity: 0 },
    );
    refuses(
        &|p| {
            p.projects[0].links.push(Link {
                from: 2,
                to: 0,
                kind: LinkKind::StartStart,
                min: 0,
                max: None,
            })
        },
        Error::Cycle { what: "tasks", members: vec![0, 1, 2] },
    );
    refuses(
        &|p| p.projects[0].tasks[0].fixed = Some((5, 4)),
        Error::OutOfRange {
            what: "fixed length of task",
            index: 0,
            value: -1,
            least: 0,
            most: 1 << 40,
        },
    );
    refuses(&|p| p.projects[0].ages[0].task = 3, Error::Unknown { what: "task", index: 3, n: 3 });
    refuses(&|p| p.helpers = vec![(5, 9), (8, 12)], Error::Helpers { index: 1 });
    refuses(
        &|p| p.former = vec![vec![None; 4]],
        Error::Unknown { what: "former task", index: 3, n: 3 },
    );
    refuses(&|p| p.projects[0].tasks[0].duration = 500, Error::NoRoom { project: 0, task: 0 });
}
