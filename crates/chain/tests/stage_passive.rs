//! Stages of resistors and capacitors.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

mod stage_support;

use stage_support::{at, check, close, model, volt};

#[test]
fn property_low_pass_passes_direct_current_but_for_its_insulation() {
    // Drawing: source, 1 MΩ, node, 1 µF to ground. At direct current the
    // capacitor is its insulation Ri >= 500 Ω·F / 1 µF = 500 MΩ:
    // v = 1 V·Ri/(Ri + 1 MΩ), so that between none and 1/501 is lost.
    let m = model(
        r#"
[channels.x]
quantity = "voltage"
span = "0 V to 1 V"
chain = [{ low-pass = { r = "1 MΩ", c = "1 µF 10 % X7R" } }]
"#,
    );
    let set = ("channels.x.quantity", 1.0);
    close(volt(&m, &[set]), 1.0, 1e-15);
    let leaking = ("channels.x.chain.0.c.insulation", 1.0);
    close(volt(&m, &[set, leaking]), 500.0 / 501.0, 1e-12);
    // The product stays the same, so that 10 % more capacitance leaks more.
    let larger = ("channels.x.chain.0.c.tolerance", 0.1e-6);
    close(
        volt(&m, &[set, leaking, larger]),
        1.0 / (1.0 + 1.1 / 500.0),
        1e-12,
    );
}

const LOOP: &str = r#"
[rails.logic]
voltage = "3.3 V ± 2 %"
[converters.adc]
supply = "logic"
bits = 10
[channels.level]
quantity = "level"
span = "0 m to 1 m"
sensor = { part = "loop-transmitter", figures = { span-low = "0 m", span-high = "1 m" } }
chain = [{ burden = "165 Ω 0.1 %", power = "0.1 W" }]
input = "adc"
reference = "logic"
"#;

#[test]
fn published_burden_leaves_no_room_above_twenty_milliamperes() {
    // 165 Ω and 3.3 V: 20 mA is exactly full scale (a public forum thread on
    // a loop receiver); with the rail 2 % low the scale ends at
    // 3.234 V/165 Ω = 19.6 mA.
    let m = model(LOOP);
    let top = at(&m, &[("channels.level.quantity", 1.0)]);
    close(top[chain::channel::CODE], 1024.0, 1e-12);
    let high = check(&m, "code-high");
    let ends_at = |rail: f64| {
        // The code is straight in the level: where does it pass the last one?
        let code = |level: f64| {
            let o = at(
                &m,
                &[
                    ("channels.level.quantity", level),
                    ("rails.logic.tolerance", rail),
                ],
            );
            o[high.actual] - 1024.0
        };
        let (low, full) = (code(0.5), code(1.0));
        4e-3 + 16e-3 * (0.5 - low * 0.5 / (full - low))
    };
    close(ends_at(0.0), 20.0e-3, 1e-9);
    close(ends_at(-0.066), 19.6e-3, 1e-9);
    // What may be fitted for 21.5 mA: 150 Ω reach 3.225 V of 3.234 V,
    // 151 Ω would not do.
    for (ohm, fits) in [(150.0, true), (151.0, false)] {
        let other = model(&LOOP.replace("165 Ω", &format!("{ohm} Ω")));
        let o = at(
            &other,
            &[
                ("channels.level.quantity", 17.5 / 16.0),
                ("rails.logic.tolerance", -0.066),
            ],
        );
        assert_eq!(o[chain::channel::CODE] < 1024.0, fits, "{ohm} Ω");
    }
    // Dissipation at 20 mA: 0.02²·165 = 66 mW of 100 mW.
    let power = check(&m, "resistor-power");
    close(top[power.actual], 0.066, 1e-12);
    close(top[power.margin], 0.034, 1e-12);
}
