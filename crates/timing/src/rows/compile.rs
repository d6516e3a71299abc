//! From rows, cut or not, to jobs and lags from start to start.

use crate::{
    BlockRow, EitherOrder, Error, FurtherBag, Job, Precedence, RowProblem, SequenceProblem,
    error::{in_range, known},
    sequence::lag_of_parts,
};

/// Copies `from..to` of a row.
pub(super) struct Part {
    pub(super) row: usize,
    pub(super) from: i64,
    pub(super) to: i64,
    layout: BlockRow,
}

/// Checks what the jobs no longer tell.
pub(super) fn validate(problem: &RowProblem) -> Result<(), Error> {
    for (at, row) in problem.rows.iter().enumerate() {
        known("section", 0, row.sections.len())?;
        in_range("copies of row", at, row.copies)?;
        in_range("bag change of row", at, row.swap)?;
        for section in &row.sections {
            known("bag", section.bag, problem.bags.len())?;
            in_range("time on one copy in row", at, section.per_copy)?;
        }
    }
    for (at, lag) in problem.lags.iter().enumerate() {
        for (row, section) in [lag.from, lag.to] {
            known("row", row, problem.rows.len())?;
            known("section", section, problem.rows[row].sections.len())?;
        }
        if lag.from.0 == lag.to.0 {
            return Err(Error::Cycle { what: "rows", members: vec![lag.from.0] });
        }
        in_range("lag", at, lag.lag)?;
        in_range("lag", at, lag.back.unwrap_or(0))?;
    }
    for &(before, after) in &problem.orders {
        known("row", before, problem.rows.len())?;
        known("row", after, problem.rows.len())?;
    }
    Ok(())
}

/// Compiles rows of which some are cut; the jobs are the parts.
pub(super) fn compile(problem: &RowProblem, cuts: &[Option<i64>]) -> (SequenceProblem, Vec<Part>) {
    let mut parts = Vec::new();
    for (at, row) in problem.rows.iter().enumerate() {
        let cut = cuts.get(at).copied().flatten();
        let ends = cut.into_iter().chain([row.copies]);
        let mut from = 0;
        for to in ends {
            parts.push(Part { row: at, from, to, layout: row.layout(to - from) });
            from = to;
        }
    }
    let (precedences, either_orders) = lags(problem, &parts);
    let first_bag = |part: &Part| problem.rows[part.row].sections[0].bag;
    let jobs = parts
        .iter()
        .map(|part| Job { duration: part.layout.duration(), bag: first_bag(part) })
        .collect();
    let further_bags = parts
        .iter()
        .enumerate()
        .flat_map(|(job, part)| {
            let sections = &problem.rows[part.row].sections[1..];
            sections.iter().map(move |section| FurtherBag { job, bag: section.bag })
        })
        .collect();
    let compiled = SequenceProblem {
        jobs,
        further_bags,
        bags: problem.bags.clone(),
        precedences,
        either_orders,
        set_up: problem.set_up,
        windows: problem.windows.clone(),
        n_workers: problem.n_workers,
        exclusive: exclusive(problem, &parts),
        crust: problem.crust,
    };
    (compiled, parts)
}

/// The lags between parts that share copies.
fn lags(problem: &RowProblem, parts: &[Part]) -> (Vec<Precedence>, Vec<EitherOrder>) {
    let (mut precedences, mut either_orders) = (Vec::new(), Vec::new());
    for lag in &problem.lags {
        let of = |row: usize| parts.iter().enumerate().filter(move |(_, part)| part.row == row);
        for (a, first) in of(lag.from.0) {
            for (b, second) in of(lag.to.0) {
                let shared = (first.from.max(second.from), first.to.min(second.to));
                if shared.0 >= shared.1 {
                    continue;
                }
                let ab = (&first.layout, lag.from.1, first.from);
                let ba = (&second.layout, lag.to.1, second.from);
                let lag_ab = lag_of_parts(ab, ba, shared, lag.lag);
                match lag.back {
                    None => precedences.push(Precedence { before: a, after: b, lag: lag_ab }),
                    Some(back) => {
                        let lag_ba = lag_of_parts(ba, ab, shared, back);
                        either_orders.push(EitherOrder { a, b, lag_ab, lag_ba });
                    }
                }
            }
        }
    }
    for &(before, after) in &problem.orders {
        let of = |row: usize| parts.iter().enumerate().filter(move |(_, part)| part.row == row);
        precedences.extend(of(before).flat_map(|(before, part)| {
            let lag = part.layout.duration();
            of(after).map(move |(after, _)| Precedence { before, after, lag })
        }));
    }
    (precedences, either_orders)
}

/// For each group and each stretch of its copies between cuts, the parts that work on it.
fn exclusive(problem: &RowProblem, parts: &[Part]) -> Vec<Vec<usize>> {
    let mut stretches: Vec<(usize, i64)> =
        parts.iter().filter_map(|part| Some((problem.rows[part.row].group?, part.from))).collect();
    stretches.sort_unstable();
    stretches.dedup();
    let on = |(group, copy): (usize, i64)| -> Vec<usize> {
        let is_on = |part: &Part| {
            problem.rows[part.row].group == Some(group) && part.from <= copy && copy < part.to
        };
        (0..parts.len()).filter(|&at| is_on(&parts[at])).collect()
    };
    stretches.into_iter().map(on).filter(|set| set.len() > 1).collect()
}
