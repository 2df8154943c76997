use super::*;
use crate::stream;

/// Certified: mean, standard deviation, lag-1 autocorrelation. NIST
/// Statistical Reference Datasets, univariate, NumAcc1 to NumAcc4 (from
/// memory; reproduced with mpmath to 15 digits).
#[test]
fn published_numacc_sets() {
    let alternating = |first: f64, low: f64, high: f64| {
        let mut values = vec![first];
        for _ in 0..500 {
            values.extend([low, high]);
        }
        values
    };
    let sets = [
        (
            vec![10_000_001.0, 10_000_003.0, 10_000_002.0],
            10_000_002.0,
            1.0,
            -0.5,
            1e-14,
        ),
        (alternating(1.2, 1.1, 1.3), 1.2, 0.1, -0.999, 1e-13),
        // The tenths of the last two sets cannot be held in 64 bits nearer
        // than 1e-10 and 1e-9, a thousand times that in the deviation.
        (
            alternating(1_000_000.2, 1_000_000.1, 1_000_000.3),
            1_000_000.2,
            0.1,
            -0.999,
            1e-9,
        ),
        (
            alternating(10_000_000.2, 10_000_000.1, 10_000_000.3),
            10_000_000.2,
            0.1,
            -0.999,
            1e-8,
        ),
    ];
    for (values, expected_mean, expected_deviation, expected_lag, tolerance) in sets {
        let m = mean(&values);
        assert!((m / expected_mean - 1.0).abs() < 1e-15, "{m}");
        let d = deviation(&values);
        assert!((d / expected_deviation - 1.0).abs() < tolerance, "{m}: {d}");
        let r = autocorrelation(&values, 1);
        assert!((r - expected_lag).abs() < tolerance, "{m}: {r}");
        let mut streamed = Moments::about(values[0]);
        streamed.add(&values);
        assert!((streamed.mean() / expected_mean - 1.0).abs() < 1e-15);
        assert!((streamed.deviation() / expected_deviation - 1.0).abs() < tolerance);
    }
}

#[test]
fn published_twenty_temperatures() {
    // JCGM 100:2008, 4.4.3, table 1.
    let text = include_str!("../../../../testdata/jcgm-100/temperatures-4-4-3.csv");
    let values = crate::test_data::column(text, 1);
    assert_eq!(values.len(), 20);
    assert!((mean(&values) - 100.145).abs() < 5e-4);
    assert!((deviation(&values) - 1.489).abs() < 5e-4);
    assert!((deviation_of_mean(&values) - 0.333).abs() < 5e-4);
}

#[test]
fn published_resistance_and_reactance() {
    // JCGM 100:2008, H.2, tables H.2 to H.4: means, their uncertainties and
    // correlations, then R, X and Z by both approaches.
    let text = include_str!("../../../../testdata/jcgm-100/impedance-h-2.csv");
    let v = crate::test_data::column(text, 1);
    let i: Vec<f64> = crate::test_data::column(text, 2)
        .iter()
        .map(|milliampere| milliampere * 1e-3)
        .collect();
    let phi = crate::test_data::column(text, 3);
    let means = [mean(&v), mean(&i), mean(&phi)];
    for (found, expected, half_digit) in [
        (means[0], 4.9990, 5e-5),
        (means[1], 19.6610e-3, 5e-8),
        (means[2], 1.044_46, 5e-6),
    ] {
        assert!((found - expected).abs() < half_digit, "{found}");
    }
    let u = [
        deviation_of_mean(&v),
        deviation_of_mean(&i),
        deviation_of_mean(&phi),
    ];
    for (found, expected, half_digit) in [
        (u[0], 0.0032, 5e-5),
        (u[1], 0.0095e-3, 5e-8),
        (u[2], 0.000_75, 5e-6),
    ] {
        assert!((found - expected).abs() < half_digit, "{found}");
    }
    let r = [
        correlation(&v, &i),
        correlation(&v, &phi),
        correlation(&i, &phi),
    ];
    for (found, expected) in r.iter().zip([-0.36, 0.86, -0.65]) {
        assert!((found - expected).abs() < 0.005, "{found}");
    }

    // First approach: propagate u and r through R = V/I·cos φ and so on.
    let (sin, cos) = (elementary::sin(means[2]), elementary::cos(means[2]));
    let z = means[0] / means[1];
    let sensitivities = [
        [cos / means[1], -z * cos / means[1], -z * sin],
        [sin / means[1], -z * sin / means[1], z * cos],
        [1.0 / means[1], -z / means[1], 0.0],
    ];
    let input = |a: usize, b: usize| {
        let correlation = match (a.min(b), a.max(b)) {
            (0, 1) => r[0],
            (0, 2) => r[1],
            (1, 2) => r[2],
            _ => 1.0,
        };
        u[a] * u[b] * correlation
    };
    let output = |p: usize, q: usize| {
        let mut sum = 0.0;
        for a in 0..3 {
            for b in 0..3 {
                sum += sensitivities[p][a] * sensitivities[q][b] * input(a, b);
            }
        }
        sum
    };
    for (found, expected) in [z * cos, z * sin, z]
        .iter()
        .zip([127.732, 219.847, 254.260])
    {
        assert!((found - expected).abs() < 5e-4, "{found}");
    }
    // The printed 0.295 is cut, not rounded, from 0.295 58.
    for (k, (expected, tolerance)) in [(0.071, 5e-4), (0.295, 7e-4), (0.236, 5e-4)]
        .into_iter()
        .enumerate()
    {
        assert!((output(k, k).sqrt() - expected).abs() < tolerance);
    }
    let joint = |p, q| output(p, q) / (output(p, p) * output(q, q)).sqrt();
    assert!((joint(0, 1) + 0.588).abs() < 6e-4);
    assert!((joint(0, 2) + 0.485).abs() < 6e-4);
    assert!((joint(1, 2) - 0.993).abs() < 6e-4);

    // Second approach: five values of R, X and Z each.
    let each = |f: &dyn Fn(f64, f64, f64) -> f64| -> Vec<f64> {
        v.iter()
            .zip(&i)
            .zip(&phi)
            .map(|((&v, &i), &phi)| f(v, i, phi))
            .collect()
    };
    let resistance = each(&|v, i, phi| v / i * elementary::cos(phi));
    let reactance = each(&|v, i, phi| v / i * elementary::sin(phi));
    assert!((deviation_of_mean(&resistance) - 0.071).abs() < 5e-4);
    assert!((deviation_of_mean(&reactance) - 0.295).abs() < 5e-4);
    assert!((correlation(&resistance, &reactance) + 0.588).abs() < 5e-4);
}

#[test]
fn published_deviation_of_a_deviation() {
    // JCGM 100:2008, table E.1: relative standard deviation, in percent, of
    // the experimental deviation of the mean of n normal readings. Here by
    // drawing them; 40 000 repetitions leave about 0.4 % of each figure.
    let repetitions = 40_000;
    for (n, expected) in [
        (2, 76.0),
        (3, 52.0),
        (4, 42.0),
        (5, 36.0),
        (10, 24.0),
        (20, 16.0),
    ] {
        let normal = crate::Shape::Normal {
            mean: 0.0,
            deviation: 1.0,
        };
        let mut drawn = vec![0.0; n * repetitions];
        normal.fill(stream::key(77, n as u64), 0, &mut drawn);
        let deviations: Vec<f64> = drawn.chunks(n).map(deviation).collect();
        let relative = 100.0 * deviation(&deviations) / mean(&deviations);
        assert!((relative - expected).abs() < 1.1, "{n}: {relative}");
    }
}

#[test]
fn property_sum_is_the_same_for_every_split() {
    let mut values = vec![0.0; 5000];
    stream::fill_uniform(3, 0, &mut values);
    for value in values.iter_mut() {
        *value = (*value - 0.5) * 1e6;
    }
    let whole = sum_fixed_order(&values);
    let mut moments = Moments::about(1.0);
    moments.add(&values);
    for split in [1, 2, 7, 127, 128, 129, 1000, 4999] {
        let mut sum = FixedOrderSum::new();
        let mut parts = Moments::about(1.0);
        for part in values.chunks(split) {
            sum.add(part);
            parts.add(part);
        }
        assert_eq!(sum.total().to_bits(), whole.to_bits(), "{split}");
        assert_eq!(parts.mean().to_bits(), moments.mean().to_bits());
        assert_eq!(parts.variance().to_bits(), moments.variance().to_bits());
        assert_eq!(parts.count(), 5000);
    }
}

#[test]
fn property_rounding_error_stays_small() {
    // One million times one tenth: added one after the other this loses six
    // digits more.
    let values = vec![0.1; 1_000_000];
    // 0.1 as held is 0.1000000000000000055511…, so a million of them are
    // nearest to 100 000.
    let exact = 100_000.0;
    let found = sum_fixed_order(&values);
    assert!((found - exact).abs() < 1e-10, "{:e}", found - exact);
    let naive: f64 = values.iter().sum();
    assert!((naive - exact).abs() > 1e-7);
    assert_eq!(sum_fixed_order(&[]), 0.0);
    assert_eq!(sum_fixed_order(&[2.5]), 2.5);
}

#[test]
fn property_too_few_values_give_nan() {
    assert!(mean(&[]).is_nan());
    assert!(variance(&[1.0]).is_nan());
    assert!(correlation(&[1.0, 1.0], &[1.0, 2.0]).is_nan());
    assert!(covariance(&[1.0, 2.0], &[1.0]).is_nan());
    assert!(autocorrelation(&[1.0], 1).is_nan());
    assert!(Moments::about(0.0).mean().is_nan());
}
