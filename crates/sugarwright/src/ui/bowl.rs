//! Bowls filled to the height their icing will stand at.

use craft::document::plan::BowlDocument;
use maud::{Markup, html};

/// A bowl is a parabola: half the width of its rim and its depth, in units of the drawing.
const RIM: f64 = 60.0;
const DEPTH: f64 = 62.0;

/// Draws a bowl filled to this share of its depth.
pub(crate) fn bowl(bowl: &BowlDocument, depth: f64) -> Markup {
    let depth = depth.clamp(0.0, 1.0);
    let radius = RIM * depth.sqrt();
    let top = 10.0 + DEPTH * (1.0 - depth);
    // One quadratic curve is exactly a parabola; its control point lies as far under the foot as the chord lies above.
    let curve = |radius: f64, top: f64, depth: f64| {
        format!(
            "M{:.1} {top:.1}Q65 {:.1} {:.1} {top:.1}",
            65.0 - radius,
            top + 2.0 * depth,
            65.0 + radius
        )
    };
    html! {
        svg.bowl viewBox="0 0 130 82" aria-hidden="true" {
            path.glass d=(curve(RIM, 10.0, DEPTH)) {}
            @if depth > 0.0 {
                path.iced fill=(bowl.color) d={ (curve(radius, top, DEPTH * depth)) "Z" } {}
                ellipse.iced fill=(bowl.color) cx="65" cy=(format!("{top:.1}")) rx=(format!("{radius:.1}")) ry=(format!("{:.1}", radius * 0.09)) {}
            }
            path.rim d=(curve(RIM, 10.0, DEPTH)) {}
            path.rim d="M2 10H128" {}
            path.rim d="M47 74H83" {}
        }
    }
}
