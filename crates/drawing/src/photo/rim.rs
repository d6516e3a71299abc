//! Where across its crest does the band of a rim or a drawn line begin and end?
//!
//! At points along the crest the response is read across it; an edge of the band is where it falls off most steeply.
//! A shadow beside the rim falls off slowly and does not count.
//! Where glare has the color of the paper nothing is read, and here and there something else is: there the median of
//! what was read nearby stands in.

use kurbo::Vec2;

use crate::{photo::plane::Plane, region::distance};

/// Way between two points on the crest, mm.
const STEP_MM: f64 = 0.25;

/// How far the edges are looked for from the crest, mm: half of the widest rim, and what the crest may be off.
const REACH_MM: f64 = 2.5;

/// How far the strongest response may lie from the crest, mm.
const CREST_MM: f64 = 0.6;

/// Way between two readings across the crest, mm.
const ACROSS_MM: f64 = 0.05;

/// Half of the way over which a fall is measured, mm.
const FALL_MM: f64 = 0.2;

/// A fall of less than this part of the crest's response is no edge.
const LEAST_FALL: f64 = 0.2;

/// How far along the crest readings stand in for each other, mm.
const NEARBY_MM: f64 = 2.0;

/// A reading farther than this from the median nearby is not believed, mm.
const MOST_STRAY_MM: f64 = 0.25;

/// Which edge of the band is wanted.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Edge {
    Outer,
    Middle,
    Inner,
}

/// Distances of both edges from the crest, mm, positive outward: the inner and the outer one.
type Reading = [f64; 2];

/// Moves a crest, given in pixels with the inside on its right hand, to an edge of its band.
pub(super) fn to_edge(
    crest: &[[f64; 2]],
    response: &Plane,
    least: f32,
    pixels_per_mm: f64,
    edge: Edge,
) -> Vec<[f64; 2]> {
    let points = evenly(crest, STEP_MM * pixels_per_mm);
    let n = points.len();
    if n < 3 {
        return points;
    }
    let at = |index: usize| points.get(index % n).copied().unwrap_or_default();
    // Tangents over a millimeter either way: the crest is rough by a pixel.
    let around = ((1.0 / STEP_MM) as usize).min(n / 3);
    let outward: Vec<Vec2> = (0..n)
        .map(|index| {
            let (before, after) = (at(index + n - around), at(index + around));
            let along = Vec2::new(after[0] - before[0], after[1] - before[1]);
            let length = along.hypot().max(1e-9);
            Vec2::new(along.y / length, -along.x / length)
        })
        .collect();
    let readings: Vec<Option<Reading>> = points
        .iter()
        .zip(&outward)
        .map(|(&point, &outward)| read_across(response, point, outward, least, pixels_per_mm))
        .collect();
    let all: Vec<Reading> = readings.iter().flatten().copied().collect();
    let usual = median(&all);
    let nearby = ((NEARBY_MM / STEP_MM) as usize).min(n / 3);
    let moved: Vec<[f64; 2]> = points
        .iter()
        .zip(&outward)
        .enumerate()
        .map(|(index, (&[x, y], outward))| {
            let near = (0..=2 * nearby).filter_map(|step| {
                readings.get((index + n + step - nearby) % n).copied().flatten()
            });
            let near: Vec<Reading> = near.collect();
            let stand_in = if near.len() > nearby / 2 { median(&near) } else { usual };
            let own = readings.get(index).copied().flatten().filter(|own| {
                own.iter().zip(stand_in).all(|(own, usual)| (own - usual).abs() <= MOST_STRAY_MM)
            });
            let [inner, outer] = own.unwrap_or(stand_in);
            let off = pixels_per_mm
                * match edge {
                    Edge::Outer => outer,
                    Edge::Middle => (inner + outer) / 2.0,
                    Edge::Inner => inner,
                };
            [x + off * outward.x, y + off * outward.y]
        })
        .collect();
    // Readings come in steps; a mean of three takes them out and hardly rounds a corner.
    (0..n)
        .map(|index| {
            let three = [index + n - 1, index, index + 1].map(|at| moved[at % n]);
            [0, 1].map(|axis: usize| three.iter().map(|point| point[axis]).sum::<f64>() / 3.0)
        })
        .collect()
}

/// Returns points at even distances along a closed line.
fn evenly(line: &[[f64; 2]], step: f64) -> Vec<[f64; 2]> {
    let ends = line.iter().cycle().skip(1);
    let mut points = Vec::new();
    let mut left = 0.0;
    for (from, to) in line.iter().zip(ends) {
        let length = distance(*from, *to);
        while left < length {
            let share = left / length;
            points.push([from[0] + share * (to[0] - from[0]), from[1] + share * (to[1] - from[1])]);
            left += step.max(1e-6);
        }
        left -= length;
    }
    points
}

/// Returns the median of each distance.
fn median(readings: &[Reading]) -> Reading {
    let of = |side: usize| {
        let mut values: Vec<f64> = readings.iter().map(|reading| reading[side]).collect();
        values.sort_by(f64::total_cmp);
        values.get(values.len() / 2).copied().unwrap_or_default()
    };
    [of(0), of(1)]
}

/// Reads the response across the crest at a point.
fn read_across(
    response: &Plane,
    [x, y]: [f64; 2],
    outward: Vec2,
    least: f32,
    pixels_per_mm: f64,
) -> Option<Reading> {
    let n_half = (REACH_MM / ACROSS_MM) as i32;
    let profile: Vec<f64> = (-n_half..=n_half)
        .map(|step| {
            let off = f64::from(step) * ACROSS_MM * pixels_per_mm;
            f64::from(response.at([x + off * outward.x, y + off * outward.y]))
        })
        .collect();
    let middle = n_half as usize;
    let near = (CREST_MM / ACROSS_MM) as usize;
    let (crest, height) = (middle - near..=middle + near)
        .filter_map(|index| Some((index, *profile.get(index)?)))
        .max_by(|one, other| one.1.total_cmp(&other.1))?;
    if height <= f64::from(least) {
        return None;
    }
    let half = (FALL_MM / ACROSS_MM) as usize;
    let fall = |index: usize, is_outward: bool| -> f64 {
        let low = profile.get(index.saturating_sub(half)).copied().unwrap_or_default();
        let high = profile.get(index + half).copied().unwrap_or_default();
        if is_outward { low - high } else { high - low }
    };
    let steepest = |range: std::ops::Range<usize>, is_outward: bool| {
        let best = range
            .map(|index| (index, fall(index, is_outward)))
            .max_by(|one, other| one.1.total_cmp(&other.1))?;
        let is_edge = best.1 >= LEAST_FALL * height;
        is_edge.then_some((best.0 as f64 - middle as f64) * ACROSS_MM)
    };
    let inner = steepest(half..crest + 1, false)?;
    let outer = steepest(crest..profile.len().saturating_sub(half), true)?;
    Some([inner, outer])
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A ring around (60, 60): 1 between the radii, a ramp of 0.3 outside of it.
    fn ring(inner: f64, outer: f64) -> Plane {
        let (width, height) = (120, 120);
        let values = (0..width * height).map(|index| {
            let (x, y) = ((index % width) as f64 + 0.5, (index / width) as f64 + 0.5);
            let radius = (x - 60.0).hypot(y - 60.0);
            let shadow =
                if radius > outer { 0.3 * (1.0 - (radius - outer) / 12.0).max(0.0) } else { 0.0 };
            let share =
                ((radius - inner).clamp(-0.5, 0.5) - (radius - outer).clamp(-0.5, 0.5)).max(0.0);
            (share + (1.0 - share) * shadow) as f32
        });
        Plane { width, height, values: values.collect() }
    }

    #[test]
    fn both_edges_of_a_ring_are_found_and_its_shadow_is_not() {
        let plane = ring(30.0, 36.0);
        let crest: Vec<[f64; 2]> = (0..360)
            .map(|degree| {
                let angle = f64::from(degree).to_radians();
                [60.0 + 33.4 * angle.cos(), 60.0 + 33.4 * angle.sin()]
            })
            .collect();
        for (edge, radius) in [(Edge::Inner, 30.0), (Edge::Middle, 33.0), (Edge::Outer, 36.0)] {
            for [x, y] in to_edge(&crest, &plane, 0.1, 6.0, edge) {
                let off = (x - 60.0).hypot(y - 60.0) - radius;
                assert!(off.abs() < 0.6, "{edge:?}: {off} pixels");
            }
        }
    }
}
