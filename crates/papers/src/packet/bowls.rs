//! The bowls card: what is weighed, tinted, thinned and bagged.

use craft::{
    document::plan::{BagDocument, BowlDocument, PlanDocument},
    kitchen::Kitchen,
};
use quantity::Mass;
use serde::Serialize;

use super::{
    baking::{Recipe, recipe},
    notes::{Note, about},
};
use crate::icing::{bowl_steps, keeping};
use crate::picture::palette::{color_of, edge_of};
use crate::words::{NO_BREAK, mass, n_of, titled};

#[derive(Serialize)]
pub(super) struct Bowls {
    lead: String,
    bowls: Vec<Bowl>,
    batch: String,
    recipe: Recipe,
    steps: Vec<String>,
    keeping: String,
    cautions: Vec<String>,
    notes: Vec<Note>,
}

#[derive(Serialize)]
struct Bowl {
    name: String,
    swatch: Swatch,
    on_cookies: String,
    left: String,
    water: String,
    weigh_out: String,
    /// What is done with it, in order.
    steps: Vec<String>,
}

/// A color with its edge, so that white reads on white.
#[derive(Clone, Debug, Serialize)]
pub(super) struct Swatch {
    color: String,
    edge: String,
}

impl Swatch {
    /// Reads a color as it stands in a plan, #rrggbb; anything else is drawn white.
    pub(super) fn new(color: &str) -> Self {
        let color = color_of(color);
        Self { color: color.to_hex(), edge: edge_of(color).to_hex() }
    }
}

/// "13 s, tip 3"; stiff icing has no count.
pub(super) fn kind_of(bag: &BagDocument) -> String {
    let count = bag.count_s.map_or_else(|| "stiff".to_owned(), |s| format!("{s:.0}{NO_BREAK}s"));
    if bag.tip.is_empty() { count } else { format!("{count}, tip{NO_BREAK}{}", bag.tip) }
}

pub(super) fn bowls(document: &PlanDocument, kitchen: &Kitchen) -> Bowls {
    let measures = kitchen.units.measures;
    let weighed = |g: f64| mass(Mass::g(g), measures);
    let bowl = |bowl: &BowlDocument| Bowl {
        name: titled(&bowl.id),
        swatch: Swatch::new(&bowl.color),
        on_cookies: weighed(bowl.on_cookies_g),
        left: weighed(bowl.left_g),
        water: weighed(bowl.water_g),
        weigh_out: weighed(bowl.weigh_out_g),
        steps: bowl_steps(bowl, measures),
    };
    let weigh_out = document.bowls.iter().map(|bowl| bowl.weigh_out_g).sum();
    let batch = &document.icing_batch;
    let cautions = [
        document.bowls.iter().any(|bowl| bowl.tint.is_some()).then_some(
            "How strong your gels are is a guess: begin with two thirds, look again after ten minutes. A mix is one part of gel with fifty of icing.",
        ),
        (batch.total_g > 0.0).then_some(
            "Wash hands, tools and phone between raw dough and icing; do not work for others when ill.",
        ),
    ];
    Bowls {
        lead: match document.bowls.len() {
            0 => "No icing is needed.".to_owned(),
            n => format!(
                "Weigh out {} of stiff icing into {}.",
                weighed(weigh_out),
                n_of(n, "bowl", "bowls")
            ),
        },
        bowls: document.bowls.iter().map(bowl).collect(),
        batch: if batch.total_g > 0.0 {
            let even = if batch.batches > 1 { "even batches" } else { "batches" };
            format!(
                "Make {} of stiff icing in {}.",
                weighed(batch.total_g),
                n_of(batch.batches as usize, "batch", even)
            )
        } else {
            String::new()
        },
        recipe: recipe(&batch.parts, batch.batches, kitchen),
        steps: batch.steps.clone(),
        keeping: keeping(batch),
        cautions: cautions.into_iter().flatten().map(str::to_owned).collect(),
        notes: about(document, &["icing", "bowl"]),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_swatch_has_an_edge_and_survives_odd_colors() {
        let check = |color: &str, expected: [&str; 2]| {
            let Swatch { color, edge } = Swatch::new(color);
            assert_eq!([color, edge], expected);
        };
        check("#ffffff", ["#ffffff", "#b3b3b3"]);
        check("#2f4666", ["#2f4666", "#213147"]);
        for odd in ["", "#", "white", "#12é45"] {
            check(odd, ["#ffffff", "#b3b3b3"]);
        }
    }

    #[test]
    fn a_bag_is_told_by_count_and_tip() {
        let bag = |count_s| BagDocument {
            id: "red-line".to_owned(),
            count_s,
            tip: "1.5".to_owned(),
            fill_g: 20.0,
            water_g: 0.0,
            n: 1,
        };
        assert_eq!(kind_of(&bag(Some(22.0))).replace(NO_BREAK, " "), "22 s, tip 1.5");
        assert_eq!(kind_of(&bag(None)).replace(NO_BREAK, " "), "stiff, tip 1.5");
    }
}
