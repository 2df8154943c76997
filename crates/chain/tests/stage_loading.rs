//! What sources of high resistance meet: dividers, thermistors, electrodes.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

mod stage_support;

use chain::channel::{CODE, ERROR};
use stage_support::{at, close, model, volt};

#[test]
fn published_divider_on_the_board_loads_the_source() {
    // A divider of 220 kΩ and 100 kΩ before a converter of 10 bits and 1.0 V;
    // the source is half of 3.3 V from two equal resistors R, so 1.65 V behind
    // R/2: v = 3.3·(R‖320k)/(R + R‖320k), code = v/3.2·1024: 457 at 100 kΩ
    // (read: about 450), 206 at 1 MΩ (read: about 200). The node stands at
    // 1.427 V and 0.644 V. A public write-up of readings lower than expected.
    let board = |source: &str| {
        model(&format!(
            r#"
[rails.one]
voltage = "1 V"
[converters.adc]
supply = "one"
bits = 10
[channels.x]
quantity = "voltage"
span = "0 V to 3.3 V"
sensor = {{ law = "direct-voltage", source-resistance = "{source}" }}
chain = [{{ divider = {{ top = "220 kΩ", bottom = "100 kΩ" }} }}]
input = "adc"
reference = "one"
"#
        ))
    };
    for (source, code, node) in [("50 kΩ", 456.6, 1.427), ("500 kΩ", 206.0, 0.644)] {
        let o = at(&board(source), &[("channels.x.quantity", 1.65)]);
        close(o[CODE], code, 0.001);
        close(o[chain::channel::VOLT] * 3.2, node, 0.001);
    }
    // Without the source's resistance 3.3 V would be 1.031 V: above the scale.
    let o = at(&board("0 Ω"), &[("channels.x.quantity", 3.3)]);
    close(o[CODE], 1.03125 * 1024.0, 1e-9);
}

#[test]
fn published_resistor_for_the_widest_span_of_a_thermistor() {
    // 4 kΩ to 115 kΩ over a resistor R from the reference, 10 bits: the span
    // Rmax/(Rmax + R) − Rmin/(Rmin + R) is largest at √(Rmin·Rmax) = 21.4 kΩ:
    // 702 codes; 650 at 10 kΩ; 478 at 4 kΩ and at 115 kΩ.
    let span = |r: &str| {
        let m = model(&format!(
            r#"
[rails.logic]
voltage = "3.3 V ± 3 %"
[converters.adc]
supply = "logic"
bits = 10
[channels.x]
quantity = "resistance"
span = "4 kΩ to 115 kΩ"
chain = [{{ pull-up = "{r}", to = "logic" }}]
input = "adc"
reference = "logic"
"#
        ));
        let code = |ohm: f64, rail: f64| {
            at(
                &m,
                &[
                    ("channels.x.quantity", ohm),
                    ("rails.logic.tolerance", rail),
                ],
            )[CODE]
        };
        // The rail cancels: sensor and reference both follow it.
        close(code(20e3, 0.099), code(20e3, 0.0), 1e-12);
        code(115e3, 0.0) - code(4e3, 0.0)
    };
    let best = span("21.45 kΩ");
    close(best, 702.0, 0.004);
    assert!(best > span("20 kΩ") && best > span("23 kΩ"));
    close(span("10 kΩ"), 650.0, 0.002);
    close(span("4 kΩ"), 478.0, 0.002);
    close(span("115 kΩ"), 478.0, 0.002);
}

const ELECTRODE: &str = r#"
[conditions]
ambient = "25 °C to 25 °C"
[rails.main]
voltage = "5 V"
[rails.minus]
voltage = "-5 V"
[parts.op]
kind = "amplifier"
[parts.op.figures]
offset-voltage = { max = "0 V" }
supply = { min = "2 V", max = "20 V" }
AMPLIFIER
[channels.x]
quantity = "voltage"
span = "-0.414 V to 0.414 V"
sensor = { law = "direct-voltage", source-resistance = "300 MΩ" }
chain = [{ buffer = "op", supply = "main", negative = "minus" }]
"#;

#[test]
fn published_glass_electrode_needs_a_high_input_resistance() {
    // 300 MΩ of glass into 25 MΩ: 25/325 = 1/13 is left, 4.55 of 59.16 mV for
    // each pH. For 0.01 pH (0.592 mV) of error at the ends (414 mV) the input
    // must have 300 MΩ·(414/0.592 − 1) = 210 GΩ. A public
    // question-and-answer thread on the purpose of such an amplifier.
    let left = |ohm: &str| {
        let m = model(&ELECTRODE.replace(
            "AMPLIFIER",
            &format!("input-resistance = {{ typ = \"{ohm}\" }}"),
        ));
        volt(&m, &[("channels.x.quantity", 0.414)])
    };
    close(left("25 MΩ") / 0.414 * 59.16, 4.55, 0.01);
    close(0.414 - left("210 GΩ"), 0.592e-3, 0.01);
}

#[test]
fn published_glass_electrode_needs_a_bias_of_picoamperes() {
    // 0.592 mV over 300 MΩ: 1.97 pA, read as 2.0 pA (±5 %).
    let m = model(&ELECTRODE.replace("AMPLIFIER", "bias-current = { max = \"10 pA\" }"));
    let o = at(
        &m,
        &[
            ("channels.x.quantity", 0.1),
            ("channels.x.chain.0.bias-current.plus", 1.97e-12),
        ],
    );
    close(o[ERROR], -0.592e-3, 0.01);
}
