//! Terms of a maximum permissible error.

use super::cursor::{Cursor, shown};
use super::faults::{Form, Want};
use crate::dimension::Dimension;
use crate::fault::Fault;
use crate::spelling;
use crate::tolerance::AccuracyTerm;

/// Reads one term: "0.3 °C", "0.5 % of reading" or "0.1 % of span"; a leading ± is allowed.
///
/// Temperatures are differences.
///
/// # Errors
/// As [`crate::difference`]; also for a negative term, and for a percentage that
/// does not say of what.
///
/// ```
/// use quantity::{AccuracyTerm, Dimension, accuracy_term};
/// assert_eq!(
///     accuracy_term("0.5 % of reading", Dimension::PRESSURE).unwrap(),
///     AccuracyTerm::OfReading(0.005)
/// );
/// ```
pub fn accuracy_term(text: &str, expected: Dimension) -> Result<AccuracyTerm, Fault> {
    let want = Want::new(expected, Form::Accuracy).as_difference();
    let mut cursor = Cursor::new(text);
    let term = term(&mut cursor, &want, expected)?;
    cursor.finish(&want)?;
    Ok(term)
}

/// Reads a sum of terms: "0.1 °C + 0.2 % of reading".
///
/// # Errors
/// As [`accuracy_term`].
///
/// ```
/// use quantity::{AccuracyTerm, Dimension, accuracy};
/// let terms = accuracy("0.1 °C + 0.2 % of reading", Dimension::TEMPERATURE).unwrap();
/// assert_eq!(terms, [AccuracyTerm::Absolute(0.1), AccuracyTerm::OfReading(0.002)]);
/// ```
pub fn accuracy(text: &str, expected: Dimension) -> Result<Vec<AccuracyTerm>, Fault> {
    let want = Want::new(expected, Form::Accuracy).as_difference();
    let mut cursor = Cursor::new(text);
    let mut terms = vec![term(&mut cursor, &want, expected)?];
    loop {
        cursor.skip_spaces();
        if !cursor.eat("+") {
            break;
        }
        terms.push(term(&mut cursor, &want, expected)?);
    }
    cursor.finish(&want)?;
    Ok(terms)
}

fn term(cursor: &mut Cursor<'_>, want: &Want, expected: Dimension) -> Result<AccuracyTerm, Fault> {
    cursor.skip_spaces();
    cursor.eat_plus_minus();
    cursor.skip_spaces();
    // A share is read first, whatever the dimension; its meaning follows from the words.
    let open = Want {
        dimension: if expected == Dimension::NONE {
            Some(Dimension::NONE)
        } else {
            want.dimension
        },
        ..*want
    };
    let written = cursor.written(&open)?;
    let number_text = cursor.slice(written.start, written.end);
    if written.negative() {
        return Err(want.fault(
            written.start,
            written.end,
            format!("{number_text} is negative; an accuracy is a magnitude"),
        ));
    }
    cursor.skip_spaces();
    let of_start = cursor.at;
    if cursor.eat_word("of") {
        if written.dimension() != Dimension::NONE {
            return Err(want.fault(
                written.start,
                cursor.at,
                format!(
                    "{} is not a share; \"of reading\" and \"of span\" follow a percentage",
                    shown(number_text)
                ),
            ));
        }
        let plain = Want {
            dimension: Some(Dimension::NONE),
            ..*want
        };
        let fraction = cursor.resolve(&written, &plain)?;
        cursor.skip_spaces();
        if cursor.eat_word("reading") {
            return Ok(AccuracyTerm::OfReading(fraction));
        }
        if cursor.eat_word("span") {
            return Ok(AccuracyTerm::OfSpan(fraction));
        }
        let word = cursor.word();
        let end = cursor.at + word.len();
        return Err(want.fault(
            of_start,
            end,
            format!(
                "{} is not known; an accuracy is of reading or of span",
                shown(cursor.slice(of_start, end))
            ),
        ));
    }
    if expected != Dimension::NONE && written.unit().is_some_and(|unit| unit.share) {
        let mut fault = want.fault(
            written.start,
            written.end,
            format!(
                "{} does not say of what: of reading or of span",
                shown(number_text)
            ),
        );
        fault.suggestion = spelling::for_dimension(number_text, expected);
        return Err(fault);
    }
    cursor.resolve(&written, want).map(AccuracyTerm::Absolute)
}
