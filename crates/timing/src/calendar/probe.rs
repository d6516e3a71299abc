//! Can one more project be taken, and if not, what is in its way?

use crate::{
    Blocked, Calendar, CalendarProblem, Error, Project, Span,
    calendar::{model::Model, place::Plan, search, spans},
    error::at_some_time,
};

/// One more project beside a calendar that stays as it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Fit {
    /// The span of each task; each lies as late as it can, so the first start is the latest safe start.
    pub spans: Vec<Span>,
    /// How late it is ready.
    pub tardiness: i64,
    /// What hindered it from being on time.
    pub blocked_by: Option<Blocked>,
}

/// What keeps one more project from being on time.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Clash {
    /// Committed projects without which it would be on time; none of them can be left out of the set.
    ///
    /// Empty if it would be late in an empty calendar, too.
    pub projects: Vec<usize>,
    /// What hinders it in an empty calendar.
    pub blocked_by: Option<Blocked>,
}

/// A calendar that stays as it is, ready to be asked about many further projects.
#[derive(Clone, Debug)]
pub struct Probe<'a> {
    problem: &'a CalendarProblem,
    /// Model and board of the committed projects.
    model: Model<'a>,
    board: Plan,
    /// How many projects the calendar has.
    n_committed: usize,
}

impl<'a> Probe<'a> {
    /// Lays a calendar out.
    ///
    /// # Errors
    /// As [`solve_calendar`](crate::solve_calendar); also if the calendar is not one of this problem.
    pub fn new(problem: &'a CalendarProblem, calendar: &Calendar) -> Result<Self, Error> {
        Self::of_some(problem, calendar, &|_| true)
    }

    /// Lays out some projects of a calendar.
    fn of_some(
        problem: &'a CalendarProblem,
        calendar: &Calendar,
        is_kept: &dyn Fn(usize) -> bool,
    ) -> Result<Self, Error> {
        let n = problem.projects.len();
        if calendar.spans.len() != n {
            return Err(Error::Unknown { what: "project", index: calendar.spans.len(), n });
        }
        let model = Model::new(problem, problem.projects.iter().collect(), &[], 0)?;
        let mut board = Plan::empty(&model);
        for (one, spans) in calendar.spans.iter().enumerate().filter(|(one, _)| is_kept(*one)) {
            // Later tasks first, since earlier ones keep resources until those begin.
            for &task in model.orders[one].iter().rev() {
                let place = model.tasks[task].place;
                let Some(span) = spans.get(place) else {
                    return Err(Error::Unknown { what: "task", index: place, n: spans.len() });
                };
                at_some_time("start of task", place, span.start)?;
                at_some_time("end of task", place, span.end)?;
                board.take_span(&model, task, span.start, span.end);
            }
        }
        Ok(Self { problem, model, board, n_committed: n })
    }

    /// Finds room for one more project: can it be taken, and when must it begin?
    ///
    /// What is fixed in it lies where it lies, even in the way of the others.
    ///
    /// # Errors
    /// The project is none, is too old whenever it is done, or finds no room before the windows end.
    pub fn fit(&self, project: &Project) -> Result<Fit, Error> {
        let mut model = Model::new(self.problem, vec![project], &[], self.n_committed)?;
        model.last = model.last.saturating_add(self.model.last);
        let mut plan = self.board.beside(&model);
        search::place_project(&model, &mut plan, 0)?;
        let tardiness = plan.tardiness(&model, 0);
        let blocked_by = if tardiness > 0 { search::hindrance(&model, &plan, 0) } else { None };
        Ok(Fit { spans: spans(&model, &plan, 0), tardiness, blocked_by })
    }

    /// Whether a project fits on time.
    fn is_on_time(&self, project: &Project) -> Result<bool, Error> {
        match self.fit(project) {
            Ok(fit) => Ok(fit.tardiness == 0),
            Err(Error::NoRoom { .. } | Error::Stale { .. } | Error::Fixed { .. }) => Ok(false),
            Err(error) => Err(error),
        }
    }
}

/// Finds room for one more project beside a calendar that stays as it is: can this be taken, and when must it begin?
///
/// To ask about several projects, build one [`Probe`].
///
/// # Errors
/// As [`solve_calendar`](crate::solve_calendar); also if the calendar is not one of this problem.
pub fn fit_project(
    problem: &CalendarProblem,
    calendar: &Calendar,
    project: &Project,
) -> Result<Fit, Error> {
    Probe::new(problem, calendar)?.fit(project)
}

/// Finds which committed projects keep one more from being on time; nothing if it fits as it is.
///
/// All are taken out; then each is put back, those due furthest from the new one first, if it still fits beside it,
/// until no further one can be put back: greedy deletion.
///
/// # Errors
/// As [`fit_project`], but a project that fits nowhere is told as a clash.
pub fn clash_of(
    problem: &CalendarProblem,
    calendar: &Calendar,
    project: &Project,
) -> Result<Option<Clash>, Error> {
    if Probe::new(problem, calendar)?.is_on_time(project)? {
        return Ok(None);
    }
    let n = problem.projects.len();
    let mut is_kept = vec![false; n];
    let alone = Probe::of_some(problem, calendar, &|one| is_kept[one])?;
    if !alone.is_on_time(project)? {
        let blocked_by = alone.blocked(project)?;
        return Ok(Some(Clash { projects: vec![], blocked_by }));
    }
    let mut far_first: Vec<usize> = (0..n).collect();
    far_first
        .sort_by_key(|&one| std::cmp::Reverse((problem.projects[one].due - project.due).abs()));
    // Placing is no exact search: more on the board may let one back in that did not fit before, so once more around.
    let mut is_changed = true;
    while is_changed {
        is_changed = false;
        for &one in &far_first {
            if is_kept[one] {
                continue;
            }
            is_kept[one] = true;
            if Probe::of_some(problem, calendar, &|one| is_kept[one])?.is_on_time(project)? {
                is_changed = true;
            } else {
                is_kept[one] = false;
            }
        }
    }
    let projects = (0..n).filter(|&one| !is_kept[one]).collect();
    Ok(Some(Clash { projects, blocked_by: None }))
}

impl Probe<'_> {
    /// What hinders a project from being on time.
    fn blocked(&self, project: &Project) -> Result<Option<Blocked>, Error> {
        let model = Model::new(self.problem, vec![project], &[], self.n_committed)?;
        Ok(search::hindrance(&model, &self.board.beside(&model), 0))
    }
}
