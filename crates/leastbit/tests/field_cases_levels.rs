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

const CONTROLLER: &str = r#"
[rails.logic]
voltage = "3.3 V ± 3 %"
[controllers.mcu]
part = "stm32f103"
supply = "logic"
[devices.room]
part = "sht41"
supply = "logic"
"#;

#[test]
fn a_pin_with_two_users_is_told_with_both_and_what_is_free() {
    let json = links(
        "two-users",
        &format!(
            "{CONTROLLER}[links.room]\nkind = \"i2c\"\ncontroller = \"mcu\"\ndevices = [\"room\"]\npins = {{ clock = \"PB6\", data = \"PB7\" }}\npull-ups = [\"4.7 kΩ\"]\n[pins.mcu]\nPB7 = \"lamp\"\n"
        ),
    );
    holds(
        &says(&json, "pin.double-use"),
        &[
            "mcu.PB7 is used by link room and by lamp",
            "link room: PB9\n",
        ],
    );
}

#[test]
fn published_a_pull_up_left_on_shifts_a_divider() {
    // STM32F103 data sheet, table 35: the built-in pull-up has 30 kΩ at least.
    // A divider of 10 kΩ and 10 kΩ is a source of 5 kΩ; where it gives 0 V the
    // pin goes to 3.3 V · 5/(5 + 30) = 471 mV.
    let board = format!(
        "{CONTROLLER}[channels.feed]\nquantity = \"voltage\"\nspan = \"0 V to 6 V\"\nsensor = {{ law = \"linear-voltage\", figures = {{ offset = {{ typ = \"0 V\" }}, slope = {{ typ = \"1 V/V\" }} }} }}\nchain = [{{ divider = {{ top = \"10 kΩ 1 %\", bottom = \"10 kΩ 1 %\" }} }}]\ninput = \"mcu.adc.3\"\nreference = \"logic\"\n[pins.mcu]\nPA3 = {{ pull = \"up\" }}\n"
    );
    let path = std::env::temp_dir().join(format!("leastbit-pull-{}.toml", std::process::id()));
    std::fs::write(&path, board).unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_leastbit"))
        .args(["check", "--json"])
        .arg(&path)
        .output()
        .unwrap();
    std::fs::remove_file(&path).unwrap();
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    holds(
        &says(&json, "pin.pull-left-on"),
        &["moves the pin by 471 mV", "pull = \"off\""],
    );
}

#[test]
fn published_a_5v_output_on_a_pin_that_is_made_for_its_supply() {
    // ESP32-S3 data sheet, table 17: inputs to supply + 0.3 V, no absolute
    // maximum printed. 5.5 V against 3.3 V − 5 % + 0.3 V = 3.435 V fails.
    let json = links(
        "s3",
        r#"
[rails.five]
voltage = "5 V ± 10 %"
[rails.logic]
voltage = "3.3 V ± 5 %"
[controllers.mcu]
part = "esp32-s3"
supply = "logic"
[devices.old]
part = "levels-74hc"
supply = "five"
[links.pulse]
kind = "wire"
driver = "old"
receivers = ["mcu.4"]
"#,
    );
    holds(
        &says(&json, "link.over-maximum"),
        &["5.500 V", "3.435 V at most", "a divider of"],
    );
    assert_eq!(json["links"][0]["verdict"], "fails");
}

#[test]
fn published_a_gated_sensor_loads_the_bus() {
    // Its supply floats to about 1 V, its pins stand supply + 0.3 V, 0.3 V
    // when off. (3.3 − 1.0 − 0.5)/4700 = 0.383 mA on each line, 0.77 mA on two.
    let board = r#"
[rails.logic]
voltage = "3.3 V"
[rails.gated]
from = "logic"
voltage = "3.3 V"
switched = true
off = "1 V"
[parts.barometer]
kind = "digital-sensor"
title = "pressure sensor behind a switch"
basis = "invented"
buses = ["i2c"]
addresses = [0x76]
figures = { supply = { min = "1.7 V", max = "3.6 V" }, supply-current = { typ = "10 µA" }, absolute-maximum-pin = { min = "-0.3 V", max = "supply + 0.3 V" } }
[controllers.mcu]
part = "stm32f103"
supply = "logic"
[devices.press]
part = "barometer"
supply = "gated"
[links.bus]
kind = "i2c"
controller = "mcu"
devices = ["press"]
pull-ups = ["4.7 kΩ"]
clock = "100 kHz"
"#;
    let json = links("f19", board);
    holds(
        &says(&json, "link.unpowered"),
        &[
            "3.300 V",
            "stand 300 mV",
            "383 µA flow into each of 2 lines, 766 µA in all",
            "take the pull-ups to gated",
            "bus switch",
            "one direction does not help",
            "off it takes more",
        ],
    );
    // Pull-ups that are off with the part cure it.
    let cured = links(
        "f19-cured",
        &board.replace("pull-ups =", "supply = \"gated\"\npull-ups ="),
    );
    let still = cured["findings"]
        .as_array()
        .unwrap()
        .iter()
        .any(|f| f["id"] == "link.unpowered");
    assert!(!still, "{:#}", cured["findings"]);
}

#[test]
fn published_one_transistor_and_ten_kilohms_stop_near_200_khz() {
    // 2.5 µs/(1.204 · 10 kΩ) = 208 pF; 300 ns/(0.8473 · 10 kΩ) = 35.4 pF;
    // 300 ns/(0.8473 · 200 pF) = 1.77 kΩ; 100 Ω of 10 kΩ is below 1 %.
    let board = r#"
[rails.logic]
voltage = "3.3 V ± 3 %"
[rails.five]
voltage = "5 V ± 5 %"
[devices.shift]
part = "bss138"
figures = { on-resistance = { max = "100 Ω" } }
[devices.near]
part = "levels-lvcmos-3v3"
supply = "logic"
[devices.far]
part = "levels-cmos"
supply = "five"
[links.near-bus]
kind = "i2c"
devices = ["near"]
supply = "logic"
pull-ups = ["10 kΩ 0 %"]
clock = "200 kHz"
mode = "fast"
[links.far-bus]
kind = "i2c"
via = { device = "shift", from = "near-bus" }
devices = ["far"]
supply = "five"
pull-ups = ["10 kΩ 0 %"]
clock = "200 kHz"
mode = "fast"
"#;
    let text = says(&links("f27", board), "link.translator-rise");
    holds(&text, &["208 pF", "35.4 pF", "1.77 kΩ", "0.99 %"]);
    // With 100 pF of traces alone the clock ends below: 1/(2 · 1.204 · 10 kΩ · C).
    let slow = board.replace(
        "clock = \"200 kHz\"",
        "clock = \"400 kHz\"\ntraces = \"200 pF\"",
    );
    let text = says(&links("f27-slow", &slow), "link.translator-rise");
    holds(&text, &["too slowly", "400 kHz asked"]);
}

#[test]
fn a_translator_that_senses_the_direction_forbids_pull_ups() {
    // It holds a level through 4 kΩ; 4.7 kΩ to 3.3 V leave 3.3 · 4/8.7 = 1.52 V
    // of a low level.
    let board = r#"
[rails.logic]
voltage = "3.3 V"
[rails.low]
voltage = "1.8 V"
[parts.senses]
kind = "logic"
title = "translator that senses the direction"
basis = "invented"
figures = { supply = { min = "1.2 V", max = "3.6 V" }, supply-b = { min = "1.65 V", max = "5.5 V" }, input-low = { max = "0.35 × supply-a" }, input-high = { min = "0.65 × supply-a" }, input-low-b = { max = "0.35 × supply-b" }, input-high-b = { min = "0.65 × supply-b" }, holding-resistance = "4 kΩ", bus-pull-up = { min = "50 kΩ" } }
[devices.shift]
part = "senses"
supply = "low"
supply-b = "logic"
[devices.chip]
part = "levels-1v8"
supply = "low"
[controllers.mcu]
part = "stm32f103"
supply = "logic"
[links.near]
kind = "i2c"
controller = "mcu"
pull-ups = ["4.7 kΩ 0 %"]
[links.far]
kind = "i2c"
via = { device = "shift", from = "near" }
devices = ["chip"]
supply = "low"
"#;
    let json = links("senses", board);
    holds(
        &says(&json, "link.translator-pull"),
        &["4.70 kΩ", "50.0 kΩ", "a transistor on each line"],
    );
    let shift = json["links"][0]["levels"]
        .as_array()
        .unwrap()
        .iter()
        .find(|p| p["driver"] == "shift")
        .unwrap();
    let low = shift["low"][1].as_f64().unwrap();
    // With 1 µA of leakage across 2.16 kΩ beside it.
    assert!(
        (low - 3.3 * 4.0 / 8.7 - 1e-6 * 2161.0).abs() < 1e-3,
        "{low}"
    );
}

#[test]
fn published_the_gate_of_a_transistor_at_1v8_has_little_left() {
    // BSS138: threshold 1.5 V at most at 25 °C, −2 mV/K. At −10 °C 1.57 V;
    // 1.8 V − 3 % − 1.57 V = 0.176 V.
    let board = r#"
[conditions]
ambient = "-10 °C to 50 °C"
[rails.logic]
voltage = "3.3 V ± 3 %"
[rails.low]
voltage = "1.8 V ± 3 %"
[controllers.mcu]
part = "stm32f103"
supply = "logic"
[devices.chip]
part = "levels-1v8"
supply = "low"
[devices.fet]
part = "bss138"
[links.bus]
kind = "i2c"
controller = "mcu"
pull-ups = ["4.7 kΩ"]
[links.low-bus]
kind = "i2c"
via = { device = "fet", from = "bus" }
devices = ["chip"]
supply = "low"
pull-ups = ["4.7 kΩ"]
"#;
    let text = says(&links("gate", board), "link.translator-gate");
    holds(&text, &["1.746 V at least", "1.570 V", "176 mV left"]);
    // At 1.2 V it never conducts.
    let lower = board.replace("1.8 V ± 3 %", "1.2 V ± 3 %");
    let text = says(&links("gate-off", &lower), "link.translator-gate");
    holds(&text, &["too little to conduct"]);
}

#[test]
fn published_a_controller_that_is_off_is_fed_through_its_input() {
    // STM32F103 data sheet: pins to be used up to supply + 0.3 V (table 9),
    // 5 mA of injection (table 7). A 74HCT125 gives 5 V behind 165 Ω; the
    // controller's rail is off: (5 − 0 − 0.5)/165 = 27.3 mA.
    let board = r#"
[rails.five]
voltage = "5 V"
[rails.gated]
voltage = "3.3 V"
switched = true
[controllers.mcu]
part = "stm32f103"
supply = "gated"
[devices.buffer]
part = "74hct125"
supply = "five"
[links.echo]
kind = "wire"
driver = "buffer"
receivers = ["mcu.PA4"]
series = "1 kΩ 0 %"
"#;
    let text = says(&links("off-mcu", board), "link.unpowered");
    // With the kilohm: 4.5 V/1165 Ω = 3.86 mA, within the 5 mA.
    holds(&text, &["3.86 mA", "hold buffer low"]);
    let bare = board.replace("series = \"1 kΩ 0 %\"\n", "");
    let json = links("off-mcu-bare", &bare);
    let text = says(&json, "link.unpowered");
    holds(&text, &["27.3 mA", "820 Ω in each line"]);
    // A line at 3.3 V stays below the absolute maximum of 4.0 V, and still
    // feeds the part.
    let low = bare.replace("voltage = \"5 V\"", "voltage = \"3.3 V\"");
    let low = low.replace("part = \"74hct125\"", "part = \"mm74hc125\"");
    holds(
        &says(&links("off-mcu-low", &low), "link.unpowered"),
        &["are made for 300 mV"],
    );
}

#[test]
fn published_a_strong_driver_behind_a_series_resistor() {
    // STM32F103 data sheet, tables 6 and 7: 4.0 V and 5 mA at most on PA0. A
    // 74HC at 5.25 V may be far stronger than its limit says: with 220 Ω alone
    // (5.25 − 3.201 − 0.5)/220 = 7.0 mA.
    let json = links(
        "strong",
        r#"
[rails.logic]
voltage = "3.3 V ± 3 %"
[rails.five]
voltage = "5 V ± 5 %"
[controllers.mcu]
part = "stm32f103"
supply = "logic"
[devices.old]
part = "levels-74hc"
supply = "five"
[links.l]
kind = "wire"
driver = "old"
receivers = ["mcu.PA0"]
series = "220 Ω"
"#,
    );
    holds(&says(&json, "link.over-maximum"), &["5.00 mA"]);
    assert_eq!(json["links"][0]["verdict"], "fails");
}

#[test]
fn a_pull_up_lifts_an_output_that_does_not_reach_its_rail() {
    // TTL gives 2.4 V at least; a pull-up to 5 V brings it to 5 V, above the
    // 3.5 V of CMOS (0.7 of the supply).
    let text = r#"
[rails.five]
voltage = "5 V exact"
[devices.old]
part = "levels-ttl-5v"
supply = "five"
[devices.new]
part = "levels-cmos"
supply = "five"
[links.l]
kind = "wire"
driver = "old"
receivers = ["new"]
supply = "five"
"#;
    let without = links("ttl-bare", text);
    assert_eq!(without["links"][0]["verdict"], "fails");
    let with = links("ttl-pulled", &format!("{text}pull-ups = [\"2.2 kΩ\"]\n"));
    assert_ne!(with["links"][0]["verdict"], "fails", "{with:#}");
}

#[test]
fn a_series_resistor_that_is_too_slow_for_the_clock() {
    // 47 kΩ behind the 5 kΩ of the driver (0.1 V at 20 µA): 1.204 · 52 kΩ ·
    // 220 pF (two pins of 10 pF) = 13.8 µs, half a period of 1 MHz is 0.5 µs;
    // the same line at 10 kHz (50 µs) does.
    let text = |clock: &str| {
        format!(
            "[rails.v]\nvoltage = \"3.3 V exact\"\n[devices.a]\npart = \"levels-cmos\"\nsupply = \"v\"\n[devices.b]\npart = \"levels-cmos\"\nsupply = \"v\"\n[links.l]\nkind = \"wire\"\ndriver = \"a\"\nreceivers = [\"b\"]\nseries = \"47 kΩ exact\"\ntraces = \"200 pF exact\"\nclock = \"{clock}\"\n"
        )
    };
    let fast = links("slow-line", &text("1 MHz"));
    let said = says(&fast, "link.too-slow");
    holds(&said, &["rise in 13.8 µs", "half a period is 500 ns"]);
    let slow = links("fast-line", &text("10 kHz"));
    assert!(!slow.to_string().contains("link.too-slow"), "{slow:#}");
}

#[test]
fn a_wire_behind_one_transistor_is_pulled_up_by_its_own_resistor() {
    // 3.3 V, 10 kΩ, one transistor, 10 kΩ, 5 V: the transistor is off for a
    // high level, so that it is 5 V less 10 kΩ · 1 µA of leakage, 4.99 V.
    let json = links(
        "wire-fet",
        r#"
[rails.logic]
voltage = "3.3 V exact"
[rails.five]
voltage = "5 V exact"
[devices.a]
part = "levels-cmos"
supply = "logic"
[devices.b]
part = "mm74hc125"
supply = "five"
[devices.shift]
part = "bss138"
supply = "logic"
supply-b = "five"
[links.near]
kind = "wire"
supply = "logic"
driver = "a"
receivers = ["shift"]
pull-ups = ["10 kΩ exact"]
[links.far]
kind = "wire"
supply = "five"
driver = "a"
receivers = ["b"]
pull-ups = ["10 kΩ exact"]
via = { device = "shift", from = "near" }
"#,
    );
    let far = json["links"]
        .as_array()
        .unwrap()
        .iter()
        .find(|l| l["name"] == "far")
        .unwrap();
    let high = far["levels"][0]["high"][0].as_f64().unwrap();
    assert!((high - 4.99).abs() < 0.005, "{high}: {far:#}");
    assert_ne!(far["levels"][0]["verdict"], "fails", "{far:#}");
}
