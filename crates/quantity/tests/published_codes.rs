//! Value and tolerance codes against IEC 60062:2016.

// Helpers outside test functions fail by panicking, too.
#![allow(clippy::panic, clippy::unwrap_used)]

use quantity::{Dimension, Part, Tolerance, value, valued};

/// IEC 60062:2016, clause 4: codes for resistance values.
const RESISTANCES: &[(&str, f64)] = &[
    ("R47", 0.47),
    ("4R7", 4.7),
    ("470R", 470.0),
    ("4K7", 4_700.0),
    ("47K", 47_000.0),
    ("47K3", 47_300.0),
    ("470K", 470_000.0),
    ("4M7", 4.7e6),
    ("2k2", 2_200.0),
    ("33K", 33_000.0),
    ("2M2", 2.2e6),
    ("4k7", 4_700.0),
];

#[test]
fn published_iec60062_resistance_codes_are_exact() {
    for (code, ohms) in RESISTANCES {
        let read = value(code, Dimension::RESISTANCE).unwrap();
        assert_eq!(read.value.to_bits(), ohms.to_bits(), "{code}");
        assert_eq!(read.dimension, Dimension::RESISTANCE);
    }
}

#[test]
fn published_iec60062_capacitance_codes_are_exact() {
    // IEC 60062:2016 clause 4, from memory.
    for (code, farads) in [
        ("4p7", 4.7e-12),
        ("4n7", 4.7e-9),
        ("4u7", 4.7e-6),
        ("4µ7", 4.7e-6),
        ("4\u{3bc}7", 4.7e-6),
        ("100n", 100e-9),
        ("p33", 0.33e-12),
        ("m10", 0.1e-3),
    ] {
        let read = value(code, Dimension::CAPACITANCE).unwrap();
        assert_eq!(read.value.to_bits(), f64::to_bits(farads), "{code}");
    }
}

#[test]
fn published_iec60062_codes_with_tolerance_letter() {
    for (code, ohms, fraction) in [
        ("1R8J", 1.8, 0.05),
        ("27KK", 27_000.0, 0.1),
        ("2R2K", 2.2, 0.1),
    ] {
        let read = valued(code, Dimension::RESISTANCE).unwrap();
        assert_eq!(read.nominal, ohms, "{code}");
        assert_eq!(
            read.tolerance,
            Some(Tolerance::symmetric(Part::Relative(fraction))),
            "{code}"
        );
    }
}

#[test]
fn published_iec60062_tolerance_letters() {
    // D, F, G, J, K, M as printed in resistor makers' reprints of IEC 60062; B, C, N from memory.
    for (letter, percent) in [
        ("B", 0.1),
        ("C", 0.25),
        ("D", 0.5),
        ("F", 1.0),
        ("G", 2.0),
        ("J", 5.0),
        ("K", 10.0),
        ("M", 20.0),
        ("N", 30.0),
    ] {
        let read = valued(&format!("4R7{letter}"), Dimension::RESISTANCE).unwrap();
        let Some(Tolerance {
            minus: Part::Relative(minus),
            plus: Part::Relative(plus),
        }) = read.tolerance
        else {
            panic!("{letter} is relative");
        };
        assert_eq!(minus, plus);
        assert!((plus * 100.0 - percent).abs() < 1e-12, "{letter}: {plus}");
    }
}

#[test]
fn published_iec60062_letters_below_ten_picofarads_are_absolute() {
    let absolute = |text: &str| match valued(text, Dimension::CAPACITANCE).unwrap().tolerance {
        Some(Tolerance {
            minus: Part::Absolute(minus),
            plus: Part::Absolute(plus),
        }) if minus == plus => Some(plus),
        _ => None,
    };
    assert_eq!(absolute("4p7C"), Some(0.25e-12));
    assert_eq!(absolute("4p7D"), Some(0.5e-12));
    // From 10 pF on, the letter is a percentage again.
    assert_eq!(absolute("10pD"), None);
    assert_eq!(absolute("4p7J"), None);
}

#[test]
fn reference_codes_are_read_only_where_they_belong() {
    // 47K is 47 kelvin where a temperature is wanted, 47 kΩ where a resistance is.
    assert_eq!(value("47K", Dimension::TEMPERATURE).unwrap().value, 47.0);
    assert_eq!(value("47K", Dimension::RESISTANCE).unwrap().value, 47_000.0);
    // A unit that fits wins over a tolerance letter: this is 100 nF, not 100 n with 1 %.
    let film = valued("100nF", Dimension::CAPACITANCE).unwrap();
    assert_eq!((film.nominal, film.tolerance), (100e-9, None));
    // J is no unit of capacitance, so it is the letter.
    assert!(
        valued("100nJ", Dimension::CAPACITANCE)
            .unwrap()
            .tolerance
            .is_some()
    );
    // Workshop spellings of the same value.
    for text in [
        "4.7k", "4k7Ω", "4k7ohm", "4.7K", "4.7 kΩ", "4.7kohm", "4.7 KΩ",
    ] {
        assert_eq!(
            value(text, Dimension::RESISTANCE).unwrap().value,
            4_700.0,
            "{text}"
        );
    }
    for text in ["4k7", "R47", "4p7"] {
        assert!(value(text, Dimension::VOLTAGE).is_err(), "{text}");
        assert!(quantity::any(text).is_err(), "{text}");
    }
    for text in [
        "4k7Z", "4k7JJ", "R", "4k7R", "k", "4.7k3", "4..7k", "-4k7", "4p7",
    ] {
        assert!(value(text, Dimension::RESISTANCE).is_err(), "{text}");
    }
}
