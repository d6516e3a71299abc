//! From an order of jobs to the earliest times that keep it.

use crate::{Sequence, SequenceProblem};

/// Turns orders into times; holds what does not change from one order to the next.
pub(super) struct Decoder<'a> {
    pub(super) problem: &'a SequenceProblem,
    /// For each job: (other job, lag from its start, whether the other must already be placed).
    waits: Vec<Vec<Wait>>,
    /// For each job the jobs it never runs beside.
    apart: Vec<Vec<usize>>,
    windows: Vec<(i64, i64)>,
}

struct Wait {
    other: usize,
    lag: i64,
    fixed: bool,
}

/// What one order comes to.
#[derive(Clone, Debug, Default)]
pub(super) struct Decoded {
    pub(super) starts: Vec<i64>,
    pub(super) workers: Vec<usize>,
    pub(super) prep_starts: Vec<Option<i64>>,
    pub(super) prep_workers: Vec<usize>,
    pub(super) order: Vec<usize>,
    pub(super) active: i64,
    pub(super) switches: usize,
    pub(super) busy: i64,
    /// Set when a job found no room in any window.
    pub(super) overflows: bool,
}

/// No start yet.
const UNPLACED: i64 = i64::MIN;
/// Beyond any window: an order that needs it is not feasible.
const NEVER: i64 = i64::MAX / 4;

#[derive(Clone, Copy)]
struct Worker {
    free: i64,
    bag: Option<usize>,
    /// Window in which the hand last worked: a new session starts with an empty hand.
    window: usize,
}

impl Worker {
    fn has(self, bag: usize, window: usize) -> bool {
        self.bag == Some(bag) && self.window == window
    }
}

impl<'a> Decoder<'a> {
    pub(super) fn new(problem: &'a SequenceProblem) -> Self {
        let n = problem.jobs.len();
        let mut waits: Vec<Vec<Wait>> = (0..n).map(|_| Vec::new()).collect();
        for one in &problem.precedences {
            waits[one.after].push(Wait { other: one.before, lag: one.lag, fixed: true });
        }
        for pair in &problem.either_orders {
            waits[pair.b].push(Wait { other: pair.a, lag: pair.lag_ab, fixed: false });
            waits[pair.a].push(Wait { other: pair.b, lag: pair.lag_ba, fixed: false });
        }
        let mut apart: Vec<Vec<usize>> = vec![Vec::new(); n];
        if problem.n_workers > 1 {
            for set in &problem.exclusive {
                for &job in set {
                    apart[job].extend(set.iter().copied().filter(|&other| other != job));
                }
            }
        }
        let windows = problem.windows.clone().unwrap_or_else(|| vec![(0, NEVER)]);
        Self { problem, waits, apart, windows }
    }

    pub(super) fn n_items(&self) -> usize {
        self.problem.jobs.len() + self.problem.bags.len()
    }

    /// Decodes an order of items: jobs by their places, then preparations of bags, counted on.
    ///
    /// A job whose fixed predecessors are not placed yet is put off until they are; a bag is prepared at its place in the order,
    /// or at its first job if that comes earlier.
    pub(super) fn decode(&self, items: &[usize]) -> Decoded {
        let n_jobs = self.problem.jobs.len();
        let mut state = State {
            workers: vec![
                Worker {
                    free: self.windows.first().map_or(0, |w| w.0),
                    bag: None,
                    window: 0
                };
                self.problem.n_workers
            ],
            ready: vec![None; self.problem.bags.len()],
            left: self.n_jobs_of_bags(),
            decoded: Decoded {
                starts: vec![UNPLACED; n_jobs],
                workers: vec![0; n_jobs],
                prep_starts: vec![None; self.problem.bags.len()],
                prep_workers: vec![0; self.problem.bags.len()],
                order: Vec::with_capacity(n_jobs),
                ..Decoded::default()
            },
        };
        let mut put_off: Vec<usize> = Vec::new();
        for &item in items {
            if item >= n_jobs {
                self.prepare(&mut state, item - n_jobs);
                continue;
            }
            if !self.may_start(&state, item) {
                put_off.push(item);
                continue;
            }
            self.place(&mut state, item);
            // What was put off follows as soon as it may, in the order it stood.
            while let Some(at) = put_off.iter().position(|&job| self.may_start(&state, job)) {
                let job = put_off.remove(at);
                self.place(&mut state, job);
            }
        }
        self.finish(state)
    }

    fn n_jobs_of_bags(&self) -> Vec<usize> {
        let mut left = vec![0; self.problem.bags.len()];
        for job in &self.problem.jobs {
            left[job.bag] += 1;
        }
        left
    }

    fn may_start(&self, state: &State, job: usize) -> bool {
        self.waits[job]
            .iter()
            .all(|wait| !wait.fixed || state.decoded.starts[wait.other] != UNPLACED)
    }

    /// Prepares a bag ahead of its first job, by the worker who is free first.
    fn prepare(&self, state: &mut State, bag: usize) {
        if state.ready[bag].is_some() || state.left[bag] == 0 {
            return;
        }
        let worker = (0..state.workers.len()).min_by_key(|&w| state.workers[w].free).unwrap_or(0);
        let start = self.fit(state.workers[worker].free, self.problem.bags[bag].prep);
        self.take(state, worker, bag, start);
    }

    fn take(&self, state: &mut State, worker: usize, bag: usize, start: i64) {
        let prep = self.problem.bags[bag].prep;
        state.decoded.prep_starts[bag] = Some(start);
        state.decoded.prep_workers[bag] = worker;
        state.decoded.busy += prep;
        state.ready[bag] = Some(start + prep);
        state.workers[worker] =
            Worker { free: start + prep, bag: Some(bag), window: self.window_of(start) };
    }

    /// Places a job as early as any worker can.
    fn place(&self, state: &mut State, job: usize) {
        let best = (0..state.workers.len())
            .map(|worker| (self.earliest(state, worker, job), worker))
            .min();
        let Some((start, worker)) = best else { return };
        let Job { bag, duration } = self.job(job);
        if state.ready[bag].is_none() {
            // The preparation fills the wait before the job.
            let prep = self.fit(state.workers[worker].free, self.problem.bags[bag].prep);
            self.take(state, worker, bag, prep);
        }
        let (held, window) = (state.workers[worker], self.window_of(start));
        if !held.has(bag, window) {
            state.decoded.busy += self.set_up(held, bag, window);
            state.decoded.switches += 1;
        }
        state.decoded.starts[job] = start;
        state.decoded.workers[job] = worker;
        state.decoded.order.push(job);
        state.decoded.busy += duration;
        state.decoded.overflows |= start >= NEVER / 2;
        state.left[bag] -= 1;
        state.workers[worker] =
            Worker { free: start + duration, bag: Some(bag), window: self.window_of(start) };
    }

    fn earliest(&self, state: &State, worker: usize, job: usize) -> i64 {
        let Job { bag, duration } = self.job(job);
        let lagged = self.waits[job]
            .iter()
            .filter(|wait| state.decoded.starts[wait.other] != UNPLACED)
            .map(|wait| state.decoded.starts[wait.other] + wait.lag)
            .max()
            .unwrap_or(i64::MIN);
        let (held, ready) = match state.ready[bag] {
            Some(ready) => (state.workers[worker], ready),
            None => {
                let prep = self.fit(state.workers[worker].free, self.problem.bags[bag].prep);
                let prepared = prep + self.problem.bags[bag].prep;
                (Worker { free: prepared, bag: Some(bag), window: self.window_of(prep) }, prepared)
            }
        };
        let mut start = self.fit_with_set_up(held, bag, duration, held.free.max(ready).max(lagged));
        // Never beside a job of the same set: wait for each that would overlap, until none does.
        let apart = &self.apart[job];
        while let Some(end) = apart
            .iter()
            .filter(|&&other| state.decoded.starts[other] != UNPLACED)
            .map(|&other| {
                (
                    state.decoded.starts[other],
                    state.decoded.starts[other] + self.problem.jobs[other].duration,
                )
            })
            .filter(|&(from, to)| from < start + duration && start < to)
            .map(|(_, to)| to)
            .max()
        {
            start = self.fit_with_set_up(held, bag, duration, end);
        }
        start
    }

    /// The earliest start at or after `from` that leaves room for the set-up before it, in the same window.
    fn fit_with_set_up(&self, held: Worker, bag: usize, duration: i64, from: i64) -> i64 {
        let mut start = from;
        // Moving to the next window may ask for a set-up anew, which may move the start once more.
        for _ in 0..=self.windows.len() {
            let set_up = self.set_up(held, bag, self.window_of(start));
            let begun = self.fit((start - set_up).max(held.free), set_up + duration) + set_up;
            if begun == start {
                break;
            }
            start = begun;
        }
        start
    }

    fn job(&self, job: usize) -> Job {
        Job { bag: self.problem.jobs[job].bag, duration: self.problem.jobs[job].duration }
    }

    fn set_up(&self, held: Worker, bag: usize, window: usize) -> i64 {
        match held.bag {
            Some(_) if held.has(bag, window) => 0,
            Some(in_hand)
                if held.window == window
                    && self.problem.bags[in_hand].color == self.problem.bags[bag].color =>
            {
                self.problem.set_up.same_color
            }
            _ => self.problem.set_up.other,
        }
    }

    /// The earliest start at or after `from` of something that lies inside one window.
    fn fit(&self, from: i64, duration: i64) -> i64 {
        let first = self.windows.partition_point(|&(_, to)| to < from);
        self.windows[first..]
            .iter()
            .map(|&(open, close)| (from.max(open), close))
            .find(|&(start, close)| start < close && start + duration <= close)
            .map_or(NEVER, |(start, _)| start)
    }

    fn window_of(&self, at: i64) -> usize {
        self.windows.partition_point(|&(_, to)| to <= at)
    }

    fn finish(&self, state: State) -> Decoded {
        let mut decoded = state.decoded;
        let mut last_end = vec![None; self.windows.len() + 1];
        let ends = decoded
            .starts
            .iter()
            .zip(&self.problem.jobs)
            .map(|(&start, job)| (start, start + job.duration));
        let preps = decoded
            .prep_starts
            .iter()
            .zip(&self.problem.bags)
            .filter_map(|(start, bag)| Some(((*start)?, (*start)? + bag.prep)));
        for (start, end) in ends.chain(preps) {
            let last = &mut last_end[self.window_of(start)];
            *last = Some(last.map_or(end, |known: i64| known.max(end)));
        }
        decoded.active = last_end
            .iter()
            .zip(&self.windows)
            .filter_map(|(end, &(open, _))| Some((*end)? - open))
            .sum();
        decoded
    }

    /// Completes a decoded order to the answer of the engine.
    pub(super) fn sequence(
        &self,
        decoded: &Decoded,
        bound: i64,
        seed: u64,
        evaluations: u64,
    ) -> Sequence {
        Sequence {
            starts: decoded.starts.clone(),
            workers: decoded.workers.clone(),
            prep_starts: decoded.prep_starts.clone(),
            prep_workers: decoded.prep_workers.clone(),
            order: decoded.order.clone(),
            active: decoded.active,
            switches: decoded.switches,
            idle: (decoded.active * self.problem.n_workers as i64 - decoded.busy).max(0),
            bound,
            seed,
            evaluations,
        }
    }
}

struct Job {
    bag: usize,
    duration: i64,
}

struct State {
    workers: Vec<Worker>,
    /// When each bag is prepared.
    ready: Vec<Option<i64>>,
    /// Jobs of each bag that are still to come.
    left: Vec<usize>,
    decoded: Decoded,
}
