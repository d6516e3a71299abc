//! The command `outline` finds a cutter in a photograph; art is fitted into what it found.

use std::fs;

use craft::document::art::ArtDocument;

use crate::program::{run, scratch};

/// A sheet of A4 on dark ground, seen from straight above, with the rim of an oval cutter of 80 x 50 mm on it.
fn photograph() -> Vec<u8> {
    let svg = r##"<svg xmlns="http://www.w3.org/2000/svg" width="340mm" height="250mm" viewBox="0 0 340 250"><rect width="340" height="250" fill="#5a4433"/><rect x="20" y="18" width="297" height="210" fill="#f2efe8"/><ellipse cx="150" cy="110" rx="39.5" ry="24.5" fill="none" stroke="#4c4f55" stroke-width="1"/></svg>"##;
    papers::picture::to_png(svg, 5.0, &[]).expect("a picture")
}

#[test]
fn a_cutter_is_found_at_true_size_and_art_is_fitted_into_it() {
    let folder = scratch();
    fs::write(folder.path().join("oval.png"), photograph()).expect("written");
    let arguments =
        ["outline", "oval.png", "--beside", "a4", "--as", "oval.svg", "--check", "look.png"];
    let answer = run(folder.path(), &arguments);
    assert_eq!(answer.code, 0, "{}", answer.aside);
    assert!(answer.out.contains("The longest way across should be"), "{}", answer.out);
    assert!(fs::read(folder.path().join("look.png")).expect("a picture").starts_with(b"\x89PNG"));
    let art = run(folder.path(), &["art", "oval.svg", "--json"]);
    let art: ArtDocument = serde_json::from_str(&art.out).expect("it reads back");
    assert!((art.width_mm - 80.0).abs() < 0.5 && (art.height_mm - 50.0).abs() < 0.5, "{art:?}");
    let oval = std::f64::consts::PI * 40.0 * 25.0;
    assert!((art.shape_area_mm2 / oval - 1.0).abs() < 0.01, "{}", art.shape_area_mm2);

    let square = r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 9 9"><rect width="9" height="9" fill="#c81e3c"/></svg>"##;
    fs::write(folder.path().join("square.svg"), square).expect("written");
    let arguments = ["art", "square.svg", "--onto", "oval.svg", "--border-mm", "4", "--json"];
    let art = run(folder.path(), &arguments);
    let art: ArtDocument = serde_json::from_str(&art.out).expect("it reads back");
    assert!((art.width_mm - 80.0).abs() < 0.5, "{}", art.width_mm);
    assert!(art.sections.iter().any(|section| section.color == "#c81e3c"), "{art:?}");
}

#[test]
fn corners_and_a_ruler_may_be_given_and_nonsense_is_refused_in_words() {
    let folder = scratch();
    fs::write(folder.path().join("oval.png"), photograph()).expect("written");
    let with = |more: &[&str]| {
        run(folder.path(), &[&["outline", "oval.png", "--beside", "a4"], more].concat())
    };
    let marked = with(&["--corners", "101,92 1583,91 1586,1141 99,1139", "--longest-mm", "80"]);
    assert_eq!(marked.code, 0, "{}", marked.aside);
    assert!(marked.out.contains("Your ruler agrees."), "{}", marked.out);
    for (more, code, words) in [
        (&["--longest-mm", "50"][..], 3, "the ruler says 50.0 mm"),
        (&["--corners", "1,2 3,4"], 2, "four corners are needed"),
        (&["--corners", "100,90 1585,1140 1585,90 100,1140"], 3, "do not look like a rectangle"),
        (&["--longest-mm", "0"], 2, "0.1 to 600 mm"),
        (&["--as", "oval.jpg"], 2, "must end in .svg"),
        (&["--check", "oval.png"], 3, "oval.png is what is read"),
    ] {
        let refused = with(more);
        assert_eq!(refused.code, code, "{more:?}: {}", refused.aside);
        assert!(refused.aside.contains(words), "{more:?}: {}", refused.aside);
    }
    assert!(fs::read(folder.path().join("oval.png")).expect("still there").starts_with(b"\x89PNG"));
    fs::write(folder.path().join("notes.png"), "mine").expect("written");
    let refused = run(folder.path(), &["outline", "notes.png", "--beside", "card"]);
    assert_eq!(refused.code, 3);
    assert!(refused.aside.contains("nor a picture as PNG, JPEG or WebP"), "{}", refused.aside);
}
