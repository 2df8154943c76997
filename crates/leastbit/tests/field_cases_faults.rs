//! Wires that went wrong, reported in public, as board files run through the
//! whole program: the mechanism must be named together with the number. The
//! numbers are those of the reports, computed by hand in the comments.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

use std::process::Command;

fn run(command: &str, name: &str, text: &str) -> (serde_json::Value, Option<i32>) {
    let path =
        std::env::temp_dir().join(format!("leastbit-wires-{}-{name}.toml", std::process::id()));
    std::fs::write(&path, text).unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_leastbit"))
        .args([command, "--json"])
        .arg(&path)
        .output()
        .unwrap();
    std::fs::remove_file(&path).unwrap();
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    let json = serde_json::from_slice(&output.stdout).unwrap_or_else(|_| panic!("{told}"));
    (json, output.status.code())
}

/// All that the only finding of an id says.
fn says(json: &serde_json::Value, id: &str) -> String {
    let found: Vec<&serde_json::Value> = json["findings"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|f| f["id"] == id)
        .collect();
    let [one] = found.as_slice() else {
        panic!("{id}: {:#}", json["findings"]);
    };
    let mut text = format!(
        "{} {}",
        one["severity"].as_str().unwrap(),
        one["headline"].as_str().unwrap()
    );
    for key in ["working", "remedies"] {
        for line in one[key].as_array().unwrap() {
            text.push('\n');
            text.push_str(line.as_str().unwrap());
        }
    }
    text
}

fn row<'j>(json: &'j serde_json::Value, what: &str) -> &'j serde_json::Value {
    let rows = json["channels"][0]["rows"].as_array().unwrap();
    rows.iter()
        .find(|r| r["what"].as_str().unwrap().contains(what))
        .unwrap_or_else(|| panic!("{what}: {rows:#?}"))
}

fn has(json: &serde_json::Value, id: &str) -> bool {
    json["findings"]
        .as_array()
        .unwrap()
        .iter()
        .any(|f| f["id"] == id)
}

#[track_caller]
fn close(value: &serde_json::Value, expected: f64, share: f64) {
    let v = value.as_f64().unwrap();
    assert!(
        (v - expected).abs() <= share * expected.abs(),
        "{v} against {expected}"
    );
}

#[track_caller]
fn holds(text: &str, part: &str) {
    assert!(text.contains(part), "`{part}` is not in\n{text}");
}

const CLAMP: &str = r#"
[parts.schottky]
kind = "diode"
[parts.schottky.figures]
forward-voltage = { points = [["1 µA", "0.06 V"], ["1.59 mA", "0.23 V"], ["5.49 mA", "0.232 V"]] }
[rails.logic]
voltage = "3.28 V"
[converters.adc]
bits = 12
supply = "logic"
[channels.cv]
quantity = "voltage"
span = "0 V to 3.2 V"
chain = [{ series = "1 kΩ" }, { clamp = { high = "schottky", to = "logic" } }]
input = "adc"
reference = "logic"
[terminals.cv]
over-voltage = ["5.1 V", "9 V"]
"#;

#[test]
fn published_diode_clamp_lets_the_pin_rise_above_the_supply() {
    // Supply 3.28 V, Schottky diode to it, 1 kΩ: 5.1 V and 9 V both put
    // 3.51 V on the pin, 0.07 V inside a limit of supply + 0.3 V; (5.1 −
    // 3.51)/1 kΩ = 1.59 mA, (9 − 3.51)/1 kΩ = 5.49 mA flow into the supply.
    let (json, code) = run("faults", "clamp", CLAMP);
    assert_eq!(code, Some(0));
    for (what, ampere) in [("5.10 V", 1.59e-3), ("9.00 V", 5.49e-3)] {
        let r = row(&json, what);
        close(&r["pins"][0]["volt"]["nominal"], 3.51, 0.002);
        close(&r["into_rails"][0][1], ampere, 0.03);
        assert_eq!(r["code"]["low"], 4095.0);
        assert_eq!(r["told"], "told");
    }
    let (json, _) = run("check", "clamp", CLAMP);
    let text = says(&json, "fault.over-voltage");
    for part in [
        "note",
        "stands at 3.51 V, 68 mV within its limit",
        "5.49 mA",
        "1.59 mA",
        "rail logic, which must use more itself, or it rises",
        "beyond its range, not how far",
    ] {
        holds(&text, part);
    }
    // The rail's load is stated and too small: it rises.
    let small = CLAMP.replace(
        "voltage = \"3.28 V\"",
        "voltage = \"3.28 V\"\nload = \"2 mA\"",
    );
    let (json, _) = run("check", "clamp-load", &small);
    let text = says(&json, "fault.damage");
    holds(&text, "flow into rail logic, which uses 2 mA: it rises");
    holds(&text, "E24");
    // Large enough, it does not.
    let enough = small.replace("\"2 mA\"", "\"20 mA\"");
    let (json, _) = run("check", "clamp-enough", &enough);
    assert!(!has(&json, "fault.damage"));
    // Without the diode the pin's own carries the current beyond the limit.
    let bare = CLAMP.replace(", { clamp = { high = \"schottky\", to = \"logic\" } }", "");
    let (json, code) = run("faults", "clamp-bare", &bare);
    assert_eq!(code, Some(1));
    let text = says(&json, "fault.damage");
    holds(&text, "adc stands at 4.0");
    holds(&text, "beyond its 3.58 V");
    holds(&text, "Schottky diode from the pin to logic");
}

const LOOP: &str = r#"
[rails.field]
voltage = "24 V ± 10 %"
[rails.logic]
voltage = "3.3 V ± 2 %"
[converters.adc]
bits = 12
supply = "logic"
[channels.level]
quantity = "level"
span = "0 m to 2 m"
sensor = { law = "loop-current", figures = { span-low = "0 m", span-high = "2 m" } }
chain = [{ burden = "165 Ω 0.1 %" }, { series = "10 kΩ" }]
input = "adc"
reference = "logic"
[terminals.level]
rails-in-cable = ["field"]
states = [{ name = "fault high", current = "22 mA" }, { name = "fault low", current = "3.5 mA" }]
must-detect = true
"#;

#[test]
fn published_loop_has_no_room_above_20_ma() {
    // 165 Ω and 3.3 V: 20.0 mA is the last code, 19.6 mA with the supply 2 %
    // low; 22 mA and 20 mA read alike. 150 Ω leave room: 3.234 V/21.5 mA =
    // 150.4 Ω. A broken loop is told: below 3.6 mA (NAMUR NE 43).
    let (json, code) = run("faults", "loop", LOOP);
    assert_eq!(code, Some(1));
    let high = row(&json, "fault high");
    assert_eq!(high["told"], "reads like a value");
    assert_eq!(high["verdict"], "fails");
    assert_eq!(row(&json, "fault low")["told"], "told");
    assert_eq!(row(&json, "the signal wire is cut")["told"], "told");
    let text = says(&json, "fault.not-detected");
    holds(&text, "fault high");
    // The field supply across the burden: 26.4²/164.8 = 4.23 W.
    let burnt = row(&json, "on field");
    close(&burnt["hottest"][1], 26.4 * 26.4 / 165.0, 2e-3);
    holds(
        &says(&json, "fault.damage"),
        "burden turns 4.22 W into heat",
    );
    let (json, _) = run("check", "loop", LOOP);
    holds(&says(&json, "loop.bands"), "150 Ω (E24)");
    let roomy = LOOP.replace("165 Ω", "147 Ω");
    let (json, _) = run("faults", "loop-roomy", &roomy);
    assert_eq!(row(&json, "fault high")["told"], "told");
}

#[test]
fn reference_open_thermistor_behind_a_divider_is_made_tellable() {
    // A voltage of 0 V to 2 V read through 10 kΩ with 100 kΩ to ground: cut,
    // it reads 0 V, a value. A pull to the supply moves it out.
    let text = r#"
[rails.logic]
voltage = "3.3 V"
[converters.adc]
bits = 12
supply = "logic"
[channels.u]
quantity = "voltage"
span = "0 V to 2 V"
accuracy = "50 mV"
chain = [{ pull-down = "100 kΩ" }, { series = "1 kΩ" }]
input = "adc"
reference = "logic"
[terminals.u]
must-detect = ["open"]
"#;
    let (json, code) = run("faults", "open", text);
    assert_eq!(code, Some(1));
    let told = says(&json, "fault.not-detected");
    holds(&told, "the signal wire is cut and reads");
    // 3.3·100/(100 + 47) = 2.245 V is above the 2.05 V of the span with its
    // accuracy; 100 kΩ would leave 1.65 V.
    holds(&told, "47 kΩ from the signal wire to logic");
    holds(&told, "2.24");
    let cured = text.replace(
        "chain = [{ pull-down",
        "chain = [{ pull-up = \"47 kΩ\", to = \"logic\" }, { pull-down",
    );
    let (json, code) = run("faults", "open-cured", &cured);
    assert_eq!(code, Some(0), "{json:#}");
}

#[test]
fn faults_at_their_places_are_refused() {
    let path = std::env::temp_dir().join(format!("leastbit-wires-bad-{}.toml", std::process::id()));
    let bad = CLAMP.replace(
        "over-voltage = [\"5.1 V\", \"9 V\"]",
        "over-voltage = [\"5.1 A\"]\nmust-detect = [\"opne\"]\nneighbours = [\"cv\"]\nstates = [{ name = \"x\" }]\nrails-in-cable = [\"logik\"]",
    );
    std::fs::write(&path, bad).unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_leastbit"))
        .arg("faults")
        .arg(&path)
        .output()
        .unwrap();
    std::fs::remove_file(&path).unwrap();
    assert_eq!(output.status.code(), Some(2));
    let told = String::from_utf8_lossy(&output.stderr).into_owned();
    for part in [
        "is no voltage",
        "opne",
        "no neighbour of itself",
        "a state is open",
        "logik",
        "logic",
    ] {
        assert!(told.contains(part), "{part} not in\n{told}");
    }
}
