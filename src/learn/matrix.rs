//! The inverse of a symmetric positive definite matrix.

/// A square matrix, row by row.
pub(super) type Matrix = Vec<Vec<f64>>;

/// The inverse by Cholesky's decomposition `L·Lᵀ` (Golub and Van Loan, *Matrix Computations*, 4th ed. 2013, 4.2);
/// `None` where the matrix is not positive definite.
#[allow(
    clippy::needless_range_loop,
    reason = "the indices are those of the book"
)]
pub(super) fn inverse(matrix: &Matrix) -> Option<Matrix> {
    let size = matrix.len();
    let mut lower = vec![vec![0.0; size]; size];
    for row in 0..size {
        for column in 0..=row {
            let known: f64 = (0..column).map(|k| lower[row][k] * lower[column][k]).sum();
            let left = matrix[row][column] - known;
            lower[row][column] = if row > column {
                left / lower[column][column]
            } else if left > 0.0 {
                left.sqrt()
            } else {
                return None;
            };
        }
    }
    let mut inverse = vec![vec![0.0; size]; size];
    for unit in 0..size {
        // L·y = e, then Lᵀ·x = y.
        let mut y = vec![0.0; size];
        for row in unit..size {
            let known: f64 = (unit..row).map(|k| lower[row][k] * y[k]).sum();
            y[row] = (f64::from(u8::from(row == unit)) - known) / lower[row][row];
        }
        for row in (0..size).rev() {
            let known: f64 = (row + 1..size)
                .map(|k| lower[k][row] * inverse[k][unit])
                .sum();
            inverse[row][unit] = (y[row] - known) / lower[row][row];
        }
    }
    Some(inverse)
}
