//! Which section of the edited picture is the one the maker has made choices for?
//!
//! When artwork comes in again after editing, names and order may have changed; what stays is where things are.
//! A new section may be an old one if they share at least half of the smaller of the two.
//! Then each old section looks for the new one it shares most with, so after a split its id stays on the largest part;
//! and of several old sections that end in one new one, the lowest gives its id, so a merged section keeps that.
//!
//! The ids themselves are opaque and belong to the caller: the answer only says which old one goes where.
//!
//! # Worked example
//! A square is cut in two unequal parts, and a disk beside it is gone.
//! ```
//! use drawing::{identity::keep, region::{FillRule, Region}};
//!
//! let bar = |x: f64, width: f64| {
//!     let ring = vec![[x, 0.0], [x + width, 0.0], [x + width, 10.0], [x, 10.0]];
//!     Region::from_rings(&[ring], FillRule::NonZero)
//! };
//! let (square, far) = (bar(0.0, 10.0), bar(50.0, 4.0));
//! let (small, large) = (bar(0.0, 3.0), bar(3.0, 7.0));
//! assert_eq!(keep(&[&square, &far], &[&small, &large]), [None, Some(0)]);
//! ```

use crate::region::Region;

/// Share of the smaller of two sections that both must have in common.
const COMMON_SHARE: f64 = 0.5;

/// Returns for each new section the place of the old one whose id it keeps, if any; sections bottom to top.
///
/// No old section is given twice.
pub fn keep(old: &[&Region], new: &[&Region]) -> Vec<Option<usize>> {
    let mut kept: Vec<Option<usize>> = vec![None; new.len()];
    for (place, section) in old.iter().enumerate() {
        let mut best: Option<(f64, usize)> = None;
        for (candidate, other) in new.iter().enumerate() {
            let common = section.intersect(other).area().to_mm2();
            let smaller = section.area().to_mm2().min(other.area().to_mm2());
            if common > 0.0
                && common >= COMMON_SHARE * smaller
                && best.is_none_or(|(most, _)| common > most)
            {
                best = Some((common, candidate));
            }
        }
        if let Some(kept) = best.and_then(|(_, candidate)| kept.get_mut(candidate)) {
            // Lower sections come first and are not pushed aside.
            kept.get_or_insert(place);
        }
    }
    kept
}
