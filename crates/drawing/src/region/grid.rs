//! The grid all corners lie on: 2^-10 mm, held as whole numbers while shapes are combined.

use i_overlay::i_float::int::point::IntPoint;

/// One step of the grid, exactly representable, about a thousandth of a millimeter.
pub(super) const STEP_MM: f64 = 1.0 / 1024.0;

/// Farthest a corner may lie from the origin: 2^27 steps, 131 m.
///
/// Keeps offsets and sums inside the ±2^29 the integer engine accepts.
const FARTHEST: f64 = 134_217_728.0;

/// Returns the number of grid steps nearest to a coordinate.
pub(super) fn steps(mm: f64) -> i32 {
    (mm / STEP_MM).round().clamp(-FARTHEST, FARTHEST) as i32
}

/// Returns the coordinate on the grid nearest to `mm`.
pub(super) fn snap(mm: f64) -> f64 {
    f64::from(steps(mm)) * STEP_MM
}

/// Moves rings to the grid, leaving out corners that are not finite.
pub(super) fn to_grid(rings: &[Vec<[f64; 2]>]) -> Vec<Vec<IntPoint<i32>>> {
    let corner = |&[x, y]: &[f64; 2]| {
        (x.is_finite() && y.is_finite()).then(|| IntPoint::new(steps(x), steps(y)))
    };
    rings.iter().map(|ring| ring.iter().filter_map(corner).collect()).collect()
}

/// Moves parts from the grid back to millimeters, exactly.
pub(super) fn from_grid(parts: Vec<Vec<Vec<IntPoint<i32>>>>) -> Vec<Vec<Vec<[f64; 2]>>> {
    let corner =
        |point: IntPoint<i32>| [f64::from(point.x) * STEP_MM, f64::from(point.y) * STEP_MM];
    let ring = |ring: Vec<IntPoint<i32>>| ring.into_iter().map(corner).collect();
    parts.into_iter().map(|part| part.into_iter().map(ring).collect()).collect()
}
