//! The reading position in a text, and the reading of one number with its unit.

use super::faults::{Want, suggesting};
use crate::decimal::{self, Decimal, ratio_of_decibel};
use crate::dimension::Dimension;
use crate::fault::Fault;
use crate::spelling;
use crate::tolerance::Tolerance;
use crate::unit::{Unit, unit};
use crate::value_code::{self, Outcome};

/// Largest and smallest magnitude that anything on a board can have, in SI units.
const LARGEST: f64 = 1e30;
const SMALLEST: f64 = 1e-30;

/// No value needs more bytes; the bound keeps the work small on any input.
const LONGEST_TEXT: usize = 1000;

pub(super) struct Cursor<'a> {
    pub(super) text: &'a str,
    pub(super) at: usize,
}

/// A number as written, with its unit if one follows.
#[derive(Clone, Debug)]
pub(crate) struct Written<'a> {
    pub(crate) start: usize,
    pub(crate) end: usize,
    pub(crate) content: Content<'a>,
}

/// The two ways to write a value.
#[derive(Clone, Debug)]
pub(crate) enum Content<'a> {
    Number {
        number: Decimal<'a>,
        unit: Option<Unit>,
    },
    Code {
        value: f64,
        tolerance: Option<Tolerance>,
        dimension: Dimension,
    },
}

impl Written<'_> {
    pub(crate) fn unit(&self) -> Option<&Unit> {
        match &self.content {
            Content::Number { unit, .. } => unit.as_ref(),
            Content::Code { .. } => None,
        }
    }

    pub(crate) fn negative(&self) -> bool {
        matches!(&self.content, Content::Number { number, .. } if number.negative)
    }

    pub(crate) fn has_no_unit(&self) -> bool {
        matches!(&self.content, Content::Number { unit: None, .. })
    }

    pub(crate) fn with_unit(self, shared: &Unit) -> Self {
        let content = match self.content {
            Content::Number { number, unit: None } => Content::Number {
                number,
                unit: Some(shared.clone()),
            },
            other => other,
        };
        Self { content, ..self }
    }

    /// Dimension of what was written; a bare number is a plain number.
    pub(crate) fn dimension(&self) -> Dimension {
        match &self.content {
            Content::Number { unit, .. } => unit.as_ref().map_or(Dimension::NONE, |u| u.dimension),
            Content::Code { dimension, .. } => *dimension,
        }
    }
}

pub(super) fn is_minus(c: char) -> bool {
    c == '-' || c == '\u{2212}'
}

impl<'a> Cursor<'a> {
    pub(super) fn new(text: &'a str) -> Self {
        Self { text, at: 0 }
    }

    pub(super) fn rest(&self) -> &'a str {
        self.text.get(self.at..).unwrap_or("")
    }

    pub(super) fn peek(&self) -> Option<char> {
        self.rest().chars().next()
    }

    pub(super) fn skip_spaces(&mut self) {
        let rest = self.rest();
        self.at += rest.len() - rest.trim_start().len();
    }

    pub(super) fn eat(&mut self, token: &str) -> bool {
        let found = self.rest().starts_with(token);
        if found {
            self.at += token.len();
        }
        found
    }

    /// Eats `word` if it stands alone.
    pub(super) fn eat_word(&mut self, word: &str) -> bool {
        let found = self.word() == word;
        if found {
            self.at += word.len();
        }
        found
    }

    /// The run of characters up to the next space.
    pub(super) fn word(&self) -> &'a str {
        self.rest().split(char::is_whitespace).next().unwrap_or("")
    }

    pub(super) fn slice(&self, start: usize, end: usize) -> &'a str {
        self.text.get(start..end).unwrap_or("")
    }

    /// Eats "±", "+-" or "+/-".
    pub(super) fn eat_plus_minus(&mut self) -> bool {
        ["±", "+-", "+\u{2212}", "+/-", "+/\u{2212}"]
            .iter()
            .any(|token| self.eat(token))
    }

    pub(super) fn at_plus_minus(&self) -> bool {
        Cursor {
            text: self.text,
            at: self.at,
        }
        .eat_plus_minus()
    }

    /// The run of characters that may belong to a unit.
    pub(super) fn unit_run(&self) -> &'a str {
        let rest = self.rest();
        let mut previous = ' ';
        let mut depth = 0_u32;
        for (at, c) in rest.char_indices() {
            let stop = match c {
                '±' | '+' | ',' | ';' | '?' | '=' | '"' | '…' | '–' | '—' | '~' | '÷' => {
                    true
                }
                '(' => {
                    depth += 1;
                    at == 0
                }
                ')' => {
                    let unbalanced = depth == 0;
                    depth = depth.saturating_sub(1);
                    unbalanced
                }
                _ if is_minus(c) => previous != '^',
                // "L / min": spaces around an operator belong to the unit.
                _ if c.is_whitespace() => {
                    let next = rest.get(at..).unwrap_or("").trim_start();
                    at == 0 || !(is_operator(previous) || next.starts_with(is_operator))
                }
                _ => false,
            };
            if stop || (at == 0 && (c.is_ascii_digit() || c == '.') && !rest.starts_with("1/")) {
                return rest.get(..at).unwrap_or("").trim_end();
            }
            // "+80/-20 %": the solidus separates two limits.
            if c == '/' && rest.get(at + 1..).is_some_and(starts_signed) {
                return rest.get(..at).unwrap_or("").trim_end();
            }
            if !c.is_whitespace() {
                previous = c;
            }
        }
        rest
    }

    /// Everything must have been read.
    pub(super) fn finish(&mut self, want: &Want) -> Result<(), Fault> {
        self.skip_spaces();
        if self.rest().is_empty() {
            return Ok(());
        }
        let end = self.text.trim_end().len().max(self.at);
        let left = self.slice(self.at, end);
        Err(want.fault(
            self.at,
            end,
            format!("{} at the end is not understood", shown(left)),
        ))
    }

    /// Reads a number with or without unit, or a value code.
    pub(super) fn written(&mut self, want: &Want) -> Result<Written<'a>, Fault> {
        if self.text.len() > LONGEST_TEXT {
            return Err(want.fault(0, self.text.len(), "the text is too long to be a value"));
        }
        self.skip_spaces();
        let start = self.at;
        if self.rest().is_empty() {
            let message = if self.text.trim().is_empty() {
                "the text is empty".to_owned()
            } else {
                format!("a value is missing after {}", shown(self.text.trim()))
            };
            return Err(want.fault(start, start, message));
        }
        if let Some(code) = self.code(want)? {
            return Ok(code);
        }
        let (number, _) = self.number(want)?;
        let number_end = self.at;
        if let Some(rest) = self.rest().strip_prefix('.')
            && rest.starts_with(|c: char| c.is_ascii_digit())
        {
            let end = start
                + self
                    .slice(start, self.text.len())
                    .find(|c: char| !(c.is_ascii_digit() || c == '.' || c == '+' || is_minus(c)))
                    .unwrap_or(self.text.len() - start);
            let written = shown(self.slice(start, end));
            return Err(want.fault(start, end, format!("{written} is not a number")));
        }
        self.skip_spaces();
        let run = self.unit_run();
        let unit_start = self.at;
        if run.is_empty() || matches!(run, "to" | "each" | "of") {
            self.thousands(want, start, number_end)?;
            self.at = number_end;
            return Ok(Written {
                start,
                end: number_end,
                content: Content::Number { number, unit: None },
            });
        }
        if let Some(found) = unit(run) {
            self.at = unit_start + run.len();
            return Ok(Written {
                start,
                end: self.at,
                content: Content::Number {
                    number,
                    unit: Some(found),
                },
            });
        }
        if run.starts_with(['_', '\'', '\u{2019}']) {
            return Err(self.separators(want, start));
        }
        if want.dimension == Some(Dimension::NONE) && unit_start > number_end {
            // A word after a plain number is the caller's business.
            self.at = number_end;
            return Ok(Written {
                start,
                end: number_end,
                content: Content::Number { number, unit: None },
            });
        }
        Err(self.no_unit(want, start, number_end, unit_start, run))
    }

    /// What stands where a unit should, is none: a lone prefix, a code, or a misspelling.
    fn no_unit(
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
    fn separators(&self, want: &Want, start: usize) -> Fault {
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

    /// The word at `start` read as a value code of the wanted dimension.
    fn code_outcome(&self, start: usize, want: &Want) -> Outcome {
        let cursor = Cursor {
            text: self.text,
            at: start,
        };
        let rest = cursor.rest();
        let length = rest
            .find(|c: char| !(c.is_alphanumeric() || c == '.' || c == '\u{2126}'))
            .unwrap_or(rest.len());
        match (rest.get(..length), want.dimension) {
            (Some(word), Some(dimension)) => value_code::read(word, dimension),
            _ => Outcome::No,
        }
    }

    /// A value code at the cursor, unless the word is a number with a fitting unit.
    fn code(&mut self, want: &Want) -> Result<Option<Written<'a>>, Fault> {
        let Some(dimension) = want.dimension else {
            return Ok(None);
        };
        let rest = self.rest();
        if let Some((_, length)) = decimal::unsigned(rest) {
            let after = Cursor {
                text: self.text,
                at: self.at + length,
            };
            if unit(after.unit_run()).is_some_and(|u| u.dimension == dimension) {
                return Ok(None);
            }
        }
        let length = rest
            .find(|c: char| !(c.is_alphanumeric() || c == '.' || c == '\u{2126}'))
            .unwrap_or(rest.len());
        let start = self.at;
        match self.code_outcome(start, want) {
            Outcome::Code(code) => {
                self.at += length;
                Ok(Some(Written {
                    start,
                    end: self.at,
                    content: Content::Code {
                        value: code.value,
                        tolerance: code.tolerance,
                        dimension,
                    },
                }))
            }
            Outcome::Ambiguous(why) => Err(want.fault(
                start,
                start + length,
                format!(
                    "{} can be read in two ways: {why}",
                    self.slice(start, start + length)
                ),
            )),
            Outcome::No => Ok(None),
        }
    }

    /// Reads an optional sign and a number.
    pub(super) fn number(&mut self, want: &Want) -> Result<(Decimal<'a>, bool), Fault> {
        let start = self.at;
        let mut signed = false;
        let mut negative = false;
        if let Some(c) = self.peek()
            && (c == '+' || is_minus(c))
        {
            signed = true;
            negative = is_minus(c);
            self.at += c.len_utf8();
            self.skip_spaces();
        }
        let Some((mut number, length)) = decimal::unsigned(self.rest()) else {
            return Err(self.not_a_number(want, start, signed));
        };
        let digits_start = self.at;
        self.at += length;
        if self.rest().starts_with(',') {
            return Err(self.comma(want, digits_start));
        }
        number.negative = negative;
        Ok((number, signed))
    }

    fn not_a_number(&self, want: &Want, start: usize, signed: bool) -> Fault {
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

    fn comma(&self, want: &Want, start: usize) -> Fault {
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
    fn thousands(&self, want: &Want, start: usize, number_end: usize) -> Result<(), Fault> {
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

fn is_operator(c: char) -> bool {
    matches!(c, '/' | '·' | '⋅' | '*')
}

fn starts_signed(text: &str) -> bool {
    text.trim_start().starts_with(['+', '-', '\u{2212}'])
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

/// Text quoted for a message, cut where it is long.
pub(super) fn shown(text: &str) -> String {
    const LONGEST: usize = 40;
    if text.chars().count() <= LONGEST {
        text.to_owned()
    } else {
        text.chars().take(LONGEST).chain(['…']).collect()
    }
}

/// The first unit in `text` that stands after a number, of the wanted dimension if one is given.
pub(crate) fn first_unit(text: &str, wanted: Option<Dimension>) -> Option<Unit> {
    if text.len() > LONGEST_TEXT {
        return None;
    }
    let mut cursor = Cursor::new(text);
    loop {
        cursor.at += cursor.rest().find(|c: char| c.is_ascii_digit())?;
        let (_, length) = decimal::unsigned(cursor.rest())?;
        cursor.at += length;
        cursor.skip_spaces();
        if let Some(found) = unit(cursor.unit_run())
            && wanted.is_none_or(|dimension| dimension == found.dimension)
        {
            return Some(found);
        }
    }
}

/// The value code at the start of `text`, after an optional question mark.
pub(crate) fn first_code(text: &str, dimension: Dimension) -> Option<value_code::Code> {
    let mut cursor = Cursor::new(text);
    cursor.skip_spaces();
    cursor.eat("?");
    cursor.skip_spaces();
    let want = Want::new(dimension, super::faults::Form::Value);
    match cursor.code_outcome(cursor.at, &want) {
        Outcome::Code(code) => Some(code),
        _ => None,
    }
}
