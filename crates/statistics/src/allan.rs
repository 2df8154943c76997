//! Allan deviation: how far averages over one time differ from those over
//! the next.

/// Allan deviation of `values` (equally spaced) for averages over `factor` of
/// them, without overlap: √(½·mean of (ȳₖ₊₁ − ȳₖ)²).
///
/// NIST Special Publication 1065 (W. Riley, 2008), section 5.2. White noise
/// falls as 1/√factor; where it no longer falls, averaging longer is no use.
/// `None` for fewer than two averages.
pub fn deviation(values: &[f64], factor: usize) -> Option<f64> {
    if factor == 0 {
        return None;
    }
    let means: Vec<f64> = values
        .chunks_exact(factor)
        .map(|chunk| chunk.iter().sum::<f64>() / factor as f64)
        .collect();
    let pairs = means.len().checked_sub(1).filter(|&n| n > 0)?;
    let sum: f64 = means
        .iter()
        .zip(means.iter().skip(1))
        .map(|(a, b)| (b - a) * (b - a))
        .sum();
    Some((0.5 * sum / pairs as f64).sqrt())
}

/// The same from all overlapping pairs of averages, which makes more of a
/// short record (section 5.2.4). `None` for fewer than 2·factor values.
pub fn overlapping(values: &[f64], factor: usize) -> Option<f64> {
    let pairs = (values.len() + 1).checked_sub(2 * factor)?;
    if factor == 0 || pairs == 0 {
        return None;
    }
    // Sums about the first value, so that a large mean costs no digits.
    let base = values.first().copied()?;
    let mut running = Vec::with_capacity(values.len() + 1);
    let mut sum = 0.0;
    running.push(0.0);
    for value in values {
        sum += value - base;
        running.push(sum);
    }
    let total: f64 = running
        .iter()
        .zip(running.iter().skip(factor))
        .zip(running.iter().skip(2 * factor))
        .map(|((a, b), c)| {
            let step = c - b - (b - a);
            step * step
        })
        .sum();
    let span = factor as f64;
    Some((0.5 * total / (pairs as f64 * span * span)).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn published_small_set() {
        // NIST SP 1065, pages 107 and 108: nine values of NBS Monograph 140.
        let values = [
            892.0, 809.0, 823.0, 798.0, 671.0, 644.0, 883.0, 903.0, 677.0,
        ];
        for (factor, plain, all) in [(1, 91.22945, 91.22945), (2, 115.8082, 85.95287)] {
            assert!((deviation(&values, factor).unwrap() / plain - 1.0).abs() < 1e-6);
            assert!((overlapping(&values, factor).unwrap() / all - 1.0).abs() < 1e-6);
        }
    }

    #[test]
    fn published_thousand_points() {
        // The same, page 108: n ← 16807·n mod (2³¹ − 1), from 1234567890.
        let mut n: u64 = 1_234_567_890;
        let values: Vec<f64> = (0..1000)
            .map(|_| {
                let y = n as f64 / 2_147_483_647.0;
                n = n * 16807 % 2_147_483_647;
                y
            })
            .collect();
        for (factor, plain, all) in [
            (1, 2.922_319e-1, 2.922_319e-1),
            (10, 9.965_736e-2, 9.159_953e-2),
            (100, 3.897_804e-2, 3.241_343e-2),
        ] {
            assert!((deviation(&values, factor).unwrap() / plain - 1.0).abs() < 1e-6);
            assert!((overlapping(&values, factor).unwrap() / all - 1.0).abs() < 1e-6);
        }
    }

    #[test]
    fn too_few_values_have_none() {
        assert_eq!(deviation(&[1.0], 1), None);
        assert_eq!(deviation(&[1.0, 2.0], 0), None);
        assert_eq!(overlapping(&[1.0, 2.0, 3.0], 2), None);
        assert_eq!(overlapping(&[], 1), None);
    }
}
