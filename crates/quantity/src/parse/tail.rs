//! What follows a nominal value: tolerance, drift, words.

use super::cursor::{Cursor, is_minus, shown};
use super::faults::{Want, suggesting};
use super::written::Written;
use crate::dimension::Dimension;
use crate::fault::Fault;
use crate::spelling;
use crate::tolerance::{Part, Tolerance};

/// What has been read after the nominal value.
pub(super) struct Tail {
    pub(super) want: Want,
    pub(super) nominal_is_share: bool,
    pub(super) tolerance: Option<Tolerance>,
    pub(super) drift_per_k: Option<f64>,
    pub(super) drift_signed: bool,
    pub(super) drift_absolute_per_k: Option<f64>,
    pub(super) per_unit: bool,
    pub(super) words: Vec<String>,
}

/// What a number after the nominal value turned out to be.
enum Meaning {
    Limit(Part),
    RelativeDrift(f64),
    AbsoluteDrift(f64),
}

impl Tail {
    pub(super) fn new(want: Want) -> Self {
        Self {
            want,
            nominal_is_share: false,
            tolerance: None,
            drift_per_k: None,
            drift_signed: false,
            drift_absolute_per_k: None,
            per_unit: false,
            words: Vec::new(),
        }
    }

    pub(super) fn dimension(&self) -> Dimension {
        self.want.dimension.unwrap_or(Dimension::NONE)
    }

    pub(super) fn read(&mut self, cursor: &mut Cursor<'_>) -> Result<(), Fault> {
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
                } else if word == "exact" {
                    let none = Tolerance::symmetric(Part::Absolute(0.0));
                    self.set_tolerance(cursor, start, none)?;
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
        if self.dimension() == Dimension::CAPACITANCE && written.dimension() == Dimension::VOLTAGE {
            // What it may be used at, as capacitors are bought.
            let any = Want {
                dimension: None,
                difference: true,
                form: self.want.form,
            };
            let rated_v = cursor.resolve(&written, &any)?;
            self.words.push(format!("{rated_v}V"));
            return Ok(());
        }
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
        let (first_part, second_part) = match (
            self.meaning(cursor, &first)?,
            self.meaning(cursor, &second)?,
        ) {
            (Meaning::Limit(first_part), Meaning::Limit(second_part)) => (first_part, second_part),
            _ => {
                return Err(self.tail_fault(
                    second_start,
                    cursor.at,
                    "a drift cannot be one side of a tolerance",
                ));
            }
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
        if self.dimension() == Dimension::CAPACITANCE && written.dimension() == Dimension::VOLTAGE {
            // What it may be used at, as capacitors are bought.
            let any = Want {
                dimension: None,
                difference: true,
                form: self.want.form,
            };
            let rated_v = cursor.resolve(&written, &any)?;
            self.words.push(format!("{rated_v}V"));
            return Ok(());
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

    /// A number with its unit, of whatever dimension; after a plain number also without one,
    /// since the limit of a plain number is plain and words may follow it.
    fn limit_text<'a>(&self, cursor: &mut Cursor<'a>) -> Result<Written<'a>, Fault> {
        let any = Want {
            dimension: (self.dimension() == Dimension::NONE).then_some(Dimension::NONE),
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

    pub(super) fn signed_limit(&self, cursor: &Cursor<'_>, start: usize, end: usize) -> Fault {
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
