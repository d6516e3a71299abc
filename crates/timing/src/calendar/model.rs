//! The tasks of all projects numbered through, with what ties them, checked.

use crate::{
    CalendarProblem, Error, LinkKind, Project, Work,
    calendar::axis::Axis,
    error::{in_order, in_range, known, topological_order},
};

/// A checked problem.
pub(super) struct Model<'a> {
    pub(super) axis: Axis,
    pub(super) projects: Vec<&'a Project>,
    pub(super) capacities: &'a [i64],
    pub(super) earliest: i64,
    /// All tasks, project by project.
    pub(super) tasks: Vec<ModelTask<'a>>,
    /// For each project its tasks, in topological order.
    pub(super) orders: Vec<Vec<usize>>,
    /// No plan reaches beyond this time.
    pub(super) last: i64,
}

pub(super) struct ModelTask<'a> {
    pub(super) project: usize,
    /// Its place in its project.
    pub(super) place: usize,
    pub(super) duration: i64,
    pub(super) work: Work,
    pub(super) uses: &'a [(usize, i64)],
    /// Links to later tasks.
    pub(super) ties: Vec<Tie>,
    /// Resources kept from its start on.
    pub(super) keeps: Vec<Keep>,
}

#[derive(Clone, Copy)]
pub(super) struct Tie {
    pub(super) to: usize,
    pub(super) kind: LinkKind,
    pub(super) min: i64,
    pub(super) max: Option<i64>,
}

#[derive(Clone, Copy)]
pub(super) struct Keep {
    pub(super) resource: usize,
    pub(super) quantity: i64,
    pub(super) to: usize,
}

impl<'a> Model<'a> {
    /// Checks a problem and, beside it, perhaps one more project.
    pub(super) fn new(
        problem: &'a CalendarProblem,
        beside: Option<&'a Project>,
    ) -> Result<Self, Error> {
        in_order(&problem.windows)?;
        in_range("earliest time", 0, problem.earliest)?;
        for (place, &capacity) in problem.capacities.iter().enumerate() {
            in_range("capacity of resource", place, capacity)?;
        }
        let longest = problem
            .windows
            .iter()
            .map(|(open, close)| close - open.max(&problem.earliest))
            .max()
            .unwrap_or(0);
        let projects: Vec<&Project> = problem.projects.iter().chain(beside).collect();
        let axis = Axis::new(&problem.windows, problem.earliest);
        let (mut tasks, mut orders) = (Vec::new(), Vec::new());
        let mut last = axis.last_close().max(problem.earliest);
        for (number, project) in projects.iter().enumerate() {
            let order = check_project(project, number, &problem.capacities, longest)?;
            let first = tasks.len();
            tasks.extend(project.tasks.iter().enumerate().map(|(place, task)| ModelTask {
                project: number,
                place,
                duration: task.duration,
                // What takes no time takes no hands.
                work: if task.duration == 0 { Work::Unattended } else { task.work },
                uses: &task.uses,
                ties: Vec::new(),
                keeps: Vec::new(),
            }));
            for link in &project.links {
                let tie =
                    Tie { to: first + link.to, kind: link.kind, min: link.min, max: link.max };
                tasks[first + link.from].ties.push(tie);
            }
            for hold in &project.holds {
                let (resource, quantity) = (hold.resource, hold.quantity);
                tasks[first + hold.from].keeps.push(Keep {
                    resource,
                    quantity,
                    to: first + hold.to,
                });
            }
            orders.push(order.into_iter().map(|place| first + place).collect());
            // Behind the last window, work that needs nobody can still go on.
            last = last.max(project.due);
        }
        last += tasks.iter().map(|task| task.duration).sum::<i64>();
        let (capacities, earliest) = (problem.capacities.as_slice(), problem.earliest);
        Ok(Self { axis, projects, capacities, earliest, tasks, orders, last })
    }

    /// The time by which a project should end to keep its due time.
    pub(super) fn wanted_end(&self, project: usize) -> i64 {
        self.projects[project].due - self.projects[project].buffer
    }

    /// The task from whose start a project ages.
    pub(super) fn aging_task(&self, project: usize) -> Option<usize> {
        let place = self.projects[project].age_from?;
        self.orders[project].iter().copied().find(|&task| self.tasks[task].place == place)
    }
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
    if let Some(task) = project.age_from {
        known("task", task, n_tasks)?;
    }
    topological_order(n_tasks, &arcs).map_err(|members| Error::Cycle { what: "tasks", members })
}
