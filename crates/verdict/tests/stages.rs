//! What stages must hold: which finding, with which numbers, by hand beside
//! each, and the repaired board without it.
#![allow(clippy::unwrap_used, reason = "tests")]

mod support;

use finding::Severity;
use report::{Check, Finding};
use support::{check, only};

/// An amplifier `op` with more figures, one stage, 12 bits at 5 V.
fn amplifier(figures: &str, span: &str, stage: &str) -> Check {
    check(&format!(
        r#"
[parts.op]
kind = "amplifier"
[parts.op.figures]
offset-voltage = {{ max = "0 V" }}
{figures}
[parts.ina]
kind = "instrumentation-amplifier"
[parts.ina.figures]
supply = {{ min = "2 V", max = "12 V" }}
gain-range = {{ min = 1, max = 1000 }}
offset-voltage = {{ max = "0 V" }}
[parts.clamp-diode]
kind = "diode"
[parts.clamp-diode.figures]
forward-voltage = {{ points = [["1 µA", "0.06 V"], ["1.6 mA", "0.23 V"], ["5.5 mA", "0.232 V"]] }}
forward-current = {{ max = "2 mA" }}
[rails.main]
voltage = "5 V ± 0 %"
load = "3 mA"
[converters.adc]
supply = "main"
bits = 12
[channels.x]
quantity = "voltage"
span = "{span}"
chain = [{stage}]
input = "adc"
"#
    ))
}

fn has(result: &Check, id: &str) -> bool {
    result.findings.iter().any(|f| f.id == id)
}

fn text(f: &Finding) -> String {
    format!(
        "{}\n{}\n{}",
        f.headline,
        f.working.join("\n"),
        f.remedies.join("\n")
    )
}

#[test]
fn inputs_that_leave_their_range() {
    // Inputs up to 1.5 V below 5 V: from 3.5 V on, 0.5 V too high at 4 V.
    let headroom = "input-headroom-high = \"1.5 V\"";
    let stage = "{ buffer = \"op\", supply = \"main\" }";
    let result = amplifier(headroom, "0 V to 4 V", stage);
    let f = only(&result, "stage.input-range");
    assert_eq!(f.severity, Severity::Fail);
    assert!(
        f.headline.contains("while the voltage is above 3.5 V"),
        "{}",
        f.headline
    );
    assert!(
        f.remedies[0].contains("lower the common mode by 500 mV"),
        "{:?}",
        f.remedies
    );
    assert!(!has(
        &amplifier(headroom, "0 V to 3.4 V", stage),
        "stage.input-range"
    ));
}

#[test]
fn an_output_that_stops_short_of_its_supply() {
    // Up to 0.2 V below 5 V, gain 2: 2.5 V would need 5 V. The gain may be
    // 4.8/5 of it.
    let figures = "swing-high = { max = \"0.2 V\" }";
    let stage = "{ non-inverting = { part = \"op\", supply = \"main\", feedback = \"10 kΩ ± 0 %\", gain-resistor = \"10 kΩ ± 0 %\" } }";
    let result = amplifier(figures, "0 V to 2.5 V", stage);
    let f = only(&result, "stage.output-range");
    assert!(f.headline.contains("above 2.4 V"), "{}", f.headline);
    assert!(
        text(f).contains("smaller by the factor 0.9600"),
        "{}",
        text(f)
    );
    assert!(text(f).contains("4 % of the span"), "{}", text(f));
    assert!(!has(
        &amplifier(figures, "0 V to 2.3 V", stage),
        "stage.output-range"
    ));
}

#[test]
fn a_gain_beyond_what_the_part_can_be_set_to() {
    let stage = |gain: &str| {
        format!("{{ instrumentation = {{ part = \"ina\", supply = \"main\", gain = {gain} }} }}")
    };
    let result = amplifier("", "0 V to 2 mV", &stage("2000"));
    let f = only(&result, "stage.gain-range");
    assert!(
        f.headline.contains("2.000 k") || f.headline.contains("2000"),
        "{}",
        f.headline
    );
    assert!(f.remedies[0].contains("the rest, 2.00"), "{:?}", f.remedies);
    assert!(!has(
        &amplifier("", "0 V to 2 mV", &stage("1000")),
        "stage.gain-range"
    ));
}

#[test]
fn an_output_loaded_beyond_what_its_swing_is_stated_for() {
    // Stated at 10 kΩ across 5 V, which is 0.5 mA; 1 kΩ at 4 V takes 4 mA.
    let figures = "swing-high = { max = \"0.1 V\" }\nswing-load = \"10 kΩ\"";
    let stage =
        |ohm: &str| format!("{{ buffer = \"op\", supply = \"main\", load = \"{ohm} ± 0 %\" }}");
    let result = amplifier(figures, "0 V to 4 V", &stage("1 kΩ"));
    let f = only(&result, "stage.load");
    assert_eq!(f.severity, Severity::Thin);
    assert!(
        f.headline.contains("4.000 mA") && f.headline.contains("500.0 µA"),
        "{}",
        f.headline
    );
    assert!(f.remedies[0].contains("factor 8.00"), "{:?}", f.remedies);
    assert!(!has(
        &amplifier(figures, "0 V to 4 V", &stage("10 kΩ")),
        "stage.load"
    ));
}

#[test]
fn a_cable_that_is_more_capacitance_than_an_output_bears() {
    // 10 m of 100 pF/m, half of it lumped at the output: 500 pF where 100 pF
    // are borne (the whole of it hangs there through a few ohms).
    let figures = "load-capacitance = \"100 pF\"";
    let stage = |metres: &str| {
        format!(
            "{{ buffer = \"op\", supply = \"main\" }}, {{ cable = {{ length = \"{metres}\", resistance = \"84 mΩ/m\", capacitance = \"100 pF/m\" }} }}"
        )
    };
    let result = amplifier(figures, "0 V to 4 V", &stage("10 m"));
    let f = only(&result, "stage.capacitive-load");
    assert_eq!(f.severity, Severity::Thin);
    assert!(f.headline.contains("100.0 pF"), "{}", f.headline);
    assert!(!has(
        &amplifier(figures, "0 V to 4 V", &stage("0.5 m")),
        "stage.capacitive-load"
    ));
}

#[test]
fn a_burden_that_is_overloaded() {
    // 20 mA through 100 Ω: 40 mW in a resistor for 25 mW.
    let text = |watt: &str| {
        format!(
            r#"
[rails.main]
voltage = "2.5 V ± 0 %"
[converters.adc]
supply = "main"
bits = 12
[channels.x]
quantity = "current"
span = "0 mA to 20 mA"
chain = [{{ burden = "100 Ω ± 0 %", power = "{watt}" }}]
input = "adc"
"#
        )
    };
    let result = check(&text("25 mW"));
    let f = only(&result, "stage.rating");
    assert_eq!(f.severity, Severity::Fail);
    assert!(f.headline.contains("40.00 mW"), "{}", f.headline);
    assert!(
        f.headline.contains("above 15.81 mA"),
        "√(25 mW/100 Ω): {}",
        f.headline
    );
    // 45 mW is enough, but leaves less than a fifth.
    let thin = check(&text("45 mW"));
    assert_eq!(only(&thin, "stage.rating").severity, Severity::Thin);
    assert!(!has(&check(&text("125 mW")), "stage.rating"));
}

#[test]
fn a_clamp_that_carries_too_much_and_lifts_its_rail() {
    // 9 V through 1 kΩ into 5 V and 0.23 V: 3.77 mA; the diode is for 2 mA,
    // the rail's loads take 3 mA.
    let stage = |ohm: &str| {
        format!(
            "{{ series = \"{ohm} ± 0 %\" }}, {{ clamp = {{ high = \"clamp-diode\", to = \"main\" }} }}"
        )
    };
    let result = amplifier("", "0 V to 9 V", &stage("1 kΩ"));
    let f = only(&result, "stage.rating");
    assert!(
        f.headline.contains("3.76") || f.headline.contains("3.77"),
        "{}",
        f.headline
    );
    let f = only(&result, "clamp.into-rail");
    assert!(
        text(f).contains("768.6 µA") && text(f).contains("takes 792 µA more"),
        "{}",
        text(f)
    );
    // Where it conducts the scale has ended: the clamp itself costs nothing.
    assert!(!has(&result, "clamp.conducts"));
    let mended = amplifier("", "0 V to 9 V", &stage("10 kΩ"));
    assert!(!has(&mended, "stage.rating") && !has(&mended, "clamp.into-rail"));
}

#[test]
fn a_soft_knee_far_below_its_rating() {
    // The generic 3.3 V Zener passes 100 µA at 2.2 V (common practice, library
    // curve): behind 10 kΩ a source of 3.2 V reads 2.2 V.
    let stage = "{ series = \"10 kΩ ± 0 %\" }, { clamp = { zener = \"zener-3v3\" } }";
    let result = amplifier("", "0 V to 3.2 V", stage);
    let f = only(&result, "clamp.conducts");
    assert_eq!(f.severity, Severity::Fail);
    assert!(
        f.headline.contains("3.2 V reads 2.2 V (1.00 V too low)"),
        "{}",
        f.headline
    );
    assert!(f.headline.contains("conducts above"), "{}", f.headline);
}

#[test]
fn pulses_counted_longer_than_the_rate_allows() {
    let text = r#"
[channels.glycol]
quantity = "flow"
span = "2 L/min to 20 L/min"
rate = "2 /s"
gate = "5 s"
sensor = "pulse-flow-meter"
clock-tolerance = "50 ppm"
"#;
    let result = check(text);
    let f = only(&result, "rate.not-met");
    assert!(
        f.headline
            .contains("at most 0.200 readings a second, 2 are asked"),
        "{}",
        f.headline
    );
    assert!(f.remedies[0].contains("500 ms"), "{:?}", f.remedies);
    assert!(!has(&check(&text.replace("5 s", "0.5 s")), "rate.not-met"));
}

#[test]
fn inner_nodes_of_an_instrumentation_amplifier() {
    // A load cell of 2 mV/V at 20 kg on 5 V stands about 2.5 V; with a gain of
    // 200, all of it in the first stage, the inner nodes stand at 2.5 V ±
    // 100·Vd and may reach 3.5 V: 10 mV, 20 kg; 25 kg is too much.
    let text = |first: &str| {
        format!(
            r#"
[parts.ina]
kind = "instrumentation-amplifier"
[parts.ina.figures]
supply = {{ min = "2 V", max = "30 V" }}
offset-voltage = {{ max = "0 V" }}
first-stage-gain = 1
inner-headroom-high = "1.5 V"
swing-high = {{ max = "0.1 V" }}
[rails.main]
voltage = "5 V ± 0 %"
[converters.adc]
supply = "main"
bits = 12
[channels.scale]
quantity = "mass"
span = "0 kg to 25 kg"
sensor = {{ law = "bridge", supply = "main", figures = {{ sensitivity = {{ typ = "2 mV/V" }}, rated = {{ typ = "20 kg" }}, resistance = {{ typ = "350 Ω" }} }} }}
chain = [{{ instrumentation = {{ part = "ina", supply = "main", gain = 200{first} }} }}]
input = "adc"
"#
        )
    };
    let result = check(&text(""));
    let f = only(&result, "stage.inner-range");
    assert!(
        f.headline.contains("3.750 V") && f.headline.contains("above 20 kg"),
        "{}",
        f.headline
    );
    assert!(!has(
        &check(&text(", first-stage-gain = 10")),
        "stage.inner-range"
    ));
}

#[test]
fn values_without_a_tolerance_are_named_once() {
    let text = |tolerance: &str| {
        format!(
            r#"
[rails.main]
voltage = "5 V ± 1 %"
[references.vref]
voltage = "2.5 V{tolerance}"
[converters.adc]
supply = "main"
bits = 12
[channels.x]
quantity = "voltage"
span = "0 V to 4 V"
chain = [{{ divider = {{ top = "10 kΩ ± 1 %", bottom = "10 kΩ ± 1 %" }} }}]
input = "adc"
reference = "vref"
"#
        )
    };
    let result = check(&text(""));
    let f = only(&result, "figure.assumed-exact");
    assert_eq!(f.severity, Severity::Note);
    assert!(f.headline.contains("vref 2.5 V"), "{}", f.headline);
    assert!(!has(&check(&text(" ± 0 %")), "figure.assumed-exact"));
}

#[test]
fn a_cause_does_not_hide_a_spread_of_its_own() {
    // The output stops 0.1 V above ground, and the rail that is the reference
    // spreads by 2 %: 60 mV at 3 V, where 20 mV are asked. Mending the one
    // leaves the other, so both are told.
    let text = |rail: &str| {
        format!(
            r#"
[parts.op]
kind = "amplifier"
[parts.op.figures]
offset-voltage = {{ max = "0 V" }}
swing-low = {{ max = "0.1 V" }}
[rails.main]
voltage = "5 V ± 0 %"
[rails.logic]
voltage = "3.3 V ± {rail}"
[converters.adc]
supply = "logic"
bits = 12
[channels.x]
quantity = "voltage"
span = "0 V to 3 V"
accuracy = "20 mV"
chain = [{{ buffer = "op", supply = "main" }}]
input = "adc"
"#
        )
    };
    let result = check(&text("2 %"));
    assert!(has(&result, "stage.output-range") && has(&result, "accuracy.not-met"));
    // The end of the span that cannot be seen has no code width; the width
    // where the stage works is the one shown.
    let width = result.channels[0].signal.unwrap().code_width_low;
    assert!((width - 3.3 / 4096.0).abs() < 1e-6, "{width}");
    // With a reference that does not spread only the floor is left to tell.
    let result = check(&text("0 %"));
    assert!(has(&result, "stage.output-range") && !has(&result, "accuracy.not-met"));
}
