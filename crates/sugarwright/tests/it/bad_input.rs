//! What is refused is refused in one sentence that says what, where and what to do, and nothing is written.

use std::{fs, path::Path};

use crate::program::{Answer, run, scratch};

const ORDER: &str = r##"
title = "Test"
customer = "nobody (invented)"
invented = true
due = "2027-03-06T10:00[America/Halifax]"

[[item]]
design = "one"
count = 6
width_mm = 80
"##;

const DRAWING: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 80 80"><circle cx="40" cy="40" r="40" fill="#ffffff"/></svg>"##;

/// Plans a folder with this order and drawing.
fn plan(order: &str, drawing: &[u8]) -> Answer {
    let folder = scratch();
    fs::create_dir_all(folder.path().join("order/designs")).expect("made");
    fs::write(folder.path().join("order/order.toml"), order).expect("written");
    fs::write(folder.path().join("order/designs/one.svg"), drawing).expect("written");
    let answer = run(
        folder.path(),
        &["plan", "order", "--out", "plan", "--today", "2027-02-15", "--effort", "quick"],
    );
    assert_eq!(folder.path().join("plan").exists(), answer.code == 0);
    let litter: Vec<_> = fs::read_dir(folder.path()).expect("readable").collect();
    assert_eq!(
        litter.len(),
        if answer.code == 0 { 2 } else { 1 },
        "nothing half written stays: {litter:?}"
    );
    answer
}

/// Checks that an order is refused with exit code 3 and one line that contains each of `words`.
fn refuses(order: &str, drawing: &[u8], words: &[&str]) {
    let answer = plan(order, drawing);
    assert_eq!(answer.code, 3, "{order}\n{}", answer.aside);
    let last = answer.aside.lines().last().unwrap_or_default();
    for word in words {
        assert!(last.contains(word), "`{word}` in: {last}");
    }
}

#[test]
fn a_sound_order_is_accepted() {
    let answer = plan(ORDER, DRAWING.as_bytes());
    assert_eq!(answer.code, 0, "{}", answer.aside);
}

#[test]
fn orders_are_refused_by_key_and_line() {
    let drawing = DRAWING.as_bytes();
    refuses(
        &ORDER.replace("count = 6", "cuont = 6"),
        drawing,
        &["order.toml", "line 9", "cuont", "count"],
    );
    refuses(&ORDER.replace("count = 6", "count = 0"), drawing, &["order.toml", "count"]);
    refuses(&ORDER.replace("title = \"Test\"", "title = "), drawing, &["order.toml", "line 2"]);
    refuses(&ORDER.replace("2027-03-06", "2027-02-31"), drawing, &["due"]);
    refuses(&ORDER.replace("2027-03-06", "2026-03-06"), drawing, &["2026-03-06", "2027-02-15"]);
    refuses(&ORDER.replace("America/Halifax", "America/Nowhere"), drawing, &["due"]);
    refuses(&ORDER.replace("\"one\"", "\"two\""), drawing, &["\"two\"", "one"]);
    refuses(&ORDER.replace("width_mm = 80", ""), drawing, &["item \"one\"", "width_mm"]);
    refuses("", drawing, &["order.toml", "title"]);
}

#[test]
fn drawings_are_refused_with_their_name() {
    let self_reference = r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><g id="a"><use href="#a"/></g></svg>"##;
    let with_dtd = format!("<!DOCTYPE svg [<!ENTITY a \"b\">]>{DRAWING}");
    let without_area =
        r##"<svg xmlns="http://www.w3.org/2000/svg" width="0" height="0"><circle r="4"/></svg>"##;
    let nothing = r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"/>"##;
    let large = vec![b' '; 50 * 1024 * 1024];
    for drawing in [
        b"".as_slice(),
        b"not a drawing",
        b"<html/>",
        b"\xff\xfe\x00",
        self_reference.as_bytes(),
        with_dtd.as_bytes(),
        without_area.as_bytes(),
        nothing.as_bytes(),
        &large,
    ] {
        refuses(ORDER, drawing, &["the drawing \"one\""]);
    }
}

#[test]
fn a_cookie_too_large_for_sheet_tray_and_bag_is_planned_with_heads_ups() {
    let answer = plan(&ORDER.replace("width_mm = 80", "width_mm = 360"), DRAWING.as_bytes());
    assert_eq!(answer.code, 0, "{}", answer.aside);
    for words in ["does not fit a dough sheet", "does not fit a tray", "cookie bag"] {
        assert!(answer.out.contains(words), "{words}: {}", answer.out);
    }
}

#[test]
fn missing_folders_and_occupied_targets_are_named() {
    let folder = scratch();
    let gone = run(folder.path(), &["plan", "none", "--out", "plan"]);
    assert_eq!(gone.code, 3);
    assert!(gone.aside.contains("none"), "{}", gone.aside);

    fs::create_dir_all(folder.path().join("mine")).expect("made");
    fs::write(folder.path().join("mine/letter.txt"), "dear").expect("written");
    let occupied = run(folder.path(), &["sample", "mine"]);
    assert_eq!(occupied.code, 4);
    assert!(occupied.aside.contains("letter.txt"), "{}", occupied.aside);
    assert!(Path::new(&folder.path().join("mine/letter.txt")).is_file());
}
