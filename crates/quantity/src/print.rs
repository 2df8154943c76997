//! Printing of values, with the digits that the caller says are meant.

use crate::dimension::Dimension;
use crate::unit::unit;

/// Most significant digits that a double can mean.
const MOST_DIGITS: usize = 17;

/// Smallest and largest exponent of three-power prefixes.
const PREFIX_RANGE: std::ops::RangeInclusive<i32> = -18..=12;

/// A value rounded to significant digits: sign, digits, decimal exponent of the first digit.
struct Rounded {
    negative: bool,
    digits: String,
    exponent: i32,
}

/// Rounds exactly (the formatter works on the binary value, ties to even).
fn rounded(value: f64, digits: usize) -> Option<Rounded> {
    if !value.is_finite() {
        return None;
    }
    let places = digits.clamp(1, MOST_DIGITS) - 1;
    let text = format!("{:.*e}", places, value.abs());
    let (mantissa, exponent) = text.split_once('e')?;
    Some(Rounded {
        negative: value.is_sign_negative() && value != 0.0,
        digits: mantissa.chars().filter(char::is_ascii_digit).collect(),
        exponent: exponent.parse().ok()?,
    })
}

fn non_finite(value: f64) -> String {
    if value.is_nan() {
        "not a number".to_owned()
    } else if value > 0.0 {
        "∞".to_owned()
    } else {
        "\u{2212}∞".to_owned()
    }
}

impl Rounded {
    fn sign(&self) -> &'static str {
        if self.negative { "\u{2212}" } else { "" }
    }

    /// Positional notation with the first digit at 10^`lead`.
    fn positional(&self, lead: i32) -> String {
        let mut text = self.sign().to_owned();
        if lead < 0 {
            text.push_str("0.");
            for _ in 1..lead.unsigned_abs() {
                text.push('0');
            }
            text.push_str(&self.digits);
            return text;
        }
        let whole = lead.unsigned_abs() as usize + 1;
        for (i, digit) in self.digits.chars().enumerate() {
            if i == whole {
                text.push('.');
            }
            text.push(digit);
        }
        for _ in self.digits.len()..whole {
            text.push('0');
        }
        text
    }
}

/// Significant digits without exponent from 1e-6 up to 1e10, with one outside.
///
/// ```
/// assert_eq!(quantity::plain(0.04567, 3), "0.0457");
/// assert_eq!(quantity::plain(-25.0, 3), "−25.0");
/// assert_eq!(quantity::plain(1.5e12, 3), "1.50e12");
/// ```
pub fn plain(value: f64, digits: usize) -> String {
    let Some(rounded) = rounded(value, digits) else {
        return non_finite(value);
    };
    if value == 0.0 {
        return "0".to_owned();
    }
    if (-6..10).contains(&rounded.exponent) {
        rounded.positional(rounded.exponent)
    } else {
        format!("{}e{}", rounded.positional(0), rounded.exponent)
    }
}

/// The prefix of 10^`ten`.
pub(crate) fn prefix(ten: i32) -> Option<&'static str> {
    Some(match ten {
        -18 => "a",
        -15 => "f",
        -12 => "p",
        -9 => "n",
        -6 => "µ",
        -3 => "m",
        0 => "",
        3 => "k",
        6 => "M",
        9 => "G",
        12 => "T",
        _ => return None,
    })
}

/// Units that take a prefix in print: those that take one when read, except the kelvin,
/// whose thousandths are read more easily as decimals.
fn takes_prefix(symbol: &str) -> bool {
    let kelvin = symbol
        .strip_prefix('K')
        .is_some_and(|rest| rest.is_empty() || rest.starts_with(['/', '·']));
    !kelvin && unit(symbol).is_some_and(|u| u.prefixable)
}

/// A number and a unit, with a space between them if there is a unit.
fn joined(number: &str, symbol: &str) -> String {
    if symbol.is_empty() {
        number.to_owned()
    } else {
        format!("{number} {symbol}")
    }
}

/// Value in `unit_symbol` with a prefix of a power of 1000 and `digits` significant digits.
///
/// Units that take no prefix (°C, K, %, ppm, pH, LSB, %RH, powers, prefixed and
/// unknown units) get none. The minus is U+2212.
///
/// ```
/// use quantity::engineering;
/// assert_eq!(engineering(4.7e3, "Ω", 3), "4.70 kΩ");
/// assert_eq!(engineering(-0.00025, "V", 2), "−250 µV");
/// assert_eq!(engineering(0.25, "K", 2), "0.25 K");
/// ```
pub fn engineering(value: f64, unit_symbol: &str, digits: usize) -> String {
    if !takes_prefix(unit_symbol) {
        return joined(&plain(value, digits), unit_symbol);
    }
    let Some(rounded) = rounded(value, digits) else {
        return joined(&non_finite(value), unit_symbol);
    };
    if value == 0.0 {
        return joined("0", unit_symbol);
    }
    let ten = rounded.exponent.div_euclid(3) * 3;
    let name = prefix(ten).filter(|_| PREFIX_RANGE.contains(&ten));
    match name {
        Some(prefix) => joined(
            &rounded.positional(rounded.exponent - ten),
            &format!("{prefix}{unit_symbol}"),
        ),
        None => joined(
            &format!("{}e{}", rounded.positional(0), rounded.exponent),
            unit_symbol,
        ),
    }
}

/// Value and standard uncertainty to two significant digits of the uncertainty,
/// as "(value ± uncertainty) unit" (JCGM 100:2008, 7.2.2 and 7.2.6).
///
/// Without a usable uncertainty (zero, negative, not finite) the value alone is
/// printed to six digits.
///
/// ```
/// use quantity::with_uncertainty;
/// // JCGM 100:2008, 7.2.2, example 3: u = 0.35 mg.
/// assert_eq!(with_uncertainty(100.021_47, 0.000_35, "g"), "(100.02147 ± 0.00035) g");
/// assert_eq!(with_uncertainty(4_701.23, 2.3, "Ω"), "(4.7012 ± 0.0023) kΩ");
/// ```
pub fn with_uncertainty(value: f64, u: f64, unit_symbol: &str) -> String {
    let (Some(size), true) = (rounded(u, 2), u > 0.0 && value.is_finite()) else {
        return engineering(value, unit_symbol, 6);
    };
    let lead = if value == 0.0 {
        size.exponent
    } else {
        exponent_of(value).max(size.exponent)
    };
    // A double means no more than its own digits.
    let last = (size.exponent - 1).max(lead - 16);
    let ten = if takes_prefix(unit_symbol) {
        (lead.div_euclid(3) * 3).clamp(*PREFIX_RANGE.start(), *PREFIX_RANGE.end())
    } else {
        0
    };
    let symbol = format!("{}{unit_symbol}", prefix(ten).unwrap_or(""));
    joined(
        &format!(
            "({} ± {})",
            to_place(value, last, ten),
            to_place(u, last, ten)
        ),
        &symbol,
    )
}

/// Decimal exponent of the first digit of a finite value that is not zero.
fn exponent_of(value: f64) -> i32 {
    format!("{:e}", value.abs())
        .split_once('e')
        .and_then(|(_, exponent)| exponent.parse().ok())
        .unwrap_or(0)
}

/// `value` rounded at the digit of 10^`last`, printed in units of 10^`ten` without exponent.
fn to_place(value: f64, last: i32, ten: i32) -> String {
    let decimals = usize::try_from(ten - last).unwrap_or(0);
    let zero = || format!("{:.decimals$}", 0.0);
    if value == 0.0 {
        return zero();
    }
    let exponent = exponent_of(value);
    let Ok(places) = usize::try_from(exponent - last) else {
        // Smaller than the last digit: rounds to nothing or to one.
        // The first digit of the value itself: rounding it beforehand would round twice.
        let one = exponent == last - 1 && format!("{:e}", value.abs()).as_str() >= "5";
        if !one {
            return zero();
        }
        let unit_at_last = Rounded {
            negative: value < 0.0,
            digits: "1".to_owned(),
            exponent: last,
        };
        return unit_at_last.positional(last - ten);
    };
    let Some(mut number) = rounded(value, places + 1) else {
        return non_finite(value);
    };
    if number.exponent > exponent {
        // 9.96 rounded to 10.0: the carry moved the first digit, not the last.
        number.digits.push('0');
    }
    number.positional(number.exponent - ten)
}

/// The coherent SI unit of a dimension that has a name, `Some("")` for plain numbers.
///
/// ```
/// use quantity::{Dimension, symbol};
/// assert_eq!(symbol(Dimension::RESISTANCE), Some("Ω"));
/// ```
pub fn symbol(dimension: Dimension) -> Option<&'static str> {
    dimension.kind().map(|kind| kind.symbol)
}

/// Value in the unit usual for its dimension; temperatures are differences in K.
///
/// Long times go to min, h, days, years; masses to g; volumes to L; flows to L/min.
///
/// ```
/// use quantity::{Dimension, display};
/// assert_eq!(display(Dimension::CAPACITANCE, 100e-9, 3), "100 nF");
/// assert_eq!(display(Dimension::FLOW, 2e-4, 3), "12.0 L/min");
/// ```
pub fn display(dimension: Dimension, value: f64, digits: usize) -> String {
    let usual = match dimension {
        Dimension::TIME => match value.abs() {
            t if t < 300.0 => ("s", 1.0),
            t if t < 3.0 * 3600.0 => ("min", 60.0),
            t if t < 3.0 * 86_400.0 => ("h", 3600.0),
            t if t < 2.0 * 31_557_600.0 => ("days", 86_400.0),
            _ => ("years", 31_557_600.0),
        },
        Dimension::MASS if value.abs() < 1.0 => return engineering(value * 1e3, "g", digits),
        Dimension::VOLUME => return engineering(value * 1e3, "L", digits),
        Dimension::FLOW => ("L/min", 1.0 / 60_000.0),
        _ => match symbol(dimension) {
            Some(symbol) => (symbol, 1.0),
            None => return joined(&plain(value, digits), &dimension.base_symbol()),
        },
    };
    engineering(value / usual.1, usual.0, digits)
}

/// An absolute temperature in °C to `digits` significant digits, but never more
/// than `digits` − 1 decimals, since zero is an arbitrary point of this scale.
///
/// ```
/// assert_eq!(quantity::display_temperature(298.15, 3), "25.0 °C");
/// assert_eq!(quantity::display_temperature(273.151, 3), "0.00 °C");
/// ```
pub fn display_temperature(kelvin: f64, digits: usize) -> String {
    celsius(kelvin - 273.15, digits)
}

/// A temperature already in °C, rounded as in [`display_temperature`].
pub(crate) fn celsius(degrees: f64, digits: usize) -> String {
    let Some(size) = rounded(degrees, digits) else {
        return joined(&non_finite(degrees), "°C");
    };
    let most = i32::try_from(digits.clamp(1, MOST_DIGITS)).unwrap_or(1) - 1;
    let decimals = (most - size.exponent).clamp(0, most);
    if size.exponent > most || degrees == 0.0 && most == 0 {
        return joined(&plain(degrees, digits), "°C");
    }
    joined(&to_place(degrees, -decimals, 0), "°C")
}
