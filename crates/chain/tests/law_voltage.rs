//! Laws with a voltage or a share of a voltage at the output.

mod law_support;

use law_support::{ICE, Sensor, close, number, rows, sensor};
use quantity::Dimension;

/// Data sheet TMP35/TMP36/TMP37 Rev. E, Table 1: 750 mV at 25 °C, 10 mV/°C.
#[test]
fn published_linear_temperature_sensor() {
    let part = sensor("linear-voltage")
        .with("offset", 0.5)
        .with("slope", 0.01);
    close(part.at_celsius(25.0), 0.75, 1e-12);
    close(part.celsius(0.1), -40.0, 1e-9);
    close(part.celsius(2.0), 150.0, 1e-9);
}

/// Data sheet MPX5010 Rev. 14, Table 6: V = Vs·(0.09·P/kPa + 0.04), so 0.2 V
/// to 4.7 V at 5 V.
#[test]
fn published_ratiometric_pressure_sensor() {
    let part = sensor("ratiometric-voltage")
        .measuring(Dimension::PRESSURE)
        .with("offset-ratio", 0.04)
        .with("slope-ratio", 0.09e-3);
    close(5.0 * part.forward(0.0), 0.2, 1e-12);
    close(5.0 * part.forward(10e3), 4.7, 1e-12);
    close(part.inverse(2.45 / 5.0), 5e3, 1e-9);
}

/// Data sheet ACS712: half the supply at rest, 185 mV/A at 5 V.
#[test]
fn published_hall_current_sensor() {
    let part = sensor("hall")
        .measuring(Dimension::CURRENT)
        .with("slope-ratio", 0.185 / 5.0);
    close(5.0 * part.forward(0.0), 2.5, 1e-12);
    close(5.0 * part.forward(-5.0), 2.5 - 0.925, 1e-12);
    close(part.inverse(0.5 + 0.037 * 3.0), 3.0, 1e-12);
    // The output would reach the rails at ±13.5 A.
    let (low, high) = part.validity().expect("a range");
    close(high, 0.5 / 0.037, 1e-9);
    close(low, -0.5 / 0.037, 1e-9);
}

/// Load cell of 2 mV/V at 5 V: 10 mV at its rated load.
#[test]
fn published_load_cell_full_scale() {
    let cell = sensor("bridge")
        .measuring(Dimension::MASS)
        .with("sensitivity", 2e-3)
        .with("rated", 20.0)
        .with("resistance", 350.0);
    close(5.0 * cell.forward(20.0), 10e-3, 1e-15);
    close(cell.inverse(0.5e-3), 5.0, 1e-12);
    assert_eq!(cell.source_resistance(3.0), Some(350.0));
}

fn gauges(arrangement: &'static str) -> Sensor {
    sensor("strain-gauge")
        .word("gauges", arrangement)
        .with("gauge-factor", 2.0)
        .with("poisson", 0.3)
}

/// Gauge factor 2 at 1000 µm/m, mV/V, from the usual bridge equations.
#[test]
fn published_strain_gauge_bridges() {
    for (arrangement, millivolt_per_volt, linear) in [
        ("quarter", 0.499_500_5, 0.5),
        ("half-bending", 1.0, 1.0),
        ("half-poisson", 0.649_545, 0.65),
        ("full-bending", 2.0, 2.0),
        ("full-poisson", 1.299_091, 1.30),
    ] {
        let exact = gauges(arrangement);
        close(exact.forward(1e-3) * 1e3, millivolt_per_volt, 6e-7);
        let simple = gauges(arrangement).word("conversion", "linear");
        close(simple.inverse(linear * 1e-3), 1e-3, 1e-15);
    }
    // Textbook problem (tutorbin.com, "diaphragm pressure gauge"): four
    // active gauges, factor 2.1, ±1e-5, 10 V: 0.21 mV.
    let diaphragm = gauges("full-bending").with("gauge-factor", 2.1);
    close(10.0 * diaphragm.forward(1e-5), 0.21e-3, 1e-15);
}

/// The same from the two dividers of the bridge with each arm's resistance.
#[test]
fn reference_strain_gauges_by_their_dividers() {
    let (factor, poisson) = (2.0, 0.3);
    for strain in [-0.02, -1e-3, 1e-4, 0.015] {
        let x = factor * strain;
        let (long, short) = (1.0 + x, 1.0 - x);
        let across = 1.0 - poisson * x;
        // Left top, left bottom, right top, right bottom.
        for (arrangement, [a, b, c, d]) in [
            ("quarter", [1.0, long, 1.0, 1.0]),
            ("half-bending", [short, long, 1.0, 1.0]),
            ("half-poisson", [across, long, 1.0, 1.0]),
            ("full-bending", [short, long, long, short]),
            ("full-poisson", [across, long, long, across]),
        ] {
            let by_dividers = b / (a + b) - d / (c + d);
            close(gauges(arrangement).forward(strain), by_dividers, 1e-15);
        }
    }
}

/// A firmware that leaves the bend out reads 1000 µm/m low by x/2 = 0.1 %.
#[test]
fn published_linear_quarter_bridge_reads_low() {
    let ratio = gauges("quarter").forward(1e-3);
    let read = gauges("quarter")
        .word("conversion", "linear")
        .inverse(ratio);
    close(read / 1e-3 - 1.0, -0.001, 1.1e-6);
}

/// A straight track; seen from the wiper in the middle it is a quarter of
/// the whole (two halves side by side).
#[test]
fn reference_potentiometer() {
    let lever = sensor("potentiometer")
        .measuring(Dimension::ANGLE)
        .with("travel-low", -1.0)
        .with("travel-high", 3.0)
        .with("ratio-low", 0.1)
        .with("ratio-high", 0.9)
        .with("resistance", 10e3);
    close(lever.forward(1.0), 0.5, 1e-15);
    close(lever.forward(-1.0), 0.1, 1e-15);
    close(lever.inverse(0.7), 2.0, 1e-12);
    close(lever.source_resistance(1.0).expect("given"), 2500.0, 1e-9);
    close(lever.source_resistance(3.0).expect("given"), 900.0, 1e-9);
}

/// The reference function of type S from 1064.18 °C to 1664.5 °C (NIST
/// Monograph 175) as a polynomial of its own, at 1200 °C and 1500 °C:
/// 11.951 mV (the published table) and what Horner's scheme gives.
fn type_s() -> Sensor {
    sensor("polynomial-voltage")
        .with("c0", 1.32900444085e-3)
        .with("c1", 3.34509311344e-6)
        .with("c2", 6.54805192818e-9)
        .with("c3", -1.64856259209e-12)
        .with("c4", 1.29989605174e-17)
        .with("valid-low", 1064.18 + ICE)
        .with("valid-high", 1664.5 + ICE)
}

#[test]
fn published_polynomial_of_a_reference_function() {
    let text = include_str!(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../testdata/its90/emf.csv"
    ));
    let curve = type_s().curve();
    let mut count = 0;
    for row in rows(text) {
        let t = number(row[1]);
        if row[0] == "S" && (1064.18..=1664.5).contains(&t) {
            close(curve.forward(t + ICE) * 1e3, number(row[2]), 5.1e-7);
            close(curve.slope(t + ICE) * 1e6, number(row[3]), 5.1e-5);
            close(curve.inverse(curve.forward(t + ICE)) - ICE, t, 1e-9);
            count += 1;
        }
    }
    assert!(count >= 2, "{count} rows");
}

/// The published emf of type K from 0 °C to 600 °C, without the row at
/// 127 °C, as a table: joined smoothly as scipy 1.14.1 does it
/// (PchipInterpolator, the same slopes away from the ends), or by lines.
#[test]
fn reference_monotone_cubics_through_published_emf() {
    let text = include_str!(concat!(
        env!("CARGO_MANIFEST_DIR"),
        "/../../testdata/its90/emf.csv"
    ));
    let points: Vec<(f64, f64)> = rows(text)
        .filter(|row| row[0] == "K" && row[1] != "127")
        .map(|row| (number(row[1]) + ICE, number(row[2]) * 1e-3))
        .filter(|(t, _)| (ICE..=600.0 + ICE).contains(t))
        .collect();
    let table = sensor("voltage-table").points("points", &points);
    for (t, millivolt) in [
        (60.0, 2.436493139),
        (127.0, 5.195121128),
        (250.0, 10.164473950),
        (333.0, 13.579772505),
        (480.0, 19.793016720),
    ] {
        close(table.at_celsius(t) * 1e3, millivolt, 1e-9);
        close(table.celsius(millivolt * 1e-3), t, 1e-6);
    }
    let lines = table.word("curve", "straight");
    let by_hand = 4.096230 + 0.27 * (8.138473 - 4.096230);
    close(lines.at_celsius(127.0) * 1e3, by_hand, 1e-12);
}

#[test]
fn property_what_has_no_inverse_is_refused() {
    let turning = type_s().with("c2", 1.5e-9);
    assert!(turning.try_curve(1400.0).is_err());
    let empty = type_s().with("valid-high", 1000.0);
    assert!(empty.try_curve(1400.0).is_err());
    let flat = sensor("linear-voltage").with("slope", 0.0);
    assert!(flat.try_curve(1.0).is_err());
}
