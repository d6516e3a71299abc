//! A search for the least tardiness over the orders in which tasks are taken up, each laid as early as can be.
//!
//! What begins early ages; that is left to the walks that begin where this ends.
//! Moves: one or two tasks, a run of tasks, or the rest of a project go forward or back, or two projects change places.
//! Simulated annealing decides what stays.

use rand::RngExt;
use rand_xoshiro::Xoshiro256PlusPlus;

use crate::calendar::{TARDY, ahead::Ahead, model::Model, place::Plan, search::first_ordered};

/// A round cools from the first to the second of these shares of the cost of one window's delay.
const HEAT: (f64, f64) = (0.3, 0.01);
/// At most so many tasks go together.
const LONGEST_RUN: usize = 6;

/// Tasks of some projects, laid early.
pub(super) struct Laid {
    /// Tasks in the order they were taken up, each with start and end.
    pub(super) spans: Vec<(usize, i64, i64)>,
    /// How late each of all projects is ready; 0 for those that are not among these.
    pub(super) tardiness: Vec<i64>,
}

/// Looks at up to `most` of `length` orders, beginning with one; returns the best that came to anything, and at how many.
///
/// The projects are not on the board. Nothing is looked for once none is later than what is fixed makes it.
pub(super) fn hurry(
    model: &Model<'_>,
    board: &Plan,
    projects: &[usize],
    first: &[usize],
    length: u64,
    most: u64,
    chance: &mut Xoshiro256PlusPlus,
) -> (Option<Laid>, u64) {
    let mut ahead = Ahead::new(model, board, projects);
    let least = projects.iter().map(|&one| late_cost(model, one, model.floors[one])).sum::<f64>();
    let (mut order, mut now) = (first.to_vec(), f64::INFINITY);
    let (mut best, mut best_cost) = (None, f64::INFINITY);
    let unit = TARDY as f64 * model.delay();
    let mut heat = HEAT.0 * unit;
    let cooling = (HEAT.1 / HEAT.0).powf(1.0 / length as f64);
    let mut keys = vec![0.0; model.tasks.len()];
    for n_laid in 0..most {
        heat *= cooling;
        let next = if n_laid == 0 {
            order.clone()
        } else {
            moved(model, projects, &order, &mut keys, chance)
        };
        if (n_laid > 0 && next == order) || !ahead.lay(&next) {
            continue;
        }
        let late = |&one: &usize| late_cost(model, one, ahead.tardiness(one));
        let cost: f64 = projects.iter().map(late).sum();
        if cost > now && chance.random::<f64>() >= ((now - cost) / heat).exp() {
            continue;
        }
        order.clone_from(&ahead.order);
        now = cost;
        if cost < best_cost {
            best_cost = cost;
            let span = |&task: &usize| (task, ahead.starts[task], ahead.ends[task]);
            let mut tardiness = vec![0; model.projects.len()];
            projects.iter().for_each(|&one| tardiness[one] = ahead.tardiness(one));
            best = Some(Laid { spans: ahead.order.iter().map(span).collect(), tardiness });
            if cost <= least {
                return (best, n_laid + 1);
            }
        }
    }
    (best, most)
}

fn late_cost(model: &Model<'_>, project: usize, tardiness: i64) -> f64 {
    TARDY as f64 * model.projects[project].weight as f64 * tardiness as f64
}

/// The order with some tasks moved, as far as ties let them.
fn moved(
    model: &Model<'_>,
    projects: &[usize],
    order: &[usize],
    keys: &mut [f64],
    chance: &mut Xoshiro256PlusPlus,
) -> Vec<usize> {
    let n = order.len();
    for (place, &task) in order.iter().enumerate() {
        keys[task] = place as f64;
    }
    // Mostly near, seldom far.
    let far = |chance: &mut Xoshiro256PlusPlus| {
        let far = (n as f64).powf(chance.random::<f64>()).floor() + 0.5;
        if chance.random::<bool>() { far } else { -far }
    };
    let from = if chance.random::<bool>() { 0 } else { chance.random_range(0..n) };
    let of = |project: usize| {
        order[from..].iter().copied().filter(move |&task| model.tasks[task].project == project)
    };
    match chance.random_range(0..10) {
        0..3 => {
            for _ in 0..chance.random_range(1..=2) {
                keys[order[chance.random_range(0..n)]] += far(chance);
            }
        }
        3..5 => {
            let first = chance.random_range(0..n);
            let run = chance.random_range(2..=LONGEST_RUN);
            let by = far(chance);
            order[first..n.min(first + run)].iter().for_each(|&task| keys[task] += by);
        }
        5..7 => {
            let one = projects[chance.random_range(0..projects.len())];
            let by = far(chance);
            of(one).for_each(|task| keys[task] += by);
        }
        _ => {
            let one = projects[chance.random_range(0..projects.len())];
            let other = projects[chance.random_range(0..projects.len())];
            let ours: Vec<usize> = of(one).collect();
            let theirs: Vec<usize> = of(other).collect();
            let places = |tasks: &[usize]| -> Vec<f64> { tasks.iter().map(|&t| keys[t]).collect() };
            let (our_places, their_places) = (places(&ours), places(&theirs));
            spread(&ours, &their_places, keys);
            spread(&theirs, &our_places, keys);
        }
    }
    first_ordered(model, projects, keys)
}

/// Gives tasks the places of others, evenly if those are more or fewer.
fn spread(tasks: &[usize], places: &[f64], keys: &mut [f64]) {
    if places.is_empty() {
        return;
    }
    for (at, &task) in tasks.iter().enumerate() {
        keys[task] = places[at * places.len() / tasks.len()] + 0.01 * at as f64;
    }
}
