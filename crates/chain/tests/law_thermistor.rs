//! Thermistors against published points and coefficient sets.

mod law_support;

use law_support::{ICE, Sensor, check_properties, close, sensor};

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
