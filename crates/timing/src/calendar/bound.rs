//! What do the projects cost at least, each alone in the world?

use crate::calendar::{TARDY, model::Model, place::Plan};

/// Returns a cost that no calendar is below.
///
/// Each project is placed backward with the windows and its least times, as if hands and resources were free at any time:
/// no task can then lie later for the same end.
/// Of every tardiness that may pay off the cheapest counts.
pub(super) fn bound(model: &Model<'_>) -> i64 {
    (0..model.projects.len())
        .fold(0, |sum, project| i64::saturating_add(sum, least_cost(model, project)))
}

/// Tardiness beyond the least one is followed so many ticks.
const MOST_TICKS: i64 = 2000;

fn least_cost(model: &Model<'_>, project: usize) -> i64 {
    let Some(least) = least_shift(model, project) else { return 0 };
    let weight = TARDY.saturating_mul(model.projects[project].weight);
    let mut best = i64::MAX;
    for shift in least..=least + MOST_TICKS {
        let late = weight.saturating_mul(shift);
        // Being younger cannot make up for more tardiness than this.
        if late >= best {
            return best;
        }
        best = best.min(late.saturating_add(age(model, project, shift).unwrap_or(0)));
    }
    best.min(weight.saturating_mul(least + MOST_TICKS + 1))
}

/// The least tardiness with which a project fits behind the earliest time.
fn least_shift(model: &Model<'_>, project: usize) -> Option<i64> {
    let fits = |shift| relaxed(model, project, shift).is_some();
    if fits(0) {
        return Some(0);
    }
    let (mut fails, mut works) = (0, 1);
    while !fits(works) {
        (fails, works) = (works, works * 2);
        if model.wanted_end(project) + fails > model.last {
            return None;
        }
    }
    while works - fails > 1 {
        let middle = fails + (works - fails) / 2;
        if fits(middle) {
            works = middle;
        } else {
            fails = middle;
        }
    }
    Some(works)
}

fn age(model: &Model<'_>, project: usize, shift: i64) -> Option<i64> {
    let task = model.aging_task(project)?;
    let slot = relaxed(model, project, shift)?.slots[task]?;
    Some(model.projects[project].due + shift - slot.start)
}

/// A project at its latest, with nothing in its way.
fn relaxed(model: &Model<'_>, project: usize, shift: i64) -> Option<Plan> {
    let mut plan = Plan::new(model);
    for &task in model.orders[project].iter().rev() {
        let slot = plan.unhindered_slot(model, task, shift)?;
        plan.slots[task] = Some(slot);
    }
    Some(plan)
}
