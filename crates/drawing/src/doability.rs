//! What of this drawing is too fine for a hand, and where?
//!
//! Everything follows from two moves: going in by `r` and coming back leaves only what is at least `2 r` wide
//! (morphological opening); going out by `r` and coming back closes what is narrower than `2 r` between parts (closing;
//! Serra, "Image Analysis and Mathematical Morphology", 1982).
//!
//! - *thin*: what opening by half a tip takes away, except corners: a corner of 90 degrees loses (1 - π/4) r², so a
//!   part counts only if it is longer than the tip is wide or has an area above r².
//! - *gap*: what closing by half the gap fills between two edges, again above r².
//! - *island*: a part smaller than a dot.
//! - *narrow flood*: a part in which no disk of this diameter fits.
//!
//! Places are the middle of the box around what was found, in millimeters from the upper left corner of the cutter shape.
//! Offsets are exact to 0.01 mm, widths at a place to about that.
//!
//! # Worked example
//! Two squares of 20 mm lie 0.4 mm apart: wet icing closes a gap of 0.8 mm along all of their 20 mm.
//! ```
//! use drawing::doability::gaps;
//! use drawing::region::{FillRule, Region};
//! use quantity::Length;
//!
//! let square = |x: f64| vec![[x, 0.0], [x + 20.0, 0.0], [x + 20.0, 20.0], [x, 20.0]];
//! let both = Region::from_rings(&[square(0.0), square(20.4)], FillRule::NonZero);
//! let found = gaps(&both, Length::mm(0.8));
//! assert_eq!(found.len(), 1);
//! assert!((found[0].width.to_mm() - 0.4).abs() < 0.05 && (found[0].at[0] - 20.2).abs() < 0.1);
//! ```

use quantity::{Area, Length};

use crate::region::Region;

/// A place of a region that is too fine.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TooFine {
    /// Its middle, in millimeters.
    pub at: [f64; 2],
    /// How wide it is there.
    pub width: Length,
    /// Area of what is too fine.
    pub area: Area,
}

/// Returns where a region is thinner than `least`, the largest such place first.
pub fn thin(region: &Region, least: Length) -> Vec<TooFine> {
    let half = least / 2.0;
    let wide_enough = region.inset(half).grow(half);
    places(&region.subtract(&wide_enough), half)
}

/// Returns where parts of a region come closer to each other than `least`, the largest such place first.
pub fn gaps(region: &Region, least: Length) -> Vec<TooFine> {
    let half = least / 2.0;
    let closed = region.grow(half).inset(half);
    places(&closed.subtract(region), half)
}

/// Returns the parts of a region that are smaller than a dot of this diameter, the smallest first.
pub fn islands(region: &Region, dot: Length) -> Vec<TooFine> {
    let least = dot * dot * (std::f64::consts::PI / 4.0);
    let small = region.parts().into_iter().filter(|part| part.area() < least);
    let mut found: Vec<TooFine> = small.filter_map(|part| place_of(&part)).collect();
    found.sort_by(|a, b| a.area.to_mm2().total_cmp(&b.area.to_mm2()));
    found
}

/// Returns the parts of a region in which no disk of this diameter fits, the largest first.
pub fn narrow_parts(region: &Region, diameter: Length) -> Vec<TooFine> {
    let found = region.parts().into_iter().filter_map(|part| {
        let width = part.widest();
        if width < diameter { Some(TooFine { width, ..place_of(&part)? }) } else { None }
    });
    largest_first(found.collect())
}

fn places(found: &Region, half: Length) -> Vec<TooFine> {
    let corner = half * half;
    let worth = found.parts().into_iter().filter(|part| {
        // A ribbon of width w and length l has the area w·l and about 2·l of edge.
        part.area() > corner || part.edge_length() > half * 8.0
    });
    // Rounding leaves slivers of a few steps of the grid along curved edges.
    let thick = worth.filter(|part| mean_width(part) > SLIVER);
    largest_first(thick.filter_map(|part| place_of(&part)).collect())
}

/// Offsets leave slivers up to twice the chord of their arcs along curved edges.
const SLIVER: Length = Length::mm(0.04);

fn place_of(part: &Region) -> Option<TooFine> {
    let at = part.bounds()?.middle();
    Some(TooFine { at, width: mean_width(part), area: part.area() })
}

/// Width of a ribbon w·l with an edge of 2·(w + l): the smaller root of w² - (L/2)·w + A = 0.
fn mean_width(part: &Region) -> Length {
    let (area, quarter) = (part.area().to_mm2(), part.edge_length().to_mm() / 4.0);
    let root = (quarter * quarter - area).max(0.0).sqrt();
    Length::mm(quarter - root)
}

fn largest_first(mut found: Vec<TooFine>) -> Vec<TooFine> {
    found.sort_by(|a, b| b.area.to_mm2().total_cmp(&a.area.to_mm2()));
    found
}

#[cfg(test)]
mod tests {
    use crate::region::FillRule;

    use super::*;

    fn rectangle([x, y]: [f64; 2], width: f64, height: f64) -> Vec<[f64; 2]> {
        vec![[x, y], [x + width, y], [x + width, y + height], [x, y + height]]
    }

    fn region(rings: &[Vec<[f64; 2]>]) -> Region {
        Region::from_rings(rings, FillRule::NonZero)
    }

    #[test]
    fn a_bridge_thinner_than_the_tip_is_found_and_corners_are_not() {
        let dumbbell = region(&[
            rectangle([0.0, 0.0], 10.0, 10.0),
            rectangle([10.0, 4.6], 15.0, 0.8),
            rectangle([25.0, 0.0], 10.0, 10.0),
        ]);
        let found = thin(&dumbbell, Length::mm(1.2));
        assert_eq!(found.len(), 1, "{found:?}");
        let TooFine { at, width, area } = found[0];
        assert!((at[0] - 17.5).abs() < 0.1 && (at[1] - 5.0).abs() < 0.1, "{at:?}");
        assert!((width.to_mm() - 0.8).abs() < 0.1 && area > Area::mm2(10.0), "{width:?} {area:?}");
        assert_eq!(thin(&dumbbell, Length::mm(0.7)), []);
        assert_eq!(thin(&region(&[rectangle([0.0, 0.0], 20.0, 20.0)]), Length::mm(3.0)), []);
    }

    #[test]
    fn a_gap_is_found_only_where_it_is_narrower_than_asked() {
        let pair = region(&[rectangle([0.0, 0.0], 20.0, 20.0), rectangle([21.0, 5.0], 20.0, 20.0)]);
        assert_eq!(gaps(&pair, Length::mm(0.9)), []);
        let found = gaps(&pair, Length::mm(1.2));
        assert_eq!(found.len(), 1, "{found:?}");
        // They face each other over 15 mm from y = 5 on.
        assert!((found[0].at[1] - 12.5).abs() < 0.3, "{found:?}");
        assert!((found[0].area.to_mm2() - 15.0).abs() < 0.5, "{found:?}");
    }

    #[test]
    fn a_round_disk_is_nowhere_thin() {
        for radius in [2.0, 10.0, 40.0_f64] {
            let circle = (0..400).map(|i| {
                let angle = f64::from(i) * std::f64::consts::TAU / 400.0;
                [radius * angle.cos(), radius * angle.sin()]
            });
            let disk = region(&[circle.collect()]);
            assert_eq!(thin(&disk, Length::mm(1.5)), [], "{radius}");
            assert_eq!(gaps(&disk, Length::mm(0.8)), [], "{radius}");
        }
    }

    #[test]
    fn islands_below_a_dot_and_floods_below_a_disk_are_told_apart() {
        let parts = region(&[
            rectangle([0.0, 0.0], 1.0, 1.0),
            rectangle([10.0, 0.0], 8.0, 30.0),
            rectangle([30.0, 0.0], 12.0, 30.0),
        ]);
        // A dot of 1.5 mm has 1.77 mm².
        let small = islands(&parts, Length::mm(1.5));
        assert!(small.len() == 1 && small[0].at == [0.5, 0.5], "{small:?}");
        let narrow = narrow_parts(&parts, Length::mm(10.0));
        assert!(narrow.len() == 2 && narrow[0].at == [14.0, 15.0], "{narrow:?}");
        assert!((narrow[0].width.to_mm() - 8.0).abs() < 0.1, "{narrow:?}");
    }

    #[test]
    fn an_empty_region_has_nothing_too_fine() {
        let empty = Region::default();
        let mm = Length::mm(2.0);
        assert!(
            [thin(&empty, mm), gaps(&empty, mm), islands(&empty, mm), narrow_parts(&empty, mm)]
                .concat()
                .is_empty()
        );
    }
}
