//! The elements a network is made of.

use tape::Value;

use crate::amplifier::{Amplifier, Instrumentation};
use crate::curve::Curve;
use crate::node::Node;

/// What a controlled source follows.
#[derive(Clone, Debug)]
pub enum Control<'t> {
    /// The voltage between two nodes, times a factor.
    Voltage {
        /// Counted positive.
        plus: Node,
        /// Counted negative.
        minus: Node,
        /// V/V for a voltage, S for a current.
        factor: Value<'t>,
    },
    /// The current through an element, times a factor.
    Current {
        /// Name of the element.
        element: String,
        /// Ω for a voltage, A/A for a current.
        factor: Value<'t>,
    },
}

/// One element between nodes.
#[derive(Clone, Debug)]
pub enum Element<'t> {
    /// A resistance, Ω.
    Resistor {
        /// First node.
        a: Node,
        /// Second node.
        b: Node,
        /// Resistance; a constant zero is a short.
        ohm: Value<'t>,
    },
    /// A conductance, S.
    Conductance {
        /// First node.
        a: Node,
        /// Second node.
        b: Node,
        /// Conductance; a constant zero is an open circuit.
        siemens: Value<'t>,
    },
    /// A voltage source, V.
    VoltageSource {
        /// The node held above the other.
        plus: Node,
        /// The other.
        minus: Node,
        /// v(plus) − v(minus).
        volt: Value<'t>,
    },
    /// A current source, A.
    CurrentSource {
        /// Where the current goes in.
        from: Node,
        /// Where it comes out.
        to: Node,
        /// The current.
        ampere: Value<'t>,
    },
    /// A voltage that follows another quantity.
    ControlledVoltage {
        /// The node held above the other.
        plus: Node,
        /// The other.
        minus: Node,
        /// What it follows.
        control: Control<'t>,
    },
    /// A current that follows another quantity.
    ControlledCurrent {
        /// Where the current goes in.
        from: Node,
        /// Where it comes out.
        to: Node,
        /// What it follows.
        control: Control<'t>,
    },
    /// A switch in one of its two states.
    Switch {
        /// First node.
        a: Node,
        /// Second node.
        b: Node,
        /// Its state.
        closed: bool,
        /// Resistance when closed, Ω.
        on_ohm: Value<'t>,
        /// Resistance when open, Ω; infinite for none.
        off_ohm: Value<'t>,
    },
    /// A two-terminal element given by its curve.
    Conductor {
        /// The node whose voltage counts positive.
        from: Node,
        /// The other.
        to: Node,
        /// Current from the first to the second against that voltage.
        curve: Curve<'t>,
    },
    /// An amplifier.
    Amplifier {
        /// Non-inverting input.
        plus: Node,
        /// Inverting input.
        minus: Node,
        /// Output.
        out: Node,
        /// High supply.
        high: Node,
        /// Low supply.
        low: Node,
        /// What it does.
        model: Amplifier<'t>,
    },
    /// An instrumentation amplifier.
    Instrumentation {
        /// Non-inverting input.
        plus: Node,
        /// Inverting input.
        minus: Node,
        /// The pin its output counts from; it draws no current here.
        reference: Node,
        /// Output.
        out: Node,
        /// High supply.
        high: Node,
        /// Low supply.
        low: Node,
        /// What it does.
        model: Instrumentation<'t>,
    },
    /// A capacitor: at direct current its insulation alone.
    Capacitor {
        /// First node.
        a: Node,
        /// Second node.
        b: Node,
        /// Capacitance, F.
        farad: Value<'t>,
        /// Insulation resistance, Ω.
        leakage_ohm: Option<Value<'t>>,
    },
    /// An inductor: at direct current a short. Its wire is a resistor of its
    /// own in series.
    Inductor {
        /// First node.
        a: Node,
        /// Second node.
        b: Node,
        /// Inductance, H.
        henry: Value<'t>,
    },
}

impl Element<'_> {
    /// Stands on `to` wherever it stood on `from`.
    pub(crate) fn move_node(&mut self, from: Node, to: Node) {
        let moved = |node: &mut Node| {
            if *node == from {
                *node = to;
            }
        };
        let watched = |control: &mut Control<'_>| {
            if let Control::Voltage { plus, minus, .. } = control {
                moved(plus);
                moved(minus);
            }
        };
        match self {
            Element::Resistor { a, b, .. }
            | Element::Conductance { a, b, .. }
            | Element::Switch { a, b, .. }
            | Element::Capacitor { a, b, .. }
            | Element::Inductor { a, b, .. } => [a, b].into_iter().for_each(moved),
            Element::VoltageSource { plus, minus, .. } => [plus, minus].into_iter().for_each(moved),
            Element::CurrentSource { from, to, .. } | Element::Conductor { from, to, .. } => {
                [from, to].into_iter().for_each(moved);
            }
            Element::ControlledVoltage {
                plus,
                minus,
                control,
            } => {
                [plus, minus].into_iter().for_each(moved);
                watched(control);
            }
            Element::ControlledCurrent { from, to, control } => {
                [from, to].into_iter().for_each(moved);
                watched(control);
            }
            Element::Amplifier {
                plus,
                minus,
                out,
                high,
                low,
                ..
            } => [plus, minus, out, high, low].into_iter().for_each(moved),
            Element::Instrumentation {
                plus,
                minus,
                reference,
                out,
                high,
                low,
                ..
            } => [plus, minus, reference, out, high, low]
                .into_iter()
                .for_each(moved),
        }
    }

    /// All nodes it stands between or looks at.
    #[must_use]
    pub fn nodes(&self) -> Vec<Node> {
        let watched = |control: &Control<'_>| match control {
            Control::Voltage { plus, minus, .. } => vec![*plus, *minus],
            Control::Current { .. } => Vec::new(),
        };
        match self {
            Element::Resistor { a, b, .. }
            | Element::Conductance { a, b, .. }
            | Element::Switch { a, b, .. }
            | Element::Capacitor { a, b, .. }
            | Element::Inductor { a, b, .. } => vec![*a, *b],
            Element::VoltageSource { plus, minus, .. } => vec![*plus, *minus],
            Element::CurrentSource { from, to, .. } | Element::Conductor { from, to, .. } => {
                vec![*from, *to]
            }
            Element::ControlledVoltage {
                plus,
                minus,
                control,
            } => [vec![*plus, *minus], watched(control)].concat(),
            Element::ControlledCurrent { from, to, control } => {
                [vec![*from, *to], watched(control)].concat()
            }
            Element::Amplifier {
                plus,
                minus,
                out,
                high,
                low,
                ..
            } => vec![*plus, *minus, *out, *high, *low],
            Element::Instrumentation {
                plus,
                minus,
                reference,
                out,
                high,
                low,
                ..
            } => vec![*plus, *minus, *reference, *out, *high, *low],
        }
    }
}
