//! Noise of references as data sheets give it: rms or from peak to peak, as
//! volts or as a share, over a band.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests")]

use chain::channel::build_with;
use chain::time::Timing;
use chain::variables::Lies;
use finding::Sources;
use parts::Library;

/// Standard uncertainty of a variable of a channel against a reference.
fn u_of(part: &str, shunt: bool, part_of_key: &str) -> f64 {
    let series = if shunt { "series = \"1 kΩ\"" } else { "" };
    let text = format!(
        r#"
[rails.main]
voltage = "5 V"
[references.vref]
part = "{part}"
supply = "main"
{series}
[controllers.mcu]
part = "stm32f103"
supply = "main"
[channels.x]
quantity = "voltage"
span = "0 V to 2 V"
input = "mcu.adc.1"
reference = "vref"
[scan.mcu]
clock = "12 MHz"
acquisition = "239.5 cycles"
"#
    );
    let mut sources = Sources::new();
    let id = sources.add("b.toml", text.as_str());
    let (board, faults) = board::read(id, &text, Library::shipped(), &chain::vocabulary());
    let board = board.unwrap_or_else(|| panic!("{faults:?}"));
    let timing = Timing::of(&board);
    let model = build_with(&board, &board.channels[0], &timing).unwrap();
    let found = model
        .variables
        .iter()
        .find(|v| v.key.contains(part_of_key))
        .unwrap_or_else(|| panic!("{part}: no variable {part_of_key}"));
    match found.lies {
        Lies::About(_, u) => u,
        ref other => panic!("{part}: {other:?}"),
    }
}

fn close(value: f64, expected: f64) {
    assert!(
        (value / expected - 1.0).abs() < 1e-9,
        "{value} is not {expected}"
    );
}

#[test]
fn published_slow_noise_of_references() {
    let slow = "references.vref.noise@";
    // ADR504x data sheet, Rev. B, Tables 2 to 6: 3.2 µV rms of 2.5 V.
    close(u_of("adr5041", true, slow), 3.2e-6 / 2.5);
    // ADR440 to ADR445 data sheet, page 1: 1.2 µV peak to peak of 2.5 V; 6.6
    // standard deviations (common practice).
    close(u_of("adr441", false, slow), 1.2e-6 / 6.6 / 2.5);
    // LT6654 data sheet, page 1: 1.6 ppm peak to peak.
    close(u_of("lt6654-2v5-b", false, slow), 1.6e-6 / 6.6);
}

#[test]
fn published_wide_noise_of_a_reference() {
    // The same tables: 150 µV rms from 10 Hz to 10 kHz, in each conversion.
    close(
        u_of("adr5041", true, "references.vref.noise-wide"),
        150e-6 / 2.5,
    );
}
