//! Buses that misbehaved in the field: the situation as a board file, the
//! mechanism and the number that the program must name.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

mod support;

use serde_json::Value;
use support::{run, stderr, stdout, written};

/// Everything found on a board.
fn found(name: &str, text: &str) -> Vec<Value> {
    let board = written(name, text);
    let output = run(&["check", "--json", &board.path()]);
    let result: Value = serde_json::from_str(&stdout(&output))
        .unwrap_or_else(|e| panic!("{e}: {}", stderr(&output)));
    result["findings"].as_array().unwrap().clone()
}

/// The finding with an id, as one text.
fn one(findings: &[Value], id: &str) -> String {
    let f = findings
        .iter()
        .find(|f| f["id"] == id)
        .unwrap_or_else(|| panic!("no {id} in {findings:#?}"));
    let mut text = f["headline"].as_str().unwrap().to_owned();
    for list in ["working", "remedies"] {
        for line in f[list].as_array().unwrap() {
            text.push('\n');
            text.push_str(line.as_str().unwrap());
        }
    }
    text
}

fn has(text: &str, wanted: &[&str]) {
    for w in wanted {
        assert!(text.contains(w), "no `{w}` in:\n{text}");
    }
}

fn none(findings: &[Value], id: &str) {
    assert!(
        findings.iter().all(|f| f["id"] != id),
        "{id}: {findings:#?}"
    );
}

/// Two thermocouple interfaces that need 0.22 s at most for a number and begin
/// anew with each reading, read too often by a driver with one stored number
/// (reported against drivers of such a part).
const FURNACES: &str = "\
[rails.supply]
voltage = \"5 V ± 5 %\"
[controllers.mcu]
part = \"rp2040\"
supply = \"logic\"
[rails.logic]
voltage = \"3.3 V\"
[parts.thermocouple-interface]
kind = \"digital-sensor\"
buses = [\"spi\"]
habits = [\"read-restarts\"]
figures = { supply = { min = \"3.0 V\", max = \"5.5 V\" }, conversion-time = { typ = \"0.17 s\", max = \"0.22 s\" } }
measures.temperature = { accuracy = { max = \"2 °C\" }, resolution = \"0.25 °C\", bits = 14 }
[devices.left]
part = \"thermocouple-interface\"
supply = \"logic\"
[devices.right]
part = \"thermocouple-interface\"
supply = \"logic\"
[links.furnaces]
kind = \"spi\"
controller = \"mcu\"
clock = \"1 MHz\"
poll = \"10 /s\"
bytes = 2
devices = [
  { device = \"left\", select = \"GPIO5\", cache = \"shared\" },
  { device = \"right\", select = \"GPIO6\", cache = \"shared\" },
]
";

#[test]
fn published_f14_a_reading_restarts_the_conversion() {
    let f = found("f14", FURNACES);
    has(
        &one(&f, "bus.polled-too-fast"),
        &["never updates", "220 ms", "4.55 readings a second"],
    );
    has(
        &one(&f, "bus.shared-cache"),
        &["left and right", "time stamp for each device"],
    );
    let slow = found(
        "f14-slow",
        &FURNACES
            .replace("10 /s", "4.5 /s")
            .replace(", cache = \"shared\"", ""),
    );
    none(&slow, "bus.polled-too-fast");
    none(&slow, "bus.shared-cache");
}

/// Three boards with 2.2 kΩ each at 5 V: 733 Ω, 6.3 mA for a low of 0.4 V, 2.1
/// times the 3 mA; at least 1.53 kΩ.
#[test]
fn published_f16_three_boards_of_pull_ups() {
    let text = "\
[rails.main]
voltage = \"5 V\"
[links.boards]
kind = \"i2c\"
supply = \"main\"
pull-ups = [\"2.2 kΩ\", \"2.2 kΩ\", \"2.2 kΩ\"]
sink = \"3 mA\"
";
    let f = found("f16", text);
    has(
        &one(&f, "bus.pull-up-strong"),
        &[
            "733 Ω",
            "1.53 kΩ",
            "6.27 mA",
            "2.1 times",
            "1 board with 2.20 kΩ",
            "3 boards with 4.70 kΩ",
            "6 boards with 10.0 kΩ",
        ],
    );
    let low = found("f16-low", &text.replace("\"5 V\"", "\"3.3 V\""));
    has(&one(&low, "bus.pull-up-strong"), &["967 Ω", "733 Ω"]);
    let good = text.replace(
        "[\"2.2 kΩ\", \"2.2 kΩ\", \"2.2 kΩ\"]",
        "[\"4.7 kΩ\", \"4.7 kΩ\"]",
    );
    none(&found("f16-good", &good), "bus.pull-up-strong");
}

/// Two sensors whose address pin chooses 0x76 or 0x77 both answer at 0x76.
#[test]
fn published_f18_two_of_one_address() {
    let device = |name: &str| {
        format!("[devices.{name}]\npart = \"weather\"\nsupply = \"io\"\naddress = \"0x76\"\n")
    };
    let text = |names: &[&str]| {
        let list: Vec<String> = names.iter().map(|n| format!("\"{n}\"")).collect();
        format!(
            "[rails.io]\nvoltage = \"3.3 V\"\n[parts.weather]\nkind = \"digital-sensor\"\nbuses = [\"i2c\"]\naddresses = [0x76, 0x77]\nfigures = {{ supply = {{ min = \"1.7 V\", max = \"3.6 V\" }} }}\nmeasures.pressure = {{ accuracy = {{ max = \"1 hPa\" }} }}\n{}[links.bus]\nkind = \"i2c\"\nsupply = \"io\"\npull-ups = [\"4.7 kΩ\"]\ndevices = [{}]\n",
            names.iter().map(|n| device(n)).collect::<String>(),
            list.join(", ")
        )
    };
    let two = found("f18", &text(&["inside", "outside"]));
    let said = one(&two, "bus.address-clash");
    has(
        &said,
        &[
            "inside and outside both answer at 0x76",
            "0x77",
            "one to ground and one to the I/O supply",
            "second bus or a multiplexer",
            "0xEC (write) and 0xED (read)",
        ],
    );
    let three = found("f18-three", &text(&["a", "b", "c"]));
    has(
        &one(&three, "bus.address-clash"),
        &["room for 2 of the 3", "multiplexer"],
    );
    let parted = text(&["inside", "outside"]).replacen("0x76\"", "0x77\"", 1);
    none(&found("f18-parted", &parted), "bus.address-clash");
    // The byte on the wire is no other address.
    let board = written(
        "f18-wire",
        text(&["inside"]).replace("address = \"0x76\"", "address = \"0xD1\""),
    );
    let refused = stderr(&run(&["check", &board.path()]));
    has(&refused, &["0x68", "0xD0", "0xD1"]);
}

/// A clock of 1 MHz, a quarter period of skew, 7 ns/m: 17.9 m of cable, and
/// 18 m leave 0.99 MHz; data from the controller have no such limit.
#[test]
fn published_f26_the_cable_counts_twice() {
    let text = |length: &str| {
        format!(
            "[rails.v]\nvoltage = \"3.3 V\"\n[links.far]\nkind = \"spi\"\nsupply = \"v\"\nclock = \"1 MHz\"\nskew = \"25 %\"\ncable = {{ length = \"{length}\", delay = \"7 ns/m\" }}\n"
        )
    };
    let f = found("f26", &text("18 m"));
    has(
        &one(&f, "bus.cable-delay"),
        &["992 kHz", "17.9 m", "252 ns", "no such limit"],
    );
    none(&found("f26-short", &text("17 m")), "bus.cable-delay");
}

/// 10 kΩ on both sides of a transistor: at 400 kHz 35 pF for each node, or
/// 1.8 kΩ at 200 pF.
#[test]
fn published_f27_a_transistor_rises_by_r_and_c_alone() {
    let text = "\
[rails.low]
voltage = \"3.3 V\"
[rails.high]
voltage = \"5 V\"
[devices.shift]
part = \"bss138\"
[links.near]
kind = \"i2c\"
supply = \"low\"
clock = \"400 kHz\"
pull-ups = [\"10 kΩ\"]
traces = \"187 pF\"
[links.far]
kind = \"i2c\"
supply = \"high\"
clock = \"400 kHz\"
pull-ups = [\"10 kΩ\"]
traces = \"187 pF\"
via = { device = \"shift\", from = \"near\" }
";
    let f = found("f27", text);
    has(
        &one(&f, "bus.pull-up-weak"),
        &["1.77 kΩ at most", "35.4 pF", "200 pF"],
    );
}

/// A device's address in the file that its part cannot have.
#[test]
fn an_address_that_the_part_cannot_have() {
    let f = found(
        "stranger",
        "[rails.v]\nvoltage = \"3.3 V\"\n[devices.room]\npart = \"sht41\"\nsupply = \"v\"\naddress = \"0x45\"\n[links.bus]\nkind = \"i2c\"\nsupply = \"v\"\npull-ups = [\"4.7 kΩ\"]\ndevices = [\"room\"]\n",
    );
    has(&one(&f, "bus.address"), &["0x45", "sht41 can have 0x44"]);
}

/// 4.7 kΩ in standard mode raise 1 µs/(0.8473 · 4.7 kΩ) = 251 pF: with 20 pF of
/// traces 3.85 m of 60 pF/m (UM10204, 7.1).
#[test]
fn published_longest_cable_of_a_two_wire_bus() {
    let text = |length: &str| {
        format!(
            "[rails.v]\nvoltage = \"3.3 V\"\n[links.bus]\nkind = \"i2c\"\nsupply = \"v\"\nclock = \"100 kHz\"\npull-ups = \"4.7 kΩ\"\ntraces = \"20 pF\"\ncable = {{ length = \"{length}\", capacitance = \"60 pF/m\" }}\n"
        )
    };
    let f = found("cable", &text("5 m"));
    has(
        &one(&f, "bus.pull-up-weak"),
        &["251 pF", "a cable of at most 3.85 m"],
    );
    none(&found("cable-ok", &text("3.4 m")), "bus.pull-up-weak");
}

/// ADXL345 data sheet Rev. 0: 3200 numbers a second at most.
#[test]
fn published_read_faster_than_the_highest_output_rate() {
    let text = |poll: &str| {
        format!(
            "[rails.v]\nvoltage = \"2.5 V\"\n[devices.shaker]\npart = \"adxl345\"\nsupply = \"v\"\n[links.bus]\nkind = \"spi\"\nsupply = \"v\"\nmode = 3\nclock = \"5 MHz\"\ndevices = [\"shaker\"]\npoll = \"{poll} /s\"\nbytes = 7\n"
        )
    };
    let f = found("output-rate", &text("4000"));
    has(
        &one(&f, "bus.polled-too-fast"),
        &["313 µs", "repeat the number before"],
    );
    none(
        &found("output-rate-ok", &text("3200")),
        "bus.polled-too-fast",
    );
}

/// Every other thing that can be wrong with a bus is found, and only it.
#[test]
fn each_mistake_of_a_bus_is_named() {
    let i2c = |keys: &str| {
        format!(
            "[rails.v]\nvoltage = \"3.3 V\"\n[links.bus]\nkind = \"i2c\"\nsupply = \"v\"\n{keys}\n"
        )
    };
    let spi = |keys: &str| {
        format!(
            "[rails.v]\nvoltage = \"3.3 V\"\n[parts.held]\nlike = \"lis3dh\"\nhabits = [\"holds-bus\"]\n[devices.a]\npart = \"held\"\nsupply = \"v\"\n[devices.b]\npart = \"adxl345\"\nsupply = \"v\"\n[links.bus]\nkind = \"spi\"\nsupply = \"v\"\n{keys}\n"
        )
    };
    let both = "devices = [{ device = \"a\", select = \"x\" }, { device = \"b\", select = \"y\" }]";
    for (text, id, said) in [
        (i2c(""), "bus.pull-up-missing", "only pulls down"),
        (i2c("mode = \"fast\"\ntraces = \"400 pF\"\npull-ups = \"1 kΩ\""), "bus.no-window", "none is both"),
        (i2c("clock = \"100 kHz\"\ntraces = \"500 pF\"\npull-ups = \"1.5 kΩ\""), "bus.capacitance", "400 pF at most"),
        (i2c("clock = \"400 kHz\"\nmode = \"standard\"\npull-ups = \"4.7 kΩ\""), "bus.clock", "100 kHz at most"),
        (i2c("clock = \"400 kHz\"\npull-ups = \"2.2 kΩ\"\ncable = { length = \"40 m\", capacitance = \"1 pF/m\", delay = \"5 ns/m\" }"), "bus.cable-delay", "400 ns there and back"),
        (i2c("pull-ups = \"4.7 kΩ\"\ncommon-return = false"), "bus.no-return", "share no return"),
        (spi(&format!("mode = 0\nclock = \"1 MHz\"\n{both}")), "bus.spi-mode", "b takes mode 3"),
        (spi(&format!("mode = 3\nclock = \"8 MHz\"\n{both}")), "bus.clock", "b bears 5.00 MHz"),
        (spi(&format!("mode = 3\nclock = \"1 MHz\"\n{both}")), "bus.not-released", "a keeps its data output"),
        (spi("mode = 3\nclock = \"1 MHz\"\ndevices = [{ device = \"a\", select = \"x\" }, { device = \"b\", select = \"x\" }]"), "bus.select", "both selected by x"),
        (spi(&format!("mode = 3\nclock = \"10 kHz\"\npoll = \"100 /s\"\nbytes = 7\n{both}")), "bus.overloaded", "112 %"),
        ("[rails.v]\nvoltage = \"3.3 V\"\n[links.bus]\nkind = \"uart\"\nsupply = \"v\"\nbaud = \"9600 /s\"\nclock-tolerance = \"5 %\"\n".to_owned(), "bus.clock-error", "4.6 % at most"),
        ("[rails.v]\nvoltage = \"5 V\"\n[links.bus]\nkind = \"single-wire\"\nsupply = \"v\"\npull-ups = \"10 kΩ\"\ncable = { length = \"40 m\", capacitance = \"60 pF/m\" }\n".to_owned(), "bus.pull-up-weak", "at most"),
        ("[rails.v]\nvoltage = \"3.3 V\"\n[rails.w]\nvoltage = \"3.3 V\"\n[devices.r]\npart = \"pca9517a\"\nsupply = \"v\"\nsupply-b = \"w\"\n[devices.s]\npart = \"pca9517a\"\nsupply = \"v\"\nsupply-b = \"w\"\n[links.near]\nkind = \"i2c\"\nsupply = \"v\"\npull-ups = \"4.7 kΩ\"\n[links.mid]\nkind = \"i2c\"\nsupply = \"w\"\npull-ups = \"4.7 kΩ\"\nvia = { device = \"r\", from = \"near\" }\n[links.far]\nkind = \"i2c\"\nsupply = \"v\"\npull-ups = \"4.7 kΩ\"\nvia = { device = \"s\", from = \"mid\" }\n".to_owned(), "bus.repeater-offset", "r and s meet"),
    ] {
        has(&one(&found("mistake", &text), id), &[said]);
    }
}

#[test]
fn one_pair_that_cannot_be_parted_does_not_spoil_another() {
    // ADT7420: 0x48 to 0x4B by its pins (data sheet); SHT41: 0x44 alone.
    let found = found("pairs", PAIRS);
    let of = |device: &str| {
        found
            .iter()
            .find(|f| {
                f["id"] == "bus.address-clash" && f["headline"].as_str().unwrap().contains(device)
            })
            .unwrap_or_else(|| panic!("{device}: {found:#?}"))["remedies"]
            .to_string()
    };
    assert!(
        of("t3").contains("0x49") || of("t3").contains("0x4B"),
        "{}",
        of("t3")
    );
    assert!(of("h2").contains("second bus"), "{}", of("h2"));
}

const PAIRS: &str = r#"[rails.v]
voltage = "3.3 V"
[devices.t1]
part = "adt7420"
supply = "v"
address = "0x4A"
[devices.t2]
part = "adt7420"
supply = "v"
address = "0x48"
[devices.t3]
part = "adt7420"
supply = "v"
address = "0x48"
[devices.h1]
part = "sht41"
supply = "v"
[devices.h2]
part = "sht41"
supply = "v"
[links.b]
kind = "i2c"
supply = "v"
devices = ["t1","t2","t3","h1","h2"]
pull-ups = ["4.7 kΩ"]
"#;
