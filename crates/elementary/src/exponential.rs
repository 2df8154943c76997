//! The exponential function.

/// ln 2 in two parts; the high part has enough trailing zeros that its
/// product with any exponent is exact (W. J. Cody, W. Waite, "Software Manual
/// for the Elementary Functions", 1980).
const LN2_HIGH: f64 = 6.931_471_803_691_238e-1;
const LN2_LOW: f64 = 1.908_214_929_270_587_7e-10;
/// Adding and subtracting 1.5·2^52 rounds to the nearest integer.
const ROUNDER: f64 = 6_755_399_441_055_744.0;

/// 2 to the power k, exact, for the integer k held in the low bits of
/// `k + ROUNDER`; |k| at most 1022.
#[inline(always)]
fn two_to(k_shifted: f64) -> f64 {
    f64::from_bits((k_shifted.to_bits().wrapping_add(1023)) << 52)
}

/// e to the power x.
///
/// Overflows to infinity above 709.78, underflows through the subnormal
/// numbers to zero below −745.13; NaN gives NaN.
#[inline(always)]
pub fn exp(x: f64) -> f64 {
    let bounded = if x > 710.0 { 710.0 } else { x };
    let bounded = if bounded < -746.0 { -746.0 } else { bounded };
    let k_shifted = bounded * std::f64::consts::LOG2_E + ROUNDER;
    let k = k_shifted - ROUNDER;
    let r = (bounded - k * LN2_HIGH) - k * LN2_LOW;
    // Taylor's series to the thirteenth power; |r| ≤ 0.347, so what is left
    // out is below 5e-18.
    let mut p = 1.0 / 6_227_020_800.0;
    p = p * r + 1.0 / 479_001_600.0;
    p = p * r + 1.0 / 39_916_800.0;
    p = p * r + 1.0 / 3_628_800.0;
    p = p * r + 1.0 / 362_880.0;
    p = p * r + 1.0 / 40_320.0;
    p = p * r + 1.0 / 5_040.0;
    p = p * r + 1.0 / 720.0;
    p = p * r + 1.0 / 120.0;
    p = p * r + 1.0 / 24.0;
    p = p * r + 1.0 / 6.0;
    p = p * r + 0.5;
    let y = 1.0 + (r + r * r * p);
    // Two factors, since 2^k alone may lie outside the normal numbers.
    let half_shifted = k * 0.5 + ROUNDER;
    let half = half_shifted - ROUNDER;
    let rest_shifted = (k - half) + ROUNDER;
    y * two_to(half_shifted) * two_to(rest_shifted)
}

/// 2 to the power x.
#[inline(always)]
pub fn exp2(x: f64) -> f64 {
    // Splitting x keeps the product with ln 2 accurate for large x.
    let n = (x + ROUNDER) - ROUNDER;
    let n = if x.abs() < 2000.0 { n } else { 0.0 };
    let fraction = exp((x - n) * std::f64::consts::LN_2);
    let half_shifted = n * 0.5 + ROUNDER;
    let half = half_shifted - ROUNDER;
    let rest_shifted = (n - half) + ROUNDER;
    let bounded = n.abs() <= 2040.0;
    let scaled = fraction * two_to(half_shifted) * two_to(rest_shifted);
    let extreme = if x > 0.0 { f64::INFINITY } else { 0.0 };
    if x.is_nan() {
        x
    } else if bounded && x.abs() < 2000.0 {
        scaled
    } else {
        extreme
    }
}

/// Hyperbolic tangent, ±1 beyond |x| of about 20.
#[inline(always)]
pub fn tanh(x: f64) -> f64 {
    let a = x.abs();
    let e = exp(-2.0 * a);
    let wide = (1.0 - e) / (1.0 + e);
    // Near zero the difference 1 − e loses digits; a continued fraction
    // does not.
    let s = x * x;
    let near = a / (1.0 + s / (3.0 + s / (5.0 + s / (7.0 + s / (9.0 + s / 11.0)))));
    let magnitude = if a < 0.3 { near } else { wide };
    magnitude.copysign(x)
}

#[cfg(test)]
#[allow(
    clippy::disallowed_methods,
    reason = "the platform's functions are what is compared with"
)]
mod tests {
    use super::*;

    #[test]
    fn reference_exp_against_the_platform() {
        let mut worst = 0.0_f64;
        let mut x = -700.0;
        while x < 709.0 {
            let (ours, theirs) = (exp(x), x.exp());
            worst = worst.max(((ours - theirs) / theirs).abs());
            x += 0.007_31;
        }
        assert!(worst < 4.5e-16, "largest relative difference {worst:e}");
    }

    #[test]
    fn ends_of_the_range() {
        assert_eq!(exp(0.0), 1.0);
        assert_eq!(exp(710.0), f64::INFINITY);
        assert_eq!(exp(f64::INFINITY), f64::INFINITY);
        assert_eq!(exp(-800.0), 0.0);
        assert_eq!(exp(f64::NEG_INFINITY), 0.0);
        assert!(exp(f64::NAN).is_nan());
        assert!(exp(-745.0) > 0.0);
    }

    #[test]
    fn reference_exp2_and_tanh_against_the_platform() {
        for i in -2000..2000 {
            let x = f64::from(i) * 0.31;
            assert!((exp2(x) / x.exp2() - 1.0).abs() < 6e-16, "2^{x}");
            let t = f64::from(i) * 0.003;
            assert!(
                (tanh(t) - t.tanh()).abs() <= 9e-16 * t.tanh().abs().max(1e-300),
                "tanh {t}"
            );
        }
        assert_eq!(exp2(3.0), 8.0);
        assert_eq!(exp2(1e300), f64::INFINITY);
        assert_eq!(exp2(-1e300), 0.0);
    }
}
