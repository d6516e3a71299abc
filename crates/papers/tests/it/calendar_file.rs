//! The calendar file, read by the rules of RFC 5545 and by another reader.

use std::collections::BTreeSet;

use craft::document::plan::{DayDocument, PlanDocument};
use icalendar::{Calendar, Component};
use papers::calendar::calendar;

use crate::samples::planned_sample;

fn entry(this_order: bool, activity: &str, start: &str, end: &str) -> DayDocument {
    let at = |text: &str| format!("2027-03-{text}[America/Halifax]");
    DayDocument {
        activity: activity.to_owned(),
        order: String::new(),
        this_order,
        start: at(start),
        end: at(end),
        attended: !matches!(activity, "bake" | "dry"),
    }
}

/// A decorating session over two evenings, an oven that needs no hands, another order, a hand-over.
fn plan(title: &str) -> PlanDocument {
    let mut plan = planned_sample();
    plan.order.title = title.to_owned();
    plan.basis.today = "2027-02-15".to_owned();
    plan.days = vec![
        entry(true, "bake", "03T18:00", "03T19:00"),
        entry(true, "decorate 1", "03T19:00", "03T22:00"),
        entry(false, "pack", "04T18:00", "04T18:30"),
        entry(true, "decorate 1", "04T18:30", "04T19:15"),
        entry(true, "dry", "04T19:15", "05T18:00"),
        entry(true, "hand over", "06T10:00", "06T10:00"),
    ];
    plan
}

#[test]
fn one_event_for_each_piece_of_work_and_each_hand_over() {
    let file = calendar(&plan("Three rounds"));
    insta::assert_snapshot!(file.replace("\r\n", "\n"), @r"
    BEGIN:VCALENDAR
    VERSION:2.0
    PRODID:-//sugarwright//plan//EN
    X-WR-CALNAME:Three rounds
    BEGIN:VEVENT
    UID:three-rounds-decorate-1-1@sugarwright.invalid
    DTSTAMP:20270215T000000Z
    DTSTART:20270303T230000Z
    DTEND:20270304T020000Z
    SUMMARY:Decorate\, session 1: Three rounds
    BEGIN:VALARM
    ACTION:DISPLAY
    TRIGGER:-PT15M
    DESCRIPTION:Decorate\, session 1: Three rounds
    END:VALARM
    END:VEVENT
    BEGIN:VEVENT
    UID:three-rounds-decorate-1-2@sugarwright.invalid
    DTSTAMP:20270215T000000Z
    DTSTART:20270304T223000Z
    DTEND:20270304T231500Z
    SUMMARY:Decorate\, session 1: Three rounds
    BEGIN:VALARM
    ACTION:DISPLAY
    TRIGGER:-PT15M
    DESCRIPTION:Decorate\, session 1: Three rounds
    END:VALARM
    END:VEVENT
    BEGIN:VEVENT
    UID:three-rounds-hand-over-1@sugarwright.invalid
    DTSTAMP:20270215T000000Z
    DTSTART:20270306T140000Z
    DTEND:20270306T141500Z
    SUMMARY:Hand over: Three rounds
    BEGIN:VALARM
    ACTION:DISPLAY
    TRIGGER:-PT15M
    DESCRIPTION:Hand over: Three rounds
    END:VALARM
    END:VEVENT
    END:VCALENDAR
    ");
}

#[test]
fn lines_end_and_fold_as_rfc_5545_asks() {
    // Section 3.1: lines end with CRLF and have at most 75 octets; control characters are not allowed in text (3.3.11).
    for title in [
        "Three rounds".to_owned(),
        "A long title, with; commas \\ and \"quotes\", ".repeat(9),
        "Zoë’s naming party 🌟 ".repeat(12),
        "one\r\nBEGIN:VEVENT\nEND:VEVENT\u{7}".to_owned(),
    ] {
        let file = calendar(&plan(&title));
        assert!(file.ends_with("END:VCALENDAR\r\n"));
        for line in file.split_terminator("\r\n") {
            assert!(line.len() <= 75, "{} octets: {line}", line.len());
            assert!(!line.contains(char::is_control), "{line:?}");
        }
        assert_eq!(file.lines().filter(|line| *line == "BEGIN:VEVENT").count(), 3, "{title}");
    }
}

#[test]
fn another_reader_finds_the_same_events() {
    let title =
        "Rounds, squares; and \\ stars for Zoë, who wants to read this title to its very end";
    let text = calendar(&plan(title));
    let read: Calendar = text.parse().expect("it is a calendar");
    let summaries: Vec<&str> = read.events().filter_map(|event| event.get_summary()).collect();
    let expected = ["Decorate, session 1", "Decorate, session 1", "Hand over"]
        .map(|activity| format!("{activity}: {title}"));
    assert_eq!(summaries, expected);
    let ids: BTreeSet<&str> = read.events().filter_map(|event| event.get_uid()).collect();
    assert_eq!(ids.len(), 3);
    // Halifax is four hours behind UTC before 14 March 2027.
    let starts: Vec<&str> =
        read.events().filter_map(|event| event.property_value("DTSTART")).collect();
    assert_eq!(starts, ["20270303T230000Z", "20270304T223000Z", "20270306T140000Z"]);
}

#[test]
fn identifiers_stay_when_the_work_moves() {
    let ids = |plan: &PlanDocument| -> Vec<String> {
        let text = calendar(plan);
        text.lines().filter(|line| line.starts_with("UID:")).map(str::to_owned).collect()
    };
    let mut moved = plan("Three rounds");
    moved.basis.today = "2027-02-20".to_owned();
    for entry in &mut moved.days {
        entry.start = "2027-03-02T08:00[America/Halifax]".to_owned();
        entry.end = "2027-03-02T09:00[America/Halifax]".to_owned();
    }
    assert_eq!(ids(&plan("Three rounds")), ids(&moved));
}
