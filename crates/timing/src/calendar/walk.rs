//! A walk from plan to plan: some projects are taken out and put back together, and annealing decides what stays.
//!
//! The walk may leave sound plans: it runs on a model with room before the earliest time and with ages of any length.
//! What lies there or is too old is its excess, which has a price, so that it can get from one sound plan to another
//! that is far away: strategic oscillation, Glover, Decision Sciences 8, 1977 (from memory).

use rand::RngExt;
use rand_xoshiro::Xoshiro256PlusPlus;

use crate::{
    Work,
    calendar::{
        hurry::hurry,
        model::Model,
        place::{Leave, Plan, Slot},
        search::{cost, first_ordered, ordered},
    },
};

/// At most so many projects are taken out at once.
const MOST_OUT: usize = 4;
/// They are due near one of them: among so many neighbors.
const NEIGHBORS: usize = 7;
/// At most so many are put back as early as can be.
const MOST_HURRIED: usize = 10;
/// A fine round cools from the first to the second of these shares of the best cost.
const FINE: (f64, f64) = (0.004, 0.00002);
/// A wide round cools from the first to the second of these multiples of what a working tick of excess costs.
const WIDE: (f64, f64) = (10.0, 0.3);
/// What a tick of excess costs in a fine round: hardly any is taken.
const FINE_PRICE: f64 = 100_000.0;
/// What it costs when a walk begins, and may cost at least and at most, in a wide one.
const FIRST_PRICE: f64 = 1000.0;
const PRICES: (f64, f64) = (100.0, 1_000_000.0);
/// In a wide round the price rises by this share with each step that begins with excess, and falls with each other.
const PRICE_STEP: f64 = 0.003;
/// The longest step by which a project is let end later or earlier, in ticks.
const LONGEST_STEP: f64 = 2000.0;

/// Where the search is.
pub(super) struct Walk {
    plan: Plan,
    pub(super) cost: i64,
    /// How much lies too early or is too old, in ticks.
    excess: i64,
    price: f64,
    is_wide: bool,
    /// In units of cost; in a wide round in working ticks of excess.
    heat: f64,
    cooling: f64,
}

impl Walk {
    /// Begins at a sound plan.
    pub(super) fn new(plan: Plan, cost: i64) -> Self {
        let (heat, cooling) = (0.0, 1.0);
        Self { plan, cost, excess: 0, price: FIRST_PRICE, is_wide: false, heat, cooling }
    }

    /// Sets heat and price for the next `length` steps.
    pub(super) fn begin_round(&mut self, is_wide: bool, best_cost: i64, length: u64) {
        let (hot, cold) = if is_wide { WIDE } else { FINE };
        self.heat = if is_wide { hot } else { hot * best_cost as f64 };
        self.cooling = (cold / hot).powf(1.0 / length as f64);
        self.is_wide = is_wide;
        if !is_wide {
            self.price = FINE_PRICE;
        }
    }

    /// The plan, if it is sound and costs less.
    pub(super) fn sound_below(&self, cost: i64) -> Option<&Plan> {
        (self.excess == 0 && self.cost < cost).then_some(&self.plan)
    }

    /// Puts back projects as early as can be, if that makes them less late; then each as late as that tardiness allows.
    ///
    /// Looks at up to `most` orders of a round of `length`; returns at how many.
    pub(super) fn hurry(
        &mut self,
        model: &Model<'_>,
        by_due: &[usize],
        length: u64,
        most: u64,
        chance: &mut Xoshiro256PlusPlus,
    ) -> u64 {
        let tardy = |&place: &usize| self.plan.tardiness(model, by_due[place]) > 0;
        let late: Vec<usize> = (0..by_due.len()).filter(tardy).collect();
        let Some(&middle) = late.get(chance.random_range(0..late.len().max(1))) else { return 0 };
        let n = by_due.len().min(MOST_HURRIED);
        let from = (middle.saturating_sub(n / 2)).min(by_due.len() - n);
        let out = &by_due[from..from + n];
        let old = self.slots_of(model, out);
        let before = figures(model, &self.plan, out);
        let mut starts = vec![0.0; model.tasks.len()];
        old.iter().for_each(|&(task, slot)| starts[task] = slot.start as f64);
        let first = first_ordered(model, out, &mut starts);
        self.plan.give_back_projects(model, out);
        let (laid, n_looked) = hurry(model, &self.plan, out, &first, length, most, chance);
        if let Some(laid) = laid {
            let mut ends = starts;
            laid.spans.iter().for_each(|&(task, _, end)| ends[task] = end as f64);
            let order = ordered(model, out, &mut ends);
            let mut shifts = laid.tardiness;
            let is_placed = self.plan.place_group(model, &order, &mut shifts, Leave::NONE).is_ok();
            if !is_placed || figures(model, &self.plan, out).1 > 0 {
                self.plan.give_back_projects(model, out);
                // What is tied to something later comes behind it.
                let mut spans = laid.spans;
                spans.reverse();
                for (task, start, end) in spans {
                    self.plan.take_span(model, task, start, end);
                }
            }
            let after = figures(model, &self.plan, out);
            if after.1 < before.1 || (after.1 == before.1 && after.0 <= before.0) {
                self.cost = self.cost.saturating_add(after.0 - before.0);
                self.excess = self.excess.saturating_add(after.1 - before.1);
                return n_looked;
            }
            self.plan.give_back_projects(model, out);
        }
        for (task, slot) in old {
            self.plan.take(model, task, slot);
        }
        n_looked
    }

    /// The plan for the same model with fewer windows, if it needs no more.
    pub(super) fn within(&self, model: &Model<'_>) -> Option<Plan> {
        let close = model.axis.last_close();
        let is_within = |&task: &usize| {
            let own = &model.tasks[task];
            let most = if own.work == Work::Unattended { model.last } else { close };
            self.plan.slots[task].is_some_and(|slot| slot.end <= most)
        };
        model.free.iter().flatten().all(is_within).then(|| self.plan.onto(model))
    }

    /// Where the tasks of projects lie, later ones first.
    fn slots_of(&self, model: &Model<'_>, projects: &[usize]) -> Vec<(usize, Slot)> {
        let tasks = projects.iter().flat_map(|&one| model.free[one].iter().rev());
        tasks.filter_map(|&task| Some((task, self.plan.slots[task]?))).collect()
    }

    /// Takes out some projects, puts them back in another order of tasks, and keeps it or not.
    pub(super) fn step(
        &mut self,
        model: &Model<'_>,
        by_due: &[usize],
        chance: &mut Xoshiro256PlusPlus,
    ) {
        self.heat *= self.cooling;
        if self.is_wide {
            let share = if self.excess > 0 { PRICE_STEP } else { -PRICE_STEP };
            self.price = (self.price * (1.0 + share)).clamp(PRICES.0, PRICES.1);
        }
        let out = choose(by_due, chance);
        let before = figures(model, &self.plan, &out);
        let old = self.slots_of(model, &out);
        let mut shifts = shifts(model, &self.plan, &out, self.excess > 0, chance);
        let mut ends = disturbed(model, &out, &old, chance);
        let order = ordered(model, &out, &mut ends);
        let to_stay = model.has_former && chance.random::<bool>();
        self.plan.give_back_projects(model, &out);
        let leave = Leave { to_grow: false, to_stay };
        if self.plan.place_group(model, &order, &mut shifts, leave).is_ok() {
            let after = figures(model, &self.plan, &out);
            let rise = (after.0 - before.0) as f64 + self.price * (after.1 - before.1) as f64;
            let unit = if self.is_wide { self.price * model.stretch as f64 } else { 1.0 };
            if rise <= 0.0 || chance.random::<f64>() < (-rise / (self.heat * unit)).exp() {
                self.cost = self.cost.saturating_add(after.0 - before.0);
                self.excess = self.excess.saturating_add(after.1 - before.1);
                return;
            }
            self.plan.give_back_projects(model, &out);
        }
        for (task, slot) in old {
            self.plan.take(model, task, slot);
        }
    }
}

/// Cost and excess of some projects.
fn figures(model: &Model<'_>, plan: &Plan, projects: &[usize]) -> (i64, i64) {
    projects.iter().fold((0, 0), |(costs, excess), &one| {
        let (own, its) = (cost(model, plan, one), plan.excess(model, one));
        (i64::saturating_add(costs, own), i64::saturating_add(excess, its))
    })
}

/// For each project that is out how much later than wanted it may end: on time, as now, or anything else.
///
/// Sometimes they exchange their tardiness, and seldom one that is on time may be late, so that it makes room for the others.
fn shifts(
    model: &Model<'_>,
    plan: &Plan,
    out: &[usize],
    is_excessive: bool,
    chance: &mut Xoshiro256PlusPlus,
) -> Vec<i64> {
    let mut tardy: Vec<i64> = out.iter().map(|&one| plan.tardiness(model, one)).collect();
    let is_late = tardy.iter().any(|&one| one > 0);
    if is_late && chance.random_bool(0.2) {
        for at in (1..tardy.len()).rev() {
            tardy.swap(at, chance.random_range(0..=at));
        }
    }
    let mut shifts = vec![0; model.projects.len()];
    for (&one, &late) in out.iter().zip(&tardy) {
        let may_step = late > 0 || ((is_late || is_excessive) && chance.random_bool(0.1));
        let shift = match chance.random_range(0..4) {
            0 => 0,
            1 => (late as f64 * chance.random::<f64>()) as i64,
            2 if may_step => {
                let step = (LONGEST_STEP * (-7.0 * chance.random::<f64>()).exp()) as i64 + 1;
                late + if chance.random::<bool>() { step } else { -step }
            }
            _ => late,
        };
        shifts[one] = shift.max(model.floors[one]);
    }
    shifts
}

/// For each task that is out its place among them, the last one highest; one or two tasks, a project, or all are moved.
fn disturbed(
    model: &Model<'_>,
    out: &[usize],
    old: &[(usize, Slot)],
    chance: &mut Xoshiro256PlusPlus,
) -> Vec<f64> {
    let n = old.len();
    let mut ends = vec![0.0; model.tasks.len()];
    if n == 0 {
        return ends;
    }
    let mut early_first: Vec<(i64, i64, usize)> =
        old.iter().rev().map(|&(task, slot)| (slot.end, slot.start, task)).collect();
    early_first.sort_by_key(|&(end, start, _)| (end, start));
    for (at, &(.., task)) in early_first.iter().enumerate() {
        ends[task] = (at + 1) as f64;
    }
    // Mostly near, seldom far.
    let reach = |chance: &mut Xoshiro256PlusPlus| (n as f64).powf(chance.random::<f64>());
    let far = |chance: &mut Xoshiro256PlusPlus| {
        let far = reach(chance).floor() + 0.5;
        if chance.random::<bool>() { far } else { -far }
    };
    match chance.random_range(0..10) {
        0..8 => {
            for _ in 0..chance.random_range(1..=2) {
                let task = old[chance.random_range(0..n)].0;
                ends[task] += far(chance);
            }
        }
        8 => {
            let one = out[chance.random_range(0..out.len())];
            let by = far(chance);
            model.free[one].iter().for_each(|&task| ends[task] += by);
        }
        _ => {
            let noise = 2.0 * reach(chance);
            old.iter().for_each(|(task, _)| ends[*task] += noise * (chance.random::<f64>() - 0.5));
        }
    }
    ends
}

/// Chooses a few projects that are due near each other, each second time as many as may be.
fn choose(by_due: &[usize], chance: &mut Xoshiro256PlusPlus) -> Vec<usize> {
    let n = by_due.len();
    let width = n.min(NEIGHBORS);
    if width == 0 {
        return Vec::new();
    }
    let from = chance.random_range(0..=n - width);
    let mut near = by_due[from..from + width].to_vec();
    let most = MOST_OUT.min(width);
    let n_out = if chance.random::<bool>() { most } else { chance.random_range(1..=most) };
    for at in 0..n_out {
        near.swap(at, chance.random_range(at..width));
    }
    near.truncate(n_out);
    near
}
