//! Trays with their cookies, load by load.

use craft::document::plan::PlanDocument;
use quantity::Span;

use super::{
    MARGIN, WIDEST,
    flow::{Block, flow},
    palette::{PARCHMENT, TRAY, TRAY_RIM},
    sheets::{
        GAPS, LEAST_WIDTH, contents, designs_of, drawn_size, fitting_scale, on_ruler, outlines,
        shapes,
    },
    svg::Element,
    words::{Anchor, Paragraph, Weight, height_of, set},
};
use crate::words::{n_of, span};

/// Rim of a tray in the picture.
const RIM: f64 = 1.8;

/// Draws the trays in the order they go into the oven, every cookie in its place, to scale.
pub fn trays_picture(plan: &PlanDocument) -> String {
    let PlanDocument { trays, loads, designs, .. } = plan;
    let sizes: Vec<[f64; 2]> = trays.iter().map(|tray| [tray.width_mm, tray.length_mm]).collect();
    let scale = fitting_scale(&sizes);

    let in_load_order = loads.iter().zip(1..).flat_map(|(load, number)| {
        load.trays.iter().map(move |&tray| (tray, number, Span::minutes(load.bake_min)))
    });
    let blocks = in_load_order.filter_map(|(place, load, bake)| {
        let tray = trays.get(place)?;
        let [width, height] = drawn_size([tray.width_mm, tray.length_mm], scale);
        let laid = designs_of(&tray.placements, designs);
        let caption = [
            Paragraph::new(&format!("load {load}, {}", span(bake)), 3.8, Weight::Chief, width),
            Paragraph::new(&contents(&laid), 3.0, Weight::Side, width),
        ];
        let metal =
            Element::rect([0.0, -height - 2.0 * RIM], width + 2.0 * RIM, height + 2.0 * RIM)
                .set("rx", 3.0)
                .fill(TRAY)
                .stroke(TRAY_RIM, 0.35);
        let parchment = Element::rect([RIM, -height - RIM], width, height).fill(PARCHMENT);
        Some(Block {
            width: width + 2.0 * RIM,
            above: height + 2.0 * RIM,
            below: 2.5 + height_of(&caption),
            content: Element::group([
                metal,
                parchment,
                outlines(&laid, "baked", scale, [RIM, -height - RIM]),
            ])
            .with(set(&caption, [0.0, 2.5], Anchor::Start)),
        })
    });
    let laid = flow(blocks.collect(), GAPS, WIDEST - 4.0 * MARGIN, LEAST_WIDTH);
    let title = format!(
        "{} in {}",
        n_of(trays.len(), "tray", "trays"),
        n_of(loads.len(), "oven load", "oven loads")
    );
    on_ruler(&title, shapes(designs, "baked"), laid, scale)
}
