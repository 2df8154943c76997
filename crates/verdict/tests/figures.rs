//! What a verdict rests on: typical values, figures without a document,
//! resolution, ranges, self-heating; each number by hand beside it.
#![allow(clippy::unwrap_used, reason = "tests")]

mod support;

use finding::Severity;
use report::Verdict;
use support::{check, ids, only};

/// A 12-bit converter at exactly 4.096 V: 1 mV a code. `figures` belong to
/// the converter.
fn board(figures: &str, accuracy: &str, more: &str) -> String {
    format!(
        r#"
{more}
[rails.ref]
voltage = "4.096 V ± 0 %"
[converters.adc]
supply = "ref"
bits = 12
figures = {{ {figures} }}
[channels.x]
quantity = "voltage"
span = "0 V to 4 V"
accuracy = "{accuracy}"
input = "adc"
"#
    )
}

const DOCUMENT: &str = "basis = \"published\", document = \"data sheet X\"";

#[test]
fn a_typical_value_that_decides_makes_a_channel_thin() {
    // Offset 2 mV typical, normal with u = 2 mV: the half-width at 99.73 % is
    // 3 · √(2² + (0.5/√3)²) mV = 6.06 mV; three times as large 18.0 mV.
    let text = board(
        &format!("offset-error = {{ typ = \"2 mV\", {DOCUMENT} }}"),
        "10 mV",
        "",
    );
    let result = check(&text);
    let f = only(&result, "figure.typical-only");
    assert_eq!(f.severity, Severity::Thin);
    assert_eq!(result.channels[0].verdict, Verdict::Thin);
    assert_eq!(result.channels[0].held_by, ["figure.typical-only"]);
    assert!(f.headline.contains("converter, offset"), "{}", f.headline);
    assert!(
        f.working[0].contains("±17.") || f.working[0].contains("±18."),
        "{:?}",
        f.working
    );
    assert!(
        f.figures[0].source.contains("data sheet X"),
        "{:?}",
        f.figures
    );
    // Within 10 mV it may be 10/6.06 times as large: about 3.3 mV.
    assert!(f.remedies[0].contains("3.3 mV"), "{:?}", f.remedies);
    // With a limit instead nothing is said.
    let bounded = board(
        &format!("offset-error = {{ max = \"2 mV\", {DOCUMENT} }}"),
        "10 mV",
        "",
    );
    assert_eq!(ids(&check(&bounded)), []);
}

#[test]
fn small_weak_figures_are_only_summed_up() {
    // Two typical millivolts against an offset of ±20 mV that is documented:
    // 4/(4 + 133) = 2.9 % of the variance, and no flip at 60 mV.
    let text = board(
        &format!(
            "offset-error = {{ max = \"20 mV\", {DOCUMENT} }}, gain-error = {{ typ = \"0.5 LSB\", basis = \"from-memory\" }}"
        ),
        "60 mV",
        "",
    );
    let result = check(&text);
    assert_eq!(ids(&result), []);
    let rests = result.channels[0].unpublished.as_ref().unwrap();
    assert!(rests.share > 0.0 && rests.share < 0.05, "{rests:?}");
    assert_eq!(rests.figures[0].0, "converter, gain");
    // The share is settable.
    let strict = check(&text.replace(
        "[rails.ref]",
        "[judging]\nfigure-share = 0.001\n[rails.ref]",
    ));
    assert!(
        strict.findings.iter().any(|f| f.id == "figure.unsourced"),
        "{:?} {rests:?}",
        ids(&strict)
    );
}

#[test]
fn figures_without_a_document_make_a_channel_thin() {
    let text = board(
        "offset-error = { max = \"2 mV\", basis = \"common-practice\" }",
        "10 mV",
        "",
    );
    let result = check(&text);
    let f = only(&result, "figure.unsourced");
    assert_eq!(f.severity, Severity::Thin);
    assert!(f.figures[0].source.contains("common practice"));
}

#[test]
fn a_resolution_that_the_codes_are_too_wide_for() {
    // 1 mV a code where 0.25 mV must be told apart: 4 times too wide, the
    // scale has no room, 2 more bits.
    let text = board("", "10 mV", "").replace("input =", "resolution = \"0.25 mV\"\ninput =");
    let result = check(&text);
    let f = only(&result, "resolution.not-met");
    assert_eq!(f.severity, Severity::Fail);
    assert!(
        f.headline.contains("1.0 mV") && f.headline.contains("250 µV"),
        "{}",
        f.headline
    );
    assert!(f.remedies[0].contains("2 more bits"), "{:?}", f.remedies);
    assert!(f.remedies[1].contains("16 readings"), "{:?}", f.remedies);
    let fine = board("", "10 mV", "").replace("input =", "resolution = \"2 mV\"\ninput =");
    assert_eq!(ids(&check(&fine)), []);
}

#[test]
fn published_span_beyond_the_platinum_function() {
    // IEC 60751 defines the function from −200 °C to 850 °C.
    let text = r#"
[rails.ref]
voltage = "2.5 V ± 0 %"
[converters.adc]
supply = "ref"
bits = 24
[channels.kiln]
quantity = "temperature"
span = "0 °C to 900 °C"
sensor = { law = "platinum", figures = { nominal-resistance = { typ = "100 Ω" } } }
chain = [{ pull-up = "10 kΩ ± 0 %", to = "ref" }]
input = "adc"
"#;
    let result = check(text);
    let f = only(&result, "sensor.outside-law-range");
    assert!(
        f.headline.contains("900 °C") && f.headline.contains("850 °C"),
        "{}",
        f.headline
    );
    assert!(
        f.remedies[1].contains("0 °C to 850 °C") || f.remedies[1].contains("850"),
        "{:?}",
        f.remedies
    );
}

#[test]
fn self_heating_with_the_current_that_would_keep_its_limit() {
    // At 10 °C, warmed by 1 K, 104.3 Ω fed from 2.5 V through 400 Ω: 4.957 mA,
    // 2.563 mW, with 400 K/W 1.025 K. The limit is a quarter of 1 K, so the
    // current may be √(0.25/1.025) = 0.494 of that: 2.45 mA.
    let text = r#"
[conditions]
ambient = "25 °C"
[rails.ref]
voltage = "2.5 V ± 0 %"
[converters.adc]
supply = "ref"
bits = 24
[channels.t]
quantity = "temperature"
span = "0 °C to 10 °C"
accuracy = "1 °C"
sensor = { law = "platinum", figures = { nominal-resistance = { typ = "100 Ω" }, self-heating = { min = "400 K/W", max = "400 K/W" } } }
chain = [{ pull-up = "400 Ω ± 0 %", to = "ref" }]
input = "adc"
"#;
    let result = check(text);
    let f = only(&result, "sensor.self-heating");
    assert!(f.headline.contains("1.025 K"), "{}", f.headline);
    assert!(f.remedies[0].contains("2.45 mA"), "{:?}", f.remedies);
    // With a pull-up of 1 kΩ: 2.27 mA.
    let result = check(&text.replace("400 Ω ± 0 %", "1 kΩ ± 0 %"));
    assert!(
        !ids(&result)
            .iter()
            .any(|(id, _)| *id == "sensor.self-heating")
    );
    // Or where the board allows it to take more.
    let allowed = text
        .replace("accuracy = \"1 °C\"", "accuracy = \"1.2 °C\"")
        .replace("[rails.ref]", "[judging]\nself-heating = 0.9\n[rails.ref]");
    assert!(
        !ids(&check(&allowed))
            .iter()
            .any(|(id, _)| *id == "sensor.self-heating")
    );
}
