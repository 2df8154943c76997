//! The real binary, from file to verdict.
#![allow(clippy::unwrap_used, reason = "tests")]

use std::process::{Command, Output};

fn check(text: &str, name: &str, more: &[&str]) -> Output {
    let path = std::env::temp_dir().join(format!("leastbit-{}-{name}.toml", std::process::id()));
    std::fs::write(&path, text).unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_leastbit"))
        .arg("check")
        .arg(&path)
        .args(more)
        .output()
        .unwrap();
    std::fs::remove_file(&path).unwrap();
    output
}

const GOOD: &str = include_str!("../../../examples/first-divider.toml");

/// A number of the first channel in the JSON output.
fn field(output: &Output, key: &str) -> f64 {
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    json.pointer(&format!("/channels/0/{key}"))
        .unwrap()
        .as_f64()
        .unwrap()
}

#[test]
fn a_good_board_meets_its_need_with_the_numbers_of_a_hand_calculation() {
    let output = check(GOOD, "good", &["--json"]);
    assert_eq!(output.status.code(), Some(0));
    // At 14 V, relative limits: reference 0.1 % and 10 ppm/K over 23 K;
    // divider 47 k over 10 k, sensitivity 47/57 of each resistor's 0.1 % and
    // 25 ppm/K over 23 K; 2 LSB and half an LSB of 2.5 V/4096 times 5.7.
    let k: f64 = 47.0 / 57.0;
    let lsb = 2.5 / 4096.0 * 5.7;
    let limits = [
        14e-3,
        14.0 * 10e-6 * 23.15,
        14e-3 * k,
        14e-3 * k,
        14.0 * 25e-6 * 23.15 * k,
        14.0 * 25e-6 * 23.15 * k,
        2.0 * lsb,
        0.5 * lsb,
    ];
    let worst: f64 = limits.iter().sum();
    let combined = 3.0 * limits.iter().map(|a| a * a / 3.0).sum::<f64>().sqrt();
    // Products of deviations make the worst case a little larger.
    assert!(
        (field(&output, "worst_case/magnitude") / worst - 1.0).abs() < 0.004,
        "{} {worst}",
        field(&output, "worst_case/magnitude")
    );
    assert!(
        (field(&output, "propagation/half_width") / combined - 1.0).abs() < 0.004,
        "{} {combined}",
        field(&output, "propagation/half_width")
    );
    let sampled = field(&output, "monte_carlo/half_width");
    assert!(
        sampled < combined && sampled > 0.85 * combined,
        "rectangular inputs have short tails: {sampled}"
    );
}

#[test]
fn a_board_that_fails_says_so_with_its_exit_code() {
    let output = check(&GOOD.replace("\"60 mV\"", "\"20 mV\""), "fails", &[]);
    assert_eq!(output.status.code(), Some(1));
    assert!(
        String::from_utf8(output.stdout)
            .unwrap()
            .contains("○ fails")
    );
}

#[test]
fn an_absolute_sensor_keeps_the_rail_and_a_ratiometric_one_loses_it() {
    let rail = GOOD
        .replace("reference = \"vref\"", "reference = \"logic\"")
        .replace("0 V to 14 V", "0 V to 12 V");
    let output = check(&rail, "rail", &["--json"]);
    assert!(String::from_utf8_lossy(&output.stdout).contains("rail logic, tolerance"));
    let pulled = r#"
[rails.logic]
voltage = "3.3 V ± 5 %"
[converters.adc]
supply = "logic"
bits = 12
[channels.vat]
quantity = "temperature"
span = "0 °C to 40 °C"
accuracy = "1 °C"
sensor = { law = "thermistor-beta", figures = { resistance-25 = { typ = "10 kΩ" }, beta = { typ = "3950 K" } } }
chain = [{ pull-up = "10 kΩ 0.1 %", to = "logic" }]
input = "adc"
"#;
    let output = check(pulled, "ratio", &["--json"]);
    assert_eq!(
        output.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    for c in json["channels"][0]["contributors"].as_array().unwrap() {
        let of_rail = c["name"].as_str().unwrap().contains("rail logic");
        assert!(!of_rail || c["share"].as_f64().unwrap() < 1e-20, "{c}");
    }
}

#[test]
fn unusable_input_names_the_place_and_exits_with_2() {
    let output = check(&GOOD.replace("47 kΩ", "47 kV"), "unit", &[]);
    assert_eq!(output.status.code(), Some(2));
    let said = String::from_utf8(output.stderr).unwrap();
    assert!(
        said.contains(":23:") && said.contains("resistance"),
        "{said}"
    );
    let missing = Command::new(env!("CARGO_BIN_EXE_leastbit"))
        .args(["check", "/no/such/board.toml"])
        .output()
        .unwrap();
    assert_eq!(missing.status.code(), Some(2));
}

#[test]
fn what_has_no_equations_is_refused_and_not_left_out() {
    let text = GOOD.replace(
        "input = \"adc\"",
        "input = { at = \"adc\", plus = \"a\", minus = \"b\" }",
    );
    let output = check(&text, "refused", &[]);
    assert_eq!(output.status.code(), Some(1));
    assert!(
        String::from_utf8(output.stdout)
            .unwrap()
            .contains("in no network")
    );
}

#[test]
fn a_calibration_leaves_what_it_cannot_remove() {
    // Two points take out reference and divider at the bench's temperature;
    // what stays is drift from 21 °C, the total error of the converter, the
    // standard and the rounding.
    let bare = check(GOOD, "bare", &["--json"]);
    let text = format!(
        "{GOOD}calibrate = {{ at = [\"1 V\", \"13 V\"], ambient = \"21 °C ± 2 °C\", standard = \"2 mV\" }}\n"
    );
    let output = check(&text, "calibrated", &["--json"]);
    assert_eq!(
        output.status.code(),
        Some(0),
        "{}",
        String::from_utf8_lossy(&output.stderr)
    );
    let (before, after) = (
        field(&bare, "propagation/half_width"),
        field(&output, "propagation/half_width"),
    );
    assert!(after < 0.75 * before, "{before} {after}");
    // The standard alone leaves 2 mV at the points and a little more beyond.
    assert!(after > 2e-3);
    let exact = GOOD
        .replace(" 0.1 % 25 ppm/K", " exact")
        .replace("2.5 V ± 0.1 % 10 ppm/K", "2.5 V")
        .replace("2 LSB", "0.001 LSB");
    let text = format!("{exact}calibrate = {{ at = [\"1 V\", \"13 V\"], standard = \"2 mV\" }}\n");
    let output = check(&text, "standard", &["--json"]);
    // Common to both points, so a shift: 2 mV and the rounding of codes.
    let worst = field(&output, "worst_case/magnitude");
    let lsb = 2.5 / 4096.0 * 5.7;
    assert!(
        worst >= 2e-3 + 0.5 * lsb && worst < 2e-3 + 1.7 * lsb,
        "{worst} {lsb}"
    );
}

#[test]
fn the_firmware_may_assume_another_reference() {
    // A reported case: an absolute sensor of 10 mV/°C read with a constant
    // of 5.0 V on a board whose reference is 3.3 V shows 25 · 5/3.3 = 37.88 at
    // 25 °C and 303 at 200 °C.
    let text = r#"
[rails.logic]
voltage = "3.3 V"
[converters.adc]
supply = "logic"
bits = 12
[channels.oven]
quantity = "temperature"
span = "25 °C to 200 °C"
accuracy = "1 °C"
sensor = { law = "linear-voltage", figures = { offset = { typ = "0 V" }, slope = { typ = "10 mV/K" } } }
input = "adc"
conversion = { assume = { reference = "5 V" } }
"#;
    let output = check(text, "assumed", &["--json"]);
    assert_eq!(output.status.code(), Some(1));
    // The error at the top of the span: 303.03 − 200.
    let worst = field(&output, "worst_case/magnitude");
    assert!((worst - 103.0).abs() < 0.3, "{worst}");
    let same = text.replace(
        "assume = { reference = \"5 V\" }",
        "formula = \"(code + 0.5) * 5.0 / 4096 / 0.01\"",
    );
    let output = check(&same, "formula", &["--json"]);
    assert!((field(&output, "worst_case/magnitude") - worst).abs() < 0.01);
    let path = text.replace(
        "assume = { reference = \"5 V\" }",
        "assume = { \"rails.logic.voltage\" = \"5 V\" }",
    );
    let output = check(&path, "path", &["--json"]);
    assert!((field(&output, "worst_case/magnitude") - worst).abs() < 0.01);
}

#[test]
fn links_and_rails_stand_beside_the_channels() {
    let text = "[rails.in]\nvoltage = \"9 V\"\n[rails.logic]\nfrom = \"in\"\npart = \"ncp189-3v3\"\nload = \"10 mA\"\n[links.bus]\nkind = \"i2c\"\nsupply = \"logic\"\npull-ups = [\"2.2 kΩ\", \"2.2 kΩ\", \"2.2 kΩ\"]\n";
    let said = String::from_utf8(check(text, "around", &["--brief"]).stdout).unwrap();
    let around = said.split("Links and rails\n").nth(1).unwrap();
    // 2.2 kΩ / 3 is 733 Ω, less than the 967 Ω of 3 mA at 3.3 V (UM10204).
    assert!(around.contains("bus         ○ fails"), "{said}");
    // 9 V is above the 5.5 V the regulator's data sheet permits.
    assert!(around.contains("rail logic  ○ fails"), "{said}");
    assert!(
        !around.contains("rail in "),
        "nothing is asked of it: {said}"
    );
}
