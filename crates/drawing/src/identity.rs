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

use std::collections::BTreeSet;

use quantity::Length;

use crate::{
    artwork::{Artwork, unique_id},
    design::{ReadOptions, read},
    error::Error,
    region::Region,
};

/// Share of the smaller of two sections that both must have in common.
const COMMON_SHARE: f64 = 0.5;

/// The width at which two versions of a picture are laid on each other; any would do.
const OPTIONS: ReadOptions =
    ReadOptions { width: Some(Length::mm(100.0)), border: Length::mm(3.0) };

/// Returns edited artwork whose shapes carry the ids they had in an earlier version, where they are still there.
///
/// Both are laid on each other with cutter shapes of one width; what only moved a little is still there.
/// A new shape never takes an id the earlier version gave to another one.
///
/// # Errors
/// One of the two cannot be read at true size.
pub fn with_earlier_ids(edited: &Artwork, earlier: &Artwork) -> Result<Artwork, Error> {
    let (old, new) = (read(earlier, &OPTIONS)?, read(edited, &OPTIONS)?);
    let old: Vec<_> = old.shapes.iter().filter(|shape| !shape.visible.is_empty()).collect();
    let new: Vec<_> = new.shapes.iter().filter(|shape| !shape.visible.is_empty()).collect();
    let kept = keep(
        &old.iter().map(|shape| &shape.visible).collect::<Vec<_>>(),
        &new.iter().map(|shape| &shape.visible).collect::<Vec<_>>(),
    );
    let mut taken: BTreeSet<String> = old.iter().map(|shape| shape.id.clone()).collect();
    let mut artwork = edited.clone();
    for paint in &mut artwork.shapes {
        let place = new.iter().position(|shape| shape.id == paint.id);
        let earlier = place.and_then(|place| old.get((*kept.get(place)?)?));
        paint.id = match earlier {
            Some(earlier) => earlier.id.clone(),
            None => unique_id(&paint.id, &mut taken),
        };
    }
    Ok(artwork)
}

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
