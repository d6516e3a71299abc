//! From a request to the engine's problem, each value checked.

use timing::CalendarProblem;

use super::{ScheduleRequest, orders::project};
use crate::document::{
    error::BadValue,
    ticks::{Ids, MOST_TICKS, MOST_TIME, check_windows, fill, in_range, shown, whole},
};

/// Most orders of one request.
const MOST_ORDERS: usize = 100;
/// Most tasks of one request.
const MOST_TASKS: usize = 1000;
/// Most windows of one request.
const MOST_WINDOWS: usize = 1000;
/// Most resources of one request.
const MOST_RESOURCES: usize = 50;

/// What all orders share.
pub(super) struct Shared<'a> {
    pub(super) resources: Ids<'a>,
    pub(super) capacities: Vec<i64>,
    /// The longest window after the earliest time.
    pub(super) longest: i64,
    /// The opening of the first window, or the earliest time in it.
    pub(super) first_open: i64,
}

/// Checks a request and compiles it; resources are numbered by the order of their names.
pub(super) fn compile(request: &ScheduleRequest) -> Result<CalendarProblem, BadValue> {
    whole("tick_minutes", request.tick_minutes, 1, 1440)?;
    whole("earliest", request.earliest, 0, MOST_TIME)?;
    let shared = shared(request)?;
    fill("orders", "order", request.orders.len(), MOST_ORDERS)?;
    let n_tasks: usize = request.orders.iter().map(|order| order.tasks.len()).sum();
    if n_tasks > MOST_TASKS {
        let message = format!("{n_tasks} tasks are too many; ask for {MOST_TASKS} at once at most");
        return Err(BadValue::new("orders", message));
    }
    Ids::new("orders", "order", request.orders.iter().map(|one| one.id.as_str()))?;
    let projects = request
        .orders
        .iter()
        .enumerate()
        .map(|(at, order)| project(order, &shared).map_err(|bad| bad.within("orders", at)))
        .collect::<Result<_, _>>()?;
    Ok(CalendarProblem {
        projects,
        windows: request.windows.clone(),
        capacities: shared.capacities,
        earliest: request.earliest,
        ..CalendarProblem::default()
    })
}

fn shared(request: &ScheduleRequest) -> Result<Shared<'_>, BadValue> {
    fill("windows", "working window", request.windows.len(), MOST_WINDOWS)?;
    check_windows("windows", &request.windows)?;
    let left = || {
        let clipped = |&(open, close): &(i64, i64)| (open.max(request.earliest), close);
        request.windows.iter().map(clipped).filter(|(open, close)| close > open)
    };
    let Some((first_open, _)) = left().next() else {
        let message = format!(
            "all of them close before the earliest start, {}; give later ones",
            request.earliest
        );
        return Err(BadValue::new("windows", message));
    };
    let longest = left().map(|(open, close)| close - open).max().unwrap_or(0);
    let names = &request.resources;
    if names.len() > MOST_RESOURCES {
        let message = format!("{} are too many; name {MOST_RESOURCES} at most", names.len());
        return Err(BadValue::new("resources", message));
    }
    for (name, &capacity) in names {
        in_range(capacity, 0, MOST_TICKS)
            .map_err(|words| BadValue::new("resources", format!("{}: {words}", shown(name))))?;
    }
    Ok(Shared {
        resources: Ids::new("resources", "resource", names.keys().map(String::as_str))?,
        capacities: names.values().copied().collect(),
        longest,
        first_open,
    })
}
