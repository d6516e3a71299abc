//! Where in a gradient does which color lie, and how is it told in a few plain bands?
//!
//! A gradient runs along a parameter t from 0 (first stop) to 1 (last stop):
//!
//! - linear, from a to b: t = (p - a)·(b - a) / |b - a|²;
//! - radial, from a focal circle (f, r₀) to a circle (c, r₁): t is constant on the circle
//!   around f + t·(c - f) with the radius r₀ + t·(r₁ - r₀).
//!
//! Source: SVG 2, 14.2.2 and 14.2.3.
//! In n bands, band k covers t from k/n to (k+1)/n and has the mean color of that stretch; the first and the last go on
//! to where the paint ends.
//! Gradients that repeat are not told in bands.

use kurbo::{Affine, BezPath, Circle, Point, Rect, Shape, Vec2};

use crate::{
    artwork::{Artwork, Clip, Curve, Enclosed, Painted},
    color::Color,
    fact::{Fact, Flattened},
    region::FillRule,
};

/// Fewest and most bands a gradient is split into: more colors than that nobody mixes for one area
/// (common practice, no source).
const BANDS: std::ops::RangeInclusive<usize> = 2..=4;

/// How far, in shares of the radius, the curves of a circle may run from it.
const CIRCLE_TOLERANCE: f64 = 1e-4;

/// Color that runs from stop to stop.
#[derive(Clone, Debug)]
pub(crate) struct Gradient {
    pub(crate) course: Course,
    /// From the space of the course to the picture.
    pub(crate) transform: Affine,
    /// In order of their offsets, 0 to 1.
    pub(crate) stops: Vec<Stop>,
}

/// Along what the color changes.
#[derive(Clone, Copy, Debug)]
pub(crate) enum Course {
    /// From point to point.
    Linear { from: Point, to: Point },
    /// From circle to circle.
    Radial { from: Circle, to: Circle },
}

/// A color at a place of the gradient.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Stop {
    pub(crate) offset: f64,
    pub(crate) color: Color,
    pub(crate) opacity: f64,
}

impl Gradient {
    /// Returns the mean color and opacity between two places, channel by channel in sRGB.
    ///
    /// Between stops color runs straight, so each stretch counts with the mean of its ends times its length.
    pub(crate) fn mean(&self, from: f64, to: f64) -> (Color, f64) {
        let mut places: Vec<f64> = vec![from];
        places.extend(self.stops.iter().map(|stop| stop.offset).filter(|&at| from < at && at < to));
        places.push(to);
        let mut sum = [0.0; 4];
        for pair in places.windows(2) {
            let [start, end] = pair else { continue };
            // Stops at one place make a step: its sides are read just inside the stretch.
            let (a, b) = (self.at_or_after(*start), self.at_or_before(*end));
            for ((sum, a), b) in sum.iter_mut().zip(a).zip(b) {
                *sum += (end - start) * (a + b) / 2.0;
            }
        }
        let [red, green, blue, opacity] = sum.map(|channel| channel / (to - from));
        let channel = |value: f64| value.round().clamp(0.0, 255.0) as u8;
        (Color { red: channel(red), green: channel(green), blue: channel(blue) }, opacity)
    }

    fn at_or_after(&self, place: f64) -> [f64; 4] {
        let next = self.stops.iter().position(|stop| stop.offset > place);
        self.between(next.map_or(self.stops.len(), |next| next), place)
    }

    fn at_or_before(&self, place: f64) -> [f64; 4] {
        let next = self.stops.iter().position(|stop| stop.offset >= place);
        self.between(next.map_or(self.stops.len(), |next| next), place)
    }

    /// Returns the channels at a place between the stop before `next` and `next`.
    fn between(&self, next: usize, place: f64) -> [f64; 4] {
        let channels = |stop: &Stop| {
            let Color { red, green, blue } = stop.color;
            [f64::from(red), f64::from(green), f64::from(blue), stop.opacity]
        };
        let before = next.checked_sub(1).and_then(|before| self.stops.get(before));
        match (before, self.stops.get(next)) {
            (Some(a), Some(b)) => {
                let share = (place - a.offset) / (b.offset - a.offset);
                let (a, b) = (channels(a), channels(b));
                std::array::from_fn(|index| {
                    let (a, b) = (a.get(index), b.get(index));
                    a.unwrap_or(&0.0) * (1.0 - share) + b.unwrap_or(&0.0) * share
                })
            }
            (Some(only), None) | (None, Some(only)) => channels(only),
            (None, None) => [0.0; 4],
        }
    }

    /// Returns where t lies between `from` and `to` within a box of the picture, to be filled by the even-odd rule.
    ///
    /// Nothing if the gradient has no width.
    fn band(&self, from: Option<f64>, to: Option<f64>, around: Rect) -> Option<Enclosed> {
        let determinant = self.transform.determinant();
        if !determinant.is_finite() || determinant == 0.0 {
            return None;
        }
        let around = self.transform.inverse().transform_rect_bbox(around);
        let path = match self.course {
            Course::Linear { from: start, to: end } => strip(start, end - start, from, to, around)?,
            Course::Radial { from: start, to: end } => {
                let circle = |t: f64| {
                    let center = start.center + t * (end.center - start.center);
                    let radius = (start.radius + t * (end.radius - start.radius)).max(0.0);
                    Circle::new(center, radius).to_path(CIRCLE_TOLERANCE * end.radius)
                };
                let mut path = to.map_or_else(|| around.to_path(0.0), circle);
                path.extend(from.map(circle).into_iter().flatten());
                path
            }
        };
        Some(Enclosed { path, transform: self.transform, rule: FillRule::EvenOdd })
    }
}

/// Returns the strip of a box between two lines across `way`.
fn strip(
    start: Point,
    way: Vec2,
    from: Option<f64>,
    to: Option<f64>,
    around: Rect,
) -> Option<BezPath> {
    let length = way.hypot2();
    if !length.is_finite() || length <= 0.0 {
        return None;
    }
    let corners = [
        (around.x0, around.y0),
        (around.x1, around.y0),
        (around.x1, around.y1),
        (around.x0, around.y1),
    ];
    let along = |&corner: &(f64, f64)| (Point::from(corner) - start).dot(way) / length;
    let across = |&corner: &(f64, f64)| (Point::from(corner) - start).cross(way) / length;
    let least = |of: &dyn Fn(&(f64, f64)) -> f64| corners.iter().map(of).fold(f64::MAX, f64::min);
    let most = |of: &dyn Fn(&(f64, f64)) -> f64| corners.iter().map(of).fold(f64::MIN, f64::max);
    let from = from.unwrap_or_else(|| least(&along).min(0.0));
    let to = to.unwrap_or_else(|| most(&along).max(1.0));
    let turned = Vec2::new(way.y, -way.x);
    let at = |along: f64, across: f64| start + along * way + across * turned;
    let (left, right) = (least(&across), most(&across));
    let mut path = BezPath::new();
    path.move_to(at(from, left));
    path.line_to(at(to, left));
    path.line_to(at(to, right));
    path.line_to(at(from, right));
    path.close_path();
    Some(path)
}

impl Artwork {
    /// Returns the artwork with each gradient in bands of plain color, two to four; other numbers are brought into that range.
    ///
    /// Band 1 keeps the id of its shape, the others have `-2`, `-3`... appended.
    /// Gradients that repeat stay one color.
    pub fn in_bands(&self, n_bands: usize) -> Self {
        let n_bands = n_bands.clamp(*BANDS.start(), *BANDS.end());
        let mut artwork = self.clone();
        artwork.shapes = split(&self.shapes, n_bands, &mut artwork.clips);
        let was_split =
            |id: &str| self.shapes.iter().any(|shape| shape.id == id && shape.gradient.is_some());
        artwork.notes.retain(|note| match note {
            Fact::Flattened { what: Flattened::Gradient, id } => {
                id.as_deref().is_some_and(|id| !was_split(id))
            }
            _ => true,
        });
        super::make_ids_unique(&mut artwork.shapes);
        artwork
    }
}

/// Replaces each shape painted with a gradient by its bands; their edges become clips.
pub(super) fn split(shapes: &[Painted], n_bands: usize, clips: &mut Vec<Clip>) -> Vec<Painted> {
    let mut all = Vec::with_capacity(shapes.len());
    for shape in shapes {
        let bands = shape.gradient.as_ref().and_then(|gradient| {
            let around = around(&shape.curve);
            let bands = (0..n_bands).map(|index| {
                let [from, to] = [index, index + 1].map(|edge| edge as f64 / n_bands as f64);
                let (color, opacity) = gradient.mean(from, to);
                let from = (index > 0).then_some(from);
                let to = (index + 1 < n_bands).then_some(to);
                Some((gradient.band(from, to, around)?, color, opacity))
            });
            bands.collect::<Option<Vec<_>>>()
        });
        let Some(bands) = bands else {
            all.push(shape.clone());
            continue;
        };
        // The opacity of a shape is that of its paint times the mean of its gradient.
        let (_, mean) = shape.gradient.as_ref().map_or((shape.color, 1.0), |g| g.mean(0.0, 1.0));
        let paint_opacity = if mean > 0.0 { shape.opacity / mean } else { 0.0 };
        for (enclosed, color, opacity) in bands {
            clips.push(Clip { parent: shape.clip, shapes: vec![(enclosed, None)] });
            all.push(Painted {
                color,
                opacity: (paint_opacity * opacity).clamp(0.0, 1.0),
                gradient: None,
                clip: Some(clips.len() - 1),
                ..shape.clone()
            });
        }
    }
    all
}

/// Returns a box around all a curve may paint, in the picture's units.
fn around(curve: &Curve) -> Rect {
    match curve {
        Curve::Inside(enclosed) => (enclosed.transform * &enclosed.path).bounding_box(),
        Curve::Along { path, transform, stroke } => {
            // A miter reaches half the width times its limit, a square cap half the width times √2.
            let reach = stroke.width / 2.0 * stroke.miter_limit.max(std::f64::consts::SQRT_2);
            transform.transform_rect_bbox(path.bounding_box().inflate(reach, reach))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const BLACK: Color = Color { red: 0, green: 0, blue: 0 };

    fn gradient(stops: &[(f64, Color)]) -> Gradient {
        let stop = |&(offset, color): &(f64, Color)| Stop { offset, color, opacity: 1.0 };
        Gradient {
            course: Course::Linear { from: Point::ZERO, to: Point::new(10.0, 0.0) },
            transform: Affine::IDENTITY,
            stops: stops.iter().map(stop).collect(),
        }
    }

    fn check_mean(stops: &[(f64, Color)], from: f64, to: f64, expected: u8) {
        let (color, opacity) = gradient(stops).mean(from, to);
        assert_eq!((color.red, opacity), (expected, 1.0), "{from} to {to}");
    }

    #[test]
    fn the_mean_of_a_stretch_is_that_of_a_straight_line() {
        let run = [(0.0, BLACK), (1.0, Color::WHITE)];
        check_mean(&run, 0.0, 1.0, 128);
        // A quarter of the way: 0 to 63.75, mean 31.875.
        check_mean(&run, 0.0, 0.25, 32);
        check_mean(&run, 0.75, 1.0, 223);
        // Black up to the middle, then white at once.
        let step = [(0.5, BLACK), (0.5, Color::WHITE)];
        check_mean(&step, 0.0, 0.5, 0);
        check_mean(&step, 0.5, 1.0, 255);
        check_mean(&step, 0.25, 1.0, 170);
        check_mean(&[(0.3, Color::WHITE)], 0.0, 1.0, 255);
        // Before the first stop its color goes on.
        check_mean(&[(0.5, Color::WHITE), (1.0, BLACK)], 0.0, 0.5, 255);
    }

    #[test]
    fn bands_of_a_line_are_strips_and_those_of_a_circle_rings() {
        let area = |enclosed: Enclosed| enclosed.path.area().abs();
        let around = Rect::new(0.0, 0.0, 10.0, 4.0);
        let linear = gradient(&[]);
        let strip = linear.band(Some(0.25), Some(0.5), around).expect("it has a width");
        assert!((area(strip) - 10.0).abs() < 1e-9);
        let open = linear.band(None, Some(0.5), around).expect("it has a width");
        assert!((area(open) - 20.0).abs() < 1e-9);
        let radial = Gradient {
            course: Course::Radial {
                from: Circle::new((5.0, 5.0), 0.0),
                to: Circle::new((5.0, 5.0), 4.0),
            },
            ..linear
        };
        let disk = radial.band(None, Some(0.5), around).expect("it has a width");
        assert!((area(disk) - std::f64::consts::PI * 4.0).abs() < 0.01);
    }
}
