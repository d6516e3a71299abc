//! The command `tint` finds gels for colors, and refuses what it cannot answer.

use std::{
    fs,
    io::Write,
    process::{Command, Stdio},
};

use craft::document::TintAnswerDocument;

use crate::program::{run, scratch};

/// Three colors, one of them out of reach (invented).
const REQUEST: &str = r##"{"jurisdiction": "eu", "palette": {"around": ["#a9b79a"], "n": 4}, "targets": [
    {"name": "sage", "color": "#a9b79a", "icing_g": 150},
    {"name": "blush", "color": "#f3cfc9", "icing_g": 80},
    {"name": "black", "color": "#0a0909", "icing_g": 60}
]}"##;

#[test]
fn a_request_is_answered_from_a_file_and_from_standard_input_alike() {
    let folder = scratch();
    fs::write(folder.path().join("request.json"), REQUEST).expect("a file");
    let answer = run(folder.path(), &["tint", "request.json"]);
    assert_eq!(answer.code, 0, "{}", answer.aside);
    let document: TintAnswerDocument = serde_json::from_str(&answer.out).expect("JSON");
    let [sage, blush, black] = &document.targets[..] else { panic!("{document:?}") };
    assert!(sage.reachable && blush.reachable && !black.reachable);
    assert!(sage.recipes[0].difference < 3.0 && black.advice.is_some());
    assert_eq!(document.palette.map(|palette| palette.shades.len()), Some(4));

    let mut program = Command::new(env!("CARGO_BIN_EXE_sugarwright"))
        .args(["tint", "-"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
        .expect("the program starts");
    let mut input = program.stdin.take().expect("it listens");
    input.write_all(REQUEST.as_bytes()).expect("it reads");
    drop(input);
    let piped = program.wait_with_output().expect("it answers");
    assert_eq!(String::from_utf8_lossy(&piped.stdout), answer.out);
}

#[test]
fn a_request_that_cannot_be_answered_is_refused_in_one_sentence() {
    let folder = scratch();
    for (text, words) in [
        (REQUEST.replace("150", "-150"), "request.json: targets[0].icing_g: -150 is outside"),
        (REQUEST.replace("#f3cfc9", "pink"), "targets[1].color: "),
        ("[".to_owned(), "request.json line 1: "),
    ] {
        fs::write(folder.path().join("request.json"), text).expect("a file");
        let answer = run(folder.path(), &["tint", "request.json"]);
        assert_eq!((answer.code, answer.out.as_str()), (3, ""), "{}", answer.aside);
        assert!(answer.aside.contains(words), "{words}: {}", answer.aside);
        assert_eq!(answer.aside.trim().lines().count(), 1, "{}", answer.aside);
    }
    let missing = run(folder.path(), &["tint", "nowhere.json"]);
    assert!(missing.code == 4 && missing.aside.contains("nowhere.json"), "{}", missing.aside);
}
