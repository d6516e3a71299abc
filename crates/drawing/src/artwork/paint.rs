//! Which one color stands for a gradient or a pattern?
//!
//! A gradient becomes its mean from first to last stop, channel by channel in sRGB:
//! between stops color runs straight, so each stretch counts with the mean of its ends times its length.
//! A pattern becomes the color of the shape with the largest box in its tile.

use crate::{color::Color, fact::Flattened};

/// A color and how much of it covers what lies beneath.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Plain {
    pub(super) color: Color,
    pub(super) opacity: f64,
    /// What had to be made plain to get there.
    pub(super) flattened: Option<Flattened>,
}

/// Returns the one color of a paint, or `None` if it shows nothing.
pub(super) fn plain(paint: &usvg::Paint) -> Option<Plain> {
    match paint {
        usvg::Paint::Color(color) => {
            Some(Plain { color: own(*color), opacity: 1.0, flattened: None })
        }
        usvg::Paint::LinearGradient(gradient) => Some(mean(gradient.stops())),
        usvg::Paint::RadialGradient(gradient) => Some(mean(gradient.stops())),
        usvg::Paint::Pattern(pattern) => {
            let (_, largest) = largest_shape(pattern.root())?;
            Some(Plain { flattened: Some(Flattened::Pattern), ..largest })
        }
    }
}

fn own(color: usvg::Color) -> Color {
    Color { red: color.red, green: color.green, blue: color.blue }
}

fn mean(stops: &[usvg::Stop]) -> Plain {
    let channels = |stop: &usvg::Stop| {
        let usvg::Color { red, green, blue } = stop.color();
        [f64::from(red), f64::from(green), f64::from(blue), f64::from(stop.opacity().get())]
    };
    let offset = |stop: &usvg::Stop| f64::from(stop.offset().get());
    let mut sum = [0.0; 4];
    let mut add = |ends: [[f64; 4]; 2], length: f64| {
        for (channel, sum) in sum.iter_mut().enumerate() {
            *sum += length * ends.iter().filter_map(|end| end.get(channel)).sum::<f64>() / 2.0;
        }
    };
    if let (Some(first), Some(last)) = (stops.first(), stops.last()) {
        // Before the first and after the last stop their colors go on.
        add([channels(first); 2], offset(first));
        add([channels(last); 2], 1.0 - offset(last));
    }
    for pair in stops.windows(2) {
        if let [from, to] = pair {
            add([channels(from), channels(to)], offset(to) - offset(from));
        }
    }
    let [red, green, blue, opacity] = sum;
    let color =
        Color { red: red.round() as u8, green: green.round() as u8, blue: blue.round() as u8 };
    Plain { color, opacity, flattened: Some(Flattened::Gradient) }
}

/// Returns the fill or stroke with the largest box, the topmost of equals.
fn largest_shape(group: &usvg::Group) -> Option<(f32, Plain)> {
    let mut largest: Option<(f32, Plain)> = None;
    for child in group.children() {
        let found = match child {
            usvg::Node::Group(group) => largest_shape(group),
            usvg::Node::Path(path) if path.is_visible() => {
                let bounds = path.abs_stroke_bounding_box();
                let paint = path
                    .fill()
                    .map(usvg::Fill::paint)
                    .or_else(|| path.stroke().map(usvg::Stroke::paint));
                paint.and_then(plain).map(|plain| (bounds.width() * bounds.height(), plain))
            }
            _ => None,
        };
        if let Some((area, plain)) = found
            && largest.is_none_or(|(best, _)| area >= best)
        {
            largest = Some((area, plain));
        }
    }
    largest
}
