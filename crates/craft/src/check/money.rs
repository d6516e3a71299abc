//! Lines that add up to the total.

use crate::document::plan::PlanDocument;

pub(super) fn check(plan: &PlanDocument) -> Vec<String> {
    let mut broken = Vec::new();
    let price = &plan.price;
    let sum: i64 = price.lines.iter().map(|line| line.amount_minor).sum();
    if sum != price.cost_minor {
        broken.push(format!("the lines sum to {sum}, the cost is {}", price.cost_minor));
    }
    let cash: i64 =
        price.lines.iter().filter(|line| line.part != "work").map(|line| line.amount_minor).sum();
    if cash != price.cash_cost_minor {
        broken.push(format!("the lines without work sum to {cash}, not {}", price.cash_cost_minor));
    }
    if price.hours > 0.0 {
        let per_hour = (price.price_minor - price.cash_cost_minor) as f64 / price.hours;
        // Hours are written to 0.01.
        let slack = 1.0 + per_hour.abs() * 0.01 / price.hours;
        if (per_hour - price.per_hour_minor as f64).abs() > slack {
            broken.push(format!(
                "the price pays {per_hour:.0} an hour, {} is written",
                price.per_hour_minor
            ));
        }
    }
    broken
}
