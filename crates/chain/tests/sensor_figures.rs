//! Figures of sensors beside their laws: each changes the reading by what a
//! hand calculation says.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

use chain::channel::{ChannelModel, ERROR, build};
use chain::variables::{Lies, Varies};
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

/// The error with every input nominal but those named, rounding read smoothly.
fn error(m: &ChannelModel, set: &[(&str, f64)]) -> f64 {
    let mut inputs = m.tape.nominal_inputs().to_vec();
    for (key, value) in set {
        let known: Vec<&String> = m.variables.iter().map(|v| &v.key).collect();
        let i = known
            .iter()
            .position(|k| k == key)
            .unwrap_or_else(|| panic!("no variable {key} in {known:#?}"));
        inputs[i] = *value;
    }
    m.tape.values(&inputs, Reading::Smooth)[ERROR]
}

fn board(quantity: &str, span: &str, law: &str, figures: &str, rest: &str) -> String {
    format!(
        r#"
[conditions]
ambient = "5 °C to 45 °C"
service = "3 years"
[rails.main]
voltage = "5 V ± 5 %"
[converters.adc]
supply = "main"
bits = 20
differential = true
[channels.x]
quantity = "{quantity}"
span = "{span}"
sensor = {{ law = "{law}", supply = "main", figures = {{ {figures} }} }}
input = "adc.0-1"
{rest}
"#
    )
}

const CELL: &str = r#"sensitivity = { min = "2 mV/V", typ = "2 mV/V", max = "2 mV/V" }, rated = { max = "50 kg" }"#;

#[test]
fn property_zero_and_slope_of_a_cell_drift_with_the_ambient() {
    let figures = format!(
        r#"{CELL}, sensitivity-drift = {{ max = "200 ppm/K" }}, offset-drift-of-span = {{ max = "100 ppm/K" }}, creep = {{ max = "0.03 %" }}"#
    );
    let m = model(&board("mass", "0 kg to 20 kg", "bridge", &figures, ""));
    let full = ("channels.x.quantity", 20.0);
    let warm = ("ambient", 308.15);
    let plain = error(&m, &[full, warm]);
    // 200 ppm/K over 10 K of 20 kg: 40 g.
    let slope = error(
        &m,
        &[full, warm, ("channels.x.sensor.sensitivity-drift", 200e-6)],
    );
    assert!((slope - plain - 0.04).abs() < 1e-9, "{slope} {plain}");
    // 100 ppm/K over 10 K of the rated 50 kg: 50 g.
    let zero = error(
        &m,
        &[
            full,
            warm,
            ("channels.x.sensor.offset-drift-of-span", 100e-6),
        ],
    );
    assert!((zero - plain - 0.05).abs() < 1e-9, "{zero} {plain}");
    // 0.03 % of 50 kg: 15 g, different in every reading.
    let creep = error(&m, &[full, warm, ("channels.x.creep@", 0.0003)]);
    assert!((creep - plain - 0.015).abs() < 1e-9, "{creep} {plain}");
    let variable = m
        .variables
        .iter()
        .find(|v| v.key == "channels.x.creep@")
        .unwrap();
    assert_eq!(variable.varies, Varies::Reading);
}

fn about(lies: Lies, u: f64) -> bool {
    matches!(lies, Lies::About(m, found) if m == 0.0 && (found / u - 1.0).abs() < 1e-12)
}

#[test]
fn property_offset_and_noise_at_an_output_are_volts_there() {
    // 0.185 V/A about half of 5 V: 40 mV are 0.216 A; 20 mV peak to peak are
    // 3.03 mV rms (a factor of 6.6, common practice).
    let figures = r#"slope-ratio = { min = "0.037 /A", typ = "0.037 /A", max = "0.037 /A" }, offset-ratio = { min = 0.5, typ = 0.5, max = 0.5 }, offset-voltage = { min = "-40 mV", max = "40 mV" }, noise = { typ = "20 mV" }"#;
    let m = model(&board(
        "current",
        "0 A to 5 A",
        "ratiometric-voltage",
        figures,
        "",
    ));
    let plain = error(&m, &[]);
    let offset = error(&m, &[("channels.x.sensor.offset-voltage", 0.04)]);
    assert!(
        (offset - plain - 0.04 / 0.185).abs() < 1e-6,
        "{offset} {plain}"
    );
    let noise = m
        .variables
        .iter()
        .find(|v| v.key == "channels.x.sensor.noise@")
        .unwrap();
    assert!(about(noise.lies, 0.02 / 6.6));
    let averaged = board(
        "current",
        "0 A to 5 A",
        "ratiometric-voltage",
        figures,
        "average = 16",
    );
    let m = model(&averaged);
    let noise = m
        .variables
        .iter()
        .find(|v| v.key == "channels.x.sensor.noise@")
        .unwrap();
    assert!(about(noise.lies, 0.02 / 6.6 / 4.0));
}

#[test]
fn property_a_supply_and_the_years_move_a_sensor() {
    let figures = r#"slope = { min = "10 mV/K", typ = "10 mV/K", max = "10 mV/K" }, offset = { min = "0.5 V", typ = "0.5 V", max = "0.5 V" }, supply-sensitivity = { max = "0.1 K/V" }, ageing = { max = "0.4 °C" }"#;
    let text = board(
        "temperature",
        "0 °C to 50 °C",
        "linear-voltage",
        figures,
        "reference = \"vref\"",
    ) + "[references.vref]\nvoltage = \"2.5 V\"\n";
    let m = model(&text);
    let plain = error(&m, &[("rails.main.tolerance", 0.25)]);
    // The rail 0.25 V high at 0.1 K/V: 25 mK.
    let supply = error(
        &m,
        &[
            ("rails.main.tolerance", 0.25),
            ("channels.x.sensor.supply-sensitivity", 0.1),
        ],
    );
    assert!((supply - plain - 0.025).abs() < 1e-9, "{supply} {plain}");
    let aged = error(
        &m,
        &[
            ("rails.main.tolerance", 0.25),
            ("channels.x.sensor.ageing", 0.4),
        ],
    );
    assert!((aged - plain - 0.4).abs() < 1e-9);
    // Without a service life nothing ages.
    let m = model(&text.replace("service = \"3 years\"", ""));
    assert!(m.variables.iter().all(|v| !v.key.contains("ageing")));
}

#[test]
fn property_the_coefficient_of_a_shunt_is_in_its_slope() {
    // 75 ppm/K over 20 K of 4 A: 6 mA.
    let figures = r#"resistance = { min = "10 mΩ", typ = "10 mΩ", max = "10 mΩ" }, drift = { max = "75 ppm/K", method = "butterfly" }"#;
    let m = model(&board("current", "0 A to 5 A", "shunt", figures, ""));
    let warm = [("channels.x.quantity", 4.0), ("ambient", 318.15)];
    let plain = error(&m, &warm);
    let drifted = error(&m, &[warm[0], warm[1], ("channels.x.sensor.drift", 75e-6)]);
    assert!((drifted - plain - 0.006).abs() < 1e-9, "{drifted} {plain}");
}

#[test]
fn property_a_digital_sensor_drifts_by_the_year() {
    let text = r#"
[conditions]
service = "3 years"
[channels.x]
quantity = "humidity"
span = "20 %RH to 80 %RH"
sensor = "hts221"
"#;
    let m = model(text);
    let plain = error(&m, &[]);
    let aged = error(&m, &[("channels.x.sensor.drift-per-year", 0.005)]);
    // Three years of 0.5 %RH.
    assert!((aged - plain - 0.015).abs() < 1e-4, "{aged} {plain}");
}

#[test]
fn published_extension_wires_of_a_thermocouple_add_their_class() {
    // A pair of extension wires for type K of class 2 is within ±100 µV, said
    // to be ±2.5 °C (IEC 60584-3, table 2; from memory).
    let figures = r#"class-absolute = { max = "0 °C" }, extension-voltage = { max = "100 µV" }"#;
    let text = board("temperature", "0 °C to 900 °C", "thermocouple", figures, "")
        .replace(
            "law = \"thermocouple\", supply = \"main\",",
            "law = \"thermocouple\", options = { type = \"K\" },",
        )
        .replace("input = \"adc.0-1\"", "input = { at = \"adc\", gain = 32 }");
    let m = model(&text);
    let set = ("channels.x.quantity", 1173.15);
    let plain = error(&m, &[set]);
    let wires = error(&m, &[set, ("channels.x.sensor.extension-voltage", 100e-6)]);
    assert!((wires - plain - 2.5).abs() < 0.05, "{wires} {plain}");
}
