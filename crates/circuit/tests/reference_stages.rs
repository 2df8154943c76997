//! Stages at random values against equations written by hand from the same
//! drawing and evaluated by numpy and scipy: `reference/stages.py`, where each
//! drawing is described in words.
#![allow(clippy::unwrap_used, clippy::panic, reason = "tests")]

use std::collections::BTreeMap;

use circuit::{Amplifier, Curve, Instrumentation, Network, Node, Swing};
use tape::{Builder, Value};

const TABLE: &str = include_str!("../../../testdata/reference/stages.csv");
const GROUND: Node = Node::GROUND;

/// Given and found values of the cases of one stage.
struct Case {
    name: String,
    given: BTreeMap<String, f64>,
    found: BTreeMap<String, f64>,
}

fn cases(stage: &str) -> Vec<Case> {
    let mut cases: Vec<Case> = Vec::new();
    for line in TABLE.lines().skip(1) {
        let [name, what, key, value] = line.split(',').collect::<Vec<_>>()[..] else {
            panic!("{line}");
        };
        if name.rsplit_once(' ').unwrap().0 != stage {
            continue;
        }
        if cases.last().is_none_or(|c| c.name != name) {
            cases.push(Case {
                name: name.to_owned(),
                given: BTreeMap::new(),
                found: BTreeMap::new(),
            });
        }
        let case = cases.last_mut().unwrap();
        let list = match what {
            "given" => &mut case.given,
            _ => &mut case.found,
        };
        list.insert(key.to_owned(), value.parse().unwrap());
    }
    assert!(cases.len() >= 3, "{stage}: {} cases", cases.len());
    cases
}

/// A network being drawn with the values of a case.
struct Drawing<'t> {
    net: Network<'t>,
    b: &'t Builder,
    given: BTreeMap<String, f64>,
}

impl<'t> Drawing<'t> {
    fn x(&self, key: &str) -> Value<'t> {
        self.b.constant(
            *self
                .given
                .get(key)
                .unwrap_or_else(|| panic!("no value {key}")),
        )
    }
    fn node(&mut self, name: &str) -> Node {
        self.net.node(name)
    }
    /// A resistor with the value `key`.
    fn r(&mut self, key: &str, a: Node, b: Node) {
        let ohm = self.x(key);
        let name = self.net.elements().len();
        self.net.resistor(&format!("{key} {name}"), a, b, ohm);
    }
    /// A source of `key` volt at a node of that name.
    fn v(&mut self, key: &str) -> Node {
        let volt = self.x(key);
        let node = self.net.node(&format!("{key} source"));
        self.net.voltage_source(key, node, GROUND, volt);
        node
    }
    /// A source of `key` ampere.
    fn i(&mut self, key: &str, from: Node, to: Node) {
        let ampere = self.x(key);
        let name = self.net.elements().len();
        self.net
            .current_source(&format!("{key} {name}"), from, to, ampere);
    }
    fn amplifier(&mut self, plus: Node, minus: Node, out: Node) {
        let model = Amplifier {
            offset_v: self.x("offset"),
            bias_plus_a: self.x("plus"),
            bias_minus_a: self.x("minus"),
            gain: Some(self.x("gain")),
            common_mode_error: Some(self.x("cm")),
            supply_error: Some(self.x("supply")),
            supply_deviation_v: Some(self.x("deviation")),
            ..Amplifier::ideal(self.b)
        };
        self.net
            .amplifier("amplifier", plus, minus, out, GROUND, GROUND, model);
    }
}

/// Draws every case of a stage; `draw` returns the pair of nodes between
/// which each found value stands.
fn compare(
    stage: &str,
    relative: f64,
    draw: impl for<'t> Fn(&mut Drawing<'t>) -> Vec<(&'static str, Node, Node)>,
) {
    for case in cases(stage) {
        let b = Builder::new();
        let mut drawing = Drawing {
            net: Network::new(&b),
            b: &b,
            given: case.given,
        };
        let wanted = draw(&mut drawing);
        let solution = drawing.net.solve().unwrap();
        assert_eq!(wanted.len(), case.found.len(), "{}", case.name);
        for (key, plus, minus) in wanted {
            let found = solution.between(plus, minus).nominal();
            let expected = case.found[key];
            assert!(
                (found - expected).abs() <= relative * expected.abs(),
                "{}, {key}: {found} is not {expected}",
                case.name
            );
        }
    }
}

#[test]
fn reference_divider_and_gated_divider() {
    compare("divider", 1e-12, |d| {
        let (s, o) = (d.v("s"), d.node("o"));
        d.r("top", s, o);
        d.r("bottom", o, GROUND);
        d.r("load", o, GROUND);
        d.i("leak", o, GROUND);
        vec![("o", o, GROUND)]
    });
    compare("gated-divider", 1e-12, |d| {
        let (s, m, o) = (d.v("s"), d.node("m"), d.node("o"));
        let (on, off) = (d.x("on"), d.b.constant(1e15));
        d.net.switch("switch", s, m, true, on, off);
        d.r("top", m, o);
        d.r("bottom", o, GROUND);
        vec![("o", o, GROUND)]
    });
}

#[test]
fn reference_pull_up_behind_leads_and_a_low_pass() {
    compare("pull-up", 1e-12, |d| {
        let (s, o, pin) = (d.v("ref"), d.node("o"), d.node("pin"));
        let (a, b) = (d.node("a"), d.node("b"));
        d.r("up", s, o);
        d.r("lead", o, a);
        d.r("r", a, b);
        d.r("lead", b, GROUND);
        d.r("filter", o, pin);
        d.i("leak", pin, GROUND);
        vec![("node", o, GROUND), ("pin", pin, GROUND)]
    });
}

#[test]
fn reference_bridge_behind_a_feed_and_loaded() {
    compare("bridge", 2e-10, |d| {
        let (e, x, p, m) = (d.v("e"), d.node("x"), d.node("p"), d.node("m"));
        d.r("feed", e, x);
        d.r("a", x, p);
        d.r("b", p, GROUND);
        d.r("c", x, m);
        d.r("d", m, GROUND);
        d.r("load", p, m);
        vec![("difference", p, m), ("excitation", x, GROUND)]
    });
}

#[test]
fn reference_buffer_and_non_inverting() {
    compare("buffer", 1e-12, |d| {
        let (i, p, o) = (d.v("i"), d.node("p"), d.node("o"));
        d.r("rs", i, p);
        d.amplifier(p, o, o);
        vec![("o", o, GROUND)]
    });
    compare("non-inverting", 1e-11, |d| {
        let (i, level) = (d.v("i"), d.v("level"));
        let (p, m, o) = (d.node("p"), d.node("m"), d.node("o"));
        d.r("rs", i, p);
        d.r("rg", level, m);
        d.r("rf", o, m);
        d.amplifier(p, m, o);
        vec![("o", o, GROUND), ("m", m, GROUND)]
    });
}

#[test]
fn reference_inverting_and_difference() {
    compare("inverting", 1e-9, |d| {
        let (i, p, m, o) = (d.v("i"), d.node("p"), d.node("m"), d.node("o"));
        d.r("r1", i, m);
        d.r("rf", o, m);
        d.r("rp", p, GROUND);
        d.amplifier(p, m, o);
        vec![("o", o, GROUND), ("m", m, GROUND)]
    });
    compare("difference", 1e-11, |d| {
        let (a, b, reference) = (d.v("a"), d.v("b"), d.v("ref"));
        let (p, m, o) = (d.node("p"), d.node("m"), d.node("o"));
        d.r("r1", a, m);
        d.r("r2", o, m);
        d.r("r3", b, p);
        d.r("r4", reference, p);
        d.amplifier(p, m, o);
        vec![("o", o, GROUND), ("p", p, GROUND)]
    });
}

#[test]
fn reference_transimpedance_and_summing() {
    compare("transimpedance", 1e-10, |d| {
        let (level, m, o) = (d.v("level"), d.node("m"), d.node("o"));
        d.i("photo", GROUND, m);
        d.r("rf", o, m);
        d.r("rd", m, GROUND);
        d.amplifier(level, m, o);
        vec![("o", o, GROUND)]
    });
    compare("summing", 1e-10, |d| {
        let (level, m, o) = (d.v("level"), d.node("m"), d.node("o"));
        for n in ["1", "2", "3"] {
            let source = d.v(&format!("v{n}"));
            d.r(&format!("r{n}"), source, m);
        }
        d.r("rf", o, m);
        d.amplifier(level, m, o);
        vec![("o", o, GROUND)]
    });
}

#[test]
fn reference_sallen_key_at_rest() {
    compare("sallen-key", 1e-12, |d| {
        let (i, x, p, o) = (d.v("i"), d.node("x"), d.node("p"), d.node("o"));
        d.r("r1", i, x);
        d.r("r2", x, p);
        let farad = d.b.constant(10e-9);
        let (one, two) = (d.x("leak1"), d.x("leak2"));
        d.net.capacitor("c1", x, o, farad, Some(one));
        d.net.capacitor("c2", p, GROUND, farad, Some(two));
        d.amplifier(p, o, o);
        vec![("o", o, GROUND), ("x", x, GROUND)]
    });
}

#[test]
fn reference_instrumentation_amplifier() {
    compare("instrumentation", 1e-11, |d| {
        let (vp, vm, reference) = (d.v("vp"), d.v("vm"), d.v("ref"));
        let (p, m, o) = (d.node("p"), d.node("m"), d.node("o"));
        d.r("rp", vp, p);
        d.r("rm", vm, m);
        let model = Instrumentation {
            offset_in_v: d.x("offset_in"),
            offset_out_v: d.x("offset_out"),
            bias_plus_a: d.x("plus"),
            bias_minus_a: d.x("minus"),
            common_mode_error: Some(d.x("cm")),
            input_resistance: Some(d.x("between")),
            ..Instrumentation::ideal(d.x("gain"))
        };
        d.net
            .instrumentation("u", p, m, reference, o, GROUND, GROUND, model);
        vec![("o", o, GROUND)]
    });
}

#[test]
fn reference_multiplexer() {
    compare("multiplexer", 1e-12, |d| {
        let (s, t) = (d.v("s"), d.v("t"));
        let (x, y, o) = (d.node("x"), d.node("y"), d.node("o"));
        d.r("rs", s, x);
        d.r("rt", t, y);
        let (on, off) = (d.x("on"), d.x("off"));
        d.net.switch("chosen", x, o, true, on, off);
        d.net.switch("other", y, o, false, on, off);
        d.r("load", o, GROUND);
        d.i("leak", o, GROUND);
        vec![("o", o, GROUND)]
    });
}

#[test]
fn reference_loop_current_and_four_wires() {
    compare("loop-current", 1e-12, |d| {
        let (o, pin) = (d.node("o"), d.node("pin"));
        d.i("i", GROUND, o);
        d.r("shunt", o, GROUND);
        d.r("series", o, pin);
        d.i("leak", pin, GROUND);
        vec![("pin", pin, GROUND)]
    });
    compare("four-wire", 1e-11, |d| {
        let names = ["in", "upper", "lower", "upper pin", "lower pin"];
        let [force, upper, lower, high, low] = names.map(|n| d.node(n));
        d.i("i", GROUND, force);
        d.r("lead", force, upper);
        d.r("r", upper, lower);
        d.r("lead", lower, GROUND);
        d.r("lead", upper, high);
        d.r("lead", lower, low);
        d.i("leak", high, GROUND);
        d.i("leak", low, GROUND);
        vec![("difference", high, low)]
    });
}

#[test]
fn reference_clamp_and_junction() {
    compare("clamp", 1e-12, |d| {
        let (rail, s, o) = (d.v("rail"), d.v("s"), d.node("o"));
        d.r("r", s, o);
        let zero = d.b.zero();
        let points = [(zero, zero), (d.x("v1"), d.x("i1")), (d.x("v2"), d.x("i2"))];
        let curve = Curve::straight(&points).unwrap();
        d.net.conductor("clamp", o, rail, curve);
        vec![("o", o, GROUND)]
    });
    // By Lambert's function, which knows nothing of the pieces that the
    // program joins.
    compare("junction", 1e-9, |d| {
        let (s, o) = (d.v("s"), d.node("o"));
        d.r("r", s, o);
        let curve = Curve::junction(d.x("sat"), d.x("n"));
        d.net.conductor("diode", o, GROUND, curve);
        vec![("o", o, GROUND)]
    });
}

#[test]
fn reference_stage_driven_into_its_supply() {
    compare("saturated", 1e-12, |d| {
        let (high, i) = (d.v("high"), d.v("i"));
        let (m, o) = (d.node("m"), d.node("o"));
        let (rg, ratio) = (d.x("rg"), d.x("ratio"));
        d.net.resistor("rg", m, GROUND, rg);
        d.net.resistor("rf", o, m, rg * ratio);
        let model = Amplifier {
            gain: Some(d.x("gain")),
            swing_high: Some(Swing::constant(d.x("swing"))),
            ..Amplifier::ideal(d.b)
        };
        d.net.amplifier("u", i, m, o, high, GROUND, model);
        vec![("o", o, GROUND), ("m", m, GROUND)]
    });
}

#[test]
fn every_stage_of_the_table_is_compared() {
    let source = include_str!("reference_stages.rs");
    for line in TABLE.lines().skip(1) {
        let stage = line.split(',').next().unwrap().rsplit_once(' ').unwrap().0;
        assert!(source.contains(&format!("compare(\"{stage}\"")), "{stage}");
    }
}
