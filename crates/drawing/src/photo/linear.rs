//! Small systems of linear equations, and sums of weighted squares.

/// Solves by elimination with the largest pivot of each column.
pub(super) fn solve<const N: usize>(
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
        if lead.is_nan() || lead.abs() <= 1e-14 {
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

/// Weighted sums for a least-squares fit of N numbers.
#[derive(Clone, Copy, Debug)]
pub(super) struct Normal<const N: usize> {
    pub(super) matrix: [[f64; N]; N],
    pub(super) right: [f64; N],
}

impl<const N: usize> Normal<N> {
    /// Returns sums of nothing.
    pub(super) fn new() -> Self {
        Self { matrix: [[0.0; N]; N], right: [0.0; N] }
    }

    /// Adds the wish that Σ slope · number = value.
    pub(super) fn add(&mut self, slopes: [f64; N], value: f64, weight: f64) {
        for ((row, right), one) in self.matrix.iter_mut().zip(&mut self.right).zip(slopes) {
            *right += weight * one * value;
            for (slot, other) in row.iter_mut().zip(slopes) {
                *slot += weight * one * other;
            }
        }
    }

    /// Returns the numbers that meet all wishes best.
    pub(super) fn solve(&self) -> Option<[f64; N]> {
        solve(self.matrix, self.right)
    }
}
