//! In which order are the jobs of a session worked?
//!
//! One worker: 1 | prec(l_ij), either-order lags, s_ij | Cmax; with more workers the parallel-machine version.
//! A job is worked without interruption.
//! `start(after) >= start(before) + lag` holds for a precedence; for an either-order pair, one of its two lags holds,
//! whichever comes first.
//! A bag must be in the hand: its first use needs its preparation, a later pick-up a set-up.
//! No most time exists ([`block_row`] has turned it into a composite row), so that every order that respects the precedences
//! is feasible, and with one worker decoding it job by job, each as early as it can be, is optimal for that order.
//! A bag that nobody worked with for a while crusts, and its tip is wiped before the next job; a delay of the job before
//! might then save a wipe, which decoding does not look for.
//! Wanted, first things first: short active time, few bag changes, few wipes, little idle time.
//!
//! The search: noisy greedy starts, then rounds of simulated annealing over orders of jobs and preparations (move one or a few,
//! swap two, join or move the run of a bag).
//! Over several windows an order also holds where each window is closed, so that work can be held back to the next one,
//! where it may save a wait or the set-up of the opening.
//! A larger budget goes on where a smaller one stops, so that it never gives a worse answer.
//!
//! Sources: delayed precedence: Balas, Lenstra, Vazacopoulos, "The one-machine problem with delayed precedence constraints",
//! Management Science 41(1), 1995; Brucker, Hilbig, Hurink, Discrete Applied Mathematics 94, 1999;
//! annealing: Kirkpatrick, Gelatt, Vecchi, Science 220, 1983 (from memory).
//!
//! # Worked example
//! Job 0 (5 ticks) and job 1 (5 ticks) from one bag (2 ticks to prepare); job 1 starts 8 after job 0.
//! Job 2 (3 ticks) from another bag (1 tick to prepare) fills the wait: 0 at 2, 2 at 8, then a set-up of 1, and 1 at 12.
//! ```
//! use timing::{Bag, Job, Precedence, SequenceProblem, SetUp, solve_sequence};
//! use std::ops::ControlFlow;
//!
//! let problem = SequenceProblem {
//!     jobs: vec![Job { duration: 5, bag: 0 }, Job { duration: 5, bag: 0 }, Job { duration: 3, bag: 1 }],
//!     further_bags: vec![],
//!     bags: vec![Bag { color: 0, prep: 2 }, Bag { color: 1, prep: 1 }],
//!     precedences: vec![Precedence { before: 0, after: 1, lag: 8 }],
//!     either_orders: vec![],
//!     set_up: SetUp { same_color: 1, other: 1 },
//!     windows: None,
//!     n_workers: 1,
//!     exclusive: vec![],
//!     crust: None,
//! };
//! let sequence = solve_sequence(&problem, 1000, 1, &mut |_| ControlFlow::Continue(())).unwrap();
//! assert_eq!(sequence.active, 17);
//! ```

mod decode;
mod row;
mod search;

use std::ops::ControlFlow;

use crate::{
    Error,
    bound::bound_sequence,
    error::{in_order, in_range, known, topological_order},
};

use decode::Decoder;

pub(crate) use row::lag_of_parts;
pub use row::{BlockRow, RowSection, WetLimit, block_lag, block_row, row_lag};

/// One row, worked without interruption by one worker.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Job {
    /// How long it takes.
    pub duration: i64,
    /// What must be in the hand when it begins.
    pub bag: usize,
}

/// A job takes up a further bag while it goes on, as a composite row does.
///
/// The bag must be ready before the job begins; of several, the last one listed is in the hand when the job ends.
/// The time of changes inside the job is part of its duration.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FurtherBag {
    /// The job.
    pub job: usize,
    /// The bag.
    pub bag: usize,
}

/// What a job is worked with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Bag {
    /// Bags of one color are changed faster.
    pub color: usize,
    /// Time to mix and fill it, before its first job; the bag is then in the hand.
    /// What needs no time is ready from the beginning and taken up like any other.
    pub prep: i64,
}

/// One job starts at least so long after the start of another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Precedence {
    /// The job that starts first.
    pub before: usize,
    /// The job that starts later.
    pub after: usize,
    /// From start to start.
    pub lag: i64,
}

/// Two jobs keep a distance in whichever order they come.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct EitherOrder {
    /// One job.
    pub a: usize,
    /// The other.
    pub b: usize,
    /// From the start of `a` to the start of `b`, if `a` comes first.
    pub lag_ab: i64,
    /// From the start of `b` to the start of `a`, if `b` comes first.
    pub lag_ba: i64,
}

/// Picking up a prepared bag that is not in the hand.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct SetUp {
    /// After a bag of the same color.
    pub same_color: i64,
    /// After a bag of another color, or at the start of a session.
    pub other: i64,
}

/// The tip of a bag that nobody worked with for a while is wiped; what needs no preparation does not crust.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Crust {
    /// The longest time from the last use of a bag, the end of its preparation or of a job that worked with it,
    /// to the start of a job that begins with it, for which its tip stays clean.
    pub after: i64,
    /// Time to wipe it, directly before the job, besides any set-up.
    pub wipe: i64,
}

/// A session's jobs.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct SequenceProblem {
    /// The jobs.
    pub jobs: Vec<Job>,
    /// What some jobs are worked with besides.
    pub further_bags: Vec<FurtherBag>,
    /// What they are worked with.
    pub bags: Vec<Bag>,
    /// Lags in a fixed order.
    pub precedences: Vec<Precedence>,
    /// Lags in whichever order.
    pub either_orders: Vec<EitherOrder>,
    /// Times to change bags.
    pub set_up: SetUp,
    /// Windows in order, apart from each other; nothing means one window from 0 without end.
    /// Preparation, set-up and job each lie inside one window.
    pub windows: Option<Vec<(i64, i64)>>,
    /// How many work at once, 1 to 3.
    pub n_workers: usize,
    /// Sets of jobs of which no two are worked at the same time.
    pub exclusive: Vec<Vec<usize>>,
    /// How bags crust; nothing if they do not.
    pub crust: Option<Crust>,
}

/// An order of work and its times.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sequence {
    /// Start of each job.
    pub starts: Vec<i64>,
    /// Worker of each job.
    pub workers: Vec<usize>,
    /// Start of each bag's preparation; nothing for a bag that needs none or that no job uses.
    pub prep_starts: Vec<Option<i64>>,
    /// Who prepares each bag.
    pub prep_workers: Vec<usize>,
    /// The jobs in the order they were placed.
    pub order: Vec<usize>,
    /// Summed over windows: last end minus opening of the window.
    pub active: i64,
    /// How many jobs begin with a bag other than the one in the hand; preparing a bag puts it there.
    pub switches: usize,
    /// How many jobs begin with a bag whose tip is wiped.
    pub n_wipes: usize,
    /// Worker time inside the active time that is neither job, preparation, set-up nor wipe.
    pub idle: i64,
    /// No sequence has a shorter active time.
    pub bound: i64,
    /// Where chance started.
    pub seed: u64,
    /// How many orders were looked at.
    pub evaluations: u64,
}

/// Finds a good order of work.
///
/// `budget` counts the orders looked at; 1 gives the list schedule.
/// `listener` receives each better answer and may end the search; the best so far is returned.
///
/// # Errors
/// An index is unknown, a value out of range, windows overlap, precedences form a circle, a job is longer than every window,
/// or the windows end before everything is placed.
pub fn solve_sequence(
    problem: &SequenceProblem,
    budget: u64,
    seed: u64,
    listener: &mut dyn FnMut(&Sequence) -> ControlFlow<()>,
) -> Result<Sequence, Error> {
    solve_bounded(problem, bound_sequence(problem), budget, seed, listener)
}

/// The same with a bound that is known: the search ends where it reaches it.
pub(crate) fn solve_bounded(
    problem: &SequenceProblem,
    bound: i64,
    budget: u64,
    seed: u64,
    listener: &mut dyn FnMut(&Sequence) -> ControlFlow<()>,
) -> Result<Sequence, Error> {
    validate(problem)?;
    search::search(&Decoder::new(problem), bound, budget, seed, listener)
}

pub(crate) fn validate(problem: &SequenceProblem) -> Result<(), Error> {
    let (n_jobs, n_bags) = (problem.jobs.len(), problem.bags.len());
    for (place, job) in problem.jobs.iter().enumerate() {
        in_range("job", place, job.duration)?;
        known("bag", job.bag, n_bags)?;
    }
    for further in &problem.further_bags {
        known("job", further.job, n_jobs)?;
        known("bag", further.bag, n_bags)?;
    }
    for (place, bag) in problem.bags.iter().enumerate() {
        in_range("bag", place, bag.prep)?;
    }
    in_range("set-up", 0, problem.set_up.same_color)?;
    in_range("set-up", 1, problem.set_up.other)?;
    if let Some(crust) = problem.crust {
        in_range("time to crust", 0, crust.after)?;
        in_range("time to wipe", 0, crust.wipe)?;
    }
    for (place, precedence) in problem.precedences.iter().enumerate() {
        known("job", precedence.before, n_jobs)?;
        known("job", precedence.after, n_jobs)?;
        in_range("precedence", place, precedence.lag)?;
    }
    for (place, pair) in problem.either_orders.iter().enumerate() {
        known("job", pair.a, n_jobs)?;
        known("job", pair.b, n_jobs)?;
        in_range("either-order pair", place, pair.lag_ab)?;
        in_range("either-order pair", place, pair.lag_ba)?;
        if pair.a == pair.b {
            return Err(Error::Cycle { what: "jobs", members: vec![pair.a] });
        }
    }
    for &job in problem.exclusive.iter().flatten() {
        known("job", job, n_jobs)?;
    }
    let n_workers = i64::try_from(problem.n_workers).unwrap_or(i64::MAX);
    if !(1..=3).contains(&n_workers) {
        return Err(Error::OutOfRange {
            what: "number of workers",
            index: 0,
            value: n_workers,
            least: 1,
            most: 3,
        });
    }
    let arcs: Vec<_> = problem.precedences.iter().map(|one| (one.before, one.after)).collect();
    topological_order(n_jobs, &arcs).map_err(|members| Error::Cycle { what: "jobs", members })?;
    let Some(windows) = &problem.windows else { return Ok(()) };
    let longest = in_order(windows)?;
    for (index, job) in problem.jobs.iter().enumerate() {
        for (what, duration) in
            [("job", job.duration), ("preparation for job", problem.bags[job.bag].prep)]
        {
            if duration > longest {
                return Err(Error::TooLong { what, index, duration, longest });
            }
        }
    }
    Ok(())
}
