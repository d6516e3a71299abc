//! Which patches of a picture are put down in one go, because they touch and nobody tells their colors apart?
//!
//! Two shapes become one where what is seen of them touches along more than [`LEAST_TOUCH`], the caller takes their colors for one,
//! and nothing painted between them lies under the upper one: that would have to set in between.
//! The merged shape keeps the place and id of its lowest member and the color of the one most is seen of.
//! Lettering stays lettering, and is never merged with anything else.
//!
//! Areas add up: what is seen of a merged shape is the union of what was seen of its members.

use quantity::Length;

use crate::{
    design::{Origin, Shape},
    region::Region,
    relation::shared_edge,
};

/// Shapes that touch along less meet in a corner (common practice, no source).
const LEAST_TOUCH: Length = Length::mm(0.5);

/// Edges up to this far apart touch: two curves drawn along each other differ by what replaces them with chords.
const TOUCHING: Length = Length::mm(0.05);

/// Merges shapes that touch and that `is_one` takes for one; it gets the upper shape first.
///
/// Shapes nothing is seen of stay as they are.
pub fn merge_touching(shapes: &[Shape], is_one: impl Fn(&Shape, &Shape) -> bool) -> Vec<Shape> {
    // For each shape the place of the lowest shape it is put down with.
    let mut roots: Vec<usize> = (0..shapes.len()).collect();
    for (upper, shape) in shapes.iter().enumerate() {
        for (lower, other) in shapes.iter().enumerate().take(upper) {
            let (own, others) = (root(&roots, upper), root(&roots, lower));
            if own != others
                && is_alike(shape, other)
                && is_one(shape, other)
                && shared_edge(&shape.visible, &other.visible, TOUCHING) > LEAST_TOUCH
                && !lies_on_a_shape_between(shapes, lower, upper)
                && let Some(highest) = roots.get_mut(own.max(others))
            {
                *highest = own.min(others);
            }
        }
    }
    let mut merged = Vec::new();
    for (place, lowest) in shapes.iter().enumerate() {
        if root(&roots, place) != place {
            continue;
        }
        let members: Vec<&Shape> = shapes
            .iter()
            .enumerate()
            .filter(|(member, _)| root(&roots, *member) == place)
            .map(|(_, shape)| shape)
            .collect();
        merged.push(if members.len() == 1 { lowest.clone() } else { join(lowest, &members) });
    }
    merged
}

fn root(roots: &[usize], place: usize) -> usize {
    let mut place = place;
    while let Some(&lower) = roots.get(place)
        && lower != place
    {
        place = lower;
    }
    place
}

fn is_alike(a: &Shape, b: &Shape) -> bool {
    (a.origin == Origin::Text) == (b.origin == Origin::Text)
}

fn lies_on_a_shape_between(shapes: &[Shape], lower: usize, upper: usize) -> bool {
    let between = shapes.iter().skip(lower + 1).take(upper.saturating_sub(lower + 1));
    let Some(shape) = shapes.get(upper) else { return false };
    between
        .into_iter()
        .any(|other| !other.painted.intersect(&shape.painted).without_slivers().is_empty())
}

fn join(lowest: &Shape, members: &[&Shape]) -> Shape {
    let union = |of: fn(&Shape) -> &Region| {
        Region::union(&members.iter().map(|member| of(member)).collect::<Vec<_>>())
    };
    let mut most = lowest;
    for member in members {
        if member.visible.area() > most.visible.area() {
            most = member;
        }
    }
    let widest = members.iter().try_fold(Length::ZERO, |widest, member| match member.origin {
        Origin::Stroke { width } => Some(if width > widest { width } else { widest }),
        Origin::Fill | Origin::Text => None,
    });
    let origin = match (lowest.origin, widest) {
        (Origin::Text, _) => Origin::Text,
        (_, Some(width)) => Origin::Stroke { width },
        (_, None) => Origin::Fill,
    };
    Shape {
        id: lowest.id.clone(),
        color: most.color,
        origin,
        painted: union(|shape| &shape.painted),
        visible: union(|shape| &shape.visible),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{color::Color, region::FillRule};

    fn shape(id: &str, red: u8, [x, y, width, height]: [f64; 4]) -> Shape {
        let ring = vec![[x, y], [x + width, y], [x + width, y + height], [x, y + height]];
        let region = Region::from_rings(&[ring], FillRule::NonZero);
        let color = Color { red, green: 0, blue: 0 };
        let (painted, visible) = (region.clone(), region);
        Shape { id: id.to_owned(), color, origin: Origin::Fill, painted, visible }
    }

    fn check(shapes: &[Shape], expected: &[(&str, u8, f64)]) {
        let mut shapes = shapes.to_vec();
        crate::design::layers::find_visible(&mut shapes).expect("few corners");
        let merged = merge_touching(&shapes, |a, b| a.color.red.abs_diff(b.color.red) <= 2);
        let found: Vec<_> = merged
            .iter()
            .map(|shape| (shape.id.as_str(), shape.color.red, shape.visible.area().to_mm2()))
            .collect();
        assert_eq!(found, expected);
    }

    #[test]
    fn touching_shapes_of_near_colors_become_one() {
        let row = [
            shape("a", 10, [0.0, 0.0, 10.0, 10.0]),
            shape("b", 12, [10.0, 0.0, 20.0, 10.0]),
            shape("c", 40, [30.0, 0.0, 10.0, 10.0]),
            shape("d", 12, [50.0, 0.0, 10.0, 10.0]),
        ];
        check(&row, &[("a", 12, 300.0), ("c", 40, 100.0), ("d", 12, 100.0)]);
    }

    #[test]
    fn shapes_that_meet_in_a_corner_stay_two() {
        let two =
            [shape("a", 10, [0.0, 0.0, 10.0, 10.0]), shape("b", 10, [10.0, 10.0, 10.0, 10.0])];
        check(&two, &[("a", 10, 100.0), ("b", 10, 100.0)]);
    }

    #[test]
    fn a_shape_on_another_color_is_not_merged_with_what_lies_below_it() {
        let stack = [
            shape("plate", 10, [0.0, 0.0, 30.0, 30.0]),
            shape("band", 99, [10.0, 0.0, 10.0, 30.0]),
            shape("bridge", 10, [5.0, 10.0, 20.0, 5.0]),
        ];
        check(&stack, &[("plate", 10, 550.0), ("band", 99, 250.0), ("bridge", 10, 100.0)]);
    }

    #[test]
    fn a_chain_of_touching_shapes_keeps_the_lowest_id() {
        let chain = [
            shape("right", 10, [20.0, 0.0, 10.0, 10.0]),
            shape("left", 10, [0.0, 0.0, 10.0, 10.0]),
            shape("middle", 10, [10.0, 0.0, 10.0, 10.0]),
        ];
        check(&chain, &[("right", 10, 300.0)]);
    }
}
