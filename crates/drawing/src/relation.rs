//! Which sections lie side by side, and which lie on top of each other?
//!
//! Two regions share an edge where their edges face each other at most `within` apart:
//! from points along one edge the nearest point of the other edge is looked for; it counts if it lies straight
//! across (within 45 degrees of the outward normal) and belongs to an edge that faces back.
//! The shared length is the mean of the lengths found from either side, so it does not depend on their order.
//! Regions that meet in a corner only share nothing; a region lying on top of another overlaps it and is no neighbor.
//!
//! Points stand at most a quarter of `within` (but 0.05 to 0.25 mm) apart, so the length is met to about that spacing
//! at each end of a shared stretch.
//! Cost: edge points × edges within that distance, found through a grid of cells.
//!
//! # Worked example
//! Two squares of 20 mm lie side by side 0.5 mm apart, one 5 mm further down: they run along each other for 15 mm.
//! ```
//! use drawing::region::{FillRule, Region};
//! use drawing::relation::{overlap, shared_edge};
//! use quantity::{Area, Length};
//!
//! let square = |x: f64, y: f64| {
//!     let ring = vec![[x, y], [x + 20.0, y], [x + 20.0, y + 20.0], [x, y + 20.0]];
//!     Region::from_rings(&[ring], FillRule::NonZero)
//! };
//! let (left, right) = (square(0.0, 0.0), square(20.5, 5.0));
//! let shared = shared_edge(&left, &right, Length::mm(0.8)).to_mm();
//! assert!((shared - 15.0).abs() < 0.6, "{shared}");
//! assert_eq!(overlap(&left, &right), Area::ZERO);
//! assert_eq!(overlap(&left, &square(15.0, 10.0)), Area::mm2(50.0));
//! ```

use quantity::{Area, Length};

use crate::region::{Bounds, Region, distance, edge_grid::EdgeGrid};

/// Returns the length along which two regions run side by side at most `within` apart.
pub fn shared_edge(a: &Region, b: &Region, within: Length) -> Length {
    let within_mm = within.to_mm();
    let (Some(a_bounds), Some(b_bounds)) = (a.bounds(), b.bounds()) else { return Length::ZERO };
    if !a_bounds.within(&b_bounds, within_mm) {
        return Length::ZERO;
    }
    let a_edges = edges_near(a, &b_bounds, within_mm);
    let b_edges = edges_near(b, &a_bounds, within_mm);
    Length::mm(
        0.5 * (length_beside(&a_edges, &b_edges, within_mm)
            + length_beside(&b_edges, &a_edges, within_mm)),
    )
}

/// Returns the area two regions both cover.
pub fn overlap(a: &Region, b: &Region) -> Area {
    a.intersect(b).area()
}

/// What is dropped into wet icing stays this far from its edge, or it breaks out (common practice, no source).
pub const RIM: Length = Length::mm(0.5);

/// Share of a region that may reach beyond the rim without a word: the corner of a petal, rounding.
const REACH_SHARE: f64 = 0.01;

/// Tells whether a region lies wholly inside another, at least [`RIM`] from its edge, so that it could be dropped in
/// while the other is wet.
pub fn lies_inside(top: &Region, under: &Region) -> bool {
    !top.is_empty() && top.subtract(&under.inset(RIM)).area() <= top.area() * REACH_SHARE
}

/// Edges up to this far apart touch, whichever way the rounding to the grid went.
const TOUCHING_MM: f64 = 0.004;

/// A nearest point lies straight across up to 45 degrees off the normal.
const ACROSS_COSINE: f64 = std::f64::consts::FRAC_1_SQRT_2;

/// Two edges face each other when their outward normals are more than 120 degrees apart.
const FACING_COSINE: f64 = -0.5;

struct Edge {
    from: [f64; 2],
    to: [f64; 2],
    outward: [f64; 2],
    length: f64,
}

fn edges_near(region: &Region, bounds: &Bounds, within_mm: f64) -> Vec<Edge> {
    let edges = region.edges().filter_map(|[from, to]| {
        let length = distance(from, to);
        let own = Bounds {
            min_x: from[0].min(to[0]),
            min_y: from[1].min(to[1]),
            max_x: from[0].max(to[0]),
            max_y: from[1].max(to[1]),
        };
        let outward = [(to[1] - from[1]) / length, (from[0] - to[0]) / length];
        (length > 0.0 && own.within(bounds, within_mm)).then_some(Edge {
            from,
            to,
            outward,
            length,
        })
    });
    edges.collect()
}

fn length_beside(edges: &[Edge], others: &[Edge], within_mm: f64) -> f64 {
    let spacing = (within_mm / 4.0).clamp(0.05, 0.25);
    let ends: Vec<[[f64; 2]; 2]> = others.iter().map(|edge| [edge.from, edge.to]).collect();
    let grid = EdgeGrid::new(&ends);
    let mut length = 0.0;
    for edge in edges {
        let n_points = (edge.length / spacing).ceil().max(1.0);
        for index in 0..n_points as usize {
            let along = (index as f64 + 0.5) / n_points;
            let point = [
                edge.from[0] + along * (edge.to[0] - edge.from[0]),
                edge.from[1] + along * (edge.to[1] - edge.from[1]),
            ];
            let near = grid.near(point, within_mm + TOUCHING_MM).filter_map(|at| others.get(at));
            if is_beside(point, edge.outward, near, within_mm) {
                length += edge.length / n_points;
            }
        }
    }
    length
}

fn is_beside<'a>(
    point: [f64; 2],
    outward: [f64; 2],
    mut others: impl Iterator<Item = &'a Edge>,
    within_mm: f64,
) -> bool {
    others.any(|other| {
        let facing = outward[0] * other.outward[0] + outward[1] * other.outward[1] < FACING_COSINE;
        if !facing {
            return false;
        }
        let nearest = nearest_point(point, other);
        let gap = distance(point, nearest);
        let ahead = outward[0] * (nearest[0] - point[0]) + outward[1] * (nearest[1] - point[1]);
        gap <= TOUCHING_MM || (gap <= within_mm && ahead >= ACROSS_COSINE * gap)
    })
}

fn nearest_point(point: [f64; 2], edge: &Edge) -> [f64; 2] {
    let way = [edge.to[0] - edge.from[0], edge.to[1] - edge.from[1]];
    let along = ((point[0] - edge.from[0]) * way[0] + (point[1] - edge.from[1]) * way[1])
        / (edge.length * edge.length);
    let along = along.clamp(0.0, 1.0);
    [edge.from[0] + along * way[0], edge.from[1] + along * way[1]]
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::region::FillRule;

    fn rectangle(x: f64, y: f64, width: f64, height: f64) -> Region {
        let ring = vec![[x, y], [x + width, y], [x + width, y + height], [x, y + height]];
        Region::from_rings(&[ring], FillRule::NonZero)
    }

    fn disk(radius: f64) -> Region {
        let ring = (0..360).map(|degree| {
            let angle = f64::from(degree).to_radians();
            [radius * angle.cos(), radius * angle.sin()]
        });
        Region::from_rings(&[ring.collect()], FillRule::NonZero)
    }

    fn check(a: &Region, b: &Region, expected_mm: f64, tolerance_mm: f64) {
        let within = Length::mm(0.8);
        let shared = shared_edge(a, b, within);
        assert!(
            (shared.to_mm() - expected_mm).abs() <= tolerance_mm,
            "{shared:?}, expected {expected_mm} mm"
        );
        assert_eq!(shared, shared_edge(b, a, within));
    }

    #[test]
    fn touching_rectangles_share_their_common_side() {
        check(&rectangle(0.0, 0.0, 10.0, 30.0), &rectangle(10.0, 0.0, 10.0, 30.0), 30.0, 0.5);
    }

    #[test]
    fn rectangles_a_millimeter_apart_share_nothing() {
        check(&rectangle(0.0, 0.0, 10.0, 30.0), &rectangle(11.0, 0.0, 10.0, 30.0), 0.0, 0.0);
    }

    #[test]
    fn rectangles_that_meet_in_a_corner_share_less_than_a_millimeter() {
        check(&rectangle(0.0, 0.0, 10.0, 10.0), &rectangle(10.0, 10.0, 10.0, 10.0), 0.0, 0.1);
    }

    #[test]
    fn a_disk_in_a_fitting_hole_shares_its_whole_edge() {
        // Circumference of the circle between the two, 2π·10.2 mm.
        let ring = disk(20.0).subtract(&disk(10.4));
        check(&disk(10.0), &ring, 2.0 * std::f64::consts::PI * 10.2, 0.1);
    }

    #[test]
    fn a_region_on_top_of_another_is_no_neighbor_though_their_edges_run_together() {
        check(&rectangle(0.0, 0.0, 30.0, 30.0), &rectangle(0.5, 0.5, 10.0, 10.0), 0.0, 0.0);
    }

    #[test]
    fn what_stays_off_the_edge_lies_inside() {
        let base = rectangle(0.0, 0.0, 40.0, 30.0);
        assert!(lies_inside(&rectangle(5.0, 5.0, 10.0, 10.0), &base));
        assert!(!lies_inside(&rectangle(35.0, 10.0, 10.0, 10.0), &base));
        assert!(!lies_inside(&rectangle(0.2, 20.0, 5.0, 5.0), &base));
        assert!(!lies_inside(&Region::default(), &base));
    }

    #[test]
    fn nothing_shares_nothing() {
        check(&Region::default(), &rectangle(0.0, 0.0, 1.0, 1.0), 0.0, 0.0);
    }
}
