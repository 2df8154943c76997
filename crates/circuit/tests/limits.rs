//! Outputs at their swing and clamps that conduct: reported cases and
//! equations derived by hand from the drawing.
#![allow(clippy::unwrap_used, reason = "tests")]

use circuit::{
    Amplifier, Check, CheckKind, Curve, Instrumentation, Network, Node, Solution, Swing,
};
use tape::{Block, Builder, Point, Reading, Value};

const GROUND: Node = Node::GROUND;

fn check<'s, 't>(solution: &'s Solution<'t>, kind: CheckKind) -> &'s Check<'t> {
    solution.checks().iter().find(|c| c.kind == kind).unwrap()
}

fn close(value: f64, expected: f64, relative: f64) {
    assert!(
        (value - expected).abs() <= relative * expected.abs() + 1e-13,
        "{value} is not {expected}"
    );
}

/// Inverting stage of gain −1 about 1.65 V on one 5 V supply, R from the
/// input and R back from the output; a bipolar output that sinks `sink`
/// near ground and then only beyond a diode drop.
fn single_supply<'t>(b: &'t Builder, ohm: f64, sink: f64, input: Value<'t>) -> Solution<'t> {
    let mut n = Network::new(b);
    let (v5, bias, vin) = (n.node("5V"), n.node("bias"), n.node("in"));
    let (summing, out) = (n.node("summing"), n.node("out"));
    n.voltage_source("supply", v5, GROUND, b.constant(5.0));
    n.voltage_source("mid", bias, GROUND, b.constant(1.65));
    n.voltage_source("signal", vin, GROUND, input);
    n.resistor("rin", vin, summing, b.constant(ohm));
    n.resistor("rf", summing, out, b.constant(ohm));
    let c = |x: f64| b.constant(x);
    let model = Amplifier {
        swing_low: Swing::points(&[
            (c(0.0), c(0.0)),
            (c(sink), c(0.0)),
            (c(sink), c(0.6)),
            (c(20e-3), c(0.75)),
        ]),
        swing_high: Some(Swing::constant(c(1.5))),
        ..Amplifier::ideal(b)
    };
    n.amplifier("u1", bias, summing, out, v5, GROUND, model);
    n.solve().unwrap()
}

#[test]
fn published_single_supply_stage_never_reaches_ground() {
    // A reported case (electronics.stackexchange.com, question 368767): bias
    // 1.65 V, 10 kΩ feedback, an output that sinks 50 µA typically (12 µA at
    // the least) near 0 V. Ground would need 165 µA; the output stops about
    // a diode drop above it. Feedback of 33 kΩ (138 kΩ) or more would do.
    let b = Builder::new();
    let s = single_supply(&b, 10e3, 50e-6, b.constant(3.3));
    let out = s.find("out").unwrap();
    let low = check(&s, CheckKind::OutputLow);
    let needed = low.needed.unwrap();
    assert!(needed.voltage_v.nominal().abs() < 1e-9);
    close(needed.current_a.nominal(), -165e-6, 1e-9);
    close(needed.capability_a.unwrap().nominal(), 50e-6, 1e-12);
    assert!(low.margin.nominal() < 0.0);
    // By hand, the amplifier no longer amplifying: the current through both
    // resistors is i = (3.3 − v)/20 kΩ and the output stands at
    // v = 0.6 + k·(i − 50 µA) with k = 0.15 V/(20 mA − 50 µA).
    let k = 0.15 / (20e-3 - 50e-6);
    let v = (0.6 + k * (3.3 / 20e3 - 50e-6)) / (1.0 + k / 20e3);
    close(s.voltage(out).nominal(), v, 1e-10);
    close(s.current("u1").unwrap().nominal(), -(3.3 - v) / 20e3, 1e-10);
    close(low.limit.nominal(), v, 1e-10);
    // What the output sinks arrives at ground, not from the 5 V supply.
    assert!(s.current("supply").unwrap().nominal().abs() < 1e-15);
    // A hair above ground, so that the margin has a sign of its own.
    for (sink, least) in [(50e-6, 33e3), (12e-6, 137.5e3)] {
        for (factor, good) in [(0.99, false), (1.01, true)] {
            let s = single_supply(&b, least * factor, sink, b.constant(3.3 - 1e-6));
            let margin = check(&s, CheckKind::OutputLow).margin.nominal();
            assert_eq!(margin > 0.0, good, "{sink} {factor} {margin}");
        }
    }
}

#[test]
fn published_floor_of_an_instrumentation_amplifier_hides_first_codes() {
    // A reported case (electronics.stackexchange.com, question 266916):
    // gain 40.96, lowest output 10 mV on 5 V: 0 to 0.244 mV of the sensor
    // (2.5 codes of 4 mV) cannot be seen; 10 mV at the reference pin cures it.
    let solve = |signal: f64, pedestal: f64| {
        let b = Builder::new();
        let mut n = Network::new(&b);
        let (v5, p, m) = (n.node("5V"), n.node("p"), n.node("m"));
        let (r, out) = (n.node("ref"), n.node("out"));
        n.voltage_source("supply", v5, GROUND, b.constant(5.0));
        n.voltage_source("common", m, GROUND, b.constant(1.0));
        n.voltage_source("signal", p, m, b.constant(signal));
        n.voltage_source("pedestal", r, GROUND, b.constant(pedestal));
        n.resistor("load", out, GROUND, b.constant(100e3));
        let model = Instrumentation {
            swing_low: Some(Swing::constant(b.constant(10e-3))),
            input_low_headroom: Some(b.constant(-0.15)),
            input_high_headroom: Some(b.constant(1.5)),
            ..Instrumentation::ideal(b.constant(40.96))
        };
        n.instrumentation("u", p, m, r, out, v5, GROUND, model);
        let s = n.solve().unwrap();
        let low = check(&s, CheckKind::OutputLow);
        (s.voltage(out).nominal(), low.margin.nominal())
    };
    close(solve(0.0, 0.0).0, 10e-3, 1e-12);
    close(solve(0.0, 0.0).1, -10e-3, 1e-9);
    close(solve(0.2e-3, 0.0).0, 10e-3, 1e-12);
    // From 10 mV/40.96 on the signal is seen.
    let first = 10e-3 / 40.96;
    close(first, 0.244e-3, 0.02);
    close(10e-3 / 4e-3, 2.5, 1e-12);
    assert!(solve(first * 0.999, 0.0).1 < 0.0);
    assert!(solve(first * 1.001, 0.0).1 > 0.0);
    close(solve(50e-3, 0.0).0, 2.048, 1e-12);
    close(solve(0.1e-3, 10e-3).0, 10e-3 + 4.096e-3, 1e-12);
}

/// 1 kΩ from the input to a pin, a Schottky diode from the pin to 3.28 V.
fn clamp<'t>(b: &'t Builder, input: Value<'t>) -> Solution<'t> {
    let mut n = Network::new(b);
    let (rail, vin, pin) = (n.node("3V3"), n.node("in"), n.node("pin"));
    n.voltage_source("rail", rail, GROUND, b.constant(3.28));
    n.voltage_source("signal", vin, GROUND, input);
    n.resistor("series", vin, pin, b.constant(1e3));
    let c = |x: f64| b.constant(x);
    let curve = Curve::straight(&[
        (c(-30.0), c(-1e-7)),
        (c(0.0), c(0.0)),
        (c(0.229), c(1e-6)),
        (c(0.231), c(20e-3)),
    ])
    .unwrap();
    n.conductor("schottky", pin, rail, curve);
    n.solve().unwrap()
}

#[test]
fn published_clamp_lets_the_pin_rise_above_the_supply() {
    // A reported case (a forum thread on an audio board, "CV in to analog
    // in"): 3.28 V supply, Schottky diode, 1 kΩ: 5.1 V and 9 V both read
    // 3.51 V; 1.59 mA and 5.49 mA flow into the supply.
    for (input, ampere) in [(5.1, 1.59e-3), (9.0, 5.49e-3)] {
        let b = Builder::new();
        let s = clamp(&b, b.constant(input));
        let pin = s.voltage(s.find("pin").unwrap()).nominal();
        assert!((pin - 3.51).abs() < 0.002, "{pin}");
        let i = s.current("schottky").unwrap().nominal();
        close(i, ampere, 0.003);
        // The rail's source takes it in: current from plus through it.
        close(s.current("rail").unwrap().nominal(), i, 1e-9);
    }
    // Below the supply only the leakage flows, 1e-7/30 S: pin·(1 + 1 kΩ·g) =
    // input + 1 kΩ·g·3.28 V.
    let b = Builder::new();
    let s = clamp(&b, b.constant(1.0));
    let g = 1e-7 / 30.0;
    let pin = s.voltage(s.find("pin").unwrap()).nominal();
    close(pin, (1.0 + 1e3 * g * 3.28) / (1.0 + 1e3 * g), 1e-13);
}

#[test]
fn knees_pass_their_points_and_join_them_exponentially() {
    // Zener stated as 5 µA at 1 V and 5 mA at 3.3 V (reverse): halfway, at
    // 2.15 V, √(5 µA·5 mA) = 158.1 µA; below 1 V it follows
    // I·(exp(v/V) − 1) with V = 2.3 V/ln 1000.
    let b = Builder::new();
    let at = |volt: f64| {
        let mut n = Network::new(&b);
        let k = n.node("k");
        let c = |x: f64| b.constant(x);
        let curve = Curve::knee(&[
            (c(-3.3), c(-5e-3)),
            (c(-1.0), c(-5e-6)),
            (c(0.6), c(1e-3)),
            (c(0.7), c(10e-3)),
        ])
        .unwrap();
        n.voltage_source("v", k, GROUND, c(volt));
        n.conductor("z", GROUND, k, curve);
        n.solve().unwrap().current("z").unwrap().nominal()
    };
    close(at(3.3), -5e-3, 1e-12);
    close(at(1.0), -5e-6, 1e-12);
    close(at(2.15), -(5e-6_f64 * 5e-3).sqrt(), 1e-12);
    let v = 2.3 / elementary::ln(1000.0);
    let scale = 5e-6 / (elementary::exp(1.0 / v) - 1.0);
    close(at(0.5), -scale * (elementary::exp(0.5 / v) - 1.0), 1e-11);
    close(at(-0.65), (1e-3_f64 * 10e-3).sqrt(), 1e-12);
    assert!(at(0.0).abs() < 1e-18);
    // Beyond the last point straight on with the slope there: 5 mA·ln(1000)
    // per 2.3 V.
    close(at(4.3), -(5e-3 + 5e-3 / v), 1e-11);
}

#[test]
fn a_junction_fed_by_a_current_follows_shockleys_law() {
    // v = n·V_T·ln(1 + i/I_s) over nine decades, fed by a current source.
    for ampere in [1e-12, 3e-9, 1e-6, 1e-4, 7e-3, 0.4] {
        let b = Builder::new();
        let mut n = Network::new(&b);
        let a = n.node("a");
        n.current_source("i", GROUND, a, b.constant(ampere));
        let curve = Curve::junction(b.constant(1e-14), b.constant(0.025_85));
        n.conductor("d", a, GROUND, curve);
        let s = n.solve().unwrap();
        let expected = 0.025_85 * elementary::ln(1.0 + ampere / 1e-14);
        close(s.voltage(a).nominal(), expected, 1e-9);
    }
}

#[test]
fn outputs_stop_at_their_swing_and_the_inputs_part() {
    // Gain 11 on ±5 V, 0.1 V from each supply. In the linear range 11·v;
    // beyond, the output stands and the inverting input with it at v/11.
    let b = Builder::new();
    let input = b.input("in", "V", 0.1);
    let mut n = Network::new(&b);
    let (vp, vn) = (n.node("V+"), n.node("V-"));
    let (i, f, o) = (n.node("in"), n.node("f"), n.node("out"));
    n.voltage_source("p", vp, GROUND, b.constant(5.0));
    n.voltage_source("n", vn, GROUND, b.constant(-5.0));
    n.voltage_source("s", i, GROUND, input);
    n.resistor("rf", o, f, b.constant(10e3));
    n.resistor("rg", f, GROUND, b.constant(1e3));
    let model = Amplifier {
        gain: Some(b.constant(1e5)),
        swing_low: Some(Swing::constant(b.constant(0.1))),
        swing_high: Some(Swing::constant(b.constant(0.1))),
        quiescent: Some(b.constant(1e-3)),
        ..Amplifier::ideal(&b)
    };
    n.amplifier("u", i, f, o, vp, vn, model);
    let s = n.solve().unwrap();
    let out = s.voltage(o);
    let margins = [CheckKind::OutputLow, CheckKind::OutputHigh].map(|k| check(&s, k).margin);
    let supplies = ["p", "n"].map(|e| s.current(e).unwrap());
    let tape = b.finish(&[
        out,
        s.voltage(f),
        margins[0],
        margins[1],
        supplies[0],
        supplies[1],
        s.current("u").unwrap(),
    ]);
    let gain = 11.0 / (1.0 + 11.0 / 1e5);
    for v in [-1.0, -0.4454, -0.2, 0.0, 0.1, 0.445, 0.446, 2.0] {
        let got = tape.values(&[v], Reading::Exact);
        let (out, current) = if (v * gain).abs() < 4.9 {
            (v * gain, v * gain / 11e3)
        } else {
            let out = 4.9 * v.signum();
            (out, out / 11e3)
        };
        // A limited amplifier keeps a tenth of a picovolt at its input per
        // volt its output stands above the low supply; here 11 times 10 V.
        assert!((got[0] - out).abs() < 1.2e-11);
        assert!((got[1] - out / 11.0).abs() < 1.2e-12);
        // What is sourced comes from V+, what is sunk goes to V−, and 1 mA
        // from one to the other: sources deliver, so their currents through
        // from plus to minus are negative; V− takes current in.
        close(got[4], -(1e-3 + current.max(0.0)), 1e-9);
        close(got[5], 1e-3 + (-current).max(0.0), 1e-9);
        close(got[6], current, 1e-9);
        assert_eq!(got[2] > 0.0, v * gain > -4.9, "{v} {}", got[2]);
        assert_eq!(got[3] > 0.0, v * gain < 4.9, "{v} {}", got[3]);
        // The slope is the gain within the swing and nothing beyond it.
        let slope = tape.gradient(&[v], 0, Reading::Exact)[0];
        let expected = if (v * gain).abs() < 4.9 { gain } else { 0.0 };
        assert!((slope - expected).abs() < 1e-8, "{v} {slope}");
    }
}

#[test]
fn a_comparator_goes_to_one_side() {
    let b = Builder::new();
    let input = b.input("in", "V", 1.0);
    let mut n = Network::new(&b);
    let (vp, i, r, o) = (n.node("V+"), n.node("in"), n.node("ref"), n.node("out"));
    n.voltage_source("p", vp, GROUND, b.constant(5.0));
    n.voltage_source("s", i, GROUND, input);
    n.voltage_source("r", r, GROUND, b.constant(2.5));
    n.resistor("load", o, GROUND, b.constant(10e3));
    let model = Amplifier {
        swing_low: Some(Swing::constant(b.constant(0.05))),
        swing_high: Some(Swing::constant(b.constant(0.1))),
        ..Amplifier::ideal(&b)
    };
    n.amplifier("u", i, r, o, vp, GROUND, model);
    let s = n.solve().unwrap();
    let tape = b.finish(&[s.voltage(o)]);
    for (v, out) in [(0.0, 0.05), (2.4999, 0.05), (2.5001, 4.9), (5.0, 4.9)] {
        close(tape.values(&[v], Reading::Exact)[0], out, 1e-12);
    }
}

#[test]
fn an_output_that_loads_its_own_supply_finds_its_balance() {
    // The supply reaches the amplifier through 100 Ω; the output drives
    // 1 kΩ. At the high swing, 0.1 V below what the supply then is:
    // v_s = 5 − 100·(1 mA + v/1 kΩ) and v = v_s − 0.1, so
    // v = (4.9 − 0.1)/1.1. Within the swing it follows the input, and the
    // supply stands at 5 − 100·(1 mA + v/1 kΩ).
    let b = Builder::new();
    let input = b.input("in", "V", 1.0);
    let mut n = Network::new(&b);
    let (v5, vs, i, o) = (n.node("5V"), n.node("Vs"), n.node("in"), n.node("out"));
    n.voltage_source("p", v5, GROUND, b.constant(5.0));
    n.resistor("filter", v5, vs, b.constant(100.0));
    n.voltage_source("s", i, GROUND, input);
    n.resistor("load", o, GROUND, b.constant(1e3));
    let model = Amplifier {
        swing_low: Some(Swing::constant(b.constant(0.05))),
        swing_high: Some(Swing::constant(b.constant(0.1))),
        quiescent: Some(b.constant(1e-3)),
        ..Amplifier::ideal(&b)
    };
    n.amplifier("u", i, o, o, vs, GROUND, model);
    let s = n.solve().unwrap();
    let tape = b.finish(&[s.voltage(o), s.voltage(vs), s.current("p").unwrap()]);
    for v in [-1.0, 0.02, 1.0, 4.0, 4.36, 4.37, 4.9, 7.0] {
        let out = f64::clamp(v, 0.05, 4.8 / 1.1);
        let got = tape.values(&[v], Reading::Exact);
        close(got[0], out, 1e-11);
        close(got[1], 5.0 - 100.0 * (1e-3 + out / 1e3), 1e-11);
        close(got[2], -(1e-3 + out / 1e3), 1e-9);
        let slope = tape.gradient(&[v], 0, Reading::Exact)[0];
        let expected = if v > 0.05 && v < 4.8 / 1.1 { 1.0 } else { 0.0 };
        assert!((slope - expected).abs() < 1e-9, "{v} {slope}");
    }
}

#[test]
fn an_output_gives_way_at_its_current_limit() {
    // 20 mA at the most into 50 Ω: 1 V, whatever the input asks for.
    let b = Builder::new();
    let input = b.input("in", "V", 3.0);
    let mut n = Network::new(&b);
    let (v5, i, o) = (n.node("5V"), n.node("in"), n.node("out"));
    n.voltage_source("p", v5, GROUND, b.constant(5.0));
    n.voltage_source("s", i, GROUND, input);
    n.resistor("load", o, GROUND, b.constant(50.0));
    let model = Amplifier {
        swing_high: Some(Swing::constant(b.constant(0.1)).with_limit(b.constant(20e-3))),
        ..Amplifier::ideal(&b)
    };
    n.amplifier("u", i, o, o, v5, GROUND, model);
    let s = n.solve().unwrap();
    let current = check(&s, CheckKind::OutputCurrent);
    close(current.margin.nominal(), 20e-3 - 60e-3, 1e-9);
    let tape = b.finish(&[s.voltage(o)]);
    for (v, out) in [
        (0.3, 0.3),
        (0.99, 0.99),
        (1.01, 1.0),
        (3.0, 1.0),
        (9.0, 1.0),
    ] {
        close(tape.values(&[v], Reading::Exact)[0], out, 1e-10);
    }
}

#[test]
fn inner_nodes_of_an_instrumentation_amplifier_use_the_first_stage_gain() {
    // V_cm ± G₁·V_d/2: 1 V common mode, 30 mV difference, first stage 50 of
    // a total 100: inner nodes at 1.75 V and 0.25 V; 0.05 V headrooms on 3 V.
    let b = Builder::new();
    let mut n = Network::new(&b);
    let (v3, p, m, out) = (n.node("3V"), n.node("p"), n.node("m"), n.node("out"));
    n.voltage_source("supply", v3, GROUND, b.constant(3.0));
    n.voltage_source("p", p, GROUND, b.constant(1.015));
    n.voltage_source("m", m, GROUND, b.constant(0.985));
    let c = |x: f64| b.constant(x);
    let model = Instrumentation {
        first_stage_gain: Some(c(50.0)),
        inner_low_headroom: Some(c(0.05)),
        inner_high_headroom: Some(c(0.05)),
        region: vec![
            (c(0.0), c(0.5)),
            (c(3.0), c(1.0)),
            (c(3.0), c(2.0)),
            (c(0.0), c(2.5)),
        ],
        ..Instrumentation::ideal(c(100.0))
    };
    n.instrumentation("u", p, m, GROUND, out, v3, GROUND, model);
    let s = n.solve().unwrap();
    close(s.voltage(out).nominal(), 3.0, 1e-12);
    close(check(&s, CheckKind::InnerLow).margin.nominal(), 0.2, 1e-12);
    close(check(&s, CheckKind::InnerHigh).margin.nominal(), 1.2, 1e-12);
    // The corner (3, 1) of the region is the output and common mode: on the
    // edge.
    let region = check(&s, CheckKind::CommonModeRegion).margin.nominal();
    assert!(region.abs() < 1e-12, "{region}");
}

#[test]
fn property_blocks_with_some_trials_saturated_give_the_bits_of_single_points() {
    let b = Builder::new();
    let input = b.input("in", "V", 2.0);
    let s = single_supply(&b, 10e3, 50e-6, input);
    let vin = b.input("over", "V", 1.0);
    let c = clamp(&b, vin);
    let tape = b.finish(&[
        s.voltage(s.find("out").unwrap()),
        s.current("u1").unwrap(),
        check(&s, CheckKind::OutputLow).margin,
        c.voltage(c.find("pin").unwrap()),
        c.current("schottky").unwrap(),
    ]);
    let lanes = 64;
    let mut block = Block::new(&tape, lanes);
    let at = |k: usize| [k as f64 * 0.12 - 2.0, k as f64 * 0.2 - 3.0];
    for k in 0..lanes {
        for (input, v) in at(k).into_iter().enumerate() {
            block.input_mut(input)[k] = v;
        }
    }
    block.run(&tape, Reading::Exact);
    assert_eq!(block.unsettled, 0);
    for k in 0..lanes {
        let values = tape.values(&at(k), Reading::Exact);
        for (output, v) in values.iter().enumerate() {
            assert_eq!(
                block.output(&tape, output)[k].to_bits(),
                v.to_bits(),
                "{k} {output}"
            );
        }
    }
    // Both states occur.
    let low = block.output(&tape, 2);
    assert!(low.iter().any(|m| *m > 0.0) && low.iter().any(|m| *m < 0.0));
}

#[test]
fn property_slopes_agree_with_differences_in_every_state() {
    let b = Builder::new();
    let input = b.input("in", "V", 2.0);
    let series = b.input("series", "Ω", 1e3);
    let knee = b.input("knee", "V", 0.3);
    let mut n = Network::new(&b);
    let (v5, vin, pin) = (n.node("5V"), n.node("in"), n.node("pin"));
    let (f, out) = (n.node("f"), n.node("out"));
    let c = |x: f64| b.constant(x);
    n.voltage_source("supply", v5, GROUND, c(5.0));
    n.voltage_source("signal", vin, GROUND, input);
    n.resistor("series", vin, pin, series);
    let diode = Curve::knee(&[(c(0.0), c(0.0)), (knee, c(1e-3)), (knee + 0.1, c(10e-3))]);
    n.conductor("diode", pin, v5, diode.unwrap());
    n.resistor("rf", out, f, c(10e3));
    n.resistor("rg", f, GROUND, c(15e3));
    n.resistor("load", out, GROUND, c(1e3));
    let model = Amplifier {
        gain: Some(c(1e5)),
        swing_low: Swing::points(&[(c(1e-4), c(0.02)), (c(5e-3), c(0.2))]),
        swing_high: Swing::points(&[(c(1e-4), c(0.02)), (c(5e-3), c(0.3))]),
        ..Amplifier::ideal(&b)
    };
    n.amplifier("u", pin, f, out, v5, GROUND, model);
    let s = n.solve().unwrap();
    let tape = b.finish(&[s.voltage(out), s.voltage(pin), s.current("u").unwrap()]);
    for v in [-0.5, 0.5, 2.0, 2.7, 3.5, 5.2, 5.6, 8.0] {
        let at = [v, 1e3, 0.3];
        let mut point = Point::default();
        point.evaluate(&tape, &at, Reading::Exact);
        assert_eq!(point.unsettled, 0, "{v}");
        for output in 0..3 {
            let slopes = tape.gradient(&at, output, Reading::Exact);
            for (k, step) in [1e-5, 1e-2, 1e-6].into_iter().enumerate() {
                let shifted = |by: f64| {
                    let mut at = at;
                    at[k] += by;
                    tape.values(&at, Reading::Exact)[output]
                };
                let difference = (shifted(step) - shifted(-step)) / (2.0 * step);
                let scale = slopes[k].abs().max(difference.abs());
                assert!(
                    (difference - slopes[k]).abs() < 1e-6 * scale + 1e-9,
                    "{v} {output} {k}: {difference} {}",
                    slopes[k]
                );
            }
        }
    }
}
