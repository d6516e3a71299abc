//! The tasks of all projects numbered through, with what ties them, checked.

use crate::{
    CalendarProblem, Error, LinkKind, Project, Task, Work,
    calendar::axis::Axis,
    error::{at_some_time, in_order, in_range, known, topological_order},
};

/// A checked problem.
#[derive(Clone, Debug)]
pub(super) struct Model<'a> {
    pub(super) axis: Axis,
    pub(super) projects: Vec<&'a Project>,
    pub(super) capacities: &'a [i64],
    /// Nothing is placed before.
    pub(super) earliest: i64,
    /// What is placed before is too early: the earliest time of the problem.
    pub(super) begin: i64,
    /// How much of the time is working time: real ticks per working tick.
    pub(super) stretch: i64,
    /// Stretches of working ticks in which a second pair of hands works.
    pub(super) helpers: Vec<(i64, i64)>,
    /// The working windows before the earliest time, too: what happened lies in them.
    history: Axis,
    /// All tasks, project by project.
    pub(super) tasks: Vec<ModelTask<'a>>,
    /// For each project its tasks, in topological order.
    pub(super) orders: Vec<Vec<usize>>,
    /// The same without those that are fixed.
    pub(super) free: Vec<Vec<usize>>,
    /// For each project the tasks from whose starts it ages, and until when.
    pub(super) ages: Vec<Vec<(usize, i64)>>,
    /// For each project the earliest time by which one of its tasks should end.
    pub(super) first_wanted: Vec<i64>,
    /// For each project how late what is fixed makes it.
    pub(super) floors: Vec<i64>,
    /// Whether some task has a former start.
    pub(super) has_former: bool,
    pub(super) move_cost: i64,
    /// What the first project is called in errors.
    pub(super) first_number: usize,
    /// No plan reaches beyond this time.
    pub(super) last: i64,
}

#[derive(Clone, Debug)]
pub(super) struct ModelTask<'a> {
    pub(super) project: usize,
    /// Its place in its project.
    pub(super) place: usize,
    pub(super) duration: i64,
    pub(super) work: Work,
    pub(super) uses: &'a [(usize, i64)],
    /// The time by which it should end.
    pub(super) wanted: i64,
    /// Where it lies whatever else is planned.
    pub(super) fixed: Option<(i64, i64)>,
    /// Where it started in the former plan.
    pub(super) former: Option<i64>,
    /// Links to later tasks.
    pub(super) ties: Vec<Tie>,
    /// Resources kept from its start on.
    pub(super) keeps: Vec<Keep>,
    /// Links from earlier tasks that may lie on the board before this one does; `to` names the earlier task.
    pub(super) ties_back: Vec<Tie>,
    /// Resources kept until its start by such tasks; `to` names the earlier task.
    pub(super) keeps_back: Vec<Keep>,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct Tie {
    pub(super) to: usize,
    pub(super) kind: LinkKind,
    pub(super) min: i64,
    pub(super) max: Option<i64>,
}

#[derive(Clone, Copy, Debug)]
pub(super) struct Keep {
    pub(super) resource: usize,
    pub(super) quantity: i64,
    pub(super) to: usize,
}

impl<'a> Model<'a> {
    /// Checks a problem with these projects in place of its own; the first is called `first_number` in errors.
    ///
    /// `former` holds former starts, project by project; it may be shorter than the list of projects.
    pub(super) fn new(
        problem: &'a CalendarProblem,
        projects: Vec<&'a Project>,
        former: &[Vec<Option<i64>>],
        first_number: usize,
    ) -> Result<Self, Error> {
        check_frame(problem)?;
        let longest = problem
            .windows
            .iter()
            .map(|(open, close)| close - open.max(&problem.earliest))
            .max()
            .unwrap_or(0);
        let axis = Axis::new(&problem.windows, problem.earliest);
        let helpers = problem
            .helpers
            .iter()
            .map(|&(from, to)| (axis.worked_by(from), axis.worked_by(to)))
            .filter(|(from, to)| from < to)
            .collect();
        let last = axis.last_close().max(problem.earliest);
        let mut model = Self {
            axis,
            projects: Vec::with_capacity(projects.len()),
            capacities: &problem.capacities,
            earliest: problem.earliest,
            begin: problem.earliest,
            stretch: 1,
            helpers,
            history: Axis::new(&problem.windows, i64::MIN),
            tasks: Vec::new(),
            orders: Vec::new(),
            free: Vec::new(),
            ages: Vec::new(),
            first_wanted: Vec::new(),
            floors: Vec::new(),
            has_former: former.iter().flatten().any(Option::is_some),
            move_cost: problem.move_cost,
            first_number,
            last,
        };
        for (number, project) in projects.into_iter().enumerate() {
            let order =
                check_project(project, first_number + number, &problem.capacities, longest)?;
            model.add(project, &order, former.get(number).map_or(&[], Vec::as_slice));
        }
        // Behind the last window, work that needs nobody can still go on.
        model.last += model.tasks.iter().map(|task| task.duration).sum::<i64>();
        Ok(model)
    }

    /// Adds a checked project.
    fn add(&mut self, project: &'a Project, order: &[usize], former: &[Option<i64>]) {
        let (number, first) = (self.projects.len(), self.tasks.len());
        let wanted = |task: &Task| {
            let wanted = project.due - project.buffer;
            task.due.map_or(wanted, |due| due.min(wanted))
        };
        self.tasks.extend(project.tasks.iter().enumerate().map(|(place, task)| {
            let takes = task.fixed.map_or(task.duration, |(start, end)| end - start);
            ModelTask {
                project: number,
                place,
                duration: task.duration,
                // What takes no time takes no hands.
                work: if takes == 0 { Work::Unattended } else { task.work },
                uses: &task.uses,
                wanted: wanted(task),
                fixed: task.fixed,
                former: former.get(place).copied().flatten().filter(|_| task.fixed.is_none()),
                ties: Vec::new(),
                keeps: Vec::new(),
                ties_back: Vec::new(),
                keeps_back: Vec::new(),
            }
        }));
        // Placing backward, only what is fixed or stands as it did lies on the board before what comes behind it.
        let stays = |task: &ModelTask<'_>| task.fixed.is_some() || self.has_former;
        for link in &project.links {
            let (from, to) = (first + link.from, first + link.to);
            let tie = Tie { to, kind: link.kind, min: link.min, max: link.max };
            self.tasks[from].ties.push(tie);
            if stays(&self.tasks[from]) {
                self.tasks[to].ties_back.push(Tie { to: from, ..tie });
            }
        }
        for hold in &project.holds {
            let (from, to) = (first + hold.from, first + hold.to);
            let keep = Keep { resource: hold.resource, quantity: hold.quantity, to };
            self.tasks[from].keeps.push(keep);
            if stays(&self.tasks[from]) {
                self.tasks[to].keeps_back.push(Keep { to: from, ..keep });
            }
        }
        let own = &self.tasks[first..];
        let late = own.iter().filter_map(|task| Some(task.fixed?.1 - task.wanted));
        self.floors.push(late.fold(0, i64::max));
        let wanted = own.iter().map(|task| task.wanted);
        self.first_wanted.push(wanted.fold(project.due - project.buffer, i64::min));
        let ends = own.iter().filter_map(|task| Some(task.fixed?.1));
        self.last = ends.fold(self.last.max(project.due), i64::max);
        let order: Vec<usize> = order.iter().map(|place| first + place).collect();
        let is_free = |task: &usize| self.tasks[*task].fixed.is_none();
        self.free.push(order.iter().copied().filter(is_free).collect());
        self.orders.push(order);
        self.ages.push(project.ages.iter().map(|age| (first + age.task, age.due)).collect());
        self.projects.push(project);
    }

    /// The same with room for everything before the earliest time, in one more window, and with ages of any length.
    pub(super) fn loosened(&self) -> Self {
        let room = self.room();
        let axis = self.axis.with_past(self.earliest, room);
        let helpers = self.helpers.iter().map(|&(from, to)| (from + room, to + room)).collect();
        let worked = self.axis.worked_by(i64::MAX).max(1);
        let stretch = ((self.axis.last_close() - self.begin) / worked).max(1);
        Self { axis, helpers, earliest: self.earliest - room, stretch, ..self.clone() }
    }

    /// The same with room for everything behind the last window, in one more, where nothing is wanted.
    pub(super) fn lengthened(&self) -> Self {
        let room = self.room();
        let (axis, last) = (self.axis.with_future(room), self.last.saturating_add(room));
        let close = self.axis.last_close();
        let mut longer = Self { axis, last, ..self.clone() };
        longer.tasks.iter_mut().for_each(|task| task.wanted = task.wanted.min(close));
        longer.first_wanted.iter_mut().for_each(|wanted| *wanted = (*wanted).min(close));
        longer
    }

    /// As much time as all projects one after the other may take.
    fn room(&self) -> i64 {
        let after = |project: &Project| {
            let work: i64 = project.tasks.iter().map(|task| task.duration).sum();
            work + project.links.iter().map(|link| link.min).sum::<i64>()
        };
        self.projects.iter().map(|project| after(project)).sum::<i64>().max(1)
    }

    /// What it takes to go on in the next window, on average; without windows the mean duration of a task.
    pub(super) fn delay(&self) -> f64 {
        let n_windows = self.axis.n_windows();
        if n_windows > 1 {
            return (self.axis.last_close() - self.begin).max(1) as f64 / n_windows as f64;
        }
        let work: i64 = self.tasks.iter().map(|task| task.duration).sum();
        work.max(1) as f64 / self.tasks.len().max(1) as f64
    }

    /// The stretches in which something fixed was or will be worked.
    pub(super) fn fixed_pieces(
        &self,
        task: &ModelTask<'_>,
        start: i64,
        end: i64,
    ) -> Vec<(i64, i64)> {
        let pieces = match task.work {
            Work::Attended { breakable: true } => {
                self.history.pieces(self.history.worked_by(start), self.history.worked_by(end))
            }
            _ => Vec::new(),
        };
        let worked: i64 = pieces.iter().map(|(from, to)| to - from).sum();
        let ends = (pieces.first().map(|one| one.0), pieces.last().map(|one| one.1));
        if ends == (Some(start), Some(end)) && worked == task.duration {
            pieces
        } else {
            vec![(start, end)]
        }
    }
}

/// Checks what the projects share.
fn check_frame(problem: &CalendarProblem) -> Result<(), Error> {
    in_order(&problem.windows)?;
    in_order(&problem.helpers).map_err(|error| match error {
        Error::Windows { index } => Error::Helpers { index },
        other => other,
    })?;
    in_range("earliest time", 0, problem.earliest)?;
    in_range("cost of a move", 0, problem.move_cost)?;
    for (place, &capacity) in problem.capacities.iter().enumerate() {
        in_range("capacity of resource", place, capacity)?;
    }
    if problem.former.len() > problem.projects.len() {
        let (index, n) = (problem.projects.len(), problem.projects.len());
        return Err(Error::Unknown { what: "former project", index, n });
    }
    for (project, former) in problem.projects.iter().zip(&problem.former) {
        let n = project.tasks.len();
        if former.len() > n {
            return Err(Error::Unknown { what: "former task", index: n, n });
        }
        for (place, start) in former.iter().enumerate() {
            at_some_time("former start of task", place, start.unwrap_or(0))?;
        }
    }
    Ok(())
}

/// Checks a project; returns the places of its tasks in topological order.
fn check_project(
    project: &Project,
    number: usize,
    capacities: &[i64],
    longest: i64,
) -> Result<Vec<usize>, Error> {
    let (n_tasks, n_resources) = (project.tasks.len(), capacities.len());
    in_range("due time of project", number, project.due)?;
    in_range("weight of project", number, project.weight)?;
    in_range("buffer of project", number, project.buffer)?;
    in_range("freshness of project", number, project.fresh_max.unwrap_or(0))?;
    let demand = |task: usize, resource: usize, wanted: i64| {
        known("resource", resource, n_resources)?;
        in_range("use of task", task, wanted)?;
        let capacity = capacities[resource];
        if wanted <= capacity {
            Ok(())
        } else {
            Err(Error::Overdemand { task, resource, wanted, capacity })
        }
    };
    for (index, task) in project.tasks.iter().enumerate() {
        in_range("task", index, task.duration)?;
        in_range("due time of task", index, task.due.unwrap_or(0))?;
        if let Some((start, end)) = task.fixed {
            at_some_time("fixed start of task", index, start)?;
            at_some_time("fixed end of task", index, end)?;
            in_range("fixed length of task", index, end - start)?;
            // It is a fact, whatever it took.
            for &(resource, wanted) in &task.uses {
                known("resource", resource, n_resources)?;
                in_range("use of task", index, wanted)?;
            }
            continue;
        }
        for &(resource, wanted) in &task.uses {
            demand(index, resource, wanted)?;
        }
        let (duration, what) = (task.duration, "task");
        if duration == 0 || task.work == Work::Unattended {
            continue;
        }
        if longest <= 0 {
            return Err(Error::NoWindows);
        }
        if task.work != (Work::Attended { breakable: true }) && duration > longest {
            return Err(Error::TooLong { what, index, duration, longest });
        }
    }
    let mut arcs = Vec::with_capacity(project.links.len() + project.holds.len());
    for (place, link) in project.links.iter().enumerate() {
        known("task", link.from, n_tasks)?;
        known("task", link.to, n_tasks)?;
        in_range("least time of link", place, link.min)?;
        if let Some(max) = link.max {
            in_range("most time of link", place, max)?;
            // A most time below the least one can never be kept.
            in_range("most less least time of link", place, max - link.min)?;
        }
        arcs.push((link.from, link.to));
    }
    for hold in &project.holds {
        known("task", hold.from, n_tasks)?;
        known("task", hold.to, n_tasks)?;
        demand(hold.from, hold.resource, hold.quantity)?;
        arcs.push((hold.from, hold.to));
    }
    for (place, age) in project.ages.iter().enumerate() {
        known("task", age.task, n_tasks)?;
        in_range("due time of age", place, age.due)?;
    }
    topological_order(n_tasks, &arcs).map_err(|members| Error::Cycle { what: "tasks", members })
}
