//! Checks of Student's distribution. Reference values: mpmath 1.4.1 with 50 digits (a general-purpose library for arbitrary precision), rounded to the nearest f64.

use super::*;

/// (t, degrees of freedom, probability below t)
const PROBABILITIES: &[(f64, f64, f64)] = &[
    (-3.0, 1.0, 0.10241638234956672),
    (-0.001, 2.5, 0.49963819136039245),
    (-10.0, 4.0, 0.00028100181135799556),
    (-2.0, 16.7, 0.031017726155721088),
    (-6.0, 50.0, 1.0944697425399964e-07),
    (0.3, 9.0, 0.6145046481292376),
    (2.262157, 9.0, 0.9749999933477842),
    (-40.0, 3.0, 1.7190340394579263e-05),
    (-1.5, 0.5, 0.25395089532405424),
    (-5.0, 1000.0, 3.3836281823243153e-07),
    (-4.0, 123456.7, 3.168967407863571e-05),
];

/// (probability, degrees of freedom, quantile)
const QUANTILES: &[(f64, f64, f64)] = &[
    (0.975, 1.0, 12.706204736174694),
    (0.975, 2.0, 4.302652729749462),
    (0.995, 16.0, 2.9207816224250998),
    (0.995, 16.7, 2.9046809384293586),
    (0.97725, 3.0, 3.3068299207201086),
    (0.6, 5.0, 0.26718086570414507),
    (0.5000001, 7.3, 2.5936866679746654e-07),
    (1e-10, 4.0, -416.1751403296041),
    (1e-12, 1.5, -52194694.27344635),
    (1e-06, 30.0, -5.871117120418883),
    (0.05, 0.5, -41.13600009287827),
    (0.025, 200.0, -1.9718962236339093),
    (0.9995, 100000.0, 3.2906240314119137),
    (1e-16, 1.0, -3183098861837907.0),
    (0.3, 10000000.0, -0.5244005294232538),
];

#[test]
fn reference_cdf_against_high_precision() {
    for &(t, dof, expected) in PROBABILITIES {
        let found = cdf(t, dof);
        assert!(
            (found / expected - 1.0).abs() < 1e-13,
            "cdf {t} {dof}: {found:e}, expected {expected:e}"
        );
    }
}

#[test]
fn reference_quantile_against_high_precision() {
    for &(p, dof, expected) in QUANTILES {
        let found = quantile(p, dof);
        // The argument itself is rounded: near ½ that costs ε/|t|.
        let allowed = 2e-13 + 1e-16 / expected.abs();
        assert!(
            (found / expected - 1.0).abs() < allowed,
            "quantile {p} {dof}: {found:e}, expected {expected:e}"
        );
    }
}

#[test]
fn published_coverage_factors() {
    // JCGM 100:2008, table G.2, p = 95.45 %.
    for (dof, t) in [
        (1.0, 13.97),
        (2.0, 4.53),
        (3.0, 3.31),
        (4.0, 2.87),
        (5.0, 2.65),
        (10.0, 2.28),
        (20.0, 2.13),
        (50.0, 2.05),
    ] {
        let found = quantile(0.5 + 0.5 * 0.9545, dof);
        assert!((found - t).abs() < 0.0051, "{dof}: {found}");
    }
    // H.1.6: t99(16) = 2.92; G.4.1: t95(19) = 2.09.
    assert!((quantile(0.995, 16.0) - 2.92).abs() < 0.005);
    assert!((quantile(0.975, 19.0) - 2.09).abs() < 0.005);
}

#[test]
fn property_closed_forms_for_one_and_two_degrees_of_freedom() {
    for i in 1..200 {
        let p = f64::from(i) / 200.0;
        let q = p - 0.5;
        let angle = std::f64::consts::PI * q;
        let one = elementary::sin(angle) / elementary::cos(angle);
        let two = 2.0 * q * (2.0 / (4.0 * p * (1.0 - p))).sqrt();
        assert!((quantile(p, 1.0) - one).abs() <= 1e-13 * one.abs(), "{p}");
        assert!((quantile(p, 2.0) - two).abs() <= 1e-13 * two.abs(), "{p}");
    }
}

#[test]
fn property_quantile_inverts_cdf_for_any_degrees_of_freedom() {
    for dof in [0.3, 1.0, 2.7, 16.7, 300.0, 1e6, 1e12, f64::INFINITY] {
        for p in [1e-9, 1e-3, 0.1, 0.3, 0.499, 0.75, 0.9, 0.9999] {
            let t = quantile(p, dof);
            assert!((cdf(t, dof) / p - 1.0).abs() < 1e-12, "{dof} {p} {t}");
        }
    }
}

#[test]
fn property_density_is_the_slope_of_cdf() {
    for dof in [0.7, 3.0, 40.0] {
        for t in [-4.0, -1.0, 0.0, 0.3, 2.0] {
            let h = 1e-4;
            let slope = (cdf(t + h, dof) - cdf(t - h, dof)) / (2.0 * h);
            assert!((slope - pdf(t, dof)).abs() < 1e-8, "{dof} {t}");
        }
    }
}

#[test]
fn property_unusable_arguments_give_nan_or_infinity() {
    assert!(quantile(0.5, 0.0).is_nan());
    assert!(quantile(1.5, 3.0).is_nan());
    assert!(cdf(1.0, f64::NAN).is_nan());
    assert_eq!(quantile(0.0, 3.0), f64::NEG_INFINITY);
    assert_eq!(quantile(1.0, 3.0), f64::INFINITY);
    assert_eq!(quantile(0.5, 3.0), 0.0);
    assert_eq!(cdf(f64::INFINITY, 3.0), 1.0);
    assert_eq!(cdf(f64::NEG_INFINITY, 3.0), 0.0);
}
