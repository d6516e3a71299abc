//! Each trouble a hand has with a drawing is seen on a picture that has it, in its place, and not on one without it.

use craft::{
    heads_up::HeadsUp,
    technique::{ArtReading, Technique, about_rights, art_sections},
};
use drawing::{Fonts, ReadOptions, import, read};
use quantity::Length;

use crate::{FONT, kitchen};

/// What is said about a cookie of 80 x 80 mm with these elements on a white base.
fn heads_ups(elements: &str) -> Vec<HeadsUp> {
    art(elements, ArtReading::Sections { most_colors: None }).1
}

fn art(elements: &str, reading: ArtReading) -> (craft::technique::Sections, Vec<HeadsUp>) {
    let svg = format!(
        r##"<svg xmlns="http://www.w3.org/2000/svg" width="80mm" height="80mm" viewBox="0 0 80 80"><rect id="outline" width="80" height="80" fill="#ffffff"/>{elements}</svg>"##
    );
    let artwork = import(svg.as_bytes(), &Fonts::from_bytes([FONT.to_vec()])).expect("a drawing");
    let options = ReadOptions { width: None, border: Length::mm(3.0) };
    let drawing = read(&artwork, &options).expect("it has a size");
    art_sections(&kitchen(), "test", &drawing, reading)
}

/// Checks that `with` is told about with each of `words` in one message, and `without` is not.
fn check(with: &str, without: &str, words: &[&str]) {
    let tells = |elements: &str| {
        heads_ups(elements).iter().any(|one| words.iter().all(|word| one.message.contains(word)))
    };
    assert!(tells(with), "{words:?} of {with}: {:#?}", heads_ups(with));
    assert!(!tells(without), "{words:?} of {without}: {:#?}", heads_ups(without));
}

#[test]
fn a_flood_thinner_than_the_finest_tip_is_told_with_its_place() {
    let dumbbell = |height: f64| {
        let y = 40.0 - height / 2.0;
        format!(
            r##"<path d="M10 30H30V{y}H50V30H70V50H50V{}H30V50H10Z" fill="#c81e3c"/>"##,
            y + height
        )
    };
    let words = ["thin, finer than the finest tip", "40 mm from the left, 40 mm from the top"];
    check(&dumbbell(0.4), &dumbbell(3.0), &words);
}

#[test]
fn a_gap_that_runs_together_is_told_with_its_place() {
    let pair = |gap: f64| {
        format!(
            r##"<path d="M10 20H{0}V60H10ZM{1} 20H70V60H{1}Z" fill="#c81e3c"/>"##,
            40.0 - gap / 2.0,
            40.0 + gap / 2.0
        )
    };
    check(&pair(0.5), &pair(2.0), &["will run together", "40 mm from the left"]);
}

#[test]
fn an_island_smaller_than_a_dot_is_told() {
    let island = |side: f64| {
        format!(r##"<path d="M10 20H40V60H10ZM60 40h{side}v{side}h-{side}Z" fill="#c81e3c"/>"##)
    };
    check(&island(0.5), &island(6.0), &["smaller than the smallest dot", "60 mm from the left"]);
}

#[test]
fn a_narrow_flood_on_a_crust_sinks_in() {
    let flood = |width: f64| {
        format!(r##"<rect x="30" y="20" width="{width}" height="40" fill="#c81e3c"/>"##)
    };
    check(&flood(6.0), &flood(14.0), &["6 mm wide on a crust sinks into craters"]);
}

#[test]
fn lettering_too_small_to_read_is_told() {
    let word = |size: f64| {
        format!(r##"<text id="wish" x="10" y="45" font-size="{size}" fill="#333333">moon</text>"##)
    };
    check(&word(4.0), &word(24.0), &["\"wish\"", "too low to be read"]);
}

#[test]
fn more_colors_than_one_can_keep_apart_are_told() {
    let stripes = |n: u32| {
        let stripe = |i: u32| {
            format!(
                r##"<rect x="10" y="{}" width="60" height="5" fill="#{:02x}3060"/>"##,
                10 + 6 * i,
                20 * i
            )
        };
        (0..n).map(stripe).collect::<String>()
    };
    check(&stripes(9), &stripes(5), &["10 colors"]);
}

#[test]
fn art_too_near_the_edge_is_told() {
    let square =
        |x: f64| format!(r##"<rect x="{x}" y="30" width="20" height="20" fill="#c81e3c"/>"##);
    check(&square(0.0), &square(10.0), &["closer to the edge", "1 mm from the left"]);
}

#[test]
fn exact_sections_are_the_shapes_one_sees() {
    let elements = r##"<rect id="a" x="10" y="10" width="20" height="20" fill="#c81e3c"/><rect id="b" x="20" y="10" width="20" height="20" fill="#c81e3c"/>"##;
    let (sections, _) = art(elements, ArtReading::Exact);
    let seen: Vec<(&str, f64)> = sections
        .sections
        .iter()
        .map(|section| (section.id.as_str(), section.visible_area.to_mm2().round()))
        .collect();
    assert_eq!(seen, [("test/outline", 5800.0), ("test/a", 200.0), ("test/b", 400.0)]);
    let (merged, _) = art(elements, ArtReading::Sections { most_colors: None });
    let floods = merged.sections.iter().filter(|one| one.technique == Technique::Flood).count();
    assert_eq!((merged.sections.len(), floods), (2, 2));
}

#[test]
fn source_and_license_are_asked_for_and_rights_always() {
    let said = |source, license| {
        let found = about_rights("test", source, license);
        found.into_iter().map(|one| one.message).collect::<Vec<_>>()
    };
    assert!(said(None, None)[0].contains("No source and license"));
    assert!(said(Some("drawn by hand"), Some(" "))[0].contains("No license"));
    let all = said(Some("drawn by hand"), Some("own work"));
    assert!(
        all.len() == 1 && all[0].contains("character, a logo or the badge of a club"),
        "{all:?}"
    );
}

#[test]
fn shapes_that_touch_and_look_alike_are_put_down_in_one_go() {
    // By CIEDE2000 the two reds are 0.5 apart, the red and the blue far more.
    let elements = r##"<rect id="a" x="10" y="20" width="20" height="40" fill="#c81e3c"/><rect id="b" x="30" y="20" width="20" height="40" fill="#ca1f3c"/><rect id="c" x="50" y="20" width="20" height="40" fill="#1e3cc8"/>"##;
    let (sections, _) = art(elements, ArtReading::Sections { most_colors: None });
    let seen: Vec<(&str, f64)> = sections
        .sections
        .iter()
        .map(|section| (section.id.as_str(), section.visible_area.to_mm2().round()))
        .collect();
    assert_eq!(seen, [("test/outline", 4000.0), ("test/a", 1600.0), ("test/c", 800.0)]);
}

#[test]
fn a_set_brought_down_to_few_colors_says_what_changes() {
    let elements = r##"<rect id="a" x="10" y="20" width="20" height="40" fill="#c81e3c"/><circle id="b" cx="50" cy="30" r="8" fill="#d43a2a"/><circle id="c" cx="50" cy="60" r="8" fill="#1e3cc8"/>"##;
    let (sections, told) = art(elements, ArtReading::Sections { most_colors: Some(3) });
    let colors: Vec<String> =
        sections.sections.iter().map(|section| section.color.to_hex()).collect();
    assert_eq!(colors, ["#ffffff", "#c81e3c", "#1e3cc8"]);
    let changes: Vec<&str> = told
        .iter()
        .map(|one| one.message.as_str())
        .filter(|message| message.contains("becomes"))
        .collect();
    assert!(changes.len() == 1 && changes[0].contains("(#d43a2a) becomes"), "{changes:?}");
    let (_, told) = art(elements, ArtReading::Sections { most_colors: None });
    assert!(!told.iter().any(|one| one.message.contains("becomes")), "{told:?}");
}
