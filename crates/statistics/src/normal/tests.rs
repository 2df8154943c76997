//! Checks of the normal distribution. Reference values: mpmath 1.4.1 with 50 digits (a general-purpose library for arbitrary precision), rounded to the nearest f64.

use super::*;

/// (probability, quantile)
const QUANTILES: &[(f64, f64)] = &[
    (1e-300, -37.0470962993612),
    (1e-100, -21.273453560965326),
    (2.220446049250313e-16, -8.125890664701906),
    (1e-14, -7.650628092935269),
    (1.3e-11, -6.667611456510741),
    (1.4e-11, -6.656723091518184),
    (1e-09, -5.9978070150076865),
    (1e-06, -4.753424308822899),
    (0.00135, -2.999976992703393),
    (0.01, -2.326347874040841),
    (0.025, -1.9599639845400543),
    (0.05, -1.6448536269514726),
    (0.0749, -1.4402382675279637),
    (0.0751, -1.43882539275254),
    (0.1, -1.2815515655446004),
    (0.2, -0.8416212335729142),
    (0.25, -0.6744897501960817),
    (0.3, -0.5244005127080408),
    (0.4, -0.2533471031357997),
    (0.49, -0.025068908258711057),
    (0.4999, -0.00025066283008800747),
    (0.50001, 2.506628274882086e-05),
    (0.6, 0.2533471031357997),
    (0.75, 0.6744897501960817),
    (0.9, 1.2815515655446006),
    (0.9249, 1.4388253927525403),
    (0.9251, 1.440238267527964),
    (0.975, 1.9599639845400538),
    (0.99, 2.3263478740408408),
    (0.99865, 2.9999769927034015),
    (0.999, 3.090232306167813),
    (0.999999, 4.753424308817087),
    (0.9999999999, 6.361340889697422),
];

/// (x, probability below x)
const PROBABILITIES: &[(f64, f64)] = &[
    (-37.5, 4.605353009581955e-308),
    (-30.0, 4.906713927148187e-198),
    (-20.0, 2.7536241186062337e-89),
    (-12.0, 1.776482112077679e-33),
    (-8.0, 6.220960574271784e-16),
    (-6.0, 9.86587645037698e-10),
    (-5.66, 7.568649751997714e-09),
    (-5.65, 8.022391850663497e-09),
    (-4.0, 3.1671241833119924e-05),
    (-3.0, 0.0013498980316300946),
    (-2.5, 0.006209665325776135),
    (-2.0, 0.02275013194817921),
    (-1.5, 0.06680720126885807),
    (-1.0, 0.15865525393145705),
    (-0.7, 0.24196365222307303),
    (-0.67, 0.2514288950953101),
    (-0.5, 0.3085375387259869),
    (-0.1, 0.460172162722971),
    (-1e-05, 0.49999601057719606),
    (1e-09, 0.5000000003989423),
    (0.25, 0.5987063256829237),
    (0.67, 0.7485711049046899),
    (0.68, 0.7517477695464295),
    (1.0, 0.8413447460685429),
    (1.5, 0.9331927987311419),
    (2.0, 0.9772498680518208),
    (3.0, 0.9986501019683699),
    (5.0, 0.9999997133484281),
    (7.0, 0.9999999999987201),
];

#[test]
fn reference_quantile_against_high_precision() {
    for &(p, expected) in QUANTILES {
        let found = quantile(p);
        assert!(
            (found / expected - 1.0).abs() < 1.5e-15,
            "quantile {p}: {found:e}, expected {expected:e}"
        );
    }
    assert_eq!(quantile(0.5), 0.0);
    assert_eq!(quantile(0.0), f64::NEG_INFINITY);
    assert_eq!(quantile(1.0), f64::INFINITY);
    for outside in [-0.1, 1.1, f64::NAN, f64::INFINITY, f64::NEG_INFINITY] {
        assert!(quantile(outside).is_nan(), "{outside}");
    }
}

#[test]
fn reference_cdf_against_high_precision() {
    for &(x, expected) in PROBABILITIES {
        let found = cdf(x);
        assert!(
            (found / expected - 1.0).abs() < 2e-15,
            "cdf {x}: {found:e}, expected {expected:e}"
        );
    }
    assert_eq!(cdf(f64::NEG_INFINITY), 0.0);
    assert_eq!(cdf(f64::INFINITY), 1.0);
    assert!(cdf(f64::NAN).is_nan());
}

#[test]
fn published_table_of_the_normal_distribution() {
    // JCGM 106:2012, table 1: conformance probability and z.
    for (p, z) in [
        (0.80, 0.84),
        (0.90, 1.28),
        (0.95, 1.64),
        (0.99, 2.33),
        (0.999, 3.09),
    ] {
        assert!((quantile(p) - z).abs() < 0.005, "{p}");
    }
    // JCGM 100:2008, table G.1: coverage factors for the normal distribution.
    for (p, k) in [
        (0.6827, 1.0),
        (0.90, 1.645),
        (0.95, 1.960),
        (0.9545, 2.0),
        (0.99, 2.576),
        (0.9973, 3.0),
    ] {
        assert!((quantile(0.5 + 0.5 * p) - k).abs() < 0.0005, "{p}");
    }
    // 4.3.4: ±129 µohm at 99 % are a standard uncertainty of 50 µohm.
    assert!((129.0 / quantile(0.995) - 50.0).abs() < 0.5);
    for (x, p) in [
        (1.0, 0.841345),
        (1.5, 0.933193),
        (2.0, 0.977250),
        (3.0, 0.998650),
    ] {
        assert!((cdf(x) - p).abs() < 5e-7, "{x}");
    }
}

#[test]
fn property_fill_equals_single_values_for_every_length() {
    // The list crosses all three approximations and both invalid ends.
    let probabilities: Vec<f64> = QUANTILES
        .iter()
        .map(|&(p, _)| p)
        .chain([0.0, 1.0, 2.0, -1.0, 1e-12, 0.5])
        .cycle()
        .take(300)
        .collect();
    for length in [0, 1, 5, 63, 64, 65, 128, 200, 300] {
        let mut filled: Vec<f64> = probabilities.iter().copied().take(length).collect();
        fill_quantile(&mut filled);
        for (found, &p) in filled.iter().zip(&probabilities) {
            let single = quantile(p);
            assert!(
                found.to_bits() == single.to_bits() || (found.is_nan() && single.is_nan()),
                "length {length}, p {p}: {found:e} and {single:e}"
            );
        }
    }
}

#[test]
fn property_quantile_inverts_cdf_and_is_odd() {
    // With 2048 steps both p and 1 − p are exact.
    for i in 1..2048 {
        let p = f64::from(i) / 2048.0;
        let x = quantile(p);
        assert!((cdf(x) / p - 1.0).abs() < 2e-15 * (1.0 + x * x), "{p}");
        assert_eq!(quantile(1.0 - p), -x, "{p}");
    }
}

#[test]
fn property_density_is_the_slope_of_cdf() {
    for i in -50..=50 {
        let x = f64::from(i) * 0.1;
        let h = 1e-4;
        let slope = (cdf(x + h) - cdf(x - h)) / (2.0 * h);
        assert!((slope - pdf(x)).abs() < 2e-9, "{x}");
    }
    assert_eq!(pdf(f64::INFINITY), 0.0);
}
