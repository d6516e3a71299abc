//! From the engine's sequence to passes with their waits.

use std::collections::BTreeMap;

use quantity::Span;
use timing::{RowPart, RowSequence};

use crate::{
    drying::State,
    kitchen::Kitchen,
    passes::{
        Pass, PassesPlan, Row, Session, Wait,
        compile::{Compiled, span},
        pieces_dry,
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
    sequence: &RowSequence,
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

fn worked(compiled: &Compiled, sequence: &RowSequence) -> Vec<Worked> {
    let whole = vec![(0, i64::MAX)];
    let windows = compiled.problem.windows.as_ref().unwrap_or(&whole);
    let worked = windows.iter().filter_map(|&(open, close)| {
        let within = sequence.parts.iter().filter(|part| (open..close).contains(&part.start));
        Some((open, within.map(|part| part.end).max()?))
    });
    worked.collect()
}

/// The time of the rows, preparations and bag changes of a stretch.
fn busy(compiled: &Compiled, sequence: &RowSequence, (open, end): Worked) -> i64 {
    let problem = &compiled.problem;
    let mut busy = 0;
    for worker in 0..problem.n_workers {
        // When, how long, the bag taken up and the bag in the hand behind it, and whether it is a preparation.
        let parts = sequence.parts.iter().filter(|part| part.worker == worker);
        let mut events: Vec<(i64, i64, usize, usize, bool)> = parts
            .map(|part| {
                let sections = &problem.rows[part.row].sections;
                let (first, last) = (sections[0].bag, sections[sections.len() - 1].bag);
                (part.start, part.end - part.start, first, last, false)
            })
            .collect();
        let bags = (0..problem.bags.len()).filter(|&bag| sequence.prep_workers[bag] == worker);
        events.extend(bags.filter_map(|bag| {
            Some((sequence.prep_starts[bag]?, problem.bags[bag].prep, bag, bag, true))
        }));
        events.retain(|(start, ..)| (open..end).contains(start));
        events.sort_unstable();
        let mut held = None;
        for (_, duration, taken_up, left, is_prep) in events {
            if !is_prep && held != Some(taken_up) {
                busy += problem.set_up.other;
            }
            busy += duration;
            held = Some(left);
        }
    }
    busy
}

/// The time that must lie between two stretches of a stage, whenever they are: what the rows of one ask of those behind it.
fn gap(compiled: &Compiled, sequence: &RowSequence, before: Worked, open: i64) -> i64 {
    let mut longest = 0;
    for lag in &compiled.problem.lags {
        let of_lag = |part: &&RowPart| part.row == lag.from.0 || part.row == lag.to.0;
        let parts = || sequence.parts.iter().filter(of_lag);
        for first in parts().filter(|part| part.start <= before.1) {
            for second in parts().filter(|part| part.start >= open) {
                let asked = compiled.problem.start_lag(lag, first, second);
                // Counted from the end of the one stretch to the opening of the other.
                let rest =
                    asked.map(|asked| first.start + asked - before.1 - (second.start - open));
                longest = longest.max(rest.unwrap_or(0));
            }
        }
    }
    longest
}

/// Appends the passes of the stretches, in the order they start.
fn append_passes(
    passes: &mut Vec<Pass>,
    first_session: usize,
    worked: &[Worked],
    compiled: &Compiled,
    sequence: &RowSequence,
) {
    let first = passes.len();
    let parts = &sequence.parts;
    let mut pass_of = Vec::with_capacity(parts.len());
    for part in parts {
        let row = &compiled.rows[part.row];
        let stretch = worked.iter().rposition(|(open, _)| *open <= part.start).unwrap_or(0);
        let (open, _) = worked[stretch];
        let (session, maker) = (first_session + stretch, part.worker);
        let (start, end) = (span(part.start - open), span(part.end - open));
        let bag = compiled.bags[compiled.problem.rows[part.row].sections[0].bag];
        let last = passes[first..]
            .iter()
            .rposition(|pass| pass.maker == maker && pass.session == session)
            .map(|at| first + at);
        let number = |copies: i64| u32::try_from(copies).unwrap_or(u32::MAX);
        let worked = Row {
            sections: row.sections.clone(),
            from: number(part.from),
            copies: number(part.to - part.from),
            start,
            end,
        };
        let joins = last.filter(|&at| {
            let pass = &passes[at];
            (pass.bag, pass.end, pass.is_ahead) == (bag, start, row.is_ahead)
        });
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
                    is_ahead: row.is_ahead,
                    maker,
                    start,
                    end,
                    waits_for: Vec::new(),
                });
                passes.len() - 1
            }
        };
        pass_of.push(at);
    }
    for reason in &compiled.reasons {
        for (a, before) in parts.iter().enumerate() {
            for (b, after) in
                parts.iter().enumerate().filter(|(_, part)| part.start >= before.start)
            {
                let has_waited = compiled.problem.start_lag(&reason.lag, before, after).is_some();
                if !has_waited || pass_of[a] == pass_of[b] {
                    continue;
                }
                let forward = before.row == reason.lag.from.0;
                let (section, waiting, lag) = if forward {
                    (reason.sections.0, reason.sections.1, reason.lag.lag)
                } else {
                    (reason.sections.1, reason.sections.0, reason.lag.back.unwrap_or(0))
                };
                let lag = span(lag);
                let wait = Wait { pass: pass_of[a], section, waiting, kind: reason.kind, lag };
                passes[pass_of[b]].wait_for(wait);
            }
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

/// Adds the nights passes wait for: on top of an earlier stage, and before what was piped on paper is laid on.
pub(super) fn wait_for_nights(plan: &mut PassesPlan, chapter: &Sections, kitchen: &Kitchen) {
    let dry = kitchen.drying.wait(State::Dry, kitchen.icing.base_depth);
    let stage_of: Vec<usize> = plan
        .passes
        .iter()
        .map(|pass| plan.sessions.get(pass.session).map_or(0, |session| session.stage))
        .collect();
    let passes_of = |plan: &PassesPlan, section: usize, is_ahead: bool| -> Vec<usize> {
        let is_of = |pass: &Pass| {
            pass.is_ahead == is_ahead && pass.sections().any(|place| place == section)
        };
        (0..plan.passes.len()).filter(|&at| is_of(&plan.passes[at])).collect()
    };
    let pieces = (0..chapter.sections.len()).map(|place| (place, place, true, pieces_dry(kitchen)));
    let layers = chapter.overlaps.iter().map(|overlap| (overlap.under, overlap.top, false, dry));
    for (section, waiting, is_ahead, lag) in layers.chain(pieces) {
        for pass in passes_of(plan, section, is_ahead) {
            for top in passes_of(plan, waiting, false) {
                if stage_of[pass] < stage_of[top] {
                    let wait = Wait { pass, section, waiting, kind: State::Dry, lag };
                    plan.passes[top].wait_for(wait);
                }
            }
        }
    }
}
