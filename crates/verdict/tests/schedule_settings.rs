//! Settings of scans that a part does not have, sequences that take too long
//! and sensors that are not fed long enough, with the numbers computed by
//! hand.
#![allow(clippy::unwrap_used, reason = "tests")]

mod support;

use finding::Severity;
use report::{Check, Finding};
use support::{check, only};

/// A controller of the library with two channels: clock 0.6 to 14 MHz,
/// acquisitions 1.5, 7.5, 13.5, 28.5, 41.5, 55.5, 71.5, 239.5 cycles, 12.5
/// cycles of conversion (STM32F103x8/xB data sheet, DocID13587 Rev 17, Tables
/// 46 and 47).
fn board(scan: &str, first: &str) -> String {
    format!(
        r#"
[rails.logic]
voltage = "3.3 V ± 1 %"
[controllers.mcu]
part = "stm32f103"
supply = "logic"
[channels.tank]
quantity = "voltage"
span = "0 V to 3 V"
input = "mcu.adc.1"
{first}
[channels.feed]
quantity = "voltage"
span = "0 V to 3 V"
input = "mcu.adc.2"
[scan.mcu]
{scan}
"#
    )
}

fn has(result: &Check, id: &str) -> bool {
    result.findings.iter().any(|f| f.id == id)
}

fn all(f: &Finding) -> String {
    format!("{} {:?} {:?}", f.headline, f.working, f.remedies)
}

fn says(f: &Finding, wanted: &[&str]) {
    let text = all(f);
    for said in wanted {
        assert!(text.contains(said), "no `{said}` in {text}");
    }
}

#[test]
fn published_clock_above_its_range() {
    // 72 MHz over 4 is 18 MHz, above 14 MHz; over 6 it is 12 MHz.
    let result = check(&board("clock = \"72 MHz\"\nprescaler = 4", ""));
    let f = only(&result, "scan.setting");
    assert_eq!(f.severity, Severity::Fail);
    says(
        f,
        &["18.0 MHz", "600 kHz to 14.0 MHz", "prescaler = 6 or more"],
    );
    let good = check(&board("clock = \"72 MHz\"\nprescaler = 6", ""));
    assert!(!has(&good, "scan.setting"));
}

#[test]
fn published_acquisition_that_is_no_setting() {
    let result = check(&board(
        "clock = \"12 MHz\"\nacquisition = \"20 cycles\"",
        "",
    ));
    // Both channels say the same: one finding. 28.5 / 12 MHz = 2.375 µs.
    let f = only(&result, "scan.setting");
    assert_eq!(f.severity, Severity::Fail);
    says(f, &["an acquisition of 20", "28.5 cycles"]);
    let good = check(&board(
        "clock = \"12 MHz\"\nacquisition = \"28.5 cycles\"",
        "",
    ));
    assert!(!has(&good, "scan.setting"));
}

#[test]
fn a_sequence_that_takes_too_long() {
    // At 12 MHz and 55.5 cycles a conversion is 68 / 12 MHz = 5.667 µs; 64 of
    // the first channel are 362.7 µs, with the other 368.3 µs; every 100 µs
    // there is room for (100 − 5.667)/5.667 = 16 of them.
    let scan = "clock = \"12 MHz\"\nacquisition = \"55.5 cycles\"\nevery = \"100 µs\"";
    let result = check(&board(scan, "average = 64"));
    let f = only(&result, "scan.overrun");
    assert_eq!(f.severity, Severity::Fail);
    says(
        f,
        &[
            "takes 368 µs",
            "begins after 100 µs",
            "`tank` takes 363 µs of it",
        ],
    );
    let good = check(&board(scan, "average = 16"));
    assert!(!has(&good, "scan.overrun"));
}

#[test]
fn a_pressure_sensor_that_is_not_fed_long_enough() {
    // MPX5010 data sheet (Rev. 14): warm-up 20 ms. Behind it 1 kΩ and 1 µF,
    // τ = 1 ms; full scale of the span 4.7/5 · 4096 codes: a quarter code is
    // left after ln(4 · 3850) = 9.64 τ. One conversion at 12 MHz with 239.5
    // cycles is 21 µs. Together 29.7 ms.
    let text = |awake: &str| {
        format!(
            r#"
[rails.main]
voltage = "5 V ± 2 %"
[converters.adc]
supply = "main"
bits = 12
figures.clock = {{ max = "12 MHz" }}
figures.sample-cycles = {{ choices = [239.5] }}
figures.conversion-cycles = 12.5
figures.sample-capacitor = {{ typ = "8 pF" }}
[channels.headspace]
quantity = "pressure"
span = "0 kPa to 10 kPa"
sensor = {{ part = "mpx5010", supply = "main" }}
chain = [{{ low-pass = {{ r = "1 kΩ exact", c = "1 µF exact" }} }}]
input = "adc"
awake = "{awake}"
"#
        )
    };
    let result = check(&text("25 ms"));
    let f = only(&result, "rate.awake-too-short");
    assert_eq!(f.severity, Severity::Fail);
    says(
        f,
        &[
            "fed for 25.0 ms, but 29.7 ms are needed",
            "20.0 ms until the sensor has started",
            "9.64 ms until the network has charged",
            "21.0 µs for the conversions",
            "settles in 4.98 ms instead of 9.64 ms: 0.52 times",
        ],
    );
    assert!(f.figures[0].source.contains("MPX5010"), "{:?}", f.figures);
    assert!(!has(&check(&text("30 ms")), "rate.awake-too-short"));
}

#[test]
fn a_digital_sensor_that_is_not_fed_long_enough() {
    // SHT4x data sheet: 8.2 ms at most for a conversion of high repeatability.
    let text = |awake: &str| {
        format!(
            "[rails.main]\nvoltage = \"3.3 V\"\n[channels.cellar]\nquantity = \"humidity\"\nspan = \"40 %RH to 95 %RH\"\nsensor = \"sht45\"\nawake = \"{awake}\"\n"
        )
    };
    let result = check(&text("5 ms"));
    let f = only(&result, "rate.awake-too-short");
    says(f, &["fed for 5.00 ms", "8.20 ms for the conversions"]);
    assert!(!has(&check(&text("10 ms")), "rate.awake-too-short"));
}

#[test]
fn a_source_that_is_too_large_for_the_acquisition() {
    // 40 kΩ charge 5 pF of the pin (Table 35) and, through 1 kΩ, 8 pF of the
    // sampler (Table 46): the slower time constant is 13 pF · 40 kΩ + 8 pF ·
    // 1 kΩ less 40 kΩ · 1 kΩ · 5 pF · 8 pF over that, 525 ns. 8/13 of the step
    // from the other channel are missing once both have shared their charge,
    // 1.846 V of 3 V; a quarter of a code of 3.3 V / 4096 is left after
    // ln(1.846 V / 201 µV) = 9.12 of them, 4.79 µs: 71.5 cycles of 12 MHz
    // (5.96 µs). After 7.5 cycles, 625 ns, 0.56 V are.
    let text = |acquisition: &str| {
        format!(
            r#"
[rails.logic]
voltage = "3.3 V exact"
[controllers.mcu]
part = "stm32f103"
supply = "logic"
[channels.tank]
quantity = "voltage"
span = "0 V to 3 V"
accuracy = "20 mV"
chain = [{{ series = "40 kΩ exact" }}]
input = "mcu.adc.1"
[channels.feed]
quantity = "voltage"
span = "0 V to 3 V"
input = "mcu.adc.2"
[scan.mcu]
clock = "12 MHz"
acquisition = "{acquisition}"
"#
        )
    };
    let result = check(&text("7.5 cycles"));
    let f = only(&result, "sampling.unsettled");
    assert_eq!(f.severity, Severity::Fail);
    says(
        f,
        &[
            "after 625 ns at 40.0 kΩ behind the pin",
            "the sample is 56",
            "an acquisition of 71.5 clocks (5.96 µs): 4.80 µs are needed",
            "a source of at most 7.1",
        ],
    );
    assert!(!has(&check(&text("71.5 cycles")), "sampling.unsettled"));
}

/// The AD7799 with two channels, `more` said of the first.
fn averaging(more: &str) -> String {
    format!(
        r#"
[rails.main]
voltage = "5 V"
[references.vref]
voltage = "2.5 V"
[converters.scale]
part = "ad7799"
supply = "main"
[channels.load]
quantity = "voltage"
span = "0.5 V to 2 V"
input = "scale.1"
reference = "vref"
{more}
[channels.tare]
quantity = "voltage"
span = "0.5 V to 2 V"
input = "scale.2"
reference = "vref"
data-rate = "470 /s"
"#
    )
}

#[test]
fn outputs_of_a_filter_after_a_switch_of_channels() {
    // Two outputs until a switched channel is right; every further one of an
    // average counts: (2 − 1 + 8) / 16.7 Hz = 538.9 ms, and 2 / 470 Hz =
    // 4.255 ms for the other channel: 543.2 ms.
    let text = averaging("data-rate = \"16.7 /s\"\naverage = 8\nrate = \"2 /s\"");
    let result = check(&text);
    let f = only(&result, "scan.overrun");
    says(
        f,
        &["takes 543 ms", "after 500 ms", "`load` takes 539 ms of it"],
    );
    // At 19.6 /s it is 459.2 ms + 4.3 ms.
    let good = check(&text.replace("16.7 /s", "19.6 /s"));
    assert!(!has(&good, "scan.overrun"));
    // Left to the program the slowest rate that is fast enough is taken.
    let free = check(&text.replace("data-rate = \"16.7 /s\"\n", ""));
    assert!(!has(&free, "scan.overrun"));
}

#[test]
fn an_output_rate_that_cannot_be_set() {
    let result = check(&averaging("data-rate = \"60 /s\""));
    let f = only(&result, "scan.setting");
    says(f, &["60 /s cannot be set", "data-rate = \\\"62 /s"]);
    assert!(!has(
        &check(&averaging("data-rate = \"62 /s\"")),
        "scan.setting"
    ));
}

#[test]
fn a_sequence_that_begins_too_seldom() {
    // Once a second is not the ten times that the first channel asks.
    let result = check(&board("every = \"1 s\"", "rate = \"10 /s\""));
    let f = only(&result, "rate.not-met");
    assert_eq!(f.severity, Severity::Fail);
    says(
        f,
        &[
            "begins every 1.00 s: 1.00 readings a second, 10 are asked",
            "every = \\\"100 ms",
        ],
    );
    assert!(!has(
        &check(&board("every = \"100 ms\"", "rate = \"10 /s\"")),
        "rate.not-met"
    ));
}

#[test]
fn published_source_beyond_the_table_of_the_maker() {
    // Table 47 of the STM32F103x8/xB data sheet: 5.9 kΩ for 7.5 cycles of
    // 14 MHz, 11.4 kΩ for 13.5, 25.2 kΩ for 28.5. Here the converter runs
    // with 7 MHz: 7.5 cycles are as long as 15 of the table's, for which
    // straight lines give 11.4 + 1.5/15 · 13.8 = 12.78 kΩ. 20 kΩ need 28.5 of
    // them, 2.04 µs.
    let text = |ohm: &str| {
        board(
            "clock = \"7 MHz\"\nacquisition = \"7.5 cycles\"",
            &format!("chain = [{{ series = \"{ohm} exact\" }}]"),
        )
    };
    let result = check(&text("20 kΩ"));
    let f = only(&result, "converter.source-resistance");
    assert_eq!(f.severity, Severity::Note);
    says(
        f,
        &[
            "has 20.0 kΩ and is acquired for 1.07 µs; the data sheet allows 12.8 kΩ",
            "an acquisition of 2.04 µs or more",
        ],
    );
    assert!(f.figures[0].source.contains("Table"), "{:?}", f.figures);
    assert!(!has(&check(&text("12 kΩ")), "converter.source-resistance"));
}
