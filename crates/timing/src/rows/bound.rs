//! How short can a session be at best, however rows are split?

use crate::{
    RowProblem,
    bound::{Piece, bound_set},
    error::topological_order,
};

/// Returns a number of ticks that no active time is below, whatever copies are worked in whichever parts.
///
/// Seen copy by copy, the work of a section on one copy has a head and a tail along lags of fixed order:
/// what must pass before it and behind it on that copy alone.
/// All copies of a section have the same, so they count as one piece of their joint work.
/// Bags must be ready first; changes inside and between rows count as nothing, since a split may save them.
/// Over several windows only the work counts.
pub(super) fn bound(problem: &RowProblem) -> i64 {
    let mut offsets = Vec::with_capacity(problem.rows.len());
    let mut n = 0;
    for row in &problem.rows {
        offsets.push(n);
        n += row.sections.len();
    }
    let sections: Vec<(usize, &crate::RowSection)> = problem
        .rows
        .iter()
        .enumerate()
        .flat_map(|(at, row)| row.sections.iter().map(move |section| (at, section)))
        .collect();
    // From the end of a section on a copy to the start of another on the same copy.
    let mut waits: Vec<(usize, usize, i64)> = problem
        .lags
        .iter()
        .filter(|lag| lag.back.is_none())
        // On copies that only one of them has, nothing waits.
        .filter(|lag| problem.rows[lag.from.0].copies == problem.rows[lag.to.0].copies)
        .map(|lag| (offsets[lag.from.0] + lag.from.1, offsets[lag.to.0] + lag.to.1, lag.lag))
        .collect();
    let inside = |at: &usize| sections[*at].0 == sections[at + 1].0;
    waits.extend((0..n.saturating_sub(1)).filter(inside).map(|at| (at, at + 1, 0)));
    let arcs: Vec<(usize, usize)> = waits.iter().map(|&(a, b, _)| (a, b)).collect();
    let Ok(order) = topological_order(n, &arcs) else { return 0 };
    let mut pieces: Vec<Piece> = sections
        .iter()
        .map(|&(row, section)| Piece {
            head: head(problem, row),
            work: section.per_copy.saturating_mul(problem.rows[row].copies),
            tail: 0,
        })
        .collect();
    let one = |at: usize| {
        if problem.rows[sections[at].0].copies > 0 { sections[at].1.per_copy } else { 0 }
    };
    for &at in &order {
        for &(a, b, lag) in waits.iter().filter(|wait| wait.0 == at) {
            pieces[b].head = pieces[b].head.max(pieces[a].head + one(a) + lag);
        }
    }
    for &at in order.iter().rev() {
        for &(a, b, lag) in waits.iter().filter(|wait| wait.1 == at) {
            pieces[a].tail = pieces[a].tail.max(lag + one(b) + pieces[b].tail);
        }
    }
    // Rows without copies wait for nobody.
    let has_copies = |at: &usize| problem.rows[sections[*at].0].copies > 0;
    let worked: Vec<usize> = (0..n).filter(has_copies).collect();
    for (bag, prepared) in problem.bags.iter().enumerate() {
        let tails = worked.iter().filter(|&&at| sections[at].1.bag == bag);
        if let Some(tail) = tails.map(|&at| one(at) + pieces[at].tail).max() {
            pieces.push(Piece { head: 0, work: prepared.prep, tail });
        }
    }
    let mut pieces: Vec<Piece> =
        worked.into_iter().chain(n..pieces.len()).map(|at| pieces[at]).collect();
    if problem.windows.as_ref().is_some_and(|windows| windows.len() > 1) {
        pieces.iter_mut().for_each(|piece| (piece.head, piece.tail) = (0, 0));
    }
    bound_set(&mut pieces, problem.n_workers.max(1) as i64)
}

/// What must pass before a row: its bags are prepared, one after the other if one works alone.
fn head(problem: &RowProblem, row: usize) -> i64 {
    let mut bags: Vec<usize> = problem.rows[row].sections.iter().map(|one| one.bag).collect();
    bags.sort_unstable();
    bags.dedup();
    let preps = bags.iter().map(|&bag| problem.bags[bag].prep);
    if problem.n_workers == 1 { preps.sum() } else { preps.max().unwrap_or(0) }
}
