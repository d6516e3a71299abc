//! Where on the paper is this point of the photograph?
//!
//! A flat sheet and its photograph are related by a homography: (x, y) ↦ ((a x + b y + c) / w, (d x + e y + f) / w)
//! with w = g x + h y + 1.
//! Its eight numbers follow from four corners (R. Hartley and A. Zisserman, Multiple View Geometry in Computer Vision,
//! 2nd edition, 2004, section 4.1) and are then refined by Gauss-Newton steps so that the points found along the four
//! sides of the reference come to lie on the sides of its true rectangle.
//! How far the points still are off gives the uncertainty of every point on the paper (section 5.2 there).
//!
//! Range of validity: the reference and the subject lie in one plane.

use crate::photo::linear::{Normal, solve};

/// Eight numbers of a homography, the ninth is 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Homography(pub(super) [f64; 8]);

impl Homography {
    /// Returns the one that takes each point to its partner, unless three of them are in line.
    pub(super) fn from_corners(from: [[f64; 2]; 4], to: [[f64; 2]; 4]) -> Option<Self> {
        let mut matrix = [[0.0; 8]; 8];
        let mut right = [0.0; 8];
        let pairs = from.into_iter().zip(to);
        for ((rows, right), ([x, y], [u, v])) in
            matrix.chunks_exact_mut(2).zip(right.chunks_exact_mut(2)).zip(pairs)
        {
            if let [first, second] = rows {
                *first = [x, y, 1.0, 0.0, 0.0, 0.0, -u * x, -u * y];
                *second = [0.0, 0.0, 0.0, x, y, 1.0, -v * x, -v * y];
            }
            right.copy_from_slice(&[u, v]);
        }
        solve(matrix, right).map(Self)
    }

    /// Takes a point along; far away where it would go to infinity.
    pub(super) fn apply(&self, [x, y]: [f64; 2]) -> [f64; 2] {
        let [a, b, c, d, e, f, g, h] = self.0;
        let w = g * x + h * y + 1.0;
        let w = if w.abs() < 1e-9 { 1e-9 } else { w };
        [(a * x + b * y + c) / w, (d * x + e * y + f) / w]
    }

    /// Returns the way back, if there is one.
    pub(super) fn inverse(&self) -> Option<Self> {
        let [a, b, c, d, e, f, g, h] = self.0;
        let adjugate = [
            e - f * h,
            c * h - b,
            b * f - c * e,
            f * g - d,
            a - c * g,
            c * d - a * f,
            d * h - e * g,
            b * g - a * h,
            a * e - b * d,
        ];
        let [rest @ .., last] = adjugate;
        let inverse = rest.map(|value| value / last);
        inverse.iter().all(|value| value.is_finite()).then_some(Self(inverse))
    }

    /// Returns how each coordinate of a point's image changes with the eight numbers.
    fn slopes(&self, [x, y]: [f64; 2]) -> [[f64; 8]; 2] {
        let [u, v] = self.apply([x, y]);
        let [.., g, h] = self.0;
        let w = g * x + h * y + 1.0;
        let w = if w.abs() < 1e-9 { 1e-9 } else { w };
        let along = [x, y, 1.0].map(|value| value / w);
        let [px, py, p1] = along;
        [
            [px, py, p1, 0.0, 0.0, 0.0, -u * px, -u * py],
            [0.0, 0.0, 0.0, px, py, p1, -v * px, -v * py],
        ]
    }
}

/// A point found on a side of the reference.
#[derive(Clone, Copy, Debug)]
pub(super) struct OnSide {
    /// Where it is in the photograph.
    pub(super) at: [f64; 2],
    /// How much it counts.
    pub(super) weight: f64,
    /// Coordinate that is known on its side: 0 for x, 1 for y.
    pub(super) axis: usize,
    /// Its value in millimeters.
    pub(super) value_mm: f64,
}

/// A homography with what the points on the sides say about it.
#[derive(Clone, Copy, Debug)]
pub(super) struct Refined {
    pub(super) homography: Homography,
    /// Root mean square distance of the points from their sides, mm.
    pub(super) residual_mm: f64,
    /// Sum of products of slopes, for uncertainties.
    normal: Normal<8>,
}

/// Moves the homography until points on the sides lie on the true rectangle's sides.
pub(super) fn refine(start: Homography, points: &[OnSide]) -> Refined {
    let mut homography = start;
    for _ in 0..8 {
        let Some(step) = sums(&homography, points).0.solve() else { break };
        for (value, step) in homography.0.iter_mut().zip(step) {
            *value -= step;
        }
    }
    let mean_off = |homography: &Homography| {
        let (normal, squares) = sums(homography, points);
        let total: f64 = points.iter().map(|point| point.weight).sum();
        (normal, (squares / total.max(1e-12)).sqrt())
    };
    let (normal, residual_mm) = mean_off(&homography);
    let (start_normal, start_residual_mm) = mean_off(&start);
    // Steps that led nowhere are not taken.
    if residual_mm <= start_residual_mm {
        Refined { homography, residual_mm, normal }
    } else {
        Refined { homography: start, residual_mm: start_residual_mm, normal: start_normal }
    }
}

fn sums(homography: &Homography, points: &[OnSide]) -> (Normal<8>, f64) {
    let mut normal = Normal::new();
    let mut squares = 0.0;
    for point in points {
        let image = homography.apply(point.at);
        let slopes = homography.slopes(point.at);
        let (Some(value), Some(slope)) = (image.get(point.axis), slopes.get(point.axis)) else {
            continue;
        };
        let off = value - point.value_mm;
        squares += point.weight * off * off;
        normal.add(*slope, off, point.weight);
    }
    (normal, squares)
}

impl Refined {
    /// Returns the standard uncertainty of where a point of the photograph lies on the paper, mm.
    pub(super) fn uncertainty_mm(&self, at: [f64; 2]) -> f64 {
        let variance: f64 = self
            .homography
            .slopes(at)
            .iter()
            .filter_map(|slope| {
                let solved = solve(self.normal.matrix, *slope)?;
                Some(solved.iter().zip(slope).map(|(a, b)| a * b).sum::<f64>())
            })
            .sum();
        self.residual_mm * variance.max(0.0).sqrt()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const SEEN: [[f64; 2]; 4] = [[0.1, 0.2], [1.1, 0.25], [0.95, 1.3], [0.15, 1.2]];
    const SHEET: [[f64; 2]; 4] = [[0.0, 0.0], [210.0, 0.0], [210.0, 297.0], [0.0, 297.0]];

    #[test]
    fn four_corners_go_where_they_belong_and_back() {
        let there = Homography::from_corners(SEEN, SHEET).expect("no three are in line");
        let back = there.inverse().expect("it has an inverse");
        for (seen, sheet) in SEEN.into_iter().zip(SHEET) {
            let [x, y] = there.apply(seen);
            assert!((x - sheet[0]).abs() < 1e-9 && (y - sheet[1]).abs() < 1e-9);
            let [x, y] = back.apply(sheet);
            assert!((x - seen[0]).abs() < 1e-12 && (y - seen[1]).abs() < 1e-12);
        }
    }

    #[test]
    fn corners_in_one_line_are_refused() {
        let line = [[0.0, 0.0], [1.0, 1.0], [2.0, 2.0], [0.0, 3.0]];
        assert_eq!(Homography::from_corners(line, SHEET), None);
    }

    #[test]
    fn points_on_the_sides_correct_corners_that_are_off() {
        let truth = Homography::from_corners(SEEN, SHEET).expect("no three are in line");
        let back = truth.inverse().expect("it has an inverse");
        let mut points = Vec::new();
        for step in 1..40 {
            let t = f64::from(step) / 40.0;
            for (at, axis, value_mm) in [
                ([210.0 * t, 0.0], 1, 0.0),
                ([210.0, 297.0 * t], 0, 210.0),
                ([210.0 * t, 297.0], 1, 297.0),
                ([0.0, 297.0 * t], 0, 0.0),
            ] {
                points.push(OnSide { at: back.apply(at), weight: 1.0, axis, value_mm });
            }
        }
        let off = SEEN.map(|[x, y]| [x + 0.004 * (9.0 * y).sin(), y - 0.003 * x]);
        let start = Homography::from_corners(off, SHEET).expect("no three are in line");
        let refined = refine(start, &points);
        assert!(refined.residual_mm < 1e-6, "{}", refined.residual_mm);
        for (seen, sheet) in SEEN.into_iter().zip(SHEET) {
            let [x, y] = refined.homography.apply(seen);
            assert!((x - sheet[0]).hypot(y - sheet[1]) < 1e-5);
        }
    }
}
