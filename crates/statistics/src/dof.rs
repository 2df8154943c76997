//! Effective degrees of freedom and coverage factors.

#[cfg(test)]
mod tests;

use crate::student;

/// Effective degrees of freedom of a combined standard uncertainty by the
/// Welch–Satterthwaite formula (JCGM 100:2008, G.4.1, equation G.2b):
/// (Σu²)²/Σ(u⁴/ν).
///
/// `contributions` are pairs of uncertainty contribution |c·u(x)|, all in the
/// unit of the result, and its degrees of freedom (infinite if it is known
/// exactly). Infinite if no contribution has few; NaN if one has none or a
/// negative number. The formula holds for independent inputs only.
///
/// ```
/// use statistics::dof::welch_satterthwaite;
/// // one contribution alone keeps its degrees of freedom
/// assert_eq!(welch_satterthwaite(&[(2.0, 7.0), (0.0, 3.0)]), 7.0);
/// ```
pub fn welch_satterthwaite(contributions: &[(f64, f64)]) -> f64 {
    let largest = contributions
        .iter()
        .fold(0.0_f64, |largest, (u, _)| largest.max(u.abs()));
    if largest == 0.0 {
        return f64::INFINITY;
    }
    let (mut variance, mut fourth) = (0.0, 0.0);
    for &(u, dof) in contributions {
        if dof.is_nan() || dof <= 0.0 || !u.is_finite() {
            return f64::NAN;
        }
        // Relative to the largest, so that fourth powers stay in range.
        let square = (u / largest) * (u / largest);
        variance += square;
        fourth += square * square / dof;
    }
    variance * variance / fourth
}

/// Degrees of freedom rounded down to a whole number, as JCGM 100:2008,
/// G.4.1 recommends; infinity stays, and so does what is below one, for which
/// a smaller whole number would have no t-distribution.
///
/// A value that misses a whole number by no more than rounding of the
/// computation counts as that number.
pub fn rounded_down(dof: f64) -> f64 {
    let whole = (dof * (1.0 + 1e-12)).floor();
    if whole >= 1.0 { whole } else { dof }
}

/// The factor k for which estimate ± k·u covers `probability` (0 to 1) with
/// `dof` degrees of freedom: the two-sided quantile of Student's distribution
/// (JCGM 100:2008, table G.2).
///
/// ```
/// use statistics::dof::coverage_factor;
/// assert!((coverage_factor(0.9545, f64::INFINITY) - 2.0).abs() < 1e-4);
/// ```
pub fn coverage_factor(probability: f64, dof: f64) -> f64 {
    student::quantile(0.5 + 0.5 * probability, dof)
}
