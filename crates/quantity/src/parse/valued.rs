//! Values with tolerance, drift and words.

use super::cursor::{Content, Cursor, Written, is_minus, shown};
use super::faults::{Form, Want, suggesting};
use crate::dimension::Dimension;
use crate::fault::Fault;
use crate::spelling;
use crate::tolerance::{Part, Tolerance, Valued};

/// Reads a value with everything that may follow it: tolerance ("± 3 %", "0.1 %",
/// "+5 % -10 %", "± 2 °C"), drift ("25 ppm/K", "2 µV/K"), "each", and words.
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
    let mut tail = Tail {
        want,
        nominal_is_share: false,
        tolerance: None,
        drift_per_k: None,
        drift_signed: false,
        drift_absolute_per_k: None,
        per_unit: false,
        words: Vec::new(),
    };
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

/// What has been read after the nominal value.
struct Tail {
    want: Want,
    nominal_is_share: bool,
    tolerance: Option<Tolerance>,
    drift_per_k: Option<f64>,
    drift_signed: bool,
    drift_absolute_per_k: Option<f64>,
    per_unit: bool,
    words: Vec<String>,
}

/// What a number after the nominal value turned out to be.
enum Meaning {
    Limit(Part),
    RelativeDrift(f64),
    AbsoluteDrift(f64),
}

impl Tail {
    fn dimension(&self) -> Dimension {
        self.want.dimension.unwrap_or(Dimension::NONE)
    }

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

    fn read(&mut self, cursor: &mut Cursor<'_>) -> Result<(), Fault> {
        loop {
            cursor.skip_spaces();
            let Some(c) = cursor.peek() else {
                return Ok(());
            };
            let start = cursor.at;
            if cursor.at_plus_minus() {
                self.both_sides(cursor, start)?;
            } else if c == '+' || is_minus(c) {
                self.one_side(cursor, start)?;
            } else if c.is_ascii_digit() || c == '.' {
                self.unsigned(cursor, start)?;
            } else if c.is_alphabetic() {
                let word = cursor.word();
                cursor.at += word.len();
                if word == "each" {
                    self.per_unit = true;
                } else {
                    self.words.push(word.to_owned());
                }
            } else {
                return cursor.finish(&self.want);
            }
        }
    }

    /// "± 3 %" and "± 25 ppm/K".
    fn both_sides(&mut self, cursor: &mut Cursor<'_>, start: usize) -> Result<(), Fault> {
        cursor.eat_plus_minus();
        cursor.skip_spaces();
        if cursor.peek().is_some_and(|c| c == '+' || is_minus(c)) {
            let sign_start = cursor.at;
            cursor.number(&self.want)?;
            return Err(self.signed_limit(cursor, sign_start, cursor.at));
        }
        let written = self.limit_text(cursor)?;
        match self.meaning(cursor, &written)? {
            Meaning::Limit(part) => self.set_tolerance(cursor, start, Tolerance::symmetric(part)),
            drift => self.set_drift(cursor, start, drift, false),
        }
    }

    /// "+5 % -10 %", either order, or a signed drift.
    fn one_side(&mut self, cursor: &mut Cursor<'_>, start: usize) -> Result<(), Fault> {
        let first = self.limit_text(cursor)?;
        let first_end = cursor.at;
        let unitless = first.has_no_unit() && self.dimension() != Dimension::NONE;
        if !unitless
            && let drift @ (Meaning::RelativeDrift(_) | Meaning::AbsoluteDrift(_)) =
                self.meaning(cursor, &first)?
        {
            return self.set_drift(cursor, start, drift, true);
        }
        cursor.skip_spaces();
        if cursor.eat("/") {
            cursor.skip_spaces();
        }
        if !cursor.peek().is_some_and(|c| c == '+' || is_minus(c)) || cursor.at_plus_minus() {
            let written = cursor.slice(start, first_end);
            let other = if first.negative() { "+0 %" } else { "-0 %" };
            return Err(suggesting(
                self.tail_fault(
                    start,
                    first_end,
                    format!("{} gives only one side of a tolerance", shown(written)),
                ),
                format!("{written} {other}"),
            ));
        }
        let second_start = cursor.at;
        let second = self.limit_text(cursor)?;
        if second.negative() == first.negative() {
            let side = if first.negative() { "below" } else { "above" };
            return Err(self.tail_fault(
                start,
                cursor.at,
                format!(
                    "{} has both limits {side} the nominal value; a tolerance has one + and one - limit",
                    shown(cursor.slice(start, cursor.at))
                ),
            ));
        }
        let first = match (unitless, second.unit()) {
            (true, Some(unit)) => first.with_unit(unit),
            _ => first,
        };
        let mut sides = [None, None];
        for (side, written) in sides.iter_mut().zip([&first, &second]) {
            match self.meaning(cursor, written)? {
                Meaning::Limit(part) => *side = Some(part),
                _ => {
                    return Err(self.tail_fault(
                        second_start,
                        cursor.at,
                        "a drift cannot be one side of a tolerance",
                    ));
                }
            }
        }
        let [Some(first_part), Some(second_part)] = sides else {
            return Err(self
                .want
                .fault(start, cursor.at, "the tolerance is not understood"));
        };
        let tolerance = if first.negative() {
            Tolerance {
                minus: first_part,
                plus: second_part,
            }
        } else {
            Tolerance {
                minus: second_part,
                plus: first_part,
            }
        };
        self.set_tolerance(cursor, start, tolerance)
    }

    /// "0.1 %" and "25 ppm/K" without sign.
    fn unsigned(&mut self, cursor: &mut Cursor<'_>, start: usize) -> Result<(), Fault> {
        let written = self.limit_text(cursor)?;
        if written.unit().is_some_and(|unit| unit.share) {
            let Meaning::Limit(part) = self.meaning(cursor, &written)? else {
                return Ok(());
            };
            return self.set_tolerance(cursor, start, Tolerance::symmetric(part));
        }
        let text = cursor.slice(written.start, written.end);
        if written.has_no_unit() {
            return Err(self.tail_fault(
                written.start,
                written.end,
                format!("{} after the value has no unit", shown(text)),
            ));
        }
        if written.dimension() == self.dimension() {
            return Err(suggesting(
                self.tail_fault(
                    written.start,
                    written.end,
                    format!(
                        "{} is a second value; a tolerance in the unit of the value needs ±",
                        shown(text)
                    ),
                ),
                format!("± {text}"),
            ));
        }
        match self.meaning(cursor, &written)? {
            Meaning::Limit(part) => self.set_tolerance(cursor, start, Tolerance::symmetric(part)),
            drift => self.set_drift(cursor, start, drift, false),
        }
    }

    /// A fault in what follows the nominal value.
    fn tail_fault(&self, start: usize, end: usize, message: impl Into<String>) -> Fault {
        Fault {
            expected: self.want.tail_expected(),
            ..self.want.fault(start, end, message)
        }
    }

    /// A number with its unit, of whatever dimension.
    fn limit_text<'a>(&self, cursor: &mut Cursor<'a>) -> Result<Written<'a>, Fault> {
        let any = Want {
            dimension: None,
            difference: true,
            form: self.want.form,
        };
        cursor.written(&any).map_err(|fault| Fault {
            expected: self.want.tail_expected(),
            ..fault
        })
    }

    /// Tells tolerance from drift by the unit.
    fn meaning(&self, cursor: &Cursor<'_>, written: &Written<'_>) -> Result<Meaning, Fault> {
        let text = cursor.slice(written.start, written.end);
        let nominal = self.dimension();
        let found = written.dimension();
        let any = Want {
            dimension: None,
            difference: true,
            form: self.want.form,
        };
        let tail_fault = |message: String| self.tail_fault(written.start, written.end, message);
        if written.unit().is_some_and(|unit| unit.decibel) {
            return Err(tail_fault(format!(
                "{} is not linear; a tolerance is written in % or in the unit of the value",
                shown(text)
            )));
        }
        let amount = cursor.resolve(written, &any)?.abs();
        let signed_amount = if written.negative() { -amount } else { amount };
        if found == Dimension::NONE && written.has_no_unit() && nominal != Dimension::NONE {
            return Err(tail_fault(format!(
                "the tolerance {} has no unit",
                shown(text)
            )));
        }
        let share = written.unit().is_some_and(|unit| unit.share);
        if share {
            if nominal == Dimension::TEMPERATURE && !self.want.difference {
                return Err(tail_fault(format!(
                    "{} of a temperature has no meaning; its tolerance is written in K or °C",
                    shown(text)
                )));
            }
            if nominal == Dimension::HUMIDITY {
                let mut fault = tail_fault(format!(
                    "{} of a relative humidity may be a share of it or %RH",
                    shown(text)
                ));
                fault.suggestion = spelling::for_dimension(text, nominal);
                return Err(fault);
            }
            if self.nominal_is_share {
                return Err(tail_fault(format!(
                    "{} after a percentage may be a share of it or points; write the value as a plain number",
                    shown(text)
                )));
            }
            return Ok(Meaning::Limit(Part::Relative(amount)));
        }
        if found == nominal {
            return Ok(Meaning::Limit(Part::Absolute(amount)));
        }
        if found == Dimension::PER_KELVIN {
            return Ok(Meaning::RelativeDrift(signed_amount));
        }
        if nominal.checked_over(Dimension::TEMPERATURE) == Some(found) {
            return Ok(Meaning::AbsoluteDrift(signed_amount));
        }
        let is = found.with_article();
        let mut fault = tail_fault(format!(
            "{} is {is}, neither a tolerance nor a drift of {}",
            shown(text),
            self.want.noun()
        ));
        fault.suggestion = spelling::for_dimension(text, Dimension::PER_KELVIN);
        Err(fault)
    }

    fn signed_limit(&self, cursor: &Cursor<'_>, start: usize, end: usize) -> Fault {
        self.tail_fault(
            start,
            end,
            format!(
                "{} after ± has a sign; the limit of a tolerance is a magnitude",
                shown(cursor.slice(start, end))
            ),
        )
    }

    fn set_tolerance(
        &mut self,
        cursor: &Cursor<'_>,
        start: usize,
        tolerance: Tolerance,
    ) -> Result<(), Fault> {
        if self.tolerance.is_some() {
            let text = cursor.slice(start, cursor.at);
            return Err(self.tail_fault(
                start,
                cursor.at,
                format!("{} is a second tolerance", shown(text)),
            ));
        }
        self.tolerance = Some(tolerance);
        Ok(())
    }

    fn set_drift(
        &mut self,
        cursor: &Cursor<'_>,
        start: usize,
        drift: Meaning,
        signed: bool,
    ) -> Result<(), Fault> {
        if self.drift_per_k.is_some() || self.drift_absolute_per_k.is_some() {
            let text = cursor.slice(start, cursor.at);
            return Err(self.tail_fault(
                start,
                cursor.at,
                format!("{} is a second drift", shown(text)),
            ));
        }
        match drift {
            Meaning::RelativeDrift(amount) => self.drift_per_k = Some(amount),
            Meaning::AbsoluteDrift(amount) => self.drift_absolute_per_k = Some(amount),
            Meaning::Limit(_) => {}
        }
        self.drift_signed = signed;
        Ok(())
    }
}
