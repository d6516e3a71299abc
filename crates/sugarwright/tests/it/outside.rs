//! What others say of our files, and what we make of others' drawings.
//!
//! The programs and data come from the package registries, at pinned versions, into the target folder (`cargo xtask test`).
//! Without them these tests pass unchecked, which the test command says at its end.

use std::{collections::BTreeMap, env, fs, path::Path, process::Command};

use craft::{check::check_plan, document::start_kitchen, sample::SAMPLES};

use crate::program::{read_plan, run, scratch};

/// Reads the calendar with the Python package icalendar (RFC 5545) and prints "n_events n_alarms".
const READ_CALENDAR: &str = r#"
import sys, icalendar
calendar = icalendar.Calendar.from_ical(open(sys.argv[1], "rb").read())
events = calendar.walk("VEVENT")
for event in events:
    assert event["UID"] and event["DTSTAMP"] and event["SUMMARY"]
    assert event.decoded("DTSTART") <= event.decoded("DTEND")
assert len({str(event["UID"]) for event in events}) == len(events)
print(len(events), len(calendar.walk("VALARM")))
"#;

#[test]
fn the_calendar_is_read_by_another_reader() {
    let Ok(python) = env::var("SUGARWRIGHT_OUTSIDE_PYTHON") else {
        return;
    };
    let folder = scratch();
    run(folder.path(), &["sample", "order"]);
    run(folder.path(), &["plan", "order", "--out", "plan", "--today", SAMPLES[0].today]);
    let read = Command::new(python)
        .args(["-c", READ_CALENDAR])
        .arg(folder.path().join("plan/calendar.ics"))
        .output()
        .expect("Python starts");
    assert!(read.status.success(), "{}", String::from_utf8_lossy(&read.stderr));
    let plan = read_plan(&folder.path().join("plan"));
    let n_attended = plan.days.iter().filter(|day| day.attended).count();
    let counts = String::from_utf8_lossy(&read.stdout);
    assert_eq!(counts.split_whitespace().next(), Some(n_attended.to_string().as_str()));
}

/// Six pictures of the OpenMoji set (CC BY-SA 4.0, not committed) that nobody here drew.
const PICTURES: [&str; 6] = ["lighthouse", "sailboat", "fox", "birthday-cake", "snail", "teapot"];

#[test]
fn an_order_of_six_pictures_nobody_here_drew_gets_a_sound_plan() {
    let Ok(package) = env::var("SUGARWRIGHT_OPENMOJI") else {
        return;
    };
    let text =
        fs::read_to_string(Path::new(&package).join("icons.json")).expect("the set is there");
    let set: serde_json::Value = serde_json::from_str(&text).expect("it is JSON");
    let available: BTreeMap<String, String> = set["icons"]
        .as_object()
        .expect("a map of icons")
        .iter()
        .filter_map(|(name, icon)| Some((name.clone(), icon["body"].as_str()?.to_owned())))
        .collect();
    let folder = scratch();
    let designs = folder.path().join("order/designs");
    fs::create_dir_all(&designs).expect("made");
    let mut order = "title = \"Six pictures\"\ncustomer = \"nobody (invented)\"\ninvented = true\ndue = \"2027-03-06T10:00[America/Halifax]\"\n".to_owned();
    for name in PICTURES {
        let body = available.get(name).unwrap_or_else(|| panic!("{name} is in the set"));
        let svg =
            format!(r#"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 72 72">{body}</svg>"#);
        fs::write(designs.join(format!("{name}.svg")), svg).expect("written");
        order += &format!("[[item]]\ndesign = \"{name}\"\ncount = 6\nwidth_mm = 80\n");
    }
    fs::write(folder.path().join("order/order.toml"), order).expect("written");
    let answer = run(folder.path(), &["plan", "order", "--out", "plan", "--today", "2027-02-15"]);
    assert_eq!(answer.code, 0, "{}", answer.aside);
    let plan = read_plan(&folder.path().join("plan"));
    assert_eq!(check_plan(&start_kitchen(), &plan), []);
    assert_eq!(plan.designs.len(), PICTURES.len());
    assert!(plan.sections.iter().all(|section| section.visible_area_mm2 >= 0.0));
}
