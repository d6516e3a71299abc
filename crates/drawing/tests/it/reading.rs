//! What comes out of a drawing: outline, scale, names, colors, facts.

use drawing::{
    Color, Drawing, Error, Fact, Fonts, Origin, ReadOptions,
    fact::{Dropped, Flattened},
    import, read,
};
use quantity::Length;

use crate::fixtures::{DRAWINGS, fonts};

fn svg(root: &str, content: &str) -> String {
    format!("<svg xmlns=\"http://www.w3.org/2000/svg\" {root}>{content}</svg>")
}

fn try_reading(svg: &str, width: Option<f64>, border: f64) -> Result<Drawing, Error> {
    let options = ReadOptions { width: width.map(Length::mm), border: Length::mm(border) };
    read(&import(svg.as_bytes(), &Fonts::none())?, &options)
}

/// Reads a drawing of 100 units as 100 mm.
fn drawing(content: &str) -> Drawing {
    try_reading(&svg("width=\"100mm\" viewBox=\"0 0 100 100\"", content), None, 3.0)
        .expect("the drawing is readable")
}

fn check_near(found: Length, expected_mm: f64) {
    assert!((found.to_mm() - expected_mm).abs() < 0.01, "{found:?}, expected {expected_mm} mm");
}

#[test]
fn the_outline_element_is_the_cutter_whether_filled_stroked_or_neither() {
    for paint in
        ["fill=\"#ffffff\"", "fill=\"none\" stroke=\"#000000\" stroke-width=\"3\"", "fill=\"none\""]
    {
        let read = drawing(&format!(
            "<path id=\"outline\" {paint} d=\"M10 20h50v40h-50\"/><rect id=\"a\" x=\"30\" y=\"30\" width=\"9\" height=\"9\"/>"
        ));
        check_near(read.width, 50.0);
        check_near(read.height, 40.0);
        let ids: Vec<&str> = read.shapes.iter().map(|shape| shape.id.as_str()).collect();
        let expected: &[&str] = if paint.contains("#ffffff") { &["outline", "a"] } else { &["a"] };
        assert_eq!(ids, expected, "{paint}");
        let bounds = read
            .shapes
            .last()
            .and_then(|shape| shape.painted.bounds())
            .expect("the square is on the cutter");
        assert!(
            (bounds.min_x - 20.0).abs() < 1e-9 && (bounds.min_y - 10.0).abs() < 1e-9,
            "{bounds:?}"
        );
        assert!(read.facts.is_empty(), "{:?}", read.facts);
    }
}

#[test]
fn a_width_given_is_the_width_of_the_cutter_shape() {
    let outline = "<circle id=\"outline\" cx=\"50\" cy=\"50\" r=\"20\" fill=\"#fff\"/>";
    for root in ["viewBox=\"0 0 100 100\"", "width=\"70mm\" viewBox=\"0 0 100 100\""] {
        let read =
            try_reading(&svg(root, outline), Some(82.5), 3.0).expect("the drawing is readable");
        check_near(read.width, 82.5);
        check_near(read.height, 82.5);
    }
    let star = "<path d=\"M50 5 61 39 95 39 68 60 79 95 50 74 21 95 32 60 5 39 39 39Z\"/>";
    let read = try_reading(&svg("viewBox=\"0 0 100 100\"", star), Some(90.0), 0.5)
        .expect("the drawing is readable");
    check_near(read.width, 90.0);
}

#[test]
fn without_a_size_or_with_an_impossible_one_nothing_is_read() {
    let square = svg("viewBox=\"0 0 9 9\"", "<rect id=\"outline\" width=\"9\" height=\"9\"/>");
    assert_eq!(try_reading(&square, None, 3.0), Err(Error::NoSize));
    for width in [0.0, -4.0, 4.0, 5000.0, f64::NAN, f64::INFINITY] {
        assert!(
            matches!(try_reading(&square, Some(width), 3.0), Err(Error::BadSize { .. })),
            "{width}"
        );
    }
    let huge = svg(
        "width=\"9000mm\" viewBox=\"0 0 9 9\"",
        "<rect id=\"outline\" width=\"9\" height=\"9\"/>",
    );
    assert!(matches!(try_reading(&huge, None, 3.0), Err(Error::BadSize { .. })));
    let line = svg("viewBox=\"0 0 9 9\"", "<path id=\"outline\" d=\"M0 0H9\" stroke=\"red\"/>");
    assert_eq!(try_reading(&line, Some(60.0), 3.0), Err(Error::OpenOutline));
}

#[test]
fn without_an_outline_the_silhouette_is_grown_by_the_border() {
    let read = drawing(
        "<rect x=\"20\" y=\"30\" width=\"40\" height=\"20\" fill=\"#000000\"/><circle cx=\"70\" cy=\"40\" r=\"5\"/>",
    );
    // The rectangle ends at 60, the disk begins at 65 and ends at 75: 55 mm and twice the border.
    check_near(read.width, 61.0);
    check_near(read.height, 26.0);
    assert_eq!(read.outline.rings().count(), 1);
    assert_eq!(read.facts, [Fact::OutlineGuessed { border: Length::mm(3.0) }]);
}

#[test]
fn words_that_lie_apart_become_one_cookie() {
    let read = drawing(
        "<rect y=\"40\" width=\"40\" height=\"10\"/><rect x=\"55\" y=\"40\" width=\"30\" height=\"10\"/>",
    );
    assert_eq!((read.outline.n_parts(), read.shapes.len()), (1, 2));
    assert!(read.facts.contains(&Fact::OutlineJoined { n_parts: 2 }), "{:?}", read.facts);
    // As wide as both with the gap and twice the border.
    check_near(read.width, 91.0);
}

#[test]
fn islands_too_far_apart_and_doubtful_outlines_are_told() {
    let read = drawing(
        "<rect width=\"30\" height=\"30\"/><circle id=\"far\" cx=\"90\" cy=\"90\" r=\"4\"/>",
    );
    assert!(read.facts.contains(&Fact::OutlineInParts { n_dropped: 1 }), "{:?}", read.facts);
    assert!(
        read.facts
            .iter()
            .any(|fact| matches!(fact, Fact::ArtOutsideOutline { id, .. } if id == "far"))
    );
    assert_eq!(read.shapes.len(), 1);
    let read = drawing(
        "<rect id=\"outline\" width=\"30\" height=\"30\"/><g id=\"outline\"><circle r=\"9\"/></g>",
    );
    assert!(read.facts.contains(&Fact::OutlineAmbiguous { n_outlines: 2 }));
}

#[test]
fn art_beyond_the_cutter_is_cut_off_and_told() {
    let read = drawing(
        "<rect id=\"outline\" width=\"50\" height=\"50\" fill=\"none\"/><rect id=\"over\" x=\"40\" width=\"20\" height=\"10\"/>",
    );
    let painted = read.shapes[0].painted.area().to_mm2();
    assert!((painted - 100.0).abs() < 0.01, "{painted}");
    let told = read.facts.iter().find_map(|fact| match fact {
        Fact::ArtOutsideOutline { id, area } if id == "over" => Some(area.to_mm2()),
        _ => None,
    });
    assert!((told.expect("the overhang is told") - 100.0).abs() < 0.01);
}

#[test]
fn shapes_are_named_by_element_by_lone_group_or_by_order() {
    let read = drawing(concat!(
        "<rect id=\"outline\" width=\"90\" height=\"90\" fill=\"none\"/>",
        "<g id=\"outer\"><g id=\"lone\"><rect x=\"1\" width=\"5\" height=\"5\"/></g></g>",
        "<g id=\"pair\"><rect x=\"11\" width=\"5\" height=\"5\"/><rect x=\"21\" width=\"5\" height=\"5\"/></g>",
        "<rect id=\"both\" x=\"31\" y=\"2\" width=\"5\" height=\"5\" stroke=\"#ff0000\" stroke-width=\"2\"/>",
        "<rect id=\"s2\" x=\"51\" width=\"5\" height=\"5\"/>",
    ));
    let ids: Vec<&str> = read.shapes.iter().map(|shape| shape.id.as_str()).collect();
    assert_eq!(ids, ["lone", "s2", "s3", "both", "both-2", "s2-2"]);
    assert_eq!(read.shapes[3].origin, Origin::Fill);
    assert!(
        matches!(read.shapes[4].origin, Origin::Stroke { width } if (width.to_mm() - 2.0).abs() < 1e-6)
    );
}

#[test]
fn translucent_paint_becomes_what_it_shows() {
    let read = drawing(concat!(
        "<rect id=\"outline\" width=\"90\" height=\"90\" fill=\"#0000ff\"/>",
        "<g opacity=\"0.5\"><rect id=\"veil\" width=\"20\" height=\"20\" fill=\"#ff0000\"/></g>",
    ));
    // Half red over blue, 127.5 rounded up.
    assert_eq!(read.shapes[1].color, Color { red: 128, green: 0, blue: 128 });
    assert_eq!(read.facts, [Fact::Flattened { what: Flattened::Opacity, id: Some("veil".into()) }]);
}

#[test]
fn gradients_patterns_and_effects_are_made_plain_and_told() {
    let read = drawing(concat!(
        "<defs><linearGradient id=\"sky\"><stop stop-color=\"#000000\"/><stop offset=\"1\" stop-color=\"#ffffff\"/></linearGradient>",
        "<pattern id=\"dots\" width=\"9\" height=\"9\" patternUnits=\"userSpaceOnUse\"><rect width=\"9\" height=\"9\" fill=\"#123456\"/><rect width=\"2\" height=\"2\"/></pattern>",
        "<mask id=\"m\"><rect width=\"99\" height=\"99\" fill=\"#ffffff\"/></mask>",
        "<filter id=\"f\"><feGaussianBlur stdDeviation=\"2\"/></filter></defs>",
        "<rect id=\"outline\" width=\"90\" height=\"90\" fill=\"none\"/>",
        "<rect id=\"a\" width=\"9\" height=\"9\" fill=\"url(#sky)\"/>",
        "<rect id=\"b\" x=\"10\" width=\"9\" height=\"9\" fill=\"url(#dots)\"/>",
        "<g id=\"c\" mask=\"url(#m)\"><rect x=\"20\" width=\"9\" height=\"9\"/></g>",
        "<g id=\"d\" filter=\"url(#f)\"><rect x=\"30\" width=\"9\" height=\"9\"/></g>",
        "<g id=\"e\" style=\"mix-blend-mode:multiply\"><rect x=\"40\" width=\"9\" height=\"9\"/></g>",
        "<image id=\"p\" href=\"photo.png\" width=\"9\" height=\"9\"/>",
    ));
    let colors: Vec<String> =
        read.shapes.iter().take(2).map(|shape| shape.color.to_hex()).collect();
    assert_eq!(colors, ["#808080", "#123456"]);
    let dropped = |what, id: &str| Fact::Dropped { what, id: Some(id.into()) };
    let flattened = |what, id: &str| Fact::Flattened { what, id: Some(id.into()) };
    let expected = [
        dropped(Dropped::Image, "p"),
        flattened(Flattened::Gradient, "a"),
        flattened(Flattened::Pattern, "b"),
        flattened(Flattened::Mask, "c"),
        dropped(Dropped::Filter, "d"),
        flattened(Flattened::BlendMode, "e"),
    ];
    assert_eq!(read.facts, expected);
}

#[test]
fn text_is_lettering_set_in_the_fonts_given_or_told() {
    let text = "<rect id=\"outline\" width=\"90\" height=\"90\" fill=\"none\"/><text id=\"t\" x=\"9\" y=\"50\" font-size=\"20\" font-family=\"Elsewhere\">Anna</text>";
    let with_font = svg("width=\"100mm\" viewBox=\"0 0 100 100\"", text);
    let artwork = import(with_font.as_bytes(), &fonts()).expect("the drawing is readable");
    let options = ReadOptions { width: None, border: Length::mm(3.0) };
    let read = read(&artwork, &options).expect("the drawing is readable");
    assert_eq!(read.shapes.len(), 1);
    assert_eq!((read.shapes[0].origin, read.shapes[0].id.as_str()), (Origin::Text, "t"));
    assert!(read.shapes[0].visible.n_parts() >= 4, "four letters");
    assert_eq!(
        read.facts,
        [Fact::FontReplaced { asked: "Elsewhere".into(), used: "Quicksand".into() }]
    );
    let without = drawing(text);
    assert!(without.shapes.is_empty());
    assert_eq!(without.facts, [Fact::Dropped { what: Dropped::Text, id: Some("t".into()) }]);
}

#[test]
fn a_letter_no_font_has_is_told() {
    let text = svg(
        "width=\"100mm\" viewBox=\"0 0 100 100\"",
        "<rect id=\"outline\" width=\"90\" height=\"90\" fill=\"none\"/><text y=\"50\" font-family=\"Quicksand\">a\u{2f00}</text>",
    );
    let artwork = import(text.as_bytes(), &fonts()).expect("the drawing is readable");
    assert_eq!(artwork.notes(), [Fact::LetterMissing { letter: '\u{2f00}' }]);
}

#[test]
fn a_covered_shape_stays_with_nothing_seen_of_it() {
    let read = drawing(
        "<rect id=\"under\" x=\"5\" y=\"5\" width=\"9\" height=\"9\"/><rect id=\"outline\" width=\"90\" height=\"90\"/>",
    );
    assert!(read.shapes[0].visible.is_empty() && !read.shapes[0].painted.is_empty());
    assert_eq!(read.facts, [Fact::Covered { id: "under".into() }]);
}

#[test]
fn paint_beyond_the_picture_is_not_seen() {
    let read = try_reading(
        &svg(
            "width=\"40mm\" height=\"40mm\" viewBox=\"0 0 40 40\"",
            "<rect x=\"-20\" width=\"40\" height=\"40\"/>",
        ),
        None,
        3.0,
    )
    .expect("the drawing is readable");
    check_near(read.width, 26.0);
}

#[test]
fn visible_regions_tile_what_is_painted() {
    for (name, svg) in DRAWINGS {
        let artwork = import(svg.as_bytes(), &fonts()).expect("the fixture is readable");
        let options = ReadOptions { width: None, border: Length::mm(3.0) };
        let drawing = read(&artwork, &options).expect("the fixture states its size");
        let painted: Vec<_> = drawing.shapes.iter().map(|shape| &shape.painted).collect();
        let whole = drawing::Region::union(&painted).area().to_mm2();
        let seen: f64 = drawing.shapes.iter().map(|shape| shape.visible.area().to_mm2()).sum();
        assert!((whole - seen).abs() < 1e-4 * whole, "{name}: {seen} of {whole} mm2 are seen");
        assert_eq!(drawing.outline.rings().count(), 1, "{name}");
    }
}

#[test]
fn the_same_bytes_give_the_same_drawing() {
    for (name, svg) in DRAWINGS {
        let once = || {
            let options = ReadOptions { width: Some(Length::mm(80.0)), border: Length::mm(3.0) };
            read(&import(svg.as_bytes(), &fonts()).expect("readable"), &options).expect("readable")
        };
        assert_eq!(once(), once(), "{name}");
    }
}
