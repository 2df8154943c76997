//! Elements and stages against equations derived by hand from the drawing and
//! against published numbers.
#![allow(clippy::unwrap_used, reason = "tests")]

use circuit::{Amplifier, Fault, Network, Node};
use tape::{Builder, Reading};

fn with_gain(b: &Builder, gain: f64) -> Amplifier<'_> {
    Amplifier {
        gain: Some(b.constant(gain)),
        ..Amplifier::ideal(b)
    }
}

#[test]
fn published_divider_with_source_resistance() {
    // 5 V, source 1 kΩ, 10 kΩ over 15 kΩ: 2.884615 V, Thévenin 6346.15 Ω
    // (Horowitz and Hill, The Art of Electronics, ch. 1, from memory;
    // 5·15/26, 15‖11 by hand).
    let b = Builder::new();
    let out = |load: f64| {
        let mut n = Network::new(&b);
        let (s, m, o) = (n.node("s"), n.node("m"), n.node("o"));
        n.voltage_source("v", s, Node::GROUND, b.constant(5.0));
        n.resistor("rs", s, m, b.constant(1e3));
        n.resistor("r1", m, o, b.constant(10e3));
        n.resistor("r2", o, Node::GROUND, b.constant(15e3));
        n.current_source("load", o, Node::GROUND, b.constant(load));
        n.solve().unwrap().voltage(o).nominal()
    };
    assert!((out(0.0) - 2.884_615_384).abs() < 1e-9);
    assert!(((out(0.0) - out(1e-6)) / 1e-6 - 6_346.153_846).abs() < 1e-3);
}

#[test]
fn published_loaded_half_supply_divider() {
    // A reported case: 3.3 V through 100 kΩ/100 kΩ (then 1 MΩ/1 MΩ) into a
    // board divider of 220 kΩ over 100 kΩ at a 10-bit converter of 1.0 V:
    // codes 457 and 206, node at 1.427 V and 0.644 V.
    for (r, volt, code) in [(100e3, 1.427, 456.6), (1e6, 0.644, 206.0)] {
        let b = Builder::new();
        let mut n = Network::new(&b);
        let (s, m, o) = (n.node("s"), n.node("m"), n.node("o"));
        n.voltage_source("v", s, Node::GROUND, b.constant(3.3));
        n.resistor("ra", s, m, b.constant(r));
        n.resistor("rb", m, Node::GROUND, b.constant(r));
        n.resistor("top", m, o, b.constant(220e3));
        n.resistor("bottom", o, Node::GROUND, b.constant(100e3));
        let solution = n.solve().unwrap();
        assert!((solution.voltage(m).nominal() - volt).abs() < 0.001);
        assert!((solution.voltage(o).nominal() * 1024.0 - code).abs() < 0.1);
    }
}

#[test]
fn published_finite_open_loop_gain() {
    // G/(1 + G/A): A = 1e5, G = 10 and 100 give 9.999000 and 99.900100;
    // A = 1e4, G = 100 gives 99.009901 (Horowitz and Hill, from memory).
    for (a, g, expected) in [
        (1e5, 10.0, 9.999_000_099),
        (1e5, 100.0, 99.900_099_9),
        (1e4, 100.0, 99.009_900_99),
    ] {
        let b = Builder::new();
        let mut n = Network::new(&b);
        let (i, f, o) = (n.node("in"), n.node("feedback"), n.node("out"));
        n.voltage_source("v", i, Node::GROUND, b.constant(1.0));
        n.resistor("rf", o, f, b.constant((g - 1.0) * 1e3));
        n.resistor("rg", f, Node::GROUND, b.constant(1e3));
        n.amplifier("a", i, f, o, Node::GROUND, Node::GROUND, with_gain(&b, a));
        let v = n.solve().unwrap().voltage(o).nominal();
        assert!((v - expected).abs() < 1e-6 * expected, "{v}");
    }
}

#[test]
fn published_difference_amplifier_rejection() {
    // Four resistors, worst mismatch: CMRR = (1 + G)/(4·tol); 0.1 % at G = 1
    // is 53.979 dB, 1 % 33.979 dB, 0.1 % at G = 10 68.787 dB (textbook rule,
    // from memory). First order in the tolerance, hence 1 % slack.
    for (tol, g, db) in [
        (1e-3, 1.0, 53.979),
        (1e-2, 1.0, 33.979),
        (1e-3, 10.0, 68.787),
    ] {
        let b = Builder::new();
        let mut n = Network::new(&b);
        let (i, p, m, o) = (n.node("in"), n.node("p"), n.node("m"), n.node("o"));
        n.voltage_source("v", i, Node::GROUND, b.constant(1.0));
        n.resistor("r1", i, m, b.constant(1e3 * (1.0 - tol)));
        n.resistor("r2", m, o, b.constant(1e3 * g * (1.0 + tol)));
        n.resistor("r3", i, p, b.constant(1e3 * (1.0 + tol)));
        n.resistor("r4", p, Node::GROUND, b.constant(1e3 * g * (1.0 - tol)));
        n.amplifier(
            "a",
            p,
            m,
            o,
            Node::GROUND,
            Node::GROUND,
            with_gain(&b, 1e12),
        );
        let common = n.solve().unwrap().voltage(o).nominal().abs();
        let rejection = 20.0 * elementary::log10(g / common);
        assert!((rejection - db).abs() < 0.2, "{rejection} {db}");
    }
}

#[test]
fn offset_bias_and_rejection_by_hand() {
    // Non-inverting, gain 1 + Rf/Rg = 11, A very large: offset times 11; bias
    // of the inverting pin through Rf: + I·Rf; 2.5 V common mode at 80 dB
    // appears as 250 µV at the input (Horowitz and Hill, from memory).
    let b = Builder::new();
    let solve = |offset: f64, bias: f64, rejection: Option<f64>, input: f64| {
        let mut n = Network::new(&b);
        let (i, f, o) = (n.node("in"), n.node("f"), n.node("o"));
        n.voltage_source("v", i, Node::GROUND, b.constant(input));
        n.resistor("rf", o, f, b.constant(10e3));
        n.resistor("rg", f, Node::GROUND, b.constant(1e3));
        n.amplifier(
            "a",
            i,
            f,
            o,
            Node::GROUND,
            Node::GROUND,
            Amplifier {
                offset_v: b.constant(offset),
                bias_minus_a: b.constant(bias),
                common_mode_error: rejection.map(|r| b.constant(1.0 / r)),
                ..Amplifier::ideal(&b)
            },
        );
        n.solve().unwrap().voltage(o).nominal()
    };
    assert!((solve(1e-3, 0.0, None, 0.0) - 11e-3).abs() < 1e-9);
    assert!((solve(0.0, 1e-6, None, 0.0) - 10e-3).abs() < 1e-9);
    let shift = (solve(0.0, 0.0, Some(1e4), 2.5) - 27.5) / 11.0;
    assert!((shift - 250e-6).abs() < 1e-7, "{shift}");
}

#[test]
fn wheatstone_bridge_by_hand() {
    // Arms of 350 Ω, one at 350·(1 + x): v/V = x/(4 + 2x); x = 0.002 gives
    // 0.499500 mV/V (gauge factor 2, 1000 microstrain, closed form).
    let b = Builder::new();
    let x = b.input("x", "", 0.002);
    let mut n = Network::new(&b);
    let (e, p, m) = (n.node("e"), n.node("p"), n.node("m"));
    n.voltage_source("v", e, Node::GROUND, b.constant(1.0));
    n.resistor("r1", e, p, b.constant(350.0));
    n.resistor("r2", p, Node::GROUND, 350.0 * (x + 1.0));
    n.resistor("r3", e, m, b.constant(350.0));
    n.resistor("r4", m, Node::GROUND, b.constant(350.0));
    let s = n.solve().unwrap();
    let tape = b.finish(&[s.between(p, m)]);
    assert!((tape.values(&[0.002], Reading::Exact)[0] - 0.499_500_499e-3).abs() < 1e-10);
    // d/dx of x/(4 + 2x) is 4/(4 + 2x)².
    let slope = tape.gradient(&[0.002], 0, Reading::Exact)[0];
    assert!((slope - 4.0 / (4.004 * 4.004)).abs() < 1e-12);
}

#[test]
fn faults_name_what_is_wrong() {
    let b = Builder::new();
    let mut n = Network::new(&b);
    let (x, y) = (n.node("x"), n.node("y"));
    n.resistor("r", x, y, b.constant(1e3));
    assert_eq!(
        n.solve().err().unwrap(),
        Fault::Floating {
            nodes: vec!["x".to_owned(), "y".to_owned()]
        }
    );
    let mut n = Network::new(&b);
    let x = n.node("x");
    n.voltage_source("v1", x, Node::GROUND, b.constant(1.0));
    n.voltage_source("v2", x, Node::GROUND, b.constant(2.0));
    match n.solve().err().unwrap() {
        Fault::Singular { unknowns, hint, .. } => {
            assert!(
                unknowns
                    .iter()
                    .any(|u| u.contains("v1") || u.contains("v2")),
                "{unknowns:?}"
            );
            assert!(hint.contains("in series"));
        }
        other => assert!(matches!(other, Fault::Singular { .. }), "{other:?}"),
    }
}

#[test]
fn property_kirchhoff_holds_in_random_networks() {
    // The currents into every node of a ladder with random values add up to
    // nothing; values from a fixed congruence, so the test repeats.
    let mut state = 12345_u64;
    let mut draw = move || {
        state = state
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (state >> 33) as f64 / (1u64 << 31) as f64
    };
    for _ in 0..50 {
        let b = Builder::new();
        let mut n = Network::new(&b);
        let nodes: Vec<Node> = (0..8).map(|i| n.node(&format!("n{i}"))).collect();
        n.voltage_source("v", nodes[0], Node::GROUND, b.constant(1.0 + draw()));
        let mut list = Vec::new();
        for i in 0..8 {
            for j in 0..=i {
                let other = if i == j { Node::GROUND } else { nodes[j] };
                let r = elementary::exp(draw() * 20.0);
                n.resistor(&format!("r{i}-{j}"), nodes[i], other, b.constant(r));
                list.push((nodes[i], other, format!("r{i}-{j}")));
            }
        }
        let s = n.solve().unwrap();
        for &node in &nodes[1..] {
            let (mut sum, mut size) = (0.0, 0.0);
            for (a, c, name) in &list {
                let i = s.current(name).unwrap().nominal();
                if *a == node {
                    sum += i;
                    size += i.abs();
                } else if *c == node {
                    sum -= i;
                    size += i.abs();
                }
            }
            assert!(sum.abs() < 1e-9 * size, "{sum} {size}");
        }
    }
}
