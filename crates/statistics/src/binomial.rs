//! What a count of successes tells about the probability of success.

#[cfg(test)]
mod tests;

use crate::normal;
use crate::quantile::Interval;
use crate::special::beta_quantile;

/// Lower bound of the probability of success: true with at least the given
/// confidence whatever the probability (C. J. Clopper, E. S. Pearson, "The
/// use of confidence or fiducial limits", Biometrika 26 (1934) 404–413).
///
/// NaN if there are more successes than trials, no trials, or the confidence
/// is not within 0 to 1.
///
/// ```
/// use statistics::binomial::lower_bound;
/// // all of 59 pass: with 95 % confidence at least 95 % of the lot would
/// assert!((lower_bound(59, 59, 0.95) - 0.950_5).abs() < 1e-4);
/// ```
pub fn lower_bound(successes: u64, trials: u64, confidence: f64) -> f64 {
    if !usable(successes, trials, confidence) {
        f64::NAN
    } else if successes == 0 {
        0.0
    } else {
        let (k, n) = (successes as f64, trials as f64);
        beta_quantile(1.0 - confidence, k, n - k + 1.0)
    }
}

/// Upper bound of the probability of success, true with at least the given
/// confidence (Clopper and Pearson); NaN as for [`lower_bound`].
pub fn upper_bound(successes: u64, trials: u64, confidence: f64) -> f64 {
    if !usable(successes, trials, confidence) {
        f64::NAN
    } else {
        // Failures bounded from below; solving for the smaller probability
        // keeps its digits.
        1.0 - lower_bound(trials - successes, trials, confidence)
    }
}

/// Two-sided interval of Clopper and Pearson: each end may be exceeded with
/// probability (1 − confidence)/2 at most.
pub fn clopper_pearson(successes: u64, trials: u64, confidence: f64) -> Interval {
    let each = 0.5 * (1.0 + confidence);
    Interval {
        low: lower_bound(successes, trials, each),
        high: upper_bound(successes, trials, each),
    }
}

/// Two-sided interval of E. B. Wilson ("Probable inference, the law of
/// succession, and statistical inference", 1927): shorter than
/// [`clopper_pearson`], right on average instead of always.
pub fn wilson(successes: u64, trials: u64, confidence: f64) -> Interval {
    if !usable(successes, trials, confidence) {
        return Interval {
            low: f64::NAN,
            high: f64::NAN,
        };
    }
    let n = trials as f64;
    let share = successes as f64 / n;
    let z = normal::quantile(0.5 * (1.0 + confidence));
    let square = z * z;
    let centre = (share + 0.5 * square / n) / (1.0 + square / n);
    let half =
        z / (1.0 + square / n) * (share * (1.0 - share) / n + 0.25 * square / (n * n)).sqrt();
    Interval {
        low: if successes == 0 { 0.0 } else { centre - half },
        high: if successes == trials {
            1.0
        } else {
            centre + half
        },
    }
}

fn usable(successes: u64, trials: u64, confidence: f64) -> bool {
    trials > 0 && successes <= trials && (0.0..1.0).contains(&confidence)
}
