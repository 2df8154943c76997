//! From what is written to a checked value in SI units.

use super::cursor::{Cursor, shown};
use super::faults::Want;
use super::written::{Content, Written};
use crate::decimal::ratio_of_decibel;
use crate::dimension::Dimension;
use crate::fault::Fault;

/// Largest and smallest magnitude that anything on a board can have, in SI units.
const LARGEST: f64 = 1e30;
const SMALLEST: f64 = 1e-30;

impl<'a> Cursor<'a> {
    /// The value in SI units, after checking dimension and magnitude.
    ///
    /// Absolute temperatures are converted to kelvin unless `want` is a difference.
    pub(super) fn resolve(&self, written: &Written<'a>, want: &Want) -> Result<f64, Fault> {
        let (start, end) = (written.start, written.end);
        let shown_text = self.slice(start, end);
        let found = written.dimension();
        if let Some(wanted) = want.dimension
            && wanted != found
        {
            if written.has_no_unit() {
                return Err(want.fault(start, end, format!("{shown_text} has no unit")));
            }
            return Err(want.mismatch(start, end, shown_text, found));
        }
        let (value, nonzero) = match &written.content {
            Content::Code { value, .. } => (*value, *value != 0.0),
            Content::Number { number, unit: None } => (number.scaled(0), !number.is_zero()),
            Content::Number {
                number,
                unit: Some(unit),
            } => {
                if unit.decibel {
                    (ratio_of_decibel(number.scaled(0)), true)
                } else {
                    let scaled =
                        number.scaled(unit.exact.ten) * unit.exact.multiplier / unit.exact.divisor;
                    check_magnitude(scaled, !number.is_zero(), want, start, end, shown_text)?;
                    if unit.offset != 0.0 && !want.difference {
                        (scaled + unit.offset, false)
                    } else {
                        (scaled, !number.is_zero())
                    }
                }
            }
        };
        check_magnitude(value, nonzero, want, start, end, shown_text)?;
        if found == Dimension::TEMPERATURE && !want.difference && value < 0.0 {
            return Err(want.fault(start, end, format!("{shown_text} is below absolute zero")));
        }
        // A negative zero would compare equal and print differently.
        Ok(value + 0.0)
    }
}

fn check_magnitude(
    value: f64,
    nonzero: bool,
    want: &Want,
    start: usize,
    end: usize,
    written: &str,
) -> Result<(), Fault> {
    let size = value.abs();
    if size.is_nan() || size > LARGEST {
        return Err(want.fault(
            start,
            end,
            format!("{} is too large to be meant", shown(written)),
        ));
    }
    if nonzero && size < SMALLEST {
        return Err(want.fault(
            start,
            end,
            format!("{} is too small to be meant", shown(written)),
        ));
    }
    Ok(())
}
