//! What do the projects cost at least, each alone in the world?

use crate::calendar::{TARDY, model::Model, place::Plan};

/// Returns a cost that no calendar is below.
///
/// Each project is placed backward with the windows and its least times, as if hands and resources were free at any time
/// that nothing fixed takes: no task can then lie later for the same end.
/// Of every tardiness that may pay off the cheapest counts.
pub(super) fn bound(model: &Model<'_>) -> i64 {
    let board = Plan::new(model);
    (0..model.projects.len())
        .fold(0, |sum, project| i64::saturating_add(sum, least_cost(model, &board, project)))
}

/// Tardiness beyond the least one is followed so many ticks.
const MOST_TICKS: i64 = 2000;

fn least_cost(model: &Model<'_>, board: &Plan, project: usize) -> i64 {
    let youngest = least_age(model, project);
    let Some(least) = least_shift(model, board, project) else { return 0 };
    let weight = TARDY.saturating_mul(model.projects[project].weight);
    let mut best = i64::MAX;
    for shift in least..=least + MOST_TICKS {
        let late = weight.saturating_mul(shift);
        // Being younger cannot make up for more tardiness than this.
        if late.saturating_add(youngest) >= best {
            return best;
        }
        let age =
            relaxed(model, board, project, shift).map(|plan| age(model, &plan, project, shift));
        best = best.min(late.saturating_add(age.unwrap_or(youngest)));
    }
    best.min(weight.saturating_mul(least + MOST_TICKS + 1).saturating_add(youngest))
}

/// The least tardiness with which a project fits behind the earliest time.
fn least_shift(model: &Model<'_>, board: &Plan, project: usize) -> Option<i64> {
    let fits = |shift| relaxed(model, board, project, shift).is_some();
    let floor = model.floors[project];
    if fits(floor) {
        return Some(floor);
    }
    let (mut fails, mut works) = (0, 1);
    while !fits(floor + works) {
        (fails, works) = (works, works * 2);
        if model.first_wanted[project] + floor + fails > model.last {
            return None;
        }
    }
    while works - fails > 1 {
        let middle = fails + (works - fails) / 2;
        if fits(floor + middle) {
            works = middle;
        } else {
            fails = middle;
        }
    }
    Some(floor + works)
}

/// An age that no plan of a project is below.
///
/// A task starts by its end, which is at most its wanted end + tardiness: due + T - start >= due - wanted.
fn least_age(model: &Model<'_>, project: usize) -> i64 {
    let least = |&(task, due): &(usize, i64)| {
        let own = &model.tasks[task];
        due - own.fixed.map_or(own.wanted, |(start, _)| start)
    };
    model.ages[project].iter().map(least).fold(0, i64::saturating_add)
}

fn age(model: &Model<'_>, plan: &Plan, project: usize, shift: i64) -> i64 {
    let ages = model.ages[project].iter();
    ages.filter_map(|&(task, due)| Some(due + shift - plan.slots[task]?.start)).sum()
}

/// A project at its latest, with nothing in its way but what is fixed.
///
/// Each task lies at the latest its later ones and what is fixed allow, so that in no plan it lies later for the same end.
fn relaxed(model: &Model<'_>, board: &Plan, project: usize, shift: i64) -> Option<Plan> {
    let mut plan = board.clone();
    for &task in model.free[project].iter().rev() {
        let slot = plan.unhindered_slot(model, task, shift)?;
        plan.slots[task] = Some(slot);
    }
    Some(plan)
}
