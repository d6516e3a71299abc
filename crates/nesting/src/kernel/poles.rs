//! Circles inside an outline, each the largest that overlaps none before: the poles of inaccessibility, one after another.
//!
//! Best-first search over squares: what a square can reach at most is the distance of its center and half its diagonal.
//! Source: Garcia-Castellanos and Lombardo, "Poles of inaccessibility", Scottish Geographical Journal 123 (2007); the search over squares is common practice.

use std::{cmp::Ordering, collections::BinaryHeap};

use super::{LANES, MOST_POLES};
use crate::Outline;

/// A circle inside an outline.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Pole {
    pub(crate) center: [f64; 2],
    pub(crate) radius: f64,
}

/// [`LANES`] circles are enough if they cover this share of the outline.
const COVERED: f64 = 0.7;
/// A pole may fall short of the largest circle by this share of the diameter.
const PRECISION: f64 = 0.004;
/// Squares looked at for one pole.
const MOST_SQUARES: usize = 600;

struct Square {
    center: [f64; 2],
    half: f64,
    distance: f64,
    at_most: f64,
}

impl PartialEq for Square {
    fn eq(&self, other: &Self) -> bool {
        self.cmp(other) == Ordering::Equal
    }
}

impl Eq for Square {}

impl PartialOrd for Square {
    fn partial_cmp(&self, other: &Self) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Square {
    fn cmp(&self, other: &Self) -> Ordering {
        self.at_most.total_cmp(&other.at_most)
    }
}

/// Returns the poles of an outline of given area and diameter, the largest first.
pub(crate) fn poles(corners: &Outline, area_mm2: f64, diameter_mm: f64) -> Vec<Pole> {
    let mut found: Vec<Pole> = Vec::new();
    let mut covered = 0.0;
    while found.len() < MOST_POLES && (found.len() < LANES || covered < COVERED * area_mm2) {
        let Some(pole) = next_pole(corners, &found, PRECISION * diameter_mm) else { break };
        covered += std::f64::consts::PI * pole.radius * pole.radius;
        found.push(pole);
    }
    found
}

fn next_pole(corners: &Outline, before: &[Pole], precision: f64) -> Option<Pole> {
    let (low, high) = crate::clean::turned_bounds(corners, 0.0);
    let half = (high[0] - low[0]).min(high[1] - low[1]).max(precision) / 4.0;
    let square = |center: [f64; 2], half: f64| {
        let distance = before.iter().fold(inside(corners, center), |least, pole| {
            let [x, y] = pole.center;
            least.min((center[0] - x).hypot(center[1] - y) - pole.radius)
        });
        Square { center, half, distance, at_most: distance + half * std::f64::consts::SQRT_2 }
    };
    let mut open = BinaryHeap::new();
    let n = [0, 1].map(|axis| ((high[axis] - low[axis]) / (2.0 * half)).ceil() as usize);
    for i in 0..n[0] {
        for j in 0..n[1] {
            let center = [low[0] + half * (2 * i + 1) as f64, low[1] + half * (2 * j + 1) as f64];
            open.push(square(center, half));
        }
    }
    let mut best = Pole { center: [0.0; 2], radius: 0.0 };
    for _ in 0..MOST_SQUARES {
        let Some(top) = open.pop() else { break };
        if top.distance > best.radius {
            best = Pole { center: top.center, radius: top.distance };
        }
        if top.at_most <= best.radius + precision {
            break;
        }
        let quarter = top.half / 2.0;
        for [dx, dy] in [[-1.0, -1.0], [1.0, -1.0], [-1.0, 1.0], [1.0, 1.0]] {
            let center = [top.center[0] + dx * quarter, top.center[1] + dy * quarter];
            let part = square(center, quarter);
            if part.at_most > best.radius + precision {
                open.push(part);
            }
        }
    }
    (best.radius > precision).then_some(best)
}

/// Distance of a point from the outline, negative outside.
fn inside(corners: &Outline, [x, y]: [f64; 2]) -> f64 {
    let mut within = false;
    let mut least = f64::MAX;
    let mut before = corners[corners.len() - 1];
    for &here in corners {
        let ([ax, ay], [bx, by]) = (before, here);
        if (ay > y) != (by > y) && x < (bx - ax) * (y - ay) / (by - ay) + ax {
            within = !within;
        }
        let (dx, dy) = (bx - ax, by - ay);
        let t = (((x - ax) * dx + (y - ay) * dy) / (dx * dx + dy * dy).max(1e-12)).clamp(0.0, 1.0);
        let (ex, ey) = (x - ax - t * dx, y - ay - t * dy);
        least = least.min(ex * ex + ey * ey);
        before = here;
    }
    if within { least.sqrt() } else { -least.sqrt() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_poles_of_a_rectangle_lie_inside_and_do_not_overlap() {
        let rectangle = vec![[0.0, 0.0], [60.0, 0.0], [60.0, 20.0], [0.0, 20.0]];
        let found = poles(&rectangle, 1200.0, 63.25);
        // Three circles of 20 mm side by side are the closed form of the first three.
        assert!(found[..1].iter().all(|pole| (pole.radius - 10.0).abs() < 0.3), "{found:?}");
        for (i, a) in found.iter().enumerate() {
            assert!(inside(&rectangle, a.center) >= a.radius - 1e-9);
            for b in &found[i + 1..] {
                let apart = (a.center[0] - b.center[0]).hypot(a.center[1] - b.center[1]);
                assert!(apart >= a.radius + b.radius - 1e-9);
            }
        }
    }
}
