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
#[derive(Clone, Debug)]
pub(super) struct Plan {
    pub(super) slots: Vec<Option<Slot>>,
    hands: Hands,
    resources: Vec<Profile>,
}

/// How often most times may pull tasks forward before a project is given up or let end later.
const MOST_PULLS: usize = 300;

/// Where the tasks of a group may go.
#[derive(Clone, Copy, Debug)]
pub(super) struct Leave {
    /// A project without room is let end ever later.
    pub(super) to_grow: bool,
    /// A task goes back to where it was in the former plan if it can.
    pub(super) to_stay: bool,
}

impl Leave {
    pub(super) const NONE: Self = Self { to_grow: false, to_stay: false };
}

impl Plan {
    /// A board with nothing but what is fixed.
    pub(super) fn new(model: &Model<'_>) -> Self {
        let mut plan = Self::empty(model);
        for &task in model.orders.iter().flatten() {
            if let Some((start, end)) = model.tasks[task].fixed {
                plan.take_span(model, task, start, end);
            }
        }
        plan
    }

    /// A board with nothing on it, not even what is fixed.
    pub(super) fn empty(model: &Model<'_>) -> Self {
        Self {
            slots: vec![None; model.tasks.len()],
            hands: Hands::default(),
            resources: vec![Profile::default(); model.capacities.len()],
        }
    }

    /// A board for a model of further projects that share hands and resources with what is on this one.
    pub(super) fn beside(&self, model: &Model<'_>) -> Self {
        let mut plan = Self {
            slots: vec![None; model.tasks.len()],
            hands: self.hands.clone(),
            resources: self.resources.clone(),
        };
        for &task in model.orders.iter().flatten() {
            if let Some((start, end)) = model.tasks[task].fixed {
                plan.take_span(model, task, start, end);
            }
        }
        plan
    }

    /// Puts a task on the board at given real times.
    pub(super) fn take_span(&mut self, model: &Model<'_>, task: usize, start: i64, end: i64) {
        let worked = (model.axis.worked_by(start), model.axis.worked_by(end));
        self.take(model, task, Slot { start, end, worked });
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
        for keep in &own.keeps_back {
            if let Some(from) = self.slots[keep.to] {
                self.resources[keep.resource].add(from.start, slot.start, keep.quantity);
            }
        }
    }

    /// Takes a task off the board, unless it is fixed.
    pub(super) fn give_back(&mut self, model: &Model<'_>, task: usize) {
        let own = &model.tasks[task];
        if own.fixed.is_some() {
            return;
        }
        let Some(slot) = self.slots[task].take() else { return };
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
        for keep in &own.keeps_back {
            if let Some(from) = self.slots[keep.to] {
                self.resources[keep.resource].remove(from.start, slot.start, keep.quantity);
            }
        }
    }

    /// If other work has the hands in a stretch of working ticks: the tick from which it does not.
    pub(super) fn hands_free_from(&self, from: i64, to: i64) -> Option<i64> {
        self.hands.free_from(from, to)
    }

    /// If a resource runs out in a stretch, beside what further stretches use: the time from which it does not.
    pub(super) fn resource_free_from(
        &self,
        resource: usize,
        stretch: (i64, i64),
        quantity: i64,
        capacity: i64,
        more: impl Iterator<Item = (i64, i64, i64)> + Clone,
    ) -> Option<i64> {
        self.resources[resource].free_from(stretch, quantity, capacity, more)
    }

    /// Takes projects off the board.
    pub(super) fn give_back_projects(&mut self, model: &Model<'_>, projects: &[usize]) {
        for &project in projects {
            for &task in &model.free[project] {
                self.give_back(model, task);
            }
        }
    }

    /// Places tasks in an order in which every task comes behind those it is tied to.
    ///
    /// `shifts` holds, for each project, how much later than wanted it may end.
    /// If the project is let grow, `shifts` then holds what it came to.
    /// On failure nothing of the group is on the board, and the project that found no room is named.
    pub(super) fn place_group(
        &mut self,
        model: &Model<'_>,
        order: &[usize],
        shifts: &mut [i64],
        leave: Leave,
    ) -> Result<(), (usize, Blocked)> {
        // Ends to which most times have pulled tasks forward.
        let mut pulled = vec![i64::MAX; model.tasks.len()];
        let (mut next, mut n_pulls) = (0, 0);
        while let Some(&task) = order.get(next) {
            let ModelTask { project, place, wanted, .. } = model.tasks[task];
            let latest = wanted.saturating_add(shifts[project]).min(pulled[task]);
            let back_to = match self.try_task(model, task, latest, leave.to_stay) {
                Ok(None) => {
                    next += 1;
                    continue;
                }
                // What is not of this group cannot come forward.
                Ok(Some((to, end))) if n_pulls < MOST_PULLS && order.contains(&to) => {
                    n_pulls += 1;
                    pulled[to] = end;
                    to
                }
                failed => {
                    let obstacle = failed.err().unwrap_or(Obstacle::MostTime);
                    let first = model.first_wanted[project].saturating_add(shifts[project]);
                    if !leave.to_grow || first > model.last {
                        self.take_back(model, &order[..next]);
                        let aging = Self::aging(model, project);
                        let task = aging.filter(|_| obstacle == Obstacle::Age).unwrap_or(place);
                        return Err((project, Blocked { task, obstacle }));
                    }
                    let floor = model.floors[project];
                    shifts[project] = floor + ((shifts[project] - floor) * 2).max(1);
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
        to_stay: bool,
    ) -> Result<Option<(usize, i64)>, Obstacle> {
        let own = &model.tasks[task];
        let former = if to_stay { self.former_slot(model, task, latest) } else { None };
        let slot = former.map_or_else(|| self.free_slot(model, own, latest), Ok)?;
        let pulled = self.pulled(model, own, slot);
        if pulled.is_none() {
            self.take(model, task, slot);
            if model.earliest == model.begin && self.is_stale(model, own.project) {
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
        self.latest_slot(model, own, own.wanted.saturating_add(shift)).ok()
    }

    /// The slot of a task in the former plan, if it is still free and ends by `latest`.
    pub(super) fn former_slot(&self, model: &Model<'_>, task: usize, latest: i64) -> Option<Slot> {
        let own = &model.tasks[task];
        let start = own.former?;
        let length = match own.work {
            Work::Attended { .. } => {
                let from = model.axis.worked_by(start);
                model.axis.real(from + own.duration - 1) + 1 - start
            }
            _ => own.duration,
        };
        let end = start.saturating_add(length.max(own.duration));
        if start < model.begin || end > latest {
            return None;
        }
        // The latest slot that ends by then is this one if this one is free.
        let slot = self.latest_slot(model, own, end).ok().filter(|slot| slot.start == start)?;
        let is_free =
            self.kept_back(model, own, slot).is_none() && self.pulled(model, own, slot).is_none();
        is_free.then_some(slot)
    }

    /// How late a project is ready.
    pub(super) fn tardiness(&self, model: &Model<'_>, project: usize) -> i64 {
        let late = model.orders[project]
            .iter()
            .filter_map(|&task| Some(self.slots[task]?.end - model.tasks[task].wanted));
        late.fold(0, i64::max)
    }

    /// How old a project is at its due times, or when it is ready if that is later, summed up.
    pub(super) fn age(&self, model: &Model<'_>, project: usize) -> i64 {
        if model.ages[project].is_empty() {
            return 0;
        }
        let tardy = self.tardiness(model, project);
        self.age_starts(model, project).map(|(_, start, due)| due + tardy - start).sum()
    }

    /// How many tasks of a project start at another time than in the former plan.
    pub(super) fn n_moved(&self, model: &Model<'_>, project: usize) -> i64 {
        if !model.has_former {
            return 0;
        }
        let is_moved = |&&task: &&usize| {
            let former = model.tasks[task].former;
            former.is_some() && self.slots[task].map(|slot| slot.start) != former
        };
        model.free[project].iter().filter(is_moved).count() as i64
    }

    /// The tasks a project ages from that are on the board: task, start, and the due time.
    fn age_starts(
        &self,
        model: &Model<'_>,
        project: usize,
    ) -> impl Iterator<Item = (usize, i64, i64)> {
        model.ages[project]
            .iter()
            .filter_map(|&(task, due)| Some((task, self.slots[task]?.start, due)))
    }

    /// The same plan for a model with the same tasks on another axis.
    pub(super) fn onto(&self, model: &Model<'_>) -> Self {
        let mut plan = Self::new(model);
        for &task in model.free.iter().flat_map(|free| free.iter().rev()) {
            if let Some(slot) = self.slots[task] {
                plan.take_span(model, task, slot.start, slot.end);
            }
        }
        plan
    }

    /// How much of a project lies before the earliest time, and how much older than it may be it is, in ticks of real time.
    pub(super) fn excess(&self, model: &Model<'_>, project: usize) -> i64 {
        let early = model.free[project]
            .iter()
            .filter_map(|&task| {
                let slot = self.slots[task]?;
                let own = &model.tasks[task];
                (slot.start < model.begin).then(|| match own.work {
                    Work::Unattended => model.begin - slot.start,
                    _ => (model.begin - slot.start).min(own.duration).saturating_mul(model.stretch),
                })
            })
            .fold(0, i64::saturating_add);
        let Some(max) = model.projects[project].fresh_max else { return early };
        let tardy = self.tardiness(model, project);
        let stale: i64 = self
            .age_starts(model, project)
            .filter(|&(task, ..)| model.tasks[task].fixed.is_none())
            .map(|(_, start, due)| (due + tardy - start - max).max(0))
            .sum();
        early.saturating_add(stale)
    }

    /// Whether a project is placed and too old; what is fixed is as old as it is.
    pub(super) fn is_stale(&self, model: &Model<'_>, project: usize) -> bool {
        model.projects[project].fresh_max.is_some_and(|max| {
            model.orders[project].iter().all(|&task| self.slots[task].is_some()) && {
                let tardy = self.tardiness(model, project);
                self.age_starts(model, project).any(|(task, start, due)| {
                    model.tasks[task].fixed.is_none() && due + tardy - start > max
                })
            }
        })
    }

    /// The place of the first task a project ages from that is not fixed.
    fn aging(model: &Model<'_>, project: usize) -> Option<usize> {
        let mut ages = model.ages[project].iter();
        let (task, _) = ages.find(|age| model.tasks[age.0].fixed.is_none())?;
        Some(model.tasks[*task].place)
    }

    /// Where the maker's other work leaves room for a task, as late as can be and with what is kept until it begins.
    fn free_slot(
        &self,
        model: &Model<'_>,
        own: &ModelTask<'_>,
        mut latest: i64,
    ) -> Result<Slot, Obstacle> {
        let mut kept = None;
        loop {
            let slot = self
                .latest_slot(model, own, latest)
                .map_err(|obstacle| kept.map_or(obstacle, Obstacle::Resource))?;
            let Some((end, resource)) = self.kept_back(model, own, slot) else { return Ok(slot) };
            (latest, kept) = (end, Some(resource));
        }
    }

    /// By when a task has to end so that what is kept until it begins is free, and what is kept.
    fn kept_back(
        &self,
        model: &Model<'_>,
        own: &ModelTask<'_>,
        slot: Slot,
    ) -> Option<(i64, usize)> {
        own.keeps_back.iter().find_map(|keep| {
            let from = self.slots[keep.to]?;
            let capacity = model.capacities[keep.resource];
            let free = self.resources[keep.resource].conflict(
                from.start,
                slot.start,
                keep.quantity,
                capacity,
            )?;
            Some((slot.end - (slot.start - free).max(1), keep.resource))
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
        let (mut open, mut open_end) = (i64::MIN, i64::MIN);
        for tie in &own.ties_back {
            let Some(from) = self.slots[tie.to] else { continue };
            let most = |time: i64| tie.max.map_or(i64::MAX, |max| time + max);
            match tie.kind {
                LinkKind::FinishStart => {
                    (open, start) = (open.max(from.end + tie.min), start.min(most(from.end)));
                }
                LinkKind::StartStart => {
                    (open, start) = (open.max(from.start + tie.min), start.min(most(from.start)));
                }
                LinkKind::FinishFinish => {
                    (open_end, end) = (open_end.max(from.end + tie.min), end.min(most(from.end)));
                }
            }
        }
        let slot = self.latest_within(model, own, start, end)?;
        // Any other slot lies earlier still.
        if slot.start < open || slot.end < open_end { Err(Obstacle::Fixed) } else { Ok(slot) }
    }

    /// The latest slot of a task that starts by `start`, ends by `end` and is in nobody's way.
    fn latest_within(
        &self,
        model: &Model<'_>,
        own: &ModelTask<'_>,
        start: i64,
        end: i64,
    ) -> Result<Slot, Obstacle> {
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
            if let Some(free) = self.hands.conflict(start, end, &model.helpers) {
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
