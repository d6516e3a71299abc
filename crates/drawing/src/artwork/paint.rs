//! Which one color stands for a gradient or a pattern?
//!
//! A gradient becomes its mean from first to last stop, channel by channel in sRGB.
//! A pattern becomes the color of the shape with the largest box in its tile.

use kurbo::{Circle, Point};

use crate::{
    artwork::{
        convert::affine,
        gradient::{Course, Gradient, Stop},
    },
    color::Color,
    fact::Flattened,
};

/// A color and how much of it covers what lies beneath.
#[derive(Clone, Debug)]
pub(super) struct Plain {
    pub(super) color: Color,
    pub(super) opacity: f64,
    /// What had to be made plain to get there.
    pub(super) flattened: Option<Flattened>,
    /// The gradient behind it, in the space of the path, unless it repeats.
    pub(super) gradient: Option<Gradient>,
}

/// Returns the one color of a paint, or `None` if it shows nothing.
pub(super) fn plain(paint: &usvg::Paint) -> Option<Plain> {
    match paint {
        usvg::Paint::Color(color) => {
            Some(Plain { color: own(*color), opacity: 1.0, flattened: None, gradient: None })
        }
        usvg::Paint::LinearGradient(linear) => {
            let point = |x: f32, y: f32| Point::new(f64::from(x), f64::from(y));
            let from = point(linear.x1(), linear.y1());
            let to = point(linear.x2(), linear.y2());
            Some(mean(linear, Course::Linear { from, to }))
        }
        usvg::Paint::RadialGradient(radial) => {
            let circle = |x: f32, y: f32, radius: f32| {
                Circle::new((f64::from(x), f64::from(y)), f64::from(radius))
            };
            let from = circle(radial.fx(), radial.fy(), radial.fr().get());
            let to = circle(radial.cx(), radial.cy(), radial.r().get());
            Some(mean(radial, Course::Radial { from, to }))
        }
        usvg::Paint::Pattern(pattern) => {
            let (_, largest) = largest_shape(pattern.root())?;
            Some(Plain { flattened: Some(Flattened::Pattern), gradient: None, ..largest })
        }
    }
}

fn own(color: usvg::Color) -> Color {
    Color { red: color.red, green: color.green, blue: color.blue }
}

fn mean(base: &usvg::BaseGradient, course: Course) -> Plain {
    let stop = |stop: &usvg::Stop| Stop {
        offset: f64::from(stop.offset().get()),
        color: own(stop.color()),
        opacity: f64::from(stop.opacity().get()),
    };
    let stops = base.stops().iter().map(stop).collect();
    let gradient = Gradient { course, transform: affine(base.transform()), stops };
    let (color, opacity) = gradient.mean(0.0, 1.0);
    let repeats = base.spread_method() != usvg::SpreadMethod::Pad;
    let flattened = Some(Flattened::Gradient);
    Plain { color, opacity, flattened, gradient: (!repeats).then_some(gradient) }
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
            && largest.as_ref().is_none_or(|(best, _)| area >= *best)
        {
            largest = Some((area, plain));
        }
    }
    largest
}
