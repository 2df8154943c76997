//! What sampling leaves is told, with the numbers computed by hand.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::disallowed_methods,
    reason = "tests"
)]

mod support;

use finding::Severity;
use support::{check, only};

/// 12 bits of 4.096 V (1 mV a code), 10 pF behind 1 kΩ: 12, 50 or 200 clocks
/// acquire, 13 convert.
fn board(scan: &str, channels: &[(&str, &str, &str)]) -> String {
    let mut text = format!(
        r#"
[rails.main]
voltage = "5 V exact"
[references.vref]
voltage = "4.096 V exact"
supply = "main"
[converters.mcu]
supply = "main"
bits = 12
[converters.mcu.figures]
clock = {{ min = "0.5 MHz", max = "10 MHz" }}
sample-capacitor = {{ min = "10 pF", max = "10 pF" }}
switch-resistance = {{ min = "1 kΩ", max = "1 kΩ" }}
sample-cycles = {{ choices = [12, 50, 200] }}
conversion-cycles = {{ value = 13 }}
{scan}
"#
    );
    for (name, ohm, more) in channels {
        text.push_str(&format!(
            r#"
[channels.{name}]
quantity = "voltage"
span = "0 V to 4 V"
sensor = {{ source-resistance = "{ohm} exact" }}
input = "mcu"
reference = "vref"
{more}
"#
        ));
    }
    text
}

const TEN: &str = "[scan]\nclock = \"10 MHz\"\nevery = \"1 ms\"\n";

#[test]
fn published_unsettled_samples_are_told_with_what_settles_them() {
    // Charging through 20 kΩ + 1 kΩ (any handbook): τ = 21 kΩ·10 pF = 210 ns;
    // 1.2 µs leave exp(−5.714) = 0.33 % of the 4 V to the other channel:
    // 13.2 mV, 13 codes. A quarter of a millivolt is left of 4 V after
    // 210 ns·ln(16000) = 2.03 µs: 50 clocks are enough. A resistance alone
    // may be 1.2 µs/(10 pF·ln(16000)) − 1 kΩ = 11.4 kΩ.
    let scan = format!("{TEN}acquisition = \"12 cycles\"\n");
    let text = board(
        &scan,
        &[("a", "20 kΩ", "accuracy = \"10 mV\""), ("b", "100 Ω", "")],
    );
    let result = check(&text);
    let f = only(&result, "sampling.unsettled");
    assert_eq!((f.severity, f.subjects[0].as_str()), (Severity::Fail, "a"));
    let all = format!("{} {:?} {:?}", f.headline, f.working, f.remedies);
    for said in [
        "13 codes (13 mV)",
        "after 1.20 µs at 20.0 kΩ",
        "a quarter code is 250 µV",
        "`b` over its span moves it by 13 codes",
        "0.3 % of the difference",
        "50 clocks (5.00 µs): 2.03 µs are needed",
        "a source of at most 11 kΩ",
    ] {
        assert!(all.contains(said), "no `{said}` in {all}");
    }
    // The twin acquires long enough.
    let twin = text.replace("12 cycles", "50 cycles");
    assert!(
        check(&twin)
            .findings
            .iter()
            .all(|f| f.id != "sampling.unsettled")
    );
}

#[test]
fn published_floating_pin_follows_the_channel_before() {
    // A pin with 18 pF and nothing that holds it, 4.9 pF in the converter:
    // charge sharing passes 4.9/22.9 = 21 % of the difference on at each
    // visit (a published report of one controller's behaviour measured a
    // slope of 0.2147 from one channel's voltage to the next reading), and a
    // capacitor of 4.9 pF × 4095 = 20 nF would lose less than a code.
    let text = board(
        &format!("{TEN}acquisition = \"50 cycles\"\n"),
        &[
            ("held", "100 Ω", ""),
            (
                "floating",
                "1 GΩ",
                "chain = [{ low-pass = { r = \"1 Ω exact\", c = \"18 pF exact\" } }]",
            ),
        ],
    )
    .replace("\"10 pF\"", "\"4.9 pF\"");
    let f = check(&text);
    let f = only(&f, "sampling.unsettled");
    let all = format!("{} {:?} {:?}", f.headline, f.working, f.remedies);
    for said in [
        "one visit leaves 21 % of the difference",
        "20 nF at the pin lose no more than a code",
        "`held` over its span moves it by",
    ] {
        assert!(all.contains(said), "no `{said}` in {all}");
    }
}

#[test]
fn published_sampling_looks_like_a_resistor() {
    // 4 pF at 250 kS/s look like 1/(f·C) = 1.00 MΩ (a maker's data sheet on
    // external circuits); behind 50 kΩ and a capacitor that averages, emptied
    // before every visit, that is 50/1050 = 4.76 % of the signal: 190 mV of
    // 4 V, 190 codes of a millivolt.
    let text = board(
        "[scan]\nclock = \"10 MHz\"\nevery = \"4 µs\"\nacquisition = \"12 cycles\"\nstart = \"discharged\"\n",
        &[("a", "50 kΩ", "chain = [{ low-pass = { r = \"1 Ω exact\", c = \"10 nF exact\" } }]")],
    )
    .replace("\"10 pF\"", "\"4 pF\"");
    let f = check(&text);
    let f = only(&f, "sampling.unsettled");
    let all = format!("{} {:?} {:?}", f.headline, f.working, f.remedies);
    for said in ["190 codes (190 mV)", "4.0 pF look like 1.00 MΩ"] {
        assert!(all.contains(said), "no `{said}` in {all}");
    }
}

#[test]
fn an_acquisition_nobody_stated_is_told_where_it_matters() {
    // 20 kΩ needs 2.03 µs (as above); the shortest acquisition is 1.2 µs.
    let text = board(TEN, &[("a", "20 kΩ", ""), ("b", "100 Ω", "")]);
    let result = check(&text);
    let f = only(&result, "sampling.assumed");
    assert_eq!(f.severity, Severity::Note);
    let all = format!("{} {:?} {:?}", f.headline, f.working, f.remedies);
    for said in [
        "200 clocks (20.0 µs) is taken",
        "`a` needs 2.03 µs",
        "50 cycles",
    ] {
        assert!(all.contains(said), "no `{said}` in {all}");
    }
    // Sources that settle in the shortest acquisition need no statement.
    let twin = text.replace("20 kΩ", "1 kΩ");
    assert!(
        check(&twin)
            .findings
            .iter()
            .all(|f| f.id != "sampling.assumed")
    );
}

#[test]
fn a_sequence_that_takes_too_long_is_told() {
    // Two channels of (200 + 13)/10 MHz = 21.3 µs: 42.6 µs do not fit 30 µs;
    // (50 + 13)/10 MHz twice is 12.6 µs and does.
    let text = board(
        "[scan]\nclock = \"10 MHz\"\nevery = \"30 µs\"\nacquisition = \"200 cycles\"\n",
        &[("a", "100 Ω", ""), ("b", "100 Ω", "")],
    );
    let f = check(&text);
    let f = only(&f, "scan.overrun");
    assert_eq!(f.severity, Severity::Fail);
    let all = format!("{} {:?} {:?}", f.headline, f.working, f.remedies);
    for said in [
        "takes 42.6 µs",
        "after 30.0 µs",
        "an acquisition of at most 5.00 µs",
        "every 42.6 µs",
    ] {
        assert!(all.contains(said), "no `{said}` in {all}");
    }
    let twin = check(&text.replace("200 cycles", "50 cycles"));
    assert!(twin.findings.iter().all(|f| f.id != "scan.overrun"));
}

#[test]
fn settings_the_part_does_not_have_are_told() {
    let text = board(
        "[scan]\nclock = \"40 MHz\"\nprescaler = 2\nacquisition = \"60 cycles\"\n",
        &[("a", "100 Ω", "")],
    );
    let result = check(&text);
    let found: Vec<String> = result
        .findings
        .iter()
        .filter(|f| f.id == "scan.setting")
        .map(|f| format!("{} {:?} {:?}", f.headline, f.working, f.remedies))
        .collect();
    // 40 MHz over 2 is 20 MHz, a fourth of 40 MHz is 10 MHz.
    assert!(
        found
            .iter()
            .any(|f| f.contains("20.0 MHz") && f.contains("prescaler = 4")),
        "{found:?}"
    );
    assert!(
        found
            .iter()
            .any(|f| f.contains("60 clocks") && f.contains("200 cycles")),
        "{found:?}"
    );
    let twin = check(
        &text
            .replace("prescaler = 2", "prescaler = 4")
            .replace("60 cycles", "50 cycles"),
    );
    assert!(twin.findings.iter().all(|f| f.id != "scan.setting"));
}

#[test]
fn published_averaging_without_noise_gains_nothing() {
    // kT/C of 10 pF is 20 µV, a fiftieth of a code: half a code stays but for
    // three deviations (B. Widrow, I. Kollár, "Quantization Noise", 2008:
    // without noise the bias is the rounding itself). 0.5 codes of noise leave
    // (1/π)·exp(−2π²/4) = 0.23 % of a code.
    let text = board(TEN, &[("a", "100 Ω", "average = 16")]);
    let f = check(&text);
    let f = only(&f, "averaging.no-dither");
    let all = format!("{} {:?} {:?}", f.headline, f.working, f.remedies);
    assert!(
        all.contains("the mean of 16 codes is still up to 0.44 codes (440 µV) off"),
        "{all}"
    );
    let twin = text.replace(
        "conversion-cycles",
        "noise = { typ = \"0.5 LSB\" }\nconversion-cycles",
    );
    assert!(
        check(&twin)
            .findings
            .iter()
            .all(|f| f.id != "averaging.no-dither")
    );
}

#[test]
fn published_noise_hides_a_difference() {
    // 1 code rms of the converter is 1 mV; 6.6 σ are 6.6 mV where 5 mV must
    // be told apart; (6.6/5)² = 1.74: the mean of 2 does. Thermal noise is
    // within the converter's figure.
    let text = board(TEN, &[("a", "100 Ω", "resolution = \"5 mV\"")]).replace(
        "conversion-cycles",
        "noise = { typ = \"1 LSB\" }\nconversion-cycles",
    );
    let f = check(&text);
    let f = only(&f, "resolution.noise");
    assert_eq!(f.severity, Severity::Fail);
    let all = format!("{} {:?} {:?}", f.headline, f.working, f.remedies);
    for said in [
        "scatter over 6.6 mV where 5 mV",
        "9.28 bits",
        "the mean of 2 conversions",
    ] {
        assert!(all.contains(said), "no `{said}` in {all}");
    }
    let twin = check(&text.replace("5 mV\"", "5 mV\"\naverage = 2"));
    assert!(twin.findings.iter().all(|f| f.id != "resolution.noise"));
}
