use crate::{Sequence, SequenceProblem, Violation};

/// Returns every rule a sequence breaks.
pub fn check_sequence(problem: &SequenceProblem, sequence: &Sequence) -> Vec<Violation> {
    if !is_named(problem, sequence) {
        return vec![Violation::WrongLength];
    }
    let mut found = broken_lags(problem, sequence);
    if problem.n_workers > 1 {
        found.extend(overlaps(problem, sequence));
    }
    let windows = problem.windows.clone().unwrap_or_else(|| vec![(0, i64::MAX)]);
    let mut busy = 0;
    let (mut n_switches, mut n_wipes) = (0, 0);
    for worker in 0..problem.n_workers {
        let walked = walk(problem, sequence, &windows, worker, &mut found);
        busy += walked.busy;
        n_switches += walked.n_switches;
        n_wipes += walked.n_wipes;
    }
    let active = windows
        .iter()
        .fold(0, |sum, &window| i64::saturating_add(sum, active_in(problem, sequence, window)));
    let idle = active.saturating_mul(problem.n_workers as i64).saturating_sub(busy);
    let figures = [
        ("active", active == sequence.active),
        ("switches", n_switches == sequence.switches),
        ("wipes", n_wipes == sequence.n_wipes),
        ("idle", idle == sequence.idle),
        ("bound", sequence.active >= sequence.bound),
    ];
    let wrong = figures.into_iter().filter(|(_, is_right)| !is_right);
    found.extend(wrong.map(|(name, _)| Violation::Figure { name }));
    found
}

/// Whether the answer speaks of each job and bag once, and everything that is named is there.
fn is_named(problem: &SequenceProblem, sequence: &Sequence) -> bool {
    let (n, n_bags) = (problem.jobs.len(), problem.bags.len());
    let mut order = sequence.order.clone();
    order.sort_unstable();
    sequence.starts.len() == n
        && sequence.workers.len() == n
        && order.into_iter().eq(0..n)
        && sequence.prep_starts.len() == n_bags
        && sequence.prep_workers.len() == n_bags
        && sequence.workers.iter().chain(&sequence.prep_workers).all(|&one| one < problem.n_workers)
        && problem.jobs.iter().all(|job| job.bag < n_bags)
        && problem.further_bags.iter().all(|one| one.job < n && one.bag < n_bags)
        && problem.precedences.iter().all(|one| one.before < n && one.after < n)
        && problem.either_orders.iter().all(|pair| pair.a < n && pair.b < n)
        && problem.exclusive.iter().flatten().all(|&job| job < n)
}

fn span(problem: &SequenceProblem, sequence: &Sequence, job: usize) -> (i64, i64) {
    let start = sequence.starts[job];
    (start, start.saturating_add(problem.jobs[job].duration))
}

fn broken_lags(problem: &SequenceProblem, sequence: &Sequence) -> Vec<Violation> {
    let keeps = |before: usize, after: usize, lag: i64| {
        sequence.starts[after] >= sequence.starts[before].saturating_add(lag)
    };
    let fixed = problem
        .precedences
        .iter()
        .filter(|one| !keeps(one.before, one.after, one.lag))
        .map(|one| Violation::Lag { before: one.before, after: one.after });
    let either = problem
        .either_orders
        .iter()
        .filter(|pair| !keeps(pair.a, pair.b, pair.lag_ab) && !keeps(pair.b, pair.a, pair.lag_ba))
        .map(|pair| Violation::Lag { before: pair.a, after: pair.b });
    fixed.chain(either).collect()
}

/// Jobs of one exclusive set that are worked at the same time.
fn overlaps(problem: &SequenceProblem, sequence: &Sequence) -> Vec<Violation> {
    let mut found = Vec::new();
    for set in &problem.exclusive {
        for (i, &a) in set.iter().enumerate() {
            for &b in set[i + 1..].iter().filter(|&&b| b != a) {
                let (one, other) = (span(problem, sequence, a), span(problem, sequence, b));
                if one.0 < other.1 && other.0 < one.1 {
                    found.push(Violation::Overlap { a, b });
                }
            }
        }
    }
    found
}

/// What a hand does at a time.
#[derive(Clone, Copy)]
enum Doing {
    Preparing(usize),
    Working(usize),
}

struct Walked {
    busy: i64,
    n_switches: usize,
    n_wipes: usize,
}

/// Walks through what a worker does: windows, preparations, set-ups, one thing after the other.
fn walk(
    problem: &SequenceProblem,
    sequence: &Sequence,
    windows: &[(i64, i64)],
    worker: usize,
    found: &mut Vec<Violation>,
) -> Walked {
    let jobs = (0..problem.jobs.len()).filter(|&job| sequence.workers[job] == worker).map(|job| {
        let (start, end) = span(problem, sequence, job);
        (start, end, Doing::Working(job))
    });
    let preps = (0..problem.bags.len())
        .filter(|&bag| sequence.prep_workers[bag] == worker)
        .filter_map(|bag| {
            let start = sequence.prep_starts[bag]?;
            Some((start, start.saturating_add(problem.bags[bag].prep), Doing::Preparing(bag)))
        });
    let mut doings: Vec<_> = jobs.chain(preps).collect();
    // What takes no time comes in the order it was placed.
    let placed = |doing: Doing| match doing {
        Doing::Preparing(_) => None,
        Doing::Working(job) => sequence.order.iter().position(|&one| one == job),
    };
    doings.sort_by_cached_key(|&(start, end, doing)| (start, end, placed(doing)));
    let mut walked = Walked { busy: 0, n_switches: 0, n_wipes: 0 };
    // What is in the hand since when, in which session, after which job.
    let (mut in_hand, mut free, mut session, mut last) = (None, i64::MIN, None, None);
    for (start, end, doing) in doings {
        let holds = |&(open, close): &(i64, i64)| open <= start && start < close && end <= close;
        let window = windows.iter().position(holds);
        if window.is_none() || window != session {
            in_hand = None;
        }
        let opened = window.map_or(start, |window| windows[window].0);
        walked.busy += end - start;
        match doing {
            Doing::Preparing(bag) => {
                if window.is_none() || start < free {
                    found.push(Violation::Preparation { bag });
                }
                in_hand = Some(bag);
            }
            Doing::Working(job) => {
                let further: Vec<usize> = problem
                    .further_bags
                    .iter()
                    .filter(|one| one.job == job)
                    .map(|one| one.bag)
                    .collect();
                let bag = problem.jobs[job].bag;
                found.extend(
                    further
                        .iter()
                        .chain([&bag])
                        .filter(|&&bag| !is_ready(problem, sequence, bag, start))
                        .map(|&bag| Violation::Preparation { bag }),
                );
                let set_up = match in_hand {
                    Some(held) if held == bag => 0,
                    Some(held) if problem.bags[held].color == problem.bags[bag].color => {
                        problem.set_up.same_color
                    }
                    _ => problem.set_up.other,
                };
                walked.n_switches += usize::from(in_hand != Some(bag));
                let wipe = wipe_before(problem, sequence, bag, start);
                walked.n_wipes += usize::from(wipe.is_some());
                let set_up = set_up.saturating_add(wipe.unwrap_or(0));
                walked.busy += set_up;
                if start.saturating_sub(set_up) < free {
                    found.push(Violation::Overlap { a: last.unwrap_or(job), b: job });
                }
                if window.is_none() || start.saturating_sub(set_up) < opened {
                    found.push(Violation::Window { project: 0, task: job });
                }
                (in_hand, last) = (Some(further.last().copied().unwrap_or(bag)), Some(job));
            }
        }
        (free, session) = (end, window);
    }
    walked
}

/// The time to wipe a bag for a job that starts then; nothing if it was in use shortly before, or never.
fn wipe_before(
    problem: &SequenceProblem,
    sequence: &Sequence,
    bag: usize,
    start: i64,
) -> Option<i64> {
    let crust = problem.crust.filter(|_| problem.bags[bag].prep > 0)?;
    let works_with = |job: &usize| {
        let mut further = problem.further_bags.iter();
        problem.jobs[*job].bag == bag || further.any(|one| one.job == *job && one.bag == bag)
    };
    let jobs = (0..problem.jobs.len()).filter(works_with).map(|job| span(problem, sequence, job));
    let prepared =
        sequence.prep_starts[bag].map(|at| (at, at.saturating_add(problem.bags[bag].prep)));
    let last = jobs.chain(prepared).filter(|one| one.0 < start).map(|one| one.1).max()?;
    (start.saturating_sub(last) > crust.after).then_some(crust.wipe)
}

fn is_ready(problem: &SequenceProblem, sequence: &Sequence, bag: usize, by: i64) -> bool {
    let prep = problem.bags[bag].prep;
    prep == 0 || sequence.prep_starts[bag].is_some_and(|at| at.saturating_add(prep) <= by)
}

/// From the opening of a window to the last end of what begins in it.
fn active_in(problem: &SequenceProblem, sequence: &Sequence, (open, close): (i64, i64)) -> i64 {
    let jobs = (0..problem.jobs.len()).map(|job| span(problem, sequence, job));
    let preps = sequence.prep_starts.iter().zip(&problem.bags).filter_map(|(start, bag)| {
        let start = (*start)?;
        Some((start, start.saturating_add(bag.prep)))
    });
    let last = jobs.chain(preps).filter(|&(start, _)| open <= start && start < close);
    last.map(|(_, end)| end - open).max().unwrap_or(0)
}
