//! By how much copies overlap.
//!
//! The overlap of two shapes that collide is told by a proxy over their inscribed circles:
//! sum of decayed depth x smaller radius, times pi, root of it with (1 % of the diameter)² added, times the mean extent of both hulls.
//!
//! Source: Gardeyn, Vanden Berghe, Wauters, "An open-source heuristic to reboot 2D nesting research", arXiv:2509.13329 (2025), Algorithms 3 to 5.

use super::{
    MOST_POLES,
    board::{Board, Circles, MOST_OPEN, NOWHERE, larger, smaller},
    shape::Turned,
};

impl Board<'_> {
    /// The weighted loss of a turned shape at a place; more than `bound` is told as infinite, and early.
    pub(crate) fn loss(
        &self,
        turned: &Turned,
        spot: (usize, [f32; 2]),
        but: usize,
        weights: &[f32],
        bound: f32,
    ) -> f32 {
        let (sheet, at) = spot;
        let mut open = [0_u32; MOST_OPEN];
        let mut n_open = 0;
        let mut loss = 0.0;
        let within = self.near(turned, sheet, at, but, |other| {
            if self.poles_hit(turned, at, other) || n_open == MOST_OPEN {
                loss += self.pair_loss(turned, at, other, weights[other], bound - loss);
                return loss <= bound;
            }
            open[n_open] = other as u32;
            n_open += 1;
            true
        });
        if !within {
            return f32::INFINITY;
        }
        for &other in &open[..n_open] {
            let other = other as usize;
            if self.edges_hit(turned, at, other) {
                loss += self.pair_loss(turned, at, other, weights[other], bound - loss);
                if loss > bound {
                    return f32::INFINITY;
                }
            }
        }
        loss
    }

    /// Notes every copy that a placed one overlaps, with the unweighted loss.
    pub(crate) fn overlaps(&self, copy: usize, turned: &Turned, found: &mut Vec<(u32, f32)>) {
        found.clear();
        let spot = self.spots[copy];
        if spot.sheet == NOWHERE {
            return;
        }
        self.near(turned, spot.sheet, spot.at, copy, |other| {
            if self.poles_hit(turned, spot.at, other) || self.edges_hit(turned, spot.at, other) {
                let loss = self.pair_loss(turned, spot.at, other, 1.0, f32::INFINITY);
                found.push((other as u32, loss));
            }
            true
        });
    }

    /// Weighted loss of a colliding pair; infinite as soon as it is more than `bound`.
    fn pair_loss(
        &self,
        turned: &Turned,
        at: [f32; 2],
        other: usize,
        weight: f32,
        bound: f32,
    ) -> f32 {
        let (own, others) = (&self.shapes[turned.shape], self.shape(other));
        let epsilon = 0.01 * larger(own.diameter_mm, others.diameter_mm);
        let scale = weight * own.extent_root * others.extent_root;
        // What the circles may sum up to before the bound is passed.
        let allowed = bound / scale;
        let most = (allowed * allowed - epsilon * epsilon) / std::f32::consts::PI;
        let mut sum = 0.0;
        let circles = self.poles(other);
        let mut parts = [0.0_f32; MOST_POLES];
        for i in 0..own.n_poles {
            let (x, y, r) = (turned.pole_xs[i] + at[0], turned.pole_ys[i] + at[1], own.pole_rs[i]);
            decayed([x, y, r], &circles, epsilon, &mut parts[..circles.0.len()]);
            sum += parts.iter().sum::<f32>();
            if sum > most {
                return f32::INFINITY;
            }
        }
        (sum * std::f32::consts::PI + epsilon * epsilon).sqrt() * scale
    }
}

/// Decayed depth times the smaller radius for each circle of a copy.
///
/// Below epsilon the depth d gives way to e² / (2e - d), which falls off and never reaches zero, so that a slope remains;
/// written as e² / (2e - min(d, e)) + max(d, e) - e it has no branch.
#[inline(always)]
fn decayed([x, y, r]: [f32; 3], circles: &Circles<'_>, epsilon: f32, parts: &mut [f32]) {
    let (xs, ys, rs) = circles;
    for (((part, cx), cy), cr) in parts.iter_mut().zip(*xs).zip(*ys).zip(*rs) {
        let (dx, dy) = (cx - x, cy - y);
        let depth = cr + r - (dx * dx + dy * dy).sqrt();
        let below = epsilon * epsilon / (2.0 * epsilon - smaller(depth, epsilon));
        *part = (below + larger(depth, epsilon) - epsilon) * smaller(*cr, r);
    }
}
