//! Is there an order of one worker that is done by a given time? If none is, the bound is above that time.
//!
//! Orders are built item by item (jobs and preparations), each as early as it can be, and given up as soon as
//! - what is left to work, with the bags that must be taken up once more, no longer fits,
//! - what is left of the work with at least some tail, and that tail, no longer fit,
//! - a job can no longer start early enough for the way behind it, or
//! - the same items were placed before with the same bag in the hand, and nothing could come later then.
//!
//! Over several windows an order also holds where the worker goes on to the next window, with an empty hand.
//! Of one worker that is every schedule worth looking at: with the same items in the same order in the same windows, each as
//! early as it can be, no window ends later and no lag is broken, since lags count from starts.
//! The ways behind items count only in the last window, as time between windows is not active; before it only work counts.
//!
//! Little slack leaves few orders, so this closes the gap of small problems; the number of nodes is limited.
//! Bags do not crust here, which only weakens the bound.
//!
//! Source: decision version with little slack, as in branch and bound for one machine with delayed precedences:
//! Balas, Lenstra, Vazacopoulos, Management Science 41(1), 1995.

use std::collections::BTreeMap;

use crate::{SequenceProblem, error::topological_order};

/// So many nodes are looked at in all.
const MOST_NODES: usize = 20_000;
/// Sets of items are kept as bits.
const MOST_ITEMS: usize = 128;
/// So many states of the same items and bag are remembered.
const MOST_STATES: usize = 8;
/// The close of a window without end.
const NEVER: i64 = i64::MAX / 4;

/// Raises a bound as far as it can be proved that no order is done by it.
pub(super) fn raised(problem: &SequenceProblem, bound: i64) -> i64 {
    let Some(frame) = Frame::new(problem) else { return bound };
    let mut target = bound;
    let mut nodes = MOST_NODES;
    loop {
        let mut proof =
            Proof { frame: &frame, target, nodes, seen: BTreeMap::new(), next: i64::MAX };
        let opening = frame.windows[0].0;
        let start = State {
            placed: 0,
            window: 0,
            past: -opening,
            free: opening,
            hand: None,
            ready: vec![opening; problem.jobs.len()],
            left: frame.work.iter().sum(),
        };
        if proof.may_end(&start) {
            return target;
        }
        nodes = proof.nodes;
        // No jobs at all are done at once, so something was given up, and nothing ends before the earliest of that;
        // or the windows end too soon for any order.
        if proof.next == i64::MAX {
            return target;
        }
        target = proof.next;
    }
}

/// What stays the same from one order to the next.
struct Frame<'a> {
    problem: &'a SequenceProblem,
    windows: Vec<(i64, i64)>,
    /// For each job its bags, in the order they are taken up.
    bags: Vec<Vec<usize>>,
    /// The bag of each preparation; as items they come behind the jobs.
    preps: Vec<usize>,
    /// For each bag its preparation's bit.
    prep_bit: Vec<u128>,
    /// For each job the bits of what must be placed before.
    needs: Vec<u128>,
    /// For each job the jobs that wait for it, with the lag from its start.
    waits: Vec<Vec<(usize, i64)>>,
    /// For each item its work and what must pass behind its end.
    work: Vec<i64>,
    tail: Vec<i64>,
    /// Items, longest tails first.
    by_tail: Vec<usize>,
    /// For each bag the bits of the jobs that begin with it, and the shortest set-up to it; 0 if a job ends with it.
    uses: Vec<(u128, i64)>,
}

impl<'a> Frame<'a> {
    fn new(problem: &'a SequenceProblem) -> Option<Self> {
        let n = problem.jobs.len();
        let mut bags: Vec<Vec<usize>> = problem.jobs.iter().map(|job| vec![job.bag]).collect();
        for further in &problem.further_bags {
            bags[further.job].push(further.bag);
        }
        let is_used = |bag: &usize| bags.iter().flatten().any(|one| one == bag);
        let is_prepared = |bag: &usize| problem.bags[*bag].prep > 0;
        let preps: Vec<usize> =
            (0..problem.bags.len()).filter(is_prepared).filter(is_used).collect();
        let windows = problem.windows.clone().unwrap_or_else(|| vec![(0, NEVER)]);
        if n + preps.len() > MOST_ITEMS || windows.is_empty() {
            return None;
        }
        let arcs: Vec<_> = problem.precedences.iter().map(|one| (one.before, one.after)).collect();
        let order = topological_order(n, &arcs).ok()?;
        let mut waits = vec![Vec::new(); n];
        let mut needs = vec![0; n];
        for one in &problem.precedences {
            waits[one.before].push((one.after, one.lag));
            needs[one.after] |= 1 << one.before;
        }
        let mut work: Vec<i64> = problem.jobs.iter().map(|job| job.duration).collect();
        let mut tail = vec![0; n];
        for &job in order.iter().rev() {
            let behind =
                waits[job].iter().map(|&(after, lag)| lag + work[after] + tail[after] - work[job]);
            tail[job] = behind.fold(0, i64::max);
        }
        for pair in &problem.either_orders {
            waits[pair.a].push((pair.b, pair.lag_ab));
            waits[pair.b].push((pair.a, pair.lag_ba));
        }
        let mut prep_bit = vec![0; problem.bags.len()];
        for (at, &bag) in preps.iter().enumerate() {
            prep_bit[bag] = 1 << (n + at);
            work.push(problem.bags[bag].prep);
            let jobs = (0..n).filter(|&job| bags[job].contains(&bag));
            tail.push(jobs.map(|job| work[job] + tail[job]).max().unwrap_or(0));
        }
        for (needs, bags) in needs.iter_mut().zip(&bags) {
            bags.iter().for_each(|&bag| *needs |= prep_bit[bag]);
        }
        let mut by_tail: Vec<usize> = (0..work.len()).collect();
        by_tail.sort_by_key(|&item| std::cmp::Reverse(tail[item]));
        let uses = (0..problem.bags.len()).map(|bag| uses(problem, &bags, bag)).collect();
        Some(Self {
            problem,
            windows,
            bags,
            preps,
            prep_bit,
            needs,
            waits,
            work,
            tail,
            by_tail,
            uses,
        })
    }

    /// The same with the window closed; nothing if that leads to nothing better.
    ///
    /// A window that nothing has begun in, nothing waits for and no later one is longer than is not passed over:
    /// all that the next window in use would hold could be done in this one, as long after the opening.
    fn next_window(&self, state: &State) -> Option<State> {
        let window = state.window + 1;
        let opening = self.windows.get(window)?.0;
        let (open, close) = self.windows[state.window];
        let is_left = |job: &usize| state.placed & (1 << job) == 0;
        if state.free == open
            && state.hand.is_none()
            && (0..state.ready.len()).filter(is_left).all(|job| state.ready[job] <= open)
            && self.windows[window..].iter().all(|later| later.1 - later.0 <= close - open)
        {
            return None;
        }
        let past = state.past + state.free - opening;
        Some(State { window, past, free: opening, hand: None, ..state.clone() })
    }

    /// Time to take up a bag.
    fn set_up(&self, in_hand: Option<usize>, bag: usize) -> i64 {
        match in_hand {
            Some(held) if held == bag => 0,
            Some(held) if self.problem.bags[held].color == self.problem.bags[bag].color => {
                self.problem.set_up.same_color
            }
            _ => self.problem.set_up.other,
        }
    }
}

/// The jobs that begin with a bag, and the shortest set-up to it.
fn uses(problem: &SequenceProblem, bags: &[Vec<usize>], bag: usize) -> (u128, i64) {
    let begin = (0..problem.jobs.len()).filter(|&job| bags[job][0] == bag);
    let bits = begin.fold(0, |bits, job| bits | 1 << job);
    // A job that begins with another bag and ends with this one leaves it in the hand.
    if bags.iter().any(|of| of[0] != bag && of.last() == Some(&bag)) {
        return (bits, 0);
    }
    let color = problem.bags[bag].color;
    let has_mate = problem.bags.iter().enumerate().any(|(at, one)| at != bag && one.color == color);
    let other = problem.set_up.other;
    (bits, if has_mate { other.min(problem.set_up.same_color) } else { other })
}

/// What is placed, and what that leaves.
#[derive(Clone)]
struct State {
    placed: u128,
    window: usize,
    /// The active time of the windows before, less the opening of this one: with `free`, the active time so far.
    past: i64,
    free: i64,
    hand: Option<usize>,
    /// For each job the start that lags from placed jobs ask for.
    ready: Vec<i64>,
    /// Work of what is not placed.
    left: i64,
}

struct Proof<'a> {
    frame: &'a Frame<'a>,
    target: i64,
    nodes: usize,
    /// The earliest end that anything given up could have had.
    next: i64,
    /// For placed items, the bag in the hand and the window: the active time before and times from which on the rest could
    /// start.
    seen: BTreeMap<(u128, Option<usize>, usize), Vec<Vec<i64>>>,
}

impl Proof<'_> {
    /// Whether an order may go on from here and be done by the target; true also where nodes run out.
    fn may_end(&mut self, state: &State) -> bool {
        let end = self.earliest_end(state);
        if end > self.target {
            self.next = self.next.min(end);
            return false;
        }
        if state.placed.count_ones() as usize == self.frame.work.len() {
            return true;
        }
        let Some(left) = self.nodes.checked_sub(1) else { return true };
        self.nodes = left;
        if self.is_seen(state) {
            return false;
        }
        let mut next: Vec<(i64, i64, State)> = (0..self.frame.work.len())
            .filter(|&item| state.placed & (1 << item) == 0)
            .filter_map(|item| self.place(state, item))
            .collect();
        // Little waste first, of equal ones long ways behind.
        next.sort_by_key(|&(waste, tail, _)| (waste, -tail));
        next.iter().any(|(.., state)| self.may_end(state))
            || self.frame.next_window(state).is_some_and(|state| self.may_end(&state))
    }

    /// Places one more item; tells also the waste and the tail. Nothing if it may not come yet.
    fn place(&self, state: &State, item: usize) -> Option<(i64, i64, State)> {
        let frame = self.frame;
        let mut next = state.clone();
        next.placed |= 1 << item;
        next.left -= frame.work[item];
        let close = frame.windows[state.window].1;
        let fits = |start: i64| start < close && start + frame.work[item] <= close;
        let Some(needs) = frame.needs.get(item) else {
            if !fits(state.free) {
                return None;
            }
            next.free += frame.work[item];
            next.hand = Some(frame.preps[item - frame.needs.len()]);
            return Some((0, frame.tail[item], next));
        };
        if needs & !state.placed != 0 {
            return None;
        }
        let bags = &frame.bags[item];
        let start = state.ready[item].max(state.free + frame.set_up(state.hand, bags[0]));
        if !fits(start) {
            return None;
        }
        next.free = start + frame.work[item];
        next.hand = bags.last().copied();
        for &(after, lag) in &frame.waits[item] {
            next.ready[after] = next.ready[after].max(start + lag);
        }
        Some((start - state.free, frame.tail[item], next))
    }

    /// An active time before which what is left cannot be done.
    fn earliest_end(&self, state: &State) -> i64 {
        let frame = self.frame;
        // Bags that are ready, not in the hand, and needed again.
        let taken_up = frame.uses.iter().enumerate().filter(|&(bag, (bits, _))| {
            state.hand != Some(bag)
                && bits & !state.placed != 0
                && frame.prep_bit[bag] & !state.placed == 0
        });
        let set_ups: i64 = taken_up.map(|(_, (_, set_up))| set_up).sum();
        let all = state.past + state.free + state.left + set_ups;
        if state.window + 1 < frame.windows.len() {
            return all;
        }
        let mut work = 0;
        let left = frame.by_tail.iter().filter(|&&item| state.placed & (1 << item) == 0);
        left.fold(all, |end, &item| {
            work += frame.work[item];
            let ready = state.ready.get(item).map_or(state.free, |&ready| ready.max(state.free));
            let alone = ready + frame.work[item] + frame.tail[item];
            end.max(state.past + (state.free + work + frame.tail[item]).max(alone))
        })
    }

    /// Whether the same was placed before with nothing later, and remembers this state if not.
    fn is_seen(&mut self, state: &State) -> bool {
        let is_open = |item: usize| state.placed & (1 << item) == 0;
        let mut times = vec![state.past, state.free];
        // Only what is still to come and waits beyond now tells states apart.
        times.extend(
            (0..state.ready.len())
                .filter(|&job| is_open(job))
                .map(|job| state.ready[job].max(state.free)),
        );
        let seen = self.seen.entry((state.placed, state.hand, state.window)).or_default();
        if seen.iter().any(|one| one.iter().zip(&times).all(|(one, time)| one <= time)) {
            return true;
        }
        if seen.len() < MOST_STATES {
            seen.push(times);
        }
        false
    }
}
