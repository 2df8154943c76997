//! Voltages and currents of a solved network.

use tape::{Builder, Value};

use crate::network::{Element, Node};

/// The solution of a network, on the tape.
pub struct Solution<'t> {
    builder: &'t Builder,
    names: Vec<String>,
    elements: Vec<(String, Element<'t>)>,
    branches: Vec<usize>,
    unknowns: Vec<Value<'t>>,
}

impl<'t> Solution<'t> {
    pub(crate) fn new(
        builder: &'t Builder,
        names: Vec<String>,
        elements: Vec<(String, Element<'t>)>,
        branches: Vec<usize>,
        unknowns: Vec<Value<'t>>,
    ) -> Self {
        Solution {
            builder,
            names,
            elements,
            branches,
            unknowns,
        }
    }

    /// Voltage of a node against ground, V.
    #[must_use]
    pub fn voltage(&self, node: Node) -> Value<'t> {
        match node.0.checked_sub(1) {
            Some(i) => self
                .unknowns
                .get(i)
                .copied()
                .unwrap_or_else(|| self.builder.zero()),
            None => self.builder.zero(),
        }
    }

    /// Voltage between two nodes, V.
    #[must_use]
    pub fn between(&self, plus: Node, minus: Node) -> Value<'t> {
        self.voltage(plus) - self.voltage(minus)
    }

    /// Current through an element, A: from its first node through it to its
    /// second (for sources from plus to minus, from `from` to `to`).
    #[must_use]
    pub fn current(&self, element: &str) -> Option<Value<'t>> {
        let i = self.elements.iter().position(|(n, _)| n == element)?;
        Some(match &self.elements[i].1 {
            Element::Conductance { a, b, siemens } => self.between(*a, *b) * *siemens,
            Element::CurrentSource { ampere, .. } => *ampere,
            Element::Transconductance {
                plus,
                minus,
                siemens,
                ..
            } => self.between(*plus, *minus) * *siemens,
            Element::VoltageSource { .. } | Element::Controlled { .. } => {
                let branch = self.branches.iter().position(|&k| k == i)?;
                self.unknowns.get(self.names.len() - 1 + branch).copied()?
            }
        })
    }
}
