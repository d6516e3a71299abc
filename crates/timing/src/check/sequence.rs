use crate::{Sequence, SequenceProblem, Violation};

/// Returns every rule a sequence breaks.
pub fn check_sequence(problem: &SequenceProblem, sequence: &Sequence) -> Vec<Violation> {
    let n = problem.jobs.len();
    if sequence.starts.len() != n
        || sequence.workers.len() != n
        || sequence.prep_starts.len() != problem.bags.len()
        || sequence.prep_workers.len() != problem.bags.len()
    {
        return vec![Violation::WrongLength];
    }
    let mut found = Vec::new();
    let start = |job: usize| sequence.starts[job];
    let end = |job: usize| sequence.starts[job] + problem.jobs[job].duration;
    for one in &problem.precedences {
        if start(one.after) < start(one.before) + one.lag {
            found.push(Violation::Lag { before: one.before, after: one.after });
        }
    }
    for pair in &problem.either_orders {
        let kept = start(pair.b) >= start(pair.a) + pair.lag_ab
            || start(pair.a) >= start(pair.b) + pair.lag_ba;
        if !kept {
            found.push(Violation::Lag { before: pair.a, after: pair.b });
        }
    }
    if problem.n_workers > 1 {
        for set in &problem.exclusive {
            for (i, &a) in set.iter().enumerate() {
                for &b in &set[i + 1..] {
                    if start(a) < end(b) && start(b) < end(a) {
                        found.push(Violation::Overlap { a, b });
                    }
                }
            }
        }
    }
    found.extend(check_hands(problem, sequence));
    found.extend(check_figures(problem, sequence));
    found
}

/// What a hand does at a time.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
enum Doing {
    Preparing(usize),
    Working(usize),
}

/// Walks through what each worker does and checks bags, set-ups and windows.
fn check_hands(problem: &SequenceProblem, sequence: &Sequence) -> Vec<Violation> {
    let mut found = Vec::new();
    let windows = problem.windows.clone().unwrap_or_else(|| vec![(0, i64::MAX)]);
    let window_of =
        |from: i64, to: i64| windows.iter().position(|&(open, close)| open <= from && to <= close);
    let mut n_switches = 0;
    for worker in 0..problem.n_workers {
        let jobs =
            (0..problem.jobs.len()).filter(|&job| sequence.workers[job] == worker).map(|job| {
                (
                    sequence.starts[job],
                    sequence.starts[job] + problem.jobs[job].duration,
                    Doing::Working(job),
                )
            });
        let preps = (0..problem.bags.len())
            .filter(|&bag| sequence.prep_workers[bag] == worker)
            .filter_map(|bag| {
                let start = sequence.prep_starts[bag]?;
                Some((start, start + problem.bags[bag].prep, Doing::Preparing(bag)))
            });
        let mut events: Vec<_> = jobs.chain(preps).collect();
        events.sort_unstable();
        let (mut free, mut hand, mut session) = (i64::MIN, None, None);
        let mut last = None;
        for (start, end, doing) in events {
            let window = window_of(start, end);
            let Some((open, _)) = window.map(|window| windows[window]) else {
                if let Doing::Working(task) = doing {
                    found.push(Violation::Window { project: 0, task });
                } else if let Doing::Preparing(bag) = doing {
                    found.push(Violation::Preparation { bag });
                }
                continue;
            };
            match doing {
                Doing::Preparing(bag) => {
                    if start < free {
                        found.push(Violation::Preparation { bag });
                    }
                    hand = Some(bag);
                }
                Doing::Working(job) => {
                    let bag = problem.jobs[job].bag;
                    let is_ready = sequence.prep_starts[bag]
                        .is_some_and(|at| at + problem.bags[bag].prep <= start);
                    if !is_ready {
                        found.push(Violation::Preparation { bag });
                    }
                    let set_up = match hand {
                        Some(in_hand) if session == window && in_hand == bag => 0,
                        Some(in_hand)
                            if session == window
                                && problem.bags[in_hand].color == problem.bags[bag].color =>
                        {
                            problem.set_up.same_color
                        }
                        _ => problem.set_up.other,
                    };
                    n_switches += usize::from(hand != Some(bag) || session != window);
                    if free > i64::MIN && start < free.saturating_add(set_up) {
                        found.push(Violation::Overlap { a: last.unwrap_or(job), b: job });
                    }
                    if start - set_up < open {
                        found.push(Violation::Window { project: 0, task: job });
                    }
                    let further =
                        problem.further_bags.iter().rev().find(|further| further.job == job);
                    (hand, last) = (Some(further.map_or(bag, |further| further.bag)), Some(job));
                }
            }
            (free, session) = (end, window);
        }
    }
    if n_switches != sequence.switches {
        found.push(Violation::Figure { name: "switches" });
    }
    found
}

fn check_figures(problem: &SequenceProblem, sequence: &Sequence) -> Vec<Violation> {
    let windows = problem.windows.clone().unwrap_or_else(|| vec![(0, i64::MAX)]);
    let mut active = 0;
    for &(open, close) in &windows {
        let jobs = (0..problem.jobs.len())
            .map(|job| (sequence.starts[job], sequence.starts[job] + problem.jobs[job].duration));
        let preps = (0..problem.bags.len()).filter_map(|bag| {
            sequence.prep_starts[bag].map(|at| (at, at + problem.bags[bag].prep))
        });
        let last = jobs
            .chain(preps)
            .filter(|&(from, _)| open <= from && from < close)
            .map(|(_, to)| to)
            .max();
        active += last.map_or(0, |last| last - open);
    }
    let mut found = Vec::new();
    if active != sequence.active {
        found.push(Violation::Figure { name: "active" });
    }
    if sequence.active < sequence.bound {
        found.push(Violation::Figure { name: "bound" });
    }
    found
}
