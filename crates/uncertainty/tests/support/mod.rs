//! Small models for the tests.
#![allow(dead_code, reason = "each test file uses its part")]

use statistics::Shape;
use tape::{Builder, Value};
use uncertainty::{Input, Model};

/// A model of `f` over board inputs (name, shape); nominal values are means.
pub fn model(inputs: &[(&str, Shape)], f: impl for<'t> Fn(&[Value<'t>]) -> Value<'t>) -> Model {
    outputs(inputs, |v| vec![f(v)])
}

/// The same with several outputs, the first of which is the error.
pub fn outputs(
    inputs: &[(&str, Shape)],
    f: impl for<'t> Fn(&[Value<'t>]) -> Vec<Value<'t>>,
) -> Model {
    let builder = Builder::new();
    let values: Vec<Value<'_>> = inputs
        .iter()
        .map(|(n, s)| builder.input(n, "", s.mean()))
        .collect();
    let found = f(&values);
    Model {
        tape: builder.finish(&found),
        inputs: inputs
            .iter()
            .enumerate()
            .map(|(i, (n, s))| Input::board(n, "", *s, i as u64 + 1))
            .collect(),
        error: 0,
        limit: None,
    }
}

/// Equally likely within ± `half`.
pub fn rectangular(half: f64) -> Shape {
    Shape::Rectangular {
        low: -half,
        high: half,
    }
}

/// Normal.
pub fn normal(mean: f64, deviation: f64) -> Shape {
    Shape::Normal { mean, deviation }
}
