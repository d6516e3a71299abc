//! The calendar file, read by the rules of RFC 5545 and by another reader.

use std::collections::BTreeSet;

use craft::{
    days::{Activity, DayEntry, Days},
    document::read_order,
    order::Order,
};
use icalendar::{Calendar, Component};
use jiff::{ZonedDateTime, civil::date};
use papers::calendar::calendar;

const ORDER: &str = r##"
format = 1
invented = true
title = "Three rounds"
customer = "nobody (invented)"
due = "2027-03-06T10:00[America/Halifax]"

[[item]]
name = "round"
cutter = "round 82 mm"
detail = "plain"
colors = ["#ffffff"]
count = 3
"##;

fn order(title: &str) -> Order {
    let order = read_order(ORDER).expect("the order reads");
    Order { title: title.to_owned(), ..order }
}

fn at(text: &str) -> ZonedDateTime {
    format!("2027-03-{text}[America/Halifax]").parse().expect("a time")
}

fn entry(order: usize, activity: Activity, start: &str, end: &str) -> DayEntry {
    let attended = activity.is_attended();
    DayEntry { order, activity, start: at(start), end: at(end), attended }
}

/// A decorating session over two evenings, an oven that needs no hands, another order, a hand-over.
fn days() -> Days {
    let entries = vec![
        entry(0, Activity::Bake, "03T18:00", "03T19:00"),
        entry(0, Activity::Decorate(1), "03T19:00", "03T22:00"),
        entry(1, Activity::Pack, "04T18:00", "04T18:30"),
        entry(0, Activity::Decorate(1), "04T18:30", "04T19:15"),
        entry(0, Activity::Dry, "04T19:15", "05T18:00"),
        entry(0, Activity::HandOver, "06T10:00", "06T10:00"),
    ];
    Days { entries, ..Days::default() }
}

#[test]
fn one_event_for_each_piece_of_work_and_each_hand_over() {
    let file = calendar(&order("Three rounds"), &days(), date(2027, 2, 15));
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
        let file = calendar(&order(&title), &days(), date(2027, 2, 15));
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
    let text = calendar(&order(title), &days(), date(2027, 2, 15));
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
    let ids = |days: &Days, today| -> Vec<String> {
        let text = calendar(&order("Three rounds"), days, today);
        text.lines().filter(|line| line.starts_with("UID:")).map(str::to_owned).collect()
    };
    let mut moved = days();
    for entry in &mut moved.entries {
        entry.start = at("02T08:00");
        entry.end = at("02T09:00");
    }
    assert_eq!(ids(&days(), date(2027, 2, 15)), ids(&moved, date(2027, 2, 20)));
}
