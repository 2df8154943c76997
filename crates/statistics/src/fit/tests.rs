use super::*;
use crate::test_data::column;

fn close(found: f64, expected: f64, relative: f64, what: &str) {
    assert!(
        (found / expected - 1.0).abs() < relative,
        "{what}: {found:e}, expected {expected:e}"
    );
}

#[test]
fn published_norris_line() {
    // NIST Statistical Reference Datasets, linear regression, certified.
    let text = include_str!("../../../../testdata/nist-strd/norris.csv");
    let (y, x) = (column(text, 0), column(text, 1));
    let fit = polynomial(&x, &y, 1, None).unwrap();
    assert_eq!(fit.dof(), 34);
    close(fit.coefficients[0], -0.262323073774029, 1e-12, "b0");
    close(fit.coefficients[1], 1.00211681802045, 1e-14, "b1");
    let sd = |i| fit.uncertainty(i, Scatter::Residuals);
    close(sd(0), 0.232818234301152, 1e-13, "sd b0");
    close(sd(1), 4.29796848199937e-4, 1e-13, "sd b1");
    close(fit.residual_deviation(), 0.884796396144373, 1e-13, "s");
    close(fit.determination(), 0.999993745883712, 1e-14, "R²");
}

#[test]
fn published_pontius_load_cell() {
    // NIST Statistical Reference Datasets, linear regression, certified. The
    // deflections cannot be held exactly in 64 bits: 1e-16 of one, seen from
    // b0 of 7e-4, is 1e-13.
    let text = include_str!("../../../../testdata/nist-strd/pontius.csv");
    let (y, x) = (column(text, 0), column(text, 1));
    let fit = polynomial(&x, &y, 2, None).unwrap();
    close(fit.coefficients[0], 6.73565789473684e-4, 2e-12, "b0");
    close(fit.coefficients[1], 7.32059160401003e-7, 1e-14, "b1");
    close(fit.coefficients[2], -3.16081871345029e-15, 1e-12, "b2");
    let sd = |i| fit.uncertainty(i, Scatter::Residuals);
    close(sd(0), 1.07938612033077e-4, 1e-12, "sd b0");
    close(sd(1), 1.57817399981659e-10, 1e-12, "sd b1");
    close(sd(2), 4.86652849992036e-17, 1e-12, "sd b2");
    close(fit.residual_deviation(), 2.05177424076185e-4, 1e-12, "s");
    close(fit.determination(), 0.999999900178537, 1e-14, "R²");
}

#[test]
fn published_thermometer_calibration() {
    // JCGM 100:2008, H.3, tables H.6 and H.7, equations H.13 to H.15.
    let text = include_str!("../../../../testdata/jcgm-100/thermometer-h-3.csv");
    let (t, b) = (column(text, 1), column(text, 2));
    let from = |reference: f64| -> Vec<f64> { t.iter().map(|t| t - reference).collect() };
    let fit = polynomial(&from(20.0), &b, 1, None).unwrap();
    let u = |i| fit.uncertainty(i, Scatter::Residuals);
    // Printed figures to half their last digit, then the recomputed ones.
    for (found, printed, half_digit, recomputed) in [
        (fit.coefficients[0], -0.1712, 5e-5, -0.171_203_790),
        (u(0), 0.0029, 5e-5, 0.002_877_598),
        (fit.coefficients[1], 0.002_18, 5e-6, 0.002_182_698),
        (u(1), 0.000_67, 5e-6, 0.000_667_939),
        (fit.correlation(0, 1), -0.930, 5e-4, -0.930_430),
        (fit.residual_deviation(), 0.0035, 5e-5, 0.003_497_564),
        (fit.value(&[1.0, 10.0]), -0.1494, 5e-5, -0.149_376_813),
        (
            fit.value_uncertainty(&[1.0, 10.0], Scatter::Residuals),
            0.0041,
            5e-5,
            0.004_138_596,
        ),
    ] {
        assert!((found - printed).abs() < half_digit, "{found} {printed}");
        close(found, recomputed, 1e-6, "recomputed");
    }
    let fitted = [
        -0.16788391,
        -0.16681220,
        -0.16572085,
        -0.16464915,
        -0.16354907,
        -0.16247518,
        -0.16135328,
        -0.16028594,
        -0.15919240,
        -0.15808578,
        -0.15699225,
    ];
    for ((residual, b), fitted) in fit.residuals.iter().zip(&b).zip(fitted) {
        assert!((b - residual - fitted).abs() < 1e-8);
    }
    // A reference temperature at the mean uncouples the two.
    let fit = polynomial(&from(crate::moments::mean(&t)), &b, 1, None).unwrap();
    assert!(fit.correlation(0, 1).abs() < 1e-12);
    close(fit.coefficients[0], -0.162_454_545, 1e-8, "y1 at the mean");
    close(
        fit.uncertainty(0, Scatter::Residuals),
        0.001_054_555,
        1e-6,
        "u",
    );
}

#[test]
fn property_stated_uncertainties_weigh_and_scale() {
    let x = [0.0, 1.0, 2.0, 3.0, 4.0];
    let y = [1.0, 3.2, 4.9, 7.1, 8.8];
    let plain = polynomial(&x, &y, 1, None).unwrap();
    let equal = polynomial(&x, &y, 1, Some(&[0.1; 5])).unwrap();
    for i in 0..2 {
        close(equal.coefficients[i], plain.coefficients[i], 1e-14, "c");
        let residuals = |fit: &Fit| fit.uncertainty(i, Scatter::Residuals);
        close(residuals(&equal), residuals(&plain), 1e-13, "u");
        close(
            equal.uncertainty(i, Scatter::Stated),
            0.1 * plain.uncertainty(i, Scatter::Stated),
            1e-13,
            "stated",
        );
    }
    close(
        equal.chi_squared(),
        100.0 * plain.chi_squared(),
        1e-12,
        "χ²",
    );
    // The mean of n observations of uncertainty u has u/√n; with unequal ones
    // the weights are 1/u².
    let mean = least_squares(&[1.0, 1.0], 1, &[10.0, 14.0], Some(&[1.0, 2.0])).unwrap();
    close(
        mean.coefficients[0],
        (10.0 + 14.0 / 4.0) / 1.25,
        1e-15,
        "mean",
    );
    close(
        mean.uncertainty(0, Scatter::Stated),
        (1.0_f64 / 1.25).sqrt(),
        1e-15,
        "u",
    );
    // An observation without weight does not pull.
    let heavy = polynomial(
        &x,
        &[1.0, 3.0, 5.0, 7.0, 99.0],
        1,
        Some(&[1.0, 1.0, 1.0, 1.0, 1e8]),
    );
    close(heavy.unwrap().coefficients[1], 2.0, 1e-12, "slope");
}

#[test]
fn property_residuals_are_orthogonal_to_all_columns() {
    let x: Vec<f64> = (0..40).map(|i| 1.0 + 0.05 * f64::from(i)).collect();
    let y: Vec<f64> = x
        .iter()
        .map(|&x| elementary::exp(x) + elementary::sin(9.0 * x))
        .collect();
    let fit = polynomial(&x, &y, 6, None).unwrap();
    for power in 0..7 {
        let dot: f64 = x
            .iter()
            .zip(&fit.residuals)
            .map(|(&x, r)| powers(x, 7)[power] * r)
            .sum();
        assert!(dot.abs() < 1e-11, "{power}: {dot:e}");
    }
    for (x, (y, r)) in x.iter().zip(y.iter().zip(&fit.residuals)) {
        let difference = evaluate(&fit.coefficients, *x) - (y - r);
        // Terms of some ten thousand cancel here.
        assert!(difference.abs() < 1e-10, "{difference:e}");
    }
}

#[test]
fn property_nearly_dependent_columns_keep_their_digits() {
    // Integer coefficients of a polynomial of degree nine at far-off places:
    // all numbers exact, condition about 1e13.
    let x: Vec<f64> = (0..21).map(f64::from).collect();
    let wanted = [1.0; 10];
    let y: Vec<f64> = x.iter().map(|&x| evaluate(&wanted, x)).collect();
    let fit = polynomial(&x, &y, 9, None).unwrap();
    for c in &fit.coefficients {
        assert!((c - 1.0).abs() < 1e-7, "{c}");
    }
}

#[test]
fn property_unusable_data_are_named() {
    let error = |result: Result<Fit, FitError>| result.err();
    assert_eq!(
        error(polynomial(&[1.0, 1.0, 1.0], &[1.0, 2.0, 3.0], 1, None)),
        Some(FitError::Dependent { column: 1 })
    );
    assert_eq!(
        error(polynomial(&[1.0], &[1.0], 1, None)),
        Some(FitError::TooFewRows)
    );
    assert_eq!(
        error(polynomial(&[1.0, 2.0], &[1.0], 0, None)),
        Some(FitError::Lengths)
    );
    assert_eq!(
        error(polynomial(&[1.0, f64::NAN], &[1.0, 2.0], 1, None)),
        Some(FitError::NotFinite)
    );
    assert_eq!(
        error(polynomial(&[1.0, 2.0], &[1.0, 2.0], 1, Some(&[1.0, 0.0]))),
        Some(FitError::NotPositive)
    );
    assert_eq!(
        error(least_squares(&[0.0, 0.0], 1, &[1.0, 2.0], None)),
        Some(FitError::Dependent { column: 0 })
    );
    assert_eq!(
        error(polynomial(&[], &[], usize::MAX, None)),
        Some(FitError::TooFewRows)
    );
    let exact = polynomial(&[0.0, 1.0], &[1.0, 2.0], 1, None).unwrap();
    assert!(exact.covariance(0, 5, Scatter::Stated).is_nan());
    assert_eq!(exact.dof(), 0);
}

#[test]
fn property_solutions_fulfil_their_equations() {
    let mut matrix = vec![0.0; 36];
    for key in 0..50 {
        crate::stream::fill_uniform(key, 0, &mut matrix);
        for (i, entry) in matrix.iter_mut().enumerate() {
            *entry = (*entry - 0.5) * if i < 6 { 1e6 } else { 1.0 };
        }
        let wanted = [1.0, -2.0, 3.0, 0.5, 10.0, -7.0];
        let right: Vec<f64> = matrix
            .chunks(6)
            .map(|row| row.iter().zip(wanted).map(|(a, x)| a * x).sum())
            .collect();
        let found = solve(&matrix, &right).unwrap();
        for (x, wanted) in found.iter().zip(wanted) {
            assert!((x - wanted).abs() < 1e-11, "{key}: {found:?}");
        }
    }
    assert_eq!(
        solve(&[1.0, 2.0, 2.0, 4.0], &[1.0, 2.0]),
        Err(FitError::Dependent { column: 1 })
    );
    assert_eq!(solve(&[1.0, 2.0], &[1.0, 2.0]), Err(FitError::Lengths));
    assert_eq!(solve(&[], &[]), Err(FitError::TooFewRows));
    assert_eq!(solve(&[f64::NAN], &[1.0]), Err(FitError::NotFinite));
}
