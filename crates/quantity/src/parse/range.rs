//! Ranges and unknowns.

use super::cursor::{Cursor, shown};
use super::faults::{Form, Want, suggesting};
use super::written::Written;
use crate::dimension::Dimension;
use crate::fault::Fault;
use crate::tolerance::{Range, Unknown};

/// Reads "low to high"; a unit written only at the end holds for both.
///
/// Absolute temperatures come out in kelvin.
///
/// # Errors
/// As [`crate::value`], and for reversed ends.
///
/// ```
/// use quantity::{Dimension, range};
/// let r = range("-5 to 40 °C", Dimension::TEMPERATURE).unwrap();
/// assert_eq!((r.low, r.high), (268.15, 313.15));
/// let fault = range("40 °C to -5 °C", Dimension::TEMPERATURE).unwrap_err();
/// assert_eq!(fault.suggestion.as_deref(), Some("-5 °C to 40 °C"));
/// ```
pub fn range(text: &str, expected: Dimension) -> Result<Range, Fault> {
    read_range(text, Want::new(expected, Form::Range))
}

/// Reads a range of differences: "-2 to 2 °C" is −2 K to 2 K.
///
/// # Errors
/// As [`range`].
///
/// ```
/// use quantity::{Dimension, range_difference};
/// assert_eq!(range_difference("-2 to 2 °C", Dimension::TEMPERATURE).unwrap().low, -2.0);
/// ```
pub fn range_difference(text: &str, expected: Dimension) -> Result<Range, Fault> {
    read_range(text, Want::new(expected, Form::Range).as_difference())
}

/// Reads a value that is to be found: "?" alone or "? low to high".
///
/// `Ok(None)` if the text does not start with a question mark.
///
/// # Errors
/// As [`range`] for what follows the question mark.
///
/// ```
/// use quantity::{Dimension, unknown};
/// let u = unknown("? 1 pF to 20 pF", Dimension::CAPACITANCE).unwrap().unwrap();
/// assert_eq!((u.low, u.high), (Some(1e-12), Some(20e-12)));
/// assert_eq!(unknown("15 pF", Dimension::CAPACITANCE).unwrap(), None);
/// ```
pub fn unknown(text: &str, expected: Dimension) -> Result<Option<Unknown>, Fault> {
    let want = Want::new(expected, Form::Unknown);
    let mut cursor = Cursor::new(text);
    cursor.skip_spaces();
    if !cursor.eat("?") {
        return Ok(None);
    }
    cursor.skip_spaces();
    if cursor.rest().is_empty() {
        return Ok(Some(Unknown {
            low: None,
            high: None,
        }));
    }
    let found = ends(&mut cursor, &want)?;
    Ok(Some(Unknown {
        low: Some(found.low),
        high: Some(found.high),
    }))
}

fn read_range(text: &str, want: Want) -> Result<Range, Fault> {
    ends(&mut Cursor::new(text), &want)
}

/// Reads both ends and everything after them.
fn ends<'a>(cursor: &mut Cursor<'a>, want: &Want) -> Result<Range, Fault> {
    let low = cursor.written(want)?;
    cursor.skip_spaces();
    if !cursor.eat_word("to") {
        return Err(no_to(cursor, &low, want));
    }
    let high = cursor.written(want)?;
    let shared = match (low.has_no_unit(), high.unit()) {
        (true, Some(unit)) => low.clone().with_unit(unit),
        _ => low.clone(),
    };
    // Where the unit is missing at both ends, it is missing at the second.
    let high_value =
        cursor
            .resolve(&high, want)
            .map_err(|fault| match (high.has_no_unit(), low.unit()) {
                (true, Some(unit)) if want.dimension == Some(unit.dimension) => {
                    let number = cursor.slice(high.start, high.end);
                    suggesting(fault, format!("{number} {}", unit.symbol))
                }
                _ => fault,
            })?;
    let low_value = cursor.resolve(&shared, want)?;
    cursor.finish(want)?;
    if low_value > high_value {
        return Err(reversed(cursor, &low, &high, want));
    }
    Ok(Range {
        low: low_value,
        high: high_value,
        dimension: high.dimension(),
    })
}

fn no_to(cursor: &Cursor<'_>, low: &Written<'_>, want: &Want) -> Fault {
    let rest = cursor.rest();
    if rest.is_empty() {
        return want.fault(
            low.start,
            low.end,
            format!(
                "{} is one value; a range has two ends with the word \"to\" between them",
                shown(cursor.slice(low.start, low.end))
            ),
        );
    }
    for mark in ["...", "..", "…", "–", "—", "-", "\u{2212}", "~", "÷"] {
        if rest.starts_with(mark) {
            return suggesting(
                want.fault(
                    cursor.at,
                    cursor.at + mark.len(),
                    format!("the ends of a range are separated by the word \"to\", not by {mark}"),
                ),
                " to ",
            );
        }
    }
    let word = cursor.word();
    want.fault(
        cursor.at,
        cursor.at + word.len(),
        format!("the word \"to\" is missing before {}", shown(word)),
    )
}

fn reversed(cursor: &Cursor<'_>, low: &Written<'_>, high: &Written<'_>, want: &Want) -> Fault {
    let first = cursor.slice(low.start, low.end);
    let second = cursor.slice(high.start, high.end);
    let fault = want.fault(
        low.start,
        high.end,
        format!("the range is reversed: {first} is above {second}"),
    );
    let swapped = match (low.has_no_unit(), high.unit()) {
        (true, Some(unit)) => format!("{second} to {first} {}", unit.symbol),
        _ => format!("{second} to {first}"),
    };
    suggesting(fault, swapped)
}
