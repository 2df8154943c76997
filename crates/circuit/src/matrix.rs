//! Small dense matrices of real or complex numbers.

use std::ops::{Add, Div, Index, IndexMut, Mul, Neg, Sub};

use crate::complex::Complex;

/// What a matrix is made of.
pub(crate) trait Scalar:
    Copy
    + Add<Output = Self>
    + Sub<Output = Self>
    + Mul<Output = Self>
    + Div<Output = Self>
    + Neg<Output = Self>
{
    const ZERO: Self;
    const ONE: Self;
    fn size(self) -> f64;
}

impl Scalar for f64 {
    const ZERO: f64 = 0.0;
    const ONE: f64 = 1.0;
    fn size(self) -> f64 {
        self.abs()
    }
}

impl Scalar for Complex {
    const ZERO: Complex = Complex::ZERO;
    const ONE: Complex = Complex::ONE;
    /// The larger part would do for pivots; the sum of both is as cheap.
    fn size(self) -> f64 {
        self.re.abs() + self.im.abs()
    }
}

/// A matrix, rows one after another.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Matrix<T> {
    rows: usize,
    columns: usize,
    data: Vec<T>,
}

impl<T> Index<(usize, usize)> for Matrix<T> {
    type Output = T;
    fn index(&self, (row, column): (usize, usize)) -> &T {
        &self.data[row * self.columns + column]
    }
}

impl<T> IndexMut<(usize, usize)> for Matrix<T> {
    fn index_mut(&mut self, (row, column): (usize, usize)) -> &mut T {
        &mut self.data[row * self.columns + column]
    }
}

impl<T: Scalar> Matrix<T> {
    pub fn zeros(rows: usize, columns: usize) -> Self {
        Matrix {
            rows,
            columns,
            data: vec![T::ZERO; rows * columns],
        }
    }

    pub fn identity(size: usize) -> Self {
        Self::from_fn(size, size, |i, j| if i == j { T::ONE } else { T::ZERO })
    }

    pub fn from_fn(rows: usize, columns: usize, f: impl Fn(usize, usize) -> T) -> Self {
        let mut data = Vec::with_capacity(rows * columns);
        for i in 0..rows {
            data.extend((0..columns).map(|j| f(i, j)));
        }
        Matrix {
            rows,
            columns,
            data,
        }
    }

    pub fn rows(&self) -> usize {
        self.rows
    }

    pub fn columns(&self) -> usize {
        self.columns
    }

    pub fn row(&self, row: usize) -> &[T] {
        &self.data[row * self.columns..(row + 1) * self.columns]
    }

    pub fn map<S: Scalar>(&self, f: impl Fn(T) -> S) -> Matrix<S> {
        Matrix {
            rows: self.rows,
            columns: self.columns,
            data: self.data.iter().map(|&x| f(x)).collect(),
        }
    }

    pub fn times(&self, other: &Matrix<T>) -> Matrix<T> {
        let mut product = Matrix::zeros(self.rows, other.columns);
        for i in 0..self.rows {
            for k in 0..self.columns {
                let x = self[(i, k)];
                if x.size() == 0.0 {
                    continue;
                }
                for j in 0..other.columns {
                    product[(i, j)] = product[(i, j)] + x * other[(k, j)];
                }
            }
        }
        product
    }

    pub fn plus(&self, other: &Matrix<T>) -> Matrix<T> {
        Matrix {
            rows: self.rows,
            columns: self.columns,
            data: self
                .data
                .iter()
                .zip(&other.data)
                .map(|(&a, &b)| a + b)
                .collect(),
        }
    }

    pub fn minus(&self, other: &Matrix<T>) -> Matrix<T> {
        self.plus(&other.map(|x| -x))
    }

    /// Some of its rows and columns.
    pub fn part(&self, rows: std::ops::Range<usize>, columns: std::ops::Range<usize>) -> Matrix<T> {
        Matrix::from_fn(rows.len(), columns.len(), |i, j| {
            self[(rows.start + i, columns.start + j)]
        })
    }

    /// Solves self·x = right for all columns of `right`, by elimination with
    /// partial pivoting; `None` where a pivot is zero or no number.
    pub fn solve(mut self, mut right: Matrix<T>) -> Option<Matrix<T>> {
        let n = self.rows;
        for k in 0..n {
            let mut best = k;
            for i in k + 1..n {
                if self[(i, k)].size() > self[(best, k)].size() {
                    best = i;
                }
            }
            let size = self[(best, k)].size();
            if !(size > 0.0 && size.is_finite()) {
                return None;
            }
            if best != k {
                for j in 0..n {
                    self.data.swap(best * n + j, k * n + j);
                }
                for j in 0..right.columns {
                    let width = right.columns;
                    right.data.swap(best * width + j, k * width + j);
                }
            }
            let pivot = self[(k, k)];
            for i in k + 1..n {
                let factor = self[(i, k)] / pivot;
                if factor.size() == 0.0 {
                    continue;
                }
                for j in k + 1..n {
                    self[(i, j)] = self[(i, j)] - factor * self[(k, j)];
                }
                for j in 0..right.columns {
                    right[(i, j)] = right[(i, j)] - factor * right[(k, j)];
                }
            }
        }
        for k in (0..n).rev() {
            for j in 0..right.columns {
                let mut sum = right[(k, j)];
                for i in k + 1..n {
                    sum = sum - self[(k, i)] * right[(i, j)];
                }
                right[(k, j)] = sum / self[(k, k)];
            }
        }
        Some(right)
    }
}

/// Share of the terms an entry was computed from below which it is taken for
/// what rounding left of nothing.
const NOTHING: f64 = 1e-13;

/// A matrix as left·right, of as many columns and rows as it has independent
/// ones.
pub(crate) struct Factors {
    pub left: Matrix<f64>,
    pub right: Matrix<f64>,
    /// What further rows, eliminated along, are made of: rest + share·right.
    pub share: Matrix<f64>,
    pub rest: Matrix<f64>,
}

impl Matrix<f64> {
    /// Elimination with full pivoting, the pivots divided evenly between both
    /// factors. An entry that has cancelled down to rounding counts as zero,
    /// each measured by its own terms, so that a small entry beside large
    /// ones is not lost. `further` has as many columns and no pivots.
    pub fn factors(&self, further: &Matrix<f64>) -> Factors {
        let (own, columns) = (self.rows, self.columns);
        let rows = own + further.rows;
        let mut rest = Matrix {
            rows,
            columns,
            data: [&self.data[..], &further.data[..]].concat(),
        };
        let mut terms = rest.map(f64::abs);
        let (mut left, mut right) = (Vec::new(), Vec::new());
        for _ in 0..own.min(columns) {
            let mut best: Option<(usize, usize)> = None;
            let mut largest = 0.0;
            for i in 0..own {
                for j in 0..columns {
                    let size = rest[(i, j)].abs();
                    if size > largest && size > NOTHING * terms[(i, j)] {
                        largest = size;
                        best = Some((i, j));
                    }
                }
            }
            let Some((p, r)) = best else {
                break;
            };
            let pivot = rest[(p, r)];
            let even = pivot.abs().sqrt();
            let column: Vec<f64> = (0..rows).map(|i| rest[(i, r)] / even).collect();
            let row: Vec<f64> = (0..columns)
                .map(|j| rest[(p, j)] * (even / pivot))
                .collect();
            for i in 0..rows {
                for j in 0..columns {
                    if i == p || j == r {
                        rest[(i, j)] = 0.0;
                        continue;
                    }
                    let part = column[i] * row[j];
                    terms[(i, j)] += part.abs();
                    rest[(i, j)] -= part;
                }
            }
            left.push(column);
            right.push(row);
        }
        let rank = left.len();
        let over = |i: usize, j: usize| {
            let x = rest[(own + i, j)];
            if x.abs() > NOTHING * terms[(own + i, j)] {
                x
            } else {
                0.0
            }
        };
        Factors {
            left: Matrix::from_fn(own, rank, |i, k| left[k][i]),
            right: Matrix::from_fn(rank, columns, |k, j| right[k][j]),
            share: Matrix::from_fn(further.rows, rank, |i, k| left[k][own + i]),
            rest: Matrix::from_fn(further.rows, columns, over),
        }
    }

    pub fn complex(&self) -> Matrix<Complex> {
        self.map(Complex::real)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn factors_keep_a_small_part_and_drop_rounding() {
        // Rows 1 and 2 agree; a microscopic part stands alone.
        let m = Matrix::from_fn(4, 4, |i, j| match (i, j) {
            (3, 3) => 1e-20,
            (3, _) | (_, 3) => 0.0,
            _ => [[0.1, 0.3, 0.7], [0.1, 0.3, 0.7], [0.2, 0.9, 0.4]][i][j],
        });
        let further = Matrix::from_fn(1, 4, |_, j| m[(0, j)] + m[(3, j)]);
        let f = m.factors(&further);
        assert_eq!(f.left.columns(), 3);
        let again = f.share.times(&f.right).plus(&f.rest);
        assert!((0..4).all(|j| (again[(0, j)] - further[(0, j)]).abs() < 1e-15));
        let back = f.left.times(&f.right);
        for i in 0..4 {
            for j in 0..4 {
                assert!((back[(i, j)] - m[(i, j)]).abs() < 1e-15);
            }
        }
        assert!((back[(3, 3)] / 1e-20 - 1.0).abs() < 1e-15);
    }

    #[test]
    fn reference_solution_agrees_with_nalgebra() {
        let entry = |i: usize, j: usize| ((i * 7 + j * 3) % 11) as f64 - 4.5 + f64::from(i == j);
        let n = 6;
        let a = Matrix::from_fn(n, n, entry);
        let right = Matrix::from_fn(n, 2, |i, j| (i + 2 * j) as f64);
        let x = a.solve(right.clone()).unwrap();
        let other = nalgebra::DMatrix::from_fn(n, n, entry)
            .lu()
            .solve(&nalgebra::DMatrix::from_fn(n, 2, |i, j| right[(i, j)]))
            .unwrap();
        for i in 0..n {
            for j in 0..2 {
                assert!((x[(i, j)] - other[(i, j)]).abs() < 1e-12);
            }
        }
    }
}
