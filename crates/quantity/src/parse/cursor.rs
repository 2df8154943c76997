//! The reading position in a text.

use super::faults::Want;
use crate::fault::Fault;

pub(super) struct Cursor<'a> {
    pub(super) text: &'a str,
    pub(super) at: usize,
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
}

fn is_operator(c: char) -> bool {
    matches!(c, '/' | '·' | '⋅' | '*')
}

fn starts_signed(text: &str) -> bool {
    text.trim_start().starts_with(['+', '-', '\u{2212}'])
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
