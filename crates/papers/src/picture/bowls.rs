//! Bowls side by side, filled to the height their icing would stand at.
//!
//! A bowl is a paraboloid, r² = a h, so its volume up to the height h is π a h² / 2:
//! the height grows with the square root of the volume, and so with the square root of the mass of one icing.
//! The fullest bowl of the set is filled to [`FULLEST`] of its depth.

use craft::document::plan::{BagDocument, BowlDocument, PlanDocument};

use super::{
    MARGIN, WIDEST,
    flow::{Block, Gaps, flow},
    palette::{GROUND, HAIRLINE, SHEET, color_of, edge_of},
    svg::{Element, picture, plain},
    words::{Anchor, Paragraph, Weight, height_of, set},
};
use crate::words::{n_of, spoken};

/// Depth of a bowl in the picture.
const DEPTH: f64 = 24.0;
/// Half the width of its rim.
const RIM_RADIUS: f64 = 23.0;
/// Share of its depth to which the fullest bowl is filled.
const FULLEST: f64 = 0.86;

/// Draws all bowls of a plan with name, the four figures and what is filled from them.
pub fn bowls_picture(plan: &PlanDocument) -> String {
    let bowls = &plan.bowls;
    let most = bowls.iter().map(filled).fold(0.0, f64::max);
    let blocks = bowls.iter().map(|bowl| {
        let share = if most > 0.0 { filled(bowl) / most } else { 0.0 };
        let width = 2.0 * RIM_RADIUS + 2.0;
        let words = words_of(bowl, width + 4.0);
        Block {
            width,
            above: DEPTH + 2.0,
            below: 3.0 + height_of(&words),
            content: Element::group([
                vessel(bowl, share * FULLEST.powi(2)).moved([width / 2.0, -DEPTH - 1.5])
            ])
            .with(set(&words, [width / 2.0, 3.0], Anchor::Middle)),
        }
    });
    let gaps = Gaps { across: 10.0, down: 10.0 };
    let padding = 2.0 * MARGIN;
    let laid = flow(blocks.collect(), gaps, WIDEST - 2.0 * padding, 60.0);
    let whole = [laid.width + 2.0 * padding, laid.height + 2.0 * padding];
    picture(
        &format!("Icing in {}", n_of(bowls.len(), "bowl", "bowls")),
        whole,
        [
            Element::rect([0.0, 0.0], whole[0], whole[1]).fill(GROUND),
            Element::group(laid.content).moved([padding, padding]),
        ],
    )
}

/// Returns the share of its depth to which each bowl is filled, the fullest nearly to its rim.
pub fn bowl_depths(bowls: &[BowlDocument]) -> Vec<f64> {
    let most = bowls.iter().map(filled).fold(0.0, f64::max);
    let share = |bowl| if most > 0.0 { filled(bowl) / most } else { 0.0 };
    bowls.iter().map(|bowl| share(bowl).max(0.0).sqrt() * FULLEST).collect()
}

/// What stands in a bowl once tint and water are in.
fn filled(bowl: &BowlDocument) -> f64 {
    bowl.weigh_out_g + bowl.water_g
}

/// A bowl with this share of a full bowl's volume in it; its origin is the middle of its rim.
fn vessel(bowl: &BowlDocument, share: f64) -> Element {
    let color = color_of(&bowl.color);
    let depth = DEPTH * share.max(0.0).sqrt();
    let radius = RIM_RADIUS * (depth / DEPTH).sqrt();
    // A parabola is exactly one quadratic curve; its control point lies as far under the foot as the chord lies above.
    let parabola = |radius: f64, top: f64, depth: f64| {
        format!(
            "M{} {top}Q0 {} {} {top}",
            plain(-radius),
            plain(top + 2.0 * depth),
            plain(radius),
            top = plain(top)
        )
    };
    Element::group([
        Element::path(parabola(RIM_RADIUS, 0.0, DEPTH)).fill(SHEET),
        Element::path(parabola(radius, DEPTH - depth, depth) + "Z")
            .fill(color)
            .stroke(edge_of(color), 0.4)
            .set("stroke-linejoin", "round"),
        Element::path(parabola(RIM_RADIUS, 0.0, DEPTH))
            .set("fill", "none")
            .stroke(HAIRLINE, 0.7)
            .set("stroke-linecap", "round"),
        Element::path(format!("M-9 {0}H9", plain(DEPTH + 0.5)))
            .stroke(HAIRLINE, 0.9)
            .set("stroke-linecap", "round"),
    ])
}

fn words_of(bowl: &BowlDocument, width: f64) -> Vec<Paragraph> {
    let grams = |mass_g: f64| format!("{mass_g:.0} g");
    let mut words = vec![
        Paragraph::new(&spoken(&bowl.id), 4.2, Weight::Chief, width),
        Paragraph::new(
            &format!("weigh out {}", grams(bowl.weigh_out_g)),
            3.4,
            Weight::Chief,
            width,
        ),
    ];
    let mut side = vec![
        format!("water {}", grams(bowl.water_g)),
        format!("on the cookies {}", grams(bowl.on_cookies_g)),
        format!("stays behind {}", grams(bowl.left_g)),
    ];
    if bowl.from_stock_g > 0.0 {
        side.push(format!("{} of it in stock", grams(bowl.from_stock_g)));
    }
    side.extend(bowl.bags.iter().map(bag_words));
    words.extend(side.iter().map(|line| Paragraph::new(line, 2.9, Weight::Side, width)));
    words
}

/// "3 bags at 14 s".
fn bag_words(bag: &BagDocument) -> String {
    let bags = n_of(bag.n as usize, "bag", "bags");
    match bag.count_s {
        Some(count_s) => format!("{bags} at {count_s:.0} s"),
        None => format!("{bags}, stiff"),
    }
}
