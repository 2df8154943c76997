//! Shapes drawn where they are rare: exponential tilting.
//!
//! The density f becomes f(x)·exp(λ·(x − mean))/M(λ) with
//! M(λ) = E[exp(λ·(x − mean))]. A sum of tilted variables lies around another
//! mean, and each trial is worth M(λ)·exp(−λ·(x − mean)) of an untilted one
//! (S. Asmussen, P. W. Glynn, "Stochastic Simulation", 2007, chapter VI).

use super::{Shape, kernels};
use crate::stream;

/// λ times the half-width below which a rectangle is as good as untilted: its
/// ends differ by 1 part in 10^6.
const FLAT: f64 = 1e-6;

impl Shape {
    /// Whether [`Shape::fill_tilted`] can tilt it.
    #[must_use]
    pub fn can_tilt(&self) -> bool {
        matches!(self, Shape::Rectangular { .. } | Shape::Normal { .. })
    }

    /// Trials of the shape tilted by `lambda` (in the reciprocal unit of the
    /// shape); a shape that cannot be tilted is drawn as it is.
    ///
    /// ```
    /// use statistics::{Shape, moments, stream};
    /// let noise = Shape::Normal { mean: 1.0, deviation: 0.5 };
    /// let mut drawn = vec![0.0; 10_000];
    /// noise.fill_tilted(4.0, stream::key(1, 1), 0, &mut drawn);
    /// // The mean moves by λ·σ².
    /// assert!((moments::mean(&drawn) - 2.0).abs() < 0.02);
    /// ```
    pub fn fill_tilted(&self, lambda: f64, key: u64, first_trial: u64, out: &mut [f64]) {
        match *self {
            Shape::Rectangular { low, high } => {
                let y = lambda * 0.5 * (high - low);
                if y.abs() < FLAT {
                    return self.fill(key, first_trial, out);
                }
                stream::fill_uniform(key, first_trial, out);
                let grown = elementary::exp(2.0 * y) - 1.0;
                kernels::fill_tilted_rectangle(out, low, 1.0 / lambda, grown);
            }
            Shape::Normal { mean, deviation } => Shape::Normal {
                mean: mean + lambda * deviation * deviation,
                deviation,
            }
            .fill(key, first_trial, out),
            _ => self.fill(key, first_trial, out),
        }
    }

    /// ln M(λ); zero for a shape that cannot be tilted.
    #[must_use]
    pub fn log_moment(&self, lambda: f64) -> f64 {
        match *self {
            Shape::Rectangular { low, high } => {
                // ln(sinh y/y)
                let y = (lambda * 0.5 * (high - low)).abs();
                if y < 1e-2 {
                    let s = y * y;
                    return s / 6.0 - s * s / 180.0;
                }
                y + elementary::ln((1.0 - elementary::exp(-2.0 * y)) / (2.0 * y))
            }
            Shape::Normal { deviation, .. } => 0.5 * (lambda * deviation) * (lambda * deviation),
            _ => 0.0,
        }
    }

    /// How far tilting moves the mean: the derivative of [`Shape::log_moment`].
    #[must_use]
    pub fn tilted_shift(&self, lambda: f64) -> f64 {
        match *self {
            Shape::Rectangular { low, high } => {
                // a·(coth y − 1/y)
                let a = 0.5 * (high - low);
                let y = lambda * a;
                if y.abs() < 1e-2 {
                    return a * y / 3.0 * (1.0 - y * y / 15.0);
                }
                let e = elementary::exp(-2.0 * y.abs());
                a * ((1.0 + e) / (1.0 - e)).copysign(y) - a / y
            }
            Shape::Normal { deviation, .. } => lambda * deviation * deviation,
            _ => 0.0,
        }
    }
}

/// What trials are worth that were drawn, a third each, untilted, tilted by
/// `plus` and by `minus` times their linear part t: the untilted density over
/// the mean of the three, at most 3. `in_out` holds t about its mean and
/// becomes the weights; the second number of a pair is ln M.
pub fn third_weights(in_out: &mut [f64], plus: (f64, f64), minus: (f64, f64)) {
    kernels::fill_third_weights(in_out, plus.0, plus.1, minus.0, minus.1);
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::moments;

    #[test]
    fn property_tilted_trials_have_the_moments_of_the_tilted_density() {
        let shapes = [
            Shape::Rectangular {
                low: 1.0,
                high: 5.0,
            },
            Shape::Normal {
                mean: 3.0,
                deviation: 0.7,
            },
        ];
        for shape in shapes {
            for lambda in [-3.0, -0.4, 1e-9, 0.2, 1.0, 4.0] {
                let mut drawn = vec![0.0; 200_000];
                shape.fill_tilted(lambda, stream::key(3, 8), 7, &mut drawn);
                let expected = shape.mean() + shape.tilted_shift(lambda);
                let slack = 5.0 * moments::deviation_of_mean(&drawn);
                assert!((moments::mean(&drawn) - expected).abs() < slack, "{lambda}");
                // Weighted back, the mean of 1 is 1 and of x the old mean.
                let weights: Vec<f64> = drawn
                    .iter()
                    .map(|x| {
                        elementary::exp(shape.log_moment(lambda) - lambda * (x - shape.mean()))
                    })
                    .collect();
                let slack = 6.0 * moments::deviation_of_mean(&weights) + 1e-12;
                assert!((moments::mean(&weights) - 1.0).abs() < slack, "{lambda}");
                let (low, high) = (lambda - 1e-4, lambda + 1e-4);
                let slope = (shape.log_moment(high) - shape.log_moment(low)) / 2e-4;
                assert!((slope - shape.tilted_shift(lambda)).abs() < 1e-6);
            }
        }
    }

    #[test]
    fn property_weights_are_the_untilted_share_and_at_most_three() {
        let mut t = [-4.0, -0.5, 0.0, 0.3, 6.0];
        let kept = t;
        third_weights(&mut t, (1.5, 0.7), (-2.0, 0.9));
        for (w, t) in t.iter().zip(kept) {
            let sum = 1.0 + elementary::exp(1.5 * t - 0.7) + elementary::exp(-2.0 * t - 0.9);
            assert!((w - 3.0 / sum).abs() < 1e-14);
            assert!(*w <= 3.0);
        }
    }
}
