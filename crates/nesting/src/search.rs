//! Where does one copy overlap least? Samples everywhere and near, the best of them refined by coordinate descent.
//!
//! Source: Gardeyn, Vanden Berghe, Wauters, "An open-source heuristic to reboot 2D nesting research", arXiv:2509.13329 (2025), Algorithms 6 and 7.

use rand::RngExt;
use rand_xoshiro::Xoshiro256PlusPlus;

use crate::{
    Rotation,
    kernel::{Board, Spot, Turned},
};

/// Samples anywhere, and near where the copy lies.
const N_ANYWHERE: usize = 50;
const N_NEAR: usize = 25;
/// Samples that are refined.
const N_BEST: usize = 3;
/// Samples closer than this share of the breadth are one.
const SAME: f32 = 0.05;
/// Steps of the first and of the last descent: from and to, as shares of the breadth, and turns from and to in radians.
const FIRST_DESCENT: Descent = Descent { steps: (0.25, 0.02), turns: (0.035, 0.003) };
const LAST_DESCENT: Descent = Descent { steps: (0.01, 0.001), turns: (0.009, 0.0009) };
/// A step that helped grows, one that did not shrinks.
const LONGER: f32 = 1.1;
const SHORTER: f32 = 0.5;

struct Descent {
    steps: (f32, f32),
    turns: (f32, f32),
}

/// A place that was tried.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Tried {
    pub(crate) loss: f32,
    pub(crate) spot: Spot,
}

/// Scratch space and a count of queries.
#[derive(Debug, Default)]
pub(crate) struct Searcher {
    pub(crate) evaluations: u64,
    here: Turned,
    there: Turned,
    best: Vec<Tried>,
}

impl Searcher {
    /// Returns the best place found for a copy, at which it weighs less than `now`, if there is one.
    ///
    /// `weights` holds a weight for each other copy.
    pub(crate) fn search(
        &mut self,
        board: &Board<'_>,
        copy: usize,
        weights: &[f32],
        now: f32,
        chance: &mut Xoshiro256PlusPlus,
    ) -> Option<Tried> {
        self.best.clear();
        let shape = board.shape(copy);
        let current = board.spot(copy);
        if let Some(spot) = current {
            self.best.push(Tried { loss: now, spot });
        }
        let n_sheets = board.rooms.len();
        for i in 0..N_ANYWHERE {
            let sheet = match current {
                // Half of the samples stay on the sheet.
                Some(spot) if n_sheets == 1 || i % 2 == 0 => spot.sheet,
                _ => chance.random_range(0..n_sheets),
            };
            let turned = &shape.turns[chance.random_range(0..shape.turns.len())];
            let Some((low, high)) = board.rooms[sheet].reach(turned) else { continue };
            let at = [0, 1].map(|axis| between(chance, low[axis], high[axis]));
            let (angle, mirrored) = (turned.angle, turned.mirrored);
            self.try_at(board, copy, turned, Spot { sheet, angle, mirrored, at }, weights);
        }
        if let Some(spot) = current {
            let mut here = std::mem::take(&mut self.here);
            let spread = shape.diameter_mm / 2.0;
            for _ in 0..N_NEAR {
                let (angle, mirrored) = match shape.rotation {
                    Rotation::Free => (spot.angle + 0.2 * bell(chance), spot.mirrored),
                    _ => {
                        let turn = &shape.turns[chance.random_range(0..shape.turns.len())];
                        (turn.angle, turn.mirrored)
                    }
                };
                shape.turn_as(board.shape_of[copy], angle, mirrored, &mut here);
                let Some((low, high)) = board.rooms[spot.sheet].reach(&here) else { continue };
                let at = [0, 1].map(|axis| {
                    let near = spot.at[axis] + spread * (2.0 * chance.random::<f32>() - 1.0);
                    near.clamp(low[axis], high[axis])
                });
                let near = Spot { sheet: spot.sheet, angle, mirrored, at };
                self.try_at(board, copy, &here, near, weights);
            }
            self.here = here;
        }
        let refined = self.best.len();
        let mut least: Option<Tried> = None;
        for i in 0..refined {
            let tried = self.descend(board, copy, self.best[i], &FIRST_DESCENT, weights, chance);
            if least.is_none_or(|least| tried.loss < least.loss) {
                least = Some(tried);
            }
            if tried.loss == 0.0 {
                break;
            }
        }
        let least = least?;
        let least = self.descend(board, copy, least, &LAST_DESCENT, weights, chance);
        (least.loss < now).then_some(least)
    }

    /// Keeps a sample if it is among the best and no other is near it.
    fn try_at(
        &mut self,
        board: &Board<'_>,
        copy: usize,
        turned: &Turned,
        spot: Spot,
        weights: &[f32],
    ) {
        let bound = match self.best.len() {
            N_BEST => self.best[N_BEST - 1].loss,
            _ => f32::INFINITY,
        };
        if bound == 0.0 {
            return;
        }
        self.evaluations += 1;
        let loss = board.loss(turned, (spot.sheet, spot.at), copy, weights, bound);
        if loss >= bound {
            return;
        }
        let near = SAME * board.shape(copy).breadth_mm;
        let twin = self.best.iter().position(|one| {
            one.spot.sheet == spot.sheet
                && (one.spot.at[0] - spot.at[0]).abs() < near
                && (one.spot.at[1] - spot.at[1]).abs() < near
                && (one.spot.angle - spot.angle).abs() < 0.05
                && one.spot.mirrored == spot.mirrored
        });
        match twin {
            Some(twin) if self.best[twin].loss <= loss => return,
            Some(twin) => {
                self.best.remove(twin);
            }
            None if self.best.len() == N_BEST => {
                self.best.pop();
            }
            None => {}
        }
        let at = self.best.partition_point(|one| one.loss <= loss);
        self.best.insert(at, Tried { loss, spot });
    }

    /// Steps along the axes, the diagonals and the angle while that lowers the loss, shorter and shorter.
    fn descend(
        &mut self,
        board: &Board<'_>,
        copy: usize,
        start: Tried,
        descent: &Descent,
        weights: &[f32],
        chance: &mut Xoshiro256PlusPlus,
    ) -> Tried {
        let (shape, place) = (board.shape(copy), board.shape_of[copy]);
        let room = board.rooms[start.spot.sheet];
        let mut best = start;
        let mut here = std::mem::take(&mut self.here);
        let mut there = std::mem::take(&mut self.there);
        shape.turn_like(place, &best.spot, &mut here);
        let mut steps = [descent.steps.0 * shape.breadth_mm; 2];
        let shortest = descent.steps.1 * shape.breadth_mm;
        let is_free = shape.rotation == Rotation::Free;
        let mut turn = if is_free { descent.turns.0 } else { 0.0 };
        while best.loss > 0.0 {
            let moves = steps[0] >= shortest || steps[1] >= shortest;
            let turns = is_free && turn >= descent.turns.1;
            if !moves && !turns {
                break;
            }
            let before = best.loss;
            if turns && (!moves || chance.random_range(0..3) == 0) {
                for by in [turn, -turn] {
                    let angle = best.spot.angle + by;
                    shape.turn_as(place, angle, best.spot.mirrored, &mut there);
                    let Some((low, high)) = room.reach(&there) else { continue };
                    let at = [0, 1].map(|axis| best.spot.at[axis].clamp(low[axis], high[axis]));
                    self.evaluations += 1;
                    let loss = board.loss(&there, (best.spot.sheet, at), copy, weights, best.loss);
                    if loss < best.loss {
                        best = Tried { loss, spot: Spot { angle, at, ..best.spot } };
                        std::mem::swap(&mut here, &mut there);
                        break;
                    }
                }
                turn *= if best.loss < before { LONGER } else { SHORTER };
                continue;
            }
            let Some((low, high)) = room.reach(&here) else { break };
            let ways = match chance.random_range(0..4) {
                0 => [[steps[0], 0.0], [-steps[0], 0.0]],
                1 => [[0.0, steps[1]], [0.0, -steps[1]]],
                2 => [[steps[0], steps[1]], [-steps[0], -steps[1]]],
                _ => [[steps[0], -steps[1]], [-steps[0], steps[1]]],
            };
            let from = best.spot.at;
            for [dx, dy] in ways {
                let at =
                    [(from[0] + dx).clamp(low[0], high[0]), (from[1] + dy).clamp(low[1], high[1])];
                if at == from {
                    continue;
                }
                self.evaluations += 1;
                let loss = board.loss(&here, (best.spot.sheet, at), copy, weights, best.loss);
                if loss < best.loss {
                    best = Tried { loss, spot: Spot { at, ..best.spot } };
                }
            }
            let factor = if best.loss < before { LONGER } else { SHORTER };
            for (axis, step) in steps.iter_mut().enumerate() {
                if ways[0][axis] != 0.0 {
                    *step *= factor;
                }
            }
        }
        self.here = here;
        self.there = there;
        best
    }
}

fn between(chance: &mut Xoshiro256PlusPlus, low: f32, high: f32) -> f32 {
    low + (high - low) * chance.random::<f32>()
}

/// Roughly normal, with standard deviation 1: the sum of three uniform numbers.
fn bell(chance: &mut Xoshiro256PlusPlus) -> f32 {
    2.0 * (chance.random::<f32>() + chance.random::<f32>() + chance.random::<f32>() - 1.5)
}
