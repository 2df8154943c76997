//! What a quantiser with noise at its input gives on average.

use std::f64::consts::PI;

use crate::normal;

/// Deviation of the noise, in codes, above which the series is used; below
/// it the steps are summed one by one.
const SMOOTH: f64 = 0.1;

/// Mean of a rounding quantiser's output less its input, in codes, for an
/// input `x` (in codes) with Gaussian noise of deviation `sigma`.
///
/// Σₖ (−1)ᵏ/(πk)·sin(2πkx)·exp(−2π²k²σ²) (B. Widrow, I. Kollár,
/// "Quantization Noise", 2008, ch. 9). Averaging any number of readings
/// leaves this error.
pub fn bias(x: f64, sigma: f64) -> f64 {
    let x = x - x.round();
    if !(sigma > SMOOTH) {
        return stepwise(x, sigma);
    }
    let mut sum = 0.0;
    for k in 1..100 {
        let k = f64::from(k);
        let part = elementary::exp(-2.0 * PI * PI * k * k * sigma * sigma) / (PI * k);
        if part < 1e-18 {
            break;
        }
        let sign = if k % 2.0 == 0.0 { 1.0 } else { -1.0 };
        sum += sign * part * elementary::sin(2.0 * PI * k * x);
    }
    sum
}

/// The same as a sum over the quantiser's steps, for x within half a code.
fn stepwise(x: f64, sigma: f64) -> f64 {
    if !(sigma > 0.0) {
        return -x;
    }
    let mut mean = 0.0;
    for step in 1..8 {
        let edge = f64::from(step) - 0.5;
        mean += normal::cdf((x - edge) / sigma) - normal::cdf((-x - edge) / sigma);
    }
    mean - x
}

/// Largest |bias| over all inputs, in codes: half a code without noise,
/// (1/π)·exp(−2π²σ²) from 0.2 codes on to better than 1 %.
pub fn largest_bias(sigma: f64) -> f64 {
    if !(sigma > 0.0) {
        return 0.5;
    }
    // One hill between 0 and half a code; its top by golden section.
    let ratio = 0.5 * (5.0_f64.sqrt() - 1.0);
    let (mut low, mut high) = (0.0, 0.5);
    for _ in 0..80 {
        let a = high - ratio * (high - low);
        let b = low + ratio * (high - low);
        if bias(a, sigma).abs() > bias(b, sigma).abs() {
            high = b;
        } else {
            low = a;
        }
    }
    bias(0.5 * (low + high), sigma).abs()
}

/// The first term of the series alone: (1/π)·exp(−2π²σ²), the rule for noise
/// of 0.2 codes and more.
pub fn first_term(sigma: f64) -> f64 {
    elementary::exp(-2.0 * PI * PI * sigma * sigma) / PI
}

/// Deviation of the noise, in codes, for which the largest bias is `codes`.
/// `None` unless that lies between zero and one half.
pub fn sigma_for(codes: f64) -> Option<f64> {
    if !(codes > 0.0 && codes < 0.5) {
        return None;
    }
    let (mut low, mut high) = (0.0, 4.0);
    for _ in 0..100 {
        let middle = 0.5 * (low + high);
        if largest_bias(middle) > codes {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(high)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::stream;

    #[test]
    fn reference_simulated_quantiser() {
        // Mean of rounded values of inputs with noise, against the series:
        // four standard errors.
        let trials = 400_000;
        let mut z = vec![0.0; trials];
        stream::fill_uniform(stream::key(3, 5), 0, &mut z);
        normal::fill_quantile(&mut z);
        for sigma in [0.05, 0.15, 0.25, 0.4] {
            for x in [0.1, 0.25, 0.4] {
                let mean: f64 =
                    z.iter().map(|z| (x + sigma * z).round()).sum::<f64>() / trials as f64;
                let expected = x + bias(x, sigma);
                let limit = 4.0 * 0.5 / (trials as f64).sqrt();
                assert!((mean - expected).abs() < limit, "{sigma} {x}");
            }
        }
    }

    #[test]
    fn property_first_term_is_enough_from_a_fifth_of_a_code() {
        for sigma in [0.2, 0.3, 0.5, 1.0] {
            let ratio = largest_bias(sigma) / first_term(sigma);
            assert!((ratio - 1.0).abs() < 0.01, "{sigma}: {ratio}");
        }
        // Below it is not: without noise it would be 0.318 instead of 0.5.
        assert!(largest_bias(0.02) > 0.44);
        assert_eq!(largest_bias(0.0), 0.5);
    }

    #[test]
    fn property_both_sums_agree() {
        for x in [-0.4, -0.1, 0.0, 0.2, 0.49] {
            let sigma = SMOOTH * (1.0 + 1e-12);
            assert!((bias(x, sigma) - stepwise(x, sigma)).abs() < 1e-9);
        }
    }

    #[test]
    fn noise_for_a_bias_is_found_again() {
        for codes in [0.3, 0.1, 0.01, 1e-4] {
            let sigma = sigma_for(codes).unwrap();
            assert!((largest_bias(sigma) / codes - 1.0).abs() < 1e-6);
        }
        assert_eq!(sigma_for(0.5), None);
        assert_eq!(sigma_for(f64::NAN), None);
    }
}
