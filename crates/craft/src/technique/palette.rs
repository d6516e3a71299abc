//! How few shapes and colors make the drawings of an order?
//!
//! - Shapes that touch and whose colors nobody tells apart are put down in one go, so they are one shape.
//!   Colors less than 2 apart by CIEDE2000 (ISO/CIE 11664-6) pass for one on a cookie, and so do all whites.
//!   A shape the maker has made a choice for stays by itself.
//! - On request, the colors of all drawings together are brought down to a number, the nearest two joined first;
//!   what changes is told.

use drawing::{
    Color, Drawing, Shape,
    design::merge_touching,
    palette::{Change, Limit, snap},
};
use quantity::Area;
use tint::SAME_SHADE;

use crate::{
    heads_up::{HeadsUp, Severity, Subject},
    icing::shade_of,
    order::SectionChoice,
};

/// Returns shapes of which those that pass for one are one.
pub(super) fn merged(shapes: &[Shape], choices: &[SectionChoice]) -> Vec<Shape> {
    let is_chosen = |id: &str| choices.iter().any(|choice| choice.id == id);
    merge_touching(shapes, |a: &Shape, b: &Shape| {
        let is_one = a.color == b.color || shade_of(a.color).is_same(shade_of(b.color));
        is_one && !is_chosen(&a.id) && !is_chosen(&b.id)
    })
}

/// Brings the colors of several drawings down to `most`, weighed by how many cookies show them; says what changes.
///
/// Colors that already pass for one are made one first, which takes no shade away.
pub(super) fn bring_down(drawings: &mut [(&mut Drawing, u32)], most: usize) -> Vec<HeadsUp> {
    let mut colors: Vec<(Color, Area)> = Vec::new();
    for (drawing, count) in drawings.iter() {
        let seen = drawing.shapes.iter().filter(|shape| !shape.visible.is_empty());
        colors.extend(seen.map(|shape| (shape.color, shape.visible.area() * f64::from(*count))));
    }
    let distance = |a: Color, b: Color| shade_of(a).difference(shade_of(b));
    let changes = snap(&colors, Limit { nearer_than: SAME_SHADE, at_most: most }, distance);
    let shapes = drawings.iter_mut().flat_map(|(drawing, _)| &mut drawing.shapes);
    for shape in shapes {
        if let Some(change) = changes.iter().find(|change| change.from == shape.color) {
            shape.color = change.to;
        }
    }
    changes.iter().map(about_change).collect()
}

fn about_change(change: &Change) -> HeadsUp {
    let name = |color: Color| format!("{} ({})", shade_of(color).name(), color.to_hex());
    let message = format!("{} becomes {}.", name(change.from), name(change.to));
    let mut letters = message.chars();
    let first = letters.next().map(|letter| letter.to_ascii_uppercase());
    let message = first.into_iter().chain(letters).collect::<String>();
    HeadsUp::new(Severity::Note, Subject::Order, message)
        .hint("Ask for more colors if these two must stay apart.")
}
