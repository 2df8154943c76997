//! The sheet of faults.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

mod support;

use report::{FaultChannel, FaultPin, FaultRow, Faults, Reach, Verdict};
use support::looked_at;

fn row(what: &str, verdict: Verdict, told: &str, damage: &[&str]) -> FaultRow {
    let reach = |low: f64, nominal: f64, high: f64| Reach { low, nominal, high };
    FaultRow {
        kind: "over-voltage".to_owned(),
        what: what.to_owned(),
        pins: vec![FaultPin {
            name: "mcu.adc.3".to_owned(),
            volt: reach(3.8, 3.9, 4.0),
            limit_low_v: -0.3,
            limit_high_v: 3.6,
            margin_v: -0.4,
            into_supply_a: 12e-3,
            from_ground_a: 0.0,
        }],
        hottest: Some(("series".to_owned(), 0.21)),
        into_rails: vec![("logic".to_owned(), 12e-3)],
        code: Some(reach(4095.0, 4095.0, 4095.0)),
        reading: Some(reach(120.0, 120.5, 121.0)),
        told: told.to_owned(),
        how: "the code is at an end of the scale".to_owned(),
        damage: damage.iter().map(|d| (*d).to_owned()).collect(),
        judged: true,
        must_detect: false,
        verdict,
        reason: String::new(),
    }
}

#[test]
fn every_fault_stands_in_the_table_and_nothing_on_anything_else() {
    let faults = Faults {
        version: report::VERSION,
        board: "Press house".to_owned(),
        channels: vec![
            FaultChannel {
                name: "tank-1".to_owned(),
                terminal: "tank-1".to_owned(),
                unit: "°C".to_owned(),
                valid: (-5.5, 35.5),
                valid_by: "the span".to_owned(),
                rows: vec![
                    row("the signal wire is cut", Verdict::Meets, "told", &[]),
                    row(
                        "24 V on the signal wire",
                        Verdict::Fails,
                        "told",
                        &["12.0 mA flow through the diode of mcu.adc.3, which may take 5 mA"],
                    ),
                    row(
                        "the signal wire on that of tank-2",
                        Verdict::Meets,
                        "reads like a value",
                        &[],
                    ),
                ],
                reason: String::new(),
            },
            FaultChannel {
                name: "flow".to_owned(),
                terminal: String::new(),
                unit: "L/min".to_owned(),
                valid: (0.0, 1.0),
                valid_by: "the span".to_owned(),
                rows: Vec::new(),
                reason: "this sensor has no analog signal".to_owned(),
            },
        ],
        findings: Vec::new(),
    };
    let texts = looked_at(&draw::faults(&faults).svg());
    let all = texts.join(" ");
    for part in [
        "Press house: faults",
        "3 faults of 2 channels: 1 fail, 1 read like a value, 2 are told.",
        "24 V on the signal wire",
        "which may take 5 mA",
        "flow: this sensor has no analog signal.",
    ] {
        assert!(all.contains(part), "{part} not in {all}");
    }
}
