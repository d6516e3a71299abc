//! Enough of every color, and figures that add up.

use std::collections::BTreeMap;

use crate::{document::plan::PlanDocument, kitchen::Kitchen};

/// Grams are written to 0.1 g; sums of four carry twice that.
const ROUNDING_G: f64 = 0.25;

pub(super) fn check(kitchen: &Kitchen, plan: &PlanDocument) -> Vec<String> {
    let mut broken = Vec::new();
    for bowl in &plan.bowls {
        let balance = bowl.on_cookies_g + bowl.left_g - bowl.water_g - bowl.weigh_out_g;
        if balance.abs() > ROUNDING_G {
            broken.push(format!("{}: the four figures are {balance:.2} g apart", bowl.id));
        }
        if bowl.from_stock_g > bowl.weigh_out_g + ROUNDING_G {
            broken.push(format!("{}: more comes from stock than is weighed out", bowl.id));
        }
        let filled: f64 = bowl.bags.iter().map(|bag| bag.fill_g * f64::from(bag.n)).sum();
        if filled + ROUNDING_G < bowl.on_cookies_g {
            broken.push(format!(
                "{}: bags hold {filled:.1} g of {:.1} g",
                bowl.id, bowl.on_cookies_g
            ));
        }
        let thinned: f64 = bowl.bags.iter().map(|bag| bag.water_g).sum();
        if (thinned - bowl.water_g).abs() > ROUNDING_G * (1 + bowl.bags.len()) as f64 {
            broken.push(format!(
                "{}: its bags take {thinned:.1} g of water, the bowl {:.1} g",
                bowl.id, bowl.water_g
            ));
        }
        if let Some(range) = bowl.range
            && !(range.low_g..=range.high_g).contains(&bowl.weigh_out_g)
        {
            broken.push(format!("{}: what is weighed out lies outside its range", bowl.id));
        }
        for bag in &bowl.bags {
            if bag.fill_g > kitchen.piping_bags.most.to_g() + ROUNDING_G {
                broken.push(format!("{}: {:.0} g do not fit a bag", bag.id, bag.fill_g));
            }
        }
    }
    // What the sections of one color put on all cookies is what the bowls of that color hold for them.
    let copies: BTreeMap<&str, u32> = plan
        .designs
        .iter()
        .map(|design| (design.id.as_str(), design.count + design.extras))
        .collect();
    let needed: f64 = plan
        .sections
        .iter()
        .map(|section| {
            section.on_cookie_g
                * f64::from(copies.get(section.design.as_str()).copied().unwrap_or(0))
        })
        .sum();
    let held: f64 = plan.bowls.iter().map(|bowl| bowl.on_cookies_g).sum();
    let slack = ROUNDING_G * (plan.sections.len() + plan.bowls.len()) as f64;
    if (needed - held).abs() > slack {
        broken.push(format!("sections need {needed:.1} g on cookies, bowls hold {held:.1} g"));
    }
    let weighed: f64 = plan.bowls.iter().map(|bowl| bowl.weigh_out_g - bowl.from_stock_g).sum();
    if (weighed - plan.icing_batch.total_g).abs() > slack {
        broken
            .push(format!("bowls take {weighed:.1} g, {:.1} g are made", plan.icing_batch.total_g));
    }
    let parts: f64 = plan.icing_batch.parts.iter().map(|part| part.mass_g).sum();
    for part in &plan.icing_batch.parts {
        let batches = f64::from(plan.icing_batch.batches.max(1));
        if (part.batch_g * batches - part.mass_g).abs() > ROUNDING_G * batches {
            broken.push(format!("{}: its batches do not add up", part.ingredient));
        }
    }
    if (parts - plan.icing_batch.total_g).abs() > slack {
        broken.push(format!(
            "the recipe's parts weigh {parts:.1} g of {:.1} g",
            plan.icing_batch.total_g
        ));
    }
    broken
}
