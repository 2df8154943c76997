//! Sums in a fixed order, means, deviations and correlations.

#[cfg(test)]
mod tests;

/// Values added in one go before partial sums are joined in pairs.
const LEAF: usize = 128;

/// The sum of one leaf: eight running sums, joined at the end, so that wide
/// instructions can be used without changing the order.
#[inline]
fn leaf_sum(values: &[f64]) -> f64 {
    let mut lanes = [0.0; 8];
    let (rows, rest) = values.as_chunks::<8>();
    for row in rows {
        for (lane, value) in lanes.iter_mut().zip(row) {
            *lane += value;
        }
    }
    for (lane, value) in lanes.iter_mut().zip(rest) {
        *lane += value;
    }
    let [a, b, c, d, e, f, g, h] = lanes;
    ((a + e) + (c + g)) + ((b + f) + (d + h))
}

/// A sum whose order depends on the number of values alone, not on how they
/// arrive: leaves of 128 values are joined like the digits of a binary
/// counter. The rounding error grows with the logarithm of the number.
///
/// ```
/// use statistics::moments::{FixedOrderSum, sum_fixed_order};
/// let values: Vec<f64> = (0..1000).map(|i| 0.1 * f64::from(i)).collect();
/// let mut sum = FixedOrderSum::new();
/// for part in values.chunks(77) {
///     sum.add(part);
/// }
/// assert_eq!(sum.total(), sum_fixed_order(&values));
/// ```
#[derive(Clone, Debug)]
pub struct FixedOrderSum {
    waiting: [f64; LEAF],
    waiting_count: usize,
    /// Sums of 1, 2, 4, … leaves; a slot holds a sum if the corresponding
    /// bit of `leaves` is set.
    levels: [f64; 64],
    leaves: u64,
}

impl Default for FixedOrderSum {
    fn default() -> Self {
        Self::new()
    }
}

impl FixedOrderSum {
    /// An empty sum.
    pub fn new() -> Self {
        FixedOrderSum {
            waiting: [0.0; LEAF],
            waiting_count: 0,
            levels: [0.0; 64],
            leaves: 0,
        }
    }

    /// Adds values after those already there.
    pub fn add(&mut self, values: &[f64]) {
        let mut rest = values;
        while !rest.is_empty() {
            let room = LEAF - self.waiting_count;
            let (now, later) = rest.split_at(room.min(rest.len()));
            rest = later;
            if now.len() == LEAF {
                self.join(leaf_sum(now));
                continue;
            }
            for (slot, value) in self.waiting.iter_mut().skip(self.waiting_count).zip(now) {
                *slot = *value;
            }
            self.waiting_count += now.len();
            if self.waiting_count == LEAF {
                let sum = leaf_sum(&self.waiting);
                self.waiting_count = 0;
                self.join(sum);
            }
        }
    }

    fn join(&mut self, leaf: f64) {
        let mut carry = leaf;
        for (level, slot) in self.levels.iter_mut().enumerate() {
            if (self.leaves >> level) & 1 == 0 {
                *slot = carry;
                break;
            }
            carry += *slot;
        }
        self.leaves += 1;
    }

    /// The sum of everything added so far.
    pub fn total(&self) -> f64 {
        let waiting = self.waiting.split_at(self.waiting_count).0;
        let mut total = leaf_sum(waiting);
        for (level, slot) in self.levels.iter().enumerate() {
            if (self.leaves >> level) & 1 == 1 {
                total += slot;
            }
        }
        total
    }
}

/// The sum of a slice in the order of [`FixedOrderSum`].
pub fn sum_fixed_order(values: &[f64]) -> f64 {
    let mut sum = FixedOrderSum::new();
    sum.add(values);
    sum.total()
}

/// Arithmetic mean; NaN for no values.
///
/// Summed about the first value, so that a large common part costs no
/// digits.
pub fn mean(values: &[f64]) -> f64 {
    let Some(&pivot) = values.first() else {
        return f64::NAN;
    };
    let mut moments = Moments::about(pivot);
    moments.add(values);
    moments.mean()
}

/// Experimental variance, divided by n − 1 (JCGM 100:2008, 4.2.2); NaN for
/// fewer than two values.
///
/// Two passes: the sum of squares is taken about the mean and corrected for
/// the mean's own rounding (T. F. Chan, G. H. Golub, R. J. LeVeque,
/// "Algorithms for computing the sample variance", 1983).
///
/// ```
/// let far_from_zero = [1e9 + 4.0, 1e9 + 7.0, 1e9 + 13.0, 1e9 + 16.0];
/// assert_eq!(statistics::moments::variance(&far_from_zero), 30.0);
/// ```
pub fn variance(values: &[f64]) -> f64 {
    covariance(values, values)
}

/// Experimental standard deviation, the square root of [`variance`].
pub fn deviation(values: &[f64]) -> f64 {
    variance(values).sqrt()
}

/// Standard deviation of the mean of independent values (JCGM 100, 4.2.3).
pub fn deviation_of_mean(values: &[f64]) -> f64 {
    (variance(values) / values.len() as f64).sqrt()
}

/// Experimental covariance of pairs, divided by n − 1 (JCGM 100:2008,
/// 5.2.3 without its further division by n, which is for means); NaN for
/// fewer than two pairs or slices of different length.
pub fn covariance(x: &[f64], y: &[f64]) -> f64 {
    if x.len() != y.len() || x.len() < 2 {
        return f64::NAN;
    }
    let (mean_x, mean_y) = (mean(x), mean(y));
    let mut products = FixedOrderSum::new();
    let (mut rest_x, mut rest_y) = (FixedOrderSum::new(), FixedOrderSum::new());
    let (mut a, mut b, mut ab) = ([0.0; LEAF], [0.0; LEAF], [0.0; LEAF]);
    for (part_x, part_y) in x.chunks(LEAF).zip(y.chunks(LEAF)) {
        let used = part_x.len();
        for ((((a, b), ab), x), y) in a
            .iter_mut()
            .zip(&mut b)
            .zip(&mut ab)
            .zip(part_x)
            .zip(part_y)
        {
            *a = x - mean_x;
            *b = y - mean_y;
            *ab = *a * *b;
        }
        products.add(ab.split_at(used).0);
        rest_x.add(a.split_at(used).0);
        rest_y.add(b.split_at(used).0);
    }
    let n = x.len() as f64;
    (products.total() - rest_x.total() * rest_y.total() / n) / (n - 1.0)
}

/// Correlation coefficient of pairs, −1 to 1 (JCGM 100:2008, 5.2.2); NaN
/// where one side does not vary.
pub fn correlation(x: &[f64], y: &[f64]) -> f64 {
    covariance(x, y) / (deviation(x) * deviation(y))
}

/// Autocorrelation of a series at a lag of `lag` samples: the sum of
/// products of deviations from the common mean, over the sum of their
/// squares (the definition of NIST/SEMATECH e-Handbook 1.3.5.12). NaN for a
/// series that does not vary or is not longer than the lag.
pub fn autocorrelation(values: &[f64], lag: usize) -> f64 {
    if values.len() <= lag || values.len() < 2 {
        return f64::NAN;
    }
    let centre = mean(values);
    let mut products = FixedOrderSum::new();
    for (a, b) in values.iter().zip(values.iter().skip(lag)) {
        products.add(&[(a - centre) * (b - centre)]);
    }
    products.total() / (variance(values) * (values.len() - 1) as f64)
}

/// Mean and variance of values that arrive in parts, the same bits for every
/// way of cutting them.
///
/// Sums are taken about a pivot; choose it near the values (a nominal result
/// or the first value), within some thousand deviations of them.
#[derive(Clone, Debug)]
pub struct Moments {
    pivot: f64,
    count: u64,
    first: FixedOrderSum,
    second: FixedOrderSum,
}

impl Moments {
    /// No values yet, sums about `pivot` (in the unit of the values).
    pub fn about(pivot: f64) -> Self {
        Moments {
            pivot,
            count: 0,
            first: FixedOrderSum::new(),
            second: FixedOrderSum::new(),
        }
    }

    /// Adds values after those already there.
    pub fn add(&mut self, values: &[f64]) {
        let mut shifted = [0.0; LEAF];
        for part in values.chunks(LEAF) {
            let (used, _) = shifted.split_at_mut(part.len().min(LEAF));
            for (slot, value) in used.iter_mut().zip(part) {
                *slot = value - self.pivot;
            }
            self.first.add(used);
            for slot in used.iter_mut() {
                *slot *= *slot;
            }
            self.second.add(used);
        }
        self.count += values.len() as u64;
    }

    /// Number of values.
    pub fn count(&self) -> u64 {
        self.count
    }

    /// Arithmetic mean; NaN for no values.
    pub fn mean(&self) -> f64 {
        self.pivot + self.first.total() / self.count as f64
    }

    /// Experimental variance, divided by n − 1; NaN for fewer than two values.
    pub fn variance(&self) -> f64 {
        if self.count < 2 {
            return f64::NAN;
        }
        let n = self.count as f64;
        let sum = self.first.total();
        ((self.second.total() - sum * sum / n) / (n - 1.0)).max(0.0)
    }

    /// Experimental standard deviation.
    pub fn deviation(&self) -> f64 {
        self.variance().sqrt()
    }
}
