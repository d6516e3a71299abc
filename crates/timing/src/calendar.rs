//! When is each task of each project done, so that every project is ready by its due time and is not begun too early?
//!
//! Attended tasks occupy the maker and lie in her working windows; breakable ones may be cut by the ends of windows only.
//! Supervised tasks lie inside one window and leave her hands free; unattended ones take real time whenever it is.
//! Links keep a least and, if wanted, a most time between tasks; holds keep a resource from the start of one task to the
//! start of another.
//!
//! Each project is placed backward from its due time, every task as late as its successors, the maker, and the resources
//! allow: serial generation in reverse topological order.
//! A most time that would be exceeded pulls the later task forward and the project is placed anew.
//! A project without room is first tried with an earlier finish, then with ever later ones: it is tardy, never refused.
//! The search changes the order in which projects are placed and keeps what costs least:
//! sum over projects of 1000 x weight x tardiness + age, `age` from the start of its `age_from` task to its due time.
//!
//! Sources: calendars and breakable activities: Franck, Neumann, Schwindt, OR Spektrum 23, 2001 (from memory);
//! serial generation: Kolisch, European Journal of Operational Research 90, 1996 (from memory).
//!
//! # Worked example
//! One window of 0..10 and one of 20..30; a breakable task of 4, then 5 ticks of rest, then one of 6, due at 30:
//! the second lies in 24..30, the first ends by 19, so in 6..10.
//! ```
//! use timing::{CalendarProblem, Link, LinkKind, Project, Task, Work, solve_calendar};
//! use std::ops::ControlFlow;
//!
//! let task = |duration| Task { duration, work: Work::Attended { breakable: true }, uses: vec![] };
//! let project = Project {
//!     tasks: vec![task(4), task(6)],
//!     links: vec![Link { from: 0, to: 1, kind: LinkKind::FinishStart, min: 5, max: None }],
//!     holds: vec![],
//!     due: 30,
//!     weight: 1,
//!     buffer: 0,
//!     age_from: None,
//! };
//! let problem = CalendarProblem { projects: vec![project], windows: vec![(0, 10), (20, 30)], capacities: vec![], earliest: 0 };
//! let calendar = solve_calendar(&problem, 1, 1, &mut |_| ControlFlow::Continue(())).unwrap();
//! assert_eq!((calendar.spans[0][0].start, calendar.spans[0][1].start), (6, 24));
//! ```

mod axis;
mod place;
mod profile;

use std::ops::ControlFlow;

use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;

use crate::{
    Error,
    error::{in_range, known, topological_order},
};

use axis::Axis;
use place::{Placed, Placer};

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
    /// The task from whose start the project ages.
    pub age_from: Option<usize>,
}

/// All projects, and what they share.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CalendarProblem {
    /// The projects.
    pub projects: Vec<Project>,
    /// The maker's working windows, in order, apart from each other.
    pub windows: Vec<(i64, i64)>,
    /// How much there is of each resource.
    pub capacities: Vec<i64>,
    /// Nothing starts before.
    pub earliest: i64,
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
    /// For each tardy project the task that found no room before its due time.
    pub blocked_by: Vec<Option<usize>>,
    /// Sum over projects of 1000 x weight x tardiness + age.
    pub cost: i64,
    /// No calendar costs less.
    pub bound: i64,
    /// Where chance started.
    pub seed: u64,
    /// How many orders of projects were looked at.
    pub evaluations: u64,
}

/// Cost of a tick of tardiness, per weight.
const TARDY: i64 = 1000;

/// Places all projects.
///
/// `budget` counts orders of projects looked at; 1 places them by due time.
/// `listener` receives each better calendar and may end the search; the best so far is returned.
///
/// # Errors
/// An index is unknown, a value out of range, links form a circle, an unbreakable task fits no window, a resource is too small for
/// one task, there is attended work and no window, or the windows end before a project is placed.
pub fn solve_calendar(
    problem: &CalendarProblem,
    budget: u64,
    seed: u64,
    listener: &mut dyn FnMut(&Calendar) -> ControlFlow<()>,
) -> Result<Calendar, Error> {
    let orders = validate(problem)?;
    let axis = Axis::new(&problem.windows, problem.earliest);
    let mut chance = Xoshiro256PlusPlus::seed_from_u64(seed);
    let bound = problem
        .projects
        .iter()
        .zip(&orders)
        .map(|(project, order)| least_age(project, order))
        .sum();

    let mut sequence: Vec<usize> = (0..problem.projects.len()).collect();
    sequence.sort_by_key(|&project| (problem.projects[project].due, project));
    let evaluate = |sequence: &[usize], evaluations: u64| {
        let mut placer = Placer::new(problem, &axis);
        let mut placed = vec![Placed::default(); problem.projects.len()];
        for &project in sequence {
            placed[project] = placer
                .place(&problem.projects[project], &orders[project])
                .map_err(|task| Error::NoRoom { project, task })?;
        }
        Ok(summarize(problem, placed, bound, seed, evaluations))
    };
    let mut best = evaluate(&sequence, 1)?;
    let mut heard = listener(&best);
    let mut evaluations = 1;
    while evaluations < budget && sequence.len() > 1 && heard.is_continue() && best.cost > bound {
        let mut changed = sequence.clone();
        let project = changed.remove(chance.random_range(0..changed.len()));
        changed.insert(chance.random_range(0..changed.len() + 1), project);
        evaluations += 1;
        // An order in which some project finds no room is just a worse one.
        let Ok(calendar) = evaluate(&changed, evaluations) else { continue };
        // Equal cost moves on, so that the search does not stay on a plateau.
        if calendar.cost <= best.cost {
            sequence = changed;
            if calendar.cost < best.cost {
                best = calendar;
                heard = listener(&best);
            }
        }
    }
    best.evaluations = evaluations;
    Ok(best)
}

fn summarize(
    problem: &CalendarProblem,
    placed: Vec<Placed>,
    bound: i64,
    seed: u64,
    evaluations: u64,
) -> Calendar {
    let mut calendar = Calendar {
        spans: Vec::new(),
        tardiness: Vec::new(),
        blocked_by: Vec::new(),
        cost: 0,
        bound,
        seed,
        evaluations,
    };
    for (project, placed) in problem.projects.iter().zip(placed) {
        let ready =
            placed.spans.iter().map(|span| span.end).max().unwrap_or(project.due) + project.buffer;
        let tardy = (ready - project.due).max(0);
        let age = project.age_from.map_or(0, |task| project.due + tardy - placed.spans[task].start);
        calendar.cost = calendar
            .cost
            .saturating_add(TARDY.saturating_mul(project.weight).saturating_mul(tardy))
            .saturating_add(age);
        calendar.tardiness.push(tardy);
        calendar.blocked_by.push(placed.blocked_by.filter(|_| tardy > 0));
        calendar.spans.push(placed.spans);
    }
    calendar
}

/// The longest way from the start of the aging task to the due time, over links: no calendar lets it be younger.
fn least_age(project: &Project, order: &[usize]) -> i64 {
    let Some(from) = project.age_from else { return 0 };
    let mut start: Vec<Option<i64>> = vec![None; project.tasks.len()];
    start[from] = Some(0);
    for &task in order {
        let Some(at) = start[task] else { continue };
        for link in project.links.iter().filter(|link| link.from == task) {
            let (own, other) = (project.tasks[link.from].duration, project.tasks[link.to].duration);
            let next = match link.kind {
                LinkKind::FinishStart => at + own + link.min,
                LinkKind::StartStart => at + link.min,
                LinkKind::FinishFinish => at + own + link.min - other,
            };
            start[link.to] = Some(start[link.to].map_or(next, |known| known.max(next)));
        }
    }
    let last = start
        .iter()
        .zip(&project.tasks)
        .filter_map(|(start, task)| Some((*start)? + task.duration))
        .max();
    last.unwrap_or(0) + project.buffer
}

/// Checks the problem; returns for each project its tasks in topological order.
fn validate(problem: &CalendarProblem) -> Result<Vec<Vec<usize>>, Error> {
    let n_resources = problem.capacities.len();
    for (place, &(from, to)) in problem.windows.iter().enumerate() {
        in_range("window", place, from)?;
        in_range("window", place, to - from)?;
    }
    in_range("earliest time", 0, problem.earliest)?;
    let longest = problem
        .windows
        .iter()
        .map(|(from, to)| to - from.max(&problem.earliest))
        .max()
        .unwrap_or(0);
    let mut orders = Vec::with_capacity(problem.projects.len());
    for project in &problem.projects {
        let n = project.tasks.len();
        in_range("due time of project", orders.len(), project.due.max(0))?;
        in_range("weight of project", orders.len(), project.weight)?;
        in_range("buffer of project", orders.len(), project.buffer)?;
        for (index, task) in project.tasks.iter().enumerate() {
            in_range("task", index, task.duration)?;
            for &(resource, wanted) in &task.uses {
                known("resource", resource, n_resources)?;
                in_range("use of task", index, wanted)?;
                let capacity = problem.capacities[resource];
                if wanted > capacity {
                    return Err(Error::Overdemand { task: index, resource, wanted, capacity });
                }
            }
            match task.work {
                Work::Attended { breakable: false } | Work::Supervised
                    if task.duration > longest =>
                {
                    return Err(Error::TooLong {
                        what: "task",
                        index,
                        duration: task.duration,
                        longest,
                    });
                }
                Work::Attended { .. } | Work::Supervised if longest <= 0 => {
                    return Err(Error::NoWindows);
                }
                _ => {}
            }
        }
        for (place, link) in project.links.iter().enumerate() {
            known("task", link.from, n)?;
            known("task", link.to, n)?;
            in_range("link", place, link.min)?;
            in_range("link", place, link.max.unwrap_or(link.min) - link.min)?;
        }
        for (place, hold) in project.holds.iter().enumerate() {
            known("task", hold.from, n)?;
            known("task", hold.to, n)?;
            known("resource", hold.resource, n_resources)?;
            in_range("hold", place, hold.quantity)?;
            let capacity = problem.capacities[hold.resource];
            if hold.quantity > capacity {
                return Err(Error::Overdemand {
                    task: hold.from,
                    resource: hold.resource,
                    wanted: hold.quantity,
                    capacity,
                });
            }
        }
        if let Some(task) = project.age_from {
            known("task", task, n)?;
        }
        let arcs: Vec<_> = project.links.iter().map(|link| (link.from, link.to)).collect();
        orders.push(
            topological_order(n, &arcs)
                .map_err(|members| Error::Cycle { what: "tasks", members })?,
        );
    }
    Ok(orders)
}
