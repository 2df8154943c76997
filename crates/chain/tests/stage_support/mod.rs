//! Boards with stages, and their models at chosen values.

use chain::channel::{ChannelModel, Check, VOLT, build};
use finding::Sources;
use parts::Library;
use tape::Reading;

/// The model of a board's only channel.
pub fn model(text: &str) -> ChannelModel {
    let mut sources = Sources::new();
    let id = sources.add("stage.toml", text);
    let (board, faults) = board::read(id, text, Library::shipped(), &chain::vocabulary());
    let said: Vec<String> = faults
        .iter()
        .map(|f| format!("{} {}", sources.place(f.span), f.message))
        .collect();
    let board = board.unwrap_or_else(|| panic!("{said:#?}"));
    build(&board, &board.channels[0]).unwrap_or_else(|f| panic!("{}", f.message))
}

/// All outputs with every input nominal but those named.
pub fn at(m: &ChannelModel, set: &[(&str, f64)]) -> Vec<f64> {
    let mut inputs = m.tape.nominal_inputs().to_vec();
    for (key, value) in set {
        let i = m
            .variables
            .iter()
            .position(|v| v.key == *key)
            .unwrap_or_else(|| {
                let known: Vec<&str> = m.variables.iter().map(|v| v.key.as_str()).collect();
                panic!("no variable {key} among {known:#?}")
            });
        inputs[i] = *value;
    }
    m.tape.values(&inputs, Reading::Smooth)
}

/// The voltage at the converter.
#[allow(dead_code, reason = "not every test asks for it")]
pub fn volt(m: &ChannelModel, set: &[(&str, f64)]) -> f64 {
    at(m, set)[VOLT]
}

/// A check of the model.
#[allow(dead_code, reason = "not every test asks for it")]
pub fn check<'m>(m: &'m ChannelModel, kind: &str) -> &'m Check {
    m.checks.iter().find(|c| c.kind == kind).unwrap_or_else(|| {
        let known: Vec<&str> = m.checks.iter().map(|c| c.kind).collect();
        panic!("no check {kind} among {known:?}")
    })
}

/// Within a share of the expected value.
#[allow(dead_code, reason = "not every test asks for it")]
#[track_caller]
pub fn close(value: f64, expected: f64, share: f64) {
    assert!(
        (value - expected).abs() <= share * expected.abs(),
        "{value} against {expected}"
    );
}
