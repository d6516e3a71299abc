//! How likely is a project ready in time, if work takes longer or shorter than planned?
//!
//! The calendar is replayed many times. In each replay every piece of work takes its planned time times e^(σ z + τ z'),
//! z one draw for the whole replay (all work goes slower than thought), z' one for each task (some goes slower than the rest).
//! Work keeps its order: nothing begins before its planned start, before what it waits for, or before hands and resources of
//! capacity 1 are free; what a window cannot hold goes on in the next one.
//! What goes on by itself takes its time, and what is fixed stays.
//!
//! # Worked example
//! A task of 10 in the last 10 ticks before its due time, with as much free behind it as one gives it: without any buffer it
//! is ready in time when the draw is not above the median, in about half of the replays; with 20 ticks more, nearly always.
//! ```
//! use timing::{CalendarProblem, Project, Span, Spread, Task, Work, ready_in_time};
//!
//! let work = Work::Attended { breakable: true };
//! let project = Project {
//!     tasks: vec![Task { duration: 10, work, uses: vec![], due: None, fixed: None }],
//!     links: vec![], holds: vec![], due: 100, weight: 1, buffer: 0, ages: vec![], fresh_max: None,
//! };
//! let problem = CalendarProblem { windows: vec![(0, 200)], ..CalendarProblem::default() };
//! let spans = [Span { start: 90, end: 100, pieces: vec![(90, 100)] }];
//! let share = |due| ready_in_time(&problem, &[], (&project, &spans, due), Spread { all: 0.2, each: 0.2 }, 1000, 1);
//! assert!((0.45..0.6).contains(&share(100)));
//! assert!(share(120) > 0.99);
//! ```

use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;

use crate::{CalendarProblem, LinkKind, Project, Span, Work};

/// Standard deviations of the logarithm of how long work takes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spread {
    /// Of all work together.
    pub all: f64,
    /// Of each task by itself.
    pub each: f64,
}

/// Returns the share of `n` replays in which a project beside others is ready by `due`.
///
/// `others` holds the spans of the problem's projects; a project or task without one is left out.
pub fn ready_in_time(
    problem: &CalendarProblem,
    others: &[Vec<Span>],
    (project, spans, due): (&Project, &[Span], i64),
    spread: Spread,
    n: u32,
    seed: u64,
) -> f64 {
    let projects: Vec<&Project> =
        problem.projects.iter().take(others.len()).chain([project]).collect();
    let planned: Vec<&[Span]> = others.iter().map(Vec::as_slice).chain([spans]).collect();
    // Everything in the order in which it begins.
    let mut order: Vec<(i64, usize, usize)> = projects
        .iter()
        .zip(&planned)
        .enumerate()
        .flat_map(|(at, (project, spans))| {
            let placed = spans.iter().take(project.tasks.len()).enumerate();
            placed.map(move |(task, span)| (span.start, at, task))
        })
        .collect();
    order.sort_unstable();
    let mut chance = Xoshiro256PlusPlus::seed_from_u64(seed);
    let in_time =
        (0..n).filter(|_| replay(problem, &projects, &order, spread, &mut chance) <= due).count();
    in_time as f64 / f64::from(n.max(1))
}

/// No work takes more than so many times as long, so that no sum overflows.
const MOST_FACTOR: f64 = 1000.0;

/// Replays the calendar once; returns when the last project is ready.
fn replay(
    problem: &CalendarProblem,
    projects: &[&Project],
    order: &[(i64, usize, usize)],
    spread: Spread,
    chance: &mut Xoshiro256PlusPlus,
) -> i64 {
    let all = spread.all * normal(chance);
    let mut free = 0;
    let mut resources = vec![0; problem.capacities.len()];
    let mut done: Vec<Vec<(i64, i64)>> =
        projects.iter().map(|project| vec![(0, 0); project.tasks.len()]).collect();
    for &(start, at, task) in order {
        let project = projects[at];
        let own = &project.tasks[task];
        let factor = if own.work == Work::Unattended {
            1.0
        } else {
            (all + spread.each * normal(chance)).exp()
        };
        let takes = (own.duration as f64 * factor.min(MOST_FACTOR)).round() as i64;
        if let Some((start, end)) = own.fixed {
            done[at][task] = (start, end);
            continue;
        }
        let links = project.links.iter().filter(|link| link.to == task);
        let waited = links.map(|link| match link.kind {
            LinkKind::FinishStart => done[at][link.from].1 + link.min,
            LinkKind::StartStart => done[at][link.from].0 + link.min,
            LinkKind::FinishFinish => done[at][link.from].1 + link.min - takes,
        });
        let alone =
            own.uses.iter().filter(|(resource, _)| problem.capacities.get(*resource) == Some(&1));
        let mut from = waited.fold(start, i64::max);
        from = alone.clone().map(|(resource, _)| resources[*resource]).fold(from, i64::max);
        let (from, to) = match own.work {
            Work::Attended { .. } => {
                let worked = work(&problem.windows, from.max(free), takes);
                free = worked.1;
                worked
            }
            Work::Supervised => work(&problem.windows, from, takes),
            Work::Unattended => (from, from + takes),
        };
        for (resource, _) in alone {
            resources[*resource] = to;
        }
        done[at][task] = (from, to);
    }
    done.last().and_then(|tasks| tasks.iter().map(|(_, end)| *end).max()).unwrap_or(0)
}

/// Start and end of so much work from a time on, cut by the ends of windows.
fn work(windows: &[(i64, i64)], from: i64, takes: i64) -> (i64, i64) {
    let mut left = takes;
    let mut start = None;
    for &(open, close) in windows.iter().filter(|(_, close)| *close > from) {
        let begin = open.max(from);
        let first = *start.get_or_insert(begin);
        if close - begin >= left {
            return (first, begin + left);
        }
        left -= close - begin;
    }
    // Behind the last window nothing is ever ready.
    (start.unwrap_or(from), i64::MAX / 4)
}

/// A draw of the standard normal distribution (Box, Muller, A Note on the Generation of Random Normal Deviates, 1958).
fn normal(chance: &mut Xoshiro256PlusPlus) -> f64 {
    let radius = (-2.0 * (1.0 - chance.random::<f64>()).ln()).sqrt();
    radius * (std::f64::consts::TAU * chance.random::<f64>()).cos()
}
