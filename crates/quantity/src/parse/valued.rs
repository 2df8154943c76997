//! Values with tolerance, drift and words.

use super::cursor::Cursor;
use super::faults::{Form, Want};
use super::tail::Tail;
use super::written::{Content, Written};
use crate::dimension::Dimension;
use crate::fault::Fault;
use crate::tolerance::{Part, Tolerance, Valued};

/// Reads a value with everything that may follow it: tolerance ("± 3 %", "0.1 %",
/// "+5 % -10 %", "± 2 °C"), drift ("25 ppm/K", "2 µV/K"), "each", and words.
/// "exact" is a tolerance of zero: no tolerance at all leaves open what the
/// value lies within.
///
/// A temperature is absolute (kelvin), its tolerance in kelvin. A percentage
/// after a plain number is relative to it. A drift with a sign is a coefficient,
/// one without is a magnitude.
///
/// # Errors
/// As [`crate::value`]; also for a negative or second tolerance, a one-sided
/// one, a second drift, and numbers that are neither.
///
/// ```
/// use quantity::{Dimension, Part, Tolerance, valued};
/// let r = valued("10 kΩ 0.1 % 25 ppm/K", Dimension::RESISTANCE).unwrap();
/// assert_eq!(r.nominal, 10_000.0);
/// assert_eq!(r.tolerance, Some(Tolerance::symmetric(Part::Relative(0.001))));
/// assert_eq!(r.drift_per_k, Some(25e-6));
/// ```
pub fn valued(text: &str, expected: Dimension) -> Result<Valued, Fault> {
    read(text, Want::new(expected, Form::Valued))
}

/// As [`valued`], but temperatures are differences.
///
/// # Errors
/// As [`valued`].
///
/// ```
/// use quantity::{Dimension, valued_difference};
/// let offset = valued_difference("0.5 °C ± 0.1 °C", Dimension::TEMPERATURE).unwrap();
/// assert_eq!(offset.nominal, 0.5);
/// ```
pub fn valued_difference(text: &str, expected: Dimension) -> Result<Valued, Fault> {
    read(text, Want::new(expected, Form::Valued).as_difference())
}

fn read(text: &str, want: Want) -> Result<Valued, Fault> {
    let mut cursor = Cursor::new(text);
    cursor.skip_spaces();
    let mut tail = Tail::new(want);
    let bracket = cursor.rest().starts_with('(').then_some(cursor.at);
    let nominal = match bracket {
        Some(start) => tail.bracketed(&mut cursor, start)?,
        None => {
            let written = cursor.written(&want)?;
            tail.sharing_unit(&mut cursor, written)?
        }
    };
    let value = cursor.resolve(&nominal, &want)?;
    if let Content::Code {
        tolerance: Some(tolerance),
        ..
    } = nominal.content
    {
        tail.tolerance = Some(tolerance);
    }
    tail.nominal_is_share = nominal.unit().is_some_and(|unit| unit.share);
    tail.read(&mut cursor)?;
    Ok(Valued {
        nominal: value,
        dimension: nominal.dimension(),
        tolerance: tail.tolerance,
        drift_per_k: tail.drift_per_k,
        drift_signed: tail.drift_signed,
        drift_absolute_per_k: tail.drift_absolute_per_k,
        per_unit: tail.per_unit,
        words: tail.words,
    })
}

impl Tail {
    /// "(21 ± 2) °C": one unit for value and tolerance.
    fn bracketed<'a>(
        &mut self,
        cursor: &mut Cursor<'a>,
        start: usize,
    ) -> Result<Written<'a>, Fault> {
        let want = self.want;
        cursor.eat("(");
        cursor.skip_spaces();
        let first_start = cursor.at;
        let (number, _) = cursor.number(&want)?;
        let first_end = cursor.at;
        cursor.skip_spaces();
        if !cursor.eat_plus_minus() {
            return Err(want.fault(
                start,
                cursor.at,
                "a bracket holds a value, ± and its tolerance, with the unit after the bracket",
            ));
        }
        cursor.skip_spaces();
        let part_start = cursor.at;
        let (part, part_signed) = cursor.number(&want)?;
        let part_end = cursor.at;
        cursor.skip_spaces();
        if part_signed {
            return Err(self.signed_limit(cursor, part_start, part_end));
        }
        if !cursor.eat(")") {
            return Err(want.fault(start, cursor.at, "the bracket is not closed"));
        }
        cursor.skip_spaces();
        let unit_start = cursor.at;
        let run = cursor.unit_run();
        let unit = if run.is_empty() {
            None
        } else {
            match crate::unit::unit(run) {
                Some(unit) => {
                    cursor.at += run.len();
                    Some(unit)
                }
                None if self.dimension() == Dimension::NONE => None,
                None => return Err(want.unknown_unit(unit_start, unit_start + run.len(), run)),
            }
        };
        let nominal = Written {
            start: first_start,
            end: first_end,
            content: Content::Number {
                number,
                unit: unit.clone(),
            },
        };
        let limit = Written {
            start: part_start,
            end: part_end,
            content: Content::Number { number: part, unit },
        };
        let amount = cursor.resolve(&limit, &want.as_difference())?;
        self.tolerance = Some(Tolerance::symmetric(Part::Absolute(amount)));
        Ok(nominal)
    }

    /// "0.2 ± 0.05 Ω": the unit after the tolerance holds for the value as well.
    fn sharing_unit<'a>(
        &mut self,
        cursor: &mut Cursor<'a>,
        nominal: Written<'a>,
    ) -> Result<Written<'a>, Fault> {
        if !nominal.has_no_unit() || self.dimension() == Dimension::NONE {
            return Ok(nominal);
        }
        let mut ahead = Cursor {
            text: cursor.text,
            at: cursor.at,
        };
        ahead.skip_spaces();
        if !ahead.eat_plus_minus() {
            return Ok(nominal);
        }
        let limit = ahead.written(&self.want)?;
        Ok(match limit.unit() {
            Some(unit) if unit.dimension == self.dimension() => nominal.with_unit(unit),
            _ => nominal,
        })
    }
}
