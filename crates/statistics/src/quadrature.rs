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

/// Kronrod's extension of the seven-point Gauss rule: abscissae from the
/// middle outwards, weights of both (R. Piessens et al., QUADPACK, 1983).
const KRONROD: [(f64, f64, f64); 8] = [
    (0.0, 0.209_482_141_084_727_83, 0.417_959_183_673_469_4),
    (0.207_784_955_007_898_47, 0.204_432_940_075_298_9, 0.0),
    (
        0.405_845_151_377_397_2,
        0.190_350_578_064_785_4,
        0.381_830_050_505_118_9,
    ),
    (0.586_087_235_467_691_1, 0.169_004_726_639_267_9, 0.0),
    (
        0.741_531_185_599_394_4,
        0.140_653_259_715_525_92,
        0.279_705_391_489_276_67,
    ),
    (0.864_864_423_359_769_1, 0.104_790_010_322_250_18, 0.0),
    (
        0.949_107_912_342_758_5,
        0.063_092_092_629_978_55,
        0.129_484_966_168_869_7,
    ),
    (0.991_455_371_120_812_6, 0.022_935_322_010_529_224, 0.0),
];
/// Pieces an adaptive integral may be cut into.
const PIECES: usize = 4000;

/// Integrals of `count` functions at once over the pieces between `breaks`
/// (put in order here), each piece halved until their errors together are a
/// share `relative` of the sum of all.
///
/// `function` writes all of them at one point, for their most costly part is
/// usually common. Put breaks where the functions bend.
///
/// ```
/// use statistics::quadrature::adaptive;
/// let both = adaptive(&mut [0.0, 1.0], 1e-12, 2, |x, out| {
///     out[0] = x.sqrt();
///     out[1] = 3.0 * x * x;
/// });
/// assert!((both[0] - 2.0 / 3.0).abs() < 1e-11);
/// assert!((both[1] - 1.0).abs() < 1e-12);
/// ```
pub fn adaptive(
    breaks: &mut [f64],
    relative: f64,
    count: usize,
    mut function: impl FnMut(f64, &mut [f64]),
) -> Vec<f64> {
    breaks.sort_by(f64::total_cmp);
    let mut work = vec![0.0; count];
    let mut done = vec![0.0; count];
    let mut open: Vec<Piece> = Vec::new();
    for (&low, &high) in breaks.iter().zip(breaks.iter().skip(1)) {
        if high > low {
            open.push(piece(low, high, count, &mut work, &mut function));
        }
    }
    let mut cuts = open.len();
    // The least exact piece is cut, until what all leave is little enough.
    while cuts < PIECES {
        let total: f64 = open.iter().map(|p| p.size).sum();
        let left: f64 = open.iter().map(|p| p.error).sum();
        if !(left > relative * total) {
            break;
        }
        let limit = 0.1 * relative * total / open.len() as f64;
        let before = cuts;
        let worst = open.iter().map(|p| p.error).fold(0.0, f64::max);
        let mut next = Vec::with_capacity(open.len() + 8);
        for p in std::mem::take(&mut open) {
            let middle = 0.5 * (p.low + p.high);
            if p.error >= 0.1 * worst && p.error > limit && middle > p.low && middle < p.high {
                next.push(piece(p.low, middle, count, &mut work, &mut function));
                next.push(piece(middle, p.high, count, &mut work, &mut function));
                cuts += 1;
            } else {
                next.push(p);
            }
        }
        open = next;
        if cuts == before {
            break;
        }
    }
    for p in &open {
        for (sum, part) in done.iter_mut().zip(&p.value) {
            *sum += part;
        }
    }
    done
}

struct Piece {
    low: f64,
    high: f64,
    value: Vec<f64>,
    /// Sum of all functions' values and of their errors.
    size: f64,
    error: f64,
}

fn piece(
    low: f64,
    high: f64,
    count: usize,
    work: &mut [f64],
    function: &mut impl FnMut(f64, &mut [f64]),
) -> Piece {
    let (centre, half) = (0.5 * (low + high), 0.5 * (high - low));
    let mut value = vec![0.0; count];
    let mut coarse = vec![0.0; count];
    for (k, &(x, fine, gauss)) in KRONROD.iter().enumerate() {
        let sides: &[f64] = if k == 0 { &[0.0] } else { &[-1.0, 1.0] };
        for side in sides {
            function(centre + side * half * x, work);
            for ((v, c), w) in value.iter_mut().zip(&mut coarse).zip(work.iter()) {
                *v += fine * half * w;
                *c += gauss * half * w;
            }
        }
    }
    let size = value.iter().map(|v| v.abs()).sum();
    let error = value.iter().zip(&coarse).map(|(v, c)| (v - c).abs()).sum();
    Piece {
        low,
        high,
        value,
        size,
        error,
    }
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

    #[test]
    fn property_adaptive_finds_narrow_hills() {
        // A Lorentzian of width 10⁻⁴ at 0.3, and a cusp.
        let width = 1e-4;
        let both = adaptive(&mut [1.0, 0.0], 1e-11, 2, |x, out| {
            out[0] = width / ((x - 0.3) * (x - 0.3) + width * width);
            out[1] = 1.0 / x.sqrt();
        });
        let exact = elementary::atan(0.7 / width) + elementary::atan(0.3 / width);
        assert!((both[0] / exact - 1.0).abs() < 1e-10);
        assert!((both[1] / 2.0 - 1.0).abs() < 1e-6);
        assert_eq!(
            adaptive(&mut [1.0, 1.0], 1e-9, 1, |_, out| out[0] = 1.0),
            [0.0]
        );
    }

    #[test]
    fn kronrod_weights_are_whole() {
        let fine: f64 = KRONROD.iter().map(|k| k.1).sum::<f64>() * 2.0 - KRONROD[0].1;
        let gauss: f64 = KRONROD.iter().map(|k| k.2).sum::<f64>() * 2.0 - KRONROD[0].2;
        assert!((fine - 2.0).abs() < 1e-15 && (gauss - 2.0).abs() < 1e-15);
        // The inner rule is the Gauss rule.
        let rule = gauss_legendre(7);
        for (found, k) in rule[3..].iter().zip([0, 2, 4, 6]) {
            assert!((found.0 - KRONROD[k].0).abs() < 1e-15);
            assert!((found.1 - KRONROD[k].2).abs() < 1e-15);
        }
    }
}
