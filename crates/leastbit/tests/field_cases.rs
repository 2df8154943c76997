//! Measuring chains that misbehaved, reported in public, as board files run
//! through the whole program: the mechanism must be named together with the
//! number. The numbers are those of the reports, computed by hand in the
//! comments.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

use std::process::Command;

/// A board, judged by the binary.
struct Judged {
    json: serde_json::Value,
}

fn judged(name: &str, text: &str) -> Judged {
    let path =
        std::env::temp_dir().join(format!("leastbit-field-{}-{name}.toml", std::process::id()));
    std::fs::write(&path, text).unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_leastbit"))
        .arg("check")
        .arg(&path)
        .arg("--json")
        .output()
        .unwrap();
    std::fs::remove_file(&path).unwrap();
    assert_ne!(
        output.status.code(),
        Some(2),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    Judged {
        json: serde_json::from_slice(&output.stdout).unwrap(),
    }
}

impl Judged {
    /// All that the only finding of an id says, as one text.
    fn says(&self, id: &str) -> String {
        let found: Vec<&serde_json::Value> = self.json["findings"]
            .as_array()
            .unwrap()
            .iter()
            .filter(|f| f["id"] == id)
            .collect();
        let [one] = found.as_slice() else {
            panic!("{id}: {:#}", self.json["findings"]);
        };
        let mut text = one["headline"].as_str().unwrap().to_owned();
        for key in ["working", "remedies"] {
            for line in one[key].as_array().unwrap() {
                text.push('\n');
                text.push_str(line.as_str().unwrap());
            }
        }
        for figure in one["figures"].as_array().unwrap() {
            text.push_str(&format!("\n{}: {}", figure["name"], figure["value"]));
        }
        text
    }

    /// Whether there is a finding of an id.
    fn has(&self, id: &str) -> bool {
        self.json["findings"]
            .as_array()
            .unwrap()
            .iter()
            .any(|f| f["id"] == id)
    }
}

/// The first number after some words, with its prefix taken into account.
fn after(text: &str, words: &str) -> f64 {
    let at = text
        .find(words)
        .unwrap_or_else(|| panic!("no `{words}` in: {text}"));
    let rest = text[at + words.len()..]
        .trim_start_matches(|c: char| !(c.is_ascii_digit() || c == '\u{2212}'));
    let end = rest
        .find(|c: char| !(c.is_ascii_digit() || c == '.' || c == '\u{2212}'))
        .unwrap_or(rest.len());
    let number: f64 = rest[..end].replace('\u{2212}', "-").parse().unwrap();
    let factor = match rest[end..].trim_start().chars().next() {
        Some('G') => 1e9,
        Some('M') => 1e6,
        Some('k') => 1e3,
        Some('m') if !rest[end..].trim_start().starts_with("m ") => 1e-3,
        Some('µ') => 1e-6,
        Some('n') => 1e-9,
        Some('p') if !rest[end..].trim_start().starts_with("pH") => 1e-12,
        _ => 1.0,
    };
    number * factor
}

fn near(found: f64, expected: f64, tolerance: f64, text: &str) {
    assert!(
        (found - expected).abs() <= tolerance,
        "{found} where {expected} ± {tolerance} is expected, in: {text}"
    );
}

#[test]
fn published_absolute_sensor_and_a_constant_of_another_board() {
    // 10 mV/°C absolute, the firmware's constant is 5.0 V full scale, the new
    // board's converter compares against 3.3 V: factor 5/3.3 = 1.515; 25 °C
    // reads 37.9 °C (± 0.3), 200 °C reads 303 °C (± 1). A gain error.
    let text = r#"
[rails.logic]
voltage = "3.3 V ± 0 %"
[converters.adc]
supply = "logic"
bits = 10
[channels.kiln]
quantity = "temperature"
span = "25 °C to 200 °C"
sensor = { law = "linear-voltage", figures = { offset = { typ = "0 V" }, slope = { typ = "10 mV/K" } } }
input = "adc"
conversion = { formula = "(code + 0.5) * 5.0 / 1024 / 0.010" }
"#;
    let says = judged("f03", text).says("firmware.conversion-differs");
    near(after(&says, "readings are"), 1.515, 0.002, &says);
    near(after(&says, "25 °C reads"), 37.9, 0.3, &says);
    near(after(&says, "200 °C reads"), 303.0, 1.0, &says);
    assert!(says.contains("a gain error, not an offset"), "{says}");
    // The constant of the fitted reference: nothing to say.
    let right = judged("f03-right", &text.replace("5.0 / 1024", "3.3 / 1024"));
    assert!(
        !right.has("firmware.conversion-differs"),
        "{:#}",
        right.json
    );
    // The same stated as an assumption.
    let assumed = text.replace(
        "formula = \"(code + 0.5) * 5.0 / 1024 / 0.010\"",
        "assume = { reference = \"5 V\" }",
    );
    let says = judged("f03-assumed", &assumed).says("firmware.assumed-value");
    assert!(
        says.contains("a reference of 5 V where 3.3 V is fitted"),
        "{says}"
    );
    near(after(&says, "readings are"), 1.515, 0.002, &says);
}

#[test]
fn published_two_wire_platinum_reads_high_by_its_leads() {
    // 1.00 Ω of leads: +2.56 K at 0 °C, +2.64 at 100 °C, +2.81 at 300 °C
    // (± 0.03); the error grows, so one offset does not remove it.
    let text = r#"
[rails.ref]
voltage = "2.5 V ± 0 %"
[converters.adc]
supply = "ref"
bits = 24
[channels.t]
quantity = "temperature"
span = "0 °C to 400 °C"
sensor = { law = "platinum", leads = "0.5 Ω ± 0 % each", figures = { nominal-resistance = { typ = "100 Ω" } } }
chain = [{ pull-up = "10 kΩ ± 0 %", to = "ref" }]
input = "adc"
conversion = { assume = { "channels.t.sensor.leads" = "0 Ω" } }
"#;
    let says = judged("f11", text).says("firmware.assumed-value");
    assert!(says.contains("sensor.leads"), "{says}");
    near(after(&says, "readings are"), 2.56, 0.03, &says);
    let error = |q: &str| {
        let line = says.lines().find(|l| l.starts_with(q)).unwrap();
        after(line, "(")
    };
    near(error("0 °C"), 2.56, 0.03, &says);
    near(error("100 °C"), 2.64, 0.03, &says);
    near(error("300 °C"), 2.81, 0.03, &says);
    assert!(says.contains("not the same everywhere"), "{says}");
}

#[test]
fn published_ratiometric_platinum_and_a_wrong_reference_resistor() {
    // Fitted 430 Ω, the firmware used 400 Ω: R · 400/430. 29.4 °C reads
    // 9.4 °C (± 0.5), 200 °C reads 166.8 °C (± 0.7).
    let text = r#"
[rails.ref]
voltage = "2.5 V ± 0 %"
[converters.adc]
supply = "ref"
bits = 24
[channels.t]
quantity = "temperature"
span = "29.4 °C to 200 °C"
sensor = { law = "platinum", figures = { nominal-resistance = { typ = "100 Ω" } } }
chain = [{ pull-up = "430 Ω 0.1 %", to = "ref" }]
input = "adc"
conversion = { assume = { "channels.t.chain.pull-up" = "400 Ω" } }
"#;
    let says = judged("f12", text).says("firmware.assumed-value");
    assert!(says.contains("400 Ω") && says.contains("430 Ω"), "{says}");
    near(after(&says, "400 Ω is"), 400.0 / 430.0, 0.001, &says);
    near(after(&says, "29.4 °C reads"), 9.4, 0.5, &says);
    near(after(&says, "200 °C reads"), 166.8, 0.7, &says);
    assert!(says.contains("not the same everywhere"), "{says}");
}

#[test]
fn published_divide_by_1023_or_1024() {
    // 10 bits, 3.3 V, 30 kΩ over 5.6 kΩ: dividing by 1024 is low by half a
    // code (1.6 mV; 10 mV at the battery side); by 1023 low by half a code at
    // zero, right in the middle, high by half a code at the top. Code 1023
    // says only "at or above 3.2968 V". One code at the battery is 20.5 mV.
    let text = |divisor: &str| {
        format!(
            r#"
[rails.logic]
voltage = "3.3 V ± 0 %"
[converters.adc]
supply = "logic"
bits = 10
[channels.battery]
quantity = "voltage"
span = "0 V to 20.978 V"
chain = [{{ divider = {{ top = "30 kΩ ± 0 %", bottom = "5.6 kΩ ± 0 %" }} }}]
input = "adc"
conversion = {{ formula = "{divisor} * 3.3 * (30 + 5.6) / 5.6" }}
"#
        )
    };
    let says = judged("f15-1024", &text("code / 1024")).says("firmware.half-code");
    assert!(says.contains("low by 0.50 codes"), "{says}");
    assert!(says.contains("(code + 0.5) / 1024"), "{says}");
    near(after(&says, "codes ("), 10.2e-3, 0.3e-3, &says);
    near(after(&says, "in the reading"), 0.0, 1e9, &says);
    near(
        after(&says, "wide at the converter and"),
        20.49e-3,
        0.2e-3,
        &says,
    );
    near(after(&says, "at or above"), 3.2968, 0.0002, &says);
    let says = judged("f15-1023", &text("code / 1023")).says("firmware.half-code");
    assert!(
        says.contains("\u{2212}0.50 codes at") && says.contains("+0.50 codes at 2"),
        "{says}"
    );
    let right = judged("f15-right", &text("(code + 0.5) / 1024"));
    assert!(!right.has("firmware.half-code"), "{:#}", right.json);
}

#[test]
fn published_single_supply_buffer_that_never_reaches_ground() {
    // 10 kΩ from the output to a bias of 1.65 V: 165 µA must be sunk at 0 V,
    // 3.3 times the typical 50 µA; the output stops about a diode drop above
    // ground. At least 33 kΩ (typical part), 138 kΩ (least: 12 µA), ± 5 %.
    let text = r#"
[parts.old-dual]
kind = "amplifier"
[parts.old-dual.figures]
offset-voltage = { max = "0 V" }
swing-low = { max = "0 V" }
swing-low-current = { typ = "50 µA", min = "12 µA" }
swing-low-beyond = { max = "0.6 V" }
[rails.main]
voltage = "3.3 V ± 0 %"
[rails.half]
voltage = "1.65 V ± 0 %"
[converters.adc]
supply = "main"
bits = 12
[channels.x]
quantity = "voltage"
span = "0 V to 2 V"
chain = [{ buffer = "old-dual", supply = "main", load = "10 kΩ ± 0 %", load-to = "half" }]
input = "adc"
"#;
    let result = judged("f08", text);
    let says = result.says("stage.output-current");
    assert!(says.contains("must sink is 165.0 µA"), "{says}");
    near(after(&says, "must sink is"), 165e-6, 1e-6, &says);
    assert!(says.contains("3.3 times what it can"), "{says}");
    near(after(&says, "stops at"), 0.6, 0.1, &says);
    near(after(&says, "at least"), 33e3, 0.05 * 33e3, &says);
    near(
        after(&says, "nominal, at least"),
        138e3,
        0.05 * 138e3,
        &says,
    );
    // The output's range is the same thing and is not told twice.
    assert!(!result.has("stage.output-range"));
    let mended = judged(
        "f08-mended",
        &text.replace("\"10 kΩ ± 0 %\"", "\"180 kΩ ± 0 %\""),
    );
    assert!(!mended.has("stage.output-current"), "{:#}", mended.json);
}

#[test]
fn published_floor_of_an_instrumentation_amplifier() {
    // 0 to 100 mV, gain 40.96, 4.096 V and 10 bits, output from 10 mV on:
    // 0.244 mV of signal, 2.5 codes, 0.24 % of the span are hidden (± 2 %); a
    // pedestal of 10 mV or more costs 0.24 % of the scale, so that the gain
    // must come down to about 40.8.
    let text = r#"
[parts.ina]
kind = "instrumentation-amplifier"
[parts.ina.figures]
supply = { min = "2 V", max = "12 V" }
gain-range = { min = 1, max = 1000 }
offset-voltage = { max = "0 V" }
swing-low = { max = "10 mV" }
input-headroom-low = "-0.15 V"
input-headroom-high = "1.5 V"
[rails.main]
voltage = "5 V ± 0 %"
[references.vref]
voltage = "4.096 V ± 0 %"
[converters.adc]
supply = "main"
bits = 10
[channels.x]
quantity = "voltage"
span = "0 V to 0.1 V"
chain = [{ instrumentation = { part = "ina", supply = "main", gain = 40.96 } }]
input = "adc"
reference = "vref"
"#;
    let says = judged("f09", text).says("stage.output-range");
    near(
        after(&says, "the voltage is below"),
        0.244e-3,
        0.005e-3,
        &says,
    );
    near(after(&says, "cannot be seen:"), 0.244e-3, 0.005e-3, &says);
    near(after(&says, "244 µV, "), 2.5, 0.05, &says);
    assert!(says.contains("0.24 % of the span"), "{says}");
    near(after(&says, "pedestal of at least"), 10e-3, 0.1e-3, &says);
    near(after(&says, "a gain of"), 40.8, 0.1, &says);
}
