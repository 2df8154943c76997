//! Words, numbers and signs of a formula.

use super::FormulaFault;

/// A token with its byte range.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Token {
    pub kind: Kind,
    pub start: usize,
    pub end: usize,
}

/// What a token is.
#[derive(Clone, Debug, PartialEq)]
pub(super) enum Kind {
    Number(f64),
    Name(String),
    /// `+ - * / % ( ) ,`
    Sign(char),
}

/// Cuts a formula into tokens. A name may hold hyphens and dots inside, as
/// names of channels do (`tank-1.code`); a minus sign between names therefore
/// needs a space.
pub(super) fn tokens(text: &str) -> Result<Vec<Token>, FormulaFault> {
    let mut list = Vec::new();
    let mut rest = text.char_indices().peekable();
    while let Some(&(start, c)) = rest.peek() {
        if c.is_whitespace() {
            rest.next();
            continue;
        }
        let sign = match c {
            '+' | '-' | '*' | '/' | '%' | '(' | ')' | ',' => Some(c),
            '−' => Some('-'),
            '·' | '×' => Some('*'),
            _ => None,
        };
        if let Some(sign) = sign {
            rest.next();
            list.push(Token {
                kind: Kind::Sign(sign),
                start,
                end: start + c.len_utf8(),
            });
            continue;
        }
        let length = if c.is_ascii_digit() || c == '.' {
            number_length(&text[start..])
        } else if c.is_alphabetic() || c == '_' {
            name_length(&text[start..])
        } else {
            return Err(FormulaFault {
                start,
                end: start + c.len_utf8(),
                message: format!("`{c}` has no meaning in a formula"),
                expected: "numbers, names, + - * / % and brackets".to_owned(),
            });
        };
        let end = start + length;
        let word = &text[start..end];
        while rest.peek().is_some_and(|(i, _)| *i < end) {
            rest.next();
        }
        let kind = if c.is_ascii_digit() || c == '.' {
            match word.parse::<f64>() {
                Ok(x) if x.is_finite() => Kind::Number(x),
                _ => {
                    return Err(FormulaFault {
                        start,
                        end,
                        message: format!("`{word}` is not a number"),
                        expected: "a number such as 3.3 or 1e-3".to_owned(),
                    });
                }
            }
        } else {
            Kind::Name(word.to_owned())
        };
        list.push(Token { kind, start, end });
    }
    Ok(list)
}

fn number_length(text: &str) -> usize {
    let bytes = text.as_bytes();
    let mut i = 0;
    while let Some(&b) = bytes.get(i) {
        let exponent_sign = (b == b'+' || b == b'-')
            && i > 0
            && matches!(bytes[i - 1], b'e' | b'E')
            && bytes.get(i + 1).is_some_and(u8::is_ascii_digit);
        if b.is_ascii_alphanumeric() || b == b'.' || exponent_sign {
            i += 1;
        } else {
            break;
        }
    }
    i.max(1)
}

fn name_length(text: &str) -> usize {
    let mut end = 0;
    let mut letters = text.char_indices().peekable();
    while let Some((i, c)) = letters.next() {
        let joins =
            (c == '-' || c == '.') && letters.peek().is_some_and(|(_, n)| n.is_alphanumeric());
        if c.is_alphanumeric() || c == '_' || joins {
            end = i + c.len_utf8();
        } else {
            break;
        }
    }
    end.max(1)
}
