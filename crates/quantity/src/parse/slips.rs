//! Slips in writing a number or its unit, and what was probably meant.

use super::cursor::{Cursor, is_minus, shown};
use super::faults::{Want, suggesting};
use crate::dimension::Dimension;
use crate::fault::Fault;
use crate::spelling;
use crate::unit::unit;

impl Cursor<'_> {
    /// What stands where a unit should, is none: a lone prefix, a code, or a misspelling.
    pub(super) fn no_unit(
        &self,
        want: &Want,
        start: usize,
        number_end: usize,
        unit_start: usize,
        run: &str,
    ) -> Fault {
        let end = unit_start + run.len();
        if spelling::is_prefix(run) {
            // "10 k Ω": the prefix belongs to the next word.
            let next = Cursor {
                text: self.text,
                at: self.text.len() - self.slice(end, self.text.len()).trim_start().len(),
            };
            let next_run = next.unit_run();
            if let Some(whole) = unit(&format!("{run}{next_run}")) {
                return suggesting(
                    want.fault(
                        unit_start,
                        next.at + next_run.len(),
                        format!("the prefix {run} is separated from its unit {next_run}"),
                    ),
                    whole.symbol,
                );
            }
            let mut fault =
                want.fault(unit_start, end, format!("{run} is a prefix without a unit"));
            fault.suggestion = spelling::with_prefix(run, want.dimension);
            return fault;
        }
        if unit_start == number_end
            && let Some(suggestion) = spelling::of_code(self.slice(start, end), want.dimension)
        {
            let word = shown(self.slice(start, end));
            let message = match want.dimension {
                Some(Dimension::RESISTANCE | Dimension::CAPACITANCE) => {
                    format!("{word} is not a value code of {}", want.noun())
                }
                _ => format!(
                    "{word} is written like a value code, which only resistances and capacitances have"
                ),
            };
            let mut fault = want.fault(start, end, message);
            fault.suggestion = suggestion;
            return fault;
        }
        want.unknown_unit(unit_start, end, run)
    }

    /// A number with ' or _ between its digits.
    pub(super) fn separators(&self, want: &Want, start: usize) -> Fault {
        let rest = self.slice(start, self.text.len());
        let length = rest
            .find(|c: char| {
                !(c.is_ascii_digit()
                    || matches!(c, '_' | '\'' | '\u{2019}' | '.' | '-' | '+' | '\u{2212}'))
            })
            .unwrap_or(rest.len());
        let written = rest.get(..length).unwrap_or("");
        suggesting(
            want.fault(
                start,
                start + length,
                format!(
                    "{} has separators between its digits; thousands are not separated",
                    shown(written)
                ),
            ),
            written.replace(['_', '\'', '\u{2019}'], ""),
        )
    }

    pub(super) fn not_a_number(&self, want: &Want, start: usize, signed: bool) -> Fault {
        let word = self.word();
        let end = self.at + word.len();
        let written = self.slice(start, end);
        if signed && word.is_empty() {
            return want.fault(start, self.at, "a sign stands alone, without a number");
        }
        let lower = word.to_lowercase();
        if ["nan", "inf", "infinity", "∞"]
            .iter()
            .any(|name| lower == *name || lower.starts_with(&format!("{name} ")))
        {
            return want.fault(
                start,
                end,
                format!("{} is not a finite number", shown(written)),
            );
        }
        want.fault(start, end, format!("{} is not a number", shown(written)))
    }

    pub(super) fn comma(&self, want: &Want, start: usize) -> Fault {
        let rest = self.slice(start, self.text.len());
        let length = rest
            .find(|c: char| !(c.is_ascii_digit() || c == ',' || c == '.'))
            .unwrap_or(rest.len());
        let written = rest
            .get(..length)
            .unwrap_or("")
            .trim_end_matches([',', '.']);
        let end = start + written.len();
        if written.len() <= self.at - start {
            // A comma that no digit follows.
            let comma_end = self.at + 1;
            return want.fault(
                self.at,
                comma_end,
                "a comma is not understood here; a decimal mark is a point",
            );
        }
        let fault = want.fault(
            start,
            end,
            format!(
                "{written} has a comma; the decimal mark is a point and thousands are not separated"
            ),
        );
        match written.split_once(',') {
            // Three digits after the comma may be thousands: no guess.
            Some((whole, fraction))
                if fraction.len() != 3
                    && !fraction.contains([',', '.'])
                    && !whole.contains('.') =>
            {
                suggesting(fault, format!("{whole}.{fraction}"))
            }
            _ => fault,
        }
    }

    /// A number followed by groups of three digits was meant as one number.
    pub(super) fn thousands(
        &self,
        want: &Want,
        start: usize,
        number_end: usize,
    ) -> Result<(), Fault> {
        let head = self.slice(start, number_end);
        let head_digits = head.trim_start_matches(|c: char| !c.is_ascii_digit());
        let first = self.slice(number_end, self.text.len()).trim_start();
        let group = first
            .find(|c: char| !c.is_ascii_digit())
            .unwrap_or(first.len());
        if group != 3 || head_digits.len() > 3 || !head_digits.bytes().all(|b| b.is_ascii_digit()) {
            return Ok(());
        }
        let tail_start = self.text.len() - first.len();
        let mut end = tail_start + group;
        let mut joined = format!("{head}{}", self.slice(tail_start, end));
        loop {
            let more = self.slice(end, self.text.len());
            let next = more.trim_start();
            let digits = next
                .find(|c: char| !c.is_ascii_digit())
                .unwrap_or(next.len());
            if digits != 3 || next.len() == more.len() {
                break;
            }
            let next_start = self.text.len() - next.len();
            end = next_start + digits;
            joined.push_str(self.slice(next_start, end));
        }
        Err(suggesting(
            want.fault(
                start,
                end,
                format!(
                    "{} has spaces between its digits; thousands are not separated",
                    self.slice(start, end)
                ),
            ),
            joined,
        ))
    }

    /// "1.2.3" is no number; "1..3" may be the start of a range.
    pub(super) fn second_point(&self, want: &Want, start: usize) -> Result<(), Fault> {
        let digits_follow = self
            .rest()
            .strip_prefix('.')
            .is_some_and(|rest| rest.starts_with(|c: char| c.is_ascii_digit()));
        if !digits_follow {
            return Ok(());
        }
        let rest = self.slice(start, self.text.len());
        let length = rest
            .find(|c: char| !(c.is_ascii_digit() || c == '.' || c == '+' || is_minus(c)))
            .unwrap_or(rest.len());
        let written = shown(rest.get(..length).unwrap_or(""));
        Err(want.fault(start, start + length, format!("{written} is not a number")))
    }
}
