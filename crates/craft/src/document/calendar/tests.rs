use std::ops::ControlFlow;

use serde_json::{Value, json};
use timing::check_calendar;

use super::{compile::compile, *};
use crate::document::{schema, ticks::changes};

const WEEK: &str = include_str!("../../../../../fixtures/timing/calendar_week.json");
const FORTNIGHT: &str = include_str!("../../../../../fixtures/timing/calendar_fortnight.json");

fn answered(text: &str) -> ScheduleAnswer {
    schedule(&read_schedule_request(text).expect("a request")).expect("an answer")
}

fn refused(text: &str) -> String {
    let answer = read_schedule_request(text).and_then(|request| schedule(&request));
    answer.expect_err("it cannot be answered").to_string()
}

/// Two orders, invented.
fn request() -> Value {
    let tasks = json!([
        {"id": "dough", "kind": "attended", "dur": 4, "use": {"mixer": 1}},
        {"id": "bake", "kind": "supervised", "dur": 3, "use": {"oven": 1}},
        {"id": "ice", "kind": "attended", "dur": 14, "breakable": true},
        {"id": "dry", "kind": "unattended", "dur": 6}
    ]);
    let order = |id: &str, due: i64| {
        json!({"id": id, "due": due, "buffer": 2, "fresh_max": 90, "tasks": tasks,
            "links": [["dough", "bake", "FS", 1, 30], ["bake", "ice", "FS", 1, null], ["ice", "dry", "FS", 0, 0]],
            "hold": [{"res": "rack", "qty": 2, "from": "bake", "to": "dry"}]})
    };
    json!({
        "format": "calendar/1",
        "tick_minutes": 15,
        "windows": [[0, 10], [20, 30], [40, 50], [60, 70], [80, 90], [100, 110]],
        "resources": {"mixer": 1, "oven": 1, "rack": 4},
        "orders": [order("A", 80), order("B", 100)],
        "evaluations": 500
    })
}

/// The request with one value set anew, or added.
fn with(path: &str, value: Value) -> String {
    changes::set(request(), path, value)
}

/// Budgets with which each of five seeds of the engine reaches the optimum an independent solver proved.
#[test]
fn the_instances_are_solved_as_documents_to_their_proved_optima() {
    for (text, cost, budget) in [(WEEK, 3118, 2_000), (FORTNIGHT, 6984, 30_000)] {
        let mut request = read_schedule_request(text).expect("a request");
        request.evaluations = budget;
        let answer = schedule(&request).expect("an answer");
        assert_eq!((answer.cost, answer.tardiness, answer.seed), (cost, 0, 1));
        assert!(answer.late.is_empty() && answer.why_late.is_empty());
        // What the document says is what the engine found, and that is sound.
        let problem = compile(&request).expect("a problem");
        let found = timing::solve_calendar(&problem, budget.unsigned_abs(), 1, &mut |_| {
            ControlFlow::Continue(())
        })
        .expect("solved");
        assert_eq!(check_calendar(&problem, &found), []);
        for (order, spans) in request.orders.iter().zip(&found.spans) {
            for (task, span) in order.tasks.iter().zip(spans) {
                assert_eq!(answer.orders[&order.id][&task.id], (span.start, span.end));
            }
        }
    }
}

#[test]
fn every_request_comes_back_as_it_went_in_and_uses_only_keys_of_the_schema() {
    let schema = schema("schedule-request").expect("a schema");
    for text in [WEEK, FORTNIGHT] {
        let request = read_schedule_request(text).expect("a request");
        let written = serde_json::to_string(&request).expect("JSON");
        assert_eq!(read_schedule_request(&written), Ok(request));
        let given: Value = serde_json::from_str(text).expect("JSON");
        for key in given.as_object().expect("a table").keys() {
            assert!(schema["properties"][key].is_object(), "{key}");
        }
    }
}

#[test]
fn a_task_that_windows_cut_tells_its_pieces() {
    let answer = answered(&request().to_string());
    assert!(answer.late.is_empty(), "{answer:?}");
    let pieces = &answer.pieces["A"]["ice"];
    assert_eq!(pieces.iter().map(|(from, to)| to - from).sum::<i64>(), 14);
    let (start, end) = answer.orders["A"]["ice"];
    assert_eq!((pieces[0].0, pieces[pieces.len() - 1].1), (start, end));
    assert!(!answer.pieces["A"].contains_key("dough"));
}

#[test]
fn a_late_order_names_the_task_and_what_was_in_its_way() {
    // The rack holds one order at a time, and each needs it for two windows.
    let mut crowded = request();
    crowded["resources"]["rack"] = json!(2);
    crowded["orders"][1]["due"] = json!(60);
    crowded["orders"][0]["due"] = json!(60);
    let answer = answered(&crowded.to_string());
    let (late, why) = answer.why_late.first_key_value().expect("one is late");
    assert!(answer.late[late] > 0 && answer.tardiness > 0);
    assert!(why.starts_with(&format!("{late} is ")) && why.contains("task"), "{why}");

    let mut early = request();
    early["orders"][0]["due"] = json!(15);
    let why = &answered(&early.to_string()).why_late["A"];
    assert!(why.contains("would have to begin before the first window"), "{why}");

    // Both want the oven in the only window there is before their due time.
    let bake = |id: &str| {
        json!({"id": id, "due": 10, "tasks": [
            {"id": "bake", "kind": "supervised", "dur": 8, "use": {"oven": 1}}]})
    };
    let text = json!({"windows": [[0, 10], [20, 30]], "resources": {"oven": 1},
        "orders": [bake("A"), bake("B")]});
    let answer = answered(&text.to_string());
    let (late, why) = answer.why_late.first_key_value().expect("one is late");
    let expected = format!(
        "{late} is 18 ticks late: there is not enough of oven free where the task bake would lie."
    );
    assert_eq!(*why, expected);
}

#[test]
fn what_makes_no_sense_is_refused_with_its_place_and_what_to_do() {
    let order = |id: usize| {
        let mut order = request()["orders"][0].clone();
        order["id"] = json!(id.to_string());
        order
    };
    let many: Vec<Value> = (0..101).map(order).collect();
    let tasks: Vec<Value> = (0..10_000)
        .map(|at| json!({"id": at.to_string(), "kind": "unattended", "dur": 1}))
        .collect();
    let deep = format!("{{\"orders\": {}{}}}", "[".repeat(5000), "]".repeat(5000));
    let cases: Vec<(String, &str)> = vec![
        (
            with("/format", json!("sequence/1")),
            "format: \"sequence/1\" is not read here; this command reads \"calendar/1\"",
        ),
        (with("/window", json!([])), "line 1: unknown key \"window\"; did you mean \"windows\"?"),
        (with("/tick_minutes", json!(0)), "tick_minutes: 0 is outside 1 to 1440"),
        (with("/earliest", json!(-1)), "earliest: -1 is outside"),
        (
            with("/earliest", json!(110)),
            "windows: all of them close before the earliest start, 110; give later ones",
        ),
        (with("/evaluations", json!(i64::MAX)), "evaluations: 9223372036854775807 is outside"),
        (with("/windows", json!([])), "windows: there is no working window; give at least one"),
        (
            with("/windows/1", json!([5, 30])),
            "windows[1]: it opens at 5, before the one in front of it closes at 10",
        ),
        (
            with("/windows/1", json!([30, 20])),
            "windows[1]: it opens at 30 and closes at 20; close it later",
        ),
        (with("/windows/3", json!([60, i64::MAX])), "windows[3]: 9223372036854775807 is outside"),
        (
            with("/windows", json!([[0, 3], [10, 13]])),
            "orders[0].tasks[0].dur: the task \"dough\" takes 4 ticks without a break, and the longest window has 3; shorten it, widen a window, or make it breakable",
        ),
        (with("/resources/oven", json!(-1)), "resources: \"oven\": -1 is outside"),
        (
            with("/resources/oven", json!(0)),
            "orders[0].tasks[1].use: 1 of \"oven\" are wanted, and there are 0",
        ),
        (
            with("/resources", json!({})),
            "orders[0].tasks[0].use: there is no resource \"mixer\"; there is no resource at all",
        ),
        (with("/orders", json!([])), "orders: there is no order"),
        (with("/orders", json!(many)), "orders: 101 are too many; ask for 100"),
        (with("/orders/1/id", json!("A")), "orders[1].id: \"A\" is the id of orders[0] too"),
        (with("/orders/1/weight", json!(0)), "orders[1].weight: 0 is outside"),
        (with("/orders/1/buffer", json!(-1)), "orders[1].buffer: -1 is outside"),
        (with("/orders/1/due", json!(-1)), "orders[1].due: -1 lies in the past"),
        (
            with("/orders/1/due", json!(0)),
            "orders[1].due: 0 is no later than 0, when the first work can begin",
        ),
        (with("/orders/1/due", json!(i64::MAX)), "orders[1].due: 9223372036854775807 is outside"),
        (with("/orders/1/fresh_max", json!(-1)), "orders[1].fresh_max: -1 is outside"),
        (
            with("/orders/1/fresh_max", json!(5)),
            "orders[1].fresh_max: more than 5 ticks lie between",
        ),
        (with("/orders/1/tasks", json!([])), "orders[1].tasks: there is no task"),
        (with("/orders/1/tasks", json!(tasks)), "orders: 10004 tasks are too many; ask for 1000"),
        (
            with("/orders/1/tasks/1/id", json!("dough")),
            "orders[1].tasks[1].id: \"dough\" is the id of tasks[0] too",
        ),
        (
            with("/orders/1/tasks/3/id", json!("dri")),
            "orders[1].links[2]: there is no task \"dry\"; did you mean \"dri\"?",
        ),
        (
            with("/orders/1/tasks/0/kind", json!("done")),
            "orders[1].tasks[0].kind: \"done\" is not possible here; write one of attended, supervised, unattended",
        ),
        (with("/orders/1/tasks/0/dur", json!(-1)), "orders[1].tasks[0].dur: -1 is outside"),
        (
            with("/orders/1/tasks/1/dur", json!(11)),
            "orders[1].tasks[1].dur: the task \"bake\" takes 11 ticks without a break, and the longest window has 10; shorten it, widen a window",
        ),
        (
            with("/orders/1/tasks/2/dur", json!(500)),
            "orders[1].tasks[2]: the task \"ice\" finds no room, however late the order may be; give more windows",
        ),
        (
            with("/orders/1/tasks/1/breakable", json!(true)),
            "orders[1].tasks[1].breakable: only attended tasks can be cut, and this one is supervised",
        ),
        (
            with("/orders/1/tasks/0/use/mixr", json!(1)),
            "orders[1].tasks[0].use: there is no resource \"mixr\"; did you mean \"mixer\"?",
        ),
        (
            with("/orders/1/tasks/0/use/mixer", json!(-1)),
            "orders[1].tasks[0].use: \"mixer\": -1 is outside",
        ),
        (
            with("/orders/1/links/0/0", json!("cool")),
            "orders[1].links[0]: there is no task \"cool\"; known here are dough, bake, ice, dry",
        ),
        (
            with("/orders/1/links/0/1", json!("dough")),
            "orders[1].links[0]: the task \"dough\" stands here twice",
        ),
        (
            with("/orders/1/links/0/2", json!("SF")),
            "orders[1].links[0]: \"SF\" is not possible here; write one of FS, SS, FF",
        ),
        (with("/orders/1/links/0/3", json!(-1)), "orders[1].links[0]: -1 is outside"),
        (
            with("/orders/1/links/0/3", json!(31)),
            "orders[1].links[0]: the most time 30 is below the least 31",
        ),
        (
            with("/orders/1/links/-", json!(["dry", "dough", "SS", 0, null])),
            "orders[1].links: \"dough\" > \"bake\" > \"ice\" > \"dry\" > \"dough\" wait for each other in a circle",
        ),
        (
            with("/orders/1/hold/0/res", json!("rak")),
            "orders[1].hold[0].res: there is no resource \"rak\"; did you mean \"rack\"?",
        ),
        (
            with("/orders/1/hold/0/qty", json!(5)),
            "orders[1].hold[0].qty: 5 of \"rack\" are wanted, and there are 4",
        ),
        (
            with("/orders/1/hold/0/to", json!("bake")),
            "orders[1].hold[0].to: the task \"bake\" stands in from too",
        ),
        (
            with("/orders/1/hold/0/from", json!("cool")),
            "orders[1].hold[0].from: there is no task \"cool\"",
        ),
        ("{}".into(), "line 1: the key \"windows\" is missing; add it"),
        ("[]".into(), "it is a list; write names and values in braces"),
        ("".into(), "line 1: "),
        (deep, "line 1: "),
    ];
    for (text, words) in cases {
        let message = refused(&text);
        assert!(message.contains(words), "{words}: {message}");
        assert!(message.starts_with("schedule request"), "{message}");
        assert!(message.lines().count() == 1 && message.len() < 500, "{message}");
    }
}

#[test]
fn freshness_counts_from_baking() {
    let mut request = request();
    request["orders"][1]["tasks"][1]["id"] = json!("oven");
    request["orders"][1]["links"] = json!([]);
    request["orders"][1]["hold"] = json!([]);
    assert_eq!(
        refused(&request.to_string()),
        "schedule request: orders[1].fresh_max: it counts from the start of a task \"bake\", and there is none; name a task so, or leave fresh_max out"
    );
}

#[test]
fn the_largest_request_is_answered_at_once() {
    let order = |at: usize| {
        let tasks: Vec<Value> = (0..10)
            .map(|task| {
                json!({"id": task.to_string(), "kind": "attended", "dur": 30, "breakable": true, "use": {"oven": 1}})
            })
            .collect();
        let links: Vec<Value> = (0..9)
            .map(|task| json!([task.to_string(), (task + 1).to_string(), "FS", 10, 500]))
            .collect();
        json!({"id": at.to_string(), "due": 100 + at, "weight": 1000, "tasks": tasks, "links": links})
    };
    let text = json!({
        "windows": (0..1000).map(|day| [day * 100, day * 100 + 50]).collect::<Vec<_>>(),
        "resources": {"oven": 1},
        "orders": (0..100).map(order).collect::<Vec<_>>(),
        "evaluations": 20
    });
    let answer = answered(&text.to_string());
    assert_eq!((answer.orders.len(), answer.late.len()), (100, 100));
}

#[test]
fn many_tasks_look_at_fewer_plans() {
    let mut request = read_schedule_request(FORTNIGHT).expect("a request");
    assert_eq!(budget(&request), Ok(100_000));
    request.evaluations = MOST_EVALUATIONS;
    // 20 s at 0.5 us for each of 80 tasks.
    assert_eq!(budget(&request), Ok(500_000));
}

#[test]
fn the_guide_tells_what_is_answered() {
    let guide = include_str!("../../../../../docs/guide.md");
    let told: Vec<&str> =
        guide.split("```json").skip(1).filter_map(|rest| rest.split("```").next()).collect();
    let answer: ScheduleAnswer = serde_json::from_str(told[3]).expect("an answer");
    assert_eq!(answered(told[2]), answer);
}

#[test]
fn any_value_in_any_place_is_answered_or_refused_in_a_sentence() {
    let mut request = request();
    request["evaluations"] = json!(60);
    let (mut n_answered, mut n_refused) = (0, 0);
    for text in changes::all(&request) {
        match read_schedule_request(&text).and_then(|request| schedule(&request)) {
            Ok(_) => n_answered += 1,
            Err(error) => {
                let message = error.to_string();
                assert!(message.starts_with("schedule request"), "{text}: {message}");
                assert_eq!(message.lines().count(), 1, "{text}: {message}");
                n_refused += 1;
            }
        }
    }
    assert!(n_answered > 50 && n_refused > 500, "{n_answered} and {n_refused}");
}
