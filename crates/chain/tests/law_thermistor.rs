//! Thermistors against published points and coefficient sets.

mod law_support;

use law_support::{ICE, Sensor, check_properties, close, number, rows, sensor};

fn by_beta(beta: f64) -> Sensor {
    sensor("thermistor-beta")
        .with("resistance-25", 10e3)
        .with("beta", beta)
}

/// R = R25·exp(B·(1/T − 1/298.15 K)), the definition of B (IEC 60539-1),
/// computed with scipy.
#[test]
fn published_beta_definition_in_numbers() {
    for (beta, t, ohm) in [
        (3950.0, 0.0, 33620.6),
        (3950.0, 50.0, 3588.2),
        (3950.0, 100.0, 697.5),
        (3435.0, 0.0, 28704.3),
        (3435.0, 50.0, 4101.2),
        (3435.0, 85.0, 1451.3),
    ] {
        close(by_beta(beta).at_celsius(t), ohm, 0.1);
    }
    let curve = by_beta(3950.0).curve();
    let per_kelvin = curve.slope(25.0 + ICE) / curve.forward(25.0 + ICE);
    close(per_kelvin * 100.0, -4.4435, 1e-4);
}

/// Catalogue points of a usual 10 kΩ part (0 °C 32650 Ω, 25 °C 10000 Ω, 50 °C
/// 3603 Ω, from memory) and the betas between them (computed with scipy):
/// with its own beta the law must pass through both points.
#[test]
fn published_beta_between_two_points() {
    let between_0_and_50 = by_beta(3891.01).with("resistance-25", 10e3).curve();
    let ratio = between_0_and_50.forward(ICE) / between_0_and_50.forward(50.0 + ICE);
    close(ratio, 32650.0 / 3603.0, 1e-4);
    close(by_beta(3934.12).at_celsius(50.0), 3603.0, 0.02);
}

/// Divider of 10 kΩ to the supply and the thermistor (B 3950) to ground, code
/// 4095 at the supply; computed with scipy.
#[test]
fn published_divider_codes() {
    for (t, code) in [(0.0, 3156.2), (25.0, 2047.5), (50.0, 1081.4)] {
        let ohm = by_beta(3950.0).at_celsius(t);
        close(4095.0 * ohm / (ohm + 10e3), code, 0.1);
    }
}

/// A thermistor between 4 kΩ and 115 kΩ with one fixed resistor on 10 bits
/// (a forum's question on the choice of that resistor): the best is the
/// geometric mean and gives 702 codes, never all 1024.
#[test]
fn published_best_divider_resistor_is_the_geometric_mean() {
    let curve = by_beta(3950.0).curve();
    let (hot, cold) = (curve.inverse(4e3), curve.inverse(115e3));
    let codes = |fixed: f64| {
        let share = |t: f64| {
            let ohm = curve.forward(t);
            ohm / (ohm + fixed)
        };
        1024.0 * (share(cold) - share(hot))
    };
    let best = (4e3f64 * 115e3).sqrt();
    close(best, 21.4e3, 0.1e3);
    close(codes(best), 702.0, 0.5);
    close(codes(10e3), 650.0, 0.5);
    close(codes(4e3), 478.0, 1.0);
    close(codes(115e3), 478.0, 1.0);
    assert!(codes(best) > codes(best * 1.05) && codes(best) > codes(best / 1.05));
}

#[test]
fn property_beta_law() {
    let (low, high) = by_beta(3950.0).validity().expect("a range");
    check_properties(&by_beta(3950.0), low, high);
    check_properties(&by_beta(3435.0).with("resistance-25", 5017.0), low, high);
}

#[test]
fn property_beta_faults_give_numbers() {
    let curve = by_beta(3950.0).curve();
    // A short is hotter, an open wire colder than anything measured.
    assert!(curve.inverse(0.0) >= 1000.0);
    assert!(curve.inverse(-3.0) >= 1000.0);
    assert!(curve.inverse(1e12) < 150.0 && curve.inverse(1e12) > 0.0);
    assert!(by_beta(-1.0).try_curve(300.0).is_err());
}

/// Coefficients published for a common 10 kΩ part (module sheet,
/// studylibfr.com/doc/3640921).
fn by_steinhart() -> Sensor {
    sensor("thermistor-steinhart")
        .with("a", 1.129148e-3)
        .with("b", 2.34125e-4)
        .with("c", 8.76741e-8)
}

/// Both curves every 5 °C, computed with scipy from the coefficients above
/// and beta 3950 K.
#[test]
fn reference_curves_of_a_10k_part() {
    let text = include_str!(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../testdata/thermistor/computed_10k.csv"
    ));
    let (steinhart, beta) = (by_steinhart().curve(), by_beta(3950.0).curve());
    let mut count = 0;
    for row in rows(text) {
        let t = number(row[0]) + ICE;
        close(steinhart.forward(t), number(row[1]), 0.0051);
        close(beta.forward(t), number(row[2]), 0.0051);
        count += 1;
    }
    assert_eq!(count, 34);
}

/// The coefficients above at the catalogue points of the part (0, 25, 50,
/// 40, 100 °C); last digits computed with scipy.
#[test]
fn published_steinhart_temperatures() {
    let curve = by_steinhart().curve();
    for (ohm, t) in [
        (32650.0, 0.000225),
        (10000.0, 24.999668),
        (3603.0, 49.985658),
        (5325.0, 39.999731),
        (680.0, 99.920736),
    ] {
        close(curve.inverse(ohm) - ICE, t, 1e-5);
    }
}

/// A set with more digits for the same curve (from memory), resistances
/// computed with scipy to 0.1 Ω.
#[test]
fn published_steinhart_resistances() {
    let curve = by_steinhart()
        .with("a", 1.129241e-3)
        .with("b", 2.341077e-4)
        .with("c", 8.775468e-8)
        .curve();
    for (t, ohm) in [
        (0.0, 32649.9),
        (25.0, 10000.0),
        (50.0, 3601.1),
        (85.0, 1070.4),
        (100.0, 678.4),
        (125.0, 340.6),
    ] {
        close(curve.forward(t + ICE), ohm, 0.1);
    }
}

/// Sensor table printed in a welding machine's manual (Fronius TransSteel
/// 2200, p. 14), 10 kΩ at 25 °C, tolerance 4.7 %.
const MANUAL: [(f64, f64); 9] = [
    (20.0, 12490.0),
    (25.0, 10000.0),
    (30.0, 8057.0),
    (55.0, 2986.0),
    (60.0, 2488.0),
    (65.0, 2083.0),
    (90.0, 917.7),
    (95.0, 788.5),
    (100.0, 680.0),
];

#[test]
fn published_table_of_another_maker_agrees_with_the_coefficients() {
    let curve = by_steinhart().curve();
    let errors = [
        0.0056, -0.0003, -0.0031, -0.0080, -0.0100, -0.0096, -0.0619, -0.0714, -0.0793,
    ];
    for ((t, ohm), error) in MANUAL.iter().zip(errors) {
        let read = curve.inverse(*ohm) - ICE;
        close(read, *t, 0.1);
        close(read - t, error, 1e-4);
    }
}

fn manual(curve: &'static str, scale: &'static str) -> Sensor {
    let kelvin: Vec<(f64, f64)> = MANUAL.iter().map(|&(t, r)| (t + ICE, r)).collect();
    sensor("resistance-table")
        .points("points", &kelvin)
        .word("curve", curve)
        .word("scale", scale)
}

/// The manual's own example of a straight line between its points: 10996 Ω
/// at 23 °C.
#[test]
fn published_linear_interpolation_of_a_table() {
    close(manual("straight", "linear").at_celsius(23.0), 10996.0, 1e-6);
}

/// Joined smoothly in the logarithm, the table follows the published curve
/// between its points: at 23 °C the coefficients give 10921 Ω, where the
/// straight line is 0.7 % high.
#[test]
fn reference_smooth_table_follows_the_curve() {
    let true_ohm = by_steinhart().at_celsius(23.0);
    let smooth = manual("smooth", "logarithmic").at_celsius(23.0);
    let straight = manual("straight", "linear").at_celsius(23.0);
    close(smooth / true_ohm, 1.0, 1e-3);
    assert!(straight / true_ohm > 1.006);
}

/// Coefficients of a data sheet (Vishay NTCLE100E3, document 29049, B25/85 =
/// 3977 K; from memory, the same in public code naming the part).
fn by_polynomial() -> Sensor {
    sensor("thermistor-polynomial")
        .with("resistance-25", 10e3)
        .with("a", -14.6337)
        .with("b", 4791.842)
        .with("c", -115334.0)
        .with("d", -3.730535e6)
        .with("inverse-a", 3.354016e-3)
        .with("inverse-b", 2.569850e-4)
        .with("inverse-c", 2.620131e-6)
        .with("inverse-d", 6.383091e-8)
}

/// Resistances from the coefficients, computed independently; B from 25 °C
/// to 85 °C is the part's stated 3977 K.
#[test]
fn published_polynomial_of_a_data_sheet() {
    let curve = by_polynomial().curve();
    for (t, ohm, tolerance) in [
        (-40.0, 332_100.0, 1.0),
        (0.0, 32554.8, 0.06),
        (25.0, 10000.2, 0.06),
        (50.0, 3605.3, 0.06),
        (85.0, 1070.33, 0.006),
        (125.0, 338.75, 0.006),
    ] {
        close(curve.forward(t + ICE), ohm, tolerance);
    }
    let (r25, r85) = (curve.forward(25.0 + ICE), curve.forward(85.0 + ICE));
    let beta = elementary::ln(r25 / r85) / (1.0 / (25.0 + ICE) - 1.0 / (85.0 + ICE));
    close(beta, 3977.0, 0.5);
}

/// The sheet's second set of coefficients is the inverse of its first to
/// 12 mK only; differences of the two published polynomials, computed with
/// Python's floats.
#[test]
fn published_inverse_polynomial_of_a_data_sheet() {
    let curve = by_polynomial().word("conversion", "published").curve();
    for (t, error) in [
        (-40.0, -0.00023),
        (-20.0, -0.01154),
        (0.0, -0.00814),
        (25.0, -0.00041),
        (55.0, 0.00334),
        (85.0, 0.00022),
        (125.0, -0.00479),
    ] {
        close(curve.there_and_back(t + ICE) - ICE - t, error, 6e-6);
    }
}

/// The manual's table joined smoothly in ln R, as scipy 1.14.1 does it
/// (PchipInterpolator over the logarithms).
#[test]
fn reference_monotone_cubics_in_the_logarithm() {
    let table = manual("smooth", "logarithmic").curve();
    for (t, ohm) in [
        (27.0, 9161.704466),
        (42.0, 4939.672691),
        (63.0, 2234.111140),
        (92.0, 862.939281),
    ] {
        close(table.forward(t + ICE), ohm, 1e-5);
        close(table.inverse(ohm) - ICE, t, 1e-7);
    }
}

#[test]
fn property_steinhart_law() {
    let (low, high) = by_steinhart().validity().expect("a range");
    check_properties(&by_steinhart(), low, high);
    check_properties(&by_steinhart().with("shift", 0.13), low, high);
    check_properties(&by_steinhart().with("c", 0.0), low, high);
    check_properties(&by_steinhart().with("c", -2e-8), 250.0, 400.0);
}

#[test]
fn property_polynomial_law() {
    let (low, high) = by_polynomial().validity().expect("a range");
    check_properties(&by_polynomial(), low, high);
    let off = by_polynomial()
        .with("resistance-25", 9.7e3)
        .with("beta-deviation", 0.0075);
    check_properties(&off, low, high);
    let curve = by_polynomial().curve();
    assert!(curve.inverse(0.0) > 900.0);
    assert!(curve.inverse(1e12) < 160.0);
}

#[test]
fn property_table_laws() {
    let (low, high) = manual("smooth", "logarithmic").validity().expect("a range");
    for curve in ["smooth", "straight"] {
        for scale in ["logarithmic", "linear"] {
            check_properties(&manual(curve, scale), low, high);
            let off = manual(curve, scale).with("factor", 1.03).with("shift", 0.2);
            check_properties(&off, low, high);
        }
    }
    // Uneven, nearly flat in one place.
    let bent = [
        (0.0, 1.0),
        (1.0, 1.001),
        (1.5, 7.0),
        (4.0, 7.2),
        (5.0, 30.0),
    ];
    let bent = sensor("resistance-table")
        .points("points", &bent)
        .word("scale", "linear");
    check_properties(&bent, 0.0, 5.0);
}

#[test]
fn property_a_table_that_turns_back_is_refused() {
    let turning = [(0.0, 1.0), (1.0, 2.0), (2.0, 1.5)];
    for curve in ["smooth", "straight"] {
        let turning = sensor("resistance-table")
            .points("points", &turning)
            .word("curve", curve);
        assert!(turning.try_curve(0.5).is_err());
    }
    let below_zero = sensor("resistance-table").points("points", &[(0.0, -1.0), (1.0, 2.0)]);
    assert!(below_zero.try_curve(0.5).is_err());
}
