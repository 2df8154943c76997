//! The linear part of an error, whose distribution is known without sampling.

use statistics::Shape;
use tape::Block;

use super::draw::Keyed;

/// Terms of the Fourier series at the most.
const TERMS: usize = 4096;
/// Terms smaller than this end the series.
const SMALL: f64 = 1e-13;
/// A series cut off with terms larger than this is not used.
const TOO_LARGE: f64 = 1e-7;

/// bias + Σ slope·(x − mean) over the drawn inputs.
///
/// The distribution of such a sum follows from the characteristic functions
/// of its terms: with a period T wider than the sum reaches, the density is
/// the Fourier series with coefficients φ(2πk/T)/T, and its integral converges
/// as quickly as the terms φ fall. (All shapes are symmetric about their
/// mean, so φ is real.)
pub(crate) struct LinearPart {
    bias: f64,
    offset: f64,
    /// Input and slope.
    terms: Vec<(usize, f64)>,
    step: f64,
    reach: f64,
    /// φ(k·step), from k = 1.
    series: Vec<f64>,
    /// P(|bias + sum| ≤ level) = the probability asked.
    pub level: f64,
}

impl LinearPart {
    /// `None` if the distribution cannot be had: a shape without a simple
    /// characteristic function, a series that falls too slowly (one rectangle
    /// nearly alone), nothing that varies, or no numbers.
    pub fn new(bias: f64, slopes: &[f64], drawn: &[Keyed], probability: f64) -> Option<Self> {
        let mut offset = bias;
        let mut terms = Vec::new();
        let mut parts = Vec::new();
        let (mut variance, mut reach) = (0.0, 0.0);
        for variable in drawn {
            let slope = slopes.get(variable.input).copied()?;
            let u = slope * variable.shape.deviation();
            if u == 0.0 {
                continue;
            }
            offset -= slope * variable.shape.mean();
            variance += u * u;
            reach += match variable.shape.limits() {
                Some((low, high)) => 0.5 * (high - low) * slope.abs(),
                // A normal density is below 1e-17 of its peak there.
                None => 9.0 * u.abs(),
            };
            terms.push((variable.input, slope));
            parts.push((variable.shape, slope));
        }
        let u = f64::sqrt(variance);
        if !(u > 0.0 && u.is_finite() && bias.is_finite()) {
            return None;
        }
        // Twelve deviations are never left by a sum that reaches further.
        let reach = reach.min(12.0 * u);
        let step = std::f64::consts::PI / reach;
        let mut series = Vec::new();
        for k in 1..=TERMS {
            let t = step * k as f64;
            let mut product = 1.0;
            for &(shape, slope) in &parts {
                product *= characteristic(&shape, (slope * t).abs())?;
            }
            series.push(product);
            if product.abs() < SMALL {
                // One factor may just pass through zero; all later ones are
                // small if the envelope is.
                let envelope = parts
                    .iter()
                    .map(|(shape, slope)| envelope(shape, (slope * t).abs()))
                    .product::<f64>();
                if envelope < SMALL * 1e3 {
                    break;
                }
            }
        }
        if series.len() == TERMS {
            let t = step * TERMS as f64;
            let envelope: f64 = parts
                .iter()
                .map(|(shape, slope)| envelope(shape, (slope * t).abs()))
                .product();
            if !(envelope < TOO_LARGE) {
                return None;
            }
        }
        let mut part = LinearPart {
            bias,
            offset,
            terms,
            step,
            reach,
            series,
            level: 0.0,
        };
        part.level = part.quantile(probability)?;
        Some(part)
    }

    /// Probability of at most x, measured from the centre of the sum.
    fn cdf(&self, x: f64) -> f64 {
        if x >= self.reach {
            return 1.0;
        }
        if x <= -self.reach {
            return 0.0;
        }
        // sin(kΔx) by the recurrence of Chebyshev's polynomials.
        let (first, twice) = (
            elementary::sin(self.step * x),
            2.0 * elementary::cos(self.step * x),
        );
        let (mut before, mut now) = (0.0, first);
        let mut sum = 0.0;
        for (k, &phi) in self.series.iter().enumerate() {
            sum += phi * now / (k + 1) as f64;
            (before, now) = (now, twice * now - before);
        }
        0.5 + 0.5 * x / self.reach + sum / std::f64::consts::PI
    }

    /// P(|bias + sum| ≤ h).
    pub fn covered(&self, h: f64) -> f64 {
        self.cdf(h - self.bias) - self.cdf(-h - self.bias)
    }

    fn quantile(&self, probability: f64) -> Option<f64> {
        let (mut low, mut high) = (0.0, self.bias.abs() + self.reach);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if self.covered(middle) < probability {
                low = middle;
            } else {
                high = middle;
            }
        }
        (high < self.bias.abs() + self.reach).then_some(0.5 * (low + high))
    }

    /// The linear part of the trials whose inputs stand in `block`.
    pub fn fill(&self, out: &mut [f64], block: &mut Block) {
        out.fill(self.offset);
        for &(input, slope) in &self.terms {
            for (sum, &x) in out.iter_mut().zip(block.input_mut(input).iter()) {
                *sum += slope * x;
            }
        }
    }
}

/// sin(x)/x
fn sinc(x: f64) -> f64 {
    if x.abs() < 1e-4 {
        1.0 - x * x / 6.0
    } else {
        elementary::sin(x) / x
    }
}

/// Mean of `f` over −1 to 1 with weight one, by the midpoint rule on the
/// cosine substitution where the weight is that of an arcsine.
fn arcsine_mean(x: f64) -> f64 {
    // J0(x) = mean of cos(x·cos θ): equal steps in θ converge faster than any
    // power once there are more than about x of them.
    let count = 24 + (1.5 * x) as usize;
    let mut sum = 0.0;
    for i in 0..count {
        let theta = std::f64::consts::PI * (i as f64 + 0.5) / count as f64;
        sum += elementary::cos(x * elementary::cos(theta));
    }
    sum / count as f64
}

/// Characteristic function of the deviation from the mean at t ≥ 0, in the
/// reciprocal unit of the shape.
fn characteristic(shape: &Shape, t: f64) -> Option<f64> {
    Some(match *shape {
        Shape::Rectangular { low, high } => sinc(0.5 * (high - low) * t),
        Shape::Normal { deviation, .. } => {
            elementary::exp(-0.5 * (deviation * t) * (deviation * t))
        }
        Shape::Triangular { low, high } => {
            let half = sinc(0.25 * (high - low) * t);
            half * half
        }
        Shape::Arcsine { low, high } => arcsine_mean(0.5 * (high - low) * t),
        Shape::Trapezoidal { low, high, beta } => {
            // The sum of two rectangles of half-widths w(1 ± β)/2.
            let w = 0.5 * (high - low);
            sinc(0.5 * w * (1.0 + beta) * t) * sinc(0.5 * w * (1.0 - beta) * t)
        }
        Shape::CurvilinearTrapezoidal { .. } | Shape::StudentT { .. } => return None,
        Shape::Fixed { .. } => 1.0,
    })
}

/// An upper bound of |characteristic| at t and beyond.
fn envelope(shape: &Shape, t: f64) -> f64 {
    let over = |x: f64| if x > 1.0 { 1.0 / x } else { 1.0 };
    match *shape {
        Shape::Rectangular { low, high } => over(0.5 * (high - low) * t),
        Shape::Normal { deviation, .. } => {
            elementary::exp(-0.5 * (deviation * t) * (deviation * t))
        }
        Shape::Triangular { low, high } => {
            let half = over(0.25 * (high - low) * t);
            half * half
        }
        // |J0(x)| ≤ √(2/(πx)).
        Shape::Arcsine { low, high } => over(0.5 * (high - low) * t).sqrt(),
        Shape::Trapezoidal { low, high, beta } => {
            let w = 0.5 * (high - low);
            over(0.5 * w * (1.0 + beta) * t) * over(0.5 * w * (1.0 - beta) * t)
        }
        Shape::CurvilinearTrapezoidal { .. } | Shape::StudentT { .. } | Shape::Fixed { .. } => 1.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{Input, Model};
    use statistics::irwin_hall;

    fn part(shapes: &[Shape], slopes: &[f64], bias: f64, p: f64) -> Option<LinearPart> {
        let builder = tape::Builder::new();
        let mut sum = builder.zero();
        for (i, _) in shapes.iter().enumerate() {
            sum = sum + builder.input(&format!("x{i}"), "", 0.0);
        }
        let model = Model {
            tape: builder.finish(&[sum]),
            inputs: shapes
                .iter()
                .enumerate()
                .map(|(i, s)| Input::board("x", "", *s, i as u64))
                .collect(),
            error: 0,
            limit: None,
        };
        LinearPart::new(bias, slopes, &crate::sampling::keyed(&model, |_| true), p)
    }

    fn rectangular(half: f64) -> Shape {
        Shape::Rectangular {
            low: -half,
            high: half,
        }
    }

    #[test]
    fn reference_sums_of_rectangles() {
        // Exact distribution of sums of rectangular variables (Irwin–Hall,
        // and box splines for unequal widths).
        for (halves, p) in [
            (vec![1.0, 1.0, 1.0], 0.95),
            (vec![1.0; 6], 0.9973),
            (vec![2.0, 1.0, 0.5, 0.25], 0.9973),
        ] {
            let slopes: Vec<f64> = halves.iter().map(|h| h * 2.0).collect();
            let shapes = vec![rectangular(0.5); halves.len()];
            let part = part(&shapes, &slopes, 0.0, p).unwrap();
            let exact = irwin_hall::quantile_unequal(0.5 + 0.5 * p, &halves);
            assert!(
                (part.level - exact).abs() < 1e-7 * exact,
                "{} {exact}",
                part.level
            );
        }
    }

    #[test]
    fn reference_normal_with_a_bias_and_the_arcsine() {
        let z = statistics::normal::quantile(0.9973);
        let n = Shape::Normal {
            mean: 7.0,
            deviation: 0.5,
        };
        let far = part(&[n], &[2.0], 30.0, 0.9973).unwrap();
        assert!((far.level - (30.0 + z)).abs() < 1e-9);
        assert_eq!(
            part(&[rectangular(1.0)], &[1.0], 0.0, 0.95).map(|p| p.level),
            None
        );
        // J0(1) and J0(10) (Abramowitz and Stegun, table 9.1).
        assert!((arcsine_mean(1.0) - 0.765_197_686_6).abs() < 1e-10);
        assert!((arcsine_mean(10.0) + 0.245_935_764_5).abs() < 1e-10);
        assert!((arcsine_mean(200.0) + 0.015_437_438_9).abs() < 1e-6);
        let sine = Shape::Arcsine {
            low: -1.0,
            high: 1.0,
        };
        let mixed = part(&[sine, n], &[1.0, 2.0], 0.0, 0.95).unwrap();
        let direct = convolved(0.95);
        assert!(
            (mixed.level - direct).abs() < 1e-6,
            "{} {direct}",
            mixed.level
        );
    }

    /// The 95 % half-width of an arcsine of half-width 1 plus a standard
    /// normal variable, by averaging Φ over the phase.
    fn convolved(p: f64) -> f64 {
        let covered = |h: f64| {
            let n = 2000;
            (0..n)
                .map(|i| {
                    let s =
                        elementary::cos(std::f64::consts::PI * (f64::from(i) + 0.5) / f64::from(n));
                    statistics::normal::cdf(h - s) - statistics::normal::cdf(-h - s)
                })
                .sum::<f64>()
                / f64::from(n)
        };
        let (mut low, mut high) = (0.0, 10.0);
        for _ in 0..60 {
            let middle = 0.5 * (low + high);
            if covered(middle) < p {
                low = middle;
            } else {
                high = middle;
            }
        }
        0.5 * (low + high)
    }
}
