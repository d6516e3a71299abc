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
            if !pieces_add_up(task, span) {
                found.push(Violation::Pieces { project: p, task: t });
            }
            if span.start < problem.earliest || !lies_in_windows(&problem.windows, task, span) {
                found.push(Violation::Window { project: p, task: t });
            }
        }
        found.extend(broken_links(project, spans).map(|link| Violation::Link { project: p, link }));
        let wanted = project.due.saturating_sub(project.buffer);
        let last = spans.iter().map(|span| span.end).max().unwrap_or(wanted);
        let tardy = last.saturating_sub(wanted).max(0);
        if tardy != calendar.tardiness[p] {
            found.push(Violation::Figure { name: "tardiness" });
        }
        let ready = project.due.saturating_add(tardy);
        let age = project.age_from.map_or(0, |task| ready.saturating_sub(spans[task].start));
        if project.fresh_max.is_some_and(|max| age > max) {
            found.push(Violation::Age { project: p });
        }
        cost = cost
            .saturating_add(1000_i64.saturating_mul(project.weight).saturating_mul(tardy))
            .saturating_add(age);
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
        && project.age_from.is_none_or(|task| task < n)
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
    let is_broken = |link: &crate::Link| {
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

/// Pairs of attended tasks that overlap.
fn busy_twice(problem: &CalendarProblem, calendar: &Calendar) -> Vec<Violation> {
    let mut hands: Vec<((i64, i64), (usize, usize))> = Vec::new();
    for (p, (project, spans)) in problem.projects.iter().zip(&calendar.spans).enumerate() {
        for (t, (task, span)) in project.tasks.iter().zip(spans).enumerate() {
            if matches!(task.work, Work::Attended { .. }) {
                hands.extend(span.pieces.iter().map(|&piece| (piece, (p, t))));
            }
        }
    }
    let mut found = Vec::new();
    for (i, &((from, to), a)) in hands.iter().enumerate() {
        for &((open, close), b) in &hands[i + 1..] {
            if from < close && open < to {
                found.push(Violation::Maker { a, b });
            }
        }
    }
    found
}

/// Resources of which more is used than there is, each with a time.
fn overused(problem: &CalendarProblem, calendar: &Calendar) -> Vec<Violation> {
    let mut used: Vec<(usize, i64, i64, i64)> = Vec::new();
    for (project, spans) in problem.projects.iter().zip(&calendar.spans) {
        for (task, span) in project.tasks.iter().zip(spans) {
            used.extend(task.uses.iter().map(|&(r, quantity)| (r, quantity, span.start, span.end)));
        }
        used.extend(project.holds.iter().map(|hold| {
            (hold.resource, hold.quantity, spans[hold.from].start, spans[hold.to].start)
        }));
    }
    let mut found = Vec::new();
    for &(resource, _, at, _) in &used {
        let meets = used.iter().filter(|one| one.0 == resource && one.2 <= at && at < one.3);
        if meets.fold(0, |sum, one| i64::saturating_add(sum, one.1)) > problem.capacities[resource]
        {
            found.push(Violation::Resource { resource, at });
        }
    }
    found
}
