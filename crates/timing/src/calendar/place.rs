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

/// How often most times may pull tasks forward before a project is given up or let end later.
const MOST_PULLS: usize = 300;

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
    /// On failure nothing of the group is on the board, and the project that found no room is named.
    pub(super) fn place_group(
        &mut self,
        model: &Model<'_>,
        order: &[usize],
        shifts: &mut [i64],
        may_grow: bool,
    ) -> Result<(), (usize, Blocked)> {
        // Ends to which most times have pulled tasks forward.
        let mut pulled = vec![i64::MAX; model.tasks.len()];
        let (mut next, mut n_pulls) = (0, 0);
        while let Some(&task) = order.get(next) {
            let ModelTask { project, place, .. } = model.tasks[task];
            let wanted = model.wanted_end(project).saturating_add(shifts[project]);
            let back_to = match self.try_task(model, task, wanted.min(pulled[task])) {
                Ok(None) => {
                    next += 1;
                    continue;
                }
                Ok(Some((to, end))) if n_pulls < MOST_PULLS => {
                    n_pulls += 1;
                    pulled[to] = end;
                    to
                }
                failed => {
                    let obstacle = failed.err().unwrap_or(Obstacle::MostTime);
                    if !may_grow || wanted > model.last {
                        self.take_back(model, &order[..next]);
                        let aging = model.projects[project].age_from;
                        let task = aging.filter(|_| obstacle == Obstacle::Age).unwrap_or(place);
                        return Err((project, Blocked { task, obstacle }));
                    }
                    shifts[project] = (shifts[project] * 2).max(1);
                    n_pulls = 0;
                    model.orders[project].iter().for_each(|&one| pulled[one] = i64::MAX);
                    let first = order.iter().find(|&&one| model.tasks[one].project == project);
                    first.copied().unwrap_or(task)
                }
            };
            let at = order.iter().position(|&one| one == back_to).unwrap_or(0);
            self.take_back(model, &order[at..next]);
            next = at;
        }
        Ok(())
    }

    /// Takes tasks off the board again, latest placed first.
    fn take_back(&mut self, model: &Model<'_>, placed: &[usize]) {
        placed.iter().rev().for_each(|&task| self.give_back(model, task));
    }

    /// Places a task; or tells which later task has to come forward, and to which end; or what was in the way.
    fn try_task(
        &mut self,
        model: &Model<'_>,
        task: usize,
        latest: i64,
    ) -> Result<Option<(usize, i64)>, Obstacle> {
        let own = &model.tasks[task];
        let slot = self.latest_slot(model, own, latest)?;
        let pulled = self.pulled(model, own, slot);
        if pulled.is_none() {
            self.take(model, task, slot);
            if self.is_stale(model, own.project) {
                self.give_back(model, task);
                return Err(Obstacle::Age);
            }
        }
        Ok(pulled)
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

    /// Whether a project is placed and too old.
    fn is_stale(&self, model: &Model<'_>, project: usize) -> bool {
        model.projects[project].fresh_max.is_some_and(|max| {
            model.orders[project].iter().all(|&task| self.slots[task].is_some())
                && self.age(model, project) > max
        })
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
