//! Links that misbehaved, reported in public, as board files run through the
//! whole program: the mechanism must be named together with the number. The
//! numbers are those of the reports, computed by hand in the comments.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

use std::process::Command;

fn links(name: &str, text: &str) -> serde_json::Value {
    let path = std::env::temp_dir().join(format!(
        "leastbit-levels-{}-{name}.toml",
        std::process::id()
    ));
    std::fs::write(&path, text).unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_leastbit"))
        .arg("links")
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
    serde_json::from_slice(&output.stdout).unwrap()
}

/// All that the findings of an id say, as one text.
fn says(json: &serde_json::Value, id: &str) -> String {
    let mut text = String::new();
    for f in json["findings"].as_array().unwrap() {
        if f["id"] != id {
            continue;
        }
        text.push_str(f["headline"].as_str().unwrap());
        for key in ["working", "remedies"] {
            for line in f[key].as_array().unwrap() {
                text.push('\n');
                text.push_str(line.as_str().unwrap());
            }
        }
        text.push('\n');
    }
    assert!(!text.is_empty(), "no {id} in {:#}", json["findings"]);
    text
}

#[track_caller]
fn holds(text: &str, parts: &[&str]) {
    for part in parts {
        assert!(text.contains(part), "no `{part}` in: {text}");
    }
}

const STRIP: &str = r#"
[rails.logic]
voltage = "3.3 V ± 5 %"
[rails.five]
voltage = "5 V"
[devices.mcu]
part = "levels-lvcmos-3v3"
supply = "logic"
[devices.strip]
part = "levels-cmos"
supply = "five"
[links.data]
kind = "wire"
driver = "mcu"
receivers = ["strip"]
"#;

#[test]
fn published_3v3_output_into_a_5v_input() {
    // Needs 0.7 · 5 V = 3.50 V: 3.3 − 3.5 = −0.20 V as meant, 3.135 − 3.5 =
    // −0.365 V with the driver's supply 5 % low. Largest supply 3.3/0.7 =
    // 4.71 V; behind a diode 4.3 V · 0.7 = 3.01 V, +0.29 V.
    let json = links("f17", STRIP);
    let pair = &json["links"][0]["levels"][0];
    let margin = pair["margin_high"].as_f64().unwrap();
    assert!((margin + 0.365).abs() < 0.001, "{margin}");
    holds(
        &says(&json, "link.level-high"),
        &[
            "3.500 V",
            "365 mV too little",
            "−200 mV with everything as meant",
            "4.71 V",
            "4.30 V",
            "3.01 V",
            "leaves 290 mV",
            "on the bench",
        ],
    );
}

#[test]
fn property_the_buffer_proposed_for_it_cures_it() {
    let cured = STRIP.replace(
        "[links.data]",
        "[devices.buffer]\npart = \"74hct125\"\nsupply = \"five\"\n[links.near]\nkind = \"wire\"\ndriver = \"mcu\"\nreceivers = [\"buffer\"]\n[links.data]",
    );
    let cured = cured.replace(
        "driver = \"mcu\"\nreceivers = [\"strip\"]",
        "driver = \"buffer\"\nreceivers = [\"strip\"]",
    );
    let json = links("f17-cured", &cured);
    for link in json["links"].as_array().unwrap() {
        assert_eq!(link["verdict"], "meets", "{link:#}");
    }
}

#[test]
fn published_5v_output_into_a_pin_of_4v_at_most() {
    // STM32F103 data sheet, table 6: 4.0 V at most on a pin that does not
    // tolerate 5 V; table 7: 5 mA of injection. A 74HCT125 at 5 V gives up to
    // 5.25 V behind (4.5 − 3.84) V/4 mA = 165 Ω: (5.25 − 3.3·0.97 − 0.5)/165 =
    // 9.4 mA.
    let json = links(
        "over",
        r#"
[rails.logic]
voltage = "3.3 V ± 3 %"
[rails.five]
voltage = "5 V ± 5 %"
[controllers.mcu]
part = "stm32f103"
supply = "logic"
[devices.buffer]
part = "74hct125"
supply = "five"
[links.echo]
kind = "wire"
driver = "buffer"
receivers = ["mcu.PA4"]
"#,
    );
    holds(
        &says(&json, "link.over-maximum"),
        &[
            "5.250 V",
            "9.39 mA",
            "5.00 mA",
            "a divider of",
            "a series resistor of",
        ],
    );
    assert_eq!(json["links"][0]["verdict"], "fails");
}
