//! Small dense systems of equations.

use super::FitError;

/// Solves A·x = b by elimination with row exchanges.
///
/// `matrix` holds A by rows, n × n with n the length of `right_side`.
///
/// # Errors
/// [`FitError::Dependent`] names the first unknown that the equations leave
/// open; see [`FitError`] for the others.
///
/// ```
/// use statistics::fit::solve;
/// let x = solve(&[0.0, 2.0, 1.0, 1.0], &[4.0, 3.0]).unwrap();
/// assert_eq!(x, [1.0, 2.0]);
/// ```
pub fn solve(matrix: &[f64], right_side: &[f64]) -> Result<Vec<f64>, FitError> {
    let n = right_side.len();
    if n == 0 {
        return Err(FitError::TooFewRows);
    }
    if n.checked_mul(n) != Some(matrix.len()) {
        return Err(FitError::Lengths);
    }
    if !matrix.iter().chain(right_side).all(|x| x.is_finite()) {
        return Err(FitError::NotFinite);
    }
    // Rows scaled by their largest entry, so that the exchange compares like
    // with like.
    let mut rows: Vec<Vec<f64>> = matrix
        .chunks_exact(n)
        .zip(right_side)
        .map(|(row, &b)| {
            let largest = row.iter().fold(0.0_f64, |m, x| m.max(x.abs()));
            let scale = if largest > 0.0 { 1.0 / largest } else { 1.0 };
            row.iter().chain([&b]).map(|x| x * scale).collect()
        })
        .collect();
    for pivot in 0..n {
        let best = (pivot..n)
            .max_by(|&a, &b| rows[a][pivot].abs().total_cmp(&rows[b][pivot].abs()))
            .unwrap_or(pivot);
        rows.swap(pivot, best);
        let (upper, lower) = rows.split_at_mut(pivot + 1);
        let Some(top) = upper.last() else {
            continue;
        };
        if top[pivot].abs() <= n as f64 * f64::EPSILON {
            return Err(FitError::Dependent { column: pivot });
        }
        for row in lower {
            let factor = row[pivot] / top[pivot];
            for (entry, above) in row.iter_mut().zip(top).skip(pivot) {
                *entry -= factor * above;
            }
        }
    }
    let mut x = vec![0.0; n];
    for row in (0..n).rev() {
        let mut sum = rows[row][n];
        for column in row + 1..n {
            sum -= rows[row][column] * x[column];
        }
        x[row] = sum / rows[row][row];
    }
    Ok(x)
}
