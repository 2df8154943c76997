//! The reading of one number with its unit, or of one value code.

use super::cursor::{Cursor, is_minus, shown};
use super::faults::{Form, Want};
use crate::decimal::{self, Decimal};
use crate::dimension::Dimension;
use crate::fault::Fault;
use crate::tolerance::Tolerance;
use crate::unit::{Unit, unit};
use crate::value_code::{self, Outcome};

/// No value needs more bytes; the bound keeps the work small on any input.
const LONGEST_TEXT: usize = 1000;

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

impl<'a> Cursor<'a> {
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
        self.second_point(want, start)?;
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
    let want = Want::new(dimension, Form::Value);
    match cursor.code_outcome(cursor.at, &want) {
        Outcome::Code(code) => Some(code),
        _ => None,
    }
}
