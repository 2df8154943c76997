//! Value codes of IEC 60062: the letter stands for the decimal mark and the multiplier.

use crate::decimal::Decimal;
use crate::dimension::Dimension;
use crate::tolerance::{Part, Tolerance};

/// A value code read from one word.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(crate) struct Code {
    pub(crate) value: f64,
    pub(crate) tolerance: Option<Tolerance>,
    /// Power of ten of the multiplier letter.
    pub(crate) ten: i32,
}

/// Outcome of reading a word as a value code.
pub(crate) enum Outcome {
    /// Not written like a code.
    No,
    /// A code with this value.
    Code(Code),
    /// Two readings are possible; the text says which.
    Ambiguous(&'static str),
}

/// Multiplier letters of IEC 60062:2016 clause 4. K is also written k, µ also u.
fn multiplier(letter: char, dimension: Dimension) -> Option<i32> {
    if dimension == Dimension::RESISTANCE {
        match letter {
            'R' => Some(0),
            'K' | 'k' => Some(3),
            'M' => Some(6),
            'G' => Some(9),
            'T' => Some(12),
            _ => None,
        }
    } else if dimension == Dimension::CAPACITANCE {
        match letter {
            'p' => Some(-12),
            'n' => Some(-9),
            '\u{b5}' | '\u{3bc}' | 'u' => Some(-6),
            'm' => Some(-3),
            'F' => Some(0),
            _ => None,
        }
    } else {
        None
    }
}

/// Tolerance letters of IEC 60062, in percent; B, C, D, F, G mean picofarads below 10 pF.
fn tolerance(letter: char, value: f64, dimension: Dimension) -> Option<Tolerance> {
    let (percent, picofarad) = match letter {
        'B' => (1e-3, Some(0.1e-12)),
        'C' => (2.5e-3, Some(0.25e-12)),
        'D' => (5e-3, Some(0.5e-12)),
        'F' => (1e-2, Some(1e-12)),
        'G' => (2e-2, Some(2e-12)),
        'J' => (5e-2, None),
        'K' => (1e-1, None),
        'M' => (2e-1, None),
        'N' => (3e-1, None),
        _ => return None,
    };
    let part = match picofarad {
        Some(limit) if dimension == Dimension::CAPACITANCE && value < 10e-12 => {
            Part::Absolute(limit)
        }
        _ => Part::Relative(percent),
    };
    Some(Tolerance::symmetric(part))
}

/// Reads a whole word such as `4k7`, `R47`, `1R8J`, or the workshop form `4.7k`.
pub(crate) fn read(word: &str, dimension: Dimension) -> Outcome {
    let mut word = word;
    let mut named_unit = false;
    if dimension == Dimension::RESISTANCE {
        for unit in ["Ω", "\u{2126}", "ohms", "ohm"] {
            if let Some(stem) = word.strip_suffix(unit) {
                word = stem;
                named_unit = true;
                break;
            }
        }
    }
    let Some((at, letter)) = word
        .char_indices()
        .find(|(_, c)| !(c.is_ascii_digit() || *c == '.'))
    else {
        return Outcome::No;
    };
    let Some(ten) = multiplier(letter, dimension) else {
        return Outcome::No;
    };
    let before = word.get(..at).unwrap_or("");
    let after = word.get(at + letter.len_utf8()..).unwrap_or("");
    let fraction_length = after
        .find(|c: char| !c.is_ascii_digit())
        .unwrap_or(after.len());
    let (fraction, tail) = after.split_at(fraction_length);
    let mut tail = tail.chars();
    let (tolerance_letter, end) = (tail.next(), tail.next());
    if end.is_some() || (named_unit && tolerance_letter.is_some()) {
        return Outcome::No;
    }
    let points = before.bytes().filter(|b| *b == b'.').count();
    if points > 1 || (points == 1 && !fraction.is_empty()) {
        return Outcome::No;
    }
    if before.len() + fraction.len() == points || before.len() + fraction.len() > 30 {
        return Outcome::No;
    }
    // "Ω" alone after bare digits is a unit, not a code; "4k7Ω" is one.
    let digits = if points == 1 {
        before.to_owned()
    } else {
        format!("{before}.{fraction}")
    };
    let value = Decimal {
        negative: false,
        digits: &digits,
        exponent: 0,
    }
    .scaled(ten);
    let tolerance = match tolerance_letter {
        None => None,
        Some('F') if dimension == Dimension::CAPACITANCE => {
            return Outcome::Ambiguous(
                "the final F may be the farad or the tolerance letter of 1 %",
            );
        }
        Some(letter) => match tolerance(letter, value, dimension) {
            Some(tolerance) => Some(tolerance),
            None => return Outcome::No,
        },
    };
    Outcome::Code(Code {
        value,
        tolerance,
        ten,
    })
}
