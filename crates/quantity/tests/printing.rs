//! Printed values.

// Helpers outside test functions fail by panicking, too.
#![allow(clippy::panic, clippy::unwrap_used)]

use quantity::{
    Dimension as D, Part, display, display_temperature, engineering, plain, symbol, value, valued,
    with_uncertainty,
};

#[test]
fn published_gum_uncertainty_notation() {
    // JCGM 100:2008, 7.2.2, fourth form: m = (100,021 47 ± 0,000 35) g, and 7.2.4 with U = 0.79 mg.
    assert_eq!(
        with_uncertainty(100.021_47, 0.000_35, "g"),
        "(100.02147 ± 0.00035) g"
    );
    assert_eq!(
        with_uncertainty(100.021_47, 0.000_79, "g"),
        "(100.02147 ± 0.00079) g"
    );
    // 7.2.6: 10.057 62 Ω with u = 27 mΩ becomes 10.058 Ω.
    assert_eq!(
        with_uncertainty(10.057_62, 0.027, "Ω"),
        "(10.058 ± 0.027) Ω"
    );
}

#[test]
fn reference_uncertainty_decides_the_digits() {
    assert_eq!(with_uncertainty(4_701.23, 2.3, "Ω"), "(4.7012 ± 0.0023) kΩ");
    assert_eq!(
        with_uncertainty(123_456.0, 2_345.0, "K"),
        "(123500 ± 2300) K"
    );
    assert_eq!(with_uncertainty(-0.5, 0.01, "V"), "(−500 ± 10) mV");
    assert_eq!(with_uncertainty(0.0, 0.012, "V"), "(0 ± 12) mV");
    // The uncertainty is larger than the value.
    assert_eq!(with_uncertainty(1e-6, 0.25, "V"), "(0 ± 250) mV");
    assert_eq!(with_uncertainty(0.009, 0.25, "K"), "(0.01 ± 0.25) K");
    assert_eq!(with_uncertainty(-0.001, 0.25, "K"), "(0.00 ± 0.25) K");
    // Just below half of the last digit is nothing, even if its own first digit rounds up.
    assert_eq!(with_uncertainty(4.96, 100.0, "K"), "(0 ± 100) K");
    assert_eq!(with_uncertainty(5.04, 100.0, "K"), "(10 ± 100) K");
    // Rounding carries: 0.0996 becomes 0.10, 9.996 becomes 10.00.
    assert_eq!(with_uncertainty(9.996, 0.0996, "K"), "(10.00 ± 0.10) K");
    assert_eq!(with_uncertainty(21.5, 0.15, "°C"), "(21.50 ± 0.15) °C");
    assert_eq!(with_uncertainty(2.5, 0.1, ""), "(2.50 ± 0.10)");
    // Without a usable uncertainty the value stands alone.
    for u in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert_eq!(with_uncertainty(4_700.0, u, "Ω"), "4.70000 kΩ");
    }
    assert_eq!(with_uncertainty(f64::NAN, 1.0, "Ω"), "not a number Ω");
    // Digits beyond those of a double are not invented.
    assert_eq!(
        with_uncertainty(1.0, 1e-30, "K"),
        "(1.0000000000000000 ± 0.0000000000000000) K"
    );
}

#[test]
fn reference_engineering_prefixes() {
    for (value, unit, digits, text) in [
        (4.7e3, "Ω", 3, "4.70 kΩ"),
        (4.7e3, "Ω", 1, "5 kΩ"),
        (470.0, "Ω", 2, "470 Ω"),
        (999.96, "Ω", 4, "1.000 kΩ"),
        (999.94, "Ω", 4, "999.9 Ω"),
        (100e-9, "F", 3, "100 nF"),
        (1e-15, "F", 2, "1.0 fF"),
        (2.5e-9, "V/√Hz", 2, "2.5 nV/√Hz"),
        (-0.25, "V", 3, "\u{2212}250 mV"),
        (1e12, "Ω", 2, "1.0 TΩ"),
        (1e15, "Ω", 2, "1.0e15 Ω"),
        (1e-20, "A", 2, "1.0e-20 A"),
        (0.0, "A", 3, "0 A"),
        (-0.0, "A", 3, "0 A"),
        (12_345.0, "S/s", 3, "12.3 kS/s"),
        (0.3, "s", 2, "300 ms"),
        (f64::INFINITY, "V", 3, "∞ V"),
        (f64::NEG_INFINITY, "V", 3, "\u{2212}∞ V"),
        (f64::NAN, "V", 3, "not a number V"),
        (1.0, "V", 0, "1 V"),
        (1.0, "V", 1000, "1.0000000000000000 V"),
    ] {
        assert_eq!(engineering(value, unit, digits), text);
    }
}

#[test]
fn reference_units_without_prefix() {
    for (unit, text) in [
        ("°C", "0.00123 °C"),
        ("%", "0.00123 %"),
        ("pH", "0.00123 pH"),
        ("LSB", "0.00123 LSB"),
        ("%RH", "0.00123 %RH"),
        ("ppm", "0.00123 ppm"),
        ("K", "0.00123 K"),
        ("K/W", "0.00123 K/W"),
        ("m²", "0.00123 m²"),
        ("kg", "0.00123 kg"),
        ("mV", "0.00123 mV"),
        ("years", "0.00123 years"),
        ("furlong", "0.00123 furlong"),
        ("", "0.00123"),
    ] {
        assert_eq!(engineering(1.234e-3, unit, 3), text);
    }
}

#[test]
fn reference_plain_digits() {
    for (value, digits, text) in [
        (0.04567, 3, "0.0457"),
        (25.0, 3, "25.0"),
        (-25.0, 3, "\u{2212}25.0"),
        (123_456.0, 3, "123000"),
        (9.999, 3, "10.0"),
        (1.5e12, 3, "1.50e12"),
        (1.5e-9, 2, "1.5e-9"),
        (1.5e-6, 2, "0.0000015"),
        (0.0, 5, "0"),
    ] {
        assert_eq!(plain(value, digits), text);
    }
    assert_eq!(plain(f64::NAN, 3), "not a number");
    assert_eq!(plain(f64::NEG_INFINITY, 3), "\u{2212}∞");
}

#[test]
fn reference_usual_units() {
    for (dimension, value, text) in [
        (D::VOLTAGE, 3.3, "3.30 V"),
        (D::RESISTANCE, 4.7e3, "4.70 kΩ"),
        (D::CURRENT, 2e-6, "2.00 µA"),
        (D::CAPACITANCE, 1e-7, "100 nF"),
        (D::TEMPERATURE, 0.3, "0.300 K"),
        (D::FREQUENCY, 1e6, "1.00 MHz"),
        (D::PRESSURE, 1e4, "10.0 kPa"),
        (D::TIME, 2e-6, "2.00 µs"),
        (D::TIME, 90.0, "90.0 s"),
        (D::TIME, 600.0, "10.0 min"),
        (D::TIME, 36_000.0, "10.0 h"),
        (D::TIME, 864_000.0, "10.0 days"),
        (D::TIME, 3.0 * 31_557_600.0, "3.00 years"),
        (D::MASS, 0.025, "25.0 g"),
        (D::MASS, 25.0, "25.0 kg"),
        (D::VOLUME, 0.2, "200 L"),
        (D::FLOW, 2e-4, "12.0 L/min"),
        (D::CODE, 2.5, "2.50 LSB"),
        (D::PH, 7.0, "7.00 pH"),
        (D::HUMIDITY, 45.0, "45.0 %RH"),
        (D::NONE, 0.4, "0.400"),
        (D::MASS.over(D::LENGTH), 2.0, "2.00 kg/m"),
    ] {
        assert_eq!(display(dimension, value, 3), text);
    }
    assert_eq!(symbol(D::RESISTANCE), Some("Ω"));
    assert_eq!(symbol(D::NONE), Some(""));
    assert_eq!(symbol(D::MASS.power(4)), None);
}

#[test]
fn reference_temperatures_are_printed_in_celsius() {
    for (kelvin, digits, text) in [
        (298.15, 3, "25.0 °C"),
        (268.15, 3, "\u{2212}5.00 °C"),
        (273.15, 3, "0.00 °C"),
        (273.1501, 3, "0.00 °C"),
        (273.1499, 3, "0.00 °C"),
        (373.15, 3, "100 °C"),
        (1373.15, 3, "1100 °C"),
        (273.15 + 99.96, 3, "100 °C"),
        (296.65, 1, "20 °C"),
        (273.15, 1, "0 °C"),
        (f64::NAN, 3, "not a number °C"),
    ] {
        assert_eq!(display_temperature(kelvin, digits), text);
    }
}

#[test]
fn reference_codes_print_as_values() {
    let read = value("4k7", D::RESISTANCE).unwrap();
    assert_eq!(display(read.dimension, read.value, 2), "4.7 kΩ");
    assert_eq!(value("4.7 kΩ", D::RESISTANCE).unwrap(), read);
}

#[test]
fn reference_printed_uncertainty_reads_back_as_a_tolerance() {
    let text = with_uncertainty(4_701.23, 2.3, "Ω");
    let read = valued(&text, D::RESISTANCE).unwrap();
    assert_eq!(read.nominal, 4_701.2);
    let Part::Absolute(plus) = read.tolerance.unwrap().plus else {
        panic!("absolute");
    };
    assert!((plus - 2.3).abs() < 1e-12);
}
