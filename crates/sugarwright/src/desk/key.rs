//! Keys of kept chapters: equal keys, equal chapters.

use jiff::civil::Date;
use sha2::{Digest, Sha256};
use store::StoredOrder;

use super::inputs::is_wording_confirmed;

/// Stands for the code that plans.
const PLANNER: &str = env!("SUGARWRIGHT_PLANNER");

/// Returns the key of an order's own chapters: they depend on the kitchen, the order, its designs and the day it was asked.
pub(crate) fn plan_key(kitchen: &str, order: &StoredOrder, asked_on: Date) -> String {
    let mut parts = vec![PLANNER.to_owned(), kitchen.to_owned(), order.brief.clone()];
    parts.extend([asked_on.to_string(), is_wording_confirmed(&order.events).to_string()]);
    for (name, design) in &order.designs {
        let revision = order.design_revisions.get(name).map(|revision| revision.to_i64());
        parts.extend([name.clone(), design.to_string(), format!("{revision:?}")]);
    }
    digest(&parts)
}

/// Returns the key of the days: they depend on all open orders, the kitchen and today.
pub(crate) fn week_key<'a>(
    kitchen: &str,
    plans: impl Iterator<Item = (&'a str, String)>,
    today: Date,
) -> String {
    let mut parts = vec![PLANNER.to_owned(), kitchen.to_owned(), today.to_string()];
    for (order, plan) in plans {
        parts.extend([order.to_owned(), plan]);
    }
    digest(&parts)
}

fn digest(parts: &[String]) -> String {
    let mut sum = Sha256::new();
    for part in parts {
        // Lengths keep one part from running into the next.
        sum.update((part.len() as u64).to_le_bytes());
        sum.update(part);
    }
    sum.finalize().iter().map(|byte| format!("{byte:02x}")).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_part_moves_the_key_and_none_runs_into_the_next() {
        let of =
            |parts: &[&str]| digest(&parts.iter().map(|&part| part.to_owned()).collect::<Vec<_>>());
        assert_eq!(of(&["a", "b"]), of(&["a", "b"]));
        for other in [&["ab", ""][..], &["a", "b", ""], &["", "ab"], &["b", "a"]] {
            assert_ne!(of(&["a", "b"]), of(other), "{other:?}");
        }
    }
}
