//! `sugarwright schedule`, format calendar/1: orders with their tasks in, the days they are worked out.

mod answer;
mod compile;
mod orders;
#[cfg(test)]
mod tests;

use std::{collections::BTreeMap, ops::ControlFlow};

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{
    FileError,
    error::BadValue,
    sequence::seed,
    ticks::{MOST_EVALUATIONS, check_name, from_named_json, whole},
};

/// The request's name in messages.
const FILE: &str = "schedule request";
/// The name of its format.
const FORMAT: &str = "calendar/1";
/// The name of the answer's format.
const ANSWER_FORMAT: &str = "calendar-answer/1";
/// The task from whose start an order ages.
const AGES_FROM: &str = "bake";

/// Orders with their tasks, of which the days are sought.
/// Times are whole ticks of tick_minutes, counted from a Monday, 00:00.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "schedule request")]
pub struct ScheduleRequest {
    /// The format of this request: calendar/1.
    #[serde(default = "format")]
    pub format: String,
    /// What it is called; for the reader only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// How long a tick is, in minutes, 1 to 1440.
    #[serde(default = "tick_minutes")]
    pub tick_minutes: i64,
    /// How many days the windows are given for; for the reader only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub days: Option<i64>,
    /// Nothing starts before this tick.
    #[serde(default)]
    pub earliest: i64,
    /// Working windows: [opening, close], in order, at most 1000.
    pub windows: Vec<(i64, i64)>,
    /// How much there is of what tasks share, by name: an oven, a mixer, places on a rack.
    #[serde(default)]
    pub resources: BTreeMap<String, i64>,
    /// The orders, at most 100 with 1000 tasks together.
    pub orders: Vec<OrderEntry>,
    /// Where chance starts: the same seed gives the same answer.
    #[serde(default = "seed")]
    pub seed: u64,
    /// How many plans are looked at, 1 to 3000000; hundreds of tasks get fewer, so that the answer takes seconds.
    #[serde(default = "evaluations")]
    pub evaluations: i64,
}

fn format() -> String {
    FORMAT.to_owned()
}

fn tick_minutes() -> i64 {
    5
}

fn evaluations() -> i64 {
    100_000
}

fn weight() -> i64 {
    1
}

/// An order.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct OrderEntry {
    /// What it is called; no two alike.
    pub id: String,
    /// How many cookies; for the reader only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cookies: Option<i64>,
    /// What one tick of being late weighs beside other orders, 1 to 1000.
    #[serde(default = "weight")]
    pub weight: i64,
    /// When it is handed over.
    pub due: i64,
    /// Ticks wanted between its last end and the handing over.
    #[serde(default)]
    pub buffer: i64,
    /// Most ticks from the start of its task "bake" to the handing over; left out or null: any.
    #[serde(default)]
    pub fresh_max: Option<i64>,
    /// Its tasks.
    pub tasks: Vec<TaskEntry>,
    /// Times between tasks: [a, b, kind, least, most]; kind is FS from end to start, SS from start to start, FF from end to end; most may be null.
    #[serde(default)]
    pub links: Vec<(String, String, String, i64, Option<i64>)>,
    /// Resources it keeps over several tasks.
    #[serde(default)]
    pub hold: Vec<HoldEntry>,
}

/// A piece of work.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct TaskEntry {
    /// What it is called; no two alike in an order.
    pub id: String,
    /// attended: it takes the maker's hands; supervised: the maker is there, hands free; unattended: it goes on by day and night.
    pub kind: String,
    /// How long it takes.
    pub dur: i64,
    /// Whether the end of a window may cut it, to go on in the next; for attended tasks.
    #[serde(default)]
    pub breakable: bool,
    /// How much it uses of which resources while it goes on.
    #[serde(default, rename = "use")]
    pub uses: BTreeMap<String, i64>,
}

/// A resource kept from the start of one task to the start of another.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct HoldEntry {
    /// The resource.
    pub res: String,
    /// How much of it.
    pub qty: i64,
    /// From the start of this task,
    pub from: String,
    /// until the start of this one.
    pub to: String,
}

/// When each task is done.
/// Times are whole ticks of tick_minutes, counted from a Monday, 00:00.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "schedule answer")]
pub struct ScheduleAnswer {
    /// The format of this answer: calendar-answer/1.
    pub format: String,
    /// How long a tick is, in minutes.
    pub tick_minutes: i64,
    /// For each order, [start, end] of each task.
    pub orders: BTreeMap<String, BTreeMap<String, (i64, i64)>>,
    /// For each task that windows cut, the [start, end] of its pieces, by order and task.
    pub pieces: BTreeMap<String, BTreeMap<String, Vec<(i64, i64)>>>,
    /// For each order that is late, by how many ticks, buffer included.
    pub late: BTreeMap<String, i64>,
    /// For each order that is late, what was in the way of being on time, all other orders lying where they lie.
    pub why_late: BTreeMap<String, String>,
    /// Sum over orders: 1000 x weight x ticks late + ticks from baking to handing over.
    pub cost: i64,
    /// Ticks late, all orders together.
    pub tardiness: i64,
    /// No plan costs less.
    pub bound: i64,
    /// Where chance started.
    pub seed: u64,
    /// How many plans were looked at.
    pub evaluations: u64,
}

/// Reads a request.
///
/// # Errors
/// The text is no such request.
pub fn read_schedule_request(text: &str) -> Result<ScheduleRequest, FileError> {
    from_named_json(FILE, FORMAT, text)
}

/// Places all orders among the windows; see [`timing::solve_calendar`] for what is wanted and how it is sought.
///
/// An order is late rather than refused, as long as there are windows for it at all.
///
/// # Errors
/// A value makes no sense, or there is no such plan; the message names its place, such as `orders[2].links[0]`.
pub fn schedule(request: &ScheduleRequest) -> Result<ScheduleAnswer, FileError> {
    solve(request).map_err(|bad| bad.in_json(FILE))
}

fn solve(request: &ScheduleRequest) -> Result<ScheduleAnswer, BadValue> {
    check_name(&request.format, FORMAT)?;
    let problem = compile::compile(request)?;
    let budget = budget(request)?;
    let found =
        timing::solve_calendar(&problem, budget, request.seed, &mut |_| ControlFlow::Continue(()));
    match found {
        Ok(found) => Ok(answer::answer(request, &found)),
        Err(error) => Err(answer::refusal(request, &error)),
    }
}

/// About the nanoseconds that may go into one request.
const MOST_NANOSECONDS: i64 = 20_000_000_000;

/// How many plans are looked at.
///
/// Where days are full, one takes about tasks x 50 x d nanoseconds, d being the tasks of the largest order, at least 10;
/// measured on 80 to 1000 tasks.
fn budget(request: &ScheduleRequest) -> Result<u64, BadValue> {
    let wanted = whole("evaluations", request.evaluations, 1, MOST_EVALUATIONS)?;
    let n = |count: usize| i64::try_from(count).unwrap_or(i64::MAX);
    let counts = || request.orders.iter().map(|order| n(order.tasks.len()));
    let once = counts().sum::<i64>() * 50 * counts().max().unwrap_or(0).max(10);
    Ok(wanted.min(MOST_NANOSECONDS / once.max(1)).max(1).unsigned_abs())
}
