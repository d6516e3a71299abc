//! The search over plans: projects one by one, then walks from there.

use std::ops::ControlFlow;

use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;

use crate::{
    Blocked, Error, LinkKind, Obstacle,
    calendar::{
        TARDY,
        model::Model,
        place::{Leave, Plan},
        walk::Walk,
    },
};

/// Evaluations of the first two annealing rounds, a wide one if something is tardy, and a fine one; each later two have twice as many.
///
/// Rounds do not depend on the budget, so that a larger budget only goes on where a smaller one stops.
const FIRST_ROUND: u64 = 2048;
/// Random orders of projects tried where the first finds no room.
const MOST_STARTS: u64 = 20;

/// Orders looked at where none of them does.
const MOST_SQUEEZES: u64 = 16_384;

/// Looks at `budget` plans, at least one; returns the best and how many it looked at.
///
/// `hear` receives each better plan with its cost and the evaluations so far.
pub(super) fn search(
    model: &Model<'_>,
    bound: i64,
    budget: u64,
    seed: u64,
    hear: &mut dyn FnMut(&Plan, i64, u64) -> ControlFlow<()>,
) -> Result<(Plan, u64), Error> {
    let mut chance = Xoshiro256PlusPlus::seed_from_u64(seed);
    let mut by_due: Vec<usize> = (0..model.projects.len()).collect();
    by_due.sort_by_key(|&project| model.projects[project].due);
    let mut evaluations = 1;
    let mut plan = former_start(model, &by_due).map_or_else(|| start(model, &by_due), Ok);
    while plan.is_err() && evaluations < budget.min(MOST_STARTS) {
        evaluations += 1;
        let mut shuffled = by_due.clone();
        for at in (1..shuffled.len()).rev() {
            shuffled.swap(at, chance.random_range(0..=at));
        }
        plan = start(model, &shuffled);
    }
    // What is all fixed is never taken out.
    by_due.retain(|&project| !model.free[project].is_empty());
    if matches!(plan, Err(Error::NoRoom { .. } | Error::Stale { .. })) {
        let most = budget.min(evaluations.saturating_add(MOST_SQUEEZES));
        plan = squeezed(model, &by_due, most, &mut evaluations, &mut chance).map_or(plan, Ok);
    }
    let mut best = plan?;
    let mut best_cost = total_cost(model, &best);
    let mut heard = hear(&best, best_cost, evaluations);
    let loose = model.loosened();
    let mut length = FIRST_ROUND;
    // Wide rounds go on where the one before stopped.
    let mut wide: Option<Walk> = None;
    let mut is_wide = true;
    while evaluations < budget && heard.is_continue() && best_cost > bound {
        is_wide &= is_tardy(model, &best);
        let afresh = || Walk::new(best.onto(&loose), best_cost);
        let mut walk = wide.take_if(|_| is_wide).unwrap_or_else(afresh);
        if is_wide {
            let most = length.min(budget - evaluations);
            evaluations += walk.hurry(&loose, &by_due, length, most, &mut chance);
            if let Some(better) = walk.sound_below(best_cost) {
                (best, best_cost) = (better.onto(model), walk.cost);
                heard = hear(&best, best_cost, evaluations);
            }
        }
        walk.begin_round(is_wide, best_cost, length);
        for _ in 0..length {
            if evaluations == budget || heard.is_break() || best_cost <= bound {
                break;
            }
            evaluations += 1;
            walk.step(&loose, &by_due, &mut chance);
            if let Some(better) = walk.sound_below(best_cost) {
                (best, best_cost) = (better.onto(model), walk.cost);
                heard = hear(&best, best_cost, evaluations);
            }
        }
        if is_wide {
            wide = Some(walk);
        } else {
            length = length.saturating_mul(2);
        }
        is_wide = !is_wide;
    }
    Ok((best, evaluations))
}

/// What a project of a plan costs.
pub(super) fn cost(model: &Model<'_>, plan: &Plan, project: usize) -> i64 {
    let tardy = plan.tardiness(model, project);
    TARDY
        .saturating_mul(model.projects[project].weight)
        .saturating_mul(tardy)
        .saturating_add(plan.age(model, project))
        .saturating_add(model.move_cost.saturating_mul(plan.n_moved(model, project)))
}

/// Whether some project is later than what is fixed makes it.
fn is_tardy(model: &Model<'_>, plan: &Plan) -> bool {
    (0..model.projects.len()).any(|one| plan.tardiness(model, one) > model.floors[one])
}

fn total_cost(model: &Model<'_>, plan: &Plan) -> i64 {
    (0..model.projects.len()).fold(0, |sum, one| sum.saturating_add(cost(model, plan, one)))
}

/// Places projects one after the other.
fn start(model: &Model<'_>, projects: &[usize]) -> Result<Plan, Error> {
    let mut plan = Plan::new(model);
    for &project in projects {
        place_project(model, &mut plan, project)?;
    }
    Ok(plan)
}

/// Begins with more windows than there are, and gets projects ready earlier until they need no more.
fn squeezed(
    model: &Model<'_>,
    by_due: &[usize],
    budget: u64,
    evaluations: &mut u64,
    chance: &mut Xoshiro256PlusPlus,
) -> Option<Plan> {
    let longer = model.lengthened();
    let plan = start(&longer, by_due).ok()?;
    let cost = total_cost(&longer, &plan);
    let mut walk = Walk::new(plan, cost);
    let mut length = FIRST_ROUND;
    while *evaluations < budget {
        let most = length.min(budget - *evaluations);
        let n_looked = walk.hurry(&longer, by_due, length, most, chance);
        *evaluations += n_looked;
        let found = walk.within(model);
        if found.is_some() || n_looked == 0 {
            return found;
        }
        length *= 2;
    }
    None
}

/// Places every task that can be there where it was in the former plan, and the others among them.
///
/// A project whose other tasks find no room so is placed anew; nothing without a former plan, or if some project finds no room.
fn former_start(model: &Model<'_>, projects: &[usize]) -> Option<Plan> {
    if !model.has_former {
        return None;
    }
    let mut plan = Plan::new(model);
    for &task in projects.iter().flat_map(|&project| model.free[project].iter().rev()) {
        if let Some(slot) = plan.former_slot(model, task, i64::MAX) {
            plan.take(model, task, slot);
        }
    }
    for &project in projects {
        let mut order = ordered(model, &[project], &mut later_ends(model));
        order.retain(|&task| plan.slots[task].is_none());
        let mut shifts = vec![0; model.projects.len()];
        shifts[project] = plan.tardiness(model, project);
        let is_placed = plan.place_group(model, &order, &mut shifts, Leave::NONE).is_ok();
        if !is_placed || plan.is_stale(model, project) {
            plan.give_back_projects(model, &[project]);
            place_project(model, &mut plan, project).ok()?;
        }
    }
    Some(plan)
}

/// Places a project, on time if there is room, else as little late as halving finds.
pub(super) fn place_project(
    model: &Model<'_>,
    plan: &mut Plan,
    project: usize,
) -> Result<(), Error> {
    let order = ordered(model, &[project], &mut later_ends(model));
    let floor = model.floors[project];
    let mut shifts = vec![floor; model.projects.len()];
    let leave = Leave { to_grow: true, to_stay: false };
    plan.place_group(model, &order, &mut shifts, leave).map_err(|(place, blocked)| {
        let (project, task) = (model.first_number + place, blocked.task);
        match (blocked.obstacle, model.projects[place].fresh_max) {
            (Obstacle::Age, Some(most)) => Error::Stale { project, most },
            (Obstacle::Fixed, _) => Error::Fixed { project, task },
            _ => Error::NoRoom { project, task },
        }
    })?;
    let mut works = shifts[project] - floor;
    // Growing doubles: half of it was too little.
    let mut fails = works / 2;
    while works > 1 && works - fails > 1 {
        let middle = fails + (works - fails) / 2;
        let before = plan.clone();
        plan.give_back_projects(model, &[project]);
        shifts[project] = floor + middle;
        match plan.place_group(model, &order, &mut shifts, Leave::NONE) {
            Ok(()) => works = middle,
            Err(_) => (*plan, fails) = (before, middle),
        }
    }
    Ok(())
}

/// What hinders a project of a plan from being on time.
pub(super) fn hindrance(model: &Model<'_>, plan: &Plan, project: usize) -> Option<Blocked> {
    let mut without = plan.clone();
    without.give_back_projects(model, &[project]);
    let order = ordered(model, &[project], &mut later_ends(model));
    let mut shifts = vec![0; model.projects.len()];
    let on_time = without.place_group(model, &order, &mut shifts, Leave::NONE);
    let fixed = || {
        let tasks = model.orders[project].iter().map(|&task| &model.tasks[task]);
        let late = tasks.filter(|task| task.fixed.is_some_and(|(_, end)| end > task.wanted));
        late.map(|task| Blocked { task: task.place, obstacle: Obstacle::Fixed }).next()
    };
    on_time.err().map(|(_, blocked)| blocked).or_else(fixed)
}

/// Orders the tasks of projects by their wanted ends, latest first; each comes behind those it is tied to.
pub(super) fn ordered(model: &Model<'_>, projects: &[usize], ends: &mut [f64]) -> Vec<usize> {
    let mut order = Vec::new();
    for &project in projects {
        for &task in model.free[project].iter().rev() {
            let own = &model.tasks[task];
            let tied =
                own.ties.iter().map(|tie| tie.to).chain(own.keeps.iter().map(|keep| keep.to));
            ends[task] = tied.map(|to| ends[to]).fold(ends[task], f64::min);
            order.push(task);
        }
    }
    // Stable: equal ends stay in reverse topological order.
    order.sort_by(|&a, &b| ends[b].total_cmp(&ends[a]));
    order
}

/// Orders the tasks of projects by their wanted starts, earliest first; each comes before those it is tied to.
pub(super) fn first_ordered(
    model: &Model<'_>,
    projects: &[usize],
    starts: &mut [f64],
) -> Vec<usize> {
    let mut order = Vec::new();
    for &task in projects.iter().flat_map(|&project| &model.free[project]) {
        let own = &model.tasks[task];
        let tied = own.ties.iter().map(|tie| tie.to).chain(own.keeps.iter().map(|keep| keep.to));
        for to in tied {
            starts[to] = starts[to].max(starts[task]);
        }
        order.push(task);
    }
    // Stable: equal starts stay in topological order.
    order.sort_by(|&a, &b| starts[a].total_cmp(&starts[b]));
    order
}

/// For each task how long before the end of its project it must end, over least times; negative, so that later is larger.
fn later_ends(model: &Model<'_>) -> Vec<f64> {
    let mut behind = vec![0_i64; model.tasks.len()];
    for &task in model.orders.iter().flat_map(|order| order.iter().rev()) {
        let own = &model.tasks[task];
        let longest = own.ties.iter().map(|tie| {
            let after = model.tasks[tie.to].duration;
            match tie.kind {
                LinkKind::FinishStart => tie.min + after + behind[tie.to],
                LinkKind::StartStart => tie.min + after + behind[tie.to] - own.duration,
                LinkKind::FinishFinish => tie.min + behind[tie.to],
            }
        });
        behind[task] = longest.fold(0, i64::max);
    }
    behind.into_iter().map(|ticks| -(ticks as f64)).collect()
}
