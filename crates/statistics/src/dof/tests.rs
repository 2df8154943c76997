use super::*;

#[test]
fn published_product_of_three() {
    // JCGM 100:2008, G.4.1: Y = X1·X2·X3 with relative uncertainties 0.25,
    // 0.57 and 0.82 % from 10, 5 and 15 readings: 1.03 %, 19.0 degrees of
    // freedom, t95 = 2.09, U95 = 2.2 %.
    let contributions = [(0.25, 9.0), (0.57, 4.0), (0.82, 14.0)];
    let combined = contributions.iter().map(|(u, _)| u * u).sum::<f64>().sqrt();
    assert!((combined - 1.03).abs() < 0.005);
    let dof = welch_satterthwaite(&contributions);
    assert!((dof - 19.0).abs() < 0.05, "{dof}");
    let k = coverage_factor(0.95, 19.0);
    assert!((k - 2.09).abs() < 0.005);
    assert!((k * combined - 2.2).abs() < 0.05);
}

#[test]
fn published_end_gauge() {
    // JCGM 100:2008, H.1.6 (nanometres): contributions of the standard, the
    // comparison, and the two temperature differences. Printed: u = 32,
    // 16.7 degrees of freedom cut to 16, t99 = 2.92, U99 = 93.
    let contributions = [(25.0, 18.0), (9.7, 25.6), (2.9, 50.0), (16.6, 2.0)];
    let combined = contributions.iter().map(|(u, _)| u * u).sum::<f64>().sqrt();
    assert!((combined - 32.0).abs() < 0.5);
    let dof = welch_satterthwaite(&contributions);
    assert!((dof - 16.7).abs() < 0.15, "{dof}");
    assert_eq!(rounded_down(dof), 16.0);
    let k = coverage_factor(0.99, rounded_down(dof));
    assert!((k - 2.92).abs() < 0.005);
    assert!((k * 32.0 - 93.0).abs() < 0.5);
}

#[test]
fn property_rounding_down_keeps_whole_numbers_and_the_ends() {
    assert_eq!(rounded_down(18.0), 18.0);
    assert_eq!(rounded_down(18.0 - 1e-13), 18.0);
    assert_eq!(rounded_down(18.99), 18.0);
    assert_eq!(rounded_down(0.7), 0.7);
    assert_eq!(rounded_down(f64::INFINITY), f64::INFINITY);
    assert!(rounded_down(f64::NAN).is_nan());
}

#[test]
fn property_formula_ignores_units_and_exact_contributions() {
    let base = [(3.0, 5.0), (4.0, 9.0), (1.0, f64::INFINITY)];
    let scaled = base.map(|(u, dof)| (u * 1e-90, dof));
    let a = welch_satterthwaite(&base);
    let b = welch_satterthwaite(&scaled);
    assert!((a / b - 1.0).abs() < 1e-13);
    // (9 + 16 + 1)² / (81/5 + 256/9)
    assert!((a - 676.0 / (81.0 / 5.0 + 256.0 / 9.0)).abs() < 1e-12);
    assert_eq!(welch_satterthwaite(&[(1.0, f64::INFINITY)]), f64::INFINITY);
    assert_eq!(welch_satterthwaite(&[]), f64::INFINITY);
    assert!(welch_satterthwaite(&[(1.0, 0.0)]).is_nan());
}
