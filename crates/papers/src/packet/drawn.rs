//! Line drawings that spare the printer's ink: outlines, dough sheets and trays, in millimeters.

use std::{collections::BTreeMap, fmt::Write};

use craft::document::plan::{CutDocument, DesignDocument, SheetDocument};
use drawing::Region;

use crate::{picture::number_point, scale::Scale};

pub(super) const INK: &str = "#2a231c";
pub(super) const SOFT_INK: &str = "#5c5145";
pub(super) const HAIRLINE: &str = "#857764";

/// Wraps drawn elements as a picture of this width and height.
pub(super) fn svg([width, height]: [f64; 2], elements: &str) -> String {
    svg_window([0.0, 0.0], [width, height], elements)
}

/// The same, of the part that begins at a point.
pub(super) fn svg_window([x, y]: [f64; 2], [width, height]: [f64; 2], elements: &str) -> String {
    format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="{width:.4}mm" height="{height:.4}mm" viewBox="{x:.4} {y:.4} {width:.4} {height:.4}">{elements}</svg>"#
    )
}

/// Tells whether there is anything to show of a design.
pub(super) fn has_outline(design: &DesignDocument) -> bool {
    Region::from_path_d(&design.outline_d).is_some_and(|outline| !outline.is_empty())
}

/// A design as it is laid and cut: its outline and where a number finds room in it.
pub(super) struct Shape<'a> {
    outline_d: &'a str,
    middle: [f64; 2],
}

/// Reads the outlines of all designs, by id.
pub(super) fn shapes<'a>(designs: &'a [DesignDocument]) -> BTreeMap<&'a str, Shape<'a>> {
    let shape = |design: &'a DesignDocument| {
        let middle = number_point(design, NUMBER_ROOM_MM);
        (design.id.as_str(), Shape { outline_d: &design.outline_d, middle })
    };
    designs.iter().map(shape).collect()
}

/// Room in life for a number: it stands [`NUMBER_MM`] high at a third of true size.
const NUMBER_ROOM_MM: f64 = 4.0;

/// Whether cookies carry their numbers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) enum Numbers {
    /// 1 and up, in the order they are listed.
    Shown,
    Hidden,
}

/// Height of a cut's number on the paper.
const NUMBER_MM: f64 = 2.5;

/// A picture cannot be smaller.
const LEAST_MM: f64 = 0.1;

/// Draws a dough sheet or tray with its cookies, as large as it stands on the paper.
pub(super) fn laid_out(
    size: [f64; 2],
    placements: &[CutDocument],
    shapes: &BTreeMap<&str, Shape<'_>>,
    scale: Scale,
    numbers: Numbers,
) -> String {
    let [width, height] = size.map(|mm| scale.shown(mm).max(LEAST_MM));
    let (rim, radius) = match numbers {
        Numbers::Shown => (0.25, 0.8),
        Numbers::Hidden => (0.55, 1.6),
    };
    // The rim lies inside, so that nothing is cut off.
    let mut elements = format!(
        r#"<rect x="{0}" y="{0}" width="{1:.4}" height="{2:.4}" rx="{radius}" fill="none" stroke="{HAIRLINE}" stroke-width="{rim}"/>"#,
        rim / 2.0,
        (width - rim).max(0.0),
        (height - rim).max(0.0),
    );
    let shrink = scale.shown(1.0);
    for (cut, number) in placements.iter().zip(1..) {
        let Some(shape) = shapes.get(cut.design.as_str()) else { continue };
        let CutDocument { x_mm, y_mm, rotation_deg, .. } = cut;
        let side = if cut.mirrored { -1.0 } else { 1.0 };
        let mirrored = if cut.mirrored { " scale(-1 1)" } else { "" };
        let _ = write!(
            elements,
            r##"<path d="{}" transform="scale({shrink:.6}) translate({x_mm} {y_mm}) rotate({rotation_deg}){mirrored}" fill="#f6ecd8" stroke="{INK}" stroke-width="{:.4}" stroke-linejoin="round"/>"##,
            shape.outline_d,
            0.18 / shrink,
        );
        if numbers == Numbers::Shown {
            let (sin, cos) = rotation_deg.to_radians().sin_cos();
            let [x, y] = shape.middle;
            let x = side * x;
            let (x, y) = (x * cos - y * sin + x_mm, x * sin + y * cos + y_mm);
            let _ = write!(
                elements,
                r#"<text x="{:.3}" y="{:.3}" font-family="Ysabeau Office" font-weight="600" font-size="{NUMBER_MM}" text-anchor="middle" fill="{INK}">{number}</text>"#,
                scale.shown(x),
                scale.shown(y) + NUMBER_MM * 0.36,
            );
        }
    }
    svg([width, height], &elements)
}

/// Paper left around an outline, so that its line is not cut off.
pub(super) const AROUND_OUTLINE_MM: f64 = 0.5;

/// Draws an outline at true size; the middle of the line lies on the outline.
pub(super) fn line(outline_d: &str) -> String {
    format!(
        r#"<path d="{outline_d}" fill="none" stroke="{INK}" stroke-width="0.3" stroke-linejoin="round"/>"#
    )
}

/// Size of the numbers on cuts at true size, and how far from an edge they stand where a shape has room.
pub(super) const TRUE_NUMBER_MM: f64 = 6.0;

/// Draws a number at true size.
pub(super) fn true_number(number: usize, [x, y]: [f64; 2]) -> String {
    format!(
        r#"<text x="{x:.3}" y="{:.3}" font-family="Ysabeau Office" font-size="{TRUE_NUMBER_MM}" text-anchor="middle" fill="{SOFT_INK}">{number}</text>"#,
        y + TRUE_NUMBER_MM * 0.36,
    )
}

/// Draws a dough sheet at true size: its edge and the outline of each cut; and tells where the numbers of the cuts stand.
pub(super) fn true_sheet(
    sheet: &SheetDocument,
    designs: &[DesignDocument],
) -> (String, Vec<(usize, [f64; 2])>) {
    let SheetDocument { width_mm, length_mm, placements, .. } = sheet;
    let mut elements = format!(
        r#"<rect width="{width_mm}" height="{length_mm}" fill="none" stroke="{SOFT_INK}" stroke-width="0.3"/>"#
    );
    let mut numbers = Vec::new();
    for (cut, number) in placements.iter().zip(1..) {
        let Some(design) = designs.iter().find(|design| design.id == cut.design) else { continue };
        let CutDocument { x_mm, y_mm, rotation_deg, .. } = cut;
        let [x, y] = number_point(design, TRUE_NUMBER_MM);
        let (sin, cos) = rotation_deg.to_radians().sin_cos();
        let side = if cut.mirrored { -1.0 } else { 1.0 };
        let mirrored = if cut.mirrored { " scale(-1 1)" } else { "" };
        let x = side * x;
        numbers.push((number, [x * cos - y * sin + x_mm, x * sin + y * cos + y_mm]));
        let outline = line(&design.outline_d);
        let _ = write!(
            elements,
            r#"<g transform="translate({x_mm} {y_mm}) rotate({rotation_deg}){mirrored}">{outline}</g>"#
        );
    }
    (elements, numbers)
}
