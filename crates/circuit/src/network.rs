//! Writing a network: elements between named nodes.

use tape::{Builder, Value};

use crate::amplifier::{Amplifier, Instrumentation};
use crate::curve::Curve;
use crate::element::{Control, Element};
use crate::fault::Fault;
use crate::node::{Names, Node};
use crate::solution::Solution;
use crate::store::Given;

/// A network being written. Every element has a name of its own; nodes are
/// found by theirs.
pub struct Network<'t> {
    pub(crate) builder: &'t Builder,
    pub(crate) names: Names,
    pub(crate) elements: Vec<(String, Element<'t>)>,
    pub(crate) given: Given<'t>,
}

impl<'t> Network<'t> {
    /// An empty network: ground alone.
    #[must_use]
    pub fn new(builder: &'t Builder) -> Self {
        Network {
            builder,
            names: Names::new(),
            elements: Vec::new(),
            given: Given::default(),
        }
    }

    /// The tape it is written on.
    #[must_use]
    pub fn builder(&self) -> &'t Builder {
        self.builder
    }

    /// The node of this name, made if there is none; `gnd` and `ground` are
    /// ground.
    pub fn node(&mut self, name: &str) -> Node {
        self.names.found_or_made(name)
    }

    /// The node of this name, if there is one.
    #[must_use]
    pub fn find(&self, name: &str) -> Option<Node> {
        self.names.find(name)
    }

    /// A new node, named after the hint (with a number if that is taken).
    pub fn fresh(&mut self, hint: &str) -> Node {
        self.names.fresh(hint)
    }

    /// Name of a node.
    #[must_use]
    pub fn name(&self, node: Node) -> &str {
        self.names.of(node.0)
    }

    /// The elements so far, in the order written.
    #[must_use]
    pub fn elements(&self) -> &[(String, Element<'t>)] {
        &self.elements
    }

    /// Adds an element under a name.
    pub fn add(&mut self, name: &str, element: Element<'t>) {
        self.elements.push((name.to_owned(), element));
    }

    /// A resistor, Ω. One of exactly zero is a short; one whose nominal value
    /// is zero but may vary (a stray resistance) is kept exact at zero too.
    pub fn resistor(&mut self, name: &str, a: Node, b: Node, ohm: Value<'t>) {
        self.add(name, Element::Resistor { a, b, ohm });
    }

    /// A conductance, S.
    pub fn conductance(&mut self, name: &str, a: Node, b: Node, siemens: Value<'t>) {
        self.add(name, Element::Conductance { a, b, siemens });
    }

    /// A voltage source: v(plus) − v(minus) = `volt`.
    pub fn voltage_source(&mut self, name: &str, plus: Node, minus: Node, volt: Value<'t>) {
        self.add(name, Element::VoltageSource { plus, minus, volt });
    }

    /// A current source: `ampere` flows through it from `from` to `to`.
    pub fn current_source(&mut self, name: &str, from: Node, to: Node, ampere: Value<'t>) {
        self.add(name, Element::CurrentSource { from, to, ampere });
    }

    /// A voltage gain·v(control_plus, control_minus) from minus to plus.
    pub fn controlled_voltage(
        &mut self,
        name: &str,
        plus: Node,
        minus: Node,
        control_plus: Node,
        control_minus: Node,
        gain: Value<'t>,
    ) {
        let control = Control::Voltage {
            plus: control_plus,
            minus: control_minus,
            factor: gain,
        };
        self.add(
            name,
            Element::ControlledVoltage {
                plus,
                minus,
                control,
            },
        );
    }

    /// A current siemens·v(control_plus, control_minus) through the element
    /// from `from` to `to`.
    pub fn controlled_current(
        &mut self,
        name: &str,
        from: Node,
        to: Node,
        control_plus: Node,
        control_minus: Node,
        siemens: Value<'t>,
    ) {
        let control = Control::Voltage {
            plus: control_plus,
            minus: control_minus,
            factor: siemens,
        };
        self.add(name, Element::ControlledCurrent { from, to, control });
    }

    /// A voltage ohm·i from minus to plus, i the current through the element
    /// named `control` (of a sign as [`Solution::current`] has it).
    pub fn current_controlled_voltage(
        &mut self,
        name: &str,
        plus: Node,
        minus: Node,
        control: &str,
        ohm: Value<'t>,
    ) {
        let control = Control::Current {
            element: control.to_owned(),
            factor: ohm,
        };
        self.add(
            name,
            Element::ControlledVoltage {
                plus,
                minus,
                control,
            },
        );
    }

    /// A current gain·i through the element from `from` to `to`, i the
    /// current through the element named `control`.
    pub fn current_controlled_current(
        &mut self,
        name: &str,
        from: Node,
        to: Node,
        control: &str,
        gain: Value<'t>,
    ) {
        let control = Control::Current {
            element: control.to_owned(),
            factor: gain,
        };
        self.add(name, Element::ControlledCurrent { from, to, control });
    }

    /// A switch, closed or open, with its resistance in each state.
    pub fn switch(
        &mut self,
        name: &str,
        a: Node,
        b: Node,
        closed: bool,
        on_ohm: Value<'t>,
        off_ohm: Value<'t>,
    ) {
        self.add(
            name,
            Element::Switch {
                a,
                b,
                closed,
                on_ohm,
                off_ohm,
            },
        );
    }

    /// A diode, a clamp, a lamp: current from `from` to `to` against the
    /// voltage between them, by a curve.
    pub fn conductor(&mut self, name: &str, from: Node, to: Node, curve: Curve<'t>) {
        self.add(name, Element::Conductor { from, to, curve });
    }

    /// An amplifier between two supplies. What its output sources comes from
    /// the high supply, what it sinks goes to the low one. For one without
    /// supplies give ground twice.
    pub fn amplifier(
        &mut self,
        name: &str,
        plus: Node,
        minus: Node,
        out: Node,
        high: Node,
        low: Node,
        model: Amplifier<'t>,
    ) {
        self.add(
            name,
            Element::Amplifier {
                plus,
                minus,
                out,
                high,
                low,
                model,
            },
        );
    }

    /// An instrumentation amplifier.
    pub fn instrumentation(
        &mut self,
        name: &str,
        plus: Node,
        minus: Node,
        reference: Node,
        out: Node,
        high: Node,
        low: Node,
        model: Instrumentation<'t>,
    ) {
        self.add(
            name,
            Element::Instrumentation {
                plus,
                minus,
                reference,
                out,
                high,
                low,
                model,
            },
        );
    }

    /// Multiplies every capacitance by a factor of its own, by name; those
    /// without one stay.
    pub fn scale_capacitors(&mut self, factor: impl Fn(&str) -> Option<Value<'t>>) {
        for (name, element) in &mut self.elements {
            if let Element::Capacitor { farad, .. } = element
                && let Some(factor) = factor(name)
            {
                *farad = *farad * factor;
            }
        }
    }

    /// A capacitor, F. Direct current passes its insulation resistance only,
    /// if one is given.
    pub fn capacitor(
        &mut self,
        name: &str,
        a: Node,
        b: Node,
        farad: Value<'t>,
        leakage_ohm: Option<Value<'t>>,
    ) {
        self.add(
            name,
            Element::Capacitor {
                a,
                b,
                farad,
                leakage_ohm,
            },
        );
    }

    /// An inductor, H; its wire's resistance is a resistor in series.
    pub fn inductor(&mut self, name: &str, a: Node, b: Node, henry: Value<'t>) {
        self.add(name, Element::Inductor { a, b, henry });
    }

    /// Takes elements out, by name.
    pub fn remove(&mut self, goes: impl Fn(&str) -> bool) {
        self.elements.retain(|(name, _)| !goes(name));
    }

    /// Puts another element in the place of each of these names.
    pub fn replace(
        &mut self,
        meant: impl Fn(&str) -> bool,
        with: impl Fn(&Element<'t>) -> Element<'t>,
    ) {
        for (name, element) in &mut self.elements {
            if meant(name) {
                *element = with(element);
            }
        }
    }

    /// Cuts the wire between a node and elements of these names: they stand
    /// on a new node afterwards, which is given back.
    pub fn detach(&mut self, node: Node, meant: impl Fn(&str) -> bool) -> Node {
        let cut = self.fresh(&format!("{} cut", self.name(node)));
        for (name, element) in &mut self.elements {
            if meant(name) {
                element.move_node(node, cut);
            }
        }
        cut
    }

    /// Writes the solution of the network onto the tape.
    ///
    /// # Errors
    /// [`Fault`] names the nodes or elements at fault.
    pub fn solve(self) -> Result<Solution<'t>, Fault> {
        crate::solution::solve(self)
    }
}
