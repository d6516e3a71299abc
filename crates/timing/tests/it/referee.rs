//! Small instances of ours whose optima an outside solver proved: `fixtures/timing/proved`, made again by `cargo xtask referee`.
//!
//! Our checkers must accept the outside answers at their values, no answer of ours may be below an optimum, no bound above.
//! How many answers reach the optimum, how many come near and how many bounds are tight is what it was when last improved:
//! all should, and where the engines fall short the counts say so.

use std::ops::ControlFlow;

use serde_json::Value;
use timing::{
    Calendar, CalendarProblem, Sequence, SequenceProblem, Span, Violation, Work, check_calendar,
    check_sequence, solve_calendar, solve_sequence,
};

use crate::documents;

const SEEDS: std::ops::RangeInclusive<u64> = 1..=3;

/// What was found with all seeds on all instances, counted.
#[derive(Debug, Default, PartialEq)]
struct Counts {
    all: usize,
    /// Answers that are the optimum.
    optimal: usize,
    /// Answers at most `slack` hundredths of the optimum above it.
    near: usize,
    /// Bounds that are the optimum.
    tight: usize,
}

impl Counts {
    fn count(&mut self, name: &str, optimum: i64, (found, bound): (i64, i64), slack: i64) {
        assert!(found >= optimum, "{name}: {found} is below the proved optimum {optimum}");
        assert!(
            bound <= optimum,
            "{name}: the bound {bound} is above the proved optimum {optimum}"
        );
        self.all += 1;
        self.optimal += usize::from(found == optimum);
        self.near += usize::from(found * 100 <= optimum * (100 + slack));
        self.tight += usize::from(bound == optimum);
    }
}

fn list(value: &Value) -> &[Value] {
    value.as_array().expect("a list")
}

fn int(value: &Value) -> i64 {
    value.as_i64().expect("a whole number")
}

fn proved(json: &str) -> Vec<Value> {
    let file: Value = serde_json::from_str(json).expect("JSON");
    list(&file["proved"]).to_vec()
}

/// Start and decorator.
fn place(value: &Value) -> (i64, usize) {
    (int(&value[0]), usize::try_from(int(&value[1])).expect("a decorator"))
}

/// The answer of the outside solver; it knows no switches and no idle time.
fn outside_sequence(entry: &Value) -> Sequence {
    let (starts, workers): (Vec<_>, Vec<_>) = list(&entry["rows"]).iter().map(place).unzip();
    let mut order: Vec<usize> = (0..starts.len()).collect();
    order.sort_by_key(|&row| starts[row]);
    let preps: Vec<Option<(i64, usize)>> = list(&entry["instance"]["bags"])
        .iter()
        .map(|bag| entry["preps"].get(bag["id"].as_str().expect("a text")).map(place))
        .collect();
    Sequence {
        starts,
        workers,
        prep_starts: preps.iter().map(|prep| prep.map(|one| one.0)).collect(),
        prep_workers: preps.iter().map(|prep| prep.map_or(0, |one| one.1)).collect(),
        order,
        active: int(&entry["optimum"]),
        switches: 0,
        n_wipes: 0,
        idle: 0,
        bound: 0,
        seed: 0,
        evaluations: 0,
    }
}

/// What breaks a rule, but for figures the outside solver does not tell.
fn broken(problem: &SequenceProblem, sequence: &Sequence) -> Vec<Violation> {
    let untold = |one: &Violation| matches!(one, Violation::Figure { name: "switches" | "idle" });
    check_sequence(problem, sequence).into_iter().filter(|one| !untold(one)).collect()
}

fn check_sequences(json: &str, expected: Counts) {
    let mut counts = Counts::default();
    for entry in proved(json) {
        let name = &entry["instance"]["name"];
        let problem = documents::sequence_of(&entry["instance"]);
        assert_eq!(broken(&problem, &outside_sequence(&entry)), [], "{name}, outside");
        for seed in SEEDS {
            let found = solve_sequence(&problem, 60_000, seed, &mut |_| ControlFlow::Continue(()))
                .expect("solved");
            assert_eq!(check_sequence(&problem, &found), [], "{name}, seed {seed}");
            let figures = (found.active, found.bound);
            counts.count(&format!("{name}, seed {seed}"), int(&entry["optimum"]), figures, 2);
        }
    }
    assert_eq!(counts, expected);
}

#[test]
fn sequences_of_one_decorator_agree_with_their_proved_optima() {
    let json = include_str!("../../../../fixtures/timing/proved/plain.json");
    check_sequences(json, Counts { all: 60, optimal: 60, near: 60, tight: 54 });
}

#[test]
fn sequences_with_wet_sections_agree_with_their_proved_optima() {
    let json = include_str!("../../../../fixtures/timing/proved/wet.json");
    check_sequences(json, Counts { all: 60, optimal: 60, near: 60, tight: 54 });
}

#[test]
fn sequences_of_two_decorators_agree_with_their_proved_optima() {
    let json = include_str!("../../../../fixtures/timing/proved/pair.json");
    check_sequences(json, Counts { all: 60, optimal: 60, near: 60, tight: 54 });
}

#[test]
fn sequences_of_two_evenings_keep_to_their_proved_optima() {
    let json = include_str!("../../../../fixtures/timing/proved/sessions.json");
    check_sequences(json, Counts { all: 60, optimal: 60, near: 60, tight: 51 });
}

/// The stretches in which a task is worked that begins at `start` and is cut by the ends of windows only.
fn span(windows: &[(i64, i64)], start: i64, duration: i64, breakable: bool) -> Span {
    let mut pieces = Vec::new();
    let mut left = duration;
    for &(open, close) in windows.iter().filter(|window| breakable && window.1 > start) {
        if left > 0 {
            let from = open.max(start);
            let to = close.min(from + left);
            pieces.push((from, to));
            left -= to - from;
        }
    }
    if !breakable {
        pieces.push((start, start + duration));
    }
    Span { start, end: pieces.last().map_or(start, |piece| piece.1), pieces }
}

/// The answer of the outside solver.
fn outside_calendar(entry: &Value, problem: &CalendarProblem) -> Calendar {
    let spans: Vec<Vec<Span>> = list(&entry["starts"])
        .iter()
        .zip(&problem.projects)
        .map(|(starts, project)| {
            list(starts)
                .iter()
                .zip(&project.tasks)
                .map(|(start, task)| {
                    let breakable = task.work == Work::Attended { breakable: true };
                    span(&problem.windows, int(start), task.duration, breakable)
                })
                .collect()
        })
        .collect();
    let tardiness = spans.iter().zip(&problem.projects).map(|(spans, project)| {
        let end = spans.iter().map(|span| span.end).max().expect("tasks");
        (end + project.buffer - project.due).max(0)
    });
    Calendar {
        tardiness: tardiness.collect(),
        blocked_by: vec![None; spans.len()],
        spans,
        cost: int(&entry["optimum"]),
        bound: 0,
        seed: 0,
        evaluations: 0,
    }
}

/// Checks the calendars of some kinds; `late` counts answers with tardiness where none is needed.
fn check_calendars(kinds: &[&str], budget: u64, expected: Counts, expected_late: usize) {
    let mut counts = Counts::default();
    let mut late = 0;
    for entry in proved(include_str!("../../../../fixtures/timing/proved/calendar.json")) {
        let name = entry["instance"]["name"].as_str().expect("a name");
        if !kinds.iter().any(|kind| name.starts_with(kind)) {
            continue;
        }
        let problem = documents::calendar_of(&entry["instance"]);
        let outside = outside_calendar(&entry, &problem);
        assert_eq!(check_calendar(&problem, &outside), [], "{name}, outside");
        assert_eq!(outside.tardiness.iter().sum::<i64>(), int(&entry["late"]), "{name}");
        for seed in SEEDS {
            let found = solve_calendar(&problem, budget, seed, &mut |_| ControlFlow::Continue(()))
                .expect("placed");
            assert_eq!(check_calendar(&problem, &found), [], "{name}, seed {seed}");
            late += usize::from(entry["late"] == 0 && found.tardiness.iter().any(|&one| one > 0));
            let figures = (found.cost, found.bound);
            counts.count(&format!("{name}, seed {seed}"), int(&entry["optimum"]), figures, 1);
        }
    }
    assert_eq!((counts, late), (expected, expected_late));
}

#[test]
fn easy_calendars_and_late_ones_agree_with_their_proved_optima() {
    let counts = Counts { all: 30, optimal: 30, near: 30, tight: 15 };
    check_calendars(&["easy", "late"], 5_000, counts, 0);
}

/// Short: where nine of ten working hours are taken, some searches stay where orders are later than need be.
#[test]
fn tight_calendars_keep_to_their_proved_optima() {
    let counts = Counts { all: 30, optimal: 19, near: 24, tight: 0 };
    check_calendars(&["tight"], 30_000, counts, 1);
}

/// Short: no calendar is found on 4 of 10, though each has one.
#[test]
fn windows_cut_off_behind_the_outside_answers_are_mostly_long_enough() {
    let mut n_placed = 0;
    for entry in proved(include_str!("../../../../fixtures/timing/proved/calendar.json")) {
        let name = entry["instance"]["name"].as_str().expect("a name");
        if !name.starts_with("tight") {
            continue;
        }
        let mut problem = documents::calendar_of(&entry["instance"]);
        let outside = outside_calendar(&entry, &problem);
        let last = outside.spans.iter().flatten().map(|span| span.end).max().expect("tasks");
        problem.windows.retain(|window| window.0 < last);
        let found = solve_calendar(&problem, 10_000, 1, &mut |_| ControlFlow::Continue(()));
        if let Ok(found) = found {
            assert_eq!(check_calendar(&problem, &found), [], "{name}");
            n_placed += 1;
        }
    }
    assert_eq!(n_placed, 6);
}
