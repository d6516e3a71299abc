//! When are projects ready at the earliest, if their tasks are taken up in a given order?
//!
//! Each task begins as early as those before it, its least times, hands and resources allow; where a most time is exceeded,
//! or a project would be too old, the earlier task waits, and all behind it is laid again.
//! Times only ever rise, so what comes out is early for all projects at once: with one pair of hands and nothing else
//! that is scarce it is the least tardiness that each of them can have in this order.
//!
//! Least times that rise until nothing moves: Brucker, Hilbig, Hurink, Discrete Applied Mathematics 94, 1999 (from memory).

use crate::{
    LinkKind, Work,
    calendar::{
        model::{Keep, Model},
        place::Plan,
    },
};

/// How often tasks are laid again before the order is given up.
const MOST_ROUNDS: usize = 20;

/// Tasks laid as early as can be.
pub(super) struct Ahead<'a> {
    model: &'a Model<'a>,
    /// What else lies on the board.
    board: &'a Plan,
    projects: &'a [usize],
    pub(super) starts: Vec<i64>,
    pub(super) ends: Vec<i64>,
    /// No task starts or ends before.
    least_starts: Vec<i64>,
    least_ends: Vec<i64>,
    /// Where each task is in the order.
    places: Vec<usize>,
    /// For each resource the tasks that use or keep it, in order.
    users: Vec<Vec<usize>>,
    /// The order, and whether a task that waits lets those behind it go first.
    pub(super) order: Vec<usize>,
    yields: bool,
    /// Tasks that wait, each with a time before which it does not begin.
    waiting: Vec<(usize, i64)>,
    /// For each place in the order the working tick from which hands are free.
    hands: Vec<i64>,
}

impl<'a> Ahead<'a> {
    /// For projects whose tasks are not on the board, but for those that are fixed.
    pub(super) fn new(model: &'a Model<'a>, board: &'a Plan, projects: &'a [usize]) -> Self {
        let n = model.tasks.len();
        Self {
            model,
            board,
            projects,
            starts: vec![0; n],
            ends: vec![0; n],
            least_starts: vec![0; n],
            least_ends: vec![0; n],
            places: vec![0; n],
            users: vec![Vec::new(); model.capacities.len()],
            order: Vec::new(),
            yields: false,
            waiting: Vec::new(),
            hands: Vec::new(),
        }
    }

    /// Lays the tasks in an order in which each comes before those it is tied to; tells whether that comes to anything.
    ///
    /// If it does not as it is, those that wait let others go first: `order` then holds what came of it.
    pub(super) fn lay(&mut self, order: &[usize]) -> bool {
        [false, true].into_iter().any(|yields| {
            self.yields = yields;
            self.order.clear();
            self.order.extend_from_slice(order);
            self.begin().is_some_and(|()| self.lay_again() == Some(true))
        })
    }

    /// How late a project is ready.
    pub(super) fn tardiness(&self, project: usize) -> i64 {
        let tasks = self.model.orders[project].iter();
        let late = tasks.map(|&task| self.ends[task] - self.model.tasks[task].wanted);
        late.fold(self.model.floors[project], i64::max)
    }

    fn begin(&mut self) -> Option<()> {
        let model = self.model;
        for &task in self.projects.iter().flat_map(|&one| &model.orders[one]) {
            let (start, end) = model.tasks[task].fixed.unwrap_or((i64::MIN, i64::MIN));
            (self.starts[task], self.ends[task]) = (start, end);
            (self.least_starts[task], self.least_ends[task]) = (model.begin, i64::MIN);
        }
        self.users.iter_mut().for_each(Vec::clear);
        for (place, &task) in self.order.iter().enumerate() {
            let own = &model.tasks[task];
            self.places[task] = place;
            own.uses.iter().for_each(|one| self.users[one.0].push(task));
            let only_kept = |keep: &&Keep| own.uses.iter().all(|one| one.0 != keep.resource);
            own.keeps
                .iter()
                .filter(only_kept)
                .for_each(|keep| self.users[keep.resource].push(task));
        }
        self.users.iter_mut().for_each(Vec::dedup);
        for &task in self.projects.iter().flat_map(|&one| &model.orders[one]) {
            let is_fixed = |task: usize| model.tasks[task].fixed.is_some();
            // What is kept from or until something fixed may be in the way of what is on the board: it does not give way.
            if model.tasks[task].keeps.iter().any(|keep| is_fixed(task) != is_fixed(keep.to)) {
                return None;
            }
            if is_fixed(task) {
                self.push(task);
            }
        }
        self.waiting.clear();
        self.hands.clear();
        self.hands.push(model.axis.worked_by(model.begin));
        self.lay_from(0)
    }

    /// Lets tasks wait and lays what follows again, until nothing has to wait; tells whether it came to that.
    fn lay_again(&mut self) -> Option<bool> {
        for _ in 0..MOST_ROUNDS {
            let mut first = self.first_clash();
            for &project in self.projects {
                first = first.min(self.hold_back(project)?);
            }
            if first == self.order.len() {
                return Some(true);
            }
            first = first.min(self.let_pass());
            self.lay_from(first)?;
        }
        Some(false)
    }

    /// Lays the tasks from a place in the order on; nothing if there is no room.
    fn lay_from(&mut self, first: usize) -> Option<()> {
        self.hands.truncate(first + 1);
        let mut hands = self.hands[first];
        for place in first..self.order.len() {
            let task = self.order[place];
            let own = &self.model.tasks[task];
            let (start, end) = match own.work {
                Work::Attended { breakable } => {
                    let worked = self.attended(task, hands, breakable)?;
                    hands = worked + own.duration;
                    let axis = &self.model.axis;
                    (axis.real(worked), axis.real(hands - 1) + 1)
                }
                Work::Supervised | Work::Unattended => self.unattended(task)?,
            };
            (self.starts[task], self.ends[task]) = (start, end);
            self.hands.push(hands);
            self.push(task);
        }
        Some(())
    }

    /// Where tasks wait, those behind them that could begin before go first, if they are to; returns the first place that changed.
    fn let_pass(&mut self) -> usize {
        let mut first = self.order.len();
        let mut waiting = std::mem::take(&mut self.waiting);
        if self.yields {
            waiting.sort_by_key(|&(task, _)| std::cmp::Reverse(self.places[task]));
            for &(task, least) in &waiting {
                let own = &self.model.tasks[task];
                let from = self.places[task];
                let mut to = from;
                while let Some(&next) = self.order.get(to + 1) {
                    let is_tied = own.ties.iter().any(|tie| tie.to == next)
                        || own.keeps.iter().any(|keep| keep.to == next);
                    if is_tied || self.starts[next] >= least {
                        break;
                    }
                    to += 1;
                }
                if to > from {
                    self.order[from..=to].rotate_left(1);
                    (from..=to).for_each(|place| self.places[self.order[place]] = place);
                    first = first.min(from);
                }
            }
            if first < self.order.len() {
                let places = &self.places;
                self.users.iter_mut().for_each(|users| users.sort_by_key(|&one| places[one]));
            }
        }
        waiting.clear();
        self.waiting = waiting;
        first
    }

    /// The place of the first task whose resources are not free, since something is kept longer than was known; else of the end.
    fn first_clash(&self) -> usize {
        let clashes =
            |&task: &usize| self.free_from(task, self.starts[task], self.ends[task]).is_some();
        self.order.iter().position(clashes).unwrap_or(self.order.len())
    }

    /// The first working tick at which an attended task can begin.
    fn attended(&self, task: usize, hands: i64, breakable: bool) -> Option<i64> {
        let (axis, own) = (&self.model.axis, &self.model.tasks[task]);
        let n_worked = axis.n_worked();
        let mut worked = axis.worked_by(self.least_starts[task]).max(hands);
        if self.least_ends[task] > i64::MIN {
            worked = worked.max(axis.worked_by(self.least_ends[task] - 1) + 1 - own.duration);
        }
        loop {
            if worked + own.duration > n_worked {
                return None;
            }
            if !breakable {
                let close = axis.window_end(worked);
                if worked + own.duration > close {
                    worked = close;
                    continue;
                }
            }
            if let Some(free) = self.board.hands_free_from(worked, worked + own.duration) {
                worked = free;
                continue;
            }
            if own.uses.is_empty() && own.keeps.is_empty() {
                return Some(worked);
            }
            let (start, end) = (axis.real(worked), axis.real(worked + own.duration - 1) + 1);
            match self.free_from(task, start, end) {
                Some(free) => worked = axis.worked_by(free).max(worked + 1),
                None => return Some(worked),
            }
        }
    }

    /// The first start and end of a task that leaves the hands free.
    fn unattended(&self, task: usize) -> Option<(i64, i64)> {
        let own = &self.model.tasks[task];
        let by_end = self.least_ends[task].saturating_sub(own.duration);
        let mut start = self.least_starts[task].max(by_end);
        loop {
            if own.work == Work::Supervised {
                start = self.model.axis.start_inside(start, own.duration)?;
            }
            let end = start.checked_add(own.duration).filter(|&end| end <= self.model.last)?;
            match self.free_from(task, start, end) {
                Some(free) => start = free.max(start + 1),
                None => return Some((start, end)),
            }
        }
    }

    /// If a resource is in the way of a task: the time from which it is not.
    fn free_from(&self, task: usize, start: i64, end: i64) -> Option<i64> {
        let own = &self.model.tasks[task];
        let used = own.uses.iter().map(|&(resource, quantity)| (resource, quantity, end));
        let kept =
            own.keeps.iter().map(|keep| (keep.resource, keep.quantity, self.kept_until(keep.to)));
        used.chain(kept)
            .filter_map(|(resource, quantity, to)| {
                let before = |one: &&usize| self.places[**one] < self.places[task];
                let laid = self.users[resource].iter().take_while(before);
                let taken = laid.flat_map(|&one| self.taken(one, resource));
                let capacity = self.model.capacities[resource];
                self.board.resource_free_from(resource, (start, to), quantity, capacity, taken)
            })
            .max()
    }

    /// What a laid task takes of a resource: from, to, quantity.
    fn taken(
        &self,
        task: usize,
        resource: usize,
    ) -> impl Iterator<Item = (i64, i64, i64)> + Clone + '_ {
        let (start, end) = (self.starts[task], self.ends[task]);
        let own = &self.model.tasks[task];
        let used = own.uses.iter().filter(move |one| one.0 == resource);
        let kept = own.keeps.iter().filter(move |keep| keep.resource == resource);
        used.map(move |one| (start, end, one.1))
            .chain(kept.map(move |keep| (start, self.kept_until(keep.to), keep.quantity)))
    }

    /// Until when something is kept that is kept until this task starts, as far as is known.
    fn kept_until(&self, task: usize) -> i64 {
        self.starts[task].max(self.least_starts[task])
    }

    /// Later tasks keep their least times.
    fn push(&mut self, task: usize) {
        let (start, end) = (self.starts[task], self.ends[task]);
        for tie in &self.model.tasks[task].ties {
            let (least, time) = match tie.kind {
                LinkKind::FinishStart => (&mut self.least_starts[tie.to], end),
                LinkKind::StartStart => (&mut self.least_starts[tie.to], start),
                LinkKind::FinishFinish => (&mut self.least_ends[tie.to], end),
            };
            *least = (*least).max(time + tie.min);
        }
        for keep in &self.model.tasks[task].keeps {
            self.least_starts[keep.to] = self.least_starts[keep.to].max(start);
        }
    }

    /// Earlier tasks wait where most times are exceeded, or what ages would be too old.
    ///
    /// Returns the place of the first that has to, or of the end of the order; nothing if that is something fixed.
    fn hold_back(&mut self, project: usize) -> Option<usize> {
        let model = self.model;
        let mut first = self.hands.len() - 1;
        for &task in &model.orders[project] {
            for tie in &model.tasks[task].ties {
                let is_fixed = model.tasks[task].fixed.is_some();
                let is_tied_to_fixed = model.tasks[tie.to].fixed.is_some();
                if is_fixed && is_tied_to_fixed {
                    continue;
                }
                let (start, end) = (self.starts[tie.to], self.ends[tie.to]);
                let (least, now, time) = match tie.kind {
                    LinkKind::FinishStart => (&mut self.least_ends[task], self.ends[task], start),
                    LinkKind::StartStart => {
                        (&mut self.least_starts[task], self.starts[task], start)
                    }
                    LinkKind::FinishFinish => (&mut self.least_ends[task], self.ends[task], end),
                };
                if is_tied_to_fixed && now > time - tie.min {
                    return None;
                }
                let Some(most) = tie.max else { continue };
                if now < time - most {
                    if is_fixed {
                        return None;
                    }
                    *least = (*least).max(time - most);
                    let by_end = self.least_ends[task].saturating_sub(model.tasks[task].duration);
                    self.waiting.push((task, self.least_starts[task].max(by_end)));
                    first = first.min(self.places[task]);
                }
            }
        }
        let Some(most) = model.projects[project].fresh_max else { return Some(first) };
        let late = self.tardiness(project);
        for &(task, due) in &model.ages[project] {
            let least = due + late - most;
            if self.starts[task] < least && model.tasks[task].fixed.is_none() {
                self.least_starts[task] = self.least_starts[task].max(least);
                self.waiting.push((task, least));
                first = first.min(self.places[task]);
            }
        }
        Some(first)
    }
}
