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
//! Either-order pairs are decided one after the other, both ways, the most promising half-decided problem first,
//! until all pairs of the least one are decided: branch and bound, ended early where there are many pairs.
//! Over several windows only the total work counts, since time between windows is not active.
//!
//! For one worker the total work grows by the bag changes that no order avoids,
//! and where little slack is left, the bound rises as long as it can be proved that no order is done by it,
//! in whichever windows it is worked.
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
//!     crust: None,
//! };
//! assert_eq!(bound_sequence(&problem), 11);
//! problem.precedences.push(Precedence { before: 0, after: 1, lag: 20 });
//! assert_eq!(bound_sequence(&problem), 25);
//! ```

mod changes;
mod proof;

use std::{cmp::Reverse, collections::BinaryHeap};

use crate::{Precedence, SequenceProblem, error::topological_order, sequence::validate};

/// A job or a preparation.
#[derive(Clone, Copy)]
pub(crate) struct Piece {
    pub(crate) head: i64,
    pub(crate) work: i64,
    pub(crate) tail: i64,
}

/// So many half-decided problems are looked at; beyond, the least bound among those left holds.
const MOST_NODES: usize = 500;

/// Returns a number of ticks that no active time of a sequence is below.
///
/// 0 for a problem that [`solve_sequence`](crate::solve_sequence) refuses.
pub fn bound_sequence(problem: &SequenceProblem) -> i64 {
    let Ok(()) = validate(problem) else { return 0 };
    let frame = Frame::new(problem);
    let busy = share(frame.work() + frame.least_set_ups(), problem.n_workers as i64);
    let is_one = problem.windows.as_ref().is_none_or(|windows| windows.len() == 1);
    let bound = if is_one { decide_pairs(problem, &frame, busy) } else { busy };
    if problem.n_workers == 1 { proof::raised(problem, bound) } else { bound }
}

/// Decides either-order pairs one after the other, as far as nodes last; `busy` is a bound already.
fn decide_pairs(problem: &SequenceProblem, frame: &Frame<'_>, busy: i64) -> i64 {
    // A node is a list of precedences: those of the problem, then one for each decided pair.
    let mut nodes = vec![problem.precedences.clone()];
    let mut open = BinaryHeap::new();
    open.extend(frame.bound(&nodes[0]).map(|bound| (Reverse(bound), Reverse(0))));
    while let Some((Reverse(bound), Reverse(node))) = open.pop() {
        let decided = nodes[node].len() - problem.precedences.len();
        if nodes.len() >= MOST_NODES || decided == problem.either_orders.len() {
            return bound.max(busy);
        }
        let pair = problem.either_orders[frame.pair_order[decided]];
        let ab = Precedence { before: pair.a, after: pair.b, lag: pair.lag_ab };
        let ba = Precedence { before: pair.b, after: pair.a, lag: pair.lag_ba };
        for decision in [ab, ba] {
            let mut arcs = nodes[node].clone();
            arcs.push(decision);
            // An order that closes a circle is none.
            if let Some(deeper) = frame.bound(&arcs) {
                open.push((Reverse(deeper.max(bound)), Reverse(nodes.len())));
                nodes.push(arcs);
            }
        }
    }
    busy
}

/// What stays the same whichever way pairs are decided.
struct Frame<'a> {
    problem: &'a SequenceProblem,
    /// For each job its bags.
    bags: Vec<Vec<usize>>,
    /// Sets of jobs that are worked one at a time.
    exclusive: Vec<Vec<usize>>,
    /// The pairs, those that matter most first.
    pair_order: Vec<usize>,
}

impl<'a> Frame<'a> {
    fn new(problem: &'a SequenceProblem) -> Self {
        let mut bags: Vec<Vec<usize>> = problem.jobs.iter().map(|job| vec![job.bag]).collect();
        for further in &problem.further_bags {
            bags[further.job].push(further.bag);
        }
        let mut exclusive = problem.exclusive.clone();
        for list in bags.iter_mut().chain(&mut exclusive) {
            list.sort_unstable();
            list.dedup();
        }
        let mut frame = Self { problem, bags, exclusive, pair_order: Vec::new() };
        let pieces = frame.pieces(&problem.precedences).unwrap_or_default();
        let mut pair_order: Vec<usize> = (0..problem.either_orders.len()).collect();
        pair_order.sort_by_cached_key(|&at| {
            let pair = problem.either_orders[at];
            let (a, b) = (pieces[pair.a], pieces[pair.b]);
            let ab = a.head + pair.lag_ab + b.work + b.tail;
            let ba = b.head + pair.lag_ba + a.work + a.tail;
            Reverse(ab.min(ba))
        });
        frame.pair_order = pair_order;
        frame
    }

    /// All jobs and all preparations they need.
    fn work(&self) -> i64 {
        let mut used: Vec<usize> = self.bags.iter().flatten().copied().collect();
        used.sort_unstable();
        used.dedup();
        self.problem.jobs.iter().map(|job| job.duration).sum::<i64>()
            + used.iter().map(|&bag| self.problem.bags[bag].prep).sum::<i64>()
    }

    /// Bag changes that no order of one worker avoids.
    fn least_set_ups(&self) -> i64 {
        if self.problem.n_workers > 1 {
            return 0;
        }
        let arcs: Vec<_> =
            self.problem.precedences.iter().map(|one| (one.before, one.after)).collect();
        topological_order(self.problem.jobs.len(), &arcs)
            .map_or(0, |order| changes::least_set_ups(self.problem, &order))
    }

    /// The bound for given precedences; nothing if they form a circle.
    fn bound(&self, arcs: &[Precedence]) -> Option<i64> {
        let mut pieces = self.pieces(arcs)?;
        let sets = self
            .exclusive
            .iter()
            .map(|set| bound_set(&mut set.iter().map(|&job| pieces[job]).collect::<Vec<_>>(), 1))
            .max()
            .unwrap_or(0);
        Some(bound_set(&mut pieces, self.problem.n_workers as i64).max(sets))
    }

    /// Jobs by their places, then the preparations of used bags; nothing if the precedences form a circle.
    fn pieces(&self, arcs: &[Precedence]) -> Option<Vec<Piece>> {
        let problem = self.problem;
        let n = problem.jobs.len();
        let mut pieces: Vec<Piece> = problem
            .jobs
            .iter()
            .zip(&self.bags)
            .map(|(job, bags)| {
                let preps = bags.iter().map(|&bag| problem.bags[bag].prep);
                // One worker prepares one bag after the other.
                let head =
                    if problem.n_workers == 1 { preps.sum() } else { preps.max().unwrap_or(0) };
                Piece { head, work: job.duration, tail: 0 }
            })
            .collect();
        let ends: Vec<_> = arcs.iter().map(|one| (one.before, one.after)).collect();
        let order = topological_order(n, &ends).ok()?;
        let mut place = vec![0; n];
        order.iter().enumerate().for_each(|(at, &job)| place[job] = at);
        let mut along = arcs.to_vec();
        along.sort_unstable_by_key(|one| place[one.before]);
        for one in &along {
            pieces[one.after].head = pieces[one.after].head.max(pieces[one.before].head + one.lag);
        }
        along.sort_unstable_by_key(|one| Reverse(place[one.after]));
        for one in &along {
            let behind = one.lag + pieces[one.after].work + pieces[one.after].tail;
            let before = &mut pieces[one.before];
            before.tail = before.tail.max(behind - before.work);
        }
        let mut tails: Vec<Option<i64>> = vec![None; problem.bags.len()];
        for (job, bags) in self.bags.iter().enumerate() {
            let tail = pieces[job].work + pieces[job].tail;
            for &bag in bags {
                tails[bag] = Some(tails[bag].unwrap_or(0).max(tail));
            }
        }
        let preps = problem.bags.iter().zip(tails);
        pieces.extend(
            preps.filter_map(|(bag, tail)| Some(Piece { head: 0, work: bag.prep, tail: tail? })),
        );
        Some(pieces)
    }
}

fn share(work: i64, n_workers: i64) -> i64 {
    (work + n_workers - 1) / n_workers
}

/// More tails than this are sampled, which only weakens the bound.
const MOST_TAILS: usize = 1000;

/// The largest bound of all sets that hold the work with at least some head and at least some tail.
pub(crate) fn bound_set(pieces: &mut [Piece], n_workers: i64) -> i64 {
    pieces.sort_by_key(|piece| Reverse(piece.head));
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
