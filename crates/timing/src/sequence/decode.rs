//! From an order of jobs to the earliest times that keep it.

use crate::{Sequence, SequenceProblem};

/// Turns orders into times; holds what does not change from one order to the next.
///
/// An order lists items: jobs by their places, and after them, counted on, the preparations of bags and the closings of
/// windows, of all but the last.
pub(super) struct Decoder<'a> {
    pub(super) problem: &'a SequenceProblem,
    /// For each job: another job and the lag from its start, should that one be placed first.
    waits: Vec<Vec<(usize, i64)>>,
    /// For each job those that must follow it.
    after: Vec<Vec<usize>>,
    /// For each job how many must precede it.
    n_before: Vec<usize>,
    /// For each job its bags, in the order they are taken up.
    bags: Vec<Vec<usize>>,
    /// For each job the exclusive sets it is in; empty for one worker, who never works two at a time.
    sets: Vec<Vec<usize>>,
    windows: Vec<(i64, i64)>,
    is_prepared: Vec<bool>,
}

/// What one order comes to; buffers are used again for the next.
#[derive(Clone, Debug, Default)]
pub(super) struct Decoded {
    /// The items as they were placed: put-off jobs and early preparations stand where they came to stand.
    pub(super) items: Vec<usize>,
    /// Jobs that found no room in any window, and those that had to follow them.
    pub(super) n_unplaced: usize,
    pub(super) active: i64,
    pub(super) switches: usize,
    /// Worker time in jobs, preparations, set-ups and wipes.
    pub(super) busy: i64,
    pub(super) n_wipes: usize,
    /// For each bag when it was in use: preparations and jobs; only if bags crust.
    uses: Vec<Vec<(i64, i64)>>,
    /// For each exclusive set when its placed jobs are worked, in order: no two at a time, so that ends are in order too.
    stretches: Vec<Vec<(i64, i64)>>,
    /// Jobs before which a tip is wiped.
    wiped: Vec<usize>,
    starts: Vec<i64>,
    workers: Vec<usize>,
    prep_starts: Vec<Option<i64>>,
    prep_workers: Vec<usize>,
    hands: Vec<Hand>,
    /// Last end in each window.
    ends: Vec<i64>,
    /// Nothing more begins in a window before this one.
    first_open: usize,
    /// For each job how many predecessors are not placed yet.
    n_missing: Vec<usize>,
    put_off: Vec<usize>,
}

/// No start yet.
const UNPLACED: i64 = i64::MIN;
/// The close of a window without end.
const NEVER: i64 = i64::MAX / 4;

/// Whether something begins in a window that closes then, and ends in it.
fn fits(start: i64, duration: i64, close: i64) -> bool {
    start < close && start + duration <= close
}

/// Whether a bag in use at these times is crusted at a start.
fn is_crusted(uses: &[(i64, i64)], start: i64, after: i64) -> bool {
    let earlier = uses.iter().filter(|one| one.0 < start);
    earlier.map(|one| start - one.1).min().is_some_and(|gap| gap > after)
}

/// What a worker holds, and from when on.
#[derive(Clone, Copy, Debug)]
struct Hand {
    free: i64,
    bag: Option<usize>,
    /// Window it last worked in: a new session starts with an empty hand.
    window: usize,
}

/// Where a job would go.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Slot {
    start: i64,
    /// With the wipe.
    set_up: i64,
    is_wiped: bool,
    worker: usize,
    window: usize,
    is_switch: bool,
}

impl<'a> Decoder<'a> {
    pub(super) fn new(problem: &'a SequenceProblem) -> Self {
        let n = problem.jobs.len();
        let (mut waits, mut after, mut sets) =
            (vec![Vec::new(); n], vec![Vec::new(); n], vec![Vec::new(); n]);
        let mut n_before = vec![0; n];
        for one in &problem.precedences {
            waits[one.after].push((one.before, one.lag));
            after[one.before].push(one.after);
            n_before[one.after] += 1;
        }
        for pair in &problem.either_orders {
            waits[pair.b].push((pair.a, pair.lag_ab));
            waits[pair.a].push((pair.b, pair.lag_ba));
        }
        if problem.n_workers > 1 {
            for (set, jobs) in problem.exclusive.iter().enumerate() {
                jobs.iter().for_each(|&job| sets[job].push(set));
            }
            // A job may be listed twice.
            sets.iter_mut().for_each(Vec::dedup);
        }
        let mut bags: Vec<Vec<usize>> = problem.jobs.iter().map(|job| vec![job.bag]).collect();
        for further in &problem.further_bags {
            bags[further.job].push(further.bag);
        }
        let mut is_prepared = vec![false; problem.bags.len()];
        bags.iter().flatten().for_each(|&bag| is_prepared[bag] = problem.bags[bag].prep > 0);
        let windows = problem.windows.clone().unwrap_or_else(|| vec![(0, NEVER)]);
        Self { problem, waits, after, n_before, bags, sets, windows, is_prepared }
    }

    /// The item that prepares a bag.
    pub(super) fn preparation(&self, bag: usize) -> usize {
        self.problem.jobs.len() + bag
    }

    /// The items that close a window early: what comes behind one begins in a later window, though there may be room.
    ///
    /// Without them everything would be placed as early as it can be, also where the next window, to be opened anyway,
    /// would save a set-up or a wait.
    pub(super) fn closings(&self) -> std::ops::Range<usize> {
        let first = self.problem.jobs.len() + self.problem.bags.len();
        first..first + self.windows.len().saturating_sub(1)
    }

    /// Bags that some job needs and that are not ready without preparation.
    pub(super) fn prepared_bags(&self) -> impl Iterator<Item = usize> + '_ {
        (0..self.is_prepared.len()).filter(|&bag| self.is_prepared[bag])
    }

    /// The bag an item begins with.
    pub(super) fn bag_of(&self, item: usize) -> usize {
        let n_jobs = self.problem.jobs.len();
        self.problem.jobs.get(item).map_or_else(|| item - n_jobs, |job| job.bag)
    }

    /// Decodes an order: each item as early as those before it allow.
    ///
    /// A job whose predecessors are not placed yet is put off until they are.
    /// A bag is prepared at its place in the order, or before its first job if that comes earlier.
    pub(super) fn decode(&self, items: &[usize], out: &mut Decoded) {
        let n_jobs = self.problem.jobs.len();
        self.begin(out);
        for &item in items {
            if item >= self.closings().start {
                out.first_open = out.first_open.max(item - self.closings().start + 1);
                out.items.push(item);
                continue;
            }
            if item >= n_jobs {
                if self.is_missing(out, item - n_jobs) {
                    self.prepare(out, item - n_jobs);
                }
                continue;
            }
            if out.n_missing[item] > 0 {
                out.put_off.push(item);
                continue;
            }
            self.place(out, item);
            while let Some(at) = out.put_off.iter().position(|&job| out.n_missing[job] == 0) {
                let job = out.put_off.remove(at);
                self.place(out, job);
            }
        }
        self.finish(out);
    }

    /// Empties what a decoded order is written to.
    pub(super) fn begin(&self, out: &mut Decoded) {
        fn refill<T: Clone>(list: &mut Vec<T>, n: usize, value: T) {
            list.clear();
            list.resize(n, value);
        }
        let (n_jobs, n_bags) = (self.problem.jobs.len(), self.problem.bags.len());
        refill(&mut out.starts, n_jobs, UNPLACED);
        refill(&mut out.workers, n_jobs, 0);
        refill(&mut out.prep_starts, n_bags, None);
        refill(&mut out.prep_workers, n_bags, 0);
        refill(&mut out.hands, self.problem.n_workers, Hand { free: 0, bag: None, window: 0 });
        refill(&mut out.ends, self.windows.len(), UNPLACED);
        out.n_missing.clone_from(&self.n_before);
        out.items.clear();
        out.put_off.clear();
        out.first_open = 0;
        if self.problem.n_workers > 1 {
            out.stretches.resize(self.problem.exclusive.len(), Vec::new());
            out.stretches.iter_mut().for_each(Vec::clear);
        }
        if self.problem.crust.is_some() {
            out.uses.resize(n_bags, Vec::new());
            out.uses.iter_mut().for_each(Vec::clear);
            out.wiped.clear();
            out.n_wipes = 0;
        }
        (out.n_unplaced, out.active, out.switches, out.busy) = (0, 0, 0, 0);
    }

    /// Sums up once all items are placed.
    pub(super) fn finish(&self, out: &mut Decoded) {
        out.n_unplaced += out.put_off.len();
        if let Some(crust) = self.problem.crust {
            // With several workers a bag may have been used by another after all, since its job was placed;
            // it was prepared before, so that no further wipe came up.
            let is_wiped = |&&job: &&usize| {
                is_crusted(&out.uses[self.bags[job][0]], out.starts[job], crust.after)
            };
            out.n_wipes = out.wiped.iter().filter(is_wiped).count();
            out.busy -= crust.wipe * (out.wiped.len() - out.n_wipes) as i64;
        }
        out.active = out
            .ends
            .iter()
            .zip(&self.windows)
            .filter(|(end, _)| **end != UNPLACED)
            .map(|(end, (open, _))| end - open)
            .sum();
    }

    /// Whether a job is not placed, with all that must precede it placed.
    pub(super) fn may_come(&self, out: &Decoded, job: usize) -> bool {
        out.starts[job] == UNPLACED && out.n_missing[job] == 0
    }

    /// The ticks somebody would wait or change bags for, were this job placed next.
    pub(super) fn waste(&self, out: &Decoded, job: usize) -> i64 {
        let lagged = self.lagged(out, job);
        let preps: i64 = self.bags[job]
            .iter()
            .filter(|&&bag| self.is_missing(out, bag))
            .map(|&bag| self.problem.bags[bag].prep)
            .sum();
        let waste = |worker: usize| {
            let hand = out.hands[worker];
            let free = hand.free + preps;
            let set_up = if self.is_missing(out, self.bags[job][0]) {
                0
            } else {
                self.set_up(hand.bag, self.bags[job][0]).0
            };
            (lagged - free).max(set_up)
        };
        (0..out.hands.len()).map(waste).min().unwrap_or(0)
    }

    /// The start that lags from placed jobs ask for.
    fn lagged(&self, out: &Decoded, job: usize) -> i64 {
        self.waits[job]
            .iter()
            .filter(|&&(other, _)| out.starts[other] != UNPLACED)
            .map(|&(other, lag)| out.starts[other] + lag)
            .fold(0, i64::max)
    }

    /// Whether a bag is still to be prepared.
    fn is_missing(&self, out: &Decoded, bag: usize) -> bool {
        self.is_prepared[bag] && out.prep_starts[bag].is_none()
    }

    /// Prepares a bag, by the worker who can end first; tells whether there was room.
    fn prepare(&self, out: &mut Decoded, bag: usize) -> bool {
        let prep = self.problem.bags[bag].prep;
        let fit = |hand: &Hand| {
            (hand.window.max(out.first_open)..self.windows.len()).find_map(|window| {
                let (open, close) = self.windows[window];
                let start = hand.free.max(open);
                fits(start, prep, close).then_some((start, window))
            })
        };
        let best = out
            .hands
            .iter()
            .enumerate()
            .filter_map(|(worker, hand)| fit(hand).map(|(start, window)| (start, worker, window)))
            .min();
        let Some((start, worker, window)) = best else { return false };
        out.prep_starts[bag] = Some(start);
        out.prep_workers[bag] = worker;
        out.busy += prep;
        out.hands[worker] = Hand { free: start + prep, bag: Some(bag), window };
        out.ends[window] = out.ends[window].max(start + prep);
        out.items.push(self.preparation(bag));
        if self.problem.crust.is_some() {
            out.uses[bag].push((start, start + prep));
        }
        true
    }

    /// Places a job as early as any worker can, after the preparations it still needs.
    pub(super) fn place(&self, out: &mut Decoded, job: usize) {
        let bags = &self.bags[job];
        // The first bag last, so that it is in the hand.
        for &bag in bags.iter().rev() {
            if self.is_missing(out, bag) && !self.prepare(out, bag) {
                out.n_unplaced += 1;
                return;
            }
        }
        let ready = bags
            .iter()
            .filter_map(|&bag| Some(out.prep_starts[bag]? + self.problem.bags[bag].prep))
            .fold(self.lagged(out, job), i64::max);
        let best =
            (0..out.hands.len()).filter_map(|worker| self.earliest(out, worker, job, ready)).min();
        let Some(slot) = best else {
            out.n_unplaced += 1;
            return;
        };
        let end = slot.start + self.problem.jobs[job].duration;
        out.starts[job] = slot.start;
        out.workers[job] = slot.worker;
        out.items.push(job);
        for &set in &self.sets[job] {
            let stretches = &mut out.stretches[set];
            let behind = stretches.iter().rev().take_while(|one| **one > (slot.start, end)).count();
            stretches.insert(stretches.len() - behind, (slot.start, end));
        }
        if self.problem.crust.is_some() {
            let crusting = bags.iter().filter(|&&bag| self.problem.bags[bag].prep > 0);
            crusting.for_each(|&bag| out.uses[bag].push((slot.start, end)));
            if slot.is_wiped {
                out.wiped.push(job);
            }
        }
        out.busy += self.problem.jobs[job].duration + slot.set_up;
        out.switches += usize::from(slot.is_switch);
        out.ends[slot.window] = out.ends[slot.window].max(end);
        out.hands[slot.worker] = Hand { free: end, bag: bags.last().copied(), window: slot.window };
        for &next in &self.after[job] {
            out.n_missing[next] -= 1;
        }
    }

    /// The earliest slot of a job with one worker, not before `from`.
    fn earliest(&self, out: &Decoded, worker: usize, job: usize, mut from: i64) -> Option<Slot> {
        let duration = self.problem.jobs[job].duration;
        let hand = out.hands[worker];
        loop {
            let slot =
                (hand.window.max(out.first_open)..self.windows.len()).find_map(|window| {
                    let (open, close) = self.windows[window];
                    let in_hand = hand.bag.filter(|_| window == hand.window);
                    let (set_up, is_switch) = self.set_up(in_hand, self.bags[job][0]);
                    let mut set_up = set_up;
                    let mut start = from.max(hand.free.max(open) + set_up);
                    let is_wiped = self.problem.crust.filter(|crust| {
                        is_crusted(&out.uses[self.bags[job][0]], start, crust.after)
                    });
                    if let Some(crust) = is_wiped {
                        set_up += crust.wipe;
                        start = from.max(hand.free.max(open) + set_up);
                    }
                    fits(start, duration, close).then_some(Slot {
                        start,
                        set_up,
                        is_wiped: is_wiped.is_some(),
                        worker,
                        window,
                        is_switch,
                    })
                })?;
            // Never beside a job of the same set: wait for what would overlap, until nothing does.
            let beside = |&set: &usize| {
                let later = out.stretches[set].iter().rev().take_while(|one| one.1 > slot.start);
                later.copied().find(|one| one.0 < slot.start + duration).map(|one| one.1)
            };
            let beside = self.sets[job].iter().filter_map(beside).max();
            match beside {
                Some(end) => from = end,
                None => return Some(slot),
            }
        }
    }

    /// Time to take up a bag, and whether it is another than the one in the hand.
    fn set_up(&self, in_hand: Option<usize>, bag: usize) -> (i64, bool) {
        match in_hand {
            Some(held) if held == bag => (0, false),
            Some(held) if self.problem.bags[held].color == self.problem.bags[bag].color => {
                (self.problem.set_up.same_color, true)
            }
            _ => (self.problem.set_up.other, true),
        }
    }

    /// Completes a decoded order to the answer of the engine.
    pub(super) fn sequence(
        &self,
        decoded: &Decoded,
        bound: i64,
        seed: u64,
        evaluations: u64,
    ) -> Sequence {
        let n_jobs = self.problem.jobs.len();
        Sequence {
            starts: decoded.starts.clone(),
            workers: decoded.workers.clone(),
            prep_starts: decoded.prep_starts.clone(),
            prep_workers: decoded.prep_workers.clone(),
            order: decoded.items.iter().copied().filter(|&item| item < n_jobs).collect(),
            active: decoded.active,
            switches: decoded.switches,
            n_wipes: decoded.n_wipes,
            idle: decoded.active * self.problem.n_workers as i64 - decoded.busy,
            bound,
            seed,
            evaluations,
        }
    }

    /// The first job without a place.
    pub(super) fn first_unplaced(&self, decoded: &Decoded) -> usize {
        decoded.starts.iter().position(|&start| start == UNPLACED).unwrap_or(0)
    }
}
