//! Single values.

use super::cursor::Cursor;
use super::faults::{Form, Want};
use crate::dimension::Dimension;
use crate::fault::Fault;
use crate::tolerance::Quantity;

/// Reads one value of the expected dimension, absolute temperatures into kelvin.
///
/// # Errors
/// A [`Fault`] for an empty text, a missing or unknown unit, another dimension,
/// a decimal comma, absurd magnitudes (outside 1e-30 … 1e30 in SI units), a
/// temperature below absolute zero, or anything left over.
///
/// ```
/// use quantity::{Dimension, value};
/// assert_eq!(value("4k7", Dimension::RESISTANCE).unwrap().value, 4700.0);
/// assert_eq!(value("25 °C", Dimension::TEMPERATURE).unwrap().value, 298.15);
/// let fault = value("10 mA", Dimension::RESISTANCE).unwrap_err();
/// assert_eq!(fault.message, "10 mA is a current, not a resistance");
/// assert_eq!(fault.expected, "a resistance, for example 10 kΩ");
/// ```
pub fn value(text: &str, expected: Dimension) -> Result<Quantity, Fault> {
    read(text, Want::new(expected, Form::Value))
}

/// Reads one value; temperatures are differences, "0.3 °C" and "0.3 K" alike.
///
/// # Errors
/// As [`value`], except that temperature differences may be negative.
///
/// ```
/// use quantity::{Dimension, difference};
/// assert_eq!(difference("0.3 °C", Dimension::TEMPERATURE).unwrap().value, 0.3);
/// ```
pub fn difference(text: &str, expected: Dimension) -> Result<Quantity, Fault> {
    read(text, Want::new(expected, Form::Value).as_difference())
}

/// Reads one value of any dimension; bare numbers are plain, temperatures absolute.
///
/// Value codes such as "4k7" are not read here, since nothing says what they count.
///
/// # Errors
/// As [`value`], except for the dimension.
///
/// ```
/// use quantity::{Dimension, any};
/// assert_eq!(any("3.3 V").unwrap().dimension, Dimension::VOLTAGE);
/// ```
pub fn any(text: &str) -> Result<Quantity, Fault> {
    read(
        text,
        Want {
            dimension: None,
            difference: false,
            form: Form::Value,
        },
    )
}

fn read(text: &str, want: Want) -> Result<Quantity, Fault> {
    let mut cursor = Cursor::new(text);
    let written = cursor.written(&want)?;
    let value = cursor.resolve(&written, &want)?;
    cursor.finish(&want)?;
    Ok(Quantity {
        value,
        dimension: written.dimension(),
    })
}
