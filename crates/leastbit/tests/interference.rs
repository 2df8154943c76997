//! `leastbit interference`, the real binary.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

mod support;

use serde_json::Value as Json;
use support::{code, run, stderr, stdout, written};

/// 16 bits of 5 V, 200 readings a second, nothing before the converter.
const OPEN: &str = r#"
[board]
name = "A serial converter"
[conditions]
mains = "50 Hz"
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
"#;

fn asked(path: &str, more: &[&str]) -> Json {
    let output = run(&[&["interference", path, "--json"], more].concat());
    assert_eq!(code(&output), 0, "{}", stderr(&output));
    serde_json::from_str(&stdout(&output)).unwrap()
}

fn number(json: &Json, path: &str) -> f64 {
    json.pointer(path)
        .and_then(Json::as_f64)
        .unwrap_or_else(|| panic!("no number at {path} of {json:#}"))
}

#[test]
fn published_slow_sine_is_explained_with_the_test_that_decides() {
    // "Source of 5.5 Hz noise showing up on ADC" (itecnotes.com): 5.5 Hz at
    // 200 samples a second. 4 · 51.375 − 200 = 5.5, but no grid runs at
    // 51.375 Hz; 4 · 50 − 194.5 = 205.5 − 4 · 50 = 5.5, so the rate is off.
    let path = written("seen", OPEN);
    let json = asked(&path.path(), &["signal", "--seen", "5.5 Hz ± 0.1 Hz"]);
    let list = json["channels"][0]["seen"]["explanations"]
        .as_array()
        .unwrap();
    let rates: Vec<f64> = list
        .iter()
        .filter(|e| e["off"] == "rate")
        .map(|e| number(e, "/rate_hz"))
        .collect();
    assert_eq!(rates, [194.5, 205.5]);
    assert!(
        list.iter()
            .filter(|e| e["off"] == "rate")
            .all(|e| e["plausible"] == true && number(e, "/moves_hz").abs() == 1.0)
    );
    let grid = list
        .iter()
        .find(|e| e["off"] == "frequency" && number(e, "/fundamental_hz") > 50.0)
        .unwrap();
    assert_eq!(number(grid, "/fundamental_hz"), 51.375);
    assert_eq!(grid["number"], 4);
    assert_eq!(grid["plausible"], false);
    assert_eq!(
        json["channels"][0]["seen"]["still"],
        serde_json::json!([["mains", 4, 1]])
    );
    let text = stdout(&run(&["interference", &path.path(), "--seen", "5.5 Hz"]));
    for words in [
        "mains × 4, 200 Hz, against 1 × 194.5 a second",
        "one reading a second",
        "mains × 4 is exactly 1 × 200 a second",
    ] {
        assert!(text.contains(words), "{words} in {text}");
    }
}

#[test]
fn a_known_ripple_is_a_contributor_and_shown_in_the_unit_of_the_quantity() {
    // 20 mV of 300 kHz straight onto the input: undamped, 20 mV in the
    // reading, u = 20 mV/√2.
    let text = format!(
        "{OPEN}[interferers.buck]\nfrequency = \"300 kHz ± 0 %\"\namplitude = \"20 mV\"\non = \"input\"\n"
    );
    let path = written("ripple", &text);
    let json = asked(&path.path(), &["signal"]);
    let tones = json["channels"][0]["tones"].as_array().unwrap();
    let buck = tones.iter().find(|t| t["source"] == "buck").unwrap();
    let close = |a: f64, b: f64| assert!((a / b - 1.0).abs() < 1e-6, "{a} is not {b}");
    close(number(buck, "/left/peak"), 0.02);
    close(number(buck, "/left/peak_codes"), 0.02 / 5.0 * 65536.0);
    close(number(buck, "/left/u"), 0.02 / 2.0_f64.sqrt());
    // 300 kHz is 1500 times 200 Hz.
    assert_eq!(buck["stands_still"], true);
    let output = run(&["budget", &path.path(), "signal", "--json"]);
    let budget: Json = serde_json::from_str(&stdout(&output)).unwrap();
    let line = budget["before"]["lines"]
        .as_array()
        .unwrap()
        .iter()
        .find(|l| l["name"].as_str().unwrap().starts_with("buck"))
        .unwrap();
    close(number(line, "/contribution"), 0.02 / 2.0_f64.sqrt());
    assert_eq!(line["kind"], "random");
}

#[test]
fn what_cannot_be_asked_is_said() {
    let path = written("faults", OPEN);
    let output = run(&["interference", &path.path(), "singal"]);
    assert_eq!(code(&output), 2);
    assert!(stderr(&output).contains("did you mean: signal"));
    let output = run(&["interference", &path.path(), "--seen", "5.5 V"]);
    assert_eq!(code(&output), 2);
    assert!(stderr(&output).contains("expected: a frequency"));
    // Nothing says when it is read.
    let path = written("unread", OPEN.replace("rate = \"200 /s\"\n", ""));
    let output = run(&["interference", &path.path()]);
    assert_eq!(code(&output), 1);
    assert!(stdout(&output).contains("nothing says when it is read"));
}

#[test]
fn averages_for_one_grid_and_for_both_are_offered() {
    // 20 ms hold a period of 50 Hz, 100 ms five of 50 Hz and six of 60 Hz
    // (common practice).
    let json = asked(&support::examples("cellar-rack.toml"), &["must-ph"]);
    let channel = &json["channels"][0];
    assert_eq!(number(channel, "/windows/0/seconds"), 0.02);
    assert_eq!(number(channel, "/both_grids/seconds"), 0.1);
    // 1 % off in frequency leaves about 1 % of the amplitude.
    let left = number(channel, "/both_grids/exact_db");
    assert!((39.0..41.0).contains(&left), "{left}");
    assert!(channel["readout"]["reading_rate_hz"].is_null());
}
