//! Quantiles and coverage intervals of samples.

#[cfg(test)]
mod tests;

use crate::moments;

/// Sorts values upwards; NaN goes to the ends, so the order is the same
/// everywhere.
pub fn sort(values: &mut [f64]) {
    values.sort_unstable_by(f64::total_cmp);
}

/// The value of zero-based rank `rank` in ascending order, found without
/// sorting; reorders `values`. `None` if there are not that many.
///
/// ```
/// use statistics::quantile::select;
/// assert_eq!(select(&mut [5.0, 1.0, 3.0], 1), Some(3.0));
/// ```
pub fn select(values: &mut [f64], rank: usize) -> Option<f64> {
    if rank >= values.len() {
        return None;
    }
    let (_, &mut found, _) = values.select_nth_unstable_by(rank, f64::total_cmp);
    Some(found)
}

/// Where probability `p` falls among `n` sorted values: rank and the fraction
/// of the way to the next one. The value of rank r (from one) stands at
/// (r − ½)/n, as in the discrete representation of JCGM 101:2008, 7.5.1.
fn place(n: usize, p: f64) -> (usize, f64) {
    let last = n.saturating_sub(1) as f64;
    let position = (p * n as f64 - 0.5).clamp(0.0, last);
    let rank = position.floor();
    (rank as usize, position - rank)
}

/// Sample quantile at probability `p` by linear interpolation between the
/// values of rank r at (r − ½)/n (definition 5 of R. J. Hyndman and Y. Fan,
/// "Sample quantiles in statistical packages", 1996); reorders `values`.
///
/// Beyond the first and last of those places the extreme value itself. NaN
/// for no values or a probability outside [0, 1].
///
/// ```
/// use statistics::quantile::quantile_in_place;
/// assert_eq!(quantile_in_place(&mut [3.0, 1.0, 2.0], 0.5), 2.0);
/// ```
pub fn quantile_in_place(values: &mut [f64], p: f64) -> f64 {
    if values.is_empty() || p.is_nan() || !(0.0..=1.0).contains(&p) {
        return f64::NAN;
    }
    let (rank, fraction) = place(values.len(), p);
    let (_, &mut at, above) = values.select_nth_unstable_by(rank, f64::total_cmp);
    if fraction == 0.0 {
        return at;
    }
    let next = above.iter().copied().min_by(f64::total_cmp).unwrap_or(at);
    between(at, next, fraction)
}

/// The value a fraction of the way to the next one; either may be infinite.
fn between(at: f64, next: f64, fraction: f64) -> f64 {
    if fraction == 0.0 || at == next {
        at
    } else {
        at + fraction * (next - at)
    }
}

/// [`quantile_in_place`] of values already in ascending order.
pub fn quantile_of_sorted(sorted: &[f64], p: f64) -> f64 {
    if p.is_nan() || !(0.0..=1.0).contains(&p) {
        return f64::NAN;
    }
    let (rank, fraction) = place(sorted.len(), p);
    let Some(&at) = sorted.get(rank) else {
        return f64::NAN;
    };
    let next = sorted.get(rank + 1).copied().unwrap_or(at);
    between(at, next, fraction)
}

/// A coverage interval, in the unit of the values.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Interval {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
}

impl Interval {
    /// Distance of the ends.
    pub fn width(&self) -> f64 {
        self.high - self.low
    }
}

/// The number of steps q between the ranks of the ends of an interval of the
/// given coverage among n values (JCGM 101:2008, 7.7.2).
fn steps(n: usize, coverage: f64) -> Option<usize> {
    if coverage.is_nan() || coverage <= 0.0 || coverage >= 1.0 {
        return None;
    }
    let q = (coverage * n as f64 + 0.5).floor() as usize;
    (q >= 1 && q < n).then_some(q)
}

/// One-based rank of the lower end of the symmetric interval.
fn symmetric_rank(n: usize, q: usize) -> usize {
    (n - q).div_ceil(2)
}

/// The probabilistically symmetric coverage interval of sorted values
/// (JCGM 101:2008, 7.7.2); `coverage` strictly between 0 and 1. `None` if
/// there are too few values for that coverage.
///
/// ```
/// use statistics::quantile::symmetric_interval;
/// let sorted: Vec<f64> = (1..=1000).map(f64::from).collect();
/// let found = symmetric_interval(&sorted, 0.95).unwrap();
/// assert_eq!((found.low, found.high), (25.0, 975.0));
/// ```
pub fn symmetric_interval(sorted: &[f64], coverage: f64) -> Option<Interval> {
    let q = steps(sorted.len(), coverage)?;
    let rank = symmetric_rank(sorted.len(), q);
    Some(Interval {
        low: *sorted.get(rank - 1)?,
        high: *sorted.get(rank - 1 + q)?,
    })
}

/// [`symmetric_interval`] of values in any order, which are reordered.
pub fn symmetric_interval_in_place(values: &mut [f64], coverage: f64) -> Option<Interval> {
    let q = steps(values.len(), coverage)?;
    let rank = symmetric_rank(values.len(), q);
    Some(Interval {
        low: select(values, rank - 1)?,
        high: select(values, rank - 1 + q)?,
    })
}

/// The shortest coverage interval of sorted values (JCGM 101:2008, 7.7.2);
/// of several equally short ones the lowest. `None` if there are too few
/// values for that coverage.
///
/// Its ends scatter more than those of the symmetric interval: near the
/// optimum the width hardly depends on where the interval lies.
pub fn shortest_interval(sorted: &[f64], coverage: f64) -> Option<Interval> {
    let q = steps(sorted.len(), coverage)?;
    let mut best: Option<Interval> = None;
    for (&low, &high) in sorted.iter().zip(sorted.iter().skip(q)) {
        let candidate = Interval { low, high };
        if best.is_none_or(|best| candidate.width() < best.width()) {
            best = Some(candidate);
        }
    }
    best
}

/// The numerical tolerance δ of a standard uncertainty `u` given to `digits`
/// significant decimal digits, in the unit of `u`: half a unit of the last
/// digit (JCGM 101:2008, 7.9.2).
///
/// ```
/// use statistics::quantile::numerical_tolerance;
/// // u = 35 µg to two digits is 35·10⁰, so δ = 0.5 µg
/// assert_eq!(numerical_tolerance(35.0, 2), 0.5);
/// assert!((numerical_tolerance(0.0543, 2) - 0.0005).abs() < 1e-18);
/// ```
///
/// Zero for u = 0; NaN for a negative or infinite u or no digits.
pub fn numerical_tolerance(u: f64, digits: u32) -> f64 {
    if !u.is_finite() || u < 0.0 || digits == 0 {
        return f64::NAN;
    }
    if u == 0.0 {
        return 0.0;
    }
    // The power of ten of the last of the wanted digits; rounding u may
    // carry into one digit more (0.0996 to two digits is 0.10).
    let mut exponent = elementary::log10(u).floor() as i32;
    exponent += i32::from(u / power_of_ten(exponent) >= 10.0);
    exponent -= i32::from(u / power_of_ten(exponent) < 1.0);
    let digits = i32::try_from(digits).unwrap_or(i32::MAX);
    let mut last = exponent.saturating_sub(digits - 1);
    let rounded = (u / power_of_ten(last)).round();
    if rounded >= power_of_ten(digits) {
        last += 1;
    }
    0.5 * power_of_ten(last)
}

/// By multiplication, exact up to 10²², since the library's integer powers
/// may differ between platforms.
fn power_of_ten(exponent: i32) -> f64 {
    let power = (0..exponent.unsigned_abs().min(400)).fold(1.0, |power, _| power * 10.0);
    if exponent < 0 { 1.0 / power } else { power }
}

/// Trials per block that JCGM 101:2008, 7.9.4 asks for at least: 10^4, or
/// 100/(1 − coverage) if that is more.
pub fn block_size(coverage: f64) -> usize {
    let asked = (100.0 / (1.0 - coverage)).ceil();
    if asked.is_finite() && asked > 1e4 {
        asked as usize
    } else {
        10_000
    }
}

/// The adaptive procedure of JCGM 101:2008, 7.9.4: results of equal blocks
/// of trials are averaged until twice the standard deviation of each average
/// is below the tolerance.
#[derive(Clone, Debug, Default)]
pub struct AdaptiveBlocks {
    results: [Vec<f64>; 4],
}

impl AdaptiveBlocks {
    /// No blocks yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// Adds the results of one block: mean, standard uncertainty and the ends
    /// of the coverage interval, all in the unit of the output.
    pub fn push(&mut self, mean: f64, uncertainty: f64, interval: Interval) {
        let row = [mean, uncertainty, interval.low, interval.high];
        for (column, value) in self.results.iter_mut().zip(row) {
            column.push(value);
        }
    }

    /// Number of blocks.
    pub fn blocks(&self) -> usize {
        let [means, ..] = &self.results;
        means.len()
    }

    /// Averages over the blocks: mean, standard uncertainty, lower and upper
    /// end. NaN without blocks.
    pub fn averages(&self) -> [f64; 4] {
        self.results.each_ref().map(|column| moments::mean(column))
    }

    /// Standard deviations of those averages; NaN for fewer than two blocks.
    pub fn deviations_of_averages(&self) -> [f64; 4] {
        self.results
            .each_ref()
            .map(|column| moments::deviation_of_mean(column))
    }

    /// Whether twice every deviation is below `tolerance`; never with fewer
    /// than two blocks.
    ///
    /// Stopping at the first success is biased towards chance agreement of
    /// few blocks: ask at doublings of the number of blocks only.
    pub fn is_stable(&self, tolerance: f64) -> bool {
        self.blocks() >= 2
            && self
                .deviations_of_averages()
                .iter()
                .all(|s| 2.0 * s < tolerance)
    }
}
