//! Every message, pinned: where it points, what it says, what it suggests.

// Helpers outside test functions fail by panicking, too.
#![allow(clippy::panic, clippy::unwrap_used)]

use quantity::{Dimension as D, Fault, accuracy, any, difference, range, unknown, value, valued};

#[derive(Clone, Copy, Debug)]
enum Reader {
    Value,
    Difference,
    Valued,
    Range,
    Unknown,
    Accuracy,
}

impl Reader {
    fn fault(self, text: &str, dimension: D) -> Option<Fault> {
        match self {
            Self::Value => value(text, dimension).err(),
            Self::Difference => difference(text, dimension).err(),
            Self::Valued => valued(text, dimension).err(),
            Self::Range => range(text, dimension).err(),
            Self::Unknown => unknown(text, dimension).err(),
            Self::Accuracy => accuracy(text, dimension).err(),
        }
    }
}

type Row = (
    Reader,
    &'static str,
    D,
    (usize, usize),
    &'static str,
    Option<&'static str>,
);

/// Reader, text, expected dimension, byte range, message, suggestion.
#[rustfmt::skip]
const MESSAGES: &[Row] = &[
    (Reader::Value, "", D::VOLTAGE, (0, 0), "the text is empty", None),
    (Reader::Value, "  ", D::VOLTAGE, (2, 2), "the text is empty", None),
    (Reader::Value, "V", D::VOLTAGE, (0, 1), "V is not a number", None),
    (Reader::Value, "abc", D::VOLTAGE, (0, 3), "abc is not a number", None),
    (Reader::Value, "-", D::VOLTAGE, (0, 1), "a sign stands alone, without a number", None),
    (Reader::Value, "+ ", D::VOLTAGE, (0, 2), "a sign stands alone, without a number", None),
    (Reader::Value, "- V", D::VOLTAGE, (0, 3), "- V is not a number", None),
    (Reader::Value, "nan V", D::VOLTAGE, (0, 3), "nan is not a finite number", None),
    (Reader::Value, "-inf V", D::VOLTAGE, (0, 4), "-inf is not a finite number", None),
    (Reader::Value, "∞ V", D::VOLTAGE, (0, 3), "∞ is not a finite number", None),
    (Reader::Value, "1.2.3 V", D::VOLTAGE, (0, 5), "1.2.3 is not a number", None),
    (Reader::Value, "1e999 V", D::VOLTAGE, (0, 7), "1e999 V is too large to be meant", None),
    (Reader::Value, "1e-999 V", D::VOLTAGE, (0, 8), "1e-999 V is too small to be meant", None),
    (Reader::Value, "1e31 V", D::VOLTAGE, (0, 6), "1e31 V is too large to be meant", None),
    (Reader::Value, "1e-40 V", D::VOLTAGE, (0, 7), "1e-40 V is too small to be meant", None),
    (Reader::Value, "-1000 dB", D::NONE, (0, 8), "-1000 dB is too small to be meant", None),
    (Reader::Value, "10", D::RESISTANCE, (0, 2), "10 has no unit", None),
    (Reader::Value, "0", D::PRESSURE, (0, 1), "0 has no unit", None),
    (Reader::Value, "7", D::PH, (0, 1), "7 has no unit", None),
    (Reader::Value, "10 each", D::RESISTANCE, (0, 2), "10 has no unit", None),
    (Reader::Value, "10 kOmh", D::RESISTANCE, (3, 7), "kOmh is not a known unit", Some("kΩ")),
    (Reader::Value, "10 MHZ", D::FREQUENCY, (3, 6), "MHZ is not a known unit", Some("MHz")),
    (Reader::Value, "10 kpa", D::PRESSURE, (3, 6), "kpa is not a known unit", Some("kPa")),
    (Reader::Value, "10 Volt", D::VOLTAGE, (3, 7), "Volt is not a known unit", Some("V")),
    (Reader::Value, "7 ph", D::PH, (2, 4), "ph is not a known unit", Some("pH")),
    (Reader::Value, "10 nV/rthz", D::VOLTAGE_NOISE_DENSITY, (3, 10), "nV/rthz is not a known unit", Some("nV/√Hz")),
    (Reader::Value, "2 uf", D::CAPACITANCE, (2, 4), "uf is not a known unit", Some("µF")),
    (Reader::Value, "25 °F", D::TEMPERATURE, (3, 6), "°F is not a known unit", Some("°C")),
    (Reader::Value, "10 foo", D::VOLTAGE, (3, 6), "foo is not a known unit", None),
    (Reader::Value, "2.5foo", D::NONE, (3, 6), "foo is not a known unit", None),
    (Reader::Value, "1 J/kg·K", D::ENERGY.over(D::MASS).over(D::TEMPERATURE), (2, 9), "J/kg·K can be read in two ways; a product after a quotient stands in brackets", Some("J/(kg·K)")),
    (Reader::Value, "10 k", D::RESISTANCE, (3, 4), "k is a prefix without a unit", Some("kΩ")),
    (Reader::Value, "10 m", D::NONE, (0, 4), "10 m is a length, not a plain number", None),
    (Reader::Value, "10 k Ω", D::RESISTANCE, (3, 7), "the prefix k is separated from its unit Ω", Some("kΩ")),
    (Reader::Value, "10 u", D::CURRENT, (3, 4), "u is a prefix without a unit", Some("µA")),
    (Reader::Value, "10 mA", D::RESISTANCE, (0, 5), "10 mA is a current, not a resistance", None),
    (Reader::Value, "25 C", D::TEMPERATURE, (0, 4), "25 C is a charge, not a temperature", Some("25 °C")),
    (Reader::Value, "47 K", D::RESISTANCE, (0, 4), "47 K is a temperature, not a resistance", Some("47 kΩ")),
    (Reader::Value, "45 %", D::HUMIDITY, (0, 4), "45 % is a plain number, not a relative humidity", Some("45 %RH")),
    (Reader::Value, "3 mS", D::TIME, (0, 4), "3 mS is a conductance, not a time", Some("3 ms")),
    (Reader::Value, "2 g", D::ACCELERATION, (0, 3), "2 g is a mass, not an acceleration", Some("2 gn")),
    (Reader::Value, "10 ppm/C", D::PER_KELVIN, (0, 8), "10 ppm/C is a value in 1/(A·s), not a relative change per kelvin", Some("10 ppm/K")),
    (Reader::Value, "80 dB", D::VOLTAGE, (0, 5), "80 dB is a plain number, not a voltage", None),
    (Reader::Value, "5 kg·m", D::VOLTAGE, (0, 7), "5 kg·m is a value in kg·m, not a voltage", None),
    (Reader::Value, "2 pH", D::INDUCTANCE, (0, 4), "2 pH is a pH value, not an inductance", None),
    (Reader::Value, "4,7 kΩ", D::RESISTANCE, (0, 3), "4,7 has a comma; the decimal mark is a point and thousands are not separated", Some("4.7")),
    (Reader::Value, "10,000 Ω", D::RESISTANCE, (0, 6), "10,000 has a comma; the decimal mark is a point and thousands are not separated", None),
    (Reader::Value, "1,234.5 V", D::VOLTAGE, (0, 7), "1,234.5 has a comma; the decimal mark is a point and thousands are not separated", None),
    (Reader::Value, "5, V", D::VOLTAGE, (1, 2), "a comma is not understood here; a decimal mark is a point", None),
    (Reader::Value, "10 000 Ω", D::RESISTANCE, (0, 6), "10 000 has spaces between its digits; thousands are not separated", Some("10000")),
    (Reader::Value, "1 000 000 Ω", D::RESISTANCE, (0, 9), "1 000 000 has spaces between its digits; thousands are not separated", Some("1000000")),
    (Reader::Value, "10_000 Ω", D::RESISTANCE, (0, 6), "10_000 has separators between its digits; thousands are not separated", Some("10000")),
    (Reader::Value, "10'000 Ω", D::RESISTANCE, (0, 6), "10'000 has separators between its digits; thousands are not separated", Some("10000")),
    (Reader::Value, "3V3", D::VOLTAGE, (0, 3), "3V3 is written like a value code, which only resistances and capacitances have", Some("3.3 V")),
    (Reader::Value, "4u7", D::INDUCTANCE, (0, 3), "4u7 is written like a value code, which only resistances and capacitances have", Some("4.7 µH")),
    (Reader::Value, "4N7", D::CAPACITANCE, (0, 3), "4N7 is not a value code of a capacitance", Some("4.7 nF")),
    (Reader::Value, "4m7", D::RESISTANCE, (0, 3), "4m7 is not a value code of a resistance", Some("4.7 mΩ")),
    (Reader::Value, "4n7F", D::CAPACITANCE, (0, 4), "4n7F can be read in two ways: the final F may be the farad or the tolerance letter of 1 %", None),
    (Reader::Value, "0x10", D::CODE, (0, 4), "0x10 is written like a value code, which only resistances and capacitances have", None),
    (Reader::Value, "-300 °C", D::TEMPERATURE, (0, 8), "-300 °C is below absolute zero", None),
    (Reader::Value, "-1 K", D::TEMPERATURE, (0, 4), "-1 K is below absolute zero", None),
    (Reader::Value, "10 V foo", D::VOLTAGE, (5, 8), "foo at the end is not understood", None),
    (Reader::Value, "10 Ω 5 %", D::RESISTANCE, (6, 9), "5 % at the end is not understood", None),
    (Reader::Value, "5 V; 6 V", D::VOLTAGE, (3, 8), "; 6 V at the end is not understood", None),
    (Reader::Value, "1 V to 2 V", D::VOLTAGE, (4, 10), "to 2 V at the end is not understood", None),
    (Reader::Value, "a very long text that is not a number at all and is cut in the message", D::VOLTAGE, (0, 1), "a is not a number", None),
    (Reader::Value, "averyveryveryverylongwordwithoutanyspacesinitatall", D::VOLTAGE, (0, 50), "averyveryveryverylongwordwithoutanyspace… is not a number", None),
    (Reader::Value, "3 averyveryveryverylongwordwithoutanyspacesinitatall", D::VOLTAGE, (2, 52), "averyveryveryverylongwordwithoutanyspace… is not a known unit", None),
    (Reader::Valued, "5 V ± 5 % 1 %", D::VOLTAGE, (11, 14), "1 % is a second tolerance", None),
    (Reader::Valued, "1R8J 5 %", D::RESISTANCE, (5, 8), "5 % is a second tolerance", None),
    (Reader::Valued, "5 V ± -5 %", D::VOLTAGE, (7, 9), "-5 after ± has a sign; the limit of a tolerance is a magnitude", None),
    (Reader::Valued, "(5 ± -1) V", D::VOLTAGE, (6, 8), "-1 after ± has a sign; the limit of a tolerance is a magnitude", None),
    (Reader::Valued, "5 V -5 %", D::VOLTAGE, (4, 8), "-5 % gives only one side of a tolerance", Some("-5 % +0 %")),
    (Reader::Valued, "5 V +5 %", D::VOLTAGE, (4, 8), "+5 % gives only one side of a tolerance", Some("+5 % -0 %")),
    (Reader::Valued, "5 V +5 % +10 %", D::VOLTAGE, (4, 14), "+5 % +10 % has both limits above the nominal value; a tolerance has one + and one - limit", None),
    (Reader::Valued, "5 V -5 % -10 %", D::VOLTAGE, (4, 14), "-5 % -10 % has both limits below the nominal value; a tolerance has one + and one - limit", None),
    (Reader::Valued, "5 V +5 % -2 mV/K", D::VOLTAGE, (9, 16), "a drift cannot be one side of a tolerance", None),
    (Reader::Valued, "5 V ± 5", D::VOLTAGE, (7, 8), "the tolerance 5 has no unit", None),
    (Reader::Valued, "5 V 5", D::VOLTAGE, (4, 5), "5 after the value has no unit", None),
    (Reader::Valued, "5 V 0.2 V", D::VOLTAGE, (4, 9), "0.2 V is a second value; a tolerance in the unit of the value needs ±", Some("± 0.2 V")),
    (Reader::Valued, "5 V 2 A", D::VOLTAGE, (4, 7), "2 A is a current, neither a tolerance nor a drift of a voltage", None),
    (Reader::Valued, "5 V ± 2 A", D::VOLTAGE, (7, 10), "2 A is a current, neither a tolerance nor a drift of a voltage", None),
    (Reader::Valued, "5 V ± 1 dB", D::VOLTAGE, (7, 11), "1 dB is not linear; a tolerance is written in % or in the unit of the value", None),
    (Reader::Valued, "10 kΩ 25 ppm/K 10 ppm/K", D::RESISTANCE, (16, 24), "10 ppm/K is a second drift", None),
    (Reader::Valued, "10 kΩ 25 ppm/C", D::RESISTANCE, (7, 15), "25 ppm/C is a value in 1/(A·s), neither a tolerance nor a drift of a resistance", Some("25 ppm/K")),
    (Reader::Valued, "21 °C ± 2 %", D::TEMPERATURE, (10, 13), "2 % of a temperature has no meaning; its tolerance is written in K or °C", None),
    (Reader::Valued, "21 °C ± 2", D::TEMPERATURE, (10, 11), "the tolerance 2 has no unit", None),
    (Reader::Valued, "45 %RH ± 2 %", D::HUMIDITY, (10, 13), "2 % of a relative humidity may be a share of it or %RH", Some("2 %RH")),
    (Reader::Valued, "50 % ± 2 %", D::NONE, (8, 11), "2 % after a percentage may be a share of it or points; write the value as a plain number", None),
    (Reader::Valued, "5 V ±", D::VOLTAGE, (6, 6), "a value is missing after 5 V ±", None),
    (Reader::Valued, "5 V +", D::VOLTAGE, (4, 5), "a sign stands alone, without a number", None),
    (Reader::Valued, "(5 V)", D::VOLTAGE, (0, 3), "a bracket holds a value, ± and its tolerance, with the unit after the bracket", None),
    (Reader::Valued, "(5 ± 1 V", D::VOLTAGE, (0, 8), "the bracket is not closed", None),
    (Reader::Valued, "(5 ± 1) foo", D::VOLTAGE, (9, 12), "foo is not a known unit", None),
    (Reader::Valued, "5 V (typ)", D::VOLTAGE, (4, 9), "(typ) at the end is not understood", None),
    (Reader::Valued, "10 ± 1 A", D::VOLTAGE, (0, 2), "10 has no unit", None),
    (Reader::Valued, "7 pH ± 1", D::PH, (8, 9), "the tolerance 1 has no unit", None),
    (Reader::Valued, "10k 1% 0603", D::RESISTANCE, (7, 11), "0603 after the value has no unit", None),
    (Reader::Valued, "5 V ± 5 voltz", D::VOLTAGE, (9, 14), "voltz is not a known unit", Some("V")),
    (Reader::Range, "5 V", D::VOLTAGE, (0, 3), "5 V is one value; a range has two ends with the word \"to\" between them", None),
    (Reader::Range, "5 V - 6 V", D::VOLTAGE, (4, 5), "the ends of a range are separated by the word \"to\", not by -", Some(" to ")),
    (Reader::Range, "5..6 V", D::VOLTAGE, (1, 3), "the ends of a range are separated by the word \"to\", not by ..", Some(" to ")),
    (Reader::Range, "−5 … 40 °C", D::TEMPERATURE, (5, 8), "the ends of a range are separated by the word \"to\", not by …", Some(" to ")),
    (Reader::Range, "5 V and 6 V", D::VOLTAGE, (4, 7), "the word \"to\" is missing before and", None),
    (Reader::Range, "5 V to", D::VOLTAGE, (6, 6), "a value is missing after 5 V to", None),
    (Reader::Range, "5 V to 6 V to 7 V", D::VOLTAGE, (11, 17), "to 7 V at the end is not understood", None),
    (Reader::Range, "1 kPa to 10", D::PRESSURE, (9, 11), "10 has no unit", Some("10 kPa")),
    (Reader::Range, "5 mA to 10", D::VOLTAGE, (8, 10), "10 has no unit", None),
    (Reader::Range, "0 to 10", D::PRESSURE, (5, 7), "10 has no unit", None),
    (Reader::Range, "40 °C to -5 °C", D::TEMPERATURE, (0, 16), "the range is reversed: 40 °C is above -5 °C", Some("-5 °C to 40 °C")),
    (Reader::Range, "10 to 0 kPa", D::PRESSURE, (0, 11), "the range is reversed: 10 is above 0 kPa", Some("0 kPa to 10 kPa")),
    (Reader::Range, "5 mA to 5 V", D::VOLTAGE, (0, 4), "5 mA is a current, not a voltage", None),
    (Reader::Range, "4k7 to 1k", D::RESISTANCE, (0, 9), "the range is reversed: 4k7 is above 1k", Some("1k to 4k7")),
    (Reader::Unknown, "? 5 V", D::VOLTAGE, (2, 5), "5 V is one value; a range has two ends with the word \"to\" between them", None),
    (Reader::Unknown, "? x", D::VOLTAGE, (2, 3), "x is not a number", None),
    (Reader::Unknown, "?? 1 to 2 V", D::VOLTAGE, (1, 2), "? is not a number", None),
    (Reader::Unknown, "? 2 to 1 V", D::VOLTAGE, (2, 10), "the range is reversed: 2 is above 1 V", Some("1 V to 2 V")),
    (Reader::Accuracy, "0.5 %", D::PRESSURE, (0, 5), "0.5 % does not say of what: of reading or of span", None),
    (Reader::Accuracy, "3 %", D::HUMIDITY, (0, 3), "3 % does not say of what: of reading or of span", Some("3 %RH")),
    (Reader::Accuracy, "-1 kPa", D::PRESSURE, (0, 6), "-1 kPa is negative; an accuracy is a magnitude", None),
    (Reader::Accuracy, "1 kPa of span", D::PRESSURE, (0, 8), "1 kPa is not a share; \"of reading\" and \"of span\" follow a percentage", None),
    (Reader::Accuracy, "0.5 % of rdg", D::PRESSURE, (6, 12), "of rdg is not known; an accuracy is of reading or of span", None),
    (Reader::Accuracy, "3 % of", D::HUMIDITY, (4, 6), "of is not known; an accuracy is of reading or of span", None),
    (Reader::Accuracy, "0.1 °C 0.2 % of reading", D::TEMPERATURE, (8, 24), "0.2 % of reading at the end is not understood", None),
    (Reader::Accuracy, "0.1 °C +", D::TEMPERATURE, (9, 9), "a value is missing after 0.1 °C +", None),
    (Reader::Accuracy, "0.1 V", D::TEMPERATURE, (0, 5), "0.1 V is a voltage, not a temperature difference", None),
    (Reader::Accuracy, "0.1", D::TEMPERATURE, (0, 3), "0.1 has no unit", None),
    (Reader::Difference, "10 mA", D::TEMPERATURE, (0, 5), "10 mA is a current, not a temperature difference", None),
    (Reader::Difference, "0.3", D::TEMPERATURE, (0, 3), "0.3 has no unit", None),
];

#[test]
fn snapshot_message_of_every_fault() {
    for (reader, text, dimension, (start, end), message, suggestion) in MESSAGES {
        let Some(fault) = reader.fault(text, *dimension) else {
            panic!("{reader:?} accepts {text}");
        };
        assert_eq!(fault.message, *message, "{text}");
        assert_eq!((fault.start, fault.end), (*start, *end), "{text}");
        assert_eq!(fault.suggestion.as_deref(), *suggestion, "{text}");
    }
}

#[test]
fn reference_every_suggestion_repairs_its_text() {
    for (reader, text, dimension, (start, end), _, suggestion) in MESSAGES {
        if let Some(suggestion) = suggestion {
            let repaired = format!("{}{suggestion}{}", &text[..*start], &text[*end..]);
            let left = reader.fault(&repaired, *dimension);
            assert!(left.is_none(), "{text} became {repaired}: {left:?}");
        }
    }
}

#[test]
fn snapshot_what_was_expected() {
    let specific = D::MASS.power(3);
    for (reader, text, dimension, expected) in [
        (
            Reader::Value,
            "x",
            D::RESISTANCE,
            "a resistance, for example 10 kΩ",
        ),
        (
            Reader::Value,
            "x",
            D::NONE,
            "a plain number, for example 2.5 or 40 %",
        ),
        (
            Reader::Value,
            "x",
            D::INDUCTANCE,
            "an inductance, for example 10 µH",
        ),
        (
            Reader::Value,
            "x",
            D::TEMPERATURE,
            "a temperature, for example 25 °C",
        ),
        (
            Reader::Value,
            "x",
            specific,
            "a value in kg³, for example 1 kg³",
        ),
        (
            Reader::Difference,
            "x",
            D::TEMPERATURE,
            "a temperature difference, for example 0.3 K",
        ),
        (
            Reader::Valued,
            "x",
            D::VOLTAGE,
            "a voltage, for example 3.3 V",
        ),
        (
            Reader::Valued,
            "5 V 1",
            D::VOLTAGE,
            "a tolerance such as ± 5 %, or a drift such as 25 ppm/K",
        ),
        (
            Reader::Valued,
            "25 °C 1",
            D::TEMPERATURE,
            "a tolerance such as ± 2 °C",
        ),
        (
            Reader::Valued,
            "45 %RH 1",
            D::HUMIDITY,
            "a tolerance such as ± 2 %RH, or a drift such as 0.05 %RH/K",
        ),
        (
            Reader::Valued,
            "7 pH 1",
            D::PH,
            "a tolerance such as ± 0.02 pH, or a drift such as 0.003 pH/K",
        ),
        (
            Reader::Range,
            "x",
            D::PRESSURE,
            "the range of a pressure, for example 0 to 10 Pa",
        ),
        (
            Reader::Range,
            "x",
            D::TEMPERATURE,
            "the range of a temperature, for example 0 to 10 °C",
        ),
        (
            Reader::Range,
            "x",
            D::NONE,
            "the range of a plain number, for example 0 to 10",
        ),
        (
            Reader::Unknown,
            "?x",
            D::CAPACITANCE,
            "the bounds of a capacitance, for example ? or ? 1 to 20 F",
        ),
        (
            Reader::Accuracy,
            "x",
            D::PRESSURE,
            "the accuracy of a pressure, for example 0.3 Pa, 0.5 % of reading or 0.1 % of span",
        ),
    ] {
        let fault = reader.fault(text, dimension).unwrap();
        assert_eq!(fault.expected, expected);
    }
    assert_eq!(any("x").unwrap_err().expected, "a value, for example 3.3 V");
}

#[test]
fn reference_every_example_is_readable() {
    // What a message recommends must itself be accepted.
    for dimension in [
        D::RESISTANCE,
        D::NONE,
        D::TEMPERATURE,
        D::PH,
        D::HUMIDITY,
        D::CODE,
        D::PRESSURE,
        D::FLOW,
        D::PER_KELVIN,
        D::SLEW_RATE,
        D::ILLUMINANCE,
        D::MASS.power(3),
        D::VOLTAGE_NOISE_DENSITY,
        D::CHARGE,
        D::VOLTAGE.over(D::PRESSURE),
        D::TIME.over(D::LENGTH),
        D::FORCE,
        D::NONE.over(D::VOLUME),
        D::NONE.over(D::TIME.sqrt_of()),
        D::DISSIPATION,
    ] {
        for reader in [
            Reader::Value,
            Reader::Difference,
            Reader::Range,
            Reader::Unknown,
            Reader::Accuracy,
        ] {
            let expected = reader.fault("?x", dimension).unwrap().expected;
            let (_, examples) = expected.split_once(", for example ").unwrap();
            for example in examples.split(" or ").flat_map(|part| part.split(", ")) {
                let fault = reader.fault(example, dimension);
                assert!(fault.is_none(), "{dimension:?} {example}: {fault:?}");
            }
        }
    }
}

#[test]
fn snapshot_fault_as_one_line() {
    let fault = value("10 kOmh", D::RESISTANCE).unwrap_err();
    assert_eq!(
        fault.to_string(),
        "kOmh is not a known unit; expected a resistance, for example 10 kΩ; did you mean \"kΩ\"?"
    );
    let fault = value("10 mA", D::RESISTANCE).unwrap_err();
    assert_eq!(
        fault.to_string(),
        "10 mA is a current, not a resistance; expected a resistance, for example 10 kΩ"
    );
}

#[test]
fn snapshot_long_texts() {
    let long = "1".repeat(1001);
    let fault = value(&long, D::VOLTAGE).unwrap_err();
    assert_eq!((fault.start, fault.end), (0, 1001));
    assert_eq!(fault.message, "the text is too long to be a value");
    // A message stays readable whatever is quoted in it.
    let long = format!("{} V", "1".repeat(500));
    let fault = value(&long, D::VOLTAGE).unwrap_err();
    assert_eq!(
        fault.message,
        "1111111111111111111111111111111111111111… is too large to be meant"
    );
}
