//! When is each task of each project done, so that every project is ready by its due time and is not begun too early?
//!
//! Attended tasks occupy the maker and lie in her working windows; breakable ones may be cut by the ends of windows only.
//! Supervised tasks lie inside one window and leave her hands free; unattended ones take real time whenever it is.
//! Links keep a least and, if wanted, a most time between tasks; holds keep a resource from the start of one task to the
//! start of another.
//!
//! Tasks are placed backward from the due times, each as late as the tasks behind it, the maker, and the resources allow:
//! serial generation, in reverse topological order, on an axis of working ticks for what the maker attends.
//! A most time that would be exceeded, or a hold in the way of another, pulls the later task forward.
//! A project without room may end ever later: it is tardy, never refused, and what was in its way is named.
//!
//! The search begins with the projects one by one, by due time.
//! Then it takes out one to four that are due near each other and puts their tasks back, the latest first as they lay, but for
//! one or two tasks, or a project, or all of them; simulated annealing decides what stays.
//! How late each of them may end is part of the search: it may be less, more, or exchanged.
//! On its way it may lie before the earliest time or be too old, for a price that rises until it no longer does;
//! so it gets from one sound calendar to another. Only sound ones are answers.
//! While something is tardy the search also lays tasks as early as can be, in orders that annealing changes:
//! the tardiness of an order then comes out by itself.
//! A larger budget goes on where a smaller one stops, so that it never gives a worse answer.
//! Wanted: the least sum over projects of 1000 x weight x tardiness + ages + the cost of moves.
//! The tardiness T of a project is the largest of its tasks' ends less their wanted ends, an age is due + T - start,
//! and each task that starts at another time than in the former plan, if there is one, costs the same.
//!
//! What is fixed lies where it lies, in windows or not, and everything else keeps clear of it.
//! While a helper works there are two pairs of hands.
//! With a former plan the search begins there: what can stay stays, and only what cannot is placed anew.
//!
//! A job shop is the special case of unattended tasks on resources of capacity 1 without windows;
//! that its last job ends by D is the same as no tardiness when all are due at D.
//!
//! Sources: calendars and breakable activities: Franck, Neumann, Schwindt, OR Spektrum 23, 2001 (from memory);
//! minimum and maximum lags: Schutt, Feydt, Stuckey, Wallace, Journal of Scheduling 16, 2013, doi 10.1007/s10951-012-0285-x;
//! serial generation: Kolisch, European Journal of Operational Research 90, 1996 (from memory);
//! the price of what is not sound: Glover, Decision Sciences 8, 1977 (from memory);
//! ruin and recreate: Schrimpf and others, Journal of Computational Physics 159, 2000 (from memory).
//!
//! # Worked example
//! One window of 0..10 and one of 20..30; a breakable task of 4, then 5 ticks of rest, then one of 6, due at 30:
//! the second lies in 24..30, the first ends by 19, so in 6..10.
//! ```
//! use timing::{CalendarProblem, Link, LinkKind, Project, Task, Work, solve_calendar};
//! use std::ops::ControlFlow;
//!
//! let task = |duration| Task {
//!     duration, work: Work::Attended { breakable: true }, uses: vec![], due: None, fixed: None,
//! };
//! let project = Project {
//!     tasks: vec![task(4), task(6)],
//!     links: vec![Link { from: 0, to: 1, kind: LinkKind::FinishStart, min: 5, max: None }],
//!     holds: vec![],
//!     due: 30,
//!     weight: 1,
//!     buffer: 0,
//!     ages: vec![],
//!     fresh_max: None,
//! };
//! let problem = CalendarProblem {
//!     projects: vec![project], windows: vec![(0, 10), (20, 30)], ..CalendarProblem::default()
//! };
//! let calendar = solve_calendar(&problem, 1, 1, &mut |_| ControlFlow::Continue(())).unwrap();
//! assert_eq!((calendar.spans[0][0].start, calendar.spans[0][1].start), (6, 24));
//! ```

mod ahead;
mod axis;
mod bound;
mod hurry;
mod model;
mod place;
mod probe;
mod profile;
mod search;
mod walk;

use std::ops::ControlFlow;

use crate::Error;

use model::Model;
use place::{Plan, Slot};

pub use probe::{Clash, Fit, Probe, clash_of, fit_project};

/// How a task takes the maker's time.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Work {
    /// The maker's hands are in it.
    Attended {
        /// Whether the end of a window may cut it, to go on in the next.
        breakable: bool,
    },
    /// The maker must be there, with her hands free for something else.
    Supervised,
    /// It goes on by itself, by day and by night.
    Unattended,
}

/// A piece of work.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Task {
    /// How long it takes.
    pub duration: i64,
    /// How it takes the maker's time.
    pub work: Work,
    /// Resources it uses while it goes on, each with its quantity.
    pub uses: Vec<(usize, i64)>,
    /// When it should end, if that is before its project's due time less the buffer.
    pub due: Option<i64>,
    /// Start and end of what happened already or is promised: it stays there whatever its duration, the windows and the
    /// earliest time say, and takes hands and resources from its start to its end.
    pub fixed: Option<(i64, i64)>,
}

/// Which ends a link ties together.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LinkKind {
    /// From the end of one to the start of the other.
    FinishStart,
    /// From start to start.
    StartStart,
    /// From end to end.
    FinishFinish,
}

/// Time between two tasks of a project.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Link {
    /// The earlier task.
    pub from: usize,
    /// The later task.
    pub to: usize,
    /// Which ends are tied.
    pub kind: LinkKind,
    /// The least time between them.
    pub min: i64,
    /// The most time between them.
    pub max: Option<i64>,
}

/// A resource kept from the start of one task to the start of another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Hold {
    /// The resource.
    pub resource: usize,
    /// How much of it.
    pub quantity: i64,
    /// Kept from the start of this task.
    pub from: usize,
    /// Until the start of this one.
    pub to: usize,
}

/// What ages, from when and until when.
///
/// age = due + tardiness of the project - start of the task
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Age {
    /// The task from whose start it ages.
    pub task: usize,
    /// When it is wanted.
    pub due: i64,
}

/// Tasks that together must be ready by a due time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Project {
    /// The tasks.
    pub tasks: Vec<Task>,
    /// Time between them.
    pub links: Vec<Link>,
    /// Resources kept over several of them.
    pub holds: Vec<Hold>,
    /// When it must be ready.
    pub due: i64,
    /// What one tick of tardiness weighs.
    pub weight: i64,
    /// Time wanted between the last end and the due time.
    pub buffer: i64,
    /// What ages in it.
    pub ages: Vec<Age>,
    /// The most each of these may age, unless its task is fixed.
    pub fresh_max: Option<i64>,
}

/// All projects, and what they share.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct CalendarProblem {
    /// The projects.
    pub projects: Vec<Project>,
    /// The maker's working windows, in order, apart from each other.
    pub windows: Vec<(i64, i64)>,
    /// How much there is of each resource.
    pub capacities: Vec<i64>,
    /// Nothing starts before, but what is fixed.
    pub earliest: i64,
    /// Stretches, in order and apart, in which a second pair of hands works too; only what lies inside windows counts.
    pub helpers: Vec<(i64, i64)>,
    /// For each project the start of each of its tasks in a former plan, where it had one; what is missing at the end had none.
    pub former: Vec<Vec<Option<i64>>>,
    /// What it costs to start a task at another time than in the former plan; what is fixed costs nothing.
    pub move_cost: i64,
}

/// When a task is done.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Span {
    /// Start.
    pub start: i64,
    /// End.
    pub end: i64,
    /// The stretches it is worked in: one, unless windows cut it.
    pub pieces: Vec<(i64, i64)>,
}

/// When everything is done.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Calendar {
    /// For each project the span of each task.
    pub spans: Vec<Vec<Span>>,
    /// For each project how late it is ready.
    pub tardiness: Vec<i64>,
    /// For each tardy project what hinders it from being on time, with all others where they lie.
    pub blocked_by: Vec<Option<Blocked>>,
    /// Sum over projects of 1000 x weight x tardiness + ages + moves x cost of a move.
    pub cost: i64,
    /// No calendar costs less.
    pub bound: i64,
    /// Where chance started.
    pub seed: u64,
    /// How many plans were looked at.
    pub evaluations: u64,
}

/// A task that found no room before the due time of its project.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Blocked {
    /// The task, by its place in its project.
    pub task: usize,
    /// What was in its way.
    pub obstacle: Obstacle,
}

/// What is in the way of a task.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Obstacle {
    /// It would have to begin before the earliest time or before the first window.
    Time,
    /// The maker's hands are busy.
    Maker,
    /// This resource is in use.
    Resource(usize),
    /// The project would be too old.
    Age,
    /// The most times of its links cannot be kept.
    MostTime,
    /// What is fixed in its project leaves no room, or ends late itself.
    Fixed,
}

/// Cost of a tick of tardiness, per weight.
const TARDY: i64 = 1000;

/// Places all projects.
///
/// `budget` counts plans looked at; 1 places the projects one by one, by due time.
/// `listener` receives each better calendar and may end the search; the best so far is returned.
///
/// # Errors
/// An index is unknown, a value out of range, windows overlap, links form a circle, an unbreakable task is longer than every window,
/// a resource is too small for one task, there is attended work and no window, a project grows too old whenever it is done,
/// something fixed leaves no room for what is tied to it, or the windows end before a project is placed.
pub fn solve_calendar(
    problem: &CalendarProblem,
    budget: u64,
    seed: u64,
    listener: &mut dyn FnMut(&Calendar) -> ControlFlow<()>,
) -> Result<Calendar, Error> {
    let model = Model::new(problem, problem.projects.iter().collect(), &problem.former, 0)?;
    let bound = bound::bound(&model);
    let mut hear =
        |plan: &Plan, _, evaluations| listener(&calendar(&model, plan, bound, seed, evaluations));
    let (plan, evaluations) = search::search(&model, bound, budget, seed, &mut hear)?;
    Ok(calendar(&model, &plan, bound, seed, evaluations))
}

/// Completes a plan to the answer of the engine.
fn calendar(model: &Model<'_>, plan: &Plan, bound: i64, seed: u64, evaluations: u64) -> Calendar {
    let all = 0..model.projects.len();
    let blocked_by = all
        .clone()
        .map(|one| {
            let is_tardy = plan.tardiness(model, one) > 0;
            if is_tardy { search::hindrance(model, plan, one) } else { None }
        })
        .collect();
    Calendar {
        spans: all.clone().map(|one| spans(model, plan, one)).collect(),
        tardiness: all.clone().map(|one| plan.tardiness(model, one)).collect(),
        blocked_by,
        cost: all.fold(0, |sum, one| i64::saturating_add(sum, search::cost(model, plan, one))),
        bound,
        seed,
        evaluations,
    }
}

/// The spans of a project, task by task.
fn spans(model: &Model<'_>, plan: &Plan, project: usize) -> Vec<Span> {
    let mut spans = vec![Span::default(); model.projects[project].tasks.len()];
    for &task in &model.orders[project] {
        let own = &model.tasks[task];
        let Some(Slot { start, end, worked }) = plan.slots[task] else { continue };
        let pieces = match own.work {
            _ if own.fixed.is_some() => model.fixed_pieces(own, start, end),
            Work::Attended { .. } => model.axis.pieces(worked.0, worked.1),
            Work::Supervised | Work::Unattended => vec![(start, end)],
        };
        spans[own.place] = Span { start, end, pieces };
    }
    spans
}
