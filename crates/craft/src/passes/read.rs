//! From the engine's sequence to passes with their waits.

use std::collections::BTreeMap;

use quantity::Span;
use timing::Sequence;

use crate::{
    drying::State,
    passes::{
        Pass, PassesPlan, Row, Session, Wait,
        compile::{Compiled, span},
    },
    technique::Sections,
};

/// A stretch of one stage that is worked in: it opens there, and its last work ends there.
type Worked = (i64, i64);

/// Appends the sessions and passes of one stage: each window of the engine that is worked in is a session.
pub(super) fn append_stage(
    plan: &mut PassesPlan,
    stage: usize,
    compiled: &Compiled,
    sequence: &Sequence,
) {
    let worked = worked(compiled, sequence);
    let first = plan.sessions.len();
    for (number, &(open, end)) in worked.iter().enumerate() {
        let before = number.checked_sub(1).map(|before| worked[before]);
        let busy = busy(compiled, sequence, (open, end));
        let n_workers = compiled.problem.n_workers as i64;
        plan.sessions.push(Session {
            stage,
            gap: span(before.map_or(0, |before| gap(compiled, sequence, before, open))),
            active: span(end - open),
            bound: Span::ZERO,
            n_bag_changes: 0,
            idle: span((n_workers * (end - open) - busy).max(0)),
        });
    }
    // What the engine knows is known of the whole stage.
    if let [only] = &mut plan.sessions[first..] {
        (only.bound, only.idle) = (span(sequence.bound), span(sequence.idle));
    }
    append_passes(&mut plan.passes, first, &worked, compiled, sequence);
}

/// When a job starts and ends.
fn times(compiled: &Compiled, sequence: &Sequence, job: usize) -> (i64, i64) {
    (sequence.starts[job], sequence.starts[job] + compiled.problem.jobs[job].duration)
}

fn worked(compiled: &Compiled, sequence: &Sequence) -> Vec<Worked> {
    let whole = vec![(0, i64::MAX)];
    let windows = compiled.problem.windows.as_ref().unwrap_or(&whole);
    let jobs = || (0..compiled.rows.len()).map(|job| times(compiled, sequence, job));
    let worked = windows.iter().filter_map(|&(open, close)| {
        let within = jobs().filter(|(start, _)| (open..close).contains(start));
        Some((open, within.map(|(_, end)| end).max()?))
    });
    worked.collect()
}

/// The time of the jobs, preparations and bag changes of a stretch.
fn busy(compiled: &Compiled, sequence: &Sequence, (open, end): Worked) -> i64 {
    let problem = &compiled.problem;
    let mut busy = 0;
    for worker in 0..problem.n_workers {
        let jobs = (0..problem.jobs.len()).filter(|&job| sequence.workers[job] == worker);
        let mut events: Vec<(i64, Option<usize>, usize)> =
            jobs.map(|job| (sequence.starts[job], Some(job), problem.jobs[job].bag)).collect();
        let bags = (0..problem.bags.len()).filter(|&bag| sequence.prep_workers[bag] == worker);
        events.extend(bags.filter_map(|bag| Some((sequence.prep_starts[bag]?, None, bag))));
        events.retain(|(start, ..)| (open..end).contains(start));
        events.sort_unstable();
        let mut held = None;
        for (_, job, bag) in events {
            match job {
                None => busy += problem.bags[bag].prep,
                Some(job) => {
                    if held != Some(bag) {
                        busy += problem.set_up.other;
                    }
                    busy += problem.jobs[job].duration;
                }
            }
            let last = job.and_then(|job| problem.further_bags.iter().rfind(|one| one.job == job));
            held = Some(last.map_or(bag, |further| further.bag));
        }
    }
    busy
}

/// The time that must lie between two stretches of a stage, whenever they are: what the jobs of one ask of those behind it.
fn gap(compiled: &Compiled, sequence: &Sequence, before: Worked, open: i64) -> i64 {
    let waits = compiled.reasons.iter().filter_map(|reason| {
        let (a, b) = reason.jobs;
        let (first, second, lag) = if sequence.starts[a] <= sequence.starts[b] {
            (a, b, reason.first_to_second)
        } else {
            (b, a, reason.second_to_first?)
        };
        let (first, second) = (sequence.starts[first], sequence.starts[second]);
        // Counted from the end of the one stretch to the opening of the other.
        (first <= before.1 && second >= open).then_some(first + lag - before.1 - (second - open))
    });
    waits.fold(0, i64::max)
}

/// Appends the passes of the stretches, in the order they start.
fn append_passes(
    passes: &mut Vec<Pass>,
    first_session: usize,
    worked: &[Worked],
    compiled: &Compiled,
    sequence: &Sequence,
) {
    let first = passes.len();
    let mut by_start: Vec<usize> = (0..compiled.rows.len()).collect();
    by_start.sort_by_key(|&job| (sequence.starts[job], sequence.workers[job]));
    let mut pass_of = vec![0; compiled.rows.len()];
    for &job in &by_start {
        let row = &compiled.rows[job];
        let (start, end) = times(compiled, sequence, job);
        let stretch = worked.iter().rposition(|(open, _)| *open <= start).unwrap_or(0);
        let (open, _) = worked[stretch];
        let (session, maker) = (first_session + stretch, sequence.workers[job]);
        let (start, end) = (span(start - open), span(end - open));
        let bag = compiled.bags[compiled.problem.jobs[job].bag];
        let last = passes[first..]
            .iter()
            .rposition(|pass| pass.maker == maker && pass.session == session)
            .map(|at| first + at);
        let worked = Row { sections: row.sections.clone(), copies: row.copies, start, end };
        let joins = last.filter(|&at| passes[at].bag == bag && passes[at].end == start);
        let at = match joins {
            Some(at) => {
                passes[at].end = end;
                passes[at].rows.push(worked);
                at
            }
            None => {
                passes.push(Pass {
                    id: format!("pass-{}", passes.len() + 1),
                    session,
                    bag,
                    rows: vec![worked],
                    maker,
                    start,
                    end,
                    waits_for: Vec::new(),
                });
                passes.len() - 1
            }
        };
        pass_of[job] = at;
    }
    for reason in &compiled.reasons {
        let (a, b) = reason.jobs;
        let a_first = sequence.starts[a] <= sequence.starts[b];
        let (before, after) = if a_first { (a, b) } else { (b, a) };
        let (section, waiting) =
            if a_first { reason.sections } else { (reason.sections.1, reason.sections.0) };
        if pass_of[before] != pass_of[after] {
            passes[pass_of[after]].waits_for.push(Wait {
                pass: pass_of[before],
                section,
                waiting,
                kind: reason.kind,
                lag: if a_first { reason.lag } else { reason.lag_back },
            });
        }
    }
}

/// Counts how often a maker goes on with another bag than the one she last held in a session.
pub(super) fn count_bag_changes(plan: &mut PassesPlan) {
    for (number, session) in plan.sessions.iter_mut().enumerate() {
        let of_session = plan.passes.iter().filter(|pass| pass.session == number);
        let mut held = BTreeMap::new();
        session.n_bag_changes = 0;
        for pass in of_session.filter(|pass| pass.bag.is_some()) {
            let before = held.insert(pass.maker, pass.bag);
            session.n_bag_changes += usize::from(before.is_some_and(|bag| bag != pass.bag));
        }
    }
}

/// Adds, to passes on top of an earlier stage, the drying night they wait for.
pub(super) fn wait_for_nights(plan: &mut PassesPlan, chapter: &Sections, dry: Span) {
    let passes = &mut plan.passes;
    let stage = |pass: &Pass| plan.sessions.get(pass.session).map_or(0, |session| session.stage);
    let stage_of_pass: Vec<usize> = passes.iter().map(stage).collect();
    let pass_of = |passes: &[Pass], section: usize| {
        passes.iter().position(|pass| pass.sections().any(|place| place == section))
    };
    for overlap in &chapter.overlaps {
        let (Some(under), Some(top)) =
            (pass_of(passes, overlap.under), pass_of(passes, overlap.top))
        else {
            continue;
        };
        if stage_of_pass[under] < stage_of_pass[top] {
            passes[top].waits_for.push(Wait {
                pass: under,
                section: overlap.under,
                waiting: overlap.top,
                kind: State::Dry,
                lag: dry,
            });
        }
    }
}
