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
    let mut constants = BTreeMap::new();
    if let Some(list) = f.sub("constants") {
        for (key, item) in &list.entries {
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
    }
    conversion.constants = constants;
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

/// Every name in a formula is known; syntax is checked where formulas are
/// compiled, this only keeps misspelt names from getting that far.
fn check_names(reader: &Reader<'_>, conversion: &Conversion) {
    let mut known: Vec<String> = [
        "code",
        "pi",
        "abs",
        "min",
        "max",
        "sqrt",
        "exp",
        "ln",
        "floor",
        "round",
        "reference",
    ]
    .iter()
    .map(|s| (*s).to_owned())
    .collect();
    known.extend(conversion.constants.keys().cloned());
    known.extend(reader.channels.iter().cloned());
    for step in &conversion.steps {
        for (at, word) in names_in(&step.formula.value) {
            let base = word.strip_suffix(".code").unwrap_or(word);
            if !known.iter().any(|k| k == base) {
                let span = finding::Span {
                    start: step.formula.span.start + 1 + u32::try_from(at).unwrap_or(0),
                    end: step.formula.span.start + 1 + u32::try_from(at + word.len()).unwrap_or(0),
                    ..step.formula.span
                };
                reader.faults.push(
                    InputFault::new(
                        span,
                        format!("nothing is named `{base}` in this formula"),
                        "code, a constant, an earlier step, another channel, or abs min max sqrt exp ln floor round",
                    )
                    .suggest(nearest_of(base, known.iter().map(String::as_str))),
                );
            }
        }
        known.push(step.name.clone());
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
