//! How short can a session be at best?
//!
//! Every job and every preparation is a piece of work with a head (ticks that must pass before it) and a tail (ticks that must
//! pass behind it), from lags along precedences and from bags that must be ready first.
//! Of any set S of work that `k` workers share,
//!
//! active >= least head in S + ceil(work in S / k) + least tail in S
//!
//! The bound is the largest of these; for one worker that is the preemptive one-machine bound.
//! Jobs of an exclusive set count as one worker's.
//! An either-order pair takes at least the shorter of its two ways.
//! Over several windows only the total work counts, since time between windows is not active.
//!
//! Sources: heads, tails and sets: Carlier, "The one-machine sequencing problem",
//! European Journal of Operational Research 11, 1982 (from memory);
//! delayed precedence: Balas, Lenstra, Vazacopoulos, Management Science 41(1), 1995.
//!
//! # Worked example
//! Two jobs of 5 and 3 ticks, bags ready after 2 and 1: 11 ticks of work.
//! If the second starts 20 after the first: 2 + 20 + 3.
//! ```
//! use timing::{Bag, Job, Precedence, SequenceProblem, SetUp, bound_sequence};
//!
//! let mut problem = SequenceProblem {
//!     jobs: vec![Job { duration: 5, bag: 0 }, Job { duration: 3, bag: 1 }],
//!     further_bags: vec![],
//!     bags: vec![Bag { color: 0, prep: 2 }, Bag { color: 1, prep: 1 }],
//!     precedences: vec![],
//!     either_orders: vec![],
//!     set_up: SetUp { same_color: 1, other: 1 },
//!     windows: None,
//!     n_workers: 1,
//!     exclusive: vec![],
//! };
//! assert_eq!(bound_sequence(&problem), 11);
//! problem.precedences.push(Precedence { before: 0, after: 1, lag: 20 });
//! assert_eq!(bound_sequence(&problem), 25);
//! ```

use crate::{SequenceProblem, error::topological_order, sequence::validate};

/// A job or a preparation.
#[derive(Clone, Copy)]
struct Piece {
    head: i64,
    work: i64,
    tail: i64,
}

/// Returns a number of ticks that no active time of a sequence is below.
///
/// 0 for a problem that [`solve_sequence`](crate::solve_sequence) refuses.
pub fn bound_sequence(problem: &SequenceProblem) -> i64 {
    let Ok(()) = validate(problem) else { return 0 };
    let pieces = pieces(problem);
    let n_workers = problem.n_workers as i64;
    if problem.windows.as_ref().is_some_and(|windows| windows.len() > 1) {
        return share(pieces.iter().map(|piece| piece.work).sum(), n_workers);
    }
    let sets = problem
        .exclusive
        .iter()
        .map(|set| bound_set(&mut set.iter().map(|&job| pieces[job]).collect::<Vec<_>>(), 1))
        .max()
        .unwrap_or(0);
    let pairs = problem
        .either_orders
        .iter()
        .map(|pair| {
            let (a, b) = (pieces[pair.a], pieces[pair.b]);
            let ab = a.head + pair.lag_ab + b.work + b.tail;
            let ba = b.head + pair.lag_ba + a.work + a.tail;
            ab.min(ba)
        })
        .max()
        .unwrap_or(0);
    bound_set(&mut pieces.clone(), n_workers).max(sets).max(pairs)
}

fn share(work: i64, n_workers: i64) -> i64 {
    (work + n_workers - 1) / n_workers
}

/// Jobs by their places, then the preparations of used bags.
fn pieces(problem: &SequenceProblem) -> Vec<Piece> {
    let n = problem.jobs.len();
    let mut bags: Vec<Vec<usize>> = problem.jobs.iter().map(|job| vec![job.bag]).collect();
    for further in &problem.further_bags {
        bags[further.job].push(further.bag);
    }
    let mut pieces: Vec<Piece> = problem
        .jobs
        .iter()
        .zip(&mut bags)
        .map(|(job, bags)| {
            bags.sort_unstable();
            bags.dedup();
            let preps = bags.iter().map(|&bag| problem.bags[bag].prep);
            // One worker prepares one bag after the other.
            let head = if problem.n_workers == 1 { preps.sum() } else { preps.max().unwrap_or(0) };
            Piece { head, work: job.duration, tail: 0 }
        })
        .collect();
    let arcs: Vec<_> = problem.precedences.iter().map(|one| (one.before, one.after)).collect();
    let order = topological_order(n, &arcs).unwrap_or_default();
    let mut place = vec![0; n];
    order.iter().enumerate().for_each(|(at, &job)| place[job] = at);
    let mut along: Vec<_> = problem.precedences.iter().collect();
    along.sort_by_key(|one| place[one.before]);
    for one in &along {
        pieces[one.after].head = pieces[one.after].head.max(pieces[one.before].head + one.lag);
    }
    along.sort_by_key(|one| std::cmp::Reverse(place[one.after]));
    for one in &along {
        let behind = one.lag + pieces[one.after].work + pieces[one.after].tail;
        let before = &mut pieces[one.before];
        before.tail = before.tail.max(behind - before.work);
    }
    let mut tails: Vec<Option<i64>> = vec![None; problem.bags.len()];
    for (job, bags) in bags.iter().enumerate() {
        for &bag in bags {
            let tail = pieces[job].work + pieces[job].tail;
            tails[bag] = Some(tails[bag].unwrap_or(0).max(tail));
        }
    }
    let preps = problem.bags.iter().zip(tails);
    pieces.extend(
        preps.filter_map(|(bag, tail)| Some(Piece { head: 0, work: bag.prep, tail: tail? })),
    );
    pieces
}

/// More tails than this are sampled, which only weakens the bound.
const MOST_TAILS: usize = 1000;

/// The largest bound of all sets that hold the work with at least some head and at least some tail.
fn bound_set(pieces: &mut [Piece], n_workers: i64) -> i64 {
    pieces.sort_by_key(|piece| std::cmp::Reverse(piece.head));
    let mut tails: Vec<i64> = pieces.iter().map(|piece| piece.tail).collect();
    tails.sort_unstable();
    tails.dedup();
    let step = 1 + tails.len() / MOST_TAILS;
    let mut longest = 0;
    for tail in tails.into_iter().step_by(step) {
        let mut work = 0;
        for piece in pieces.iter().filter(|piece| piece.tail >= tail) {
            work += piece.work;
            longest = longest.max(piece.head + share(work, n_workers) + tail);
        }
    }
    longest
}
