//! How the signal lies on the converter's scale.
#![allow(clippy::unwrap_used, reason = "tests")]

mod support;

use finding::Severity;
use support::{check, ids, only};

fn divided(span: &str, bottom: &str) -> String {
    format!(
        r#"
[rails.logic]
voltage = "3.3 V ± 1 %"
[references.vref]
voltage = "2.5 V ± 0.1 %"
[converters.adc]
supply = "logic"
bits = 12
[channels.x]
quantity = "voltage"
span = "{span}"
accuracy = "0.5 V"
chain = [{{ divider = {{ top = "47 kΩ 0.1 %", bottom = "{bottom}" }} }}]
input = "adc"
reference = "vref"
"#
    )
}

#[test]
fn the_span_exceeds_the_reference_from_a_value_on() {
    // 10 k under 47 k: 2.5 V are reached at 2.5 · 57/10 = 14.25 V; 20 V would
    // be 3.509 V. For 95 % of 2.5 V at 20 V the lower resistor must be
    // 47 k · 2.375/(20 − 2.375) = 6.333 kΩ, of E96 6.19 kΩ (6.34 k is more);
    // the upper one 10 k · (20/2.375 − 1) = 74.21 kΩ, of E96 75 kΩ.
    let result = check(&divided("0 V to 20 V", "10 kΩ 0.1 %"));
    let f = only(&result, "reference.span-exceeds");
    assert_eq!(f.severity, Severity::Fail);
    assert!(
        f.headline.contains("20 V gives 3.509 V")
            && f.headline.contains("ends at 2.500 V")
            && f.headline.contains("stop at 14.25 V"),
        "{}",
        f.headline
    );
    let all = f.remedies.join("\n");
    assert!(all.contains("bottom: 6.19 kΩ instead of 10 kΩ"), "{all}");
    assert!(all.contains("top: 75 kΩ instead of 47 kΩ"), "{all}");
    assert!(all.contains("a span of 0 V to 14.25 V"), "{all}");
    let repaired = check(&divided("0 V to 20 V", "6.19 kΩ 0.1 %"));
    assert!(
        !ids(&repaired)
            .iter()
            .any(|(id, _)| *id == "reference.span-exceeds")
    );
}

#[test]
fn few_codes_are_noted_where_a_code_matters() {
    // 0 to 1 V over 5.7 is 0.1754 V of 2.5 V: 7 %, 287 codes of 3.48 mV.
    let coarse = divided("0 V to 1 V", "10 kΩ 0.1 %").replace("\"0.5 V\"", "\"30 mV\"");
    let result = check(&coarse);
    let f = only(&result, "reference.few-codes");
    assert_eq!(f.severity, Severity::Note);
    assert!(
        f.headline.contains("7 % of 4096 codes") && f.headline.contains("3.5 mV"),
        "{}",
        f.headline
    );
    // 0.9/0.0702 = 12.8.
    assert!(
        f.remedies.iter().any(|r| r.contains("gain of 13")),
        "{:?}",
        f.remedies
    );
    let signal = result.channels[0].signal.unwrap();
    assert!((signal.codes_used - 4096.0 / 5.7 / 2.5).abs() < 1e-6);
    assert!((signal.code_width_high - 2.5 * 5.7 / 4096.0).abs() < 1e-9);
    // Where a code is a small part of the limit, nothing is said.
    let fine = check(&divided("0 V to 1 V", "10 kΩ 0.1 %"));
    assert!(fine.findings.iter().all(|f| f.id != "reference.few-codes"));
}
