use crate::{Calendar, CalendarProblem, LinkKind, Project, Span, Task, Violation, Work};

/// Returns every rule a calendar breaks.
pub fn check_calendar(problem: &CalendarProblem, calendar: &Calendar) -> Vec<Violation> {
    let n = problem.projects.len();
    let same_length = [calendar.spans.len(), calendar.tardiness.len(), calendar.blocked_by.len()]
        .into_iter()
        .all(|length| length == n);
    let pairs = || problem.projects.iter().zip(&calendar.spans).enumerate();
    let n_resources = problem.capacities.len();
    if !same_length || !pairs().all(|(_, (project, spans))| is_named(project, spans, n_resources)) {
        return vec![Violation::WrongLength];
    }
    let mut found = Vec::new();
    let mut cost = 0_i64;
    for (p, (project, spans)) in pairs() {
        for (t, (task, span)) in project.tasks.iter().zip(spans).enumerate() {
            if let Some(fixed) = task.fixed {
                if (span.start, span.end) != fixed {
                    found.push(Violation::Fixed { project: p, task: t });
                }
                if !pieces_lie_within(span) {
                    found.push(Violation::Pieces { project: p, task: t });
                }
                continue;
            }
            if !pieces_add_up(task, span) {
                found.push(Violation::Pieces { project: p, task: t });
            }
            if span.start < problem.earliest || !lies_in_windows(&problem.windows, task, span) {
                found.push(Violation::Window { project: p, task: t });
            }
        }
        found.extend(broken_links(project, spans).map(|link| Violation::Link { project: p, link }));
        let wanted = |task: &Task| {
            let wanted = project.due.saturating_sub(project.buffer);
            task.due.map_or(wanted, |due| due.min(wanted))
        };
        let tardy = project
            .tasks
            .iter()
            .zip(spans)
            .map(|(task, span)| span.end.saturating_sub(wanted(task)))
            .fold(0, i64::max);
        if tardy != calendar.tardiness[p] {
            found.push(Violation::Figure { name: "tardiness" });
        }
        let mut ages = 0_i64;
        for one in &project.ages {
            let age = one.due.saturating_add(tardy).saturating_sub(spans[one.task].start);
            ages = ages.saturating_add(age);
            let is_fixed = project.tasks[one.task].fixed.is_some();
            if !is_fixed && project.fresh_max.is_some_and(|max| age > max) {
                found.push(Violation::Age { project: p });
            }
        }
        let n_moved = n_moved(project, spans, problem.former.get(p).map_or(&[], Vec::as_slice));
        cost = cost
            .saturating_add(1000_i64.saturating_mul(project.weight).saturating_mul(tardy))
            .saturating_add(ages)
            .saturating_add(problem.move_cost.saturating_mul(n_moved));
    }
    if cost != calendar.cost {
        found.push(Violation::Figure { name: "cost" });
    }
    if calendar.cost < calendar.bound {
        found.push(Violation::Figure { name: "bound" });
    }
    found.extend(busy_twice(problem, calendar));
    found.extend(overused(problem, calendar));
    found
}

/// Whether there is a span for each task, and everything that is named is there.
fn is_named(project: &Project, spans: &[Span], n_resources: usize) -> bool {
    let n = project.tasks.len();
    spans.len() == n
        && project.links.iter().all(|link| link.from < n && link.to < n)
        && project
            .holds
            .iter()
            .all(|hold| hold.from < n && hold.to < n && hold.resource < n_resources)
        && project.tasks.iter().flat_map(|task| &task.uses).all(|one| one.0 < n_resources)
        && project.ages.iter().all(|age| age.task < n)
}

/// How many tasks start at another time than in the former plan.
fn n_moved(project: &Project, spans: &[Span], former: &[Option<i64>]) -> i64 {
    let starts = project.tasks.iter().zip(spans).zip(former);
    let moved = starts.filter(|((task, span), former)| {
        task.fixed.is_none() && former.is_some_and(|start| start != span.start)
    });
    moved.count() as i64
}

/// Whether the pieces of something fixed are in order and reach from its start to its end.
fn pieces_lie_within(span: &Span) -> bool {
    let (first, last) = (span.pieces.first(), span.pieces.last());
    first.map(|piece| piece.0) == Some(span.start)
        && last.map(|piece| piece.1) == Some(span.end)
        && span.pieces.iter().all(|piece| piece.0 <= piece.1)
        && span.pieces.windows(2).all(|pair| pair[0].1 <= pair[1].0)
}

/// Whether the pieces of a span are in order, make up the duration, and are several only where the task may be cut.
fn pieces_add_up(task: &Task, span: &Span) -> bool {
    let worked =
        span.pieces.iter().fold(0_i64, |sum, one| sum.saturating_add(one.1.saturating_sub(one.0)));
    let (first, last) = (span.pieces.first(), span.pieces.last());
    worked == task.duration
        && first.map(|piece| piece.0) == Some(span.start)
        && last.map(|piece| piece.1) == Some(span.end)
        && span.pieces.iter().all(|piece| piece.0 <= piece.1)
        && span.pieces.windows(2).all(|pair| pair[0].1 <= pair[1].0)
        && (span.pieces.len() == 1 || task.work == Work::Attended { breakable: true })
}

/// Whether a span lies in windows as its kind of work needs; what takes no time needs none.
fn lies_in_windows(windows: &[(i64, i64)], task: &Task, span: &Span) -> bool {
    let inside =
        |&(from, to): &(i64, i64)| windows.iter().any(|&(open, close)| open <= from && to <= close);
    // A cut is allowed where a window ends and work goes on as the next opens, nowhere else.
    let is_cut_well = |pair: &[(i64, i64)]| {
        let (stop, go) = (pair[0].1, pair[1].0);
        windows.iter().any(|&(_, close)| close == stop)
            && windows.iter().any(|&(open, _)| open == go)
            && !windows.iter().any(|&(open, close)| open < close && stop < close && open < go)
    };
    task.work == Work::Unattended
        || task.duration == 0
        || (span.pieces.iter().all(inside) && span.pieces.windows(2).all(is_cut_well))
}

/// The links, by their places, whose least or most time is not kept.
fn broken_links<'a>(
    project: &'a Project,
    spans: &'a [Span],
) -> impl Iterator<Item = usize> + use<'a> {
    let is_fixed = |task: usize| project.tasks[task].fixed.is_some();
    let is_broken = move |link: &crate::Link| {
        // What happened is not to be judged.
        if is_fixed(link.from) && is_fixed(link.to) {
            return false;
        }
        let (from, to) = (&spans[link.from], &spans[link.to]);
        let gap = match link.kind {
            LinkKind::FinishStart => to.start.saturating_sub(from.end),
            LinkKind::StartStart => to.start.saturating_sub(from.start),
            LinkKind::FinishFinish => to.end.saturating_sub(from.end),
        };
        gap < link.min || link.max.is_some_and(|max| gap > max)
    };
    project.links.iter().enumerate().filter(move |(_, link)| is_broken(link)).map(|(at, _)| at)
}

/// Pairs of attended tasks that are worked at one time with no hands for both; what is fixed is not judged.
fn busy_twice(problem: &CalendarProblem, calendar: &Calendar) -> Vec<Violation> {
    let mut hands: Vec<(i64, i64, (usize, usize), bool)> = Vec::new();
    for (p, (project, spans)) in problem.projects.iter().zip(&calendar.spans).enumerate() {
        for (t, (task, span)) in project.tasks.iter().zip(spans).enumerate() {
            match (task.work, task.fixed) {
                (Work::Attended { .. }, Some((from, to))) => hands.push((from, to, (p, t), true)),
                (Work::Attended { .. }, None) => {
                    hands.extend(span.pieces.iter().map(|&(from, to)| (from, to, (p, t), false)));
                }
                _ => {}
            }
        }
    }
    let mut times: Vec<i64> = hands.iter().map(|one| one.0).collect();
    times.extend(problem.helpers.iter().map(|helper| helper.1));
    times.sort_unstable();
    times.dedup();
    let mut found = Vec::new();
    for at in times {
        let busy: Vec<_> = hands.iter().filter(|one| one.0 <= at && at < one.1).collect();
        let is_helped = problem.helpers.iter().any(|&(from, to)| from <= at && at < to);
        if busy.len() <= 1 + usize::from(is_helped) {
            continue;
        }
        if let Some(free) = busy.iter().find(|one| !one.3) {
            let others = busy.iter().filter(|one| one.2 != free.2);
            found.extend(others.map(|one| Violation::Maker { a: free.2, b: one.2 }));
        }
    }
    found
}

/// Resources of which more is used than there is, each with a time; what is fixed is not judged.
fn overused(problem: &CalendarProblem, calendar: &Calendar) -> Vec<Violation> {
    // Resource, quantity, from, to, and whether it is a fact.
    let mut used: Vec<(usize, i64, i64, i64, bool)> = Vec::new();
    for (project, spans) in problem.projects.iter().zip(&calendar.spans) {
        let is_fixed = |task: usize| project.tasks[task].fixed.is_some();
        for (t, (task, span)) in project.tasks.iter().zip(spans).enumerate() {
            let uses = task.uses.iter();
            used.extend(
                uses.map(|&(r, quantity)| (r, quantity, span.start, span.end, is_fixed(t))),
            );
        }
        used.extend(project.holds.iter().map(|hold| {
            let (from, to) = (spans[hold.from].start, spans[hold.to].start);
            (hold.resource, hold.quantity, from, to, is_fixed(hold.from) && is_fixed(hold.to))
        }));
    }
    let mut found = Vec::new();
    for &(resource, _, at, ..) in &used {
        let meets = || used.iter().filter(|one| one.0 == resource && one.2 <= at && at < one.3);
        let together = meets().fold(0, |sum, one| i64::saturating_add(sum, one.1));
        if together > problem.capacities[resource] && meets().any(|one| !one.4) {
            found.push(Violation::Resource { resource, at });
        }
    }
    found
}
