//! The unit names and SI prefixes that may be written.
//!
//! SI units and prefixes: SI Brochure, 9th edition (BIPM 2019), tables 4, 7 and 8.
//! Standard gravity 9.80665 m/s²: 3rd CGPM (1901). Year: the Julian year of
//! 365.25 days of 86 400 s (IAU).

use crate::dimension::Dimension as D;
use crate::unit::Factor;

/// One unit name.
pub(crate) struct UnitName {
    /// Canonical spelling.
    pub(crate) symbol: &'static str,
    /// Other accepted spellings.
    pub(crate) spellings: &'static [&'static str],
    pub(crate) factor: Factor,
    pub(crate) offset: f64,
    pub(crate) dimension: D,
    pub(crate) prefixable: bool,
    /// Whether c, d and h are customary (cm, dL, hPa).
    pub(crate) small_prefixes: bool,
    pub(crate) decibel: bool,
    pub(crate) share: bool,
}

/// A prefix spelling.
pub(crate) struct Prefix {
    pub(crate) spelling: &'static str,
    pub(crate) canonical: &'static str,
    pub(crate) ten: i32,
    /// Only for units where it is customary.
    pub(crate) restricted: bool,
}

const fn prefix(spelling: &'static str, canonical: &'static str, ten: i32) -> Prefix {
    Prefix {
        spelling,
        canonical,
        ten,
        restricted: matches!(ten, -2..=2),
    }
}

/// Accepted prefixes; both micro signs and u, and K for kilo as data sheets print it.
pub(crate) const PREFIXES: &[Prefix] = &[
    prefix("a", "a", -18),
    prefix("f", "f", -15),
    prefix("p", "p", -12),
    prefix("n", "n", -9),
    prefix("\u{b5}", "\u{b5}", -6),
    prefix("\u{3bc}", "\u{b5}", -6),
    prefix("u", "\u{b5}", -6),
    prefix("m", "m", -3),
    prefix("c", "c", -2),
    prefix("d", "d", -1),
    prefix("h", "h", 2),
    prefix("k", "k", 3),
    prefix("K", "k", 3),
    prefix("M", "M", 6),
    prefix("G", "G", 9),
    prefix("T", "T", 12),
];

const PLAIN: UnitName = UnitName {
    symbol: "",
    spellings: &[],
    factor: Factor::ONE,
    offset: 0.0,
    dimension: D::NONE,
    prefixable: false,
    small_prefixes: false,
    decibel: false,
    share: false,
};

/// A coherent unit that takes prefixes.
const fn si(symbol: &'static str, spellings: &'static [&'static str], dimension: D) -> UnitName {
    UnitName {
        symbol,
        spellings,
        dimension,
        prefixable: true,
        ..PLAIN
    }
}

/// A unit 10^`ten` · `multiplier` that takes no prefix.
const fn fixed(
    symbol: &'static str,
    spellings: &'static [&'static str],
    ten: i32,
    multiplier: f64,
    dimension: D,
) -> UnitName {
    UnitName {
        symbol,
        spellings,
        factor: Factor {
            ten,
            multiplier,
            divisor: 1.0,
        },
        dimension,
        ..PLAIN
    }
}

/// The same unit, prefixes allowed.
const fn prefixed(unit: UnitName) -> UnitName {
    UnitName {
        prefixable: true,
        ..unit
    }
}

/// The same unit, c, d and h allowed as well.
const fn small(unit: UnitName) -> UnitName {
    UnitName {
        prefixable: true,
        small_prefixes: true,
        ..unit
    }
}

/// A share: percent and its smaller kin.
const fn share(symbol: &'static str, spellings: &'static [&'static str], ten: i32) -> UnitName {
    UnitName {
        symbol,
        spellings,
        factor: Factor::ten(ten),
        share: true,
        ..PLAIN
    }
}

/// Every unit name. Names are looked up whole before prefixes are split off, so
/// `min`, `cd`, `mol` and `pH` mean what they say.
pub(crate) const UNITS: &[UnitName] = &[
    si(
        "Ω",
        &["\u{2126}", "ohm", "Ohm", "ohms", "Ohms"],
        D::RESISTANCE,
    ),
    si("V", &["volt", "volts"], D::VOLTAGE),
    si("A", &["amp", "amps", "ampere"], D::CURRENT),
    si("W", &["watt", "watts"], D::POWER),
    si("F", &["farad"], D::CAPACITANCE),
    si("H", &["henry"], D::INDUCTANCE),
    si("S", &["siemens"], D::CONDUCTANCE),
    si("C", &["coulomb"], D::CHARGE),
    si("J", &["joule"], D::ENERGY),
    si("N", &["newton"], D::FORCE),
    si("Hz", &["hertz"], D::FREQUENCY),
    si("T", &["tesla"], D::MAGNETIC_FLUX_DENSITY),
    si("Wb", &[], D::MAGNETIC_FLUX),
    si("K", &["kelvin"], D::TEMPERATURE),
    small(si("Pa", &["pascal"], D::PRESSURE)),
    small(si("m", &["metre", "meter"], D::LENGTH)),
    si("s", &["sec", "second", "seconds"], D::TIME),
    si("mol", &[], D::AMOUNT),
    si("cd", &[], D::LUMINOUS_INTENSITY),
    si("lm", &[], D::LUMINOUS_INTENSITY),
    si("lx", &["lux"], D::ILLUMINANCE),
    small(fixed("g", &["gram", "grams"], -3, 1.0, D::MASS)),
    fixed("t", &["tonne"], 3, 1.0, D::MASS),
    small(fixed("L", &["l", "litre", "liter"], -3, 1.0, D::VOLUME)),
    prefixed(fixed("bar", &[], 5, 1.0, D::PRESSURE)),
    prefixed(fixed("gn", &["g0"], 0, 9.80665, D::ACCELERATION)),
    prefixed(fixed("Wh", &["W·h", "W*h"], 0, 3600.0, D::ENERGY)),
    prefixed(fixed("Ah", &["A·h", "A*h"], 0, 3600.0, D::CHARGE)),
    prefixed(si("baud", &["Bd"], D::FREQUENCY)),
    fixed("min", &["minute", "minutes"], 0, 60.0, D::TIME),
    fixed("h", &["hour", "hours", "hr"], 0, 3600.0, D::TIME),
    fixed("kh", &[], 3, 3600.0, D::TIME),
    fixed("days", &["d", "day"], 0, 86_400.0, D::TIME),
    fixed("weeks", &["week"], 0, 604_800.0, D::TIME),
    fixed("years", &["year", "yr"], 0, 31_557_600.0, D::TIME),
    UnitName {
        symbol: "rpm",
        spellings: &["r/min"],
        factor: Factor {
            divisor: 60.0,
            ..Factor::ONE
        },
        dimension: D::FREQUENCY,
        ..PLAIN
    },
    UnitName {
        offset: 273.15,
        dimension: D::TEMPERATURE,
        symbol: "°C",
        spellings: &["degC", "℃", "ºC", "°c"],
        ..PLAIN
    },
    share("%", &["percent"], -2),
    share("‰", &[], -3),
    share("ppm", &[], -6),
    share("ppb", &[], -9),
    UnitName {
        symbol: "dB",
        decibel: true,
        ..PLAIN
    },
    si("rad", &[], D::ANGLE),
    fixed("°", &["deg"], 0, std::f64::consts::PI / 180.0, D::ANGLE),
    si("strain", &["ε"], D::NONE),
    si("bit", &["bits"], D::NONE),
    fixed("pulses", &["pulse"], 0, 1.0, D::NONE),
    si("samples", &["sample", "Sa"], D::NONE),
    fixed("LSB", &["LSBs", "lsb", "code", "codes"], 0, 1.0, D::CODE),
    fixed("pH", &[], 0, 1.0, D::PH),
    fixed("%RH", &["%rh"], 0, 1.0, D::HUMIDITY),
];
