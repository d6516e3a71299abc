use crate::{
    FurtherBag, Job, Row, RowLag, RowPart, RowProblem, RowSequence, Sequence, SequenceProblem,
    Violation, check_sequence,
};

/// Returns every rule an order of rows breaks; each copy is looked at for itself.
///
/// Places in violations are those of the answer's parts; [`Violation::Parts`] names a row.
pub fn check_rows(problem: &RowProblem, answer: &RowSequence) -> Vec<Violation> {
    if !is_named(problem, answer) {
        return vec![Violation::WrongLength];
    }
    let mut found = Vec::new();
    for (at, row) in problem.rows.iter().enumerate() {
        if !is_whole(row, answer.parts.iter().filter(|part| part.row == at), problem.may_split) {
            found.push(Violation::Parts { row: at });
        }
    }
    if !found.is_empty() {
        return found;
    }
    let visits: Vec<Vec<Vec<(i64, i64)>>> = answer
        .parts
        .iter()
        .map(|part| visits(&problem.rows[part.row], part.to - part.from))
        .collect();
    for (a, first) in answer.parts.iter().enumerate() {
        for (b, second) in answer.parts.iter().enumerate() {
            let lags =
                problem.lags.iter().filter(|lag| (lag.from.0, lag.to.0) == (first.row, second.row));
            for lag in lags {
                if !keeps(lag, (first, &visits[a]), (second, &visits[b])) {
                    found.push(Violation::Lag { before: a, after: b });
                }
            }
        }
    }
    let of = |row: usize| answer.parts.iter().enumerate().filter(move |(_, part)| part.row == row);
    for &(first, then) in &problem.orders {
        for (before, one) in of(first) {
            let early = of(then).filter(|(_, other)| other.start < one.end);
            found.extend(early.map(|(after, _)| Violation::Lag { before, after }));
        }
    }
    found.extend(check_sequence(&as_jobs(problem, answer), &as_sequence(answer)));
    found
}

fn is_named(problem: &RowProblem, answer: &RowSequence) -> bool {
    let n = problem.rows.len();
    let is_section = |(row, section): (usize, usize)| {
        problem.rows.get(row).is_some_and(|row| section < row.sections.len())
    };
    answer.parts.iter().all(|part| part.row < n && 0 <= part.from && part.from <= part.to)
        && problem.rows.iter().all(|row| !row.sections.is_empty())
        && problem.lags.iter().all(|lag| is_section(lag.from) && is_section(lag.to))
        && problem.orders.iter().all(|&(first, then)| first < n && then < n)
}

/// Whether parts are one behind the other, make up all copies and take the time they need.
fn is_whole<'a>(row: &Row, parts: impl Iterator<Item = &'a RowPart>, may_split: bool) -> bool {
    let mut parts: Vec<&RowPart> = parts.collect();
    parts.sort_by_key(|part| (part.from, part.to));
    let takes = |part: &RowPart| {
        let last = visits(row, part.to - part.from).pop().and_then(|copies| copies.last().copied());
        part.end.saturating_sub(part.start) == last.map_or(0, |last| last.1)
    };
    parts.len() <= 1 + usize::from(may_split)
        && parts.first().map(|part| part.from) == Some(0)
        && parts.last().map(|part| part.to) == Some(row.copies)
        && parts.windows(2).all(|pair| pair[0].to == pair[1].from)
        && parts.iter().all(|part| takes(part))
}

/// For each section of a row the time of each copy from the start on, worked through step by step.
fn visits(row: &Row, copies: i64) -> Vec<Vec<(i64, i64)>> {
    let keeps = |worked: &Vec<Vec<(i64, i64)>>| {
        row.limits.iter().filter(|limit| limit.base < limit.over).all(|limit| {
            let (base, over) = (worked.get(limit.base), worked.get(limit.over));
            let pairs = base.into_iter().flatten().zip(over.into_iter().flatten());
            pairs.into_iter().all(|(base, over)| over.0 - base.1 <= limit.most)
        })
    };
    // The largest blocks that keep every most time; if none do, blocks of one.
    let largest = (1..=copies).rev().map(|block| in_blocks(row, copies, block)).find(keeps);
    largest.unwrap_or_else(|| in_blocks(row, copies, 1))
}

fn in_blocks(row: &Row, copies: i64, block: i64) -> Vec<Vec<(i64, i64)>> {
    let mut worked = vec![Vec::new(); row.sections.len()];
    let (mut now, mut done, mut in_hand) = (0, 0, row.sections.first().map(|one| one.bag));
    while done < copies {
        let size = block.min(copies - done);
        for (section, worked) in row.sections.iter().zip(&mut worked) {
            if in_hand != Some(section.bag) {
                now += row.swap;
                in_hand = Some(section.bag);
            }
            for _ in 0..size {
                worked.push((now, now + section.per_copy));
                now += section.per_copy;
            }
        }
        done += size;
    }
    worked
}

/// Whether every copy two parts share keeps a lag.
fn keeps(
    lag: &RowLag,
    (first, in_first): (&RowPart, &[Vec<(i64, i64)>]),
    (second, in_second): (&RowPart, &[Vec<(i64, i64)>]),
) -> bool {
    let at = |part: &RowPart, visits: &[Vec<(i64, i64)>], section: usize, copy: i64| {
        let visit = visits[section][(copy - part.from) as usize];
        (part.start.saturating_add(visit.0), part.start.saturating_add(visit.1))
    };
    (first.from.max(second.from)..first.to.min(second.to)).all(|copy| {
        let (a, b) = (at(first, in_first, lag.from.1, copy), at(second, in_second, lag.to.1, copy));
        b.0 >= a.1.saturating_add(lag.lag)
            || lag.back.is_some_and(|back| a.0 >= b.1.saturating_add(back))
    })
}

/// The parts as jobs without lags; two parts of a group that share copies exclude each other.
fn as_jobs(problem: &RowProblem, answer: &RowSequence) -> SequenceProblem {
    let parts = &answer.parts;
    let mut exclusive = Vec::new();
    for (a, first) in parts.iter().enumerate() {
        for (b, second) in parts.iter().enumerate().skip(a + 1) {
            let group = problem.rows[first.row].group;
            let shares = first.from.max(second.from) < first.to.min(second.to);
            if shares && group.is_some() && group == problem.rows[second.row].group {
                exclusive.push(vec![a, b]);
            }
        }
    }
    let sections = |part: &RowPart| problem.rows[part.row].sections.iter();
    let job = |part: &RowPart| Job {
        duration: part.end.saturating_sub(part.start),
        bag: sections(part).next().map_or(0, |section| section.bag),
    };
    SequenceProblem {
        jobs: parts.iter().map(job).collect(),
        further_bags: parts
            .iter()
            .enumerate()
            .flat_map(|(job, part)| {
                sections(part).skip(1).map(move |section| FurtherBag { job, bag: section.bag })
            })
            .collect(),
        bags: problem.bags.clone(),
        precedences: vec![],
        either_orders: vec![],
        set_up: problem.set_up,
        windows: problem.windows.clone(),
        n_workers: problem.n_workers,
        exclusive,
        crust: problem.crust,
    }
}

fn as_sequence(answer: &RowSequence) -> Sequence {
    Sequence {
        starts: answer.parts.iter().map(|part| part.start).collect(),
        workers: answer.parts.iter().map(|part| part.worker).collect(),
        prep_starts: answer.prep_starts.clone(),
        prep_workers: answer.prep_workers.clone(),
        order: (0..answer.parts.len()).collect(),
        active: answer.active,
        switches: answer.switches,
        n_wipes: answer.n_wipes,
        idle: answer.idle,
        bound: answer.bound,
        seed: answer.seed,
        evaluations: answer.evaluations,
    }
}
