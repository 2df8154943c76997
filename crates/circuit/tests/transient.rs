//! Courses in time against closed forms, exact steps and the operating point.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

use circuit::{
    Amplifier, CourseFault, Curve, Drive, Dynamics, Fault, Network, Node, Output, SmallSignal,
    Swing, Transient, Wanted,
};
use tape::Builder;

const GROUND: Node = Node::GROUND;

fn close(value: f64, expected: f64, absolute: f64) {
    assert!(
        (value - expected).abs() <= absolute,
        "{value} is not {expected}"
    );
}

/// A network with a source `source` and a node `out`, ready.
fn ready(b: &Builder, build: impl for<'t> FnOnce(&mut Network<'t>, &'t Builder)) -> Transient {
    let mut n = Network::new(b);
    build(&mut n, b);
    let solution = n.solve().unwrap();
    let out = [Output::node(solution.find("out").unwrap())];
    Transient::new(&solution, &["source"], &out).unwrap()
}

fn rc(n: &mut Network<'_>, ohm: f64, farad: f64) {
    let b = n.builder();
    let (from, out) = (n.node("in"), n.node("out"));
    n.voltage_source("source", from, GROUND, b.zero());
    n.resistor("r", from, out, b.constant(ohm));
    n.capacitor("c", out, GROUND, b.constant(farad), None);
}

#[test]
fn published_rc_charges() {
    // 1 − e^(−t/τ): 63.2 % after τ, 0.1 % left after 6.9078 τ.
    let b = Builder::new();
    let t = ready(&b, |n, _| rc(n, 1e3, 1e-6));
    let series = t
        .run(&[], &[Drive::step(0.0, 0.0, 5.0)], 10e-3, 1e-7)
        .unwrap();
    for (k, &time) in series.time_s.iter().enumerate() {
        let exact = 5.0 * (1.0 - elementary::exp(-time / 1e-3));
        close(series.values[0][k], exact, 2e-5);
    }
    assert!(series.time_s.len() < 3000, "{}", series.time_s.len());
}

#[test]
fn property_error_follows_the_accuracy_asked() {
    let b = Builder::new();
    let t = ready(&b, |n, _| rc(n, 1e3, 1e-6));
    let error = |accuracy: f64| {
        let series = t
            .run(&[], &[Drive::step(1e-4, 0.0, 1.0)], 5e-3, accuracy)
            .unwrap();
        let worst = series
            .time_s
            .iter()
            .zip(&series.values[0])
            .filter(|(time, _)| **time > 1e-4)
            .map(|(time, v)| (v - 1.0 + elementary::exp(-(time - 1e-4) / 1e-3)).abs())
            .fold(0.0, f64::max);
        (worst, series.time_s.len())
    };
    let (coarse, few) = error(1e-4);
    let (fine, many) = error(1e-7);
    assert!(fine < coarse / 20.0 && many > few);
}

#[test]
fn reference_ringing_step_agrees_with_the_modes() {
    // A follower with a capacitive load: the same network made straight.
    let b = Builder::new();
    let mut n = Network::new(&b);
    let (from, out) = (n.node("in"), n.node("out"));
    n.voltage_source("source", from, GROUND, b.one());
    let model = Amplifier {
        gain: Some(b.constant(1e5)),
        dynamics: Dynamics {
            bandwidth_hz: Some(b.constant(1e6)),
            output_ohm: Some(b.constant(100.0)),
            ..Dynamics::default()
        },
        ..Amplifier::ideal(&b)
    };
    n.amplifier("u", from, out, out, GROUND, GROUND, model);
    n.capacitor("load", out, GROUND, b.constant(10e-9), None);
    let solution = n.solve().unwrap();
    let outputs = [Output::node(out)];
    let wanted = Wanted {
        outputs: &outputs,
        ..Wanted::default()
    };
    let straight = SmallSignal::new(&solution, &wanted)
        .unwrap()
        .at(&[])
        .unwrap();
    let step = straight.response(0, 0).unwrap().step().unwrap();
    let t = Transient::new(&solution, &["source"], &outputs).unwrap();
    let series = t
        .run(&[], &[Drive::step(0.0, 0.0, 1.0)], 20e-6, 1e-7)
        .unwrap();
    for (k, &time) in series.time_s.iter().enumerate().skip(1) {
        close(series.values[0][k], step.at(time), 1e-4);
    }
}

#[test]
fn a_resonance_keeps_its_amplitude() {
    // 10 mH and 100 nF, no loss but 0.1 Ω: after ten periods of a step the
    // envelope has fallen by e^(−R·t/2L).
    let b = Builder::new();
    let t = ready(&b, |n, b| {
        let (from, x, out) = (n.node("in"), n.node("x"), n.node("out"));
        n.voltage_source("source", from, GROUND, b.zero());
        n.resistor("r", from, x, b.constant(0.1));
        n.inductor("l", x, out, b.constant(10e-3));
        n.capacitor("c", out, GROUND, b.constant(100e-9), None);
    });
    let omega = 1.0 / (10e-3_f64 * 100e-9).sqrt();
    let end = 10.0 * std::f64::consts::TAU / omega;
    let series = t
        .run(&[], &[Drive::step(0.0, 0.0, 1.0)], end, 1e-8)
        .unwrap();
    for share in [0.95, 0.97, 0.99, 1.0] {
        let time = end * share;
        let exact = 1.0 - elementary::exp(-0.1 * time / 20e-3) * elementary::cos(omega * time);
        close(series.at(0, time).unwrap(), exact, 5e-3);
    }
}

#[test]
fn a_clamped_input_ends_where_the_operating_point_says() {
    // 12 V through 10 kΩ into a pin with 100 nF and a diode to 3.3 V: up to
    // the clamp as an RC would, then held by it.
    let build = |n: &mut Network<'_>, volt: f64| {
        let b = n.builder();
        let c = |x: f64| b.constant(x);
        let (from, rail, out) = (n.node("in"), n.node("rail"), n.node("out"));
        n.voltage_source("source", from, GROUND, c(volt));
        n.voltage_source("supply", rail, GROUND, c(3.3));
        n.resistor("r", from, out, c(10e3));
        n.capacitor("c", out, GROUND, c(100e-9), None);
        n.conductor("d", out, rail, Curve::junction(c(1e-12), c(0.05)));
    };
    let b = Builder::new();
    let mut n = Network::new(&b);
    build(&mut n, 12.0);
    let rest = n.solve().unwrap();
    let expected = rest.voltage(rest.find("out").unwrap()).nominal();
    assert!(expected > 3.8 && expected < 4.6, "{expected}");
    let b = Builder::new();
    let t = ready(&b, |n, _| build(n, 0.0));
    let series = t
        .run(&[], &[Drive::step(1e-3, 0.0, 12.0)], 20e-3, 1e-6)
        .unwrap();
    close(series.last(0).unwrap(), expected, 1e-6);
    // 2 V is reached as if there were no diode: τ·ln(12/10).
    let reached = 1e-3 + 1e-3 * elementary::ln(12.0 / 10.0);
    close(series.at(0, reached).unwrap(), 2.0, 1e-3);
}

#[test]
fn a_follower_slews_and_stops_at_its_swing() {
    // 0.5 V/µs from 0.1 V to its ceiling 0.2 V below the 5 V supply for
    // a step to 6 V and back: 9.4 µs up; no delay on the way down, for the
    // output does not go on behind its limit.
    let b = Builder::new();
    let t = ready(&b, |n, b| {
        let c = |x: f64| b.constant(x);
        let (from, rail, out) = (n.node("in"), n.node("rail"), n.node("out"));
        n.voltage_source("source", from, GROUND, c(0.0));
        n.voltage_source("supply", rail, GROUND, c(5.0));
        let model = Amplifier {
            gain: Some(c(1e5)),
            swing_low: Some(Swing::constant(c(0.1))),
            swing_high: Some(Swing::constant(c(0.2))),
            dynamics: Dynamics {
                bandwidth_hz: Some(c(10e6)),
                slew_v_per_s: Some(c(0.5e6)),
                ..Dynamics::default()
            },
            ..Amplifier::ideal(b)
        };
        n.amplifier("u", from, out, out, rail, GROUND, model);
        n.resistor("load", out, GROUND, c(10e3));
    });
    let drive = Drive::new(vec![(0.0, 0.0), (0.0, 6.0), (20e-6, 6.0), (20e-6, 1.0)]).unwrap();
    let series = t.run(&[], &[drive], 40e-6, 1e-6).unwrap();
    close(series.values[0][0], 0.1, 1e-9);
    close(series.at(0, 4e-6).unwrap(), 0.1 + 2.0, 1e-3);
    close(series.at(0, 15e-6).unwrap(), 4.8, 1e-6);
    close(series.at(0, 22e-6).unwrap(), 4.8 - 1.0, 1e-3);
    close(series.last(0).unwrap(), 1.0, 2e-5);
}

#[test]
fn a_ramp_through_an_rc_lags_by_its_time_constant() {
    let b = Builder::new();
    let t = ready(&b, |n, _| rc(n, 1e3, 1e-6));
    let drive = Drive::new(vec![(0.0, 0.0), (0.1, 10.0)]).unwrap();
    let series = t.run(&[], &[drive], 0.1, 1e-6).unwrap();
    // Rate × τ: 100 V/s × 1 ms.
    close(series.last(0).unwrap(), 10.0 - 0.1, 1e-4);
}

#[test]
fn property_it_stays_at_rest_when_nothing_happens() {
    let b = Builder::new();
    let t = ready(&b, |n, b| {
        let (from, out) = (n.node("in"), n.node("out"));
        n.voltage_source("source", from, GROUND, b.constant(2.0));
        n.resistor("r", from, out, b.constant(1e4));
        n.resistor("load", out, GROUND, b.constant(1e4));
        n.capacitor("c", out, GROUND, b.constant(1e-6), Some(b.constant(1e9)));
    });
    let series = t.run(&[], &[Drive::constant(2.0)], 1.0, 1e-6).unwrap();
    for value in &series.values[0] {
        close(*value, series.values[0][0], 1e-12);
    }
    assert!(series.time_s.len() < 200);
}

#[test]
fn impossible_courses_are_refused() {
    let b = Builder::new();
    let t = ready(&b, |n, _| rc(n, 1e3, 1e-6));
    let one = [Drive::constant(1.0)];
    for (drives, until, accuracy) in [
        (&one[..0], 1.0, 1e-3),
        (&one[..], 0.0, 1e-3),
        (&one[..], f64::INFINITY, 1e-3),
        (&one[..], 1.0, 0.0),
    ] {
        assert_eq!(
            t.run(&[], drives, until, accuracy).unwrap_err(),
            CourseFault::Impossible
        );
    }
    assert_eq!(Drive::new(vec![]), None);
    assert_eq!(Drive::new(vec![(1.0, 0.0), (0.5, 0.0)]), None);
    let b = Builder::new();
    let mut n = Network::new(&b);
    rc(&mut n, 1e3, 1e-6);
    let solution = n.solve().unwrap();
    let fault = Transient::new(&solution, &["r"], &[]).unwrap_err();
    assert!(matches!(fault, Fault::UnknownElement { .. }));
}

/// A stage with everything that limits it: a supply that sags and has
/// a reservoir, an output that drops with its load and slews, clamps at the
/// pin behind it.
fn limited<'t>(b: &'t Builder, n: &mut Network<'t>, source: f64, slew: f64, load: f64) {
    let c = |x: f64| b.constant(x);
    let (from, battery, rail) = (n.node("in"), n.node("battery"), n.node("rail"));
    let (minus, top, out) = (n.node("minus"), n.node("top"), n.node("out"));
    n.voltage_source("source", from, GROUND, c(source));
    n.voltage_source("supply", battery, GROUND, c(5.0));
    n.resistor("sag", battery, rail, c(22.0));
    n.capacitor("reservoir", rail, GROUND, c(1e-6), None);
    let model = Amplifier {
        gain: Some(c(1e5)),
        swing_low: Swing::points(&[(c(0.0), c(0.03)), (c(5e-3), c(0.2)), (c(20e-3), c(1.0))]),
        swing_high: Some(
            Swing::points(&[(c(0.0), c(0.05)), (c(10e-3), c(0.6))])
                .unwrap()
                .with_limit(c(15e-3)),
        ),
        quiescent: Some(c(1e-3)),
        dynamics: Dynamics {
            bandwidth_hz: Some(c(1e6)),
            slew_v_per_s: Some(c(slew)),
            output_ohm: Some(c(100.0)),
            input_farad: Some(c(3e-12)),
            between_inputs_farad: Some(c(2e-12)),
        },
        ..Amplifier::ideal(b)
    };
    n.amplifier("u", from, minus, top, rail, GROUND, model);
    n.resistor("rf", top, minus, c(2e4));
    n.resistor("rg", minus, GROUND, c(1e4));
    n.resistor("load", top, GROUND, c(load));
    n.resistor("protect", top, out, c(1e3));
    n.capacitor("c", out, GROUND, c(10e-9), None);
    n.conductor("up", out, rail, Curve::junction(c(1e-9), c(0.045)));
    n.conductor("down", GROUND, out, Curve::junction(c(1e-9), c(0.045)));
}

#[test]
fn property_every_course_ends_at_its_operating_point() {
    for (k, (from, to)) in [(0.2, 1.0), (0.0, 2.5), (2.5, -0.5), (1.0, 1.2), (-1.0, 0.5)]
        .into_iter()
        .enumerate()
    {
        for load in [250.0, 1e4] {
            let at = |volt: f64| {
                let b = Builder::new();
                let mut n = Network::new(&b);
                limited(&b, &mut n, volt, 1e6, load);
                let solution = n.solve().unwrap();
                let out = solution.find("out").unwrap();
                solution.voltage(out).nominal()
            };
            let b = Builder::new();
            // Written where neither end is: the search must find its way.
            let t = ready(&b, |n, b| limited(b, n, 0.7, 1e6, load));
            let series = t
                .run(&[], &[Drive::step(1e-6, from, to)], 2e-3, 1e-5)
                .unwrap();
            close(series.values[0][0], at(from), 1e-6);
            close(series.last(0).unwrap(), at(to), 1e-4);
            assert!(series.time_s.len() < 5000, "{k}: {}", series.time_s.len());
        }
    }
}

#[test]
fn the_current_of_a_charging_capacitor_is_seen() {
    let b = Builder::new();
    let mut n = Network::new(&b);
    rc(&mut n, 1e3, 1e-6);
    let solution = n.solve().unwrap();
    let outputs = [
        Output::Current("c".to_owned()),
        Output::Current("r".to_owned()),
    ];
    let t = Transient::new(&solution, &["source"], &outputs).unwrap();
    let series = t
        .run(&[], &[Drive::step(0.0, 0.0, 5.0)], 3e-3, 1e-7)
        .unwrap();
    for (k, &time) in series.time_s.iter().enumerate().skip(1) {
        close(
            series.values[0][k],
            5e-3 * elementary::exp(-time / 1e-3),
            1e-6,
        );
        close(series.values[0][k], series.values[1][k], 1e-12);
    }
}
