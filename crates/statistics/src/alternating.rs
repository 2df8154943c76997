//! What a window of samples makes of an alternating quantity: its root mean
//! square and its peak.

use std::f64::consts::{PI, TAU};

/// sin(πNx)/(N·sin πx) with its sign: what the mean of `count` samples keeps
/// of a tone of a share of the sample rate, about the window's centre.
fn kept(share_of_rate: f64, count: u32) -> f64 {
    let whole = f64::from(count.max(1));
    let x = share_of_rate - share_of_rate.round();
    let below = whole * elementary::sin(PI * x);
    // From one multiple of the rate to the next the sign turns where the
    // count is even: samples about a centre between two of them.
    let turned = (whole - 1.0) * share_of_rate.round();
    let sign = if turned % 2.0 == 0.0 { 1.0 } else { -1.0 };
    if x == 0.0 || below == 0.0 {
        return sign;
    }
    let turns = whole * x;
    let half = if turns.round() % 2.0 == 0.0 {
        1.0
    } else {
        -1.0
    };
    sign * half * elementary::sin(PI * (turns - turns.round())) / below
}

/// Lowest and highest relative error of the root mean square of `count`
/// samples of a sine, over all phases; `share_of_rate` is its frequency in
/// shares of the sample rate. Zero for whole half-periods.
///
/// The mean of sin² over the samples is ½·(1 − D(2x)·cos 2φ) with D the
/// kernel sin(πNx)/(N·sin πx) and φ the phase at the window's centre.
///
/// ```
/// use statistics::alternating::rms_error;
/// // 20 samples over one period.
/// let (low, high) = rms_error(1.0 / 20.0, 20);
/// assert!(low.abs() < 1e-15 && high.abs() < 1e-15);
/// ```
pub fn rms_error(share_of_rate: f64, count: u32) -> (f64, f64) {
    let d = kept(2.0 * share_of_rate, count).abs();
    ((1.0 - d).max(0.0).sqrt() - 1.0, (1.0 + d).sqrt() - 1.0)
}

/// The same where the mean of the samples is taken off first, as it must be
/// for a sine about a bias: their standard deviation (divided by N) against
/// the sine's own.
///
/// ½·(1 − D(2x)) + (D(2x) − D(x)²)·sin²φ is a straight line in sin²φ, so that
/// the extremes lie at its ends.
pub fn rms_error_without_mean(share_of_rate: f64, count: u32) -> (f64, f64) {
    let (one, two) = (kept(share_of_rate, count), kept(2.0 * share_of_rate, count));
    let ends = [1.0 - two, 1.0 + two - 2.0 * one * one];
    let error = |power: f64| power.max(0.0).sqrt() - 1.0;
    let (a, b) = (error(ends[0]), error(ends[1]));
    (a.min(b), a.max(b))
}

/// Extremes of an error over a range of frequencies.
fn over(of: impl Fn(f64) -> (f64, f64), low: f64, high: f64, count: u32) -> (f64, f64) {
    // The kernels turn once in 1/N of the rate; eight points in each turn and
    // both ends; a range of a grid's tolerance has a few turns at most.
    let turns = ((high - low) * f64::from(count.max(1))).clamp(0.0, 1e4);
    let points = (16.0 * turns).ceil().max(32.0);
    let mut extremes = of(high);
    let mut k = 0.0;
    while k < points {
        let (a, b) = of(low + (high - low) * k / points);
        extremes = (extremes.0.min(a), extremes.1.max(b));
        k += 1.0;
    }
    extremes
}

/// [`rms_error`] at worst over all frequencies between two, in shares of the
/// sample rate.
pub fn largest_rms_error(low: f64, high: f64, count: u32) -> (f64, f64) {
    over(|x| rms_error(x, count), low, high, count)
}

/// [`rms_error_without_mean`] at worst over all frequencies between two.
pub fn largest_rms_error_without_mean(low: f64, high: f64, count: u32) -> (f64, f64) {
    over(|x| rms_error_without_mean(x, count), low, high, count)
}

/// Samples looked at one by one; more lie closer than any resolution.
const MOST: u32 = 1 << 16;

/// How much lower than the sine's own peak the largest of `count` samples may
/// be at the worst phase, as a share of it: 1 − cos(half the widest gap
/// between the phases met). Two, the whole swing, where less than a period is
/// looked at and the worst phase lies outside the window.
pub fn missed_peak(share_of_rate: f64, count: u32) -> f64 {
    let x = share_of_rate - share_of_rate.floor();
    let mut phases: Vec<f64> = (0..count.clamp(1, MOST))
        .map(|k| {
            let turns = f64::from(k) * x;
            turns - turns.floor()
        })
        .collect();
    phases.sort_by(f64::total_cmp);
    let first = phases.first().copied().unwrap_or(0.0);
    let last = phases.last().copied().unwrap_or(0.0);
    let widest = phases
        .windows(2)
        .map(|p| p[1] - p[0])
        .fold(first + 1.0 - last, f64::max);
    1.0 - elementary::cos(PI * widest.min(1.0))
}

/// Crest factor of a sine.
pub const SINE_CREST: f64 = std::f64::consts::SQRT_2;

/// Root mean square of a waveform of a fundamental of `rms` and harmonics as
/// shares of it: √(1 + Σh²).
pub fn with_harmonics(rms: f64, shares: &[f64]) -> f64 {
    rms * (1.0 + shares.iter().map(|h| h * h).sum::<f64>()).sqrt()
}

/// Average of the rectified sine over its root mean square: what a meter that
/// rectifies and is scaled for sines must be multiplied by, π/(2√2) = 1.1107.
pub fn form_factor_of_sine() -> f64 {
    TAU / (4.0 * SINE_CREST)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn brute(share: f64, count: u32, without_mean: bool) -> (f64, f64) {
        let (mut low, mut high) = (f64::INFINITY, f64::NEG_INFINITY);
        for p in 0..2000 {
            let (mut sum, mut squares) = (0.0, 0.0);
            for k in 0..count {
                let s = elementary::sin(TAU * (f64::from(k) * share + f64::from(p) / 2000.0));
                sum += s;
                squares += s * s;
            }
            let n = f64::from(count);
            let mean = if without_mean { sum / n } else { 0.0 };
            let rms = (squares / n - mean * mean).max(0.0).sqrt();
            let error = rms * SINE_CREST - 1.0;
            low = low.min(error);
            high = high.max(error);
        }
        (low, high)
    }

    #[test]
    fn property_errors_are_those_of_all_phases() {
        for (share, count) in [
            (0.05, 19),
            (0.0123, 40),
            (0.21, 7),
            (0.73, 8),
            (1.31, 6),
            (0.005, 50),
            (0.5, 4),
        ] {
            for without_mean in [false, true] {
                let (low, high) = if without_mean {
                    rms_error_without_mean(share, count)
                } else {
                    rms_error(share, count)
                };
                let seen = brute(share, count, without_mean);
                assert!(
                    (low - seen.0).abs() < 2e-3 && (high - seen.1).abs() < 2e-5,
                    "{share} {count} {without_mean}: {low} {high}, {seen:?}"
                );
                assert!(low <= seen.0 + 1e-12 && high >= seen.1 - 1e-12);
            }
        }
    }

    #[test]
    fn whole_half_periods_have_no_error_and_part_of_one_has() {
        for (share, count) in [(0.05, 10), (0.05, 20), (0.05, 70), (3.0 / 64.0, 64)] {
            let (low, high) = rms_error(share, count);
            assert!(low.abs() < 1e-14 && high.abs() < 1e-14, "{share} {count}");
        }
        // 1.1 periods in 22 samples: D(0.1) = sin(2.2π)/(22·sin 0.1π) =
        // 0.5878/6.798 = 0.08646; √(1 ± 0.08646) − 1.
        let (low, high) = rms_error(0.05, 22);
        assert!((low + 0.044_2).abs() < 1e-4 && (high - 0.042_3).abs() < 1e-4);
        // Off by the grid's ± 1 % in a window of one nominal period of 200.
        let (low, high) = largest_rms_error(0.00495, 0.00505, 200);
        assert!((high - 0.0049).abs() < 2e-4 && (low + 0.0050).abs() < 2e-4);
        let (low, high) = largest_rms_error_without_mean(0.00495, 0.00505, 200);
        assert!((high - 0.0049).abs() < 4e-4 && (low + 0.0050).abs() < 4e-4);
        // Samples at the zeros see nothing.
        assert_eq!(rms_error(0.5, 4).0, -1.0);
    }

    #[test]
    fn peaks_fall_between_samples() {
        // 20 samples a period: at worst half a step off, 1 − cos(π/20).
        assert!((missed_peak(0.05, 20) - (1.0 - elementary::cos(PI / 20.0))).abs() < 1e-12);
        // More of the same phases see no more.
        assert!((missed_peak(0.05, 200) - missed_peak(0.05, 20)).abs() < 1e-9);
        // Half a period may miss the peak altogether.
        assert!(missed_peak(0.05, 5) > 1.0);
        // Brute force.
        for (share, count) in [(0.0713, 29), (0.31, 11), (0.05, 14)] {
            let mut worst: f64 = 0.0;
            for p in 0..20_000 {
                let best = (0..count)
                    .map(|k| elementary::cos(TAU * (f64::from(k) * share + f64::from(p) / 2e4)))
                    .fold(-1.0, f64::max);
                worst = worst.max(1.0 - best);
            }
            assert!((missed_peak(share, count) - worst).abs() < 1e-3);
        }
    }

    #[test]
    fn published_form_of_a_sine() {
        // Crest factor √2, form factor π/(2√2) = 1.1107 (common practice);
        // a third harmonic of 30 % adds 4.4 % to the root mean square.
        assert!((form_factor_of_sine() - 1.110_72).abs() < 1e-5);
        assert!((with_harmonics(1.0, &[0.3]) - 1.044_03).abs() < 1e-5);
    }
}
