//! One small picture for each feature of SVG (structure, masking, painting, shapes, text, image):
//! its areas of color equal the pixels of an independent renderer, and what is seen equals a golden picture.

use std::fmt::Write;

use drawing::{Artwork, Drawing, ReadOptions, import, read};
use quantity::Length;

use crate::{
    fixtures::{FEATURES, FONT, fonts},
    raster::compare_page,
};

/// Every picture is a page of 40 × 30 mm, and its background is the cutter shape.
const PAGE_WIDTH: Length = Length::mm(40.0);

/// Blending in 8 bits rounds once a layer; three layers lie on each other at most.
const ROUNDING: u8 = 3;

/// Features told plainer than they are painted: their pixels go to the nearest color we have,
/// but those of a pattern or of a picture cannot.
const PLAINER: [&str; 2] = ["masking_mask_gradient", "painting_gradient"];
const NOT_COMPARED: [&str; 2] = ["image", "painting_pattern"];

fn drawing_of(artwork: &Artwork) -> Drawing {
    let options = ReadOptions { width: Some(PAGE_WIDTH), border: Length::mm(3.0) };
    read(artwork, &options).expect("the picture is readable")
}

#[test]
fn every_feature_has_the_areas_of_an_independent_raster_and_its_golden_picture() {
    let mut wrong = Vec::new();
    for (name, svg) in FEATURES {
        let artwork = import(svg.as_bytes(), &fonts()).expect("the picture is readable");
        // A mean color is no area of a raster; bands are.
        let artwork = if name.contains("gradient") { artwork.in_bands(4) } else { artwork };
        let drawing = drawing_of(&artwork);
        if !NOT_COMPARED.contains(&name) {
            let is_plainer = PLAINER.iter().any(|plainer| name.starts_with(plainer));
            let reach = if is_plainer { 255 } else { ROUNDING };
            for area in compare_page(svg, FONT, PAGE_WIDTH, &drawing, reach) {
                if !area.agrees() {
                    wrong.push(format!("{name}, {}: {area:?}", area.color.to_hex()));
                }
            }
        }
        insta::assert_snapshot!(name, golden(&drawing));
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn an_embedded_picture_is_traced_where_it_stands() {
    // 64 pixels are 16 mm: a square of 32 pixels and a disk of 10 pixels radius.
    let svg = include_str!("../../../../fixtures/features/image.svg");
    let drawing = drawing_of(&import(svg.as_bytes(), &fonts()).expect("the picture is readable"));
    let area = |color: &str| {
        let own = drawing.shapes.iter().filter(|shape| shape.color.to_hex() == color);
        own.map(|shape| shape.painted.area().to_mm2()).sum::<f64>()
    };
    for (color, expected) in [("#c81e3c", 64.0), ("#1e5ac8", std::f64::consts::PI * 2.5 * 2.5)] {
        assert!((area(color) / expected - 1.0).abs() < 0.02, "{color}: {}", area(color));
    }
}

#[test]
fn without_bands_a_gradient_is_its_mean_color() {
    let svg = include_str!("../../../../fixtures/features/painting_gradient_linear.svg");
    let drawing = drawing_of(&import(svg.as_bytes(), &fonts()).expect("the picture is readable"));
    let colors: Vec<String> = drawing.shapes.iter().map(|shape| shape.color.to_hex()).collect();
    // Half way between #000080 and #80ffff, and between #800000 and #ffb000.
    assert_eq!(colors, ["#f4efe6", "#4080c0", "#c05800"]);
}

/// The picture of what is seen, as SVG, with the areas and what was told.
fn golden(drawing: &Drawing) -> String {
    let mut svg =
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"40mm\" viewBox=\"0 0 40 30\">\n"
            .to_owned();
    for fact in &drawing.facts {
        _ = writeln!(svg, "<!-- {fact:?} -->");
    }
    for shape in drawing.shapes.iter().filter(|shape| !shape.visible.is_empty()) {
        _ = writeln!(
            svg,
            "<path id=\"{}\" data-area-mm2=\"{:.1}\" fill=\"{}\" d=\"{}\"/>",
            shape.id,
            shape.visible.area().to_mm2(),
            shape.color.to_hex(),
            coarse_path(shape.visible.rings()),
        );
    }
    svg + "</svg>"
}

/// Rings with corners at least 0.3 mm apart, in tenths of a millimeter: enough to be looked at.
fn coarse_path<'a>(rings: impl Iterator<Item = &'a [[f64; 2]]>) -> String {
    let mut data = String::new();
    for ring in rings {
        let mut last: Option<[f64; 2]> = None;
        for &[x, y] in ring {
            if last.is_some_and(|[last_x, last_y]| (x - last_x).hypot(y - last_y) < 0.3) {
                continue;
            }
            _ = write!(data, "{}{x:.1} {y:.1}", if last.is_none() { "M" } else { "L" });
            last = Some([x, y]);
        }
        data.push('Z');
    }
    data
}
