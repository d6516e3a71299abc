//! Dough sheets and trays to scale, with what lies on them.

use craft::document::plan::{CutDocument, DesignDocument, PlanDocument};
use maud::{Markup, html};
use papers::{
    picture::{number_point, sheet_name},
    words::{rows_told, turned_over},
};

use super::{PlanAddress, capital, spoken};

/// Size of the number on a cut, in millimeters of life.
const NUMBER: f64 = 20.0;
/// Rim of a tray around its usable inside, in millimeters of life.
pub(crate) const RIM: f64 = 12.0;

/// The outlines of all designs, once in a page, for [`sheet`] and [`tray`] to refer to.
pub(crate) fn shapes(plan: &PlanDocument) -> Markup {
    html! {
        svg.store aria-hidden="true" focusable="false" {
            defs {
                @for (place, design) in plan.designs.iter().enumerate() {
                    path id={ "shape-" (place) } d=(design.outline_d) {}
                }
            }
        }
    }
}

/// One dough sheet with its cuts, numbered in the order they are cut.
pub(crate) fn sheet(at: &PlanAddress<'_>, plan: &PlanDocument, place: usize) -> Markup {
    let Some(sheet) = plan.cutting.sheets.get(place) else { return html! {} };
    let (width, length) = (sheet.width_mm, sheet.length_mm);
    let name = capital(&sheet_name(&plan.cutting.sheets, place));
    html! {
        figure {
            svg class={ "cookie " (at.class('s', place)) } viewBox={ "0 0 " (width) " " (length) }
                role="img" aria-label=(name) {
                rect.rolled x="1" y="1" width=(width - 2.0) height=(length - 2.0) rx="8" {}
                @for (number, (cut, design, shape)) in (1..).zip(lying(plan, &sheet.placements)) {
                    (outline(cut, shape, "cut"))
                    @let [x, y] = turned(cut, number_point(design, NUMBER * 0.6));
                    text.cut-number x=(format!("{x:.1}")) y=(format!("{:.1}", y + NUMBER * 0.34)) { (number) }
                }
            }
            figcaption {
                b { (name) ": " }
                @if sheet.rows.is_empty() { (contents(plan, &sheet.placements)) } @else { (rows_told(&sheet.rows)) }
                @if let Some(told) = turned_over(&sheet.placements) { "; " (told) }
            }
        }
    }
}

/// One tray with its cookies.
pub(crate) fn tray(at: &PlanAddress<'_>, plan: &PlanDocument, place: usize, name: &str) -> Markup {
    let Some(tray) = plan.trays.get(place) else { return html! {} };
    let (width, length) = (tray.width_mm, tray.length_mm);
    html! {
        figure {
            svg class={ "cookie " (at.class('t', place)) }
                viewBox={ (-RIM) " " (-RIM) " " (width + 2.0 * RIM) " " (length + 2.0 * RIM) }
                role="img" aria-label=(name) {
                rect.pan x=(3.0 - RIM) y=(3.0 - RIM) width=(width + 2.0 * RIM - 6.0)
                    height=(length + 2.0 * RIM - 6.0) rx="18" {}
                rect.pan-paper x="-3" y="-3" width=(width + 6.0) height=(length + 6.0) rx="6" {}
                @for (cut, _, shape) in lying(plan, &tray.placements) { (outline(cut, shape, "baked")) }
            }
            figcaption { b { (name) ": " } (contents(plan, &tray.placements)) }
        }
    }
}

/// Each placement with its design and the design's place.
fn lying<'a>(
    plan: &'a PlanDocument,
    placements: &'a [CutDocument],
) -> impl Iterator<Item = (&'a CutDocument, &'a DesignDocument, usize)> {
    placements.iter().filter_map(|cut| {
        let place = plan.designs.iter().position(|design| design.id == cut.design)?;
        Some((cut, plan.designs.get(place)?, place))
    })
}

fn outline(cut: &CutDocument, shape: usize, class: &str) -> Markup {
    let mirrored = if cut.mirrored { " scale(-1 1)" } else { "" };
    let transform = format!(
        "translate({:.2} {:.2}) rotate({:.2}){mirrored}",
        cut.x_mm, cut.y_mm, cut.rotation_deg
    );
    html! { use href={ "#shape-" (shape) } class=(class) transform=(transform) {} }
}

/// Where a point of a cookie lies on its sheet.
fn turned(cut: &CutDocument, [x, y]: [f64; 2]) -> [f64; 2] {
    let (sin, cos) = cut.rotation_deg.to_radians().sin_cos();
    let x = if cut.mirrored { -x } else { x };
    [x * cos - y * sin + cut.x_mm, x * sin + y * cos + cut.y_mm]
}

/// "9 gull, 3 ring", in the order they first come.
fn contents(plan: &PlanDocument, placements: &[CutDocument]) -> String {
    let mut counts: Vec<(usize, usize)> = Vec::new();
    for (_, _, place) in lying(plan, placements) {
        match counts.iter_mut().find(|(known, _)| *known == place) {
            Some((_, n)) => *n += 1,
            None => counts.push((place, 1)),
        }
    }
    let words: Vec<String> = counts
        .iter()
        .filter_map(|(place, n)| Some(format!("{n} × {}", spoken(&plan.designs.get(*place)?.id))))
        .collect();
    words.join(", ")
}
