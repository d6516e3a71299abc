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
/// Each round cools from the first to the second of these shares of the bound.
const HOT: f64 = 0.01;
const COLD: f64 = 0.00006;

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
        .chain(decoder.prepared_bags().map(|bag| decoder.preparation(bag)));
    items.extend(all.filter(|item| !best.decoded.items.contains(item)));
    let mut changed = items.clone();
    let mut now = cost(&best.decoded);
    let scale = best.bound.max(1) as f64;
    let (mut heat, cooling) = (HOT * scale, (COLD / HOT).powf(1.0 / length as f64));
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
    use super::move_block;

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
