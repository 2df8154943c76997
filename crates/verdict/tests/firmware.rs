//! The firmware's conversion over every code; each number by hand beside it.
#![allow(clippy::unwrap_used, reason = "tests")]

mod support;

use finding::Severity;
use support::{check, ids, only};

/// 12 bits at exactly 4.096 V, so that a code is 1 mV.
fn board(conversion: &str) -> String {
    format!(
        r#"
[rails.ref]
voltage = "4.096 V ± 0 %"
[converters.adc]
supply = "ref"
bits = 12
[channels.x]
quantity = "voltage"
span = "0 V to 4 V"
accuracy = "20 mV"
input = "adc"
conversion = {{ {conversion} }}
"#
    )
}

#[test]
fn a_product_that_sixteen_bits_do_not_hold() {
    // code · 20 leaves 16 bits from code 3277 on (65540); there 65540 − 65536
    // = 4, and 4/20000 cut off in f64 steps is 0.0002 V instead of 3.277 V.
    let text = board(
        "steps = [{ let = \"a\", type = \"u16\", formula = \"code * 20\" }, { let = \"v\", formula = \"(a + 10) / 20000\" }]",
    );
    let result = check(&text);
    let f = only(&result, "firmware.overflow");
    assert_eq!(f.severity, Severity::Fail);
    assert!(
        f.headline.contains("from code 3277 on (3.27"),
        "{}",
        f.headline
    );
    // 4001 − 3277 codes of the span are wrong, each by 65536/20000 V.
    assert!(
        f.working[0].starts_with("724 of 4001 codes"),
        "{:?}",
        f.working
    );
    assert!(f.working[0].contains("3.277 V"), "{:?}", f.working);
    assert!(f.remedies[0].starts_with("32 bits"), "{:?}", f.remedies);
    let wide = check(&text.replace("u16", "u32"));
    assert_eq!(ids(&wide), []);
}

#[test]
fn a_division_before_the_multiplication() {
    // code / 100 · 100 loses up to 99 mV: code 3999 reads 3.9 V.
    let text = board(
        "steps = [{ let = \"mv\", type = \"u32\", formula = \"code / 100 * 100\" }, { let = \"v\", formula = \"mv / 1000\" }]",
    );
    let result = check(&text);
    let f = only(&result, "firmware.truncation");
    assert_eq!(f.severity, Severity::Fail);
    assert!(
        f.headline.contains("cut off up to 99.0 mV"),
        "{}",
        f.headline
    );
    assert!(
        f.working[0].contains("4001 codes give 41 different readings"),
        "{:?}",
        f.working
    );
    assert!(f.working[0].contains("49.5 mV too low"), "{:?}", f.working);
}

#[test]
fn a_formula_for_another_reference_fits_a_reference_that_is_named() {
    // 5 V in the formula, 4.096 V fitted: 1.2207 times.
    let result = check(&board("formula = \"(code + 0.5) * 5 / 4096\""));
    let f = only(&result, "firmware.conversion-differs");
    assert!(f.headline.contains("1.221 times"), "{}", f.headline);
    assert!(
        f.remedies[0].contains("5.000 V instead of 4.096 V"),
        "{:?}",
        f.remedies
    );
    // (5/4.096 − 1) · 4096 = 904 codes.
    assert!(
        f.working.iter().any(|l| l.contains("904 codes")),
        "{:?}",
        f.working
    );
    // An offset is told as one.
    let result = check(&board("formula = \"(code + 0.5) / 1000 + 0.1\""));
    let f = only(&result, "firmware.conversion-differs");
    assert!(
        f.headline.contains("every reading is 100 mV too high"),
        "{}",
        f.headline
    );
}

#[test]
fn a_straight_line_for_a_law_that_is_bent() {
    // 0, 2 and 4 m give 0, 1 and 4 V; the formula takes a metre for each
    // volt: right at both ends, 1 m too low at 2 m. The best line parallel to
    // it leaves half of that.
    let text = r#"
[rails.ref]
voltage = "4.096 V ± 0 %"
[converters.adc]
supply = "ref"
bits = 12
[channels.level]
quantity = "level"
span = "0 m to 4 m"
accuracy = "0.1 m"
sensor = { law = "voltage-table", figures = { points = { points = [["0 m", "0 V"], ["2 m", "1 V"], ["4 m", "4 V"]] } }, options = { curve = "straight" } }
input = "adc"
conversion = { formula = "(code + 0.5) / 1000" }
"#;
    let result = check(text);
    let f = only(&result, "firmware.straight-line");
    assert_eq!(f.severity, Severity::Fail);
    // At 2 m the formula reads 1 m.
    assert!(f.headline.contains("1.00 m too low"), "{}", f.headline);
    assert!(
        f.working.iter().any(|l| l
            .contains("best straight line over the span would leave ±500 mm")
            || l.contains("±0.500 m")),
        "{:?}",
        f.working
    );
    assert!(
        !ids(&result)
            .iter()
            .any(|(id, _)| *id == "firmware.conversion-differs")
    );
}
