//! The commands that answer a request: JSON in, JSON out.

use std::fs;

use craft::document::{
    calendar::ScheduleAnswer, dry::DryAnswer, sequence::SequenceAnswer, settle::SettleAnswer,
};

use crate::program::{run, scratch};

#[test]
fn a_bowl_is_settled_from_its_readings_and_the_kitchens_tests() {
    let folder = scratch();
    let request =
        r#"{"target_s": 12, "stiff_g": 300, "reading": [{"water_g": 0, "smooth_s": 25}]}"#;
    fs::write(folder.path().join("bowl.json"), request).expect("it is written");
    let dose = |arguments: &[&str]| {
        let answer = run(folder.path(), arguments);
        assert_eq!(answer.code, 0, "{}", answer.aside);
        let answer: SettleAnswer = serde_json::from_str(&answer.out).expect("it is JSON");
        answer.water_g.expect("it is too thick").likely
    };
    let usual = dose(&["settle", "bowl.json"]);
    // ln(25 / 12) / 0.24 = 3.06 g for 100 g, drawn a little to what is usual.
    assert!((8.5..11.5).contains(&usual), "{usual}");
    // In a kitchen whose icing hardly thins, the same bowl takes more.
    let test = |water: f64, seconds: f64| {
        format!(
            "[[water_test]]\non = \"2027-02-01\"\nbowl = \"a\"\nwater_g_per_100_g = {water:?}\nsmooth_s = {seconds:?}\n"
        )
    };
    let tests = [test(0.0, 40.0), test(6.0, 20.0), test(12.0, 10.0)].concat();
    fs::write(folder.path().join("kitchen.toml"), tests).expect("it is written");
    let slow = dose(&["settle", "bowl.json", "--kitchen", "kitchen.toml"]);
    assert!(slow > 1.5 * usual, "{slow} after {usual}");
}

#[test]
fn drying_follows_the_air() {
    let folder = scratch();
    fs::write(folder.path().join("air.json"), r#"{"humidity_percent": 70}"#).expect("written");
    let answer = run(folder.path(), &["dry", "air.json"]);
    assert_eq!(answer.code, 0, "{}", answer.aside);
    let answer: DryAnswer = serde_json::from_str(&answer.out).expect("it is JSON");
    // Norrish, aw = 0.85: (0.85 - 0.70) / (0.85 - 0.50) of the usual speed.
    assert!((answer.speed - 0.43).abs() < 0.01, "{answer:?}");
}

#[test]
fn sections_are_put_in_order_and_orders_on_days() {
    let folder = scratch();
    for (name, text) in [
        ("small.json", include_str!("../../../../fixtures/timing/sequence_small.json")),
        ("week.json", include_str!("../../../../fixtures/timing/calendar_week.json")),
    ] {
        fs::write(folder.path().join(name), text).expect("it is written");
    }
    let answer = run(folder.path(), &["sequence", "small.json"]);
    assert_eq!(answer.code, 0, "{}", answer.aside);
    let sequence: SequenceAnswer = serde_json::from_str(&answer.out).expect("it is JSON");
    // Optima that an independent solver proved; see fixtures/PROVENANCE.toml.
    assert_eq!((sequence.active, sequence.bound), (827, 827));
    let answer = run(folder.path(), &["schedule", "week.json"]);
    assert_eq!(answer.code, 0, "{}", answer.aside);
    let schedule: ScheduleAnswer = serde_json::from_str(&answer.out).expect("it is JSON");
    assert_eq!((schedule.cost, schedule.orders.len()), (3118, 4));
}

#[test]
fn a_request_that_makes_no_sense_is_refused_in_a_sentence() {
    let folder = scratch();
    for (command, request, words) in [
        ("settle", "{\"stiff_g\": -5}", "stiff_g: -5 is outside 1 to 50000"),
        ("settle", "[]", "it is a list; write names and values in braces"),
        ("settle", "{\"reading\": 3}", "request.json line 1"),
        ("dry", "{\"humidity_percnt\": 3}", "did you mean \"humidity_percent\""),
        ("dry", "", "request.json line 1"),
        ("sequence", "{\"format\": \"calendar/1\"}", "this command reads \"sequence/1\""),
        ("schedule", "{}", "request.json line 1: the key \"windows\" is missing"),
    ] {
        fs::write(folder.path().join("request.json"), request).expect("it is written");
        let answer = run(folder.path(), &[command, "request.json"]);
        assert_eq!((answer.code, answer.out.as_str()), (3, ""), "{request}");
        assert!(answer.aside.contains(words), "{request}: {}", answer.aside);
    }
    assert_eq!(run(folder.path(), &["dry", "missing.json"]).code, 4);
}
