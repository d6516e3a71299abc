//! More copies than a fill found room for: they are laid where they overlap least, and all are moved apart.

use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;

use crate::{
    kernel::{Board, Turned},
    search::Searcher,
    separate::{Patience, Separator, State},
    strip::disturb,
};

/// Grown pieces of more than this share of the room inside the margins are not tried: real shapes do not lie so densely.
const TOO_DENSE: f32 = 0.97;
/// How long it is tried to find room for a few more copies.
const A_FEW_MORE: Patience = Patience { n_stale: 15, n_strikes: 1, evaluations: u64::MAX };
/// The same where there are many tries.
const A_FEW_MORE_QUICKLY: Patience = Patience { n_stale: 8, n_strikes: 1, evaluations: 80_000 };
/// How long what lay apart before on a larger sheet.
const AS_BEFORE: Patience = Patience { n_stale: 40, n_strikes: 1, evaluations: 250_000 };
/// How long for all of them; failures are disturbed and tried again.
const ALL: Patience = Patience { n_stale: 150, n_strikes: 2, evaluations: u64::MAX };

/// How to pack, and what it took.
pub(crate) struct Packer<'g> {
    chance: Xoshiro256PlusPlus,
    n_threads: usize,
    /// Queries left.
    budget: u64,
    /// So many times longer than usual it is tried.
    pub(crate) patience: usize,
    pub(crate) evaluations: u64,
    /// Told the queries made; says whether to go on.
    go_on: &'g mut dyn FnMut(u64) -> bool,
    is_canceled: bool,
}

impl<'g> Packer<'g> {
    /// With a chance of its own, drawn from another.
    pub(crate) fn new(
        chance: &mut Xoshiro256PlusPlus,
        n_threads: usize,
        budget: u64,
        go_on: &'g mut dyn FnMut(u64) -> bool,
    ) -> Self {
        let chance = Xoshiro256PlusPlus::seed_from_u64(chance.random());
        Self { chance, n_threads, budget, patience: 1, evaluations: 0, go_on, is_canceled: false }
    }

    fn is_over(&self) -> bool {
        self.is_canceled || self.evaluations >= self.budget
    }

    /// Finds room for all copies left, or leaves the board as it is.
    ///
    /// What does not come apart is disturbed and tried again, at most so often.
    pub(crate) fn all(
        &mut self,
        board: &mut Board<'_>,
        left: &[usize],
        most_disturbed: usize,
    ) -> bool {
        if self.is_over() || is_too_dense(board, left) {
            return false;
        }
        let Some(mut state) = self.laid(board, left) else { return false };
        let mut separator = self.separator(&state);
        let patience = if most_disturbed > 0 { ALL } else { AS_BEFORE };
        for n_disturbed in 0.. {
            if self.separate(&mut separator, &mut state, &patience) {
                board.copy_from(&state.board);
                return true;
            }
            if self.is_over() || n_disturbed >= most_disturbed {
                break;
            }
            let mut chance = Xoshiro256PlusPlus::seed_from_u64(self.chance.random());
            disturb(&mut state, &mut chance);
        }
        false
    }

    /// Finds room for some of the copies left, the first first; returns those that found none.
    ///
    /// A shape that failed is given up, and after so many all are.
    pub(crate) fn some(
        &mut self,
        board: &mut Board<'_>,
        left: Vec<usize>,
        most_failures: usize,
    ) -> Vec<usize> {
        let is_quick = most_failures < usize::MAX;
        let patience = if is_quick { &A_FEW_MORE_QUICKLY } else { &A_FEW_MORE };
        let mut given_up = vec![false; board.shapes.len()];
        let mut left = left;
        let mut n_at_once = 1;
        let mut n_failures = 0;
        while !self.is_over() && n_failures < most_failures {
            let more: Vec<usize> = left
                .iter()
                .copied()
                .filter(|&copy| !given_up[board.shape_of[copy]])
                .take(n_at_once)
                .collect();
            let Some(&first) = more.first() else { break };
            let found = !is_too_dense(board, &more)
                && self.laid(board, &more).is_some_and(|mut state| {
                    let mut separator = self.separator(&state);
                    let apart = self.separate(&mut separator, &mut state, patience);
                    if apart {
                        board.copy_from(&state.board);
                    }
                    apart
                });
            if found {
                left.retain(|copy| !more.contains(copy));
                n_at_once *= 2;
            } else if n_at_once > 1 {
                n_at_once = 1;
            } else {
                given_up[board.shape_of[first]] = true;
                n_failures += 1;
            }
        }
        left
    }

    /// Moves apart what overlaps; copies that stay in the way are lifted, the most entangled first.
    pub(crate) fn apart(&mut self, board: &mut Board<'_>) {
        let mut state = State::new(board.clone());
        if !state.is_apart() {
            let mut separator = self.separator(&state);
            let mut patience = AS_BEFORE;
            while !self.separate(&mut separator, &mut state, &patience) {
                let Some(copy) = state.most_entangled() else { break };
                state.lift(copy);
                patience = A_FEW_MORE_QUICKLY;
            }
        }
        board.copy_from(&state.board);
    }

    /// The board with more copies where they overlap least.
    fn laid<'a>(&mut self, board: &Board<'a>, more: &[usize]) -> Option<State<'a>> {
        let mut state = State::new(board.clone());
        let (mut searcher, mut turned) = (Searcher::default(), Turned::default());
        let weights = vec![1.0; board.shape_of.len()];
        for &copy in more {
            let spot =
                searcher.search(&state.board, copy, &weights, f32::INFINITY, &mut self.chance)?;
            state.lay(copy, spot.spot, &mut turned);
        }
        self.evaluations += searcher.evaluations;
        Some(state)
    }

    fn separator<'a>(&mut self, state: &State<'a>) -> Separator<'a> {
        let chance = Xoshiro256PlusPlus::seed_from_u64(self.chance.random());
        Separator::new(state, self.n_threads, chance)
    }

    fn separate<'a>(
        &mut self,
        separator: &mut Separator<'a>,
        state: &mut State<'a>,
        patience: &Patience,
    ) -> bool {
        let (before, so_far) = (separator.evaluations, self.evaluations);
        let left = self.budget.saturating_sub(self.evaluations);
        let patience = Patience {
            n_stale: patience.n_stale * self.patience,
            evaluations: patience.evaluations.saturating_mul(self.patience as u64).min(left),
            ..*patience
        };
        let (go_on, is_canceled) = (&mut self.go_on, &mut self.is_canceled);
        let apart = separator.separate(state, &patience, &mut |now| {
            *is_canceled |= !go_on(so_far + now - before);
            !*is_canceled
        });
        self.evaluations += separator.evaluations - before;
        apart
    }
}

/// Tells whether copies and what is placed cannot lie in the rooms, by their areas.
fn is_too_dense(board: &Board<'_>, left: &[usize]) -> bool {
    let room: f32 = board.rooms.iter().map(|room| room.area_mm2()).sum();
    let placed = (0..board.rooms.len()).flat_map(|sheet| board.on(sheet));
    let grown: f32 = placed
        .map(|&copy| copy as usize)
        .chain(left.iter().copied())
        .map(|copy| board.shape(copy).grown_mm2)
        .sum();
    grown > TOO_DENSE * room
}
