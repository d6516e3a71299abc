//! What is left of one region when another is laid over it, and what two have in common.
//!
//! Sweep-line boolean operations on the integer grid by `i_overlay`, O(n log n) in the number of edges.

use i_overlay::core::{
    fill_rule::FillRule as OverlayFill, overlay::Overlay, overlay::ShapeType,
    overlay_rule::OverlayRule,
};

use crate::region::{FillRule, Region, grid};

impl Region {
    /// Returns what any of the regions covers.
    pub fn union(regions: &[&Self]) -> Self {
        let n_corners = regions.iter().map(|region| region.n_corners()).sum();
        let mut overlay = Overlay::<i32>::new(n_corners);
        for region in regions {
            region.add_to(&mut overlay, ShapeType::Subject);
        }
        Self::take(&mut overlay, OverlayRule::Subject)
    }

    /// Returns what both regions cover.
    pub fn intersect(&self, other: &Self) -> Self {
        if !self.may_meet(other) {
            return Self::default();
        }
        self.combine(&[other], OverlayRule::Intersect)
    }

    /// Returns what this region covers and the other does not.
    pub fn subtract(&self, other: &Self) -> Self {
        self.subtract_all(&[other])
    }

    /// Returns what this region covers and none of the others does.
    pub fn subtract_all(&self, others: &[&Self]) -> Self {
        let near: Vec<&Self> =
            others.iter().copied().filter(|other| self.may_meet(other)).collect();
        if near.is_empty() {
            return self.clone();
        }
        self.combine(&near, OverlayRule::Difference)
    }

    /// Tells whether the boxes around both have a point in common.
    pub(crate) fn may_meet(&self, other: &Self) -> bool {
        match (self.bounds(), other.bounds()) {
            (Some(own), Some(others)) => own.within(&others, 0.0),
            _ => false,
        }
    }

    fn combine(&self, others: &[&Self], rule: OverlayRule) -> Self {
        let n_corners: usize = others.iter().map(|region| region.n_corners()).sum();
        let mut overlay = Overlay::<i32>::new(self.n_corners() + n_corners);
        self.add_to(&mut overlay, ShapeType::Subject);
        for other in others {
            other.add_to(&mut overlay, ShapeType::Clip);
        }
        Self::take(&mut overlay, rule)
    }

    fn add_to(&self, overlay: &mut Overlay<i32>, role: ShapeType) {
        for part in &self.parts {
            overlay.add_source(&grid::to_grid(part), role);
        }
    }

    /// Rings of regions wind once around what they cover, so "wound around at all" is their union.
    fn take(overlay: &mut Overlay<i32>, rule: OverlayRule) -> Self {
        Self { parts: grid::from_grid(overlay.overlay(rule, OverlayFill::NonZero)) }
    }
}

/// Turns rings that may cross into parts that do not.
pub(super) fn resolve(rings: &[Vec<[f64; 2]>], rule: FillRule) -> Vec<Vec<Vec<[f64; 2]>>> {
    let rule = match rule {
        FillRule::EvenOdd => OverlayFill::EvenOdd,
        FillRule::NonZero => OverlayFill::NonZero,
    };
    let rings = grid::to_grid(rings);
    let mut overlay = Overlay::<i32>::new(rings.iter().map(Vec::len).sum());
    overlay.add_source(&rings, ShapeType::Subject);
    grid::from_grid(overlay.overlay(OverlayRule::Subject, rule))
}

#[cfg(test)]
mod tests {
    use quantity::Area;

    use super::*;

    fn square(x: f64, y: f64, side: f64) -> Region {
        let ring = vec![[x, y], [x + side, y], [x + side, y + side], [x, y + side]];
        Region::from_rings(&[ring], FillRule::NonZero)
    }

    #[test]
    fn two_squares_that_overlap_by_a_quarter_add_up() {
        let (a, b) = (square(0.0, 0.0, 10.0), square(5.0, 5.0, 10.0));
        assert_eq!(a.intersect(&b).area(), Area::mm2(25.0));
        assert_eq!(a.subtract(&b).area(), Area::mm2(75.0));
        assert_eq!(Region::union(&[&a, &b]).area(), Area::mm2(175.0));
    }

    #[test]
    fn subtracting_overlapping_regions_takes_their_union_away_once() {
        let base = square(0.0, 0.0, 10.0);
        let ring = square(1.0, 1.0, 4.0).subtract(&square(2.0, 2.0, 2.0));
        let left = base.subtract_all(&[&ring, &square(1.0, 1.0, 2.0), &square(50.0, 0.0, 1.0)]);
        // 100 - (16 - 4) - the quarter of the hole that the second square covers.
        assert_eq!(left.area(), Area::mm2(87.0));
    }

    #[test]
    fn regions_far_apart_or_empty_leave_each_other_alone() {
        let (a, b) = (square(0.0, 0.0, 1.0), square(9.0, 9.0, 1.0));
        assert!(a.intersect(&b).is_empty());
        assert_eq!(a.subtract(&b), a);
        assert_eq!(a.subtract(&Region::default()), a);
        assert!(Region::default().subtract(&a).is_empty());
        assert!(Region::union(&[]).is_empty());
    }
}
