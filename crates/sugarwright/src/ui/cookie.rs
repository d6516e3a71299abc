//! Cookies as pictures: each knows its millimeters, the place decides the scale.

use std::fmt::Write;

use craft::document::plan::PlanDocument;
use maud::{Markup, html};
use store::OrderId;

use super::sheet::RIM;

/// Where the pictures of a plan are.
#[derive(Clone, Copy, Debug)]
pub(crate) struct PlanAddress<'a> {
    pub(crate) order: &'a OrderId,
    /// Key of its chapters.
    pub(crate) key: &'a str,
}

impl PlanAddress<'_> {
    /// The style sheet with the sizes of the plan's designs, sheets and trays, and the colors of its bags.
    pub(crate) fn sizes(&self) -> String {
        self.below("sizes.css")
    }

    fn cookie(&self, design: usize) -> String {
        self.below(&format!("cookies/{design}.svg"))
    }

    fn pass(&self, pass: usize, design: usize) -> String {
        self.below(&format!("passes/{pass}/{design}.svg"))
    }

    fn below(&self, path: &str) -> String {
        format!("/orders/{}/plans/{}/{path}", self.order, self.key)
    }

    /// The class that gives a picture the size of a design, of the same name in every page.
    pub(crate) fn class(&self, kind: char, place: usize) -> String {
        class_of(self.key, kind, place)
    }
}

fn class_of(key: &str, kind: char, place: usize) -> String {
    format!("{kind}{place}-{}", key.get(..10).unwrap_or(key))
}

/// Writes the style sheet of a plan.
pub(crate) fn sizes_css(plan: &PlanDocument, key: &str) -> String {
    let mut css = "@layer component {\n".to_owned();
    let mut size = |kind: char, place: usize, [width, height]: [f64; 2]| {
        let class = class_of(key, kind, place);
        // Writing to a string cannot fail.
        let _ = writeln!(css, ".{class}{{--w:{width:.2};--h:{height:.2}}}");
    };
    for (place, design) in plan.designs.iter().enumerate() {
        size('d', place, [design.width_mm, design.height_mm]);
    }
    for (place, sheet) in plan.cutting.sheets.iter().enumerate() {
        size('s', place, [sheet.width_mm, sheet.length_mm]);
    }
    for (place, tray) in plan.trays.iter().enumerate() {
        // With its rim.
        size('t', place, [tray.width_mm, tray.length_mm].map(|mm| mm + 2.0 * RIM));
    }
    for (place, bowl) in plan.bowls.iter().enumerate() {
        // The document was written by us, but a color is all that may stand here.
        if let Ok(color) = drawing::Color::parse(&bowl.color) {
            let _ = writeln!(css, ".{}{{--bag:{}}}", class_of(key, 'b', place), color.to_hex());
        }
    }
    css + "}\n"
}

/// A finished cookie; without a name it is decoration beside words that say the same.
pub(crate) fn cookie(at: &PlanAddress<'_>, design: usize, name: &str) -> Markup {
    picture(&at.cookie(design), &at.class('d', design), name)
}

/// A cookie as it looks during a pass.
pub(crate) fn cookie_in_pass(
    at: &PlanAddress<'_>,
    pass: usize,
    design: usize,
    name: &str,
    is_touched: bool,
) -> Markup {
    let class = format!("{}{}", at.class('d', design), if is_touched { "" } else { " untouched" });
    picture(&at.pass(pass, design), &class, name)
}

fn picture(address: &str, class: &str, name: &str) -> Markup {
    html! { img class={ "cookie " (class) } src=(address) alt=(name) loading="lazy" decoding="async"; }
}

/// Most pictures of one cookie in a row: beyond, the figure beside it says how many there are.
const MOST_DRAWN: u32 = 24;

/// So many copies of a cookie, overlapping, so that eight look like eight.
pub(crate) fn shingle(at: &PlanAddress<'_>, design: usize, name: &str, count: u32) -> Markup {
    let shown = count.clamp(1, MOST_DRAWN);
    let class = if shown > 12 { "shingle close" } else { "shingle" };
    html! {
        div class=(class) role="img" aria-label={ (count) " × " (name) } {
            @for _ in 0..shown { (cookie(at, design, "")) }
        }
    }
}
