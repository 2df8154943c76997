//! What is read from values, tolerances, ranges, unknowns and accuracies.

// Helpers outside test functions fail by panicking, too.
#![allow(clippy::panic, clippy::unwrap_used)]

use quantity::{
    AccuracyTerm, Dimension, Dimension as D, Part, Range, Tolerance, Unknown, Valued, accuracy,
    accuracy_term, any, range, range_difference, unknown, value, valued, valued_difference,
};

fn relative(fraction: f64) -> Option<Tolerance> {
    Some(Tolerance::symmetric(Part::Relative(fraction)))
}

fn absolute(amount: f64) -> Option<Tolerance> {
    Some(Tolerance::symmetric(Part::Absolute(amount)))
}

#[test]
fn reference_spaces_and_signs() {
    for text in [
        "-3.3 V",
        "\u{2212}3.3 V",
        "-3.3V",
        "  -3.3\u{202f}V ",
        "-3.3\u{a0}V",
        "- 3.3\u{2009}V",
        "-3300mV",
        "-3.3e0 V",
        "-33E-1 V",
        "-33e\u{2212}1 V",
        "-.0033e+3 V",
    ] {
        let read = value(text, D::VOLTAGE).unwrap();
        assert_eq!(read.value, -3.3, "{text}");
    }
    assert_eq!(value("+5. V", D::VOLTAGE).unwrap().value, 5.0);
    // A negative zero would print with a sign.
    assert!(value("-0 V", D::VOLTAGE).unwrap().value.is_sign_positive());
}

#[test]
fn reference_plain_numbers_need_no_unit_and_others_do() {
    assert_eq!(value("2.5", D::NONE).unwrap().value, 2.5);
    assert_eq!(value("40 %", D::NONE).unwrap().value, 0.4);
    assert_eq!(any("12").unwrap().dimension, D::NONE);
    for dimension in [D::VOLTAGE, D::CODE, D::PH, D::HUMIDITY, D::TEMPERATURE] {
        assert!(value("7", dimension).is_err());
        assert!(value("0", dimension).is_err());
    }
}

#[test]
fn reference_tolerances() {
    for (text, nominal, tolerance) in [
        ("3.3 V ± 3 %", 3.3, relative(0.03)),
        ("3.3 V +- 3 %", 3.3, relative(0.03)),
        ("3.3 V +/- 3 %", 3.3, relative(0.03)),
        ("3.3V±3%", 3.3, relative(0.03)),
        ("3.3 V 3 %", 3.3, relative(0.03)),
        ("3.3 V ± 0 %", 3.3, relative(0.0)),
        ("3.3 V ± 500 ppm", 3.3, relative(500e-6)),
        ("3.3 V ± 50 mV", 3.3, absolute(0.05)),
        ("3.3 ± 0.05 V", 3.3, absolute(0.05)),
        ("(3.3 ± 0.05) V", 3.3, absolute(0.05)),
        ("-3.3 V ± 50 mV", -3.3, absolute(0.05)),
    ] {
        let read = valued(text, D::VOLTAGE).unwrap();
        assert_eq!(
            (read.nominal, read.tolerance),
            (nominal, tolerance),
            "{text}"
        );
    }
}

#[test]
fn reference_one_sided_limits_in_either_order() {
    let wanted = Some(Tolerance {
        minus: Part::Relative(0.1),
        plus: Part::Relative(0.05),
    });
    for text in [
        "5 V +5 % -10 %",
        "5 V -10 % +5 %",
        "5 V \u{2212}10 % + 5 %",
        "5 V +5/-10 %",
        "5 V +5 -10 %",
        "5V+5%-10%",
        "5 V +5 % / -10 %",
    ] {
        assert_eq!(
            valued(text, D::VOLTAGE).unwrap().tolerance,
            wanted,
            "{text}"
        );
    }
    let mixed = valued("5 V +0 % -0.2 V", D::VOLTAGE).unwrap();
    assert_eq!(
        mixed.tolerance,
        Some(Tolerance {
            minus: Part::Absolute(0.2),
            plus: Part::Relative(0.0),
        })
    );
    assert_eq!(mixed.tolerance.unwrap().limits(5.0), (4.8, 5.0));
}

#[test]
fn reference_limits_of_a_negative_nominal_keep_their_direction() {
    let rail = valued("-5 V +5 % -10 %", D::VOLTAGE).unwrap();
    assert_eq!(rail.tolerance.unwrap().limits(rail.nominal), (-5.5, -4.75));
}

#[test]
fn reference_temperatures_carry_kelvin_tolerances() {
    for text in ["21 °C ± 2 °C", "21 °C ± 2 K", "21 ± 2 °C", "(21 ± 2) °C"] {
        let read = valued(text, D::TEMPERATURE).unwrap();
        assert_eq!(
            (read.nominal, read.tolerance),
            (294.15, absolute(2.0)),
            "{text}"
        );
    }
    let offset = valued_difference("0.5 °C ± 10 %", D::TEMPERATURE).unwrap();
    assert_eq!((offset.nominal, offset.tolerance), (0.5, relative(0.1)));
}

#[test]
fn reference_drifts() {
    let read = |text| valued(text, D::RESISTANCE).unwrap();
    let plain = read("10 kΩ 0.1 % 25 ppm/K");
    assert_eq!(
        plain,
        Valued {
            nominal: 10_000.0,
            dimension: D::RESISTANCE,
            tolerance: relative(0.001),
            drift_per_k: Some(25e-6),
            drift_signed: false,
            drift_absolute_per_k: None,
            per_unit: false,
            words: vec![],
        }
    );
    // Order does not matter, nor how the degree is written.
    for text in [
        "10 kΩ 25 ppm/K 0.1 %",
        "10 kΩ ± 0.1 % ± 25 ppm/°C",
        "10k 0.1% 25ppm/degC",
        "10k 0.1 % 0.0025 %/K",
    ] {
        assert_eq!(read(text), plain, "{text}");
    }
    let coefficient = read("100 Ω +0.385 %/K");
    assert_eq!(coefficient.drift_per_k, Some(0.385e-2));
    assert!(coefficient.drift_signed);
    assert_eq!(read("100 Ω -25 ppm/K").drift_per_k, Some(-25e-6));
    assert_eq!(read("100 Ω -0.4 Ω/K").drift_absolute_per_k, Some(-0.4));
    let offset = valued("0 mV ± 2 mV 2 µV/K", D::VOLTAGE).unwrap();
    assert_eq!(
        (
            offset.nominal,
            offset.drift_absolute_per_k,
            offset.drift_signed
        ),
        (0.0, Some(2e-6), false)
    );
    assert_eq!(offset.drift_per_k, None);
}

#[test]
fn reference_words_are_handed_on() {
    let leads = valued("0.2 Ω ± 0.05 Ω each", D::RESISTANCE).unwrap();
    assert!(leads.per_unit && leads.words.is_empty());
    let capacitor = valued("1 µF 10 % X7R", D::CAPACITANCE).unwrap();
    assert_eq!(capacitor.words, ["X7R"]);
    let several = valued("4n7J C0G film each", D::CAPACITANCE).unwrap();
    assert_eq!(several.words, ["C0G", "film"]);
    assert!(several.per_unit);
    assert_eq!(several.tolerance, relative(0.05));
    assert_eq!(valued("2.5 film", D::NONE).unwrap().words, ["film"]);
}

#[test]
fn reference_plain_numbers_with_tolerance() {
    assert_eq!(
        valued("0.5 ± 2 %", D::NONE).unwrap().tolerance,
        relative(0.02)
    );
    assert_eq!(
        valued("0.5 ± 0.02", D::NONE).unwrap().tolerance,
        absolute(0.02)
    );
    assert_eq!(
        valued("(0.5 ± 0.02)", D::NONE).unwrap().tolerance,
        absolute(0.02)
    );
    assert_eq!(
        valued("7 pH ± 0.02 pH", D::PH).unwrap().tolerance,
        absolute(0.02)
    );
}

#[test]
fn reference_ranges() {
    for (text, dimension, low, high) in [
        ("-5 °C to 40 °C", D::TEMPERATURE, 268.15, 313.15),
        ("-5 to 40 °C", D::TEMPERATURE, 268.15, 313.15),
        ("0 to 10 kPa", D::PRESSURE, 0.0, 1e4),
        ("500 Pa to 10 kPa", D::PRESSURE, 500.0, 1e4),
        ("4 to 20 mA", D::CURRENT, 4e-3, 20e-3),
        ("1k to 4k7", D::RESISTANCE, 1e3, 4.7e3),
        ("0 to 1", D::NONE, 0.0, 1.0),
        ("20 to 80 %", D::NONE, 0.2, 0.8),
        ("20 to 80 %RH", D::HUMIDITY, 20.0, 80.0),
        ("3 to 5 pH", D::PH, 3.0, 5.0),
        ("5 V to 5 V", D::VOLTAGE, 5.0, 5.0),
        ("\u{2212}10 to +10 V", D::VOLTAGE, -10.0, 10.0),
    ] {
        let read = range(text, dimension).unwrap();
        let wanted = Range {
            low,
            high,
            dimension,
        };
        assert_eq!(read, wanted, "{text}");
    }
    let span = range_difference("-2 to 2 °C", D::TEMPERATURE).unwrap();
    assert_eq!((span.low, span.high), (-2.0, 2.0));
}

#[test]
fn reference_unknowns() {
    let bounds = |low, high| Some(Unknown { low, high });
    assert_eq!(unknown("?", D::VOLTAGE).unwrap(), bounds(None, None));
    assert_eq!(unknown(" ? ", D::VOLTAGE).unwrap(), bounds(None, None));
    for text in ["? 1 pF to 20 pF", "?1 to 20 pF", "? 1p to 20p"] {
        assert_eq!(
            unknown(text, D::CAPACITANCE).unwrap(),
            bounds(Some(1e-12), Some(20e-12)),
            "{text}"
        );
    }
    assert_eq!(unknown("15 pF", D::CAPACITANCE).unwrap(), None);
    assert_eq!(unknown("", D::CAPACITANCE).unwrap(), None);
}

#[test]
fn reference_accuracies() {
    for (text, dimension, term) in [
        ("0.3 °C", D::TEMPERATURE, AccuracyTerm::Absolute(0.3)),
        ("± 0.3 K", D::TEMPERATURE, AccuracyTerm::Absolute(0.3)),
        ("2 kPa", D::PRESSURE, AccuracyTerm::Absolute(2e3)),
        ("3 %RH", D::HUMIDITY, AccuracyTerm::Absolute(3.0)),
        ("0.1 pH", D::PH, AccuracyTerm::Absolute(0.1)),
        ("0.5 %", D::NONE, AccuracyTerm::Absolute(0.005)),
        (
            "0.5 % of reading",
            D::PRESSURE,
            AccuracyTerm::OfReading(0.005),
        ),
        ("0.1 % of span", D::PRESSURE, AccuracyTerm::OfSpan(0.001)),
        ("200 ppm of span", D::PRESSURE, AccuracyTerm::OfSpan(200e-6)),
        ("0.5 % of reading", D::NONE, AccuracyTerm::OfReading(0.005)),
    ] {
        assert_eq!(accuracy_term(text, dimension).unwrap(), term, "{text}");
        assert_eq!(accuracy(text, dimension).unwrap(), [term], "{text}");
    }
    assert_eq!(
        accuracy("0.1 °C + 0.2 % of reading + 0.05 % of span", D::TEMPERATURE).unwrap(),
        [
            AccuracyTerm::Absolute(0.1),
            AccuracyTerm::OfReading(0.002),
            AccuracyTerm::OfSpan(0.0005),
        ]
    );
    assert!(accuracy_term("0.1 °C + 0.2 % of reading", D::TEMPERATURE).is_err());
}

#[test]
fn exact_is_a_tolerance_of_zero() {
    let r = valued("10 kΩ exact", Dimension::RESISTANCE).unwrap();
    assert_eq!(r.tolerance.unwrap().limits(r.nominal), (10e3, 10e3));
    assert!(r.words.is_empty() && r.drift_per_k.is_none());
    let bare = valued("10 kΩ", Dimension::RESISTANCE).unwrap();
    assert_eq!(bare.tolerance, None);
    let fault = valued("10 kΩ 1 % exact", Dimension::RESISTANCE).unwrap_err();
    assert!(
        fault.message.contains("second tolerance"),
        "{}",
        fault.message
    );
}
