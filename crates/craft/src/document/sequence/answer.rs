//! From the engine's answer to the document, and from its refusals to sentences.

use timing::{Error, Sequence};

use super::{
    ANSWER_FORMAT, PassEntry, PreparationEntry, SequenceAnswer, SequenceRequest, compile::Compiled,
    rows::Row,
};
use crate::document::{error::BadValue, ticks::shown};

/// Writes an answer.
pub(super) fn answer(
    request: &SequenceRequest,
    compiled: &Compiled,
    found: &Sequence,
) -> SequenceAnswer {
    let rows: Vec<String> = compiled.rows.iter().map(|row| id_of(request, row)).collect();
    let mut by_start: Vec<usize> = (0..rows.len()).collect();
    by_start.sort_by_key(|&row| (found.starts[row], found.workers[row]));
    SequenceAnswer {
        format: ANSWER_FORMAT.to_owned(),
        tick_seconds: request.tick_seconds,
        starts: found.starts.clone(),
        order: found.order.iter().map(|&row| rows[row].clone()).collect(),
        rows,
        active: found.active,
        switches: found.switches,
        idle: found.idle,
        bound: found.bound,
        seed: found.seed,
        evaluations: found.evaluations,
        passes: by_start.into_iter().map(|row| pass(request, compiled, found, row)).collect(),
        preparations: preparations(request, found),
    }
}

/// What a row is called.
fn id_of(request: &SequenceRequest, row: &Row) -> String {
    let design = &request.designs[row.design];
    format!("{}/{}", design.id, design.sections[row.sections[0]].id)
}

fn pass(
    request: &SequenceRequest,
    compiled: &Compiled,
    found: &Sequence,
    place: usize,
) -> PassEntry {
    let row = &compiled.rows[place];
    let design = &request.designs[row.design];
    let start = found.starts[place];
    PassEntry {
        design: design.id.clone(),
        sections: row.sections.iter().map(|&one| design.sections[one].id.clone()).collect(),
        start,
        end: start + row.layout.duration(),
        decorator: found.workers[place] + 1,
        bag: request.bags[row.bags[0]].id.clone(),
        block: (row.sections.len() > 1).then(|| row.layout.block()),
    }
}

fn preparations(request: &SequenceRequest, found: &Sequence) -> Vec<PreparationEntry> {
    let mut all: Vec<PreparationEntry> = request
        .bags
        .iter()
        .enumerate()
        .filter_map(|(place, bag)| {
            let start = found.prep_starts[place]?;
            Some(PreparationEntry {
                bag: bag.id.clone(),
                start,
                end: start + bag.prep,
                decorator: found.prep_workers[place] + 1,
            })
        })
        .collect();
    all.sort_by_key(|one| (one.start, one.decorator));
    all
}

/// Says why there is no order of work.
pub(super) fn refusal(request: &SequenceRequest, compiled: &Compiled, error: &Error) -> BadValue {
    let Error::Full { job } = error else {
        // Everything else was looked at before.
        return BadValue::new("designs", error.to_string());
    };
    let Some(row) = compiled.rows.get(*job) else {
        return BadValue::new("sessions", error.to_string());
    };
    let id = shown(&id_of(request, row));
    BadValue::new(
        "sessions",
        format!("the pass {id} finds no room in them; give more or longer ones, or less work"),
    )
}
