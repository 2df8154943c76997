//! Linear behaviour in time, as numbers: frequency response, modes, steps.

use crate::complex::Complex;
use crate::matrix::Matrix;
use crate::schur::{Schur, exp_triangular, inverse_triangular};

/// Why behaviour in time cannot be given.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum TimeFault {
    /// The network would answer a step with an impulse: a differentiator
    /// without any resistance, say.
    Impulse,
    /// It oscillates or runs away: there is a pole at this frequency whose
    /// amplitude grows.
    Unstable {
        /// |pole|/2π, Hz.
        hz: f64,
    },
    /// A value is no number, so that no modes were found.
    NotANumber,
}

impl std::fmt::Display for TimeFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match self {
            TimeFault::Impulse => {
                f.write_str("a step would be answered by an impulse; a resistance is missing")
            }
            TimeFault::Unstable { hz: 0.0 } => {
                f.write_str("not stable: something drifts that nothing holds")
            }
            TimeFault::Unstable { hz } => {
                write!(f, "not stable: an oscillation near {hz} Hz grows")
            }
            TimeFault::NotANumber => f.write_str("a value of the network is no number"),
        }
    }
}

impl std::error::Error for TimeFault {}

/// Stores z, each with its flow q = dz/dt, and what drives and is seen of
/// them: z = p·w + k·q, y = d·w + s·q.
///
/// Each store is scaled by the root of its capacitance (or inductance), so
/// that all entries of k are times, in seconds; its eigenvalues are the
/// negative time constants. Stores whose voltage follows at once (a
/// capacitor across an ideal source) need nothing special: k has a zero
/// eigenvalue then.
#[derive(Clone, Debug)]
pub(crate) struct System {
    pub k: Matrix<f64>,
    pub p: Matrix<f64>,
    pub d: Matrix<f64>,
    pub s: Matrix<f64>,
}

impl System {
    /// From unscaled z = p·w + k·q, y = d·w + s·q, q = storage·dz/dt. Stores
    /// without capacitance fall away.
    pub fn new(
        k: &Matrix<f64>,
        p: &Matrix<f64>,
        d: Matrix<f64>,
        s: &Matrix<f64>,
        storage: &[f64],
    ) -> System {
        let mut kept: Vec<(usize, f64)> = storage
            .iter()
            .enumerate()
            .filter(|&(_, &c)| c != 0.0)
            .map(|(i, &c)| (i, c.sqrt()))
            .collect();
        // The slowest first: eliminations of entries this far apart keep
        // their digits when they begin with the large ones.
        let time = |&(i, root): &(usize, f64)| (root * root * k[(i, i)]).abs();
        kept.sort_by(|a, b| time(b).total_cmp(&time(a)));
        let n = kept.len();
        System {
            k: Matrix::from_fn(n, n, |i, j| {
                kept[i].1 * k[(kept[i].0, kept[j].0)] * kept[j].1
            }),
            p: Matrix::from_fn(n, p.columns(), |i, j| kept[i].1 * p[(kept[i].0, j)]),
            s: Matrix::from_fn(s.rows(), n, |i, j| s[(i, kept[j].0)] * kept[j].1),
            d,
        }
    }

    pub fn stores(&self) -> usize {
        self.k.rows()
    }

    /// From every stimulus to one output at a frequency: d + jω·s·(1 − jω·k)⁻¹·p.
    pub fn transfers(&self, output: usize, hz: f64) -> Option<Vec<Complex>> {
        let n = self.stores();
        let omega = std::f64::consts::TAU * hz;
        let transposed = Matrix::from_fn(n, n, |i, j| {
            let one = if i == j { 1.0 } else { 0.0 };
            Complex::new(one, -omega * self.k[(j, i)])
        });
        let right = Matrix::from_fn(n, 1, |i, _| Complex::new(0.0, omega * self.s[(output, i)]));
        let seen = transposed.solve(right)?;
        Some(
            (0..self.d.columns())
                .map(|w| {
                    (0..n).fold(Complex::real(self.d[(output, w)]), |sum, i| {
                        sum + seen[(i, 0)].times(self.p[(i, w)])
                    })
                })
                .collect(),
        )
    }

    /// What it does by itself, once driven no more.
    pub fn modes(&self) -> Result<Modes, TimeFault> {
        let f = self.k.factors(&self.s);
        let mut e = f.right.times(&f.left);
        let terms = f.right.map(f64::abs).times(&f.left.map(f64::abs));
        for i in 0..e.rows() {
            for j in 0..e.rows() {
                if e[(i, j)].abs() <= 1e-14 * terms[(i, j)] {
                    e[(i, j)] = 0.0;
                }
            }
        }
        if e.factors(&Matrix::zeros(0, e.rows())).left.columns() < e.rows() {
            // Stores that follow the flow of others, which is a derivative.
            return Err(TimeFault::Impulse);
        }
        let schur = Schur::new(&e).ok_or(TimeFault::NotANumber)?;
        let rate = inverse_triangular(&schur.t).ok_or(TimeFault::Impulse)?;
        let rank = e.rows();
        let q = &schur.q;
        let adjoint = Matrix::from_fn(rank, rank, |i, j| q[(j, i)].conjugate());
        let out = f.left.complex().times(q);
        let into = rate.times(&adjoint).times(&f.right.complex());
        let straight = f.share.complex().times(q);
        let flowing = f.rest.complex().times(&out).times(&rate);
        Ok(Modes {
            seen: straight.plus(&flowing),
            rate,
            out,
            into,
        })
    }
}

/// Deviations from rest decay as z(t) = out·exp(rate·t)·into·z(0).
#[derive(Clone, Debug)]
pub(crate) struct Modes {
    pub rate: Matrix<Complex>,
    pub out: Matrix<Complex>,
    pub into: Matrix<Complex>,
    /// From modes to outputs.
    pub seen: Matrix<Complex>,
}

impl Modes {
    /// Poles, rad/s.
    pub fn poles(&self) -> Vec<Complex> {
        (0..self.rate.rows()).map(|i| self.rate[(i, i)]).collect()
    }

    pub fn stable(&self) -> Result<(), TimeFault> {
        let worst = self
            .poles()
            .into_iter()
            .filter(|p| !(p.re < 0.0))
            .map(|p| p.abs() / std::f64::consts::TAU)
            .reduce(f64::max);
        match worst {
            Some(hz) => Err(TimeFault::Unstable { hz }),
            None => Ok(()),
        }
    }

    /// Stores after a time, from stores before, both as deviations from rest.
    pub fn propagator(&self, seconds: f64) -> Matrix<f64> {
        let decayed = exp_triangular(&self.rate.map(|x| x.times(seconds)));
        self.out.times(&decayed).times(&self.into).map(|x| x.re)
    }
}
