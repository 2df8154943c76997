//! Gamma and incomplete beta functions.
//!
//! Arguments may be large (a trial count of 10^8 is an ordinary argument of
//! the beta distribution): factors that would cancel are never formed.

use std::f64::consts::TAU;

const HALF_LN_TAU: f64 = 0.918_938_533_204_672_8;

/// Natural logarithm of the gamma function for x > 0; NaN otherwise.
///
/// Stirling's series after shifting the argument above 15; absolute error
/// about 1e-15 or relative error about 1e-15, whichever is larger.
///
/// ```
/// use statistics::special::ln_gamma;
/// assert!((ln_gamma(5.0) - 24.0_f64.ln()).abs() < 1e-14);
/// ```
pub fn ln_gamma(x: f64) -> f64 {
    if x.is_nan() || x <= 0.0 {
        return f64::NAN;
    }
    if x == f64::INFINITY {
        return x;
    }
    let mut shifted = x;
    let mut product = 1.0;
    while shifted < 15.0 {
        product *= shifted;
        shifted += 1.0;
    }
    let main = (shifted - 0.5) * elementary::ln(shifted) - shifted + HALF_LN_TAU;
    main + stirling_series(shifted) - elementary::ln(product)
}

/// What Stirling's formula leaves out: the asymptotic series in 1/x with
/// Bernoulli numbers (NIST Digital Library of Mathematical Functions,
/// 5.11.1), for x of at least 15.
fn stirling_series(x: f64) -> f64 {
    let inverse_square = 1.0 / (x * x);
    let mut sum = -691.0 / 360_360.0;
    for c in [
        1.0 / 1188.0,
        -1.0 / 1680.0,
        1.0 / 1260.0,
        -1.0 / 360.0,
        1.0 / 12.0,
    ] {
        sum = sum * inverse_square + c;
    }
    sum / x
}

/// ln Γ(x) less Stirling's formula (x − ½) ln x − x + ½ ln 2π.
fn stirling_remainder(x: f64) -> f64 {
    if x >= 15.0 {
        stirling_series(x)
    } else {
        ln_gamma(x) - ((x - 0.5) * elementary::ln(x) - x + HALF_LN_TAU)
    }
}

/// t − 1 − ln t for t > 0, without cancellation near t = 1.
fn logarithmic_distance(t: f64) -> f64 {
    if (t - 1.0).abs() > 0.3 {
        return t - 1.0 - elementary::ln(t);
    }
    // ln t = 2 artanh v with v = (t − 1)/(t + 1); |v| ≤ 0.18
    let v = (t - 1.0) / (t + 1.0);
    let square = v * v;
    let mut sum = 0.0;
    for odd in [
        25.0, 23.0, 21.0, 19.0, 17.0, 15.0, 13.0, 11.0, 9.0, 7.0, 5.0, 3.0,
    ] {
        sum = sum * square + 1.0 / odd;
    }
    v * (t - 1.0) - 2.0 * v * square * sum
}

/// x^a·y^b / B(a, b) with y = 1 − x, through the distance of x from the mean
/// a/(a + b) (the device of C. Loader, "Fast and accurate computation of
/// binomial probabilities", 2000).
pub(crate) fn beta_power(a: f64, b: f64, x: f64, y: f64) -> f64 {
    if x <= 0.0 || y <= 0.0 {
        return 0.0;
    }
    let n = a + b;
    let deviation = b * x - a * y;
    let distance = a * logarithmic_distance(1.0 + deviation / a)
        + b * logarithmic_distance(1.0 - deviation / b);
    // Far from the mean 1 ± deviation has lost the small factor; n·x/a has not.
    let distance = if distance > 30.0 || deviation.abs() > 0.3 * a.min(b) {
        a * logarithmic_distance(n * x / a) + b * logarithmic_distance(n * y / b)
    } else {
        distance
    };
    let remainder = stirling_remainder(n) - stirling_remainder(a) - stirling_remainder(b);
    (a / n * b / TAU).sqrt() * elementary::exp(remainder - distance)
}

/// The denominator of the incomplete beta function, x^a·y^b/(B(a, b)·I_x(a, b)),
/// for x below the mean: the continued fraction of A. R. DiDonato and
/// A. H. Morris, "Algorithm 708", ACM Transactions on Mathematical Software 18
/// (1992) 360–373, by the modified Lentz recurrence. Taking y = 1 − x as an
/// argument keeps the digits of a·y − b·x.
fn beta_fraction(a: f64, b: f64, x: f64, y: f64) -> f64 {
    const TINY: f64 = 1e-300;
    let keep = |value: f64| if value.abs() < TINY { TINY } else { value };
    let offset = a * y - b * x + 1.0;
    let mut fraction = keep(a * offset / (a + 1.0));
    let (mut c, mut d) = (fraction, 0.0);
    let mut m = 1.0;
    // The number of steps grows with √max(a, b).
    while m < 1e6 {
        let before = a + 2.0 * m - 1.0;
        let after = a + 2.0 * m + 1.0;
        let numerator =
            (a + m - 1.0) / before * ((a + b + m - 1.0) / before) * (m * (b - m)) * x * x;
        let denominator = m + m * (b - m) * x / before + (a + m) * (offset + m * (2.0 - x)) / after;
        d = 1.0 / keep(denominator + numerator * d);
        c = keep(denominator + numerator / c);
        let step = c * d;
        fraction *= step;
        if (step - 1.0).abs() < f64::EPSILON {
            break;
        }
        m += 1.0;
    }
    fraction
}

/// The regularised incomplete beta function I_x(a, b) with x and y = 1 − x
/// both given, so that neither end loses digits. Returns the function and its
/// complement.
pub(crate) fn beta_pair(a: f64, b: f64, x: f64, y: f64) -> (f64, f64) {
    if x.is_nan() || y.is_nan() || a.is_nan() || b.is_nan() || a <= 0.0 || b <= 0.0 {
        return (f64::NAN, f64::NAN);
    }
    if x <= 0.0 {
        return (0.0, 1.0);
    }
    if y <= 0.0 {
        return (1.0, 0.0);
    }
    let power = beta_power(a, b, x, y);
    if x * (a + b + 2.0) < a + 1.0 {
        let lower = power / beta_fraction(a, b, x, y);
        (lower, 1.0 - lower)
    } else {
        let upper = power / beta_fraction(b, a, y, x);
        (1.0 - upper, upper)
    }
}

/// The regularised incomplete beta function I_x(a, b): the probability that
/// a beta variable with the parameters a, b > 0 is at most x.
///
/// Arguments outside [0, 1] count as the nearer end; parameters that are not
/// positive give NaN. Relative error about 1e-13 for parameters up to 10^8.
///
/// ```
/// use statistics::special::beta_regularized;
/// // a = b = 1 is the uniform distribution
/// assert!((beta_regularized(1.0, 1.0, 0.3) - 0.3).abs() < 1e-15);
/// ```
pub fn beta_regularized(a: f64, b: f64, x: f64) -> f64 {
    beta_pair(a, b, x, 1.0 - x).0
}

/// The x at which I_x(a, b) = `probability`.
///
/// NaN for a probability outside [0, 1] or parameters that are not positive.
///
/// ```
/// use statistics::special::beta_quantile;
/// assert!((beta_quantile(0.25, 2.0, 1.0) - 0.5).abs() < 1e-14);
/// ```
pub fn beta_quantile(probability: f64, a: f64, b: f64) -> f64 {
    if probability.is_nan()
        || !(0.0..=1.0).contains(&probability)
        || a.is_nan()
        || b.is_nan()
        || a <= 0.0
        || b <= 0.0
    {
        return f64::NAN;
    }
    if probability == 0.0 || probability == 1.0 {
        return probability;
    }
    // Newton's steps from the mean, kept inside a shrinking bracket; a step
    // that leaves it, or that does not shrink fast enough, becomes a halving.
    let (mut low, mut high) = (0.0, 1.0);
    let mut x = a / (a + b);
    for _ in 0..400 {
        let y = 1.0 - x;
        let error = beta_pair(a, b, x, y).0 - probability;
        if error == 0.0 {
            return x;
        }
        if error < 0.0 {
            low = x;
        } else {
            high = x;
        }
        let density = beta_power(a, b, x, y) / (x * y);
        let newton = x - error / density;
        let next = if newton > low && newton < high {
            newton
        } else if low == 0.0 && high > 0.0 && x < 0.25 {
            // Quantiles of small a lie at tiny x: go down by factors.
            high * 0.1
        } else {
            0.5 * (low + high)
        };
        let settled = (next - x).abs() <= 2.0 * f64::EPSILON * x;
        x = next;
        if settled || high - low <= f64::EPSILON * high {
            break;
        }
    }
    x
}

#[cfg(test)]
mod tests;
