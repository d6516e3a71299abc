//! How short can a session be at best?
//!
//! The larger of two bounds:
//! - load: all jobs, all preparations, and, where several work, an equal share for each;
//! - the longest delayed way: a bag's preparation, then lag after lag to the last end.
//!
//! Either-order pairs count with the smaller of their two lags where both orders would be longer.

use crate::{SequenceProblem, error::topological_order};

/// Returns a number of ticks that no active time of a sequence is below.
///
/// With several windows only the load counts, since time between windows is not active.
pub fn bound_sequence(problem: &SequenceProblem) -> i64 {
    let mut used = vec![false; problem.bags.len()];
    for job in &problem.jobs {
        if let Some(used) = used.get_mut(job.bag) {
            *used = true;
        }
    }
    let preps: i64 =
        problem.bags.iter().zip(&used).filter(|(_, used)| **used).map(|(bag, _)| bag.prep).sum();
    let load = problem.jobs.iter().map(|job| job.duration).sum::<i64>() + preps;
    let n_workers = problem.n_workers.max(1) as i64;
    let share = (load + n_workers - 1) / n_workers;
    if problem.windows.as_ref().is_some_and(|windows| windows.len() > 1) {
        // Active time of several windows is at least the load of one worker.
        return share;
    }
    share.max(longest_way(problem)).max(pairs(problem))
}

/// Longest way over precedences, from the preparation of the first job's bag to the end of the last job.
fn longest_way(problem: &SequenceProblem) -> i64 {
    let n = problem.jobs.len();
    let arcs: Vec<_> = problem.precedences.iter().map(|one| (one.before, one.after)).collect();
    let Ok(order) = topological_order(n, &arcs) else { return 0 };
    let mut heads: Vec<i64> = problem
        .jobs
        .iter()
        .map(|job| problem.bags.get(job.bag).map_or(0, |bag| bag.prep))
        .collect();
    let mut position = vec![0; n];
    for (place, &job) in order.iter().enumerate() {
        position[job] = place;
    }
    let mut sorted: Vec<_> = problem.precedences.iter().collect();
    sorted.sort_by_key(|one| position[one.before]);
    for one in sorted {
        heads[one.after] = heads[one.after].max(heads[one.before] + one.lag);
    }
    heads.iter().zip(&problem.jobs).map(|(head, job)| head + job.duration).max().unwrap_or(0)
}

/// A pair in either order takes at least the shorter of both ways.
fn pairs(problem: &SequenceProblem) -> i64 {
    let prep = |job: usize| problem.bags.get(problem.jobs[job].bag).map_or(0, |bag| bag.prep);
    problem
        .either_orders
        .iter()
        .map(|pair| {
            let ab = prep(pair.a) + pair.lag_ab + problem.jobs[pair.b].duration;
            let ba = prep(pair.b) + pair.lag_ba + problem.jobs[pair.a].duration;
            ab.min(ba)
        })
        .max()
        .unwrap_or(0)
}
