//! The command `art` reads a drawing of its own at true size, and refuses what is none.

use std::fs;

use craft::document::art::ArtDocument;

use crate::program::{run, scratch};

/// A plaque with a ring that overlaps its rim, drawn in units of a tenth of its size.
const DRAWING: &str = r##"<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 8 6"><rect id="outline" width="8" height="6" fill="#ffffff"/><circle id="moon" cx="4" cy="3" r="2" fill="#f2c94c"/><circle id="bite" cx="5" cy="3" r="1.5" fill="#ffffff"/></svg>"##;

#[test]
fn a_drawing_becomes_sections_neighbors_and_overlaps_at_true_size() {
    let folder = scratch();
    fs::write(folder.path().join("moon.svg"), DRAWING).expect("written");
    let arguments = ["art", "moon.svg", "--width-mm", "80", "--json", "--as", "sheet.svg"];
    let answer = run(folder.path(), &arguments);
    assert_eq!(answer.code, 0, "{}", answer.aside);
    let art: ArtDocument = serde_json::from_str(&answer.out).expect("it reads back");
    assert_eq!((art.width_mm, art.height_mm, art.shape_area_mm2), (80.0, 60.0, 4800.0));
    assert!(art.sections.iter().any(|section| section.id == "moon/moon"), "{}", answer.out);
    assert!(
        !art.overlaps.is_empty() && art.heads_ups.iter().any(|one| one.message.contains("source"))
    );
    let sheet = fs::read_to_string(folder.path().join("sheet.svg")).expect("there is a picture");
    assert!(sheet.starts_with("<svg") && sheet.contains("True size."));
}

#[test]
fn exact_areas_by_color_add_up_to_the_cookie() {
    let folder = scratch();
    fs::write(folder.path().join("moon.svg"), DRAWING).expect("written");
    let answer = run(folder.path(), &["art", "moon.svg", "--width-mm", "80", "--json", "--exact"]);
    let art: ArtDocument = serde_json::from_str(&answer.out).expect("it reads back");
    let of = |color: &str| -> f64 {
        let own = art.sections.iter().filter(|section| section.color == color);
        own.map(|section| section.visible_area_mm2).sum()
    };
    // The moon is a disk of 20 mm less the lens it shares with one of 15 mm whose center lies 10 mm off.
    let (big, small, off) = (20.0_f64, 15.0_f64, 10.0_f64);
    let lens = small.powi(2)
        * ((off * off + small * small - big * big) / (2.0 * off * small)).acos()
        + big.powi(2) * ((off * off + big * big - small * small) / (2.0 * off * big)).acos()
        - 0.5
            * ((small + big - off)
                * (off + small - big)
                * (off - small + big)
                * (off + small + big))
                .sqrt();
    let moon = std::f64::consts::PI * big * big - lens;
    assert!((of("#f2c94c") - moon).abs() < 0.005 * moon, "{} {moon}", of("#f2c94c"));
    assert!((of("#f2c94c") + of("#ffffff") - 4800.0).abs() < 1.0);
}

#[test]
fn pictures_are_written_as_svg_or_as_pixels() {
    let folder = scratch();
    fs::write(folder.path().join("moon.svg"), DRAWING).expect("written");
    for (view, file, head) in [
        ("icing", "look.png", &b"\x89PNG"[..]),
        ("finished", "plain.svg", b"<svg"),
        ("tracing", "trace.svg", b"<svg"),
        ("sections", "sheet.png", b"\x89PNG"),
    ] {
        let arguments = ["art", "moon.svg", "--width-mm", "80", "--as", file, "--view", view];
        let answer = run(folder.path(), &arguments);
        assert_eq!(answer.code, 0, "{}", answer.aside);
        assert!(answer.out.contains("moon: 80.0 x 60.0 mm"), "{}", answer.out);
        assert!(fs::read(folder.path().join(file)).expect("a picture").starts_with(head), "{file}");
    }
}

#[test]
fn what_is_no_drawing_is_refused_and_no_picture_is_written() {
    let folder = scratch();
    for (content, code, words) in [
        (&b"<p>"[..], 3, "not a readable SVG"),
        (b"my notes", 3, "neither an SVG drawing nor"),
        (DRAWING.as_bytes(), 3, "--width-mm"),
    ] {
        fs::write(folder.path().join("one.svg"), content).expect("written");
        let answer = run(folder.path(), &["art", "one.svg", "--as", "sheet.svg"]);
        assert_eq!(answer.code, code, "{}", answer.aside);
        assert!(answer.aside.contains(words), "{}", answer.aside);
        assert!(!folder.path().join("sheet.svg").exists());
    }
    assert_eq!(run(folder.path(), &["art", "none.svg"]).code, 4);
    let own = run(folder.path(), &["art", "one.svg", "--width-mm", "80", "--as", "one.svg"]);
    assert_eq!(own.code, 3, "{}", own.aside);
    assert!(own.aside.contains("one.svg is what is read"), "{}", own.aside);
    assert_eq!(run(folder.path(), &["art", "one.svg", "--as", "sheet.jpg"]).code, 2);
}

#[test]
fn art_is_fitted_into_a_cutter_of_the_shelf() {
    let folder = scratch();
    fs::write(folder.path().join("moon.svg"), DRAWING).expect("written");
    let arguments = ["art", "moon.svg", "--cutter", "round 90 mm", "--border-mm", "5", "--json"];
    let answer = run(folder.path(), &arguments);
    let art: ArtDocument = serde_json::from_str(&answer.out).expect("it reads back");
    assert_eq!((art.width_mm, art.height_mm), (90.0, 90.0));
    // A plate of 4 x 3 in a circle of radius 40 has a diagonal of 80, so that it is 64 x 48 mm large.
    let plate = art.sections.iter().find(|section| section.id == "moon/outline").expect("a plate");
    let area = 64.0 * 48.0;
    assert!((plate.poured_area_mm2 - area).abs() < 0.005 * area, "{}", plate.poured_area_mm2);
    let both =
        run(folder.path(), &["art", "moon.svg", "--cutter", "heart 3 in", "--width-mm", "9"]);
    assert_eq!(both.code, 2, "{}", both.aside);
}

#[test]
fn what_lies_inside_a_flood_could_be_dropped_in_wet() {
    let folder = scratch();
    let bite = "<circle id=\"bite\" cx=\"5\" cy=\"3\" r=\"1.5\" fill=\"#ffffff\"/>";
    let stars = "<circle id=\"star\" cx=\"2\" cy=\"2\" r=\"0.4\" fill=\"#20305a\"/><rect id=\"shelf\" x=\"0\" y=\"5\" width=\"8\" height=\"1\" fill=\"#2f6b57\"/>";
    fs::write(folder.path().join("night.svg"), DRAWING.replace(bite, stars)).expect("written");
    let answer = run(folder.path(), &["art", "night.svg", "--width-mm", "80", "--json"]);
    let art: ArtDocument = serde_json::from_str(&answer.out).expect("it reads back");
    let wet = |top: &str| {
        let own = art.overlaps.iter().filter(|overlap| overlap.top.ends_with(top));
        own.map(|overlap| overlap.wet_on_wet).collect::<Vec<_>>()
    };
    // The moon lies inside the plate; the shelf reaches its edge.
    assert_eq!((wet("moon"), wet("shelf")), (vec![true], vec![false]), "{}", answer.out);
}

#[test]
fn an_edited_drawing_keeps_the_ids_of_an_earlier_one() {
    let folder = scratch();
    fs::write(folder.path().join("moon.svg"), DRAWING).expect("written");
    let edited = DRAWING.replace("id=\"moon\"", "id=\"path7\"");
    fs::write(folder.path().join("edited.svg"), edited).expect("written");
    let arguments = ["art", "edited.svg", "--width-mm", "80", "--json", "--earlier", "moon.svg"];
    let answer = run(folder.path(), &arguments);
    let art: ArtDocument = serde_json::from_str(&answer.out).expect("it reads back");
    assert!(art.sections.iter().any(|section| section.id == "edited/moon"), "{}", answer.out);
}

#[test]
fn states_show_what_is_asked_for_and_refuse_what_is_not_there() {
    let folder = scratch();
    fs::write(folder.path().join("moon.svg"), DRAWING).expect("written");
    let states = |now: &str| {
        let arguments = ["art", "moon.svg", "--width-mm", "80", "--as", "now.svg", "--view"];
        let asked = ["states", "--iced", "outline", "--now", now];
        run(folder.path(), &[&arguments[..], &asked[..]].concat())
    };
    assert_eq!(states("moon/moon").code, 0);
    assert!(folder.path().join("now.svg").exists());
    let refused = states("sun");
    assert_eq!(refused.code, 3, "{}", refused.aside);
    assert!(refused.aside.contains("no section \"sun\""), "{}", refused.aside);
}
