//! Whether a measured value conforms, and what deciding so risks
//! (JCGM 106:2012, "The role of measurement uncertainty in conformity
//! assessment").
//!
//! Two questions with different answers are kept apart: the probability that
//! *one measured* item conforms ([`conformance_probability`]), and the shares
//! of a *population* that are wrongly accepted or rejected
//! ([`global_risks`]).

#[cfg(test)]
mod tests;

use crate::normal;
use crate::quadrature::{gauss_legendre, integrate};

/// Limits of a property; a missing side is open.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limits {
    /// Lower limit.
    pub low: Option<f64>,
    /// Upper limit.
    pub high: Option<f64>,
}

impl Limits {
    /// Both limits, in the unit of the property.
    pub fn between(low: f64, high: f64) -> Self {
        Limits {
            low: Some(low),
            high: Some(high),
        }
    }

    /// An upper limit only.
    pub fn at_most(high: f64) -> Self {
        Limits {
            low: None,
            high: Some(high),
        }
    }

    /// A lower limit only.
    pub fn at_least(low: f64) -> Self {
        Limits {
            low: Some(low),
            high: None,
        }
    }

    /// Whether a value lies within, the limits included.
    pub fn contain(&self, value: f64) -> bool {
        self.low.is_none_or(|low| value >= low) && self.high.is_none_or(|high| value <= high)
    }

    /// The limits moved inwards by `guard` (outwards if negative): acceptance
    /// limits from tolerance limits (JCGM 106, 8.3.2 and 8.3.3). They may
    /// cross if the guard exceeds half their distance; then nothing is
    /// accepted.
    pub fn guarded(&self, guard: f64) -> Self {
        Limits {
            low: self.low.map(|low| low + guard),
            high: self.high.map(|high| high - guard),
        }
    }
}

/// Probability that a normal variable lies within limits, without loss of
/// digits in either tail.
fn normal_within(mean: f64, deviation: f64, limits: Limits) -> f64 {
    if deviation == 0.0 {
        return if limits.contain(mean) { 1.0 } else { 0.0 };
    }
    let low = limits.low.map(|low| (low - mean) / deviation);
    let high = limits.high.map(|high| (high - mean) / deviation);
    match (low, high) {
        (None, None) => 1.0,
        (None, Some(high)) => normal::cdf(high),
        (Some(low), None) => normal::cdf(-low),
        (Some(low), Some(high)) if low >= high => 0.0,
        // On the upper side both tails are small: take their difference.
        (Some(low), Some(high)) if low > 0.0 => normal::cdf(-low) - normal::cdf(-high),
        (Some(low), Some(high)) => normal::cdf(high) - normal::cdf(low),
    }
}

/// Probability that the measured item conforms: that its true value lies
/// within `tolerance` when all is known is a normal distribution with the
/// measured value `estimate` and standard uncertainty `uncertainty`
/// (JCGM 106:2012, 7.3 and 7.4). All in one unit.
///
/// NaN for a negative uncertainty; with zero uncertainty 0 or 1.
///
/// ```
/// use statistics::conformity::{Limits, conformance_probability};
/// // JCGM 106, 7.4: kinematic viscosity of mineral oil, mm²/s
/// let p = conformance_probability(13.6, 1.8, Limits::between(12.5, 16.3));
/// assert!((p - 0.66).abs() < 0.005);
/// ```
pub fn conformance_probability(estimate: f64, uncertainty: f64, tolerance: Limits) -> f64 {
    if uncertainty < 0.0 || uncertainty.is_nan() || estimate.is_nan() {
        return f64::NAN;
    }
    normal_within(estimate, uncertainty, tolerance)
}

/// The guard band that makes the conformance probability at the acceptance
/// limit equal `probability` for one limit: z·u with Φ(z) = probability
/// (JCGM 106:2012, 8.3.2.2). Negative below one half.
///
/// ```
/// use statistics::conformity::guard_band;
/// assert!((guard_band(2.0, 0.977_249_868) - 4.0).abs() < 1e-6);
/// ```
pub fn guard_band(uncertainty: f64, probability: f64) -> f64 {
    uncertainty * normal::quantile(probability)
}

/// What is known after measuring an item of a known population: mean and
/// standard deviation of the product of the two normal densities (the Bayes
/// rule that JCGM 106:2012 builds on, for a normal prior and normal measuring).
///
/// `measuring_uncertainty` and `process_deviation` in the unit of the values.
pub fn measured_item(
    process_mean: f64,
    process_deviation: f64,
    measured: f64,
    measuring_uncertainty: f64,
) -> (f64, f64) {
    let (prior, noise) = (
        process_deviation * process_deviation,
        measuring_uncertainty * measuring_uncertainty,
    );
    let weight = if prior + noise > 0.0 {
        prior / (prior + noise)
    } else {
        1.0
    };
    (
        process_mean + weight * (measured - process_mean),
        (weight * noise).sqrt(),
    )
}

/// Shares of a population under a decision rule, each 0 to 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Risks {
    /// Global consumer's risk: out of tolerance, yet accepted.
    pub consumer: f64,
    /// Global producer's risk: within tolerance, yet rejected.
    pub producer: f64,
    /// Within tolerance, before any test.
    pub conforming: f64,
    /// Accepted.
    pub accepted: f64,
}

/// The global risks of accepting what is measured within `acceptance`, when
/// true values are normal with `process_mean` and `process_deviation`, and
/// measuring adds an independent normal error of standard uncertainty
/// `measuring_uncertainty` (JCGM 106:2012, 9.5). All in one unit.
///
/// Integrated over true values by Gauss–Legendre quadrature with breaks at
/// all limits; absolute error below 1e-12. NaN for a negative deviation.
///
/// ```
/// use statistics::conformity::{Limits, global_risks};
/// let tolerance = Limits::between(-0.2, 0.2);
/// let risks = global_risks(0.0, 0.12, 0.04, tolerance, tolerance);
/// assert!((risks.conforming - 0.90).abs() < 0.005);
/// ```
pub fn global_risks(
    process_mean: f64,
    process_deviation: f64,
    measuring_uncertainty: f64,
    tolerance: Limits,
    acceptance: Limits,
) -> Risks {
    let unusable = |x: f64| x.is_nan() || x < 0.0 || x == f64::INFINITY;
    if unusable(process_deviation) || unusable(measuring_uncertainty) || !process_mean.is_finite() {
        return Risks {
            consumer: f64::NAN,
            producer: f64::NAN,
            conforming: f64::NAN,
            accepted: f64::NAN,
        };
    }
    let conforming = normal_within(process_mean, process_deviation, tolerance);
    let total = (process_deviation * process_deviation
        + measuring_uncertainty * measuring_uncertainty)
        .sqrt();
    let accepted = normal_within(process_mean, total, acceptance);
    let accept = |value: f64| normal_within(value, measuring_uncertainty, acceptance);
    let reject = |value: f64| outside(value, measuring_uncertainty, acceptance);
    if process_deviation == 0.0 {
        let inside = tolerance.contain(process_mean);
        return Risks {
            consumer: if inside { 0.0 } else { accept(process_mean) },
            producer: if inside { reject(process_mean) } else { 0.0 },
            conforming,
            accepted,
        };
    }
    let breaks = breaks(
        process_mean,
        process_deviation,
        measuring_uncertainty,
        tolerance,
        acceptance,
    );
    let rule = gauss_legendre(20);
    let density = |x: f64| normal::pdf((x - process_mean) / process_deviation) / process_deviation;
    let consumer = integrate(&rule, &breaks, |x| {
        if tolerance.contain(x) {
            0.0
        } else {
            density(x) * accept(x)
        }
    });
    let producer = integrate(&rule, &breaks, |x| {
        if tolerance.contain(x) {
            density(x) * reject(x)
        } else {
            0.0
        }
    });
    Risks {
        consumer,
        producer,
        conforming,
        accepted,
    }
}

/// Probability that a normal variable lies outside limits, both tails added,
/// so that a small probability keeps its digits.
fn outside(mean: f64, deviation: f64, limits: Limits) -> f64 {
    if let (Some(low), Some(high)) = (limits.low, limits.high)
        && low >= high
    {
        return 1.0;
    }
    let beyond = |distance: f64| {
        if deviation > 0.0 {
            normal::cdf(-distance / deviation)
        } else if distance < 0.0 {
            1.0
        } else {
            0.0
        }
    };
    limits.low.map_or(0.0, |low| beyond(mean - low))
        + limits.high.map_or(0.0, |high| beyond(high - mean))
}

/// Places between which density and acceptance are smooth: half deviations
/// of the process out to nine, the limits, and unit steps of measuring
/// uncertainty around the acceptance limits.
fn breaks(
    process_mean: f64,
    process_deviation: f64,
    measuring_uncertainty: f64,
    tolerance: Limits,
    acceptance: Limits,
) -> Vec<f64> {
    let reach = 9.0;
    let mut places: Vec<f64> = (-18..=18)
        .map(|k| process_mean + 0.5 * f64::from(k) * process_deviation)
        .collect();
    places.extend([tolerance.low, tolerance.high].into_iter().flatten());
    for limit in [acceptance.low, acceptance.high].into_iter().flatten() {
        places.extend((-9..=9).map(|k| limit + f64::from(k) * measuring_uncertainty));
    }
    let (low, high) = (
        process_mean - reach * process_deviation,
        process_mean + reach * process_deviation,
    );
    places.retain(|place| (low..=high).contains(place));
    places.sort_unstable_by(f64::total_cmp);
    places.dedup();
    places
}
