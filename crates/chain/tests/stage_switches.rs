//! Stages that switch, isolate and connect.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

mod stage_support;

use stage_support::{at, check, close, model, volt};

fn board(sensor: &str, quantity: &str, span: &str, chain: &str) -> String {
    format!(
        r#"
[conditions]
ambient = "25 °C to 55 °C"
[rails.logic]
voltage = "3.3 V"
[channels.x]
quantity = "{quantity}"
span = "{span}"
{sensor}
chain = [{chain}]
"#
    )
}

const SET: &str = "channels.x.quantity";

#[test]
fn property_multiplexer_adds_resistance_and_leakage() {
    // The generic multiplexer: 80 Ω typical, 160 Ω at most, 100 nA of leakage.
    // Behind 10 kΩ of source and with 1 MΩ to ground after it
    //   v = (Vs + i·(Rs + Ron))·R/(R + Rs + Ron); at 35 °C the leakage doubles.
    let m = model(&board(
        r#"sensor = { law = "direct-voltage", source-resistance = "10 kΩ" }"#,
        "voltage",
        "0 V to 3 V",
        r#"{ multiplexer = "multiplexer-8", supply = "logic" }, { pull-down = "1 MΩ" }"#,
    ));
    let v = |leakage: f64, kelvin: f64| {
        volt(
            &m,
            &[
                (SET, 2.0),
                ("ambient", kelvin),
                ("channels.x.chain.0.on-resistance", 80.0),
                ("channels.x.chain.0.on-leakage", leakage),
            ],
        )
    };
    let ohm = 10e3 + 160.0;
    close(
        v(50e-9, 298.15),
        (2.0 + 50e-9 * ohm) * 1e6 / (1e6 + ohm),
        1e-12,
    );
    close(
        v(50e-9, 308.15),
        (2.0 + 1e-7 * ohm) * 1e6 / (1e6 + ohm),
        1e-12,
    );
    // It passes 0 V to its supply.
    let o = at(&m, &[(SET, 3.5)]);
    assert!(o[check(&m, "signal-range-high").margin] < 0.0);
    close(o[check(&m, "signal-range-high").limit], 3.3, 1e-12);
    assert!(o[check(&m, "signal-range-low").margin] > 3.0);
}

#[test]
fn property_switch_stands_in_series_with_its_divider() {
    // 100 kΩ over 100 kΩ with a switch of 5 Ω (typical) above: the upper
    // resistor becomes 100.005 kΩ; below: the lower one.
    let of = |at: &str| {
        let m = model(&board(
            "",
            "voltage",
            "0 V to 6 V",
            &format!(
                r#"{{ divider = {{ top = "100 kΩ", bottom = "100 kΩ", switch = "analog-switch"{at} }} }}"#
            ),
        ));
        volt(&m, &[(SET, 6.0)])
    };
    close(of(""), 6.0 * 100.0 / 200.005, 1e-12);
    close(of(", at = \"top\""), 6.0 * 100.0 / 200.005, 1e-12);
    close(of(", at = \"bottom\""), 6.0 * 100.005 / 200.005, 1e-12);
}

#[test]
fn property_isolation_amplifies_and_offsets() {
    // v = 8.2·1.002·Vs·Rin/(Rin + Rs) + 1.5 mV
    let m = model(&board(
        r#"sensor = { law = "direct-voltage", source-resistance = "100 Ω" }"#,
        "voltage",
        "-0.25 V to 0.25 V",
        r#"{ isolation = { gain = "8.2 0.3 %", offset = "0 V ± 2 mV", input-resistance = "22 kΩ" } }"#,
    ));
    let v = volt(
        &m,
        &[
            (SET, -0.2),
            ("channels.x.chain.0.gain.tolerance", 8.2 * 0.002),
            ("channels.x.chain.0.offset.tolerance", 1.5e-3),
        ],
    );
    close(v, -0.2 * 8.2 * 1.002 * 22e3 / 22.1e3 + 1.5e-3, 1e-12);
}

#[test]
fn property_cable_is_in_series_there_and_back() {
    // 100 m of 84.2 mΩ/m: 8.42 Ω for each conductor. A resistive sensor of
    // 1 kΩ at a 1 mA source reads 1.01684 kΩ: 16.84 mV more.
    let m = model(&board(
        "",
        "resistance",
        "900 Ω to 1100 Ω",
        r#"{ cable = { length = "100 m", resistance = "84.2 mΩ/m", capacitance = "52 pF/m" } }, { current-source = "1 mA" }"#,
    ));
    close(volt(&m, &[(SET, 1000.0)]), 1.016_84, 1e-12);
}

#[test]
fn property_plain_elements_at_the_signal() {
    // 2 V behind 1 kΩ, 3 kΩ to 3.3 V: (2·3 + 3.3)/4 V; then 4 µV of contact
    // voltage.
    let m = model(&board(
        r#"sensor = { law = "direct-voltage", source-resistance = "1 kΩ" }"#,
        "voltage",
        "0 V to 3 V",
        r#"{ resistor = "3 kΩ", to = "logic" }, { voltage-source = "0 V ± 5 µV" }"#,
    ));
    let contact = ("channels.x.chain.1.voltage.tolerance", 4e-6);
    close(volt(&m, &[(SET, 2.0), contact]), 9.3 / 4.0 + 4e-6, 1e-12);
}

/// A closed path whose resistance is only known by a typical value has the
/// spread that data sheets with a maximum allow: up to almost twice, down to
/// almost none.
#[test]
fn property_a_typical_resistance_alone_is_not_exact() {
    let m = model(&board(
        r#"sensor = { law = "direct-voltage" }"#,
        "voltage",
        "0 V to 3 V",
        r#"{ multiplexer = { part = { kind = "multiplexer", figures = { on-resistance = { typ = "80 Ω" }, channels = 8 } }, supply = "logic" } }, { pull-down = "1 kΩ ± 0 %" }"#,
    ));
    let key = "channels.x.chain.0.on-resistance";
    let v = m
        .variables
        .iter()
        .find(|v| v.key == key)
        .expect("a variable of its own");
    assert!(
        matches!(v.lies, chain::variables::Lies::About(m, u) if m == 0.0 && (u - 0.3).abs() < 1e-12)
    );
    for (share, ohm) in [(0.0, 80.0), (0.9, 152.0), (-0.9, 8.0)] {
        close(
            volt(&m, &[(SET, 2.0), (key, share)]),
            2.0 * 1e3 / (1e3 + ohm),
            1e-12,
        );
    }
}
