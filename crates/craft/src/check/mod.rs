//! Is this plan sound? An independent look at a finished plan document.
//!
//! The checks share no code with the planner: they read what was written, with the kitchen's rules beside it,
//! and work everything out again the slow way.
//! Tests run them on every plan they make.

mod cuts;
mod days;
mod icing;
mod money;
mod passes;

use crate::{document::plan::PlanDocument, kitchen::Kitchen};

/// A rule a plan breaks.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Violation {
    /// The chapter it stands in.
    pub chapter: &'static str,
    /// What is wrong, with the ids and numbers concerned.
    pub what: String,
}

/// Returns every rule the plan breaks; none for a sound plan.
pub fn check_plan(kitchen: &Kitchen, plan: &PlanDocument) -> Vec<Violation> {
    // Icing dries in the air expected on the day of the first hand-over.
    let day = plan.order.handovers.iter().find_map(|one| one.at.get(..10)?.parse().ok());
    let drying = day.map_or_else(|| kitchen.drying.clone(), |day| kitchen.drying.on(day));
    let kitchen = &Kitchen { drying, ..kitchen.clone() };
    let mut found = Vec::new();
    let mut add = |chapter: &'static str, broken: Vec<String>| {
        found.extend(broken.into_iter().map(|what| Violation { chapter, what }));
    };
    add("icing", icing::check(kitchen, plan));
    add("cutting", cuts::check_sheets(kitchen, plan));
    add("trays", cuts::check_trays(kitchen, plan));
    add("passes", passes::check(kitchen, plan));
    add("days", days::check(kitchen, plan));
    add("price", money::check(plan));
    found
}
