//! `sugarwright sequence`, format sequence/1: sections to ice in, an order of work out.
//!
//! One section on all copies of its design is a pass; what is worked wet into it belongs to the same pass, in blocks of as many
//! cookies as the shortest wet time allows.
//! How long two passes keep apart from start to start follows from what each single cookie needs; see [`timing::block_lag`].

mod answer;
mod compile;
mod rows;
#[cfg(test)]
mod tests;

use std::ops::ControlFlow;

use schemars::JsonSchema;
use serde::{Deserialize, Serialize};

use super::{
    FileError,
    error::BadValue,
    ticks::{MOST_EVALUATIONS, check_name, from_named_json, whole},
};

/// The request's name in messages.
const FILE: &str = "sequence request";
/// The name of its format.
const FORMAT: &str = "sequence/1";
/// The name of the answer's format.
const ANSWER_FORMAT: &str = "sequence-answer/1";

/// Sections to ice, of which the order is sought.
/// All times are whole ticks of tick_seconds.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
#[schemars(title = "sequence request")]
pub struct SequenceRequest {
    /// The format of this request: sequence/1.
    #[serde(default = "format")]
    pub format: String,
    /// What it is called; for the reader only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// How long a tick is, in seconds, 1 to 3600.
    #[serde(default = "one")]
    pub tick_seconds: i64,
    /// How many people decorate at once, 1 to 3; two never work on one design.
    #[serde(default = "one")]
    pub decorators: i64,
    /// When the work may be done: [opening, close] in ticks, in order; left out: one session from 0 without end.
    #[serde(default)]
    pub sessions: Option<Vec<(i64, i64)>>,
    /// Ticks for a change of bags inside a pass that works wet into wet.
    #[serde(default)]
    pub wet_swap: i64,
    /// Ticks to take up a bag that is not in the hand.
    pub switch: SwitchEntry,
    /// The bags, at most 100.
    pub bags: Vec<BagEntry>,
    /// The designs, with at most 400 sections together.
    pub designs: Vec<DesignEntry>,
    /// Where chance starts: the same seed gives the same answer.
    #[serde(default = "seed")]
    pub seed: u64,
    /// How many orders of work are looked at, 1 to 3000000; hundreds of sections get fewer, so that the answer takes seconds.
    #[serde(default = "evaluations")]
    pub evaluations: i64,
}

fn format() -> String {
    FORMAT.to_owned()
}

fn one() -> i64 {
    1
}

pub(super) fn seed() -> u64 {
    1
}

fn evaluations() -> i64 {
    300_000
}

/// Taking up a bag that is filled but not in the hand.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SwitchEntry {
    /// Ticks where the bag in the hand has the same color.
    pub same_color: i64,
    /// Ticks where it has another, and at the start of a session.
    pub other: i64,
}

/// A bag of icing.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct BagEntry {
    /// What it is called; no two alike.
    pub id: String,
    /// Its color by any name; bags of one color are changed faster.
    pub color: String,
    /// How stiff it is; for the reader only.
    #[serde(default)]
    pub consistency: String,
    /// Ticks to mix and fill it before its first use; it is then in the hand.
    pub prep: i64,
}

/// A design and how often it is made.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct DesignEntry {
    /// What it is called; no two alike.
    pub id: String,
    /// How many cookies get it, 1 to 2000.
    pub copies: i64,
    /// Its sections.
    pub sections: Vec<SectionEntry>,
    /// Neighbors: [a, b, ticks]; on every cookie the one starts so long after the end of the other, in whichever order.
    #[serde(default)]
    pub adjacent: Vec<(String, String, i64)>,
    /// What lies on what: [base, over, ticks]; on every cookie `over` starts at least so long after the end of `base`.
    #[serde(default)]
    pub overlay: Vec<(String, String, i64)>,
    /// What is worked wet into wet: [base, over, ticks]; on every cookie `over` starts at most so long after the end of `base`.
    #[serde(default)]
    pub wet: Vec<(String, String, i64)>,
}

/// A section of a design.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[serde(deny_unknown_fields)]
pub struct SectionEntry {
    /// What it is called; no two alike in a design.
    pub id: String,
    /// The id of the bag it is iced from.
    pub bag: String,
    /// How it is done; for the reader only.
    #[serde(default)]
    pub technique: String,
    /// Ticks on one cookie.
    pub per_copy: i64,
}

/// An order of work.
/// All times are whole ticks of tick_seconds.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
#[schemars(title = "sequence answer")]
pub struct SequenceAnswer {
    /// The format of this answer: sequence-answer/1.
    pub format: String,
    /// How long a tick is, in seconds.
    pub tick_seconds: i64,
    /// The passes by their ids, design/section, as designs and sections were asked for; what is worked wet into another section belongs to its pass.
    pub rows: Vec<String>,
    /// When each of the rows starts.
    pub starts: Vec<i64>,
    /// The ids of the rows, in the order they are worked.
    pub order: Vec<String>,
    /// Time from the opening of each session to its last end, all sessions together.
    pub active: i64,
    /// How many passes begin with a bag other than the one in the hand.
    pub switches: usize,
    /// What the decorators neither ice, prepare nor change bags of the active time.
    pub idle: i64,
    /// No order of work has a shorter active time.
    pub bound: i64,
    /// Where chance started.
    pub seed: u64,
    /// How many orders of work were looked at.
    pub evaluations: u64,
    /// The passes, in the order they start.
    pub passes: Vec<PassEntry>,
    /// When each bag is mixed and filled, in that order; bags that need no time or are not used are left out.
    pub preparations: Vec<PreparationEntry>,
}

/// A section over all cookies of its design, with what is worked wet into it.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PassEntry {
    /// The design.
    pub design: String,
    /// The section, then those worked wet into it.
    pub sections: Vec<String>,
    /// When it starts.
    pub start: i64,
    /// When it ends.
    pub end: i64,
    /// Who works it, counted from 1.
    pub decorator: usize,
    /// The bag it begins with.
    pub bag: String,
    /// How many cookies get all its sections before the next ones do; left out where it has one section.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub block: Option<i64>,
}

/// A bag that is mixed and filled.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize, JsonSchema)]
pub struct PreparationEntry {
    /// The bag.
    pub bag: String,
    /// When it starts.
    pub start: i64,
    /// When it ends.
    pub end: i64,
    /// Who does it, counted from 1.
    pub decorator: usize,
}

/// Reads a request.
///
/// # Errors
/// The text is no such request.
pub fn read_sequence_request(text: &str) -> Result<SequenceRequest, FileError> {
    from_named_json(FILE, FORMAT, text)
}

/// Finds a good order of work; see [`timing::solve_sequence`] for what is wanted and how it is sought.
///
/// # Errors
/// A value makes no sense, or there is no such order; the message names its place, such as `designs[2].overlay[0]`.
pub fn sequence(request: &SequenceRequest) -> Result<SequenceAnswer, FileError> {
    solve(request).map_err(|bad| bad.in_json(FILE))
}

fn solve(request: &SequenceRequest) -> Result<SequenceAnswer, BadValue> {
    check_name(&request.format, FORMAT)?;
    let compiled = compile::compile(request)?;
    let budget = budget(request, &compiled)?;
    let found = timing::solve_sequence(&compiled.problem, budget, request.seed, &mut |_| {
        ControlFlow::Continue(())
    });
    match found {
        Ok(found) => Ok(answer::answer(request, &compiled, &found)),
        Err(error) => Err(answer::refusal(request, &compiled, &error)),
    }
}

/// About the nanoseconds that may go into one request.
const MOST_NANOSECONDS: i64 = 10_000_000_000;

/// How many orders of work are looked at.
///
/// One takes about rows x decorators x (60 + 2 x sessions) nanoseconds, and where several decorators keep off each other's
/// designs d^2 / 32 more for each row, d being the rows of the largest design; measured on 400 rows.
fn budget(request: &SequenceRequest, compiled: &compile::Compiled) -> Result<u64, BadValue> {
    let wanted = whole("evaluations", request.evaluations, 1, MOST_EVALUATIONS)?;
    let problem = &compiled.problem;
    let n = |count: usize| i64::try_from(count).unwrap_or(i64::MAX);
    let largest = n(problem.exclusive.iter().map(Vec::len).max().unwrap_or(0));
    let sessions = n(problem.windows.as_ref().map_or(1, Vec::len));
    let a_row = 60 + 2 * sessions + largest * largest / 32;
    let once = n(problem.jobs.len()) * n(problem.n_workers) * a_row;
    Ok(wanted.min(MOST_NANOSECONDS / once.max(1)).max(1).unsigned_abs())
}
