//! Closed curves put together from lines, arcs and Bézier curves.

use kurbo::{Arc, BezPath, Ellipse, PathEl, Point, Shape, Vec2};

/// How far a Bézier curve may run from the arc it stands for, in the units of the curve.
const ARC_TOLERANCE: f64 = 1e-5;

/// Draws one closed curve; angles are in degrees, positive is clockwise on a page with y down.
pub(super) struct Pen {
    path: BezPath,
    at: Point,
}

impl Pen {
    pub(super) fn at(x: f64, y: f64) -> Self {
        let mut path = BezPath::new();
        path.move_to((x, y));
        Self { path, at: Point::new(x, y) }
    }

    pub(super) fn line(mut self, x: f64, y: f64) -> Self {
        self.at = Point::new(x, y);
        self.path.line_to(self.at);
        self
    }

    /// Runs along the circle around a center by so many degrees.
    pub(super) fn arc(self, center: [f64; 2], degrees: f64) -> Self {
        let from = self.at - point(center);
        let radius = from.hypot();
        self.ellipse(center, [radius, radius], from.atan2().to_degrees(), degrees)
    }

    /// Runs along an ellipse whose axes lie along the page, from one angle by so many degrees.
    pub(super) fn ellipse(
        mut self,
        center: [f64; 2],
        radii: [f64; 2],
        from: f64,
        degrees: f64,
    ) -> Self {
        let arc = Arc::new(
            point(center),
            (radii[0], radii[1]),
            from.to_radians(),
            degrees.to_radians(),
            0.0,
        );
        self.path.extend(arc.append_iter(ARC_TOLERANCE));
        self.at = self.path.elements().last().and_then(PathEl::end_point).unwrap_or(self.at);
        self
    }

    /// Runs along a cubic Bézier curve.
    pub(super) fn curve(mut self, first: [f64; 2], second: [f64; 2], to: [f64; 2]) -> Self {
        self.at = point(to);
        self.path.curve_to(point(first), point(second), self.at);
        self
    }

    pub(super) fn close(mut self) -> BezPath {
        self.path.close_path();
        self.path
    }
}

fn point([x, y]: [f64; 2]) -> Point {
    Point::new(x, y)
}

/// Draws an ellipse.
pub(super) fn ellipse(center: [f64; 2], radii: [f64; 2]) -> BezPath {
    Ellipse::new(point(center), (radii[0], radii[1]), 0.0).to_path(ARC_TOLERANCE)
}

/// Draws a polygon whose corners are rounded; each corner is `[x, y, radius]`, in either direction around.
///
/// The arc of a corner touches both sides; a radius of zero leaves the corner sharp.
pub(super) fn rounded_polygon(corners: &[[f64; 3]]) -> BezPath {
    let mut path = BezPath::new();
    let n = corners.len();
    let at =
        |place: usize| corners.get(place % n).map_or(Point::ZERO, |&[x, y, _]| Point::new(x, y));
    for (place, &[x, y, radius]) in corners.iter().enumerate() {
        let corner = Point::new(x, y);
        let toward = |other: Point| {
            let away = other - corner;
            away / away.hypot().max(f64::MIN_POSITIVE)
        };
        let (back, ahead) = (toward(at(place + n - 1)), toward(at(place + 1)));
        let half_angle = back.dot(ahead).clamp(-1.0, 1.0).acos() / 2.0;
        let from = corner + back * (radius / half_angle.tan());
        if place == 0 {
            path.move_to(from);
        } else {
            path.line_to(from);
        }
        if radius <= 0.0 {
            continue;
        }
        let middle: Vec2 = back + ahead;
        let center = corner + middle * (radius / half_angle.sin() / middle.hypot());
        let start = from - center;
        let turn = std::f64::consts::PI - 2.0 * half_angle;
        // The curve bends to the side the next edge lies on.
        let sweep = turn.copysign((-back).cross(ahead));
        let arc = Arc::new(center, (radius, radius), start.atan2(), sweep, 0.0);
        path.extend(arc.append_iter(ARC_TOLERANCE));
    }
    path.close_path();
    path
}

/// Draws a rectangle with rounded corners, its upper left corner at `from`.
pub(super) fn rounded_rectangle(from: [f64; 2], size: [f64; 2], radius: f64) -> BezPath {
    let ([x, y], [width, height]) = (from, size);
    rounded_polygon(&[
        [x, y, radius],
        [x + width, y, radius],
        [x + width, y + height, radius],
        [x, y + height, radius],
    ])
}

/// Draws a line with round ends, so wide.
pub(super) fn limb(from: [f64; 2], to: [f64; 2], width: f64) -> BezPath {
    let (start, end) = (point(from), point(to));
    let across = (end - start).turn_90();
    let side = across * (width / 2.0 / across.hypot().max(f64::MIN_POSITIVE));
    Pen::at((start + side).x, (start + side).y)
        .arc(from, 180.0)
        .line((end - side).x, (end - side).y)
        .arc(to, 180.0)
        .close()
}

#[cfg(test)]
mod tests {
    use std::f64::consts::PI;

    use super::*;

    fn check(path: &BezPath, area: f64) {
        let found = path.area().abs();
        assert!((found - area).abs() < 1e-3 * area.max(1.0), "{found} instead of {area}");
    }

    #[test]
    fn rounding_a_corner_takes_its_closed_form_away() {
        // A right angle rounded by r loses r² (1 - π/4).
        check(
            &rounded_rectangle([3.0, 4.0], [10.0, 20.0], 2.0),
            200.0 - 4.0 * 4.0 * (1.0 - PI / 4.0),
        );
        // An L of 20 x 20 with its inner corner rounded by 5 gains that much there.
        let gain = 25.0 * (1.0 - PI / 4.0);
        let corners =
            [[0.0, 0.0], [20.0, 0.0], [20.0, 10.0], [10.0, 10.0], [10.0, 20.0], [0.0, 20.0]];
        let radius_at = |place| if place == 3 { 5.0 } else { 0.0 };
        let l: Vec<[f64; 3]> =
            corners.iter().enumerate().map(|(place, &[x, y])| [x, y, radius_at(place)]).collect();
        check(&rounded_polygon(&l), 300.0 + gain);
    }

    #[test]
    fn a_limb_is_a_stadium() {
        check(&limb([1.0, 1.0], [4.0, 5.0], 2.0), 5.0 * 2.0 + PI);
    }
}
