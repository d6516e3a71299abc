//! Places the tasks of some projects on a common board, each as late as it can be.

use crate::{
    Blocked, LinkKind, Obstacle, Work,
    calendar::{
        model::{Model, ModelTask, Tie},
        profile::{Hands, Profile},
    },
};

/// Where a task lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Slot {
    pub(super) start: i64,
    pub(super) end: i64,
    /// The same in working ticks, for attended tasks.
    pub(super) worked: (i64, i64),
}

/// What is placed so far.
#[derive(Clone)]
pub(super) struct Plan {
    pub(super) slots: Vec<Option<Slot>>,
    hands: Hands,
    resources: Vec<Profile>,
}

/// How far the tasks of a group may still go; for one attempt.
struct Limits {
    /// For each task the end to which most times have pulled it forward.
    ends: Vec<i64>,
    /// For each project how much later than wanted it may end.
    shifts: Vec<i64>,
}

/// How often tasks of a group are taken back before it is given up.
const MOST_RETURNS: usize = 300;

impl Plan {
    pub(super) fn new(model: &Model<'_>) -> Self {
        Self {
            slots: vec![None; model.tasks.len()],
            hands: Hands::default(),
            resources: vec![Profile::default(); model.capacities.len()],
        }
    }

    /// Puts a task on the board.
    pub(super) fn take(&mut self, model: &Model<'_>, task: usize, slot: Slot) {
        self.slots[task] = Some(slot);
        let own = &model.tasks[task];
        if matches!(own.work, Work::Attended { .. }) {
            self.hands.add(slot.worked.0, slot.worked.1);
        }
        for &(resource, quantity) in own.uses {
            self.resources[resource].add(slot.start, slot.end, quantity);
        }
        for keep in &own.keeps {
            if let Some(to) = self.slots[keep.to] {
                self.resources[keep.resource].add(slot.start, to.start, keep.quantity);
            }
        }
    }

    /// Takes a task off the board; those it keeps something for must still be on it.
    pub(super) fn give_back(&mut self, model: &Model<'_>, task: usize) {
        let Some(slot) = self.slots[task].take() else { return };
        let own = &model.tasks[task];
        if matches!(own.work, Work::Attended { .. }) {
            self.hands.remove(slot.worked.0, slot.worked.1);
        }
        for &(resource, quantity) in own.uses {
            self.resources[resource].remove(slot.start, slot.end, quantity);
        }
        for keep in &own.keeps {
            if let Some(to) = self.slots[keep.to] {
                self.resources[keep.resource].remove(slot.start, to.start, keep.quantity);
            }
        }
    }

    /// Takes projects off the board.
    pub(super) fn give_back_projects(&mut self, model: &Model<'_>, projects: &[usize]) {
        for &project in projects {
            for &task in &model.orders[project] {
                self.give_back(model, task);
            }
        }
    }

    /// Places tasks in an order in which every task comes behind those it is tied to.
    ///
    /// `shifts` holds, for each project, how much later than wanted it may end.
    /// Where `may_grow`, a project without room is let end ever later; `shifts` then holds what it came to.
    /// On failure nothing of the group is on the board.
    pub(super) fn place_group(
        &mut self,
        model: &Model<'_>,
        order: &[usize],
        shifts: &mut [i64],
        may_grow: bool,
    ) -> Result<(), (usize, Blocked)> {
        let mut limits =
            Limits { ends: vec![i64::MAX; model.tasks.len()], shifts: shifts.to_vec() };
        let (mut next, mut n_returns) = (0, 0);
        let mut n_left = vec![0; model.projects.len()];
        order.iter().for_each(|&task| n_left[model.tasks[task].project] += 1);
        while let Some(&task) = order.get(next) {
            let own = &model.tasks[task];
            let project = own.project;
            let wanted = model.wanted_end(project).saturating_add(limits.shifts[project]);
            let latest = wanted.min(limits.ends[task]);
            let placed = self.latest_slot(model, own, latest).map(|slot| {
                let pulled = self.pulled(model, own, slot);
                if pulled.is_none() {
                    self.take(model, task, slot);
                }
                pulled
            });
            let is_last = n_left[project] == 1;
            let (from, failure) = match placed {
                // A most time is exceeded: the later task has to come forward.
                Ok(Some((to, end))) => {
                    limits.ends[to] = end;
                    (to, None)
                }
                Ok(None) if is_last && self.is_stale(model, project) => {
                    self.give_back(model, task);
                    (task, Some(Obstacle::Age))
                }
                Ok(None) => {
                    n_left[project] -= 1;
                    next += 1;
                    continue;
                }
                Err(obstacle) => (task, Some(obstacle)),
            };
            n_returns += 1;
            let back_to = match failure {
                None => from,
                Some(obstacle) => {
                    let shift = &mut limits.shifts[project];
                    *shift = if *shift == 0 { 1 } else { shift.saturating_mul(2) };
                    let is_beyond =
                        model.wanted_end(project).saturating_add(*shift / 2) > model.last;
                    if !may_grow || is_beyond || n_returns > MOST_RETURNS {
                        self.take_back(model, &order[..next], &mut n_left);
                        return Err((project, Blocked { task: own.place, obstacle }));
                    }
                    for &one in &model.orders[project] {
                        limits.ends[one] = i64::MAX;
                    }
                    let first = order.iter().find(|&&one| model.tasks[one].project == project);
                    first.copied().unwrap_or(task)
                }
            };
            if n_returns > MOST_RETURNS {
                self.take_back(model, &order[..next], &mut n_left);
                return Err((project, Blocked { task: own.place, obstacle: Obstacle::Time }));
            }
            let at = order.iter().position(|&one| one == back_to).unwrap_or(0);
            self.take_back(model, &order[at..next], &mut n_left);
            next = at;
        }
        shifts.copy_from_slice(&limits.shifts);
        Ok(())
    }

    /// Takes tasks off the board again, latest placed first.
    fn take_back(&mut self, model: &Model<'_>, placed: &[usize], n_left: &mut [usize]) {
        for &task in placed.iter().rev() {
            self.give_back(model, task);
            n_left[model.tasks[task].project] += 1;
        }
    }

    /// The latest slot of a task for a project that ends by `shift` later than wanted.
    pub(super) fn unhindered_slot(
        &self,
        model: &Model<'_>,
        task: usize,
        shift: i64,
    ) -> Option<Slot> {
        let own = &model.tasks[task];
        self.latest_slot(model, own, model.wanted_end(own.project).saturating_add(shift)).ok()
    }

    /// How late a project is ready.
    pub(super) fn tardiness(&self, model: &Model<'_>, project: usize) -> i64 {
        let ends = model.orders[project].iter().filter_map(|&task| Some(self.slots[task]?.end));
        ends.max().map_or(0, |end| (end - model.wanted_end(project)).max(0))
    }

    /// How old a project is at its due time, or when it is ready if that is later.
    pub(super) fn age(&self, model: &Model<'_>, project: usize) -> i64 {
        let start =
            model.aging_task(project).and_then(|task| self.slots[task]).map(|slot| slot.start);
        start
            .map_or(0, |start| model.projects[project].due + self.tardiness(model, project) - start)
    }

    fn is_stale(&self, model: &Model<'_>, project: usize) -> bool {
        model.projects[project].fresh_max.is_some_and(|max| self.age(model, project) > max)
    }

    /// The task that has to come forward, and to which end, if this slot exceeds a most time or a kept resource is not free.
    fn pulled(&self, model: &Model<'_>, own: &ModelTask<'_>, slot: Slot) -> Option<(usize, i64)> {
        let over = |tie: &Tie| {
            let to = self.slots[tie.to]?;
            let gap = match tie.kind {
                LinkKind::FinishStart => to.start - slot.end,
                LinkKind::StartStart => to.start - slot.start,
                LinkKind::FinishFinish => to.end - slot.end,
            };
            (gap > tie.max?).then(|| (tie.to, to.end - (gap - tie.max.unwrap_or(gap))))
        };
        let kept = || {
            own.keeps.iter().find_map(|keep| {
                let to = self.slots[keep.to]?;
                let free = self.resources[keep.resource].conflict(
                    slot.start,
                    to.start,
                    keep.quantity,
                    model.capacities[keep.resource],
                )?;
                // The hold has to end where the one in the way begins.
                Some((keep.to, to.end - (to.start - free).max(1)))
            })
        };
        own.ties.iter().find_map(over).or_else(kept)
    }

    /// The latest slot of a task that keeps its least times and is in nobody's way, or what hindered it last.
    fn latest_slot(
        &self,
        model: &Model<'_>,
        own: &ModelTask<'_>,
        latest: i64,
    ) -> Result<Slot, Obstacle> {
        let mut end = latest;
        let mut start = i64::MAX;
        for tie in &own.ties {
            let Some(to) = self.slots[tie.to] else { continue };
            match tie.kind {
                LinkKind::FinishStart => end = end.min(to.start - tie.min),
                LinkKind::StartStart => start = start.min(to.start - tie.min),
                LinkKind::FinishFinish => end = end.min(to.end - tie.min),
            }
        }
        match own.work {
            Work::Attended { breakable } => self.latest_attended(model, own, start, end, breakable),
            Work::Supervised => {
                let end = end.min(start.saturating_add(own.duration));
                let mut obstacle = Obstacle::Time;
                model
                    .axis
                    .windows_before(end)
                    .find_map(|(open, close)| {
                        self.latest_real(model, own, open, end.min(close))
                            .map_err(|hindrance| {
                                if hindrance != Obstacle::Time {
                                    obstacle = hindrance;
                                }
                            })
                            .ok()
                    })
                    .ok_or(obstacle)
            }
            Work::Unattended => {
                let end = end.min(start.saturating_add(own.duration));
                self.latest_real(model, own, model.earliest, end)
            }
        }
    }

    /// The latest slot in real time between `open` and `close`.
    fn latest_real(
        &self,
        model: &Model<'_>,
        own: &ModelTask<'_>,
        open: i64,
        close: i64,
    ) -> Result<Slot, Obstacle> {
        let (mut end, mut obstacle) = (close, Obstacle::Time);
        loop {
            let start = end - own.duration;
            if start < open {
                return Err(obstacle);
            }
            match self.conflict(model, own, start, end) {
                Some((free, resource)) => {
                    (end, obstacle) = (free.min(end - 1), Obstacle::Resource(resource));
                }
                None => return Ok(Slot { start, end, worked: (0, 0) }),
            }
        }
    }

    /// The latest slot in the maker's working time that starts by `latest_start` and ends by `latest_end`.
    fn latest_attended(
        &self,
        model: &Model<'_>,
        own: &ModelTask<'_>,
        latest_start: i64,
        latest_end: i64,
        breakable: bool,
    ) -> Result<Slot, Obstacle> {
        let axis = &model.axis;
        let mut end = axis.worked_by(latest_end);
        if latest_start < i64::MAX {
            end = end.min(axis.begun_by(latest_start) + own.duration);
        }
        let mut obstacle = Obstacle::Time;
        loop {
            let start = end - own.duration;
            if start < 0 {
                return Err(obstacle);
            }
            if !breakable && start < axis.window_start(end) {
                // It would begin in the window before: it ends with that one instead.
                end = axis.window_start(end);
                continue;
            }
            if let Some(free) = self.hands.conflict(start, end) {
                (end, obstacle) = (free, Obstacle::Maker);
                continue;
            }
            let slot =
                Slot { start: axis.real(start), end: axis.real(end - 1) + 1, worked: (start, end) };
            match self.conflict(model, own, slot.start, slot.end) {
                Some((free, resource)) => {
                    end = axis.worked_by(free).min(end - 1);
                    obstacle = Obstacle::Resource(resource);
                }
                None => return Ok(slot),
            }
        }
    }

    /// The resource in the way of a task, and the time by which it must end to be out of it.
    fn conflict(
        &self,
        model: &Model<'_>,
        own: &ModelTask<'_>,
        from: i64,
        to: i64,
    ) -> Option<(i64, usize)> {
        own.uses
            .iter()
            .filter_map(|&(resource, quantity)| {
                let profile = &self.resources[resource];
                let free = profile.conflict(from, to, quantity, model.capacities[resource])?;
                Some((free, resource))
            })
            .min()
    }
}
