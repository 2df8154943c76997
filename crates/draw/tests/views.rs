//! Each result type has its sheet.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

mod support;

use report::{
    ChannelNoise, ChannelResponse, Condition, ConverterSchedule, Course, HeatResult, Judged,
    LoadLine, NamedFrequency, Noise, NoiseContributor, NoiseTotal, RailResult, Rails, Response,
    ResponsePoint, Schedule, SettlingError, SettlingTime, SpectrumPoint, StepPoint, Trace, Turn,
    Verdict,
};
use support::{looked_at, snapshot};

const BOARD: &str = "Press house, cellar rack";

fn at() -> Vec<Condition> {
    vec![Condition {
        name: "temperature".to_owned(),
        value: 20.0,
        unit: "°C".to_owned(),
    }]
}

/// Frequencies from 0.1 Hz to 1 MHz.
fn frequencies() -> impl Iterator<Item = f64> {
    (-10..=60).map(|i| elementary::pow(10.0, f64::from(i) / 10.0))
}

/// A resistor and a capacitor of this time constant.
fn low_pass(name: &str, tau: f64) -> ChannelResponse {
    let turn = |hz: f64| 2.0 * std::f64::consts::PI * hz * tau;
    let db = |hz: f64| -10.0 * elementary::log10(1.0 + turn(hz) * turn(hz));
    let degrees = |hz: f64| -elementary::atan(turn(hz)).to_degrees();
    ChannelResponse {
        name: name.to_owned(),
        quantity: "temperature".to_owned(),
        at: at(),
        stimulus: "the sensor's voltage".to_owned(),
        gain: 1.0,
        gain_unit: "V/V".to_owned(),
        corner_hz: Some(1.0 / turn(1.0)),
        points: frequencies()
            .map(|hz| ResponsePoint {
                hz,
                db: db(hz),
                degrees: degrees(hz),
            })
            .collect(),
        named: (1..=3)
            .map(|n| {
                let hz = 50.0 * f64::from(n);
                NamedFrequency {
                    name: if n == 1 {
                        "mains".to_owned()
                    } else {
                        format!("mains × {n}")
                    },
                    hz,
                    attenuation_db: -db(hz),
                    degrees: degrees(hz),
                }
            })
            .collect(),
        step: (0..=100)
            .map(|i| {
                let seconds = tau * f64::from(i) / 10.0;
                StepPoint {
                    seconds,
                    share: 1.0 - elementary::exp(-seconds / tau),
                }
            })
            .collect(),
        settling: [("1 %", 0.01), ("0.1 %", 0.001)]
            .into_iter()
            .map(|(to, share)| SettlingTime {
                to: to.to_owned(),
                share,
                seconds: Some(-tau * elementary::ln(share)),
            })
            .collect(),
        poles: Vec::new(),
        sensor: None,
        reason: String::new(),
    }
}

fn digital(name: &str) -> ChannelResponse {
    ChannelResponse {
        name: name.to_owned(),
        reason: "read over a digital link".to_owned(),
        ..ChannelResponse::default()
    }
}

fn response(channels: Vec<ChannelResponse>) -> Response {
    Response {
        version: report::VERSION,
        board: BOARD.to_owned(),
        channels,
    }
}

#[test]
fn snapshot_response_of_one_channel() {
    let svg = draw::response(&response(vec![low_pass("tank-1", 1e-3)])).svg();
    let texts = looked_at(&svg);
    assert!(texts.iter().any(|t| t == "−3 dB at 159.2 Hz"), "{texts:?}");
    for t in [
        "mains",
        "mains × 2",
        "mains × 3",
        "within 1 %",
        "within 0.1 %",
    ] {
        assert!(texts.iter().any(|x| x == t), "{t}: {texts:?}");
    }
    snapshot("response.svg", &svg);
}

#[test]
fn response_of_many_channels_names_each_and_says_which_have_none() {
    let mut channels: Vec<ChannelResponse> = (0..12)
        .map(|n| low_pass(&format!("tank-{n}"), 1e-6 * elementary::exp2(f64::from(n))))
        .collect();
    channels.push(digital("room-co2"));
    let texts = looked_at(&draw::response(&response(channels)).svg()).join("\n");
    for n in 0..12 {
        assert!(texts.contains(&format!("tank-{n}")), "{texts}");
    }
    assert!(texts.contains("room-co2: read over a digital link."));
}

fn contributor(name: &str, kind: &str, white: f64, corner: f64) -> NoiseContributor {
    let density = |hz: f64| white * (1.0 + corner / hz).sqrt();
    let volt = white * 1e6_f64.sqrt();
    NoiseContributor {
        name: name.to_owned(),
        kind: kind.to_owned(),
        densities: [1.0, 1e3, 1e5].map(density).to_vec(),
        volt,
        codes: volt / 0.8e-3,
        quantity: volt * 120.0,
        reading: volt * 30.0,
        share: 0.25,
        source: "data sheet, Rev 3, Table 7".to_owned(),
        basis: "typical".to_owned(),
        spectrum: frequencies()
            .map(|hz| SpectrumPoint {
                hz,
                density: density(hz),
            })
            .collect(),
    }
}

#[test]
fn snapshot_noise_of_one_channel() {
    let total = NoiseTotal {
        volt: 200e-6,
        codes: 0.25,
        quantity: 0.024,
        effective_bits: 14.0,
        noise_free_bits: 11.3,
    };
    let mut contributors = vec![
        contributor("converter, noise", "converter", 150e-9, 0.0),
        contributor("buffer, voltage noise", "amplifier", 20e-9, 400.0),
        contributor("pull-up", "thermal", 6e-9, 0.0),
    ];
    contributors[0].spectrum.clear();
    contributors
        .extend((0..12).map(|n| contributor(&format!("resistor {n}"), "thermal", 1e-9, 0.0)));
    let svg = draw::noise(&Noise {
        version: report::VERSION,
        board: BOARD.to_owned(),
        channels: vec![ChannelNoise {
            name: "tank-1".to_owned(),
            quantity: "temperature".to_owned(),
            error_unit: "K".to_owned(),
            at: at(),
            densities_hz: vec![1.0, 1e3, 1e5],
            contributors,
            conversion: total,
            reading: total,
            averaged: 16,
            observed_s: 10.0,
            ..ChannelNoise::default()
        }],
    })
    .svg();
    let texts = looked_at(&svg).join("\n");
    assert!(texts.contains("5 others"), "{texts}");
    assert!(texts.contains("100 nV/√Hz"), "{texts}");
    snapshot("noise.svg", &svg);
}

fn turn(channel: &str, n: u32, repeats: u32) -> Turn {
    Turn {
        channel: channel.to_owned(),
        error_unit: "K".to_owned(),
        from_s: 21e-6 * f64::from(n),
        acquire_s: 4.6e-6,
        convert_s: 1e-6,
        repeats,
        rate_hz: 100.0,
        worst: Some(SettlingError {
            at: 20.0,
            codes: 0.1 + f64::from(n),
            error: 0.02,
        }),
        limit_codes: 0.25,
        settles: Some(n == 0),
        proposal: if n == 0 {
            String::new()
        } else {
            "acquisition = \"239.5 cycles\" settles it".to_owned()
        },
        ..Turn::default()
    }
}

fn schedule(period_s: f64) -> Schedule {
    Schedule {
        version: report::VERSION,
        board: BOARD.to_owned(),
        converters: vec![
            ConverterSchedule {
                name: "mcu.adc".to_owned(),
                start: "what the channel before left".to_owned(),
                sequence_s: 42e-6 + 1000.0 * 5.6e-6,
                period_s,
                busy: (42e-6 + 1000.0 * 5.6e-6) / period_s,
                turns: vec![
                    turn("tank-1", 0, 2),
                    turn("feed", 1, 3),
                    turn("pump", 2, 1000),
                ],
                ..ConverterSchedule::default()
            },
            ConverterSchedule {
                name: "weigher".to_owned(),
                reason: "its clock is not known".to_owned(),
                ..ConverterSchedule::default()
            },
        ],
    }
}

#[test]
fn snapshot_schedule_of_two_converters() {
    let svg = draw::schedule(&schedule(10e-3)).svg();
    let texts = looked_at(&svg).join("\n");
    assert!(texts.contains("weigher: its clock is not known."));
    assert!(texts.contains("(drawn as one)"));
    snapshot("schedule.svg", &svg);
}

#[test]
fn a_long_pause_is_said_and_not_drawn() {
    let texts = looked_at(&draw::schedule(&schedule(10.0)).svg()).join("\n");
    assert!(texts.contains("9.994 s until the next sequence"), "{texts}");
    assert!(texts.contains("time in the sequence, ms"), "{texts}");
}

#[test]
fn snapshot_course_with_a_panel_for_each_unit() {
    let time_s: Vec<f64> = (0..200).map(|i| f64::from(i) * 1e-5).collect();
    let of = |f: &dyn Fn(f64) -> f64| time_s.iter().map(|t| f(*t)).collect::<Vec<f64>>();
    let trace = |name: &str, unit: &str, values| Trace {
        name: name.to_owned(),
        unit: unit.to_owned(),
        values,
    };
    let svg = draw::course(&Course {
        version: report::VERSION,
        board: BOARD.to_owned(),
        channel: "tank-1".to_owned(),
        at: at(),
        event: "temperature steps from −5 °C to 35 °C".to_owned(),
        traces: vec![
            trace("input", "V", of(&|t| 2.5 - elementary::exp(-t / 2e-4))),
            trace("sensor", "V", of(&|_| 2.5)),
            trace(
                "sensor current",
                "A",
                of(&|t| 1e-3 * elementary::exp(-t / 2e-4)),
            ),
        ],
        time_s,
        settling: vec![SettlingTime {
            to: "half a code".to_owned(),
            share: 1e-4,
            seconds: Some(1.8e-3),
        }],
        ..Course::default()
    })
    .svg();
    let texts = looked_at(&svg);
    for t in ["V", "mA", "time, ms", "within half a code"] {
        assert!(texts.iter().any(|x| x == t), "{t}: {texts:?}");
    }
    snapshot("course.svg", &svg);
}

/// A rail with these loads.
fn rail(name: &str, from: &str, depth: usize, limit_a: f64, loads: &[(&str, f64)]) -> RailResult {
    let most_a: f64 = loads.iter().map(|l| l.1).sum();
    RailResult {
        name: name.to_owned(),
        from: from.to_owned(),
        by: String::new(),
        depth,
        free_v: [3.2, 3.3, 3.4],
        usual_v: 3.3,
        low_v: 3.1,
        usual_a: 0.5 * most_a,
        most_a,
        average_a: 0.5 * most_a,
        limit_a: Some(limit_a),
        loads: loads
            .iter()
            .map(|(name, a)| LoadLine {
                name: (*name).to_owned(),
                usual_a: 0.5 * a,
                most_a: *a,
                average_a: 0.5 * a,
                typical_only: false,
                source: String::new(),
            })
            .collect(),
        quantities: Vec::new(),
        verdict: if most_a > limit_a {
            Verdict::Fails
        } else {
            Verdict::Meets
        },
    }
}

#[test]
fn snapshot_rails_with_one_beyond_its_limit() {
    let svg = draw::rails(&Rails {
        version: report::VERSION,
        board: BOARD.to_owned(),
        rails: vec![
            rail(
                "main",
                "",
                0,
                2.0,
                &[("rail logic", 0.62), ("valve", 0.4), ("scale", 2e-4)],
            ),
            rail("logic", "main", 1, 0.5, &[("radio", 0.5), ("mcu", 0.12)]),
            rail("sensors", "logic", 2, 0.1, &[]),
        ],
        heat: vec![HeatResult {
            name: "logic".to_owned(),
            source: "the regulator of logic".to_owned(),
            usual_w: 0.2,
            most_w: 1.05,
            resistance: 60.0,
            junction: Some(Judged {
                name: "junction".to_owned(),
                value: 101.0,
                unit: "°C".to_owned(),
                low: None,
                high: Some(125.0),
                margin: Some(24.0),
                verdict: Verdict::Meets,
                working: "38 °C + 60 K/W · 1.05 W = 101 °C".to_owned(),
                source: String::new(),
            }),
            warms: Vec::new(),
        }],
        returns: Vec::new(),
        rounds: 1,
        settled: true,
        findings: Vec::new(),
    })
    .svg();
    let texts = looked_at(&svg).join("\n");
    assert!(texts.contains("may give 500 mA"), "{texts}");
    assert!(texts.contains("radio 500 mA, mcu 120 mA"), "{texts}");
    assert!(texts.contains("1 of them beyond a limit"), "{texts}");
    snapshot("rails.svg", &svg);
}
