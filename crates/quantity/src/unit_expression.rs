//! Unit expressions: products, quotients, powers, roots and brackets of unit names.

use crate::dimension::Dimension;
use crate::unit::{Factor, name};

/// Reads a whole text as an expression.
pub(crate) fn read(text: &str) -> Option<Term> {
    let mut reader = Reader { text, at: 0 };
    let found = reader.expression(0)?;
    (reader.at == text.len()).then_some(found)
}

/// A part of a unit expression.
pub(crate) struct Term {
    pub(crate) symbol: String,
    pub(crate) factor: Factor,
    pub(crate) dimension: Dimension,
    pub(crate) prefixable: bool,
}

struct Reader<'a> {
    text: &'a str,
    at: usize,
}

/// Brackets and roots nested deeper than this are not a unit.
const DEPTH: usize = 4;

impl<'a> Reader<'a> {
    fn rest(&self) -> &'a str {
        self.text.get(self.at..).unwrap_or("")
    }

    fn eat(&mut self, token: &str) -> bool {
        let found = self.rest().starts_with(token);
        if found {
            self.at += token.len();
        }
        found
    }

    /// Eats an operator with the spaces around it.
    fn eat_operator(&mut self, operator: &str) -> bool {
        match self.rest().trim_start().strip_prefix(operator) {
            Some(after) => {
                self.at = self.text.len() - after.trim_start().len();
                true
            }
            None => false,
        }
    }

    fn expression(&mut self, depth: usize) -> Option<Term> {
        if depth > DEPTH {
            return None;
        }
        let mut result = if self.rest().starts_with('/') {
            Term {
                symbol: String::new(),
                factor: Factor::ONE,
                dimension: Dimension::NONE,
                prefixable: false,
            }
        } else if self.rest().starts_with("1/") {
            self.at += 1;
            Term {
                symbol: "1".to_owned(),
                factor: Factor::ONE,
                dimension: Dimension::NONE,
                prefixable: false,
            }
        } else {
            self.term(depth)?
        };
        let mut divided = false;
        loop {
            if self.eat_operator("/") {
                divided = true;
                let below = self.term(depth)?;
                result.symbol = format!("{}/{}", result.symbol, below.symbol);
                result.factor = result.factor.times(below.factor.inverse());
                result.dimension = result.dimension.checked_over(below.dimension)?;
            } else if ["·", "⋅", "*"].iter().any(|dot| self.eat_operator(dot)) {
                if divided {
                    return None;
                }
                let next = self.term(depth)?;
                result.symbol = format!("{}·{}", result.symbol, next.symbol);
                result.factor = result.factor.times(next.factor);
                result.dimension = result.dimension.checked_times(next.dimension)?;
            } else {
                return Some(result);
            }
        }
    }

    fn term(&mut self, depth: usize) -> Option<Term> {
        if depth > DEPTH {
            return None;
        }
        if self.eat("√") || self.eat("sqrt") || self.eat("rt") {
            let inner = self.term(depth + 1)?;
            return Some(Term {
                symbol: format!("√{}", inner.symbol),
                factor: inner.factor.root(),
                dimension: inner.dimension.checked_sqrt()?,
                prefixable: false,
            });
        }
        let mut base = if self.eat("(") {
            let inner = self.expression(depth + 1)?;
            if !self.eat(")") {
                return None;
            }
            Term {
                symbol: format!("({})", inner.symbol),
                prefixable: false,
                ..inner
            }
        } else {
            let length = self
                .rest()
                .find(|c: char| {
                    matches!(
                        c,
                        '/' | '·' | '⋅' | '*' | '(' | ')' | '^' | '√' | '²' | '³' | '⁻'
                    ) || c.is_ascii_digit()
                        || c.is_whitespace()
                        || SUPERSCRIPTS.contains(&c)
                })
                .unwrap_or(self.rest().len());
            let named = name(self.rest().get(..length)?)?;
            self.at += length;
            if named.unit.decibel {
                return None;
            }
            Term {
                symbol: named.symbol(),
                factor: named.factor,
                dimension: named.unit.dimension,
                prefixable: named.prefix.is_empty() && named.unit.prefixable,
            }
        };
        // "m2" and "s2" are common in plain text; "V3" is a slip for a value code.
        let plain_digits = [Dimension::LENGTH, Dimension::TIME].contains(&base.dimension);
        if let Some(exponent) = self.exponent(plain_digits)? {
            let mut factor = Factor::ONE;
            for _ in 0..exponent.unsigned_abs() {
                factor = factor.times(base.factor);
            }
            base = Term {
                symbol: format!("{}{}", base.symbol, superscript(exponent)),
                factor: if exponent < 0 {
                    factor.inverse()
                } else {
                    factor
                },
                dimension: base.dimension.checked_power(exponent)?,
                prefixable: false,
            };
        }
        Some(base)
    }

    /// An exponent after a name: `Some(None)` if there is none, `None` if it is malformed.
    ///
    /// Without a caret, plain digits count only where `plain_digits` says so, and only 2 and 3.
    fn exponent(&mut self, plain_digits: bool) -> Option<Option<i8>> {
        let caret = self.eat("^");
        let negative = if caret {
            self.eat("-") || self.eat("\u{2212}")
        } else {
            self.eat("⁻")
        };
        let mut magnitude: i8 = 0;
        let mut count = 0;
        while let Some(c) = self.rest().chars().next() {
            let digit = match SUPERSCRIPTS.iter().position(|s| *s == c) {
                Some(position) => i8::try_from(position).ok()?,
                None => match c.to_digit(10) {
                    Some(digit) if caret || (plain_digits && matches!(digit, 2 | 3)) => {
                        i8::try_from(digit).ok()?
                    }
                    Some(_) => return None,
                    None => break,
                },
            };
            magnitude = magnitude.checked_mul(10)?.checked_add(digit)?;
            count += 1;
            self.at += c.len_utf8();
        }
        if count == 0 {
            return if caret || negative { None } else { Some(None) };
        }
        if magnitude == 0 || magnitude > 63 {
            return None;
        }
        Some(Some(if negative { -magnitude } else { magnitude }))
    }
}

const SUPERSCRIPTS: [char; 10] = ['⁰', '¹', '²', '³', '⁴', '⁵', '⁶', '⁷', '⁸', '⁹'];

fn superscript(exponent: i8) -> String {
    let mut text = String::new();
    if exponent < 0 {
        text.push('⁻');
    }
    for b in exponent.unsigned_abs().to_string().bytes() {
        if let Some(c) = SUPERSCRIPTS.get(usize::from(b.wrapping_sub(b'0'))) {
            text.push(*c);
        }
    }
    text
}
