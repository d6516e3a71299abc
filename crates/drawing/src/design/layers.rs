//! What of each shape is seen, and in which color?

use crate::{
    color::Color,
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
    let bounds: Vec<Option<Bounds>> = shapes.iter().map(|shape| shape.painted.bounds()).collect();
    let mut n_visits: usize = 0;
    let mut visible: Vec<Region> = Vec::with_capacity(shapes.len());
    for (index, shape) in shapes.iter().enumerate().rev() {
        let own = bounds.get(index).copied().flatten();
        let above = shapes.iter().zip(&bounds).enumerate().skip(index + 1).filter(
            |(upper, (_, bounds))| {
                // `visible` is filled from the top: its first entry belongs to the last shape.
                let is_seen =
                    visible.get(shapes.len() - 1 - upper).is_some_and(|region| !region.is_empty());
                is_seen
                    && matches!((own, bounds), (Some(own), Some(bounds)) if own.within(bounds, 0.0))
            },
        );
        let above: Vec<&Region> = above.map(|(_, (shape, _))| &shape.painted).collect();
        let n_corners: usize = above.iter().map(|region| region.n_corners()).sum();
        n_visits = n_visits.saturating_add(n_corners);
        if n_visits > MOST_CORNER_VISITS {
            return Err(Error::TooIntricate);
        }
        visible.push(shape.painted.subtract_all(&above).without_slivers());
    }
    for (shape, visible) in shapes.iter_mut().rev().zip(visible) {
        shape.visible = visible;
    }
    Ok(())
}

/// Replaces translucent colors by what they show over the color that lies under most of the shape.
pub(super) fn make_opaque(shapes: &mut [Shape], opacities: &[f64]) {
    for (index, &opacity) in opacities.iter().enumerate() {
        if opacity >= 1.0 {
            continue;
        }
        let (below, from_here) = shapes.split_at_mut(index);
        if let Some(shape) = from_here.first_mut() {
            shape.color = shape.color.over(color_beneath(&shape.painted, below), opacity);
        }
    }
}

/// Returns the color that lies under most of a region, or white.
fn color_beneath(region: &Region, below: &[Shape]) -> Color {
    let mut areas: Vec<(Color, f64)> = Vec::new();
    let mut open = region.clone();
    for shape in below.iter().rev() {
        if open.is_empty() {
            break;
        }
        let left = open.subtract(&shape.painted);
        add_area(&mut areas, shape.color, (open.area() - left.area()).to_mm2());
        open = left;
    }
    add_area(&mut areas, Color::WHITE, open.area().to_mm2());
    areas
        .into_iter()
        .reduce(|most, next| if next.1 > most.1 { next } else { most })
        .map_or(Color::WHITE, |(color, _)| color)
}

fn add_area(areas: &mut Vec<(Color, f64)>, color: Color, area: f64) {
    match areas.iter_mut().find(|(known, _)| *known == color) {
        Some((_, sum)) => *sum += area,
        None => areas.push((color, area)),
    }
}
