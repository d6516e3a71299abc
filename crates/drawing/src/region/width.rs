//! How wide is this region at its thinnest, and how wide is most of it?
//!
//! From points along the edge the largest disk is blown up that touches the edge there and stays inside.
//! Where the far side it runs into faces the near side, its diameter is the width of the region at that point;
//! the medial axis of Blum ("A transformation for extracting new descriptors of shape", 1967) is made of the
//! centers of such disks.
//! With the edge point p, its inward normal n, and a facing edge through a with inward normal m,
//! the disk that touches both has the radius
//!
//! r = m·(p - a) / (1 - m·n)
//!
//! and with a corner q instead of an edge, r = |q - p|² / (2 n·(q - p)).
//!
//! - *smallest width*: the least of these diameters, that is the thinnest neck or strand; one of less than 0.4 mm
//!   of edge does not count, as where two corners touch.
//!   A tip is not a neck: points whose way along the edge to the far side is shorter than four widths do not count,
//!   which leaves out the tips of hearts, leaves and stars down to 28 degrees and the ends of ribbons.
//! - *widest*: the largest of these diameters.
//! - *typical width*: the median of these diameters along the edge.
//! - If facing sides make up less than a quarter of the edge (square, triangle, blob), both are the diameter of the
//!   largest of all disks found, unless a neck is thinner.
//!
//! Points stand at most a thousandth of the edge length apart (but 0.1 to 1 mm), so a diameter is met to about that spacing.
//! Cost: edge points × edges within about twice the width, found through a grid of cells.
//!
//! # Worked example
//! A bar 40 mm × 3 mm is 3 mm wide everywhere.
//! ```
//! use drawing::region::{FillRule, Region};
//! use quantity::Length;
//!
//! let ring = vec![[0.0, 0.0], [40.0, 0.0], [40.0, 3.0], [0.0, 3.0]];
//! let bar = Region::from_rings(&[ring], FillRule::NonZero);
//! assert_eq!(bar.smallest_width().round_to(Length::mm(0.01)), Length::mm(3.0));
//! assert_eq!(bar.typical_width().round_to(Length::mm(0.01)), Length::mm(3.0));
//! ```

use quantity::Length;

use crate::region::{Region, distance, edge_grid::EdgeGrid};

/// Edges that turn by less than 60 degrees from the point's own edge belong to the same side.
const SAME_SIDE_COSINE: f64 = 0.5;

/// Sides face each other when their inward normals are more than 127 degrees apart.
///
/// The sides of a square (90 degrees) and of an equilateral triangle (120 degrees) do not.
const FACING_COSINE: f64 = -0.6;

/// A way along the edge shorter than this many widths leads around a tip.
const TIP_WIDTHS: f64 = 4.0;

/// Share of the edge that must have a facing side before the median counts.
const FACING_SHARE: f64 = 0.25;

/// Disks within 2 % of each other touch at the same time: rounding to the grid decides nothing.
const SAME_RADIUS: f64 = 1.02;

/// Edge that must be as thin for it to be a neck, mm, and as a share of the whole edge of something small.
const LEAST_NECK_MM: f64 = 0.4;
const LEAST_NECK_SHARE: f64 = 0.1;

/// How far the far side is looked for at first, in steps between edge points.
const FIRST_REACH: f64 = 8.0;

struct Edge {
    from: [f64; 2],
    to: [f64; 2],
    middle: [f64; 2],
    normal: [f64; 2],
    length: f64,
    ring: usize,
    /// Way along the ring up to `from`.
    start: f64,
    ring_length: f64,
}

impl Edge {
    /// Returns the point at a share of the way from its beginning to its end.
    fn at(&self, along: f64) -> [f64; 2] {
        [
            self.from[0] + along * (self.to[0] - self.from[0]),
            self.from[1] + along * (self.to[1] - self.from[1]),
        ]
    }
}

/// What one edge point sees.
struct Disk {
    diameter: f64,
    /// Diameter of the largest disk that stays inside.
    nearest: f64,
    /// Length of edge the point stands for.
    weight: f64,
    facing: bool,
    tip: bool,
}

impl Region {
    /// Returns the width of the thinnest neck or strand; zero if the region is empty.
    pub fn smallest_width(&self) -> Length {
        let disks = self.disks();
        let mut necks: Vec<&Disk> = disks.iter().filter(|disk| disk.facing && !disk.tip).collect();
        necks.sort_by(|a, b| a.diameter.total_cmp(&b.diameter));
        let edge: f64 = disks.iter().map(|disk| disk.weight).sum();
        let least = LEAST_NECK_MM.min(LEAST_NECK_SHARE * edge);
        let mut passed = 0.0;
        let neck = necks.iter().find(|neck| {
            passed += neck.weight;
            passed >= least
        });
        let widest = largest(&disks);
        Length::mm(neck.map_or(widest, |neck| neck.diameter.min(widest)))
    }

    /// Returns the diameter of the largest disk inside; zero if the region is empty.
    pub fn widest(&self) -> Length {
        Length::mm(largest(&self.disks()))
    }

    /// Returns the median width along the edge; zero if the region is empty.
    pub fn typical_width(&self) -> Length {
        let disks = self.disks();
        let edge: f64 = disks.iter().map(|disk| disk.weight).sum();
        let mut facing: Vec<(f64, f64)> = disks
            .iter()
            .filter(|disk| disk.facing)
            .map(|disk| (disk.diameter, disk.weight))
            .collect();
        let faced: f64 = facing.iter().map(|(_, weight)| weight).sum();
        if faced < FACING_SHARE * edge {
            return Length::mm(largest(&disks));
        }
        facing.sort_by(|a, b| a.0.total_cmp(&b.0));
        let mut passed = 0.0;
        let median = facing.iter().find(|(_, weight)| {
            passed += weight;
            2.0 * passed >= faced
        });
        Length::mm(median.map_or(0.0, |(diameter, _)| *diameter))
    }

    fn disks(&self) -> Vec<Disk> {
        let edges = self.directed_edges();
        let ends: Vec<[[f64; 2]; 2]> = edges.iter().map(|edge| [edge.from, edge.to]).collect();
        let grid = EdgeGrid::new(&ends);
        let spacing = (self.edge_length().to_mm() / 1000.0).clamp(0.1, 1.0);
        let mut disks = Vec::new();
        for edge in &edges {
            let n_points = (edge.length / spacing).ceil().max(1.0);
            for index in 0..n_points as usize {
                let along = (index as f64 + 0.5) / n_points;
                let weight = edge.length / n_points;
                let mut reach = FIRST_REACH * spacing;
                disks.extend(loop {
                    let point = edge.at(along);
                    let near = grid
                        .near(point, reach)
                        .filter_map(|index| Some((index, edges.get(index)?)));
                    let found = disk(edge, along, weight, near);
                    // The disk and all that could touch it as early lie within what was looked at.
                    let is_settled =
                        found.as_ref().is_some_and(|found| SAME_RADIUS * found.nearest <= reach);
                    if is_settled || grid.is_all_within(point, reach) {
                        break found;
                    }
                    reach *= 2.0;
                });
            }
        }
        disks
    }

    fn directed_edges(&self) -> Vec<Edge> {
        let mut edges = Vec::new();
        for (ring_index, ring) in self.rings().enumerate() {
            let ring_length = super::ring_edges(ring).map(|[from, to]| distance(from, to)).sum();
            let mut start = 0.0;
            for [from, to] in super::ring_edges(ring) {
                let length = distance(from, to);
                if length > 0.0 {
                    // The region lies where a quarter turn from x to y takes the direction of the edge.
                    let normal = [(from[1] - to[1]) / length, (to[0] - from[0]) / length];
                    edges.push(Edge {
                        from,
                        to,
                        middle: [(from[0] + to[0]) / 2.0, (from[1] + to[1]) / 2.0],
                        normal,
                        length,
                        ring: ring_index,
                        start,
                        ring_length,
                    });
                }
                start += length;
            }
        }
        edges
    }
}

fn largest(disks: &[Disk]) -> f64 {
    disks.iter().map(|disk| disk.diameter).fold(0.0, f64::max)
}

/// Blows up the disk that touches `edge` at `along` (0 to 1) until it runs into another side, one of `others`.
fn disk<'a>(
    edge: &Edge,
    along: f64,
    weight: f64,
    others: impl Iterator<Item = (usize, &'a Edge)>,
) -> Option<Disk> {
    let point = edge.at(along);
    let mut nearest = f64::INFINITY;
    let mut nearest_facing: Option<(f64, usize, &Edge, f64)> = None;
    for (index, other) in others {
        // A disk of radius r through the point reaches no farther than 2 r from it.
        let reach = 2.0 * SAME_RADIUS * nearest + other.length / 2.0;
        let way = minus(other.middle, point);
        if dot(way, way) > reach * reach {
            continue;
        }
        let cosine = dot(edge.normal, other.normal);
        if cosine > SAME_SIDE_COSINE {
            continue;
        }
        let Some((radius, other_along)) = touching_radius(point, edge.normal, other, cosine) else {
            continue;
        };
        nearest = nearest.min(radius);
        // Of those that touch at the same time the first along the edge counts, in whatever order they come.
        let is_nearer = nearest_facing
            .is_none_or(|(best, first, ..)| radius < best || (radius == best && index < first));
        if cosine < FACING_COSINE && is_nearer {
            nearest_facing = Some((radius, index, other, other_along));
        }
    }
    if !nearest.is_finite() {
        return None;
    }
    let nearest_diameter = 2.0 * nearest;
    let disk = Disk {
        diameter: nearest_diameter,
        nearest: nearest_diameter,
        weight,
        facing: false,
        tip: false,
    };
    match nearest_facing.filter(|(radius, ..)| *radius <= SAME_RADIUS * nearest) {
        Some((radius, _, other, other_along)) => {
            let way = way_along_ring(edge, along, other, other_along);
            let diameter = 2.0 * radius;
            Some(Disk { diameter, facing: true, tip: way < TIP_WIDTHS * diameter, ..disk })
        }
        None => Some(disk),
    }
}

/// Returns the radius of the disk touching the line through `point` (inward `normal`) and the edge,
/// and where on the edge it touches (0 to 1).
fn touching_radius(
    point: [f64; 2],
    normal: [f64; 2],
    edge: &Edge,
    cosine: f64,
) -> Option<(f64, f64)> {
    let depth = dot(edge.normal, minus(point, edge.from));
    let radius = depth / (1.0 - cosine);
    if radius > 0.0 {
        let center = [point[0] + radius * normal[0], point[1] + radius * normal[1]];
        let along =
            dot(minus(center, edge.from), minus(edge.to, edge.from)) / (edge.length * edge.length);
        if (0.0..=1.0).contains(&along) {
            return Some((radius, along));
        }
    }
    let corner = |corner: [f64; 2], along: f64| {
        let way = minus(corner, point);
        let ahead = dot(normal, way);
        (ahead > 0.0).then(|| (dot(way, way) / (2.0 * ahead), along))
    };
    match (corner(edge.from, 0.0), corner(edge.to, 1.0)) {
        (Some(a), Some(b)) => Some(if a.0 <= b.0 { a } else { b }),
        (a, b) => a.or(b),
    }
}

/// Returns the shorter way along the edge between two points, infinite if they lie on different rings.
fn way_along_ring(a: &Edge, a_along: f64, b: &Edge, b_along: f64) -> f64 {
    if a.ring != b.ring {
        return f64::INFINITY;
    }
    let way = ((a.start + a_along * a.length) - (b.start + b_along * b.length)).abs();
    way.min(a.ring_length - way)
}

fn dot(a: [f64; 2], b: [f64; 2]) -> f64 {
    a[0] * b[0] + a[1] * b[1]
}

fn minus(a: [f64; 2], b: [f64; 2]) -> [f64; 2] {
    [a[0] - b[0], a[1] - b[1]]
}
