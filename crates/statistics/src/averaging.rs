//! What averaging does, to correlated samples too.

use std::f64::consts::PI;

/// Variance of the mean of `count` equally spaced samples as a share of the
/// variance of one: (1/N²)·ΣΣ ρ(i − j), from the correlation of samples
/// `lag` apart (ρ(0) is taken as one).
///
/// Independent samples give 1/N; samples that agree give 1, however many.
///
/// ```
/// use statistics::averaging::variance_share;
/// assert_eq!(variance_share(16, |_| 0.0), 1.0 / 16.0);
/// assert_eq!(variance_share(16, |_| 1.0), 1.0);
/// ```
pub fn variance_share(count: u32, correlation: impl Fn(u32) -> f64) -> f64 {
    let whole = f64::from(count.max(1));
    let pairs: f64 = (1..count.max(1))
        .map(|lag| (whole - f64::from(lag)) * correlation(lag))
        .sum();
    (whole + 2.0 * pairs) / (whole * whole)
}

/// Number of independent samples whose mean varies as much: N for white
/// noise, less for a positive correlation.
pub fn effective_count(count: u32, correlation: impl Fn(u32) -> f64) -> f64 {
    1.0 / variance_share(count, correlation)
}

/// Share of a tone's power that the mean of `count` samples keeps, at a
/// frequency in shares of the sample rate: (sin πNx / (N·sin πx))². Zero at
/// multiples of 1/N, one at multiples of the sample rate.
pub fn window_power(share_of_rate: f64, count: u32) -> f64 {
    let whole = f64::from(count.max(1));
    // Sine is taken near zero, where it is exact: both have period one in x.
    let x = share_of_rate - share_of_rate.round();
    let below = whole * elementary::sin(PI * x);
    if x == 0.0 || below == 0.0 {
        return 1.0;
    }
    let turns = whole * x;
    let near = turns - turns.round();
    let amplitude = elementary::sin(PI * near) / below;
    amplitude * amplitude
}

/// Largest share of a tone's power that the mean of `count` samples may keep
/// when the tone lies anywhere between two frequencies, in shares of the
/// sample rate: the ends, the tops of the lobes between them, and one at
/// a multiple of the sample rate.
pub fn largest_power(low: f64, high: f64, count: u32) -> f64 {
    let ends = window_power(low, count).max(window_power(high, count));
    if high.floor() > low.floor() || low == low.floor() {
        return 1.0;
    }
    let whole = f64::from(count.max(1));
    // The tops lie near the middle between the nulls; each is found between
    // its own. Away from the sample rate they fall, so the outermost two and
    // their neighbours are enough.
    let (first, last) = ((low * whole).floor(), (high * whole).floor());
    let mut best = ends;
    for lobe in [first, first + 1.0, last - 1.0, last] {
        if lobe < first || lobe > last {
            continue;
        }
        let (mut a, mut b) = ((lobe / whole).max(low), ((lobe + 1.0) / whole).min(high));
        for _ in 0..100 {
            let (x, y) = (a + 0.382 * (b - a), b - 0.382 * (b - a));
            if window_power(x, count) > window_power(y, count) {
                b = y;
            } else {
                a = x;
            }
        }
        best = best.max(window_power(0.5 * (a + b), count));
    }
    best
}

/// The number of samples up to `most` whose mean keeps least of a tone that
/// may lie anywhere between two frequencies (in shares of the sample rate),
/// and the share of its power it keeps at worst: a whole number of periods,
/// where one fits. The fewest of equals; `None` where `most` is zero.
pub fn best_count(low: f64, high: f64, most: u32) -> Option<(u32, f64)> {
    (1..=most)
        .map(|count| (count, largest_power(low, high, count)))
        .reduce(|best, next| if next.1 < best.1 { next } else { best })
}

/// Share of a tone's power kept by a filter of `order` such means one after
/// another, as the digital filter of a delta-sigma converter is built (E.
/// Hogenauer, IEEE Transactions ASSP 29, 1981): `count` modulator samples go
/// into each.
pub fn sinc_power(share_of_rate: f64, count: u32, order: u32) -> f64 {
    let one = window_power(share_of_rate, count);
    (0..order).fold(1.0, |product, _| product * one)
}

/// Share of the data rate (the first notch) at which a filter of `order` long
/// means one after another has lost half of the power: (sin πx/πx)^2k = 1/2.
/// 0.443, 0.319, 0.262, 0.228 for orders from one to four.
pub fn sinc_half_power(order: u32) -> f64 {
    let (mut low, mut high) = (1e-9, 1.0);
    let target = elementary::exp2(-0.5 / f64::from(order.max(1)));
    for _ in 0..100 {
        let x = 0.5 * (low + high);
        if elementary::sin(PI * x) / (PI * x) > target {
            low = x;
        } else {
            high = x;
        }
    }
    0.5 * (low + high)
}

/// Noise bandwidth of the same filter as a share of the data rate:
/// ∫ (sin πx/πx)^2k dx from 0 to ∞, which is 1/2, 1/3, 11/40, 151/630 for
/// orders from one to four: half of a B-spline's middle value,
/// Σ (−1)ʲ·C(2k, j)·(k − j)^(2k − 1)/(2k − 1)!. Up to order eight; beyond it
/// that of order eight.
pub fn sinc_noise_bandwidth(order: u32) -> f64 {
    let k = order.clamp(1, 8);
    let mut sum = 0.0;
    let mut binomial = 1.0;
    for j in 0..k {
        let base = f64::from(k - j);
        let power = (1..2 * k).fold(1.0, |p, _| p * base);
        sum += if j % 2 == 0 {
            binomial * power
        } else {
            -(binomial * power)
        };
        binomial *= f64::from(2 * k - j) / f64::from(j + 1);
    }
    let factorial = (1..2 * k).fold(1.0, |f, i| f * f64::from(i));
    0.5 * sum / factorial
}

/// Share of the sample rate at which the power of the mean of `count` has
/// fallen to one half (−3 dB). `None` for fewer than two.
pub fn half_power(count: u32) -> Option<f64> {
    if count < 2 {
        return None;
    }
    let (mut low, mut high) = (0.0, 1.0 / f64::from(count));
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        if window_power(middle, count) > 0.5 {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(0.5 * (low + high))
}

/// The recursive filter y ← y + a·(x − y), 0 < a ≤ 1.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Recursive {
    /// Weight of the newest sample.
    pub weight: f64,
}

impl Recursive {
    /// Variance of its output for white noise of variance one: a/(2 − a).
    pub fn variance_share(&self) -> f64 {
        self.weight / (2.0 - self.weight)
    }

    /// Share of a tone's power it keeps, at a share of the sample rate:
    /// a²/(1 − 2(1 − a)·cos 2πx + (1 − a)²).
    pub fn power(&self, share_of_rate: f64) -> f64 {
        let (a, rest) = (self.weight, 1.0 - self.weight);
        // 1 − 2r·cos + r² = (1 − r)² + 4r·sin².
        let s = elementary::sin(PI * share_of_rate);
        a * a / (a * a + 4.0 * rest * s * s)
    }

    /// Share of the sample rate at which the power has fallen to one half;
    /// `None` where it does not fall so far.
    pub fn half_power(&self) -> Option<f64> {
        let (a, rest) = (self.weight, 1.0 - self.weight);
        let squared = a * a / (4.0 * rest);
        if !(squared <= 1.0) {
            return None;
        }
        let s = squared.sqrt();
        Some(elementary::atan2(s, (1.0 - squared).sqrt()) / PI)
    }
}

/// Noise bandwidth over −3 dB bandwidth of `poles` equal poles one after
/// another.
///
/// ∫ (1 + x²)⁻ⁿ dx from 0 to ∞ is (π/2)·Π (2k − 1)/(2k) for k < n; the −3 dB
/// point is √(2^(1/n) − 1). One pole gives π/2, two 1.2203: not the 1.22 and
/// 1.1547 of tables that mean other families.
pub fn equal_poles_bandwidth(poles: u32) -> f64 {
    let area = (1..poles.max(1)).fold(0.5 * PI, |area, k| {
        area * (2.0 * f64::from(k) - 1.0) / (2.0 * f64::from(k))
    });
    let root = elementary::exp2(1.0 / f64::from(poles.max(1)));
    area / (root - 1.0).sqrt()
}

/// Noise bandwidth over −3 dB bandwidth of a Butterworth filter of `poles`
/// poles: π/(2n·sin(π/2n)).
pub fn butterworth_bandwidth(poles: u32) -> f64 {
    let angle = PI / (2.0 * f64::from(poles.max(1)));
    angle / elementary::sin(angle)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(value: f64, expected: f64, relative: f64) {
        assert!(
            (value / expected - 1.0).abs() <= relative,
            "{value} is not {expected}"
        );
    }

    #[test]
    #[allow(clippy::approx_constant, reason = "as printed")]
    fn published_noise_bandwidths() {
        // Butterworth: S. Winder, "Analog and Digital Filter Design", p. 426;
        // equal poles: closed form, computed with scipy 1.17.
        let equal = [1.570_796, 1.220_331, 1.155_395, 1.128_499, 1.113_845];
        let butterworth = [1.570_796, 1.110_721, 1.047_198, 1.026_172, 1.016_641];
        for (n, (equal, butterworth)) in (1..).zip(equal.into_iter().zip(butterworth)) {
            close(equal_poles_bandwidth(n), equal, 5e-7);
            close(butterworth_bandwidth(n), butterworth, 5e-7);
        }
        // Towards a Gaussian: √(π/(4·ln 2)).
        close(equal_poles_bandwidth(100_000), 1.064_467, 1e-5);
    }

    #[test]
    fn reference_moving_average_and_recursive_filter() {
        // Half-power points and variance shares computed with numpy 2.4.
        for (count, share) in [
            (2, 0.25),
            (4, 0.113_848),
            (8, 0.055_745_4),
            (16, 0.027_730_9),
        ] {
            close(half_power(count).unwrap(), share, 5e-6);
        }
        assert_eq!(half_power(1), None);
        for (weight, variance, share) in [
            (0.5, 1.0 / 3.0, 0.115_027),
            (0.1, 0.052_631_6, 0.016_784_2),
            (1.0 / 16.0, 0.032_258_1, 0.010_275_2),
            (0.01, 0.005_025_13, 0.001_599_57),
        ] {
            let filter = Recursive { weight };
            close(filter.variance_share(), variance, 2e-6);
            close(filter.half_power().unwrap(), share, 5e-6);
            close(filter.power(filter.half_power().unwrap()), 0.5, 1e-12);
        }
        assert_eq!(Recursive { weight: 1.0 }.half_power(), None);
    }

    #[test]
    fn property_a_null_is_a_null() {
        for count in [2u32, 7, 16, 1000] {
            for k in 1..count.min(20) {
                let share = f64::from(k) / f64::from(count);
                assert!(window_power(share, count) < 1e-28, "{k}/{count}");
                assert!(sinc_power(share + 3.0, count, 3) < 1e-70);
            }
            assert_eq!(window_power(5.0, count), 1.0);
        }
    }

    #[test]
    fn property_mean_of_correlated_samples() {
        // A first-order process: ρ = r^lag. Closed form
        // (1 + 2r/(1 − r)·(1 − (1 − r^N)/(N(1 − r))))/N.
        for (count, r) in [(4u32, 0.5), (100, 0.9), (7, -0.3)] {
            let mut power = vec![1.0];
            for k in 1..count as usize {
                power.push(power[k - 1] * r);
            }
            let whole = f64::from(count);
            let last = power[count as usize - 1] * r;
            let closed =
                (1.0 + 2.0 * r / (1.0 - r) * (1.0 - (1.0 - last) / (whole * (1.0 - r)))) / whole;
            close(
                variance_share(count, |lag| power[lag as usize]),
                closed,
                1e-12,
            );
        }
        // The window seen in frequency averages white noise alike: the mean
        // of its power over one period is 1/N.
        let count = 12;
        let points = 4096;
        let mean: f64 = (0..points)
            .map(|k| window_power((f64::from(k) + 0.5) / f64::from(points), count))
            .sum::<f64>()
            / f64::from(points);
        close(mean, 1.0 / 12.0, 1e-12);
    }

    #[test]
    fn property_largest_power_is_met_and_never_exceeded() {
        for (low, high, count) in [
            (0.11, 0.13, 8),
            (0.3, 0.9, 5),
            (0.02, 0.021, 100),
            (2.4, 2.9, 7),
        ] {
            let largest = largest_power(low, high, count);
            let seen = (0..=20_000)
                .map(|k| window_power(low + (high - low) * f64::from(k) / 2e4, count))
                .fold(0.0, f64::max);
            assert!(seen <= largest * (1.0 + 1e-9) && largest <= seen * (1.0 + 1e-4));
        }
        assert_eq!(largest_power(0.9, 1.1, 16), 1.0);
        assert_eq!(largest_power(0.0, 0.1, 16), 1.0);
    }

    #[test]
    fn a_window_of_whole_periods_nulls_the_mains() {
        // 50 Hz ± 1 % at 1000 samples per second: 20 samples are one period,
        // 40 two; at the grid's edges 20 still keep 1 % of the amplitude.
        let (count, kept) = best_count(0.05, 0.05, 30).unwrap();
        assert_eq!(count, 20);
        assert!(kept < 1e-28);
        let kept = largest_power(0.0495, 0.0505, 20).sqrt();
        assert!((kept - 0.01).abs() < 5e-4, "{kept}");
        assert_eq!(best_count(0.1, 0.1, 0), None);
    }

    #[test]
    fn published_sinc_filters() {
        // −3 dB at 0.443, 0.319, 0.262 and 0.228 of the data rate (common
        // practice in data sheets of delta-sigma converters); the integrals
        // are Gradshteyn and Ryzhik 3.836 (from memory).
        for (order, share) in [(1, 0.443), (2, 0.319), (3, 0.262), (4, 0.2275)] {
            assert!((sinc_half_power(order) - share).abs() < 6e-4);
            let long = sinc_power(sinc_half_power(order) / 512.0, 512, order);
            close(long, 0.5, 1e-5);
        }
        for (order, area) in [
            (1, 0.5),
            (2, 1.0 / 3.0),
            (3, 11.0 / 40.0),
            (4, 151.0 / 630.0),
        ] {
            close(sinc_noise_bandwidth(order), area, 1e-12);
        }
        // Order eight by quadrature.
        let rule = crate::quadrature::gauss_legendre(32);
        let breaks: Vec<f64> = (0..40).map(|k| 1e-12 + f64::from(k)).collect();
        let area = crate::quadrature::integrate(&rule, &breaks, |x| {
            let s = elementary::sin(PI * x) / (PI * x);
            (0..16).fold(1.0, |p, _| p * s)
        });
        close(sinc_noise_bandwidth(8), area, 1e-9);
    }
}
