//! Searching a function of one variable.

/// Evaluations of [`peak`] at the most.
const MOST: usize = 14;
/// (3 − √5)/2
const GOLDEN: f64 = 0.381_966_011_250_105_1;

/// Largest value found of `f` between `low` and `high` around `here`, where
/// it is `value`: place and value. `low` ≤ `here` ≤ `high`.
///
/// The two gaps are looked into at their quarters; from the best of all
/// points parabolas and golden sections close in on a local maximum. Never
/// worse than `value`; NaN never wins.
pub(crate) fn peak(
    low: f64,
    here: f64,
    high: f64,
    value: f64,
    mut f: impl FnMut(f64) -> f64,
) -> (f64, f64) {
    let mut points: Vec<(f64, f64)> = vec![(here, value)];
    let mut left = MOST;
    let mut look = |points: &mut Vec<(f64, f64)>, x: f64| {
        let y = f(x);
        // What is no number is as bad as can be.
        points.push((x, if y.is_nan() { f64::NEG_INFINITY } else { y }));
    };
    for (from, to) in [(low, here), (here, high)] {
        if from < to {
            for share in [0.25, 0.5, 0.75] {
                look(&mut points, from + share * (to - from));
                left -= 1;
            }
        }
    }
    // The ends are grid points of their own for the caller, yet the bracket
    // needs them as bounds.
    while left > 0 {
        points.sort_unstable_by(|a, b| a.0.total_cmp(&b.0));
        let Some(top) =
            (0..points.len()).reduce(|a, b| if points[b].1 > points[a].1 { b } else { a })
        else {
            break;
        };
        let (x, y) = points[top];
        let before = top.checked_sub(1).map(|i| points[i]);
        let after = points.get(top + 1).copied();
        let left_end = before.map_or(low.min(x), |p| p.0);
        let right_end = after.map_or(high.max(x), |p| p.0);
        let width = right_end - left_end;
        if !(width > 1e-9 * (high - low)) {
            break;
        }
        let parabola = match (before, after) {
            (Some((xa, ya)), Some((xb, yb))) => vertex((xa, ya), (x, y), (xb, yb)),
            _ => None,
        };
        let next = match parabola {
            Some(p)
                if p > left_end + 0.01 * width
                    && p < right_end - 0.01 * width
                    && (p - x).abs() > 1e-6 * width =>
            {
                p
            }
            _ if right_end - x > x - left_end => x + GOLDEN * (right_end - x),
            _ => x - GOLDEN * (x - left_end),
        };
        look(&mut points, next);
        left -= 1;
    }
    points
        .into_iter()
        .reduce(|a, b| if b.1 > a.1 { b } else { a })
        .filter(|p| p.1 > value)
        .unwrap_or((here, value))
}

/// Where the parabola through three points has its top.
fn vertex(a: (f64, f64), b: (f64, f64), c: (f64, f64)) -> Option<f64> {
    let (p, q) = (b.0 - a.0, b.0 - c.0);
    let (u, v) = (p * (b.1 - c.1), q * (b.1 - a.1));
    let bottom = u - v;
    let x = b.0 - 0.5 * (p * u - q * v) / bottom;
    x.is_finite().then_some(x)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn property_a_smooth_maximum_is_found_and_nothing_made_up() {
        for top in [-0.9, -0.35, 0.0, 0.02, 0.61, 0.98] {
            let f = |x: f64| 3.0 - (x - top) * (x - top) - 0.2 * (x - top) * (x - top) * (x - top);
            let (x, y) = peak(-1.0, 0.0, 1.0, f(0.0), f);
            assert!((y - 3.0).abs() < 1e-6, "{top}: {x} {y}");
            assert_eq!(y, f(x));
        }
        assert_eq!(peak(0.0, 0.0, 1.0, 5.0, |x| 5.0 - x), (0.0, 5.0));
        assert_eq!(peak(0.0, 0.5, 1.0, 5.0, |_| f64::NAN), (0.5, 5.0));
    }

    #[test]
    fn property_a_kink_is_closed_in_on() {
        let (_, y) = peak(0.0, 0.5, 1.0, 0.8, |x: f64| 1.0 - (x - 0.3).abs());
        assert!(y > 0.99);
    }
}
