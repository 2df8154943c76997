//! Quantities that alternate: the root mean square or the peak that the
//! firmware makes of samples about a bias.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

use chain::channel::{CODE, ChannelModel, ERROR, READING, VOLT, build, windowed};
use chain::variables::Lies;
use finding::Sources;
use parts::Library;
use tape::Reading;

/// A transformer 1:1000 with 47 Ω to a bias of 1.5 V, 12 bits of 3 V, samples
/// every 0.1 ms.
fn text(ac: &str, average: u32, more: &str) -> String {
    format!(
        r#"
[rails.logic]
voltage = "3.3 V ± 0 %"
[references.vref]
voltage = "3.0 V ± 0 %"
[references.bias]
voltage = "1.5 V ± 1 %"
[controllers.mcu]
part = "stm32f103"
supply = "logic"
[scan]
clock = "2.52 MHz"
acquisition = "239.5 cycles"
[channels.load]
quantity = "current"
span = "1 A to 20 A"
ac = {ac}
sensor = {{ part = "current-transformer", foot = "bias", figures = {{ ratio-error = {{ max = "0.5 %", basis = "measured" }} }} }}
chain = [{{ burden = {{ r = "47 Ω 0 %", to = "bias" }} }}{more}]
rate = "5 /s"
average = {average}
input = "mcu.adc.3"
reference = "vref"
"#
    )
}

fn board(text: &str) -> board::Board {
    let mut sources = Sources::new();
    let id = sources.add("case.toml", text);
    let (board, faults) = board::read(id, text, Library::shipped(), &chain::vocabulary());
    let said: Vec<String> = faults
        .iter()
        .map(|f| format!("{} {}", sources.place(f.span), f.message))
        .collect();
    board.unwrap_or_else(|| panic!("{said:#?}"))
}

fn model(text: &str) -> ChannelModel {
    let board = board(text);
    build(&board, &board.channels[0]).unwrap_or_else(|f| panic!("{}", f.message))
}

/// Outputs with everything nominal but one input, at a current.
fn at(m: &ChannelModel, ampere: f64, set: &[(&str, f64)]) -> Vec<f64> {
    let mut inputs = m.tape.nominal_inputs().to_vec();
    inputs[0] = ampere;
    for (key, value) in set {
        let i = m
            .variables
            .iter()
            .position(|v| v.key == *key)
            .unwrap_or_else(|| {
                let keys: Vec<&str> = m.variables.iter().map(|v| v.key.as_str()).collect();
                panic!("no {key} in {keys:#?}")
            });
        inputs[i] = *value;
    }
    m.tape.values(&inputs, Reading::Exact)
}

#[track_caller]
fn close(value: f64, expected: f64, within: f64) {
    assert!(
        (value - expected).abs() <= within,
        "{value} is not {expected}"
    );
}

#[test]
fn crest_and_bias_of_a_sine_by_hand() {
    // 20 A rms peak at 28.28 A, 28.28 mA, 1.3294 V above 1.5 V, and as much
    // below it.
    let m = model(&text("{ frequency = \"50 Hz ± 0 %\" }", 200, ""));
    let out = at(&m, 20.0, &[]);
    close(out[VOLT], 1.5 + 0.02 * 2.0_f64.sqrt() * 47.0, 1e-9);
    close(out[CODE], out[VOLT] / 3.0 * 4096.0, 1e-6);
    close(out[READING], 20.0, 1e-6);
    // The bias is gone with the mean.
    let out = at(&m, 20.0, &[("references.bias.tolerance", 0.015)]);
    close(out[ERROR], 0.0, 1e-6);
    // A square wave of the same rms stays at its rms.
    let m = model(&text(
        "{ frequency = \"50 Hz ± 0 %\", waveform = \"square\" }",
        200,
        "",
    ));
    close(at(&m, 20.0, &[])[VOLT], 1.5 + 0.02 * 47.0, 1e-9);
    // Where peaks are asked, spans are peaks.
    let m = model(&text(
        "{ frequency = \"50 Hz ± 0 %\", reading = \"peak\" }",
        200,
        "",
    ));
    let out = at(&m, 20.0, &[]);
    close(out[VOLT], 1.5 + 0.02 * 47.0, 1e-9);
    close(out[READING], 20.0, 1e-6);
}

#[test]
fn the_chain_leaves_less_at_its_frequency_than_of_direct_current() {
    // 1 kΩ (and the 47 Ω of the burden) with 1 µF at 50 Hz: x = 2π·50·1.047 ms
    // = 0.328925; 1/√(1 + x²) = 0.949932. Tolerances of 10 % of C alone move it
    // by x²/(1 + x²)·10 % of itself, 0.93 % down and somewhat less up.
    let m = model(&text(
        "{ frequency = \"50 Hz ± 0 %\" }",
        200,
        ", { low-pass = { r = \"1 kΩ 0 %\", c = \"1 µF 10 %\" } }",
    ));
    let key = "channels.load.chain-at-frequency";
    let lies = m.variables.iter().find(|v| v.key == key).unwrap().lies;
    let Lies::Between(low, high) = lies else {
        panic!("{lies:?}")
    };
    let share = |x: f64| 1.0 / (1.0 + x * x).sqrt();
    let x = std::f64::consts::TAU * 50.0 * 1.047e-3;
    close(high - low, share(0.9 * x) - share(1.1 * x), 2e-4);
    let middle = 0.5 * (share(0.9 * x) + share(1.1 * x));
    close(at(&m, 20.0, &[])[READING], 20.0 * middle, 5e-3);
    close(share(x), 0.949_932, 1e-6);
}

#[test]
fn a_window_beside_whole_periods_reads_by_its_phase() {
    // 220 samples of 0.1 ms are 1.1 periods: D = sin(2.2π)/(220·sin(0.01π)) =
    // 0.085052, √(1 − D) − 1 = −4.35 %, √(1 + D) − 1 = +4.17 %, before the
    // mean is taken off.
    let board = |average: u32| board(&text("{ frequency = \"50 Hz ± 0 %\" }", average, ""));
    let b = board(220);
    let w = windowed(&b, &b.channels[0]).unwrap();
    close(w.rate_hz, 1e4, 1e-6);
    assert!(w.error.0 < -0.02 && w.error.0 > -0.06, "{:?}", w.error);
    assert!(w.error.1 > 0.02 && w.error.1 < 0.06, "{:?}", w.error);
    let m = model(&text("{ frequency = \"50 Hz ± 0 %\" }", 220, ""));
    let key = "channels.load.window@";
    let out = at(&m, 20.0, &[(key, w.error.1)]);
    close(out[READING], 20.0 * (1.0 + w.error.1), 1e-6);
    // 200 are one period.
    let b = board(200);
    let w = windowed(&b, &b.channels[0]).unwrap();
    close(w.error.0, 0.0, 1e-12);
    close(w.error.1, 0.0, 1e-12);
}

#[test]
fn noise_enters_the_root_mean_square_as_it_enters_the_mean() {
    // mean(s·n)/rms(s) has the standard deviation σ/√N, like mean(n): a volt
    // of what the noise variable stands for is a volt of the reading.
    let m = model(&text("{ frequency = \"50 Hz ± 0 %\" }", 200, ""));
    let key = m
        .variables
        .iter()
        .map(|v| v.key.clone())
        .find(|k| k.contains("rounding.samples"))
        .unwrap();
    let lies = m.variables.iter().find(|v| v.key == key).unwrap().lies;
    let half = 0.5 / 200.0_f64.sqrt();
    assert_eq!(lies, Lies::Between(-half, half));
    let ampere_per_code = 3.0 / 4096.0 / 47.0 * 1000.0;
    close(
        at(&m, 10.0, &[(&key, half)])[ERROR],
        half * ampere_per_code,
        1e-9,
    );
}

#[test]
fn faults_are_told_where_they_are() {
    let told = |ac: &str| {
        let text = text(ac, 200, "");
        let mut sources = Sources::new();
        let id = sources.add("case.toml", &text);
        let (_, faults) = board::read(id, &text, Library::shipped(), &chain::vocabulary());
        faults
            .iter()
            .map(|f| format!("{} {}", f.message, f.expected))
            .collect::<Vec<String>>()
            .join("; ")
    };
    assert!(told("{ waveform = \"sine\" }").contains("frequency"));
    assert!(
        told("{ frequency = \"50 Hz\", waveform = \"sinus\" }")
            .contains("no waveform is named `sinus`")
    );
    assert!(told("{ frequency = \"50 Hz\", crest = 0.5 }").contains("a crest factor is 0.5"));
    assert!(told("{ frequency = \"50 Hz\", reading = \"mean\" }").contains("`mean`"));
    assert!(told("{ frequency = \"0 Hz\" }").contains("above zero"));
    let negative =
        text("{ frequency = \"50 Hz\" }", 200, "").replace("1 A to 20 A", "-20 A to 20 A");
    let mut sources = Sources::new();
    let id = sources.add("case.toml", &negative);
    let (_, faults) = board::read(id, &negative, Library::shipped(), &chain::vocabulary());
    assert!(
        faults.iter().any(|f| f.message.contains("not negative")),
        "{faults:?}"
    );
    assert!(
        told("{ frequency = \"50 Hz\", crest = 2.0, waveform = \"sine\" }")
            .contains("say the same")
    );
}

#[test]
fn a_converter_that_averages_takes_the_wave_away() {
    // Third order with its first notch at 50 Hz: nothing of 50 Hz is left.
    let text = r#"
[rails.main]
voltage = "3 V ± 0 %"
[references.vref]
voltage = "2.5 V ± 0 %"
[references.bias]
voltage = "1.25 V ± 0 %"
[converters.slow]
part = "ad7799"
supply = "main"
[channels.x]
quantity = "voltage"
span = "0.1 V to 0.5 V"
ac = { frequency = "50 Hz ± 0 %" }
sensor = { foot = "bias" }
rate = "10 /s"
data-rate = "50 /s"
input = "slow.adc.1"
reference = "vref"
"#;
    let m = model(text);
    let out = at(&m, 0.5, &[]);
    assert!(out[READING].abs() < 1e-6, "{}", out[READING]);
}
