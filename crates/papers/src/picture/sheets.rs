//! Dough sheets with their cuts, numbered, in the order they are cut.

use craft::{dough::Cutting, kitchen::Kitchen, plan::OrderPlan, technique::Design};
use nesting::{CutSheet, Placement, SheetSize};

use super::{
    MARGIN, WIDEST,
    flow::{Block, Flow, Gaps, flow, in_rows},
    palette::{CRUST, CRUST_EDGE, DOUGH, GROUND, RAW_DOUGH},
    ruler::{RULER_HEIGHT, Scale, ruler},
    svg::{Element, picture},
    words::{Anchor, Paragraph, Weight, height_of, line, n_of, set, spoken},
};

/// Size of the number on a cut.
const NUMBER: f64 = 3.0;
/// Pictures of many sheets or trays grow no taller than this, if a smaller scale helps.
const TALLEST: f64 = 300.0;

/// Draws the dough sheets in the order they are rolled, every cut in its place, to scale.
pub fn sheets_picture(plan: &OrderPlan, kitchen: &Kitchen) -> String {
    let Cutting { plan: cutting, designs } = &plan.dough.cutting;
    let sheets = cutting.as_ref().map_or(&[][..], |cutting| &cutting.sheets);
    let cut = |placement: &Placement| plan.sections.designs.get(*designs.get(placement.piece)?);
    let sizes: Vec<SheetSize> = sheets.iter().map(|sheet| sheet.size).collect();
    let scale = fitting_scale(&sizes);

    let blocks = sheets.iter().enumerate().map(|(place, sheet)| {
        let laid: Vec<(&Placement, &Design)> =
            sheet.placements.iter().filter_map(|p| Some((p, cut(p)?))).collect();
        let [width, height] = drawn_size(sheet.size, scale);
        let caption = [
            Paragraph::new(&name_of(sheets, place), 3.8, Weight::Chief, width),
            Paragraph::new(&contents(laid.iter().map(|(_, design)| *design)), 3.0, Weight::Side, width),
        ];
        let dough = Element::rect([0.0, -height], width, height)
            .set("rx", 1.5)
            .fill(RAW_DOUGH)
            .stroke(CRUST, 0.35);
        let cuts = outlines(&laid, scale, [0.0, -height]);
        let numbers = laid.iter().zip(1..).map(|((placement, design), number)| {
            let [x, y] = middle_of(design, placement).map(|mm: f64| mm * scale.factor());
            let baseline = y - height + NUMBER * 0.36;
            line(&number.to_string(), [x, baseline], NUMBER, Anchor::Middle, Weight::Side)
        });
        Block {
            width,
            above: height,
            below: 2.5 + height_of(&caption),
            content: Element::group([dough, cuts])
                .with(numbers)
                .with(set(&caption, [0.0, 2.5], Anchor::Start)),
        }
    });
    let laid = flow(blocks.collect(), GAPS, WIDEST - 4.0 * MARGIN, LEAST_WIDTH);
    let title = format!(
        "{}, rolled {:.1} mm thick, with their cuts",
        n_of(sheets.len(), "dough sheet", "dough sheets"),
        kitchen.dough.thickness.to_mm()
    );
    on_ruler(&title, laid, scale)
}

pub(super) const GAPS: Gaps = Gaps { across: 9.0, down: 9.0 };
pub(super) const LEAST_WIDTH: f64 = 90.0;

/// Returns the largest scale at which all sheets find room, else the smallest there is.
pub(super) fn fitting_scale(sizes: &[SheetSize]) -> Scale {
    let fits = |scale: &Scale| {
        let drawn: Vec<[f64; 2]> = sizes.iter().map(|size| drawn_size(*size, *scale)).collect();
        let widths: Vec<f64> = drawn.iter().map(|[width, _]| *width).collect();
        let tallest = drawn.iter().map(|[_, height]| *height).fold(0.0, f64::max);
        let rows = in_rows(&widths, GAPS.across, WIDEST - 4.0 * MARGIN);
        rows.len() as f64 * (tallest + 20.0) <= TALLEST
    };
    // Half of true size would show no more than a third and needs much more paper.
    let scales = &Scale::SMALLER[1..];
    scales.iter().copied().find(fits).unwrap_or(Scale::SMALLER[Scale::SMALLER.len() - 1])
}

/// Width and height of a sheet in the picture.
pub(super) fn drawn_size(size: SheetSize, scale: Scale) -> [f64; 2] {
    [size.width_mm, size.length_mm].map(|mm| mm * scale.factor())
}

/// Puts a flow on paper, with a ruler of its scale under it.
pub(super) fn on_ruler(title: &str, laid: Flow, scale: Scale) -> String {
    let padding = 2.0 * MARGIN;
    let whole = [
        laid.width + 2.0 * padding,
        padding + laid.height + 8.0 + RULER_HEIGHT + MARGIN,
    ];
    picture(
        title,
        whole,
        [
            Element::rect([0.0, 0.0], whole[0], whole[1]).fill(GROUND),
            Element::group(laid.content).moved([padding, padding]),
            Element::group([ruler(laid.width, scale)]).moved([padding, padding + laid.height + 8.0]),
        ],
    )
}

/// Draws outlines in their places; `corner` is the upper left corner of what they lie on.
pub(super) fn outlines(laid: &[(&Placement, &Design)], scale: Scale, corner: [f64; 2]) -> Element {
    let outlines = laid.iter().map(|(placement, design)| {
        Element::path(design.outline.path_d())
            .turned_and_moved(placement.rotation_deg, [placement.x_mm, placement.y_mm])
    });
    Element::group([Element::group(outlines)
        .scaled_and_moved(scale.factor(), corner)
        .fill(DOUGH)
        .stroke(CRUST_EDGE, 0.35 / scale.factor())
        .set("stroke-linejoin", "round")])
}

/// Returns where a cut's number stands: the center of mass of its outline.
fn middle_of(design: &Design, placement: &Placement) -> [f64; 2] {
    let [x, y] = center_of_mass(design.outline.rings().next().unwrap_or_default());
    let (sin, cos) = placement.rotation_deg.to_radians().sin_cos();
    [x * cos - y * sin + placement.x_mm, x * sin + y * cos + placement.y_mm]
}

/// Center of mass of a polygon by the shoelace formula.
fn center_of_mass(ring: &[[f64; 2]]) -> [f64; 2] {
    let ends = ring.iter().skip(1).chain(ring.first());
    let (mut area, mut center) = (0.0, [0.0, 0.0]);
    for (&[x0, y0], &[x1, y1]) in ring.iter().zip(ends) {
        let cross = x0 * y1 - x1 * y0;
        area += cross;
        center = [center[0] + (x0 + x1) * cross, center[1] + (y0 + y1) * cross];
    }
    if area == 0.0 { [0.0, 0.0] } else { center.map(|sum| sum / (3.0 * area)) }
}

/// "fresh sheet 2", "frozen sheet 1", "re-roll": what a sheet is and the how manieth of its kind.
fn name_of(sheets: &[CutSheet], place: usize) -> String {
    let Some(sheet) = sheets.get(place) else { return String::new() };
    let is_alike = |other: &&CutSheet| {
        other.from_stock == sheet.from_stock && (other.round > 0) == (sheet.round > 0)
    };
    let number = sheets.iter().take(place + 1).filter(is_alike).count();
    match (sheet.round, sheet.from_stock) {
        (0, true) => format!("frozen sheet {number}"),
        (0, false) => format!("fresh sheet {number}"),
        _ if sheets.iter().filter(is_alike).count() == 1 => "re-roll".to_owned(),
        (1, _) => format!("re-roll {number}"),
        (round, _) => format!("re-roll {number}, round {round}"),
    }
}

/// "4 × lighthouse, 5 × gull", in the order they first come.
pub(super) fn contents<'a>(laid: impl Iterator<Item = &'a Design>) -> String {
    let mut counts: Vec<(&str, usize)> = Vec::new();
    for design in laid {
        match counts.iter_mut().find(|(id, _)| *id == design.id) {
            Some((_, n)) => *n += 1,
            None => counts.push((&design.id, 1)),
        }
    }
    let words: Vec<String> =
        counts.iter().map(|(id, n)| format!("{n} × {}", spoken(id))).collect();
    words.join(", ")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_center_of_mass_of_a_triangle_is_the_mean_of_its_corners() {
        // Geometry: the medians meet in the mean of the corners.
        let center = center_of_mass(&[[0.0, 0.0], [9.0, 0.0], [0.0, 6.0]]);
        assert!((center[0] - 3.0).abs() < 1e-12 && (center[1] - 2.0).abs() < 1e-12);
        assert_eq!(center_of_mass(&[]), [0.0, 0.0]);
    }

    #[test]
    fn sheets_are_named_by_kind_and_number() {
        let sheet = |round, from_stock| CutSheet {
            round,
            from_stock,
            size: SheetSize { width_mm: 250.0, length_mm: 350.0 },
            placements: Vec::new(),
        };
        let names = |sheets: &[CutSheet]| -> Vec<String> {
            (0..sheets.len()).map(|place| name_of(sheets, place)).collect()
        };
        let short = [sheet(0, true), sheet(0, false), sheet(0, false), sheet(1, false)];
        assert_eq!(names(&short), ["frozen sheet 1", "fresh sheet 1", "fresh sheet 2", "re-roll"]);
        let long = [sheet(0, false), sheet(1, false), sheet(1, false), sheet(2, false)];
        assert_eq!(names(&long), ["fresh sheet 1", "re-roll 1", "re-roll 2", "re-roll 3, round 2"]);
    }

    #[test]
    fn more_sheets_are_drawn_smaller() {
        let size = SheetSize { width_mm: 250.0, length_mm: 350.0 };
        let scales = [1, 6, 20, 500].map(|n| fitting_scale(&vec![size; n]).factor().recip().round());
        assert!(scales.is_sorted(), "{scales:?}");
        assert_eq!((scales[0], scales[3]), (3.0, 10.0));
    }
}
