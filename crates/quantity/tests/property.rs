//! Properties over arbitrary texts and values.

// Helpers outside test functions fail by panicking, too.
#![allow(clippy::panic, clippy::unwrap_used)]

use proptest::prelude::*;
use quantity::{
    Dimension as D, Fault, Series, accuracy, accuracy_term, difference, display,
    display_temperature, engineering, plain, range, range_difference, scale_for, scale_of, unit,
    unknown, value, valued, valued_difference, with_uncertainty,
};

const DIMENSIONS: [D; 9] = [
    D::NONE,
    D::RESISTANCE,
    D::CAPACITANCE,
    D::TEMPERATURE,
    D::HUMIDITY,
    D::VOLTAGE,
    D::CODE,
    D::PER_KELVIN,
    D::VOLTAGE_NOISE_DENSITY,
];

/// A fault must point into the text, at character boundaries, and say something.
fn well_formed(text: &str, fault: Option<Fault>) -> Result<(), TestCaseError> {
    if let Some(fault) = fault {
        prop_assert!(fault.start <= fault.end && fault.end <= text.len());
        prop_assert!(text.is_char_boundary(fault.start) && text.is_char_boundary(fault.end));
        prop_assert!(!fault.message.is_empty() && !fault.expected.is_empty());
        prop_assert!(fault.message.chars().count() < 250, "{}", fault.message);
    }
    Ok(())
}

fn sane(value: f64) -> bool {
    value.is_finite() && value.abs() <= 1e30
}

/// Runs every reader; none may panic, and what they accept must be finite.
fn read_everything(text: &str) -> Result<(), TestCaseError> {
    for dimension in DIMENSIONS {
        for read in [value(text, dimension), difference(text, dimension)] {
            if let Ok(read) = &read {
                prop_assert_eq!(read.dimension, dimension);
                prop_assert!(sane(read.value));
            }
            well_formed(text, read.err())?;
        }
        for read in [valued(text, dimension), valued_difference(text, dimension)] {
            if let Ok(read) = &read {
                prop_assert_eq!(read.dimension, dimension);
                prop_assert!(sane(read.nominal));
                if let Some(tolerance) = read.tolerance {
                    prop_assert!(tolerance.minus.magnitude(read.nominal) >= 0.0);
                    prop_assert!(tolerance.plus.magnitude(read.nominal) >= 0.0);
                    let (low, high) = tolerance.limits(read.nominal);
                    prop_assert!(low <= read.nominal && read.nominal <= high);
                }
                for drift in [read.drift_per_k, read.drift_absolute_per_k]
                    .into_iter()
                    .flatten()
                {
                    prop_assert!(sane(drift));
                    prop_assert!(read.drift_signed || drift >= 0.0);
                }
            }
            well_formed(text, read.err())?;
        }
        for read in [range(text, dimension), range_difference(text, dimension)] {
            if let Ok(read) = &read {
                prop_assert!(read.low <= read.high);
            }
            well_formed(text, read.err())?;
        }
        well_formed(text, unknown(text, dimension).err())?;
        well_formed(text, accuracy(text, dimension).err())?;
        well_formed(text, accuracy_term(text, dimension).err())?;
        if let Some(scale) = scale_for(text, dimension) {
            prop_assert!(scale.factor > 0.0);
        }
    }
    well_formed(text, quantity::any(text).err())?;
    if let Some(found) = unit(text) {
        prop_assert!(found.factor.is_finite() && found.factor > 0.0);
        // The canonical spelling means the same.
        let again = unit(&found.symbol).map(|u| (u.dimension, u.symbol));
        prop_assert_eq!(again, Some((found.dimension, found.symbol)));
    }
    if let Some(scale) = scale_of(text) {
        prop_assert!(scale.factor > 0.0);
    }
    Ok(())
}

/// Texts that nearly are values, so that the readers get beyond the first character.
fn near_values() -> impl Strategy<Value = String> {
    let piece = prop::sample::select(vec![
        "4",
        "7",
        "10",
        "0",
        ".5",
        "3.3",
        "1e3",
        "1e",
        "e",
        "1e-999",
        "1e999",
        "99999999999999999999",
        "-",
        "+",
        "\u{2212}",
        "±",
        "+-",
        "+/-",
        " ",
        "  ",
        "\u{202f}",
        "%",
        "ppm",
        "ppm/K",
        "K",
        "k",
        "M",
        "R",
        "J",
        "F",
        "V",
        "mV",
        "µV/K",
        "Ω",
        "\u{2126}",
        "ohm",
        "kΩ",
        "nF",
        "p",
        "n",
        "u",
        "°C",
        "°",
        "C",
        "to",
        " to ",
        "each",
        "of",
        "reading",
        "span",
        "?",
        "(",
        ")",
        "/",
        "·",
        "*",
        "^",
        "²",
        "⁻",
        "√",
        "rt",
        "Hz",
        "nV/√Hz",
        "dB",
        "LSB",
        "pH",
        "%RH",
        "S/s",
        "min",
        "year",
        "m",
        "m3",
        "m/s2",
        ",",
        ";",
        "_",
        "'",
        "..",
        "…",
        "X7R",
        "nan",
        "inf",
        "日本",
        "\u{0}",
        "e\u{301}",
        "1/s",
        "/s",
        "kh",
    ]);
    prop::collection::vec(piece, 0..9).prop_map(|pieces| pieces.concat())
}

/// Magnitudes spread evenly over the decades.
fn magnitudes() -> impl Strategy<Value = f64> {
    (1.0..10.0_f64, -16..12_i32, any_sign()).prop_map(|(mantissa, exponent, sign)| {
        sign * format!("{mantissa}e{exponent}")
            .parse::<f64>()
            .unwrap_or(1.0)
    })
}

fn any_sign() -> impl Strategy<Value = f64> {
    prop::sample::select(vec![1.0, -1.0])
}

/// Half a unit of the last of `digits` significant digits, relative, with room for one rounding.
fn half_unit(digits: usize) -> f64 {
    let mut unit = 0.5;
    for _ in 1..digits {
        unit /= 10.0;
    }
    unit * (1.0 + 1e-9) + 1e-15
}

fn close(read: f64, value: f64, digits: usize) -> bool {
    (read - value).abs() <= half_unit(digits) * value.abs() * (1.0 + 1e-12)
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 10_000,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    #[test]
    fn property_any_text_is_read_or_refused(text in any::<String>()) {
        read_everything(&text)?;
    }

    #[test]
    fn property_near_values_are_read_or_refused(text in near_values()) {
        read_everything(&text)?;
    }

    #[test]
    fn property_printed_values_read_back(
        value in magnitudes(),
        digits in 1_usize..12,
        index in 0_usize..12,
    ) {
        let (symbol, dimension) = [
            ("Ω", D::RESISTANCE),
            ("V", D::VOLTAGE),
            ("F", D::CAPACITANCE),
            ("Hz", D::FREQUENCY),
            ("V/√Hz", D::VOLTAGE_NOISE_DENSITY),
            ("K/W", D::THERMAL_RESISTANCE),
            ("LSB", D::CODE),
            ("%RH", D::HUMIDITY),
            ("m³/s", D::FLOW),
            ("kg", D::MASS),
            ("", D::NONE),
            ("K", D::TEMPERATURE),
        ][index];
        let text = engineering(value, symbol, digits);
        let read = difference(&text, dimension);
        prop_assert!(read.is_ok(), "{text}: {read:?}");
        prop_assert!(close(read.unwrap().value, value, digits), "{text}");
        let text = display(dimension, value, digits);
        let read = difference(&text, dimension);
        prop_assert!(read.is_ok(), "{text}: {read:?}");
        prop_assert!(close(read.unwrap().value, value, digits), "{text}");
        let text = plain(value, digits);
        prop_assert!(close(quantity::any(&text).unwrap().value, value, digits), "{text}");
    }

    #[test]
    fn property_full_digits_read_back_exactly(value in magnitudes()) {
        let text = format!("{value} V");
        prop_assert_eq!(quantity::value(&text, D::VOLTAGE).unwrap().value, value);
        // 17 significant digits name a double.
        let text = engineering(value, "V", 17);
        prop_assert_eq!(quantity::value(&text, D::VOLTAGE).unwrap().value, value);
    }

    #[test]
    fn property_dimensions_without_a_name_read_back(
        value in magnitudes(),
        exponents in prop::array::uniform4(-3_i8..4),
    ) {
        let dimension = D::VOLTAGE.power(exponents[0])
            .times(D::LENGTH.power(exponents[1]))
            .times(D::CODE.power(exponents[2]))
            .times(D::TIME.sqrt_of().power(exponents[3]));
        let text = display(dimension, value, 6);
        let read = difference(&text, dimension);
        prop_assert!(read.is_ok(), "{text}: {read:?}");
        prop_assert!(close(read.unwrap().value, value, 6), "{text}");
    }

    #[test]
    fn property_uncertainty_reads_back(value in magnitudes(), ratio in -9..3_i32, u in 1.0..10.0_f64) {
        let u = u * format!("1e{ratio}").parse::<f64>().unwrap() * value.abs();
        let text = with_uncertainty(value, u, "V");
        let read = valued(&text, D::VOLTAGE);
        prop_assert!(read.is_ok(), "{text}: {read:?}");
        let read = read.unwrap();
        // Two digits of u: half of the last one is at most a twentieth of u as
        // shown, which may be half a percent more than u.
        prop_assert!((read.nominal - value).abs() <= 0.0503 * u, "{text}");
        let plus = read.tolerance.unwrap().plus.magnitude(value);
        prop_assert!((plus - u).abs() <= 0.0503 * u, "{text}");
    }

    #[test]
    fn property_temperatures_read_back(celsius in -200.0..2000.0_f64) {
        let text = display_temperature(celsius + 273.15, 6);
        let read = quantity::value(&text, D::TEMPERATURE).unwrap().value;
        prop_assert!((read - 273.15 - celsius).abs() <= 0.006, "{text}");
    }

    #[test]
    fn property_printing_is_total(value in any::<f64>(), u in any::<f64>(), digits in any::<usize>(), symbol in any::<String>()) {
        prop_assert!(!engineering(value, &symbol, digits).is_empty());
        prop_assert!(!plain(value, digits).is_empty());
        prop_assert!(!with_uncertainty(value, u, "V").is_empty());
        prop_assert!(!with_uncertainty(value, u, &symbol).is_empty());
        prop_assert!(!display_temperature(value, digits).is_empty());
        for dimension in DIMENSIONS {
            prop_assert!(!display(dimension, value, digits).is_empty());
        }
    }

    #[test]
    fn property_series_neighbours_enclose(value in magnitudes().prop_map(f64::abs), index in 0_usize..7) {
        let series = Series::ALL[index];
        let low = series.at_most(value).unwrap();
        let high = series.at_least(value).unwrap();
        let nearest = series.nearest(value).unwrap();
        prop_assert!(low <= value && value <= high);
        prop_assert!(nearest == low || nearest == high);
        prop_assert!(series.contains(low) && series.contains(high));
        let ratio = |a: f64, b: f64| if a > b { a / b } else { b / a };
        let other = if nearest == low { high } else { low };
        prop_assert!(ratio(nearest, value) <= ratio(other, value) * (1.0 + 1e-12));
        // The widest step of any series is 2.2, so the nearest is within its root.
        prop_assert!(ratio(nearest, value) < 1.5);
        prop_assert!(series.step_up(value).unwrap() > value);
        prop_assert!(series.step_down(value).unwrap() < value);
    }
}
