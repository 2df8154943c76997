//! Logarithms.

const LN2_HIGH: f64 = 6.931_471_803_691_238e-1;
const LN2_LOW: f64 = 1.908_214_929_270_587_7e-10;

/// Natural logarithm.
///
/// Zero gives −∞, a negative number NaN, +∞ gives +∞.
///
/// The rational form in s = f/(2 + f) with the coefficients published with
/// the freely distributable mathematical library of Sun Microsystems (1993),
/// error below one unit in the last place.
#[inline(always)]
pub fn ln(x: f64) -> f64 {
    let small = x < f64::MIN_POSITIVE;
    let scaled = if small {
        x * 18_014_398_509_481_984.0
    } else {
        x
    };
    let bias = if small { 1023.0 + 54.0 } else { 1023.0 };
    // Move the boundary between exponents to √½ so that m lies in [√½, √2).
    let bits = scaled
        .to_bits()
        .wrapping_add(0x3ff0_0000_0000_0000 - 0x3fe6_a09e_667f_3bcd);
    let exponent_bits = bits >> 52;
    let m = f64::from_bits((bits & 0x000f_ffff_ffff_ffff).wrapping_add(0x3fe6_a09e_667f_3bcd));
    // An integer below 2^52 becomes a float by setting the exponent of 2^52.
    let e = f64::from_bits(exponent_bits | 0x4330_0000_0000_0000) - 4_503_599_627_370_496.0 - bias;
    let f = m - 1.0;
    let s = f / (2.0 + f);
    let z = s * s;
    let w = z * z;
    let t1 = w
        * (3.999_999_999_940_942e-1
            + w * (2.222_219_843_214_978_4e-1 + w * 1.531_383_769_920_937_3e-1));
    let t2 = z
        * (6.666_666_666_666_735e-1
            + w * (2.857_142_874_366_239e-1
                + w * (1.818_357_216_161_805e-1 + w * 1.479_819_860_511_658_6e-1)));
    let r = t1 + t2;
    let half_square = 0.5 * f * f;
    let y = e * LN2_HIGH - ((half_square - (s * (half_square + r) + e * LN2_LOW)) - f);
    let y = if x == f64::INFINITY { x } else { y };
    let y = if x == 0.0 { f64::NEG_INFINITY } else { y };
    if x < 0.0 || x.is_nan() { f64::NAN } else { y }
}

/// Logarithm to base 2.
#[inline(always)]
pub fn log2(x: f64) -> f64 {
    ln(x) * std::f64::consts::LOG2_E
}

/// Logarithm to base 10.
#[inline(always)]
pub fn log10(x: f64) -> f64 {
    ln(x) * std::f64::consts::LOG10_E
}

#[cfg(test)]
#[allow(
    clippy::disallowed_methods,
    reason = "the platform's functions are what is compared with"
)]
mod tests {
    use super::*;

    #[test]
    fn reference_ln_against_the_platform() {
        let mut x = 1e-320_f64;
        let mut worst = 0.0_f64;
        while x < 1e308 {
            let (ours, theirs) = (ln(x), x.ln());
            worst = worst.max((ours - theirs).abs() / theirs.abs().max(1e-3));
            x *= 1.003_7;
        }
        assert!(worst < 4e-16, "largest relative difference {worst:e}");
        let mut worst_near_one = 0.0_f64;
        for i in -10_000..10_000 {
            let x = 1.0 + f64::from(i) * 2.9e-5;
            let theirs = x.ln();
            if theirs != 0.0 {
                worst_near_one = worst_near_one.max(((ln(x) - theirs) / theirs).abs());
            }
        }
        assert!(worst_near_one < 4e-16, "{worst_near_one:e}");
    }

    #[test]
    fn special_values() {
        assert_eq!(ln(0.0), f64::NEG_INFINITY);
        assert!(ln(-1.0).is_nan());
        assert!(ln(f64::NAN).is_nan());
        assert_eq!(ln(f64::INFINITY), f64::INFINITY);
        assert_eq!(ln(1.0), 0.0);
        assert!((log10(1000.0) - 3.0).abs() < 1e-15);
        assert!((log2(8.0) - 3.0).abs() < 1e-15);
    }
}
