//! Reference values: the alternating formula in mpmath 1.4.1 with 60 digits.

use super::*;
use crate::{Shape, moments, stream};

/// (number of variables, x, probability)
const EQUAL: &[(u32, f64, f64)] = &[
    (1, 0.25, 0.25),
    (2, 1.5, 0.875),
    (3, 1.0, 0.16666666666666666),
    (4, 0.1, 4.166666666666668e-06),
    (4, 1.9, 0.4336541666666666),
    (7, 3.2, 0.35023207619047625),
    (12, 3.0, 0.0010070008116883117),
    (12, 7.75, 0.959977686045573),
    (20, 4.0, 4.2335250848344854e-07),
    (20, 9.5, 0.3502948548399937),
    (20, 12.125, 0.9499916398343927),
];

/// (x, half-widths, probability)
const UNEQUAL: &[(f64, &[f64], f64)] = &[
    (-0.5, &[1.0], 0.25),
    (0.75, &[1.0, 0.25], 0.875),
    (-1.2, &[1.0, 0.5, 0.125], 0.02380208333333334),
    (-2.0, &[1.0, 0.001, 1e-06, 1.0, 0.5], 0.0052083541666875),
    (1.0, &[0.3, 0.7, 1.1, 0.2, 0.9], 0.8477092352092352),
    (
        -3.0,
        &[1.0, 1.0, 1.0, 0.5, 0.25, 0.125, 0.001],
        0.0005366883951833333,
    ),
    (-0.9995, &[1.0, 0.001, 0.001, 1e-07], 0.0003203125003124802),
    (
        2.5,
        &[1.0, 0.9, 0.8, 0.7, 0.6, 0.5, 0.4, 0.3, 0.2, 0.1, 0.05, 0.01],
        0.987774284972043,
    ),
];

#[test]
fn reference_equal_widths_against_high_precision() {
    for &(n, x, expected) in EQUAL {
        let found = cdf(n, x);
        assert!(
            (found / expected - 1.0).abs() < 1e-13,
            "{n} {x}: {found:e}, expected {expected:e}"
        );
    }
}

#[test]
fn reference_unequal_widths_against_high_precision() {
    for &(x, half_widths, expected) in UNEQUAL {
        let found = cdf_unequal(x, half_widths);
        assert!(
            (found / expected - 1.0).abs() < 1e-12,
            "{x} {half_widths:?}: {found:e}, expected {expected:e}"
        );
    }
}

#[test]
fn published_sum_of_four_rectangular() {
    // JCGM 101:2008, 9.2.3: half-widths √3, ends of the 95 % interval ±3.88;
    // exact 2√3·(2 − (3/5)^(1/4)).
    let exact = 2.0 * 3.0_f64.sqrt() * (2.0 - 0.6_f64.sqrt().sqrt());
    assert!((exact - 3.88).abs() < 0.005);
    let found = quantile_unequal(0.975, &[3.0_f64.sqrt(); 4]);
    assert!((found - exact).abs() < 1e-13, "{found}");
    let equal = 2.0 * 3.0_f64.sqrt() * (quantile(4, 0.975) - 2.0);
    assert!((equal - exact).abs() < 1e-13, "{equal}");
}

#[test]
fn property_equal_widths_agree_in_both_forms() {
    for n in 1..=8_u32 {
        let half_widths = vec![0.5; n as usize];
        for i in 0..=40 {
            let x = f64::from(n) * f64::from(i) / 40.0;
            let (a, b) = (cdf(n, x), cdf_unequal(x - 0.5 * f64::from(n), &half_widths));
            assert!((a - b).abs() < 1e-14, "{n} {x}: {a} {b}");
        }
    }
}

#[test]
fn property_quantile_inverts_cdf() {
    for n in [1, 2, 5, 20] {
        for p in [1e-6, 0.01, 0.5, 0.9, 0.999] {
            assert!((cdf(n, quantile(n, p)) - p).abs() < 1e-13, "{n} {p}");
        }
        assert_eq!(quantile(n, 0.0), 0.0);
        assert_eq!(quantile(n, 1.0), f64::from(n));
    }
    assert!(quantile(3, -0.1).is_nan());
    assert!(cdf_unequal(0.0, &[1.0; MOST_UNEQUAL + 1]).is_nan());
    assert!(cdf_unequal(0.0, &[f64::INFINITY]).is_nan());
    assert_eq!(cdf_unequal(0.0, &[]), 1.0);
    assert_eq!(cdf(0, -0.5), 0.0);
}

#[test]
fn property_drawn_sums_follow_the_distribution() {
    let half_widths = [1.0, 0.4, 0.05];
    let trials = 200_000;
    let mut sums = vec![0.0; trials];
    for (variable, &half) in half_widths.iter().enumerate() {
        let mut drawn = vec![0.0; trials];
        Shape::Rectangular {
            low: -half,
            high: half,
        }
        .fill(stream::key(8, variable as u64), 0, &mut drawn);
        for (sum, x) in sums.iter_mut().zip(drawn) {
            *sum += x;
        }
    }
    for x in [-1.2, -0.8, -0.3, 0.0, 0.7, 1.3] {
        let expected = cdf_unequal(x, &half_widths);
        let below: Vec<f64> = sums
            .iter()
            .map(|&sum| if sum <= x { 1.0 } else { 0.0 })
            .collect();
        let allowed = 5.0 * (expected * (1.0 - expected) / trials as f64).sqrt();
        assert!((moments::mean(&below) - expected).abs() < allowed, "{x}");
    }
}
