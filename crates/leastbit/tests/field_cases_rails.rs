//! Boards whose rails, heat or grounds were the trouble, reported in public,
//! as board files run through the whole program: the mechanism must be named
//! together with the number. The numbers are those of the reports, computed
//! by hand in the comments.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

mod support;

use support::{run, stderr, stdout, written};

/// What a command says of a board, as data.
fn told(command: &str, text: &str) -> serde_json::Value {
    let board = written("rails", text);
    let output = run(&[command, &board.path(), "--json"]);
    assert_ne!(output.status.code(), Some(2), "{}", stderr(&output));
    serde_json::from_str(&stdout(&output)).unwrap()
}

/// All that findings of an id say, as one text.
fn says(json: &serde_json::Value, id: &str) -> String {
    let found: Vec<String> = json["findings"]
        .as_array()
        .unwrap()
        .iter()
        .filter(|f| f["id"] == id)
        .map(|f| {
            let mut text = f["headline"].as_str().unwrap().to_owned();
            for key in ["working", "remedies"] {
                for line in f[key].as_array().unwrap() {
                    text.push('\n');
                    text.push_str(line.as_str().unwrap());
                }
            }
            text
        })
        .collect();
    assert!(!found.is_empty(), "{id}: {:#}", json["findings"]);
    found.join("\n")
}

/// The number behind some words, SI, with its prefix read.
fn after(text: &str, words: &str) -> f64 {
    let rest = text
        .split(words)
        .nth(1)
        .unwrap_or_else(|| panic!("no `{words}` in {text}"));
    let mut pieces = rest.trim_start().split([' ', ':', ',', '\n', ')']);
    let number: f64 = pieces
        .next()
        .unwrap()
        .replace('−', "-")
        .parse()
        .unwrap_or_else(|_| panic!("no number behind `{words}` in {text}"));
    let unit = pieces.next().unwrap_or("");
    let factor = match unit.chars().next() {
        Some('µ') => 1e-6,
        Some('m') if unit.len() > 1 => 1e-3,
        Some('n') => 1e-9,
        _ => 1.0,
    };
    number * factor
}

fn near(actual: f64, expected: f64, within: f64, text: &str) {
    assert!(
        (actual - expected).abs() <= within,
        "{actual} is not {expected} within {within}: {text}"
    );
}

/// The sensor of a cold junction that a converter of 0.4 W at 20 K/W warms by
/// 8 K.
#[test]
fn published_cold_junction_warmed_by_the_part_it_sits_in() {
    // 25 °C reads 33.0, 200 reads 208.1, 240 reads 248.0 (± 0.2 K).
    let json = told(
        "check",
        r#"
[conditions]
ambient = "25 °C"
[rails.ref]
voltage = "2.5 V ± 0 %"
[converters.adc]
supply = "ref"
bits = 24
[channels.junction]
quantity = "temperature"
span = "0 °C to 60 °C"
sensor = { law = "linear-voltage", figures = { offset = { typ = "0.5 V" }, slope = { typ = "10 mV/K" } } }
input = "adc"
[channels.hot]
quantity = "temperature"
span = "25 °C to 240 °C"
sensor = { law = "thermocouple", options = { type = "K" }, cold-junction = "junction" }
input = "adc"
[heat.converter]
power = "0.4 W"
warms = { junction = "20 K/W" }
"#,
    );
    let text = says(&json, "sensor.warmed");
    assert!(
        text.contains("the sensor of junction sits 8 K warmer"),
        "{text}"
    );
    let hot = text
        .split("the sensor of junction sits")
        .nth(1)
        .unwrap_or_default();
    near(after(hot, "\n25 °C reads"), 33.0, 0.2, hot);
    near(after(hot, "240 °C reads"), 248.0, 0.2, hot);
    near(after(hot, "as much as"), 0.32e-3, 0.01e-3, hot);
}

/// A gain of 6 whose 10 kΩ alone is 10 K warmer, 100 ppm/K: 10 010 Ω, a gain
/// of 5.9950, 7.194 V instead of 7.200 V, 2.5 codes of 12 bits over 10 V
/// (± 5 %).
#[test]
fn published_gain_resistor_beside_a_power_part() {
    let json = told(
        "check",
        r#"
[rails.main]
voltage = "15 V"
[rails.span]
voltage = "10 V"
[parts.ideal]
kind = "amplifier"
figures = { offset-voltage = { max = "0 V" }, supply = { max = "36 V" }, open-loop-gain = 1e9 }
[converters.adc]
supply = "span"
bits = 12
[channels.level]
quantity = "voltage"
span = "0 V to 1.2 V"
chain = [{ non-inverting = "ideal", supply = "main", feedback = "50 kΩ 0 % 100 ppm/K", gain-resistor = "10 kΩ 0 % 100 ppm/K" }]
input = "adc"
reference = "span"
[heat.transistor]
power = "1 W"
warms = { "channels.level.chain.0.gain-resistor" = "10 K" }
"#,
    );
    let text = says(&json, "heat.component");
    assert!(text.contains("gain-resistor is 10 K warmer"), "{text}");
    near(after(&text, "7.2000 V without it,"), 7.194, 0.0003, &text);
    near(after(&text, "with it:"), -6.0e-3, 0.3e-3, &text);
    near(after(&text, "\n"), 7.2, 0.01, &text);
    assert!(text.contains("−2.5 codes"), "{text}");
}

/// An analogue sensor on 100 m of network cable, its damper at the
/// controller's end.
const CABLE: &str = r#"
[conditions]
ambient = "20 °C"
[rails.main]
voltage = "5 V"
[converters.adc]
supply = "main"
bits = 10
[channels.shed]
quantity = "temperature"
span = "2 °C to 100 °C"
sensor = { law = "linear-voltage", supply = "main", figures = { offset = { typ = "0 V" }, slope = { typ = "10 mV/K" }, load-capacitance = { max = "50 pF" }, supply-current = { min = "60 µA", max = "91 µA" } } }
chain = [
  { cable = { length = "100 m", resistance = "84 mΩ/m", capacitance = "52 pF/m" } },
  { low-pass = { r = "75 Ω", c = "1 µF" } },
]
input = "adc"
reference = "main"
[returns.cable]
cable = { length = "100 m", gauge = "24 AWG" }
currents = ["channels.shed"]
channels = ["shed"]
"#;

#[test]
fn published_sensor_on_a_long_cable() {
    // 100 m · 52 pF/m = 5.2 nF, about 100 times 50 pF, which 1 m reaches; the
    // damper stands at the wrong end.
    let json = told("check", CABLE);
    let text = says(&json, "stage.capacitive-load");
    near(after(&text, "at its output is"), 5.2e-9, 0.1e-9, &text);
    near(after(&text, "the limit is reached at"), 1.0, 0.1, &text);
    assert!(text.contains("at the converter’s end, does not"), "{text}");
    // The ground wire is not the cause: 0.5 mV to 0.8 mV, 0.05 °C to 0.08 °C
    // (± 20 %), too little for a line among the findings of `check`.
    assert!(
        !json["findings"]
            .as_array()
            .unwrap()
            .iter()
            .any(|f| f["id"] == "return.shift"),
        "{:#}",
        json["findings"]
    );
    let json = told("rails", CABLE);
    let one = &json["returns"][0];
    near(one["ohm"].as_f64().unwrap(), 8.42, 0.02, CABLE);
    near(one["shift_v"][0].as_f64().unwrap(), 0.51e-3, 0.1e-3, CABLE);
    near(one["shift_v"][2].as_f64().unwrap(), 0.77e-3, 0.1e-3, CABLE);
    let error = one["channels"][0]["error"].as_f64().unwrap();
    near(error, 0.077, 0.015, CABLE);
}

/// Two thermistors whose ground rises by 30 mV as a heater is on.
#[test]
fn published_ground_that_a_heater_lifts() {
    // 100 kΩ, B 3950, 4.7 kΩ from 5 V: if only the foot moves, the node moves
    // by 30 mV · 4.7/104.7, −0.14 °C at 25 °C (± 15 %).
    let json = told(
        "check",
        r#"
[rails.main]
voltage = "5 V"
[converters.adc]
supply = "main"
bits = 12
[channels.head]
quantity = "temperature"
span = "20 °C to 200 °C"
sensor = { law = "thermistor-beta", figures = { resistance-25 = "100 kΩ", beta = "3950 K" } }
chain = [{ pull-up = "4.7 kΩ", to = "main" }]
input = "adc"
reference = "main"
[returns.harness]
resistance = "3 mΩ"
currents = ["10 A"]
channels = ["head"]
"#,
    );
    let text = says(&json, "return.shift");
    assert!(
        text.contains("harness lifts what the sensor stands on by 30 mV"),
        "{text}"
    );
    near(after(&text, "25 °C reads"), 25.0 - 0.14, 0.02, &text);
}

/// What the board states of a device is what its rail carries.
#[test]
fn property_load_of_a_rail_follows_from_what_hangs_on_it() {
    let json = told(
        "rails",
        r#"
[rails.main]
voltage = "3.28 V"
[devices.room]
part = "sht41"
supply = "main"
current = "1 mA to 2 mA"
"#,
    );
    let rail = &json["rails"][0];
    near(rail["usual_a"].as_f64().unwrap(), 1.5e-3, 1e-9, "usual");
    near(rail["most_a"].as_f64().unwrap(), 2e-3, 1e-9, "most");
}

/// Everything at once on a small pack: what must be said of each.
#[test]
fn property_every_limit_of_a_rail_is_judged() {
    let json = told(
        "rails",
        r#"
[conditions]
ambient = "-10 °C to 50 °C"
[rails.pack]
voltage = "4.5 V ± 3 %"
battery = { cells = 3, capacity = "2500 mAh", cell-resistance = [["-20 °C", "400 mΩ"], ["20 °C", "150 mΩ"]], life = "90 d", self-discharge = "3 %/year" }
connector = { pins = 1, each = "3 A", contact = "20 mΩ" }
[rails.logic]
from = "pack"
part = "lt1761-3v3"
load = "90 mA"
bursts = [{ name = "radio", current = "350 mA", for = "1 ms", every = "10 s" }]
reservoir = { c = "220 µF", esr = "50 mΩ" }
droop = "0.3 V"
start = "1 ms"
[heat.reg]
source = "rails.logic"
resistance = "800 K/W"
"#,
    );
    // The regulator limits at 110 mA, 90 mA of them for the load: 350 mA for
    // the 0.1 ms until it answers, 330 mA for the rest, from 220 µF of 50 mΩ:
    // 0.1591 V + 1.350 V + 17.5 mV.
    near(
        after(&says(&json, "rail.droop"), "pulls it down by"),
        0.1591 + 1.350 + 0.0175,
        0.002,
        "droop",
    );
    // 220 µF · 3.3 V · 1.025 / 1 ms = 0.744 A, and 90 mA of load.
    near(
        after(&says(&json, "rail.inrush"), "it takes"),
        0.834,
        0.002,
        "inrush",
    );
    // 2.5 A·h over 90 mA and what the regulator takes: about 27 hours.
    near(
        after(&says(&json, "rail.battery-life"), "last"),
        1.14,
        0.05,
        "battery",
    );
    let heat = says(&json, "heat.junction");
    assert!(heat.contains("the regulator of logic reaches"), "{heat}");
    // 90 mA of 100 mA leave less than a fifth.
    let over = says(&json, "rail.over-limit");
    assert!(over.contains("below the 100 mA it may"), "{over}");
}

/// Saturation pressure of water vapour 2.339 kPa at 20 °C and 2.645 kPa at
/// 22 °C (steam tables): 60 % at a sensor that sits 2 K warmer reads
/// 60 % · 2.339/2.645 = 53.1 %.
#[test]
fn published_warmed_humidity_sensor_reads_low() {
    let json = told(
        "check",
        r#"
[conditions]
ambient = "20 °C"
[rails.logic]
voltage = "3.3 V"
[channels.room]
quantity = "humidity"
span = "20 %RH to 100 %RH"
accuracy = "5 %RH"
sensor = { part = "sht41", supply = "logic" }
[heat.regulator]
power = "0.2 W"
warms = { room = "10 K/W" }
"#,
    );
    let text = says(&json, "sensor.warmed");
    near(after(&text, "\n60 %RH reads"), 53.1, 0.15, &text);
}

/// 3.28 V, a Schottky diode to it, 1 kΩ: 9 V bring 5.5 mA into a rail of which
/// 2 mA are drawn, so that it rises; 20 mA bear it.
#[test]
fn published_clamp_against_what_hangs_on_the_rail() {
    let board = |current: &str| {
        format!(
            r#"
[rails.main]
voltage = "3.28 V"
[converters.adc]
supply = "main"
bits = 12
current = "{current}"
[channels.knob]
quantity = "voltage"
span = "0 V to 9 V"
chain = [
  {{ series = "1 kΩ" }},
  {{ clamp = {{ high = "diode-schottky", to = "main" }} }},
]
input = "adc"
reference = "main"
"#
        )
    };
    let few = told("check", &board("2 mA"));
    let text = says(&few, "clamp.into-rail");
    near(
        after(&text, "it feeds into the rail is"),
        5.5e-3,
        0.2e-3,
        &text,
    );
    let many = told("check", &board("20 mA"));
    assert!(
        !many["findings"]
            .as_array()
            .unwrap()
            .iter()
            .any(|f| f["id"] == "clamp.into-rail"),
        "{:#}",
        many["findings"]
    );
}

/// 5 V ± 2 % behind 0.5 Ω ± 0.2 Ω under 130 mA to 440 mA feed a regulator that
/// drops out, and the converter takes the rail for its reference: both are
/// among the contributors of its reading.
#[test]
fn property_a_reference_that_is_a_rail_follows_its_feed_down() {
    let board = written(
        "rails",
        r#"
[conditions]
ambient = "0 °C to 40 °C"
[rails.usb]
voltage = "5 V ± 2 %"
source-resistance = "0.5 Ω ± 0.2 Ω"
load = "100 mA"
[rails.logic]
from = "usb"
voltage = "4.8 V"
part = "ncp189-3v3"
bursts = [{ current = "300 mA", for = "2 ms", every = "1 s" }]
[controllers.mcu]
part = "rp2040"
supply = "logic"
current = "20 mA to 40 mA"
[channels.x]
quantity = "voltage"
span = "0 V to 3 V"
accuracy = "20 mV"
input = "mcu.adc.0"
reference = "logic"
"#,
    );
    let output = run(&["budget", &board.path(), "x"]);
    let text = stdout(&output);
    assert!(text.contains("rail usb, load (65 %) decides"), "{text}");
    // 440 mA · 0.7 Ω = 0.308 V at most against 130 mA · 0.5 Ω = 65 mV.
    assert!(text.contains("supply, −29 mV to 240 mV"), "{text}");
}

/// A reference with 25 ppm/K that sits 20 K warmer is off by 500 ppm: 1.5 mV of
/// 3 V.
#[test]
fn property_a_warmed_reference_drifts() {
    let board = |warm: &str| {
        format!(
            r#"
[rails.main]
voltage = "5 V"
[parts.ref]
kind = "series-reference"
figures.voltage = "3 V"
figures.drift = {{ max = "25 ppm/K", method = "slope" }}
[references.vref]
part = "ref"
supply = "main"
[converters.adc]
supply = "main"
bits = 16
[channels.x]
quantity = "voltage"
span = "0 V to 3 V"
accuracy = "2 mV"
input = "adc"
reference = "vref"
[heat.coil]
power = "1 W"
warms = {{ vref = "{warm}" }}
"#
        )
    };
    let worst = |text: &str| {
        let json = told("check", text);
        json["channels"][0]["worst_case"]["magnitude"]
            .as_f64()
            .unwrap_or_else(|| panic!("{:#}", json["channels"][0]))
    };
    let (cold, warm) = (worst(&board("0 K/W")), worst(&board("20 K/W")));
    near(warm - cold, 1.5e-3, 0.1e-3, "V");
}

/// A bridge whose lower end is lifted by 10 mV loses that much of what feeds
/// it and gains half of it as common mode: both ends rise, and of the
/// difference next to nothing is lost.
#[test]
fn property_a_bridge_bears_a_ground_that_a_divider_does_not() {
    let board = |sensor: &str, input: &str| {
        format!(
            r#"
[rails.main]
voltage = "5 V"
[converters.adc]
supply = "main"
bits = 16
differential = true
[channels.p]
quantity = "pressure"
span = "0 kPa to 100 kPa"
accuracy = "10 kPa"
sensor = {sensor}
input = "{input}"
reference = "main"
[returns.gnd]
resistance = "10 mΩ"
currents = ["1 A"]
channels = ["p"]
"#
        )
    };
    let error = |text: &str| {
        let json = told("rails", text);
        json["returns"][0]["channels"][0]["error"]
            .as_f64()
            .unwrap_or_else(|| panic!("{:#}", json["returns"]))
            .abs()
    };
    let single = r#"{ law = "linear-voltage", figures = { offset = { typ = "0 V" }, slope = { typ = "20 mV/kPa" } } }"#;
    // 10 mV of 20 mV/kPa is 0.5 kPa.
    near(error(&board(single, "adc")), 0.5, 0.01, "single-ended");
    let bridge = r#"{ law = "bridge", supply = "main", figures = { sensitivity = { typ = "2 mV/V" }, resistance = { typ = "350 Ω" }, rated = { typ = "100 kPa" } } }"#;
    // 10 mV of 5 V off what feeds it: 0.2 % of the reading.
    near(error(&board(bridge, "adc")), 0.2, 0.02, "bridge");
}

/// What cannot be worked out is said, not taken for nothing.
#[test]
fn property_heat_of_unknown_size_is_told() {
    let json = told(
        "rails",
        r#"
[rails.main]
voltage = "5 V"
[parts.chip]
kind = "logic"
figures = { input-low = { max = "0.8 V" }, input-high = { min = "2 V" } }
[devices.gate]
part = "chip"
supply = "main"
[devices.heater]
part = "chip"
supply = "main"
current = "200 mA"
[heat.gate]
source = "gate"
resistance = "100 K/W"
[heat.heater]
source = "heater"
"#,
    );
    let text = says(&json, "heat.unknown");
    assert!(
        text.contains("nothing says what gate turns into heat"),
        "{text}"
    );
    assert!(
        text.contains("nothing says how heater sheds its heat"),
        "{text}"
    );
    near(
        json["heat"][1]["most_w"].as_f64().unwrap(),
        1.0,
        1e-9,
        "heater",
    );
}

/// A sensor that needs 4.75 V behind 2 Ω under 0.3 A: 5 V − 0.6 V = 4.4 V.
#[test]
fn property_a_sensor_behind_a_long_feed_has_too_little() {
    let json = told(
        "check",
        r#"
[rails.main]
voltage = "5 V"
source-resistance = "2 Ω"
load = "0.29 A"
[converters.adc]
supply = "main"
bits = 12
[channels.p]
quantity = "pressure"
span = "1 kPa to 10 kPa"
sensor = { part = "mpx5010", supply = "main" }
input = "adc"
reference = "main"
"#,
    );
    let text = says(&json, "supply.device-range");
    assert!(text.contains("supply of the sensor of p"), "{text}");
    near(after(&text, "the sensor of p:"), 4.4, 0.01, &text);
}

/// A platinum thermometer of 1 kΩ below 2.2 kΩ from 5 V, its foot on a loom of
/// 1.5 m of 20 AWG and a contact that a pump of 2 A returns by: 2 A · 71 mΩ =
/// 142 mV at the foot, 142 mV · 2.2/3.2 = 98 mV at the node, where a kelvin is
/// 3.85 Ω · 5 V · 2.2 kΩ/(3.2 kΩ)² = 4.1 mV: some 24 K, in a network as in a
/// chain.
#[test]
fn property_a_return_lifts_a_sensor_in_a_network_as_in_a_chain() {
    let board = |network: &str, channel: &str| {
        format!(
            r#"
[rails.vin]
voltage = "12 V"
[rails.motor]
from = "vin"
loads = [{{ name = "pump", current = "2 A", duty = "20 %" }}]
[rails.five]
voltage = "5 V"
[converters.adc]
supply = "five"
bits = 12
{network}
[channels.tank]
quantity = "temperature"
span = "0 °C to 60 °C"
accuracy = "0.5 °C"
sensor = {{ part = "platinum-1000-class-a" }}
{channel}
input = "adc"
reference = "five"
[returns.loom]
cable = {{ length = "1.5 m", gauge = "20 AWG" }}
connector = {{ pins = 1 }}
currents = ["rails.motor"]
channels = ["tank"]
"#
        )
    };
    let error = |text: &str| {
        let json = told("rails", text);
        json["returns"][0]["channels"][0]["error"]
            .as_f64()
            .unwrap_or_else(|| panic!("{:#}", json["returns"]))
    };
    let chain = error(&board(
        "",
        "chain = [{ pull-up = \"2.2 kΩ 0.1 %\", to = \"five\" }]",
    ));
    let network = error(&board(
        r#"[networks.n]
elements = [
  { resistor = "2.2 kΩ 0.1 %", name = "pull", from = "five", to = "top" },
  { sensor = "tank", from = "top", to = "gnd" },
]"#,
        "network = \"n\"",
    ));
    near(network, chain, 0.1, "alike");
    assert!(chain > 20.0 && chain < 30.0, "{chain}");
}

/// A carrier whose board draws 350 mA at most and brings 150 mA out at 3.3 V:
/// 160 mA plugged onto it are too much, whatever it draws itself.
#[test]
fn property_a_carrier_draws_and_brings_out_what_its_maker_says() {
    let json = told(
        "rails",
        r#"
[rails.logic]
voltage = "3.3 V"
load = "160 mA"
[controllers.board]
part = "press-house-s3"
supply = "logic"
"#,
    );
    let rail = &json["rails"][0];
    near(rail["most_a"].as_f64().unwrap(), 0.51, 1e-9, "most");
    let text = says(&json, "rail.over-limit");
    assert!(
        text.contains("160 mA at most, 10 mA more than the 150 mA"),
        "{text}"
    );
}

#[test]
fn a_switched_rail_that_rises_is_held_against_what_feeds_it() {
    // C·dV/dt = 1000 µF · 5 V / 1 ms = 5 A, and 10 mA of load, through a
    // source of 300 mA.
    let text = "[rails.5v]\nvoltage = \"5 V exact\"\nlimit = \"300 mA\"\n[rails.sw]\nfrom = \"5v\"\nswitched = true\nstart = \"1 ms\"\nload = \"10 mA\"\nreservoir = { c = \"1000 µF exact\" }\n";
    let path = std::env::temp_dir().join(format!("leastbit-start-{}.toml", std::process::id()));
    std::fs::write(&path, text).unwrap();
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_leastbit"))
        .arg("rails")
        .arg(&path)
        .output()
        .unwrap();
    std::fs::remove_file(&path).unwrap();
    let said = String::from_utf8(output.stdout).unwrap();
    assert!(
        said.contains("rail.inrush") && said.contains("5.01 A"),
        "{said}"
    );
    assert_eq!(output.status.code(), Some(1));
}

#[test]
fn what_a_reservoir_gives_is_not_asked_of_the_source() {
    // 250 mA for 100 µs every 10 s are 2.5 µA on average, all that the source
    // must give; the burst itself comes from the capacitor.
    let text = "[rails.v]\nvoltage = \"3.3 V\"\nload = \"1 mA\"\nreservoir = { c = \"470 µF\" }\nbursts = [{ name = \"radio\", current = \"250 mA\", for = \"100 µs\", every = \"10 s\" }]\n";
    let path = std::env::temp_dir().join(format!("leastbit-held-{}.toml", std::process::id()));
    std::fs::write(&path, text).unwrap();
    let output = std::process::Command::new(env!("CARGO_BIN_EXE_leastbit"))
        .args(["rails", "--json"])
        .arg(&path)
        .output()
        .unwrap();
    std::fs::remove_file(&path).unwrap();
    let json: serde_json::Value = serde_json::from_slice(&output.stdout).unwrap();
    let rail = &json["rails"][0];
    let sum: f64 = rail["loads"]
        .as_array()
        .unwrap()
        .iter()
        .map(|l| l["most_a"].as_f64().unwrap())
        .sum();
    assert!((sum - 1.0025e-3).abs() < 1e-9, "{rail:#}");
    assert!(
        (rail["most_a"].as_f64().unwrap() - sum).abs() < 1e-9,
        "{rail:#}"
    );
}
