//! Signals that stand between two nodes, and the converters that measure
//! between two inputs.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

use chain::channel::{CODE, ChannelModel, ERROR, Unmodelled, VOLT, build};
use finding::Sources;
use parts::Library;
use tape::Reading;

fn built(text: &str, channel: &str) -> Result<ChannelModel, Unmodelled> {
    let mut sources = Sources::new();
    let id = sources.add("board.toml", text);
    let (board, faults) = board::read(id, text, Library::shipped(), &chain::vocabulary());
    let said: Vec<String> = faults
        .iter()
        .map(|f| format!("{} {}", sources.place(f.span), f.message))
        .collect();
    let board = board.unwrap_or_else(|| panic!("{said:#?}"));
    let c = board.channels.iter().find(|c| c.name == channel).unwrap();
    build(&board, c)
}

fn model(text: &str) -> ChannelModel {
    built(text, "x").unwrap_or_else(|f| panic!("{}", f.message))
}

/// All outputs with every input nominal but those named.
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
    m.tape.values(&inputs, Reading::Exact)
}

fn actual(m: &ChannelModel, kind: &str, name: &str, outputs: &[f64]) -> f64 {
    let check = m
        .checks
        .iter()
        .find(|c| c.kind == kind && c.name == name)
        .unwrap_or_else(|| panic!("no check {kind} of {name}"));
    outputs[check.actual]
}

/// A load cell of 2 mV/V at 20 kg on a differential converter; excitation and
/// reference are the same rail.
const CELL: &str = r#"
[rails.main]
voltage = "5 V ± 5 %"
[converters.adc]
supply = "main"
bits = 24
differential = true
bipolar = true
[converters.adc.figures]
input-low = { min = "0.3 V" }
input-high = { max = "4.7 V" }
common-mode-rejection = { min = "100 dB" }
[channels.x]
quantity = "mass"
span = "0 kg to 20 kg"
sensor = { law = "bridge", supply = "main", figures = { sensitivity = { typ = "2 mV/V", max = "2 mV/V", min = "2 mV/V" }, rated = { typ = "20 kg", min = "20 kg", max = "20 kg" }, resistance = { typ = "350 Ω", min = "350 Ω", max = "350 Ω" } } }
input = { at = "adc.0-1", gain = 64 }
"#;

#[test]
fn property_a_bridge_stands_about_the_middle_of_its_excitation() {
    let m = model(CELL);
    let outputs = at(&m, &[("channels.x.quantity", 20.0)]);
    // 2 mV/V of 5 V: 10 mV between the outputs, 2.505 V and 2.495 V.
    assert!((outputs[VOLT] - 10e-3).abs() < 1e-12);
    let plus = actual(&m, "input-range-high", "adc, plus input", &outputs);
    let minus = actual(&m, "input-range-low", "adc, minus input", &outputs);
    assert!((plus - 2.505).abs() < 1e-12, "{plus}");
    assert!((minus - 2.495).abs() < 1e-12, "{minus}");
    // Half of 2^24 codes and 10 mV · 64/5 V of the other half.
    let code = 8_388_608.0 * (1.0 + 0.64 / 5.0);
    assert!((outputs[CODE] - code).abs() < 1e-3, "{}", outputs[CODE]);
    // The rail moves bridge, middle and reference alike.
    let up = at(
        &m,
        &[
            ("channels.x.quantity", 20.0),
            ("rails.main.tolerance", 0.25),
        ],
    );
    assert!((up[CODE] - code).abs() < 1e-3);
    let plus = actual(&m, "input-range-high", "adc, plus input", &up);
    assert!((plus - 0.501 * 5.25).abs() < 1e-12, "{plus}");
}

#[test]
fn property_the_middle_of_the_inputs_is_rejected_as_stated() {
    // 100 dB: a middle of 2.5 V looks like 25 µV between the inputs, which
    // is 0.05 kg of a cell that gives 10 mV at 20 kg.
    let m = model(CELL);
    let here = ("channels.x.quantity", 10.0);
    let none = at(&m, &[here])[ERROR];
    let most = at(&m, &[here, ("adc.adc.common-mode", 1e-5)])[ERROR];
    let step = 20.0 / (8_388_608.0 * 0.128);
    assert!((most - none - 0.05).abs() < 2.0 * step, "{most} {none}");
}

#[test]
fn property_leads_of_a_bridge_take_from_its_excitation() {
    // 350 Ω with 2 Ω in each of both feeding leads keeps 350/354 of the
    // excitation; the leads of the outputs carry no current.
    let text = CELL.replace(
        "supply = \"main\", figures",
        "supply = \"main\", leads = \"2 Ω each\", figures",
    );
    let m = model(&text);
    let outputs = at(&m, &[("channels.x.quantity", 20.0)]);
    assert!((outputs[VOLT] - 10e-3 * 350.0 / 354.0).abs() < 1e-12);
}

#[test]
fn property_a_divider_stands_across_the_two_nodes_of_a_bridge() {
    // 350 Ω of bridge in series with 10 kΩ, 10 kΩ across the pair: the plus
    // node comes down to the minus node, not to ground.
    let text = CELL.replace(
        "input = {",
        "chain = [{ divider = { top = \"10 kΩ\", bottom = \"10 kΩ\" } }]\ninput = {",
    );
    let m = model(&text);
    let outputs = at(&m, &[("channels.x.quantity", 20.0)]);
    assert!((outputs[VOLT] - 10e-3 * 10e3 / 20.35e3).abs() < 1e-12);
    let minus = actual(&m, "input-range-low", "adc, minus input", &outputs);
    let current = 10e-3 / 20.35e3;
    assert!((minus - (2.495 + current * 175.0)).abs() < 1e-12);
}

#[test]
fn property_a_bridge_does_not_enter_a_single_ended_converter() {
    let text = CELL
        .replace("differential = true", "")
        .replace("adc.0-1", "adc.0");
    let Err(fault) = built(&text, "x") else {
        panic!("a bridge against ground");
    };
    assert!(
        fault.message.contains("measures against ground"),
        "{}",
        fault.message
    );
    let span = fault.span.expect("a place");
    assert_eq!(&text[span.start as usize..span.end as usize], "\"adc.0\"");
}

#[test]
fn property_pairs_are_two_inputs_of_a_differential_converter() {
    let converter = r#"
[rails.main]
voltage = "3.3 V"
[converters.adc]
part = "ad7799"
supply = "main"
[channels.x]
quantity = "voltage"
span = "0 V to 1 V"
input = "adc.adc.CHANNEL"
reference = "main"
"#;
    let read = |channel: &str| {
        let text = converter.replace("CHANNEL", channel);
        let mut sources = Sources::new();
        let id = sources.add("board.toml", &text);
        board::read(id, &text, Library::shipped(), &chain::vocabulary()).1
    };
    assert!(read("1-2").is_empty());
    assert_eq!(read("1-1").len(), 1);
    assert!(read("1-9")[0].message.contains("no channel `1-9`"));
}

#[test]
fn property_a_resistive_sensor_with_a_supply_stands_above_the_signal() {
    // 30 kΩ from 3 V, 10 kΩ to ground: 0.75 V.
    let text = r#"
[rails.main]
voltage = "3 V"
[converters.adc]
supply = "main"
bits = 12
[channels.x]
quantity = "resistance"
span = "10 kΩ to 30 kΩ"
sensor = { law = "direct-resistance", supply = "main" }
chain = [{ pull-down = "10 kΩ" }]
input = "adc"
"#;
    let m = model(text);
    let outputs = at(&m, &[("channels.x.quantity", 30e3)]);
    assert!((outputs[VOLT] - 0.75).abs() < 1e-12);
    // Half a code of 4096 at code 1024: 10 kΩ · 4096/1024² · 0.5 = 19.5 Ω.
    assert!(outputs[ERROR].abs() < 19.6, "{}", outputs[ERROR]);
}
