//! Circular functions.

/// π/2 in three parts, the first two exact in products with small integers
/// (Cody and Waite, 1980).
const HALF_PI_1: f64 = 1.570_796_326_734_125_6;
const HALF_PI_2: f64 = 6.077_100_506_303_966e-11;
const HALF_PI_3: f64 = 2.022_266_248_795_951e-21;
const ROUNDER: f64 = 6_755_399_441_055_744.0;

/// The quadrant (modulo 4) and what is left of the angle, |r| ≤ π/4.
#[inline(always)]
fn reduce(x: f64) -> (u64, f64) {
    let shifted = x * std::f64::consts::FRAC_2_PI + ROUNDER;
    let n = shifted - ROUNDER;
    let r = ((x - n * HALF_PI_1) - n * HALF_PI_2) - n * HALF_PI_3;
    (shifted.to_bits() & 3, r)
}

#[inline(always)]
fn sin_near(r: f64) -> f64 {
    let z = r * r;
    let mut p = 1.0 / 355_687_428_096_000.0;
    p = p * z - 1.0 / 1_307_674_368_000.0;
    p = p * z + 1.0 / 6_227_020_800.0;
    p = p * z - 1.0 / 39_916_800.0;
    p = p * z + 1.0 / 362_880.0;
    p = p * z - 1.0 / 5_040.0;
    p = p * z + 1.0 / 120.0;
    p = p * z - 1.0 / 6.0;
    r + r * z * p
}

#[inline(always)]
fn cos_near(r: f64) -> f64 {
    let z = r * r;
    let mut p = -1.0 / 6_402_373_705_728_000.0;
    p = p * z + 1.0 / 20_922_789_888_000.0;
    p = p * z - 1.0 / 87_178_291_200.0;
    p = p * z + 1.0 / 479_001_600.0;
    p = p * z - 1.0 / 3_628_800.0;
    p = p * z + 1.0 / 40_320.0;
    p = p * z - 1.0 / 720.0;
    p = p * z + 1.0 / 24.0;
    1.0 - (0.5 * z - z * z * p)
}

/// Sine of x radians; meant for |x| below 1e6, NaN beyond 1e9 where the
/// reduced angle would have no digits left.
#[inline(always)]
pub fn sin(x: f64) -> f64 {
    let (quadrant, r) = reduce(x);
    let value = if quadrant & 1 == 0 {
        sin_near(r)
    } else {
        cos_near(r)
    };
    let value = if quadrant & 2 == 0 { value } else { -value };
    if x.abs() <= 1e9 { value } else { f64::NAN }
}

/// Cosine of x radians; same domain as [`sin`].
#[inline(always)]
pub fn cos(x: f64) -> f64 {
    let (quadrant, r) = reduce(x);
    let value = if quadrant & 1 == 0 {
        cos_near(r)
    } else {
        sin_near(r)
    };
    let negative = (quadrant + 1) & 2 != 0;
    let value = if negative { -value } else { value };
    if x.abs() <= 1e9 { value } else { f64::NAN }
}

/// Arc tangent in radians.
///
/// Reduced twice to |t| ≤ tan(π/16) by
/// atan t = atan c + atan((t − c)/(1 + c·t)), then Taylor's series.
#[inline(always)]
pub fn atan(x: f64) -> f64 {
    let a = x.abs();
    let inverted = a > 1.0;
    let t = if inverted { 1.0 / a } else { a };
    // tan(π/8) and tan(π/16)
    const TAN_EIGHTH: f64 = 0.414_213_562_373_095_03;
    const TAN_SIXTEENTH: f64 = 0.198_912_367_379_658;
    let shifted_far = t > TAN_EIGHTH;
    let t1 = if shifted_far {
        (t - 1.0) / (t + 1.0)
    } else {
        t
    };
    let base1 = if shifted_far {
        std::f64::consts::FRAC_PI_4
    } else {
        0.0
    };
    let b = t1.abs();
    let shifted_near = b > TAN_SIXTEENTH;
    let t2 = if shifted_near {
        (b - TAN_EIGHTH) / (1.0 + b * TAN_EIGHTH)
    } else {
        b
    };
    let base2 = if shifted_near {
        std::f64::consts::FRAC_PI_8
    } else {
        0.0
    };
    let z = t2 * t2;
    let mut p = 1.0 / 23.0;
    for n in [21.0, 19.0, 17.0, 15.0, 13.0, 11.0, 9.0, 7.0, 5.0, 3.0] {
        p = 1.0 / n - p * z;
    }
    let small = base2 + (t2 - t2 * z * p);
    let angle = base1 + small.copysign(t1);
    let angle = if inverted {
        std::f64::consts::FRAC_PI_2 - angle
    } else {
        angle
    };
    angle.copysign(x)
}

/// Angle of the point (x, y) in radians, −π to π; zero at the origin.
#[inline(always)]
pub fn atan2(y: f64, x: f64) -> f64 {
    let base = atan(y / x);
    let base = if y == 0.0 && x == 0.0 { 0.0 } else { base };
    let turned = if y >= 0.0 {
        base + std::f64::consts::PI
    } else {
        base - std::f64::consts::PI
    };
    if x < 0.0 { turned } else { base }
}

#[cfg(test)]
#[allow(
    clippy::disallowed_methods,
    reason = "the platform's functions are what is compared with"
)]
mod tests {
    use super::*;

    #[test]
    fn reference_circular_against_the_platform() {
        for i in -200_000..200_000 {
            let x = f64::from(i) * 0.013_7;
            assert!(
                (sin(x) - x.sin()).abs() < 3e-16,
                "sin {x}: {} {}",
                sin(x),
                x.sin()
            );
            assert!((cos(x) - x.cos()).abs() < 3e-16, "cos {x}");
            let t = f64::from(i) * 0.000_31;
            assert!(
                (atan(t) - t.atan()).abs() < 4.5e-16,
                "atan {t}: {:e}",
                atan(t) - t.atan()
            );
        }
        for (y, x) in [
            (1.0, -2.0),
            (-1.0, -2.0),
            (0.5, 3.0),
            (0.0, -1.0),
            (2.0, 0.0),
            (-2.0, 0.0),
        ] {
            assert!((atan2(y, x) - f64::atan2(y, x)).abs() < 5e-16, "{y} {x}");
        }
        assert!(sin(f64::NAN).is_nan());
    }
}
