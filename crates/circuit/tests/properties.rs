//! What must hold of every network, over random ones.
#![allow(clippy::unwrap_used, reason = "tests")]

use circuit::{Amplifier, Curve, Element, Network, Node, Solution, Swing};
use proptest::prelude::*;
use tape::{Block, Builder, Point, Reading};

const GROUND: Node = Node::GROUND;

/// Numbers from a fixed congruence, so that a seed is a network.
struct Draw(u64);

impl Draw {
    fn unit(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as f64 / (1u64 << 31) as f64
    }

    fn below(&mut self, n: usize) -> usize {
        ((self.unit() * n as f64) as usize).min(n - 1)
    }

    /// By ratio between two bounds.
    fn decade(&mut self, low: f64, high: f64) -> f64 {
        low * elementary::exp(self.unit() * elementary::ln(high / low))
    }
}

/// Resistances in a tree to ground plus some more across.
fn resistors(d: &mut Draw, count: usize) -> Vec<(usize, usize, f64)> {
    let mut list = Vec::new();
    for k in 1..=count {
        list.push((k, d.below(k), d.decade(1.0, 1e7)));
    }
    for _ in 0..count {
        let (a, b) = (d.below(count + 1), d.below(count + 1));
        if a != b {
            list.push((a, b, d.decade(1.0, 1e7)));
        }
    }
    list
}

/// Sum of the currents into every node over the sum of their sizes, from the
/// currents the solution gives. A resistor's size is that of the
/// largest voltage around over R: its current is a difference of voltages
/// that were computed from that one.
fn worst_residual(
    solution: &Solution<'_>,
    nodes: usize,
    current: &dyn Fn(&str) -> f64,
    voltage: &dyn Fn(Node) -> f64,
) -> f64 {
    let mut sum = vec![0.0; nodes];
    let mut size = vec![0.0; nodes];
    let mut extra = vec![0.0; nodes];
    let largest = (1..nodes)
        .filter_map(|k| solution.find(&format!("n{k}")))
        .map(|n| voltage(n).abs())
        .fold(0.0, f64::max);
    let mut put = |n: Node, i: f64, number: &dyn Fn(Node) -> usize| {
        sum[number(n)] += i;
        size[number(n)] += i.abs();
    };
    let number = |n: Node| {
        let name = solution.name(n);
        if name == "ground" {
            0
        } else {
            name[1..].parse::<usize>().unwrap()
        }
    };
    for (name, element) in solution.elements() {
        let i = current(name);
        match element {
            Element::Resistor { a, b, ohm } => {
                put(*a, -i, &number);
                put(*b, i, &number);
                let terms = largest / ohm.nominal();
                extra[number(*a)] += terms;
                extra[number(*b)] += terms;
            }
            Element::VoltageSource { plus, minus, .. }
            | Element::ControlledVoltage { plus, minus, .. } => {
                put(*plus, -i, &number);
                put(*minus, i, &number);
            }
            Element::CurrentSource { from, to, .. }
            | Element::ControlledCurrent { from, to, .. }
            | Element::Conductor { from, to, .. } => {
                put(*from, -i, &number);
                put(*to, i, &number);
            }
            Element::Amplifier { out, high, low, .. } => {
                put(*out, i, &number);
                put(if i > 0.0 { *high } else { *low }, -i, &number);
                // Both supplies' currents are differences with it.
                extra[number(*high)] += i.abs();
                extra[number(*low)] += i.abs();
            }
            _ => {}
        }
    }
    (1..nodes)
        .filter(|&k| size[k] > 0.0)
        .map(|k| sum[k].abs() / (size[k] + extra[k]))
        .fold(0.0, f64::max)
}

/// A random network with clamps and amplifiers that have limits.
struct Wild<'t> {
    net: Network<'t>,
    /// Nodes are named n1, n2, … up to this number.
    last: usize,
}

impl<'t> Wild<'t> {
    fn node(&mut self) -> Node {
        self.last += 1;
        self.net.node(&format!("n{}", self.last))
    }

    /// Nodes joined and tied to ground by resistors, some by diodes.
    fn block(&mut self, d: &mut Draw, b: &'t Builder, count: usize) -> Vec<Node> {
        let mut nodes = vec![GROUND];
        nodes.extend((0..count).map(|_| self.node()));
        for (x, y, r) in resistors(d, count) {
            let name = format!("r{}", self.net.elements().len());
            self.net
                .resistor(&name, nodes[x], nodes[y], b.constant(r.clamp(10.0, 1e6)));
        }
        for _ in 0..1 + d.below(3) {
            let (x, y) = (d.below(count + 1), d.below(count + 1));
            if x != y {
                let name = format!("d{}", self.net.elements().len());
                self.net.conductor(&name, nodes[x], nodes[y], curve(d, b));
            }
        }
        nodes
    }

    /// A stage from one node to another, fed back to `back`.
    fn stage(
        &mut self,
        d: &mut Draw,
        b: &'t Builder,
        plus: Node,
        back: Node,
        to: Node,
        rails: [Node; 2],
    ) {
        let (out, tap) = (self.node(), self.node());
        let number = self.net.elements().len();
        let c = |x: f64| b.constant(x);
        self.net
            .resistor(&format!("f{number}"), out, tap, c(d.decade(1e3, 1e5)));
        self.net
            .resistor(&format!("g{number}"), tap, back, c(d.decade(1e2, 1e5)));
        self.net
            .resistor(&format!("o{number}"), out, to, c(d.decade(1e2, 1e4)));
        if d.unit() < 0.3 {
            self.net
                .conductor(&format!("e{number}"), tap, out, curve(d, b));
        }
        let model = Amplifier {
            gain: (d.unit() < 0.5).then(|| c(1e5)),
            swing_low: Swing::points(&[(c(0.0), c(0.02)), (c(1e-3), c(0.1)), (c(10e-3), c(0.8))]),
            swing_high: Some(Swing::constant(c(0.3)).with_limit(c(20e-3))),
            ..Amplifier::ideal(b)
        };
        self.net.amplifier(
            &format!("u{number}"),
            plus,
            tap,
            out,
            rails[0],
            rails[1],
            model,
        );
    }
}

fn curve<'t>(d: &mut Draw, b: &'t Builder) -> Curve<'t> {
    let c = |x: f64| b.constant(x);
    let scale = d.decade(0.1, 10.0);
    match d.below(3) {
        0 => Curve::knee(&[
            (c(-20.0), c(-1e-7)),
            (c(0.0), c(0.0)),
            (c(0.24), c(1e-4 * scale)),
            (c(0.4), c(1e-2 * scale)),
        ])
        .unwrap(),
        1 => Curve::straight(&[
            (c(-5.0), c(-0.02)),
            (c(-4.7), c(-1e-5)),
            (c(0.6), c(1e-6)),
            (c(0.8), c(0.05)),
        ])
        .unwrap(),
        _ => Curve::junction(c(1e-12 * scale), c(0.026)),
    }
}

/// Blocks joined by stages: each from one block to the next where `orderly`,
/// so that every loop is that of one stage's own feedback; anywhere else,
/// so that outputs may drive their own inputs.
fn wild<'t>(d: &mut Draw, b: &'t Builder, orderly: bool) -> Wild<'t> {
    let mut w = Wild {
        net: Network::new(b),
        last: 0,
    };
    let rails = [w.node(), w.node()];
    w.net
        .voltage_source("high", rails[0], GROUND, b.constant(5.0));
    w.net
        .voltage_source("low", rails[1], GROUND, b.constant(-5.0));
    let input = b.input("in", "V", 6.0 * d.unit() - 3.0);
    let current = b.input("i", "A", 1e-3 * d.unit());
    let count = 2 + d.below(5);
    let mut nodes = w.block(d, b, count);
    let source = w.node();
    w.net.voltage_source("v", source, GROUND, input);
    w.net
        .resistor("rv", source, nodes[1], b.constant(d.decade(100.0, 1e5)));
    w.net.current_source("i", GROUND, nodes[2], current);
    let any = |d: &mut Draw, nodes: &[Node]| nodes[1 + d.below(nodes.len() - 1)];
    for _ in 0..d.below(4) {
        let plus = any(d, &nodes);
        if orderly {
            let count = 1 + d.below(4);
            let next = w.block(d, b, count);
            let to = any(d, &next);
            w.stage(d, b, plus, GROUND, to, rails);
            nodes = next;
        } else {
            let back = if d.unit() < 0.5 {
                GROUND
            } else {
                any(d, &nodes)
            };
            let to = any(d, &nodes);
            w.stage(d, b, plus, back, to, rails);
        }
    }
    w
}

/// Reads the currents of a network at random points and in a block: how many
/// points there were and at how many the search did not arrive. Where it did,
/// Kirchhoff's current law holds at every node, and blocks give the bits of
/// points.
fn read(w: Wild<'_>, d: &mut Draw, b: &Builder) -> (u32, u32) {
    let last = w.last;
    let lanes = 6;
    let Ok(s) = w.net.solve() else {
        return (lanes, lanes);
    };
    let names: Vec<String> = s.elements().iter().map(|(e, _)| e.clone()).collect();
    let mut outputs: Vec<_> = names.iter().map(|e| s.current(e).unwrap()).collect();
    let places: Vec<Node> = (1..=last)
        .map(|k| s.find(&format!("n{k}")).unwrap())
        .collect();
    outputs.extend(places.iter().map(|&p| s.voltage(p)));
    let tape = b.finish(&outputs);
    let mut block = Block::new(&tape, lanes as usize);
    let mut lost = 0;
    for lane in 0..lanes as usize {
        let at = [10.0 * d.unit() - 5.0, 4e-3 * d.unit() - 2e-3];
        block.input_mut(0)[lane] = at[0];
        block.input_mut(1)[lane] = at[1];
        let mut point = Point::default();
        point.evaluate(&tape, &at, Reading::Exact);
        if point.unsettled > 0 {
            lost += 1;
            continue;
        }
        let current = |e: &str| {
            let k = names.iter().position(|n| n == e).unwrap();
            point.output(&tape, k)
        };
        let voltage = |n: Node| {
            let k = places.iter().position(|p| *p == n);
            k.map_or(0.0, |k| point.output(&tape, names.len() + k))
        };
        let residual = worst_residual(&s, last + 1, &current, &voltage);
        assert!(residual < 1e-10, "{at:?} {residual}");
    }
    block.run(&tape, Reading::Exact);
    for lane in 0..lanes as usize {
        let at = [block.input_mut(0)[lane], block.input_mut(1)[lane]];
        for (k, v) in tape.values(&at, Reading::Exact).iter().enumerate() {
            assert_eq!(block.output(&tape, k)[lane].to_bits(), v.to_bits());
        }
    }
    (lanes, lost)
}

#[test]
fn property_the_search_arrives_and_kirchhoff_holds() {
    for seed in 0..1500 {
        let mut d = Draw(seed * 977 + 5);
        let b = Builder::new();
        let w = wild(&mut d, &b, true);
        let (_, lost) = read(w, &mut d, &b);
        assert_eq!(lost, 0, "{seed}");
    }
}

#[test]
fn property_the_search_says_so_when_it_does_not_arrive() {
    // Outputs that drive their own inputs, several of them at a time: such
    // networks latch, and may circle. Few do, and what is given as an answer
    // is one.
    let (mut points, mut lost) = (0, 0);
    for seed in 0..1500 {
        let mut d = Draw(seed * 977 + 5);
        let b = Builder::new();
        let w = wild(&mut d, &b, false);
        let (p, l) = read(w, &mut d, &b);
        points += p;
        lost += l;
    }
    assert!(lost * 200 < points, "{lost} of {points}");
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 400, failure_persistence: None, ..ProptestConfig::default() })]

    /// nalgebra's LU of the nodal equations G·v = i, written here from the
    /// list of resistors, as the oracle for the elimination alone.
    #[test]
    fn reference_resistor_networks_agree_with_a_dense_solver(seed in any::<u64>(), count in 2usize..14) {
        let mut d = Draw(seed);
        let list = resistors(&mut d, count);
        let fed = 1 + d.below(count);
        let b = Builder::new();
        let mut n = Network::new(&b);
        let nodes: Vec<Node> = (0..=count)
            .map(|k| if k == 0 { GROUND } else { n.node(&format!("n{k}")) })
            .collect();
        let mut g = nalgebra::DMatrix::<f64>::zeros(count, count);
        for (k, &(x, y, r)) in list.iter().enumerate() {
            n.resistor(&format!("r{k}"), nodes[x], nodes[y], b.constant(r));
            for (p, q) in [(x, y), (y, x)] {
                if p > 0 {
                    g[(p - 1, p - 1)] += 1.0 / r;
                    if q > 0 {
                        g[(p - 1, q - 1)] -= 1.0 / r;
                    }
                }
            }
        }
        n.current_source("i", GROUND, nodes[fed], b.constant(1e-3));
        let mut right = nalgebra::DVector::<f64>::zeros(count);
        right[fed - 1] = 1e-3;
        let dense = g.full_piv_lu().solve(&right).unwrap();
        let s = n.solve().unwrap();
        for k in 1..=count {
            let v = s.voltage(nodes[k]).nominal();
            // The dense solver, not this one, loses digits: up to seven of
            // them, as the resistances spread over seven decades.
            prop_assert!((v - dense[k - 1]).abs() <= 1e-7 * dense.amax(), "{v} {}", dense[k - 1]);
        }
        let residual = worst_residual(&s, count + 1, &|e| s.current(e).unwrap().nominal(), &|n| s.voltage(n).nominal());
        prop_assert!(residual < 1e-9, "{residual}");
    }

    /// What a current into a gives at c equals what it gives into c at a
    /// (Lorentz's theorem for resistors), and sources add up.
    #[test]
    fn property_reciprocity_and_superposition(seed in any::<u64>(), count in 3usize..16) {
        let mut d = Draw(seed);
        let list = resistors(&mut d, count);
        let (a, c) = (1 + d.below(count), 1 + d.below(count));
        let b = Builder::new();
        let at = |feeds: &[(usize, f64)], read: usize| {
            let mut n = Network::new(&b);
            let nodes: Vec<Node> = (0..=count)
                .map(|k| if k == 0 { GROUND } else { n.node(&format!("n{k}")) })
                .collect();
            for (k, &(x, y, r)) in list.iter().enumerate() {
                n.resistor(&format!("r{k}"), nodes[x], nodes[y], b.constant(r));
            }
            for (k, &(node, i)) in feeds.iter().enumerate() {
                n.current_source(&format!("i{k}"), GROUND, nodes[node], b.constant(i));
            }
            n.solve().unwrap().voltage(nodes[read]).nominal()
        };
        let there = at(&[(a, 1.0)], c);
        let back = at(&[(c, 1.0)], a);
        prop_assert!((there - back).abs() <= 1e-13 * there.abs(), "{there} {back}");
        let both = at(&[(a, 0.7), (c, -0.2)], a);
        let sum = 0.7 * at(&[(a, 1.0)], a) - 0.2 * back;
        let size = 0.7 * at(&[(a, 1.0)], a) + 0.2 * back;
        prop_assert!((both - sum).abs() <= 1e-12 * size, "{both} {sum}");
    }
}
