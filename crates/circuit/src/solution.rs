//! The solved network: voltages, currents and what must hold.

use tape::{Builder, Value};

use crate::affine::Affine;
use crate::check::{self, Check};
use crate::element::Element;
use crate::fault::Fault;
use crate::flow::{self, State};
use crate::mesh;
use crate::network::Network;
use crate::node::{Names, Node};
use crate::plan::{Limits, Plan};
use crate::rigid::Groups;
use crate::search::{Answer, Failure, Search};

/// The operating point of a network, on the tape.
///
/// Only what the tape's outputs use of it is computed: asking for a current
/// or a check costs nothing in a tape that does not read it.
pub struct Solution<'t> {
    builder: &'t Builder,
    names: Names,
    elements: Vec<(String, Element<'t>)>,
    /// Within all limits.
    held: Point<'t>,
    /// With all outputs going wherever they are needed; none where nothing
    /// limits them.
    free: Option<Point<'t>>,
    checks: Vec<Check<'t>>,
}

/// One solved state of a network.
pub(crate) struct Point<'t> {
    pub plan: Plan<'t>,
    pub groups: Groups<'t>,
    pub state: State<'t>,
    pub answer: Answer<'t>,
}

impl<'t> Point<'t> {
    pub fn voltage(&self, node: usize) -> Value<'t> {
        self.state
            .voltage
            .get(node)
            .map_or_else(|| self.plan.builder.zero(), |a| a.base)
    }

    pub fn current(&self, element: usize) -> Option<Value<'t>> {
        flow::through(&self.plan, &self.groups, &self.state, element).map(|a| a.base)
    }
}

impl<'t> Solution<'t> {
    /// Voltage of a node against ground, V.
    #[must_use]
    pub fn voltage(&self, node: Node) -> Value<'t> {
        self.held.voltage(node.0)
    }

    /// Voltage between two nodes, V.
    #[must_use]
    pub fn between(&self, plus: Node, minus: Node) -> Value<'t> {
        self.voltage(plus) - self.voltage(minus)
    }

    /// Voltage a node would have if no amplifier's output were limited, V.
    #[must_use]
    pub fn unlimited_voltage(&self, node: Node) -> Value<'t> {
        self.free.as_ref().unwrap_or(&self.held).voltage(node.0)
    }

    /// Current through an element, A, from its first node through it to its
    /// second: `a` to `b`, plus to minus, `from` to `to`. So a voltage source
    /// that delivers has a negative current. Of an amplifier, the current its
    /// output gives, positive when it sources.
    ///
    /// `None` for an element that does not exist, and for a short beside
    /// another one, between which the current is divided as the wires will.
    #[must_use]
    pub fn current(&self, element: &str) -> Option<Value<'t>> {
        self.held.current(self.position(element)?)
    }

    /// As [`current`](Solution::current), if no amplifier's output were
    /// limited.
    #[must_use]
    pub fn unlimited_current(&self, element: &str) -> Option<Value<'t>> {
        let index = self.position(element)?;
        self.free.as_ref().unwrap_or(&self.held).current(index)
    }

    /// Power taken in by a two-terminal element, W; negative for one that
    /// delivers. `None` for amplifiers and where the current is not known.
    #[must_use]
    pub fn power(&self, element: &str) -> Option<Value<'t>> {
        let index = self.position(element)?;
        let (a, b) = match &self.elements[index].1 {
            Element::Resistor { a, b, .. }
            | Element::Conductance { a, b, .. }
            | Element::Switch { a, b, .. }
            | Element::Capacitor { a, b, .. }
            | Element::Inductor { a, b, .. } => (*a, *b),
            Element::VoltageSource { plus, minus, .. }
            | Element::ControlledVoltage { plus, minus, .. } => (*plus, *minus),
            Element::CurrentSource { from, to, .. }
            | Element::ControlledCurrent { from, to, .. }
            | Element::Conductor { from, to, .. } => (*from, *to),
            Element::Amplifier { .. } | Element::Instrumentation { .. } => return None,
        };
        Some(self.between(a, b) * self.held.current(index)?)
    }

    /// Everything that must hold for the operating point to mean something,
    /// in the order of the elements.
    #[must_use]
    pub fn checks(&self) -> &[Check<'t>] {
        &self.checks
    }

    /// The elements, in the order written.
    #[must_use]
    pub fn elements(&self) -> &[(String, Element<'t>)] {
        &self.elements
    }

    /// Name of a node.
    #[must_use]
    pub fn name(&self, node: Node) -> &str {
        self.names.of(node.0)
    }

    /// The node of this name, if there is one.
    #[must_use]
    pub fn find(&self, name: &str) -> Option<Node> {
        self.names.find(name)
    }

    /// The tape it is written on.
    #[must_use]
    pub fn builder(&self) -> &'t Builder {
        self.builder
    }

    pub(crate) fn names(&self) -> &Names {
        &self.names
    }

    pub(crate) fn held(&self) -> &Point<'t> {
        &self.held
    }

    pub(crate) fn position(&self, element: &str) -> Option<usize> {
        self.elements.iter().position(|(n, _)| n == element)
    }
}

pub(crate) fn solve(network: Network<'_>) -> Result<Solution<'_>, Fault> {
    let held = point(&network, Limits::Kept)?;
    let limited = held
        .plan
        .stages
        .iter()
        .any(|s| s.swing_low.is_some() || s.swing_high.is_some());
    let free = if limited {
        // Without limits a stage that is fed back the wrong way may have no
        // answer at all; with them it has.
        point(&network, Limits::Lifted).ok()
    } else {
        None
    };
    let checks = check::all(&network, &held, free.as_ref());
    Ok(Solution {
        builder: network.builder,
        names: network.names,
        elements: network.elements,
        held,
        free,
        checks,
    })
}

fn point<'t>(network: &Network<'t>, limits: Limits) -> Result<Point<'t>, Fault> {
    let builder = network.builder;
    let name = |element: usize| {
        network
            .elements
            .get(element)
            .map_or_else(String::new, |(n, _)| n.clone())
    };
    let mut plan = Plan::new(network, limits)?;
    let groups = Groups::new(&plan, name)?;
    whole(&plan, &groups, name)?;
    let open = State {
        voltage: mesh::voltages(&plan, &groups),
        source: (0..plan.ports.len())
            .map(|k| Affine::source(builder, k))
            .collect(),
        effort: Vec::new(),
        drawn: Vec::new(),
    };
    if limits == Limits::Kept {
        plan.limit(&open.voltage);
    }
    let mut wanted = Vec::with_capacity(plan.ports.len());
    for port in &plan.ports {
        let sensed = flow::sensed(&plan, &groups, &open, &port.sense);
        wanted.push(sensed.map_err(|control| Fault::UnknownElement {
            element: name(port.element),
            control: name(control),
        })?);
    }
    let search = Search {
        builder,
        devices: plan.ports.iter().map(|p| &p.device).collect(),
        wanted,
    };
    let answer = search
        .solve()
        .map_err(|failure| explained(&plan, failure, name))?;
    let mut state = State {
        voltage: open
            .voltage
            .iter()
            .enumerate()
            .map(|(node, v)| {
                let label = format!("voltage at {}", plan.names.of(node));
                Affine::fixed(v.at(&answer.source).named(&label, "V"))
            })
            .collect(),
        source: answer.source.iter().map(|&s| Affine::fixed(s)).collect(),
        effort: answer.effort.clone(),
        drawn: Vec::new(),
    };
    state.drawn = flow::drawn(&plan, &groups, &state);
    Ok(Point {
        plan,
        groups,
        state,
        answer,
    })
}

/// Whether every node has a path for direct current to ground.
fn whole(
    plan: &Plan<'_>,
    groups: &Groups<'_>,
    name: impl Fn(usize) -> String,
) -> Result<(), Fault> {
    let adrift = mesh::adrift(plan, groups);
    for set in &adrift {
        let mut forced: Vec<String> = plan
            .injections
            .iter()
            .filter(|i| set.contains(&i.from) != set.contains(&i.to))
            .filter_map(|i| i.forced_by.map(&name))
            .collect();
        forced.dedup();
        if let (false, Some(&first)) = (forced.is_empty(), set.first()) {
            return Err(Fault::Singular {
                unknowns: set
                    .iter()
                    .map(|&n| format!("the voltage at {}", plan.names.of(n)))
                    .collect(),
                elements: forced,
                hint: format!("a resistor from {} to ground", plan.names.of(first)),
            });
        }
    }
    if adrift.is_empty() {
        Ok(())
    } else {
        Err(Fault::Floating {
            nodes: adrift
                .into_iter()
                .flatten()
                .map(|n| plan.names.of(n).to_owned())
                .collect(),
        })
    }
}

fn explained(plan: &Plan<'_>, failure: Failure, name: impl Fn(usize) -> String) -> Fault {
    let elements = |list: &[usize]| {
        let mut names: Vec<String> = list
            .iter()
            .filter_map(|&k| plan.ports.get(k).map(|p| name(p.element)))
            .collect();
        names.dedup();
        names
    };
    match failure {
        Failure::Unsettled(list) => Fault::NoConvergence {
            elements: elements(&list),
        },
        Failure::Singular(list) => {
            let elements = elements(&list);
            let stage = plan.stages.iter().find(|s| list.contains(&s.port));
            let hint = match stage {
                Some(s) => format!(
                    "a resistor from {} to the inverting input of {}",
                    plan.names.of(s.out),
                    name(s.element)
                ),
                None => format!("a resistor in series with {}", elements.join(" or ")),
            };
            Fault::Singular {
                unknowns: elements
                    .iter()
                    .map(|e| format!("the output of {e}"))
                    .collect(),
                elements,
                hint,
            }
        }
    }
}
