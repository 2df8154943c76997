//! The exact distribution of a sum of rectangular variables: what a Monte
//! Carlo result for a few bounded contributors can be compared with.
//!
//! The textbook formula alternates in sign and loses all digits for many or
//! very different variables. Here the density is built up by the recurrence
//! of B-splines (C. de Boor, "On calculating with B-splines", 1972) and, for
//! unequal widths, of box splines (C. de Boor, K. Höllig, "B-splines from
//! parallelepipeds", 1982), in which all terms are positive.

#[cfg(test)]
mod tests;

/// Most variables that [`cdf_unequal`] takes: the work grows as 3^n.
pub const MOST_UNEQUAL: usize = 12;

/// Density at `x` of the sum of `n` variables uniform on [0, 1): the cardinal
/// B-spline. Zero for n = 0.
fn density(n: u32, x: f64) -> f64 {
    if n == 0 || x <= 0.0 || x >= f64::from(n) {
        return if n == 1 && x == 0.0 { 1.0 } else { 0.0 };
    }
    // row[j] is the density of m variables at x − j
    let mut row: Vec<f64> = (0..n)
        .map(|j| {
            let at = x - f64::from(j);
            if (0.0..1.0).contains(&at) { 1.0 } else { 0.0 }
        })
        .collect();
    for m in 2..=n {
        let size = f64::from(m);
        let shifted: Vec<f64> = row.iter().skip(1).copied().chain([0.0]).collect();
        for ((j, value), right) in row.iter_mut().enumerate().zip(shifted) {
            let at = x - j as f64;
            *value = (at * *value + (size - at) * right) / (size - 1.0);
        }
    }
    row.first().copied().unwrap_or(0.0)
}

/// Probability that the sum of `n` independent variables, each uniform
/// between 0 and 1, is at most `x`; relative error about 1e-15 per variable.
///
/// For n = 0 the sum is zero.
///
/// ```
/// use statistics::irwin_hall::cdf;
/// // two variables: a triangle
/// assert!((cdf(2, 0.5) - 0.125).abs() < 1e-15);
/// ```
pub fn cdf(n: u32, x: f64) -> f64 {
    let most = f64::from(n);
    if x.is_nan() {
        return f64::NAN;
    }
    if x >= most {
        return 1.0;
    }
    if x <= 0.0 {
        return 0.0;
    }
    if x > 0.5 * most {
        return 1.0 - cdf(n, most - x);
    }
    // Integrating a cardinal B-spline sums shifted ones of the next order.
    let mut sum = 0.0;
    let mut at = x;
    while at > 0.0 {
        sum += density(n + 1, at);
        at -= 1.0;
    }
    sum
}

/// The value that the sum of `n` variables uniform between 0 and 1 stays
/// below with probability `p`; NaN for p outside [0, 1].
pub fn quantile(n: u32, p: f64) -> f64 {
    invert(p, 0.0, f64::from(n), |x| cdf(n, x))
}

/// Probability that a sum of independent rectangular variables, centred on
/// zero with the given half-widths (all in one unit), is at most `x`.
///
/// Half-widths of zero count for nothing; signs are ignored. Exact to about
/// 1e-14 also when the widths differ by many powers of ten. NaN for more than
/// [`MOST_UNEQUAL`] half-widths or one that is not finite.
///
/// ```
/// use statistics::irwin_hall::cdf_unequal;
/// // half-widths 1 and 2: a trapezoid with corners at ±1 and ±3
/// assert!((cdf_unequal(-1.0, &[1.0, 2.0]) - 0.25).abs() < 1e-15);
/// ```
pub fn cdf_unequal(x: f64, half_widths: &[f64]) -> f64 {
    let widths: Vec<f64> = half_widths
        .iter()
        .map(|half| 2.0 * half.abs())
        .filter(|&width| width != 0.0)
        .collect();
    if x.is_nan() || widths.len() > MOST_UNEQUAL || widths.iter().any(|w| !w.is_finite()) {
        return f64::NAN;
    }
    let total: f64 = widths.iter().sum();
    let from_low = x + 0.5 * total;
    if from_low >= total {
        return 1.0;
    }
    if from_low <= 0.0 {
        return 0.0;
    }
    if x > 0.0 {
        return 1.0 - cdf_unequal(-x, half_widths);
    }
    // The distribution function of n variables is the density of n + 1, the
    // last one at least as wide as all others together, times its width.
    let mut directions = widths;
    directions.push(total);
    total * box_spline(&directions, from_low)
}

/// The value that the sum in [`cdf_unequal`] stays below with probability
/// `p`; NaN for p outside [0, 1] and where that function gives NaN.
pub fn quantile_unequal(p: f64, half_widths: &[f64]) -> f64 {
    if cdf_unequal(0.0, half_widths).is_nan() {
        return f64::NAN;
    }
    let reach: f64 = half_widths.iter().map(|half| half.abs()).sum();
    invert(p, -reach, reach, |x| cdf_unequal(x, half_widths))
}

/// Density at `x` of the sum of variables uniform on [0, w) for all widths w.
///
/// M(x) = 1/(m − 1)·Σ_i [t·M_i(x) + (1 − t)·M_i(x − w_i)] with M_i the density
/// without variable i and t = x/Σw. A state says of each variable whether it
/// is still in (0), taken out (1), or taken out with its width subtracted
/// (2); read as a number to base 3, a state only needs larger ones.
fn box_spline(widths: &[f64], x: f64) -> f64 {
    let n = widths.len();
    let states = (0..n).fold(1_usize, |states, _| 3 * states);
    let mut densities = vec![0.0; states];
    for state in (0..states).rev() {
        let (mut at, mut total, mut remaining) = (x, 0.0, 0_u32);
        let mut rest = state;
        for &width in widths {
            match rest % 3 {
                0 => {
                    total += width;
                    remaining += 1;
                }
                2 => at -= width,
                _ => {}
            }
            rest /= 3;
        }
        if remaining == 0 || at < 0.0 || at >= total {
            continue;
        }
        if remaining == 1 {
            densities[state] = 1.0 / total;
            continue;
        }
        let share = at / total;
        let (mut rest, mut place, mut sum) = (state, 1, 0.0);
        for _ in widths {
            if rest % 3 == 0 {
                sum +=
                    share * densities[state + place] + (1.0 - share) * densities[state + 2 * place];
            }
            rest /= 3;
            place *= 3;
        }
        densities[state] = sum / f64::from(remaining - 1);
    }
    densities.first().copied().unwrap_or(0.0)
}

/// Bisection of an increasing function between two ends.
fn invert(p: f64, low: f64, high: f64, function: impl Fn(f64) -> f64) -> f64 {
    if p.is_nan() || !(0.0..=1.0).contains(&p) {
        return f64::NAN;
    }
    let (mut low, mut high) = (low, high);
    if p == 0.0 {
        return low;
    }
    if p == 1.0 {
        return high;
    }
    for _ in 0..120 {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break;
        }
        if function(middle) < p {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}
