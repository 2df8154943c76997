//! Spans that a converter hardly sees, and outputs that end at their supply.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

use chain::channel::{CODE, ChannelModel, ERROR, READING, VOLT, build};
use finding::Sources;
use parts::Library;
use tape::Reading;

fn model(text: &str) -> ChannelModel {
    let mut sources = Sources::new();
    let id = sources.add("board.toml", text);
    let (board, faults) = board::read(id, text, Library::shipped(), &chain::vocabulary());
    let said: Vec<&String> = faults.iter().map(|f| &f.message).collect();
    let board = board.unwrap_or_else(|| panic!("{said:#?}"));
    build(&board, &board.channels[0]).unwrap_or_else(|f| panic!("{}", f.message))
}

fn at(m: &ChannelModel, set: &[(&str, f64)]) -> Vec<f64> {
    let mut inputs = m.tape.nominal_inputs().to_vec();
    for (key, value) in set {
        let known: Vec<&String> = m.variables.iter().map(|v| &v.key).collect();
        let i = known
            .iter()
            .position(|k| k == key)
            .unwrap_or_else(|| panic!("no variable {key} in {known:#?}"));
        inputs[i] = *value;
    }
    m.tape.values(&inputs, Reading::Smooth)
}

fn platinum(span: &str) -> ChannelModel {
    model(&format!(
        r#"
[rails.main]
voltage = "3.3 V ± 0 %"
[converters.adc]
supply = "main"
bits = 12
[channels.t]
quantity = "temperature"
span = "{span}"
sensor = {{ law = "platinum", figures = {{ nominal-resistance = "1 kΩ" }} }}
chain = [{{ pull-up = "2.2 kΩ ± 0 %", to = "main" }}]
input = "adc"
reference = "main"
"#
    ))
}

/// The firmware's conversion does not depend on the span it was made for:
/// the inverse found over a hundredth of a kelvin is that of a wide span, on
/// the span and twenty codes beyond it.
#[test]
fn property_a_narrow_span_has_the_conversion_of_a_wide_one() {
    let wide = platinum("-50 °C to 90 °C");
    for (narrow, middle_k) in [
        ("19.5 °C to 20.5 °C", 293.15),
        ("19.95 °C to 20.05 °C", 293.15),
        ("19.995 °C to 20.005 °C", 293.15),
        ("-0.005 °C to 0.005 °C", 273.15),
        ("-200 °C to -199.99 °C", 73.155),
        ("849.99 °C to 850 °C", 1123.145),
    ] {
        let m = platinum(narrow);
        for off_k in [0.0, 0.004, -0.004, 1.5, -1.5] {
            let q = ("channels.t.quantity", middle_k + off_k);
            let own = at(&m, &[q]);
            assert!(
                own[ERROR].abs() < 1e-6 + 0.14,
                "{narrow}, {off_k}: {}",
                own[ERROR]
            );
            // Rounding read smoothly has a mean of half a code, which the
            // conversion takes back.
            let other = at(&wide, &[q]);
            assert!((own[CODE] - other[CODE]).abs() < 1e-9);
            let apart = (own[READING] - other[READING]).abs();
            assert!(apart < 2e-6, "{narrow}, {off_k} K beside: {apart} K apart");
        }
    }
}

/// A wiper does not leave its track: at its ends a deviation of the share
/// outwards changes nothing, and within it changes all.
#[test]
fn property_a_wiper_stays_on_its_track() {
    let m = model(
        r#"
[rails.main]
voltage = "3 V ± 0 %"
[converters.adc]
supply = "main"
bits = 16
[channels.p]
quantity = "position"
span = "0 mm to 100 mm"
sensor = { law = "potentiometer", supply = "main", figures = { travel-high = "100 mm", linearity = { max = "2 %" } } }
input = "adc"
reference = "main"
"#,
    );
    let volt = |q: f64, bend: f64| {
        at(
            &m,
            &[
                ("channels.p.quantity", q),
                ("channels.p.sensor.linearity", bend),
            ],
        )[VOLT]
    };
    assert!((volt(0.05, 0.02) - 1.56).abs() < 1e-9);
    assert!((volt(0.05, -0.02) - 1.44).abs() < 1e-9);
    assert!((volt(0.0, 0.02) - 0.06).abs() < 1e-9);
    assert!(volt(0.0, -0.02).abs() < 1e-9);
    assert!((volt(0.1, -0.02) - 2.94).abs() < 1e-9);
    assert!((volt(0.1, 0.02) - 3.0).abs() < 1e-9);
}

/// The burden of a transformer that stands on half a supply: the current
/// flows from the foot through the burden back to it, so the middle does not
/// move: 1.65 V ± 30 mA · 33 Ω.
#[test]
fn property_a_burden_ends_where_its_source_stands() {
    let m = model(
        r#"
[rails.main]
voltage = "3.3 V ± 0 %"
[rails.mid]
voltage = "1.65 V ± 0 %"
[converters.adc]
supply = "main"
bits = 16
[channels.c]
quantity = "current"
span = "-30 A to 30 A"
sensor = { law = "current-transformer", foot = "mid", figures = { ratio = { typ = 1000 } } }
chain = [{ burden = "33 Ω ± 0 %", to = "mid" }]
input = "adc"
reference = "main"
"#,
    );
    for (ampere, volt) in [(0.0, 1.65), (30.0, 2.64), (-30.0, 0.66)] {
        let found = at(&m, &[("channels.c.quantity", ampere)])[VOLT];
        assert!((found - volt).abs() < 1e-9, "{ampere} A: {found}");
    }
}
