//! In which order are rows over many copies worked, and does it help to work some of them in two parts?
//!
//! A row works one or more sections on each of its copies ([`block_row`]); lags hold on every copy,
//! from the end of a section of one row to the start of a section of another.
//! Rows become jobs and lags on copies start-to-start lags ([`block_lag`]); [`solve_sequence`](crate::solve_sequence) does the rest.
//!
//! Where waiting remains and rows may be split, all rows of a group, or one row, are worked in two parts:
//! first copies `0..k`, then `k..n`, with lags only between parts that share copies.
//! The first part can then go on to the next row while the second is worked.
//! A split costs bag changes, so it stays only if the active time is shorter with it.
//!
//! Effort: rounds, of which each first works on what is best so far and then tries the splits one by one;
//! each round has four times the effort of the one before.
//! Rounds do not depend on the budget, so that a larger budget only goes on where a smaller one stops.
//!
//! # Worked example
//! Four copies, a row of 10 ticks each, then one of 10 each that needs 25 ticks of rest on every copy.
//! In one part: 40 ticks, but copy 0 may go on at 35; the second row starts at 40 and ends at 80 if its bag needs no time.
//! With a rest of 60, the second row starts at 70 and 30 ticks are idle.
//! ```
//! use timing::{Bag, Row, RowLag, RowProblem, RowSection, SetUp, solve_rows};
//! use std::ops::ControlFlow;
//!
//! let row = |bag| Row {
//!     sections: vec![RowSection { bag, per_copy: 10 }], copies: 4, swap: 0, limits: vec![], group: Some(0),
//! };
//! let problem = RowProblem {
//!     rows: vec![row(0), row(1)],
//!     lags: vec![RowLag { from: (0, 0), to: (1, 0), lag: 60, back: None }],
//!     bags: vec![Bag { color: 0, prep: 0 }, Bag { color: 1, prep: 0 }],
//!     set_up: SetUp { same_color: 0, other: 0 },
//!     windows: None,
//!     n_workers: 1,
//!     crust: None,
//!     may_split: false,
//!     orders: vec![],
//! };
//! let found = solve_rows(&problem, 100, 1, &mut |_| ControlFlow::Continue(())).unwrap();
//! assert_eq!((found.parts[1].start, found.active, found.idle), (70, 110, 30));
//! ```

mod bound;
mod compile;

use std::ops::ControlFlow;

use crate::{
    Bag, BlockRow, Crust, Error, RowSection, Sequence, SetUp, WetLimit, block_row,
    bound::bound_sequence,
    sequence::{lag_of_parts, solve_bounded},
};

use compile::{Part, compile};

/// Sections worked together over copies.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Row {
    /// The sections in the order they are worked on each copy, at least one.
    pub sections: Vec<RowSection>,
    /// How many copies.
    pub copies: i64,
    /// Time to change bags inside the row.
    pub swap: i64,
    /// Most times inside the row; they set how many copies are worked in one block.
    pub limits: Vec<WetLimit>,
    /// Rows of one group are worked on the same copies: on no copy two at a time.
    pub group: Option<usize>,
}

impl Row {
    /// Lays out a part of the row of so many copies.
    #[must_use]
    pub fn layout(&self, copies: i64) -> BlockRow {
        block_row(&self.sections, copies, self.swap, &self.limits)
    }
}

/// On every copy that two rows share, a section of one starts at least so long after the end of a section of the other.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RowLag {
    /// Row and section in it that come first.
    pub from: (usize, usize),
    /// Row and section in it that come later.
    pub to: (usize, usize),
    /// From the end of the first to the start of the second.
    pub lag: i64,
    /// The same if the second comes first; nothing where the order is fixed.
    pub back: Option<i64>,
}

/// A session's rows.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RowProblem {
    /// The rows.
    pub rows: Vec<Row>,
    /// Lags between them.
    pub lags: Vec<RowLag>,
    /// What they are worked with.
    pub bags: Vec<Bag>,
    /// Times to change bags between rows.
    pub set_up: SetUp,
    /// Windows as in [`SequenceProblem`](crate::SequenceProblem).
    pub windows: Option<Vec<(i64, i64)>>,
    /// How many work at once, 1 to 3.
    pub n_workers: usize,
    /// How bags crust; nothing if they do not.
    pub crust: Option<Crust>,
    /// Whether rows may be worked in two parts.
    pub may_split: bool,
    /// Pairs of rows of which the second starts on no copy before the first is done with all of its own.
    pub orders: Vec<(usize, usize)>,
}

impl RowProblem {
    /// Returns how long after the start of one part another starts at the earliest, by a lag between their rows.
    ///
    /// Nothing if the lag asks nothing of them in this order: they share no copy, or are of other rows.
    pub fn start_lag(&self, lag: &RowLag, first: &RowPart, second: &RowPart) -> Option<i64> {
        let forward = (lag.from.0, lag.to.0) == (first.row, second.row);
        let backward = (lag.to.0, lag.from.0) == (first.row, second.row);
        let (from, to, rest) = match lag.back {
            _ if forward => (lag.from.1, lag.to.1, lag.lag),
            Some(back) if backward => (lag.to.1, lag.from.1, back),
            _ => return None,
        };
        let shared = (first.from.max(second.from), first.to.min(second.to));
        let layout = |part: &RowPart| Some(self.rows.get(part.row)?.layout(part.to - part.from));
        let (one, other) = (layout(first)?, layout(second)?);
        (shared.0 < shared.1).then(|| {
            lag_of_parts((&one, from, first.from), (&other, to, second.from), shared, rest)
        })
    }
}

/// Some copies of a row, worked without interruption.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct RowPart {
    /// The row.
    pub row: usize,
    /// From this copy on.
    pub from: i64,
    /// To the one before this.
    pub to: i64,
    /// Start.
    pub start: i64,
    /// End.
    pub end: i64,
    /// Who works it.
    pub worker: usize,
}

/// An order of rows and its times.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct RowSequence {
    /// The parts by their starts; a row that is not split is one part.
    pub parts: Vec<RowPart>,
    /// Start of each bag's preparation; nothing for a bag that needs none or that no row uses.
    pub prep_starts: Vec<Option<i64>>,
    /// Who prepares each bag.
    pub prep_workers: Vec<usize>,
    /// Summed over windows: last end minus opening of the window.
    pub active: i64,
    /// How many parts begin with a bag other than the one in the hand.
    pub switches: usize,
    /// How many parts begin with a bag whose tip is wiped.
    pub n_wipes: usize,
    /// Worker time inside the active time that is not worked.
    pub idle: i64,
    /// No order has a shorter active time; if rows may be split, none with any splits has.
    pub bound: i64,
    /// Where chance started.
    pub seed: u64,
    /// How many orders were looked at.
    pub evaluations: u64,
}

/// Evaluations of the first round, for what is best so far and for each split tried; each later round has four times as many.
///
/// So few that a budget of 2,000 tries every split once.
const FIRST_ROUND: u64 = 512;
const FIRST_TRIAL: u64 = 64;
const MOST_ROUNDS: usize = 12;
/// At most so many splits are tried in a round.
const MOST_TRIALS: usize = 24;
/// Where rows are cut, round by round.
const CUTS: [(i64, i64); 3] = [(1, 2), (1, 3), (2, 3)];

/// Finds a good order of rows.
///
/// `budget` counts the orders looked at; `listener` receives each better answer and may end the search.
///
/// # Errors
/// As [`solve_sequence`](crate::solve_sequence); also if a row has no section or a lag names one that is not there.
pub fn solve_rows(
    problem: &RowProblem,
    budget: u64,
    seed: u64,
    listener: &mut dyn FnMut(&RowSequence) -> ControlFlow<()>,
) -> Result<RowSequence, Error> {
    compile::validate(problem)?;
    let uncut = vec![None; problem.rows.len()];
    let mut search = Search {
        problem,
        bound: if problem.may_split {
            bound::bound(problem)
        } else {
            bound_sequence(&compile(problem, &uncut).0)
        },
        budget,
        seed,
        spent: 0,
        cuts: uncut.clone(),
        best: None,
        is_over: false,
        listener,
    };
    if problem.may_split {
        let mut growth = 1;
        for cut in CUTS.into_iter().cycle().take(MOST_ROUNDS) {
            search.solve(search.cuts.clone(), FIRST_ROUND * growth)?;
            // What a short search split may be needless once a longer one is made.
            if search.goes_on() && search.cuts != uncut {
                search.solve(uncut.clone(), FIRST_ROUND * growth)?;
            }
            search.try_splits(cut, FIRST_TRIAL * growth)?;
            growth *= 4;
            if !search.goes_on() {
                break;
            }
        }
    } else {
        search.solve(uncut, budget)?;
    }
    let spent = search.spent;
    let best = search.best.map(|best| RowSequence { evaluations: spent, ..best });
    // Every search looks at one order at least.
    best.ok_or(Error::NoWindows)
}

struct Search<'a, 'b> {
    problem: &'a RowProblem,
    bound: i64,
    budget: u64,
    seed: u64,
    spent: u64,
    /// Where each row is cut in the best answer.
    cuts: Vec<Option<i64>>,
    best: Option<RowSequence>,
    is_over: bool,
    listener: &'b mut dyn FnMut(&RowSequence) -> ControlFlow<()>,
}

impl Search<'_, '_> {
    fn goes_on(&self) -> bool {
        let is_best = self.best.as_ref().is_some_and(|best| best.active <= self.bound);
        self.spent < self.budget && !self.is_over && !is_best
    }

    /// Looks for an order of rows cut so, and keeps it if it is better.
    fn solve(&mut self, cuts: Vec<Option<i64>>, effort: u64) -> Result<(), Error> {
        let (sequence_problem, parts) = compile(self.problem, &cuts);
        let effort = effort.min(self.budget.saturating_sub(self.spent)).max(1);
        let is_split = cuts.iter().any(Option::is_some);
        let (before, spent) = (self.best.clone(), self.spent);
        let is_better = |found: &Sequence| {
            let rank = |one: &RowSequence| (one.active, one.switches, one.n_wipes, one.idle);
            before.as_ref().is_none_or(|best| {
                let found_rank = (found.active, found.switches, found.n_wipes, found.idle);
                // A split has to shorten the active time.
                if cuts == self.cuts || !is_split {
                    found_rank < rank(best)
                } else {
                    found.active < best.active
                }
            })
        };
        let mut is_over = false;
        let found =
            solve_bounded(&sequence_problem, self.bound, effort, self.seed, &mut |found| {
                if !is_better(found) {
                    return ControlFlow::Continue(());
                }
                let mut answer = answer(&parts, &sequence_problem, found);
                answer.evaluations += spent;
                let heard = (self.listener)(&answer);
                is_over |= heard.is_break();
                heard
            })?;
        self.spent += found.evaluations;
        self.is_over |= is_over;
        if is_better(&found) {
            self.best = Some(answer(&parts, &sequence_problem, &found));
            self.cuts = cuts;
        }
        Ok(())
    }

    /// Tries to cut each group and each row, one after the other.
    fn try_splits(&mut self, (share, of): (i64, i64), effort: u64) -> Result<(), Error> {
        for rows in candidates(self.problem).into_iter().take(MOST_TRIALS) {
            let waits = self.best.as_ref().is_some_and(|best| best.idle > 0);
            if !waits || !self.goes_on() {
                return Ok(());
            }
            let mut cuts = self.cuts.clone();
            for row in rows {
                let copies = self.problem.rows[row].copies;
                let cut = copies.saturating_mul(share) / of;
                cuts[row] = (0 < cut && cut < copies).then_some(cut);
            }
            if cuts == self.cuts {
                continue;
            }
            match self.solve(cuts, effort) {
                // In two parts it may not fit the windows that it fits in one.
                Ok(()) | Err(Error::Full { .. }) => {}
                Err(error) => return Err(error),
            }
        }
        Ok(())
    }
}

/// What may be cut: the groups with several rows, then the rows, long ones first.
fn candidates(problem: &RowProblem) -> Vec<Vec<usize>> {
    let mut groups: Vec<usize> = problem.rows.iter().filter_map(|row| row.group).collect();
    groups.sort_unstable();
    groups.dedup();
    let members = |group: usize| -> Vec<usize> {
        (0..problem.rows.len()).filter(|&row| problem.rows[row].group == Some(group)).collect()
    };
    let mut by_length: Vec<usize> = (0..problem.rows.len()).collect();
    by_length.sort_by_cached_key(|&row| {
        let row = &problem.rows[row];
        std::cmp::Reverse(row.layout(row.copies).duration())
    });
    let groups = groups.into_iter().map(members).filter(|rows| rows.len() > 1);
    groups.chain(by_length.into_iter().map(|row| vec![row])).collect()
}

/// Tells a sequence of jobs in rows.
fn answer(parts: &[Part], problem: &crate::SequenceProblem, found: &Sequence) -> RowSequence {
    let tell = |&job: &usize| {
        let (start, &Part { row, from, to, .. }) = (found.starts[job], &parts[job]);
        let end = start + problem.jobs[job].duration;
        RowPart { row, from, to, start, end, worker: found.workers[job] }
    };
    let mut told: Vec<RowPart> = found.order.iter().map(tell).collect();
    told.sort_by_key(|part| (part.start, part.end, part.worker));
    RowSequence {
        parts: told,
        prep_starts: found.prep_starts.clone(),
        prep_workers: found.prep_workers.clone(),
        active: found.active,
        switches: found.switches,
        n_wipes: found.n_wipes,
        idle: found.idle,
        bound: found.bound,
        seed: found.seed,
        evaluations: found.evaluations,
    }
}
