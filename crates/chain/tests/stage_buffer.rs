//! Stages with one operational amplifier, its inverting input fed from its
//! output.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

mod stage_support;

use stage_support::{at, check, close, model, volt};

// The half supply of these drawings is stiff: a divider gives way, which has
// a test of its own.
fn board(part: &str, span: &str, source: &str, chain: &str) -> String {
    format!(
        r#"
[rails.main]
voltage = "5 V ± 2 %"
[rails.half]
from = "main"
divider = {{ top = "1 nΩ", bottom = "1 nΩ" }}
[parts.op]
kind = "amplifier"
[parts.op.figures]
supply = {{ min = "2 V", max = "20 V" }}
{part}
[channels.x]
quantity = "voltage"
span = "{span}"
sensor = {{ law = "direct-voltage", source-resistance = "{source}" }}
chain = [{chain}]
"#
    )
}

const SET: &str = "channels.x.quantity";

fn key(figure: &str) -> String {
    format!("channels.x.chain.0.{figure}")
}

#[test]
fn property_buffer_by_its_drawing() {
    // Drawing: source Vs, resistance Rs, non-inverting input (current b₊ into
    // it); output v through Rf to the inverting input (current b₋ into it).
    // v₊ = Vs − b₊·Rs, v₋ = v − b₋·Rf, and with e = 1/CMRR, s = 1/PSRR,
    // v₀ = 2.5 V the common mode of the offset, ΔS the supply's deviation:
    //   v/A = v₊ − v₋ + Vos + e·((v₊ + v₋)/2 − v₀) + s·ΔS
    //   v·(1/A + 1 − e/2) = v₊·(1 + e/2) + b₋·Rf·(1 − e/2) + Vos − e·v₀ + s·ΔS
    let m = model(&board(
        r#"
offset-voltage = { max = "1 mV" }
offset-drift = { max = "2 µV/K" }
bias-current = { max = "20 nA" }
open-loop-gain = { typ = "80 dB" }
common-mode-rejection = { min = "70 dB" }
supply-rejection = { min = "80 dB" }
"#,
        "0 V to 4 V",
        "100 kΩ",
        r#"{ buffer = "op", supply = "main", feedback = "47 kΩ" }"#,
    ));
    let (vs, vos, plus, minus) = (3.0, 0.7e-3, 15e-9, -8e-9);
    let (e, s, drift) = (2e-4, -5e-5, 1.5e-6);
    // Nominally A = 10⁴; the rail at 5.05 V; 20 K warmer than 25 °C.
    let v_plus = vs - plus * 100e3;
    let all_offset = vos + drift * 20.0;
    let right =
        v_plus * (1.0 + e / 2.0) + minus * 47e3 * (1.0 - e / 2.0) + all_offset - e * 2.5 + s * 0.05;
    let expected = right / (1e-4 + 1.0 - e / 2.0);
    let v = volt(
        &m,
        &[
            (SET, vs),
            ("ambient", 298.15 + 20.0),
            ("rails.main.tolerance", 0.05),
            (&key("offset-voltage"), vos),
            (&key("offset-drift"), drift),
            (&key("bias-current.plus"), plus),
            (&key("bias-current.minus"), minus),
            (&key("common-mode-rejection"), e),
            (&key("supply-rejection"), s),
        ],
    );
    close(v, expected, 1e-12);
}

#[test]
fn property_leakage_of_an_input_doubles_for_each_ten_kelvin() {
    // 10 pA at 25 °C through 100 MΩ: 1 mV; at 55 °C eightfold. A base current
    // of 20 nA stays.
    let of = |figure: &str, source: &str, a: f64, ohm: f64| {
        let m = model(&board(
            &format!("offset-voltage = {{ max = \"0 V\" }}\nbias-current = {figure}"),
            "0 V to 4 V",
            source,
            r#"{ buffer = "op", supply = "main" }"#,
        ));
        let bias = key("bias-current.plus");
        let at = |kelvin: f64| 2.0 - volt(&m, &[(SET, 2.0), ("ambient", kelvin), (&bias, a)]);
        close(at(298.15), a * ohm, 1e-9);
        at(328.15) / at(298.15)
    };
    close(of("{ max = \"10 pA\" }", "100 MΩ", 10e-12, 1e8), 8.0, 1e-9);
    close(of("{ max = \"20 nA\" }", "100 kΩ", 20e-9, 1e5), 1.0, 1e-9);
}

#[test]
fn published_non_inverting_gain_with_finite_open_loop_gain() {
    // G/(1 + G/A), A = 10⁵: G = 10 gives 9.999000, G = 100 gives 99.900100;
    // A = 10⁴, G = 100 gives 99.009901 (Horowitz and Hill, The Art of
    // Electronics, chapter on feedback; recomputed).
    for (db, feedback, expected) in [
        ("100 dB", "90 kΩ", 9.999_000_1),
        ("100 dB", "990 kΩ", 99.900_099_9),
        ("80 dB", "990 kΩ", 99.009_901),
    ] {
        let m = model(&board(
            &format!(
                "offset-voltage = {{ max = \"1 mV\" }}\nopen-loop-gain = {{ typ = \"{db}\" }}"
            ),
            "0 V to 0.04 V",
            "0 Ω",
            &format!(
                r#"{{ non-inverting = {{ part = "op", supply = "main", feedback = "{feedback}", gain-resistor = "10 kΩ" }} }}"#
            ),
        ));
        close(volt(&m, &[(SET, 0.02)]) / 0.02, expected, 1e-8);
        // The offset is amplified like the signal.
        let moved = volt(&m, &[(SET, 0.02), (&key("offset-voltage"), 1e-3)]);
        close(moved, 0.021 * expected, 1e-8);
    }
}

#[test]
fn property_non_inverting_by_its_drawing() {
    // Drawing: gain resistor Rg = 10 kΩ from the bias 2.5 V to the inverting
    // input, Rf = 30 kΩ from there to the output; b₋ flows into the input.
    // (2.5 − v₋)/Rg + (v − v₋)/Rf = b₋ with v₋ = Vs + Vos:
    //   v = v₋·(1 + Rf/Rg) − 2.5·Rf/Rg + b₋·Rf
    let m = model(&board(
        "offset-voltage = { max = \"1 mV\" }\nbias-current = { max = \"100 nA\" }",
        "2 V to 3 V",
        "0 Ω",
        r#"{ non-inverting = { part = "op", supply = "main", feedback = "30 kΩ", gain-resistor = "10 kΩ", to = "half" } }"#,
    ));
    let v = volt(
        &m,
        &[
            (SET, 2.2),
            (&key("offset-voltage"), 0.4e-3),
            (&key("bias-current.minus"), 70e-9),
        ],
    );
    close(v, 2.2004 * 4.0 - 2.5 * 3.0 + 70e-9 * 30e3, 1e-12);
}

#[test]
fn published_gain_resistor_beside_a_power_part() {
    // Gain 6 of 50 kΩ and 10 kΩ at 1.2 V; the 10 kΩ alone warms by 10 K at
    // 100 ppm/K: gain 5.99500, output 7.194 V, 6.0 mV low, which is 2.46 codes
    // of 12 bits over 10 V (chapter excerpt of a book on interfacing to
    // microprocessors).
    let text = board(
        "offset-voltage = { max = \"0 V\" }",
        "0 V to 1.5 V",
        "0 Ω",
        r#"{ non-inverting = { part = "op", supply = "main", feedback = "50 kΩ", gain-resistor = "10 kΩ 0.1 %" } }"#,
    )
    .replace("\"5 V ± 2 %\"", "\"12 V\"");
    let m = model(&text);
    let cold = volt(&m, &[(SET, 1.2)]);
    let warm = volt(
        &m,
        &[
            (SET, 1.2),
            ("channels.x.chain.0.gain-resistor.tolerance", 10.0),
        ],
    );
    close(cold, 7.2, 1e-12);
    close(warm / 1.2, 5.995_005, 1e-7);
    close((cold - warm) / (10.0 / 4096.0), 2.46, 0.005);
    // Both at ±100 ppm/K over 50 K with opposite signs: ±0.83 % of the gain,
    // from (1 + 5·1.005/0.995)/6.
    let text = text
        .replace("50 kΩ", "50 kΩ 100 ppm/K")
        .replace("10 kΩ 0.1 %", "10 kΩ 100 ppm/K");
    let m = model(&text);
    let far = volt(
        &m,
        &[
            (SET, 1.2),
            ("ambient", 298.15 + 50.0),
            ("channels.x.chain.0.feedback.drift", 100e-6),
            ("channels.x.chain.0.gain-resistor.drift", -100e-6),
        ],
    );
    close(far / 7.2 - 1.0, 0.0083, 0.02);
}

#[test]
fn published_single_supply_buffer_never_reaches_ground() {
    // An old bipolar single-supply amplifier sinks about 50 µA (typical) or
    // 12 µA (least) near ground and beyond that stops a diode drop above it.
    // 10 kΩ to a bias of 1.65 V make 165 µA at 0 V, 3.3 times too much: the
    // resistor must be 33 kΩ (137.5 kΩ for the worst part). A public
    // question-and-answer thread on a stage that does not reach ground.
    let text = board(
        r#"
offset-voltage = { max = "0 V" }
swing-low = { max = "0 V" }
swing-low-current = { typ = "50 µA", min = "12 µA" }
swing-low-beyond = { max = "0.6 V" }
"#,
        "0 V to 2 V",
        "0 Ω",
        r#"{ buffer = "op", supply = "main", load = "10 kΩ", load-to = "half" }"#,
    )
    .replace("\"5 V ± 2 %\"", "\"3.3 V\"");
    let m = model(&text);
    let sink = check(&m, "output-sink");
    let low = check(&m, "output-low");
    let o = at(&m, &[(SET, 0.0)]);
    close(o[sink.actual], 165e-6, 1e-9);
    close(o[sink.limit], 50e-6, 1e-9);
    close(o[sink.actual] / o[sink.limit], 3.3, 1e-9);
    close(o[sink.working], 33e3, 1e-9);
    assert!(o[low.margin] < 0.0 && o[sink.margin] < 0.0);
    close(o[chain::channel::VOLT], 0.6, 1e-9);
    let worst = at(&m, &[(SET, 0.0), (&key("swing-low-current"), -38e-6)]);
    close(worst[sink.limit], 12e-6, 1e-9);
    close(worst[sink.working], 137.5e3, 1e-9);
    // In the middle of the range nothing is the matter.
    let middle = at(&m, &[(SET, 1.0)]);
    assert!(middle[low.margin] > 0.0 && middle[sink.margin] > 0.0);
    close(middle[chain::channel::VOLT], 1.0, 1e-12);
    // With the resistor that was asked for the output reaches ground.
    let mended = model(&text.replace("load = \"10 kΩ\"", "load = \"34 kΩ\""));
    assert!(volt(&mended, &[(SET, 0.0)]).abs() < 1e-12);
}

#[test]
fn property_current_is_blamed_only_where_it_matters() {
    // An output that stops 30 mV above ground up to 1 mA: at 10 mV it cannot
    // stand whatever it sinks, and its current is no finding of its own. At
    // 40 mV, 10 kΩ to 2.5 V make it sink 246 µA of the 1.33 mA it could.
    let m = model(&board(
        "offset-voltage = { max = \"0 V\" }\nswing-low = { points = [[\"1 mA\", \"30 mV\"]] }",
        "0 V to 2 V",
        "0 Ω",
        r#"{ buffer = "op", supply = "main", load = "10 kΩ", load-to = "half" }"#,
    ));
    let (sink, low) = (check(&m, "output-sink"), check(&m, "output-low"));
    let o = at(&m, &[(SET, 10e-3)]);
    assert!(o[low.margin] < 0.0 && o[sink.margin] > 0.0);
    let o = at(&m, &[(SET, 40e-3)]);
    close(o[sink.actual], 246e-6, 1e-9);
    close(o[sink.limit], 4e-3 / 3.0, 1e-9);
    assert!(o[low.margin] > 0.0 && o[sink.margin] > 0.0);
}

#[test]
fn a_divided_rail_gives_way_to_what_loads_it() {
    // A gain of 1 + Rf/Rg about half of 5 V from 10 kΩ and 10 kΩ: Thévenin's
    // 5 kΩ lie in series with Rg, so that
    // v = v₊·(1 + Rf/(Rg + 5 kΩ)) − 2.5 V·Rf/(Rg + 5 kΩ): 3 V give 3.3333 V
    // and not 3.5 V.
    let text = board(
        "open-loop-gain = { typ = \"200 dB\" }",
        "2 V to 3 V",
        "1 Ω",
        r#"{ non-inverting = { part = "op", feedback = "10 kΩ", gain-resistor = "10 kΩ", to = "half", supply = "main" } }"#,
    )
    .replace("1 nΩ", "10 kΩ");
    let v = volt(&model(&text), &[(SET, 3.0)]);
    close(v, 3.0 * (1.0 + 10.0 / 15.0) - 2.5 * 10.0 / 15.0, 1e-8);
}
