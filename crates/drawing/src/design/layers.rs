//! What of each shape is seen?

use crate::{
    design::Shape,
    error::Error,
    region::{Bounds, Region},
};

/// Most corners looked at to find what is seen; a tracing of two thousand patches takes half of it.
const MOST_CORNER_VISITS: usize = 50_000_000;

/// Finds what is seen of each shape: the shape minus all painted above it.
///
/// Goes from the top down and looks only at shapes whose boxes meet; a shape nothing is seen of hides nothing that is
/// not hidden already.
pub(super) fn find_visible(shapes: &mut [Shape]) -> Result<(), Error> {
    let mut n_visits: usize = 0;
    let mut visible: Vec<Region> = Vec::with_capacity(shapes.len());
    // What hides: shapes of which something is seen, from the top.
    let mut above: Vec<(Bounds, &Region)> = Vec::new();
    for shape in shapes.iter().rev() {
        let Some(own) = shape.painted.bounds() else {
            visible.push(Region::default());
            continue;
        };
        let near = above.iter().filter(|(bounds, _)| own.within(bounds, 0.0));
        let near: Vec<&Region> = near.map(|(_, region)| *region).collect();
        let n_corners: usize = near.iter().map(|region| region.n_corners()).sum();
        n_visits = n_visits.saturating_add(n_corners);
        if n_visits > MOST_CORNER_VISITS {
            return Err(Error::TooIntricate);
        }
        let seen = shape.painted.subtract_all(&near).without_slivers();
        if !seen.is_empty() {
            above.push((own, &shape.painted));
        }
        visible.push(seen);
    }
    for (shape, visible) in shapes.iter_mut().rev().zip(visible) {
        shape.visible = visible;
    }
    Ok(())
}
