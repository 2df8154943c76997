//! A reference that was switched and has not settled, with the numbers
//! computed by hand.
#![allow(clippy::unwrap_used, reason = "tests")]

mod support;

use finding::Severity;
use support::{check, ids, only};

/// 2.5 V of the chip itself after 3.3 V, over 20 kΩ ± 0 and 1 µF: 20 ms.
fn board(wait: &str, accuracy: &str) -> String {
    format!(
        r#"
[rails.logic]
voltage = "3.3 V exact"
[converters.mcu]
supply = "logic"
bits = 12
[[converters.mcu.references]]
name = "internal"
figures.voltage = "2.5 V exact"
figures.pin-resistance = "20 kΩ"
[channels.tank]
quantity = "voltage"
span = "0 V to 2 V"
{accuracy}
input = "mcu"
reference = "mcu.internal"
[scan.mcu]
reference-capacitor = "1 µF exact"
reference-from = "logic"
{wait}
"#
    )
}

#[test]
fn what_is_left_is_told_with_the_wait_that_is_needed() {
    // 0.8/2.5 · exp(−100 ms/20 ms) = 0.2156 % of the reference: 2 V reads
    // 4.30 mV low; 8.83 codes of 4096. Half a code is left after
    // 20 ms · ln(0.8/(2.5/8192)) = 157.4 ms, a quarter after 171.3 ms; with
    // the wait there is, the capacitor may be 100/157.4 of 1 µF = 635 nF.
    let result = check(&board("reference-wait = \"100 ms\"", "accuracy = \"2 mV\""));
    let f = only(&result, "reference.not-settled");
    assert_eq!(f.severity, Severity::Fail);
    let all = format!("{} {:?} {:?}", f.headline, f.working, f.remedies);
    // The reading itself has it: 4.30 mV low at the top, besides one code's
    // rounding (0.61 mV) either way.
    let worst = result.channels[0].worst_case.as_ref().unwrap();
    assert!(
        (worst.low + 4.30e-3).abs() < 0.7e-3 && worst.high < 0.7e-3,
        "{worst:?}"
    );
    for said in [
        "100 ms after it is switched from 3.30 V",
        "still 0.22 % too high",
        "20.0 ms",
        "8.83 codes of the full scale",
        "read as code 3270 instead of 3277",
        "half a code is left after 157 ms, a quarter after 171 ms",
        "reads 1.996 V (4.30 mV too low)",
        "a capacitor of at most 635 nF",
    ] {
        assert!(all.contains(said), "no `{said}` in {all}");
    }
}

#[test]
fn within_the_accuracy_it_is_a_note_and_settled_it_is_nothing() {
    let result = check(&board(
        "reference-wait = \"100 ms\"",
        "accuracy = \"50 mV\"",
    ));
    assert_eq!(
        only(&result, "reference.not-settled").severity,
        Severity::Note
    );
    let settled = check(&board("reference-wait = \"160 ms\"", "accuracy = \"2 mV\""));
    assert!(
        !ids(&settled)
            .iter()
            .any(|(id, _)| *id == "reference.not-settled"),
        "{:?}",
        ids(&settled)
    );
}

#[test]
fn without_a_wait_it_stands_where_it_stood() {
    // At once: 3.3/2.5 − 1 = 32 % too high, 2 V reads 2/1.32 = 1.515 V.
    let result = check(&board("", ""));
    let f = only(&result, "reference.not-settled");
    assert_eq!(f.severity, Severity::Fail);
    assert!(
        f.headline.contains("as soon as it is switched from 3.30 V")
            && f.headline.contains("32 % too high")
            && f.headline.contains("0.7576 times"),
        "{}",
        f.headline
    );
}

#[test]
fn from_below_codes_are_too_large() {
    // From 0 V: −exp(−100/20) = −0.674 % of the reference.
    let text = board("reference-wait = \"100 ms\"", "accuracy = \"2 mV\"")
        .replace("reference-from = \"logic\"", "reference-from = \"0 V\"");
    let result = check(&text);
    let f = only(&result, "reference.not-settled");
    assert!(f.headline.contains("0.67 % too low"), "{}", f.headline);
}
