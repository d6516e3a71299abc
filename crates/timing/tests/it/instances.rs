//! Our own instances, whose optima an independent solver proved (CP-SAT of OR-tools 9.12; see fixtures/PROVENANCE.toml).

use std::{collections::BTreeMap, ops::ControlFlow};

use serde_json::Value;
use timing::{
    Bag, CalendarProblem, EitherOrder, Hold, Job, Link, LinkKind, Precedence, Project,
    SequenceProblem, SetUp, Task, Work, check_calendar, check_sequence, row_lag, solve_calendar,
    solve_sequence,
};

fn int(value: &Value) -> i64 {
    value.as_i64().expect("a whole number")
}

fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

fn text(value: &Value) -> &str {
    value.as_str().expect("a text")
}

/// A row of the instance: a section over all copies of its design.
struct Row<'a> {
    design: usize,
    section: &'a str,
    copies: i64,
    bag: usize,
    per_copy: i64,
}

/// Reads the format `sequence/1`, wet-on-wet pairs aside, and compiles it.
fn sequence(json: &str) -> SequenceProblem {
    let instance: Value = serde_json::from_str(json).expect("JSON");
    let bags = list(&instance["bags"]);
    let bag_of: BTreeMap<&str, usize> =
        bags.iter().enumerate().map(|(at, bag)| (text(&bag["id"]), at)).collect();
    let colors: Vec<&str> = bags.iter().map(|bag| text(&bag["color"])).collect();
    let color_of =
        |color: &str| colors.iter().position(|known| *known == color).expect("a known color");

    let mut rows: Vec<Row<'_>> = Vec::new();
    for (place, design) in list(&instance["designs"]).iter().enumerate() {
        assert!(list(&design["wet"]).is_empty(), "wet-on-wet pairs are not compiled here");
        rows.extend(list(&design["sections"]).iter().map(|section| Row {
            design: place,
            section: text(&section["id"]),
            copies: int(&design["copies"]),
            bag: bag_of[text(&section["bag"])],
            per_copy: int(&section["per_copy"]),
        }));
    }
    let row_of = |design: usize, id: &str| {
        rows.iter().position(|row| row.design == design && row.section == id).expect("a row")
    };
    let (mut precedences, mut either_orders) = (Vec::new(), Vec::new());
    for (design_at, design) in list(&instance["designs"]).iter().enumerate() {
        let lag = |a: usize, b: usize, lag: i64| {
            row_lag(rows[a].per_copy, rows[b].per_copy, rows[a].copies, lag)
        };
        for arc in list(&design["overlay"]) {
            let (before, after) =
                (row_of(design_at, text(&arc[0])), row_of(design_at, text(&arc[1])));
            precedences.push(Precedence { before, after, lag: lag(before, after, int(&arc[2])) });
        }
        for pair in list(&design["adjacent"]) {
            let (a, b) = (row_of(design_at, text(&pair[0])), row_of(design_at, text(&pair[1])));
            either_orders.push(EitherOrder {
                a,
                b,
                lag_ab: lag(a, b, int(&pair[2])),
                lag_ba: lag(b, a, int(&pair[2])),
            });
        }
    }
    SequenceProblem {
        jobs: rows
            .iter()
            .map(|row| Job { duration: row.copies * row.per_copy, bag: row.bag })
            .collect(),
        bags: bags
            .iter()
            .map(|bag| Bag { color: color_of(text(&bag["color"])), prep: int(&bag["prep"]) })
            .collect(),
        precedences,
        either_orders,
        set_up: SetUp {
            same_color: int(&instance["switch"]["same_color"]),
            other: int(&instance["switch"]["other"]),
        },
        windows: None,
        n_workers: 1,
        exclusive: Vec::new(),
    }
}

/// Reads the format `calendar/1`.
fn calendar(json: &str) -> CalendarProblem {
    let instance: Value = serde_json::from_str(json).expect("JSON");
    let resources = instance["resources"].as_object().expect("resources");
    let names: Vec<&String> = resources.keys().collect();
    let resource =
        |name: &str| names.iter().position(|known| *known == name).expect("a known resource");
    let projects = list(&instance["orders"])
        .iter()
        .map(|order| {
            let tasks = list(&order["tasks"]);
            let task =
                |id: &Value| tasks.iter().position(|task| task["id"] == *id).expect("a known task");
            Project {
                tasks: tasks
                    .iter()
                    .map(|task| Task {
                        duration: int(&task["dur"]),
                        work: match text(&task["kind"]) {
                            "supervised" => Work::Supervised,
                            _ => Work::Attended { breakable: task["breakable"] == true },
                        },
                        uses: task["use"]
                            .as_object()
                            .expect("uses")
                            .iter()
                            .map(|(name, n)| (resource(name), int(n)))
                            .collect(),
                    })
                    .collect(),
                links: list(&order["links"])
                    .iter()
                    .map(|link| Link {
                        from: task(&link[0]),
                        to: task(&link[1]),
                        kind: match text(&link[2]) {
                            "SS" => LinkKind::StartStart,
                            "FF" => LinkKind::FinishFinish,
                            _ => LinkKind::FinishStart,
                        },
                        min: int(&link[3]),
                        max: link[4].as_i64(),
                    })
                    .collect(),
                holds: list(&order["hold"])
                    .iter()
                    .map(|hold| Hold {
                        resource: resource(text(&hold["res"])),
                        quantity: int(&hold["qty"]),
                        from: task(&hold["from"]),
                        to: task(&hold["to"]),
                    })
                    .collect(),
                due: int(&order["due"]),
                weight: int(&order["weight"]),
                buffer: int(&order["buffer"]),
                age_from: Some(task(&"bake".into())),
            }
        })
        .collect();
    CalendarProblem {
        projects,
        windows: list(&instance["windows"])
            .iter()
            .map(|window| (int(&window[0]), int(&window[1])))
            .collect(),
        capacities: names.iter().map(|name| int(&resources[*name])).collect(),
        earliest: 0,
    }
}

fn check_sequence_instance(json: &str, optimum: i64, budget: u64) {
    let problem = sequence(json);
    for seed in 1..=5 {
        let found = solve_sequence(&problem, budget, seed, &mut |_| ControlFlow::Continue(()))
            .expect("solved");
        assert_eq!(check_sequence(&problem, &found), [], "seed {seed}");
        assert!(found.bound <= optimum, "the bound {} is above the proved optimum", found.bound);
        assert_eq!(found.active, optimum, "seed {seed}");
    }
}

#[test]
fn the_small_sequence_reaches_its_proved_optimum_on_each_seed() {
    check_sequence_instance(
        include_str!("../../../../fixtures/timing/sequence_small.json"),
        827,
        300_000,
    );
}

#[test]
fn the_typical_sequence_reaches_its_proved_optimum_on_each_seed() {
    check_sequence_instance(
        include_str!("../../../../fixtures/timing/sequence_typical.json"),
        2461,
        300_000,
    );
}

/// Checks that the calendar is sound, on time, and costs no more than `share` of the proved optimum.
fn check_calendar_instance(json: &str, optimum: i64, share: f64, budget: u64) {
    let problem = calendar(json);
    for seed in 1..=3 {
        let found = solve_calendar(&problem, budget, seed, &mut |_| ControlFlow::Continue(()))
            .expect("solved");
        assert_eq!(check_calendar(&problem, &found), [], "seed {seed}");
        assert!(found.tardiness.iter().all(|&tardy| tardy == 0));
        assert!(found.cost >= optimum, "{} is better than the proved optimum", found.cost);
        assert!(
            found.cost as f64 <= optimum as f64 * share,
            "seed {seed}: {} against {optimum}",
            found.cost
        );
    }
}

#[test]
fn the_week_is_placed_close_to_its_proved_optimum() {
    check_calendar_instance(
        include_str!("../../../../fixtures/timing/calendar_week.json"),
        3118,
        1.02,
        2_000,
    );
}

#[test]
fn the_fortnight_is_placed_close_to_its_proved_optimum() {
    check_calendar_instance(
        include_str!("../../../../fixtures/timing/calendar_fortnight.json"),
        6984,
        1.03,
        2_000,
    );
}
