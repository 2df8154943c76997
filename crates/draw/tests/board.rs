//! The sheet of a whole board.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

mod support;

use report::{
    Channel, Check, Counts, Finding, MonteCarlo, Need, Propagation, Severity, Signal, Verdict,
    WorstCase,
};
use support::{looked_at, snapshot};

fn channel(name: &str, verdict: Verdict, limit: f64, reach: f64) -> Channel {
    Channel {
        name: name.to_owned(),
        quantity: "temperature".to_owned(),
        verdict,
        unit: "°C".to_owned(),
        error_unit: "K".to_owned(),
        span: (-5.0, 35.0),
        need: Some(Need {
            text: format!("{limit} °C"),
            unit: "°C".to_owned(),
            limit,
        }),
        worst_case: Some(WorstCase {
            magnitude: 1.6 * reach,
            low: -1.6 * reach,
            high: 1.5 * reach,
            bound: true,
            at: Vec::new(),
        }),
        propagation: Some(Propagation {
            half_width: 1.1 * reach,
            bias: 0.0,
            u: 0.55 * reach,
            k: 2.0,
            dof: None,
            valid: Some(true),
        }),
        monte_carlo: Some(MonteCarlo {
            half_width: reach,
            tolerance: 0.01 * reach,
            interval: (-reach, reach),
            trials: 100_000,
            met: None,
        }),
        worst_at: Vec::new(),
        boards: None,
        margin: Some(1.0 - reach / limit),
        decides: "calibration standard (51 %) decides".to_owned(),
        contributors: Vec::new(),
        unpublished: None,
        signal: Some(Signal {
            scale_low: 0.0,
            scale_high: 2.5,
            at_low: 2.1,
            at_high: 2.8,
            codes: 4096.0,
            codes_used: 655.0,
            code_width_low: 0.0041,
            code_width_high: 0.0039,
        }),
        doubts: Vec::new(),
        held_by: Vec::new(),
        reason: String::new(),
    }
}

fn check(channels: Vec<Channel>) -> Check {
    Check {
        version: report::VERSION,
        board: "Press house, cellar rack".to_owned(),
        conditions: vec!["2 to 38 °C".to_owned()],
        probability: 0.9973,
        counts: Counts::of(channels.iter().map(|c| c.verdict)),
        channels,
        links: Vec::new(),
        rails: Vec::new(),
        findings: vec![Finding {
            id: "reference.span-exceeds".to_owned(),
            severity: Severity::Fail,
            subjects: vec!["tank-1".to_owned()],
            headline: "35 °C gives 2.8 V, the scale ends at 2.5 V".to_owned(),
            places: Vec::new(),
            figures: Vec::new(),
            working: Vec::new(),
            remedies: Vec::new(),
        }],
        scenarios: Vec::new(),
    }
}

#[test]
fn snapshot_board_with_every_verdict() {
    let svg = draw::board(&check(vec![
        channel("tank-1", Verdict::Fails, 0.3, 0.4),
        channel("tank-2", Verdict::Thin, 0.3, 0.28),
        channel("tank-3", Verdict::Meets, 0.3, 0.1),
        Channel {
            verdict: Verdict::Unmodelled,
            need: None,
            worst_case: None,
            propagation: None,
            monte_carlo: None,
            signal: None,
            reason: "its sensor has no equations".to_owned(),
            decides: String::new(),
            ..channel("tank-4", Verdict::Unmodelled, 1.0, 1.0)
        },
    ]))
    .svg();
    looked_at(&svg);
    snapshot("board.svg", &svg);
}

#[test]
fn an_error_beyond_its_fence_and_a_span_beyond_its_scale_are_marked() {
    let of = |c| draw::board(&check(vec![c])).svg();
    let fails = of(channel("a", Verdict::Fails, 0.3, 0.4));
    assert!(fails.contains("s-fails") && fails.contains("beyond the scale"));
    let mut good = channel("a", Verdict::Meets, 0.3, 0.1);
    good.signal.as_mut().unwrap().at_high = 2.4;
    let good = of(good);
    let drawn = good.split("</defs>").nth(1).unwrap();
    assert!(!drawn.contains("beyond the scale"));
    assert_eq!(drawn.matches("s-fails").count(), 0, "no bar is red");
}

#[test]
fn hostile_names_and_numbers_draw() {
    let mut c = channel("<script>&\"'", Verdict::Undecided, f64::NAN, f64::INFINITY);
    c.signal.as_mut().unwrap().at_low = f64::NAN;
    let svg = draw::board(&check(vec![c])).svg();
    assert!(!svg.contains("<script"));
    assert!(!svg.contains("NaN\"") && !svg.contains("inf\""));
}
