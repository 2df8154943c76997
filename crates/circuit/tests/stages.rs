//! Stages and elements against equations derived by hand from the drawing.
#![allow(clippy::unwrap_used, reason = "tests")]

use circuit::{Amplifier, CheckKind, Fault, Network, Node, Swing};
use tape::{Builder, Reading};

const GROUND: Node = Node::GROUND;

fn close(value: f64, expected: f64, relative: f64) {
    assert!(
        (value - expected).abs() <= relative * expected.abs() + 1e-18,
        "{value} is not {expected}"
    );
}

#[test]
fn published_second_divider() {
    // 5 V, 10 kΩ over 3.3 kΩ: 1.240602 V, 2481.20 Ω behind it (Horowitz and
    // Hill, The Art of Electronics, ch. 1, from memory).
    let b = Builder::new();
    let mut n = Network::new(&b);
    let (s, o) = (n.node("s"), n.node("o"));
    let load = b.input("load", "A", 0.0);
    n.voltage_source("v", s, GROUND, b.constant(5.0));
    n.resistor("top", s, o, b.constant(10e3));
    n.resistor("bottom", o, GROUND, b.constant(3.3e3));
    n.current_source("load", o, GROUND, load);
    let solution = n.solve().unwrap();
    let tape = b.finish(&[solution.voltage(o)]);
    close(tape.values(&[0.0], Reading::Exact)[0], 1.240_602, 1e-6);
    close(-tape.gradient(&[0.0], 0, Reading::Exact)[0], 2481.20, 1e-5);
}

#[test]
fn published_worst_case_of_a_divider() {
    // 1 % parts: ±1.0 % at a ratio of one half, +1.5114 % and −1.4962 % of
    // the 10 kΩ over 3.3 kΩ divider (Horowitz and Hill, from memory).
    let ratio = |top: f64, bottom: f64| {
        let b = Builder::new();
        let mut n = Network::new(&b);
        let (s, o) = (n.node("s"), n.node("o"));
        n.voltage_source("v", s, GROUND, b.one());
        n.resistor("top", s, o, b.constant(top));
        n.resistor("bottom", o, GROUND, b.constant(bottom));
        n.solve().unwrap().voltage(o).nominal()
    };
    for (top, bottom, up, down) in [(1e4, 1e4, 0.01, -0.01), (1e4, 3.3e3, 0.015_114, -0.014_962)] {
        let middle = ratio(top, bottom);
        close(ratio(top * 0.99, bottom * 1.01) / middle - 1.0, up, 1e-4);
        close(ratio(top * 1.01, bottom * 0.99) / middle - 1.0, down, 1e-4);
    }
}

/// Bridge of 350 Ω arms changed by the given relative amounts: e–p, p–ground,
/// e–m, m–ground; its output per volt.
fn bridge(arms: [f64; 4], ohm: f64, volt: f64) -> f64 {
    let b = Builder::new();
    let mut n = Network::new(&b);
    let (e, p, m) = (n.node("e"), n.node("p"), n.node("m"));
    n.voltage_source("v", e, GROUND, b.constant(volt));
    let places = [(e, p), (p, GROUND), (e, m), (m, GROUND)];
    for (k, (change, (x, y))) in arms.iter().zip(places).enumerate() {
        n.resistor(&format!("r{k}"), x, y, b.constant(ohm * (1.0 + change)));
    }
    n.solve().unwrap().between(p, m).nominal()
}

#[test]
fn published_strain_gauge_bridges() {
    // Gauge factor 2, 1000 µm/m, so x = 0.002; Poisson's ratio 0.3. Closed
    // forms: quarter x/(4 + 2x), half bending x/2, half Poisson
    // x(1+v)/(4 + 2x(1−v)), full bending x, full Poisson x(1+v)/(2 + x(1−v)).
    let (x, v) = (0.002, 0.3);
    let per_volt = |arms| bridge(arms, 350.0, 1.0) * 1e3;
    close(per_volt([0.0, x, 0.0, 0.0]), 0.499_500, 2e-6);
    close(per_volt([-x, x, 0.0, 0.0]), 1.0, 1e-12);
    close(per_volt([-x, x, x, -x]), 2.0, 1e-12);
    close(per_volt([-v * x, x, 0.0, 0.0]), 0.649_545, 1e-6);
    close(per_volt([-v * x, x, x, -v * x]), 1.299_091, 1e-6);
    // Diaphragm with four active gauges of 120 Ω, gauge factor 2.1, ±1e-5,
    // 10 V: 0.21 mV (textbook problem, tutorbin.com, diaphragm pressure
    // gauge).
    let x = 2.1e-5;
    close(bridge([-x, x, x, -x], 120.0, 10.0), 0.21e-3, 1e-9);
    // A load cell of 2 mV/V at 5 V gives 10 mV.
    close(bridge([-2e-3, 2e-3, 2e-3, -2e-3], 350.0, 5.0), 10e-3, 1e-12);
}

#[test]
fn published_loop_current_over_165_ohm() {
    // 4, 20 and 21 mA: 0.66, 3.30 and 3.465 V.
    for (i, volt) in [(4e-3, 0.66), (20e-3, 3.30), (21e-3, 3.465)] {
        let b = Builder::new();
        let mut n = Network::new(&b);
        let (supply, o) = (n.node("24V"), n.node("o"));
        n.voltage_source("v", supply, GROUND, b.constant(24.0));
        n.current_source("transmitter", supply, o, b.constant(i));
        n.resistor("shunt", o, GROUND, b.constant(165.0));
        let s = n.solve().unwrap();
        close(s.voltage(o).nominal(), volt, 1e-12);
        close(s.current("v").unwrap().nominal(), -i, 1e-12);
        close(s.power("shunt").unwrap().nominal(), volt * i, 1e-12);
        close(s.power("v").unwrap().nominal(), -24.0 * i, 1e-12);
    }
}

#[test]
fn published_common_mode_error_at_the_input() {
    // 2.5 V common mode at 60, 80, 90, 100, 120 dB: 2.5 mV, 250, 79.057, 25,
    // 2.5 µV (Horowitz and Hill, from memory). Seen on a unity-gain buffer:
    // v(1 − 1/(2·CMRR)) = in·(1 + 1/(2·CMRR)), so out − in = in/CMRR to first
    // order.
    for (db, error) in [
        (60.0, 2.5e-3),
        (80.0, 250e-6),
        (90.0, 79.057e-6),
        (100.0, 25e-6),
        (120.0, 2.5e-6),
    ] {
        let b = Builder::new();
        let mut n = Network::new(&b);
        let (i, o) = (n.node("i"), n.node("o"));
        n.voltage_source("v", i, GROUND, b.constant(2.5));
        let ratio = elementary::exp(elementary::ln(10.0) * db / 20.0);
        let model = Amplifier {
            common_mode_error: Some(b.constant(1.0 / ratio)),
            ..Amplifier::ideal(&b)
        };
        n.amplifier("a", i, o, o, GROUND, GROUND, model);
        let out = n.solve().unwrap().voltage(o).nominal();
        close(out - 2.5, error, 0.6 / ratio + 1e-5);
        let half = 0.5 / ratio;
        close(out, 2.5 * (1.0 + half) / (1.0 - half), 1e-14);
    }
}

#[test]
fn inverting_stage_with_every_error() {
    // R1 from the input to the summing node m, Rf from the output to m, Rp
    // from the non-inverting pin to ground; bias currents into both pins.
    // Pin: v₊ = −I₊·Rp. Amplifier: v₊ − v₋ + V_os + (v₊+v₋)/(2C) = o/A.
    // Node m: (i − m)/R1 + (o − m)/Rf = I₋.
    // With p = 1 + 1/(2C), q = 1 − 1/(2C): m = (p·v₊ + V_os − o/A)/q, and
    // o·(1/Rf + (1/R1 + 1/Rf)/(q·A)) =
    //   I₋ − i/R1 + (1/R1 + 1/Rf)·(p·v₊ + V_os)/q.
    let (r1, rf, rp) = (2e3, 47e3, 1.9e3);
    let (a, c, offset, plus, minus) = (2e4, 3e3, 1.3e-3, 60e-9, 85e-9);
    let b = Builder::new();
    let input = b.input("in", "V", 0.1);
    let mut n = Network::new(&b);
    let (i, m, p, o) = (n.node("i"), n.node("m"), n.node("p"), n.node("o"));
    n.voltage_source("v", i, GROUND, input);
    n.resistor("r1", i, m, b.constant(r1));
    n.resistor("rf", o, m, b.constant(rf));
    n.resistor("rp", p, GROUND, b.constant(rp));
    let model = Amplifier {
        offset_v: b.constant(offset),
        bias_plus_a: b.constant(plus),
        bias_minus_a: b.constant(minus),
        gain: Some(b.constant(a)),
        common_mode_error: Some(b.constant(1.0 / c)),
        ..Amplifier::ideal(&b)
    };
    n.amplifier("u", p, m, o, GROUND, GROUND, model);
    let s = n.solve().unwrap();
    let tape = b.finish(&[s.voltage(o), s.current("u").unwrap()]);
    for v in [-0.2, 0.0, 0.1] {
        let (up, down) = (1.0 + 0.5 / c, 1.0 - 0.5 / c);
        let g = 1.0 / r1 + 1.0 / rf;
        let right = minus - v / r1 + g * (up * (-plus * rp) + offset) / down;
        let out = right / (1.0 / rf + g / (down * a));
        let m = (up * (-plus * rp) + offset - out / a) / down;
        let got = tape.values(&[v], Reading::Exact);
        close(got[0], out, 1e-12);
        // What the output gives goes through Rf alone.
        close(got[1], (out - m) / rf, 1e-10);
    }
}

#[test]
fn supply_rejection_and_input_resistance() {
    // Buffer from 1 MΩ: the supply 0.3 V off at 60 dB adds 0.3 mV at the
    // input; 10 MΩ between the inputs carries (i − v₊)/1 MΩ, so with
    // e = v₋ − v₊ = 0.3 mV: v₊ = i + e·0.1 and o = v₊ + e = i + 1.1·e.
    let b = Builder::new();
    let mut n = Network::new(&b);
    let (i, p, o) = (n.node("i"), n.node("p"), n.node("o"));
    n.voltage_source("v", i, GROUND, b.one());
    n.resistor("source", i, p, b.constant(1e6));
    let model = Amplifier {
        supply_error: Some(b.constant(1e-3)),
        supply_deviation_v: Some(b.constant(0.3)),
        input_resistance: Some(b.constant(10e6)),
        ..Amplifier::ideal(&b)
    };
    n.amplifier("u", p, o, o, GROUND, GROUND, model);
    let out = n.solve().unwrap().voltage(o).nominal();
    close(out - 1.0, 1.1 * 0.3e-3, 1e-11);
}

#[test]
fn the_common_mode_counts_from_where_the_offset_is_stated() {
    // Offset stated at 1.5 V: at 1.5 V only the offset is seen, at 2.5 V
    // 1 V/CMRR more (to first order in 1/CMRR, hence 1e-3 of it).
    let at = |input: f64| {
        let b = Builder::new();
        let mut n = Network::new(&b);
        let (i, o) = (n.node("i"), n.node("o"));
        n.voltage_source("v", i, GROUND, b.constant(input));
        let model = Amplifier {
            offset_v: b.constant(1e-3),
            offset_common_mode_v: Some(b.constant(1.5)),
            common_mode_error: Some(b.constant(1.0 / 1e4)),
            ..Amplifier::ideal(&b)
        };
        n.amplifier("u", i, o, o, GROUND, GROUND, model);
        n.solve().unwrap().voltage(o).nominal() - input
    };
    close(at(1.5), 1e-3, 1e-3);
    close(at(2.5) - at(1.5), 1e-4, 1e-3);
}

#[test]
fn three_amplifiers_make_an_instrumentation_amplifier() {
    // Inner nodes: the current (p − m)/Rg flows through both R, so
    // a = p + R·(p − m)/Rg, c = m − R·(p − m)/Rg; the difference stage gives
    // (a − c)·R4/R3 + ref: (1 + 2R/Rg)·(R4/R3)·(p − m) + ref.
    let (r, rg, r3, r4) = (24.9e3, 1e3, 10e3, 20e3);
    let (vp, vm, vref) = (2.513, 2.487, 1.25);
    let b = Builder::new();
    let mut n = Network::new(&b);
    let c = |x: f64| b.constant(x);
    let names = ["p", "m", "a", "c", "s", "t", "x", "y", "ref", "o"];
    let [p, m, a, e, s, t, x, y, reference, o] = names.map(|k| n.node(k));
    n.voltage_source("vp", p, GROUND, c(vp));
    n.voltage_source("vm", m, GROUND, c(vm));
    n.voltage_source("vref", reference, GROUND, c(vref));
    n.resistor("ra", a, s, c(r));
    n.resistor("rg", s, t, c(rg));
    n.resistor("rc", t, e, c(r));
    n.amplifier("u1", p, s, a, GROUND, GROUND, Amplifier::ideal(&b));
    n.amplifier("u2", m, t, e, GROUND, GROUND, Amplifier::ideal(&b));
    n.resistor("r3a", e, x, c(r3));
    n.resistor("r4a", x, o, c(r4));
    n.resistor("r3b", a, y, c(r3));
    n.resistor("r4b", y, reference, c(r4));
    n.amplifier("u3", y, x, o, GROUND, GROUND, Amplifier::ideal(&b));
    let solution = n.solve().unwrap();
    let d = vp - vm;
    close(solution.voltage(a).nominal(), vp + r * d / rg, 1e-12);
    close(solution.voltage(e).nominal(), vm - r * d / rg, 1e-12);
    let out = (1.0 + 2.0 * r / rg) * (r4 / r3) * d + vref;
    close(solution.voltage(o).nominal(), out, 1e-12);
    assert!(solution.checks().is_empty());
}

#[test]
fn transimpedance_and_summing_stages() {
    // 50 nA through 1 MΩ gives 50 mV; a bias current of the inverting pin
    // adds to it. Summing: −Rf·(v1/R1 + v2/R2) about the level at the
    // non-inverting pin: v·(1 + Rf/R1 + Rf/R2) − Rf·(v1/R1 + v2/R2).
    let b = Builder::new();
    let mut n = Network::new(&b);
    let (s, o) = (n.node("s"), n.node("o"));
    n.current_source("photo", s, GROUND, b.constant(50e-9));
    n.resistor("rf", o, s, b.constant(1e6));
    let model = Amplifier {
        bias_minus_a: b.constant(1e-9),
        ..Amplifier::ideal(&b)
    };
    n.amplifier("u", GROUND, s, o, GROUND, GROUND, model);
    close(n.solve().unwrap().voltage(o).nominal(), 51e-3, 1e-12);

    let (rf, r1, r2, v1, v2, v) = (10e3, 4.7e3, 22e3, 0.4, -1.1, 0.3);
    let mut n = Network::new(&b);
    let [s, o, a, e, level] = ["s", "o", "a", "e", "level"].map(|k| n.node(k));
    n.voltage_source("v1", a, GROUND, b.constant(v1));
    n.voltage_source("v2", e, GROUND, b.constant(v2));
    n.voltage_source("v", level, GROUND, b.constant(v));
    n.resistor("rf", o, s, b.constant(rf));
    n.resistor("r1", a, s, b.constant(r1));
    n.resistor("r2", e, s, b.constant(r2));
    n.amplifier("u", level, s, o, GROUND, GROUND, Amplifier::ideal(&b));
    let out = v * (1.0 + rf / r1 + rf / r2) - rf * (v1 / r1 + v2 / r2);
    close(n.solve().unwrap().voltage(o).nominal(), out, 1e-12);
}

#[test]
fn controlled_sources_by_hand() {
    let b = Builder::new();
    let c = |x: f64| b.constant(x);
    // Voltage by voltage, floating: 2 V on the control, ×3 in series with
    // 1 kΩ and 2 kΩ: 6 V/3 kΩ = 2 mA.
    let mut n = Network::new(&b);
    let [k, x, y] = ["k", "x", "y"].map(|k| n.node(k));
    n.voltage_source("v", k, GROUND, c(2.0));
    n.resistor("r1", GROUND, x, c(1e3));
    n.controlled_voltage("e", y, x, k, GROUND, c(3.0));
    n.resistor("r2", y, GROUND, c(2e3));
    let s = n.solve().unwrap();
    close(s.current("r2").unwrap().nominal(), 2e-3, 1e-13);
    close(s.voltage(x).nominal(), -2.0, 1e-13);
    close(s.current("e").unwrap().nominal(), -2e-3, 1e-13);
    // Current by voltage in a loop with itself: a conductance. 1 mA into
    // 1 kΩ beside g = 1 mS: 0.5 V.
    let mut n = Network::new(&b);
    let x = n.node("x");
    n.current_source("i", GROUND, x, c(1e-3));
    n.resistor("r", x, GROUND, c(1e3));
    n.controlled_current("g", x, GROUND, x, GROUND, c(1e-3));
    let s = n.solve().unwrap();
    close(s.voltage(x).nominal(), 0.5, 1e-13);
    close(s.current("g").unwrap().nominal(), 0.5e-3, 1e-13);
    // Current mirror by a zero-volt source, and a voltage by a resistor's
    // current: 5 V over 10 kΩ gives 0.5 mA; ×2 into 3 kΩ: 3 V; 4 kΩ·0.5 mA:
    // 2 V.
    let mut n = Network::new(&b);
    let [a, m, o, q] = ["a", "m", "o", "q"].map(|k| n.node(k));
    n.voltage_source("v", a, GROUND, c(5.0));
    n.resistor("r", a, m, c(10e3));
    n.voltage_source("sense", m, GROUND, c(0.0));
    n.current_controlled_current("f", GROUND, o, "sense", c(2.0));
    n.resistor("load", o, GROUND, c(3e3));
    n.current_controlled_voltage("h", q, GROUND, "r", c(4e3));
    let s = n.solve().unwrap();
    close(s.voltage(o).nominal(), 3.0, 1e-13);
    close(s.voltage(q).nominal(), 2.0, 1e-13);
    close(s.current("f").unwrap().nominal(), 1e-3, 1e-13);
}

#[test]
fn switches_shorts_and_leakage() {
    let b = Builder::new();
    let c = |x: f64| b.constant(x);
    let out = |closed: bool| {
        let mut n = Network::new(&b);
        let [s, m, o] = ["s", "m", "o"].map(|k| n.node(k));
        n.voltage_source("v", s, GROUND, c(3.0));
        n.switch("sw", s, m, closed, c(50.0), c(1e9));
        n.resistor("r", m, o, c(950.0));
        n.resistor("link", o, GROUND, c(0.0));
        n.capacitor("c", m, GROUND, c(1e-6), Some(c(500e6)));
        n.capacitor("d", s, m, c(1e-6), None);
        let s = n.solve().unwrap();
        (
            s.voltage(m).nominal(),
            s.current("link").unwrap().nominal(),
            s.current("c").unwrap().nominal(),
        )
    };
    // 950 Ω beside 500 MΩ below, 50 Ω or 1 GΩ above.
    let below = 1.0 / (1.0 / 950.0 + 1.0 / 500e6);
    for (closed, above) in [(true, 50.0), (false, 1e9)] {
        let m = 3.0 * below / (below + above);
        let got = out(closed);
        close(got.0, m, 1e-13);
        close(got.1, m / 950.0, 1e-12);
        close(got.2, m / 500e6, 1e-13);
    }
}

#[test]
fn a_resistance_about_zero_is_exact_through_zero() {
    // A stray resistance of nominally nothing in series with 1 kΩ.
    let b = Builder::new();
    let stray = b.input("stray", "Ω", 0.0);
    let mut n = Network::new(&b);
    let [s, m] = ["s", "m"].map(|k| n.node(k));
    n.voltage_source("v", s, GROUND, b.constant(2.0));
    n.resistor("stray", s, m, stray);
    n.resistor("r", m, GROUND, b.constant(1e3));
    let solution = n.solve().unwrap();
    let tape = b.finish(&[solution.voltage(m), solution.current("stray").unwrap()]);
    for r in [0.0, 1e-3, 0.5, 1e3] {
        let got = tape.values(&[r], Reading::Exact);
        close(got[0], 2.0 * 1e3 / (1e3 + r), 1e-13);
        close(got[1], 2.0 / (1e3 + r), 1e-12);
        let slope = tape.gradient(&[r], 0, Reading::Exact)[0];
        close(slope, -2.0 * 1e3 / ((1e3 + r) * (1e3 + r)), 1e-11);
    }
}

#[test]
fn a_gigaohm_beside_a_milliohm_keeps_its_digits() {
    // 100 MΩ source, 0.1 mΩ lead, 1 TΩ load: v = 1/(1 + (1e8 + 1e-4)/1e12).
    // The usual elimination forms 1e4 S + 1e-12 S − 1e4 S on the way.
    let b = Builder::new();
    let mut n = Network::new(&b);
    let [s, x, y] = ["s", "x", "y"].map(|k| n.node(k));
    n.voltage_source("v", s, GROUND, b.one());
    n.resistor("source", s, x, b.constant(100e6));
    n.resistor("lead", x, y, b.constant(1e-4));
    n.resistor("load", y, GROUND, b.constant(1e12));
    let v = n.solve().unwrap().voltage(y).nominal();
    close(v, 1.0 / (1.0 + (1e8 + 1e-4) / 1e12), 1e-15);
}

#[test]
fn swapped_inputs_drive_the_output_to_a_supply() {
    // A buffer with its inputs exchanged: the point at which out = in exists
    // but is left at once; the output goes to the supply that is nearer on
    // the way it is pushed, and the check says so.
    let b = Builder::new();
    let input = b.input("in", "V", 1.0);
    let mut n = Network::new(&b);
    let [vs, i, o] = ["vs", "i", "o"].map(|k| n.node(k));
    n.voltage_source("p", vs, GROUND, b.constant(5.0));
    n.voltage_source("v", i, GROUND, input);
    let swing = || Some(Swing::constant(b.constant(0.1)));
    let model = Amplifier {
        gain: Some(b.constant(1e5)),
        swing_low: swing(),
        swing_high: swing(),
        ..Amplifier::ideal(&b)
    };
    n.amplifier("u", o, i, o, vs, GROUND, model);
    let s = n.solve().unwrap();
    let margins = [CheckKind::OutputLow, CheckKind::OutputHigh].map(|kind| {
        let found = s.checks().iter().find(|c| c.kind == kind);
        found.unwrap().margin
    });
    let tape = b.finish(&[s.voltage(o), margins[0], margins[1]]);
    for v in [0.5, 1.0, 2.4, 2.6, 4.0] {
        let got = tape.values(&[v], Reading::Exact);
        assert!(
            got[0] == 0.1 || (got[0] - 4.9).abs() < 1e-12,
            "{v} {}",
            got[0]
        );
        assert!(got[1].min(got[2]) < 0.0, "{v} {got:?}");
    }
}

#[test]
fn a_nominal_order_that_goes_bad_is_noticed_and_repeated() {
    // Two sources controlled by each other's and their own output:
    // x = 1 + a·x + y, y = 1 + x + d·y, that is (1 − a)·x − y = 1 and
    // −x + (1 − d)·y = 1. Nominally a = d = −1: pivots of 2. At a = d = 1 the
    // pivots vanish; x = y = −1.
    let b = Builder::new();
    let a = b.input("a", "", -1.0);
    let d = b.input("d", "", -1.0);
    let mut n = Network::new(&b);
    let names = ["x0", "x1", "x2", "y0", "y1", "y2"];
    let [x0, x1, x2, y0, y1, y2] = names.map(|k| n.node(k));
    let one = b.one();
    n.voltage_source("v", x0, GROUND, one);
    n.voltage_source("w", y0, GROUND, one);
    n.controlled_voltage("xx", x1, x0, x2, GROUND, a);
    n.controlled_voltage("xy", x2, x1, y2, GROUND, one);
    n.controlled_voltage("yx", y1, y0, x2, GROUND, one);
    n.controlled_voltage("yy", y2, y1, y2, GROUND, d);
    for (k, node) in [x2, y2].into_iter().enumerate() {
        n.resistor(&format!("r{k}"), node, GROUND, b.constant(1e3));
    }
    let s = n.solve().unwrap();
    let tape = b.finish(&[s.voltage(x2), s.voltage(y2)]);
    let mut repeated = 0;
    for (a, d) in [
        (-1.0, -1.0),
        (1.0, 1.0),
        (1.0, -1.0),
        (0.5, 1.0),
        (1.0 - 1e-13, 1.0),
    ] {
        let mut point = tape::Point::default();
        point.evaluate(&tape, &[a, d], Reading::Exact);
        repeated += point.resolved;
        let det = (1.0 - a) * (1.0 - d) - 1.0;
        let (x, y) = ((2.0 - d) / det, (2.0 - a) / det);
        close(point.output(&tape, 0), x, 1e-11);
        close(point.output(&tape, 1), y, 1e-11);
        // dx/da from x = (2 − d)/det, d(det)/da = −(1 − d).
        let mut slopes = [0.0; 2];
        point.gradient(&tape, 0, Reading::Exact, &mut slopes);
        close(slopes[0], (2.0 - d) * (1.0 - d) / (det * det), 1e-9);
    }
    assert!(repeated > 0, "no trial needed the repeated elimination");
}

#[test]
fn faults_name_nodes_elements_and_the_cure() {
    let b = Builder::new();
    let c = |x: f64| b.constant(x);
    // A current source into nothing.
    let mut n = Network::new(&b);
    let x = n.node("x");
    n.current_source("i", GROUND, x, c(1e-3));
    match n.solve().err() {
        Some(Fault::Singular {
            unknowns,
            elements,
            hint,
        }) => {
            assert_eq!(unknowns, ["the voltage at x"]);
            assert_eq!(elements, ["i"]);
            assert_eq!(hint, "a resistor from x to ground");
        }
        other => assert!(other.is_none(), "{other:?}"),
    }
    // A capacitor alone leads no direct current.
    let mut n = Network::new(&b);
    let [s, x] = ["s", "x"].map(|k| n.node(k));
    n.voltage_source("v", s, GROUND, c(1.0));
    n.capacitor("c", s, x, c(1e-6), None);
    assert_eq!(
        n.solve().err(),
        Some(Fault::Floating {
            nodes: vec!["x".to_owned()]
        })
    );
    // A source across a wire link; two links side by side are no fault.
    let mut n = Network::new(&b);
    let [s, x] = ["s", "x"].map(|k| n.node(k));
    n.voltage_source("v", s, GROUND, c(1.0));
    n.resistor("link1", s, x, c(0.0));
    n.resistor("link2", s, x, c(0.0));
    n.resistor("r", x, GROUND, c(1e3));
    let solution = n.solve().unwrap();
    close(solution.voltage(x).nominal(), 1.0, 1e-15);
    assert!(solution.current("link2").is_none());
    let mut n = Network::new(&b);
    let s = n.node("s");
    n.voltage_source("v", s, GROUND, c(1.0));
    n.resistor("link", s, GROUND, c(0.0));
    let fault = n.solve().err();
    assert!(
        matches!(&fault, Some(Fault::Singular { elements, .. }) if elements == &["link", "v"]),
        "{fault:?}"
    );
    // A perfect amplifier without feedback or limits.
    let mut n = Network::new(&b);
    let [i, o] = ["i", "o"].map(|k| n.node(k));
    n.voltage_source("v", i, GROUND, c(1.0));
    n.resistor("r", o, GROUND, c(1e3));
    n.amplifier("u", i, GROUND, o, GROUND, GROUND, Amplifier::ideal(&b));
    let fault = n.solve().err();
    assert!(
        matches!(&fault, Some(Fault::Singular { elements, hint, .. })
            if elements == &["u"] && hint.contains("inverting input of u")),
        "{fault:?}"
    );
    // Names.
    let mut n = Network::new(&b);
    let x = n.node("x");
    n.resistor("r", x, GROUND, c(1.0));
    n.current_controlled_current("f", GROUND, x, "nobody", c(1.0));
    assert_eq!(
        n.solve().err(),
        Some(Fault::UnknownElement {
            element: "f".to_owned(),
            control: "nobody".to_owned()
        })
    );
    let mut n = Network::new(&b);
    let x = n.node("x");
    n.resistor("r", x, GROUND, c(1.0));
    n.resistor("r", x, GROUND, c(1.0));
    assert_eq!(
        n.solve().err(),
        Some(Fault::Repeated {
            element: "r".to_owned()
        })
    );
    let mut n = Network::new(&b);
    let x = n.node("x");
    n.resistor("r", x, GROUND, c(-5.0));
    assert!(matches!(n.solve().err(), Some(Fault::Impossible { .. })));
    // A node that is not this network's.
    let mut other = Network::new(&b);
    let far = ["x", "y", "z"].map(|k| other.node(k))[2];
    let mut n = Network::new(&b);
    n.resistor("r", far, GROUND, c(5.0));
    assert_eq!(
        n.solve().err(),
        Some(Fault::ForeignNode {
            element: "r".to_owned()
        })
    );
}

#[test]
fn at_direct_current_a_capacitor_is_open_and_an_inductor_a_short() {
    // 10 V over 1 kΩ and the inductor into 3 kΩ: 7.5 V. Through the 1 µF
    // beside the load only its insulation of 6 kΩ conducts: 2 kΩ, 6.667 V.
    let at = |leakage: Option<f64>| {
        let b = Builder::new();
        let mut n = Network::new(&b);
        let (s, x, o) = (n.node("s"), n.node("x"), n.node("o"));
        n.voltage_source("v", s, GROUND, b.constant(10.0));
        n.resistor("r", s, x, b.constant(1e3));
        n.inductor("l", x, o, b.constant(1e-3));
        n.resistor("load", o, GROUND, b.constant(3e3));
        let leakage = leakage.map(|ohm| b.constant(ohm));
        n.capacitor("c", o, GROUND, b.constant(1e-6), leakage);
        let solution = n.solve().unwrap();
        let through = solution.current("l").unwrap().nominal();
        (solution.voltage(o).nominal(), through)
    };
    close(at(None).0, 7.5, 1e-15);
    close(at(None).1, 2.5e-3, 1e-14);
    close(at(Some(6e3)).0, 20.0 / 3.0, 1e-14);
}

#[test]
fn a_negative_capacitance_or_inductance_is_refused() {
    let b = Builder::new();
    let mut n = Network::new(&b);
    let o = n.node("o");
    n.resistor("r", o, GROUND, b.constant(1e3));
    n.capacitor("c", o, GROUND, b.constant(-1e-9), None);
    let fault = n.solve().map(|_| ()).unwrap_err();
    assert_eq!(
        fault.to_string(),
        "c cannot have a capacitance of -0.000000001"
    );
    let mut n = Network::new(&b);
    let o = n.node("o");
    n.inductor("l", o, GROUND, b.constant(f64::NAN));
    let fault = n.solve().map(|_| ()).unwrap_err();
    assert!(matches!(
        fault,
        Fault::Impossible {
            property: "inductance",
            ..
        }
    ));
}
