//! From the engine's sequence to passes with their waits.

use quantity::Span;
use timing::Sequence;

use crate::{
    drying::State,
    passes::{
        Pass, Row, Wait,
        compile::{Compiled, span},
    },
    technique::Sections,
};

/// Appends the passes of one session, in the order they start.
pub(super) fn append_passes(
    passes: &mut Vec<Pass>,
    session: usize,
    compiled: &Compiled,
    sequence: &Sequence,
) {
    let first = passes.len();
    let mut by_start: Vec<usize> = (0..compiled.rows.len()).collect();
    by_start.sort_by_key(|&job| (sequence.starts[job], sequence.workers[job]));
    let mut pass_of = vec![0; compiled.rows.len()];
    for &job in &by_start {
        let row = &compiled.rows[job];
        let (start, maker) = (span(sequence.starts[job]), sequence.workers[job]);
        let end = span(sequence.starts[job] + compiled.problem.jobs[job].duration);
        let bag = compiled.bags[compiled.problem.jobs[job].bag];
        let last =
            passes[first..].iter().rposition(|pass| pass.maker == maker).map(|at| first + at);
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

/// Adds, to passes on top of an earlier session, the drying night they wait for.
pub(super) fn wait_for_nights(passes: &mut [Pass], chapter: &Sections, dry: Span) {
    let session_of_pass: Vec<usize> = passes.iter().map(|pass| pass.session).collect();
    let pass_of = |passes: &[Pass], section: usize| {
        passes.iter().position(|pass| pass.sections().any(|place| place == section))
    };
    for overlap in &chapter.overlaps {
        let (Some(under), Some(top)) =
            (pass_of(passes, overlap.under), pass_of(passes, overlap.top))
        else {
            continue;
        };
        if session_of_pass[under] < session_of_pass[top] {
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
