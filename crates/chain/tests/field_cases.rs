//! Reported measuring chains that misbehaved, as board files: the numbers the
//! reports give (public forum threads and data sheets, retold), recomputed by
//! hand in the comments.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

use chain::channel::{ChannelModel, build};
use finding::Sources;
use parts::Library;
use tape::Reading;

fn model(text: &str, channel: &str) -> ChannelModel {
    let mut sources = Sources::new();
    let id = sources.add("case.toml", text);
    let (board, faults) = board::read(id, text, Library::shipped(), &chain::vocabulary());
    let said: Vec<String> = faults
        .iter()
        .map(|f| format!("{} {}", sources.place(f.span), f.message))
        .collect();
    let board = board.unwrap_or_else(|| panic!("{said:#?}"));
    let c = board.channels.iter().find(|c| c.name == channel).unwrap();
    build(&board, c).unwrap_or_else(|f| panic!("{}", f.message))
}

/// All outputs with every input nominal but those named.
fn at(m: &ChannelModel, set: &[(&str, f64)], reading: Reading) -> Vec<f64> {
    let mut inputs = m.tape.nominal_inputs().to_vec();
    for (key, value) in set {
        let i = m
            .variables
            .iter()
            .position(|v| v.key == *key)
            .unwrap_or_else(|| panic!("no variable {key}"));
        inputs[i] = *value;
    }
    m.tape.values(&inputs, reading)
}

#[test]
fn published_shunt_reference_with_no_margin() {
    // A 3.000 V shunt reference from 5 V through 10 kΩ; least shunt current
    // 100 µA, converter 100 µA: 200 µA at exactly 5 V, 175 µA at −5 %; the
    // resistor must be at most (4.75 − 3.015)/200 µA = 8.67 kΩ.
    let text = r#"
[parts.shunt-3v]
kind = "shunt-reference"
[parts.shunt-3v.figures]
voltage = { typ = "3 V" }
initial-accuracy = { max = "0.5 %" }
minimum-current = { max = "100 µA" }
[rails.main]
voltage = "5 V ± 5 %"
[references.vref]
part = "shunt-3v"
supply = "main"
series = "10 kΩ"
load = "100 µA"
[converters.adc]
supply = "main"
bits = 12
[channels.x]
quantity = "voltage"
span = "0 V to 3 V"
input = "adc"
reference = "vref"
"#;
    let m = model(text, "x");
    let check = m
        .checks
        .iter()
        .find(|c| c.kind == "shunt-current-low")
        .expect("a check of the shunt's current");
    let nominal = at(&m, &[], Reading::Exact);
    assert!((nominal[check.actual] - 100e-6).abs() < 1e-12 && nominal[check.margin].abs() < 1e-12);
    let low = at(
        &m,
        &[
            ("rails.main.tolerance", -0.25),
            ("references.vref.initial", 0.005),
        ],
        Reading::Exact,
    );
    // (4.75 − 3.015)/10 kΩ − 100 µA = 73.5 µA; what may be fitted: 8.675 kΩ.
    assert!((low[check.actual] - 73.5e-6).abs() < 1e-9);
    assert!(low[check.margin] < 0.0);
    assert!(
        (low[check.working] - 8675.0).abs() < 1.0,
        "{}",
        low[check.working]
    );
    // With a third of the resistor three times the current flows and the
    // voltage is still the reference's own: starvation explains no 16 mV.
    let third = model(&text.replace("\"10 kΩ\"", "\"3.3 kΩ\""), "x");
    let outputs = at(&third, &[], Reading::Exact);
    assert!((outputs[chain::channel::REFERENCE] - 3.0).abs() < 1e-12);
}

const RTD: &str = r#"
[rails.ref]
voltage = "2.5 V"
[converters.adc]
supply = "ref"
bits = 24
[channels.t]
quantity = "temperature"
span = "-50 °C to 400 °C"
sensor = { part = "platinum-100-class-b", leads = "0.5 Ω each", figures = { self-heating = { typ = "0 K/W", max = "0 K/W" }, class-at-zero = { max = "0 K" }, class-slope = { max = 0 } } }
chain = [{ pull-up = "10 kΩ", to = "ref" }]
input = "adc"
"#;

#[test]
fn published_two_wire_platinum_reads_high_by_its_leads() {
    // 1.00 Ω of leads: +2.56 °C at 0 °C, +2.64 at 100 °C, +2.81 at 300 °C.
    // The firmware knows of no leads.
    let assumed =
        format!("{RTD}conversion = {{ assume = {{ \"channels.t.sensor.leads\" = \"0 Ω\" }} }}\n");
    let m = model(&assumed, "t");
    for (celsius, error) in [(0.0, 2.56), (100.0, 2.64), (300.0, 2.81)] {
        let e = at(
            &m,
            &[("channels.t.quantity", celsius + 273.15)],
            Reading::Exact,
        )[0];
        assert!((e - error).abs() < 0.03, "{celsius} °C: {e}");
    }
}

#[test]
fn published_cold_junction_warmer_than_the_terminals() {
    // Type K, terminals 25 °C, the converter's own sensor 8 K warmer: +8.0 at
    // 25 °C, +8.0 at 240 °C, +8.1 at 200 °C. Freezing the value at 25 °C when
    // the terminals are at 35 °C: −10.1 at 240 °C.
    let text = |junction: &str, ambient: &str| {
        format!(
            r#"
[conditions]
ambient = "{ambient}"
[rails.ref]
voltage = "2.5 V"
[converters.adc]
supply = "ref"
bits = 24
[channels.junction]
quantity = "temperature"
span = "0 °C to 60 °C"
sensor = {{ law = "linear-voltage", warmed = "8 K", figures = {{ offset = {{ typ = "0.5 V" }}, slope = {{ typ = "10 mV/K" }} }} }}
input = "adc"
[channels.hot]
quantity = "temperature"
span = "20 °C to 260 °C"
sensor = {{ law = "thermocouple", options = {{ type = "K" }}, cold-junction = "{junction}" }}
input = "adc"
"#
        )
    };
    let m = model(&text("junction", "25 °C"), "hot");
    for (celsius, error) in [(25.0, 8.0), (240.0, 8.0), (200.0, 8.1)] {
        let e = at(
            &m,
            &[("channels.hot.quantity", celsius + 273.15)],
            Reading::Smooth,
        )[0];
        assert!((e - error).abs() < 0.2, "{celsius} °C: {e}");
    }
    let m = model(&text("25 °C", "35 °C"), "hot");
    let e = at(
        &m,
        &[("channels.hot.quantity", 240.0 + 273.15)],
        Reading::Smooth,
    )[0];
    assert!((e + 10.1).abs() < 0.2, "{e}");
}

#[test]
fn published_electrode_loaded_by_the_converter() {
    // 300 MΩ into 25 MΩ: 1/13 of 59.16 mV/pH is left, 4.55 mV/pH. For 0.01 pH
    // from bias current alone at most 2.0 pA.
    let text = r#"
[rails.ref]
voltage = "2.5 V"
[converters.adc]
supply = "ref"
bits = 24
figures = { input-resistance = { typ = "25 MΩ" } }
[channels.must]
quantity = "acidity"
span = "0 pH to 14 pH"
sensor = { law = "glass-electrode", figures = { resistance-25 = { typ = "300 MΩ" } }, temperature = "25 °C" }
input = "adc"
"#;
    let m = model(text, "must");
    let volt =
        |ph: f64| at(&m, &[("channels.must.quantity", ph)], Reading::Exact)[chain::channel::VOLT];
    let slope = (volt(6.0) - volt(7.0)).abs();
    assert!((slope - 4.55e-3).abs() < 0.01 * 4.55e-3, "{slope}");
    let biased = text.replace(
        "input-resistance = { typ = \"25 MΩ\" }",
        "input-leakage = { max = \"1.97 pA\" }",
    );
    let m = model(&biased, "must");
    let e = at(&m, &[("adc..leakage", 1.97e-12)], Reading::Smooth)[0];
    assert!((e.abs() - 0.01).abs() < 0.0005, "{e}");
}

#[test]
fn published_leakage_through_a_protection_resistor() {
    // 10 bits at 5 V, 100 nA hot: 5 mV with 50 kΩ is 1.0 code, 10 mV with
    // 100 kΩ 2.0 codes; 40 °C cooler a sixteenth (0.06 code with 50 kΩ).
    let text = |ohm: &str| {
        format!(
            r#"
[conditions]
ambient = "85 °C to 125 °C"
[rails.ref]
voltage = "5 V"
[converters.adc]
supply = "ref"
bits = 10
figures = {{ input-leakage = {{ max = "100 nA", reference-temperature = "125 °C" }} }}
[channels.x]
quantity = "voltage"
span = "0 V to 5 V"
chain = [{{ series = "{ohm}" }}]
input = "adc"
"#
        )
    };
    let codes = |ohm: &str, kelvin: f64| {
        let m = model(&text(ohm), "x");
        let here = |a: f64| {
            at(
                &m,
                &[("adc..leakage", a), ("ambient", kelvin)],
                Reading::Smooth,
            )[chain::channel::CODE]
        };
        here(100e-9) - here(0.0)
    };
    assert!((codes("50 kΩ", 398.15) - 1.02).abs() < 0.05);
    assert!((codes("100 kΩ", 398.15) - 2.05).abs() < 0.1);
    assert!((codes("50 kΩ", 358.15) - 0.064).abs() < 0.003);
}

#[test]
fn published_thermistor_divider_and_its_best_resistor() {
    // 4 kΩ to 115 kΩ with one resistor: √(4·115) = 21.4 kΩ gives 702 of 1024
    // codes; 10 kΩ 650; 4 kΩ and 115 kΩ 478.
    let codes = |ohm: &str| {
        let text = format!(
            r#"
[rails.ref]
voltage = "3.3 V"
[converters.adc]
supply = "ref"
bits = 10
[channels.x]
quantity = "resistance"
span = "4 kΩ to 115 kΩ"
chain = [{{ pull-up = "{ohm}", to = "ref" }}]
input = "adc"
"#
        );
        let m = model(&text, "x");
        let here =
            |r: f64| at(&m, &[("channels.x.quantity", r)], Reading::Exact)[chain::channel::CODE];
        here(115e3) - here(4e3)
    };
    assert!((codes("21.4 kΩ") - 702.0).abs() < 3.0);
    assert!((codes("10 kΩ") - 650.0).abs() < 3.0);
    assert!((codes("4 kΩ") - 478.0).abs() < 3.0);
    assert!((codes("115 kΩ") - 478.0).abs() < 3.0);
}

#[test]
fn published_one_point_calibration_that_does_not_transfer() {
    // A converter reads 1.75 V at a true 1.65 V and 3.9 V at 3.3 V; one line
    // through zero and the first point gives 3.677 V at 3.3 V, +11.4 %; the
    // second attempt gives 1.481 V at 1.65 V, −10.3 %.
    let text = |point: &str| {
        format!(
            r#"
[rails.ref]
voltage = "5 V"
[converters.adc]
supply = "ref"
bits = 24
[channels.x]
quantity = "voltage"
span = "0 V to 3.4 V"
sensor = {{ law = "voltage-table", figures = {{ points = {{ points = [["0 V", "0 V"], ["1.65 V", "1.75 V"], ["3.3 V", "3.9 V"]] }} }}, options = {{ curve = "straight" }} }}
input = "adc"
conversion = {{ formula = "(code + 0.5) / 16777216 * 5.0" }}
calibrate = {{ at = ["{point}"], fit = "gain" }}
"#
        )
    };
    let m = model(&text("1.65 V"), "x");
    let e = at(&m, &[("channels.x.quantity", 3.3)], Reading::Exact)[0];
    assert!((e / 3.3 - 0.114).abs() < 0.005, "{e}");
    let m = model(&text("3.3 V"), "x");
    let e = at(&m, &[("channels.x.quantity", 1.65)], Reading::Exact)[0];
    assert!((e / 1.65 + 0.103).abs() < 0.005, "{e}");
}

#[test]
fn published_loop_burden_at_full_scale() {
    // 165 Ω with 3.3 V full scale: 20.0 mA is exactly full scale, with the
    // rail 2 % low it clips at 19.6 mA; break at 3.6 mA is 0.594 V.
    let text = r#"
[rails.logic]
voltage = "3.3 V ± 2 %"
[converters.adc]
supply = "logic"
bits = 12
[channels.loop]
quantity = "current"
span = "3.6 mA to 21 mA"
sensor = { law = "shunt", figures = { resistance = { typ = "165 Ω" } } }
input = "adc"
"#;
    let m = model(text, "loop");
    let code = |ampere: f64, rail: f64| {
        at(
            &m,
            &[
                ("channels.loop.quantity", ampere),
                ("rails.logic.tolerance", rail),
            ],
            Reading::Exact,
        )[chain::channel::CODE]
    };
    assert!((code(20e-3, 0.0) - 4096.0).abs() < 0.5);
    assert!((code(19.6e-3, -0.066) - 4096.0).abs() < 0.5);
    let check = m.checks.iter().find(|c| c.kind == "code-high").unwrap();
    let outputs = at(&m, &[("channels.loop.quantity", 21e-3)], Reading::Exact);
    assert!(outputs[check.margin] < 0.0, "21 mA reads as 20 mA");
    assert!(
        (at(&m, &[("channels.loop.quantity", 3.6e-3)], Reading::Exact)[chain::channel::VOLT]
            - 0.594)
            .abs()
            < 1e-9
    );
}

#[test]
fn channels_that_need_each_other_are_told_and_many_that_do_not_are_built_once() {
    let head = "[rails.ref]\nvoltage = \"2.5 V\"\n[converters.adc]\nsupply = \"ref\"\nbits = 12\n";
    let channel = |name: &str, formula: &str| {
        format!(
            "[channels.{name}]\nquantity = \"voltage\"\nspan = \"0 V to 2 V\"\ninput = \"adc\"\nconversion = {{ formula = \"{formula}\" }}\n"
        )
    };
    let text = format!(
        "{head}{}{}",
        channel("a", "code * b"),
        channel("b", "code * a")
    );
    let mut sources = Sources::new();
    let id = sources.add("loop.toml", &text);
    let (board, _) = board::read(id, &text, Library::shipped(), &chain::vocabulary());
    let board = board.unwrap();
    let fault = build(&board, &board.channels[0]).err().expect("a loop");
    assert!(fault.message.contains("in a loop"), "{}", fault.message);
    // Each channel names the two before it: built naively that doubles with
    // every channel.
    let mut text = format!("{head}{}", channel("c0", "code"));
    text += &channel("c1", "code + c0");
    for i in 2..40 {
        text += &channel(
            &format!("c{i}"),
            &format!("code + 0 * c{} + 0 * c{}", i - 1, i - 2),
        );
    }
    let m = model(&text, "c39");
    assert!(
        m.tape.operation_count() < 20_000,
        "{}",
        m.tape.operation_count()
    );
}

#[test]
fn a_leakage_limit_without_a_temperature_holds_at_all() {
    // As data sheets print it, over the part's range: the same at 85 °C as at
    // 25 °C. Stated at 25 °C it is 2^6 = 64 times as much 60 °C warmer.
    let codes = |stated: &str, kelvin: f64| {
        let text = format!(
            "[conditions]\nambient = \"25 °C to 85 °C\"\n[rails.ref]\nvoltage = \"5 V\"\n[converters.adc]\nsupply = \"ref\"\nbits = 10\nfigures = {{ input-leakage = {{ max = \"10 nA\"{stated} }} }}\n[channels.x]\nquantity = \"voltage\"\nspan = \"0 V to 5 V\"\nchain = [{{ series = \"100 kΩ\" }}]\ninput = \"adc\"\n"
        );
        let m = model(&text, "x");
        let here = |a: f64| {
            let set = [("adc..leakage", a), ("ambient", kelvin)];
            at(&m, &set, Reading::Smooth)[chain::channel::CODE]
        };
        here(10e-9) - here(0.0)
    };
    // 10 nA · 100 kΩ = 1 mV, 0.2048 codes.
    assert!((codes("", 298.15) - 0.2048).abs() < 0.001);
    assert!((codes("", 358.15) - 0.2048).abs() < 0.001);
    let stated = ", reference-temperature = \"25 °C\"";
    assert!((codes(stated, 298.15) - 0.2048).abs() < 0.001);
    assert!((codes(stated, 358.15) - 64.0 * 0.2048).abs() < 0.05);
}
