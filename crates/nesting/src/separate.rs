//! Can copies that overlap be moved apart on the sheets they have?
//!
//! One iteration moves each copy that overlaps to where it overlaps least, in several random orders at once, and keeps the best outcome.
//! Pairs that still overlap weigh more from then on (guided local search), so that no trap holds for long.
//! The number of orders is fixed and each has a seed of its own: the outcome does not depend on the number of threads.
//!
//! Source: Gardeyn, Vanden Berghe, Wauters, "An open-source heuristic to reboot 2D nesting research", arXiv:2509.13329 (2025), Algorithms 8 to 10;
//! weights after Voudouris and Tsang, "Guided local search", European Journal of Operational Research 113 (1999).

use rand::{RngExt, SeedableRng, seq::SliceRandom};
use rand_xoshiro::Xoshiro256PlusPlus;

use crate::{
    kernel::{Board, Spot, Turned},
    search::Searcher,
};

/// Orders tried in each iteration.
const N_ORDERS: usize = 4;
/// Weight of a pair that overlaps grows by a factor between these, of one that does not it falls by the last.
const HEAVIER: (f32, f32) = (1.2, 2.0);
const LIGHTER: f32 = 0.95;
/// Less than this share of the loss is no progress.
const PROGRESS: f32 = 0.98;

/// How long to try.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Patience {
    /// Iterations without progress until the weights start anew from the best.
    pub(crate) n_stale: usize,
    /// Such starts without progress until it is given up.
    pub(crate) n_strikes: usize,
    /// Queries after which it is given up.
    pub(crate) evaluations: u64,
}

/// A board and which pairs overlap on it.
#[derive(Clone, Debug)]
pub(crate) struct State<'a> {
    pub(crate) board: Board<'a>,
    /// For each copy those it overlaps, with the loss.
    pairs: Vec<Vec<(u32, f32)>>,
}

impl<'a> State<'a> {
    /// Looks at a board as it is.
    pub(crate) fn new(board: Board<'a>) -> Self {
        let n = board.shape_of.len();
        let mut state = Self { board, pairs: vec![Vec::new(); n] };
        state.look_again();
        state
    }

    /// Looks at all pairs again, after the board was changed.
    pub(crate) fn look_again(&mut self) {
        let mut turned = Turned::default();
        for copy in 0..self.pairs.len() {
            self.pairs[copy].clear();
            let Some(spot) = self.board.spot(copy) else { continue };
            let shape = self.board.shape(copy);
            shape.turn_like(self.board.shape_of[copy], &spot, &mut turned);
            self.board.overlaps(copy, &turned, &mut self.pairs[copy]);
        }
        // Seen from both sides the sums differ in their last digits; one of them counts.
        for copy in 0..self.pairs.len() {
            for i in 0..self.pairs[copy].len() {
                let (other, loss) = self.pairs[copy][i];
                let other = other as usize;
                match self.pairs[other].iter_mut().find(|(one, _)| *one as usize == copy) {
                    Some(seen) => seen.1 = loss,
                    None => self.pairs[other].push((copy as u32, loss)),
                }
            }
        }
    }

    /// Becomes the other state, in the memory it has.
    pub(crate) fn copy_from(&mut self, other: &Self) {
        self.board.copy_from(&other.board);
        self.pairs.clone_from(&other.pairs);
    }

    /// Sum of the losses of all pairs.
    pub(crate) fn loss(&self) -> f32 {
        self.pairs.iter().flatten().map(|(_, loss)| loss).sum::<f32>() / 2.0
    }

    /// Tells whether nothing overlaps.
    pub(crate) fn is_apart(&self) -> bool {
        self.pairs.iter().all(Vec::is_empty)
    }

    /// The copy that overlaps most.
    pub(crate) fn most_entangled(&self) -> Option<usize> {
        let loss = |copy: usize| self.pairs[copy].iter().map(|(_, loss)| loss).sum::<f32>();
        (0..self.pairs.len())
            .filter(|&copy| !self.pairs[copy].is_empty())
            .max_by(|&a, &b| loss(a).total_cmp(&loss(b)))
    }

    /// Takes a copy off its sheet.
    pub(crate) fn lift(&mut self, copy: usize) {
        for (other, _) in std::mem::take(&mut self.pairs[copy]) {
            self.pairs[other as usize].retain(|(one, _)| *one as usize != copy);
        }
        self.board.lift(copy);
    }

    /// Moves a copy and notes what it overlaps there.
    pub(crate) fn lay(&mut self, copy: usize, spot: Spot, turned: &mut Turned) {
        let mut own = std::mem::take(&mut self.pairs[copy]);
        for (other, _) in own.drain(..) {
            self.pairs[other as usize].retain(|(one, _)| *one as usize != copy);
        }
        self.board.shape(copy).turn_like(self.board.shape_of[copy], &spot, turned);
        self.board.lay(copy, turned, spot.sheet, spot.at);
        self.board.overlaps(copy, turned, &mut own);
        for &(other, loss) in &own {
            self.pairs[other as usize].push((copy as u32, loss));
        }
        self.pairs[copy] = own;
    }
}

/// Weights of pairs that have met, above one.
#[derive(Debug, Default)]
struct Weights {
    rows: Vec<Vec<(u32, f32)>>,
}

impl Weights {
    fn of(&self, copy: usize, other: u32) -> f32 {
        self.rows[copy].iter().find(|(one, _)| *one == other).map_or(1.0, |(_, weight)| *weight)
    }

    fn weighed(&self, pairs: &[Vec<(u32, f32)>]) -> f32 {
        let losses = pairs.iter().enumerate().flat_map(|(copy, row)| {
            row.iter().map(move |&(other, loss)| loss * self.of(copy, other))
        });
        losses.sum::<f32>() / 2.0
    }

    fn update(&mut self, pairs: &[Vec<(u32, f32)>]) {
        let most = pairs.iter().flatten().map(|(_, loss)| *loss).fold(f32::MIN_POSITIVE, f32::max);
        for (row, pairs) in self.rows.iter_mut().zip(pairs) {
            for (other, weight) in row.iter_mut() {
                if !pairs.iter().any(|(one, _)| one == other) {
                    *weight *= LIGHTER;
                }
            }
            row.retain(|(_, weight)| *weight > 1.0);
            for &(other, loss) in pairs {
                let factor = HEAVIER.0 + (HEAVIER.1 - HEAVIER.0) * loss / most;
                match row.iter_mut().find(|(one, _)| *one == other) {
                    Some((_, weight)) => *weight *= factor,
                    None => row.push((other, factor)),
                }
            }
        }
    }
}

/// One order of one iteration: a board of its own, chance and scratch space.
struct Worker<'a> {
    state: State<'a>,
    searcher: Searcher,
    /// Weight of each other copy for the copy that is moved.
    row: Vec<f32>,
    order: Vec<u32>,
    turned: Turned,
    weighed: f32,
}

impl<'a> Worker<'a> {
    /// Moves each copy that overlaps, in a random order.
    fn pass(&mut self, from: &State<'a>, weights: &Weights, seed: u64) {
        let mut chance = Xoshiro256PlusPlus::seed_from_u64(seed);
        self.state.copy_from(from);
        self.order.clear();
        let overlapping =
            (0..self.state.pairs.len()).filter(|&copy| !self.state.pairs[copy].is_empty());
        self.order.extend(overlapping.map(|copy| copy as u32));
        self.order.shuffle(&mut chance);
        for i in 0..self.order.len() {
            let copy = self.order[i] as usize;
            if self.state.pairs[copy].is_empty() {
                continue;
            }
            for &(other, weight) in &weights.rows[copy] {
                self.row[other as usize] = weight;
            }
            let pairs = &self.state.pairs[copy];
            let now = pairs.iter().map(|&(other, loss)| loss * self.row[other as usize]).sum();
            let found = self.searcher.search(&self.state.board, copy, &self.row, now, &mut chance);
            if let Some(found) = found {
                self.state.lay(copy, found.spot, &mut self.turned);
            }
            for &(other, _) in &weights.rows[copy] {
                self.row[other as usize] = 1.0;
            }
        }
        self.weighed = weights.weighed(&self.state.pairs);
    }
}

/// Moves copies apart; keeps workers and their memory between calls.
pub(crate) struct Separator<'a> {
    workers: Vec<Worker<'a>>,
    weights: Weights,
    best: State<'a>,
    n_threads: usize,
    pub(crate) chance: Xoshiro256PlusPlus,
    pub(crate) evaluations: u64,
}

impl<'a> Separator<'a> {
    pub(crate) fn new(state: &State<'a>, n_threads: usize, chance: Xoshiro256PlusPlus) -> Self {
        let n = state.pairs.len();
        let worker = || Worker {
            state: state.clone(),
            searcher: Searcher::default(),
            row: vec![1.0; n],
            order: Vec::new(),
            turned: Turned::default(),
            weighed: 0.0,
        };
        Self {
            workers: (0..N_ORDERS).map(|_| worker()).collect(),
            weights: Weights::default(),
            best: state.clone(),
            n_threads: n_threads.clamp(1, N_ORDERS),
            chance,
            evaluations: 0,
        }
    }

    /// Moves copies until nothing overlaps, which is told, or patience ends; then the state is the best seen.
    ///
    /// `go_on` is asked after each iteration.
    pub(crate) fn separate(
        &mut self,
        state: &mut State<'a>,
        patience: &Patience,
        go_on: &mut dyn FnMut(u64) -> bool,
    ) -> bool {
        self.weights.rows.iter_mut().for_each(Vec::clear);
        self.weights.rows.resize(state.pairs.len(), Vec::new());
        let stop_at = self.evaluations.saturating_add(patience.evaluations);
        let mut least = state.loss();
        self.best.copy_from(state);
        let mut n_strikes = 0;
        while n_strikes < patience.n_strikes {
            let at_start = least;
            let mut n_stale = 0;
            while n_stale < patience.n_stale {
                if state.is_apart() {
                    return true;
                }
                if self.evaluations >= stop_at || !go_on(self.evaluations) {
                    state.copy_from(&self.best);
                    return false;
                }
                self.iterate(state);
                let loss = state.loss();
                if loss < least {
                    n_stale = if loss < PROGRESS * least { 0 } else { n_stale + 1 };
                    least = loss;
                    self.best.copy_from(state);
                } else {
                    n_stale += 1;
                }
            }
            n_strikes = if least < PROGRESS * at_start { 0 } else { n_strikes + 1 };
            state.copy_from(&self.best);
        }
        false
    }

    /// One iteration: all orders from the same state, the best outcome kept.
    fn iterate(&mut self, state: &mut State<'a>) {
        let seeds: Vec<u64> = self.workers.iter().map(|_| self.chance.random()).collect();
        let (from, weights) = (&*state, &self.weights);
        let per_thread = N_ORDERS.div_ceil(self.n_threads);
        std::thread::scope(|scope| {
            let mut parts = self.workers.chunks_mut(per_thread).zip(seeds.chunks(per_thread));
            let own = parts.next();
            for (workers, seeds) in parts {
                scope.spawn(move || {
                    for (worker, &seed) in workers.iter_mut().zip(seeds) {
                        worker.pass(from, weights, seed);
                    }
                });
            }
            if let Some((workers, seeds)) = own {
                for (worker, &seed) in workers.iter_mut().zip(seeds) {
                    worker.pass(from, weights, seed);
                }
            }
        });
        self.evaluations += self
            .workers
            .iter_mut()
            .map(|worker| std::mem::take(&mut worker.searcher.evaluations))
            .sum::<u64>();
        // Of equals the first counts, whichever thread it ran on.
        let best = self.workers.iter().min_by(|a, b| a.weighed.total_cmp(&b.weighed));
        if let Some(best) = best {
            state.copy_from(&best.state);
        }
        self.weights.update(&state.pairs);
    }
}
