//! An outline grown by half a gap, with fewer corners: never smaller than the exact one, little larger.

use i_overlay::{core::fill_rule::FillRule, float::simplify::SimplifyShape};

use crate::{Outline, clean::area};

/// A corner of a grown outline lies at most so far outside the exact arc.
const ARC_MM: f64 = 0.03;
/// Leaving out corners may add this share of the area.
const SIMPLER: f64 = 0.001;
/// More corners are thinned in sweeps first.
const MANY_CORNERS: usize = 300;

/// Grows a simple outline, so that all points within `by_mm` of it are covered; corners counter-clockwise (positive area).
///
/// Arcs become the corners of a polygon around them; holes that close are filled.
/// Returns nothing if no outline is left that covers the piece.
pub(crate) fn grown(outline: &Outline, by_mm: f64) -> Option<Outline> {
    let mut corners = outline.clone();
    if area(&corners) < 0.0 {
        corners.reverse();
    }
    let least = area(&corners);
    let raw = raw_offset(&corners, by_mm);
    let covered = [FillRule::Positive, FillRule::Negative]
        .iter()
        .flat_map(|&rule| raw.simplify_shape(rule))
        .filter_map(|shape| shape.into_iter().next())
        .map(|mut ring| {
            if area(&ring) < 0.0 {
                ring.reverse();
            }
            ring
        })
        .max_by(|a, b| area(a).total_cmp(&area(b)))?;
    // What covers the piece is not smaller, rounding aside.
    (area(&covered) > least * 0.999).then(|| simpler(covered))
}

/// The offset edges joined corner by corner: loops at inward corners wind the other way and are dropped by the fill rule.
fn raw_offset(corners: &Outline, by: f64) -> Outline {
    let n = corners.len();
    let step = 2.0 * (1.0 / (1.0 + ARC_MM / by.max(1e-6))).acos();
    let mut raw = Outline::with_capacity(2 * n);
    for i in 0..n {
        let (before, here, after) = (corners[(i + n - 1) % n], corners[i], corners[(i + 1) % n]);
        let (into, out) = (heading(before, here), heading(here, after));
        let turn = wrapped(out - into);
        let at =
            |angle: f64, reach: f64| [here[0] + reach * angle.sin(), here[1] - reach * angle.cos()];
        if turn < 0.0 {
            raw.extend([at(into, by), here, at(out, by)]);
            continue;
        }
        let n_corners = (turn / step).ceil().max(1.0);
        let part = turn / n_corners;
        let reach = by / (part / 2.0).cos();
        raw.extend((0..n_corners as usize).map(|k| at(into + part * (k as f64 + 0.5), reach)));
    }
    raw
}

fn heading(a: [f64; 2], b: [f64; 2]) -> f64 {
    (b[1] - a[1]).atan2(b[0] - a[0])
}

fn wrapped(angle: f64) -> f64 {
    let turned = angle.rem_euclid(std::f64::consts::TAU);
    if turned > std::f64::consts::PI { turned - std::f64::consts::TAU } else { turned }
}

/// Leaves out the corners that cost least area, always outward: an inward corner is cut off, two outward ones are replaced by where their outer edges meet.
fn simpler(mut corners: Outline) -> Outline {
    let mut spare = area(&corners) * SIMPLER;
    // Of very many corners most cost next to nothing; what is left is small enough to look for the cheapest each time.
    while corners.len() > MANY_CORNERS {
        let cheap = spare / (8 * corners.len()) as f64;
        let before = corners.len();
        let mut i = 0;
        while i < corners.len() && corners.len() > MANY_CORNERS {
            if let Some(step) = step_at(&corners, i).filter(|step| step.cost <= cheap) {
                spare -= step.cost;
                take(&mut corners, i, &step);
            }
            i += 1;
        }
        if corners.len() == before {
            break;
        }
    }
    while corners.len() > 4 {
        let n = corners.len();
        let best = (0..n)
            .filter_map(|i| Some((i, step_at(&corners, i)?)))
            .min_by(|a, b| a.1.cost.total_cmp(&b.1.cost));
        let Some((i, step)) = best.filter(|(_, step)| step.cost <= spare) else { break };
        spare -= step.cost;
        take(&mut corners, i, &step);
    }
    corners
}

/// Has one corner less.
fn take(corners: &mut Outline, i: usize, step: &Step) {
    let after = (i + 1) % corners.len();
    match step.meet {
        None => {
            corners.remove(i);
        }
        Some(meet) => {
            corners[i] = meet;
            corners.remove(after);
        }
    }
}

/// A way to have one corner less.
struct Step {
    cost: f64,
    /// What replaces the corner and the next one; nothing if the corner is left out.
    meet: Option<[f64; 2]>,
}

fn step_at(corners: &Outline, i: usize) -> Option<Step> {
    let n = corners.len();
    let [a, b, c, d] = [n - 1, 0, 1, 2].map(|k| corners[(i + k) % n]);
    let turn = cross(a, b, c);
    if turn <= 0.0 {
        return Some(Step { cost: -turn / 2.0, meet: None });
    }
    if cross(b, c, d) <= 0.0 {
        return None;
    }
    // Where the edge into b and the edge out of c meet beyond both.
    let (into, out) = ([b[0] - a[0], b[1] - a[1]], [c[0] - d[0], c[1] - d[1]]);
    let parallel = into[0] * out[1] - into[1] * out[0];
    if parallel.abs() < 1e-9 {
        return None;
    }
    let t = ((c[0] - b[0]) * out[1] - (c[1] - b[1]) * out[0]) / parallel;
    let meet = [b[0] + t * into[0], b[1] + t * into[1]];
    let cost = cross(b, meet, c) / 2.0;
    (t > 0.0 && cost >= 0.0).then_some(Step { cost, meet: Some(meet) })
}

fn cross(a: [f64; 2], b: [f64; 2], c: [f64; 2]) -> f64 {
    (b[0] - a[0]) * (c[1] - b[1]) - (b[1] - a[1]) * (c[0] - b[0])
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_grown_square_covers_steiners_area_and_little_more() {
        let square = vec![[0.0, 0.0], [50.0, 0.0], [50.0, 50.0], [0.0, 50.0]];
        // Steiner's formula: A + L d + pi d2.
        let exact = 2500.0 + 200.0 * 1.0 + std::f64::consts::PI;
        let grown = area(&grown(&square, 1.0).expect("an outline"));
        assert!(grown >= exact && grown < exact * (1.0 + SIMPLER) + 0.5, "{grown} for {exact}");
    }

    #[test]
    fn a_narrow_slot_closes_and_a_wide_one_stays_open() {
        let slotted = |width: f64| {
            let (left, right) = (25.0 - width / 2.0, 25.0 + width / 2.0);
            vec![
                [0.0, 0.0],
                [50.0, 0.0],
                [50.0, 50.0],
                [right, 50.0],
                [right, 10.0],
                [left, 10.0],
                [left, 50.0],
                [0.0, 50.0],
            ]
        };
        let grown = |width| area(&grown(&slotted(width), 1.0).expect("an outline"));
        // Open: 52 x 52 less round corners less a slot two narrower and one shallower.
        assert!((grown(10.0) - (52.0 * 52.0 - 8.0 * 40.0 - 0.86)).abs() < 5.0);
        assert!((grown(1.0) - 52.0 * 52.0).abs() < 5.0);
    }
}
