//! What is left of a region inside an edge inset, and how large is it with a border around?
//!
//! Growing by d covers every point within d of the region (Minkowski sum with a disk, round corners);
//! insetting by d leaves the points at least d away from everything outside.
//! Arcs are replaced by chords at most 0.01 mm inside them.
//!
//! Source: geometry. For a convex region of area A and edge length L (Steiner's formula):
//! grown area = A + L·d + π·d².
//!
//! # Worked example
//! A rectangle 30 mm × 20 mm inset by 2 mm is 26 mm × 16 mm: 416 mm².
//! Grown by 2 mm it covers 600 + 100·2 + π·4 = 812.57 mm².
//! ```
//! use drawing::region::{FillRule, Region};
//! use quantity::{Area, Length};
//!
//! let ring = vec![[0.0, 0.0], [30.0, 0.0], [30.0, 20.0], [0.0, 20.0]];
//! let rectangle = Region::from_rings(&[ring], FillRule::NonZero);
//! assert_eq!(rectangle.inset(Length::mm(2.0)).area(), Area::mm2(416.0));
//! let grown = rectangle.grow(Length::mm(2.0)).area().to_mm2();
//! assert!((grown - 812.57).abs() < 0.1);
//! ```

use i_overlay::{
    i_float::int::angle::Angle,
    mesh::int::{
        arc::ArcOptions,
        outline::offset::IntOutlineOffset,
        style::{IntLineJoin, IntOutlineStyle},
    },
};
use quantity::Length;

use crate::region::{Region, grid};

/// Farthest a chord may run inside its arc.
const CHORD_MM: f64 = 0.01;

impl Region {
    /// Returns the points at least `distance` away from everything outside the region.
    ///
    /// A distance of zero or less leaves the region as it is.
    pub fn inset(&self, distance: Length) -> Self {
        self.offset(-distance.to_mm().max(0.0))
    }

    /// Returns the points within `distance` of the region, corners rounded.
    ///
    /// A distance of zero or less leaves the region as it is.
    pub fn grow(&self, distance: Length) -> Self {
        self.offset(distance.to_mm().max(0.0))
    }

    fn offset(&self, offset_mm: f64) -> Self {
        let offset = grid::steps(offset_mm);
        if offset == 0 || self.is_empty() {
            return self.clone();
        }
        let chord = (1.0 - CHORD_MM / offset_mm.abs()).clamp(-1.0, 1.0);
        let max_step = Angle::from_radians(2.0 * chord.acos()).unwrap_or(ArcOptions::MAX_STEP);
        let arcs =
            ArcOptions { max_step, rotation_precision: ArcOptions::default().rotation_precision };
        let style = IntOutlineStyle::new(offset).line_join(IntLineJoin::Round(arcs));
        let parts: Vec<_> = self.parts.iter().map(|part| grid::to_grid(part)).collect();
        // The only error is a failed bounds check, and corners and offset lie inside the bounds by construction.
        Self { parts: grid::from_grid(parts.outline(&style).unwrap_or_default()) }
    }
}
