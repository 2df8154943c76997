//! Where tones appear after sampling.

/// Apparent frequency of a tone sampled at a rate, Hz, between zero and half
/// the rate.
///
/// ```
/// // The fourth harmonic of a grid at 51.375 Hz, at 200 samples per second.
/// assert_eq!(statistics::alias::frequency(4.0 * 51.375, 200.0), 5.5);
/// ```
pub fn frequency(hz: f64, rate_hz: f64) -> f64 {
    (hz - rate_hz * (hz / rate_hz).round()).abs()
}

/// Lowest and highest apparent frequency of a tone that lies anywhere between
/// two frequencies, Hz.
///
/// A harmonic of a grid within its tolerance covers the tolerance times its
/// number; it may fold at zero or at half the rate.
pub fn range(low_hz: f64, high_hz: f64, rate_hz: f64) -> (f64, f64) {
    let half = 0.5 * rate_hz;
    let ends = [frequency(low_hz, rate_hz), frequency(high_hz, rate_hz)];
    let mut low = ends[0].min(ends[1]);
    let mut high = ends[0].max(ends[1]);
    // Folds are at multiples of half the rate: even ones at zero.
    let first = (low_hz / half).ceil();
    let last = (high_hz / half).floor();
    if last - first >= 1.0 {
        return (0.0, half);
    }
    if last >= first {
        if first % 2.0 == 0.0 {
            low = 0.0;
        } else {
            high = half;
        }
    }
    (low, high)
}

/// Sample rates between two bounds at which a tone appears at `seen_hz`, Hz,
/// rising: (tone ± seen)/k for whole k. No more than `most`, the highest.
pub fn rates(hz: f64, seen_hz: f64, low_hz: f64, high_hz: f64, most: usize) -> Vec<f64> {
    let mut list = Vec::new();
    if !(low_hz > 0.0 && high_hz >= low_hz && high_hz.is_finite() && hz.is_finite()) {
        return list;
    }
    for sum in [hz - seen_hz, hz + seen_hz] {
        let mut k = (sum / high_hz).ceil().max(1.0);
        let mut taken = 0;
        while sum / k >= low_hz && taken < most {
            let rate = sum / k;
            // Half the rate is the highest that can be seen.
            if seen_hz <= 0.5 * rate {
                list.push(rate);
            }
            k += 1.0;
            taken += 1;
        }
    }
    list.sort_by(f64::total_cmp);
    list.dedup();
    let excess = list.len().saturating_sub(most);
    list.drain(..excess);
    list
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_slow_sine_is_a_mains_harmonic() {
        // "Source of 5.5 Hz noise showing up on ADC" (itecnotes.com): a sine
        // of 5.5 Hz at 200 samples per second. A grid at 51.375 Hz does it;
        // more likely the grid is at 50 Hz and the rate is not 200.
        assert_eq!(frequency(4.0 * 51.375, 200.0), 5.5);
        assert_eq!(rates(200.0, 5.5, 150.0, 250.0, 9), vec![194.5, 205.5]);
        // At exactly 200 the harmonic hides at zero.
        assert_eq!(frequency(200.0, 200.0), 0.0);
        // The test: one sample per second more moves the tone by one hertz.
        assert_eq!(frequency(4.0 * 51.375, 201.0), 4.5);
    }

    #[test]
    fn range_folds_at_zero_and_at_half_the_rate() {
        // Fourth harmonic of 49.5 to 50.5 Hz: 198 to 202 Hz.
        assert_eq!(range(198.0, 202.0, 200.0), (0.0, 2.0));
        assert_eq!(range(198.0, 202.0, 401.0), (198.0, 200.5));
        assert_eq!(range(198.0, 202.0, 500.0), (198.0, 202.0));
        assert_eq!(range(0.0, 1000.0, 100.0), (0.0, 50.0));
    }

    #[test]
    fn property_a_sampled_tone_is_its_alias() {
        for (hz, rate) in [(205.5, 200.0), (1234.5, 333.0), (60.0, 1000.0)] {
            let seen = frequency(hz, rate);
            assert!((0.0..=0.5 * rate).contains(&seen));
            for k in 0..20 {
                let t = f64::from(k) / rate;
                let wave = |f: f64| elementary::cos(std::f64::consts::TAU * f * t);
                assert!((wave(hz) - wave(seen)).abs() < 1e-11);
            }
        }
    }
}
