//! Inverting, summing, transimpedance and filter stages by their drawings.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

mod stage_support;

use stage_support::{at, check, close, model, volt};

fn board(figures: &str, sensor: &str, quantity: &str, span: &str, chain: &str) -> String {
    format!(
        r#"
[conditions]
ambient = "25 °C to 25 °C"
[rails.main]
voltage = "5 V"
[rails.half]
voltage = "2.5 V"
[references.vref]
voltage = "2.048 V"
[parts.op]
kind = "amplifier"
[parts.op.figures]
supply = {{ min = "2 V", max = "20 V" }}
{figures}
[channels.x]
quantity = "{quantity}"
span = "{span}"
{sensor}
chain = [{chain}]
"#
    )
}

const SET: &str = "channels.x.quantity";

fn key(figure: &str) -> String {
    format!("channels.x.chain.0.{figure}")
}

const FIGURES: &str = r#"
offset-voltage = { max = "1 mV" }
bias-current = { max = "200 nA" }
open-loop-gain = { typ = "60 dB" }
"#;

#[test]
fn property_inverting_by_its_drawing() {
    // Drawing: Vs, R1 = 10 kΩ, inverting input v₋ (b₋ flows in), R2 = 22 kΩ to
    // the output; the other input at 2.5 V. With A = 1000:
    // (Vs − v₋)/R1 + (v − v₋)/R2 = b₋ and v/A = 2.5 + Vos − v₋, so that
    // with n = 1 + R2/R1
    //   v·(1 + n/A) = (2.5 + Vos)·n − Vs·R2/R1 + b₋·R2
    let m = model(&board(
        FIGURES,
        "",
        "voltage",
        "1 V to 4 V",
        r#"{ inverting = { part = "op", supply = "main", input = "10 kΩ", feedback = "22 kΩ", to = "half" } }"#,
    ));
    let n = 3.2;
    let expected = ((2.5 + 0.6e-3) * n - 3.1 * 2.2 + 150e-9 * 22e3) / (1.0 + n / 1000.0);
    let v = volt(
        &m,
        &[
            (SET, 3.1),
            (&key("offset-voltage"), 0.6e-3),
            (&key("bias-current.minus"), 150e-9),
        ],
    );
    close(v, expected, 1e-12);
}

#[test]
fn property_summing_by_its_drawing() {
    // As the inverting stage with R3 = 15 kΩ from 2.048 V to the same node:
    // n = 1 + R2/R1 + R2/R3,
    //   v·(1 + n/A) = (2.5 + Vos)·n − Vs·R2/R1 − 2.048·R2/R3 + b₋·R2
    let m = model(&board(
        FIGURES,
        "",
        "voltage",
        "1 V to 4 V",
        r#"{ summing = { part = "op", supply = "main", input = "10 kΩ", add = "15 kΩ", from = "vref", feedback = "22 kΩ", to = "half" } }"#,
    ));
    let (in_share, add_share) = (2.2, 22.0 / 15.0);
    let n = 1.0 + in_share + add_share;
    let expected = ((2.5 - 0.2e-3) * n - 2.9 * in_share - 2.048 * add_share - 90e-9 * 22e3)
        / (1.0 + n / 1000.0);
    let v = volt(
        &m,
        &[
            (SET, 2.9),
            (&key("offset-voltage"), -0.2e-3),
            (&key("bias-current.minus"), -90e-9),
        ],
    );
    close(v, expected, 1e-12);
}

#[test]
fn property_level_shift_by_its_drawing() {
    // Vs through 10 kΩ to a node, 20 kΩ from there to 2.048 V:
    // v = (Vs·20 + 2.048·10)/30. ±5 V become 4.016 V and −2.65 V.
    let m = model(&board(
        FIGURES,
        "",
        "voltage",
        "-5 V to 5 V",
        r#"{ level-shift = { r = "10 kΩ", shift = "20 kΩ", to = "vref" } }"#,
    ));
    for vs in [-5.0, 0.0, 5.0] {
        close(volt(&m, &[(SET, vs)]), (vs * 20.0 + 20.48) / 30.0, 1e-12);
    }
}

#[test]
fn published_transimpedance_of_a_megohm() {
    // 50 nA through 1 MΩ make 50 mV (arithmetic of the drawing), here downwards
    // from 2.5 V because the current flows into the node. With A = 1000 the
    // node itself gives way: v = v₋ − I·R − b₋-part:
    //   I − b₋ = (v₋ − v)/R, v₋ = 2.5 + Vos − v/A
    //   v·(1 + 1/A) = 2.5 + Vos − (I − b₋)·R
    let m = model(&board(
        FIGURES,
        r#"sensor = { law = "direct-current" }"#,
        "current",
        "0 A to 1 µA",
        r#"{ transimpedance = { part = "op", supply = "main", feedback = "1 MΩ", to = "half" } }"#,
    ));
    let v = volt(
        &m,
        &[
            (SET, 50e-9),
            (&key("offset-voltage"), 0.3e-3),
            (&key("bias-current.minus"), 20e-9),
        ],
    );
    close(v, (2.5003 - 30e-9 * 1e6) / 1.001, 1e-12);
    let perfect = model(&board(
        "offset-voltage = { max = \"0 V\" }",
        r#"sensor = { law = "direct-current" }"#,
        "current",
        "0 A to 1 µA",
        r#"{ transimpedance = { part = "op", supply = "main", feedback = "1 MΩ", to = "half" } }"#,
    ));
    close(2.5 - volt(&perfect, &[(SET, 50e-9)]), 50e-3, 1e-10);
    // The other way round the output rises.
    let upwards = model(&board(
        "offset-voltage = { max = \"0 V\" }",
        r#"sensor = { law = "direct-current", reversed = true }"#,
        "current",
        "0 A to 1 µA",
        r#"{ transimpedance = { part = "op", supply = "main", feedback = "1 MΩ" } }"#,
    ));
    close(volt(&upwards, &[(SET, 50e-9)]), 50e-3, 1e-10);
}

#[test]
fn property_sallen_key_by_its_drawing() {
    // At direct current both capacitors are open: b₊ flows through R1 + R2,
    // v₊ = Vs − b₊·(R1 + R2); gain K = 1 + 586 Ω/1 kΩ (Butterworth, equal
    // components): v·(1/A + 1/K) = v₊ + Vos + b₋·(586 ‖ 1000).
    let m = model(&board(
        FIGURES,
        "",
        "voltage",
        "0 V to 2 V",
        r#"{ sallen-key = { part = "op", supply = "main", r1 = "10 kΩ", r2 = "10 kΩ", c1 = "15.915 nF", c2 = "15.915 nF", feedback = "586 Ω", gain-resistor = "1 kΩ" } }"#,
    ));
    let expected =
        (1.2 - 120e-9 * 20e3 + 0.5e-3 + 80e-9 * 586.0 * 1000.0 / 1586.0) / (1e-3 + 1.0 / 1.586);
    let v = volt(
        &m,
        &[
            (SET, 1.2),
            (&key("offset-voltage"), 0.5e-3),
            (&key("bias-current.plus"), 120e-9),
            (&key("bias-current.minus"), 80e-9),
        ],
    );
    close(v, expected, 1e-12);
    // The insulation of c1 ties the middle to the output: R1 and Ri divide
    // between Vs and v. 100 nF X7R: Ri = 5 GΩ.
    let m = model(&board(
        "offset-voltage = { max = \"0 V\" }",
        "",
        "voltage",
        "0 V to 2 V",
        r#"{ sallen-key = { part = "op", supply = "main", r1 = "1 MΩ", r2 = "1 MΩ", c1 = "100 nF X7R", c2 = "100 nF C0G" } }"#,
    ));
    // With c2 leaking alone, Ri2 = 1000 s/100 nF = 10 GΩ to ground behind
    // 2 MΩ; the follower repeats v₊.
    let leak = ("channels.x.chain.0.c2.insulation", 1.0);
    close(volt(&m, &[(SET, 1.0), leak]), 1e10 / (1e10 + 2e6), 1e-12);
    // c1 between the middle and an output that stands as high: with no current
    // through R2 nothing flows through it either.
    let bridge = ("channels.x.chain.0.c1.insulation", 1.0);
    close(volt(&m, &[(SET, 1.0), bridge]), 1.0, 1e-12);
}

#[test]
fn property_every_range_of_an_amplifier_is_watched() {
    // A follower at 5 V with 0.2 V and 0.3 V of output swing and 1 V and 1.5 V
    // of input headroom: its input range ends at 1 V and 3.5 V.
    let m = model(&board(
        r#"
offset-voltage = { max = "0 V" }
swing-low = { max = "0.2 V" }
swing-high = { max = "0.3 V" }
input-headroom-low = "1 V"
input-headroom-high = "1.5 V"
"#,
        "",
        "voltage",
        "0 V to 5 V",
        r#"{ buffer = "op", supply = "main" }"#,
    ));
    for (kind, meets, limit) in [
        ("output-low", 0.2, 0.2),
        ("output-high", 4.7, 4.7),
        ("input-low", 1.0, 1.0),
        ("input-high", 3.5, 3.5),
    ] {
        let c = check(&m, kind);
        let o = at(&m, &[(SET, meets)]);
        close(o[c.limit], limit, 1e-12);
        assert!(o[c.margin].abs() < 1e-9, "{kind}: {}", o[c.margin]);
        let inside = at(&m, &[(SET, 2.5)]);
        assert!(inside[c.margin] > 0.0, "{kind}");
    }
    // Beyond the swing the output stays, and the margin says how much of the
    // voltage asked for is missing.
    let o = at(&m, &[(SET, 4.9)]);
    close(o[chain::channel::VOLT], 4.7, 1e-12);
    close(o[check(&m, "output-high").margin], -0.2, 1e-9);
    close(o[check(&m, "output-high").working], 4.9, 1e-9);
    // Its supply is compared with its rating.
    close(o[check(&m, "supply-low").margin], 3.0, 1e-12);
    close(o[check(&m, "supply-high").margin], 15.0, 1e-12);
}

#[test]
fn property_an_output_stays_within_its_supplies_without_being_told() {
    // Gain 3 of 2 V would be 6 V; the supply is 5 V.
    let m = model(&board(
        "offset-voltage = { max = \"0 V\" }",
        "",
        "voltage",
        "0 V to 2 V",
        r#"{ non-inverting = { part = "op", supply = "main", feedback = "20 kΩ", gain-resistor = "10 kΩ" } }"#,
    ));
    let o = at(&m, &[(SET, 2.0)]);
    close(o[chain::channel::VOLT], 5.0, 1e-12);
    close(o[check(&m, "output-high").margin], -1.0, 1e-9);
}

#[test]
fn property_loads_of_an_output_are_held_against_its_part() {
    // The swing is stated with 10 kΩ, at 5 V at most 0.5 mA; 2 V over 2 kΩ are
    // 1 mA. 1 nF hangs behind 22 Ω, another behind 1 kΩ: 1 nF of 100 pF.
    let m = model(&board(
        r#"
offset-voltage = { max = "0 V" }
swing-load = "10 kΩ"
load-capacitance = { max = "100 pF" }
"#,
        "",
        "voltage",
        "0 V to 4 V",
        r#"
{ buffer = "op", supply = "main", load = "2 kΩ" },
{ low-pass = { r = "22 Ω", c = "1 nF" } },
{ low-pass = { r = "1 kΩ", c = "1 nF" } },
"#,
    ));
    let o = at(&m, &[(SET, 2.0)]);
    let load = check(&m, "output-load");
    close(o[load.actual], 1e-3, 1e-9);
    close(o[load.limit], 0.5e-3, 1e-12);
    let farad = check(&m, "output-capacitance");
    close(o[farad.actual], 1e-9, 1e-12);
    close(o[farad.margin], -0.9e-9, 1e-12);
}

#[test]
fn published_sensor_drives_a_long_cable() {
    // 100 m of network cable at 52 pF/m on a sensor that bears 50 pF: 5.2 nF,
    // about a hundred times too much; 1 m would be the limit. (Two public
    // threads on an analogue temperature sensor; the capacitance for each
    // metre is common practice.) Lumped, the half at the far end stands
    // behind the 16.8 Ω of the conductors, which do not keep it away.
    let over = |metres: f64| {
        let m = model(&board(
            "offset-voltage = { max = \"0 V\" }",
            r#"sensor = { law = "linear-voltage", figures = { slope = { typ = "10 mV/K", min = "10 mV/K", max = "10 mV/K" }, offset = { typ = "0 V", min = "0 V", max = "0 V" }, load-capacitance = { max = "50 pF" } } }"#,
            "temperature",
            "2 °C to 60 °C",
            &format!(
                r#"{{ cable = {{ length = "{metres} m", resistance = "84.2 mΩ/m", capacitance = "52 pF/m" }} }}"#
            ),
        ));
        let c = check(&m, "sensor-capacitance");
        let o = at(&m, &[]);
        o[c.actual] / o[c.limit]
    };
    close(over(100.0), 104.0, 1e-9);
    close(over(1.0), 1.04, 1e-9);
}
