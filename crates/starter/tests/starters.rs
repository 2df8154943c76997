//! What a starter board says.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests")]

use parts::Library;
use starter::{Effort, StarterFault, Wish, starter};

fn made(device: &str, sensors: &[&str]) -> Result<starter::Starter, StarterFault> {
    let wishes: Vec<Wish> = sensors.iter().map(|s| Wish::read(s)).collect();
    starter(
        Library::shipped(),
        "cellar",
        device,
        &wishes,
        Effort::default(),
        &|_| {},
    )
}

#[test]
fn a_thermistor_is_pulled_to_the_reference_it_is_compared_with() {
    let board = made("stm32f103", &["room=ntc-10k-3950-1-percent"]).unwrap();
    assert_eq!(board.channels, ["room"]);
    let text = &board.text;
    assert!(text.contains("[channels.room]"), "{text}");
    assert!(text.contains("pull-up = "), "{text}");
    // 10 kΩ at 25 °C and 3.6 kΩ at 50 °C: the pull-up is of that size.
    let ohm = text.split("pull-up = \"").nth(1).unwrap();
    let ohm = ohm.split(" kΩ").next().unwrap();
    let ohm: f64 = ohm.parse().unwrap_or_else(|_| panic!("{text}"));
    assert!((1.5..=22.0).contains(&ohm), "{ohm} kΩ");
    // Every pin is used once, each line that needs one has its comment.
    assert!(text.contains("input = \"mcu.adc.0\""), "{text}");
    assert!(
        text.lines().filter(|l| l.contains('#')).count() > 8,
        "{text}"
    );
}

#[test]
fn a_five_volt_device_needs_no_regulator_and_a_three_volt_one_has_its_own() {
    let five = made("st10f269", &["mpx5010"]).unwrap().text;
    assert!(!five.contains("[rails.logic]"), "{five}");
    let three = made("stm32f103", &["mpx5010"]).unwrap().text;
    assert!(three.contains("part = \"ncp189-3v3\""), "{three}");
    // A carrier brings its rails along.
    let carrier = made("press-house-f103", &["ntc-10k-3950-1-percent"])
        .unwrap()
        .text;
    assert!(
        carrier.contains("[rails.3v3]") && carrier.contains("[rails.5v]"),
        "{carrier}"
    );
    assert!(!carrier.contains("ncp189"), "{carrier}");
}

#[test]
fn channels_have_names_and_inputs_of_their_own() {
    let board = made(
        "rp2040",
        &["ntc-10k-3950-1-percent", "ntc-10k-3435-1-percent", "sht41"],
    )
    .unwrap();
    assert_eq!(
        board.channels,
        ["temperature", "temperature-2", "humidity", "temperature-3"]
    );
    for input in ["mcu.adc.0", "mcu.adc.1"] {
        assert_eq!(board.text.matches(input).count(), 1, "{}", board.text);
    }
    // Five of four inputs.
    let many = ["ntc-10k-3950-1-percent"; 5];
    let fault = made("rp2040", &many).unwrap_err();
    assert!(fault.message.contains("4 analog inputs, 5"), "{fault:?}");
    let fault = made("rp2040", &["a=bpw34", "a=bpw34"]).unwrap_err();
    assert!(fault.message.contains("two channels"), "{fault:?}");
    let fault = made("rp2040", &["a b=bpw34"]).unwrap_err();
    assert!(fault.message.contains("no name for a channel"), "{fault:?}");
}

#[test]
fn a_thermocouple_brings_its_cold_junction_along() {
    let board = made("ad7124-4", &["oven=thermocouple-k-class-1"]).unwrap();
    assert_eq!(board.channels, ["oven", "cold-junction"]);
    assert!(board.text.contains("cold-junction = \"cold-junction\""));
}

#[test]
fn wrong_parts_are_refused_with_the_nearest_right_one() {
    let fault = made("stm32f1o3", &["bpw34"]).unwrap_err();
    assert_eq!(fault.suggestion.as_deref(), Some("stm32f103"));
    let fault = made("stm32f103", &["bpw43"]).unwrap_err();
    assert_eq!(fault.suggestion.as_deref(), Some("bpw34"));
    let fault = made("bpw34", &["bpw34"]).unwrap_err();
    assert!(
        fault.message.contains("is a sensor, not a controller"),
        "{fault:?}"
    );
    let fault = made("stm32f103", &[]).unwrap_err();
    assert!(fault.message.contains("without a sensor"), "{fault:?}");
}

#[test]
fn the_same_question_has_the_same_answer() {
    let one = made("nrf52840", &["platinum-100-class-b", "loop-transmitter"]).unwrap();
    let two = made("nrf52840", &["platinum-100-class-b", "loop-transmitter"]).unwrap();
    assert_eq!(one.text, two.text);
}
