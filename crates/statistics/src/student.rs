//! Student's t-distribution, with any positive number of degrees of freedom
//! (effective degrees of freedom are seldom whole).

use crate::{normal, special};

/// Probability beyond t > 0, and the probability between 0 and t.
fn tail_and_centre(t: f64, dof: f64) -> (f64, f64) {
    let ratio = t * t / dof;
    let x = 1.0 / (1.0 + ratio);
    let y = ratio / (1.0 + ratio);
    let (outside, inside) = special::beta_pair(0.5 * dof, 0.5, x, y);
    (0.5 * outside, 0.5 * inside)
}

/// Density at `t` for `dof` > 0 degrees of freedom; infinitely many are the
/// normal distribution; NaN for `dof` not positive.
pub fn pdf(t: f64, dof: f64) -> f64 {
    if dof == f64::INFINITY {
        return normal::pdf(t);
    }
    if dof.is_nan() || dof <= 0.0 || t.is_nan() {
        return f64::NAN;
    }
    // The formula divides by t; the density is flat so near to zero.
    let t = t.abs().max(1e-100);
    if t == f64::INFINITY {
        return 0.0;
    }
    let ratio = t * t / dof;
    let x = 1.0 / (1.0 + ratio);
    let y = ratio / (1.0 + ratio);
    special::beta_power(0.5 * dof, 0.5, x, y) / t
}

/// Probability that a t-distributed variable with `dof` > 0 degrees of
/// freedom is at most `t`; NaN for `dof` not positive.
///
/// ```
/// // one degree of freedom: ½ + atan(t)/π
/// assert!((statistics::student::cdf(1.0, 1.0) - 0.75).abs() < 1e-14);
/// ```
pub fn cdf(t: f64, dof: f64) -> f64 {
    if dof == f64::INFINITY {
        return normal::cdf(t);
    }
    if dof.is_nan() || dof <= 0.0 || t.is_nan() {
        return f64::NAN;
    }
    if t.is_infinite() {
        return if t > 0.0 { 1.0 } else { 0.0 };
    }
    let (tail, centre) = tail_and_centre(t.abs(), dof);
    if t < 0.0 { tail } else { 0.5 + centre }
}

/// The value that a t-distributed variable with `dof` > 0 degrees of freedom
/// stays below with probability `p`.
///
/// Zero gives −∞, one gives +∞; NaN outside [0, 1] or for `dof` not positive.
/// For a coverage factor at 95 % take p = 0.975.
///
/// ```
/// use statistics::student::quantile;
/// // JCGM 100:2008 table G.2: t95(9) = 2.26
/// assert!((quantile(0.975, 9.0) - 2.262_157_162_798_205).abs() < 1e-12);
/// ```
pub fn quantile(p: f64, dof: f64) -> f64 {
    if dof == f64::INFINITY {
        return normal::quantile(p);
    }
    if p.is_nan() || !(0.0..=1.0).contains(&p) || dof.is_nan() || dof <= 0.0 {
        return f64::NAN;
    }
    let q = p - 0.5;
    if q == 0.0 {
        return 0.0;
    }
    let tail = if q < 0.0 { p } else { 1.0 - p };
    if tail == 0.0 {
        return f64::INFINITY.copysign(q);
    }
    upper_quantile(tail, q.abs(), dof).copysign(q)
}

/// t > 0 with the probability `tail` beyond it and `centre` = ½ − `tail`
/// between 0 and it: Newton's steps on whichever of the two is smaller, inside
/// a bracket.
fn upper_quantile(tail: f64, centre: f64, dof: f64) -> f64 {
    let (mut low, mut high) = (0.0, f64::INFINITY);
    // The normal quantile stretched by the leading term of the expansion in
    // 1/dof (Abramowitz and Stegun 26.7.5).
    let z = (-normal::quantile(tail)).max(centre);
    let mut t = z * (1.0 + (z * z + 1.0) / (4.0 * dof));
    for _ in 0..1000 {
        let (found_tail, found_centre) = tail_and_centre(t, dof);
        let density = pdf(t, dof);
        let (error, step) = if tail < centre {
            // Newton on the logarithm of the tail against ln t, which is
            // nearly straight for few degrees of freedom.
            let error = elementary::ln(tail / found_tail);
            let stretch = error * found_tail / (density * t);
            (
                error,
                t * (1.0 - elementary::exp(-stretch.clamp(-2.0, 2.0))),
            )
        } else {
            let error = found_centre - centre;
            (error, error / density)
        };
        if error == 0.0 {
            return t;
        }
        if error < 0.0 {
            low = t;
        } else {
            high = t;
        }
        let newton = t - step;
        let next = if newton > low && newton < high {
            newton
        } else if high == f64::INFINITY {
            2.0 * t
        } else {
            0.5 * (low + high)
        };
        let settled = (next - t).abs() <= 2.0 * f64::EPSILON * t;
        t = next;
        if settled || (high < f64::INFINITY && high - low <= f64::EPSILON * high) || !t.is_finite()
        {
            break;
        }
    }
    t
}

#[cfg(test)]
mod tests;
