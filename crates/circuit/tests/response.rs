//! Frequency response and steps against scipy, closed forms and hand
//! calculation.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    clippy::approx_constant,
    reason = "tests"
)]

use circuit::{
    Amplifier, Complex, Curve, Dynamics, Linearised, Network, Node, Output, SmallSignal,
    StimulusKind, Swing, TimeFault, Wanted,
};
use serde_json::Value as Json;
use tape::Builder;

const GROUND: Node = Node::GROUND;

fn close(value: f64, expected: f64, relative: f64) {
    assert!(
        (value - expected).abs() <= relative * expected.abs(),
        "{value} is not {expected}"
    );
}

fn data() -> Json {
    serde_json::from_str(include_str!("../../../testdata/time-noise/response.json")).unwrap()
}

fn list(json: &Json, key: &str) -> Vec<f64> {
    json[key]
        .as_array()
        .unwrap()
        .iter()
        .map(|v| v.as_f64().unwrap())
        .collect()
}

/// A network made straight, seen at the node `out`.
fn straight(build: impl FnOnce(&mut Network<'_>)) -> Linearised {
    let b = Builder::new();
    let mut n = Network::new(&b);
    build(&mut n);
    let solution = n.solve().unwrap();
    let out = [Output::node(solution.find("out").unwrap())];
    let wanted = Wanted {
        outputs: &out,
        ..Wanted::default()
    };
    SmallSignal::new(&solution, &wanted)
        .unwrap()
        .at(&[])
        .unwrap()
}

fn source(n: &mut Network<'_>, volt: f64) -> Node {
    let (b, node) = (n.builder(), n.node("in"));
    n.voltage_source("source", node, GROUND, b.constant(volt));
    node
}

fn section(n: &mut Network<'_>, number: usize, from: Node, to: Node, ohm: f64, farad: f64) {
    let b = n.builder();
    n.resistor(&format!("r{number}"), from, to, b.constant(ohm));
    n.capacitor(&format!("c{number}"), to, GROUND, b.constant(farad), None);
}

fn ladder(sections: &[(f64, f64)]) -> Linearised {
    straight(|n| {
        let mut from = source(n, 1.0);
        for (k, &(ohm, farad)) in sections.iter().enumerate() {
            let name = if k + 1 == sections.len() {
                "out".to_owned()
            } else {
                format!("n{k}")
            };
            let to = n.node(&name);
            section(n, k, from, to, ohm, farad);
            from = to;
        }
    })
}

fn sallen_key() -> Linearised {
    straight(|n| {
        let b = n.builder();
        let from = source(n, 1.0);
        let (middle, plus, out) = (n.node("m"), n.node("p"), n.node("out"));
        n.resistor("r1", from, middle, b.constant(10e3));
        n.resistor("r2", middle, plus, b.constant(10e3));
        n.capacitor("c1", middle, out, b.constant(22e-9), None);
        n.capacitor("c2", plus, GROUND, b.constant(10e-9), None);
        n.amplifier("u", plus, out, out, GROUND, GROUND, Amplifier::ideal(b));
    })
}

fn follower(farad: f64) -> Linearised {
    straight(|n| {
        let b = n.builder();
        let from = source(n, 1.0);
        let out = n.node("out");
        let model = Amplifier {
            gain: Some(b.constant(1e5)),
            dynamics: Dynamics {
                bandwidth_hz: Some(b.constant(1e6)),
                output_ohm: Some(b.constant(100.0)),
                ..Dynamics::default()
            },
            ..Amplifier::ideal(b)
        };
        n.amplifier("u", from, out, out, GROUND, GROUND, model);
        n.capacitor("load", out, GROUND, b.constant(farad), None);
    })
}

fn twice() -> Linearised {
    straight(|n| {
        let b = n.builder();
        let from = source(n, 1.0);
        let (x, y, out) = (n.node("x"), n.node("y"), n.node("out"));
        section(n, 1, from, x, 10e3, 100e-9);
        n.amplifier("u", x, y, y, GROUND, GROUND, Amplifier::ideal(b));
        section(n, 2, y, out, 1e3, 1e-6);
    })
}

fn against(name: &str, network: &Linearised, digits: f64) {
    let all = data();
    let expected = &all[name];
    let stimulus = network.find("source", StimulusKind::Voltage).unwrap();
    let response = network.response(0, stimulus).unwrap();
    let parts = list(expected, "re").into_iter().zip(list(expected, "im"));
    for (hz, (re, im)) in list(expected, "hz").into_iter().zip(parts) {
        let found = response.at(hz);
        let error = (found - Complex::new(re, im)).abs();
        assert!(
            error <= digits * found.abs() + 2e-15,
            "{name} at {hz} Hz: {found:?}, off by {error}"
        );
    }
    let step = response.step().unwrap();
    for (t, volt) in list(expected, "step_s")
        .into_iter()
        .zip(list(expected, "step"))
    {
        assert!(
            (step.at(t) - volt).abs() < 1e-11,
            "{name} at {t} s: {} {volt}",
            step.at(t)
        );
    }
    if let Some(hz) = expected["half_power_hz"].as_f64() {
        close(response.falls_to(0.5_f64.sqrt()).unwrap(), hz, 1e-9);
    }
    if let Some(seconds) = expected["settles_s"].as_f64() {
        let accuracy = expected["accuracy"].as_f64().unwrap();
        close(step.settling_s(accuracy).unwrap(), seconds, 1e-9);
    }
}

#[test]
fn reference_ladder() {
    against(
        "ladder",
        &ladder(&[(1e3, 100e-9), (4.7e3, 10e-9), (22e3, 1e-9)]),
        1e-12,
    );
}

#[test]
fn reference_time_constants_from_nanoseconds_to_seconds() {
    against(
        "wide",
        &ladder(&[(50.0, 20e-12), (1e6, 1e-6), (1e3, 5e-12)]),
        1e-11,
    );
}

#[test]
fn reference_sallen_key() {
    against("sallen-key", &sallen_key(), 1e-12);
}

#[test]
fn reference_follower_with_capacitive_load_rings() {
    let network = follower(10e-9);
    against("follower", &network, 1e-10);
    let step = network.response(0, 0).unwrap().step().unwrap();
    assert!(
        (1..100).any(|k| step.at(f64::from(k) * 1e-7) > 1.3),
        "it overshoots"
    );
}

#[test]
fn reference_a_pole_twice() {
    against("twice", &twice(), 1e-12);
    // Closed form: 1 − (1 + t/τ)·e^(−t/τ), and settling where that is 2⁻¹⁴.
    let network = twice();
    let step = network.response(0, 0).unwrap().step().unwrap();
    let t = step.settling_s(2.0_f64.powi(-14)).unwrap() / 1e-3;
    close((1.0 + t) * elementary::exp(-t), 2.0_f64.powi(-14), 1e-9);
}

#[test]
fn published_rc_low_pass() {
    // Horowitz and Hill, The Art of Electronics, ch. 1 (from memory): corner
    // 1/2πRC, gain, phase, rise time 2.19722 τ, 0.1 % after 6.907755 τ.
    let network = ladder(&[(10e3, 10e-9)]);
    let response = network.response(0, 0).unwrap();
    let corner = response.falls_to(0.5_f64.sqrt()).unwrap();
    close(corner, 1591.549, 1e-6);
    for (times, gain, db, degrees) in [
        (0.1, 0.995_037, 0.0432, -5.7106),
        (0.5, 0.894_427, 0.9691, -26.5651),
        (1.0, 0.707_107, 3.0103, -45.0),
        (2.0, 0.447_214, 6.9897, -63.4349),
        (10.0, 0.099_503_7, 20.0432, -84.2894),
    ] {
        let hz = corner * times;
        close(response.relative(hz), gain, 1e-6);
        assert!((response.attenuation_db(hz) - db).abs() < 5e-5);
        assert!((response.phase_deg(&[hz])[0] - degrees).abs() < 5e-5);
    }
    let step = response.step().unwrap();
    close(step.settling_s(1e-3).unwrap(), 6.907_755e-4, 1e-6);
    let rise = step.settling_s(0.1).unwrap() - step.settling_s(0.9).unwrap();
    close(rise, 2.197_22e-4, 1e-5);
    close(network.poles().unwrap()[0].re, -1e4, 1e-12);
}

#[test]
fn published_unity_gain_sallen_key() {
    // 10 kΩ, 22 nF and 10 nF: f0 1073.02 Hz, Q 0.741620 (Williams and Taylor,
    // Electronic Filter Design Handbook, C1 = 2Q and C2 = 1/2Q).
    let poles = sallen_key().poles().unwrap();
    let omega = poles[0].abs();
    close(omega / std::f64::consts::TAU, 1073.02, 1e-5);
    close(-omega / (2.0 * poles[0].re), 0.741_620, 1e-5);
}

#[test]
fn published_gain_bandwidth() {
    // 1 MHz, gain 100: bandwidth 10 kHz, magnitude 0.995037 at 1 kHz
    // (Horowitz and Hill, from memory).
    let network = straight(|n| {
        let b = n.builder();
        let from = source(n, 0.01);
        let (tap, out) = (n.node("tap"), n.node("out"));
        let model = Amplifier {
            dynamics: Dynamics {
                bandwidth_hz: Some(b.constant(1e6)),
                ..Dynamics::default()
            },
            ..Amplifier::ideal(b)
        };
        n.amplifier("u", from, tap, out, GROUND, GROUND, model);
        n.resistor("rf", out, tap, b.constant(99e3));
        n.resistor("rg", tap, GROUND, b.constant(1e3));
    });
    let response = network.response(0, 0).unwrap();
    close(response.at(0.0).re, 100.0, 1e-12);
    close(response.falls_to(0.5_f64.sqrt()).unwrap(), 10e3, 1e-9);
    close(response.relative(1e3), 0.995_037, 1e-6);
}

#[test]
fn published_reference_pin_after_a_switch() {
    // A controller's reference switched from 3.4 V to 1.1 V, 100 nF at the
    // pin, discharged through 32 kΩ (eluke.nl/?p=1993): 27 ms to half a code
    // of ten bits, 15 ms with the 17.5 kΩ that fit the trace; after 10 ms 9 %
    // or 0.7 % too high; after 0.1 ms a true 1.000 V reads about code 310.
    for (ohm, wait, left) in [(32e3, 26.8e-3, 0.092), (17.5e3, 14.6e-3, 0.007)] {
        let network = ladder(&[(ohm, 100e-9)]);
        let step = network.response(0, 0).unwrap().step().unwrap();
        let half_a_code = 0.5 * 1.1 / 1024.0;
        close(step.settling_s(half_a_code / 2.3).unwrap(), wait, 5e-3);
        close((2.3 * step.left(10e-3)).abs() / 1.1, left, 0.03);
        let reference = 1.1 - 2.3 * step.left(0.1e-3);
        let code = 1024.0 / reference;
        assert!((300.0..=320.0).contains(&code), "{code}");
    }
}

#[test]
fn a_resonance_of_an_inductor() {
    // 10 mH and 100 nF with 100 Ω: f0 5032.92 Hz, Q = √(L/C)/R = 3.1623, which
    // is also the magnitude there.
    let network = straight(|n| {
        let b = n.builder();
        let from = source(n, 1.0);
        let (x, out) = (n.node("x"), n.node("out"));
        n.resistor("r", from, x, b.constant(100.0));
        n.inductor("l", x, out, b.constant(10e-3));
        n.capacitor("c", out, GROUND, b.constant(100e-9), None);
    });
    let response = network.response(0, 0).unwrap();
    let resonance = 1.0 / (std::f64::consts::TAU * (10e-3_f64 * 100e-9).sqrt());
    close(response.at(resonance).abs(), 10.0_f64.sqrt(), 1e-12);
    close(response.at(resonance).im, -(10.0_f64.sqrt()), 1e-12);
    assert_eq!(network.poles().unwrap().len(), 2);
}

#[test]
fn capacitors_across_sources_and_one_another_need_nothing_special() {
    // A decoupling capacitor on an ideal rail; two capacitors side by side;
    // a divider of capacitors: 1 µF and 3 µF from the source divide a step by
    // 4 at once, resistors of 30 kΩ and 10 kΩ lead it to 1/4 as well, and with
    // equal ones it drifts to 1/2 with τ = 4 µF·5 kΩ.
    let network = |upper: f64| {
        straight(|n| {
            let b = n.builder();
            let from = source(n, 5.0);
            let out = n.node("out");
            n.capacitor("rail", from, GROUND, b.constant(10e-6), None);
            n.resistor("r1", from, out, b.constant(upper));
            n.resistor("r2", out, GROUND, b.constant(10e3));
            n.capacitor("c1", from, out, b.constant(1e-6), None);
            n.capacitor("c2", out, GROUND, b.constant(1e-6), None);
            n.capacitor("c3", out, GROUND, b.constant(2e-6), None);
        })
    };
    let even = network(30e3);
    let step = even.response(0, 0).unwrap().step().unwrap();
    close(step.at(0.0), 0.25, 1e-14);
    close(step.at(1.0), 0.25, 1e-14);
    let drifting = network(10e3);
    let step = drifting.response(0, 0).unwrap().step().unwrap();
    close(step.at(0.0), 0.25, 1e-14);
    close(step.at(20e-3), 0.5 - 0.25 / std::f64::consts::E, 1e-13);
    assert_eq!(drifting.poles().unwrap().len(), 1);
    close(drifting.response(0, 0).unwrap().at(1e9).re, 0.25, 1e-9);
}

#[test]
fn a_stage_at_its_limit_passes_nothing_but_its_supply() {
    // A follower asked for 4.9 V with an output that ends 0.5 V below its 5 V
    // supply: deaf to its input, and moving with the supply one for one.
    let network = straight(|n| {
        let b = n.builder();
        let from = source(n, 4.9);
        let (rail, out) = (n.node("rail"), n.node("out"));
        n.voltage_source("supply", rail, GROUND, b.constant(5.0));
        let model = Amplifier {
            swing_high: Some(Swing::constant(b.constant(0.5))),
            swing_low: Some(Swing::constant(b.constant(0.1))),
            ..Amplifier::ideal(b)
        };
        n.amplifier("u", from, out, out, rail, GROUND, model);
        n.resistor("load", out, GROUND, b.constant(10e3));
    });
    let gain = |name| {
        network
            .gain(0, network.find(name, StimulusKind::Voltage).unwrap())
            .unwrap()
    };
    close(gain("supply"), 1.0, 1e-12);
    assert!(gain("source").abs() < 1e-9);
}

#[test]
fn a_diode_is_its_slope() {
    // 1 mA through a junction with 25.85 mV: 25.85 Ω beside 1 kΩ.
    let b = Builder::new();
    let mut n = Network::new(&b);
    let out = n.node("out");
    let emission = 25.85e-3;
    let saturation = 1e-14;
    let bias = b.input("bias", "A", 1e-3);
    n.current_source("bias", GROUND, out, bias);
    n.conductor(
        "d",
        out,
        GROUND,
        Curve::junction(b.constant(saturation), b.constant(emission)),
    );
    n.capacitor("c", out, GROUND, b.constant(1e-9), None);
    let solution = n.solve().unwrap();
    let outputs = [Output::node(out), Output::Current("d".to_owned())];
    let wanted = Wanted {
        outputs: &outputs,
        ..Wanted::default()
    };
    let small = SmallSignal::new(&solution, &wanted).unwrap();
    // At two operating points of one tape.
    for ampere in [1e-3, 1e-4] {
        let network = small.at(&[ampere]).unwrap();
        let slope = emission / (ampere + saturation);
        close(network.gain(0, 0).unwrap(), slope, 1e-9);
        close(network.gain(1, 0).unwrap(), 1.0, 1e-9);
        close(network.poles().unwrap()[0].re, -1.0 / (slope * 1e-9), 1e-9);
    }
    assert_eq!(small.at(&[f64::NAN]).unwrap_err(), TimeFault::NotANumber);
}

#[test]
fn positive_feedback_is_not_stable() {
    // A capacitor load that turns the phase far enough: an inverting path
    // with three equal sections and a gain above eight oscillates.
    let network = straight(|n| {
        let b = n.builder();
        let from = source(n, 0.0);
        let (a, c, out, minus) = (n.node("a"), n.node("c"), n.node("out"), n.node("minus"));
        let end = n.node("end");
        n.resistor("rin", from, minus, b.constant(1e6));
        section(n, 1, out, a, 1e3, 100e-9);
        section(n, 2, a, c, 10e3, 10e-9);
        section(n, 3, c, end, 100e3, 1e-9);
        n.resistor("back", end, minus, b.constant(1e6));
        n.amplifier(
            "u",
            GROUND,
            minus,
            out,
            GROUND,
            GROUND,
            Amplifier {
                gain: Some(b.constant(1e4)),
                ..Amplifier::ideal(b)
            },
        );
    });
    let response = network.response(0, 0).unwrap();
    assert!(matches!(
        response.step().unwrap_err(),
        TimeFault::Unstable { .. }
    ));
}

#[test]
fn property_slow_frequency_and_long_time_agree_with_the_operating_point() {
    for network in [
        sallen_key(),
        follower(1e-9),
        ladder(&[(1e3, 1e-6), (1e4, 1e-9)]),
    ] {
        let response = network.response(0, 0).unwrap();
        close(response.at(1e-6).re, network.gain(0, 0).unwrap(), 1e-9);
        let step = response.step().unwrap();
        close(step.at(10.0), step.last(), 1e-12);
    }
}

#[test]
fn outputs_and_stimuli_that_do_not_exist_have_no_response() {
    let network = ladder(&[(1e3, 1e-6)]);
    assert!(network.response(1, 0).is_none());
    assert!(network.response(0, 7).is_none());
    assert!(network.transfers(0, f64::NAN).is_none());
    assert_eq!(network.response(0, 0).unwrap().falls_to(0.0), None);
}

#[test]
fn an_integrator_has_no_corner_and_no_rest() {
    // A current into a capacitor whose only resistance is its insulation:
    // 10¹⁵ Ω and 1 nF, a corner at 0.16 µHz; without any the operating point
    // itself is refused.
    let network = straight(|n| {
        let b = n.builder();
        let out = n.node("out");
        n.current_source("source", GROUND, out, b.constant(0.0));
        n.capacitor("c", out, GROUND, b.constant(1e-9), Some(b.constant(1e15)));
    });
    let corner = network
        .response(0, 0)
        .unwrap()
        .falls_to(0.5_f64.sqrt())
        .unwrap();
    close(corner, 1.0 / (std::f64::consts::TAU * 1e6), 1e-9);
}

#[test]
fn coils_side_by_side_are_refused_not_guessed() {
    let b = Builder::new();
    let mut n = Network::new(&b);
    let (from, out) = (n.node("in"), n.node("out"));
    n.voltage_source("source", from, GROUND, b.one());
    n.inductor("l1", from, out, b.constant(1e-3));
    n.inductor("l2", from, out, b.constant(2e-3));
    n.resistor("r", out, GROUND, b.constant(1e3));
    let solution = n.solve().unwrap();
    let outputs = [Output::node(out)];
    let wanted = Wanted {
        outputs: &outputs,
        ..Wanted::default()
    };
    let fault = SmallSignal::new(&solution, &wanted).unwrap_err();
    assert!(fault.to_string().contains("l1"), "{fault}");
}

#[test]
fn published_slow_sine_of_a_mains_harmonic() {
    // "Source of 5.5 Hz noise showing up on ADC" (itecnotes.com): the fourth
    // harmonic of 51.375 Hz at 200 samples per second, no filter before the
    // converter. 100 µV stay 100 µV and show at 5.5 Hz; an RC at 16 Hz leaves
    // 1/√(1 + (205.5/15.9155)²).
    let open = ladder(&[(1.0, 1e-12)]);
    let tone = circuit::Tone::harmonic(4, 51.375, 0.0, Some(100e-6));
    let single = circuit::Sampling {
        rate_hz: 200.0,
        count: 1,
    };
    let left = open.response(0, 0).unwrap().tone(&tone, &single).unwrap();
    assert_eq!(left.alias_hz, (5.5, 5.5));
    close(left.amplitude.unwrap(), 100e-6, 1e-9);
    let filtered = ladder(&[(1e5, 1e-7)]);
    let left = filtered
        .response(0, 0)
        .unwrap()
        .tone(&tone, &single)
        .unwrap();
    let share = 1.0 / (1.0 + (205.5_f64 / 15.915_494).powi(2)).sqrt();
    close(left.response, share, 1e-7);
    // Without an amplitude there is no error, only the share.
    let unknown = circuit::Tone {
        amplitude: None,
        ..tone
    };
    let left = filtered
        .response(0, 0)
        .unwrap()
        .tone(&unknown, &single)
        .unwrap();
    assert_eq!(left.amplitude, None);
}

#[test]
fn a_mean_over_whole_periods_leaves_what_the_grid_may_be_off() {
    // 50 Hz ± 1 % at 1000 samples per second: the mean of 20 leaves
    // sin(0.99π)/(20·sin 0.0495π) = 1.01 %; that of 200, ten periods,
    // sin(9.9π)/(200·sin 0.0495π) = 1.00 %: no better, for its nulls are as
    // much narrower as its lobes are lower.
    let network = ladder(&[(1.0, 1e-12)]);
    let response = network.response(0, 0).unwrap();
    let mains = circuit::Tone::harmonic(1, 50.0, 0.01, Some(1.0));
    let kept = |count| {
        let sampling = circuit::Sampling {
            rate_hz: 1000.0,
            count,
        };
        response.tone(&mains, &sampling).unwrap().kept
    };
    close(kept(20), 0.010_139, 1e-3);
    close(kept(200), 0.009_976, 1e-3);
    // A multiple of the sample rate passes whole.
    let pwm = circuit::Tone::harmonic(3, 1000.0, 0.0, Some(1.0));
    let sampling = circuit::Sampling {
        rate_hz: 1000.0,
        count: 64,
    };
    let left = response.tone(&pwm, &sampling).unwrap();
    assert_eq!((left.kept, left.alias_hz), (1.0, (0.0, 0.0)));
    let offset = circuit::Tone {
        low_hz: 0.0,
        high_hz: 0.0,
        amplitude: None,
    };
    assert_eq!(response.tone(&offset, &sampling), None);
}
