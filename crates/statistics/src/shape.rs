//! Distributions that an uncertain input may have (JCGM 101:2008, 6.4).

mod kernels;
#[cfg(test)]
mod tests;
mod tilt;

pub use tilt::third_weights;

use crate::{normal, stream, student};
use std::fmt;

/// How an uncertain input is distributed.
///
/// All numbers carry the unit of the input. A shape with unusable parameters
/// (see [`Shape::check`]) yields NaN or infinity, it never panics.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shape {
    /// Equally likely between two limits (JCGM 101, 6.4.2).
    Rectangular {
        /// Lower limit.
        low: f64,
        /// Upper limit.
        high: f64,
    },
    /// Normal (6.4.7).
    Normal {
        /// Expectation.
        mean: f64,
        /// Standard deviation.
        deviation: f64,
    },
    /// Symmetric triangle (6.4.5).
    Triangular {
        /// Lower limit.
        low: f64,
        /// Upper limit.
        high: f64,
    },
    /// Arcsine, also called U-shaped (6.4.6): what a sine of unknown phase
    /// leaves.
    Arcsine {
        /// Lower limit.
        low: f64,
        /// Upper limit.
        high: f64,
    },
    /// Symmetric trapezoid (6.4.4).
    Trapezoidal {
        /// Lower limit.
        low: f64,
        /// Upper limit.
        high: f64,
        /// Width of the top divided by the width of the base, 0 (triangle)
        /// to 1 (rectangle).
        beta: f64,
    },
    /// Rectangle whose limits are themselves uncertain (6.4.3): each lies
    /// within ±`inexact` of its nominal place, the centre is certain.
    CurvilinearTrapezoidal {
        /// Nominal lower limit.
        low: f64,
        /// Nominal upper limit.
        high: f64,
        /// How far a limit may lie from its nominal place; at most half of
        /// `high` − `low`.
        inexact: f64,
    },
    /// Scaled and shifted t-distribution (6.4.9): what a mean of few
    /// readings leaves.
    StudentT {
        /// Location: the mean of the readings.
        mean: f64,
        /// Scale: the experimental standard deviation of the mean.
        scale: f64,
        /// Degrees of freedom, above zero, not necessarily whole.
        dof: f64,
    },
    /// No uncertainty.
    Fixed {
        /// The value.
        value: f64,
    },
}

/// Why the parameters of a shape cannot be used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ShapeError {
    /// A parameter is infinite or not a number.
    NotFinite,
    /// The upper limit lies below the lower limit.
    LimitsReversed,
    /// A standard deviation, scale or inexactness is negative.
    Negative,
    /// The top of a trapezoid is not between 0 and 1 of its base, the
    /// inexactness exceeds the half-width, or there are no degrees of freedom.
    OutOfRange,
}

impl fmt::Display for ShapeError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            ShapeError::NotFinite => "a parameter is not a finite number",
            ShapeError::LimitsReversed => "the upper limit lies below the lower limit",
            ShapeError::Negative => "a width is negative",
            ShapeError::OutOfRange => "a parameter is outside its range",
        })
    }
}

impl std::error::Error for ShapeError {}

impl Shape {
    /// Whether the parameters describe a distribution.
    ///
    /// Infinite degrees of freedom are allowed and mean the normal
    /// distribution; equal limits are allowed and mean a fixed value.
    ///
    /// # Errors
    /// The first parameter fault found.
    pub fn check(&self) -> Result<(), ShapeError> {
        let finite = |values: &[f64]| {
            if values.iter().all(|x| x.is_finite()) {
                Ok(())
            } else {
                Err(ShapeError::NotFinite)
            }
        };
        let limits = |low: f64, high: f64| {
            finite(&[low, high])?;
            if high < low {
                Err(ShapeError::LimitsReversed)
            } else {
                Ok(())
            }
        };
        match *self {
            Shape::Rectangular { low, high }
            | Shape::Triangular { low, high }
            | Shape::Arcsine { low, high } => limits(low, high),
            Shape::Normal { mean, deviation } => {
                finite(&[mean, deviation])?;
                if deviation < 0.0 {
                    return Err(ShapeError::Negative);
                }
                Ok(())
            }
            Shape::Trapezoidal { low, high, beta } => {
                limits(low, high)?;
                finite(&[beta])?;
                if !(0.0..=1.0).contains(&beta) {
                    return Err(ShapeError::OutOfRange);
                }
                Ok(())
            }
            Shape::CurvilinearTrapezoidal { low, high, inexact } => {
                limits(low, high)?;
                finite(&[inexact])?;
                if inexact < 0.0 {
                    return Err(ShapeError::Negative);
                }
                if inexact > 0.5 * (high - low) {
                    return Err(ShapeError::OutOfRange);
                }
                Ok(())
            }
            Shape::StudentT { mean, scale, dof } => {
                finite(&[mean, scale])?;
                if scale < 0.0 {
                    return Err(ShapeError::Negative);
                }
                if dof.is_nan() || dof <= 0.0 {
                    return Err(ShapeError::OutOfRange);
                }
                Ok(())
            }
            Shape::Fixed { value } => finite(&[value]),
        }
    }

    /// Expectation. For a t-distribution the location, also where the
    /// expectation does not exist (one degree of freedom or fewer).
    pub fn mean(&self) -> f64 {
        match *self {
            Shape::Rectangular { low, high }
            | Shape::Triangular { low, high }
            | Shape::Arcsine { low, high }
            | Shape::Trapezoidal { low, high, .. }
            | Shape::CurvilinearTrapezoidal { low, high, .. } => low + 0.5 * (high - low),
            Shape::Normal { mean, .. } | Shape::StudentT { mean, .. } => mean,
            Shape::Fixed { value } => value,
        }
    }

    /// Standard deviation of the distribution, which is the standard
    /// uncertainty under JCGM 101. For a t-distribution with two degrees of
    /// freedom or fewer it is infinite.
    ///
    /// For propagation with degrees of freedom see
    /// [`Shape::propagated_uncertainty`].
    ///
    /// ```
    /// use statistics::Shape;
    /// // JCGM 100:2008, 4.3.7: limits 16.40e-6 and 16.92e-6 give 0.15e-6
    /// let alpha = Shape::Rectangular { low: 16.40, high: 16.92 };
    /// assert!((alpha.deviation() - 0.15).abs() < 0.0005);
    /// ```
    pub fn deviation(&self) -> f64 {
        match *self {
            Shape::Rectangular { low, high } => (high - low) / 12.0_f64.sqrt(),
            Shape::Triangular { low, high } => (high - low) / 24.0_f64.sqrt(),
            Shape::Arcsine { low, high } => (high - low) / 8.0_f64.sqrt(),
            Shape::Trapezoidal { low, high, beta } => {
                (high - low) * ((1.0 + beta * beta) / 24.0).sqrt()
            }
            Shape::CurvilinearTrapezoidal { low, high, inexact } => {
                let width = high - low;
                (width * width / 12.0 + inexact * inexact / 9.0).sqrt()
            }
            Shape::Normal { deviation, .. } => deviation,
            Shape::StudentT { scale, dof, .. } => {
                if dof == f64::INFINITY {
                    scale
                } else if dof > 2.0 {
                    scale * (dof / (dof - 2.0)).sqrt()
                } else if scale == 0.0 {
                    0.0
                } else {
                    f64::INFINITY
                }
            }
            Shape::Fixed { .. } => 0.0,
        }
    }

    /// Standard uncertainty as JCGM 100 counts it, to be used together with
    /// [`Shape::dof`]: the scale of a t-distribution (its few degrees of
    /// freedom enter through the coverage factor), the standard deviation of
    /// every other shape.
    pub fn propagated_uncertainty(&self) -> f64 {
        match *self {
            Shape::StudentT { scale, .. } => scale,
            _ => self.deviation(),
        }
    }

    /// Smallest and largest possible value; `None` if there are none.
    pub fn limits(&self) -> Option<(f64, f64)> {
        match *self {
            Shape::Rectangular { low, high }
            | Shape::Triangular { low, high }
            | Shape::Arcsine { low, high }
            | Shape::Trapezoidal { low, high, .. } => Some((low, high)),
            Shape::CurvilinearTrapezoidal { low, high, inexact } => {
                Some((low - inexact, high + inexact))
            }
            Shape::Normal { mean, deviation } => (deviation == 0.0).then_some((mean, mean)),
            Shape::StudentT { mean, scale, .. } => (scale == 0.0).then_some((mean, mean)),
            Shape::Fixed { value } => Some((value, value)),
        }
    }

    /// Degrees of freedom of the standard uncertainty: those of a
    /// t-distribution, infinitely many for every other shape.
    pub fn dof(&self) -> f64 {
        match *self {
            Shape::StudentT { dof, .. } => dof,
            _ => f64::INFINITY,
        }
    }

    /// The value that is not exceeded with probability `u`, 0 < `u` < 1: the
    /// inverse distribution function, increasing in `u`. Carries
    /// low-discrepancy points into the shape.
    ///
    /// ```
    /// use statistics::Shape;
    /// let triangle = Shape::Triangular { low: 0.0, high: 2.0 };
    /// assert_eq!(triangle.from_uniform(0.5), 1.0);
    /// ```
    pub fn from_uniform(&self, u: f64) -> f64 {
        match *self {
            Shape::Rectangular { low, high } => kernels::rectangular(u, low, high),
            Shape::Normal { mean, deviation } => {
                kernels::shifted(normal::quantile(u), mean, deviation)
            }
            Shape::Triangular { low, high } => kernels::triangular(u, low, high),
            Shape::Arcsine { low, high } => kernels::arcsine(u, low, high),
            Shape::Trapezoidal { low, high, beta } => kernels::trapezoidal(u, low, high, beta),
            Shape::CurvilinearTrapezoidal { low, high, inexact } => {
                kernels::curvilinear(u, low, high, inexact)
            }
            Shape::StudentT { mean, scale, dof } => {
                kernels::shifted(student::quantile(u, dof), mean, scale)
            }
            Shape::Fixed { value } => value,
        }
    }

    /// Replaces every probability by [`Shape::from_uniform`] of it, bit for
    /// bit the same.
    ///
    /// Wide instructions are used for all shapes but the two whose inverse
    /// has no closed form (t and curvilinear trapezoid), which take about a
    /// microsecond per value.
    pub fn fill_from_uniform(&self, in_out: &mut [f64]) {
        match *self {
            Shape::Rectangular { low, high } => kernels::fill_rectangular(in_out, low, high),
            Shape::Normal { mean, deviation } => {
                normal::fill_quantile(in_out);
                kernels::fill_shifted(in_out, mean, deviation);
            }
            Shape::Triangular { low, high } => kernels::fill_triangular(in_out, low, high),
            Shape::Arcsine { low, high } => kernels::fill_arcsine(in_out, low, high),
            Shape::Trapezoidal { low, high, beta } => {
                kernels::fill_trapezoidal(in_out, low, high, beta);
            }
            Shape::StudentT { mean, scale, dof } if dof == f64::INFINITY => {
                Shape::Normal {
                    mean,
                    deviation: scale,
                }
                .fill_from_uniform(in_out);
            }
            Shape::CurvilinearTrapezoidal { .. } | Shape::StudentT { .. } => {
                for value in in_out {
                    *value = self.from_uniform(*value);
                }
            }
            Shape::Fixed { value } => in_out.fill(value),
        }
    }

    /// Draws the trials `first_trial`, `first_trial + 1`, … into `out`; what
    /// a trial gets depends on `key` (see [`stream::key`]) and the trial
    /// alone.
    ///
    /// One uniform number per trial goes through the inverse distribution
    /// function. The curvilinear trapezoid (JCGM 101, 6.4.3.4) and the
    /// t-distribution (R. W. Bailey, "Polar generation of random variates
    /// with the t-distribution", Mathematics of Computation 62 (1994)
    /// 779–781) take two.
    ///
    /// ```
    /// use statistics::{Shape, stream};
    /// let noise = Shape::Normal { mean: 0.0, deviation: 2.0 };
    /// let key = stream::key(1, 4);
    /// let (mut whole, mut second_half) = ([0.0; 8], [0.0; 4]);
    /// noise.fill(key, 100, &mut whole);
    /// noise.fill(key, 104, &mut second_half);
    /// assert_eq!(whole[4..], second_half);
    /// ```
    pub fn fill(&self, key: u64, first_trial: u64, out: &mut [f64]) {
        match *self {
            Shape::Fixed { value } => return out.fill(value),
            Shape::Rectangular { low, high } => {
                return kernels::draw_rectangular(key, first_trial, out, low, high);
            }
            _ => {}
        }
        // Short pieces stay in the nearest cache between the two passes.
        let mut first = first_trial;
        for piece in out.chunks_mut(kernels::PIECE) {
            stream::fill_uniform(key, first, piece);
            self.transform(key, first, piece);
            first = first.wrapping_add(piece.len() as u64);
        }
    }

    /// The uniform numbers of a piece into the shape, with a companion
    /// stream where the shape needs one.
    fn transform(&self, key: u64, first_trial: u64, piece: &mut [f64]) {
        let mut second = [0.0; kernels::PIECE];
        let Some(second) = second.get_mut(..piece.len()) else {
            return;
        };
        match *self {
            Shape::CurvilinearTrapezoidal { low, high, inexact } => {
                stream::fill_uniform(stream::companion(key), first_trial, second);
                kernels::fill_curvilinear_drawn(piece, second, low, high, inexact);
            }
            Shape::StudentT { mean, scale, dof } if dof != f64::INFINITY => {
                stream::fill_uniform(stream::companion(key), first_trial, second);
                kernels::fill_student_drawn(piece, second, dof);
                kernels::fill_shifted(piece, mean, scale);
            }
            _ => self.fill_from_uniform(piece),
        }
    }
}
