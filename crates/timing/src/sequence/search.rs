//! The search over orders: noisy greedy starts, then simulated annealing.

use std::ops::ControlFlow;

use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;

use crate::{
    Sequence,
    sequence::decode::{Decoded, Decoder},
};

/// One more bag change weighs this much active time: enough to break ties, never to lengthen a session noticeably.
const SWITCH_WEIGHT: f64 = 0.02;
/// Share of the budget that goes into starts.
const STARTS_SHARE: u64 = 10;
const STARTS_MOST: u64 = 40;
/// Annealing cools from this share of the bound to a thousandth of it, twice.
const HOT: f64 = 0.01;
const COLD: f64 = 0.00006;

/// Looks at `budget` orders, at least one.
pub(super) fn search(
    decoder: &mut Decoder<'_>,
    bound: i64,
    budget: u64,
    seed: u64,
    listener: &mut dyn FnMut(&Sequence) -> ControlFlow<()>,
) -> Sequence {
    let mut chance = Xoshiro256PlusPlus::seed_from_u64(seed);
    let mut evaluations = 1;
    let mut best_items = greedy(decoder, &mut chance, 0.0);
    let mut best = decoder.decode(&best_items);
    let mut heard = listener(&decoder.sequence(&best, bound, seed, evaluations));

    let n_starts = (budget / STARTS_SHARE).min(STARTS_MOST);
    while evaluations < n_starts && heard.is_continue() && !is_proved(&best, bound) {
        let items = greedy(decoder, &mut chance, 0.3);
        let decoded = decoder.decode(&items);
        evaluations += 1;
        if cost(&decoded) < cost(&best) {
            (best_items, best) = (items, decoded);
            heard = listener(&decoder.sequence(&best, bound, seed, evaluations));
        }
    }

    let rounds = 2;
    for round in 0..rounds {
        let until = evaluations + (budget.saturating_sub(evaluations)) / (rounds - round);
        let (mut items, mut now) = (best_items.clone(), cost(&best));
        let steps = until.saturating_sub(evaluations).max(1) as f64;
        let scale = (bound.max(1)) as f64;
        let (hot, ratio) = (HOT * scale, (COLD / HOT).ln());
        let from = evaluations;
        while evaluations < until && heard.is_continue() && !is_proved(&best, bound) {
            let heat = hot * (ratio * (evaluations - from) as f64 / steps).exp();
            let changed = change(decoder, &items, &mut chance);
            let decoded = decoder.decode(&changed);
            evaluations += 1;
            let then = cost(&decoded);
            if then <= now || chance.random::<f64>() < ((now - then) / heat).exp() {
                (items, now) = (changed, then);
                if then < cost(&best) {
                    (best_items, best) = (items.clone(), decoded);
                    heard = listener(&decoder.sequence(&best, bound, seed, evaluations));
                }
            }
        }
    }
    decoder.sequence(&best, bound, seed, evaluations)
}

fn cost(decoded: &Decoded) -> f64 {
    decoded.active as f64
        + SWITCH_WEIGHT * decoded.switches as f64
        + if decoded.overflows { 1e15 } else { 0.0 }
}

/// Nothing is shorter and no bag is picked up twice.
fn is_proved(best: &Decoded, bound: i64) -> bool {
    best.active <= bound && best.switches == 0
}

/// Builds an order job by job: the one that can start earliest, less the longest way still behind it.
fn greedy(decoder: &Decoder<'_>, chance: &mut Xoshiro256PlusPlus, noise: f64) -> Vec<usize> {
    let problem = decoder.problem;
    let n = problem.jobs.len();
    let tails = tails(decoder);
    let mut rank: Vec<(f64, usize)> = (0..n)
        .map(|job| (-(tails[job] as f64) * (1.0 + noise * (chance.random::<f64>() - 0.5)), job))
        .collect();
    rank.sort_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
    // Jobs of one bag follow each other where nothing else decides.
    let mut items: Vec<usize> = rank.into_iter().map(|(_, job)| job).collect();
    if noise > 0.0 && chance.random::<f64>() < 0.5 {
        let mut by_bag: Vec<usize> = Vec::with_capacity(n);
        for &job in &items {
            if !by_bag.contains(&job) {
                by_bag.extend(
                    items
                        .iter()
                        .copied()
                        .filter(|&other| problem.jobs[other].bag == problem.jobs[job].bag),
                );
            }
        }
        items = by_bag;
    }
    items
}

/// Longest way from the start of a job to the end, over precedences.
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

/// Changes an order a little: move an item or a block, swap two, join the jobs of a bag, or prepare a bag at another time.
fn change(decoder: &Decoder<'_>, items: &[usize], chance: &mut Xoshiro256PlusPlus) -> Vec<usize> {
    let mut changed = items.to_vec();
    let n = changed.len();
    if n < 2 {
        return changed;
    }
    let n_jobs = decoder.problem.jobs.len();
    match chance.random_range(0..10) {
        0..=3 => {
            let item = changed.remove(chance.random_range(0..n));
            changed.insert(chance.random_range(0..n), item);
        }
        4..=5 => {
            let from = chance.random_range(0..n);
            let length = (1 + chance.random_range(0..3)).min(n - from);
            let block: Vec<usize> = changed.drain(from..from + length).collect();
            let to = chance.random_range(0..changed.len() + 1);
            changed.splice(to..to, block);
        }
        6..=7 => changed.swap(chance.random_range(0..n), chance.random_range(0..n)),
        8 => {
            // Next to another job from the same bag.
            let at = chance.random_range(0..n);
            let item = changed[at];
            let bag = |item: usize| decoder.problem.jobs.get(item).map(|job| job.bag);
            let same: Vec<usize> = (0..n)
                .filter(|&i| i != at && bag(changed[i]).is_some() && bag(changed[i]) == bag(item))
                .collect();
            if let Some(&other) = same.get(chance.random_range(0..same.len().max(1))) {
                let target = changed[other];
                changed.remove(at);
                let to = changed
                    .iter()
                    .position(|&one| one == target)
                    .map_or(0, |to| to + chance.random_range(0..2));
                changed.insert(to, item);
            }
        }
        _ => {
            // Take a preparation out of the order, or put one in.
            let bag = n_jobs + chance.random_range(0..decoder.n_items() - n_jobs);
            match changed.iter().position(|&item| item == bag) {
                Some(at) => drop(changed.remove(at)),
                None => changed.insert(chance.random_range(0..n + 1), bag),
            }
        }
    }
    changed
}
