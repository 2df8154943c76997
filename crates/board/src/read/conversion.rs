//! The firmware's conversion.

use std::collections::BTreeMap;

use document::{Content, Fields, Located, Table};
use finding::{InputFault, nearest_of};
use quantity::Dimension;

use crate::model::{Conversion, Step};
use crate::number::Number;
use crate::read::Reader;

/// Names of the number types of firmware.
const NUMBERS: &[(&str, Number)] = &[
    (
        "i16",
        Number::Whole {
            bits: 16,
            signed: true,
        },
    ),
    (
        "u16",
        Number::Whole {
            bits: 16,
            signed: false,
        },
    ),
    (
        "i32",
        Number::Whole {
            bits: 32,
            signed: true,
        },
    ),
    (
        "u32",
        Number::Whole {
            bits: 32,
            signed: false,
        },
    ),
    (
        "i64",
        Number::Whole {
            bits: 52,
            signed: true,
        },
    ),
    (
        "u64",
        Number::Whole {
            bits: 52,
            signed: false,
        },
    ),
    (
        "i8",
        Number::Whole {
            bits: 8,
            signed: true,
        },
    ),
    (
        "u8",
        Number::Whole {
            bits: 8,
            signed: false,
        },
    ),
    ("f32", Number::Single),
    ("f64", Number::Double),
];

pub(super) fn read(reader: &Reader<'_>, table: &Table, name: &str) -> Conversion {
    let faults = reader.faults;
    let f = Fields::new(table, format!("the conversion of {name}"), faults);
    let mut conversion = Conversion {
        span: Some(table.span),
        ..Conversion::default()
    };
    if let Some(assume) = f.sub("assume") {
        for (key, item) in &assume.entries {
            let Content::Text(text, _) = &item.content else {
                faults.add(
                    item.span,
                    format!("an assumed value is {}", item.content.describe()),
                    "a quantity in quotes",
                );
                continue;
            };
            if key.name == "reference" {
                match quantity::value(text, Dimension::VOLTAGE) {
                    Ok(q) if q.value > 0.0 => {
                        conversion.assumed_reference_v = Some(Located {
                            value: q.value,
                            span: item.span,
                        });
                    }
                    Ok(_) => faults.add(
                        item.span,
                        "the assumed reference is not positive",
                        "for example \"5 V\"",
                    ),
                    Err(fault) => faults.inside(item, fault),
                }
            } else {
                conversion.assume.push((
                    key.name.clone(),
                    Located {
                        value: text.clone(),
                        span: item.span,
                    },
                ));
            }
        }
    }
    conversion.constants = constants(&f);
    let kind = f.word("type", NUMBERS);
    if let Some(formula) = f.text("formula") {
        conversion.steps.push(Step {
            name: "reading".to_owned(),
            kind: kind.map_or(Number::Double, |k| k.value),
            formula: formula.map(str::to_owned),
        });
    }
    if let Some((list, _)) = f.list("steps") {
        for item in list {
            let Content::Table(step) = &item.content else {
                faults.add(
                    item.span,
                    format!("a step is {}", item.content.describe()),
                    "{ let = \"millivolt\", type = \"u32\", formula = \"code * 5000 / 1024\" }",
                );
                continue;
            };
            let s = Fields::new(step, format!("a step of the conversion of {name}"), faults);
            let variable = s.required_text("let", "the name of the variable");
            let formula =
                s.required_text("formula", "an expression such as \"code * 5000 / 1024\"");
            let kind = s.word("type", NUMBERS);
            s.finish();
            if let Some((v, formula)) = variable.zip(formula) {
                conversion.steps.push(Step {
                    name: v.value.to_owned(),
                    kind: kind.map_or(Number::Double, |k| k.value),
                    formula: formula.map(str::to_owned),
                });
            }
        }
    }
    f.finish();
    check_names(reader, &conversion);
    conversion
}

/// Constants by name, SI.
pub(super) fn constants(f: &Fields<'_>) -> BTreeMap<String, f64> {
    let faults = f.faults();
    let mut constants = BTreeMap::new();
    for (key, item) in f.sub("constants").map_or(&[][..], |t| &t.entries) {
        let value = match &item.content {
            #[allow(clippy::cast_precision_loss, reason = "numbers in files are small")]
            Content::Whole(n) => Some(*n as f64),
            Content::Real(x) if x.is_finite() => Some(*x),
            Content::Text(t, _) => match quantity::any(t) {
                Ok(q) => Some(q.value),
                Err(fault) => {
                    faults.inside(item, fault);
                    None
                }
            },
            other => {
                faults.add(
                    item.span,
                    format!("a constant is {}", other.describe()),
                    "a number or a quantity",
                );
                None
            }
        };
        if let Some(v) = value {
            constants.insert(key.name.clone(), v);
        }
    }
    constants
}

/// Functions and constants every formula may use.
const FUNCTIONS: &[&str] = &[
    "pi", "abs", "min", "max", "sqrt", "exp", "ln", "floor", "round",
];

/// Names that every formula knows.
pub(super) fn functions() -> Vec<String> {
    FUNCTIONS.iter().map(|s| (*s).to_owned()).collect()
}

/// Every name in a formula is known; syntax is checked where formulas are
/// compiled, this only keeps misspelt names from getting that far.
fn check_names(reader: &Reader<'_>, conversion: &Conversion) {
    let mut known = functions();
    known.extend(["code", "reference"].map(str::to_owned));
    known.extend(conversion.constants.keys().cloned());
    known.extend(reader.channels.iter().cloned());
    for step in &conversion.steps {
        names_known(
            reader,
            &step.formula,
            &known,
            true,
            "code, a constant, an earlier step, another channel, or abs min max sqrt exp ln floor round",
        );
        known.push(step.name.clone());
    }
}

/// Reports the names of a formula that are not among the known ones; with
/// `codes`, `NAME.code` is known where the name is.
pub(super) fn names_known(
    reader: &Reader<'_>,
    formula: &Located<String>,
    known: &[String],
    codes: bool,
    expected: &str,
) {
    for (at, word) in names_in(&formula.value) {
        let base = if codes {
            word.strip_suffix(".code").unwrap_or(word)
        } else {
            word
        };
        if known.iter().any(|k| k == base) {
            continue;
        }
        let span = finding::Span {
            start: formula.span.start + 1 + u32::try_from(at).unwrap_or(0),
            end: formula.span.start + 1 + u32::try_from(at + word.len()).unwrap_or(0),
            ..formula.span
        };
        reader.faults.push(
            InputFault::new(
                span,
                format!("nothing is named `{base}` in this formula"),
                expected,
            )
            .suggest(nearest_of(base, known.iter().map(String::as_str))),
        );
    }
}

/// Words of a formula with their byte positions. A word may hold hyphens and
/// dots inside (names of channels), a minus sign needs a space before it.
pub(crate) fn names_in(formula: &str) -> Vec<(usize, &str)> {
    let mut list = Vec::new();
    let bytes = formula.as_bytes();
    let mut i = 0;
    while i < bytes.len() {
        let c = bytes[i];
        if c.is_ascii_alphabetic() || c == b'_' {
            let start = i;
            while i < bytes.len()
                && (bytes[i].is_ascii_alphanumeric()
                    || bytes[i] == b'_'
                    || ((bytes[i] == b'-' || bytes[i] == b'.')
                        && bytes.get(i + 1).is_some_and(u8::is_ascii_alphanumeric)))
            {
                i += 1;
            }
            list.push((start, &formula[start..i]));
        } else if c.is_ascii_digit() || c == b'.' {
            // A number with its exponent.
            while i < bytes.len()
                && (bytes[i].is_ascii_alphanumeric()
                    || bytes[i] == b'.'
                    || ((bytes[i] == b'-' || bytes[i] == b'+')
                        && matches!(bytes[i - 1], b'e' | b'E')))
            {
                i += 1;
            }
        } else {
            i += 1;
        }
    }
    list
}
