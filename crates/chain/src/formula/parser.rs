//! From tokens to an expression.

use super::FormulaFault;
use super::lexer::{Kind, Token, tokens};

/// Brackets and signs nested deeper than this are refused.
const DEEPEST: usize = 64;

/// Functions with their number of arguments.
const FUNCTIONS: &[(&str, usize)] = &[
    ("min", 2),
    ("max", 2),
    ("abs", 1),
    ("sqrt", 1),
    ("exp", 1),
    ("ln", 1),
    ("floor", 1),
    ("round", 1),
];

/// A formula as a tree.
#[derive(Clone, Debug, PartialEq)]
pub enum Expression {
    /// A number.
    Literal(f64),
    /// A name and its first byte in the formula.
    Name {
        /// The name.
        name: String,
        /// Where it stands.
        at: usize,
    },
    /// −x
    Negated(Box<Expression>),
    /// a + b, and so on.
    Binary {
        /// One of `+ - * / %`.
        operator: char,
        /// Left side.
        left: Box<Expression>,
        /// Right side.
        right: Box<Expression>,
    },
    /// A function of its arguments.
    Call {
        /// Which function.
        function: &'static str,
        /// Its arguments, as many as it takes.
        arguments: Vec<Expression>,
    },
}

/// Reads a formula: the usual precedence, left to right.
///
/// # Errors
/// The first thing that makes it no formula, with its place.
pub fn parse(text: &str) -> Result<Expression, FormulaFault> {
    let list = tokens(text)?;
    let mut parser = Parser {
        list: &list,
        at: 0,
        end: text.len(),
    };
    let expression = parser.sum(0)?;
    match parser.list.get(parser.at) {
        None => Ok(expression),
        Some(t) => {
            Err(parser.fault_at(t, "the formula does not end here", "an operator or the end"))
        }
    }
}

struct Parser<'a> {
    list: &'a [Token],
    at: usize,
    end: usize,
}

impl Parser<'_> {
    fn fault_at(&self, token: &Token, message: &str, expected: &str) -> FormulaFault {
        FormulaFault {
            start: token.start,
            end: token.end,
            message: message.to_owned(),
            expected: expected.to_owned(),
        }
    }

    fn fault(&self, message: &str, expected: &str) -> FormulaFault {
        match self.list.get(self.at) {
            Some(t) => self.fault_at(t, message, expected),
            None => FormulaFault {
                start: self.end.saturating_sub(1),
                end: self.end,
                message: "the formula breaks off".to_owned(),
                expected: expected.to_owned(),
            },
        }
    }

    fn sign(&mut self, signs: &[char]) -> Option<char> {
        match self.list.get(self.at) {
            Some(Token {
                kind: Kind::Sign(c),
                ..
            }) if signs.contains(c) => {
                self.at += 1;
                Some(*c)
            }
            _ => None,
        }
    }

    fn sum(&mut self, depth: usize) -> Result<Expression, FormulaFault> {
        let mut left = self.product(depth)?;
        let mut length = 0;
        while let Some(operator) = self.sign(&['+', '-']) {
            length += 1;
            self.bounded(length)?;
            let right = self.product(depth)?;
            left = Expression::Binary {
                operator,
                left: Box::new(left),
                right: Box::new(right),
            };
        }
        Ok(left)
    }

    fn product(&mut self, depth: usize) -> Result<Expression, FormulaFault> {
        let mut left = self.factor(depth)?;
        let mut length = 0;
        while let Some(operator) = self.sign(&['*', '/', '%']) {
            length += 1;
            self.bounded(length)?;
            let right = self.factor(depth)?;
            left = Expression::Binary {
                operator,
                left: Box::new(left),
                right: Box::new(right),
            };
        }
        Ok(left)
    }

    /// A chain of operators makes the tree as deep as it is long, and the
    /// tree is walked by recursion.
    fn bounded(&self, length: usize) -> Result<(), FormulaFault> {
        if length > 1000 {
            return Err(self.fault(
                "the formula is too long",
                "at most 1000 operators in a row; use steps",
            ));
        }
        Ok(())
    }

    fn factor(&mut self, depth: usize) -> Result<Expression, FormulaFault> {
        if depth > DEEPEST {
            return Err(self.fault("brackets are nested too deeply", "at most 64 levels"));
        }
        if self.sign(&['-']).is_some() {
            return Ok(Expression::Negated(Box::new(self.factor(depth + 1)?)));
        }
        if self.sign(&['+']).is_some() {
            return self.factor(depth + 1);
        }
        if self.sign(&['(']).is_some() {
            let inner = self.sum(depth + 1)?;
            if self.sign(&[')']).is_none() {
                return Err(self.fault("a bracket is not closed", ")"));
            }
            return Ok(inner);
        }
        let Some(token) = self.list.get(self.at) else {
            return Err(self.fault("the formula breaks off", "a number, a name or a bracket"));
        };
        match &token.kind {
            Kind::Number(x) => {
                self.at += 1;
                Ok(Expression::Literal(*x))
            }
            Kind::Name(name) => {
                self.at += 1;
                if self.sign(&['(']).is_none() {
                    return Ok(Expression::Name {
                        name: name.clone(),
                        at: token.start,
                    });
                }
                let Some(&(function, count)) = FUNCTIONS.iter().find(|(f, _)| f == name) else {
                    let known: Vec<&str> = FUNCTIONS.iter().map(|f| f.0).collect();
                    return Err(self.fault_at(
                        token,
                        &format!("no function `{name}`"),
                        &known.join(", "),
                    ));
                };
                let mut arguments = vec![self.sum(depth + 1)?];
                while self.sign(&[',']).is_some() {
                    arguments.push(self.sum(depth + 1)?);
                }
                if self.sign(&[')']).is_none() {
                    return Err(self.fault("a bracket is not closed", ")"));
                }
                if arguments.len() != count {
                    return Err(self.fault_at(
                        token,
                        &format!("`{name}` has {} arguments", arguments.len()),
                        &format!("{count}"),
                    ));
                }
                Ok(Expression::Call {
                    function,
                    arguments,
                })
            }
            Kind::Sign(_) => Err(self.fault(
                "an operator stands where a value should",
                "a number, a name or a bracket",
            )),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn faults_have_places() {
        let at = |t: &str| {
            parse(t)
                .map(|_| ())
                .map_err(|f| (f.start, f.end, f.message))
                .unwrap_err()
        };
        assert_eq!(at("1 + "), (3, 4, "the formula breaks off".to_owned()));
        assert_eq!(at("(1 + 2"), (5, 6, "the formula breaks off".to_owned()));
        assert_eq!(
            at("1 $ 2"),
            (2, 3, "`$` has no meaning in a formula".to_owned())
        );
        assert_eq!(at("sinh(2)"), (0, 4, "no function `sinh`".to_owned()));
        assert_eq!(at("min(2)"), (0, 3, "`min` has 1 arguments".to_owned()));
        assert_eq!(
            at("1 2"),
            (2, 3, "the formula does not end here".to_owned())
        );
        assert_eq!(at("1.2.3"), (0, 5, "`1.2.3` is not a number".to_owned()));
    }

    #[test]
    fn hostile_formulas_are_refused_and_not_followed() {
        assert!(parse(&"(".repeat(100_000)).is_err());
        assert!(parse(&"-".repeat(100_000)).is_err());
        assert!(parse(&"1+".repeat(100_000)).is_err());
        assert!(parse("é-1 · 2").is_ok());
        for text in ["", "Ω(", "1e999", "..", "a.b-c - d", "−3·x"] {
            let _ = parse(text);
        }
    }
}
