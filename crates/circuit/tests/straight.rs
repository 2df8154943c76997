//! Networks made straight against the tape's own derivatives and against
//! nodal equations solved by nalgebra.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "tests"
)]

use circuit::{
    Amplifier, Control, Curve, Element, Instrumentation, Network, Node, Output, SmallSignal,
    StimulusKind, Swing, Wanted,
};
use nalgebra::{Complex as Other, DMatrix, DVector};
use tape::{Builder, Reading};

const GROUND: Node = Node::GROUND;

/// A stage on a supply that gives way, with clamps, an output that drops
/// with its load and one that follows its current.
fn stage<'t>(b: &'t Builder, n: &mut Network<'t>, model: Amplifier<'t>) -> Vec<Node> {
    let c = |x: f64| b.constant(x);
    let (from, rail, plus) = (n.node("in"), n.node("rail"), n.node("plus"));
    let (minus, out, pin) = (n.node("minus"), n.node("out"), n.node("pin"));
    let battery = n.node("battery");
    n.voltage_source("source", from, GROUND, b.input("source", "V", 0.7));
    n.voltage_source("supply", battery, GROUND, b.input("supply", "V", 5.0));
    n.resistor("sag", battery, rail, c(47.0));
    n.resistor("rs", from, plus, c(1e4));
    n.amplifier("u", plus, minus, out, rail, GROUND, model);
    n.resistor("rf", out, minus, c(2e4));
    n.resistor("rg", minus, GROUND, c(1e4));
    n.resistor("load", out, GROUND, c(330.0));
    n.resistor("protect", out, pin, c(1e3));
    n.conductor("up", pin, rail, Curve::junction(c(1e-9), c(0.045)));
    n.conductor("down", GROUND, pin, Curve::junction(c(1e-9), c(0.045)));
    n.current_source("leak", GROUND, pin, b.input("leak", "A", 1e-6));
    n.add(
        "mirror",
        Element::ControlledCurrent {
            from: GROUND,
            to: plus,
            control: Control::Current {
                element: "load".to_owned(),
                factor: c(1e-5),
            },
        },
    );
    vec![plus, rail, out, pin]
}

#[test]
fn property_gains_are_the_slopes_of_the_operating_point() {
    let b = Builder::new();
    let c = |x: f64| b.constant(x);
    let model = Amplifier {
        gain: Some(c(1e4)),
        swing_low: Swing::points(&[(c(0.0), c(0.03)), (c(5e-3), c(0.2)), (c(20e-3), c(1.0))]),
        swing_high: Some(
            Swing::points(&[(c(0.0), c(0.05)), (c(10e-3), c(0.6))])
                .unwrap()
                .with_limit(c(12e-3)),
        ),
        quiescent: Some(c(1e-3)),
        ..Amplifier::ideal(&b)
    };
    let mut n = Network::new(&b);
    let nodes = stage(&b, &mut n, model);
    let solution = n.solve().unwrap();
    let voltages: Vec<_> = nodes.iter().map(|&node| solution.voltage(node)).collect();
    let tape = b.finish(&voltages);
    let outputs: Vec<Output> = nodes.iter().map(|&node| Output::node(node)).collect();
    let wanted = Wanted {
        outputs: &outputs,
        ..Wanted::default()
    };
    let small = SmallSignal::new(&solution, &wanted).unwrap();
    let mut ceilings = 0;
    for k in 0..60 {
        let inputs = [-0.4 + 0.051 * f64::from(k), 5.0, 1e-6];
        let network = small.at(&inputs).unwrap();
        let kinds = [
            ("source", StimulusKind::Voltage),
            ("supply", StimulusKind::Voltage),
            ("leak", StimulusKind::Current),
        ];
        for output in 0..nodes.len() {
            let slopes = tape.gradient(&inputs, output, Reading::Exact);
            for (input, (name, kind)) in kinds.into_iter().enumerate() {
                let gain = network
                    .gain(output, network.find(name, kind).unwrap())
                    .unwrap();
                let scale = slopes[input].abs() + if input == 2 { 10.0 } else { 1e-2 };
                assert!(
                    (gain - slopes[input]).abs() < 1e-6 * scale,
                    "{name} on {output} at {inputs:?}: {gain} {}",
                    slopes[input]
                );
                ceilings += usize::from(output == 2 && input == 1 && gain > 0.5);
            }
        }
    }
    assert!(
        ceilings > 5,
        "the output stands at its ceiling in {ceilings} cases"
    );
}

#[test]
fn property_gains_of_an_instrumentation_amplifier() {
    let b = Builder::new();
    let c = |x: f64| b.constant(x);
    let mut n = Network::new(&b);
    let (p, m, out) = (n.node("p"), n.node("m"), n.node("out"));
    n.voltage_source("vp", p, GROUND, b.input("vp", "V", 1.01));
    n.voltage_source("vm", m, GROUND, b.input("vm", "V", 1.00));
    let model = Instrumentation {
        common_mode_error: Some(c(1e-4)),
        ..Instrumentation::ideal(c(50.0))
    };
    n.instrumentation("u", p, m, GROUND, out, GROUND, GROUND, model);
    n.resistor("load", out, GROUND, c(1e4));
    let solution = n.solve().unwrap();
    let tape = b.finish(&[solution.voltage(out)]);
    let outputs = [Output::node(out), Output::Current("load".to_owned())];
    let wanted = Wanted {
        outputs: &outputs,
        ..Wanted::default()
    };
    let network = SmallSignal::new(&solution, &wanted)
        .unwrap()
        .nominal()
        .unwrap();
    let slopes = tape.gradient(tape.nominal_inputs(), 0, Reading::Exact);
    for (k, name) in ["vp", "vm"].into_iter().enumerate() {
        let stimulus = network.find(name, StimulusKind::Voltage).unwrap();
        let gain = network.gain(0, stimulus).unwrap();
        assert!((gain / slopes[k] - 1.0).abs() < 1e-12);
        assert!((network.gain(1, stimulus).unwrap() / (slopes[k] / 1e4) - 1.0).abs() < 1e-12);
    }
    let input = network.find("u", StimulusKind::InputVoltage).unwrap();
    assert!((network.gain(0, input).unwrap() - 50.0).abs() < 1e-12);
}

struct Draw(u64);

impl Draw {
    fn unit(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    fn below(&mut self, n: usize) -> usize {
        (self.unit() * n as f64) as usize % n
    }

    fn decade(&mut self, low: f64, high: f64) -> f64 {
        low * elementary::pow(high / low, self.unit())
    }
}

/// A random network of resistors, capacitors, inductors and one controlled
/// source, and its nodal equations at a frequency.
#[test]
fn reference_random_networks_agree_with_nodal_equations() {
    for seed in 0..60 {
        let mut d = Draw(seed);
        let count = 3 + d.below(6);
        let b = Builder::new();
        let mut n = Network::new(&b);
        let nodes: Vec<Node> = (0..=count)
            .map(|k| {
                if k == 0 {
                    GROUND
                } else {
                    n.node(&format!("n{k}"))
                }
            })
            .collect();
        // (from, to, kind, value)
        let mut parts = Vec::new();
        for k in 1..=count {
            parts.push((k, d.below(k), 'r', d.decade(1.0, 1e7)));
        }
        for _ in 0..count {
            let (x, y) = (d.below(count + 1), d.below(count + 1));
            if x != y {
                parts.push((x, y, 'r', d.decade(1.0, 1e7)));
            }
        }
        for _ in 0..count {
            let (x, y) = (d.below(count + 1), d.below(count + 1));
            if x != y {
                parts.push((x, y, 'c', d.decade(1e-12, 1e-5)));
            }
        }
        let (x, y) = (1 + d.below(count), d.below(count + 1));
        let transconductance = d.decade(1e-9, 1e-6);
        for (k, &(x, y, kind, value)) in parts.iter().enumerate() {
            let (x, y, value) = (nodes[x], nodes[y], b.constant(value));
            match kind {
                'r' => n.resistor(&format!("r{k}"), x, y, value),
                _ => n.capacitor(&format!("c{k}"), x, y, value, None),
            }
        }
        // An inductor with a resistor of its own behind a node of its own.
        let (coil, henry, loss) = (n.node("coil"), d.decade(1e-6, 1.0), d.decade(0.1, 1e3));
        n.inductor("l", nodes[1], coil, b.constant(henry));
        n.resistor("loss", coil, GROUND, b.constant(loss));
        n.controlled_current(
            "g",
            nodes[x],
            nodes[y],
            nodes[2],
            GROUND,
            b.constant(transconductance),
        );
        n.current_source("source", GROUND, nodes[count], b.one());
        let solution = n.solve().unwrap();
        let outputs: Vec<Output> = nodes[1..].iter().map(|&k| Output::node(k)).collect();
        let wanted = Wanted {
            outputs: &outputs,
            ..Wanted::default()
        };
        let network = SmallSignal::new(&solution, &wanted)
            .unwrap()
            .nominal()
            .unwrap();
        for hz in [0.01, 50.0, 1e3, 1e5, 1e7] {
            let s = Other::new(0.0, std::f64::consts::TAU * hz);
            let mut y_matrix = DMatrix::from_element(count, count, Other::new(0.0, 0.0));
            let mut stamp = |x: usize, y: usize, admittance: Other<f64>| {
                for (i, j, sign) in [(x, x, 1.0), (y, y, 1.0), (x, y, -1.0), (y, x, -1.0)] {
                    if i > 0 && j > 0 {
                        y_matrix[(i - 1, j - 1)] += admittance * sign;
                    }
                }
            };
            for &(x, y, kind, value) in &parts {
                stamp(
                    x,
                    y,
                    if kind == 'r' {
                        Other::new(1.0 / value, 0.0)
                    } else {
                        s * value
                    },
                );
            }
            stamp(1, 0, Other::new(1.0, 0.0) / (s * henry + loss));
            if x > 0 {
                y_matrix[(x - 1, 1)] += transconductance;
            }
            if y > 0 {
                y_matrix[(y - 1, 1)] -= transconductance;
            }
            let mut right = DVector::from_element(count, Other::new(0.0, 0.0));
            right[count - 1] = Other::new(1.0, 0.0);
            let expected = y_matrix.full_piv_lu().solve(&right).unwrap();
            let largest = (0..count)
                .map(|k| network.gain(k, 0).unwrap().abs())
                .fold(0.0, f64::max);
            for output in 0..count {
                let found = network.transfers(output, hz).unwrap()[0];
                let error = (Other::new(found.re, found.im) - expected[output]).norm();
                // Rounding stands at 10⁻¹³ of the largest impedance at rest.
                let scale = expected[output].norm() + 1e-6 * largest;
                assert!(
                    error <= 1e-7 * scale,
                    "{seed} {hz} {output}: {found:?} {}",
                    expected[output]
                );
            }
        }
    }
}
