//! Dough sheets with their cuts, numbered, in the order they are cut.

use craft::document::plan::{CutDocument, DesignDocument, PlanDocument, SheetDocument};
use drawing::Region;
use quantity::Length;

use super::{
    MARGIN, WIDEST,
    flow::{Block, Flow, Gaps, flow, in_rows},
    palette::{CRUST, CRUST_EDGE, DOUGH, GROUND, RAW_DOUGH},
    ruler::{RULER_HEIGHT, ruler},
    svg::{Element, picture},
    words::{Anchor, Paragraph, Weight, height_of, line, set},
};
use crate::scale::Scale;
use crate::words::{counted, n_of};

/// Size of the number on a cut.
const NUMBER: f64 = 3.0;
/// Pictures of many sheets or trays grow no taller than this, if a smaller scale helps.
const TALLEST: f64 = 300.0;

/// Draws the dough sheets in the order they are rolled, every cut in its place, to scale; how thick they are rolled is said in the title.
pub fn sheets_picture(plan: &PlanDocument, thickness: Length) -> String {
    let PlanDocument { designs, .. } = plan;
    let sheets = &plan.cutting.sheets;
    let sizes: Vec<[f64; 2]> =
        sheets.iter().map(|sheet| [sheet.width_mm, sheet.length_mm]).collect();
    let scale = fitting_scale(&sizes);

    let points: Vec<[f64; 2]> =
        designs.iter().map(|design| number_point(design, NUMBER * scale.divisor)).collect();
    let blocks = sheets.iter().enumerate().map(|(place, sheet)| {
        let laid = designs_of(&sheet.placements, designs);
        let [width, height] = drawn_size([sheet.width_mm, sheet.length_mm], scale);
        let caption = [
            Paragraph::new(&sheet_name(sheets, place), 3.8, Weight::Chief, width),
            Paragraph::new(&contents(&laid), 3.0, Weight::Side, width),
        ];
        let dough = Element::rect([0.0, -height], width, height)
            .set("rx", 1.5)
            .fill(RAW_DOUGH)
            .stroke(CRUST, 0.35);
        let cuts = outlines(&laid, "cut", scale, [0.0, -height]);
        let numbers = laid.iter().zip(1..).map(|(cut, number)| {
            let point = points.get(cut.place).copied().unwrap_or_default();
            let [x, y] = on_sheet(cut.placement, point).map(|mm| scale.shown(mm));
            let baseline = y - height + NUMBER * 0.36;
            line(&number.to_string(), [x, baseline], NUMBER, Anchor::Middle, Weight::Side)
        });
        Block {
            width,
            above: height,
            below: 2.5 + height_of(&caption),
            content: Element::group([dough, cuts]).with(numbers).with(set(
                &caption,
                [0.0, 2.5],
                Anchor::Start,
            )),
        }
    });
    let laid = flow(blocks.collect(), GAPS, WIDEST - 4.0 * MARGIN, LEAST_WIDTH);
    let title = format!(
        "{}, rolled {:.1} mm thick, with their cuts",
        n_of(sheets.len(), "dough sheet", "dough sheets"),
        thickness.to_mm()
    );
    on_ruler(&title, shapes(designs, "cut"), laid, scale)
}

/// A cookie as it lies on a sheet or tray.
pub(super) struct Lying<'a> {
    placement: &'a CutDocument,
    design: &'a DesignDocument,
    /// The design's place in the plan.
    place: usize,
}

/// Finds the designs of placements.
pub(super) fn designs_of<'a>(
    placements: &'a [CutDocument],
    designs: &'a [DesignDocument],
) -> Vec<Lying<'a>> {
    let lying = |placement: &'a CutDocument| {
        let place = designs.iter().position(|design| design.id == placement.design)?;
        Some(Lying { placement, design: designs.get(place)?, place })
    };
    placements.iter().filter_map(lying).collect()
}

/// The outlines of all designs, kept once in a picture under ids that start with `key`.
pub(super) fn shapes(designs: &[DesignDocument], key: &str) -> Element {
    Element::new("defs").with(designs.iter().enumerate().map(|(place, design)| {
        Element::path(design.outline_d.clone()).set("id", format!("{key}-{place}"))
    }))
}

pub(super) const GAPS: Gaps = Gaps { across: 9.0, down: 9.0 };
pub(super) const LEAST_WIDTH: f64 = 90.0;

/// Returns the largest scale at which all sheets find room, else the smallest there is.
pub(super) fn fitting_scale(sizes: &[[f64; 2]]) -> Scale {
    let fits = |scale: &Scale| {
        let drawn: Vec<[f64; 2]> = sizes.iter().map(|size| drawn_size(*size, *scale)).collect();
        let widths: Vec<f64> = drawn.iter().map(|[width, _]| *width).collect();
        let tallest = drawn.iter().map(|[_, height]| *height).fold(0.0, f64::max);
        let rows = in_rows(&widths, GAPS.across, WIDEST - 4.0 * MARGIN);
        rows.len() as f64 * (tallest + 20.0) <= TALLEST
    };
    // Half of true size would show no more than a third and needs much more paper.
    let mut scales = Scale::ALL.into_iter().filter(|scale| scale.divisor >= 3.0);
    scales.find(fits).unwrap_or(Scale::SMALLEST)
}

/// Width and height of a sheet in the picture.
pub(super) fn drawn_size(size_mm: [f64; 2], scale: Scale) -> [f64; 2] {
    size_mm.map(|mm| scale.shown(mm))
}

/// Puts a flow on paper, with a ruler of its scale under it.
pub(super) fn on_ruler(title: &str, definitions: Element, laid: Flow, scale: Scale) -> String {
    let padding = 2.0 * MARGIN;
    let whole = [laid.width + 2.0 * padding, padding + laid.height + 8.0 + RULER_HEIGHT + MARGIN];
    picture(
        title,
        whole,
        [
            definitions,
            Element::rect([0.0, 0.0], whole[0], whole[1]).fill(GROUND),
            Element::group(laid.content).moved([padding, padding]),
            Element::group([ruler(laid.width, scale)])
                .moved([padding, padding + laid.height + 8.0]),
        ],
    )
}

/// Draws outlines in their places; `corner` is the upper left corner of what they lie on.
pub(super) fn outlines(laid: &[Lying<'_>], key: &str, scale: Scale, corner: [f64; 2]) -> Element {
    let outlines = laid.iter().map(|Lying { placement, place, .. }| {
        let shape = Element::reference(&format!("{key}-{place}"));
        let shape = if placement.mirrored {
            Element::group([shape.set("transform", "scale(-1 1)")])
        } else {
            shape
        };
        shape.turned_and_moved(placement.rotation_deg, [placement.x_mm, placement.y_mm])
    });
    Element::group([Element::group(outlines)
        .scaled_and_moved(scale.shown(1.0), corner)
        .fill(DOUGH)
        .stroke(CRUST_EDGE, 0.35 * scale.divisor)
        .set("stroke-linejoin", "round")])
}

/// Returns where the number of a cut stands, in the design's own millimeters: in the center of mass of its outline,
/// or where a shape with arms leaves most room, if the center lies closer than `least_mm` to its edge.
pub fn number_point(design: &DesignDocument, least_mm: f64) -> [f64; 2] {
    roomy_point(&Region::from_path_d(&design.outline_d).unwrap_or_default(), least_mm)
}

pub(super) fn roomy_point(outline: &Region, least_mm: f64) -> [f64; 2] {
    let center = center_of_mass(outline);
    let Some(bounds) = outline.bounds() else { return center };
    if room_at(outline, center) >= least_mm {
        return center;
    }
    let grid = (1..GRID).flat_map(|i| (1..GRID).map(move |j| [i, j].map(f64::from)));
    let points = grid.map(|[i, j]| {
        let along = |low: f64, high: f64, step: f64| low + (high - low) * step / f64::from(GRID);
        [along(bounds.min_x, bounds.max_x, i), along(bounds.min_y, bounds.max_y, j)]
    });
    let roomier = |best: ([f64; 2], f64), point| {
        let room = room_at(outline, point);
        if room > best.1 { (point, room) } else { best }
    };
    points.fold((center, room_at(outline, center)), roomier).0
}

/// Steps across a shape in search of its roomiest point.
const GRID: u32 = 30;

/// Returns the distance to the nearest edge of a shape, negative outside of it.
fn room_at(outline: &Region, point: [f64; 2]) -> f64 {
    let distance = outline
        .rings()
        .flat_map(edges)
        .map(|edge| distance_to(edge, point))
        .fold(f64::MAX, f64::min);
    if outline.contains_point(point) { distance } else { -distance }
}

/// Distance from a point to a straight edge.
fn distance_to([[x0, y0], [x1, y1]]: [[f64; 2]; 2], [x, y]: [f64; 2]) -> f64 {
    let (dx, dy) = (x1 - x0, y1 - y0);
    let length_squared = dx * dx + dy * dy;
    let along = if length_squared > 0.0 {
        (((x - x0) * dx + (y - y0) * dy) / length_squared).clamp(0.0, 1.0)
    } else {
        0.0
    };
    (x - x0 - along * dx).hypot(y - y0 - along * dy)
}

/// Center of mass by the shoelace formula, holes counted negative.
fn center_of_mass(outline: &Region) -> [f64; 2] {
    let (mut area, mut center) = (0.0, [0.0, 0.0]);
    for [[x0, y0], [x1, y1]] in outline.rings().flat_map(edges) {
        let cross = x0 * y1 - x1 * y0;
        area += cross;
        center = [center[0] + (x0 + x1) * cross, center[1] + (y0 + y1) * cross];
    }
    if area == 0.0 { center } else { center.map(|sum| sum / (3.0 * area)) }
}

fn edges(ring: &[[f64; 2]]) -> impl Iterator<Item = [[f64; 2]; 2]> {
    let ends = ring.iter().skip(1).chain(ring.first());
    ring.iter().zip(ends).map(|(&from, &to)| [from, to])
}

/// Returns where a point of a cookie lies on its sheet.
fn on_sheet(placement: &CutDocument, [x, y]: [f64; 2]) -> [f64; 2] {
    let (sin, cos) = placement.rotation_deg.to_radians().sin_cos();
    let x = if placement.mirrored { -x } else { x };
    [x * cos - y * sin + placement.x_mm, x * sin + y * cos + placement.y_mm]
}

/// "fresh sheet 2", "frozen sheet 1", "re-roll": what a sheet is and the how manieth of its kind.
pub fn sheet_name(sheets: &[SheetDocument], place: usize) -> String {
    let Some(sheet) = sheets.get(place) else { return String::new() };
    let is_alike = |other: &&SheetDocument| {
        other.from_freezer == sheet.from_freezer && (other.round > 0) == (sheet.round > 0)
    };
    let number = sheets.iter().take(place + 1).filter(is_alike).count();
    match (sheet.round, sheet.from_freezer) {
        (0, true) => format!("frozen sheet {number}"),
        (0, false) => format!("fresh sheet {number}"),
        _ if sheets.iter().filter(is_alike).count() == 1 => "re-roll".to_owned(),
        (1, _) => format!("re-roll {number}"),
        (round, _) => format!("re-roll {number}, round {round}"),
    }
}

/// "4 × lighthouse, 5 × gull", in the order they first come.
pub(super) fn contents(laid: &[Lying<'_>]) -> String {
    let mut counts: Vec<(&str, usize)> = Vec::new();
    for Lying { design, .. } in laid {
        match counts.iter_mut().find(|(id, _)| *id == design.id) {
            Some((_, n)) => *n += 1,
            None => counts.push((&design.id, 1)),
        }
    }
    let words: Vec<String> = counts.iter().map(|(id, n)| counted(*n, id)).collect();
    words.join(", ")
}

#[cfg(test)]
mod tests {
    use drawing::region::FillRule;

    use super::*;

    fn region(ring: &[[f64; 2]]) -> Region {
        Region::from_rings(&[ring.to_vec()], FillRule::NonZero)
    }

    #[test]
    fn a_number_stands_in_the_center_of_mass_if_there_is_room() {
        // Geometry: the medians of a triangle meet in the mean of its corners.
        let triangle = region(&[[0.0, 0.0], [90.0, 0.0], [0.0, 60.0]]);
        let [x, y] = roomy_point(&triangle, 3.0);
        assert!((x - 30.0).abs() < 1e-9 && (y - 20.0).abs() < 1e-9);

        // A thin hook whose center of mass lies outside of it: the number moves into the hook.
        let hook = region(&[
            [0.0, 0.0],
            [60.0, 0.0],
            [60.0, 12.0],
            [12.0, 12.0],
            [12.0, 60.0],
            [0.0, 60.0],
        ]);
        assert!(room_at(&hook, center_of_mass(&hook)) < 0.0);
        assert!(room_at(&hook, roomy_point(&hook, 3.0)) > 5.0);

        assert_eq!(roomy_point(&region(&[]), 3.0), [0.0, 0.0]);
    }

    #[test]
    fn sheets_are_named_by_kind_and_number() {
        let sheet = |round, from_freezer| SheetDocument {
            round,
            from_freezer,
            width_mm: 250.0,
            length_mm: 350.0,
            placements: Vec::new(),
            rows: Vec::new(),
        };
        let names = |sheets: &[SheetDocument]| -> Vec<String> {
            (0..sheets.len()).map(|place| sheet_name(sheets, place)).collect()
        };
        let short = [sheet(0, true), sheet(0, false), sheet(0, false), sheet(1, false)];
        assert_eq!(names(&short), ["frozen sheet 1", "fresh sheet 1", "fresh sheet 2", "re-roll"]);
        let long = [sheet(0, false), sheet(1, false), sheet(1, false), sheet(2, false)];
        assert_eq!(names(&long), ["fresh sheet 1", "re-roll 1", "re-roll 2", "re-roll 3, round 2"]);
    }

    #[test]
    fn more_sheets_are_drawn_smaller() {
        let size = [250.0, 350.0];
        let scales = [1, 6, 20, 500].map(|n| fitting_scale(&vec![size; n]).divisor);
        assert!(scales.is_sorted(), "{scales:?}");
        assert_eq!((scales[0], scales[3]), (3.0, 12.0));
    }
}
