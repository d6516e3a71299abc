//! Line drawings that spare the printer's ink: outlines, dough sheets and trays, in millimeters.

use std::{collections::BTreeMap, fmt::Write};

use craft::document::plan::{CutDocument, DesignDocument};
use drawing::Region;

use super::scale::Scale;

pub(super) const INK: &str = "#2a231c";
pub(super) const SOFT_INK: &str = "#5c5145";
pub(super) const HAIRLINE: &str = "#857764";

/// Wraps drawn elements as a picture of this width and height.
pub(super) fn svg([width, height]: [f64; 2], elements: &str) -> String {
    svg_window([0.0, 0.0], [width, height], elements)
}

/// The same, of the part that begins at a point.
fn svg_window([x, y]: [f64; 2], [width, height]: [f64; 2], elements: &str) -> String {
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
        let DesignDocument { id, outline_d, width_mm, height_mm, .. } = design;
        let middle = Region::from_path_d(outline_d)
            .and_then(|outline| widest_middle(&outline))
            .unwrap_or([width_mm / 2.0, height_mm / 2.0]);
        (id.as_str(), Shape { outline_d, middle })
    };
    designs.iter().map(shape).collect()
}

/// Lines across an outline on which room for a number is looked for.
const LINES_ACROSS: u32 = 15;

/// Returns the middle of the longest run inside an outline along level lines, those near the middle first.
fn widest_middle(outline: &Region) -> Option<[f64; 2]> {
    let bounds = outline.bounds()?;
    let runs = (1..LINES_ACROSS).filter_map(|step| {
        let share = f64::from(step) / f64::from(LINES_ACROSS);
        let y = bounds.min_y + share * (bounds.max_y - bounds.min_y);
        let mut crossings: Vec<f64> = outline.rings().flat_map(|ring| crossings(ring, y)).collect();
        crossings.sort_by(f64::total_cmp);
        let runs = crossings.chunks_exact(2).filter_map(|pair| {
            let &[from, to] = pair else { return None };
            Some([to - from, (from + to) / 2.0])
        });
        let [length, x] = runs.max_by(|a, b| a[0].total_cmp(&b[0]))?;
        // Room above and below is larger near the middle.
        let roomy = length * (1.0 - (2.0 * share - 1.0).abs()).sqrt();
        Some((roomy, [x, y]))
    });
    runs.max_by(|a, b| a.0.total_cmp(&b.0)).map(|(_, point)| point)
}

/// Where the sides of a ring cross a level line.
fn crossings(ring: &[[f64; 2]], y: f64) -> Vec<f64> {
    let next = ring.iter().cycle().skip(1);
    let sides = ring.iter().zip(next);
    sides
        .filter(|([_, y0], [_, y1])| (*y0 > y) != (*y1 > y))
        .map(|([x0, y0], [x1, y1])| x0 + (y - y0) / (y1 - y0) * (x1 - x0))
        .collect()
}

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
    let [width, height] = size.map(|mm| scale.on_paper(mm).max(LEAST_MM));
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
    let shrink = scale.on_paper(1.0);
    for (cut, number) in placements.iter().zip(1..) {
        let Some(shape) = shapes.get(cut.design.as_str()) else { continue };
        let CutDocument { x_mm, y_mm, rotation_deg, .. } = cut;
        let _ = write!(
            elements,
            r##"<path d="{}" transform="scale({shrink:.6}) translate({x_mm} {y_mm}) rotate({rotation_deg})" fill="#f6ecd8" stroke="{INK}" stroke-width="{:.4}" stroke-linejoin="round"/>"##,
            shape.outline_d,
            0.18 / shrink,
        );
        if numbers == Numbers::Shown {
            let (sin, cos) = rotation_deg.to_radians().sin_cos();
            let [x, y] = shape.middle;
            let (x, y) = (x * cos - y * sin + x_mm, x * sin + y * cos + y_mm);
            let _ = write!(
                elements,
                r#"<text x="{:.3}" y="{:.3}" font-family="Ysabeau Office" font-weight="600" font-size="{NUMBER_MM}" text-anchor="middle" fill="{INK}">{number}</text>"#,
                scale.on_paper(x),
                scale.on_paper(y) + NUMBER_MM * 0.36,
            );
        }
    }
    svg([width, height], &elements)
}

/// Paper left around an outline, so that its line is not cut off.
pub(super) const AROUND_OUTLINE_MM: f64 = 0.5;

/// Draws a part of a design's outline at true size: the window that begins at a point and is so large.
///
/// The middle of the line lies on the outline.
pub(super) fn outline_window(
    outline_d: &str,
    corner: [f64; 2],
    size: [f64; 2],
    marks: &str,
) -> String {
    let path = format!(
        r#"<path d="{outline_d}" fill="none" stroke="{INK}" stroke-width="0.3" stroke-linejoin="round"/>{marks}"#
    );
    svg_window(corner, size, &path)
}

#[cfg(test)]
mod tests {
    use drawing::region::FillRule;

    use super::*;

    #[test]
    fn a_number_stands_inside_its_outline() {
        let bowl = vec![
            [0.0, 0.0],
            [10.0, 0.0],
            [10.0, 30.0],
            [50.0, 30.0],
            [50.0, 0.0],
            [60.0, 0.0],
            [60.0, 40.0],
            [0.0, 40.0],
        ];
        let outline = Region::from_rings(&[bowl], FillRule::EvenOdd);
        let point = widest_middle(&outline).expect("a point");
        assert!(outline.contains_point(point), "{point:?}");
        let disc: Vec<[f64; 2]> = (0..90)
            .map(|step| (f64::from(step) * 4.0).to_radians().sin_cos())
            .map(|(y, x)| [20.0 * x, 20.0 * y])
            .collect();
        let [x, y] =
            widest_middle(&Region::from_rings(&[disc], FillRule::EvenOdd)).expect("a point");
        assert!(x.hypot(y) < 3.0, "{x} {y}");
    }
}
