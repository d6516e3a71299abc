//! Sums of squares of a few numbers, made small.
//!
//! K. Levenberg, 1944; D. W. Marquardt, 1963: Gauss-Newton steps, damped more while they lead uphill.

/// Most steps; two or three numbers rest long before.
const MOST_STEPS: usize = 60;

/// Returns the numbers near `start` that make Σ r² small, with that sum.
///
/// `residuals` gives r and how each of them changes with each number.
pub(crate) fn minimize<const N: usize, const M: usize>(
    start: [f64; N],
    residuals: impl Fn(&[f64; N]) -> ([f64; M], [[f64; N]; M]),
) -> ([f64; N], f64) {
    let squares = |r: &[f64; M]| r.iter().map(|r| r * r).sum::<f64>();
    let mut at = start;
    let (mut r, mut slopes) = residuals(&at);
    let mut least = squares(&r);
    let mut damping = 1e-3;
    for _ in 0..MOST_STEPS {
        let (normal, right) = normal_equations(&r, &slopes);
        let mut damped = normal;
        for (index, row) in damped.iter_mut().enumerate() {
            row[index] += damping * row[index].max(1e-9);
        }
        let Some(step) = solve(damped, right) else { break };
        let mut next = at;
        for (value, step) in next.iter_mut().zip(step) {
            *value -= step;
        }
        let (next_r, next_slopes) = residuals(&next);
        let found = squares(&next_r);
        if found < least {
            let gain = least - found;
            (at, r, slopes, least) = (next, next_r, next_slopes, found);
            damping = (damping / 5.0).max(1e-9);
            if gain < 1e-6 * least + 1e-12 {
                break;
            }
        } else {
            damping *= 4.0;
            if damping > 1e9 {
                break;
            }
        }
    }
    (at, least)
}

/// Returns Σ slope · slopeᵀ and Σ slope · r.
pub(crate) fn normal_equations<const N: usize, const M: usize>(
    r: &[f64; M],
    slopes: &[[f64; N]; M],
) -> ([[f64; N]; N], [f64; N]) {
    let mut normal = [[0.0; N]; N];
    let mut right = [0.0; N];
    for (r, slope) in r.iter().zip(slopes) {
        for ((row, right), one) in normal.iter_mut().zip(&mut right).zip(slope) {
            *right += one * r;
            for (sum, other) in row.iter_mut().zip(slope) {
                *sum += one * other;
            }
        }
    }
    (normal, right)
}

/// Solves by elimination with the largest pivot of each column.
pub(crate) fn solve<const N: usize>(
    mut matrix: [[f64; N]; N],
    mut right: [f64; N],
) -> Option<[f64; N]> {
    for column in 0..N {
        let pivot = (column..N).max_by(|&one, &other| {
            matrix[one][column].abs().total_cmp(&matrix[other][column].abs())
        })?;
        matrix.swap(column, pivot);
        right.swap(column, pivot);
        let (row, value) = (matrix[column], right[column]);
        let lead = row[column];
        if lead.is_nan() || lead.abs() < 1e-300 {
            return None;
        }
        for index in (0..N).filter(|&index| index != column) {
            let factor = matrix[index][column] / lead;
            for (slot, value) in matrix[index].iter_mut().zip(row) {
                *slot -= factor * value;
            }
            right[index] -= factor * value;
        }
    }
    let mut solution = [0.0; N];
    for (column, slot) in solution.iter_mut().enumerate() {
        *slot = right[column] / matrix[column][column];
    }
    solution.iter().all(|value| value.is_finite()).then_some(solution)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_valley_of_rosenbrock_is_walked_to_its_end() {
        // H. H. Rosenbrock, 1960: 100 (y - x²)² + (1 - x)² is least, zero, at (1, 1).
        let ([x, y], least) = minimize([-1.2, 1.0], |&[x, y]| {
            ([10.0 * (y - x * x), 1.0 - x], [[-20.0 * x, 10.0], [-1.0, 0.0]])
        });
        assert!(
            (x - 1.0).abs() < 1e-6 && (y - 1.0).abs() < 1e-6 && least < 1e-12,
            "{x} {y} {least}"
        );
    }
}
