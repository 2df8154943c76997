//! Ratings of references, converters and rails: which finding, with which
//! numbers, computed by hand beside each.
#![allow(clippy::unwrap_used, reason = "tests")]

mod support;

use finding::Severity;
use support::{check, ids, only};

/// A controller of the library (minimum of the reference range 2.4 V: its
/// data sheet, Table 46) against a reference of `reference`, on a rail of
/// `rail`.
fn controller(rail: &str, reference: &str) -> String {
    format!(
        r#"
[rails.logic]
voltage = "{rail}"
[references.vref]
voltage = "{reference}"
[controllers.mcu]
part = "stm32f103"
supply = "logic"
[channels.x]
quantity = "voltage"
span = "0 V to 1.9 V"
input = "mcu.adc.3"
reference = "vref"
"#
    )
}

#[test]
fn published_reference_below_the_minimum_of_a_converter() {
    // 2.048 V against at least 2.4 V; with ±0.1 % the nominal value must be
    // 2.4 + 2.048 · 0.1 % = 2.402 V (2.4 V: STM32F103 data sheet, Table 46).
    let result = check(&controller("3.3 V ± 2 %", "2.048 V ± 0.1 %"));
    let f = only(&result, "reference.below-minimum");
    assert_eq!(f.severity, Severity::Fail);
    assert!(
        f.headline
            .contains("the reference is 2.048 V, below the permitted minimum of 2.400 V"),
        "{}",
        f.headline
    );
    assert!(f.remedies[0].contains("2.402 V"), "{:?}", f.remedies);
    assert!(
        f.figures[0].source.contains("Table 46"),
        "{:?}",
        f.figures[0]
    );
    assert!(!result.is_met());
    let good = check(&controller("3.3 V ± 2 %", "2.5 V ± 0.1 %"));
    assert!(
        !ids(&good)
            .iter()
            .any(|(id, _)| id.starts_with("reference.")),
        "{:?}",
        ids(&good)
    );
}

#[test]
fn a_limit_that_only_the_worst_board_breaks_is_said_to_be_so() {
    // 2.41 V ± 1 % goes down to 2.3859 V.
    let result = check(&controller("3.3 V ± 2 %", "2.41 V ± 1 %"));
    let f = only(&result, "reference.below-minimum");
    assert!(
        f.headline.contains("2.386 V") && f.headline.contains("on the worst board"),
        "{}",
        f.headline
    );
}

#[test]
fn the_reference_above_the_supply() {
    // 3.3 V ± 2 % goes down to 3.234 V; 3.25 V + 0.2 % is 3.2565 V: 22.5 mV
    // too much.
    let result = check(&controller("3.3 V ± 2 %", "3.25 V ± 0.2 %"));
    let f = only(&result, "reference.above-supply");
    assert!(
        f.working.iter().any(|w| w.contains("22.50 mV")),
        "{:?}",
        f.working
    );
    assert!(f.remedies[0].contains("3.228 V"), "{:?}", f.remedies);
    // Against its own supply there is nothing to exceed.
    let own =
        controller("3.3 V ± 2 %", "2.5 V").replace("reference = \"vref\"", "reference = \"logic\"");
    assert!(
        check(&own)
            .findings
            .iter()
            .all(|f| f.id != "reference.above-supply")
    );
}

/// A shunt reference of 3.000 V ± 0.5 %, least current 100 µA, converter
/// 100 µA, from 5 V ± 5 % through `series`.
fn shunt(series: &str) -> String {
    format!(
        r#"
[parts.shunt-3v]
kind = "shunt-reference"
[parts.shunt-3v.figures]
voltage = {{ typ = "3 V" }}
initial-accuracy = {{ max = "0.5 %" }}
minimum-current = {{ max = "100 µA" }}
maximum-current = {{ max = "10 mA" }}
[rails.main]
voltage = "5 V ± 5 %"
[references.vref]
part = "shunt-3v"
supply = "main"
series = "{series} exact"
load = "100 µA"
[converters.adc]
supply = "main"
bits = 12
[channels.x]
quantity = "voltage"
span = "0 V to 3 V"
input = "adc"
reference = "vref"
"#
    )
}

#[test]
fn published_shunt_reference_fed_with_no_margin() {
    // A reported circuit, retold: 200 µA at exactly 5 V are just enough; at
    // −5 % (4.75 − 3.015)/10 kΩ − 100 µA = 73.5 µA are left of 100 µA. The
    // resistor must be at most (4.75 − 3.015)/200 µA = 8.675 kΩ; 20 % less is
    // 7.23 kΩ, of E24 6.8 kΩ.
    let result = check(&shunt("10 kΩ"));
    let f = only(&result, "reference.starved");
    assert_eq!(f.severity, Severity::Fail);
    assert!(f.headline.contains("73.50 µA"), "{}", f.headline);
    assert!(f.remedies[0].contains("8.67 kΩ") || f.remedies[0].contains("8.68 kΩ"));
    assert!(f.remedies[1].contains("6.8 kΩ"), "{:?}", f.remedies);
    assert_eq!(
        f.places.first().unwrap().place.line,
        14,
        "the resistor's line"
    );
    // 8.2 kΩ: 111.6 µA, which holds with less than a fifth to spare.
    let thin = check(&shunt("8.2 kΩ"));
    assert_eq!(only(&thin, "reference.starved").severity, Severity::Thin);
    for good in ["6.8 kΩ", "3.3 kΩ"] {
        assert!(
            check(&shunt(good))
                .findings
                .iter()
                .all(|f| f.id != "reference.starved"),
            "{good}"
        );
    }
    // 180 Ω: 2 V/180 Ω − 100 µA = 11.01 mA of 10 mA, and at the worst
    // (5.25 − 2.985)/180 Ω − 100 µA = 12.48 mA.
    let hot = check(&shunt("180 Ω"));
    let f = only(&hot, "reference.overloaded");
    assert!(f.headline.contains("11.01 mA"), "{}", f.headline);
    assert!(f.working[1].contains("12.48 mA"), "{:?}", f.working);
}

#[test]
fn a_rail_below_the_range_of_a_controller() {
    // Operating range 2.0 V to 3.6 V (STM32F103 data sheet, Table 9); a rail
    // of 3.4 V ± 8 % goes up to 3.672 V: the nominal value must be 72 mV less.
    let result = check(&controller("3.4 V ± 8 %", "2.5 V"));
    let f = only(&result, "supply.device-range");
    assert!(f.headline.contains("3.672 V"), "{}", f.headline);
    assert!(f.remedies[0].contains("3.328 V"), "{:?}", f.remedies);
}

#[test]
fn published_one_reference_pin_cannot_carry_two_voltages() {
    // One pin, VREF+: STM32G474xB/xC/xE data sheet, DS12288, Rev 1, Table 69.
    let board = |second: &str| {
        format!(
            r#"
[rails.logic]
voltage = "3.3 V ± 2 %"
[references.vref]
voltage = "2.5 V ± 0.1 %"
[references.other]
voltage = "3.0 V ± 0.1 %"
[controllers.mcu]
part = "stm32g474"
supply = "logic"
[channels.x]
quantity = "voltage"
span = "0.2 V to 1.9 V"
input = "mcu.adc"
reference = "vref"
[channels.y]
quantity = "voltage"
span = "0.2 V to 1.9 V"
input = "mcu.adc"
reference = "{second}"
"#
        )
    };
    let result = check(&board("other"));
    let f = only(&result, "reference.pin-shared");
    assert_eq!(f.severity, Severity::Fail);
    assert!(
        f.headline
            .contains("one reference pin, but 2 voltages: vref, other"),
        "{}",
        f.headline
    );
    // The same voltage, or the supply that the part can choose inside, needs
    // no second pin.
    for good in ["vref", "logic"] {
        assert!(
            !ids(&check(&board(good)))
                .iter()
                .any(|(id, _)| *id == "reference.pin-shared")
        );
    }
}

#[test]
fn published_input_range_follows_the_gain() {
    // AD7798/AD7799 data sheet, Rev. B, Table 1: from 0.1 V above ground at
    // gains 1 and 2 (buffered), from 0.3 V at gains 4 to 128.
    let with = |gain: u8| {
        let result = check(&format!(
            r#"
[rails.logic]
voltage = "3.3 V"
[references.vref]
voltage = "2.5 V"
[references.low]
voltage = "0.15 V"
[converters.adc]
part = "ad7799"
supply = "logic"
[networks.n]
elements = [
  {{ sensor = "x", from = "top", to = "low" }},
  {{ resistor = "10 kΩ", from = "vref", to = "top" }},
]
[channels.x]
quantity = "resistance"
span = "500 Ω to 1 kΩ"
input = {{ at = "adc.adc.1", gain = {gain} }}
reference = "vref"
"#
        ));
        ids(&result)
            .iter()
            .filter(|(id, _)| *id == "converter.input-range")
            .count()
    };
    assert_eq!(with(1), 0);
    assert!(with(4) > 0);
}

/// A channel that measures the rail and one that hangs on it see the same
/// device on the same rail: told once, with the worst numbers, for both.
#[test]
fn a_device_on_a_measured_rail_is_told_once() {
    let result = check(
        r#"
[rails.main]
voltage = "3.3 V ± 15 %"
[references.vref]
voltage = "2.45 V ± 0.1 %"
[controllers.mcu]
part = "stm32f103"
supply = "main"
[channels.battery]
quantity = "voltage"
span = "2.5 V to 4.2 V"
sensor = { rail = "main" }
chain = [{ divider = { top = "10 kΩ 1 %", bottom = "10 kΩ 1 %" } }]
input = "mcu.adc.0"
reference = "vref"
[channels.other]
quantity = "voltage"
span = "0 V to 2 V"
input = "mcu.adc.1"
reference = "vref"
"#,
    );
    // At most 3.6 V (STM32F103 data sheet, Table 9); the battery goes to 4.2 V.
    let f = only(&result, "supply.device-range");
    assert!(f.headline.contains("4.200 V"), "{}", f.headline);
    assert_eq!(f.subjects, ["battery", "other"]);
}

/// The end of the scale and of the permitted inputs is 0 V: half a code below
/// it is nothing, a few millivolts are thin because the pin does not conduct,
/// and what is nominally below is a fault.
#[test]
fn a_range_that_ends_with_the_scale_is_left_by_degrees() {
    let at = |offset: &str| {
        check(&format!(
            r#"
[rails.logic]
voltage = "3.3 V ± 1 %"
[controllers.mcu]
part = "stm32f103"
supply = "logic"
[channels.x]
quantity = "voltage"
span = "0 V to 2 V"
accuracy = "0.2 V"
chain = [{{ voltage-source = "{offset}" }}]
input = "mcu.adc.3"
"#
        ))
    };
    let told = |offset: &str| {
        at(offset)
            .findings
            .iter()
            .find(|f| f.id == "converter.input-range")
            .map(|f| f.severity)
    };
    // A code is 3.3 V/4096 = 0.8 mV.
    assert_eq!(told("0 V ± 0.3 mV"), None);
    assert_eq!(told("0 V ± 20 mV"), Some(Severity::Thin));
    assert_eq!(told("0 V ± 150 mV"), Some(Severity::Fail));
    // Nominally beyond the scale: that says it better.
    let beyond = at("-20 mV ± 1 mV");
    assert_eq!(
        only(&beyond, "reference.span-exceeds").severity,
        Severity::Fail
    );
}

/// A hundredth of the thermal voltage beyond an amplifier's input range is no
/// end of anything; a millivolt is told.
#[test]
fn an_amplifiers_input_range_ends_within_a_hundredth_of_the_thermal_voltage() {
    let told = |volt: &str| {
        check(&format!(
            r#"
[rails.logic]
voltage = "3.3 V ± 1 %"
[channels.x]
quantity = "voltage"
span = "0 V to 2 V"
chain = [{{ voltage-source = "{volt}" }}, {{ buffer = {{ part = "ad8628", supply = "logic" }} }}]
"#
        ))
        .findings
        .iter()
        .any(|f| f.id == "stage.input-range")
    };
    assert!(!told("0 V ± 10 nV"));
    assert!(!told("0 V ± 0.2 mV"));
    assert!(told("0 V ± 1 mV"));
}
