//! How large is this patch of color, where is it, and what is left of it?
//!
//! A [`Region`] is a set of parts that do not overlap; each part is one outer ring and any number of holes.
//! One unit is one millimeter, x points right, y points down.
//! All corners lie on a grid of 2^-10 mm, so every operation is exact integer geometry and gives the same
//! bytes on every machine; a boolean operation moves a corner by at most a grid step or two.
//!
//! Area by the shoelace formula, A = 1/2 · Σ (x₀ y₁ - x₁ y₀) over all edges, holes counted negative.
//!
//! # Worked example
//! A plaque 60 mm × 40 mm with a hole of 10 mm × 10 mm covers 2400 - 100 = 2300 mm²
//! and has 2·(60 + 40) + 4·10 = 240 mm of edge.
//! ```
//! use drawing::region::{FillRule, Region};
//! use quantity::{Area, Length};
//!
//! let plaque = vec![[0.0, 0.0], [60.0, 0.0], [60.0, 40.0], [0.0, 40.0]];
//! let hole = vec![[20.0, 10.0], [30.0, 10.0], [30.0, 20.0], [20.0, 20.0]];
//! let region = Region::from_rings(&[plaque, hole], FillRule::EvenOdd);
//! assert_eq!(region.area(), Area::mm2(2300.0));
//! assert_eq!(region.edge_length(), Length::mm(240.0));
//! ```

mod boolean;
pub(crate) mod edge_grid;
mod grid;
mod offset;
mod width;

use quantity::{Area, Length};

/// A set of non-overlapping parts with holes, in millimeters on a grid of 2^-10 mm; may be empty.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Region {
    /// Each part is its outer ring followed by its holes.
    parts: Vec<Vec<Vec<[f64; 2]>>>,
}

/// Which points a set of rings encloses.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FillRule {
    /// Those the rings wind around an odd number of times.
    EvenOdd,
    /// Those the rings wind around at all, clockwise and counterclockwise turns canceling.
    NonZero,
}

/// The box around a region, sides parallel to the axes, in millimeters.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Bounds {
    /// Left edge.
    pub min_x: f64,
    /// Top edge.
    pub min_y: f64,
    /// Right edge.
    pub max_x: f64,
    /// Bottom edge.
    pub max_y: f64,
}

impl Bounds {
    /// Returns the extent from left to right.
    pub fn width(&self) -> Length {
        Length::mm(self.max_x - self.min_x)
    }

    /// Returns the extent from top to bottom.
    pub fn height(&self) -> Length {
        Length::mm(self.max_y - self.min_y)
    }

    /// Returns the middle of the box.
    pub fn middle(&self) -> [f64; 2] {
        [(self.min_x + self.max_x) / 2.0, (self.min_y + self.max_y) / 2.0]
    }

    /// Tells whether two boxes have a point in common once each is grown by half of `gap_mm`.
    pub(crate) fn within(&self, other: &Self, gap_mm: f64) -> bool {
        self.min_x <= other.max_x + gap_mm
            && other.min_x <= self.max_x + gap_mm
            && self.min_y <= other.max_y + gap_mm
            && other.min_y <= self.max_y + gap_mm
    }
}

impl Region {
    /// Builds a region from closed rings in millimeters, which may cross and overlap as they like.
    ///
    /// Corners are moved to the grid; corners that are not finite are left out.
    pub fn from_rings(rings: &[Vec<[f64; 2]>], rule: FillRule) -> Self {
        Self { parts: boolean::resolve(rings, rule) }
    }

    /// Iterates over all rings: the outer ring of each part, then its holes.
    ///
    /// Outer rings run from the x axis toward the y axis (clockwise on a page with y down), holes the other way,
    /// so the region lies on the right hand of anyone walking a ring as seen on the page.
    /// Rings are closed; the first corner is not repeated.
    pub fn rings(&self) -> impl Iterator<Item = &[[f64; 2]]> {
        self.parts.iter().flatten().map(Vec::as_slice)
    }

    /// Returns each connected part as a region of its own.
    pub fn parts(&self) -> Vec<Self> {
        self.parts.iter().map(|part| Self { parts: vec![part.clone()] }).collect()
    }

    /// Returns the number of connected parts.
    pub fn n_parts(&self) -> usize {
        self.parts.len()
    }

    /// Tells whether the region covers nothing.
    pub fn is_empty(&self) -> bool {
        self.parts.is_empty()
    }

    /// Returns the covered area.
    pub fn area(&self) -> Area {
        Area::mm2(self.rings().map(signed_area).sum())
    }

    /// Returns the length of all edges, holes included.
    pub fn edge_length(&self) -> Length {
        Length::mm(self.edges().map(|[from, to]| distance(from, to)).sum())
    }

    /// Returns the box around the region, or `None` if it is empty.
    pub fn bounds(&self) -> Option<Bounds> {
        let mut corners = self.rings().flatten();
        let &[x, y] = corners.next()?;
        let first = Bounds { min_x: x, min_y: y, max_x: x, max_y: y };
        Some(corners.fold(first, |bounds, &[x, y]| Bounds {
            min_x: bounds.min_x.min(x),
            min_y: bounds.min_y.min(y),
            max_x: bounds.max_x.max(x),
            max_y: bounds.max_y.max(y),
        }))
    }

    /// Tells whether a point lies inside; points on an edge may count either way.
    pub fn contains_point(&self, [x, y]: [f64; 2]) -> bool {
        let crossings = self.edges().filter(|&[from, to]| {
            (from[1] > y) != (to[1] > y)
                && x < from[0] + (y - from[1]) / (to[1] - from[1]) * (to[0] - from[0])
        });
        crossings.count() % 2 == 1
    }

    /// Writes the region as SVG path data in millimeters with up to three decimals, to be filled by either rule.
    pub fn path_d(&self) -> String {
        let mut data = String::new();
        for ring in self.rings() {
            for (index, &[x, y]) in ring.iter().enumerate() {
                data.push(if index == 0 { 'M' } else { 'L' });
                push_number(&mut data, x);
                data.push(' ');
                push_number(&mut data, y);
            }
            data.push('Z');
        }
        data
    }

    /// Reads what [`Self::path_d`] wrote: closed rings of straight lines in absolute coordinates.
    ///
    /// Nothing for any other path data.
    pub fn from_path_d(data: &str) -> Option<Self> {
        let corner = |text: &str| {
            let (x, y) = text.split_once(' ')?;
            let (x, y): (f64, f64) = (x.parse().ok()?, y.parse().ok()?);
            (x.is_finite() && y.is_finite()).then_some([x, y])
        };
        let ring = |text: &str| text.strip_prefix('M')?.split('L').map(corner).collect();
        let rings: Option<Vec<Vec<[f64; 2]>>> = data.split_terminator('Z').map(ring).collect();
        Some(Self::from_rings(&rings?, FillRule::EvenOdd))
    }

    /// Returns the region moved right by `dx` and down by `dy`, both rounded to the grid.
    pub fn translated(&self, dx: Length, dy: Length) -> Self {
        let (dx, dy) = (grid::snap(dx.to_mm()), grid::snap(dy.to_mm()));
        self.map_corners(|[x, y]| [x + dx, y + dy])
    }

    /// Returns the parts with their holes filled.
    pub(crate) fn without_holes(&self) -> Self {
        let outer = self.parts.iter().filter_map(|part| part.first().cloned());
        Self::from_rings(&outer.collect::<Vec<_>>(), FillRule::NonZero)
    }

    /// Returns the part with the largest area; the first of equals.
    pub(crate) fn largest_part(&self) -> Self {
        let mut largest = Self::default();
        for part in self.parts() {
            if part.area() > largest.area() {
                largest = part;
            }
        }
        largest
    }

    /// Leaves out parts that are nowhere wider than a few grid steps: rounding leaves them along shared edges.
    pub(crate) fn without_slivers(&self) -> Self {
        let parts = self.parts.iter().filter(|part| {
            let area: f64 = part.iter().map(|ring| signed_area(ring)).sum();
            let edge: f64 =
                part.iter().flat_map(|ring| ring_edges(ring)).map(|[a, b]| distance(a, b)).sum();
            // A ribbon of width w and length l has area w·l and about 2·l of edge.
            2.0 * area > SLIVER_MM * edge
        });
        Self { parts: parts.cloned().collect() }
    }

    pub(crate) fn edges(&self) -> impl Iterator<Item = [[f64; 2]; 2]> {
        self.rings().flat_map(ring_edges)
    }

    pub(crate) fn n_corners(&self) -> usize {
        self.rings().map(<[_]>::len).sum()
    }

    fn map_corners(&self, map: impl Fn([f64; 2]) -> [f64; 2]) -> Self {
        let map_ring = |ring: &Vec<[f64; 2]>| ring.iter().map(|&corner| map(corner)).collect();
        let parts = self.parts.iter().map(|part| part.iter().map(map_ring).collect());
        Self { parts: parts.collect() }
    }
}

/// Parts thinner than four grid steps are rounding, not artwork: no tip pipes 0.004 mm.
const SLIVER_MM: f64 = 4.0 * grid::STEP_MM;

/// Iterates over the edges of a closed ring, the closing one last.
pub(crate) fn ring_edges(ring: &[[f64; 2]]) -> impl Iterator<Item = [[f64; 2]; 2]> {
    let ends = ring.iter().skip(1).chain(ring.first());
    ring.iter().zip(ends).map(|(&from, &to)| [from, to])
}

fn signed_area(ring: &[[f64; 2]]) -> f64 {
    ring_edges(ring).map(|[[x0, y0], [x1, y1]]| x0 * y1 - x1 * y0).sum::<f64>() / 2.0
}

/// Returns how far apart two points are; millimeters on a cookie need no guard against overflow, which `hypot` is slow for.
pub(crate) fn distance([x0, y0]: [f64; 2], [x1, y1]: [f64; 2]) -> f64 {
    let (dx, dy) = (x1 - x0, y1 - y0);
    (dx * dx + dy * dy).sqrt()
}

/// Writes a number with up to three decimals and no needless zeros.
fn push_number(text: &mut String, value: f64) {
    let written = format!("{value:.3}");
    let short = written.trim_end_matches('0').trim_end_matches('.');
    text.push_str(if short == "-0" { "0" } else { short });
}

#[cfg(test)]
mod tests {
    use super::*;

    fn rectangle(x: f64, y: f64, width: f64, height: f64) -> Region {
        let ring = vec![[x, y], [x + width, y], [x + width, y + height], [x, y + height]];
        Region::from_rings(&[ring], FillRule::NonZero)
    }

    #[test]
    fn a_rectangle_has_its_area_edge_and_bounds_whichever_way_it_is_drawn() {
        let ring = vec![[1.0, 2.0], [1.0, 22.0], [41.0, 22.0], [41.0, 2.0]];
        let reversed: Vec<_> = ring.iter().copied().rev().collect();
        for ring in [ring, reversed] {
            let region = Region::from_rings(&[ring], FillRule::NonZero);
            assert_eq!(region.area(), Area::mm2(800.0));
            assert_eq!(region.edge_length(), Length::mm(120.0));
            let bounds = region.bounds().expect("the rectangle is not empty");
            assert_eq!(bounds, Bounds { min_x: 1.0, min_y: 2.0, max_x: 41.0, max_y: 22.0 });
            assert!(region.rings().all(|ring| signed_area(ring) > 0.0));
        }
    }

    #[test]
    fn the_fill_rule_decides_about_a_ring_within_a_ring() {
        let outer = vec![[0.0, 0.0], [10.0, 0.0], [10.0, 10.0], [0.0, 10.0]];
        let inner = vec![[4.0, 4.0], [6.0, 4.0], [6.0, 6.0], [4.0, 6.0]];
        let rings = [outer, inner];
        assert_eq!(Region::from_rings(&rings, FillRule::NonZero).area(), Area::mm2(100.0));
        let ring = Region::from_rings(&rings, FillRule::EvenOdd);
        assert_eq!(ring.area(), Area::mm2(96.0));
        assert_eq!(ring.without_holes().area(), Area::mm2(100.0));
        assert!(ring.contains_point([2.0, 5.0]));
        assert!(!ring.contains_point([5.0, 5.0]));
        assert!(!ring.contains_point([-1.0, 5.0]));
    }

    #[test]
    fn nothing_and_nonsense_make_an_empty_region() {
        let cases: [&[Vec<[f64; 2]>]; 5] = [
            &[],
            &[vec![]],
            &[vec![[0.0, 0.0], [1.0, 1.0]]],
            &[vec![[f64::NAN, 0.0], [1.0, f64::INFINITY], [2.0, 2.0]]],
            &[vec![[5.0, 5.0]; 9]],
        ];
        for rings in cases {
            let region = Region::from_rings(rings, FillRule::EvenOdd);
            assert!(region.is_empty());
            assert_eq!(region.bounds(), None);
            assert_eq!(region.area(), Area::ZERO);
            assert_eq!(region.path_d(), "");
        }
    }

    #[test]
    fn path_data_is_short_and_in_millimeters() {
        let region = rectangle(0.0, 0.5, 10.0, 2.125);
        assert_eq!(region.path_d(), "M0 2.625L0 0.5L10 0.5L10 2.625Z");
    }

    #[test]
    fn path_data_is_read_back_as_it_was_written() {
        let square = |low: f64, high: f64| vec![[low, low], [high, low], [high, high], [low, high]];
        let ring = Region::from_rings(&[square(0.0, 30.5), square(10.0, 20.25)], FillRule::EvenOdd);
        assert_eq!(Region::from_path_d(&ring.path_d()), Some(ring));
        assert_eq!(Region::from_path_d(""), Some(Region::default()));
        for other in ["M0 0L1 1", "M0 0C1 1 2 2 3 3Z", "m0 0l1 1z", "M0 0L1 nanZ", "Z", "M0 0L1Z"] {
            let read = Region::from_path_d(other);
            assert!(read.is_none_or(|region| region.area().to_mm2() == 0.0), "{other}");
        }
    }

    #[test]
    fn parts_are_regions_of_their_own() {
        let two = Region::union(&[&rectangle(0.0, 0.0, 2.0, 2.0), &rectangle(5.0, 0.0, 3.0, 3.0)]);
        assert_eq!(two.n_parts(), 2);
        let areas: Vec<f64> = two.parts().iter().map(|part| part.area().to_mm2()).collect();
        assert_eq!(areas, [4.0, 9.0]);
        assert_eq!(two.largest_part(), rectangle(5.0, 0.0, 3.0, 3.0));
    }

    #[test]
    fn a_ribbon_of_three_grid_steps_is_a_sliver_and_one_of_a_hundredth_is_not() {
        assert!(rectangle(0.0, 0.0, 20.0, 3.0 / 1024.0).without_slivers().is_empty());
        assert!(!rectangle(0.0, 0.0, 20.0, 0.01).without_slivers().is_empty());
    }

    #[test]
    fn moving_keeps_the_shape() {
        let moved = rectangle(0.0, 0.0, 4.0, 2.0).translated(Length::mm(-1.5), Length::mm(3.0));
        assert_eq!(moved, rectangle(-1.5, 3.0, 4.0, 2.0));
    }
}
