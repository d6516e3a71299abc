use std::ops::ControlFlow;

use serde_json::{Value, json};
use timing::check_sequence;

use super::{compile::compile, *};
use crate::document::{schema, ticks::changes};

const SMALL: &str = include_str!("../../../../../fixtures/timing/sequence_small.json");
const TYPICAL: &str = include_str!("../../../../../fixtures/timing/sequence_typical.json");
const WET: &str = include_str!("../../../../../fixtures/timing/sequence_wet.json");

fn answered(text: &str) -> SequenceAnswer {
    sequence(&read_sequence_request(text).expect("a request")).expect("an answer")
}

fn refused(text: &str) -> String {
    let answer = read_sequence_request(text).and_then(|request| sequence(&request));
    answer.expect_err("it cannot be answered").to_string()
}

/// Two designs, invented: one with a neighbor, a top layer and a dot that is wet on its base.
fn request() -> Value {
    json!({
        "format": "sequence/1",
        "tick_seconds": 6,
        "wet_swap": 2,
        "switch": {"same_color": 5, "other": 10},
        "bags": [
            {"id": "red-flood", "color": "red", "consistency": "flood", "prep": 20},
            {"id": "red-piping", "color": "red", "consistency": "piping", "prep": 30},
            {"id": "white-flood", "color": "white", "consistency": "flood", "prep": 20}
        ],
        "designs": [
            {"id": "heart", "copies": 4, "sections": [
                {"id": "base", "bag": "red-flood", "per_copy": 10},
                {"id": "dots", "bag": "white-flood", "per_copy": 3},
                {"id": "side", "bag": "red-flood", "per_copy": 6},
                {"id": "rim", "bag": "red-piping", "per_copy": 5}
            ],
            "adjacent": [["base", "side", 100]],
            "overlay": [["base", "rim", 200], ["side", "rim", 200]],
            "wet": [["base", "dots", 20]]},
            {"id": "dot", "copies": 6, "sections": [
                {"id": "base", "bag": "white-flood", "per_copy": 8}
            ]}
        ],
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
    for (text, n_rows, active, budget) in
        [(SMALL, 13, 827, 30_000), (TYPICAL, 37, 2461, 60_000), (WET, 23, 2791, 60_000)]
    {
        let mut request = read_sequence_request(text).expect("a request");
        request.evaluations = budget;
        let answer = sequence(&request).expect("an answer");
        assert_eq!((answer.active, answer.seed), (active, 1));
        assert_eq!((answer.rows.len(), answer.passes.len()), (n_rows, n_rows));
        // What the document says is what the engine found, and that is sound.
        let compiled = compile(&request).expect("a problem");
        let found =
            timing::solve_sequence(&compiled.problem, budget.unsigned_abs(), 1, &mut |_| {
                ControlFlow::Continue(())
            })
            .expect("solved");
        assert_eq!(check_sequence(&compiled.problem, &found), []);
        assert_eq!((&found.starts, found.bound), (&answer.starts, answer.bound));
    }
}

#[test]
fn every_request_comes_back_as_it_went_in_and_uses_only_keys_of_the_schema() {
    let schema = schema("sequence-request").expect("a schema");
    for text in [SMALL, TYPICAL, WET] {
        let request = read_sequence_request(text).expect("a request");
        let written = serde_json::to_string(&request).expect("JSON");
        assert_eq!(read_sequence_request(&written), Ok(request));
        let given: Value = serde_json::from_str(text).expect("JSON");
        for key in given.as_object().expect("a table").keys() {
            assert!(schema["properties"][key].is_object(), "{key}");
        }
    }
}

#[test]
fn passes_keep_what_each_cookie_needs() {
    let answer = answered(&request().to_string());
    assert_eq!(answer.rows, ["heart/base", "heart/side", "heart/rim", "dot/base"]);
    let start = |id: &str| {
        let pass =
            answer.passes.iter().find(|pass| format!("{}/{}", pass.design, pass.sections[0]) == id);
        pass.expect("a pass")
    };
    let base = start("heart/base");
    // Three cookies of 10 ticks and a swap: 3 * 10 - 10 + 2 = 22 is above 20, so two at a time; four swaps less one.
    assert_eq!(base.sections, ["base", "dots"]);
    assert_eq!((base.block, base.end - base.start), (Some(2), 4 * 13 + 3 * 2));
    // On the last cookie, `rim` begins 200 after `side` ends; a row of 5 behind one of 6.
    let (side, rim) = (start("heart/side"), start("heart/rim"));
    assert!(rim.start + 3 * 5 >= side.start + 4 * 6 + 200, "{answer:?}");
    assert_eq!((rim.bag.as_str(), rim.block, rim.decorator), ("red-piping", None, 1));
    let starts: Vec<i64> = answer.passes.iter().map(|pass| pass.start).collect();
    assert!(starts.is_sorted());
    let mut ids = answer.order.clone();
    ids.sort_unstable();
    assert_eq!(ids, ["dot/base", "heart/base", "heart/rim", "heart/side"]);
    assert_eq!(answer.preparations.len(), 3);
    assert!(answer.preparations[0].start == 0 && answer.bound <= answer.active);
}

#[test]
fn two_decorators_never_work_on_one_design() {
    let mut request = request();
    request["designs"][1]["copies"] = json!(60);
    let alone = answered(&request.to_string());
    request["decorators"] = json!(2);
    let answer = answered(&request.to_string());
    let hearts: Vec<_> = answer.passes.iter().filter(|pass| pass.design == "heart").collect();
    assert!(hearts.windows(2).all(|pair| pair[0].end <= pair[1].start), "{hearts:?}");
    assert!(answer.passes.iter().any(|pass| pass.decorator == 2), "{answer:?}");
    assert!(answer.active < alone.active, "{} after {}", answer.active, alone.active);
}

#[test]
fn work_lies_in_sessions() {
    let sessions = [(10, 150), (1000, 1200), (2000, 2300)];
    let answer = answered(&with("/sessions", json!(sessions)));
    for pass in &answer.passes {
        let holds = |&(open, close): &(i64, i64)| open <= pass.start && pass.end <= close;
        assert!(sessions.iter().any(holds), "{pass:?}");
    }
}

#[test]
fn a_chain_of_wet_sections_is_one_pass() {
    let mut request = request();
    request["designs"][0]["wet"] = json!([["base", "dots", 40], ["dots", "rim", 40]]);
    request["designs"][0]["overlay"] = json!([]);
    let answer = answered(&request.to_string());
    let pass = answer.passes.iter().find(|pass| pass.sections.len() > 1).expect("a wet pass");
    assert_eq!(pass.sections, ["base", "dots", "rim"]);
}

#[test]
fn what_makes_no_sense_is_refused_with_its_place_and_what_to_do() {
    let section = |id: &str| json!({"id": id, "bag": "red-flood", "per_copy": 6});
    let many: Vec<Value> = (0..10_000).map(|at| section(&at.to_string())).collect();
    let deep = format!("{{\"bags\": {}{}}}", "[".repeat(5000), "]".repeat(5000));
    let cases: Vec<(String, &str)> = vec![
        (
            with("/format", json!("sequence/2")),
            "format: \"sequence/2\" is not read here; this command reads \"sequence/1\"",
        ),
        (with("/format", json!("calendar/1")), "format: \"calendar/1\" is not read here"),
        (with("/format", json!(1)), "format: \"1\" is not read here"),
        (
            with("/tick_second", json!(6)),
            "line 1: unknown key \"tick_second\"; did you mean \"tick_seconds\"?",
        ),
        (with("/tick_seconds", json!(0)), "tick_seconds: 0 is outside 1 to 3600"),
        (with("/decorators", json!(0)), "decorators: 0 is outside 1 to 3; correct it"),
        (with("/decorators", json!(4)), "decorators: 4 is outside 1 to 3"),
        (with("/wet_swap", json!(-1)), "wet_swap: -1 is outside"),
        (with("/switch/other", json!(-1)), "switch.other: -1 is outside"),
        (with("/evaluations", json!(0)), "evaluations: 0 is outside"),
        (with("/evaluations", json!(1e12)), "line 1: "),
        (with("/seed", json!(-1)), "line 1: "),
        (with("/sessions", json!([])), "sessions: there is no session; give at least one"),
        (
            with("/sessions", json!([[0, 500], [400, 900]])),
            "sessions[1]: it opens at 400, before the one in front of it closes at 500; put them in order",
        ),
        (with("/sessions", json!([[500, 500]])), "sessions[0]: it opens at 500 and closes at 500"),
        (with("/sessions", json!([[-5, 500]])), "sessions[0]: -5 is outside"),
        (
            with("/sessions", json!([[0, 40], [50, 75]])),
            "designs[0].sections[0]: the pass of \"base\" over 4 copies takes 58 ticks without a break, and the longest session has 40",
        ),
        (
            with("/sessions", json!([[0, 90], [100, 190]])),
            "sessions: the pass \"heart/base\" finds no room in them; give more or longer ones",
        ),
        (with("/bags/0/prep", json!(-1)), "bags[0].prep: -1 is outside"),
        (
            with("/bags/1/id", json!("red-flood")),
            "bags[1].id: \"red-flood\" is the id of bags[0] too",
        ),
        (with("/bags", json!([])), "bags: there is no bag; give at least one"),
        (with("/designs", json!([])), "designs: there is no design"),
        (
            with("/designs/1/id", json!("heart")),
            "designs[1].id: \"heart\" is the id of designs[0] too",
        ),
        (with("/designs/1/id", json!(" ")), "designs[1].id: the design has no id"),
        (with("/designs/1/copies", json!(0)), "designs[1].copies: 0 is outside 1 to 2000"),
        (
            with("/designs/1/copies", json!(i64::MAX)),
            "designs[1].copies: 9223372036854775807 is outside",
        ),
        (with("/designs/1/sections", json!([])), "designs[1].sections: there is no section"),
        (
            with("/designs/1/sections", json!(many)),
            "designs: 10004 sections are too many; ask for 400",
        ),
        (
            with("/designs/0/sections/2/id", json!("base")),
            "designs[0].sections[2].id: \"base\" is the id of sections[0] too",
        ),
        (
            with("/designs/0/sections/2/bag", json!("red-flod")),
            "designs[0].sections[2].bag: there is no bag \"red-flod\"; did you mean \"red-flood\"?",
        ),
        (
            with("/designs/0/sections/2/bag", json!("blue")),
            "there is no bag \"blue\"; known here are red-flood, red-piping, white-flood",
        ),
        (
            with("/designs/0/sections/2/per_copy", json!(0)),
            "designs[0].sections[2].per_copy: 0 is outside",
        ),
        (
            with("/designs/0/sections/2/per_copy", json!(i64::MIN)),
            "designs[0].sections[2].per_copy: -9223372036854775808 is outside",
        ),
        (
            with("/designs/0/overlay/1/1", json!("rime")),
            "designs[0].overlay[1]: there is no section \"rime\"; did you mean \"rim\"?",
        ),
        (
            with("/designs/0/overlay/1/1", json!("side")),
            "designs[0].overlay[1]: the section \"side\" stands here twice",
        ),
        (
            with("/designs/0/overlay/1/2", json!(-200)),
            "designs[0].overlay[1]: -200 is outside 0 to 1000000",
        ),
        (
            with("/designs/0/adjacent/0/2", json!(9e15 as i64)),
            "designs[0].adjacent[0]: 9000000000000000 is outside",
        ),
        (with("/designs/0/adjacent/0", json!(["base", "side"])), "line 1: "),
        (
            with("/designs/0/overlay/-", json!(["rim", "side", 5])),
            "designs[0].overlay: \"side\" > \"rim\" > \"side\" wait for each other in a circle",
        ),
        (
            with("/designs/0/overlay/-", json!(["rim", "dots", 5])),
            "designs[0].overlay: \"base\" with \"dots\" > \"rim\" > \"base\" with \"dots\" wait for each other",
        ),
        (
            with("/designs/0/overlay/-", json!(["dots", "base", 5])),
            "designs[0].wet[0]: \"base\" and \"dots\" are worked wet into wet here and kept apart in overlay[2]",
        ),
        (
            with("/designs/0/adjacent/-", json!(["dots", "base", 5])),
            "designs[0].wet[0]: \"base\" and \"dots\" are worked wet into wet here and kept apart in adjacent[1]",
        ),
        (
            with("/designs/0/wet/-", json!(["base", "side", 40])),
            "designs[0].wet[1]: \"base\" and \"side\" are worked wet into wet here and kept apart in adjacent[0]",
        ),
        (
            with("/designs/0/wet", json!([["base", "dots", 40], ["dots", "side", 60]])),
            "designs[0].adjacent[0]: \"base\" and \"side\" are worked in one pass, wet into wet, only",
        ),
        (
            with(
                "/designs/0",
                json!({"id": "heart", "copies": 2,
                "sections": [section("base"), section("dots"), section("side")],
                "overlay": [["side", "base", 0]],
                "wet": [["base", "dots", 40], ["dots", "side", 60]]}),
            ),
            "designs[0].overlay[0]: \"side\" and \"base\" are worked in one pass, wet into wet, and in the other order;",
        ),
        (
            with("/designs/0/wet/-", json!(["dots", "base", 40])),
            "designs[0].wet: \"base\" > \"dots\" > \"base\" wait",
        ),
        (
            with("/designs/0/wet/0/2", json!(1)),
            "designs[0].wet[0]: \"dots\" starts at least 2 ticks after the end of \"base\", even one cookie at a time, and not 1 at most",
        ),
        (
            with("/designs/0/wet", json!([["base", "dots", 20], ["dots", "rim", 1]])),
            "designs[0].wet[1]: \"rim\" starts at least 2 ticks after the end of \"dots\"",
        ),
        (with("/designs/0", json!(null)), "line 1: "),
        ("{}".into(), "line 1: the key \"switch\" is missing; add it"),
        ("[]".into(), "it is a list; write names and values in braces"),
        ("".into(), "line 1: "),
        (deep, "line 1: "),
    ];
    for (text, words) in cases {
        let message = refused(&text);
        assert!(message.contains(words), "{words}: {message}");
        assert!(message.starts_with("sequence request"), "{message}");
        assert!(message.lines().count() == 1 && message.len() < 500, "{message}");
    }
}

#[test]
fn the_largest_request_is_answered_at_once() {
    let sections: Vec<Value> = (0..400)
        .map(|at| json!({"id": at.to_string(), "bag": format!("b{}", at % 100), "per_copy": 1_000_000}))
        .collect();
    let pair = |at: usize| json!([at.to_string(), (at + 1).to_string(), 1_000_000]);
    let bags: Vec<Value> = (0..100)
        .map(|at| json!({"id": format!("b{at}"), "color": "red", "prep": 1_000_000}))
        .collect();
    let text = json!({
        "wet_swap": 1_000_000,
        "decorators": 3,
        "switch": {"same_color": 1_000_000, "other": 1_000_000},
        "bags": bags,
        "designs": [{"id": "all", "copies": 1000, "sections": sections,
            "overlay": (0..399).map(pair).collect::<Vec<_>>(),
            "adjacent": (0..398).map(pair).collect::<Vec<_>>()}],
        "evaluations": 50
    });
    let answer = answered(&text.to_string());
    // One after the other: each row of 1000 copies can begin once the first copy of the one before is dry.
    assert_eq!(answer.passes.len(), 400);
    assert!(answer.active >= 400 * 1_000_000_000);
}

#[test]
fn large_requests_look_at_fewer_orders_of_work() {
    let mut request = read_sequence_request(TYPICAL).expect("a request");
    let at_most = |request: &SequenceRequest| {
        budget(request, &compile(request).expect("a problem")).expect("a budget")
    };
    assert_eq!(at_most(&request), 300_000);
    request.evaluations = MOST_EVALUATIONS;
    let alone = at_most(&request);
    request.decorators = 2;
    assert!(alone == 3_000_000 && at_most(&request) < alone);
}

#[test]
fn the_guide_tells_what_is_answered() {
    let guide = include_str!("../../../../../docs/guide.md");
    let told: Vec<&str> =
        guide.split("```json").skip(1).filter_map(|rest| rest.split("```").next()).collect();
    let answer: SequenceAnswer = serde_json::from_str(told[1]).expect("an answer");
    assert_eq!(answered(told[0]), answer);
}

#[test]
fn any_value_in_any_place_is_answered_or_refused_in_a_sentence() {
    let mut request = request();
    request["evaluations"] = json!(60);
    let (mut n_answered, mut n_refused) = (0, 0);
    for text in changes::all(&request) {
        match read_sequence_request(&text).and_then(|request| sequence(&request)) {
            Ok(_) => n_answered += 1,
            Err(error) => {
                let message = error.to_string();
                assert!(message.starts_with("sequence request"), "{text}: {message}");
                assert_eq!(message.lines().count(), 1, "{text}: {message}");
                n_refused += 1;
            }
        }
    }
    assert!(n_answered > 50 && n_refused > 500, "{n_answered} and {n_refused}");
}
