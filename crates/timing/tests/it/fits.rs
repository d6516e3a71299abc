//! One more project beside a calendar that stays, and projects that cannot be on time.

use std::ops::ControlFlow;

use timing::{
    Age, Blocked, Calendar, CalendarProblem, Clash, Error, Link, LinkKind, Obstacle, Probe,
    Project, Task, Work, check_calendar, clash_of, fit_project, solve_calendar,
};

/// Five windows of ten ticks, twenty apart; resource 0 is an oven, resource 1 a rack.
fn kitchen(projects: Vec<Project>) -> CalendarProblem {
    CalendarProblem {
        projects,
        windows: (0..5).map(|day| (day * 20, day * 20 + 10)).collect(),
        capacities: vec![1, 1],
        earliest: 0,
        ..CalendarProblem::default()
    }
}

/// One attended task, then one in the oven at least 2 ticks later.
fn project(attended: i64, oven: i64, due: i64) -> Project {
    Project {
        tasks: vec![
            Task {
                duration: attended,
                work: Work::Attended { breakable: true },
                uses: vec![],
                due: None,
                fixed: None,
            },
            Task {
                duration: oven,
                work: Work::Supervised,
                uses: vec![(0, 1)],
                due: None,
                fixed: None,
            },
        ],
        links: vec![Link { from: 0, to: 1, kind: LinkKind::FinishStart, min: 2, max: None }],
        holds: vec![],
        due,
        weight: 1,
        buffer: 0,
        ages: vec![Age { task: 1, due }],
        fresh_max: None,
    }
}

fn solved(problem: &CalendarProblem) -> Calendar {
    let calendar =
        solve_calendar(problem, 200, 1, &mut |_| ControlFlow::Continue(())).expect("placed");
    assert_eq!(check_calendar(problem, &calendar), []);
    calendar
}

/// Checks how one more project fits beside one of 8 attended and 6 oven ticks, due at 50.
fn check(asked: Project, expected: (Vec<i64>, i64, Option<Blocked>)) {
    let problem = kitchen(vec![project(8, 6, 50)]);
    let committed = solved(&problem);
    // It bakes 44..50, and is worked on in 40..42 and the six ticks before 30.
    assert_eq!(committed.spans[0][0].pieces, [(24, 30), (40, 42)]);
    let fit = fit_project(&problem, &committed, &asked).expect("placed");
    let starts: Vec<i64> = fit.spans.iter().map(|span| span.start).collect();
    assert_eq!((starts, fit.tardiness, fit.blocked_by), expected);

    // Both together break no rule.
    let mut both = problem.clone();
    both.projects.push(asked.clone());
    let mut together = committed.clone();
    together.cost +=
        1000 * asked.weight * fit.tardiness + (asked.due + fit.tardiness - fit.spans[1].start);
    together.spans.push(fit.spans);
    together.tardiness.push(fit.tardiness);
    together.blocked_by.push(fit.blocked_by);
    assert_eq!(check_calendar(&both, &together), []);
}

#[test]
fn one_more_project_fits_as_late_as_what_is_there_allows() {
    // The oven is free until 44, hands until 24.
    check(project(4, 2, 50), (vec![20, 42], 0, None));
    check(project(4, 6, 70), (vec![48, 64], 0, None));
}

#[test]
fn a_project_that_does_not_fit_is_told_what_is_in_the_way() {
    // Before the oven is taken, hands are free for 14 ticks only; between the second and the fourth window for none.
    let busy = Blocked { task: 0, obstacle: Obstacle::Maker };
    check(project(15, 2, 50), (vec![45, 80], 32, Some(busy)));
    // Nine ticks in the oven need a window of their own: 20..30 at best, and nothing was begun before the day before.
    let early = Blocked { task: 1, obstacle: Obstacle::Time };
    check(project(0, 9, 8), (vec![18, 20], 21, Some(early)));
}

#[test]
fn a_clash_names_the_fewest_projects_in_the_way_or_what_blocks_it_alone() {
    // Three orders a day apart, each in the oven for most of its window.
    let problem = kitchen([30, 50, 70].map(|due| project(2, 8, due)).to_vec());
    let committed = solved(&problem);
    let asked = |oven, due| clash_of(&problem, &committed, &project(1, oven, due)).expect("asked");
    assert_eq!(asked(2, 70), None);
    assert_eq!(asked(5, 90), None);
    // Nine ticks need a whole window: of the days before 50 the first is free for nobody's work before it.
    assert_eq!(asked(9, 50), Some(Clash { projects: vec![1], blocked_by: None }));
    let early = Blocked { task: 1, obstacle: Obstacle::Time };
    assert_eq!(asked(9, 8), Some(Clash { projects: vec![], blocked_by: Some(early) }));
}

#[test]
fn one_probe_answers_as_many_single_questions_do() {
    let problem = kitchen([30, 50, 70].map(|due| project(2, 8, due)).to_vec());
    let committed = solved(&problem);
    let probe = Probe::new(&problem, &committed).expect("laid out");
    for due in 10..90 {
        let asked = project(3, 4, due);
        assert_eq!(probe.fit(&asked), fit_project(&problem, &committed, &asked));
    }
}

#[test]
fn a_project_may_not_age_more_than_it_may() {
    let fresh = |most: i64| {
        let mut asked = project(4, 6, 38);
        asked.fresh_max = Some(most);
        solve_calendar(&kitchen(vec![asked]), 20, 1, &mut |_| ControlFlow::Continue(()))
    };
    // It bakes 24..30 and is due at 38: 14 ticks old.
    let on_time = fresh(14).expect("placed");
    assert_eq!((on_time.spans[0][1].start, on_time.tardiness[0]), (24, 0));
    // Fresher only if it is baked in the next window, so ready late.
    let late = fresh(6).expect("placed");
    assert_eq!((late.spans[0][1].start, late.tardiness[0]), (40, 8));
    assert_eq!(late.blocked_by[0], Some(Blocked { task: 1, obstacle: Obstacle::Age }));
    assert_eq!(fresh(5), Err(Error::Stale { project: 0, most: 5 }));
}

#[test]
fn a_calendar_of_another_problem_is_refused() {
    let problem = kitchen(vec![project(8, 6, 50)]);
    let mut other = solved(&problem);
    other.spans.clear();
    let refused = fit_project(&problem, &other, &project(4, 2, 50));
    assert_eq!(refused, Err(Error::Unknown { what: "project", index: 0, n: 1 }));
}
