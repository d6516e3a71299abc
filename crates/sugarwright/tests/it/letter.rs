//! The command `letter` sets words at true size, and says what cannot be read.

use std::fs;

use craft::document::art::ArtDocument;

use crate::program::{run, scratch};

#[test]
fn words_are_measured_and_written_as_a_drawing_that_is_read_back() {
    let folder = scratch();
    // The l of the print alphabet is one upright stroke, 662 high where an x is 441 (Hershey, 1967).
    let arguments = [
        "letter",
        "l",
        "--hand",
        "print",
        "--x-height-mm",
        "20",
        "--line-mm",
        "2",
        "--as",
        "l.svg",
    ];
    let answer = run(folder.path(), &arguments);
    assert_eq!(answer.code, 0, "{}", answer.aside);
    assert!(answer.out.contains("1 stroke of 30 mm in all, piped 2.0 mm wide"), "{}", answer.out);
    let art = run(folder.path(), &["art", "l.svg", "--json", "--exact"]);
    let art: ArtDocument = serde_json::from_str(&art.out).expect("it reads back");
    let length = 20.0 * 662.0 / 441.0;
    let stadium = length * 2.0 + std::f64::consts::PI;
    assert!((art.sections[0].visible_area_mm2 / stadium - 1.0).abs() < 0.01, "{art:?}");
}

#[test]
fn what_is_too_small_or_missing_is_told() {
    let folder = scratch();
    let small = run(folder.path(), &["letter", "Zoë 字", "--x-height-mm", "2", "--line-mm", "1"]);
    assert_eq!(small.code, 0, "{}", small.aside);
    for words in ["at least 4.0 mm high", "\"字\" is not in this alphabet"] {
        assert!(small.out.contains(words), "{}", small.out);
    }
    for hand in ["script", "print", "flooded"] {
        let fits = ["letter", "Zoë & Ada", "--hand", hand, "--in-mm", "80x40", "--as", "words.svg"];
        let fits = run(folder.path(), &fits);
        assert_eq!(fits.code, 0, "{hand}: {}", fits.aside);
        assert!(!fits.out.contains("Heads-up"), "{hand}: {}", fits.out);
        let svg = fs::read_to_string(folder.path().join("words.svg")).expect("a drawing");
        assert!(svg.contains("id=\"lettering\""), "{svg}");
    }
    for nothing in ["", "字"] {
        let refused = run(folder.path(), &["letter", nothing]);
        assert_eq!(refused.code, 3, "{nothing}: {}", refused.out);
        assert!(refused.aside.contains("none of these words can be set"), "{}", refused.aside);
    }
    assert_eq!(run(folder.path(), &["letter", "a", "--in-mm", "60"]).code, 2);
}
