//! The search over orders: noisy greedy starts, then rounds of simulated annealing.

use std::ops::ControlFlow;

use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;

use crate::{
    Error, Sequence,
    sequence::decode::{Decoded, Decoder},
};

/// One more bag change weighs this many ticks of active time: it breaks ties and never lengthens a session noticeably.
const SWITCH_WEIGHT: f64 = 0.02;
/// A job without a place weighs more than any session.
const UNPLACED_WEIGHT: f64 = 1e15;
/// Greedy starts, the first without noise.
const N_STARTS: u64 = 40;
/// Evaluations of the first annealing round; each later one has twice as many.
///
/// Rounds do not depend on the budget, so that a larger budget only goes on where a smaller one stops.
const FIRST_ROUND: u64 = 8192;
/// With several windows, one change in so many moves the closing of a window.
const CLOSING_ODDS: u32 = 10;
/// Each round cools from the first to the second of these shares of the bound,
/// and begins at so many set-ups at least, so that a short session is not stuck where one more of them leads on.
const HOT: f64 = 0.01;
const COLD: f64 = 0.00006;
const HOT_SET_UPS: f64 = 2.0;

/// Best order so far, its times, and who hears of it.
struct Best<'a, 'b> {
    decoder: &'a Decoder<'b>,
    decoded: Decoded,
    bound: i64,
    seed: u64,
    evaluations: u64,
    listener: &'a mut dyn FnMut(&Sequence) -> ControlFlow<()>,
    is_over: bool,
}

impl Best<'_, '_> {
    /// Counts an evaluation and keeps it if it is better.
    fn hear(&mut self, decoded: &Decoded) {
        self.evaluations += 1;
        if self.evaluations > 1 && rank(decoded) >= rank(&self.decoded) {
            return;
        }
        self.decoded.clone_from(decoded);
        if decoded.n_unplaced == 0 {
            let sequence = self.decoder.sequence(decoded, self.bound, self.seed, self.evaluations);
            self.is_over |= (self.listener)(&sequence).is_break();
            // Nothing is shorter, no bag is taken up a second time and none is wiped.
            self.is_over |= decoded.active <= self.bound && decoded.switches + decoded.n_wipes == 0;
        }
    }
}

/// Looks at `budget` orders, at least one, and returns the best.
pub(super) fn search(
    decoder: &Decoder<'_>,
    bound: i64,
    budget: u64,
    seed: u64,
    listener: &mut dyn FnMut(&Sequence) -> ControlFlow<()>,
) -> Result<Sequence, Error> {
    let mut chance = Xoshiro256PlusPlus::seed_from_u64(seed);
    let mut best = Best {
        decoder,
        decoded: Decoded::default(),
        bound,
        seed,
        evaluations: 0,
        listener,
        is_over: false,
    };
    let tails = tails(decoder);
    let mut trial = Decoded::default();
    greedy(decoder, &tails, 0.0, &mut chance, &mut trial);
    best.hear(&trial);
    while best.evaluations < budget.min(N_STARTS) && !best.is_over {
        let noise = chance.random::<f64>();
        greedy(decoder, &tails, noise, &mut chance, &mut trial);
        best.hear(&trial);
    }
    let mut length = FIRST_ROUND;
    while best.evaluations < budget && !best.is_over {
        anneal(&mut best, length, budget, &mut chance, &mut trial);
        length = length.saturating_mul(2);
    }
    if best.decoded.n_unplaced > 0 {
        return Err(Error::Full { job: decoder.first_unplaced(&best.decoded) });
    }
    Ok(decoder.sequence(&best.decoded, bound, seed, best.evaluations))
}

/// One round of annealing from the best order so far.
fn anneal(
    best: &mut Best<'_, '_>,
    length: u64,
    budget: u64,
    chance: &mut Xoshiro256PlusPlus,
    trial: &mut Decoded,
) {
    let decoder = best.decoder;
    let mut items = best.decoded.items.clone();
    // What found no place is tried at the end.
    let all = (0..decoder.problem.jobs.len())
        .chain(decoder.prepared_bags().map(|bag| decoder.preparation(bag)))
        .chain(decoder.closings());
    items.extend(all.filter(|item| !best.decoded.items.contains(item)));
    let mut changed = items.clone();
    let mut now = cost(&best.decoded);
    let scale = best.bound.max(1) as f64;
    let hot = (HOT * scale).max(HOT_SET_UPS * decoder.problem.set_up.other as f64);
    let (mut heat, cooling) = (hot, (COLD * scale / hot).powf(1.0 / length as f64));
    for _ in 0..length {
        if best.evaluations >= budget || best.is_over {
            return;
        }
        changed.clone_from(&items);
        change(decoder, &mut changed, chance);
        decoder.decode(&changed, trial);
        best.hear(trial);
        let then = cost(trial);
        if then <= now || chance.random::<f64>() < ((now - then) / heat).exp() {
            now = then;
            // The order as it came out; with places missing, as it was asked for.
            items.clone_from(if trial.n_unplaced == 0 { &trial.items } else { &changed });
        }
        heat *= cooling;
    }
}

fn cost(decoded: &Decoded) -> f64 {
    decoded.n_unplaced as f64 * UNPLACED_WEIGHT
        + decoded.active as f64
        + SWITCH_WEIGHT * (decoded.switches + decoded.n_wipes) as f64
}

/// The objective, first things first: active time, bag changes, wipes, idle time.
fn rank(decoded: &Decoded) -> (usize, i64, usize, usize, i64) {
    // At equal active time the more is done, the less is idle.
    (decoded.n_unplaced, decoded.active, decoded.switches, decoded.n_wipes, -decoded.busy)
}

/// Builds an order job by job: little waiting and few changes now, long ways behind a job early.
fn greedy(
    decoder: &Decoder<'_>,
    tails: &[i64],
    noise: f64,
    chance: &mut Xoshiro256PlusPlus,
    out: &mut Decoded,
) {
    let n = decoder.problem.jobs.len();
    // How much the way behind a job counts against ticks wasted now.
    let weight = 0.25 + noise * chance.random::<f64>();
    let pull: Vec<f64> = tails
        .iter()
        .map(|&tail| weight * tail as f64 * (1.0 + noise * (chance.random::<f64>() - 0.5)))
        .collect();
    decoder.begin(out);
    for _ in 0..n {
        let score = |job: usize| decoder.waste(out, job) as f64 - pull[job];
        let next = (0..n)
            .filter(|&job| decoder.may_come(out, job))
            .min_by(|&a, &b| score(a).total_cmp(&score(b)));
        let Some(job) = next else { break };
        decoder.place(out, job);
        if decoder.may_come(out, job) {
            // It found no room; the annealing looks for some.
            break;
        }
    }
    out.n_unplaced = n - out.items.iter().filter(|&&item| item < n).count();
    decoder.finish(out);
}

/// Longest way from the start of each job to the end, over precedences.
fn tails(decoder: &Decoder<'_>) -> Vec<i64> {
    let problem = decoder.problem;
    let mut tails: Vec<i64> = problem.jobs.iter().map(|job| job.duration).collect();
    // Precedences have no circle, so this settles within n rounds.
    for _ in 0..problem.jobs.len() {
        let mut moved = false;
        for one in &problem.precedences {
            let way = one.lag + tails[one.after];
            if way > tails[one.before] {
                tails[one.before] = way;
                moved = true;
            }
        }
        if !moved {
            break;
        }
    }
    tails
}

/// Changes an order a little.
fn change(decoder: &Decoder<'_>, items: &mut [usize], chance: &mut Xoshiro256PlusPlus) {
    let n = items.len();
    if n < 2 {
        return;
    }
    let closings = decoder.closings();
    if !closings.is_empty() && chance.random_range(0..CLOSING_ODDS) == 0 {
        let closing = chance.random_range(closings);
        if let Some(at) = items.iter().position(|&item| item == closing) {
            move_block(items, at, 1, chance.random_range(0..n));
        }
        return;
    }
    let at = chance.random_range(0..n);
    match chance.random_range(0..10) {
        // An item elsewhere.
        0..=3 => move_block(items, at, 1, chance.random_range(0..n)),
        // Up to three items elsewhere.
        4 => {
            let length = (1 + chance.random_range(0..3)).min(n - at);
            move_block(items, at, length, chance.random_range(0..n - length + 1));
        }
        5..=6 => items.swap(at, chance.random_range(0..n)),
        // Next to another item of the same bag.
        7..=8 => {
            let bag = decoder.bag_of(items[at]);
            let is_mate = |place: &usize| *place != at && decoder.bag_of(items[*place]) == bag;
            let n_mates = (0..n).filter(is_mate).count();
            if let Some(mate) = (0..n).filter(is_mate).nth(chance.random_range(0..n_mates.max(1))) {
                let to = if mate < at { mate + 1 } else { mate };
                move_block(items, at, 1, to);
            }
        }
        // A whole run of one bag elsewhere.
        _ => {
            let bag = decoder.bag_of(items[at]);
            let same = |item: &&usize| decoder.bag_of(**item) == bag;
            let before = items[..at].iter().rev().take_while(same).count();
            let behind = items[at..].iter().take_while(same).count();
            let length = before + behind;
            move_block(items, at - before, length, chance.random_range(0..n - length + 1));
        }
    }
}

/// Moves `length` items from `from` so that they begin at `to`.
fn move_block(items: &mut [usize], from: usize, length: usize, to: usize) {
    if to < from {
        items[to..from + length].rotate_right(length);
    } else {
        items[from..to + length].rotate_left(length);
    }
}

#[cfg(test)]
mod tests {
    use std::ops::ControlFlow;

    use super::move_block;
    use crate::{Bag, Job, Precedence, SequenceProblem, SetUp, check_sequence, solve_sequence};

    /// The second job could follow in the first window, at 32; in the second window nobody waits for it.
    /// Its bag is prepared there too, which is no longer than before and saves the set-up of the opening.
    #[test]
    fn work_is_held_back_to_a_later_window_where_that_is_shorter() {
        let windows = vec![(0, 50), (100, 150), (200, 250)];
        let problem = SequenceProblem {
            jobs: vec![Job { duration: 5, bag: 0 }, Job { duration: 4, bag: 1 }],
            further_bags: vec![],
            bags: vec![Bag { color: 0, prep: 2 }, Bag { color: 1, prep: 3 }],
            precedences: vec![Precedence { before: 0, after: 1, lag: 30 }],
            either_orders: vec![],
            set_up: SetUp { same_color: 1, other: 1 },
            windows: Some(windows),
            n_workers: 1,
            exclusive: vec![],
            crust: None,
        };
        let found = solve_sequence(&problem, 1000, 1, &mut |_| ControlFlow::Continue(()));
        let found = found.expect("solved");
        assert_eq!(check_sequence(&problem, &found), []);
        assert_eq!((found.active, &found.starts[..]), (14, &[2, 103][..]));
    }

    #[test]
    fn a_block_begins_where_it_is_moved_to() {
        let moved = |from, length, to| {
            let mut items = [0, 1, 2, 3, 4];
            move_block(&mut items, from, length, to);
            items
        };
        assert_eq!(moved(3, 1, 1), [0, 3, 1, 2, 4]);
        assert_eq!(moved(0, 2, 3), [2, 3, 4, 0, 1]);
        assert_eq!(moved(1, 1, 4), [0, 2, 3, 4, 1]);
        assert_eq!(moved(2, 3, 2), [0, 1, 2, 3, 4]);
    }
}
