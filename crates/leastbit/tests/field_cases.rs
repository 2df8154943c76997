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

#[test]
fn published_shunt_reference_with_no_margin() {
    // 3.000 V from 5 V through 10 kΩ; the shunt needs 100 µA, the converter
    // takes 100 µA: 200 µA at exactly 5.000 V. At −5 % (4.75 − 3.015)/200 µA =
    // 8.67 kΩ (± 2 %) is the most.
    let text = |series: &str, voltage: &str, more: &str| {
        format!(
            r#"
[parts.shunt-3v]
kind = "shunt-reference"
[parts.shunt-3v.figures]
voltage = {{ typ = "{voltage}" }}
initial-accuracy = {{ max = "0.5 %" }}
minimum-current = {{ max = "100 µA" }}
[rails.main]
voltage = "5 V ± 5 %"
[references.vref]
part = "shunt-3v"
supply = "main"
series = "{series} ± 0 %"
load = "100 µA"
[converters.adc]
supply = "main"
bits = 12
[channels.x]
quantity = "voltage"
span = "0 V to 2.9 V"
input = "adc"
reference = "vref"
{more}
"#
        )
    };
    let says = judged("f02", &text("10 kΩ", "3 V", "")).says("reference.starved");
    near(
        after(&says, "a series resistor of at most"),
        8.67e3,
        0.02 * 8.67e3,
        &says,
    );
    assert!(
        says.contains("everything nominal: 100.0 µA − 100.0 µA"),
        "{says}"
    );
    // Three times the current: no starvation, and 2.984 V where 3.000 V is
    // assumed is 0.53 % of the reading, 21.8 codes of 12 bits (± 0.5).
    let third = judged(
        "f02-third",
        &text(
            "3.3 kΩ",
            "2.984 V",
            "conversion = { assume = { reference = \"3 V\" } }",
        ),
    );
    assert!(!third.has("reference.starved"), "{:#}", third.json);
    let says = third.says("firmware.assumed-value");
    assert!(says.contains("3 V where 2.984 V is fitted"), "{says}");
    near(after(&says, "of the reading,"), 21.8, 0.5, &says);
}

#[test]
fn published_resistor_for_the_widest_span_of_a_thermistor() {
    // 4 kΩ to 115 kΩ, 10 bits, one resistor: 21.4 kΩ (± 3 %) is best and gives
    // 702 codes (± 3); 10 kΩ gives 650, 4 kΩ and 115 kΩ 478. The whole scale
    // is out of reach.
    let text = |ohm: &str| {
        format!(
            r#"
[rails.ref]
voltage = "3.3 V ± 0 %"
[converters.adc]
supply = "ref"
bits = 10
[channels.x]
quantity = "resistance"
span = "4 kΩ to 115 kΩ"
chain = [{{ pull-up = "{ohm} 1 %", to = "ref" }}]
input = "adc"
"#
        )
    };
    for (ohm, codes) in [("10 kΩ", 650.0), ("4 kΩ", 478.0), ("115 kΩ", 478.0)] {
        let says =
            judged(&format!("f10-{codes}-{}", ohm.len()), &text(ohm)).says("stage.pull-span");
        near(after(&says, "Ω uses"), codes, 3.0, &says);
        near(after(&says, "codes;"), 21.4e3, 0.03 * 21.4e3, &says);
        near(after(&says, "would use"), 702.0, 3.0, &says);
        assert!(says.contains("the whole scale cannot be had"), "{says}");
    }
    let best = judged("f10-best", &text("21.4 kΩ"));
    assert!(!best.has("stage.pull-span"), "{:#}", best.json);
}

/// A type K thermocouple and the sensor of its cold junction.
fn junction(cold: &str, warmed: &str, ambient: &str) -> String {
    format!(
        r#"
[conditions]
ambient = "{ambient}"
[rails.ref]
voltage = "2.5 V ± 0 %"
[converters.adc]
supply = "ref"
bits = 24
[channels.junction]
quantity = "temperature"
span = "0 °C to 60 °C"
sensor = {{ law = "linear-voltage"{warmed}, figures = {{ offset = {{ typ = "0.5 V" }}, slope = {{ typ = "10 mV/K" }} }} }}
input = "adc"
[channels.hot]
quantity = "temperature"
span = "25 °C to 240 °C"
sensor = {{ law = "thermocouple", options = {{ type = "K" }}, cold-junction = "{cold}" }}
input = "adc"
"#
    )
}

#[test]
fn published_cold_junction_sensor_warmer_than_the_terminals() {
    // Terminals at 25 °C, the sensor at 33 °C: +8.0 K at 25 °C, +8.0 at 240,
    // +8.1 at 200 (± 0.2), as much as 0.32 mV.
    let result = judged("f13", &junction("junction", ", warmed = \"8 K\"", "25 °C"));
    let found = result.json["findings"].as_array().unwrap();
    let says = found
        .iter()
        .filter(|f| f["id"] == "sensor.warmed" && f["subjects"][0] == "hot")
        .map(|f| format!("{}\n{}\n{}", f["headline"], f["working"], f["remedies"]))
        .next()
        .unwrap_or_else(|| panic!("{:#}", result.json["findings"]));
    assert!(
        says.contains("the sensor of junction sits 8 K warmer"),
        "{says}"
    );
    let line = says.lines().find(|l| l.contains("25 °C reads")).unwrap();
    near(after(line, "25 °C reads"), 33.0, 0.2, &says);
    near(after(&says, "240 °C reads"), 248.0, 0.2, &says);
    near(after(&says, "as much as"), 0.32e-3, 0.01e-3, &says);
    assert!(says.contains("on the terminals"), "{says}");
    // The value frozen at 25 °C while the junction is at 35 °C: −10.1 K at
    // 240 °C (± 0.2).
    let frozen = judged("f13-frozen", &junction("25 °C", "", "25 °C to 35 °C"));
    let says = frozen.says("sensor.fixed-auxiliary");
    assert!(
        says.contains("takes the cold junction as 25 °C, but at 35 °C"),
        "{says}"
    );
    let line = says.lines().find(|l| l.contains("240 °C reads")).unwrap();
    near(after(line, "("), 10.1, 0.2, &says);
    assert!(line.contains("too low"), "{line}");
}

#[test]
fn published_loop_resistor_with_no_room_above_20_ma() {
    // 165 Ω and 3.3 V: 20.0 mA is exactly full scale; with the rail 2 % low it
    // clips at 19.6 mA (± 0.1). For 21.5 mA at 3.3 V − 2 % at most 150 Ω
    // (± 1 %). 3.6 mA is 0.594 V: a break is still told.
    let text = |ohm: &str| {
        format!(
            r#"
[rails.logic]
voltage = "3.3 V ± 2 %"
[rails.field]
voltage = "24 V ± 10 %"
[converters.adc]
supply = "logic"
bits = 12
[channels.level]
quantity = "level"
span = "0 m to 2 m"
sensor = {{ part = "loop-transmitter", supply = "field", figures = {{ span-low = "0 m", span-high = "2 m" }} }}
chain = [{{ burden = "{ohm} ± 0 %" }}]
input = "adc"
"#
        )
    };
    let result = judged("f21", &text("165 Ω"));
    let says = result.says("loop.bands");
    near(after(&says, "the codes end at"), 20.0e-3, 0.05e-3, &says);
    near(
        after(&says, "on the worst board at"),
        19.6e-3,
        0.1e-3,
        &says,
    );
    assert!(says.contains("over-range and the fault band"), "{says}");
    near(after(&says, "a resistor of at most"), 150.0, 1.5, &says);
    near(after(&says, "3.60 mA gives"), 0.594, 0.001, &says);
    // On the worst board the span itself is cut.
    let says = result.says("converter.code-range");
    assert!(says.contains("the codes end at"), "{says}");
    let mended = judged("f21-mended", &text("150 Ω"));
    assert!(!mended.has("loop.bands"), "{:#}", mended.json);
    assert!(!mended.has("loop.headroom"), "{:#}", mended.json);
    // From 12 V the transmitter has 10.8 V − 21 mA · 150 Ω = 7.65 V.
    let low = judged("f21-low", &text("150 Ω").replace("\"24 V", "\"12 V"));
    let says = low.says("loop.headroom");
    near(after(&says, "leaves the transmitter"), 7.65, 0.01, &says);
}

#[test]
fn published_glass_electrode_straight_into_a_converter() {
    // 300 MΩ into 25 MΩ: 1/13 of 59.16 mV/pH is left, 4.55 mV/pH (± 1 %). For
    // 0.01 pH at the ends at least 210 GΩ, from bias alone at most 2.0 pA
    // (± 5 %).
    let text = r#"
[rails.ref]
voltage = "2.5 V ± 0 %"
[converters.adc]
supply = "ref"
bits = 24
bipolar = true
figures = { input-resistance = { typ = "25 MΩ" } }
[channels.must]
quantity = "acidity"
span = "0 pH to 14 pH"
accuracy = "0.01 pH"
sensor = { law = "glass-electrode", figures = { resistance-25 = { typ = "300 MΩ" } }, temperature = "25 °C" }
input = "adc"
"#;
    let says = judged("f23", text).says("converter.input-loading");
    near(after(&says, "the source:"), 1.0 / 13.0, 0.0005, &says);
    near(
        after(&says, "of the signal is left,"),
        4.55e-3,
        0.0455e-3,
        &says,
    );
    near(after(&says, "instead of"), 59.16e-3, 0.1e-3, &says);
    near(
        after(&says, "input resistance of at least"),
        210e9,
        0.05 * 210e9,
        &says,
    );
    near(
        after(&says, "bias current of at most"),
        2.0e-12,
        0.1e-12,
        &says,
    );
}

#[test]
fn published_calibration_at_one_point_that_does_not_transfer() {
    // Reads 1.75 V at 1.65 V and 3.9 V at 3.3 V; a line through zero and the
    // first point gives 3.68 V at 3.3 V, +11.4 % (± 0.5); the slopes needed
    // are 0.943 below and 0.767 between. Through the second: 1.48 V at 1.65 V,
    // −10.3 %.
    let text = |point: &str| {
        format!(
            r#"
[rails.ref]
voltage = "5 V ± 0 %"
[converters.adc]
supply = "ref"
bits = 24
[channels.x]
quantity = "voltage"
span = "0 V to 3.3 V"
sensor = {{ law = "voltage-table", figures = {{ points = {{ points = [["0 V", "0 V"], ["1.65 V", "1.75 V"], ["3.3 V", "3.9 V"]] }} }}, options = {{ curve = "straight" }} }}
input = "adc"
conversion = {{ formula = "(code + 0.5) / 16777216 * 5.0" }}
calibrate = {{ at = ["{point}"], fit = "gain" }}
"#
        )
    };
    let says = judged("f24", &text("1.65 V")).says("calibration.does-not-transfer");
    near(after(&says, "but 3.3 V reads"), 3.677, 0.015, &says);
    near(after(&says, "too high), +"), 11.4, 0.5, &says);
    assert!(
        says.contains("slope of 0.943") && says.contains("slope of 0.767"),
        "{says}"
    );
    let says = judged("f24-second", &text("3.3 V")).says("calibration.does-not-transfer");
    near(after(&says, "but 1.65 V reads"), 1.481, 0.01, &says);
    near(after(&says, "too low), "), -10.3, 0.5, &says);
}

#[test]
fn published_gain_resistor_beside_a_power_part() {
    // Gain 6 of 50 kΩ and 10 kΩ at 1.2 V; the 10 kΩ alone warms by 10 K at
    // 100 ppm/K: 6.0 mV at the output, 2.5 codes of 12 bits over 10 V (± 5 %).
    // Both at ±100 ppm/K over 50 K with opposite signs: ±0.83 % of the gain;
    // tracking to 5 ppm/K leaves 0.02 %.
    let text = |feedback: &str, hot: &str| {
        format!(
            r#"
[conditions]
ambient = "25 °C to {hot}"
[parts.op]
kind = "amplifier"
[parts.op.figures]
offset-voltage = {{ max = "0 V" }}
[rails.main]
voltage = "12 V ± 0 %"
[rails.ref]
voltage = "10 V ± 0 %"
[converters.adc]
supply = "main"
bits = 12
[channels.x]
quantity = "voltage"
span = "0 V to 1.2 V"
chain = [{{ non-inverting = {{ part = "op", supply = "main", feedback = "50 kΩ ± 0 %{feedback}", gain-resistor = "10 kΩ ± 0 % 100 ppm/K" }} }}]
input = "adc"
reference = "ref"
[judging]
known-error = 0.01
"#
        )
    };
    // A board that asks for a millivolt at the input.
    let asked = text("", "35 °C").replace("input = ", "accuracy = \"1 mV\"\ninput = ");
    let says = judged("f22", &asked).says("stage.resistor-drift");
    assert!(says.contains("one resistor drifts"), "{says}");
    near(after(&says, "up to ±"), 1.0e-3, 0.05e-3, &says);
    near(after(&says, "as much as"), 6.0e-3, 0.3e-3, &says);
    near(after(&says, "at the converter,"), 2.5, 0.12, &says);
    let both = judged("f22-both", &text(" 100 ppm/K", "75 °C"));
    let says = both.says("stage.resistor-drift");
    assert!(says.contains("resistors drift apart"), "{says}");
    near(after(&says, "mV ("), 0.83, 0.01, &says);
    // 5 ppm/K · 50 K · 5/6 of 1.2 V.
    near(
        after(&says, "would leave ±"),
        0.0002083 * 1.2,
        0.01e-3,
        &says,
    );
}

#[test]
fn published_divider_on_the_board_loads_the_source() {
    // 1.0 V and 10 bits behind 220 kΩ over 100 kΩ (320 kΩ to ground); a half-
    // supply source of 100 kΩ/100 kΩ reads 457 (± 3), one of 1 MΩ/1 MΩ 206; the
    // nodes stand at 1.427 V and 0.644 V.
    let text = |ohm: &str| {
        format!(
            r#"
[rails.ref]
voltage = "1 V ± 0 %"
[converters.adc]
supply = "ref"
bits = 10
[channels.x]
quantity = "voltage"
span = "0 V to 3.3 V"
sensor = {{ law = "direct-voltage", source-resistance = "{ohm} ± 0 %" }}
chain = [{{ divider = {{ top = "220 kΩ ± 0 %", bottom = "100 kΩ ± 0 %" }} }}]
input = "adc"
conversion = {{ formula = "(code + 0.5) / 1024 * 3.2" }}
"#
        )
    };
    for (name, ohm, node, code) in [
        ("f04-100k", "50 kΩ", 1.427, 457.0),
        ("f04-1m", "500 kΩ", 0.644, 206.0),
    ] {
        let says = judged(name, &text(ohm)).says("stage.loads-source");
        assert!(says.contains("loads its source"), "{says}");
        let line = says
            .lines()
            .find(|l| l.starts_with("1.65 V at the source"))
            .unwrap();
        near(after(line, "stands at"), node, 0.002, &says);
        near(after(line, "code"), code, 3.0, &says);
        near(after(&says, "as good as"), 320e3, 1e3, &says);
    }
    // The program's own inverse knows the source: only a note.
    let text = text("50 kΩ").replace(
        "conversion = { formula = \"(code + 0.5) / 1024 * 3.2\" }",
        "",
    );
    let says = judged("f04-known", &text).says("stage.loads-source");
    assert!(says.contains("makes up for it"), "{says}");
}

#[test]
fn published_leakage_through_a_protection_resistor() {
    // 10 bits at 5 V, 100 nA hot: 5 mV = 1.0 code with 50 kΩ, 10 mV = 2.0 codes
    // with 100 kΩ (± 5 %); 40 K cooler a sixteenth.
    let text = |ohm: &str| {
        format!(
            r#"
[conditions]
ambient = "25 °C to 125 °C"
[rails.ref]
voltage = "5 V ± 0 %"
[converters.adc]
supply = "ref"
bits = 10
figures = {{ input-leakage = {{ max = "100 nA", reference-temperature = "125 °C" }} }}
[channels.x]
quantity = "voltage"
span = "0 V to 4.9 V"
chain = [{{ series = "{ohm} ± 0 %" }}]
input = "adc"
"#
        )
    };
    for (ohm, volt, codes) in [("50 kΩ", 5e-3, 1.0), ("100 kΩ", 10e-3, 2.0)] {
        let says = judged(&format!("f06-{codes}"), &text(ohm)).says("converter.input-leakage");
        near(after(&says, "by up to"), volt, 0.05 * volt, &says);
        near(after(&says, "mV ="), codes, 0.05 * codes, &says);
        assert!(says.contains("1/16"), "{says}");
        // Half a code is 2.44 mV: 24.4 kΩ.
        near(
            after(&says, "a series resistor of at most"),
            24.4e3,
            0.2e3,
            &says,
        );
    }
}

#[test]
fn published_reference_switched_and_read_too_soon() {
    // A ten-bit converter's reference is switched from its 3.4 V supply to
    // its own 1.1 V; 100 nF at the pin, discharged by 32 kΩ inside (20 to
    // 50 kΩ): 3.2 ms. 27 ms until half a code is left (± 15 %); after 10 ms it
    // is still 9.2 % high; 0.1 ms after switching (one conversion discarded)
    // 1.000 V reads about code 310 (± 10) and not 931.
    let board = |resistance: &str, wait: &str| {
        format!(
            r#"
[rails.main]
voltage = "3.4 V exact"
[converters.mcu]
supply = "main"
bits = 10
[[converters.mcu.references]]
name = "internal"
figures.voltage = "1.1 V exact"
figures.pin-resistance = {resistance}
[channels.probe]
quantity = "voltage"
span = "0 V to 1 V"
accuracy = "5 mV"
input = "mcu"
reference = "mcu.internal"
[scan.mcu]
reference-capacitor = "100 nF exact"
reference-from = "main"
reference-wait = "{wait}"
"#
        )
    };
    let family = r#"{ min = "20 kΩ", typ = "32 kΩ", max = "50 kΩ" }"#;
    let text = judged("reference-10ms", &board(family, "10 ms")).says("reference.not-settled");
    near(
        after(&text, "half a code is left after"),
        26.8e-3,
        0.3e-3,
        &text,
    );
    near(after(&text, "is still"), 9.2, 0.1, &text);
    let text = judged("reference-100us", &board(family, "0.1 ms")).says("reference.not-settled");
    near(after(&text, "is read as code"), 310.0, 10.0, &text);
    near(after(&text, "instead of"), 931.0, 1.0, &text);
    // The trace, 1 V in the first millisecond of 2.3 V, is 1.75 ms and thus
    // 17.5 kΩ: 15 ms (± 15 %), 0.7 % left after ten.
    let text = judged("reference-trace", &board("\"17.5 kΩ exact\"", "10 ms"))
        .says("reference.not-settled");
    near(
        after(&text, "half a code is left after"),
        14.6e-3,
        0.3e-3,
        &text,
    );
    near(after(&text, "is still"), 0.7, 0.05, &text);
    // Discarding one conversion is no remedy; waiting as told is.
    assert!(
        text.contains("discarding a conversion or two is not enough"),
        "{text}"
    );
    assert!(!judged("reference-settled", &board(family, "45 ms")).has("reference.not-settled"));
}

#[test]
fn published_slow_sine_at_200_samples_a_second() {
    // A 16-bit serial converter with no filter before it shows a steady sine
    // of 5.5 Hz that is gone with the input grounded; the explanation given is
    // the fourth harmonic of the mains at 205.5 Hz against 200 samples a
    // second: 4 × 51.375 − 200 = 5.5 (± 0.1). With 50 Hz the rate is off.
    let text = |mains: &str| {
        format!(
            r#"
[conditions]
mains = "{mains}"
[rails.main]
voltage = "5 V ± 0 %"
[converters.adc]
supply = "main"
bits = 16
[channels.signal]
quantity = "voltage"
span = "0 V to 5 V"
rate = "200 /s"
input = "adc"
reference = "main"
"#
        )
    };
    let found = judged("f07", &text("51.375 Hz ± 0 %"));
    let says = found.says("interference.alias");
    near(after(&says, "would show at"), 5.5, 0.1, &says);
    assert!(says.contains("mains × 4, 205.5 Hz"), "{says}");
    assert!(!found.has("interference.zero-beat"));
    // What the grid really does: 198 to 202 Hz, between 0 and 2 Hz; exactly
    // at 50.0 Hz it is an offset that nobody sees. One sample a second more
    // moves it by 1 Hz.
    let found = judged("f07-grid", &text("50 Hz"));
    let says = found.says("interference.alias");
    near(after(&says, "would show at"), 0.0, 1e-9, &says);
    assert!(says.contains("0 Hz to 2 Hz"), "{says}");
    near(
        after(&says, "readings a second move it by"),
        1.0,
        1e-9,
        &says,
    );
    let says = found.says("interference.zero-beat");
    assert!(says.contains("mains × 4 is exactly 1 × 200"), "{says}");
}

#[test]
fn published_floating_input_that_follows_the_channel_before_it() {
    // A second channel floats with the 18 pF (and 10 MΩ) of a probe, emptied
    // between the sequences: it shows 21.5 % of what the first channel has,
    // which is a sample capacitor of 18 pF · 0.2147/(1 − 0.2147) = 4.92 pF
    // (± 0.6 pF). Over 2.9 V of the first channel that is 0.2147 · 3599
    // codes = 773, of which the probe takes 2 % away during the acquisition.
    let board = |every: &str| {
        format!(
            r#"
[rails.main]
voltage = "3.3 V exact"
[converters.mcu]
supply = "main"
bits = 12
[converters.mcu.figures]
sample-capacitor = "4.92 pF"
switch-resistance = "1 kΩ"
clock = {{ max = "14 MHz" }}
sample-cycles = {{ choices = [55.5] }}
conversion-cycles = 12.5
[channels.driven]
quantity = "voltage"
span = "0 V to 2.9 V"
chain = [{{ series = "1 kΩ exact" }}]
input = "mcu"
[channels.floating]
quantity = "voltage"
span = "0 V to 2.9 V"
chain = [{{ low-pass = {{ r = "10 MΩ exact", c = "18 pF exact" }} }}]
input = "mcu"
[scan.mcu]
clock = "14 MHz"
every = "{every}"
"#
        )
    };
    let text = judged("floating", &board("10 ms")).says("sampling.unsettled");
    near(
        after(&text, "`driven` over its span moves it by"),
        0.98 * 773.0,
        10.0,
        &text,
    );
    // A full-range step costs less than a code with 4095 times 4.92 pF, 20 nF,
    // and less than a quarter code over the 2.9 V of the span with 71 nF. The
    // probe refills that in 0.7 s: with 20 s between sequences it may.
    let text = judged("floating-slow", &board("20 s")).says("sampling.unsettled");
    near(after(&text, "a capacitor of"), 71e-9, 3e-9, &text);
}
