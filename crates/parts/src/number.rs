//! Single numbers of a figure: quantities, and limits that follow a supply.

use document::{Content, Faults, Item};
use finding::{InputFault, nearest_of};
use quantity::{Dimension, Fault};

use crate::figure::SupplyTerm;
use crate::quantities::SUPPLIES;

/// What a place takes.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Wanted<'a> {
    /// Dimensions allowed; `None` where anything goes.
    pub dimensions: Option<&'a [Dimension]>,
    /// Temperatures are absolute.
    pub absolute: bool,
    /// The number may follow a supply.
    pub supply: bool,
}

/// A number as read.
#[derive(Clone, Debug, PartialEq)]
pub(crate) struct Number {
    pub value: f64,
    pub dimension: Dimension,
    pub supply: Option<SupplyTerm>,
}

impl Wanted<'_> {
    fn allows(&self, dimension: Dimension) -> bool {
        self.dimensions.is_none_or(|list| list.contains(&dimension))
    }

    /// What is allowed, in words.
    fn expected(&self) -> Option<String> {
        let list = self.dimensions?;
        if list.len() < 2 {
            return None;
        }
        let words: Vec<String> = list.iter().map(|d| d.with_article()).collect();
        Some(words.join(" or "))
    }

    /// The dimension to read a text as: the first that fits.
    pub fn dimension_of<T>(
        &self,
        text: &str,
        read: impl Fn(&str, Dimension) -> Result<T, Fault>,
    ) -> Result<T, Fault> {
        let Some(list) = self.dimensions else {
            let any = quantity::any(text)?;
            return read(text, any.dimension);
        };
        let mut first = None;
        for dimension in list {
            match read(text, *dimension) {
                Ok(value) => return Ok(value),
                Err(fault) => {
                    first.get_or_insert(fault);
                }
            }
        }
        let mut fault = first.unwrap_or(Fault {
            start: 0,
            end: text.len(),
            message: "no value is allowed here".to_owned(),
            expected: String::new(),
            suggestion: None,
        });
        if let Some(expected) = self.expected() {
            fault.expected = expected;
        }
        Err(fault)
    }

    /// Reads one number; whatever is wrong goes to `faults`.
    pub fn number(&self, key: &str, item: &Item, faults: &Faults) -> Option<Number> {
        match &item.content {
            #[allow(clippy::cast_precision_loss, reason = "numbers in files are small")]
            Content::Whole(n) => self.bare(key, item, *n as f64, faults),
            Content::Real(x) if x.is_finite() => self.bare(key, item, *x, faults),
            Content::Text(text, _) => match self.text(text) {
                Ok(number) => Some(number),
                Err(fault) => {
                    faults.inside(item, fault);
                    None
                }
            },
            other => {
                faults.add(
                    item.span,
                    format!("`{key}` is {}", other.describe()),
                    "a quantity in quotes, for example \"10 mV\"",
                );
                None
            }
        }
    }

    fn bare(&self, key: &str, item: &Item, value: f64, faults: &Faults) -> Option<Number> {
        if self.allows(Dimension::NONE) {
            return Some(Number {
                value,
                dimension: Dimension::NONE,
                supply: None,
            });
        }
        let wanted = self
            .dimensions
            .and_then(<[Dimension]>::first)
            .map_or_else(|| "a value".to_owned(), |d| d.with_article());
        faults.push(InputFault::new(
            item.span,
            format!("`{key}` is a number without a unit"),
            format!("{wanted} in quotes, with its unit"),
        ));
        None
    }

    /// Reads a text.
    pub fn text(&self, text: &str) -> Result<Number, Fault> {
        if self.supply
            && self.allows(Dimension::VOLTAGE)
            && let Some(result) = supply_relative(text)
        {
            return result;
        }
        let quantity = self.dimension_of(text, |t, d| {
            if d == Dimension::TEMPERATURE && !self.absolute {
                quantity::difference(t, d)
            } else {
                quantity::value(t, d)
            }
        })?;
        Ok(Number {
            value: quantity.value,
            dimension: quantity.dimension,
            supply: None,
        })
    }
}

/// Reads `[ratio ×] supply [± voltage]`; `None` if the text does not start so.
fn supply_relative(text: &str) -> Option<Result<Number, Fault>> {
    let (ratio, name_start) = match text.find(['×', '*', '·']) {
        Some(at) => {
            let sign_length = text[at..].chars().next().map_or(1, char::len_utf8);
            let ratio = quantity::value(text[..at].trim(), Dimension::NONE).ok()?;
            (ratio.value, at + sign_length)
        }
        None => (1.0, 0),
    };
    let rest = &text[name_start..];
    let indent = rest.len() - rest.trim_start().len();
    let name_start = name_start + indent;
    let rest = rest.trim_start();
    let name_length = name_length(rest);
    let name = &rest[..name_length];
    if name.len() < 4 {
        return None;
    }
    if !SUPPLIES.contains(&name) {
        let near = nearest_of(name, SUPPLIES.iter().copied())?;
        return Some(Err(Fault {
            start: name_start,
            end: name_start + name_length,
            message: format!("\"{name}\" is not the name of a supply"),
            expected: format!("one of {}", SUPPLIES.join(", ")),
            suggestion: Some(near.to_owned()),
        }));
    }
    let tail_start = name_start + name_length;
    let tail = &text[tail_start..];
    let offset = match offset_after(tail) {
        Ok(offset) => offset,
        Err(fault) => {
            return Some(Err(Fault {
                start: fault.start + tail_start,
                end: fault.end + tail_start,
                ..fault
            }));
        }
    };
    Some(Ok(Number {
        value: offset,
        dimension: Dimension::VOLTAGE,
        supply: Some(SupplyTerm {
            supply: name.to_owned(),
            ratio,
        }),
    }))
}

/// Length of the lower-case word with inner hyphens that `text` starts with.
fn name_length(text: &str) -> usize {
    let mut length = 0;
    let bytes = text.as_bytes();
    for (i, byte) in bytes.iter().enumerate() {
        let next_is_letter = bytes.get(i + 1).is_some_and(u8::is_ascii_lowercase);
        if byte.is_ascii_lowercase() || (*byte == b'-' && i > 0 && next_is_letter) {
            length = i + 1;
        } else {
            break;
        }
    }
    length
}

/// The signed voltage after a supply's name, zero if nothing follows.
fn offset_after(tail: &str) -> Result<f64, Fault> {
    let trimmed = tail.trim_start();
    if trimmed.is_empty() {
        return Ok(0.0);
    }
    let indent = tail.len() - trimmed.len();
    let sign = trimmed.chars().next().unwrap_or('+');
    let factor = match sign {
        '+' => 1.0,
        '-' | '−' => -1.0,
        _ => {
            return Err(Fault {
                start: indent,
                end: tail.len(),
                message: format!("\"{trimmed}\" follows a supply without a sign"),
                expected: "+ or - and a voltage, for example supply - 0.4 V".to_owned(),
                suggestion: None,
            });
        }
    };
    let value_start = indent + sign.len_utf8();
    quantity::value(&tail[value_start..], Dimension::VOLTAGE)
        .map(|q| factor * q.value)
        .map_err(|fault| Fault {
            start: fault.start + value_start,
            end: fault.end + value_start,
            ..fault
        })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn volts(text: &str) -> Result<Number, Fault> {
        Wanted {
            dimensions: Some(&[Dimension::VOLTAGE, Dimension::CODE]),
            absolute: false,
            supply: true,
        }
        .text(text)
    }

    #[test]
    fn limits_that_follow_a_supply() {
        for (text, ratio, offset) in [
            ("supply", 1.0, 0.0),
            ("0.7 × supply", 0.7, 0.0),
            ("0.35*io-supply", 0.35, 0.0),
            ("analog-supply - 0.1 V", 1.0, -0.1),
            ("0.41 × supply + 480 mV", 0.41, 0.48),
            ("supply−0.4 V", 1.0, -0.4),
        ] {
            let number = volts(text).unwrap();
            let term = number.supply.unwrap();
            assert_eq!((term.ratio, number.value), (ratio, offset), "{text}");
        }
        assert_eq!(volts("2.4 V").unwrap().supply, None);
        assert_eq!(volts("3 LSB").unwrap().dimension, Dimension::CODE);
    }

    #[test]
    fn faults_of_such_limits_point_at_the_wrong_part() {
        let fault = volts("0.7 × suply").unwrap_err();
        assert_eq!(fault.suggestion.as_deref(), Some("supply"));
        assert_eq!(&"0.7 × suply"[fault.start..fault.end], "suply");
        let text = "supply - 0.4 mA";
        let fault = volts(text).unwrap_err();
        assert!(text[fault.start..fault.end].contains("mA"), "{fault:?}");
        let fault = volts("supply 3").unwrap_err();
        assert!(
            fault.message.contains("without a sign"),
            "{}",
            fault.message
        );
        let fault = volts("3 pF").unwrap_err();
        assert_eq!(fault.expected, "a voltage or a number of codes");
    }
}
