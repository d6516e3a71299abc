use crate::{Calendar, CalendarProblem, LinkKind, Violation, Work};

/// Returns every rule a calendar breaks.
pub fn check_calendar(problem: &CalendarProblem, calendar: &Calendar) -> Vec<Violation> {
    let same_length = calendar.spans.len() == problem.projects.len()
        && calendar.tardiness.len() == problem.projects.len()
        && problem
            .projects
            .iter()
            .zip(&calendar.spans)
            .all(|(project, spans)| project.tasks.len() == spans.len());
    if !same_length {
        return vec![Violation::WrongLength];
    }
    let mut found = Vec::new();
    let mut hands: Vec<((usize, usize), (i64, i64))> = Vec::new();
    let mut used: Vec<(usize, i64, i64, i64)> = Vec::new();
    let mut cost = 0;
    for (p, (project, spans)) in problem.projects.iter().zip(&calendar.spans).enumerate() {
        for (t, (task, span)) in project.tasks.iter().zip(spans).enumerate() {
            let worked: i64 = span.pieces.iter().map(|(from, to)| to - from).sum();
            let ends = span.pieces.first().map(|piece| piece.0) == Some(span.start)
                && span.pieces.last().map(|piece| piece.1) == Some(span.end)
                && span.pieces.windows(2).all(|pair| pair[0].1 <= pair[1].0);
            let may_be_cut = task.work == Work::Attended { breakable: true };
            if worked != task.duration || !ends || (span.pieces.len() > 1 && !may_be_cut) {
                found.push(Violation::Pieces { project: p, task: t });
            }
            let in_windows = span.pieces.iter().all(|&(from, to)| {
                problem.windows.iter().any(|&(open, close)| open <= from && to <= close)
            });
            // A cut is allowed where a window ends and the next begins, nowhere else.
            let cut_well = span.pieces.windows(2).all(|pair| {
                problem
                    .windows
                    .windows(2)
                    .any(|windows| windows[0].1 == pair[0].1 && windows[1].0 == pair[1].0)
            });
            if task.work != Work::Unattended && !(in_windows && cut_well)
                || span.start < problem.earliest
            {
                found.push(Violation::Window { project: p, task: t });
            }
            if matches!(task.work, Work::Attended { .. }) {
                hands.extend(span.pieces.iter().map(|&piece| ((p, t), piece)));
            }
            used.extend(
                task.uses
                    .iter()
                    .map(|&(resource, quantity)| (resource, quantity, span.start, span.end)),
            );
        }
        for (l, link) in project.links.iter().enumerate() {
            let (from, to) = (&spans[link.from], &spans[link.to]);
            let gap = match link.kind {
                LinkKind::FinishStart => to.start - from.end,
                LinkKind::StartStart => to.start - from.start,
                LinkKind::FinishFinish => to.end - from.end,
            };
            if gap < link.min || link.max.is_some_and(|max| gap > max) {
                found.push(Violation::Link { project: p, link: l });
            }
        }
        used.extend(project.holds.iter().map(|hold| {
            (hold.resource, hold.quantity, spans[hold.from].start, spans[hold.to].start)
        }));
        let ready = spans.iter().map(|span| span.end).max().unwrap_or(project.due - project.buffer)
            + project.buffer;
        let tardy = (ready - project.due).max(0);
        if tardy != calendar.tardiness[p] {
            found.push(Violation::Figure { name: "tardiness" });
        }
        cost += 1000 * project.weight * tardy;
        cost += project.age_from.map_or(0, |task| project.due + tardy - spans[task].start);
    }
    if cost != calendar.cost {
        found.push(Violation::Figure { name: "cost" });
    }
    if calendar.cost < calendar.bound {
        found.push(Violation::Figure { name: "bound" });
    }
    for (i, &(a, (from, to))) in hands.iter().enumerate() {
        for &(b, (open, close)) in &hands[i + 1..] {
            if from < close && open < to {
                found.push(Violation::Maker { a, b });
            }
        }
    }
    for &(resource, _, at, _) in &used {
        let total: i64 =
            used.iter().filter(|u| u.0 == resource && u.2 <= at && at < u.3).map(|u| u.1).sum();
        if total > problem.capacities[resource] {
            found.push(Violation::Resource { resource, at });
        }
    }
    found
}
