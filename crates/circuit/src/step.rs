//! What an output does after a step.

use crate::complex::Complex;
use crate::matrix::Matrix;
use crate::schur::exp_triangular;
use crate::system::{Modes, TimeFault};

/// Sum of the modes' amplitudes, in steps, up to which they are used one by
/// one: beyond it they cancel, as those of equal time constants do.
const CANCELLING: f64 = 1e4;
/// Most points looked at for the last crossing of an accuracy.
const POINTS: usize = 200_000;

/// An output after its stimulus rose by one at t = 0, from rest.
#[derive(Clone, Debug)]
pub struct StepResponse {
    last: f64,
    poles: Vec<Complex>,
    parts: Parts,
}

#[derive(Clone, Debug)]
enum Parts {
    /// One amplitude for each pole.
    Single(Vec<Complex>),
    /// Seen, rate and start of all together.
    Together(Matrix<Complex>, Matrix<Complex>, Matrix<Complex>),
}

impl StepResponse {
    pub(crate) fn new(
        modes: &Modes,
        stores: &[f64],
        output: usize,
        last: f64,
    ) -> Result<Self, TimeFault> {
        modes.stable()?;
        let n = modes.rate.rows();
        let start = modes.into.times(&Matrix::from_fn(stores.len(), 1, |i, _| {
            Complex::real(-stores[i])
        }));
        let seen = Matrix::from_fn(1, n, |_, j| modes.seen[(output, j)]);
        let poles = modes.poles();
        let scale = last.abs().max(seen.times(&start)[(0, 0)].abs());
        let parts = match single(&modes.rate, &seen, &start) {
            Some(parts) if parts.iter().map(|a| a.abs()).sum::<f64>() <= CANCELLING * scale => {
                Parts::Single(parts)
            }
            _ => Parts::Together(seen, modes.rate.clone(), start),
        };
        Ok(StepResponse { last, poles, parts })
    }

    /// Where it ends: the gain at direct current.
    #[must_use]
    pub fn last(&self) -> f64 {
        self.last
    }

    /// The output at a time after the step, s; at zero, just after it.
    #[must_use]
    pub fn at(&self, seconds: f64) -> f64 {
        self.last + self.left(seconds)
    }

    /// How far the output is from where it ends.
    #[must_use]
    pub fn left(&self, seconds: f64) -> f64 {
        match &self.parts {
            Parts::Single(parts) => parts
                .iter()
                .zip(&self.poles)
                .map(|(&a, p)| (a * p.times(seconds).exp()).re)
                .sum(),
            Parts::Together(seen, rate, start) => {
                let decayed = exp_triangular(&rate.map(|x| x.times(seconds)));
                seen.times(&decayed.times(start))[(0, 0)].re
            }
        }
    }

    /// What the rest stays below from a time on.
    fn bound(&self, seconds: f64) -> f64 {
        match &self.parts {
            Parts::Single(parts) => parts
                .iter()
                .zip(&self.poles)
                .map(|(a, p)| a.abs() * elementary::exp(p.re * seconds))
                .sum(),
            Parts::Together(seen, rate, start) => {
                let decayed = exp_triangular(&rate.map(|x| x.times(seconds))).times(start);
                (0..start.rows())
                    .map(|i| seen[(0, i)].abs() * decayed[(i, 0)].abs())
                    .sum()
            }
        }
    }

    /// Time from the step after which the output stays within `accuracy` (in
    /// the unit of the output per unit of the stimulus) of where it ends, s.
    /// Zero if it is never outside; `None` for an accuracy that is not
    /// positive.
    ///
    /// A ringing output may cross the limit many times: this is the last.
    #[must_use]
    pub fn settling_s(&self, accuracy: f64) -> Option<f64> {
        if !(accuracy > 0.0) {
            return None;
        }
        let slowest = self.poles.iter().map(|p| -1.0 / p.re).fold(0.0, f64::max);
        if slowest == 0.0 || self.bound(0.0) <= accuracy && self.is_single() {
            return Some(0.0);
        }
        // Beyond this nothing is outside.
        let mut beyond = slowest;
        let mut doublings = 0;
        while self.bound(beyond) > accuracy {
            beyond *= 2.0;
            doublings += 1;
            if doublings > 200 {
                return None;
            }
        }
        let outside = |t: f64| self.left(t).abs() > accuracy;
        let fastest = self.poles.iter().map(|p| p.abs()).fold(0.0, f64::max);
        let mut later = beyond;
        for _ in 0..POINTS {
            let step = self.step_back(later, accuracy);
            let earlier = later - step;
            let earlier = if earlier * fastest < 1e-6 {
                0.0
            } else {
                earlier
            };
            if outside(earlier) {
                return Some(last_crossing(outside, earlier, later));
            }
            if earlier == 0.0 {
                return Some(0.0);
            }
            later = earlier;
        }
        // So many swings that the envelope is as good.
        Some(later)
    }

    fn is_single(&self) -> bool {
        matches!(self.parts, Parts::Single(_))
    }

    /// How far back from a time the output may be taken for a smooth curve: a
    /// share of the swings and decays that still matter there.
    fn step_back(&self, t: f64, accuracy: f64) -> f64 {
        let matters = |k: usize, p: &Complex| match &self.parts {
            Parts::Single(parts) => parts
                .get(k)
                .is_some_and(|a| a.abs() * elementary::exp(p.re * t * 0.99) > 1e-3 * accuracy),
            Parts::Together(..) => -p.re * t < 60.0,
        };
        let scale = self
            .poles
            .iter()
            .enumerate()
            .filter(|(k, p)| matters(*k, p))
            .map(|(_, p)| p.abs())
            .fold(0.0, f64::max);
        (0.05 / scale).min(0.01 * t).max(t * 1e-7)
    }
}

/// Amplitude of each pole in seen·exp(rate·t)·start; `None` where two poles
/// agree.
fn single(
    rate: &Matrix<Complex>,
    seen: &Matrix<Complex>,
    start: &Matrix<Complex>,
) -> Option<Vec<Complex>> {
    let n = rate.rows();
    let mut vectors = Matrix::identity(n);
    for k in 0..n {
        for i in (0..k).rev() {
            let mut sum = Complex::ZERO;
            for j in i + 1..=k {
                sum += rate[(i, j)] * vectors[(j, k)];
            }
            let gap = rate[(k, k)] - rate[(i, i)];
            if sum.abs() > 0.0 && gap.abs() == 0.0 {
                return None;
            }
            vectors[(i, k)] = if sum.abs() == 0.0 {
                Complex::ZERO
            } else {
                sum / gap
            };
        }
    }
    let out = seen.times(&vectors);
    let into = vectors.solve(start.clone())?;
    let parts: Vec<Complex> = (0..n).map(|k| out[(0, k)] * into[(k, 0)]).collect();
    parts.iter().all(|a| a.abs().is_finite()).then_some(parts)
}

/// The last time between an outside and an inside one, to the last bits.
fn last_crossing(outside: impl Fn(f64) -> bool, mut low: f64, mut high: f64) -> f64 {
    for _ in 0..60 {
        let middle = 0.5 * (low + high);
        if outside(middle) {
            low = middle;
        } else {
            high = middle;
        }
    }
    high
}
