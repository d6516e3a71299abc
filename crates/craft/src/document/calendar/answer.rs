//! From the engine's answer to the document, and from its refusals to sentences.

use std::collections::BTreeMap;

use timing::{Blocked, Calendar, Error, Obstacle};

use super::{AGES_FROM, ANSWER_FORMAT, OrderEntry, ScheduleAnswer, ScheduleRequest};
use crate::document::{error::BadValue, ticks::shown};

/// Writes an answer.
pub(super) fn answer(request: &ScheduleRequest, found: &Calendar) -> ScheduleAnswer {
    let mut answer = ScheduleAnswer {
        format: ANSWER_FORMAT.to_owned(),
        tick_minutes: request.tick_minutes,
        orders: BTreeMap::new(),
        pieces: BTreeMap::new(),
        late: BTreeMap::new(),
        why_late: BTreeMap::new(),
        cost: found.cost,
        tardiness: found.tardiness.iter().sum(),
        bound: found.bound,
        seed: found.seed,
        evaluations: found.evaluations,
    };
    for (at, order) in request.orders.iter().enumerate() {
        let (mut times, mut cut) = (BTreeMap::new(), BTreeMap::new());
        for (task, span) in order.tasks.iter().zip(&found.spans[at]) {
            times.insert(task.id.clone(), (span.start, span.end));
            if span.pieces.len() > 1 {
                cut.insert(task.id.clone(), span.pieces.clone());
            }
        }
        answer.orders.insert(order.id.clone(), times);
        if !cut.is_empty() {
            answer.pieces.insert(order.id.clone(), cut);
        }
        let tardy = found.tardiness[at];
        if tardy > 0 {
            answer.late.insert(order.id.clone(), tardy);
            let why = why(request, order, tardy, found.blocked_by[at]);
            answer.why_late.insert(order.id.clone(), why);
        }
    }
    answer
}

/// Says what kept an order from being on time.
fn why(
    request: &ScheduleRequest,
    order: &OrderEntry,
    tardy: i64,
    blocked: Option<Blocked>,
) -> String {
    let late = format!("{} is {tardy} ticks late", order.id);
    let Some(Blocked { task, obstacle }) = blocked else {
        return format!(
            "{late}: nothing is in its way, but no better plan was found; look at more evaluations."
        );
    };
    let task = order.tasks.get(task).map_or("a task", |task| &task.id);
    let words = match obstacle {
        Obstacle::Time => {
            format!(
                "the task {task} would have to begin before the first window or the earliest start"
            )
        }
        Obstacle::Maker => format!("the maker's hands are busy where the task {task} would lie"),
        Obstacle::Resource(resource) => {
            let name = request.resources.keys().nth(resource).map_or("a resource", String::as_str);
            format!("there is not enough of {name} free where the task {task} would lie")
        }
        Obstacle::Age => {
            format!("begun with the task {task} it would be older than {}", age(order))
        }
        Obstacle::MostTime => {
            format!("the task {task} cannot keep the most times of its links")
        }
        Obstacle::Fixed => format!("what is fixed leaves no room for the task {task}"),
    };
    format!("{late}: {words}.")
}

fn age(order: &OrderEntry) -> String {
    order.fresh_max.map_or_else(String::new, |most| format!("the {most} ticks of fresh_max"))
}

/// Says why there is no plan.
pub(super) fn refusal(request: &ScheduleRequest, error: &Error) -> BadValue {
    let order = |project: usize| request.orders.get(project);
    match *error {
        Error::NoRoom { project, task } if order(project).is_some() => {
            let id = order(project).and_then(|order| order.tasks.get(task));
            let id = id.map_or_else(String::new, |task| shown(&task.id));
            let message = format!(
                "the task {id} finds no room, however late the order may be; give more windows or less work, or let links be longer"
            );
            BadValue::at("tasks", task, message).within("orders", project)
        }
        Error::Stale { project, most } if order(project).is_some() => {
            let message = format!(
                "more than {most} ticks lie between the start of \"{AGES_FROM}\" and the handing over whenever it is done; allow more, or shorten what lies between"
            );
            BadValue::new("fresh_max", message).within("orders", project)
        }
        // Everything else was looked at before.
        _ => BadValue::new("orders", error.to_string()),
    }
}
