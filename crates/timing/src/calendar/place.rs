//! Places one project after another on a common board, each backward from its due time.

use crate::{
    CalendarProblem, Link, LinkKind, Project, Span, Task, Work,
    calendar::{axis::Axis, profile::Profile},
};

/// What is taken so far.
#[derive(Clone, Debug)]
struct Board {
    /// The maker's hands, in working ticks.
    maker: Profile,
    /// Resources, in real ticks.
    resources: Vec<Profile>,
}

/// Places projects among the windows.
pub(super) struct Placer<'a> {
    problem: &'a CalendarProblem,
    axis: &'a Axis,
    board: Board,
}

/// A placed project.
#[derive(Clone, Debug, Default)]
pub(super) struct Placed {
    pub(super) spans: Vec<Span>,
    /// The task that found no room before the due time.
    pub(super) blocked_by: Option<usize>,
}

/// Why a project cannot finish by a time.
enum Blocked {
    /// This task finds no room.
    Task(usize),
    /// What this task begins to hold is taken; finishing by the given time might help.
    Hold(usize, i64),
}

/// How often a finish is moved to an earlier time to get out of the way of a hold.
const EARLIER_TRIES: usize = 60;
/// How often most times pull tasks forward before a finish is given up.
const PULLS: usize = 200;

impl<'a> Placer<'a> {
    pub(super) fn new(problem: &'a CalendarProblem, axis: &'a Axis) -> Self {
        let board = Board {
            maker: Profile::default(),
            resources: vec![Profile::default(); problem.capacities.len()],
        };
        Self { problem, axis, board }
    }

    /// Places a project, `order` being its tasks in topological order; the task that found no room where the windows end first.
    pub(super) fn place(&mut self, project: &Project, order: &[usize]) -> Result<Placed, usize> {
        let due = project.due - project.buffer;
        let (spans, board, blocked_by) = match self.finish_early(project, order, due) {
            Ok((spans, board)) => (spans, board, None),
            Err(task) => {
                let (spans, board) = self.finish_late(project, order, due).ok_or(task)?;
                (spans, board, Some(task))
            }
        };
        self.board = board;
        Ok(Placed { spans, blocked_by })
    }

    /// Finishes by `due`, or earlier where holds are in the way.
    fn finish_early(
        &self,
        project: &Project,
        order: &[usize],
        due: i64,
    ) -> Result<(Vec<Span>, Board), usize> {
        let mut by = due;
        let mut held = 0;
        for _ in 0..EARLIER_TRIES {
            match self.backward(project, order, by) {
                Ok(done) => return Ok(done),
                Err(Blocked::Task(task)) => return Err(task),
                Err(Blocked::Hold(task, earlier)) => (held, by) = (task, earlier),
            }
        }
        Err(held)
    }

    /// Finishes as soon after `due` as a doubling and halving search finds, within the windows.
    fn finish_late(
        &self,
        project: &Project,
        order: &[usize],
        due: i64,
    ) -> Option<(Vec<Span>, Board)> {
        let mut fails = due.max(self.problem.earliest);
        let longest: i64 = project.tasks.iter().map(|task| task.duration).sum();
        // Behind the last window only unattended work can still end.
        let last = self.axis.last_close().max(fails) + longest;
        let mut step = 1;
        let (mut works, mut done) = loop {
            let by = (fails + step).min(last);
            match self.backward(project, order, by) {
                Ok(done) => break (by, done),
                Err(_) if by == last => return None,
                Err(_) => (fails, step) = (by, step * 2),
            }
        };
        while works - fails > 1 {
            let middle = fails + (works - fails) / 2;
            match self.backward(project, order, middle) {
                Ok(sooner) => (works, done) = (middle, sooner),
                Err(_) => fails = middle,
            }
        }
        Some(done)
    }

    /// Places every task as late as it can be for a finish by `by`.
    fn backward(
        &self,
        project: &Project,
        order: &[usize],
        by: i64,
    ) -> Result<(Vec<Span>, Board), Blocked> {
        let n = project.tasks.len();
        // Ends to which most times have pulled tasks forward.
        let mut pulled = vec![i64::MAX; n];
        'anew: for _ in 0..PULLS {
            let mut board = self.board.clone();
            let mut spans = vec![Span::default(); n];
            for &task in order.iter().rev() {
                let links = || project.links.iter().filter(move |link| link.from == task);
                let latest = links()
                    .map(|link| latest_end(link, &project.tasks[task], &spans[link.to]))
                    .fold(by.min(pulled[task]), i64::min);
                let span = self
                    .latest_slot(&board, &project.tasks[task], latest)
                    .ok_or(Blocked::Task(task))?;
                if let Some((to, excess)) =
                    links().find_map(|link| Some((link.to, excess(link, &span, &spans[link.to])?)))
                {
                    pulled[to] = spans[to].end - excess;
                    continue 'anew;
                }
                self.take(&mut board, &project.tasks[task], &span);
                spans[task] = span;
            }
            for hold in &project.holds {
                let (from, to) = (spans[hold.from].start, spans[hold.to].start);
                let resource = &mut board.resources[hold.resource];
                if let Some(free) = resource.conflict(
                    from,
                    to,
                    hold.quantity,
                    self.problem.capacities[hold.resource],
                ) {
                    // The hold has to end where the one in the way begins.
                    return Err(Blocked::Hold(hold.from, by - (to - free).max(1)));
                }
                resource.add(from, to, hold.quantity);
            }
            return Ok((spans, board));
        }
        Err(Blocked::Task(order.first().copied().unwrap_or(0)))
    }

    /// The latest span of a task that ends by `latest` and is in nobody's way.
    fn latest_slot(&self, board: &Board, task: &Task, latest: i64) -> Option<Span> {
        match task.work {
            Work::Attended { breakable } => self.latest_attended(board, task, latest, breakable),
            Work::Supervised => self
                .axis
                .windows_before(latest)
                .find_map(|(open, close)| self.latest_real(board, task, latest.min(close), open)),
            Work::Unattended => self.latest_real(board, task, latest, self.problem.earliest),
        }
    }

    /// The latest span in real time between `open` and `close`.
    fn latest_real(&self, board: &Board, task: &Task, close: i64, open: i64) -> Option<Span> {
        let mut end = close;
        loop {
            let start = end - task.duration;
            if start < open {
                return None;
            }
            match self.conflict(board, task, start, end) {
                // What is in the way begins before this ends, so the end moves forward each time.
                Some(free) => end = free.min(end - 1),
                None => return Some(Span { start, end, pieces: vec![(start, end)] }),
            }
        }
    }

    /// The latest span in the maker's working time.
    fn latest_attended(
        &self,
        board: &Board,
        task: &Task,
        latest: i64,
        breakable: bool,
    ) -> Option<Span> {
        let mut end = self.axis.worked_by(latest);
        loop {
            let start = end - task.duration;
            if start < 0 {
                return None;
            }
            if !breakable && start < self.axis.window_start(end) {
                // It would begin in the window before: it ends with that one instead.
                end = self.axis.window_start(end);
                continue;
            }
            if let Some(free) = board.maker.conflict(start, end, 1, 1) {
                end = free.min(end - 1);
                continue;
            }
            let pieces = self.axis.pieces(start, end)?;
            let (first, last) = (pieces.first()?.0, pieces.last()?.1);
            match self.conflict(board, task, first, last) {
                Some(free) => end = self.axis.worked_by(free).min(end - 1),
                None => return Some(Span { start: first, end: last, pieces }),
            }
        }
    }

    fn conflict(&self, board: &Board, task: &Task, from: i64, to: i64) -> Option<i64> {
        let one = |&(resource, quantity): &(usize, i64)| {
            board.resources[resource].conflict(
                from,
                to,
                quantity,
                self.problem.capacities[resource],
            )
        };
        task.uses.iter().filter_map(one).min()
    }

    fn take(&self, board: &mut Board, task: &Task, span: &Span) {
        if matches!(task.work, Work::Attended { .. }) {
            board.maker.add(self.axis.worked_by(span.start), self.axis.worked_by(span.end), 1);
        }
        for &(resource, quantity) in &task.uses {
            board.resources[resource].add(span.start, span.end, quantity);
        }
    }
}

/// The latest end of a link's first task that keeps its least time.
fn latest_end(link: &Link, task: &Task, to: &Span) -> i64 {
    match link.kind {
        LinkKind::FinishStart => to.start - link.min,
        // Cut by nights it begins earlier still, which keeps the least time too.
        LinkKind::StartStart => to.start - link.min + task.duration,
        LinkKind::FinishFinish => to.end - link.min,
    }
}

/// By how much a link's most time is exceeded, if it is.
fn excess(link: &Link, from: &Span, to: &Span) -> Option<i64> {
    let gap = match link.kind {
        LinkKind::FinishStart => to.start - from.end,
        LinkKind::StartStart => to.start - from.start,
        LinkKind::FinishFinish => to.end - from.end,
    };
    Some(gap - link.max?).filter(|&excess| excess > 0)
}
