//! Findings about disturbing tones: which, with which numbers, computed by
//! hand beside each.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests")]

mod support;

use finding::Severity;
use support::{check, ids, only};

/// 0 to 5 V onto 16 bits, 200 readings a second.
fn open(channel: &str, more: &str) -> String {
    format!(
        r#"
[rails.main]
voltage = "5 V ± 0 %"
[converters.adc]
supply = "main"
bits = 16
[channels.signal]
quantity = "voltage"
span = "0 V to 5 V"
input = "adc"
reference = "main"
{channel}
{more}"#
    )
}

fn has(text: &str, id: &str) -> bool {
    ids(&check(text)).iter().any(|(found, _)| *found == id)
}

#[test]
fn published_slow_sine_of_a_mains_harmonic_is_foreseen() {
    // "Source of 5.5 Hz noise showing up on ADC" (itecnotes.com): at 200
    // samples a second the fourth harmonic of 51.375 Hz shows at 4 · 51.375 −
    // 200 = 5.5 Hz.
    let text = open(
        "rate = \"200 /s\"",
        "[conditions]\nmains = \"51.375 Hz ± 0 %\"",
    );
    let result = check(&text);
    let f = only(&result, "interference.alias");
    assert_eq!(f.severity, Severity::Note);
    assert!(
        f.headline.contains(
            "mains × 4, 205.5 Hz, would show at 5.5 Hz in 200 readings a second, damped by 0.0 dB"
        ),
        "{}",
        f.headline
    );
    // 10 mV of 5 V/65536 are 131 codes.
    assert!(f.headline.contains("131 codes"), "{}", f.headline);
    assert!(
        f.remedies
            .iter()
            .any(|r| r.contains("201 readings a second move it by 1 Hz")),
        "{:?}",
        f.remedies
    );
    assert!(!has(&text, "interference.zero-beat"));
    // At the nominal 50 Hz it may be anywhere between 0 and 2 Hz, and exactly
    // there it stands still.
    let grid = open("rate = \"200 /s\"", "[conditions]\nmains = \"50 Hz\"");
    let result = check(&grid);
    let f = only(&result, "interference.alias");
    assert!(
        f.headline
            .contains("198 Hz to 202 Hz, would show at 0 Hz to 2 Hz")
    );
    let f = only(&result, "interference.zero-beat");
    assert!(
        f.headline
            .contains("mains × 4 is exactly 1 × 200 readings a second"),
        "{}",
        f.headline
    );
    // 190 a second is the nearest rate at which all harmonics show well: the
    // slowest is |4 · 50 − 190| = 10 Hz.
    assert!(
        f.remedies[0].starts_with("190 readings a second"),
        "{:?}",
        f.remedies
    );
    assert!(
        f.remedies[0].ends_with("the slowest at 10 Hz"),
        "{:?}",
        f.remedies
    );
}

#[test]
fn a_mean_over_a_whole_period_takes_it_away() {
    // 0.1 ms for a conversion: 200 of them are 20 ms, in which nothing of 50
    // Hz stays; ± 0.5 Hz leave a hundredth, 40 dB. An accuracy of 50 mV makes
    // 10 mV worth telling, 0.1 mV not.
    let board = |average: u32| {
        format!(
            r#"
[conditions]
mains = "50 Hz"
[rails.logic]
voltage = "3.3 V ± 0 %"
[references.vref]
voltage = "2.5 V ± 0 %"
[controllers.mcu]
part = "stm32f103"
supply = "logic"
[scan]
clock = "2.52 MHz"
acquisition = "239.5 cycles"
[channels.signal]
quantity = "voltage"
span = "0 V to 2.4 V"
accuracy = "50 mV"
rate = "10 /s"
average = {average}
input = "mcu.adc.3"
reference = "vref"
"#
        )
    };
    let result = check(&board(1));
    let f = only(&result, "interference.alias");
    assert!(
        f.remedies[0].contains("the mean of 200 conversions over 20 ms"),
        "{:?}",
        f.remedies
    );
    let averaged = board(200);
    assert!(!has(&averaged, "interference.alias"));
    assert!(!has(&averaged, "interference.zero-beat"));
}

#[test]
fn hum_of_known_size_is_held_against_the_accuracy() {
    // 20 mV of 50 Hz in series with the sensor and its harmonics at a half, a
    // third, … make 20 · (1 + 1/2 + 1/3 + 1/4 + 1/5) = 45.7 mV at worst.
    let hum = "[conditions]\nmains = \"50 Hz\"\n[interferers.mains]\namplitude = \"20 mV\"";
    let text = open("accuracy = \"0.2 V\"\nrate = \"3 /s\"", hum);
    let result = check(&text);
    let f = only(&result, "interference.mains-not-rejected");
    assert_eq!(f.severity, Severity::Note);
    assert!(
        f.headline
            .contains("mains on the sensor leaves up to 45.7 mV, 599 codes in the readings, 23 % of the permitted error"),
        "{}",
        f.headline
    );
    // A tenth of 0.2 V is 20 mV: 45.7/20 = 2.28, 7 dB; one pole at 49.5 Hz/
    // √(2.28² − 1) = 24.1 Hz.
    assert!(
        f.remedies
            .iter()
            .any(|r| r.contains("a low-pass at 24 Hz") && r.contains("7 dB")),
        "{:?}",
        f.remedies
    );
    // Twice what is permitted is a fault of its own.
    let strict = open("accuracy = \"20 mV\"\nrate = \"3 /s\"", hum);
    let f = check(&strict);
    assert_eq!(
        only(&f, "interference.mains-not-rejected").severity,
        Severity::Fail
    );
    // With the filter it is gone.
    let filtered = open(
        "accuracy = \"0.2 V\"\nrate = \"3 /s\"\nchain = [{ low-pass = { r = \"10 kΩ\", c = \"1 µF\" } }]",
        hum,
    );
    assert!(!has(&filtered, "interference.mains-not-rejected"));
}

#[test]
fn where_nobody_knows_when_it_is_read_nothing_is_said_of_aliases() {
    let text = open("", "[conditions]\nmains = \"50 Hz\"");
    assert!(
        !ids(&check(&text))
            .iter()
            .any(|(id, _)| id.starts_with("interference."))
    );
}

#[test]
fn samples_over_part_of_a_period_are_told_with_a_better_number() {
    let board = |average: u32| {
        format!(
            r#"
[rails.logic]
voltage = "3.3 V ± 0 %"
[references.vref]
voltage = "3.0 V ± 0 %"
[references.bias]
voltage = "1.5 V ± 0 %"
[controllers.mcu]
part = "stm32f103"
supply = "logic"
[scan]
clock = "2.52 MHz"
acquisition = "239.5 cycles"
[channels.load]
quantity = "current"
span = "1 A to 20 A"
accuracy = "5 % of reading"
ac = {{ frequency = "50 Hz ± 0 %" }}
sensor = {{ part = "current-transformer", foot = "bias" }}
chain = [{{ burden = {{ r = "47 Ω", to = "bias" }} }}]
rate = "5 /s"
average = {average}
input = "mcu.adc.3"
reference = "vref"
"#
        )
    };
    // Conversions of 0.1 ms: 220 are 1.1 periods, 200 one.
    let result = check(&board(220));
    let f = only(&result, "alternating.partial-periods");
    assert!(
        f.headline
            .contains("220 samples at 10000 a second cover 1.100 periods of 50 Hz"),
        "{}",
        f.headline
    );
    assert!(
        f.remedies[0].starts_with("average = 200: 1 periods"),
        "{:?}",
        f.remedies
    );
    assert!(!has(&board(200), "alternating.partial-periods"));
    // Both peaks of 20 A, 28.28 mA on 47 Ω, lie on the scale: 2 · 1.3294 V of
    // 3 V are 88.6 % of the codes.
    let used = result.channels[0].signal.unwrap();
    assert!((used.share() - 0.8863).abs() < 1e-3, "{}", used.share());
    // The bias keeps the lower peak on the scale; without it half of the wave
    // is lost, and the pin goes below ground.
    let sunk = board(200)
        .replace("foot = \"bias\"", "foot = \"gnd\"")
        .replace("to = \"bias\"", "to = \"gnd\"");
    let found = check(&sunk);
    assert!(
        ids(&found)
            .iter()
            .any(|(id, _)| *id == "converter.input-range"),
        "{:?}",
        ids(&found)
    );
}
