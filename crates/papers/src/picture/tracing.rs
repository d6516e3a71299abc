//! A design to trace: white lines on black at true size, for any projector or light box.

use drawing::{Color, Region};

use super::{
    MARGIN,
    cookie::shown,
    drawn::DrawnDesign,
    svg::{Element, picture},
    words::{Anchor, Weight, line},
};
use crate::words::spoken;

const BLACK: Color = Color { red: 0, green: 0, blue: 0 };
/// Width of the lines: fine enough to pipe on, broad enough to be seen in a lit kitchen.
const LINE: f64 = 0.5;
/// Length of the bar that is held against a ruler.
const BAR: f64 = 50.0;
/// Room for the bar under the cookie.
const FOOT: f64 = 12.0;

/// Draws the cutter shape and the chosen sections as white lines on black at true size, over a bar of 50 mm to measure.
///
/// No chosen section means all of them.
pub fn tracing_picture(drawn: &DrawnDesign, chosen: &[&str]) -> String {
    let outline = Region::from_path_d(&drawn.design.outline_d).unwrap_or_default();
    let corner = outline.bounds().map_or([0.0; 2], |bounds| [bounds.min_x, bounds.min_y]);
    let (width, height) = (drawn.design.width_mm, drawn.design.height_mm);
    let wanted = drawn.sections.iter().filter(|section| {
        section.technique != "naked" && (chosen.is_empty() || chosen.contains(&section.id.as_str()))
    });
    let traced = |data: &str| {
        Element::path(data.to_owned())
            .set("fill", "none")
            .stroke(Color::WHITE, LINE)
            .set("stroke-linejoin", "round")
    };
    let sections = wanted.map(|section| match section.technique.as_str() {
        // Where a line or letter runs is seen best when it is filled.
        "line" | "lettering" | "dot" => Element::path(section.path_d.clone()).fill(Color::WHITE),
        _ => traced(shown(section)),
    });
    let lines = [traced(&drawn.design.outline_d)].into_iter().chain(sections);
    let whole = [width.max(BAR) + 2.0 * MARGIN, height + FOOT + 2.0 * MARGIN];
    let left = (whole[0] - width) / 2.0;
    let (bar_left, foot) = ((whole[0] - BAR) / 2.0, MARGIN + height + FOOT);
    let ends = format!("M{bar_left} {}v4m0 -2h{BAR}m0 -2v4", foot - 6.0);
    picture(
        &format!("{} to trace", spoken(&drawn.design.id)),
        whole,
        [
            Element::rect([0.0, 0.0], whole[0], whole[1]).fill(BLACK),
            Element::group(lines).moved([left - corner[0], MARGIN - corner[1]]),
            Element::path(ends).set("fill", "none").stroke(Color::WHITE, 0.3),
            line("50 mm", [whole[0] / 2.0, foot], 3.0, Anchor::Middle, Weight::Night),
        ],
    )
}

#[cfg(test)]
mod tests {
    use super::{super::drawn::tests::plaque, *};

    #[test]
    fn chosen_sections_are_white_on_black_at_true_size() {
        let drawn = plaque();
        let all = tracing_picture(&drawn, &[]);
        assert!(all.contains(r#"width="72mm""#) && all.contains(r##"fill="#000000""##), "{all}");
        // Cutter shape, base, ring of the second layer; the bar.
        assert_eq!(all.matches(r#"fill="none""#).count(), 4);
        let one = tracing_picture(&drawn, &["plaque/top"]);
        assert_eq!(one.matches(r#"fill="none""#).count(), 3);
    }
}
