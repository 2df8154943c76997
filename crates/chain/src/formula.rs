//! Firmware formulas: text onto the tape, with the arithmetic of the type
//! they are computed in.
//!
//! A formula such as `code * 5000 / 1024` is read once and written onto the
//! tape. In a whole-number type every division truncates towards zero and
//! every result wraps to the width, as C does on the usual machines (C99
//! 6.5.5; unsigned wrap 6.2.5; signed overflow is undefined there and wraps
//! on the processors in question: common practice). Truncation is read
//! smoothly where the tape is read smoothly; wrapping never is.

mod lexer;
mod parser;

use board::Number;
use tape::{Builder, Value};

pub use parser::{Expression, parse};

/// What is wrong with a formula, and where.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct FormulaFault {
    /// First byte in the formula.
    pub start: usize,
    /// First byte after it.
    pub end: usize,
    /// What is wrong.
    pub message: String,
    /// What was expected.
    pub expected: String,
}

/// Writes a formula onto the tape. `lookup` gives the value of a name (code,
/// constant, earlier step, another channel's reading).
///
/// # Errors
/// A name that `lookup` does not know.
pub fn write<'t>(
    builder: &'t Builder,
    expression: &Expression,
    number: Number,
    lookup: &dyn Fn(&str) -> Option<Value<'t>>,
) -> Result<Value<'t>, FormulaFault> {
    let value = match expression {
        Expression::Literal(x) => keep(builder, builder.constant(*x), number),
        Expression::Name { name, at } => {
            let found = lookup(name).ok_or_else(|| FormulaFault {
                start: *at,
                end: at + name.len(),
                message: format!("nothing is named `{name}`"),
                expected: "code, a constant, an earlier step or another channel".to_owned(),
            })?;
            keep(builder, found, number)
        }
        Expression::Negated(inner) => {
            let v = write(builder, inner, number, lookup)?;
            keep(builder, -v, number)
        }
        Expression::Binary {
            operator,
            left,
            right,
        } => {
            let a = write(builder, left, number, lookup)?;
            let b = write(builder, right, number, lookup)?;
            let result = match operator {
                '+' => a + b,
                '-' => a - b,
                '*' => a * b,
                '/' if matches!(number, Number::Whole { .. }) => truncated(builder, a / b),
                // The rest of a division, with the sign of the dividend.
                '%' => a - b * truncated(builder, a / b),
                _ => a / b,
            };
            wrapped(builder, result, number)
        }
        Expression::Call {
            function,
            arguments,
        } => {
            let mut values = Vec::new();
            for argument in arguments {
                values.push(write(builder, argument, number, lookup)?);
            }
            let result = match (*function, values.as_slice()) {
                ("min", [a, b]) => a.min(*b),
                ("max", [a, b]) => a.max(*b),
                ("abs", [a]) => a.abs(),
                ("sqrt", [a]) => a.sqrt(),
                ("exp", [a]) => a.exp(),
                ("ln", [a]) => a.ln(),
                ("floor", [a]) => a.quantised(),
                ("round", [a]) => (*a + 0.5).quantised(),
                // The parser admits the functions above with their number of
                // arguments and no others.
                (_, [a, ..]) => *a,
                (_, []) => builder.zero(),
            };
            keep(builder, result, number)
        }
    };
    Ok(value)
}

/// The names a formula uses, each once, in the order of their appearance.
#[must_use]
pub fn names(expression: &Expression) -> Vec<&str> {
    let mut found: Vec<&str> = Vec::new();
    let mut stack = vec![expression];
    while let Some(e) = stack.pop() {
        match e {
            Expression::Literal(_) => {}
            Expression::Name { name, .. } => {
                if !found.contains(&name.as_str()) {
                    found.push(name);
                }
            }
            Expression::Negated(inner) => stack.push(inner),
            Expression::Binary { left, right, .. } => {
                stack.push(right);
                stack.push(left);
            }
            Expression::Call { arguments, .. } => stack.extend(arguments.iter().rev()),
        }
    }
    found
}

/// A value stored in a type: fractions lost, width kept.
fn keep<'t>(builder: &'t Builder, value: Value<'t>, number: Number) -> Value<'t> {
    match number {
        Number::Whole { .. } => {
            let whole = match value.as_constant() {
                Some(c) => builder.constant(c.trunc()),
                None => truncated(builder, value),
            };
            wrapped(builder, whole, number)
        }
        Number::Single => value.to_single(),
        Number::Double => value,
    }
}

/// Towards zero.
fn truncated<'t>(builder: &'t Builder, value: Value<'t>) -> Value<'t> {
    let up = -((-value).quantised());
    builder.select(value, value.quantised(), up)
}

/// Brought into the width of a whole-number type, or to single precision.
fn wrapped<'t>(builder: &'t Builder, value: Value<'t>, number: Number) -> Value<'t> {
    match number {
        Number::Whole { bits, signed } => {
            let mut span = 1.0;
            for _ in 0..bits {
                span *= 2.0;
            }
            let low = if signed { -0.5 * span } else { 0.0 };
            let turns = ((value - low) * (1.0 / span)).floor();
            if let Some(c) = value.as_constant()
                && c >= low
                && c < low + span
            {
                return builder.constant(c);
            }
            value - turns * span
        }
        Number::Single => value.to_single(),
        Number::Double => value,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use tape::Reading;

    const U16: Number = Number::Whole {
        bits: 16,
        signed: false,
    };
    const U32: Number = Number::Whole {
        bits: 32,
        signed: false,
    };
    const I16: Number = Number::Whole {
        bits: 16,
        signed: true,
    };

    fn at(formula: &str, number: Number, code: f64) -> f64 {
        let builder = Builder::new();
        let input = builder.input("code", "", code);
        let expression = parse(formula).unwrap();
        let value = write(&builder, &expression, number, &|n| {
            (n == "code").then_some(input)
        })
        .unwrap();
        builder.finish(&[value]).values(&[code], Reading::Exact)[0]
    }

    #[test]
    fn published_integer_scaling() {
        // Worked with exact integers: 10 bits at 5000 mV with the Q16 factor
        // 320000, and 12 bits at 3300 mV with 52800 (common practice).
        assert_eq!(at("code * 320000 / 65536", U32, 512.0), 2500.0);
        assert_eq!(at("code * 320000 / 65536", U32, 1023.0), 4995.0);
        assert_eq!(at("code * 52800 / 65536", U32, 4095.0), 3299.0);
        assert_eq!(at("code * 52800 / 65536", U32, 2048.0), 1650.0);
        // 1023 · 5000 = 5 115 000 does not fit 16 bits: 5 115 000 mod 65 536.
        assert_eq!(
            at("code * 5000 / 1024", U16, 1023.0),
            (5_115_000_u32 % 65_536 / 1024).into()
        );
        assert_eq!(at("code * 5000 / 1024", U32, 1023.0), 4995.0);
    }

    #[test]
    fn whole_numbers_behave_as_the_machine_does() {
        for code in [-32768_i16, -1234, -7, -1, 0, 1, 5, 1023, 32767] {
            let x = f64::from(code);
            assert_eq!(at("code / 7", I16, x), f64::from(code / 7), "{code}");
            assert_eq!(at("code % 7", I16, x), f64::from(code % 7), "{code}");
            assert_eq!(
                at("code * 3 - 5", I16, x),
                f64::from(code.wrapping_mul(3).wrapping_sub(5)),
                "{code}"
            );
            assert_eq!(
                at("-code", I16, x),
                f64::from(code.wrapping_neg()),
                "{code}"
            );
        }
    }

    #[test]
    fn published_divide_by_1023_or_1024() {
        // A report of a 10-bit converter at 3.3 V with its input tied to
        // 3.3 V: 3.2968 V with 1024, 3.3000 V with 1023.
        assert!((at("code / 1024 * 3.3", Number::Double, 1023.0) - 3.2968).abs() < 5e-5);
        assert!((at("code / 1023 * 3.3", Number::Double, 1023.0) - 3.3).abs() < 1e-12);
        // With the divider 30 kΩ over 5.6 kΩ, code 585 near 12 V.
        let volts = |f: &str| at(f, Number::Double, 585.0);
        assert!((volts("code / 1024 * 3.3 * (30 + 5.6) / 5.6") - 11.985).abs() < 5e-4);
        assert!((volts("code / 1023 * 3.3 * (30 + 5.6) / 5.6") - 11.997).abs() < 5e-4);
        assert!((volts("(code + 0.5) / 1024 * 3.3 * (30 + 5.6) / 5.6") - 11.995).abs() < 5e-4);
    }

    #[test]
    fn single_precision_rounds_every_step() {
        let x = 1023.0_f32 / 3.0 * 0.1;
        assert_eq!(at("code / 3 * 0.1", Number::Single, 1023.0), f64::from(x));
        assert_eq!(
            at("sqrt(abs(-code)) + max(1, 2)", Number::Double, 16.0),
            6.0
        );
        assert_eq!(
            at("round(code / 10) - floor(2.7)", Number::Double, 16.0),
            0.0
        );
    }

    #[test]
    fn an_unknown_name_is_told_with_its_place() {
        let builder = Builder::new();
        let fault = write(
            &builder,
            &parse("1 + cod * 2").unwrap(),
            Number::Double,
            &|_| None,
        )
        .unwrap_err();
        assert_eq!((fault.start, fault.end), (4, 7));
    }
}
