//! The model that the benchmarks share.

use statistics::Shape;
use tape::Builder;
use uncertainty::{Input, Model, Role};

/// Kelvin at 0 °C.
const ICE_K: f64 = 273.15;
/// Counts of the converter.
pub const CODES: f64 = 4096.0;

/// A thermistor of 10 kΩ at 25 °C under a pull-up of 10 kΩ, read against its
/// reference with 12 bits, temperature by the beta law with nominal
/// constants: 12 uncertain inputs, error in kelvin. Conditions are the
/// temperature in °C and the ambient of the board in °C. All figures are
/// invented.
#[must_use]
pub fn thermistor() -> Model {
    let b = Builder::new();
    let mut inputs = Vec::new();
    let board = |inputs: &mut Vec<Input>, name: &str, unit: &str, shape: Shape| {
        let stream = inputs.len() as u64;
        inputs.push(Input::board(name, unit, shape, stream));
        b.input(name, unit, 0.0)
    };
    let within = |half: f64| Shape::Rectangular {
        low: -half,
        high: half,
    };
    let normal = |deviation: f64| Shape::Normal {
        mean: 0.0,
        deviation,
    };
    inputs.push(Input::condition(
        "temperature",
        "°C",
        (0..9).map(|i| -10.0 + 7.5 * f64::from(i)).collect(),
    ));
    let celsius = b.input("temperature", "°C", 25.0);
    inputs.push(Input::condition(
        "ambient",
        "°C",
        vec![0.0, 10.0, 20.0, 30.0, 40.0],
    ));
    let ambient = b.input("ambient", "°C", 20.0);
    let reference = board(&mut inputs, "reference", "V", within(0.005)) + 3.0;
    let tolerance = board(&mut inputs, "pull-up tolerance", "", within(0.001));
    let drift = board(&mut inputs, "pull-up drift", "1/K", within(25e-6));
    let ageing = board(&mut inputs, "pull-up ageing", "", within(0.0005));
    let r25 = board(&mut inputs, "R25", "", within(0.01));
    let beta = board(&mut inputs, "beta", "", within(0.005));
    let knot = board(&mut inputs, "nonlinearity", "codes", within(1.0));
    let offset = board(&mut inputs, "offset", "codes", within(1.5));
    let gain = board(&mut inputs, "gain", "", within(0.0005));
    let leakage = board(&mut inputs, "leakage", "A", within(50e-9));
    let noise = board(&mut inputs, "noise", "codes", normal(0.4));
    let dither = board(&mut inputs, "dither", "K", within(0.01));
    for input in inputs.iter_mut().rev().take(2) {
        input.role = Role::Reading;
    }

    let kelvin = celsius + dither + ICE_K;
    let law = (beta + 1.0) * 3950.0;
    let thermistor = ((b.one() / kelvin - 1.0 / (25.0 + ICE_K)) * law).exp() * (r25 + 1.0) * 10e3;
    let pull_up = (tolerance + 1.0) * (drift * (ambient - 25.0) + 1.0) * (ageing + 1.0) * 10e3;
    let node = (reference / pull_up + leakage) / (b.one() / pull_up + b.one() / thermistor);
    // The bow of a nonlinearity: zero at both ends.
    let share = node / reference;
    let bow = knot * share * (b.one() - share) * 4.0;
    let code = (share * (gain + 1.0) * CODES + offset + bow + noise).quantised();
    let ratio = (code + 0.5) / CODES;
    // What the firmware does, with the nominal constants.
    let ohms_over_r25 = ratio / (b.one() - ratio);
    let found = b.one() / (ohms_over_r25.ln() / 3950.0 + 1.0 / (25.0 + ICE_K));
    let error = found - (celsius + dither + ICE_K);
    let limit = b.constant(0.9);
    Model {
        tape: b.finish(&[error, limit]),
        inputs,
        error: 0,
        limit: Some(1),
    }
}

/// The same model with a further chain of `operations` arithmetic operations
/// that change nothing much, for the cost of a usual board.
#[must_use]
pub fn seconds(run: impl FnOnce()) -> f64 {
    let start = std::time::Instant::now();
    run();
    start.elapsed().as_secs_f64()
}
