//! Thermocouples against the ITS-90 reference functions and IEC 60584-1.

mod law_support;

use law_support::{ICE, Sensor, check_properties, close, number, rows, sensor};

const COEFFICIENTS: &str = include_str!(concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/../../testdata/its90/coefficients.csv"
));
const EMF: &str = include_str!(concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/../../testdata/its90/emf.csv"
));
const INVERSE: &str = include_str!(concat!(
    env!("CARGO_MANIFEST_DIR"),
    "/../../testdata/its90/inverse.csv"
));

const LETTERS: [&str; 8] = ["B", "E", "J", "K", "N", "R", "S", "T"];

/// A thermocouple with its terminals at a temperature in °C.
fn couple(letter: &'static str, terminals: f64) -> Sensor {
    sensor("thermocouple")
        .word("type", letter)
        .beside("cold-junction", terminals + ICE)
}

/// The letter as the law's own word; one that is none is refused later.
fn letter(text: &str) -> &'static str {
    let found = LETTERS.iter().find(|l| **l == text);
    found.copied().unwrap_or("?")
}

/// Six decimals and slopes at 114 points; head of the file for their source.
#[test]
fn published_its90_emf_and_slopes() {
    let mut count = 0;
    for row in rows(EMF) {
        let curve = couple(letter(row[0]), 0.0).curve();
        let t = number(row[1]) + ICE;
        close(curve.forward(t) * 1e3, number(row[2]), 5.1e-7);
        close(curve.slope(t) * 1e6, number(row[3]), 5.1e-5);
        count += 1;
    }
    assert_eq!(count, 114);
}

/// NIST Monograph 175, tables of emf (mV) at three decimals; types K and T at
/// low temperatures compared with printed tables, the rest evaluated from the
/// published functions.
#[test]
fn published_its90_tables_to_three_decimals() {
    let table: [(&str, &[(f64, f64)]); 8] = [
        (
            "K",
            &[
                (-200.0, -5.891),
                (-100.0, -3.554),
                (-50.0, -1.889),
                (0.0, 0.0),
                (25.0, 1.000),
                (50.0, 2.023),
                (100.0, 4.096),
                (200.0, 8.138),
                (300.0, 12.209),
                (400.0, 16.397),
                (500.0, 20.644),
                (600.0, 24.905),
                (800.0, 33.275),
                (1000.0, 41.276),
                (1200.0, 48.838),
                (1300.0, 52.410),
                (1372.0, 54.886),
            ],
        ),
        (
            "J",
            &[
                (-200.0, -7.890),
                (-100.0, -4.633),
                (-50.0, -2.431),
                (25.0, 1.277),
                (50.0, 2.585),
                (100.0, 5.269),
                (200.0, 10.779),
                (300.0, 16.327),
                (400.0, 21.848),
                (500.0, 27.393),
                (600.0, 33.102),
                (760.0, 42.919),
                (1000.0, 57.953),
                (1200.0, 69.553),
            ],
        ),
        (
            "T",
            &[
                (-200.0, -5.603),
                (-100.0, -3.379),
                (-50.0, -1.819),
                (25.0, 0.992),
                (50.0, 2.036),
                (100.0, 4.279),
                (200.0, 9.288),
                (300.0, 14.862),
                (400.0, 20.872),
            ],
        ),
        (
            "E",
            &[
                (-200.0, -8.825),
                (-100.0, -5.237),
                (25.0, 1.495),
                (50.0, 3.048),
                (100.0, 6.319),
                (200.0, 13.421),
                (300.0, 21.036),
                (500.0, 37.005),
                (700.0, 53.112),
                (1000.0, 76.373),
            ],
        ),
        (
            "N",
            &[
                (-200.0, -3.990),
                (-100.0, -2.407),
                (25.0, 0.659),
                (50.0, 1.340),
                (100.0, 2.774),
                (200.0, 5.913),
                (400.0, 12.974),
                (600.0, 20.613),
                (800.0, 28.455),
                (1000.0, 36.256),
                (1200.0, 43.846),
                (1300.0, 47.513),
            ],
        ),
        (
            "S",
            &[
                (-50.0, -0.236),
                (25.0, 0.143),
                (50.0, 0.299),
                (100.0, 0.646),
                (200.0, 1.441),
                (400.0, 3.259),
                (600.0, 5.239),
                (800.0, 7.345),
                (1000.0, 9.587),
                (1200.0, 11.951),
                (1768.0, 18.693),
            ],
        ),
        (
            "R",
            &[
                (-50.0, -0.226),
                (25.0, 0.141),
                (50.0, 0.296),
                (100.0, 0.647),
                (200.0, 1.469),
                (400.0, 3.408),
                (600.0, 5.583),
                (800.0, 7.950),
                (1000.0, 10.506),
                (1200.0, 13.228),
                (1768.0, 21.101),
            ],
        ),
        (
            "B",
            &[
                (0.0, 0.0),
                (25.0, -0.002),
                (50.0, 0.002),
                (100.0, 0.033),
                (200.0, 0.178),
                (300.0, 0.431),
                (400.0, 0.787),
                (500.0, 1.242),
                (600.0, 1.792),
                (800.0, 3.154),
                (1000.0, 4.834),
                (1200.0, 6.786),
                (1820.0, 13.820),
            ],
        ),
    ];
    for (letter, points) in table {
        let curve = couple(letter, 0.0).curve();
        for &(t, millivolt) in points {
            close(curve.forward(t + ICE) * 1e3, millivolt, 0.000_501);
        }
    }
}

/// Every published coefficient, by evaluating the published polynomials here
/// and comparing throughout each stretch.
#[test]
fn published_its90_coefficients() {
    let mut stretches: Vec<(&str, f64, f64, Vec<f64>, Vec<f64>)> = Vec::new();
    for row in rows(COEFFICIENTS) {
        let (from, to) = (number(row[1]), number(row[2]));
        let new = stretches
            .last()
            .is_none_or(|s| s.0 != row[0] || s.1 != from);
        if new {
            stretches.push((letter(row[0]), from, to, Vec::new(), Vec::new()));
        }
        let last = stretches.len() - 1;
        if row[3].starts_with('c') {
            stretches[last].3.push(number(row[4]));
        } else {
            stretches[last].4.push(number(row[4]));
        }
    }
    assert_eq!(stretches.len(), 18);
    for (letter, from, to, powers, hump) in stretches {
        let curve = couple(letter, 0.0).curve();
        for i in 0..=400 {
            // Just inside, so that the neighbour is not meant.
            let t = from + (to - from) * (1e-6 + (1.0 - 2e-6) * f64::from(i) / 400.0);
            let mut millivolt = powers.iter().rev().fold(0.0, |sum, c| sum * t + c);
            if let [a0, a1, a2] = hump[..] {
                millivolt += a0 * elementary::exp(a1 * (t - a2) * (t - a2));
            }
            close(curve.forward(t + ICE) * 1e3, millivolt, 1e-11);
        }
    }
}

/// NIST Monograph 175, inverse polynomials: fed with our emf they must give
/// the temperature within the error bounds published beside them.
#[test]
fn published_its90_inverse_polynomials_within_their_bounds() {
    let bounds = [
        ("K", -200.0, -0.02, 0.041),
        ("K", 0.0, -0.05, 0.04),
        ("K", 500.0, -0.05, 0.06),
        ("J", -210.0, -0.05, 0.034),
        ("J", 0.0, -0.04, 0.04),
        ("T", -200.0, -0.02, 0.04),
        ("T", 0.0, -0.03, 0.03),
    ];
    for (name, from, low, high) in bounds {
        let coefficients: Vec<(f64, f64)> = rows(INVERSE)
            .filter(|row| row[0] == name && number(row[1]) == from)
            .map(|row| (number(row[2]), number(row[4])))
            .collect();
        assert!(coefficients.len() > 5);
        let to = coefficients[0].0;
        let curve = couple(name, 0.0).curve();
        for i in 0..=500 {
            let t = from + (to - from) * f64::from(i) / 500.0;
            let millivolt = curve.forward(t + ICE) * 1e3;
            let powers = coefficients.iter().rev();
            let approximate = powers.fold(0.0, |sum, (_, c)| sum * millivolt + c);
            let error = approximate - t;
            assert!(low <= error && error <= high, "{name} at {t}: {error}");
            // Our own way back has no such error.
            close(curve.inverse(millivolt * 1e-3) - ICE, t, 1e-6);
        }
    }
}

/// Roots of the reference function, computed with scipy: voltages add,
/// temperatures do not (98.58 °C if one adds them).
#[test]
fn published_cold_junction_examples() {
    close(couple("K", 0.0).at_celsius(25.0) * 1e3, 1.000242, 1e-6);
    close(couple("K", 25.0).celsius(3e-3), 97.6807, 1e-3);
    close(couple("K", 0.0).at_celsius(22.0) * 1e3, 0.878855, 1e-6);
    close(couple("K", 22.0).celsius(10e-3), 267.7552, 1e-3);
    let naive = couple("K", 0.0).celsius(3e-3) + 25.0;
    close(naive, 98.58, 0.01);
}

/// A reported channel: terminals at 25 °C, the converter's own sensor at
/// 33 °C (Klipper pull request 6553), and one whose terminals warm from 25 °C
/// to 35 °C while the value is held (T-962-improvements issue 256).
#[test]
fn published_warm_cold_junction_sensor() {
    let measured = couple("K", 25.0).curve();
    let read = |t: f64, believed: f64, terminals: f64| {
        let volt = couple("K", terminals).at_celsius(t);
        couple("K", believed).celsius(volt)
    };
    close(read(25.0, 33.0, 25.0), 33.0, 0.05);
    close(read(240.0, 33.0, 25.0), 248.0, 0.05);
    close(read(200.0, 33.0, 25.0), 208.1, 0.05);
    close(read(240.0, 25.0, 35.0), 229.9, 0.05);
    let shift = couple("K", 0.0).at_celsius(33.0) - couple("K", 0.0).at_celsius(25.0);
    close(shift * 1e3, 0.32, 0.006);
    close(measured.forward(25.0 + ICE), 0.0, 1e-18);
}

/// IEC 60584-1:2013, tolerances: the greater of an absolute and a relative
/// limit (restated by Pico Technology Poland and in the comparison of JIS
/// C1602, IEC 584-2 and ASTM E230).
#[test]
fn published_iec_60584_tolerance_classes() {
    for (letter, absolute, relative, points) in [
        (
            "K",
            1.5,
            0.004,
            vec![(100.0, 1.5), (500.0, 2.0), (1000.0, 4.0), (375.0, 1.5)],
        ),
        ("K", 2.5, 0.0075, vec![(100.0, 2.5), (600.0, 4.5)]),
        ("K", 2.5, 0.015, vec![(-200.0, 3.0), (-100.0, 2.5)]),
        ("J", 1.5, 0.004, vec![(375.0, 1.5), (750.0, 3.0)]),
        (
            "T",
            0.5,
            0.004,
            vec![(100.0, 0.5), (300.0, 1.2), (125.0, 0.5)],
        ),
        ("T", 1.0, 0.0075, vec![(100.0, 1.0), (200.0, 1.5)]),
        ("T", 1.0, 0.015, vec![(-200.0, 3.0), (-50.0, 1.0)]),
    ] {
        for share in [-1.0, 1.0] {
            let part = couple(letter, 20.0)
                .with("class-absolute", absolute)
                .with("class-relative", relative)
                .with("class-share", share)
                .curve();
            let ideal = couple(letter, 20.0).curve();
            for (t, limit) in &points {
                let read = ideal.inverse(part.forward(t + ICE)) - ICE;
                close(read - t, share * limit, 1e-6);
            }
        }
    }
}

#[test]
fn property_every_letter_reads_back_and_rises() {
    for letter in LETTERS {
        let plain = couple(letter, 24.0);
        let (low, high) = plain.validity().expect("a range");
        check_properties(&plain, low, high);
    }
}

#[test]
fn property_with_class_and_extension() {
    let part = couple("K", 31.0)
        .with("class-absolute", 1.5)
        .with("class-relative", 0.004)
        .with("class-share", -0.7)
        .with("extension-voltage", 23e-6);
    check_properties(&part, -190.0 + ICE, 1200.0 + ICE);
}

#[test]
fn property_faults_give_numbers() {
    for letter in LETTERS {
        let curve = couple(letter, 25.0).curve();
        let (low, high) = (curve.inverse(-3.3), curve.inverse(3.3));
        assert!(low.is_finite() && high.is_finite() && low < high);
    }
    assert!(
        sensor("thermocouple")
            .word("type", "K")
            .try_curve(300.0)
            .is_err()
    );
    assert!(
        sensor("thermocouple")
            .beside("cold-junction", 300.0)
            .try_curve(300.0)
            .is_err()
    );
}
