//! Units against the SI Brochure (9th edition, 2019) and NIST Special Publication 811 (2008).

// Helpers outside test functions fail by panicking, too.
#![allow(clippy::panic, clippy::unwrap_used)]

use quantity::{Dimension as D, any, difference, scale_for, scale_of, unit, value};

fn si(text: &str) -> f64 {
    any(text)
        .unwrap_or_else(|fault| panic!("{text}: {fault}"))
        .value
}

#[test]
fn published_si_brochure_units_accepted_with_the_si() {
    // SI Brochure table 8.
    assert_eq!(si("1 min"), 60.0);
    assert_eq!(si("1 h"), 3600.0);
    assert_eq!(si("1 d"), 86_400.0);
    assert_eq!(si("1 L"), 1e-3);
    assert_eq!(si("1 t"), 1e3);
    assert_eq!(si("1 °"), std::f64::consts::PI / 180.0);
    // t/°C = T/K − 273.15, SI Brochure 2.3.1.
    assert_eq!(si("0 °C"), 273.15);
    assert_eq!(si("25 °C"), 298.15);
    assert_eq!(si("-273.15 °C"), 0.0);
}

#[test]
fn published_nist_sp811_conversions() {
    // NIST SP 811, appendix B.8.
    assert_eq!(si("1 bar"), 1e5);
    assert_eq!(si("1 mbar"), 1e2);
    assert_eq!(si("1 Ah"), 3.6e3);
    assert_eq!(si("1 A·h"), 3.6e3);
    assert_eq!(si("1 Wh"), 3.6e3);
    assert_eq!(si("1 kWh"), 3.6e6);
    assert_eq!(si("1 kW·h"), 3.6e6);
    assert!((si("1 rpm") - 1.666_667e-2).abs() < 5e-9);
    // 3rd CGPM (1901), standard acceleration of free fall.
    assert_eq!(si("1 gn"), 9.80665);
    // 1 km/h = 2.777 778 E−01 m/s, 1 L/min = 1.666 667 E−05 m³/s.
    assert!((si("1 km/h") - 2.777_778e-1).abs() < 5e-8);
    assert!((si("1 L/min") - 1.666_667e-5).abs() < 5e-12);
}

#[test]
fn published_julian_year() {
    // IAU: 365.25 days of 86 400 s.
    assert_eq!(si("3 years"), 3.0 * 31_557_600.0);
    assert_eq!(si("1 year"), 31_557_600.0);
    assert_eq!(si("2 days"), 172_800.0);
}

#[test]
fn published_decibel_is_an_amplitude_ratio() {
    // ISO 80000-3: 20 lg of the ratio of two field quantities.
    assert_eq!(si("0 dB"), 1.0);
    assert_eq!(si("80 dB"), 1e4);
    assert_eq!(si("-60 dB"), 1e-3);
    assert_eq!(si("120 dB"), 1e6);
    assert!((si("6 dB") - 1.995_262_314_968_879_5).abs() < 1e-14);
    assert!((si("-3 dB") - 0.707_945_784_384_137_9).abs() < 1e-15);
    // 10^(3.0103/20) and 10^(−0.5/20), computed with 50 decimal digits.
    assert!((si("3.0103 dB") / 1.414_213_569_432_886_1 - 1.0).abs() < 1e-15);
    assert!((si("-0.5 dB") / 0.944_060_876_285_923_4 - 1.0).abs() < 1e-15);
}

#[test]
fn published_si_prefixes() {
    // SI Brochure table 7.
    for (prefix, factor) in [
        ("a", 1e-18),
        ("f", 1e-15),
        ("p", 1e-12),
        ("n", 1e-9),
        ("\u{b5}", 1e-6),
        ("\u{3bc}", 1e-6),
        ("u", 1e-6),
        ("m", 1e-3),
        ("k", 1e3),
        ("M", 1e6),
        ("G", 1e9),
        ("T", 1e12),
    ] {
        assert_eq!(si(&format!("1 {prefix}V")), factor, "{prefix}");
    }
    assert_eq!(si("1 cm"), 1e-2);
    assert_eq!(si("1 dm"), 1e-1);
    assert_eq!(si("1013.25 hPa"), 101_325.0);
    assert_eq!(si("5 KΩ"), 5_000.0);
    for wrong in ["cV", "hA", "kmin", "kk", "kdB", "mppm", "k%", "kLSB", "mpH"] {
        assert!(unit(wrong).is_none(), "{wrong}");
    }
}

#[test]
fn reference_decimal_prefixes_cost_no_rounding() {
    assert_eq!(si("4.7 kΩ").to_bits(), 4700.0_f64.to_bits());
    assert_eq!(si("100 nF").to_bits(), 100e-9_f64.to_bits());
    assert_eq!(si("0.1 %").to_bits(), 0.001_f64.to_bits());
    assert_eq!(si("25 ppm/K").to_bits(), 25e-6_f64.to_bits());
    assert_eq!(si("2.5 nV/√Hz").to_bits(), 2.5e-9_f64.to_bits());
    assert_eq!(si("1.1 g").to_bits(), 1.1e-3_f64.to_bits());
    assert_eq!(si("0.3 mV/V").to_bits(), 0.3e-3_f64.to_bits());
    assert_eq!(si("45 mV/kPa").to_bits(), 45e-6_f64.to_bits());
    assert_eq!(si("2.5 mm²").to_bits(), 2.5e-6_f64.to_bits());
    assert_eq!(si("1.2e3 mV").to_bits(), 1.2_f64.to_bits());
}

#[test]
fn reference_spellings_of_one_unit() {
    let same = |group: &[&str]| {
        let first = unit(group[0]).unwrap_or_else(|| panic!("{}", group[0]));
        for text in group {
            let other = unit(text).unwrap_or_else(|| panic!("{text}"));
            assert_eq!(other.dimension, first.dimension, "{text}");
            assert_eq!(other.factor.to_bits(), first.factor.to_bits(), "{text}");
            assert_eq!(other.offset, first.offset, "{text}");
        }
    };
    same(&["kΩ", "kohm", "kOhm", "k\u{2126}", "KΩ", "kohms"]);
    same(&["nV/√Hz", "nV/rtHz", "nV/sqrt(Hz)", "nV/√(Hz)"]);
    same(&["µA", "uA", "\u{3bc}A"]);
    same(&["°C", "degC"]);
    same(&["ppm/K", "ppm/°C", "ppm/degC"]);
    same(&["LSB", "code", "codes", "LSBs"]);
    same(&["m³/s", "m3/s", "m^3/s"]);
    same(&[
        "m/s²",
        "m/s2",
        "m/s^2",
        "m·s^-2",
        "m·s⁻²",
        "m*s^\u{2212}2",
        "m/s/s",
    ]);
    same(&["Hz", "1/s", "/s", "s^-1", "S/s", "samples/s"]);
    same(&["V/µs", "V/us", "V / µs"]);
    same(&["year", "years"]);
    same(&["W/(m²·K)", "W/(m2*K)", "W/m²/K"]);
}

#[test]
fn reference_dimensions_of_the_units_in_use() {
    for (text, dimension) in [
        ("K", D::TEMPERATURE),
        ("%", D::NONE),
        ("ppm", D::NONE),
        ("ppm/K", D::PER_KELVIN),
        ("%/K", D::PER_KELVIN),
        ("LSB", D::CODE),
        ("pH", D::PH),
        ("%RH", D::HUMIDITY),
        ("Pa", D::PRESSURE),
        ("mbar", D::PRESSURE),
        ("L/min", D::FLOW),
        ("m³/h", D::FLOW),
        ("S/s", D::FREQUENCY),
        ("kS/s", D::FREQUENCY),
        ("MS/s", D::FREQUENCY),
        ("V/µs", D::SLEW_RATE),
        ("mW/K", D::DISSIPATION),
        ("K/W", D::THERMAL_RESISTANCE),
        ("g", D::MASS),
        ("gn", D::ACCELERATION),
        ("lx", D::ILLUMINANCE),
        ("mV/V", D::NONE),
        ("bit", D::NONE),
        ("mAh", D::CHARGE),
        ("N", D::FORCE),
        ("kg", D::MASS),
        ("kg/m³", D::DENSITY),
        ("µg/m³", D::DENSITY),
        ("mV/pH", D::VOLTAGE.over(D::PH)),
        ("mV/%RH", D::VOLTAGE.over(D::HUMIDITY)),
        ("fA/√Hz", D::CURRENT_NOISE_DENSITY),
        ("ppm/√kh", D::NONE.over(D::TIME.sqrt_of())),
        ("S", D::CONDUCTANCE),
        ("C", D::CHARGE),
        ("Ω·F", D::TIME),
        ("J/(kg·K)", D::ENERGY.over(D::MASS).over(D::TEMPERATURE)),
        ("N·m", D::ENERGY),
        ("µstrain", D::NONE),
    ] {
        let found = unit(text).unwrap_or_else(|| panic!("{text}"));
        assert_eq!(found.dimension, dimension, "{text}");
    }
    // Ageing per root of a thousand hours.
    assert!((unit("ppm/√kh").unwrap().factor / (1e-6 / 3.6e6_f64.sqrt()) - 1.0).abs() < 1e-15);
}

#[test]
fn reference_what_is_no_unit() {
    for text in [
        "",
        " ",
        "/",
        "1",
        "1/",
        "V/",
        "V//s",
        "·V",
        "V·",
        "V^",
        "V^0",
        "V^-",
        "V^99",
        "m4",
        "V3",
        "J/kg·K",
        "√",
        "√√√√√√√V",
        "((((((V))))))",
        "(V",
        "V)",
        "dB/K",
        "°F",
        "°C²x",
        "foo",
        "Vs-1",
        "s⁻",
    ] {
        assert!(unit(text).is_none(), "{text}");
    }
    let long = "m·".repeat(60) + "m";
    assert!(unit(&long).is_none());
}

#[test]
fn reference_temperatures_and_differences() {
    assert_eq!(value("25 °C", D::TEMPERATURE).unwrap().value, 298.15);
    assert_eq!(value("300 K", D::TEMPERATURE).unwrap().value, 300.0);
    assert_eq!(difference("0.3 °C", D::TEMPERATURE).unwrap().value, 0.3);
    assert_eq!(difference("-0.3 K", D::TEMPERATURE).unwrap().value, -0.3);
    // Differences have no absolute zero.
    assert_eq!(difference("-400 K", D::TEMPERATURE).unwrap().value, -400.0);
}

#[test]
fn reference_named_dimensions_agree_with_their_units() {
    let mut names = std::collections::BTreeSet::new();
    for dimension in every_named_dimension() {
        let name = dimension.name().unwrap();
        assert!(names.insert(name), "{name} stands twice");
        let symbol = quantity::symbol(dimension).unwrap();
        if dimension != D::NONE {
            let found = unit(symbol).unwrap_or_else(|| panic!("{symbol}"));
            assert_eq!(found.dimension, dimension, "{name}");
            assert_eq!(found.factor, 1.0, "{name}");
            assert_eq!(found.symbol, symbol, "{name}");
        }
        let base = dimension.base_symbol();
        if dimension != D::NONE {
            assert_eq!(unit(&base).map(|u| u.dimension), Some(dimension), "{base}");
        }
    }
    assert!(names.len() > 30);
}

/// Every dimension that a product of up to two powers of named units reaches and that has a name.
fn every_named_dimension() -> Vec<D> {
    let bases = [
        D::NONE,
        D::LENGTH,
        D::MASS,
        D::TIME,
        D::CURRENT,
        D::TEMPERATURE,
        D::AMOUNT,
        D::LUMINOUS_INTENSITY,
        D::CODE,
        D::PH,
        D::HUMIDITY,
        D::VOLTAGE,
        D::RESISTANCE,
        D::POWER,
        D::ENERGY,
        D::CHARGE,
        D::FREQUENCY,
        D::PRESSURE,
        D::FORCE,
        D::CAPACITANCE,
        D::INDUCTANCE,
        D::CONDUCTANCE,
        D::AREA,
        D::VOLUME,
        D::ILLUMINANCE,
        D::MAGNETIC_FLUX_DENSITY,
        D::FREQUENCY.sqrt_of(),
        D::TIME.sqrt_of(),
    ];
    let mut found = std::collections::BTreeSet::new();
    for a in bases {
        for b in bases {
            for dimension in [a.times(b), a.over(b)] {
                if dimension.name().is_some() {
                    found.insert(dimension);
                }
            }
        }
    }
    found.into_iter().collect()
}

#[test]
fn reference_dimension_algebra() {
    assert_eq!(D::VOLTAGE.over(D::CURRENT), D::RESISTANCE);
    assert_eq!(D::RESISTANCE.times(D::CAPACITANCE), D::TIME);
    assert_eq!(D::INDUCTANCE.over(D::RESISTANCE), D::TIME);
    assert_eq!(D::VOLTAGE.times(D::CURRENT), D::POWER);
    assert_eq!(D::POWER.times(D::TIME), D::ENERGY);
    assert_eq!(D::FORCE.over(D::AREA), D::PRESSURE);
    assert_eq!(D::NONE.over(D::RESISTANCE), D::CONDUCTANCE);
    assert_eq!(D::LENGTH.power(3).over(D::TIME), D::FLOW);
    assert_eq!(D::VOLTAGE.power(2).sqrt_of(), D::VOLTAGE);
    assert_eq!(D::ANGLE, D::NONE);
    assert_eq!(
        D::VOLTAGE.over(D::FREQUENCY.sqrt_of()),
        D::VOLTAGE_NOISE_DENSITY
    );
    assert_eq!(
        D::RESISTANCE.over(D::TEMPERATURE).name(),
        Some("resistance per kelvin")
    );
    assert_eq!(D::VOLTAGE.name(), Some("voltage"));
    assert_eq!(D::MASS.power(5).name(), None);
    // The checked forms refuse what does not fit.
    assert_eq!(D::VOLTAGE.checked_times(D::CURRENT), Some(D::POWER));
    assert_eq!(D::POWER.checked_over(D::CURRENT), Some(D::VOLTAGE));
    assert_eq!(D::LENGTH.checked_power(100), None);
    assert_eq!(D::LENGTH.power(60).checked_times(D::LENGTH.power(10)), None);
    assert_eq!(D::LENGTH.power(60).checked_over(D::LENGTH.power(-10)), None);
    assert_eq!(D::FREQUENCY.sqrt_of().checked_sqrt(), None);
    assert_eq!(D::FREQUENCY.checked_sqrt(), Some(D::FREQUENCY.sqrt_of()));
}

#[test]
fn reference_scale_of_what_the_user_wrote() {
    for (text, symbol, factor) in [
        ("0 to 10 kPa", "kPa", 1e3),
        ("-5 °C to 40 °C", "°C", 1.0),
        ("? 1 pF to 20 pF", "pF", 1e-12),
        ("3.3 V ± 3 %", "V", 1.0),
        ("0.2 ± 0.05 ohm each", "Ω", 1.0),
        ("1500 uV", "µV", 1e-6),
        ("12 L/min", "L/min", 1e-3 / 60.0),
    ] {
        let scale = scale_of(text).unwrap_or_else(|| panic!("{text}"));
        assert_eq!(scale.symbol, symbol, "{text}");
        assert!((scale.factor / factor - 1.0).abs() < 1e-15, "{text}");
    }
    assert_eq!(scale_of("25"), None);
    assert_eq!(scale_of("80 dB"), None);
    assert_eq!(scale_of(""), None);
    assert_eq!(scale_of(&"1a".repeat(600)), None);
    assert_eq!(scale_for("27K 5 %", D::RESISTANCE).unwrap().symbol, "kΩ");
    assert_eq!(
        scale_for("? 4n7 to 10n", D::CAPACITANCE).unwrap().symbol,
        "nF"
    );
    assert_eq!(scale_for("R47", D::RESISTANCE).unwrap().symbol, "Ω");
    assert_eq!(scale_for("5 V 10 mA", D::CURRENT).unwrap().symbol, "mA");
    assert_eq!(scale_for("5 V", D::CURRENT), None);
    let celsius = scale_of("-5 to 40 °C").unwrap();
    assert_eq!(celsius.display(298.15, 3), "25.0 °C");
    assert_eq!(celsius.display_difference(0.25, 2), "0.25 K");
    assert_eq!(celsius.number(273.15), 0.0);
    let kilopascal = scale_of("10 kPa").unwrap();
    assert_eq!(kilopascal.display(101_325.0, 6), "101.325 kPa");
    assert_eq!(kilopascal.display_difference(-50.0, 2), "−0.050 kPa");
    assert_eq!(kilopascal.number_of_difference(500.0), 0.5);
}
