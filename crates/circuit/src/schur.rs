//! Eigenvalues, and functions of a matrix through them.

use crate::complex::Complex;
use crate::matrix::Matrix;

/// Sweeps allowed for each eigenvalue before giving up.
const SWEEPS: usize = 60;

/// A matrix as q·t·qᴴ, q unitary and t upper triangular with the eigenvalues
/// on its diagonal.
#[derive(Clone, Debug)]
pub(crate) struct Schur {
    pub q: Matrix<Complex>,
    pub t: Matrix<Complex>,
}

impl Schur {
    /// Reduction to Hessenberg form by reflections, then steps of the shifted
    /// QR algorithm (J. G. F. Francis, Computer Journal 4, 1961; the shift is
    /// J. H. Wilkinson's). `None` if it does not arrive, as with entries that
    /// are no numbers.
    pub fn new(a: &Matrix<f64>) -> Option<Schur> {
        let n = a.rows();
        let mut t = a.complex();
        let mut q = Matrix::identity(n);
        for k in 0..n.saturating_sub(2) {
            reflect(&mut t, &mut q, k);
        }
        let mut high = n;
        let mut sweeps = 0;
        while high > 1 {
            let low = (1..high).rev().find(|&k| is_separate(&t, k)).unwrap_or(0);
            if low > 0 {
                t[(low, low - 1)] = Complex::ZERO;
            }
            if low == high - 1 {
                high -= 1;
                sweeps = 0;
                continue;
            }
            sweeps += 1;
            if sweeps > SWEEPS {
                return None;
            }
            let shift = shift(&t, high, sweeps);
            sweep(&mut t, &mut q, low, high, shift);
        }
        for i in 0..n {
            for j in 0..i {
                t[(i, j)] = Complex::ZERO;
            }
        }
        let usable = (0..n).all(|i| (i..n).all(|j| t[(i, j)].abs().is_finite()));
        usable.then_some(Schur { q, t })
    }
}

/// Whether the entry left of the diagonal in row k may be taken for zero: it
/// is rounding beside its neighbours, and would not move the smaller of them
/// (M. Ahues, F. Tisseur, LAPACK Working Note 122, 1997), so that small
/// eigenvalues of graded matrices keep their digits.
fn is_separate(t: &Matrix<Complex>, k: usize) -> bool {
    let (above, here) = (t[(k - 1, k - 1)], t[(k, k)]);
    let (left, up) = (t[(k, k - 1)].abs(), t[(k - 1, k)].abs());
    let beside = above.abs() + here.abs();
    if left <= f64::MIN_POSITIVE {
        return true;
    }
    let gap = (above - here).abs();
    let (small, large) = (here.abs().min(above.abs()), here.abs().max(gap));
    left <= f64::EPSILON * beside && left * up <= f64::EPSILON * small * large
}

/// Clears column k below its first subdiagonal entry, on both sides.
fn reflect(t: &mut Matrix<Complex>, q: &mut Matrix<Complex>, k: usize) {
    let n = t.rows();
    let size = (k + 1..n)
        .map(|i| t[(i, k)].squared_abs())
        .sum::<f64>()
        .sqrt();
    if size == 0.0 {
        return;
    }
    let first = t[(k + 1, k)];
    let turn = if first.abs() == 0.0 {
        Complex::ONE
    } else {
        first.times(1.0 / first.abs())
    };
    let mut v: Vec<Complex> = (k + 1..n).map(|i| t[(i, k)]).collect();
    v[0] += turn.times(size);
    let norm = v.iter().map(|x| x.squared_abs()).sum::<f64>();
    if norm == 0.0 {
        return;
    }
    let factor = 2.0 / norm;
    for j in 0..n {
        let mut dot = Complex::ZERO;
        for (i, x) in v.iter().enumerate() {
            dot += x.conjugate() * t[(k + 1 + i, j)];
        }
        let dot = dot.times(factor);
        for (i, &x) in v.iter().enumerate() {
            t[(k + 1 + i, j)] = t[(k + 1 + i, j)] - x * dot;
        }
    }
    for m in [t, q] {
        for i in 0..n {
            let mut dot = Complex::ZERO;
            for (j, &x) in v.iter().enumerate() {
                dot += m[(i, k + 1 + j)] * x;
            }
            let dot = dot.times(factor);
            for (j, x) in v.iter().enumerate() {
                m[(i, k + 1 + j)] = m[(i, k + 1 + j)] - dot * x.conjugate();
            }
        }
    }
}

/// The eigenvalue of the last two rows nearer to the last entry.
fn shift(t: &Matrix<Complex>, high: usize, sweeps: usize) -> Complex {
    let (a, b) = (t[(high - 2, high - 2)], t[(high - 2, high - 1)]);
    let (c, d) = (t[(high - 1, high - 2)], t[(high - 1, high - 1)]);
    if sweeps.is_multiple_of(11) {
        // Out of a circle the plain shift may run in.
        return d + Complex::real(c.abs());
    }
    let half = (a - d).times(0.5);
    let root = (half * half + b * c).sqrt();
    let sum = if (half.conjugate() * root).re >= 0.0 {
        half + root
    } else {
        half - root
    };
    if sum.abs() == 0.0 { d } else { d - b * c / sum }
}

/// One step of the QR algorithm on rows low..high.
fn sweep(
    t: &mut Matrix<Complex>,
    q: &mut Matrix<Complex>,
    low: usize,
    high: usize,
    shift: Complex,
) {
    let n = t.rows();
    let (mut x, mut y) = (t[(low, low)] - shift, t[(low + 1, low)]);
    for k in low..high - 1 {
        let size = (x.squared_abs() + y.squared_abs()).sqrt();
        let (c, s) = if size == 0.0 {
            (Complex::ONE, Complex::ZERO)
        } else {
            (x.times(1.0 / size), y.times(1.0 / size))
        };
        let first = if k > low { k - 1 } else { low };
        for j in first..n {
            let (u, v) = (t[(k, j)], t[(k + 1, j)]);
            t[(k, j)] = c.conjugate() * u + s.conjugate() * v;
            t[(k + 1, j)] = c * v - s * u;
        }
        for i in 0..(k + 3).min(high) {
            let (u, v) = (t[(i, k)], t[(i, k + 1)]);
            t[(i, k)] = u * c + v * s;
            t[(i, k + 1)] = v * c.conjugate() - u * s.conjugate();
        }
        for i in 0..n {
            let (u, v) = (q[(i, k)], q[(i, k + 1)]);
            q[(i, k)] = u * c + v * s;
            q[(i, k + 1)] = v * c.conjugate() - u * s.conjugate();
        }
        if k + 2 < high {
            x = t[(k + 1, k)];
            y = t[(k + 2, k)];
        }
    }
}

/// e to the power of an upper triangular matrix, whose eigenvalues must not
/// have positive real parts.
///
/// A Taylor series of the matrix divided by a power of two, then squared as
/// often. The diagonal is put in exactly after every squaring (A. Al-Mohy, N.
/// Higham, SIAM J. Matrix Anal. Appl. 31, 2009): otherwise a time constant of
/// seconds beside one of nanoseconds would lose half of its digits.
pub(crate) fn exp_triangular(a: &Matrix<Complex>) -> Matrix<Complex> {
    let n = a.rows();
    let norm = (0..n)
        .map(|i| a.row(i).iter().map(|x| x.abs()).sum::<f64>())
        .fold(0.0, f64::max);
    let mut halvings = 0;
    let mut scale = 1.0;
    while norm * scale > 0.5 && halvings < 1000 {
        scale *= 0.5;
        halvings += 1;
    }
    let small = a.map(|x| x.times(scale));
    let mut sum = Matrix::identity(n);
    for order in (1..=16).rev() {
        sum =
            Matrix::identity(n).plus(&times(&small, &sum).map(|x| x.times(1.0 / f64::from(order))));
    }
    put_diagonal(&mut sum, &small);
    for _ in 0..halvings {
        scale *= 2.0;
        sum = times(&sum, &sum);
        put_diagonal(&mut sum, &a.map(|x| x.times(scale)));
    }
    sum
}

/// Product of two upper triangular matrices.
fn times(a: &Matrix<Complex>, b: &Matrix<Complex>) -> Matrix<Complex> {
    let n = a.rows();
    let mut product = Matrix::zeros(n, n);
    for i in 0..n {
        for j in i..n {
            let mut sum = Complex::ZERO;
            for k in i..=j {
                sum += a[(i, k)] * b[(k, j)];
            }
            product[(i, j)] = sum;
        }
    }
    product
}

fn put_diagonal(power: &mut Matrix<Complex>, exponent: &Matrix<Complex>) {
    for k in 0..power.rows() {
        power[(k, k)] = exponent[(k, k)].exp();
    }
}

/// Inverse of an upper triangular matrix; `None` if its diagonal has a zero.
pub(crate) fn inverse_triangular(t: &Matrix<Complex>) -> Option<Matrix<Complex>> {
    let n = t.rows();
    let mut inverse = Matrix::zeros(n, n);
    for j in 0..n {
        for i in (0..=j).rev() {
            let mut sum = if i == j { Complex::ONE } else { Complex::ZERO };
            for k in i + 1..=j {
                sum = sum - t[(i, k)] * inverse[(k, j)];
            }
            if t[(i, i)].abs() == 0.0 {
                return None;
            }
            inverse[(i, j)] = sum / t[(i, i)];
        }
    }
    Some(inverse)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn draw(state: &mut u64) -> f64 {
        *state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        (*state >> 11) as f64 / (1u64 << 53) as f64 - 0.5
    }

    #[test]
    fn property_the_form_gives_the_matrix_back() {
        let mut state = 7;
        for n in 1..12 {
            let mut a = Matrix::zeros(n, n);
            for i in 0..n {
                for j in 0..n {
                    a[(i, j)] = draw(&mut state);
                }
            }
            let s = Schur::new(&a).unwrap();
            let back =
                s.q.times(&s.t)
                    .times(&Matrix::from_fn(n, n, |i, j| s.q[(j, i)].conjugate()));
            for i in 0..n {
                for j in 0..n {
                    assert!((back[(i, j)] - Complex::real(a[(i, j)])).abs() < 1e-13);
                }
            }
        }
    }

    #[test]
    fn reference_eigenvalues_agree_with_nalgebra() {
        let mut state = 11;
        for n in [2, 5, 9] {
            let mut a = Matrix::zeros(n, n);
            for i in 0..n {
                for j in 0..n {
                    a[(i, j)] = draw(&mut state);
                }
            }
            let other = nalgebra::DMatrix::from_fn(n, n, |i, j| a[(i, j)]).complex_eigenvalues();
            let schur = Schur::new(&a).unwrap();
            for k in 0..n {
                let value = schur.t[(k, k)];
                let near = other
                    .iter()
                    .map(|o| (Complex::new(o.re, o.im) - value).abs())
                    .fold(f64::INFINITY, f64::min);
                assert!(near < 1e-12);
            }
        }
    }

    #[test]
    fn exponential_of_a_jordan_block_far_apart_from_a_fast_entry() {
        // e^[[λ,1],[0,λ]] = e^λ·[[1,1],[0,1]], beside −10⁹: the slow part
        // keeps its digits.
        let mut a = Matrix::zeros(3, 3);
        a[(0, 0)] = Complex::real(-1e9);
        a[(0, 2)] = Complex::real(3.0);
        a[(1, 1)] = Complex::real(-1.0);
        a[(1, 2)] = Complex::real(1.0);
        a[(2, 2)] = Complex::real(-1.0);
        let e = exp_triangular(&a);
        let slow = elementary::exp(-1.0);
        assert!((e[(1, 1)].re / slow - 1.0).abs() < 1e-15);
        assert!((e[(1, 2)].re / slow - 1.0).abs() < 1e-12);
        assert!((e[(0, 2)].re / (3.0 * slow / (1e9 - 1.0)) - 1.0).abs() < 1e-9);
    }
}
