//! The words of digital parts, by the real binary.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

mod support;

use serde_json::Value;
use support::{code, examples, run, stderr, stdout, written};

const FURNACE: &str = "\
[channels.furnace]
quantity = \"temperature\"
span = \"-20 °C to 800 °C\"
sensor = { law = \"digital\" }
[words.furnace]
channel = \"furnace\"
bits = 14
below = 2
form = \"twos-complement\"
step = \"0.25 °C\"
flags = [{ bit = 0, name = \"thermocouple open\", bad = 1 }]
";

fn json(arguments: &[&str]) -> Value {
    let output = run(arguments);
    serde_json::from_str(&stdout(&output)).unwrap_or_else(|e| panic!("{e}: {}", stderr(&output)))
}

/// 25 °C of a sensor with T = -45 + 175 · S/65535 (SHT4x data sheet, section
/// on conversion, from memory) is S = 70/175 · 65535 = 26214 = 0x6666; its
/// check with the polynomial 0x31 from 0xFF is 0x93, worked by long division.
#[test]
fn published_word_of_the_room() {
    let rack = examples("bus-words.toml");
    let result = json(&[
        "words",
        &rack,
        "room-temperature",
        "--json",
        "--decode",
        "0x6666 0x93",
    ]);
    let seen = &result["words"][0]["seen"][0];
    assert_eq!(seen["code"], 26214);
    assert!(
        (seen["value"].as_f64().unwrap() - 25.0).abs() < 1e-3,
        "{seen}"
    );
    assert_eq!(seen["check"], "agrees");
    assert_eq!(seen["is_usable"], true);
    let wrong = run(&[
        "words",
        &rack,
        "room-temperature",
        "--decode",
        "0x66 0x67 0x93",
    ]);
    assert_eq!(code(&wrong), 1);
    assert!(
        stdout(&wrong).contains("does not agree"),
        "{}",
        stdout(&wrong)
    );
}

/// -1 °C is 16384 - 4 codes in 14 bits, two below: 0xFFF0. A driver that knows
/// no sign reads 4095 °C, one that swaps the bytes 0xF0FF: 0x3C3F = 15423 - 16384
/// = -961 codes, -240.25 °C.
#[test]
fn a_garbage_value_is_recognised_by_its_law() {
    let board = written("furnace", FURNACE);
    let result = json(&["words", &board.path(), "--json", "--decode", "0xFFF0"]);
    let word = &result["words"][0];
    assert!((word["seen"][0]["value"].as_f64().unwrap() + 1.0).abs() < 1e-9);
    let of = |how: &str| {
        word["seen"][0]["misread"]
            .as_array()
            .unwrap()
            .iter()
            .find(|m| m["how"] == how)
            .unwrap()["value"]
            .as_f64()
            .unwrap()
    };
    let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-9, "{a} {b}");
    near(of("unsigned"), 4095.0);
    near(of("bytes the other way round"), -240.25);
    // The ends: -80 codes and 3200 codes, two bits up.
    assert_eq!(word["ends"][0]["bytes"], "0xFE 0xC0");
    assert_eq!(word["ends"][1]["bytes"], "0x32 0x00");
    near(word["holds"][1].as_f64().unwrap(), 2047.75);
}

#[test]
fn a_word_that_holds_too_little_fails() {
    let board = written("narrow", FURNACE.replace("bits = 14", "bits = 12"));
    // 2047 codes of 0.25 °C: 511.75 °C, and 800 °C is asked.
    let output = run(&["words", &board.path()]);
    assert_eq!(code(&output), 1);
    let text = stdout(&output);
    assert!(text.contains("holds too little"), "{text}");
    assert!(
        text.contains("511.75 °C") || text.contains("511.8 °C"),
        "{text}"
    );
}

#[test]
fn a_flag_forbids_its_number() {
    let board = written("open", FURNACE);
    let output = run(&["words", &board.path(), "--decode", "0x0001"]);
    assert_eq!(code(&output), 1);
    assert!(stdout(&output).contains("thermocouple open: not to be used"));
}

#[test]
fn bytes_and_names_that_are_none_are_refused() {
    let board = written("refused", FURNACE);
    for arguments in [
        vec!["--decode", "0x1G"],
        vec!["--decode", "300"],
        vec!["--decode", " "],
        vec!["nobody"],
    ] {
        let path = board.path();
        let mut all = vec!["words", &path];
        all.extend(&arguments);
        let output = run(&all);
        assert_eq!(code(&output), 2, "{arguments:?}");
        assert!(stderr(&output).contains("expected") || stderr(&output).contains("no bytes"));
    }
    let short = run(&["words", &board.path(), "--decode", "0x12"]);
    assert_eq!(code(&short), 1);
    assert!(stdout(&short).contains("1 bytes, where 2 are a word"));
}

/// The same backwards: 4095 °C on the display is -1 °C without its sign.
#[test]
fn what_stands_behind_a_reading() {
    let board = written("behind", FURNACE);
    let result = json(&["words", &board.path(), "--json", "--reads", "4095 °C"]);
    let shown = &result["words"][0]["shown"][0];
    assert_eq!(shown["is_possible"], false);
    let behind = shown["behind"].as_array().unwrap();
    let unsigned = behind.iter().find(|b| b["how"] == "unsigned").unwrap();
    // Within 10⁻³ of 4095 °C lie 16 codes on either side, -1 °C among them.
    let (low, high) = (&unsigned["values"][0], &unsigned["values"][1]);
    assert!(low.as_f64().unwrap() <= -1.0 && high.as_f64().unwrap() >= -1.0);
    let wrong = run(&["words", &board.path(), "--reads", "3 V"]);
    assert_eq!(code(&wrong), 2);
    assert!(stderr(&wrong).contains("no word here can be about it"));
}
