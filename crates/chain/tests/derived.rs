//! Quantities that follow from the readings of channels.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

use chain::channel::{ChannelModel, ERROR, LIMIT, READING, build};
use finding::Sources;
use parts::Library;
use tape::Reading;

fn read(text: &str) -> (Option<board::Board>, Vec<finding::InputFault>) {
    let mut sources = Sources::new();
    let id = sources.add("board.toml", text);
    board::read(id, text, Library::shipped(), &chain::vocabulary())
}

fn model(text: &str, channel: &str) -> ChannelModel {
    let (board, faults) = read(text);
    let said: Vec<&String> = faults.iter().map(|f| &f.message).collect();
    let board = board.unwrap_or_else(|| panic!("{said:#?}"));
    let c = board.channels.iter().find(|c| c.name == channel).unwrap();
    build(&board, c).unwrap_or_else(|f| panic!("{}", f.message))
}

fn at(m: &ChannelModel, set: &[(&str, f64)]) -> Vec<f64> {
    let mut inputs = m.tape.nominal_inputs().to_vec();
    for (key, value) in set {
        let i = m
            .variables
            .iter()
            .position(|v| v.key == *key)
            .unwrap_or_else(|| panic!("no variable {key}"));
        inputs[i] = *value;
    }
    m.tape.values(&inputs, Reading::Smooth)
}

/// Voltage and current of the pump against one reference, and their product.
const POWER: &str = r#"
[references.vref]
voltage = "2.5 V ± 1 %"
[converters.adc]
bits = 16
[channels.feed]
quantity = "voltage"
span = "10 V to 15 V"
chain = [{ divider = { top = "50 kΩ", bottom = "10 kΩ" } }]
input = "adc"
reference = "vref"
[channels.drawn]
quantity = "voltage"
span = "0 V to 2.4 V"
input = "adc"
reference = "vref"
[derived.power]
quantity = "power"
span = "0 W to 24 W"
formula = "feed * drawn / shunt"
constants = { shunt = "1.5 Ω" }
accuracy = "2 % of reading"
[derived.share]
quantity = "ratio"
span = "0 % to 100 %"
formula = "100 * power * shunt / (feed * full)"
constants = { shunt = "1.5 Ω", full = 2.4 }
accuracy = "1 %"
"#;

#[test]
fn property_what_channels_share_adds_or_cancels_as_the_formula_says() {
    // A reference 1 % high makes every reading 1/1.01 of the truth: a product
    // of two readings 1/1.01² of it, their quotient right.
    let m = model(POWER, "power");
    let set = |vref: f64| {
        [
            ("channels.feed.quantity", 12.0),
            ("channels.drawn.quantity", 1.5),
            ("references.vref.tolerance", vref),
        ]
    };
    let nominal = at(&m, &set(0.0));
    assert!(
        (nominal[READING] - 12.0).abs() < 1e-9,
        "{}",
        nominal[READING]
    );
    assert!((nominal[LIMIT] - 0.24).abs() < 1e-12);
    let high = at(&m, &set(0.025));
    assert!((high[ERROR] - 12.0 * (1.0 / 1.0201 - 1.0)).abs() < 1e-9);
    let shared = m
        .variables
        .iter()
        .filter(|v| v.key == "references.vref.tolerance");
    assert_eq!(shared.count(), 1);
    // feed·drawn/(feed·2.4) is drawn/2.4: half the error, and a derived
    // quantity of a derived one.
    let m = model(POWER, "share");
    let high = at(&m, &set(0.025));
    let truth: f64 = 1.5 / 2.4;
    assert!(
        (high[ERROR] - truth * (1.0 / 1.01 - 1.0)).abs() < 1e-9,
        "{}",
        high[ERROR]
    );
    assert!((high[LIMIT] - 0.01).abs() < 1e-12);
}

#[test]
fn property_nothing_is_asked_outside_of_the_span() {
    let m = model(&POWER.replace("0 W to 24 W", "0 W to 10 W"), "power");
    let set = |drawn: f64| {
        [
            ("channels.feed.quantity", 12.0),
            ("channels.drawn.quantity", drawn),
            ("references.vref.tolerance", 0.025),
        ]
    };
    assert_eq!(at(&m, &set(1.5))[ERROR], 0.0);
    assert!(at(&m, &set(1.0))[ERROR] < -0.1);
}

#[test]
fn property_names_of_a_formula_are_checked_at_their_places() {
    for (from, to, message) in [
        (
            "feed * drawn / shunt",
            "feed * drawm / shunt",
            "nothing is named `drawm`",
        ),
        (
            "[derived.share]",
            "[derived.feed]",
            "the name `feed` is used twice",
        ),
        // A derived quantity may use earlier ones only.
        (
            "feed * drawn / shunt",
            "feed * share / shunt",
            "nothing is named `share`",
        ),
    ] {
        let text = POWER.replace(from, to);
        let (_, faults) = read(&text);
        assert_eq!(faults.len(), 1, "{faults:#?}");
        assert!(faults[0].message.contains(message), "{}", faults[0].message);
    }
}

#[test]
fn property_units_are_those_of_the_channels() {
    // Two temperatures in °C: their difference in K is that of the readings.
    let text = r#"
[rails.main]
voltage = "3.3 V"
[converters.adc]
supply = "main"
bits = 16
[channels.inlet]
quantity = "temperature"
span = "0 °C to 60 °C"
sensor = { part = "platinum-1000-class-a", figures = { self-heating = { typ = "0 K/W", max = "0 K/W" } } }
chain = [{ pull-up = "1 kΩ", to = "main" }]
input = "adc"
[channels.outlet]
quantity = "temperature"
span = "0 °C to 60 °C"
sensor = { part = "platinum-1000-class-a", figures = { self-heating = { typ = "0 K/W", max = "0 K/W" } } }
chain = [{ pull-up = "1 kΩ", to = "main" }]
input = "adc"
[derived.cooling]
quantity = "power"
span = "0 kW to 5 kW"
formula = "0.08 * (inlet - outlet)"
"#;
    let m = model(text, "cooling");
    let outputs = at(
        &m,
        &[
            ("channels.inlet.quantity", 323.15),
            ("channels.outlet.quantity", 293.15),
        ],
    );
    assert!(
        (outputs[READING] - 2400.0).abs() < 1e-6,
        "{}",
        outputs[READING]
    );
}
