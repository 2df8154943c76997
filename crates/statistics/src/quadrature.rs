//! Integrals of smooth functions over pieces of an interval.

/// Nodes and weights of Gauss–Legendre quadrature on [−1, 1], symmetric,
/// ascending.
///
/// Newton's steps on the Legendre polynomial from the estimate of
/// Abramowitz and Stegun 22.16.6; the weight is 2/((1 − x²)·P′(x)²)
/// (25.4.29). Exact for polynomials up to degree 2·order − 1.
pub fn gauss_legendre(order: u32) -> Vec<(f64, f64)> {
    let n = f64::from(order);
    (0..order)
        .rev()
        .map(|i| {
            let mut x = elementary::cos(std::f64::consts::PI * (f64::from(i) + 0.75) / (n + 0.5));
            let mut slope = 1.0;
            for _ in 0..20 {
                let (value, derivative) = legendre(order, x);
                slope = derivative;
                let step = value / derivative;
                x -= step;
                if step.abs() <= f64::EPSILON {
                    break;
                }
            }
            (x, 2.0 / ((1.0 - x * x) * slope * slope))
        })
        .collect()
}

/// Legendre polynomial and its derivative, by the three-term recurrence.
fn legendre(order: u32, x: f64) -> (f64, f64) {
    let (mut before, mut value) = (0.0, 1.0);
    for k in 0..order {
        let k = f64::from(k);
        let next = ((2.0 * k + 1.0) * x * value - k * before) / (k + 1.0);
        before = value;
        value = next;
    }
    (
        value,
        f64::from(order) * (x * value - before) / (x * x - 1.0),
    )
}

/// The integral of `function` over the pieces between neighbouring `breaks`
/// (ascending; at least two), by `rule` on each piece.
///
/// Put a break where the function bends or steps, and pieces no longer than
/// the scale on which it changes.
///
/// ```
/// use statistics::quadrature::{gauss_legendre, integrate};
/// let rule = gauss_legendre(8);
/// let area = integrate(&rule, &[0.0, 1.0, 3.0], |x| x * x);
/// assert!((area - 9.0).abs() < 1e-13);
/// ```
pub fn integrate(rule: &[(f64, f64)], breaks: &[f64], function: impl Fn(f64) -> f64) -> f64 {
    let mut total = 0.0;
    for (&low, &high) in breaks.iter().zip(breaks.iter().skip(1)) {
        let half = 0.5 * (high - low);
        if half <= 0.0 || half.is_nan() {
            continue;
        }
        let centre = low + half;
        let piece: f64 = rule
            .iter()
            .map(|&(x, weight)| weight * function(centre + half * x))
            .sum();
        total += half * piece;
    }
    total
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn reference_five_point_rule() {
        // Abramowitz and Stegun, "Handbook of Mathematical Functions",
        // table 25.4, n = 5.
        let expected = [
            (-0.906_179_845_938_664, 0.236_926_885_056_189),
            (-0.538_469_310_105_683, 0.478_628_670_499_366),
            (0.0, 0.568_888_888_888_889),
            (0.538_469_310_105_683, 0.478_628_670_499_366),
            (0.906_179_845_938_664, 0.236_926_885_056_189),
        ];
        for (found, expected) in gauss_legendre(5).iter().zip(expected) {
            assert!((found.0 - expected.0).abs() < 1e-14);
            assert!((found.1 - expected.1).abs() < 1e-14);
        }
    }

    #[test]
    fn property_exact_for_polynomials() {
        for order in [1, 2, 7, 24, 40] {
            let rule = gauss_legendre(order);
            for power in 0..(2 * order).min(30) {
                let exact = if power % 2 == 1 {
                    0.0
                } else {
                    2.0 / (f64::from(power) + 1.0)
                };
                let found = integrate(&rule, &[-1.0, 1.0], |x| (0..power).fold(1.0, |p, _| p * x));
                assert!((found - exact).abs() < 1e-13, "{order} {power}: {found}");
            }
        }
    }
}
