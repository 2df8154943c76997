//! Hazards: one finding per board and kind, with its limits.
#![allow(clippy::unwrap_used, reason = "tests")]

mod support;

use finding::Severity;
use support::{check, only};

fn board(conditions: &str, rail: &str, span: &str) -> String {
    format!(
        r#"
[conditions]
{conditions}
[rails.pack]
voltage = "{rail}"
[rails.logic]
voltage = "3.3 V"
[converters.adc]
supply = "logic"
bits = 12
[channels.pack]
quantity = "voltage"
span = "{span}"
chain = [{{ divider = {{ top = "470 kΩ 0.1 %", bottom = "10 kΩ 0.1 %" }} }}]
input = "adc"
"#
    )
}

#[test]
fn published_limits_of_touch_in_dry_and_wet_places() {
    // IEC 62368-1 ES1: 60 V DC; 84 V is 1.4 times as much.
    let result = check(&board("", "72 V", "0 V to 84 V"));
    let f = only(&result, "hazard.voltage");
    assert_eq!(f.severity, Severity::Hazard);
    assert!(f.headline.contains("pack reaches 84 V"), "{}", f.headline);
    assert!(f.headline.contains("60 V DC"), "{}", f.headline);
    assert!(f.working[0].contains("1.40 times"), "{:?}", f.working);
    assert_eq!(
        f.places.len(),
        2,
        "the rail and the channel, in one finding"
    );
    // A hazard does not say that a need is missed.
    assert!(result.is_met());
    // 48 V: nothing in dry places, too much in wet ones (35 V DC, IEC 61010-1).
    let dry = check(&board("", "48 V", "0 V to 50 V"));
    assert!(!dry.findings.iter().any(|f| f.id == "hazard.voltage"));
    let wet = check(&board("wet = true", "48 V", "0 V to 50 V"));
    assert!(only(&wet, "hazard.voltage").headline.contains("35 V DC"));
}

#[test]
fn named_dangers_are_told_once_each_at_their_place() {
    let result = check(&board(
        "dangers = [\"lithium-cells\", \"fermentation-gas\"]",
        "12 V",
        "0 V to 15 V",
    ));
    let hazards: Vec<&str> = result
        .findings
        .iter()
        .take_while(|f| f.severity == Severity::Hazard)
        .map(|f| f.id.as_str())
        .collect();
    assert_eq!(hazards, ["hazard.lithium-cells", "hazard.asphyxiating-gas"]);
    for f in &result.findings[..2] {
        assert_eq!(f.places.len(), 1);
        assert!(f.remedies.iter().any(|r| r.contains("licensed practice")));
    }
}

#[test]
fn a_life_that_depends_on_a_reading_and_an_open_transformer() {
    let text = board("", "12 V", "0 V to 15 V").replace(
        "quantity = \"voltage\"",
        "quantity = \"voltage\"\nlife-safety = true",
    );
    let f = check(&text);
    assert!(only(&f, "hazard.life-safety").headline.contains("no alarm"));
    let text = r#"
[rails.logic]
voltage = "3.3 V"
[converters.adc]
supply = "logic"
bits = 12
[channels.heater]
quantity = "current"
span = "0 A to 20 A"
sensor = { law = "current-transformer", figures = { ratio = { typ = 1000 }, burden = { typ = "100 Ω" } } }
input = "adc"
"#;
    let result = check(text);
    let f = only(&result, "hazard.open-transformer");
    assert!(f.headline.contains("open secondary"), "{}", f.headline);
}
