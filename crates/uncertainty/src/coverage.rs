//! Half-widths of errors with a bias.

use statistics::{normal, student};

/// How an error is spread about its bias; lengths in the unit of the error.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) enum Spread {
    /// Normal with standard deviation `u`.
    Normal { u: f64 },
    /// Student's distribution with scale `u`.
    Student { u: f64, dof: f64 },
    /// Rectangle widened by an independent normal part of deviation `u`.
    Rectangular { half_width: f64, u: f64 },
}

impl Spread {
    /// Probability of at most `x`, measured from the centre.
    fn cdf(&self, x: f64) -> f64 {
        match *self {
            Spread::Normal { u } => normal::cdf(x / u),
            Spread::Student { u, dof } => student::cdf(x / u, dof),
            Spread::Rectangular { half_width, u } => {
                if !(u > 1e-9 * half_width) {
                    return (0.5 + 0.5 * x / half_width).clamp(0.0, 1.0);
                }
                // The integral of Φ is z·Φ(z) + φ(z); its difference over the
                // rectangle, divided by its width, is the convolution.
                let integral = |z: f64| z * normal::cdf(z) + normal::pdf(z);
                let (a, b) = ((x + half_width) / u, (x - half_width) / u);
                u * (integral(a) - integral(b)) / (2.0 * half_width)
            }
        }
    }

    fn size(&self) -> f64 {
        match *self {
            Spread::Normal { u } | Spread::Student { u, .. } => u,
            Spread::Rectangular { half_width, u } => half_width + u,
        }
    }
}

/// Smallest h with P(|bias + spread| ≤ h) = `probability`, by bisection to
/// 1e-13 of its size; |bias| where nothing spreads, NaN where something is no
/// number.
pub(crate) fn half_width(spread: &Spread, bias: f64, probability: f64) -> f64 {
    let (size, bias) = (spread.size(), bias.abs());
    if size.is_nan() || bias.is_nan() {
        return f64::NAN;
    }
    if !(size > 0.0) {
        return bias;
    }
    if !size.is_finite() {
        return f64::INFINITY;
    }
    let covered = |h: f64| spread.cdf(h - bias) - spread.cdf(-h - bias);
    let (mut low, mut high) = (0.0, bias + 4.0 * size);
    while covered(high) < probability {
        low = high;
        high *= 2.0;
        if !high.is_finite() {
            return high;
        }
    }
    while high - low > 1e-13 * high {
        let middle = 0.5 * (low + high);
        if middle <= low || middle >= high {
            break;
        }
        if covered(middle) < probability {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reference_half_widths() {
        let normal_part = Spread::Normal { u: 2.0 };
        // Two-sided and, far from zero, one-sided normal quantiles at 99.73 %
        // (standard normal tables: 2.9997 and 2.7822).
        assert!((half_width(&normal_part, 0.0, 0.9973) - 2.0 * 2.999_977).abs() < 1e-5);
        assert!((half_width(&normal_part, -50.0, 0.9973) - (50.0 + 2.0 * 2.782_15)).abs() < 1e-4);
        // Table G.2 of JCGM 100:2008: t for 95.45 % and 10 degrees: 2.28.
        let t = Spread::Student { u: 1.0, dof: 10.0 };
        assert!((half_width(&t, 0.0, 0.9545) - 2.28).abs() < 0.005);
        // EA-4/02, S9: one rectangular contribution alone, k = 0.95·√3 = 1.65.
        let r = Spread::Rectangular {
            half_width: 3.0_f64.sqrt(),
            u: 0.0,
        };
        assert!((half_width(&r, 0.0, 0.95) - 0.95 * 3.0_f64.sqrt()).abs() < 1e-12);
        assert_eq!(half_width(&Spread::Normal { u: 0.0 }, -3.0, 0.95), 3.0);
        assert!(half_width(&Spread::Normal { u: f64::NAN }, 0.0, 0.95).is_nan());
    }

    #[test]
    fn property_a_rectangle_with_a_narrow_normal_is_a_rectangle_and_with_a_wide_one_normal() {
        let r = |half_width, u| Spread::Rectangular { half_width, u };
        let narrow = half_width(&r(1.0, 1e-6), 0.0, 0.9);
        assert!((narrow - 0.9).abs() < 1e-6);
        let wide = half_width(&r(1e-3, 1.0), 0.0, 0.9);
        let z = normal::quantile(0.95) * (1.0_f64 + 1e-6 / 3.0).sqrt();
        assert!((wide - z).abs() < 1e-6, "{wide} {z}");
    }
}
