//! Orthogonal factors of a tall matrix.

use super::FitError;
use super::extended::Extended;

/// A = Q·R by Householder reflections, columns scaled by powers of two.
pub(super) struct Factors {
    rows: usize,
    columns: usize,
    /// Reflection vectors below and on the diagonal, R above it, by columns.
    packed: Vec<Vec<f64>>,
    /// Diagonal of R.
    diagonal: Vec<f64>,
    /// The power of two by which each column was multiplied.
    scales: Vec<f64>,
}

impl Factors {
    /// Factors of a finite matrix given by rows, at least as many rows as
    /// columns.
    pub(super) fn of(matrix: &[f64], columns: usize) -> Result<Self, FitError> {
        let rows = matrix.len() / columns;
        let mut packed: Vec<Vec<f64>> = (0..columns)
            .map(|column| {
                matrix
                    .iter()
                    .skip(column)
                    .step_by(columns)
                    .copied()
                    .collect()
            })
            .collect();
        let mut scales = Vec::with_capacity(columns);
        for column in &mut packed {
            let largest = column.iter().fold(0.0_f64, |m, x| m.max(x.abs()));
            let scale = power_of_two_below_inverse(largest);
            for entry in column.iter_mut() {
                *entry *= scale;
            }
            scales.push(scale);
        }
        let norms: Vec<f64> = packed.iter().map(|column| norm(column)).collect();
        let mut diagonal = Vec::with_capacity(columns);
        for pivot in 0..columns {
            let (done, later) = packed.split_at_mut(pivot + 1);
            let Some(current) = done.last_mut() else {
                continue;
            };
            let tail = current.split_at_mut(pivot).1;
            let length = norm(tail);
            // What is left of the column after removing the earlier ones is
            // rounding noise: about ε per row.
            let original = norms.get(pivot).copied().unwrap_or(0.0);
            if length <= original * f64::EPSILON * rows as f64 {
                return Err(FitError::Dependent { column: pivot });
            }
            let Some(first) = tail.first_mut() else {
                return Err(FitError::Dependent { column: pivot });
            };
            // Reflect onto the side that does not cancel.
            let entry = if *first > 0.0 { -length } else { length };
            *first -= entry;
            diagonal.push(entry);
            let squared = norm(tail);
            for value in tail.iter_mut() {
                *value /= squared;
            }
            for column in later {
                reflect(tail, column.split_at_mut(pivot).1);
            }
        }
        Ok(Factors {
            rows,
            columns,
            packed,
            diagonal,
            scales,
        })
    }

    /// Qᵀ·v in place.
    fn rotate(&self, v: &mut [f64]) {
        for (pivot, column) in self.packed.iter().enumerate() {
            reflect(column.split_at(pivot).1, v.split_at_mut(pivot).1);
        }
    }

    /// Q·v in place.
    fn rotate_back(&self, v: &mut [f64]) {
        for (pivot, column) in self.packed.iter().enumerate().rev() {
            reflect(column.split_at(pivot).1, v.split_at_mut(pivot).1);
        }
    }

    /// Entry of R, row above column.
    fn upper(&self, row: usize, column: usize) -> f64 {
        self.packed[column][row]
    }

    /// R⁻¹·v for the first entries of v.
    fn solve_upper(&self, v: &[f64]) -> Vec<f64> {
        let mut x = vec![0.0; self.columns];
        for row in (0..self.columns).rev() {
            let known: f64 = x
                .iter()
                .enumerate()
                .skip(row + 1)
                .map(|(column, x)| self.upper(row, column) * x)
                .sum();
            x[row] = (v[row] - known) / self.diagonal[row];
        }
        x
    }

    /// R⁻ᵀ·v.
    fn solve_upper_transposed(&self, v: &[f64]) -> Vec<f64> {
        let mut x = vec![0.0; self.columns];
        for column in 0..self.columns {
            let known: f64 = x
                .iter()
                .enumerate()
                .take(column)
                .map(|(row, x)| self.upper(row, column) * x)
                .sum();
            x[column] = (v[column] - known) / self.diagonal[column];
        }
        x
    }

    /// Coefficients and residuals for the right-hand side `target`; `matrix`
    /// is what was factored.
    ///
    /// Solves r + A·c = y, Aᵀ·r = 0 for both r and c, and again for what the
    /// rounded solution leaves of these equations, computed with twice the
    /// precision, until the corrections no longer shrink.
    pub(super) fn refined_solution(&self, matrix: &[f64], target: &[f64]) -> (Vec<f64>, Vec<f64>) {
        // Columns as the factors know them.
        let scaled: Vec<f64> = matrix
            .iter()
            .zip(self.scales.iter().cycle())
            .map(|(entry, scale)| entry * scale)
            .collect();
        let mut coefficients = vec![0.0; self.columns];
        let mut residuals = vec![0.0; self.rows];
        let mut last_step = f64::INFINITY;
        for _ in 0..10 {
            let mut row_left = Vec::with_capacity(self.rows);
            for ((entries, y), r) in scaled
                .chunks_exact(self.columns)
                .zip(target)
                .zip(&residuals)
            {
                let mut left = Extended::default();
                left.add(*y);
                left.add(-r);
                for (entry, c) in entries.iter().zip(&coefficients) {
                    left.add_product(-entry, *c);
                }
                row_left.push(left.rounded());
            }
            let mut column_left = vec![Extended::default(); self.columns];
            for (entries, r) in scaled.chunks_exact(self.columns).zip(&residuals) {
                for (left, entry) in column_left.iter_mut().zip(entries) {
                    left.add_product(-entry, *r);
                }
            }
            let column_left: Vec<f64> = column_left.into_iter().map(Extended::rounded).collect();

            let h = self.solve_upper_transposed(&column_left);
            self.rotate(&mut row_left);
            let mut difference = row_left.clone();
            for (d, h) in difference.iter_mut().zip(&h) {
                *d -= h;
            }
            let step = self.solve_upper(&difference);
            for (d, h) in row_left.iter_mut().zip(&h) {
                *d = *h;
            }
            self.rotate_back(&mut row_left);

            let size = norm(&step);
            if size.is_nan() || size > 0.5 * last_step {
                break;
            }
            last_step = size;
            for (c, step) in coefficients.iter_mut().zip(&step) {
                *c += step;
            }
            for (r, step) in residuals.iter_mut().zip(&row_left) {
                *r += step;
            }
            if size == 0.0 {
                break;
            }
        }
        for (c, scale) in coefficients.iter_mut().zip(&self.scales) {
            *c *= scale;
        }
        (coefficients, residuals)
    }

    /// (AᵀA)⁻¹ = R⁻¹·R⁻ᵀ by rows.
    pub(super) fn cofactors(&self) -> Vec<f64> {
        let n = self.columns;
        let inverse: Vec<Vec<f64>> = (0..n)
            .map(|column| {
                let mut unit = vec![0.0; n];
                unit[column] = 1.0;
                self.solve_upper(&unit)
            })
            .collect();
        let mut cofactors = vec![0.0; n * n];
        for row in 0..n {
            for column in 0..n {
                let sum: f64 = inverse.iter().map(|v| v[row] * v[column]).sum();
                cofactors[row * n + column] = sum * self.scales[row] * self.scales[column];
            }
        }
        cofactors
    }
}

/// v − 2·w·(wᵀv) for a unit vector w, in place.
fn reflect(w: &[f64], v: &mut [f64]) {
    let dot: f64 = w.iter().zip(v.iter()).map(|(a, b)| a * b).sum();
    for (value, w) in v.iter_mut().zip(w) {
        *value -= 2.0 * dot * w;
    }
}

/// Euclidean length of a vector whose entries are of moderate size.
fn norm(v: &[f64]) -> f64 {
    v.iter().map(|x| x * x).sum::<f64>().sqrt()
}

/// The power of two that brings a positive number into [½, 2); 1 for zero.
/// Numbers beyond 2^±1000 are brought as near as a finite factor can.
fn power_of_two_below_inverse(x: f64) -> f64 {
    if x == 0.0 {
        return 1.0;
    }
    let exponent = ((x.to_bits() >> 52) & 0x7ff).clamp(23, 2023);
    f64::from_bits((2046 - exponent) << 52)
}
